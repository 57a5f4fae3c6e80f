"""Small pictures of the described blanks in their frames: origin, axes and the sizes by their names.

The sizes drawn are examples; a job's own blank is not drawn here.
"""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formmaker.atomic import write_atomically
from formmaker.drawing.linestyles import CENTRE
from formmaker.drawing.marks import Anchor, Mark, Point, Polyline, Text, bounds, move
from formmaker.drawing.sheet import Sheet
from formmaker.drawing.svg_writer import svg_bytes
from formmaker.drawing.wireframes import TOWARD_EYE, Size, Solid, Wire, on_paper, seen_strokes, wireframe
from formmaker.model.shapes import Board, CapBurr, Crotch, HalfLog, Log, Round, Shape

Floats = NDArray[np.float64]

WIDTH, HEIGHT = 90.0, 60.0
EDGE = 4.0
FOLDER = Path(__file__).parent / "frames"
STEPS = 241

EXAMPLES: dict[str, Shape] = {
    "log": Log(radius=95.0, length=260.0),
    "half log": HalfLog(radius=110.0, length=260.0),
    "cap burr": CapBurr(diameter=280.0, height=110.0),
    "crotch": Crotch(stem_radius=75.0, stem_length=170.0, branch_radius=58.0, branch_length=210.0, angle=0.55),
    "board": Board(length=300.0, width=180.0, thickness=60.0),
    "round": Round(diameter=260.0, thickness=80.0),
}


def shape_picture(name: str, shape: Shape) -> Sheet:
    """The picture of one described blank, 90 mm by 60 mm.

    Parameters
    ----------
    name : str
        What a job file calls it; lettered in the corner.
    shape : Shape

    Returns
    -------
    Sheet
    """
    solid = _solid(shape)
    strokes = seen_strokes(solid)
    scale = 0.12
    for _ in range(6):  # lettering keeps its size while the drawing grows, so the fit is found in a few rounds
        marks = [*wireframe(solid, strokes, scale), *_extras(shape, scale)]
        box = bounds(marks)
        scale *= min((WIDTH - 2.0 * EDGE) / box.width, (HEIGHT - 2.0 * EDGE) / box.height, 1.3)
    shift = (WIDTH / 2.0 - (box.left + box.right) / 2.0, HEIGHT / 2.0 - (box.low + box.high) / 2.0)
    drawn = [move(mark, *shift) for mark in marks]
    drawn.append(Text(at=(EDGE, HEIGHT - EDGE - 3.5), text=name))
    return Sheet(width=WIDTH, height=HEIGHT, title=name, purpose="sizes and frame", marks=tuple(drawn))


def write_shape_pictures(folder: Path = FOLDER) -> tuple[Path, ...]:
    """Write the pictures of all described blanks; returns their paths. Raises ``OutputError`` where it cannot."""
    paths = []
    for name, shape in EXAMPLES.items():
        path = folder / f"{name.replace(' ', '-')}.svg"
        write_atomically(path, svg_bytes(shape_picture(name, shape)))
        paths.append(path)
    return tuple(paths)


def _solid(shape: Shape) -> Solid:
    match shape:
        case Log():
            return _log(shape)
        case HalfLog():
            return _half_log(shape)
        case CapBurr():
            return _cap_burr(shape)
        case Crotch():
            return _crotch(shape)
        case Board():
            return _board(shape)
        case Round():
            return _round(shape)


def _straight(*corners: tuple[float, float, float]) -> Wire:
    places = np.array(corners)
    t = np.linspace(0.0, len(places) - 1.0, STEPS)
    return Wire(points=np.column_stack([np.interp(t, np.arange(len(places)), places[:, i]) for i in range(3)]))


