"""The wood as it stands: a closed skin, how far it may be off, what is written on it."""

from dataclasses import dataclass
from enum import IntEnum, StrEnum

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh
from formmaker.model.cut import CutReport
from formmaker.model.marks import Mark


class FaceKind(IntEnum):
    """How a face of the skin came to be; the numbers are the ones kept in ``Blank.face_kinds``."""

    NATURAL = 0
    SAWN = 1
    TURNED = 2


class BlankSource(StrEnum):
    """Where a blank was taken from."""

    SCAN = "scan"
    READINGS = "readings"
    SHAPE = "shape"


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """One thing that was done to a scan before it could be used.

    Parameters
    ----------
    code : str
        ``scaled``, ``welded``, ``rewound``, ``speck removed``, ``hole filled``, ``underside closed``, ...
    text : str
        The same as a sentence for people.
    count : int
        How many (vertices, faces, holes).
    area : float
        Surface added or removed, mm2.
    volume_change : float
        New volume less old volume, mm3; NaN while the mesh was still open and had none.
    """

    code: str
    text: str
    count: int = 0
    area: float = 0.0
    volume_change: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Timber:
    """What the user has said of the wood's weight.

    Parameters
    ----------
    name : str
        The kind of wood; empty where none is named.
    moisture : float or None
        % of the dry weight; None for green.
    weight : float or None
        The piece, weighed before the cuts that the job lists, kg; of a cut blank, by volume what is left of it.
    bark : float
        Thickness of the bark on the natural skin, mm; 0 where bark counts as wood.
    """

    name: str = ""
    moisture: float | None = None
    weight: float | None = None
    bark: float = 0.0


UNKNOWN_TIMBER = Timber()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blank:
    """A closed piece of wood in the blank frame.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward, mm.
    face_kinds : (m,) uint8
        A ``FaceKind`` for every triangle.
    face_patches : (m,) int32
        Which planar patch a triangle belongs to, from 0; -1 where it belongs to none.
    uncertainty : float
        How far the skin of the model may be off, mm.
    source : BlankSource
        Where it was taken from.
    marks : tuple of Mark
    timber : Timber
    repairs : tuple of Repair
        What was done to it on the way in.
    notes : tuple of str
        What a reader of the answer should know about the blank: gaps, scale left over, guesses stated.
    scale : float
        Factor by which known lengths scaled the scan. Every place of a job file is given in the scan's own figures,
        before scaling: the blank's marks, and the faces that the user named, are scaled here already; other places
        (a mounting's two centres) are to be multiplied by it. Lengths (sizes, radii, heights) are true and stay.
    cuts : tuple of CutReport
        What saw and tool have taken off since, in order; the mesh is what is left.
    """

    mesh: Mesh
    face_kinds: NDArray[np.uint8]
    face_patches: NDArray[np.int32]
    uncertainty: float
    source: BlankSource
    marks: tuple[Mark, ...] = ()
    timber: Timber = UNKNOWN_TIMBER
    repairs: tuple[Repair, ...] = ()
    notes: tuple[str, ...] = ()
    scale: float = 1.0
    cuts: tuple[CutReport, ...] = ()

    def __post_init__(self) -> None:
        for name, kind in (("face_kinds", np.uint8), ("face_patches", np.int32)):
            array = np.array(getattr(self, name), dtype=kind)
            if array.shape != (len(self.mesh.faces),):
                raise BlankError(
                    f"{name} has {array.shape} entries for {len(self.mesh.faces)} triangles; give one each"
                )
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if not 0.0 <= self.uncertainty < np.inf:
            raise BlankError(f"uncertainty {self.uncertainty} mm; give how far the skin may be off, 0 or more")
