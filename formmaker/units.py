"""Lengths, angles and index positions as people write them, to and from millimetres and radians.

The only place that converts. It knows nothing of files, forms or drawings.
"""

import math
import re
from enum import StrEnum
from fractions import Fraction

from formmaker.errors import MeasureError

MM_PER_INCH = 25.4
KG_PER_POUND = 0.45359237
KG_PER_UNIT = {"kg": 1.0, "g": 0.001, "lb": KG_PER_POUND, "oz": KG_PER_POUND / 16.0}
GRAVITY = 9.80665  # m/s2, standard gravity (ISO 80000-4): newtons in a kilogram's weight
MPA_PER_PSI = 0.006894757293168361
N_PER_UNIT = {"N": 1.0, "lbf": KG_PER_POUND * GRAVITY, "kgf": GRAVITY}
MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH}

_LONGEST_SHOWN = 60  # characters of a value

# "1 11/16 in" broken after its 1 would be read as 11/16: a figure stays with its fraction, its unit and its sign.
_BOUND = re.compile(
    r"(?<=\d) (?=\d+/\d)"
    r"|(?<=\d) (?=(?:mm|cm[23]?|m|in|sq in|cu in|kg|kg/m3|N/mm2|lb|lb/ft3|lb/in2|deg|%|rpm|N|lbf)(?:\W|$))"
    r"|(?<=\d sq|\d cu|\d lb) (?=in[2]?(?:\W|$))|(?<=\d kg) (?=mm[2]?(?:\W|$))|(?<=Ø) (?=\d)"
)

_NUMBER = r"(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_AMOUNT = re.compile(rf"\s*({_NUMBER})\s*([A-Za-z]+)\s*")
_TEXT = re.compile(rf"\s*([+-]?)\s*(?:(\d+)\s+(\d+)/(\d+)|(\d+)/(\d+)|({_NUMBER}))\s*(mm|cm|m|in)\s*")


class Units(StrEnum):
    """The unit a job is written and answered in."""

    MM = "mm"
    INCH = "in"


