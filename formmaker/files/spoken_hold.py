"""How well a bowl is held, in a few lines that a turner understands: what hinders first.

It chooses words only; every figure comes from ``Holding``, in the job's units.
"""

from collections.abc import Iterator

from formmaker.engine.gripping import spindle_thread
from formmaker.engine.holding import USUAL_SHARE
from formmaker.files.spoken import wrapped
from formmaker.model.hold import HoldKind
from formmaker.model.holding import STRESSES, GripWay, Holding, Load, SpeedFrom, Stress, StressKind, say_factor
from formmaker.model.job import Job
from formmaker.units import Units, format_area, format_force, format_length, format_stress

CAUTIONS = (
    "The factors are an estimate from the means of small clear pieces, on round sections, with a steady cut and "
    "without the help of a shoulder: they replace neither judgement nor the maker's manual nor sound wood. A catch "
    "is many times a steady cut; where shear runs across the fibres they roll, and wood bears a quarter of that "
    "(from memory).\n"
    "Look at the wood under the holding for cracks, bark, rot and knots; tighten the chuck again after the first "
    "cuts; tailstock up while there is anything for it to press on; stand out of the line of fire, face shield on.\n"
    "Read the maker's manual of chuck and lathe, keep to the rules of your place and learn from trained people. No "
    "figure here says that a holding is without danger."
).splitlines()


_NAMES = {StressKind.TENSION: "tension", StressKind.SHEAR: "shear", StressKind.STRIPPING: "along the jaws"}
_RING = "- How hard the jaws press outward is not known: whether the ring round the recess splits is not reckoned."


def spoken_hold(holding: Holding, job: Job) -> str:
    """Say to a turner how well a bowl is held.

    Parameters
    ----------
    holding : Holding
    job : Job
        For its title, units, holding, chuck and lathe.

    Returns
    -------
    str
        Lines without a line break at the end.
    """
    return "\n".join(wrapped((f"{job.title}: {_first(holding, job)}", *say_holding(holding, job))))


def say_holding(holding: Holding, job: Job) -> tuple[str, ...]:
    """Say the same in paragraphs, without title and first line."""
    units = job.units
    return (
        *(f"- {point.text}" for point in holding.hindrances),
        _sizes(holding, job),
        *_grip(holding, job),
        _seat(holding, job),
        say_load(holding.load, units),
        *(f"- {line}" for line in say_stresses(holding, units)),
        *([_RING] if job.hold.kind is HoldKind.RECESS else []),
        *(f"- {point.text}" for point in holding.points if not point.hinders),
        *CAUTIONS,
    )


def say_on_sheet(holding: Holding, job: Job) -> tuple[str, ...]:
    """Say what belongs beside the drawing of it: what speaks against it, the chuck, the stresses in a line."""
    load, units = holding.load, job.units
    more = " with weight" if load.weight is not None else ""
    more += f" and unbalance at {load.rpm:g} rpm" if load.unbalance is not None and load.rpm is not None else ""
    told = ", ".join(f"{_NAMES[stress.kind]} {format_stress(stress.value, units)}" for stress in holding.stresses)
    factors = [stress.factor for stress in holding.stresses if stress.factor is not None]
    worst = f"; least factor to the handbook's means {say_factor(min(factors))}" if factors else ""
    stresses = f"Estimate, {format_force(load.cut, units)} at the rim{more}: {told}{worst}."
    return (*(point.text for point in holding.hindrances), " ".join((*_grip(holding, job), stresses)))


def _first(holding: Holding, job: Job) -> str:
    hold, count = job.hold, len(holding.hindrances)
    size, deep = (format_length(length, job.units) for length in (hold.diameter, hold.depth))
    measure = {HoldKind.TENON: "long", HoldKind.RECESS: "deep", HoldKind.GLUE_BLOCK: "thick"}[hold.kind]
    held = f"held by a {hold.kind.value} of {size}, {deep} {measure}"
    if not count:
        return f"{held}; nothing that hinders was found in what could be asked."
    return f"{held}; {'one thing speaks' if count == 1 else f'{count} things speak'} against it:"


