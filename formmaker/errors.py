"""Every way formmaker can fail to give an answer.

A bowl that does not fit is an answer (a ``Verdict``), not an error; nothing here is raised for it.

::

    FormmakerError
    +-- BlankError (ValueError)        the wood cannot be read, closed or described
    +-- FormError (ValueError)         the form contradicts itself
    +-- MountingError (ValueError)     the axis cannot be placed
    +-- LatheError (ValueError)        the lathe or its chuck contradicts itself
    +-- OffCurveError (ValueError)     a question asked off the end of a curve
    +-- MeasureError (ValueError)      a length, angle or unit that cannot be read
    +-- JobFileError (ValueError)      a job or profile file with faults, all of them
    +-- OutputError (OSError)          a result that cannot be written
    +-- KernelError (RuntimeError)     the solid kernel or the renderer gave up
"""

from dataclasses import dataclass


class FormmakerError(Exception):
    """Base of every error that formmaker raises on purpose."""


class BlankError(FormmakerError, ValueError):
    """The wood cannot be read, closed or described."""


class FormError(FormmakerError, ValueError):
    """The form contradicts itself; ``radius`` and ``height`` say where, mm, where there is a place."""

    def __init__(self, message: str, *, radius: float | None = None, height: float | None = None) -> None:
        super().__init__(message)
        self.radius = radius
        self.height = height


class MountingError(FormmakerError, ValueError):
    """The axis cannot be placed in this blank."""


class LatheError(FormmakerError, ValueError):
    """What is said of the lathe or its chuck contradicts itself."""


class OffCurveError(FormmakerError, ValueError):
    """A question was asked beyond the end of a curve."""


class MeasureError(FormmakerError, ValueError):
    """A length, an angle or a unit that cannot be read."""


class OutputError(FormmakerError, OSError):
    """A result cannot be written where it was asked for."""


class KernelError(FormmakerError, RuntimeError):
    """The solid kernel or the renderer gave no result."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong in a file: where it stands, what was found, what was expected."""

    key: str
    value: str
    expected: str

    def __str__(self) -> str:
        return f"{self.key} = {self.value}: expected {self.expected}"


class JobFileError(FormmakerError, ValueError):
    """A file with faults; ``faults`` holds all of them, in the order of the file."""

    def __init__(self, path: str, faults: tuple[Fault, ...]) -> None:
        lines = "\n".join(f"{path}: {fault}" for fault in faults)
        super().__init__(lines)
        self.path = path
        self.faults = faults
