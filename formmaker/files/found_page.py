"""The demo's page of what was found: one HTML file that links to the pictures and drawings beside it.

No script, no network, no fonts of others. It repeats what it is given and judges nothing.
"""

from dataclasses import dataclass
from html import escape
from urllib.parse import quote

import numpy as np
from numpy.typing import NDArray

from formmaker.model.verdict import RimKind
from formmaker.units import Units, format_length

STROKES = {RimKind.NATURAL: "", RimKind.SAWN: "7 5", RimKind.TURNED: "2 4"}
"""How each kind of rim is dashed: told apart without colour."""

KIND_WORDS = {
    RimKind.NATURAL: "natural edge, full line",
    RimKind.SAWN: "ended by a sawn face, dashed",
    RimKind.TURNED: "turned rim, dotted",
}

CAUTIONS = (
    "Before a piece goes on the lathe, read the lathe maker's manual and keep to local rules; learn the work from "
    "people trained in it. Nothing on this page says that a cut, a hold or a speed is without danger.\n"
    "Irregular wood is out of balance and shakes the lathe until it is round. The figures here are of shape alone: "
    "they know nothing of cracks, rot, lifting bark or nails under the skin.\n"
    "Loose pieces and narrow necks of rim can break off while the wood spins. Those that the shape shows are named "
    "above; wood may hide others.\n"
    "Wood dust harms the lungs, that of bark and rotten wood above all: take it away where it is made, and wear what "
    "local rules ask for."
).splitlines()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """What was found for one job, ready to be shown.

    Parameters
    ----------
    title : str
    answer : str
        The verdict in a word or two.
    sentences : tuple of str
        The verdict in sentences, the first the most important; findings after it.
    figures : tuple of (str, str)
        What and how much, in the job's own units.
    picture : str
        Path of the picture, relative to the page; empty where none could be rendered.
    alone : str
        Path of the picture of the bowl alone; empty without one.
    drawings : tuple of (str, str)
        What each drawing is, and its path relative to the page.
    job : str
        Path of the job file relative to the page; empty without one.
    units : Units
        What the rim's height is said in.
    rim_theta, rim_height : (n,) float
        The rim line, radians and mm, angles rising over one turn.
    rim_kinds : tuple of RimKind
        How the rim ends at each angle, n of them.
    """

    title: str
    answer: str
    sentences: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]
    picture: str
    alone: str = ""
    drawings: tuple[tuple[str, str], ...] = ()
    job: str = ""
    units: Units = Units.MM
    rim_theta: NDArray[np.float64]
    rim_height: NDArray[np.float64]
    rim_kinds: tuple[RimKind, ...]

    def __post_init__(self) -> None:
        for name in ("rim_theta", "rim_height"):
            array = np.array(getattr(self, name), dtype=np.float64)
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if not len(self.rim_theta) == len(self.rim_height) == len(self.rim_kinds) > 1:
            raise ValueError(f"{len(self.rim_theta)} angles of rim; give a height and a kind for each, two or more")


def found_page(samples: tuple[Found, ...], *, title: str = "What was found") -> str:
    """Write the page.

    Parameters
    ----------
    samples : tuple of Found
        In the order they are shown.
    title : str

    Returns
    -------
    str
        A whole HTML document, UTF-8.
    """
    links = "".join(
        f'<li><a href="#piece-{number}">{escape(found.title)}</a> <span>{escape(found.answer)}</span></li>'
        for number, found in enumerate(samples, start=1)
    )
    pieces = "".join(_piece(found, number) for number, found in enumerate(samples, start=1))
    cautions = "".join(f"<li>{escape(text)}</li>" for text in CAUTIONS)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        f'<header><p class="maker">formmaker</p><h1>{escape(title)}</h1>'
        "<p>Does this bowl come out of this piece of wood, and where does its rim run? The wood shown here is "
        "invented.</p>"
        f'<nav aria-label="Pieces"><ol>{links}</ol></nav></header>\n'
        f"<main>\n{pieces}</main>\n"
        f'<footer><h2>Before you turn</h2><ul class="cautions">{cautions}</ul></footer>\n</body>\n</html>\n'
    )


