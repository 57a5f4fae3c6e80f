"""The set-up sheet, one page to pin up by the lathe: pictures, sizes, moves, balance, order of work, room for notes.

Every figure on it stands on another sheet or in another answer too; here they are together.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from formmaker.drawing.answers import say_margin
from formmaker.drawing.lettering import wrap_text
from formmaker.drawing.linestyles import SMALL, THIN
from formmaker.drawing.marks import Box, Line, Mark, Picture, Text
from formmaker.drawing.sheet import Caption, Drawing
from formmaker.drawing.subject import Subject
from formmaker.model.balance import Balance
from formmaker.model.form import Edge
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.model.move import EndMove
from formmaker.units import degrees_round, format_length, format_weight, nearest_index

WIDTH = 168.0
PICTURE = (48.0, 36.0)
STEP = 5.6
NOTE_LINES = 2
STAYS = 0.05
"""A centre that goes less far stays, mm: half of what is lettered."""

_CAUTIONS = (
    "Lowest speed first; raise it only while the lathe does not shake. Stand out of the line of fire, tailstock up, "
    "face shield on; turn the wood over by hand, a whole turn, before the motor runs. Dust harms: take it away where "
    "it is made. Read the maker's manual, keep to local rules, learn from trained people: no figure here says that a "
    "speed or a hold is without danger."
)
_HELD = {
    HoldKind.TENON: "turn the tenon and its shoulder",
    HoldKind.RECESS: "turn the recess",
    HoldKind.GLUE_BLOCK: "true the face, glue the block on, let it cure",
}


def setup_sheet(subject: Subject) -> Drawing:
    """The page to pin up: pictures beside the order of work, the figures under them, room for notes."""
    wide, high = PICTURE
    left = wide + 6.0 if subject.pictures else 0.0
    order = [
        "For pinning up by the lathe. Order of work:",
        *(f"{number}  {step}" for number, step in enumerate(_order(subject), start=1)),
    ]
    steps = _hung(order, left=left, top=0.0, width=WIDTH - left)
    figures = _hung(
        _figures(subject), left=0.0, top=min(steps.low, -len(subject.pictures) * (high + 4.0)), width=WIDTH
    )
    marks = (*_pictures(subject.pictures), *steps.marks, *figures.marks, *_notes(figures.low))
    caption = Caption(title=subject.job.title, name="Set-up sheet")  # all that it tells is in the drawing
    return Drawing(marks=marks, caption=caption)


def _figures(subject: Subject) -> list[str]:
    told = {"Sizes": _sizes(subject)}
    if subject.move is not None:
        told["Centres"] = " ".join(_centre(subject.job, end) for end in subject.move.ends)
    if subject.balance is not None:
        told["Balance"] = _balance(subject.job, subject.balance)
    if subject.drying:
        told["Drying"] = subject.drying
    told["Before you turn"] = " ".join((*subject.hindrances, _CAUTIONS))
    return [f"{name}: {said}" for name, said in told.items()]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hung:
    """Lettering and how far down it reaches, mm."""

    marks: tuple[Mark, ...]
    low: float


def _hung(paragraphs: Iterable[str], *, left: float, top: float, width: float) -> _Hung:
    marks: list[Mark] = []
    for paragraph in paragraphs:
        lines = wrap_text(paragraph, height=SMALL, width=width)
        marks.extend(Text(at=(left, top - SMALL - i * STEP), text=line) for i, line in enumerate(lines))
        top -= STEP * len(lines) + 0.8
    return _Hung(marks=tuple(marks), low=top)


def _pictures(pictures: tuple[bytes, ...]) -> Iterable[Mark]:
    wide, high = PICTURE
    for i, png in enumerate(pictures):
        low = -high - i * (high + 4.0)
        yield Picture(png=png, box=Box(left=0.0, low=low, right=wide, high=low + high))


def _sizes(subject: Subject) -> str:
    job, verdict = subject.job, subject.verdict

    def said(size: float) -> str:
        return format_length(size, job.units)

    wall = job.form.wall[:, 1]
    walls = said(float(wall[0])) if len(set(wall.tolist())) == 1 else f"{said(wall[0])} to {said(wall[-1])}"
    rim = "turned rim"
    if job.form.edge is Edge.NATURAL:
        rim = f"rim {said(float(verdict.rim.height.min()))} to {said(float(verdict.rim.height.max()))}, natural edge"
    return (
        f"diameter {said(verdict.diameter)}, height {said(verdict.height)}, foot {said(verdict.foot)}, wall {walls}, "
        f"floor {said(job.form.floor)}, {rim}; {job.hold.kind.value} {said(job.hold.diameter)} by "
        f"{said(job.hold.depth)}. {_answer(subject)}"
    )


def _answer(subject: Subject) -> str:
    job, verdict = subject.job, subject.verdict
    known = format_length(verdict.uncertainty, job.units)
    return f"{say_margin(job, verdict)}, known to within {known}: {verdict.answer}."


def _centre(job: Job, end: EndMove) -> str:
    if end.shift <= STAYS:
        said = f"The {end.end.value} centre stays"
    else:
        degrees = degrees_round(end.toward)
        index = nearest_index(degrees, job.index_count)
        said = (
            f"the {end.end.value} centre goes {format_length(end.shift, job.units)} to {degrees:.0f}° (index {index})"
        )
    if end.dividers is None:
        return f"{said}."
    pair = ", ".join(f"{s.mark} {format_length(s.radius, job.units)}" for s in end.dividers.settings)
    return f"{said}; dividers {pair}."


def _balance(job: Job, balance: Balance) -> str:
    units = job.units
    off, slack = format_length(balance.offset, units), format_length(balance.slack, units)
    said = f"the centre of mass lies {off} off the axis, known to within {slack}"
    if balance.is_side_known:
        degrees = degrees_round(balance.heavy_toward)
        said += f", toward {degrees:.0f}° (index {nearest_index(degrees, job.index_count)}): that side swings down"
    if balance.mass.kilograms is not None and balance.mass.spread is not None:
        weight = format_weight(balance.mass.kilograms, units)
        said += f". Weight about {weight}, give or take {100.0 * balance.mass.spread:.0f} %"
    said += f". Farthest wood {format_length(balance.swing.radius, units)} from the axis"
    if balance.start.rpm is None:
        return f"{said}. No starting speed is given for this mounting."
    return f"{said}. Start at the lathe's lowest speed and keep under {balance.start.rpm:g} rpm until it runs round."


def _order(subject: Subject) -> Iterable[str]:
    job = subject.job
    roughed = format_length(subject.verdict.diameter + 2.0 * job.skin, job.units)
    deep = format_length(job.form.height - float(subject.section.inner.start[1]), job.units)
    yield "Mark both centres by the end sheets; turn it over by hand."
    yield f"Rough it to {roughed}; look for cracks and loose bark."
    if job.form.edge is Edge.NATURAL:
        yield "Wrap the rim strip round it, mark, judge."
    yield f"At the foot: {_HELD[job.hold.kind]}, by the hold sheet."
    yield "Turn the outside to the template."
    yield f"Turn it round on its {job.hold.kind.value}; drill {deep} under the rim's plane."
    yield "Hollow from the rim by the wall gauge."
    yield "Reverse it and finish the foot."


def _notes(top: float) -> Iterable[Mark]:
    yield Text(at=(0.0, top - SMALL - 1.0), text="Notes:")
    for i in range(NOTE_LINES):
        y = top - SMALL - 2.0 - 7.0 * i
        yield Line(start=(16.0 if i == 0 else 0.0, y), end=(WIDTH, y), style=THIN)
