"""What a job file says of the tree and of drying: ``grain``, ``pith``, ``sapwood`` in ``[blank]``, and ``[dry]``."""

from collections.abc import Callable

from formmaker.engine.climate import COLDEST, HOTTEST
from formmaker.errors import MeasureError
from formmaker.files.job_faults import Table, UnfitError
from formmaker.files.job_keys import (
    LARGEST_SIZE,
    LARGEST_SKIN,
    number_reader,
    point_reader,
    read_entry,
    read_number,
    size_reader,
    word_reader,
)
from formmaker.model.drying import NO_WISH, DryWish
from formmaker.model.grain import UNKNOWN_GRAIN, Grain, GrainWord, Triple, has_length, known_grain
from formmaker.model.shapes import Shape
from formmaker.units import Units

DRIEST, WETTEST = 0.0, 250.0  # % of the dry weight
MOST_SHRINKAGE = 25.0  # % from green to ovendry; no timber of the handbook reaches 13

read_wanted_moisture = number_reader(DRIEST, WETTEST, "a moisture in % of the dry weight")

_WORDS = tuple(word.value for word in GrainWord)


def read_grain(table: Table, shape: Shape | None, units: Units) -> Grain:
    """Read what ``[blank]`` says of the tree; faults are noted with the table."""
    way = table.optional("grain", _read_way)
    pith = table.optional("pith", point_reader(units))
    sapwood = table.optional("sapwood", size_reader(units, zero=True, most=LARGEST_SIZE))
    place: Triple | None = None if pith is None else (float(pith[0]), float(pith[1]), float(pith[2]))
    grain = Grain(way=way, pith=place, sapwood=sapwood)
    if place is not None and not table.has("grain") and known_grain(grain, shape).way is None:
        table.fault("pith", "a grain beside it: the pith runs the way of the fibres")
        return UNKNOWN_GRAIN
    return grain


def _read_way(value: object) -> Triple | GrainWord:
    listed = ", ".join(f'"{word}"' for word in _WORDS)
    expected = f"the way of the fibres: [x, y, z] in the blank's frame, or one of {listed}"
    if isinstance(value, str):
        try:
            return GrainWord(word_reader(_WORDS)(value))
        except UnfitError as unfit:
            raise UnfitError(expected) from unfit
    if not isinstance(value, list) or len(value) != 3:
        raise UnfitError(expected)
    x, y, z = (read_entry(read_number, value, number) for number in range(3))
    if not has_length((x, y, z)):
        raise UnfitError("a direction with a length, not [0, 0, 0]")
    return (x, y, z)


def read_dry(table: Table | None, units: Units) -> DryWish:
    """Read the ``[dry]`` table; faults are noted with it."""
    if table is None:
        return NO_WISH
    to = table.optional("to", read_wanted_moisture)
    temperature = table.optional("temperature", read_temperature)
    humidity = table.optional("humidity", read_humidity)
    skin = table.optional("skin", size_reader(units, zero=True, most=LARGEST_SKIN))
    shrinkage = table.optional("shrinkage", _read_shrinkage)
    table.refuse_rest()
    if table.has("temperature") != table.has("humidity"):
        key, other = ("temperature", "humidity") if table.has("temperature") else ("humidity", "temperature")
        table.fault(key, f"{other} beside it: a climate is both")
        return NO_WISH
    if table.has("to") and table.has("temperature"):
        table.fault("to", "nothing, where a climate is given: leave one of the two out")
        return NO_WISH
    radial, tangential = shrinkage or (None, None)
    if (temperature is None) != (humidity is None):  # a fault has been noted
        return NO_WISH
    return DryWish(to=to, temperature=temperature, humidity=humidity, skin=skin, radial=radial, tangential=tangential)


def _read_shrinkage(value: object) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise UnfitError("[radial, tangential], % from green to ovendry")
    read_one = number_reader(0.0, MOST_SHRINKAGE, "a shrinkage in %")
    return read_entry(read_one, value, 0), read_entry(read_one, value, 1)


def read_temperature(value: object) -> float:
    """Read a temperature: a number in degrees Celsius or a text such as ``"68 F"``; C.

    Examples
    --------
    >>> read_temperature(20), read_temperature("68 F"), read_temperature("18.5C")
    (20.0, 20.0, 18.5)
    """
    text = value.strip().upper() if isinstance(value, str) else ""
    expected = f'a temperature from {COLDEST:g} to {HOTTEST:g} C, such as 20 or "68 F"'
    try:
        size = read_number(float(text.rstrip("CF").strip()) if text else value)
    except (UnfitError, ValueError) as error:
        raise UnfitError(expected) from error
    celsius = (size - 32.0) / 1.8 if text.endswith("F") else size
    if not COLDEST <= celsius <= HOTTEST:
        raise UnfitError(expected)
    return celsius


def read_humidity(value: object) -> float:
    """Read a relative humidity: a number of per cent or a text such as ``"50%"``; a share of 1.

    Examples
    --------
    >>> read_humidity(50), read_humidity("65 %")
    (0.5, 0.65)
    """
    expected = "a relative humidity in per cent, above 0 and below 100"
    try:
        size = read_number(float(value.strip().rstrip("%").strip()) if isinstance(value, str) else value)
    except (UnfitError, ValueError) as error:
        raise UnfitError(expected) from error
    if not 0.0 < size < 100.0:
        raise UnfitError(expected)
    return size / 100.0


def read_climate(text: str) -> tuple[float, float]:
    """Read a climate from a command line, temperature (C) and humidity (share).

    Raises
    ------
    MeasureError
        If it is none.

    Examples
    --------
    >>> read_climate("20C,50%")
    (20.0, 0.5)
    """
    parts = text.split(",")
    readers: tuple[Callable[[object], float], ...] = (read_temperature, read_humidity)
    if len(parts) != 2:
        raise MeasureError(f"climate {text[:60]!r}; write temperature and humidity, such as 20C,50% or 68F,50%")
    try:
        temperature, humidity = (read(part) for read, part in zip(readers, parts, strict=True))
    except UnfitError as unfit:
        raise MeasureError(f"climate {text[:60]!r}; expected {unfit.expected}; write it as 20C,50%") from unfit
    return temperature, humidity
