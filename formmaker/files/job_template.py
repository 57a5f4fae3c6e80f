"""The commented job file that ``formmaker new`` writes: every key with a word on what it is for.

What it writes ``job_file.read_job`` reads back, to the rounding: lengths to 0.01 mm or 0.0001 in.
"""

import json
import math
import textwrap
from collections.abc import Iterable
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from formmaker.files.job_faults import printable
from formmaker.model.blank import BlankSource, Timber
from formmaker.model.chuck import UNKNOWN_CHUCK, Chuck
from formmaker.model.drying import NO_WISH, DryWish
from formmaker.model.form import Edge, Form
from formmaker.model.grain import Grain
from formmaker.model.hold import Hold
from formmaker.model.job import BlankPlan, Job
from formmaker.model.lathe import UNKNOWN_LATHE, Lathe
from formmaker.model.marks import Mark
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import SHAPES, Shape
from formmaker.units import Units, format_number

_COMMENT_COLUMN = 44
_COMMENT_WIDTH = 112


def job_text(job: Job, *, diameter: float | None = None, remarks: Iterable[str] = ()) -> str:
    """Write a job as a commented job file.

    Parameters
    ----------
    job : Job
        Its ``plan.path`` as it should stand in the file, relative to the folder the file goes to.
    diameter : float, optional
        The form is the profile named by ``job.form.name`` at this diameter, mm; without it the curve is written
        handle by handle.
    remarks : iterable of str
        Sentences for the head of the file, such as what the blank was found to be.

    Returns
    -------
    str
        TOML, in the job's units, ending in a line break.
    """
    blocks = [
        _head(job, remarks),
        _blank(job.plan, job.units),
        *(_mark(mark, job.units) for mark in job.plan.marks),
        *_faces(job.plan, job.units),
        _mounting(job.mounting, job.units),
        _form(job.form, diameter, job.units),
        _hold(job.hold, job.units),
        _allowance(job.skin, job.units),
        _dry(job.dry, job.units),
        _lathe(job.lathe, job.units),
        _chuck(job.chuck, job.units),
    ]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _head(job: Job, remarks: Iterable[str]) -> list[str]:
    lines = [f"# {line}" for remark in remarks for line in textwrap.wrap(printable(remark), _COMMENT_WIDTH)]
    unit = job.units.value
    spoken_unit = "millimetres" if job.units is Units.MM else "inches"
    return [
        *lines,
        *(["#"] if lines else []),
        f'# A plain number is in {spoken_unit}; a text says its own unit: "3/8 in", "1 1/16 in", "12 mm".',
        "# A line that starts with # is not read; take the # away to use it.",
        "",
        _line("title", _quoted(job.title), ""),
        _line("units", _quoted(unit), '"mm" or "in": what plain numbers mean and answers are given in'),
        _line("index_count", str(job.index_count), "positions of the index on your lathe, for saying angles"),
    ]


def _blank(plan: BlankPlan, units: Units) -> list[str]:
    moisture = _quoted("green") if plan.timber.moisture is None else _short(plan.timber.moisture)
    wood = plan.timber.name
    return [
        "# The wood. Places are in the blank's own frame: that of the scan, the readings or the described shape.",
        *_scaled_places(plan),
        "[blank]",
        *_source(plan, units),
        _line(
            "uncertainty",
            _example(1.0, 0.04, units) if plan.uncertainty is None else _size(plan.uncertainty, units),
            "how far the skin of the model may be off",
            off=plan.uncertainty is None,
        ),
        _line("wood", _quoted(wood or "elm, American"), "the timber, for its weight", off=not wood),
        _line("moisture", moisture, '"green", or a percentage of the dry weight'),
        *_weight(plan.timber, units),
        *_grain(plan.grain, units),
    ]


def _weight(timber: Timber, units: Units) -> list[str]:
    weighed, barked = timber.weight is not None, timber.bark > 0.0
    weight = _quoted(f"{timber.weight:g} kg") if weighed else _example(6.2, 13.5, units)
    bark = _size(timber.bark, units) if barked else _example(8, 0.375, units)
    plain = "kg" if units is Units.MM else "lb"
    return [
        _line("weight", weight, f"{plain}, weighed, before any [[cut]]: better than any table", off=not weighed),
        _line("bark", bark, 'thickness of the bark; "ignored", or nothing: it counts as wood', off=not barked),
    ]