def _sizes(holding: Holding, job: Job) -> str:
    sizes, hold, units = holding.sizes, job.hold, job.units
    low, high = (f"{100.0 * share:.0f}" for share in USUAL_SHARE)
    ring = {
        HoldKind.TENON: "shoulder",
        HoldKind.RECESS: "ring left round it",
        HoldKind.GLUE_BLOCK: "foot beyond it on each side",
    }[hold.kind]
    said = f"It is {100.0 * hold.diameter / sizes.bowl:.0f} % of the bowl ({low} to {high} % is common practice)"
    said += f"; {ring} {format_length(sizes.shoulder, units)}"
    if sizes.glued is not None:
        said += f"; glued on {format_area(sizes.glued, units)}"
    left, inside = (format_length(length, units) for length in (sizes.floor_left, sizes.inside))
    return f"{said}; floor left above it {left}; the inside comes no nearer than {inside}."


def _grip(holding: Holding, job: Job) -> Iterator[str]:
    chuck, grip, units = job.chuck, holding.grip, job.units
    if not grip.is_known:
        return
    thread = spindle_thread(chuck, job.lathe)
    name = chuck.name or ("The faceplate" if grip.way is GripWay.SCREWS else "The chuck")
    told = []
    if grip.way is GripWay.THREAD and thread is not None:
        name, told = "The block", [f"goes on the spindle by a thread {thread.text} cut in it"]
    if grip.ends is not None:
        verb = "close on" if grip.way is GripWay.CLOSING else "open in"
        low, high = (format_length(end, units) for end in grip.ends)
        told.append(f"jaws {verb} {low} to {high}")
    if grip.way is GripWay.CLOSING and chuck.true_circle is not None:
        told.append(f"a true circle at {format_length(chuck.true_circle, units)}")
    if grip.way is not GripWay.THREAD and chuck.jaw_height is not None:
        told.append(f"jaws {format_length(chuck.jaw_height, units)} high")
    if grip.below is not None and grip.below > 0.0:
        told.append(f"{format_length(grip.below, units)} of air under the tenon")
    if grip.way is GripWay.SCREWS and chuck.screws is not None:
        told.append(f"screws {format_length(chuck.screws, units)} into the wood")
    if grip.way is not GripWay.THREAD and thread is not None:
        told.append(f"thread {thread.text}")
    yield f"{name}{' ' if name == 'The block' else ': '}{', '.join(told)}."


def _seat(holding: Holding, job: Job) -> str:
    seat, units = holding.seat, job.units
    surface = "glue face" if job.hold.kind is HoldKind.GLUE_BLOCK else job.hold.kind.value
    known = f"known to within {format_length(seat.slack, units)}"
    if not seat.is_in_wood:
        return f"{100.0 * seat.in_wood:.0f} % of the {surface} lies in wood by the model ({known})."
    bark = ", none of it in bark" if seat.bark == 0.0 else ""
    return (
        f"The {surface} lies in wood all round{bark}, at least {format_length(seat.depth, units)} deep ({known}); "
        "what is under the skin no model shows."
    )


def say_load(load: Load, units: Units) -> str:
    """Say the load case."""
    assumed = ", assumed (no source)" if load.is_assumed else ""
    parts = [f"a cut of {format_force(load.cut, units)} at the rim{assumed}"]
    if load.weight is not None:
        parts.append(f"the whole piece as it stands, at most {format_force(load.weight, units)}")
    if load.unbalance is not None and load.rpm is not None:
        why = {
            SpeedFrom.ASKED: "as asked",
            SpeedFrom.START: "the speed to begin under",
            SpeedFrom.LOWEST: "the lathe's lowest",
            None: "",
        }[load.speed_from]
        parts.append(f"its unbalance at {load.rpm:g} rpm ({why}), at most {format_force(load.unbalance, units)}")
    without = ""
    if load.weight is None:
        without = ". Its weight is not known: weight and unbalance are left out"
    elif load.rpm is None:
        without = ". No speed is known: the unbalance is left out"
    return f"Reckoned with: {'; '.join(parts)}{without}. All of it as if it met at once."


def say_stresses(holding: Holding, units: Units) -> Iterator[str]:
    """Say each stress, and what clear wood bears."""
    for stress in holding.stresses:
        yield _stress(stress, holding, units)


def _stress(stress: Stress, holding: Holding, units: Units) -> str:
    name = STRESSES[stress.kind]
    said = f"{name[:1].upper()}{name[1:]}: {format_stress(stress.value, units)}, on {format_area(stress.area, units)}"
    if stress.strength is None or stress.factor is None:
        return f"{said}."
    wet = "green" if holding.is_green else f"at {holding.moisture:g} %"
    way = "across the grain" if stress.kind is StressKind.TENSION else "along the grain"
    return (
        f"{said}. Clear {holding.wood}, {wet}, bears {format_stress(stress.strength, units)} {way} on the mean "
        f"({stress.source}): a factor of about {say_factor(stress.factor)}."
    )
