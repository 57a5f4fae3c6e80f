"""The demo: three samples made, checked, drawn and pictured, with a page of what was found."""

from dataclasses import dataclass, replace
from pathlib import Path

from formmaker.atomic import write_atomically
from formmaker.engine.mounted import balance_on
from formmaker.errors import KernelError
from formmaker.files.found_page import Found, found_page
from formmaker.files.spoken import say_answer
from formmaker.pipeline.checking import CheckReport, Say, check
from formmaker.pipeline.printing import draw_report
from formmaker.pipeline.showing import picture_report
from formmaker.sources.samples import SAMPLES, SCAN_NAME, sample_job, write_sample_scan
from formmaker.units import format_length, format_volume, format_weight


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoReport:
    """Where the samples went, the page of what was found, and the first sentence about each."""

    folder: Path
    page: Path
    lines: tuple[str, ...]


def demo(folder: Path, say: Say) -> DemoReport:
    """Make the samples, and check, draw and picture each of them.

    Parameters
    ----------
    folder : Path
        Made if it is missing; files of the samples in it are made anew.
    say : callable

    Returns
    -------
    DemoReport

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    say("making the scan of the burr")
    write_sample_scan(folder / SCAN_NAME)
    found = tuple(_demo_sample(folder, name, _prefixed(say, name)) for name in SAMPLES)
    page = folder / "found.html"
    write_atomically(page, found_page(found).encode())
    lines = tuple(f"{sample.title}: {sample.sentences[0]}" for sample in found)
    return DemoReport(folder=folder, page=page, lines=lines)


def _demo_sample(folder: Path, name: str, say: Say) -> Found:
    stem = name.replace(" ", "-")
    job_path, sheets = folder / f"{stem}.toml", folder / stem
    write_atomically(job_path, sample_job(name).encode())
    report = check(job_path, say)
    drawings = draw_report(report, sheets, say)
    views = f"{stem}.png", f"{stem}-alone.png"
    try:
        picture_report(report, folder / views[0], say, alone=folder / views[1])
    except KernelError as error:  # a machine that cannot render still gets its answers and its drawings
        say(f"no picture: {error}")
        views = "", ""
    found = _found(report, stem, tuple(path.relative_to(folder) for path in drawings))
    return replace(found, picture=views[0], alone=views[1])


def _found(report: CheckReport, stem: str, drawings: tuple[Path, ...]) -> Found:
    """What the demo's page shows of one sample."""
    verdict, units = report.verdict, report.job.units
    heights = verdict.rim.height
    lengths = {
        "Diameter": verdict.diameter,
        "Height": verdict.height,
        "Foot": verdict.foot,
        "Rim, lowest": float(heights.min()),
        "Rim, highest": float(heights.max()),
        "Lean": verdict.rim.lean,
        "Sway": verdict.rim.sway,
        "To spare": verdict.margin,
        "Known to within": verdict.uncertainty,
    }
    balance = balance_on(report.blank, report.job.mounting, report.job.lathe)
    kilograms = balance.mass.kilograms
    volumes = {"Blank": verdict.volumes.blank, "Bowl": verdict.volumes.bowl}
    return Found(
        title=report.job.title,
        answer=str(verdict.answer),
        sentences=(_capital(say_answer(verdict, report.job)), *(finding.text for finding in verdict.findings)),
        figures=(
            *((name, format_length(length, units)) for name, length in lengths.items()),
            *((name, format_volume(volume, units)) for name, volume in volumes.items()),
            ("Blank weighs about", "not known" if kilograms is None else format_weight(kilograms, units)),
            ("Its centre of mass off the axis", format_length(balance.offset, units)),
        ),
        picture="",
        drawings=tuple((path.stem.replace("-", " ").capitalize(), path.as_posix()) for path in drawings),
        job=f"{stem}.toml",
        units=units,
        rim_theta=verdict.rim.theta,
        rim_height=heights,
        rim_kinds=verdict.rim.kinds,
    )


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _prefixed(say: Say, name: str) -> Say:
    return lambda line: say(f"{name}: {line}")