def _piece(found: Found, number: int) -> str:
    first, rest = found.sentences[:1], found.sentences[1:]
    verdict = "".join(f'<p class="verdict">{escape(text)}</p>' for text in first)
    findings = f'<ul class="findings">{"".join(f"<li>{escape(text)}</li>" for text in rest)}</ul>' if rest else ""
    rows = "".join(f"<div><dt>{escape(what)}</dt><dd>{escape(value)}</dd></div>" for what, value in found.figures)
    job = f'<p class="job"><a href="{quote(found.job)}">The job file</a></p>' if found.job else ""
    inside, alone = "", ""
    if found.picture:
        inside = _view(
            found.picture, f"{found.title}: the bowl inside its wood", "Inside its wood, with axis and marks"
        )
    if found.alone:
        alone = _view(found.alone, f"{found.title}: the bowl alone", "As it would come out")
    return (
        f'<section id="piece-{number}" aria-labelledby="title-{number}">\n<div class="head">'
        f'<h2 id="title-{number}">{escape(found.title)}</h2>'
        f'<p class="answer">{escape(found.answer)}</p>{verdict}</div>\n'
        f'<div class="views">{inside}{alone}</div>\n'
        f'<div class="words">{findings}<dl>{rows}</dl>{job}</div>\n'
        f"{_rim(found)}{_drawings(found)}</section>\n"
    )


def _view(path: str, alt: str, caption: str) -> str:
    return (
        f'<figure><a href="{quote(path)}"><img src="{quote(path)}" alt="{escape(alt)}" '
        f'width="1600" height="1200"></a>'
        f"<figcaption>{escape(caption)}</figcaption></figure>"
    )


def _drawings(found: Found) -> str:
    if not found.drawings:
        return ""
    items = "".join(
        f'<li><a href="{quote(path)}"><img src="{quote(path)}" alt="" loading="lazy">'
        f"<span>{escape(label)}</span></a></li>"
        for label, path in found.drawings
    )
    return f'<div class="drawings"><h3>Drawings, full size</h3><ul>{items}</ul></div>\n'


def _rim(found: Found) -> str:
    """The rim line unrolled: angle across, height upward from the foot, as an inline drawing with words around it."""
    low, high = (format_length(float(end), found.units) for end in (found.rim_height.min(), found.rim_height.max()))
    words = "; ".join(KIND_WORDS[kind] for kind in RimKind if kind in found.rim_kinds)
    label = escape(f"Rim line of {found.title} over one turn, from {low} to {high} above the foot")
    degrees = "".join(f"<span>{angle}°</span>" for angle in (0, 90, 180, 270, 360))
    return (
        '<div class="rim"><h3>The rim, unrolled</h3>'
        f'<svg viewBox="0 0 360 100" preserveAspectRatio="none" role="img" aria-label="{label}">'
        f"{_rim_marks(found)}</svg>"
        f'<p class="scale" aria-hidden="true">{degrees}</p><p class="note">Height above the foot, {low} to {high}; '
        f"{words}. The bottom line is the foot.</p></div>\n"
    )


def _rim_marks(found: Found) -> str:
    theta = np.degrees(np.append(found.rim_theta, found.rim_theta[0] + 2.0 * np.pi))
    height = np.append(found.rim_height, found.rim_height[0])
    rows = 97.0 - 90.0 * height / max(float(height.max()), 1e-9)
    grid = "".join(f'<line class="grid" x1="{x}" y1="0" x2="{x}" y2="97"/>' for x in (90, 180, 270))
    lines = [grid, '<line class="foot" x1="0" y1="97" x2="360" y2="97"/>']
    area = " ".join(f"{x:.1f},{y:.2f}" for x, y in zip(theta, rows, strict=True))
    lines.append(f'<polygon class="wood" points="{theta[0]:.1f},97 {area} {theta[-1]:.1f},97"/>')
    for start, end in _runs(found.rim_kinds):
        points = " ".join(
            f"{x:.1f},{y:.2f}" for x, y in zip(theta[start : end + 1], rows[start : end + 1], strict=True)
        )
        dash = STROKES[found.rim_kinds[start]]
        style = f' stroke-dasharray="{dash}"' if dash else ""
        lines.append(f'<polyline class="line" points="{points}"{style}/>')
    return "".join(lines)


def _runs(kinds: tuple[RimKind, ...]) -> list[tuple[int, int]]:
    """Stretches of one kind, as first index and the index after the last."""
    starts = [0, *[place for place in range(1, len(kinds)) if kinds[place] is not kinds[place - 1]]]
    return list(zip(starts, [*starts[1:], len(kinds)], strict=True))


