"""What each form would give, as two tables that a turner reads at once: the widest bowls and the fullest, best first.

It chooses words and columns only; every figure comes from the records, in the job's units.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence

from formmaker.files.spoken import say_answer, wrapped
from formmaker.model.form import Edge
from formmaker.model.grounds import Ground, grounds, say_grounds
from formmaker.model.job import Job
from formmaker.model.suit import Aim, NearMiss, Offer, Suit, Suiting
from formmaker.model.verdict import Finding, Reason, RimKind
from formmaker.units import Units, format_length, format_volume

_HEADINGS = {
    Aim.WIDEST: "Widest across, height in proportion:",
    Aim.FULLEST: "Fullest, height free:",
}
_COLUMNS = ("  form", "size", "across", "rim from", "to", "lean", "sway", "whole", "bowl", "holds", "spare")
_BEST: dict[Aim, Callable[[Offer], float]] = {
    Aim.WIDEST: lambda offer: offer.across,
    Aim.FULLEST: lambda offer: offer.whole,
}
_OWN_MARK = "* "
_LOST = {Ground.KEEP_LOST: Reason.KEEP_LOST, Ground.FLAW_MET: Reason.FLAW_MET, Ground.RECESS: Reason.HOLD_FLOOR}


def spoken_suit(suit: Suit, job: Job) -> str:
    """Say what each form would give.

    Parameters
    ----------
    suit : Suit
    job : Job
        For its title, units and allowance.

    Returns
    -------
    str
        Lines without a line break at the end.
    """
    first = f"{job.title}: {_present(suit, job)}"
    tables = [line for aim in Aim for line in _table(suit, aim, job)]
    return "\n".join([*wrapped([first]), *tables, "", *wrapped(_notes(suit, job))])


def form_name(form: Suiting) -> str:
    """Name of a form in a table; the job's own is marked.

    A form drawn in the job handle by handle has no name of its own.
    """
    return f"{_OWN_MARK}{form.name or 'your form'}" if form.is_own else f"  {form.name}"


def sawn_share(offer: Offer) -> float:
    """Share of the turn over which the rim runs out through a sawn face."""
    kinds = offer.verdict.rim.kinds
    return kinds.count(RimKind.SAWN) / len(kinds)


def why_not(miss: NearMiss) -> str:
    """Say in a clause why a size does not come out; the miss brings its sentences in the job's units."""
    if miss.verdict is None:
        return miss.problem
    reasons = grounds(miss.verdict)
    if Ground.MARGIN_MISSED in reasons or Ground.MARGIN_TIGHT in reasons:
        wanted = {Reason.WOOD_MISSING, Reason.WOOD_THIN}
    else:
        wanted = {_LOST[ground] for ground in reasons if ground in _LOST}
    findings = (*miss.verdict.findings, *miss.verdict.hold.findings)
    told: Finding | None = next((finding for finding in findings if finding.reason in wanted), None)
    return told.text[:1].lower() + told.text[1:].rstrip(".") if told is not None else say_grounds(reasons)


def _present(suit: Suit, job: Job) -> str:
    present = suit.present
    size = f"{format_length(present.diameter, job.units)} x {format_length(present.height, job.units)}"
    return f"what each form would give on this axis. As it stands, {size}: {say_answer(present, job)}"


def _table(suit: Suit, aim: Aim, job: Job) -> Iterator[str]:
    offers = [(form, found) for form in suit.forms if isinstance(found := form.at(aim), Offer)]
    offers.sort(key=lambda pair: -_BEST[aim](pair[1]))
    yield ""
    yield _HEADINGS[aim]
    if offers:
        lines = _aligned([_COLUMNS, *(_row(form, offer, job.units) for form, offer in offers)])
        remarks = ("", *(_remark(offer) for _, offer in offers))
        yield from (line + remark for line, remark in zip(lines, remarks, strict=True))
    else:
        yield "  none"
    for form in suit.forms:
        found = form.at(aim)
        if isinstance(found, NearMiss) and (aim is Aim.FULLEST or isinstance(form.fullest, Offer)):
            size = f"{_whole(found.diameter, job.units)} x {_whole(found.height, job.units)}"
            none = "none" if found.all_ruled_out else "none found"
            text = f"{_plain_name(form)}: {none}; nearest at {size}: {why_not(found)}."
            yield from wrapped([f"- {text}"])


def _row(form: Suiting, offer: Offer, units: Units) -> tuple[str, ...]:
    verdict = offer.verdict
    heights = verdict.rim.height
    lengths = (offer.across, float(heights.min()), float(heights.max()), verdict.rim.lean, verdict.rim.sway)
    volumes = (offer.whole, verdict.volumes.bowl, offer.holds)
    return (
        form_name(form),
        f"{_whole(verdict.diameter, units)} x {_whole(verdict.height, units)}",
        *(_bare(format_length(length, units)) for length in lengths),
        *(_bare(format_volume(volume, units)) for volume in volumes),
        _bare(format_length(verdict.margin, units)),
    )


def _plain_name(form: Suiting) -> str:
    return f"{form.name or 'your form'} (the job's own)" if form.is_own else form.name


def _remark(offer: Offer) -> str:
    """What a natural edge must be told beside its row: how much of it runs out through a sawn face."""
    share = 100.0 * sawn_share(offer)
    return f"  {share:.0f} % of the rim sawn" if share >= 0.5 else ""


def _whole(length: float, units: Units) -> str:
    """A size as it is written in a job: sizes are whole millimetres or sixteenths."""
    return f"{length:.0f}" if units is Units.MM else _bare(format_length(length, units, parts=16))


def _bare(measure: str) -> str:
    """A measure without its unit, which stands in the notes.

    Examples
    --------
    >>> _bare("2 15/32 in"), _bare("1460 cm3"), _bare("44.3 cu in")
    ('2 15/32', '1460', '44.3')
    """
    return measure.removesuffix("cm3").rstrip(" abcdefghijklmnopqrstuvwxyz")


def _aligned(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for name, *cells in rows:
        figures = (cell.rjust(width) for cell, width in zip(cells, widths[1:], strict=True))
        yield "  ".join([name.ljust(widths[0]), *figures])


def _notes(suit: Suit, job: Job) -> Iterable[str]:
    units = job.units
    length, volume = ("mm", "cm3") if units is Units.MM else ("inches", "cubic inches")
    offers = [found for form in suit.forms for aim in Aim if isinstance(found := form.at(aim), Offer)]
    if offers:
        known = format_length(max(offer.verdict.uncertainty for offer in offers), units)
        yield (
            f"Lengths in {length}, volumes in {volume}; * is the job's own form. Each was checked in full and comes "
            f"out; what is to spare is known to within {known}. Size is the form's diameter and height, as a job has "
            "them; across, rim, lean and sway are those of the bowl as it comes out. Whole is bowl and hollow "
            "together; a bowl holds what fills it to the lowest place of its rim."
        )
    skin = f", and {format_length(job.skin, units)} for truing" if job.skin > 0.0 else ""
    low = (
        f" The lowest rim keeps its {100.0 * suit.low_share:.0f} % of the height."
        if suit.edge is Edge.NATURAL
        else ""
    )
    yield (
        f"Kept as in the job: axis, foot height, wall, floor, {suit.edge.value} edge{skin}.{low} The holding keeps "
        "its depth, and its diameter where the foot is wide enough for it."
    )
    yield (
        f"Height free: from a form's own proportion divided by {suit.stretch:g} to times {suit.stretch:g}. Tried: "
        f"diameters from {format_length(suit.smallest, units)} to {format_length(suit.most, units)}, what the wood "
        "reaches across this axis."
    )