def _log(log: Log) -> Solid:
    r, length = log.radius, log.length
    turn = np.linspace(0.0, math.tau, STEPS)
    circle = np.column_stack([np.zeros(STEPS), r * np.cos(turn), r * np.sin(turn)])
    wires = [Wire(points=circle), Wire(points=circle + np.array([length, 0.0, 0.0]))]
    for angle in (math.pi / 4.0, 5.0 * math.pi / 4.0):  # where the skin turns away from the eye
        y, z = r * math.cos(angle), r * math.sin(angle)
        wires.append(Wire(points=_straight((0.0, y, z), (length, y, z)).points, outline=True))

    def depth(points: Floats) -> Floats:
        x, y, z = points.T
        return np.asarray(np.minimum.reduce([r - np.hypot(y, z), x, length - x]))

    low = (-r * math.sqrt(0.5),) * 2
    sizes = (
        Size(
            name="length",
            start=(0.0, *low),
            end=(length, *low),
            offset=(0.0, -45.0, -45.0),
            shift=(-1.0, -3.5),
            anchor=Anchor.END,
        ),
        Size(
            name="radius",
            start=(length, 0.0, 0.0),
            end=(length, -r, 0.0),
            offset=(120.0, 0.0, 0.0),
            shift=(0.0, -4.5),
            share=0.75,
            anchor=Anchor.START,
        ),
    )
    return Solid(wires=tuple(wires), depth=depth, axes=(length + 265.0, r + 90.0, r + 60.0), sizes=sizes)


def _half_log(log: HalfLog) -> Solid:
    r, half = log.radius, log.length / 2.0
    arm = _half_drum(r, 2.0 * half, 0.0, start=-half)
    front = (half, -r, 0.0)
    sizes = (
        Size(
            name="length",
            start=(-half, -r, 0.0),
            end=front,
            offset=(0.0, -60.0, 0.0),
            shift=(-1.0, -3.5),
            anchor=Anchor.END,
        ),
        Size(
            name="radius",
            start=(half, 0.0, 0.0),
            end=front,
            offset=(45.0, 0.0, 0.0),
            shift=(0.0, -4.5),
            share=0.75,
            anchor=Anchor.START,
        ),
    )
    return Solid(wires=_wires(arm), depth=_depth(arm), axes=(half + 150.0, r + 70.0, r + 70.0), sizes=sizes)


def _diameter(r: float) -> Size:
    """Diameter of a blank that is round about z, measured in front of its foot."""
    return Size(
        name="diameter",
        start=(-r, 0.0, 0.0),
        end=(r, 0.0, 0.0),
        offset=(0.0, -r - 50.0, 0.0),
        shift=(-1.0, -3.5),
        anchor=Anchor.END,
    )


def _cap_burr(burr: CapBurr) -> Solid:
    r, h = burr.diameter / 2.0, burr.height
    ball = (r**2 + h**2) / (2.0 * h)
    centre = np.array([0.0, 0.0, h - ball])
    turn = np.linspace(0.0, math.tau, 4 * STEPS)
    base = r * np.column_stack([np.cos(turn), np.sin(turn), np.zeros_like(turn)])
    level = np.array([1.0, 1.0, 0.0]) / math.sqrt(2.0)
    tilted = np.cross(TOWARD_EYE, level)
    outline = centre + ball * (np.cos(turn)[:, None] * level + np.sin(turn)[:, None] * tilted)

    def depth(points: Floats) -> Floats:
        return np.asarray(np.minimum(ball - np.linalg.norm(points - centre, axis=1), points[:, 2]))

    wires = (Wire(points=base), Wire(points=outline, outline=True))
    side = r * math.sqrt(0.5)
    sizes = (
        _diameter(r),
        Size(
            name="height",
            start=(side, side, 0.0),
            end=(side, side, h),
            offset=(60.0, 60.0, 0.0),
            shift=(1.5, -1.8),
            anchor=Anchor.START,
            share=0.3,
            end_foot=(0.0, 0.0, h),
        ),
    )
    return Solid(wires=wires, depth=depth, axes=(r + 80.0, r + 130.0, h + 70.0), sizes=sizes)