def parse_length(value: object, units: Units) -> float:
    """Read a length from a file or a command line.

    Parameters
    ----------
    value : int, float or str
        A plain number is in ``units``; a text such as ``"3/8 in"``, ``"1 1/16 in"`` or ``"12 mm"`` says its own.
    units : Units
        What a plain number means.

    Returns
    -------
    float
        mm, finite.

    Raises
    ------
    MeasureError
        If the value is no length: another type, NaN or infinite, an unknown unit, a fraction over zero.

    Examples
    --------
    >>> round(parse_length("1 1/16 in", Units.MM), 9)
    26.9875
    >>> parse_length("-2 cm", Units.INCH), parse_length(2, Units.INCH)
    (-20.0, 50.8)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise MeasureError(f"{_shown(value)} is no length; write a number or a text such as '3/8 in' or '12 mm'")
    millimetres = _text_length(value) if isinstance(value, str) else _plain_length(value, units)
    if not math.isfinite(millimetres):
        raise MeasureError(f"{_shown(value)} is no finite length; write an ordinary number")
    return millimetres


def _shown(value: object) -> str:
    """A value as a message repeats it: of hundreds of letters or digits, the first."""
    try:
        text = repr(value)
    except ValueError:  # an integer of thousands of digits
        return f"(a {type(value).__name__} too large to show)"
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 4]} ..."


def _plain_length(value: float, units: Units) -> float:
    try:
        return float(value) * MM_PER_UNIT[units]
    except OverflowError as error:
        raise MeasureError(f"{_shown(value)} is no finite length; write an ordinary number") from error


def _text_length(text: str) -> float:
    match = _TEXT.fullmatch(text)
    if match is None:
        ways = "'3/8 in', '1 1/16 in', '0.5 in', '12 mm', '2 cm'"
        raise MeasureError(f"{_shown(text)} is no length; write it like {ways}")
    sign, whole, upper, lower, only_upper, only_lower, decimal, unit = match.groups()
    if decimal is not None:
        size = float(decimal)
    else:
        denominator = int(lower or only_lower)
        if denominator == 0:
            raise MeasureError(f"{_shown(text)} divides by zero; write a fraction such as '3/8 in'")
        size = int(whole or 0) + int(upper or only_upper) / denominator
    return math.copysign(size * MM_PER_UNIT[unit], -1.0 if sign == "-" else 1.0)


def parse_weight(value: object, units: Units) -> float:
    """Read a weight from a file.

    Parameters
    ----------
    value : int, float or str
        A plain number is in kilograms beside millimetres and in pounds beside inches; a text such as ``"6.2 kg"``,
        ``"800 g"``, ``"13.5 lb"`` or ``"12 oz"`` says its own unit.
    units : Units
        What a plain number means.

    Returns
    -------
    float
        kg, finite.

    Raises
    ------
    MeasureError
        If the value is no weight.

    Examples
    --------
    >>> parse_weight(6.2, Units.MM), round(parse_weight("13.5 lb", Units.MM), 4)
    (6.2, 6.1235)
    """
    ways = ("6.2 kg", "13.5 lb"), ("800 g", "12 oz")
    return _amount(value, "kg" if units is Units.MM else "lb", KG_PER_UNIT, "weight", ways)


def parse_force(value: object, units: Units) -> float:
    """Read a force, N: a plain number in newtons beside millimetres, in pounds of force beside inches, or a text.

    Raises
    ------
    MeasureError
        If the value is no force.

    Examples
    --------
    >>> parse_force(100, Units.MM), round(parse_force("22 lbf", Units.MM), 2), parse_force("2 kgf", Units.MM)
    (100.0, 97.86, 19.6133)
    """
    return _amount(
        value, "N" if units is Units.MM else "lbf", N_PER_UNIT, "force", (("100 N", "22 lbf"), ("10 kgf",))
    )


def _amount(
    value: object, plain: str, per_unit: dict[str, float], what: str, ways: tuple[tuple[str, str], tuple[str, ...]]
) -> float:
    """Read an amount with a unit of its own, or of the unit that a plain number is in."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        first, second = ways[0]
        raise MeasureError(f"{_shown(value)} is no {what}; write a number or a text such as {first!r} or {second!r}")
    size: float | str = 0.0
    if isinstance(value, str):
        match = _AMOUNT.fullmatch(value)
        size, unit = match.groups() if match is not None else ("", "")
        if unit not in per_unit:
            like = ", ".join(repr(way) for way in (ways[0][0], *ways[1][:1], ways[0][1], *ways[1][1:]))
            raise MeasureError(f"{_shown(value)} is no {what}; write it like {like}")
    else:
        size, unit = value, plain
    try:
        amount = float(size) * per_unit[unit]
    except OverflowError as error:
        raise MeasureError(f"{_shown(value)} is no finite {what}; write an ordinary number") from error
    if not math.isfinite(amount):
        raise MeasureError(f"{_shown(value)} is no finite {what}; write an ordinary number")
    return amount


def format_length(millimetres: float, units: Units, *, parts: int = 32) -> str:
    """Say a length as a turner would.

    Parameters
    ----------
    millimetres : float
        Length, mm.
    units : Units
        Millimetres are given to a tenth, inches as a fraction.
    parts : int
        The finest division of the inch, 16 or 32.

    Returns
    -------
    str
        ``"9.5 mm"`` or ``"3/8 in"``; ``"?"`` for NaN, so that an unknown is never printed as a figure.

    Examples
    --------
    >>> format_length(9.525, Units.INCH), format_length(9.525, Units.MM), format_length(-27, Units.INCH)
    ('3/8 in', '9.5 mm', '-1 1/16 in')
    """
    if not math.isfinite(millimetres):
        return "?"
    if units is Units.MM:
        return f"{round(millimetres, 1) + 0.0:.1f} mm"
    return f"{_inch_fraction(millimetres / MM_PER_INCH, parts)} in"


