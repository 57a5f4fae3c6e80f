"""Where the turning axis stands in the blank."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import MountingError
from formmaker.geometry.frames import Frame, frame_from_axis


class RimEnd(StrEnum):
    """Which end of the lathe the rim faces while roughing."""

    HEADSTOCK = "headstock"
    TAILSTOCK = "tailstock"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mounting:
    """An axis through the blank, its zero direction and the height of the foot.

    Parameters
    ----------
    foot_centre : (3,) float
        Where the axis leaves the wood under the foot, blank frame, mm.
    rim_centre : (3,) float
        Where it leaves the wood on the rim side, blank frame, mm.
    zero : (3,) float
        Direction in the blank frame; angle 0 lies on this side of the axis.
    foot_height : float
        From ``foot_centre`` along the axis to the plane the foot stands on, mm.
    rim_end : RimEnd
        Which end the rim faces while roughing.
    zero_name : str
        The mark that zero was taken from, empty for a plain direction.

    Raises
    ------
    MountingError
        If the centres coincide, zero lies along the axis, or a figure is not finite.
    """

    foot_centre: NDArray[np.float64]
    rim_centre: NDArray[np.float64]
    zero: NDArray[np.float64]
    foot_height: float = 0.0
    rim_end: RimEnd = RimEnd.HEADSTOCK
    zero_name: str = ""

    def __post_init__(self) -> None:
        for name in ("foot_centre", "rim_centre", "zero"):
            array = np.array(getattr(self, name), dtype=np.float64)
            if array.shape != (3,) or not np.isfinite(array).all():
                raise MountingError(f"{name} {array.tolist()} is no point; give three finite numbers")
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if not np.isfinite(self.foot_height):
            raise MountingError(f"foot_height {self.foot_height} mm is not finite; give a length along the axis")
        try:
            frame_from_axis(self.foot_centre, self.axis, self.zero)
        except ValueError as error:
            raise MountingError(f"mounting: {error}") from error

    @property
    def axis(self) -> NDArray[np.float64]:
        """From foot centre to rim centre, (3,), mm."""
        return self.rim_centre - self.foot_centre

    @property
    def blank_from_form(self) -> Frame:
        """The form frame (origin under the foot, z up the axis, x toward zero) seen in the blank."""
        unit = self.axis / np.linalg.norm(self.axis)
        return frame_from_axis(self.foot_centre + self.foot_height * unit, self.axis, self.zero)
