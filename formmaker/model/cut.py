"""Cuts as they happen: a plane sawn, a profile turned, and what each took off.

The records only; cuts are made in ``engine.cuts`` and, on exact solids, in ``solids.cuts``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import BlankError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SawCut:
    """Sawn off at a plane.

    Parameters
    ----------
    point : (3,) float
        On the plane, blank frame, mm.
    normal : (3,) float
        Away from what stays; of any length above 0, kept as a unit.

    Raises
    ------
    BlankError
        If a figure is not finite or the normal has no direction.
    """

    point: NDArray[np.float64]
    normal: NDArray[np.float64]

    def __post_init__(self) -> None:
        point, normal = _point("point", self.point), _point("normal", self.normal)
        size = float(np.abs(normal).max())
        if not size > 0.0:
            raise BlankError("the normal of a saw cut is 0, 0, 0; give the direction away from what stays")
        # by the largest figure first: squares of 1e-200 are 0
        normal = normal / size / np.linalg.norm(normal / size)
        _freeze(self, point=point, normal=normal)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TurnCut:
    """Turned down to a profile about a mounting of its own, which later moves of the centres leave alone.

    Parameters
    ----------
    foot_centre, rim_centre : (3,) float
        The axis that was turned about, blank frame, mm.
    profile : (n, 2) float
        Rows of height and radius, mm; heights from ``foot_centre`` toward ``rim_centre``, never falling, two rows at
        one height being a shoulder. Between the first and the last height all wood beyond the radius is gone, above
        and below it stays; radius 0 is a facing cut.

    Raises
    ------
    BlankError
        If a figure is not finite, the centres coincide, or the rows make no profile.
    """

    foot_centre: NDArray[np.float64]
    rim_centre: NDArray[np.float64]
    profile: NDArray[np.float64]

    def __post_init__(self) -> None:
        foot, rim = _point("foot_centre", self.foot_centre), _point("rim_centre", self.rim_centre)
        if not np.linalg.norm(rim - foot) > 0.0:
            raise BlankError("foot_centre and rim_centre of a turned cut are one place; the axis runs between two")
        profile = np.array(self.profile, dtype=np.float64)
        if profile.ndim != 2 or profile.shape[1:] != (2,) or len(profile) < 2 or not np.isfinite(profile).all():
            raise BlankError("the profile of a turned cut is two or more rows of height and radius, all finite")
        fault = profile_fault(profile)
        if fault:
            raise BlankError(f"the profile of a turned cut needs {fault}")
        _freeze(self, foot_centre=foot, rim_centre=rim, profile=profile)


BlankCut = SawCut | TurnCut

THINNEST = 0.01
"""mm along the axis: no tool makes a thinner step, and the kernels take its corners for one."""


def profile_fault(profile: NDArray[np.float64]) -> str:
    """What rows (n, 2) of height and radius need to be a profile; empty where they are one.

    Examples
    --------
    >>> profile_fault(np.array([[0.0, 50.0], [40.0, 60.0]]))
    ''
    """
    heights, radii = profile.T
    steps = np.diff(heights)
    if not (radii >= 0.0).all():
        return "radii of 0 or more"
    if not (steps >= 0.0).all():
        return "rows in the order of their heights, from the foot toward the rim"
    if not heights[-1] - heights[0] >= THINNEST:
        return f"a last height at least {THINNEST} mm above the first: a cut is made over a range"
    if ((steps > 0.0) & (steps < THINNEST)).any():
        return f"heights that are the same, at a shoulder, or at least {THINNEST} mm apart"
    if ((steps[1:] == 0.0) & (steps[:-1] == 0.0)).any():
        return "at most two rows at one height: a shoulder has two"
    return ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutReport:
    """One cut as it was made, and what it came to.

    Parameters
    ----------
    number : int
        Counted from 1, in the order of the job.
    cut : SawCut or TurnCut
        Blank frame, scaled as the blank is.
    removed : float
        Volume taken off, mm3, loose pieces with it.
    loose : float
        Of it, what the tool never touched but what was no longer joined to the wood at the foot, mm3.
    left : float
        Volume of the blank after it, mm3.
    weight : float or None
        Of what was taken off, kg; None where the timber is not known.
    marks : tuple of str
        Names of the marks whose place on the skin went with it.
    chord : float
        How far the flats of a turned face lie inside the round it stands for, at most, mm; 0 for a saw.
    """

    number: int
    cut: BlankCut
    removed: float
    loose: float
    left: float
    weight: float | None
    marks: tuple[str, ...] = ()
    chord: float = 0.0


def _point(name: str, value: NDArray[np.float64]) -> NDArray[np.float64]:
    array = np.array(value, dtype=np.float64)
    if array.shape != (3,) or not np.isfinite(array).all():
        raise BlankError(f"{name} {array.tolist()} of a cut is no point; give three finite numbers")
    return array


def _freeze(record: BlankCut, **arrays: NDArray[np.float64]) -> None:
    for name, array in arrays.items():
        array.flags.writeable = False
        object.__setattr__(record, name, array)
