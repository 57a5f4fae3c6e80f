"""Beginning a job on the page: a scan or readings uploaded, a shape described, a sample; each in a folder of its own.

What is uploaded is counted while it comes, and read by the same readers that refuse bad files on the command line.
"""

import re
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields
from pathlib import Path

from aiohttp import web

from formmaker.atomic import write_atomically
from formmaker.errors import BlankError, Fault, FormmakerError, JobFileError
from formmaker.files.job_blank import blank_from_words
from formmaker.model.shapes import SHAPES
from formmaker.pipeline.beginning import new
from formmaker.sources.samples import SAMPLES, SCAN_NAME, sample_job, write_sample_scan
from formmaker.units import Units

MOST_BYTES = 400_000_000
"""Largest upload: a scan of eight million triangles, far more than a bowl's blank is worth."""

ENDINGS = {"scan": (".stl", ".obj", ".ply", ".off", ".glb", ".3mf"), "readings": (".csv",)}

LABELS = {
    "scan_unit": "Its unit", "index_count": "Index positions", "shape": "Shape", "size": "Its sizes", "wood": "Wood",
}  # fmt: skip
"""What the page calls that which the job file has a key for."""

Say = Callable[[str], None]
Words = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What the page asked to begin with: the words of its form, and the file that came along."""

    way: str
    words: dict[str, str]
    file: Path | None


def shape_choices() -> list[dict[str, object]]:
    """Shapes and the sizes each asks for, as the page lists them."""
    return [
        {
            "name": name,
            "sizes": [
                {"key": size.name, "words": _words_of(size.name), "is_angle": size.name == "angle"}
                for size in fields(kind)
            ],
        }
        for name, kind in SHAPES.items()
    ]


def begin(begun: Begun, folder: Path, say: Say) -> Path:
    """Write the job that was asked for; the path of its file.

    Raises
    ------
    FormmakerError
        If the wood cannot be read or described; nothing of it is left then.
    """
    try:
        return _begin(begun, folder, say)
    except FormmakerError:
        if begun.file is not None:
            begun.file.unlink(missing_ok=True)
            with suppress(OSError):  # something else is in the folder meanwhile
                begun.file.parent.rmdir()
        raise


def _begin(begun: Begun, folder: Path, say: Say) -> Path:
    if begun.way == "sample":
        return _begin_sample(begun.words.get("sample", ""), folder, say)
    units = Units(begun.words["units"]) if begun.words.get("units") in {"mm", "in"} else Units.MM
    target = begun.file.parent if begun.file else fresh_folder(folder, begun.words.get("title") or "bowl")
    plan = blank_from_words(_blank_words(begun), units, target)
    return new(target, plan, units, say).job_path


def refusal_of(error: FormmakerError, folder: Path) -> str:
    """Say in the page's own words what was refused: its labels for the file's keys, files by their names alone."""
    if isinstance(error, JobFileError):
        return "\n".join(_said(fault) for fault in error.faults)
    words = re.sub(rf"{re.escape(str(folder))}[/\\](?:[^/\\\s]+[/\\])*", "", str(error))
    return words.replace("scan_unit", "its unit")


def _said(fault: Fault) -> str:
    key = fault.key.removeprefix("size.")
    label = LABELS.get(key) or _words_of(key)
    if fault.value != "(missing)":
        way_out = fault.expected.replace("the units of the file", "the unit chosen")
        return f"{label} {fault.value} cannot be used; give {way_out}"
    if key == "scan_unit":
        return f"{label} is not given, and this kind of file carries none; choose the unit that it was scanned in"
    return f"{label} is not given; the job needs it"


def fresh_folder(folder: Path, name: str) -> Path:
    """Name a folder inside another that does not exist yet, from any words.

    Examples
    --------
    >>> fresh_folder(Path("/nowhere"), "../My burr!").as_posix()
    '/nowhere/My-burr'
    """
    stem = re.sub(r"[^\w-]+", "-", name).strip("-")[:60] or "bowl"
    tries = (stem, *(f"{stem}-{number}" for number in range(2, 1000)))
    return next(path for path in (folder / each for each in tries) if not path.exists())


async def receive(request: web.Request, folder: Path) -> Begun:
    """Take a form of the page with the file in its body.

    Raises
    ------
    BlankError
        If the file is no file of that kind, empty or too large; nothing of it is left then.
    """
    words = {key: value.strip()[:200] for key, value in request.query.items()}
    way = words.pop("way", "")
    if way not in {"scan", "readings", "shape", "sample"}:
        raise BlankError("choose a scan, readings, a shape or a sample")
    if way in {"shape", "sample"}:
        return Begun(way=way, words=words, file=None)
    name = Path(words.pop("file", "").replace("\\", "/")).name
    ending = Path(name).suffix.lower()
    if ending not in ENDINGS[way]:
        raise BlankError(f"{name or 'no file'}: a file for this ends in one of {', '.join(ENDINGS[way])}")
    if (request.content_length or 0) > MOST_BYTES:
        raise BlankError(_too_large(name))
    stem = re.sub(r"[^\w-]+", "-", Path(name).stem).strip("-") or way
    target = fresh_folder(folder, words.get("title") or stem) / f"{stem}{ending}"
    write_atomically(target, await _counted(request, name))
    return Begun(way=way, words=words, file=target)


def receiving(
    folder: Path, opened: Callable[[Begun], Awaitable[None]]
) -> Callable[[web.Request], Awaitable[web.StreamResponse]]:
    """Make the handler of ``/begin``."""

    async def handle(request: web.Request) -> web.StreamResponse:
        try:
            begun = await receive(request, folder)
        except FormmakerError as error:
            refused = web.Response(status=400, text=str(error))
            refused.force_close()  # what is left of a body too large is not read
            return refused
        await opened(begun)
        return web.Response(text="begun")

    return handle


async def _counted(request: web.Request, name: str) -> bytes:
    parts, size = [], 0
    async for part in request.content.iter_chunked(1 << 20):
        size += len(part)
        if size > MOST_BYTES:
            raise BlankError(_too_large(name))
        parts.append(part)
    if not size:
        raise BlankError(f"{name}: the file is empty; choose another")
    return b"".join(parts)


def _too_large(name: str) -> str:
    return (
        f"{name}: larger than {MOST_BYTES // 1_000_000} MB, which is more than the desk takes; "
        "reduce the scan, or give its path to formmaker new"
    )


def _begin_sample(name: str, folder: Path, say: Say) -> Path:
    if name not in SAMPLES:
        raise BlankError(f"there is no sample {name!r}; choose one of {', '.join(SAMPLES)}")
    target = fresh_folder(folder, name)
    say("writing the sample")
    text = sample_job(name)
    if SCAN_NAME in text:
        write_sample_scan(target / SCAN_NAME)
    path = target / "job.toml"
    write_atomically(path, text.encode())
    return path


def _blank_words(begun: Begun) -> dict[str, object]:
    """The form's words as a job file's ``[blank]`` would have them."""
    asked = {key: value for key, value in begun.words.items() if value}
    content: dict[str, object] = {key: asked[key] for key in ("scan_unit", "shape", "wood") if key in asked}
    if begun.file is not None:
        content[begun.way] = str(begun.file)
    if "index_count" in asked and begun.way == "readings":
        content["index_count"] = (
            int(asked["index_count"]) if asked["index_count"].isdecimal() else asked["index_count"]
        )
    sizes = {key.removeprefix("size."): _plain(value) for key, value in asked.items() if key.startswith("size.")}
    if sizes:
        content["size"] = sizes
    return content


def _plain(value: str) -> object:
    """A size as typed: a number where it is one."""
    try:
        return float(value)
    except ValueError:
        return value


def _words_of(name: str) -> str:
    return name.replace("_", " ").capitalize()
