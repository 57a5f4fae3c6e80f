"""A simple body of few flats round a form: the wood outside it has no say in the form and need not be reduced.

It knows outlines and meshes, not the solid kernel.
"""

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.geometry.booleans import intersection, split_bodies, volume_of_intersection
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.revolve import Facets, revolved

FLATS = 16
"""Flats in one turn: the fewer, the fewer faces go into what is no skin of the wood."""

STANDOFF = 3.0
"""The envelope's flats keep at least so far from the form, mm: more than a reduction moves them."""

_CORNERING = 2.0
"""Corners of the outline are left out where that moves it by no more than this, mm."""


def envelope(outline: NDArray[np.float64], *, standoff: float = STANDOFF) -> Mesh:
    """Body of few flats that holds a turned form, its hollow left out where it is open.

    Parameters
    ----------
    outline : (n, 2) float
        Half section of the form with its holding, closed polygon (radius, height), mm.
    standoff : float
        Least distance of the flats from the form, mm.

    Returns
    -------
    Mesh
        Closed, wound outward, form frame.

    Notes
    -----
    Between two corners of a turn the radius of a flat sinks by the cosine of half the step. The corners stand that
    much outside the outline, so that outward faces keep their distance there; faces that look at the hollow come
    nearer to the form by as much at the corners, which is added to the distance.
    """
    sinking = float(outline[:, 0].max()) * (1.0 / math.cos(math.pi / FLATS) - 1.0)
    grown = shapely.Polygon(outline).buffer(standoff + sinking + _CORNERING, join_style="mitre", mitre_limit=2.0)
    coarse = shapely.Polygon(grown.simplify(_CORNERING).exterior)
    reach = 2.0 * float(np.abs(np.array(coarse.exterior.coords)).max())
    half = max(shapely.get_parts(coarse.intersection(shapely.box(0.0, -reach, reach, reach))), key=shapely.area)
    # a hollow that the standoff shuts off is no way in: only the outermost ring counts
    ring = np.array(shapely.Polygon(half.exterior).exterior.coords)[:-1]
    return revolved(ring, FLATS, facets=Facets.OUTSIDE)


def wood_round(blank: Mesh, around: Mesh, form: Mesh) -> Mesh:
    """What of a blank lies in an envelope and is not apart from the form.

    Parameters
    ----------
    blank, around, form : Mesh
        Closed, wound outward, in one frame, mm; the form inside the envelope.

    Returns
    -------
    Mesh
        Without the pieces that the form does not touch; the blank as it is where none is left.

    Raises
    ------
    BlankError, KernelError
        As ``geometry.booleans.intersection``.
    """
    pieces = [piece for piece in split_bodies(intersection(blank, around)) if volume_of_intersection(piece, form) > 0]
    return joined_meshes(pieces) if pieces else blank


def joined_meshes(meshes: list[Mesh]) -> Mesh:
    """Several meshes as one, nothing shared."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes[:-1])])
    return Mesh(
        vertices=np.concatenate([mesh.vertices for mesh in meshes]),
        faces=np.concatenate([mesh.faces + start for mesh, start in zip(meshes, starts, strict=True)]),
    )
