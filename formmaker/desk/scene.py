"""The piece in space: VTK actors for blank, bowl, ghost, axis and marks, drawn by the browser, not here.

Bodies stand in the form frame, the axis upright, as on the lathe. Nothing is rendered on this side.
"""

import math
from dataclasses import dataclass

import numpy as np
import vtkmodules.vtkInteractionStyle
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401  # gives the render window its kind
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkLogger, vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderer, vtkRenderWindow

from formmaker.geometry.meshes import Mesh
from formmaker.pipeline.looking import Seen

Colour = tuple[int, int, int]

SAPWOOD: Colour = (233, 205, 152)
HEARTWOOD: Colour = (160, 98, 52)
RING: Colour = (112, 64, 30)
BLANK: Colour = (138, 112, 88)
WASTE: Colour = (196, 186, 172)
INK: Colour = (40, 34, 28)
INK_ON_DARK: Colour = (240, 231, 217)
GHOST: Colour = (90, 110, 130)

RING_STEP = 12.0
"""Depth between the dark lines drawn on the bowl, mm: contours, so that depth reads without colour."""

CREASE = 40.0
"""Degrees between two faces from which on they meet in an edge."""


_NEARNESS = 0.4
"""Radius that is seen whole, as a share of the blank's diagonal; half would hold a ball round it, wood is no ball."""

_VIEW_ANGLE = 30.0
"""Degrees the camera sees from top to bottom."""

SIDES = {"side": ((0.35, -1.0, 0.45), (0.0, 0.0, 1.0)), "rim": ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0))}
"""Sides to stand at: the direction from the piece, and what is up."""

_NOTHING = Mesh(vertices=np.zeros((3, 3)), faces=np.array([[0, 1, 2]]))
"""Shown where there is nothing: trame forgets how an actor looks that had no data when it was first sent."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """One actor with the data it draws."""

    data: vtkPolyData
    actor: vtkActor


class Scene:
    """The render window that the page shows a copy of."""

    def __init__(self) -> None:
        vtkLogger.SetStderrVerbosity(
            vtkLogger.VERBOSITY_OFF
        )  # it would complain that it has no screen; it needs none
        self.window = vtkRenderWindow()
        self.window.SetOffScreenRendering(1)
        self._renderer = vtkRenderer()
        self.window.AddRenderer(self._renderer)
        self._bodies = {
            name: self._body(colour, opacity)
            for name, colour, opacity in (
                ("blank", BLANK, 0.28),
                ("bowl", (255, 255, 255), 1.0),
                ("waste", WASTE, 1.0),
                ("ghost", GHOST, 0.16),
                ("axis", INK, 1.0),
                ("marks", (138, 59, 18), 1.0),
            )
        }

    def show(self, name: str, seen: Seen, *, sapwood: float | None = None) -> None:
        """Put a body in the scene; with ``sapwood`` (mm) its vertices are coloured by their depth under the bark."""
        body = self._bodies[name]
        _fill(body.data, seen.mesh if len(seen.mesh.faces) else _NOTHING)
        if sapwood is not None and len(seen.mesh.vertices):
            colours = numpy_to_vtk(depth_colours(seen.depth, sapwood), deep=True)
            colours.SetName("depth")
            body.data.GetPointData().SetScalars(colours)
        body.data.Modified()

    def lines(self, name: str, ends: NDArray[np.float64]) -> None:
        """Draw straight lines (n, 2, 3), mm."""
        ends = ends if len(ends) else np.zeros((1, 2, 3))
        data = self._bodies[name].data
        data.Initialize()
        _points(data, ends.reshape(-1, 3))
        data.SetLines(_cells(np.arange(2 * len(ends)).reshape(-1, 2)))
        data.Modified()

    def choose(self, names: set[str]) -> None:
        """Show these bodies and no others."""
        for name, body in self._bodies.items():
            body.actor.SetVisibility(name in names)

    def paper(self, colour: Colour) -> None:
        """Colour of the ground, as the page has it, and of the lines on it."""
        self._renderer.SetBackground(*(part / 255.0 for part in colour))
        ink = INK_ON_DARK if sum(colour) < sum(INK_ON_DARK) / 2 else INK
        look = self._bodies["axis"].actor.GetProperty()
        look.SetColor(*(part / 255.0 for part in ink))
        look.Modified()  # said again each time: a page that has just opened may have missed it
        self._bodies["axis"].actor.Modified()

    def cameras(self) -> dict[str, dict[str, object]]:
        """Where to stand to see all, by the side it is seen from, as the browser wants it said; for a square view."""
        bounds = np.array(self._bodies["blank"].data.GetBounds()).reshape(3, 2)
        middle, size = bounds.mean(axis=1), float(np.linalg.norm(np.ptp(bounds, axis=1)))
        far = _NEARNESS * size / math.sin(math.radians(_VIEW_ANGLE / 2.0))
        return {
            side: {
                "position": (middle + far * np.array(direction) / np.linalg.norm(direction)).tolist(),
                "focalPoint": middle.tolist(),
                "viewUp": list(up),
                "viewAngle": _VIEW_ANGLE,
                "parallelProjection": 0,
                "parallelScale": 1.0,
            }
            for side, (direction, up) in SIDES.items()
        }

    def _body(self, colour: Colour, opacity: float) -> Body:
        data, mapper, actor = vtkPolyData(), vtkPolyDataMapper(), vtkActor()
        _fill(data, _NOTHING)
        mapper.SetInputData(data)
        actor.SetMapper(mapper)
        look = actor.GetProperty()
        look.SetColor(*(part / 255.0 for part in colour))
        look.SetOpacity(opacity)
        look.SetAmbient(0.25)
        look.SetDiffuse(0.8)
        look.SetLineWidth(2.0)
        self._renderer.AddActor(actor)
        return Body(data=data, actor=actor)


def depth_colours(depth: NDArray[np.float64], sapwood: float) -> NDArray[np.uint8]:
    """Colour of wood by its depth under the bark, mm: sapwood pale, heart dark, both with contour lines."""
    pale, dark, ring = (np.array(colour, dtype=np.float64) for colour in (SAPWOOD, HEARTWOOD, RING))
    is_heart = np.where(np.isfinite(depth), depth > sapwood, True)
    base = np.where(is_heart[:, None], dark, pale)
    turn = np.where(np.isfinite(depth), depth, 0.0) / RING_STEP
    share = np.clip(1.0 - np.abs(turn - np.round(turn)) * 6.0, 0.0, 1.0) * (turn > 0.5)
    return np.asarray(base + 0.45 * share[:, None] * (ring - base), dtype=np.uint8)


def _fill(data: vtkPolyData, mesh: Mesh) -> None:
    raw = vtkPolyData()
    _points(raw, mesh.vertices)
    raw.SetPolys(_cells(mesh.faces))
    smooth = vtkPolyDataNormals()
    smooth.SetInputData(raw)
    smooth.SplittingOff()
    smooth.ConsistencyOff()
    smooth.Update()
    data.ShallowCopy(smooth.GetOutput())


def _points(data: vtkPolyData, places: NDArray[np.float64]) -> None:
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(places, dtype=np.float32), deep=True))
    data.SetPoints(points)


def _cells(corners: NDArray[np.integer]) -> vtkCellArray:
    cells = vtkCellArray()
    starts = np.arange(0, corners.size + 1, corners.shape[1], dtype=np.int64)
    cells.SetData(
        numpy_to_vtkIdTypeArray(starts, deep=True),
        numpy_to_vtkIdTypeArray(np.ascontiguousarray(corners.ravel(), dtype=np.int64), deep=True),
    )
    return cells
