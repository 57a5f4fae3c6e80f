"""Bodies as files for other programs: STEP with exact surfaces, binary STL with triangles, GLB for showing.

STEP and STL are in millimetres, form frame: the foot in z = 0, z up the axis. GLB is in metres with y up, as its
standard asks. Each file is written whole or not at all.
"""

import struct
import tempfile
from pathlib import Path

import cadquery as cq
import numpy as np
import trimesh
from OCP.IFSelect import IFSelect_RetDone
from OCP.Interface import Interface_Static
from OCP.Message import Message, Message_Gravity
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer

from formmaker.atomic import write_atomically
from formmaker.errors import KernelError
from formmaker.geometry.meshes import Mesh, face_normals


def write_step(shape: cq.Shape, path: Path) -> None:
    """Write a solid as STEP (ISO 10303-21, AP214), mm.

    Parameters
    ----------
    shape : cadquery Shape
        One valid solid; its surfaces go into the file as they are.
    path : Path
        Replaced if it is there.

    Raises
    ------
    KernelError
        If there is nothing to write or the kernel cannot write it.
    OutputError
        If the place cannot be written.
    """
    if not shape.Solids():
        raise KernelError("there is no bowl to write: form and blank have nothing in common; check the mounting")
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / "bowl.step"
        _transfer(shape, draft)
        write_atomically(path, draft.read_bytes())


def _transfer(shape: cq.Shape, draft: Path) -> None:
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)  # else the kernel talks to the terminal
    writer = STEPControl_Writer()  # before the first writer there are no settings to set
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    writer.Transfer(shape.wrapped, STEPControl_AsIs)
    if writer.Write(str(draft)) != IFSelect_RetDone:
        raise KernelError("the solid kernel cannot write this bowl as STEP; write it as STL instead")


def write_stl(mesh: Mesh, path: Path) -> None:
    """Write a mesh as binary STL, mm.

    Parameters
    ----------
    mesh : Mesh
        Closed. STL knows no unit and single precision only: 0.00001 mm on a bowl.
    path : Path
        Replaced if it is there.

    Raises
    ------
    KernelError
        If there are no triangles.
    OutputError
        If the place cannot be written.
    """
    if len(mesh.faces) == 0:
        raise KernelError("there is no bowl to write: form and blank have nothing in common; check the mounting")
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    rows = np.zeros(len(mesh.faces), dtype=record)
    rows["normal"], rows["corners"] = face_normals(mesh), mesh.corners
    header = b"binary STL, millimetres, foot in z = 0, z up the axis".ljust(80)
    write_atomically(path, header + struct.pack("<I", len(rows)) + rows.tobytes())


def write_glb(mesh: Mesh, path: Path) -> None:
    """Write a mesh as binary glTF, for showing: metres, y up (Khronos glTF 2.0, 3.4).

    Parameters
    ----------
    mesh : Mesh
        Form frame, mm; its colours go along.
    path : Path
        Replaced if it is there.

    Raises
    ------
    KernelError
        If there are no triangles.
    OutputError
        If the place cannot be written.
    """
    if len(mesh.faces) == 0:
        raise KernelError("there is no bowl to write: form and blank have nothing in common; check the mounting")
    x, y, z = mesh.vertices.T / 1000.0
    body = trimesh.Trimesh(
        vertices=np.column_stack([x, z, -y]), faces=mesh.faces, vertex_colors=mesh.colours, process=False
    )
    write_atomically(path, body.export(file_type="glb"))
