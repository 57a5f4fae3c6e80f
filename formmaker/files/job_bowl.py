"""The ``[mounting]``, ``[form]``, ``[hold]`` and ``[allowance]`` tables of a job file."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.section import build_section
from formmaker.engine.sketching import form_from_profile
from formmaker.errors import FormError, FormmakerError, JobFileError, MountingError
from formmaker.files.job_blank import Surroundings
from formmaker.files.job_faults import Table, UnfitError, shown
from formmaker.files.job_keys import (
    LARGEST_BOWL,
    LARGEST_DEPTH,
    LARGEST_SKIN,
    choice_reader,
    force_reader,
    length_reader,
    point_reader,
    read_entry,
    read_text,
    read_title,
    rows_reader,
    size_reader,
    wall_reader,
    word_reader,
)
from formmaker.files.job_marks import MarkList
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.geometry.curves import curve_through, polyline
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.mounting import Mounting, RimEnd
from formmaker.model.profile import Profile
from formmaker.tolerances import DEFAULT
from formmaker.units import Units, format_length

JOINTS = ("smooth", "corner")


def read_mounting(table: Table, marks: MarkList, around: Surroundings) -> Mounting | None:
    """Read the ``[mounting]`` table; None where it has a fault, noted with the table."""
    read_point = point_reader(around.units)
    foot = table.needed("foot_centre", read_point)
    rim = table.needed("rim_centre", read_point)
    zero = table.needed("zero", _zero_reader(around.units, marks.names))
    foot_height = table.optional("foot_height", length_reader(around.units))
    rim_end = table.optional("rim_end", choice_reader(RimEnd))
    table.refuse_rest()
    if foot is None or rim is None:
        return None
    if not np.linalg.norm(rim - foot) > DEFAULT.same_point:
        table.fault("rim_centre", "another point than foot_centre: the axis runs from one to the other")
        return None
    zero_name = zero if isinstance(zero, str) else ""
    place = marks.place(zero) if isinstance(zero, str) else None
    direction = place - foot if place is not None else zero
    if direction is None or isinstance(direction, str):
        return None
    try:
        return Mounting(
            foot_centre=foot,
            rim_centre=rim,
            zero=direction,
            foot_height=foot_height or 0.0,
            rim_end=rim_end or RimEnd.HEADSTOCK,
            zero_name=zero_name,
        )
    except MountingError:
        table.fault("zero", "a direction that points away from the axis, or a mark that lies off it")
        return None


def _zero_reader(units: Units, names: tuple[str, ...]) -> Callable[[object], str | NDArray[np.float64]]:
    read_point = point_reader(units)

    def read(value: object) -> str | NDArray[np.float64]:
        if isinstance(value, list):
            return read_point(value)
        try:
            name = read_text(value)
        except UnfitError as unfit:
            raise UnfitError("the name of a mark or a direction [x, y, z]") from unfit
        if name not in names:
            raise UnfitError("the name of a mark in [[blank.mark]], or a direction [x, y, z]")
        return name

    return read


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormSizes:
    """The figures of the ``[form]`` table, mm; None where a key is missing or faulty."""

    diameter: float | None
    height: float | None
    wall: NDArray[np.float64] | None
    floor: float | None
    edge: Edge | None
    lowest_rim: float | None


def read_form(table: Table, around: Surroundings) -> Form | None:
    """Read the ``[form]`` table; None where it has a fault, noted with the table."""
    before = len(table.faults.faults)
    profile = _read_curve(table, around)
    own_size = table.has("outer") and not (table.has("diameter") or table.has("height"))
    sizes = _read_sizes(table, around.units, own_size=own_size)
    name = table.optional("name", read_title)
    table.refuse_rest()
    if profile is None or len(table.faults.faults) > before or not around.is_unit_known:
        return None
    if own_size:
        radius, height = profile.handles.max(axis=0)
        sizes = replace(sizes, diameter=2.0 * float(radius), height=float(height))
        _check_own_size(table, sizes, around.units)
    _check_sizes(table, sizes, around.units)
    if len(table.faults.faults) > before:
        return None
    return _build_form(table, replace(profile, name=name or profile.name), sizes, own_size=own_size)


def _read_sizes(table: Table, units: Units, *, own_size: bool) -> FormSizes:
    read_size, read_whole = size_reader(units), size_reader(units, most=LARGEST_BOWL)
    ask = table.optional if own_size else table.needed
    edge = table.needed("edge", choice_reader(Edge))
    if edge is Edge.NATURAL:
        lowest_rim = table.needed("lowest_rim", read_size, why="for a natural edge: the lowest rim you would accept")
    else:
        lowest_rim = table.optional("lowest_rim", read_size)
    return FormSizes(
        diameter=ask("diameter", read_whole),
        height=ask("height", read_whole),
        wall=table.needed("wall", wall_reader(units)),
        floor=table.needed("floor", read_size),
        edge=edge,
        lowest_rim=lowest_rim,
    )


def _check_own_size(table: Table, sizes: FormSizes, units: Units) -> None:
    """Hold a curve that brings its own size against the largest bowl there is."""
    if max(sizes.diameter or 0.0, sizes.height or 0.0) > LARGEST_BOWL:
        limit = format_length(LARGEST_BOWL, units)
        table.fault("outer", f"a bowl of at most {limit} across (radius half of it) and {limit} high")


def _check_sizes(table: Table, sizes: FormSizes, units: Units) -> None:
    """Hold the figures against each other: a wall in its radius, floor and rim in the height."""
    height, diameter = sizes.height, sizes.diameter
    if height is None or diameter is None:
        return
    if sizes.wall is not None and not sizes.wall[:, 1].max() < diameter / 2.0:
        table.fault("wall", f"less than the radius of the bowl, {format_length(diameter / 2.0, units)}")
    if sizes.floor is not None and not sizes.floor < height:
        table.fault("floor", f"less than the height of the bowl, {format_length(height, units)}")
    if sizes.edge is Edge.NATURAL and sizes.lowest_rim is not None and not sizes.lowest_rim <= height:
        table.fault("lowest_rim", f"at most the height of the bowl, {format_length(height, units)}")


def _read_curve(table: Table, around: Surroundings) -> Profile | None:
    profile = table.optional("profile", _profile_reader(around))
    outer = table.optional("outer", rows_reader(point_reader(around.units, count=2), least=2))
    joints = table.optional("joints", _read_joints)
    if table.has("profile") == table.has("outer"):
        found = "profile and outer" if table.has("outer") else "neither"
        table.faults.add(table.name, found, "exactly one of the keys profile, outer")
        return None
    if table.has("joints") and not table.has("outer"):
        table.fault("joints", 'nothing: joints go with "outer" alone')
    if outer is None:
        return profile
    corners = joints if joints is not None else np.zeros(len(outer), dtype=np.bool_)
    if len(corners) != len(outer):
        table.fault("joints", f"{len(outer)} of them, one for each handle of outer")
        return None
    if not (outer[0, 0] > 0.0 and outer[0, 1] == 0.0):
        table.faults.add(
            table.key("outer[1]"), shown(outer[0].tolist()), "the edge of the foot: radius above 0, height 0"
        )
        return None
    return Profile(name="", description="", handles=outer, corners=corners)


def _read_joints(value: object) -> NDArray[np.bool_]:
    if not isinstance(value, list) or not value:
        raise UnfitError('a list of "smooth" and "corner", one for each handle of outer')
    read_joint = word_reader(JOINTS)
    return np.array(
        [read_entry(read_joint, value, number) == "corner" for number in range(len(value))], dtype=np.bool_
    )


def _profile_reader(around: Surroundings) -> Callable[[object], Profile]:
    def read(value: object) -> Profile:
        name = read_text(value)
        try:
            path = find_profile(name, around.folder)
            if path.exists() and around.job.exists() and path.samefile(around.job):
                raise UnfitError("another file; the job names itself")
            return read_profile(path)
        except JobFileError as error:
            faults = "; ".join(f"{error.path}: {fault}" for fault in error.faults)
            raise UnfitError(f"a profile without faults; {faults}") from error
        except FormmakerError as error:
            raise UnfitError(f"the name of a profile or the path of one; {error}") from error
        except (OSError, ValueError) as error:  # a name too long, a zero byte, a folder closed to us
            raise UnfitError("the name of a profile or the path of one") from error

    return read


def _build_form(table: Table, profile: Profile, sizes: FormSizes, *, own_size: bool) -> Form | None:
    key = "outer" if table.has("outer") else "profile"
    try:
        form = _form_of(profile, sizes, own_size=own_size)
        if form is not None:
            build_section(form)  # only to see that there is one: a form that crosses itself is refused here
    except FormError as error:
        table.fault(key, f"a form that can be turned; {error}")
        return None
    return form


def _form_of(profile: Profile, sizes: FormSizes, *, own_size: bool) -> Form | None:
    if sizes.diameter is None or sizes.height is None or sizes.wall is None:
        return None
    if sizes.floor is None or sizes.edge is None:
        return None
    lowest_rim = sizes.lowest_rim if sizes.edge is Edge.NATURAL and sizes.lowest_rim else sizes.height
    if own_size:
        return Form(
            handles=profile.handles,
            corners=profile.corners,
            wall=sizes.wall,
            floor=sizes.floor,
            edge=sizes.edge,
            lowest_rim=lowest_rim,
            name=profile.name,
        )
    return form_from_profile(
        profile,
        diameter=sizes.diameter,
        height=sizes.height,
        wall=sizes.wall,
        floor=sizes.floor,
        edge=sizes.edge,
        lowest_rim=lowest_rim,
    )


def read_hold(table: Table, units: Units) -> Hold | None:
    """Read the ``[hold]`` table."""
    kind = table.needed("kind", choice_reader(HoldKind))
    diameter = table.needed("diameter", size_reader(units))
    depth = table.needed("depth", size_reader(units, most=LARGEST_DEPTH))
    cut_force = table.optional("cut_force", force_reader(units))
    table.refuse_rest()
    if kind is None or diameter is None or depth is None:
        return None
    return Hold(kind=kind, diameter=diameter, depth=depth, cut_force=cut_force)


def check_hold_in_form(table: Table, hold: Hold, form: Form, units: Units) -> None:
    """Hold the holding against the bowl: it may be wider than the foot, but not than the whole."""
    widest = 2.0 * float(polyline(curve_through(form.handles, form.corners))[:, 0].max())
    if not hold.diameter < widest:
        table.fault("diameter", f"less than the diameter of the bowl, {format_length(widest, units)}")


def read_skin(table: Table | None, units: Units) -> float:
    """Read the ``[allowance]`` table: wood wanted outside the finished surface, mm; 0 where the file says none."""
    if table is None:
        return 0.0
    skin = table.optional("skin", size_reader(units, zero=True, most=LARGEST_SKIN))
    table.refuse_rest()
    return skin or 0.0
