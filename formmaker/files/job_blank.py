"""The ``[blank]`` table of a job file: from keys to a ``BlankPlan``.

It reads no wood: a scan or a table of readings is only seen to be there.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path

from formmaker.errors import BlankError
from formmaker.files.job_dry import read_grain
from formmaker.files.job_faults import FaultList, Table
from formmaker.files.job_keys import (
    LARGEST_SKIN,
    bark_reader,
    file_reader,
    number_reader,
    point_reader,
    read_moisture,
    read_name,
    size_reader,
    weight_reader,
    whole_reader,
    word_reader,
)
from formmaker.files.job_marks import MarkList, read_known_lengths
from formmaker.model.blank import BlankSource, Timber
from formmaker.model.job import BlankPlan, FaceRule
from formmaker.model.shapes import SHAPES, Shape
from formmaker.units import MM_PER_UNIT, Units

SCAN_ENDINGS = (".stl", ".obj", ".ply", ".off", ".glb", ".3mf")
OWN_UNIT_ENDINGS = (".glb", ".3mf")
MOST_POSITIONS = 720  # index positions in a turn: half a degree, finer than any lathe's index

read_index_count = whole_reader(2, MOST_POSITIONS, "the index positions in one turn")


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the keys of a job are read against: its file, its folder and its units."""

    job: Path
    units: Units
    is_unit_known: bool = True  # False where ``units`` only stands in for a faulty one: compare no lengths then

    @property
    def folder(self) -> Path:
        """Folder that the names of files start from."""
        return self.job.parent


def read_blank(table: Table, marks: MarkList, around: Surroundings) -> BlankPlan | None:
    """Read the ``[blank]`` table; None where it has a fault, noted with the table."""
    before = len(table.faults.faults)
    source = _read_source(table)
    path = _read_path(table, source, around)
    shape = _read_shape(table, source, around.units)
    known = read_known_lengths(table, marks, around.units)
    if known and source is not None and source is not BlankSource.SCAN:
        table.fault("known_length", "nothing: only a scan is scaled to known lengths")
    scan_unit = _read_scan_unit(table, source)
    index_count = table.optional("index_count", read_index_count)
    uncertainty = table.optional("uncertainty", size_reader(around.units, zero=True, most=LARGEST_SKIN))
    timber = _read_timber(table, around.units)
    grain = read_grain(table, shape, around.units)
    faces = tuple(_read_face(face, around.units) for face in table.tables("face"))
    table.asked.append("mark")  # read before, for the mounting needs them even where the blank is faulty
    table.refuse_rest()
    if source is None or len(table.faults.faults) > before:
        return None
    return BlankPlan(
        source=source,
        path=path,
        scan_unit=scan_unit or "",
        index_count=index_count or 0,
        shape=shape,
        known_lengths=known,
        uncertainty=uncertainty,
        marks=marks.marks,
        faces=tuple(face for face in faces if face is not None),
        timber=timber,
        grain=grain,
        units=around.units,
    )


def _read_timber(table: Table, units: Units) -> Timber:
    return Timber(
        name=table.optional("wood", read_name) or "",
        moisture=table.optional("moisture", read_moisture),
        weight=table.optional("weight", weight_reader(units)),
        bark=table.optional("bark", bark_reader(units)) or 0.0,
    )


def _read_source(table: Table) -> BlankSource | None:
    given = [source for source in BlankSource if table.has(source.value)]
    if len(given) == 1:
        return given[0]
    found = "none of them" if not given else " and ".join(given)
    table.faults.add(table.name or "blank", found, "exactly one of the keys scan, readings, shape")
    return None


def _read_path(table: Table, source: BlankSource | None, around: Surroundings) -> Path | None:
    read_file = file_reader(around.folder, around.job)
    paths = {key: table.optional(key, read_file) for key in (BlankSource.SCAN, BlankSource.READINGS)}
    scan = paths[BlankSource.SCAN]
    if scan is not None and scan.suffix.lower() not in SCAN_ENDINGS:
        table.fault("scan", f"a scan whose name ends in one of {', '.join(SCAN_ENDINGS)}")
    return paths.get(source) if source is not None and source is not BlankSource.SHAPE else None


def _read_scan_unit(table: Table, source: BlankSource | None) -> str | None:
    read_unit = word_reader(tuple(MM_PER_UNIT))
    scan = table.content.get("scan")
    if source is not BlankSource.SCAN or not isinstance(scan, str) or scan.lower().endswith(OWN_UNIT_ENDINGS):
        return table.optional("scan_unit", read_unit)
    return table.needed(
        "scan_unit", read_unit, why='("mm", "cm", "m" or "in"), for this kind of file carries no unit'
    )


def _read_shape(table: Table, source: BlankSource | None, units: Units) -> Shape | None:
    name = table.optional("shape", word_reader(tuple(SHAPES)))
    sizes = table.table("size", why="with the sizes of the shape" if source is BlankSource.SHAPE else "")
    if sizes is None or name is None:
        if sizes is not None and source is not BlankSource.SHAPE and source is not None:
            table.fault("size", 'nothing: sizes go with "shape" alone')
        return None
    kind = SHAPES[name]
    given = {field.name: sizes.needed(field.name, _size_of(field.name, units)) for field in fields(kind)}
    sizes.refuse_rest()
    sound = {key: size for key, size in given.items() if size is not None}
    if len(sound) < len(given):
        return None
    try:
        return kind(**sound)
    except BlankError as error:
        table.fault("size", f"sizes of a {name}: {error}")
        return None


def _size_of(name: str, units: Units) -> Callable[[object], float]:
    if name != "angle":
        return size_reader(units)
    read_degrees = number_reader(1.0, 85.0, "an angle in degrees")
    return lambda value: math.radians(read_degrees(value))


def _read_face(entry: Table, units: Units) -> FaceRule | None:
    place = entry.needed("at", point_reader(units))
    kind = entry.needed("kind", word_reader(("natural", "sawn")))
    entry.refuse_rest()
    if place is None or kind is None:
        return None
    x, y, z = place.tolist()
    return FaceRule(kind=kind, at=(x, y, z))


def blank_from_words(content: Mapping[str, object], units: Units, folder: Path) -> BlankPlan:
    """Read what a command line says of a blank, by the keys and the rules of ``[blank]``.

    Parameters
    ----------
    content : mapping
        Keys of ``[blank]`` and their values, as a file would have them.
    units : Units
        What a plain number means.
    folder : Path
        Where the names of files start from.

    Returns
    -------
    BlankPlan

    Raises
    ------
    JobFileError
        With every fault.
    """
    path = folder / "formmaker new"  # no such file: it stands for the command line in messages
    faults = FaultList(Path(path.name))
    table = Table(content, "", faults)
    plan = read_blank(table, MarkList(), Surroundings(job=path, units=units))
    if plan is None:
        raise faults.error(content)
    return plan
