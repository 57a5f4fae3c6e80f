"""The renderer's stage: ground, lights, and shots of actors as arrays of pixels."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyvista
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, zoom

from formmaker.geometry.meshes import Mesh, face_areas
from formmaker.pictures.camera import VIEW_ANGLE, Camera

PAPER = (246, 240, 229)
SHADE = (112, 96, 82)

SHADOW_CELLS = 384
"""Cells along a side of the painted shadow; it is soft, more would show nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Actor:
    """A surface and how it is coloured: its own ``colour`` array, or a grain picture over texture coordinates."""

    surface: pyvista.PolyData
    grain: NDArray[np.uint8] | None = None
    gloss: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """A plane at a height with a soft shadow painted on it."""

    surface: pyvista.PolyData
    image: NDArray[np.uint8]


def shadowed_ground(mesh: Mesh, *, height: float) -> Ground:
    """Paint the ground under a mesh: a tight shadow where it stands, a wide one about it."""
    low, high = mesh.bounds[0, :2], mesh.bounds[1, :2]
    middle, reach = (low + high) / 2.0, 2.2 * float((high - low).max())
    step = SHADOW_CELLS / (2.0 * reach)
    places = _scattered(mesh)
    cells = np.clip(((places[:, :2] - middle + reach) * step).astype(int), 0, SHADOW_CELLS - 1)
    tight, wide = np.zeros((SHADOW_CELLS, SHADOW_CELLS)), np.zeros((SHADOW_CELLS, SHADOW_CELLS))
    np.maximum.at(tight, (cells[:, 1], cells[:, 0]), np.clip(1.0 - (places[:, 2] - height) / 32.0, 0.0, 1.0))
    wide[cells[:, 1], cells[:, 0]] = 1.0
    near, far = gaussian_filter(tight, 5.0 * step), gaussian_filter(wide, 40.0 * step)
    share = np.clip(0.34 * near + 0.36 * far, 0.0, 0.85)[..., None]
    image = (np.array(PAPER) * (1.0 - share) + np.array(SHADE) * share).round().astype(np.uint8)
    plane = pyvista.Plane(center=(*middle, height), i_size=2.0 * reach, j_size=2.0 * reach)
    return Ground(surface=plane, image=image[::-1])


def _scattered(mesh: Mesh) -> NDArray[np.float64]:
    """Points strewn evenly over a mesh, (n, 3): a coarse mesh throws the same shadow as a fine one."""
    random = np.random.default_rng(SHADOW_CELLS)
    areas = face_areas(mesh)
    chosen = mesh.corners[random.choice(len(areas), 120_000, p=areas / areas.sum())]
    one, two = random.uniform(size=(2, len(chosen), 1))
    turned = one + two > 1.0
    one, two = np.where(turned, 1.0 - one, one), np.where(turned, 1.0 - two, two)
    return np.asarray(chosen[:, 0] + one * (chosen[:, 1] - chosen[:, 0]) + two * (chosen[:, 2] - chosen[:, 0]))


def shot(actors: Sequence[Actor], camera: Camera, *, ground: Ground) -> NDArray[np.uint8]:
    """Photograph lit actors on the ground, (height, width, 3)."""
    plotter = _empty_stage(camera.size, PAPER)
    try:
        for actor in actors:
            _add(plotter, actor)
        plotter.add_mesh(ground.surface, texture=_texture(ground.image), lighting=False)
        _light(plotter, camera)
        _aim(plotter, camera)
        plotter.enable_anti_aliasing("msaa", multi_samples=8)
        return np.asarray(plotter.screenshot(return_img=True))[..., :3]
    finally:
        plotter.close()


