"""The renderer's stage: ground, lights, and shots of actors as arrays of pixels.

VTK alone is loaded, and of it what draws: a wrapper for plots would take longer to load than the shots to take.
``vtkRenderingOpenGL2`` also gives the window its kind: without it there is none.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, zoom
from vtkmodules.util.numpy_support import numpy_to_vtk, vtk_to_numpy
from vtkmodules.vtkCommonDataModel import vtkImageData
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkTexture,
    vtkWindowToImageFilter,
)
from vtkmodules.vtkRenderingOpenGL2 import vtkRenderStepsPass, vtkSSAOPass

from formmaker.geometry.meshes import Mesh, face_areas
from formmaker.pictures.camera import VIEW_ANGLE, Camera
from formmaker.pictures.surface import Surface, poly_data

PAPER = (246, 240, 229)
SHADE = (112, 96, 82)
WHITE = (255, 255, 255)

SHADOW_CELLS = 384
"""Cells along a side of the painted shadow; it is soft, more would show nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Actor:
    """A surface and how it is coloured: its own colours, or a grain picture laid on at its places."""

    surface: Surface
    grain: NDArray[np.uint8] | None = None
    gloss: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """A plane at a height with a soft shadow painted on it."""

    surface: Surface
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
    return Ground(surface=_square(middle, reach, height), image=image[::-1])


def _square(middle: NDArray[np.float64], reach: float, height: float) -> Surface:
    """A level square about a middle, a picture laid on the whole of it."""
    places = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    return Surface(
        points=np.column_stack([middle + reach * (2.0 * places - 1.0), np.full(4, height)]),
        faces=np.array([[0, 1, 2], [0, 2, 3]]),
        normals=np.tile(np.array([0.0, 0.0, 1.0], dtype=np.float32), (4, 1)),
        places=places.astype(np.float32),
    )


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
    stage = _stage(camera, PAPER)
    for actor in actors:
        stage.AddActor(_lit(actor))
    stage.AddActor(_flat(ground.surface, _texture(ground.image, fine=False)))
    _light(stage, camera)
    return _photograph(stage, camera.size, samples=8)


def facing_shot(surfaces: Sequence[Surface], camera: Camera) -> NDArray[np.uint8]:
    """How squarely surfaces face the eye (red) and where they are (green, 255), nothing elsewhere; not lit."""
    stage = _stage(camera, (0, 0, 0))
    for surface in surfaces:
        toward = camera.eye - surface.points
        toward /= np.linalg.norm(toward, axis=1, keepdims=True)
        square = np.einsum("ij,ij->i", toward, surface.normals).clip(0.0, 1.0)
        colours = np.column_stack([255.0 * square, np.full((len(square), 2), 255.0)]).astype(np.uint8)
        shown = Surface(points=surface.points, faces=surface.faces, normals=surface.normals, colours=colours)
        stage.AddActor(_flat(shown))
    return _photograph(stage, camera.size, samples=4)


def corner_shade(surfaces: Sequence[Surface], camera: Camera, *, reach: float) -> NDArray[np.float64]:
    """Share of the sky that corners still see, from 0 to 1, one figure a pixel.

    Worked out at half size and enlarged, for on a machine without a graphics card it costs four times as much at full
    size as the shot itself, and it is soft anyway.

    Parameters
    ----------
    surfaces : sequence of Surface
    camera : Camera
    reach : float
        How far around a point wood counts, mm.

    Returns
    -------
    (height, width) float
    """
    width, height = camera.size[0] // 2, camera.size[1] // 2
    stage = _stage(camera, WHITE)
    for surface in surfaces:
        stage.AddActor(_flat(Surface(points=surface.points, faces=surface.faces, normals=surface.normals)))
    shade = vtkSSAOPass()
    shade.SetRadius(reach)
    shade.SetBias(0.01 * reach)
    shade.SetKernelSize(32)
    shade.BlurOn()
    shade.SetDelegatePass(vtkRenderStepsPass())
    stage.SetPass(shade)
    grey = _photograph(stage, (width, height), samples=0)[..., 0] / 255.0
    soft = gaussian_filter(grey, 1.0)
    return np.asarray(zoom(soft, (camera.size[1] / height, camera.size[0] / width), order=1))