_STYLE = """
:root { --paper: #f6f0e4; --sheet: #fdfaf3; --ink: #2a221c; --faint: #6a5c50; --rule: #d9cdb9; --accent: #8a3b12;
  --wood: #e9d3ae; }
@media (prefers-color-scheme: dark) {
  :root { --paper: #1d1916; --sheet: #272220; --ink: #efe6d8; --faint: #b7a896; --rule: #463d36; --accent: #eaa061;
    --wood: #5a4630; }
  .views img { filter: brightness(.92); }
}
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink);
  font: 1.0625rem/1.55 Georgia, "Times New Roman", "Liberation Serif", serif; }
header, main, footer { max-width: 76rem; margin: 0 auto; padding: 0 clamp(1rem, 4vw, 3rem); }
header { padding-top: clamp(1.5rem, 5vw, 3.5rem); }
header > p { max-width: 42rem; color: var(--faint); }
.maker { margin: 0; letter-spacing: .08em; color: var(--accent); }
h1 { font-size: clamp(2rem, 5vw, 3.1rem); line-height: 1.1; font-weight: normal; margin: .2rem 0 .6rem; }
h2 { font-size: clamp(1.5rem, 3vw, 2rem); line-height: 1.2; font-weight: normal; margin: 0 0 .3rem; }
h3 { font-size: 1rem; font-weight: bold; margin: 0 0 .6rem; }
a { color: var(--accent); text-underline-offset: .15em; }
a:focus-visible { outline: 3px solid var(--accent); outline-offset: 3px; }
nav ol { display: flex; flex-wrap: wrap; gap: .4rem 2rem; padding: .8rem 0; margin: 1.2rem 0 0; list-style: none;
  border-block: 1px solid var(--rule); }
nav span { color: var(--faint); font-style: italic; }
section { display: grid; grid-template-columns: minmax(0, 7fr) minmax(0, 5fr); gap: 1.8rem clamp(1.5rem, 4vw, 3.5rem);
  padding: clamp(2rem, 5vw, 3.5rem) 0; border-bottom: 1px solid var(--rule); }
.views { display: grid; gap: 1rem; align-content: start; }
figure { margin: 0; }
.views img { display: block; width: 100%; height: auto; border-radius: 3px; }
figcaption, .note { font-size: .9rem; color: var(--faint); margin: .4rem 0 0; }
.answer { display: inline-block; margin: 0 0 .6rem; padding: .05rem .7rem; border: 1.5px solid var(--accent);
  border-radius: 2px; color: var(--accent); font-weight: bold; }
.verdict { font-size: 1.2rem; line-height: 1.45; margin: 0; max-width: 46rem; }
.findings, .cautions { padding-left: 1.2rem; }
.findings li, .cautions li { margin-bottom: .45rem; }
dl { margin: 1.2rem 0; border-top: 1px solid var(--rule); }
dl div { display: flex; justify-content: space-between; gap: 1rem; padding: .3rem 0;
  border-bottom: 1px solid var(--rule); }
dt { color: var(--faint); }
dd { margin: 0; text-align: right; font-variant-numeric: tabular-nums; }
.head, .rim, .drawings { grid-column: 1 / -1; }
.words > :first-child { margin-top: 0; }
.rim svg { display: block; width: 100%; height: clamp(7rem, 16vw, 11rem); overflow: visible; }
.rim .line { fill: none; stroke: var(--accent); stroke-width: 2.5; vector-effect: non-scaling-stroke; }
.rim .wood { fill: var(--wood); stroke: none; }
.rim .grid, .rim .foot { stroke: var(--rule); stroke-width: 1; vector-effect: non-scaling-stroke; }
.rim .foot { stroke: var(--ink); }
.scale { display: flex; justify-content: space-between; margin: .3rem 0 0; font-size: .9rem; color: var(--faint);
  font-variant-numeric: tabular-nums; }
.drawings ul { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(14rem, 100%), 1fr)); gap: 1rem;
  padding: 0; margin: 0; list-style: none; }
.drawings a { display: block; height: 100%; padding: .7rem; border: 1px solid var(--rule); border-radius: 3px;
  background: var(--sheet); }
.drawings img { display: block; width: 100%; height: 9.5rem; object-fit: contain;
  background: #fffdf8; border-radius: 2px; }
.drawings span { display: block; margin-top: .5rem; font-size: .95rem; }
footer { padding-block: clamp(2rem, 5vw, 3.5rem); }
footer ul { max-width: 46rem; }
@media (max-width: 52rem) { section { grid-template-columns: minmax(0, 1fr); } }
@media print { section { break-inside: avoid; } }
"""
