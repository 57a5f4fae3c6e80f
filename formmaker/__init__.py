"""Plans a turned bowl inside one irregular piece of wood.

The door: errors, units, and the records that go in and come out. What is done with them stands in
``formmaker.pipeline`` (check, prove, draw, picture, new, demo), which loads the libraries that this door does not.
"""

from formmaker.errors import (
    BlankError,
    Fault,
    FormError,
    FormmakerError,
    JobFileError,
    KernelError,
    LatheError,
    MeasureError,
    MountingError,
    OffCurveError,
    OutputError,
)
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh
from formmaker.model.balance import Balance, Balanced
from formmaker.model.blank import Blank, BlankSource, FaceKind, Repair, Timber
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, FaceRule, Job, KnownLength
from formmaker.model.lathe import Lathe
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting, RimEnd
from formmaker.model.proof import MissingPiece, Proof, ProofMethod, Reduction, WoodFigures
from formmaker.model.shapes import Board, CapBurr, Crotch, HalfLog, Log, Round
from formmaker.model.verdict import (
    Answer,
    Extremum,
    Finding,
    HoldCheck,
    LoosePiece,
    Part,
    Place,
    Reason,
    RimKind,
    RimLine,
    Spin,
    Verdict,
    Volumes,
    WeakNeck,
    Window,
)
from formmaker.tolerances import Tolerances
from formmaker.units import Units, format_length, parse_length

__all__ = [
    "Answer",
    "Balance",
    "Balanced",
    "Blank",
    "BlankError",
    "BlankPlan",
    "BlankSource",
    "Board",
    "CapBurr",
    "Crotch",
    "Edge",
    "Extremum",
    "FaceKind",
    "FaceRule",
    "Fault",
    "Finding",
    "Form",
    "FormError",
    "FormmakerError",
    "Frame",
    "HalfLog",
    "Hold",
    "HoldCheck",
    "HoldKind",
    "Job",
    "JobFileError",
    "KernelError",
    "KnownLength",
    "Lathe",
    "LatheError",
    "Log",
    "LoosePiece",
    "Mark",
    "MarkKind",
    "MeasureError",
    "Mesh",
    "MissingPiece",
    "Mounting",
    "MountingError",
    "OffCurveError",
    "OutputError",
    "Part",
    "Place",
    "Proof",
    "ProofMethod",
    "Reason",
    "Reduction",
    "Repair",
    "RimEnd",
    "RimKind",
    "RimLine",
    "Round",
    "Spin",
    "Timber",
    "Tolerances",
    "Units",
    "Verdict",
    "Volumes",
    "WeakNeck",
    "Window",
    "WoodFigures",
    "format_length",
    "parse_length",
]