def _board(board: Board) -> Solid:
    x, y, z = board.length / 2.0, board.width / 2.0, board.thickness
    corners = [(-x, -y), (x, -y), (x, y), (-x, y)]
    wires = []
    for (a, b), (c, d) in zip(corners, corners[1:] + corners[:1], strict=True):
        wires += [
            _straight((a, b, 0.0), (c, d, 0.0)),
            _straight((a, b, z), (c, d, z)),
            _straight((a, b, 0.0), (a, b, z)),
        ]

    def depth(points: Floats) -> Floats:
        return np.asarray(
            np.minimum.reduce([x - np.abs(points[:, 0]), y - np.abs(points[:, 1]), points[:, 2], z - points[:, 2]])
        )

    sizes = (
        Size(
            name="length",
            start=(-x, -y, 0.0),
            end=(x, -y, 0.0),
            offset=(0.0, -50.0, 0.0),
            shift=(-1.0, -3.5),
            anchor=Anchor.END,
        ),
        Size(
            name="width",
            start=(x, -y, 0.0),
            end=(x, y, 0.0),
            offset=(50.0, 0.0, 0.0),
            shift=(1.5, -3.5),
            anchor=Anchor.START,
            share=0.8,
        ),
        Size(
            name="thickness",
            start=(-x, -y, 0.0),
            end=(-x, -y, z),
            offset=(-30.0, 0.0, 0.0),
            shift=(-2.0, -1.0),
            anchor=Anchor.END,
        ),
    )
    return Solid(wires=tuple(wires), depth=depth, axes=(x + 150.0, y + 90.0, z + 120.0), sizes=sizes)


def _round(piece: Round) -> Solid:
    r, z = piece.diameter / 2.0, piece.thickness
    turn = np.linspace(0.0, math.tau, 2 * STEPS)
    circle = r * np.column_stack([np.cos(turn), np.sin(turn), np.zeros_like(turn)])
    side = r * math.sqrt(0.5)
    wires = [Wire(points=circle), Wire(points=circle + np.array([0.0, 0.0, z]))]
    for sign in (1.0, -1.0):
        edge = _straight((sign * side, sign * side, 0.0), (sign * side, sign * side, z))
        wires.append(Wire(points=edge.points, outline=True))

    def depth(points: Floats) -> Floats:
        return np.asarray(
            np.minimum.reduce([r - np.hypot(points[:, 0], points[:, 1]), points[:, 2], z - points[:, 2]])
        )

    sizes = (
        _diameter(r),
        Size(
            name="thickness",
            start=(side, side, 0.0),
            end=(side, side, z),
            offset=(30.0, 30.0, 0.0),
            shift=(1.5, -3.0),
            anchor=Anchor.START,
        ),
    )
    return Solid(wires=tuple(wires), depth=depth, axes=(r + 80.0, r + 120.0, z + 130.0), sizes=sizes)


Arm = tuple[tuple[Wire, ...], Callable[[Floats], Floats]]


def _half_drum(radius: float, length: float, angle: float, *, start: float = 0.0) -> Arm:
    """A half cylinder on the floor z = 0, its pith from ``start`` along a direction of the floor."""
    along = np.array([math.cos(angle), math.sin(angle), 0.0])
    aside = np.array([-along[1], along[0], 0.0])
    turn = np.linspace(0.0, math.pi, STEPS)
    arch = radius * (np.cos(turn)[:, None] * aside + np.sin(turn)[:, None] * np.array([0.0, 0.0, 1.0]))
    low, high = start * along, (start + length) * along
    steps = np.linspace(0.0, 1.0, STEPS)[:, None]
    edges = [arch + low, arch + high]
    edges += [low + steps * (high - low) + side * radius * aside for side in (1.0, -1.0)]
    edges += [end + (2.0 * steps - 1.0) * radius * aside for end in (low, high)]
    away = math.atan2(-float(aside @ TOWARD_EYE), float(TOWARD_EYE[2])) % math.pi
    crest = radius * (math.cos(away) * aside + math.sin(away) * np.array([0.0, 0.0, 1.0]))
    wires = [Wire(points=points) for points in edges]
    wires.append(Wire(points=low + steps * (high - low) + crest, outline=True))

    def depth(points: Floats) -> Floats:
        t = points @ along - start
        return np.asarray(
            np.minimum.reduce([radius - np.hypot(points @ aside, points[:, 2]), points[:, 2], t, length - t])
        )

    return tuple(wires), depth


