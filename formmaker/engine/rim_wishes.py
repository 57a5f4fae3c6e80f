"""Wishes about the rim line, tested on one bowl: level, no sawn edge, past the marks to keep.

A rim jumps where the wall grazes the skin, so these are no limits of a box of mountings but tests of each candidate:
a quick one on the grid to climb by, and the true one on a verdict.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.engine.marks import distances_to_line
from formmaker.engine.rim import peaks
from formmaker.geometry.frames import Frame
from formmaker.geometry.grid import value_at
from formmaker.model.blank import FaceKind
from formmaker.model.marks import Mark
from formmaker.model.verdict import RimKind, RimLine
from formmaker.model.wish import Wish

_TURNS = 60  # angles of the quick rim
_NEAR_PLANE = 1.0  # mm beyond the grid's error: what counts as lying on a sawn face
_STRICTER = 0.9  # of the level wished and of the marks' radii: the quick rim is not the true one

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RimTest:
    """What is wished of a rim, ready to be asked of many.

    Parameters
    ----------
    field : Field
    level : float
        mm; infinite where nothing is asked.
    keep : tuple of Mark
    no_sawn : bool
    sawn : (k, 4) float
        Outward normal and offset of the sawn faces.
    """

    field: Field
    level: float
    keep: tuple[Mark, ...]
    no_sawn: bool
    sawn: Floats

    @property
    def asks(self) -> bool:
        """Whether anything is asked at all."""
        return self.level < np.inf or bool(self.keep) or self.no_sawn


def rim_test(field: Field, wish: Wish, keep: tuple[Mark, ...]) -> RimTest:
    """The wishes of a job about the rim."""
    blank, planes = field.blank, field.skin.planes
    patches = np.unique(blank.face_patches[(blank.face_kinds == FaceKind.SAWN) & (blank.face_patches >= 0)])
    return RimTest(
        field=field,
        level=np.inf if wish.level is None else wish.level,
        keep=keep,
        no_sawn=wish.no_sawn_rim,
        sawn=np.column_stack([planes.normals[patches], planes.offsets[patches]]).reshape(-1, 4),
    )


def level_of(height: Floats) -> float:
    """The larger of two differences: between the two highest points of a rim, and between its two lowest, mm.

    A rim with one high alone leans: then it is the whole rise from low to high.
    """
    high, low = peaks(height)
    if len(high) < 2 or len(low) < 2:
        return float(np.ptp(height))
    return float(max(height[high[0]] - height[high[1]], height[low[1]] - height[low[0]]))


def true_miss(test: RimTest, rim: RimLine) -> float:
    """How far a rim misses the wishes for level and sawn edges, mm; marks to keep are the verdict's."""
    miss = max(level_of(rim.height) - test.level, 0.0) if test.level < np.inf else 0.0
    if test.no_sawn:
        miss += rim.kinds.count(RimKind.SAWN) / len(rim.kinds) * 2.0 * np.pi * float(rim.radius.max())
    return miss


def quick_miss(test: RimTest, outer: Floats, frame: Frame) -> float:
    """The same on the grid, a little stricter, marks to keep too; ``outer`` (n, 2) are places from foot to rim."""
    ends = np.empty(_TURNS)
    grid = test.field.skin.grid
    _walk(np.ascontiguousarray(outer), (frame.rotation, frame.origin), (grid.values, grid.origin, grid.spacing), ends)
    row = np.arange(len(outer))
    radius, height = np.interp(ends, row, outer[:, 0]), np.interp(ends, row, outer[:, 1])
    theta = 2.0 * np.pi * np.arange(_TURNS) / _TURNS
    line = np.column_stack([radius * np.cos(theta), radius * np.sin(theta), height])
    miss = max(level_of(height) - _STRICTER * test.level, 0.0) if test.level < np.inf else 0.0
    form_from_blank = frame.inverse
    for mark in test.keep:
        distance = float(distances_to_line(line, form_from_blank.carry(mark.at)).min())
        miss += max(distance - _STRICTER * mark.radius, 0.0)
    if test.no_sawn and len(test.sawn):
        places = frame.carry(line)
        off = np.abs(places @ test.sawn[:, :3].T - test.sawn[:, 3]).min(axis=1)
        on_plane = (off < _NEAR_PLANE + grid.error) & (ends < len(outer) - 1)
        miss += float((radius * on_plane).sum()) * 2.0 * np.pi / _TURNS
    return miss


@njit(nogil=True, cache=True)
def _walk(outer, pose, grid, ends):  # type: ignore[no-untyped-def]
    """Fill ``ends`` with how many places up the outer curve the wood goes at each angle, part of a step included."""
    rotation, origin = pose
    values, grid_origin, spacing = grid
    for i in range(ends.shape[0]):
        angle = 2.0 * np.pi * i / ends.shape[0]
        cosine, sine = np.cos(angle), np.sin(angle)
        before, ends[i] = 0.0, outer.shape[0] - 1.0
        for j in range(outer.shape[0]):
            x, y, h = outer[j, 0] * cosine, outer[j, 0] * sine, outer[j, 1]
            depth = value_at(
                values,
                grid_origin,
                spacing,
                rotation[0, 0] * x + rotation[0, 1] * y + rotation[0, 2] * h + origin[0],
                rotation[1, 0] * x + rotation[1, 1] * y + rotation[1, 2] * h + origin[1],
                rotation[2, 0] * x + rotation[2, 1] * y + rotation[2, 2] * h + origin[2],
            )
            if depth < 0.0:
                ends[i] = max(j - depth / min(depth - before, -1e-9), 0.0) if j > 0 else 0.0
                break
            before = depth
