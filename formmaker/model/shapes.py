"""Blanks that can be described in a few sizes, each with its own frame.

The records only; their meshes are made in ``sources.shapes``, their exact solids in ``solids.shapes``.
"""

from dataclasses import dataclass, fields

from formmaker.errors import BlankError


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """A whole log: x along the pith from 0 to ``length``, the skin y^2 + z^2 = radius^2."""

    radius: float
    length: float

    def __post_init__(self) -> None:
        require_positive("log", self)


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfLog:
    """A log split through the pith: x along it from -length/2 to length/2, z up from the sawn face, bark up."""

    radius: float
    length: float

    def __post_init__(self) -> None:
        require_positive("half log", self)


@dataclass(frozen=True, slots=True, kw_only=True)
class CapBurr:
    """A burr sawn off its tree: a cap of a ball, the sawn face a circle in z = 0, bark up."""

    diameter: float
    height: float

    def __post_init__(self) -> None:
        require_positive("cap burr", self)
        if self.height > self.diameter / 2.0 + 1e-9:
            raise BlankError(
                f"cap burr height {self.height} mm is over half its diameter {self.diameter} mm; use a scan"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Crotch:
    """A fork split through its three piths: a stem along -x and two branches of equal angle, z up from the sawn face.

    The stem runs from x = -stem_length to 0; each branch of ``branch_radius`` leaves the origin at ``angle``
    (radians) to either side of +x and is ``branch_length`` long; skins are half cylinders about the piths in z = 0.
    """

    stem_radius: float
    stem_length: float
    branch_radius: float
    branch_length: float
    angle: float

    def __post_init__(self) -> None:
        require_positive("crotch", self)
        if not self.angle < 1.5:
            raise BlankError(
                f"crotch angle {self.angle} rad; each branch leans from the stem's line by less than 85 degrees"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A sawn board: ``length`` along x, ``width`` along y, both about the middle, ``thickness`` from z = 0 up."""

    length: float
    width: float
    thickness: float

    def __post_init__(self) -> None:
        require_positive("board", self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """A round cut from a plank: axis z through the origin, from z = 0 up to ``thickness``."""

    diameter: float
    thickness: float

    def __post_init__(self) -> None:
        require_positive("round", self)


Shape = Log | HalfLog | CapBurr | Crotch | Board | Round

SHAPES: dict[str, type[Shape]] = {
    "log": Log,
    "half log": HalfLog,
    "cap burr": CapBurr,
    "crotch": Crotch,
    "board": Board,
    "round": Round,
}


def require_positive(name: str, shape: Shape) -> None:
    """Refuse a shape with a size that is not above zero and finite, all sizes in mm (angles in radians)."""
    for field in fields(shape):
        size = getattr(shape, field.name)
        if not 0.0 < size < float("inf"):
            raise BlankError(f"{name} {field.name} {size}; give a size above 0")
