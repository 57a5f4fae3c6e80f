"""Skins ready for questions, made straight from meshes."""

import numpy as np

from formmaker.geometry.frames import Frame
from formmaker.geometry.grid import build_grid
from formmaker.geometry.least import Skin
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree, label_patches
from formmaker.geometry.planes import patch_planes


def skin_of(mesh: Mesh, patches: np.ndarray | None = None, *, cells: int = 40) -> Skin:
    """A skin with these planar patches, none where none are given."""
    labels = np.full(len(mesh.faces), -1, dtype=np.int32) if patches is None else patches.astype(np.int32)
    tree = build_tree(mesh)
    return Skin(
        tree=tree,
        grid=build_grid(mesh, tree, cells=cells),
        labels=label_patches(tree, labels),
        planes=patch_planes(mesh, labels),
        face_patches=labels,
    )


def placed_points(places: np.ndarray, theta: np.ndarray, frame: Frame) -> np.ndarray:
    """Places (n, 2) of a half section at angles (n,), carried into the skin's frame."""
    radius, height = places.T
    return frame.carry(np.column_stack([radius * np.cos(theta), radius * np.sin(theta), height]))