def _stage(camera: Camera, background: tuple[int, int, int]) -> vtkRenderer:
    """An empty stage seen through a camera, without a lamp."""
    stage = vtkRenderer()
    stage.SetBackground(*(part / 255.0 for part in background))
    stage.AutomaticLightCreationOff()
    eye = stage.GetActiveCamera()
    eye.SetPosition(*camera.eye)
    eye.SetFocalPoint(*camera.focus)
    eye.SetViewUp(0.0, 0.0, 1.0)
    eye.SetViewAngle(np.degrees(VIEW_ANGLE))
    span = float(np.linalg.norm(camera.focus - camera.eye))
    eye.SetClippingRange(0.3 * span, 2.5 * span)
    return stage


def _photograph(stage: vtkRenderer, size: tuple[int, int], *, samples: int) -> NDArray[np.uint8]:
    """The stage as pixels, (height, width, 3); each edge is looked at so many times a pixel."""
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetSize(*size)
    window.SetMultiSamples(samples)
    window.AddRenderer(stage)
    film = vtkWindowToImageFilter()
    film.SetInput(window)
    film.ReadFrontBufferOff()
    film.Update()
    rows = vtk_to_numpy(film.GetOutput().GetPointData().GetScalars()).reshape(size[1], size[0], 3)
    pixels = np.array(rows[::-1], dtype=np.uint8)
    window.Finalize()
    return pixels


def _lit(actor: Actor) -> vtkActor:
    shown = _flat(actor.surface, None if actor.grain is None else _texture(actor.grain))
    look = shown.GetProperty()
    look.LightingOn()
    look.SetInterpolationToPhong()
    look.SetAmbient(0.40)
    look.SetDiffuse(0.72)
    look.SetSpecular(actor.gloss)
    look.SetSpecularPower(18.0)
    return shown


def _flat(surface: Surface, texture: vtkTexture | None = None) -> vtkActor:
    """A surface in its own colours, white where it has none, or with a picture laid on; no lamp reaches it."""
    data = poly_data(surface.points, surface.faces)
    held = data.GetPointData()
    held.SetNormals(numpy_to_vtk(surface.normals, deep=True))
    if surface.colours is not None:
        held.SetScalars(numpy_to_vtk(surface.colours, deep=True))
    if surface.places is not None:
        held.SetTCoords(numpy_to_vtk(surface.places, deep=True))
    mapper, shown = vtkPolyDataMapper(), vtkActor()
    mapper.SetInputData(data)
    shown.SetMapper(mapper)
    shown.GetProperty().LightingOff()
    if texture is not None:
        shown.SetTexture(texture)
    return shown


def _texture(image: NDArray[np.uint8], *, fine: bool = True) -> vtkTexture:
    """A picture to lay on a surface; one that is not fine is never seen smaller than it is, and needs no reducing.

    Without a graphics card reducing is dear: half of a shot went into the ground and into directions of the grain.
    """
    height, width, _ = image.shape
    data = vtkImageData()
    data.SetDimensions(width, height, 1)
    data.GetPointData().SetScalars(numpy_to_vtk(np.ascontiguousarray(image[::-1].reshape(-1, 3)), deep=True))
    texture = vtkTexture()
    texture.SetInputData(data)
    texture.InterpolateOn()
    texture.SetMipmap(fine)
    texture.SetMaximumAnisotropicFiltering(1.0)
    return texture


def _light(stage: vtkRenderer, camera: Camera) -> None:
    right, up, ahead = camera.axes
    span = float(np.linalg.norm(camera.focus - camera.eye))
    for toward, colour, strength in (
        (-0.8 * right + 1.2 * up - 0.75 * ahead, (1.0, 0.96, 0.89), 0.86),
        (1.2 * right + 0.3 * up - 0.7 * ahead, (1.0, 0.97, 0.94), 0.36),
        (0.3 * right + 0.9 * up + 0.8 * ahead, (1.0, 0.97, 0.92), 0.26),
    ):
        lamp = vtkLight()
        lamp.SetPosition(*(camera.focus + span * toward))
        lamp.SetFocalPoint(*camera.focus)
        lamp.SetColor(*colour)
        lamp.SetIntensity(strength)
        stage.AddLight(lamp)