def _wires(*arms: Arm) -> tuple[Wire, ...]:
    return tuple(wire for wires, _ in arms for wire in wires)


def _depth(*arms: Arm) -> Callable[[Floats], Floats]:
    return lambda points: np.asarray(np.maximum.reduce([depth(points) for _, depth in arms]))


def _crotch(fork: Crotch) -> Solid:
    arms = (
        _half_drum(fork.stem_radius, fork.stem_length, math.pi),
        _half_drum(fork.branch_radius, fork.branch_length, fork.angle),
        _half_drum(fork.branch_radius, fork.branch_length, -fork.angle),
    )
    cos, sin, r = math.cos(fork.angle), math.sin(fork.angle), fork.branch_radius
    x = np.linspace(0.0, r / sin, STEPS)
    seam = np.column_stack([x, np.zeros(STEPS), np.sqrt(np.maximum(0.0, r**2 - (x * sin) ** 2))])
    y = np.linspace(-r / cos, r / cos, STEPS)
    shoulder = np.column_stack([np.zeros(STEPS), y, np.sqrt(np.maximum(0.0, r**2 - (y * cos) ** 2))])
    # hidden lines of three drums in one another would be a tangle: only what is seen is drawn
    wires = tuple(Wire(points=wire.points, outline=True) for wire in _wires(*arms))
    wires += (Wire(points=seam, outline=True), Wire(points=shoulder, outline=True))
    return Solid(
        wires=wires,
        depth=_depth(*arms),
        axes=(fork.branch_length + 100.0, fork.stem_radius + 130.0, fork.stem_radius + 70.0),
        sizes=_crotch_sizes(fork),
    )


def _crotch_sizes(fork: Crotch) -> tuple[Size, ...]:
    r, length = fork.stem_radius, fork.stem_length
    along = np.array([math.cos(fork.angle), -math.sin(fork.angle), 0.0])
    aside = np.array([along[1], -along[0], 0.0])
    end, edge = along * fork.branch_length, aside * fork.branch_radius
    return (
        Size(
            name="stem_length",
            start=(-length, -r, 0.0),
            end=(0.0, -r, 0.0),
            offset=(0.0, -60.0, 0.0),
            shift=(-1.0, -3.5),
            anchor=Anchor.END,
        ),
        Size(
            name="stem_radius",
            start=(-length, 0.0, 0.0),
            end=(-length, -r, 0.0),
            offset=(-35.0, 0.0, 0.0),
            shift=(1.0, 3.0),
            anchor=Anchor.END,
        ),
        Size(
            name="branch_length",
            start=_place(edge),
            end=_place(end + edge),
            offset=_place(0.7 * edge),
            shift=(-2.0, -3.0),
            anchor=Anchor.END,
            share=0.75,
        ),
        Size(
            name="branch_radius",
            start=_place(end),
            end=_place(end + edge),
            offset=_place(45.0 * along),
            shift=(-4.0, -6.0),
        ),
    )


def _place(point: Floats) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])


def _extras(shape: Shape, scale: float) -> list[Mark]:
    """The angle of a crotch, between x and the pith of the far branch, drawn beyond the branch's end."""
    if not isinstance(shape, Crotch):
        return []
    turn = np.linspace(0.0, shape.angle, 60)
    reach = shape.branch_length + 45.0
    arc = reach * np.column_stack([np.cos(turn), np.sin(turn), np.zeros(60)])
    pith = np.array([0.88 * reach, 1.1 * reach])[:, None] * np.array(
        [math.cos(shape.angle), math.sin(shape.angle), 0.0]
    )
    middle: Point = tuple((scale * on_paper(arc[30]) + [1.5, -1.0]).tolist())
    return [
        Polyline(points=scale * on_paper(arc)),
        Polyline(points=scale * on_paper(pith), style=CENTRE),
        Text(at=middle, text="angle"),
    ]