def _inch_fraction(inches: float, parts: int) -> str:
    steps = round(abs(inches) * parts)
    sign = "-" if inches < 0 and steps else ""
    whole, rest = divmod(steps, parts)
    if not rest:
        return f"{sign}{whole}"
    part = Fraction(rest, parts)
    text = f"{part.numerator}/{part.denominator}"
    return f"{sign}{whole} {text}" if whole else f"{sign}{text}"


def format_fine(millimetres: float, units: Units) -> str:
    """Say a small difference finer than a length is said: mm to 0.01, inches to 0.001; ``"?"`` if not finite.

    Examples
    --------
    >>> format_fine(0.456, Units.MM), format_fine(0.456, Units.INCH), format_fine(-0.001, Units.MM)
    ('0.46 mm', '0.018 in', '0.00 mm')
    """
    if not math.isfinite(millimetres):
        return "?"
    if units is Units.MM:
        return f"{round(millimetres, 2) + 0.0:.2f} mm"
    return f"{round(millimetres / MM_PER_INCH, 3) + 0.0:.3f} in"


def format_number(millimetres: float, units: Units) -> str:
    """Write a length as a plain number of the job's unit, for a file: mm to 0.01, inches to 0.0005.

    Examples
    --------
    >>> format_number(50.8, Units.INCH), format_number(12.0, Units.MM)
    ('2.0', '12.0')
    """
    size = millimetres / MM_PER_UNIT[units]
    return repr(round(size, 2 if units is Units.MM else 4) + 0.0)


def format_volume(cubic_millimetres: float, units: Units) -> str:
    """Say a volume in cm3 or cubic inches, to three figures; ``"?"`` where it is not finite.

    Examples
    --------
    >>> format_volume(1_234_567.0, Units.MM), format_volume(16_387.064, Units.INCH)
    ('1230 cm3', '1.00 cu in')
    """
    if not math.isfinite(cubic_millimetres):
        return "?"
    per_unit, name = (1000.0, "cm3") if units is Units.MM else (MM_PER_INCH**3, "cu in")
    size = round(cubic_millimetres / per_unit, 4)
    digits = 2 - math.floor(math.log10(abs(size))) if size else 2
    return f"{round(size, digits) + 0.0:.{min(max(digits, 0), 4)}f} {name}"


def format_weight(kilograms: float, units: Units) -> str:
    """Say a weight, kilograms beside millimetres and pounds beside inches, to a tenth.

    Examples
    --------
    >>> format_weight(4.536, Units.MM), format_weight(4.536, Units.INCH)
    ('4.5 kg', '10.0 lb')
    """
    if not math.isfinite(kilograms):
        return "?"
    return f"{kilograms:.1f} kg" if units is Units.MM else f"{kilograms / KG_PER_POUND:.1f} lb"


def format_force(newtons: float, units: Units) -> str:
    """Say a force to two figures, newtons beside millimetres and pounds of force beside inches.

    Examples
    --------
    >>> format_force(98.696, Units.MM), format_force(98.696, Units.INCH), format_force(4.44, Units.MM)
    ('99 N', '22 lbf', '4.4 N')
    """
    if not math.isfinite(newtons):
        return "?"
    size, name = (newtons, "N") if units is Units.MM else (newtons / (KG_PER_POUND * GRAVITY), "lbf")
    return f"{_two_figures(size, decimals=1)} {name}"


def format_moment(kilograms_mm: float, units: Units, *, power: int = 1) -> str:
    """Say weight times distance (``power`` 1) or times its square (2) to two figures: kg mm, or lb in.

    Examples
    --------
    >>> format_moment(36.2, Units.MM), format_moment(36.2, Units.INCH), format_moment(1234.0, Units.MM, power=2)
    ('36 kg mm', '3.1 lb in', '1200 kg mm2')
    """
    if not math.isfinite(kilograms_mm):
        return "?"
    per_unit, name = (1.0, "kg mm") if units is Units.MM else (KG_PER_POUND * MM_PER_INCH**power, "lb in")
    return f"{_two_figures(kilograms_mm / per_unit, decimals=1)} {name}{power if power > 1 else ''}"


