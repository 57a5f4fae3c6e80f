"""Meshes of plain bodies fine enough that their mass properties are those of the closed forms to 1e-6."""

import numpy as np

from formmaker.geometry.meshes import Mesh
from formmaker.geometry.revolve import revolved


def cylinder(radius: float, height: float) -> Mesh:
    """Upright on z = 0; 360 flats that keep the area leave 5e-10 in the second moments."""
    return revolved(np.array([[0.0, 0.0], [radius, 0.0], [radius, height], [0.0, height]]), 360)


def cone(radius: float, height: float) -> Mesh:
    """Upright, its base in z = 0."""
    return revolved(np.array([[0.0, 0.0], [radius, 0.0], [0.0, height]]), 360)


def cap(radius: float, height: float, *, rows: int = 2000) -> Mesh:
    """Cap of a ball about the origin, its top at z = radius; 2000 chords leave 3e-8, 64 flats 5e-7."""
    polar = np.linspace(0.0, np.arccos(1.0 - height / radius), rows)
    arc = radius * np.column_stack([np.sin(polar), np.cos(polar)])
    return revolved(np.vstack([arc, [[0.0, radius - height]]]), 64)


def ball(radius: float) -> Mesh:
    """Ball about the origin, to 1e-4."""
    polar = np.linspace(0.0, np.pi, 181)
    return revolved(radius * np.column_stack([np.sin(polar), np.cos(polar)]), 180)


def half_log(radius: float, length: float, *, flats: int = 20_000) -> Mesh:
    """Half cylinder along x, its flat side in z = 0: chords leave (pi / flats)^2 / 6, 4e-9."""
    angle = np.linspace(0.0, np.pi, flats + 1)
    arc = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    count = len(arc)
    ends = [np.column_stack([np.full(count, x), arc]) for x in (-length / 2.0, length / 2.0)]
    here = np.arange(count - 1)
    sides = [(here, here + 1, here + 1 + count), (here, here + 1 + count, here + count)]
    flat = [(np.array([0]), np.array([count]), np.array([2 * count - 1]))]
    flat += [(np.array([0]), np.array([2 * count - 1]), np.array([count - 1]))]
    near = [(np.zeros(count - 2, dtype=int), here[1:] + 1, here[1:])]
    far = [(np.full(count - 2, count), count + here[1:], count + here[1:] + 1)]
    faces = np.vstack([np.column_stack(corners) for corners in (*sides, *flat, *near, *far)])
    return Mesh(vertices=np.vstack(ends), faces=faces)
