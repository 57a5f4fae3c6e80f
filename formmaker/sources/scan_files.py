"""Reading scan files into one triangle mesh in millimetres, in the axes that the file gives.

Nothing is repaired here and no unit is guessed. A GLB file is y up by its standard and stays so: marks are placed in
the coordinates that a mesh viewer shows for the file, and an axis may stand any way in the blank frame.
"""

import struct
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import trimesh
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh
from formmaker.sources.limits import require_file, require_size
from formmaker.units import MM_PER_INCH, MM_PER_UNIT

FORMATS = (".stl", ".obj", ".ply", ".off", ".glb", ".3mf")

OWN_UNITS = {
    "meters": 1000.0,
    "micron": 0.001,
    "millimeter": 1.0,
    "millimeters": 1.0,
    "centimeter": 10.0,
    "inch": MM_PER_INCH,
    "foot": 12.0 * MM_PER_INCH,
    "meter": 1000.0,
}
"""mm in the units that GLB (metres by the glTF 2.0 standard, section 3.4) and 3MF (core specification, model unit,
millimeter where none is written) can carry; the plurals are how the reading library says those two defaults."""

STL_HEAD, STL_TRIANGLE = 84, 50
"""Bytes of a binary STL: 80 of text and 4 of count, then as many for each triangle."""

