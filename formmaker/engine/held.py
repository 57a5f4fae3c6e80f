"""How well a bowl is held: sizes, grip, wood, loads and stresses put together, and what hinders said first."""

from collections.abc import Iterator

from formmaker.engine.field import Field
from formmaker.engine.grain import END_GRAIN, tree_in_bowl
from formmaker.engine.gripping import grip_of, grip_points, length_points, sizes_of
from formmaker.engine.holding import check_hold
from formmaker.engine.holding_strength import LEAST_FACTOR, load_on, stresses_of
from formmaker.engine.preparation import PreparedForm
from formmaker.engine.seating import seat_of, seat_points
from formmaker.model.balance import Balance
from formmaker.model.grain import known_grain
from formmaker.model.hold import HoldKind
from formmaker.model.holding import STRESSES, HoldCode, Holding, HoldPoint, Sizes, Stress, StressKind, say_factor
from formmaker.model.job import Job
from formmaker.model.species import Species
from formmaker.model.timber import find_species
from formmaker.model.verdict import Finding, Reason
from formmaker.units import format_length

GLUED_AT = (6.0, 15.0)
"""Moisture of wood that is glued, % (Wood Handbook, chapter 10)."""

_CODES = {
    Reason.HOLD_FLOOR: HoldCode.FLOOR,
    Reason.HOLD_SIZE: HoldCode.SIZE,
    Reason.HOLD_DEPTH: HoldCode.DEPTH,
}


def hold_bowl(
    job: Job,
    prepared: PreparedForm,
    field: Field,
    balance: Balance,
    *,
    rpm: float | None = None,
    cut: float | None = None,
) -> Holding:
    """Say how well a job's bowl is held.

    Parameters
    ----------
    job : Job
        Its mounting is in the blank's own millimetres.
    prepared : PreparedForm
    field : Field
    balance : Balance
        Of the field's blank on the job's mounting.
    rpm : float, optional
        Speed of the load case; without it the speed to begin with, or where there is none the lathe's lowest.
    cut : float, optional
        Force of a cut at the rim, N; without it the job's own, or an assumed one.

    Returns
    -------
    Holding
    """
    timber, species = field.blank.timber, find_species(field.blank.timber.name)
    tree = tree_in_bowl(job, prepared.section, scale=field.blank.scale)
    sizes, grip = sizes_of(prepared), grip_of(job.hold, job.chuck, job.lathe)
    seat = seat_of(prepared, field, job.mounting.blank_from_form)
    load = load_on(job, prepared, field.blank, balance, rpm=rpm, cut=cut)
    stresses = stresses_of(prepared, load, grip.length, species=species, moisture=timber.moisture, lean=tree.lean)
    points = (
        *_size_points(job, prepared, sizes),
        *grip_points(job.hold, grip, job.chuck, job.lathe, job.units),
        *seat_points(seat, job),
        *_glue_points(job, species, tree.lean),
        *_stress_points(job, species, stresses, tree.lean),
        *_start_points(balance),
    )
    return Holding(
        sizes=sizes,
        grip=grip,
        seat=seat,
        load=load,
        stresses=stresses,
        wood="" if species is None else species.name,
        moisture=species.green_moisture if timber.moisture is None and species is not None else timber.moisture,
        is_green=timber.moisture is None,
        lean=tree.lean,
        points=tuple(sorted(points, key=lambda point: not point.hinders)),
    )


def _size_points(job: Job, prepared: PreparedForm, sizes: Sizes) -> Iterator[HoldPoint]:
    for finding in check_hold(prepared, units=job.units).findings:
        yield HoldPoint(code=_CODES[finding.reason], text=finding.text, hinders=_hinders(finding, job.hold.kind))
    yield from length_points(job.hold, sizes.shoulder, job.units)
    thinnest = float(prepared.form.wall[:, 1].min())
    if not sizes.inside > 0.0 < sizes.floor_left:
        text = f"The {job.hold.kind.value} cuts into the inside of the bowl."
        yield HoldPoint(code=HoldCode.INSIDE, text=text, hinders=True)
    elif sizes.inside < min(thinnest, sizes.floor_left) - 0.05:
        text = (
            f"The inside comes within {format_length(sizes.inside, job.units)} of the {job.hold.kind.value}, thinner "
            "than the wall."
        )
        yield HoldPoint(code=HoldCode.INSIDE, text=text)


