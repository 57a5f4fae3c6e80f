"""How much room a text takes, and how it is broken into lines.

Widths are guessed on the safe side, because the font is the reader's. Measured over all lettering of four sets of
sheets: the guess is 0.998 to 1.20 times the width in DejaVu Sans, which is the widest of the common sans-serifs.
"""

import functools

from formmaker.units import bound_words

EM_PER_CAP_HEIGHT = 1.0 / 0.72
"""Font size over height of capitals: between 0.70 and 0.73 in the common sans-serif fonts (measured on two)."""

DESCENT = 0.34
"""Depth of g, p, y below the line, in heights of capitals."""

LINE_STEP = 1.7
"""Distance of lines of text, in heights of capitals."""

_NARROW = frozenset("iljtfrI.,:;'|!()[]/- ")
_BROAD = frozenset("mwMW@%—…")


def text_width(text: str, height: float) -> float:
    """Width of a text, mm.

    Parameters
    ----------
    text : str
    height : float
        Height of the capitals, mm.

    Returns
    -------
    float
        mm; 0 for an empty text.

    Examples
    --------
    >>> round(text_width("12.5 mm", 3.5), 1)
    22.9
    """
    return sum(map(_letter_width, text)) * height * EM_PER_CAP_HEIGHT


@functools.cache
def _letter_width(letter: str) -> float:
    if letter in _NARROW:
        return 0.40
    if letter in _BROAD or ord(letter) > 0x2E7F:  # ideographs and the like fill a square
        return 1.0
    return 0.72 if letter.isupper() else 0.635


def wrap_text(text: str, *, height: float, width: float) -> tuple[str, ...]:
    """Break a text into lines that fit a width.

    Parameters
    ----------
    text : str
        White space of any kind counts as one blank.
    height : float
        Height of the capitals, mm.
    width : float
        Room for a line, mm.

    Returns
    -------
    tuple of str
        At least one line; a measure such as ``1 1/16 in`` stays on one line, and a word wider than the room is
        broken where the room ends.

    Examples
    --------
    >>> wrap_text("full size outside", height=3.5, width=30.0)
    ('full size', 'outside')
    >>> wrap_text("accept 1 11/16 in", height=3.5, width=30.0)
    ('accept', '1 11/16 in')
    """
    lines: list[str] = []
    line = ""
    for word in bound_words(text):
        together = f"{line} {word}".strip()
        if text_width(together, height) <= width:
            line = together
            continue
        if line:
            lines.append(line)
        *whole, line = _broken_word(word, height, width)
        lines.extend(whole)
    return (*lines, line)


def _broken_word(word: str, height: float, width: float) -> list[str]:
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, height) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def readable(text: str) -> str:
    """Letters that no XML file may hold are shown as the sign for an unreadable one, in every format alike."""
    return "".join(letter if _is_lawful(ord(letter)) else "\ufffd" for letter in text)


def _is_lawful(code: int) -> bool:
    return code in (0x9, 0xA, 0xD) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000
