"""Writing one of the forms that suit into the job file: profile, size, lowest rim and holding, nothing else."""

import tomlkit

from formmaker.errors import FormError
from formmaker.files.job_edit import with_values, written_length
from formmaker.files.job_faults import shown
from formmaker.model.form import Edge
from formmaker.model.job import Job
from formmaker.model.suit import OWN, Aim, Offer, Suit

_CURVE = ("outer", "joints", "name")  # keys of another curve, which a profile replaces


def offer_named(suit: Suit, name: str, aim: Aim) -> Offer:
    """Find the size that a form was found to have.

    Parameters
    ----------
    suit : Suit
    name : str
        Of a profile, or ``own``.
    aim : Aim

    Returns
    -------
    Offer

    Raises
    ------
    FormError
        If there is no form of this name, or no size of it comes out.
    """
    own = next(form for form in suit.forms if form.is_own)
    forms = {OWN: own, **{form.name: form for form in suit.forms if not form.is_own}}
    forms.setdefault(own.name, own)  # the profile that the job's own form is drawn from stands in no list of its own
    if name not in forms:
        raise FormError(f"form {shown(name)}: choose one of {', '.join(forms)}")
    offer = forms[name].at(aim)
    if not isinstance(offer, Offer):
        raise FormError(f"form {name} has no size that comes out on this mounting; the job file stays as it is")
    return offer


def taken(text: str, name: str, offer: Offer, job: Job) -> str:
    """Write a form and its size into the text of a job.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        Of a profile, or ``own``: then the curve stays as it is.
    offer : Offer
    job : Job
        As the text says it.

    Returns
    -------
    str
    """
    form, hold = offer.form, offer.hold
    lengths = {"form.diameter": offer.verdict.diameter, "form.height": form.height}
    if form.edge is Edge.NATURAL:
        lengths["form.lowest_rim"] = form.lowest_rim
    if hold != job.hold:
        lengths["hold.diameter"] = hold.diameter
    values: dict[str, object] = {key: written_length(length, job.units) for key, length in lengths.items()}
    if name == OWN:
        return with_values(text, values)
    return with_values(_without_curve(text), {"form.profile": name, **values})


def _without_curve(text: str) -> str:
    document = tomlkit.parse(text)
    for key in _CURVE:
        document["form"].pop(key, None)
    return tomlkit.dumps(document)