def facing_shot(surfaces: Sequence[pyvista.PolyData], camera: Camera) -> NDArray[np.uint8]:
    """How squarely surfaces face the eye (red) and where they are (green, 255), nothing elsewhere; not lit."""
    plotter = _empty_stage(camera.size, (0, 0, 0))
    try:
        for surface in surfaces:
            toward = camera.eye - np.asarray(surface.points, np.float64)
            toward /= np.linalg.norm(toward, axis=1, keepdims=True)
            square = np.einsum("ij,ij->i", toward, np.asarray(surface.point_data["Normals"])).clip(0.0, 1.0)
            plain = surface.copy(deep=False)
            plain["colour"] = np.column_stack([255.0 * square, np.full((len(square), 2), 255.0)]).astype(np.uint8)
            plotter.add_mesh(plain, scalars="colour", rgb=True, lighting=False)
        _aim(plotter, camera)
        plotter.enable_anti_aliasing("msaa", multi_samples=4)
        return np.asarray(plotter.screenshot(return_img=True))[..., :3]
    finally:
        plotter.close()


def _empty_stage(size: tuple[int, int], background: tuple[int, int, int]) -> pyvista.Plotter:
    plotter = pyvista.Plotter(off_screen=True, window_size=list(size), lighting="none")
    plotter.set_background([part / 255.0 for part in background])
    return plotter


def corner_shade(surfaces: Sequence[pyvista.PolyData], camera: Camera, *, reach: float) -> NDArray[np.float64]:
    """Share of the sky that corners still see, from 0 to 1, one figure a pixel.

    Worked out at half size and enlarged, for on a machine without a graphics card it costs four times as much at full
    size as the shot itself, and it is soft anyway.

    Parameters
    ----------
    surfaces : sequence of PolyData
    camera : Camera
    reach : float
        How far around a point wood counts, mm.

    Returns
    -------
    (height, width) float
    """
    width, height = camera.size[0] // 2, camera.size[1] // 2
    plotter = _empty_stage((width, height), (255, 255, 255))
    try:
        for surface in surfaces:
            plotter.add_mesh(surface, color="white", lighting=False, smooth_shading=True, split_sharp_edges=False)
        _aim(plotter, camera)
        plotter.enable_ssao(radius=reach, bias=0.01 * reach, kernel_size=32, blur=True)
        grey = np.asarray(plotter.screenshot(return_img=True))[..., 0] / 255.0
    finally:
        plotter.close()
    soft = gaussian_filter(grey, 1.0)
    return np.asarray(zoom(soft, (camera.size[1] / height, camera.size[0] / width), order=1))


def _add(plotter: pyvista.Plotter, actor: Actor) -> None:
    shading = {"smooth_shading": True, "split_sharp_edges": False}
    look = {"ambient": 0.40, "diffuse": 0.72, "specular": actor.gloss, "specular_power": 18.0}
    if actor.grain is None:
        plotter.add_mesh(actor.surface, scalars="colour", rgb=True, **shading, **look)
        return
    plotter.add_mesh(actor.surface, texture=_texture(actor.grain), **shading, **look)


def _texture(image: NDArray[np.uint8]) -> pyvista.Texture:
    texture = pyvista.Texture(image)
    texture.interpolate, texture.mipmap = True, True
    return texture


def _light(plotter: pyvista.Plotter, camera: Camera) -> None:
    right, up, ahead = camera.axes
    span = float(np.linalg.norm(camera.focus - camera.eye))
    for toward, colour, strength in (
        (-0.8 * right + 1.2 * up - 0.75 * ahead, (1.0, 0.96, 0.89), 0.86),
        (1.2 * right + 0.3 * up - 0.7 * ahead, (1.0, 0.97, 0.94), 0.36),
        (0.3 * right + 0.9 * up + 0.8 * ahead, (1.0, 0.97, 0.92), 0.26),
    ):
        place = camera.focus + span * toward
        plotter.add_light(pyvista.Light(position=place, focal_point=camera.focus, color=colour, intensity=strength))


def _aim(plotter: pyvista.Plotter, camera: Camera) -> None:
    plotter.camera.position = camera.eye
    plotter.camera.focal_point = camera.focus
    plotter.camera.up = (0.0, 0.0, 1.0)
    plotter.camera.view_angle = np.degrees(VIEW_ANGLE)
    span = float(np.linalg.norm(camera.focus - camera.eye))
    plotter.camera.clipping_range = (0.3 * span, 2.5 * span)