def format_density(per_cubic_millimetre: float, units: Units) -> str:
    """Say a density, kg/m3 beside millimetres and lb/ft3 beside inches, to a whole figure.

    Examples
    --------
    >>> format_density(721e-9, Units.MM), format_density(721e-9, Units.INCH)
    ('721 kg/m3', '45 lb/ft3')
    """
    if not math.isfinite(per_cubic_millimetre):
        return "?"
    if units is Units.MM:
        return f"{per_cubic_millimetre * 1e9:.0f} kg/m3"
    return f"{per_cubic_millimetre * (12.0 * MM_PER_INCH) ** 3 / KG_PER_POUND:.0f} lb/ft3"


def format_stress(newtons_per_square_millimetre: float, units: Units) -> str:
    """Say a stress or a strength to two or three figures, N/mm2 beside millimetres and lb/in2 beside inches.

    Examples
    --------
    >>> format_stress(11.7, Units.MM), format_stress(11.7, Units.INCH), format_stress(0.0312, Units.MM)
    ('11.7 N/mm2', '1700 lb/in2', '0.031 N/mm2')
    """
    if not math.isfinite(newtons_per_square_millimetre):
        return "?"
    size, name = newtons_per_square_millimetre, "N/mm2"
    if units is Units.INCH:
        size, name = size / MPA_PER_PSI, "lb/in2"
    rounded = float(f"{size:.{3 if abs(size) >= 1.0 else 2}g}")
    return f"{rounded + 0.0:.10g} {name}"


def format_area(square_millimetres: float, units: Units) -> str:
    """Say an area to two figures: cm2 beside millimetres, sq in beside inches.

    Examples
    --------
    >>> format_area(645.16, Units.MM), format_area(645.16, Units.INCH), format_area(123_400.0, Units.MM)
    ('6.5 cm2', '1 sq in', '1200 cm2')
    """
    if not math.isfinite(square_millimetres):
        return "?"
    per_unit, name = (100.0, "cm2") if units is Units.MM else (MM_PER_INCH**2, "sq in")
    return f"{_two_figures(square_millimetres / per_unit)} {name}"


def _two_figures(size: float, *, decimals: int = 4) -> str:
    return f"{round(float(f'{size:.2g}'), decimals) + 0.0:.10g}"


def degrees_round(angle: float) -> float:
    """Turn radians into degrees from 0 up to, not including, 360.

    Examples
    --------
    >>> degrees_round(-math.pi / 2)
    270.0
    """
    turned = math.degrees(angle) % 360.0
    return 0.0 if turned == 360.0 else turned


def nearest_index(theta_deg: float, index_count: int) -> int:
    """Index position nearest to an angle; position k of n stands at 360 k / n degrees.

    Examples
    --------
    >>> nearest_index(90.0, 24), nearest_index(359.0, 24)
    (6, 0)
    """
    return round(theta_deg * index_count / 360.0) % index_count


def bound_words(text: str) -> list[str]:
    """Cut a text where a line may be broken: a figure keeps its fraction and its unit.

    Parameters
    ----------
    text : str
        White space of any kind counts as one blank.

    Returns
    -------
    list of str
        To be joined by blanks; a measure is one of them, blanks and all.

    Examples
    --------
    >>> bound_words("by 1 11/32 in or 83 % of it")
    ['by', '1 11/32 in', 'or', '83 %', 'of', 'it']
    """
    bound = _BOUND.sub("\N{NO-BREAK SPACE}", " ".join(text.split()))
    return [word.replace("\N{NO-BREAK SPACE}", " ") for word in bound.split(" ") if word]
