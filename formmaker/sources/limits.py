"""What no source lets in: a file that is not there, a blank of a size that no blank has.

The libraries that read scans are not loaded for it.
"""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.units import MM_PER_UNIT

LEAST_SIDE, MOST_SIDE = 20.0, 3000.0
"""Longest side of a blank, mm: a thimble and a whole trunk; outside of this the unit is wrong."""

FARTHEST = 100_000.0
"""Farthest coordinate from the origin, mm: from 100 m on a single-precision scan is rounded to 0.008 mm."""


def require_file(path: Path) -> None:
    """Refuse a path that is no readable file with something in it."""
    if path.is_dir():
        raise BlankError(f"{path} is a folder; name the file in it")
    if not path.exists():
        raise BlankError(f"{path}: there is no such file; give the path as seen from the job file's folder")
    try:
        with path.open("rb") as file:
            first = file.read(1)
    except OSError as error:
        raise BlankError(f"{path} cannot be opened ({error.strerror}); check who may read it") from error
    if not first:
        raise BlankError(f"{path} is empty (0 bytes); export or copy it again")


def require_size(name: str, bounds: NDArray[np.float64], scale: float | None) -> None:
    """Refuse a blank whose size shows that the unit is wrong.

    Parameters
    ----------
    name : str
        What to call the blank in the message.
    bounds : (2, 3) float
        mm.
    scale : float or None
        mm in the unit that a scan was read in, for the hint, which is never applied; None for what is no scan.
    """
    side = float((bounds[1] - bounds[0]).max())
    if not LEAST_SIDE <= side <= MOST_SIDE:
        way_out = "check its figures and their unit" if scale is None else _fitting_unit(side / scale)
        raise BlankError(
            f"{name}: the blank would be {side:.6g} mm long, "
            f"allowed are {LEAST_SIDE:g} to {MOST_SIDE:g} mm; {way_out}"
        )
    far = float(np.abs(bounds).max())
    if far > FARTHEST:
        raise BlankError(
            f"{name}: the blank lies {far:.6g} mm from the origin, allowed are {FARTHEST:g} mm; "
            "move it to the origin in the scanning app"
        )


def _fitting_unit(side: float) -> str:
    hints = [unit for unit, mm in MM_PER_UNIT.items() if LEAST_SIDE <= side * mm <= MOST_SIDE]
    return f"with scan_unit {' or '.join(hints)} it would be of a size" if hints else "no known unit makes it a blank"
