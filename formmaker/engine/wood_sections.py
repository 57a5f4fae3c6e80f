"""The wood cut through the axis at one angle: what the bowl's wall is held against in a quarter."""

from dataclasses import dataclass

import numpy as np
import shapely

from formmaker.geometry.booleans import cut_outline
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh

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
