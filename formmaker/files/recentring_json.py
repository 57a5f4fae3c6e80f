"""The answer to readings as plain data: the object that ``centre`` and ``level`` print with ``--json``.

Keys and units (mm, degrees from 0 up to 360) are fixed; ``toward_deg`` is where the centre mark goes on the wood,
None where it stays; ``residual_mm`` is the farthest that any reading will still be off after the move.
"""

import math

from formmaker.model.recentring import Recentring
from formmaker.units import degrees_round


def recentring_to_json(found: Recentring) -> dict[str, object]:
    """Turn an answer into what ``json.dumps(..., allow_nan=False)`` takes."""
    return {
        "shifts": [
            {
                "end": shift.end.value,
                "shift_mm": shift.distance,
                "toward_deg": degrees_round(shift.toward) if math.isfinite(shift.toward) else None,
            }
            for shift in found.shifts
        ],
        "tilt_deg": math.degrees(found.tilt),
        "residual_mm": found.residual,
        "warnings": list(found.warnings),
    }
