"""The rim line: where the wood first ends going up the outer curve, over one turn."""

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.geometry.curves import Curve, polyline
from formmaker.geometry.frames import Frame
from formmaker.geometry.harmonics import fit_harmonics, periodic_peaks
from formmaker.geometry.tracing import along, ways_out
from formmaker.model.blank import FaceKind
from formmaker.model.verdict import Extremum, RimKind, RimLine
from formmaker.tolerances import DEFAULT, Tolerances

ANGLES = 360
"""Angles of a rim line: one a degree, as the answer promises."""

_PEAK_SHARE = 0.2
_PEAK_LEAST = 0.5
"""A high stands out by a fifth of the whole rise and fall of the rim, and by half a millimetre."""


def trace_rim(field: Field, outer: Curve, blank_from_form: Frame, *, tolerances: Tolerances = DEFAULT) -> RimLine:
    """Follow the outer curve from the foot at every degree until the wood first ends.

    Parameters
    ----------
    field : Field
    outer : Curve
        From the edge of the foot to the rim, form frame.
    blank_from_form : Frame
    tolerances : Tolerances

    Returns
    -------
    RimLine
        Exact for the mesh to about 0.01 mm along the curve (polyline and bracket). Height 0 where the wood ends at
        the foot already; the form's height, kind ``turned``, where it never ends.
    """
    line = polyline(outer, chord=tolerances.skin_step)
    theta = 2.0 * np.pi * np.arange(ANGLES) / ANGLES
    out = ways_out(field.skin, line, blank_from_form, theta, exact=True, tolerances=tolerances)
    radius, height = along(line, out.place).T
    high, low = peaks(height)
    lean, sway = fit_harmonics(height, 2).waves
    return RimLine(
        theta=theta,
        radius=radius,
        height=height,
        kinds=_kinds(field.blank.face_kinds, out.face),
        lean=lean.amplitude,
        lean_toward=lean.phase,
        sway=sway.amplitude,
        highs=tuple(Extremum(theta=float(theta[i]), height=float(height[i])) for i in high),
        lows=tuple(Extremum(theta=float(theta[i]), height=float(height[i])) for i in low),
    )


def peaks(height: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Highs and lows of a rim that stand out, each ordered from the most marked: highest first, lowest first."""
    prominence = max(_PEAK_LEAST, _PEAK_SHARE * float(np.ptp(height)))
    high, low = periodic_peaks(height, prominence), periodic_peaks(-height, prominence)
    return high[np.argsort(-height[high], kind="stable")], low[np.argsort(height[low], kind="stable")]


def _kinds(face_kinds: NDArray[np.uint8], faces: NDArray[np.int32]) -> tuple[RimKind, ...]:
    names = {FaceKind.NATURAL: RimKind.NATURAL, FaceKind.SAWN: RimKind.SAWN, FaceKind.TURNED: RimKind.TURNED}
    return tuple(RimKind.TURNED if face < 0 else names[FaceKind(face_kinds[face])] for face in faces)
