"""The small numbers that decide comparisons, each with its reason, in one frozen record.

Nothing here is a global to be changed: a ``Tolerances`` is passed to what needs it.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerances:
    """Lengths in mm, angles in radians, areas in mm2, volumes in mm3."""

    same_point: float = 1e-6
    """Points nearer than this are one point: a thousandth of what a lathe can hold, far above rounding."""

    same_angle: float = 1e-6
    """A curve that turns by less at a joint has no corner there: 0.2 microns over the reach of a big bowl."""

    fit: float = 5e-5
    """How far the cubics of an inner curve may leave the exact offset: half of the 1e-4 mm it promises."""

    skin_step: float = 0.005
    """A rim crossing is bracketed to this: a tenth of the 0.05 mm that the rim line promises."""

    thin_air: float = 0.05
    """A slit of air thinner than this counts as closed: no scan shows it and no tool stops at it."""

    margin_slack: float = 0.05
    """The search for the worst place stops when no place can be worse by more than this."""

    chord: float = 0.01
    """How far a polyline may leave the curve it stands for."""

    min_loose_volume: float = 50.0
    """Smaller crumbs (0.05 cm3, a lentil) are not reported: the sampling of the wall cannot tell them apart."""

    proof_spread: float = 1e-3
    """Three proofs agree when their bowl volumes lie within this share of the form: what two of them round away."""

    min_window_area: float = 10.0
    """Smaller holes (3 mm square) are left to the eye: below the sampling of the wall."""

    min_neck_volume: float = 1000.0
    """A part of the rim under 1 cm3 is a splinter, not a part that hangs."""

    level: float = 0.05
    """A rim whose heights differ, or that leans, by less is level and has no high side: half of what is lettered."""

    neck_share: float = 0.5
    """A neck is weak when it is narrower than this share of the widest stretch of the part it holds."""

    above_foot: float = 1.0
    """The wood at the foot is asked for so far above its plane: a cut flush with the plane does not free the foot."""


DEFAULT = Tolerances()
