"""A pattern is a bowl in everything but its size: a profile in one proportion, with the walls and holding of a job.

It draws itself at any diameter; which diameters the wood allows is asked in ``suit``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.holding import USUAL_RECESS_RING
from formmaker.engine.needed import hold_segments
from formmaker.engine.room import curve_places, down_to
from formmaker.engine.sketching import form_from_profile
from formmaker.geometry.curve_measures import largest_radius, turned_solid
from formmaker.geometry.curves import curve_through, polyline
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import Job
from formmaker.model.profile import Profile
from formmaker.tolerances import DEFAULT

_PLACES = 48  # along the outer curve
_UNIT = 1000.0  # mm: the diameter at which a pattern is drawn to be measured

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """A bowl without a size; lengths of its curve are shares of the diameter.

    Parameters
    ----------
    profile : Profile
    proportion : float
        Height over diameter.
    job : Job
        Wall, floor and holding are real lengths and stay, the holding where the foot is wide enough for it; the
        lowest rim keeps its share of the height.
    step : float
        Diameter, height, lowest rim and holding are whole multiples of this, mm.
    outer : (n, 2) float
        Places along the outer curve, foot to rim.
    volume : float
        Inside the outer curve, as a share of the diameter's cube.
    """

    profile: Profile
    proportion: float
    job: Job
    step: float
    outer: Floats
    volume: float

    @property
    def foot_share(self) -> float:
        """Radius of the foot over the diameter."""
        return float(self.outer[0, 0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bowl:
    """A pattern at a size: the form and its holding."""

    form: Form
    hold: Hold


def pattern_of(profile: Profile, proportion: float, job: Job, *, step: float) -> Pattern:
    """Pattern of a profile in one proportion.

    Raises
    ------
    FormError
        If the profile cannot be drawn in this proportion.
    """
    form = form_from_profile(profile, diameter=_UNIT, height=proportion * _UNIT, wall=1.0, floor=1.0)
    return Pattern(
        profile=profile,
        proportion=proportion,
        job=job,
        step=step,
        outer=curve_places(form.handles, form.corners, count=_PLACES) / _UNIT,
        volume=turned_solid(curve_through(form.handles, form.corners)).volume / _UNIT**3,
    )


def own_profile(form: Form) -> Profile:
    """The profile that a form is drawn from."""
    return Profile(name=form.name, description=form.description, handles=form.handles, corners=form.corners)


def proportion_of(profile: Profile) -> float:
    """Height over greatest diameter, as the profile was drawn."""
    curve = curve_through(profile.handles, profile.corners)
    return float(profile.handles[-1, 1]) / (2.0 * largest_radius(curve))


def is_same_shape(profile: Profile, other: Profile) -> bool:
    """Whether two profiles are one curve in two sizes."""
    if len(profile.handles) != len(other.handles) or (profile.corners != other.corners)[1:-1].any():
        return False
    one, two = (curve.handles / curve.handles[-1, 1] for curve in (profile, other))
    return bool(np.abs(one - two).max() < DEFAULT.same_point)


def low_share_of(form: Form) -> float:
    """Lowest rim accepted as a share of the height; 1 for a turned edge."""
    return 1.0 if form.edge is Edge.TURNED else form.lowest_rim / form.height


def height_at(pattern: Pattern, diameter: float) -> float:
    """Height at a diameter, a whole step, mm."""
    return down_to(pattern.proportion * diameter, pattern.step)


def lowest_at(pattern: Pattern, diameter: float) -> float:
    """Lowest rim at a diameter, a whole step, mm."""
    height, share = height_at(pattern, diameter), low_share_of(pattern.job.form)
    return height if share == 1.0 else down_to(share * height, pattern.step)


def hold_at(pattern: Pattern, diameter: float) -> Hold:
    """Holding at a diameter: the job's, or narrower where the foot is too narrow to leave wood round it.

    The wood left is what the job leaves, but no more is asked for than the usual ring, or a third of the foot.
    """
    form, hold = pattern.job.form, pattern.job.hold
    foot = pattern.foot_share * diameter
    ring = min(max(0.0, form.foot_radius - hold.radius), USUAL_RECESS_RING, foot / 3.0)
    widest = max(pattern.step, down_to(2.0 * (foot - ring), pattern.step))
    return Hold(kind=hold.kind, diameter=min(hold.diameter, widest), depth=hold.depth)


def outer_at(pattern: Pattern, diameter: float) -> Floats:
    """Places along the outer curve at a diameter, (n, 2), mm."""
    height = height_at(pattern, diameter)
    return pattern.outer * [diameter, height / pattern.proportion]


def bowl_at(pattern: Pattern, diameter: float) -> Bowl:
    """Draw a pattern at a diameter, mm.

    Raises
    ------
    FormError
        If wall, floor or holding are too large for it.
    """
    form = form_from_profile(
        pattern.profile,
        diameter=diameter,
        height=height_at(pattern, diameter),
        wall=pattern.job.form.wall,
        floor=pattern.job.form.floor,
        edge=pattern.job.form.edge,
        lowest_rim=lowest_at(pattern, diameter),
    )
    return Bowl(form=form, hold=hold_at(pattern, diameter))


def smallest_base(pattern: Pattern, diameter: float) -> Floats:
    """Segments (k, 4) of the foot and the tenon at the smallest diameter: every larger size needs all of them."""
    foot = [[0.0, 0.0, pattern.foot_share * diameter, 0.0]]
    if pattern.job.hold.kind is not HoldKind.TENON:
        return np.array(foot)
    hold = hold_at(pattern, diameter)
    return np.array([*foot, [0.0, -hold.depth, hold.radius, -hold.depth]])


def outside_of(bowl: Bowl) -> Floats:
    """Segments (k, 4) of must-be-wood's outside: foot and holding, and the outer curve up to the lowest rim."""
    form = bowl.form
    line = polyline(curve_through(form.handles, form.corners))
    line = np.vstack([[[0.0, 0.0]], line])
    segments = np.hstack([line[:-1], line[1:]])
    segments = segments[segments[:, 1] < form.lowest_rim]
    over = segments[:, 3] > form.lowest_rim
    share = (form.lowest_rim - segments[over, 1]) / (segments[over, 3] - segments[over, 1])
    segments[over, 2] = segments[over, 0] + share * (segments[over, 2] - segments[over, 0])
    segments[over, 3] = form.lowest_rim
    return np.vstack([segments, hold_segments(form, bowl.hold)[0]])