def _hinders(finding: Finding, kind: HoldKind) -> bool:
    """Nothing left of floor or ring, and no shoulder for a tenon, speak against it; the rest is common practice."""
    is_gone = finding.amount is not None and not finding.amount > 0.0
    return is_gone and (finding.reason is Reason.HOLD_FLOOR or kind is HoldKind.TENON)


def _glue_points(job: Job, species: Species | None, lean: float) -> Iterator[HoldPoint]:
    """Reasons not to trust a glue joint."""
    if job.hold.kind is not HoldKind.GLUE_BLOCK:
        return
    moisture, (low, high) = job.plan.timber.moisture, GLUED_AT
    if moisture is None or not low <= moisture <= high:
        wet = "green" if moisture is None else f"at {moisture:g} %"
        if moisture is None and species is not None:
            wet = f"green, about {species.green_moisture:.0f} %"
        text = (
            f"Do not trust a glue joint in this wood: it is {wet}, and wood is glued at {low:.0f} to {high:.0f} % of "
            "moisture (Wood Handbook, chapter 10). Common white glue does not hold on wet wood; read what the maker "
            "of the glue says."
        )
        yield HoldPoint(code=HoldCode.WET, text=text, hinders=True)
    if lean < END_GRAIN:
        text = (
            "Do not trust a glue joint on this face: it is end grain, where a joint reaches about a quarter of the "
            "wood's strength (US Forest Products Laboratory; from memory)."
        )
        yield HoldPoint(code=HoldCode.END_GRAIN, text=text, hinders=True)


def _stress_points(
    job: Job, species: Species | None, stresses: tuple[Stress, ...], lean: float
) -> Iterator[HoldPoint]:
    if known_grain(job.plan.grain, job.plan.shape).way is None:
        text = "How the grain runs is not said in [blank]: it is taken to lie across the axis, where wood is weakest."
        yield HoldPoint(code=HoldCode.GRAIN, text=text)
    for stress in stresses:
        if stress.factor is not None and not stress.factor >= LEAST_FACTOR:
            text = (
                f"The {STRESSES[stress.kind]} leaves a factor of {say_factor(stress.factor)} to the handbook's mean "
                f"for clear wood, less than the {LEAST_FACTOR:g} asked of so rough an estimate (our own choice): "
                "make the holding wider, or cut lighter and slower."
            )
            yield HoldPoint(code=HoldCode.STRESS, text=text, hinders=True)
    missing = [STRESSES[stress.kind] for stress in stresses if stress.strength is None]
    if missing:
        yield HoldPoint(code=HoldCode.STRENGTH, text=_no_value(job, species, missing, lean))


def _no_value(job: Job, species: Species | None, missing: list[str], lean: float) -> str:
    name = job.plan.timber.name
    if species is None:
        said = f"{name} is not in the timber table" if name else "The job names no timber"
        return f"{said}: there is no handbook value for its strength, and no factor is given."
    wet = "green" if job.plan.timber.moisture is None else f"at {job.plan.timber.moisture:g} %"
    if lean < END_GRAIN and missing == [STRESSES[StressKind.TENSION]]:
        return (
            "Here fibres and tension run along the axis, the way in which wood bears most: no factor is given for it."
        )
    return f"No handbook value of {species.name}, {wet}, for {' or '.join(missing)}: no factor is given for it."


def _start_points(balance: Balance) -> Iterator[HoldPoint]:
    if balance.start.rpm is None:
        text = "`formmaker balance` gives no speed to begin with on this mounting: see there before anything turns."
        yield HoldPoint(code=HoldCode.START, text=text)
