"""A blank made ready for questions of distance: the field every verb of the engine asks.

Built once for a blank; a check, a move or a search only looks it up.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from formmaker.geometry.grid import build_grid
from formmaker.geometry.least import Skin
from formmaker.geometry.meshes import mass_properties
from formmaker.geometry.nearest import build_tree, label_patches
from formmaker.geometry.planes import patch_planes
from formmaker.model.blank import Blank


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """A blank and its skin ready for questions; its volume, mm3, and the diagonal of its box, mm."""

    blank: Blank
    skin: Skin
    volume: float
    diagonal: float


def build_field(blank: Blank, *, cells: int = 128) -> Field:
    """Build the field of a blank.

    Parameters
    ----------
    blank : Blank
    cells : int
        Cells of the grid along the blank's longest side; figures that are reported come from the mesh itself, so
        this sets the speed of an answer, not its truth.

    Returns
    -------
    Field
    """
    with ThreadPoolExecutor(1) as beside:  # while the tree grows, one core is idle
        planes = beside.submit(patch_planes, blank.mesh, blank.face_patches)
        mass = beside.submit(mass_properties, blank.mesh)
        tree = build_tree(blank.mesh)
        skin = Skin(
            tree=tree,
            grid=build_grid(blank.mesh, tree, cells=cells),
            labels=label_patches(tree, blank.face_patches),
            planes=planes.result(),
            face_patches=blank.face_patches,
        )
        volume = mass.result().volume
    diagonal = float(np.linalg.norm(np.ptp(blank.mesh.bounds, axis=0)))
    return Field(blank=blank, skin=skin, volume=volume, diagonal=diagonal)