_UNREADABLE = (
    # The parsers of six formats fail in any of these ways on a damaged file; each means the same to the user.
    ArithmeticError,
    AssertionError,
    AttributeError,
    EOFError,
    ImportError,
    LookupError,
    MemoryError,
    OSError,
    RuntimeError,
    StopIteration,
    SyntaxError,
    TypeError,
    ValueError,
    struct.error,
    zipfile.BadZipFile,
    zlib.error,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanFile:
    """A scan as read: triangles in mm as they stand in the file, ``unit`` as it was understood, remarks."""

    mesh: Mesh
    unit: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """One mesh of a file, placed, in the file's own unit."""

    points: NDArray[np.float64]
    faces: NDArray[np.int64]
    colours: NDArray[np.uint8] | None


def read_scan_file(path: Path, scan_unit: str) -> ScanFile:
    """Read a scan file.

    Parameters
    ----------
    path : Path
        STL (binary or ASCII), OBJ, PLY, OFF, GLB or 3MF, told apart by the ending.
    scan_unit : str
        ``mm``, ``cm``, ``m`` or ``in``; empty for GLB (metres by its standard) and 3MF (states its own). Where both
        speak, the user's word holds and a note says so.

    Returns
    -------
    ScanFile
        mm; parts of a scene are placed and joined; colours are kept where every part has them.

    Raises
    ------
    BlankError
        If the file is missing, unreadable, of another kind, without triangles, without a unit, not finite, or of
        a size that no blank has.
    """
    require_file(path)
    if path.suffix.lower() not in FORMATS:
        raise BlankError(
            f"{path}: a scan file ends in {', '.join(FORMATS)}; save it as one of these in the scanning app"
        )
    _require_whole(path)
    scene = _load(path)
    parts = _parts(scene, path)
    carried = _carried_unit(scene, path)
    scale = _scale(path, scan_unit, carried)
    mesh = _joined(parts, scale)
    _require_sound_figures(path, mesh, scale)
    notes: tuple[str, ...] = ()
    if scan_unit and carried and scale != OWN_UNITS[carried]:
        notes = (f"{path.name} says its unit is {carried}, the job says {scan_unit}: the job's word is taken",)
    return ScanFile(mesh=mesh, unit=scan_unit or carried, notes=notes)


def _require_whole(path: Path) -> None:
    """Refuse what the reading library would misread without a word: a cut STL, a point 0 of an OBJ."""
    if path.suffix.lower() == ".stl":
        _require_whole_stl(path)
    elif path.suffix.lower() == ".obj":
        _require_counting_from_one(path)


def _require_whole_stl(path: Path) -> None:
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(STL_HEAD)
    # Text holds no zero byte; a binary head does, in its padding or in a count under 16 million.
    if len(head) < STL_HEAD or b"\0" not in head:
        return
    count = int.from_bytes(head[-4:], "little")
    whole = STL_HEAD + STL_TRIANGLE * count
    if size != whole:
        raise BlankError(
            f"{path} says it holds {count} triangles, which take {whole} bytes, but is {size} bytes long: "
            "it was cut short or is damaged: copy it or export it again"
        )


def _require_counting_from_one(path: Path) -> None:
    with path.open("rb") as file:
        for number, line in enumerate(file, start=1):
            if line[:2] == b"f " and any(corner.split(b"/")[0] == b"0" for corner in line.split()[1:]):
                raise BlankError(f"{path} line {number} names point 0, but OBJ counts from 1; export it again")


def _load(path: Path) -> trimesh.Scene:
    try:
        with np.errstate(all="ignore"):
            return trimesh.load_scene(path, process=False)
    except _UNREADABLE as error:
        raise BlankError(
            f"{path} cannot be read as {path.suffix[1:].upper()}; "
            "it is damaged or of another kind: export it again from the scanning app"
        ) from error


def _parts(scene: trimesh.Scene, path: Path) -> list[_Part]:
    parts = []
    for name in scene.graph.nodes_geometry:
        placement, geometry_name = scene.graph[name]
        geometry = scene.geometry[geometry_name]
        if isinstance(geometry, trimesh.Trimesh) and len(geometry.faces):
            parts.append(_part(geometry, np.asarray(placement, dtype=np.float64)))
    if not parts:
        points = sum(len(geometry.vertices) for geometry in scene.geometry.values() if hasattr(geometry, "vertices"))
        found = f"{points} points but no triangles" if points else "no triangles"
        raise BlankError(
            f"{path} holds {found}; it is no {path.suffix[1:].upper()} scan of a surface: export it again as a mesh"
        )
    for part in parts:
        if part.faces.min() < 0 or part.faces.max() >= len(part.points):
            raise BlankError(
                f"{path} has a triangle that names point {part.faces.max()} of {len(part.points)}; "
                "the file is damaged: export it again"
            )
    return parts


def _part(geometry: trimesh.Trimesh, placement: NDArray[np.float64]) -> _Part:
    points = np.asarray(geometry.vertices, dtype=np.float64)
    faces = np.asarray(geometry.faces, dtype=np.int64)
    if not np.array_equal(placement, np.eye(4)):
        points = points @ placement[:3, :3].T + placement[:3, 3]
        if np.linalg.det(placement[:3, :3]) < 0.0:
            faces = faces[:, ::-1]
    return _Part(points=points, faces=faces, colours=_vertex_colours(geometry))


def _vertex_colours(geometry: trimesh.Trimesh) -> NDArray[np.uint8] | None:
    """Colours of the vertices, from vertices, faces or a texture; None where the file has none."""
    try:
        visual = geometry.visual
        if visual.kind == "texture":
            visual = visual.to_color()
        if not visual.defined:
            return None
        return np.asarray(visual.vertex_colors, dtype=np.uint8)[:, :3]
    except _UNREADABLE:
        # A missing or odd texture image costs the pictures their colour, never the wood its shape.
        return None


def _carried_unit(scene: trimesh.Scene, path: Path) -> str:
    """Unit written in the file, empty where its kind carries none."""
    if path.suffix.lower() == ".glb":
        return "meters"
    if path.suffix.lower() != ".3mf":
        return ""
    unit = str(scene.metadata.get("units", "millimeter"))
    if unit not in OWN_UNITS:
        raise BlankError(
            f"{path} states the unit {unit!r}; 3MF allows micron, millimeter, centimeter, inch, foot, meter: "
            "say scan_unit in the job"
        )
    return unit


def _scale(path: Path, scan_unit: str, carried: str) -> float:
    """Millimetres in one unit of the file."""
    if scan_unit:
        if scan_unit not in MM_PER_UNIT:
            raise BlankError(f"{path}: scan_unit {scan_unit!r} is unknown; write mm, cm, m or in")
        return MM_PER_UNIT[scan_unit]
    if not carried:
        raise BlankError(
            f"{path}: a {path.suffix[1:].upper()} file carries no unit and none is guessed; "
            "say scan_unit: mm, cm, m or in"
        )
    return OWN_UNITS[carried]


def _joined(parts: list[_Part], scale: float) -> Mesh:
    starts = np.cumsum([0, *(len(part.points) for part in parts)])
    points = np.concatenate([part.points for part in parts]) * scale
    faces = np.concatenate([part.faces + start for part, start in zip(parts, starts, strict=False)])
    colours = [part.colours for part in parts if part.colours is not None]
    whole = np.concatenate(colours) if len(colours) == len(parts) else None
    used = np.zeros(len(points), dtype=bool)
    used[faces.ravel()] = True
    if not used.all():
        # Points of no triangle are no skin, yet would count in the size.
        faces = (np.cumsum(used) - 1)[faces]
        points = points[used]
        whole = None if whole is None else whole[used]
    return Mesh(vertices=points, faces=faces.astype(np.int32), colours=whole)


def _require_sound_figures(path: Path, mesh: Mesh, scale: float) -> None:
    bad = np.asarray(~np.isfinite(mesh.vertices).all(axis=1))
    if bad.any():
        raise BlankError(
            f"{path}: {bad.sum()} of {len(bad)} points are not finite (NaN or infinite); "
            "the file is damaged: export it again from the scanning app"
        )
    require_size(str(path), mesh.bounds, scale)
