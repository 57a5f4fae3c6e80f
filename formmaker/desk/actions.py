"""What can be asked of the desk, one function a wish: figures from the page in, the board changed.

Figures come from a browser: each is read and refused like a word of a job file.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from formmaker.desk.board import Board, Picked, digest
from formmaker.desk.figures import Data, WishError, number, sight, whole, word
from formmaker.desk.weighing import found_in
from formmaker.engine.nudging import Centre
from formmaker.engine.sketching import add_handle, move_handle, remove_handle, set_corner
from formmaker.errors import FormmakerError, MeasureError
from formmaker.files.job_faults import read_text_of
from formmaker.model.form import Form
from formmaker.model.marks import Mark, MarkKind
from formmaker.pipeline import changes, looking, sitting
from formmaker.units import Units, format_length, parse_length

Say = Callable[[str], None]

LENGTHS = {
    *("form.wall", "form.floor", "form.lowest_rim", "hold.diameter", "hold.depth", "allowance.skin"),
    "mounting.foot_height",
}
WORDS = {
    "form.edge": ("natural", "turned"),
    "hold.kind": ("glue block", "tenon", "recess"),
    "mounting.rim_end": ("headstock", "tailstock"),
}
MARK_RADIUS = {MarkKind.WITNESS: 0.0, MarkKind.KEEP: 20.0, MarkKind.FLAW: 8.0}
"""What a mark set on the page begins with, mm: how near the rim must pass, what to stay clear of; ours."""


def fulfil(board: Board, name: str, data: Data, say: Say) -> None:
    """Do what the page asks; what cannot be done is said on the board, which stays as it was."""
    board.refusal = ""
    board.news = ""
    try:
        ACTIONS[name](board, data, say)
    except KeyError as error:
        board.refusal = f"the page asked for something the desk does not know ({error})"
    except FormmakerError as error:
        board.refusal = str(error)


def look(board: Board, data: Data, say: Say) -> None:
    """Pick an angle, a height or both."""
    theta = number(data, "theta", board.picked.theta) % (2.0 * math.pi)
    board.picked = Picked(theta=theta, height=number(data, "height", board.picked.height))


def drag(board: Board, data: Data, say: Say) -> None:
    """Try a handle at another place, without a word in the job yet."""
    form = board.dragged or board.sitting.report.job.form
    at = [number(data, "radius"), number(data, "height")]
    tried = move_handle(form, whole(data, "handle"), to=at)
    board.sitting = sitting.with_form(board.sitting, tried)
    board.dragged = tried


def drop(board: Board, data: Data, say: Say) -> None:
    """Let go of a handle: what was tried last comes into the job."""
    form, board.dragged = board.dragged, None
    if form is not None:
        _take_form(board, form, say)


def step_handle(board: Board, data: Data, say: Say) -> None:
    """Move a handle by steps, as arrow keys do."""
    form, index = board.sitting.report.job.form, whole(data, "handle")
    by = step_length(board)
    at = form.handles[min(max(index, 0), len(form.handles) - 1)]
    _take_form(board, move_handle(form, index, to=at + by * np.array([number(data, "out"), number(data, "up")])), say)


def more_handles(board: Board, data: Data, say: Say) -> None:
    """Put a handle on the curve where it is nearest to a place."""
    near = [number(data, "radius"), number(data, "height")]
    _take_form(board, add_handle(board.sitting.report.job.form, near=near), say)


def fewer_handles(board: Board, data: Data, say: Say) -> None:
    """Take a handle out."""
    _take_form(board, remove_handle(board.sitting.report.job.form, whole(data, "handle")), say)


def corner(board: Board, data: Data, say: Say) -> None:
    """Make a handle a corner, or smooth again."""
    form, index = board.sitting.report.job.form, whole(data, "handle")
    is_corner = bool(form.corners[min(max(index, 0), len(form.corners) - 1)])
    _take_form(board, set_corner(form, index, corner=not is_corner), say)


def nudge(board: Board, data: Data, say: Say) -> None:
    """Move a centre by some steps toward an angle."""
    by = step_length(board) * number(data, "steps", 1.0)
    centre = Centre(word(data, "centre", tuple(kind.value for kind in Centre)))
    _try(board, changes.text_nudged(board.sitting, centre, toward=number(data, "theta"), by=by), say)


def lift(board: Board, data: Data, say: Say) -> None:
    """Move the foot along the axis by some steps."""
    by = step_length(board) * number(data, "steps", 1.0)
    _try(board, changes.text_raised(board.sitting, by), say)


def level(board: Board, data: Data, say: Say) -> None:
    """Tilt the axis until the rim leans least."""
    before = board.sitting.report.verdict.rim.lean
    _take(board, changes.text_levelled(board.sitting), say)
    after, units = board.sitting.report.verdict.rim.lean, board.sitting.units
    board.news = f"The rim leaned by {format_length(before, units)}; now by {format_length(after, units)}."


def balance(board: Board, data: Data, say: Say) -> None:
    """Go to the nearest axis through the centre of mass."""
    _take(board, changes.text_balanced(board.sitting), say)
    board.news = "The axis runs through the centre of mass now."


def saw(board: Board, data: Data, say: Say) -> None:
    """Record a saw cut: square to the axis at the picked height, or a flat facing the picked angle."""
    side = word(data, "side", ("above", "below", "flat"))
    theta, height = board.picked.theta, board.picked.height
    if side == "flat":
        toward = np.array([math.cos(theta), math.sin(theta), 0.0])
        at = parse_length(_with_unit(board, str(data.get("value", "")).strip()), board.sitting.units)
    else:
        sign = 1.0 if side == "above" else -1.0
        toward, at = np.array([0.0, 0.0, sign]), sign * height
    _take_cut(board, changes.text_sawn(board.sitting, toward=toward, at=at), say)


def turn_down(board: Board, data: Data, say: Say) -> None:
    """Record what was turned off about the present axis."""
    _take_cut(board, changes.text_turned(board.sitting, str(data.get("value", ""))), say)


def uncut(board: Board, data: Data, say: Say) -> None:
    """Take the last cut back."""
    _take(board, changes.text_uncut(board.sitting), say)


def set_step(board: Board, data: Data, say: Say) -> None:
    """Choose how far one nudge goes."""
    words = str(data.get("value", ""))
    if not parse_length(words, board.sitting.units) > 0.0:
        raise MeasureError(f"a step of {words} moves nothing; give a length above 0, such as 1 mm or 1/16 in")
    board.step = words


def set_value(board: Board, data: Data, say: Say) -> None:
    """Set one figure or word of the job."""
    key, value = str(data.get("key", "")), str(data.get("value", "")).strip()
    if key in WORDS:
        _take(board, changes.text_with_values(board.sitting, {key: word(data, "value", WORDS[key])}), say)
    elif key in LENGTHS:
        _take(board, changes.text_with_values(board.sitting, {key: _written(board, value)}), say)
    elif key in ("form.diameter", "form.height"):
        verdict = board.sitting.report.verdict
        sizes = {"diameter": verdict.diameter, "height": verdict.height}
        sizes[key.removeprefix("form.")] = parse_length(_with_unit(board, value), board.sitting.units)
        _take(board, changes.text_with_size(board.sitting, **sizes), say)
    elif key == "title":
        _take(board, changes.text_with_values(board.sitting, {key: value}), say)
    else:
        raise WishError(f"{key} is not set from the desk; change it in the job file")


def profile(board: Board, data: Data, say: Say) -> None:
    """Begin again from a profile, in the size the bowl has now."""
    verdict, name = board.sitting.report.verdict, str(data.get("value", ""))
    _take(board, changes.text_with_profile(board.sitting, name, verdict.diameter, verdict.height), say)


def units(board: Board, data: Data, say: Say) -> None:
    """Answer in millimetres or inches; the file keeps its own unit."""
    chosen = Units(word(data, "value", tuple(unit.value for unit in Units)))
    board.sitting = sitting.in_units(board.sitting, chosen)
    board.found = found_in(board.found, chosen) if board.found else None
    board.step = "1 mm" if chosen is Units.MM else "1/16 in"


def touch(board: Board, data: Data, say: Say) -> None:
    """Find the place under a finger on the skin; pick it, and mark it where a mark is to be set."""
    found = looking.touched(board.sitting, sight(data))
    if found is None:
        return
    board.picked = Picked(theta=found.theta, height=found.height)
    kind = data.get("mark")
    if kind:
        _add_mark(board, MarkKind(word(data, "mark", tuple(kind.value for kind in MarkKind))), found.at, say)


def mark_here(board: Board, data: Data, say: Say) -> None:
    """Set a mark on the skin at the picked angle and height: the way by keyboard."""
    found = looking.skin_at(board.sitting, board.picked.theta, board.picked.height)
    if found is None:
        raise WishError("there is no wood at the picked angle and height; pick another place first")
    _add_mark(board, MarkKind(word(data, "mark", tuple(kind.value for kind in MarkKind))), found.at, say)


def unmark(board: Board, data: Data, say: Say) -> None:
    """Take a mark away."""
    _take(board, changes.text_without_mark(board.sitting, whole(data, "number")), say)


def take(board: Board, data: Data, say: Say) -> None:
    """Take a choice that was found, by its number from 1."""
    number_of = whole(data, "number")
    weighed = board.found.weighed if board.found else ()
    if not 1 <= number_of <= len(weighed):
        raise WishError(f"there is no choice {number_of}; seek again")
    _take(board, changes.text_with_choice(board.sitting, weighed[number_of - 1].choice), say)
    board.news = f"Choice {number_of} is taken; undo brings back what there was."


def put_away(board: Board, data: Data, say: Say) -> None:
    """Put the choices away."""
    board.found = None


def undo(board: Board, data: Data, say: Say) -> None:
    """Go back one step."""
    _step(board, -1, say)


def redo(board: Board, data: Data, say: Say) -> None:
    """Go forward one step."""
    _step(board, 1, say)


def save(board: Board, data: Data, say: Say) -> None:
    """Write the job file, unless it was changed meanwhile by somebody else."""
    if digest(board.sitting.path) != board.on_disk and not data.get("over"):
        board.disk_changed = True
        raise WishError("the job file was changed on disk since it was read; choose which of the two shall stay")
    sitting.save(board.sitting)
    board.saved, board.on_disk, board.disk_changed = board.sitting.text, digest(board.sitting.path), False
    board.news = f"Saved in {board.sitting.path.name}."


def reload(board: Board, data: Data, say: Say) -> None:
    """Take what the file on disk says now; undo still leads back to what was on the desk."""
    text = read_text_of(board.sitting.path)
    _take(board, text, say)
    board.saved, board.on_disk, board.disk_changed = text, digest(board.sitting.path), False


def show(board: Board, data: Data, say: Say) -> None:
    """Show a body in the scene, or hide it."""
    name = word(data, "name", ("blank", "bowl", "ghost", "waste"))
    board.shown = board.shown ^ {name}


def shape(board: Board, data: Data, say: Say) -> None:
    """Note the shape of the place that the unrolled rim has on the page."""
    board.rim_aspect = min(max(number(data, "rim", 5.0), 1.0), 12.0)


def paper(board: Board, data: Data, say: Say) -> None:
    """Note whether the page is dark."""
    board.is_dark = bool(data.get("dark"))


ACTIONS: dict[str, Callable[[Board, Data, Say], None]] = {
    "look": look,
    "drag": drag,
    "drop": drop,
    "step-handle": step_handle,
    "more-handles": more_handles,
    "fewer-handles": fewer_handles,
    "corner": corner,
    "nudge": nudge,
    "lift": lift,
    "level": level,
    "balance": balance,
    "saw": saw,
    "turn-down": turn_down,
    "uncut": uncut,
    "step": set_step,
    "set": set_value,
    "profile": profile,
    "units": units,
    "touch": touch,
    "mark-here": mark_here,
    "unmark": unmark,
    "take": take,
    "put-away": put_away,
    "undo": undo,
    "redo": redo,
    "save": save,
    "reload": reload,
    "show": show,
    "shape": shape,
    "paper": paper,
}


def step_length(board: Board) -> float:
    """How far one nudge goes, mm."""
    return parse_length(board.step, board.sitting.units)


def _take(board: Board, text: str, say: Say) -> None:
    """Take a text of the job, if it is sound, as the next step of the sitting."""
    board.sitting = sitting.with_text(board.sitting, text, say)
    board.history.add(text)


def _try(board: Board, text: str, say: Say) -> None:
    """Take a text as ``_take`` does, answered as quickly as a hand moves; the usual check follows at rest."""
    board.sitting = sitting.with_text(board.sitting, text, say, tolerances=sitting.in_the_hand(board.sitting))
    board.history.add(text)


def _take_cut(board: Board, text: str, say: Say) -> None:
    """Take a text with one cut more; one that takes no wood off is refused."""
    cut = sitting.with_text(board.sitting, text, say)
    if sitting.last_cut_is_empty(cut):
        raise WishError("that cut takes no wood off: it passes beside the wood; pick another place")
    board.sitting = cut
    board.history.add(text)
    board.news = " ".join(sitting.last_cut_words(cut))


def _take_form(board: Board, form: Form, say: Say) -> None:
    try:
        _try(board, changes.text_with_form(board.sitting, form), say)
    except FormmakerError:
        board.sitting = sitting.with_text(board.sitting, board.history.text, say)  # drop what was tried
        raise


def _step(board: Board, by: int, say: Say) -> None:
    board.dragged = None
    board.sitting = sitting.with_text(board.sitting, board.history.step(by), say)


def _add_mark(board: Board, kind: MarkKind, at: NDArray[np.float64], say: Say) -> None:
    mark = Mark(name=changes.free_mark_name(board.sitting), kind=kind, at=at, radius=MARK_RADIUS[kind])
    _take(board, changes.text_with_mark(board.sitting, mark), say)
    board.news = f"Mark {mark.name} is set."


def _written(board: Board, value: str) -> object:
    """A length as the job file shall have it: a plain number where it is in the file's unit, else with its unit."""
    words = _with_unit(board, value)
    parse_length(words, board.sitting.units)
    number, _, unit = words.rpartition(" ")
    try:
        return float(number) if unit == board.sitting.asked.units.value else words
    except ValueError:
        return words


def _with_unit(board: Board, value: str) -> str:
    """What was typed, with the unit of the page where it names none."""
    return value if value[-1:].isalpha() else f"{value} {board.sitting.units.value}"
