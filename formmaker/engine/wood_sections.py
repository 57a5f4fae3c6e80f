"""Outlines of the wood: cut through the axis at an angle, and as it is seen from either end."""

from dataclasses import dataclass

import numpy as np
import shapely

from formmaker.geometry.booleans import cut_outline, shadow_outline
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh
from formmaker.model.ends import End

INSIDE = 3.0
"""How far inside an end its outline is taken, mm: a sawn face is there, a prick of bark is not."""

_FAR = 1e5  # mm; beyond any wood


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WoodSection:
    """Wood on one side of the axis: the angle (radians) and its area in radius and height, form frame, mm."""

    theta: float
    area: shapely.Geometry


def wood_section(mesh: Mesh, blank_from_form: Frame, theta: float) -> WoodSection:
    """Cut the wood by the half plane that leaves the axis at an angle.

    Parameters
    ----------
    mesh : Mesh
        The skin, closed, blank frame.
    blank_from_form : Frame
    theta : float
        Form frame, radians.

    Returns
    -------
    WoodSection
        Exact on the triangles.
    """
    out = np.array([np.cos(theta), np.sin(theta), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    form_from_plane = np.column_stack([out, up, np.cross(out, up)])
    plane = Frame(rotation=blank_from_form.rotation @ form_from_plane, origin=blank_from_form.origin)
    area = shapely.intersection(cut_outline(mesh, plane), shapely.box(0.0, -_FAR, _FAR, _FAR))
    return WoodSection(theta=theta, area=area)


def quarter_sections(mesh: Mesh, blank_from_form: Frame) -> tuple[WoodSection, ...]:
    """Cuts at 0, 90, 180 and 270 degrees."""
    return tuple(wood_section(mesh, blank_from_form, turn * np.pi / 2.0) for turn in range(4))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EndOutline:
    """The wood as seen along the axis, form frame x and y, mm: all of it, and just inside each end."""

    shadow: shapely.Geometry
    inside: dict[End, shapely.Geometry]


def end_outline(mesh: Mesh, blank_from_form: Frame, *, low: float, high: float) -> EndOutline:
    """Outlines of the wood for both ends.

    Parameters
    ----------
    mesh : Mesh
        The skin, closed, blank frame.
    blank_from_form : Frame
    low, high : float
        Where the axis leaves the wood, form frame heights, mm.

    Returns
    -------
    EndOutline
    """
    cuts = {}
    for end, height in ((End.FOOT, low + INSIDE), (End.RIM, high - INSIDE)):
        origin = blank_from_form.carry(np.array([0.0, 0.0, height]))
        cuts[end] = cut_outline(mesh, Frame(rotation=blank_from_form.rotation, origin=origin))
    return EndOutline(shadow=shadow_outline(mesh, blank_from_form), inside=cuts)
