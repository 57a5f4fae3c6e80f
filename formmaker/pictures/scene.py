"""The picture of a job: the bowl inside its blank, and alone, as PNG files.

Lays out the scene and hands it to a process of its own (``renderer``), because a machine without OpenGL can end the
process that draws. Decides no colours and cuts no wood: the bowl comes in as a mesh.
"""

import tempfile
from contextlib import nullcontext
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formmaker.atomic import write_atomically
from formmaker.errors import KernelError
from formmaker.geometry.meshes import Mesh, face_normals, moved
from formmaker.model.blank import Blank, FaceKind
from formmaker.model.mounting import Mounting
from formmaker.pictures.renderer import Renderer, ready_renderer, render

SIZE = (1600, 1200)


def picture(  # noqa: PLR0913  # what is pictured, where it goes, who renders it
    blank: Blank,
    bowl: Mesh,
    mounting: Mounting,
    target: Path,
    *,
    bowl_from_bark: NDArray[np.bool_],
    alone: Path | None = None,
    size: tuple[int, int] = SIZE,
    renderer: Renderer | None = None,
) -> None:
    """Write the picture of a bowl inside its blank.

    Parameters
    ----------
    blank : Blank
        Its colours, where it has some, are kept; its marks become labelled pins.
    bowl : Mesh
        The bowl as it would come out, blank frame, mm; colours are used where it is bark.
    mounting : Mounting
        The axis is drawn upright.
    target : Path
        PNG file.
    bowl_from_bark : (m,) bool
        Which of the bowl's triangles are natural skin; the others are cut wood.
    alone : Path, optional
        A second picture, of the bowl without the blank: cheaper than asking again.
    size : tuple of int
        Width and height, pixels.
    renderer : Renderer, optional
        One that has been started already, and told nothing yet.

    Raises
    ------
    KernelError
        If the bowl has no wood, or this machine cannot render.
    OutputError
        If a file cannot be written.
    """
    if len(bowl.faces) == 0:
        raise KernelError("there is nothing to picture: no wood of the bowl lies inside the blank; move the mounting")
    arrays = _scene_arrays(blank, bowl, mounting, bowl_from_bark) | {"size": np.array(size)}
    targets = [target] if alone is None else [target, alone]
    with tempfile.TemporaryDirectory(prefix="formmaker-") as folder:
        scene, made = Path(folder) / "scene.npz", [Path(folder) / f"{number}.png" for number in range(len(targets))]
        np.savez(scene, **arrays)
        with nullcontext(renderer) if renderer else ready_renderer() as chosen:
            render(chosen, scene, made)
        images = [path.read_bytes() for path in made]
    for path, image in zip(targets, images, strict=True):
        write_atomically(path, image)


def _scene_arrays(
    blank: Blank, bowl: Mesh, mounting: Mounting, bowl_from_bark: NDArray[np.bool_]
) -> dict[str, NDArray[np.generic]]:
    """Everything in the form frame, so that the axis stands upright."""
    upright = mounting.blank_from_form.inverse
    arrays: dict[str, NDArray[np.generic]] = {}
    for name, mesh in (("blank", moved(blank.mesh, upright)), ("bowl", moved(bowl, upright))):
        arrays[f"{name}_vertices"], arrays[f"{name}_faces"] = mesh.vertices, mesh.faces
        if mesh.colours is not None:
            arrays[f"{name}_colours"] = mesh.colours
    arrays["blank_natural"] = blank.face_kinds == FaceKind.NATURAL
    arrays["bowl_bark"] = bowl_from_bark
    centres = upright.carry(np.stack([mounting.foot_centre, mounting.rim_centre]))
    beyond = np.array([0.0, 0.0, 0.16 * float(np.ptp(blank.mesh.bounds, axis=0).max())])
    arrays["axis"] = np.stack([centres[0] - beyond, centres[0], centres[1], centres[1] + beyond])
    marks = np.array([mark.at for mark in blank.marks]).reshape(-1, 3)
    arrays["mark_names"] = np.array([mark.name for mark in blank.marks], dtype=np.str_)
    arrays["mark_kinds"] = np.array([str(mark.kind) for mark in blank.marks], dtype=np.str_)
    arrays["mark_at"] = upright.carry(marks)
    arrays["mark_head"] = upright.carry(marks + _pin_lengths(blank.mesh, marks))
    return arrays


def _pin_lengths(mesh: Mesh, marks: NDArray[np.float64]) -> NDArray[np.float64]:
    """Which way each pin points: out of the wood, along the skin's mean normal near its mark."""
    middles = mesh.corners.mean(axis=1)
    size = float(np.ptp(mesh.bounds, axis=0).max())
    normals = face_normals(mesh)
    pins = np.zeros_like(marks)
    for number, mark in enumerate(marks):
        distance = np.linalg.norm(middles - mark, axis=1)
        near = np.exp(-((distance / max(0.06 * size, 2.0 * float(distance.min()))) ** 2))
        out = near @ normals
        pins[number] = 0.12 * size * out / max(float(np.linalg.norm(out)), 1e-12)
    return pins
