"""How the tree stands to the bowl: the way of its fibres and its pith in the form frame, and what had to be assumed.

What that does to the bowl is asked in ``drying`` and ``holding_strength``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.section import section_outline
from formmaker.engine.warping import Shrinkages, closes_round_pith, ringed_warp
from formmaker.model.drying import GrainModel
from formmaker.model.grain import Grain, GrainWord, known_grain
from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.model.shapes import SHAPES

Floats = NDArray[np.float64]

_WAYS = {GrainWord.X: (1.0, 0.0, 0.0), GrainWord.Y: (0.0, 1.0, 0.0), GrainWord.Z: (0.0, 0.0, 1.0)}

END_GRAIN = np.radians(45.0)
"""Fibres nearer to the axis than this make an end-grain bowl, others a side-grain one."""

_PITH_INSIDE = (
    "The pith runs through the bowl. Wood that closes round its pith cannot dry without strain: look for it to crack "
    "and take the figures of the oval for a guess."
)
_NO_GRAIN = "How the grain runs is not said: it is taken to lie across the axis, along angle 0."
_NO_PITH_END = "Where the pith lies is not said: the rings are taken as flat, across them along angle 0."
_NO_PITH_SIDE = (
    "Where the pith lies is not said: the wood is taken to shrink along its rings across the whole width of the bowl "
    "which makes the greatest oval."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tree:
    """How the tree stands to the bowl, form frame.

    Parameters
    ----------
    fibres : (3,) float
        Their direction, of length one.
    pith : (3,) float or None
        A place on the pith, mm; None where it is not known or cannot be reckoned with.
    middle : (3,) float
        The middle of the bowl on its axis, mm.
    model : GrainModel
    assumed, warnings : tuple of str
        Sentences.
    """

    fibres: Floats
    pith: Floats | None
    middle: Floats
    model: GrainModel
    assumed: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def lean(self) -> float:
        """Angle between the fibres and the axis, radians, from 0 (end grain) to pi / 2 (side grain)."""
        return float(np.arccos(min(abs(float(self.fibres[2])), 1.0)))


def tree_in_bowl(job: Job, section: Section, *, scale: float = 1.0) -> Tree:
    """Stand the tree of a job's blank to its bowl.

    Parameters
    ----------
    job : Job
    section : Section
        Of its form: a pith that the wood of the bowl closes round is told, and not reckoned with.
    scale : float
        By which known lengths scaled the blank: the pith's place is in the scan's own figures.

    Returns
    -------
    Tree
    """
    grain = known_grain(job.plan.grain, job.plan.shape)
    fibres, assumed = _fibres(grain, job)
    middle = np.array([0.0, 0.0, float(section.outer.end[1]) / 2.0])
    is_end = abs(float(fibres[2])) > np.cos(END_GRAIN)
    pith = _pith(grain, job, scale)
    is_inside = pith is not None and _closes_round(fibres, pith, middle, section)
    pith = None if is_inside else pith
    plain = GrainModel.END_GRAIN if is_end else GrainModel.SIDE_GRAIN
    flat = (_NO_PITH_END if is_end else _NO_PITH_SIDE,) if grain.pith is None else ()
    return Tree(
        fibres=fibres,
        pith=pith,
        middle=middle,
        model=plain if pith is None else GrainModel.RINGED,
        assumed=(*assumed, *flat),
        warnings=(_PITH_INSIDE,) if is_inside else (),
    )


def _fibres(grain: Grain, job: Job) -> tuple[Floats, tuple[str, ...]]:
    """Direction of the fibres and what was assumed of it."""
    if grain.way is None:
        return np.array([1.0, 0.0, 0.0]), (_NO_GRAIN,)
    if grain.way is GrainWord.AXIS:
        return np.array([0.0, 0.0, 1.0]), ()
    way = _WAYS[grain.way] if isinstance(grain.way, GrainWord) else grain.way
    fibres = job.mounting.blank_from_form.inverse.turn(np.array(way))
    known = job.plan.grain.way is not None
    said = () if known else (f"The grain is taken to run along the x of the {_shape_name(job)}.",)
    return np.asarray(fibres / np.linalg.norm(fibres)), said


def _pith(grain: Grain, job: Job, scale: float) -> Floats | None:
    if grain.pith is None:
        return None
    return job.mounting.blank_from_form.inverse.carry(scale * np.array(grain.pith))


def _shape_name(job: Job) -> str:
    return next(name for name, kind in SHAPES.items() if isinstance(job.plan.shape, kind))


def _closes_round(fibres: Floats, pith: Floats, middle: Floats, section: Section) -> bool:
    """Whether the wood of the bowl closes round the pith, or the pith cannot be told from the bowl's middle."""
    across = middle - pith
    if not np.linalg.norm(across - fibres * float(across @ fibres)) > 1e-3:
        return True
    outline = section_outline(section, chord=0.5)
    angles = np.arange(72) * (2.0 * np.pi / 72)
    turn = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    rings = turn[:, None, :] * outline[None, :, 0, None]
    heights = np.broadcast_to(outline[:, 1, None], (*rings.shape[:2], 1))
    still = Shrinkages(along=0.0, radial=0.0, tangential=0.0)
    return closes_round_pith(ringed_warp(fibres, pith, middle, still), np.concatenate([rings, heights], axis=-1))