def _grain(grain: Grain, units: Units) -> list[str]:
    way = '"x"' if grain.way is None else _quoted(grain.way) if isinstance(grain.way, str) else str(list(grain.way))
    pith = "[0, 0, 0]" if grain.pith is None else _point(np.array(grain.pith), units)
    sapwood = _example(20, 0.75, units) if grain.sapwood is None else _size(grain.sapwood, units)
    return [
        _line("grain", way, 'the way of the fibres: [x, y, z], "x", "y", "z" or "axis"', off=grain.way is None),
        _line("pith", pith, "a place on the pith, in the wood or outside it", off=grain.pith is None),
        _line("sapwood", sapwood, "its thickness under the bark", off=grain.sapwood is None),
    ]


def _scaled_places(plan: BlankPlan) -> list[str]:
    if plan.source is not BlankSource.SCAN:
        return []
    return [
        "# Every place in this file (marks, faces, mounting) is given as the scan has it. Where known lengths scale",
        "# the scan, all of them are scaled with it; lengths (sizes, radii, heights) are true ones and stay.",
    ]


def _source(plan: BlankPlan, units: Units) -> list[str]:
    name = _quoted(plan.path.as_posix()) if plan.path is not None else '""'
    if plan.source is BlankSource.SHAPE and plan.shape is not None:
        return _shape(plan.shape, units)
    if plan.source is BlankSource.READINGS:
        count = str(plan.index_count or 24)
        return [
            _line("readings", name, "table with the columns index_deg (or index), station, radius"),
            _line("index_count", count, "index positions that the table counts in", off=not plan.index_count),
        ]
    unit = _quoted(plan.scan_unit or "mm")
    rows = [[_quoted(known.first), _quoted(known.second), _size(known.length, units)] for known in plan.known_lengths]
    known = _listed(map(_listed, rows)) if rows else f'[["A", "B", {_example(212, 8.5, units)}]]'
    return [
        _line("scan", name, "the scanned skin"),
        _line("scan_unit", unit, "mm, cm, m or in: the unit of the scan's figures", off=not plan.scan_unit),
        _line("known_length", known, "caliper distances between marks; the scan is scaled to them", off=not rows),
    ]


def _shape(shape: Shape, units: Units) -> list[str]:
    name = next(name for name, kind in SHAPES.items() if isinstance(shape, kind))
    sizes = {field.name: _shape_size(field.name, getattr(shape, field.name), units) for field in fields(shape)}
    inside = ", ".join(f"{key} = {size}" for key, size in sizes.items())
    return [
        _line("shape", _quoted(name), f"one of {', '.join(SHAPES)}"),
        _line("size", f"{{ {inside} }}", ""),
    ]


def _shape_size(name: str, size: float, units: Units) -> str:
    return _short(math.degrees(size)) if name == "angle" else _size(size, units)


def _mark(mark: Mark, units: Units) -> list[str]:
    return [
        "[[blank.mark]]",
        _line("name", _quoted(mark.name), "what is written beside it on the wood"),
        _line(
            "kind", _quoted(mark.kind.value), "witness: to measure from; keep: the rim must pass; flaw: stay clear"
        ),
        _line("at", _point(mark.at, units), "x, y, z"),
        _line(
            "radius",
            _size(mark.radius, units) if mark.radius else _example(10, 0.5, units),
            "keep: how near; flaw: how far",
            off=not mark.radius,
        ),
    ]


def _faces(plan: BlankPlan, units: Units) -> list[list[str]]:
    """The user's word on faces, with one example to uncomment where there is none."""
    if not plan.faces:
        return [
            [
                "# Flat faces of some size are taken as sawn. Where that is wrong, say so, one table for each face:",
                "# [[blank.face]]",
                _line("at", "[0, 0, 0]", "a place on the face", off=True),
                _line("kind", _quoted("natural"), '"natural" or "sawn"', off=True),
            ]
        ]
    return [
        [
            "[[blank.face]]",
            _line("at", _point(np.array(face.at), units), "a place on the face"),
            _line("kind", _quoted(face.kind), '"natural" or "sawn"'),
        ]
        for face in plan.faces
    ]


