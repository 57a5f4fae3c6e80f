"""What becomes of a bowl as it dries: its oval, the rough-out that still holds it, its weight.

The warp of the wood is in ``warping``, the geometry of the rough-out in ``rough_out``; no wood of a blank is asked.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.grain import Tree, tree_in_bowl
from formmaker.engine.rough_out import least_allowances, rough_outline
from formmaker.engine.section import largest_radius, section_volume
from formmaker.engine.warping import Shrinkages, Warp, dried, ringed_warp, straight_warp
from formmaker.errors import BlankError
from formmaker.geometry.curves import polyline
from formmaker.model.drying import Drying, DryWish, Oval, RoughOut
from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.model.species import Source, Species
from formmaker.model.timber import (
    LONGITUDINAL_SHRINKAGE,
    SHRINKAGE_SPREAD,
    density,
    estimated_shrinkage,
    find_species,
    shrinkage_spread,
    shrinkage_to,
)

Floats = NDArray[np.float64]

USUAL_SKIN = 2.0
"""Wood for truing where the job says nothing, mm (common practice, no source)."""

USUAL_GREEN = 60.0
"""Moisture of green wood whose kind is not in the table, %: about the middle of it."""

CAREFUL = 2.0
"""Spreads that a careful rough-out allows for: one piece in forty shrinks by more, if pieces are spread normally."""

_TURN = 360


@dataclass(frozen=True, slots=True, kw_only=True)
class _Whole:
    """Shrinkage from green to ovendry, %, with its spread and its source."""

    radial: float
    tangential: float
    spread: float
    source: str


def dry_bowl(job: Job, section: Section, *, end: float, scale: float = 1.0, weighed: float | None = None) -> Drying:
    """Say what drying does to a job's bowl.

    Parameters
    ----------
    job : Job
        Its timber, its moisture, its grain, its mounting and its wish for drying are used.
    section : Section
        Of the job's form.
    end : float
        Moisture it dries to, % of the dry weight.
    scale : float
        By which known lengths scaled the blank: the pith's place is in the scan's own figures.
    weighed : float, optional
        Weight of the wood as it stands, kg/mm3, where the blank was weighed; without it, the table's.

    Returns
    -------
    Drying

    Raises
    ------
    BlankError
        If the timber is not in the table and the job does not say how it shrinks.
    """
    species, wish = find_species(job.plan.timber.name), job.dry
    whole = _whole_shrinkage(species, job.plan.timber.name, wish)
    start = job.plan.timber.moisture
    is_green = start is None
    if start is None:
        start = species.green_moisture if species is not None else USUAL_GREEN
    tree = tree_in_bowl(job, section, scale=scale)
    warp, careful = (_warp(tree, section, _shares(whole, start, end, spreads=spreads)) for spreads in (0.0, CAREFUL))
    skin = USUAL_SKIN if wish.skin is None else wish.skin
    if weighed is None and species is not None:
        weighed = density(species, start)
    weigh = _Scale(wet=weighed, start=start, end=end)
    volume = section_volume(section)
    lost = warp.shrinkages
    return Drying(
        timber=species.name if species is not None else "",
        start=start,
        end=end,
        is_green=is_green,
        radial=lost.radial,
        tangential=lost.tangential,
        along=lost.along,
        spread=whole.spread,
        source=whole.source,
        model=tree.model,
        assumed=(*tree.assumed, *_assumed_wood(species, is_green=is_green, wish=wish)),
        warnings=tree.warnings,
        skin=skin,
        rough=_rough_out(job, section, warp, skin, weigh),
        careful=_rough_out(job, section, careful, skin, weigh),
        finished=ring_dried(warp, *_rim(section)),
        bowl_weight=weigh.before(volume),
        bowl_ready=weigh.after(volume),
        ready_share=weigh.share,
    )


def _whole_shrinkage(species: Species | None, name: str, wish: DryWish) -> _Whole:
    if wish.radial is not None and wish.tangential is not None:
        return _Whole(
            radial=wish.radial, tangential=wish.tangential, spread=SHRINKAGE_SPREAD, source="as the job says"
        )
    if species is None:
        named = f'"{name}" is not in the timber table' if name else "the job names no timber"
        raise BlankError(
            f"{named}, so how it shrinks is not known; name one of `formmaker timber` in [blank] wood, or give "
            "[dry] shrinkage = [radial, tangential] in % from green to ovendry"
        )
    known = estimated_shrinkage(species)
    return _Whole(
        radial=known.radial.value,
        tangential=known.tangential.value,
        spread=shrinkage_spread(species),
        source=known.tangential.source.value,
    )


def _warp(tree: Tree, section: Section, lost: Shrinkages) -> Warp:
    """Warp of the wood, the dried piece put back so that its widest ring runs as true as it can."""
    if tree.pith is None:
        warp = straight_warp(tree.fibres, lost)
    else:
        warp = ringed_warp(tree.fibres, tree.pith, tree.middle, lost)
    middle = dried(warp, _ring(*_rim(section))).mean(axis=0)
    return replace(warp, shift=warp.shift - np.array([middle[0], middle[1], 0.0]))


def _shares(whole: _Whole, start: float, end: float, *, spreads: float) -> Shrinkages:
    more = 1.0 + spreads * whole.spread
    along = sum(LONGITUDINAL_SHRINKAGE) / 2.0
    radial, tangential, fibre = (
        shrinkage_to(part * more, start, end) for part in (whole.radial, whole.tangential, along)
    )
    return Shrinkages(along=fibre, radial=radial, tangential=tangential)


def _assumed_wood(species: Species | None, *, is_green: bool, wish: DryWish) -> tuple[str, ...]:
    if species is None and is_green:
        return (f"Green wood of this kind is taken to hold {USUAL_GREEN:.0f} % of moisture: it is not in the table.",)
    if species is not None and species.shrinkage is None and wish.radial is None:
        return (f"No handbook value of how {species.name} shrinks: it is {Source.ESTIMATE.value}.",)
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """Weighs wood before and after; ``wet`` is what it weighs before, kg/mm3, None where nothing is known of it."""

    wet: float | None
    start: float
    end: float

    @property
    def share(self) -> float:
        """Weight after over weight before: the dry wood stays, the water goes."""
        return (100.0 + self.end) / (100.0 + self.start)

    def before(self, volume: float) -> float | None:
        """Weight of a volume, mm3, as it is turned."""
        return None if self.wet is None else self.wet * volume

    def after(self, volume: float) -> float | None:
        """Weight of the same wood when it is ready."""
        return None if self.wet is None else self.wet * volume * self.share


def _rough_out(job: Job, section: Section, warp: Warp, skin: float, weigh: _Scale) -> RoughOut:
    allowances = least_allowances(section, warp, skin)
    outline = rough_outline(section, allowances)
    volume = _volume(outline)
    radius, top = float(outline[:, 0].max()), float(section.outer.end[1])
    wall = float(job.form.wall[:, 1].max()) + allowances.outside + allowances.inside
    widest = outline[int(outline[:, 0].argmax())]
    return RoughOut(
        outside=allowances.outside,
        inside=allowances.inside,
        rim=allowances.rim,
        foot=allowances.foot,
        wall=wall,
        diameter=2.0 * radius,
        height=top + allowances.rim + allowances.foot,
        volume=volume,
        weight=weigh.before(volume),
        ready=weigh.after(volume),
        oval=ring_dried(warp, float(widest[0]), float(widest[1])),
    )


def _rim(section: Section) -> tuple[float, float]:
    """Radius of the widest place of the outside, and its height, mm."""
    places = polyline(section.outer)
    return largest_radius(section), float(places[int(places[:, 0].argmax()), 1])


def ring_dried(warp: Warp, radius: float, height: float) -> Oval:
    """What becomes of a turned ring.

    Parameters
    ----------
    warp : Warp
    radius, height : float
        Of the ring as it is turned, form frame, mm.

    Returns
    -------
    Oval
        Widths are those between two parallel jaws of a caliper, over all angles in steps of half a degree.
    """
    after = dried(warp, _ring(radius, height))
    ways = np.arange(_TURN) * (np.pi / _TURN)
    reach = after[:, :2] @ np.stack([np.cos(ways), np.sin(ways)])
    widths = np.ptp(reach, axis=0)
    fibres = warp.tree.rotation[:2, 2]
    level = float(np.linalg.norm(fibres))
    along = across = None
    if level > 0.5:
        way = fibres / level
        along, across = (float(np.ptp(after[:, :2] @ side)) for side in (way, np.array([-way[1], way[0]])))
    return Oval(
        height=height,
        before=2.0 * radius,
        longest=float(widths.max()),
        shortest=float(widths.min()),
        toward=float(ways[int(widths.argmax())]),
        along=along,
        across=across,
        level=float(np.ptp(after[:, 2])),
    )


def _ring(radius: float, height: float) -> Floats:
    angles = np.arange(_TURN) * (2.0 * np.pi / _TURN)
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles), np.full(_TURN, height)])


def _volume(outline: Floats) -> float:
    """Volume that a closed polygon of radius and height turns, mm3 (Pappus, edge by edge)."""
    ahead = np.roll(outline, -1, axis=0)
    cross = outline[:, 0] * ahead[:, 1] - outline[:, 1] * ahead[:, 0]
    return float(abs((cross * (outline[:, 0] + ahead[:, 0])).sum()) * np.pi / 3.0)
