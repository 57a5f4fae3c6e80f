"""What is seen while the blank spins: the core that is wood at every angle, the ghost out to the farthest wood."""

from dataclasses import replace

import numpy as np

from formmaker.engine.field import Field
from formmaker.geometry.frames import Frame
from formmaker.geometry.slices import reach_by_height
from formmaker.geometry.tracing import ways_out
from formmaker.geometry.workers import in_halves
from formmaker.model.verdict import Spin
from formmaker.tolerances import DEFAULT

_ANGLES = 60
_LEVELS = 31
_ASKED_AGAIN = 6
_GLANCE = replace(DEFAULT, thin_air=1.5, skin_step=0.5)  # enough to see at which angle the way out is shortest


def spin(field: Field, blank_from_form: Frame) -> Spin:
    """Radius of core and ghost by height over the whole blank.

    Parameters
    ----------
    field : Field
    blank_from_form : Frame

    Returns
    -------
    Spin
        31 even heights from the lowest to the highest wood, form frame. The core is the nearest way out of the wood
        over 60 angles going outward from the axis, taken again on the mesh at the six angles where it is nearest; 0
        where the axis itself is in air. The ghost is exact for the mesh.
    """
    ghost = reach_by_height(field.blank.mesh, blank_from_form, _LEVELS)
    core = np.empty(_LEVELS)

    def run(start: int, stop: int) -> None:
        for level in range(start, stop):
            core[level] = _core(field, blank_from_form, float(ghost.height[level]), float(ghost.radius[level]))

    in_halves(run, _LEVELS, least=2)
    return Spin(height=ghost.height, core=core, ghost=ghost.radius)


def _core(field: Field, blank_from_form: Frame, height: float, reach: float) -> float:
    line = np.array([[0.0, height], [reach, height]])
    theta = 2.0 * np.pi * np.arange(_ANGLES) / _ANGLES
    seen = ways_out(field.skin, line, blank_from_form, theta, exact=False, tolerances=_GLANCE).place
    nearest = theta[np.argsort(seen)[:_ASKED_AGAIN]]
    return float(ways_out(field.skin, line, blank_from_form, nearest, exact=True).place.min())