def _mounting(mounting: Mounting, units: Units) -> list[str]:
    zero = _quoted(mounting.zero_name) if mounting.zero_name else _direction(mounting.zero)
    return [
        "# Where the turning axis stands in the wood.",
        "[mounting]",
        _line("foot_centre", _point(mounting.foot_centre, units), "where the axis leaves the wood under the foot"),
        _line("rim_centre", _point(mounting.rim_centre, units), "where it leaves the wood on the rim's side"),
        _line("zero", zero, "where angle 0 lies: a mark's name, or a direction [x, y, z]"),
        _line(
            "foot_height", _size(mounting.foot_height, units), "from foot_centre up to the plane the foot stands on"
        ),
        _line(
            "rim_end", _quoted(mounting.rim_end.value), "headstock or tailstock: where the rim faces while roughing"
        ),
    ]


def _form(form: Form, diameter: float | None, units: Units) -> list[str]:
    natural = form.edge is Edge.NATURAL
    law = f"[[0, {_example(12, 0.5, units)}], [1, {_example(6, 0.25, units)}]]"
    return [
        "# The bowl you wish for.",
        "[form]",
        *_curve(form, diameter, units),
        _line("wall", _wall(form.wall, units), f"thickness; or from foot (0) to rim (1): {law}"),
        _line("floor", _size(form.floor, units), "thickness of the floor at the centre"),
        _line("edge", _quoted(form.edge.value), "natural: the bark side ends the wall; turned: a flat turned rim"),
        _line(
            "lowest_rim", _size(form.lowest_rim, units), "natural: the lowest rim you would accept", off=not natural
        ),
    ]


def _curve(form: Form, diameter: float | None, units: Units) -> list[str]:
    if diameter is not None:
        return [
            _line("profile", _quoted(form.name), "the curve to start from: a name, or the path of a profile"),
            _line("diameter", _size(diameter, units), "over the widest place"),
            _line("height", _size(form.height, units), "from the foot to the rim at its highest"),
        ]
    joints = ["corner" if corner else "smooth" for corner in form.corners]
    return [
        _line("name", _quoted(form.name), "what you call it", off=not form.name),
        _line(
            "outer", _listed(_point(handle, units) for handle in form.handles), "[radius, height] from foot to rim"
        ),
        _line("joints", _listed(map(_quoted, joints)), "smooth or corner, one for each handle"),
    ]


def _hold(hold: Hold, units: Units) -> list[str]:
    force = '"100 N"' if hold.cut_force is None else _quoted(f"{hold.cut_force:g} N")
    return [
        "# How the bowl is held while it is hollowed.",
        "[hold]",
        _line("kind", _quoted(hold.kind.value), '"glue block", "tenon" or "recess"'),
        _line("diameter", _size(hold.diameter, units), ""),
        _line("depth", _size(hold.depth, units), "thickness of the block, length of the tenon, depth of the recess"),
        _line("cut_force", force, "a cut at the rim, for `formmaker hold`", off=hold.cut_force is None),
    ]


def _allowance(skin: float, units: Units) -> list[str]:
    return ["[allowance]", _line("skin", _size(skin, units), "wood wanted outside the finished surface, for truing")]


def _dry(wish: DryWish, units: Units) -> list[str]:
    skin = _example(2, 0.125, units) if wish.skin is None else _size(wish.skin, units)
    shrinkage = "[4, 8]" if wish.radial is None else str([wish.radial, wish.tangential])
    to = _line("to", _short(10.0 if wish.to is None else wish.to), "% of the dry weight", off=wish.to is None)
    return [
        "# How dry it is to be for `formmaker dry`: a moisture (to), or the air it is to live in (temperature and",
        "# humidity); with nothing said, as dry as a room of 20 C and 50 % makes it.",
        f"{'# ' if wish == NO_WISH else ''}[dry]",
        *([to] if wish.temperature is None else _air(wish)),
        _line("skin", skin, "wood for truing when the dried rough-out is turned again", off=wish.skin is None),
        _line("shrinkage", shrinkage, "% radial, tangential, green to ovendry, if you know", off=wish.radial is None),
    ]


def _air(wish: DryWish) -> list[str]:
    return [
        _line("temperature", _short(wish.temperature or 0.0), 'C, or a text such as "68 F"'),
        _line("humidity", _short(100.0 * (wish.humidity or 0.0)), "%, relative"),
    ]


