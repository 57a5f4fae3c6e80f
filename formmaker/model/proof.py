"""The same question put to three independent methods: how much of the bowl is wood, and what is missing."""

from dataclasses import dataclass
from enum import StrEnum


class ProofMethod(StrEnum):
    """How a figure was found: sampled on the distance field, from triangles, or from exact surfaces."""

    FIELD = "field"
    MESH = "mesh boolean"
    SOLID = "solid kernel"


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingPiece:
    """Wood missing in one place.

    Parameters
    ----------
    volume : float
        mm3.
    theta, radius, height : float
        Middle of the piece, form frame, radians and mm; a middle near the axis has no angle worth the name.
    """

    volume: float
    theta: float
    radius: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WoodFigures:
    """What one method found.

    Parameters
    ----------
    method : ProofMethod
    bowl : float
        Volume of the form, tenon included and recess taken off, that is wood, mm3.
    missing : float
        Volume of must-be-wood (the same, up to the lowest rim accepted) that is not wood, mm3.
    pieces : tuple of MissingPiece
        Largest first; crumbs are left out here, not in ``missing``.
    """

    method: ProofMethod
    bowl: float
    missing: float
    pieces: tuple[MissingPiece, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """What it cost to bring a skin down to fewer triangles for the solid kernel.

    Parameters
    ----------
    faces_before, faces_after : int
    farthest, rms : float
        Distance between the two skins, mm, measured both ways at their corners and at places between.
    volume_change : float
        Reduced less full, mm3.
    """

    faces_before: int
    faces_after: int
    farthest: float
    rms: float
    volume_change: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """Three answers to one question, side by side.

    Parameters
    ----------
    figures : tuple of WoodFigures
        Field, mesh boolean, solid kernel.
    form_volume : float
        The whole form, wood or not, mm3, from its exact surfaces.
    reduction : Reduction or None
        None where the blank's solid is exact (a described shape) or has every triangle of its mesh.
    loose_volume : float
        Volume of parts not joined to the largest body, which the finished bowl is written without, mm3.
    """

    figures: tuple[WoodFigures, ...]
    form_volume: float
    reduction: Reduction | None
    loose_volume: float

    @property
    def spread(self) -> float:
        """Largest difference between the bowl volumes, as a fraction of the form's volume."""
        bowls = [figure.bowl for figure in self.figures]
        return (max(bowls) - min(bowls)) / self.form_volume

    def missed_by(self, crumb: float) -> tuple[ProofMethod, ...]:
        """Methods that find more than ``crumb`` (mm3) of must-be-wood missing."""
        return tuple(figure.method for figure in self.figures if not figure.missing <= crumb)
