"""How the bowl is held: glue block, tenon or recess, and the skin of wood left for truing."""

from dataclasses import dataclass
from enum import StrEnum

from formmaker.errors import FormError


class HoldKind(StrEnum):
    """What the chuck or faceplate takes hold of."""

    GLUE_BLOCK = "glue block"
    TENON = "tenon"
    RECESS = "recess"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A round holding under the foot, centred on the axis.

    Parameters
    ----------
    kind : HoldKind
        ``tenon`` stands below the foot plane (z from -depth to 0), ``recess`` is cut into it (0 to depth),
        ``glue block`` is other wood glued to the foot plane over the whole diameter.
    diameter : float
        mm, above 0.
    depth : float
        Length of the tenon, depth of the recess, thickness of the block; mm, above 0.
    cut_force : float or None
        Force of a cut at the rim to reckon with, N; None where the turner has said none.
    """

    kind: HoldKind
    diameter: float
    depth: float
    cut_force: float | None = None

    def __post_init__(self) -> None:
        for name in ("diameter", "depth"):
            if not 0.0 < getattr(self, name) < float("inf"):
                raise FormError(f"hold {name} {getattr(self, name)} mm; give a length above 0")

    @property
    def radius(self) -> float:
        """Half the diameter, mm."""
        return self.diameter / 2.0