def _lathe(lathe: Lathe, units: Units) -> list[str]:
    unknown = lathe == UNKNOWN_LATHE
    said = {
        "swing": (_example(400, 16, units), "largest diameter over the bed"),
        "between_centres": (_example(600, 24, units), "longest piece between the centres"),
        "lowest_speed": ("60", "rpm"),
        "highest_speed": ("2000", "rpm"),
        "tool_rest": (_example(10, 0.375, units), "air wanted between the tool rest and the farthest wood"),
    }
    lengths = ("swing", "between_centres", "tool_rest")
    lines = []
    for key, (example, comment) in said.items():
        value = getattr(lathe, key)
        text = example if value is None else _size(value, units) if key in lengths else _short(value)
        lines.append(_line(key, text, comment, off=value is None))
    thread = '"M33x3.5"' if lathe.thread is None else _quoted(lathe.thread.text)
    lines.append(_line("thread", thread, 'of the spindle; or such as "1 1/4x8"', off=lathe.thread is None))
    return ["# The lathe it goes on; every line may be left out.", f"{'# ' if unknown else ''}[lathe]", *lines]


def _chuck(chuck: Chuck, units: Units) -> list[str]:
    def size(value: float | None, in_mm: float, in_inches: float) -> str:
        return _example(in_mm, in_inches, units) if value is None else _size(value, units)

    def ends(value: tuple[float, float] | None, *examples: tuple[float, float]) -> str:
        return _listed(size(end, *example) for end, example in zip(value or (None, None), examples, strict=True))

    thread = '"M33x3.5"' if chuck.thread is None else _quoted(chuck.thread.text)
    said = {
        "name": (_quoted(chuck.name or "four-jaw chuck, 50 mm jaws"), "what you call it"),
        "closes_on": (ends(chuck.closes_on, (45, 1.75), (65, 2.5)), "smallest and largest tenon it grips"),
        "opens_in": (ends(chuck.opens_in, (52, 2.125), (80, 3.125)), "smallest and largest recess it opens in"),
        "true_circle": (size(chuck.true_circle, 48, 1.875), "where the closing jaws are a true circle"),
        "jaw_height": (size(chuck.jaw_height, 14, 0.5625), "from the tops of the jaws to the bottom between them"),
        "screws": (size(chuck.screws, 20, 0.75), "of a faceplate instead: how deep its screws go"),
        "thread": (thread, "that it is screwed on by"),
    }
    lines = [_line(key, value, word, off=not getattr(chuck, key)) for key, (value, word) in said.items()]
    head = "# The chuck or faceplate that holds the bowl; every line may be left out."
    return [head, f"{'# ' if chuck == UNKNOWN_CHUCK else ''}[chuck]", *lines]


def _line(key: str, value: str, comment: str, *, off: bool = False) -> str:
    text = f"{'# ' if off else ''}{key} = {value}"
    return f"{text:<{_COMMENT_COLUMN}}  # {comment}" if comment else text


def _size(millimetres: float, units: Units) -> str:
    return format_number(millimetres, units).removesuffix(".0")


def _example(in_mm: float, in_inches: float, units: Units) -> str:
    return _short(in_mm if units is Units.MM else in_inches)


def _short(number: float) -> str:
    return f"{round(number, 4):g}"


def _point(point: NDArray[np.float64], units: Units) -> str:
    return _listed(_size(value, units) for value in point.tolist())


def _direction(direction: NDArray[np.float64]) -> str:
    """Write a direction by four figures of its largest part, or as it is where that is shorter."""
    whole = np.round(direction)
    if (whole == direction).all():
        return _listed(f"{value + 0.0:.0f}" for value in whole.tolist())
    scaled = direction / np.abs(direction).max()
    return _listed(_short(value + 0.0) for value in scaled.tolist())


def _wall(wall: NDArray[np.float64], units: Units) -> str:
    if len(wall) == 1:
        return _size(float(wall[0, 1]), units)
    return _listed(_listed([_short(fraction), _size(thickness, units)]) for fraction, thickness in wall.tolist())


def _listed(values: Iterable[str]) -> str:
    return f"[{', '.join(values)}]"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
