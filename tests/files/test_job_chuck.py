"""What a job file says of the chuck, of threads and of the cut is read as it says, or refused in one line."""

import re
from pathlib import Path

import pytest

from formmaker.errors import JobFileError
from formmaker.files.job_chuck import read_thread
from formmaker.files.job_faults import UnfitError
from formmaker.files.job_file import read_job
from formmaker.model.chuck import UNKNOWN_CHUCK
from tests.files.test_job_lathe import fault_of, job_of

CHUCK = """[chuck]
name = "four jaws"
closes_on = [45, "2 1/2 in"]
opens_in = [52, 80]
true_circle = 48
jaw_height = "9/16 in"
thread = "1x8"
screws = 20
"""


def test_a_chuck_is_read_and_every_key_may_be_missing(tmp_path: Path) -> None:
    chuck = job_of(tmp_path, lathe=CHUCK).chuck
    assert (chuck.name, chuck.opens_in, chuck.true_circle, chuck.screws) == ("four jaws", (52.0, 80.0), 48.0, 20.0)
    assert chuck.closes_on == pytest.approx((45.0, 63.5))
    assert chuck.jaw_height == pytest.approx(14.2875)
    assert chuck.thread is not None
    assert (chuck.thread.diameter, chuck.thread.pitch) == pytest.approx((25.4, 3.175))
    assert job_of(tmp_path).chuck == job_of(tmp_path, lathe="[chuck]\n").chuck == UNKNOWN_CHUCK


# Threads of wood lathes in use and their pitches: common practice, check values, section 5.
@pytest.mark.parametrize(
    ("text", "diameter", "pitch"),
    [
        ("3/4x16", 19.05, 1.5875),
        ("1x8", 25.4, 3.175),
        ("1-1/4x8", 31.75, 3.175),
        ("1 1/4 x 8 tpi", 31.75, 3.175),
        ("M33x3.5", 33.0, 3.5),
        ("m 30 X 3.5", 30.0, 3.5),
        ("M18x2.5", 18.0, 2.5),
    ],
)
def test_threads_are_read_as_people_write_them(text: str, diameter: float, pitch: float) -> None:
    thread = read_thread(text)
    assert (thread.diameter, thread.pitch) == pytest.approx((diameter, pitch))


@pytest.mark.parametrize(
    "value",
    ["", "M33", "33x3.5", "1x0", "1/0x8", "1 3x8", "M3x40", "M999x3", "x8", 33, None, ["M33x3.5"], "M33x3.5\n9"],
)
def test_what_is_no_thread_is_refused(value: object) -> None:
    with pytest.raises(UnfitError, match="a thread"):
        read_thread(value)


def test_one_thread_written_two_ways_is_one() -> None:
    assert read_thread("1-1/4x8").fits(read_thread("M31.75x3.175"))
    assert not read_thread("1 1/4x8").fits(read_thread("M33x3.5"))


@pytest.mark.parametrize(
    ("chuck", "said"),
    [
        ("closes_on = 45", "chuck.closes_on = 45: expected [smallest, largest], two diameters"),
        ("closes_on = [65, 45]", "chuck.closes_on = [65, 45]: expected [smallest, largest], the second larger"),
        ("opens_in = [52, -1]", "chuck.opens_in[2] = -1: expected a length above 0"),
        ('true_circle = "round"', 'chuck.true_circle = "round": expected a length'),
        ("jaw_height = 0", "chuck.jaw_height = 0: expected a length above 0"),
        ("jaw_height = nan", "chuck.jaw_height = NaN: expected a length"),
        ("screws = 900", "chuck.screws = 900: expected a length above 0 (at least 0.01 mm) and at most 200.0 mm"),
        ('thread = "M33"', 'chuck.thread = "M33": expected a thread: metric such as "M33x3.5"'),
        ("name = 7", "chuck.name = 7: expected a text in quotes"),
        ("jaw_hight = 12", 'chuck.jaw_hight = 12: expected a known key; did you mean "jaw_height"?'),
    ],
)
def test_a_fault_of_the_chuck_is_one_line(tmp_path: Path, chuck: str, said: str) -> None:
    assert fault_of(tmp_path, lathe=f"[chuck]\n{chuck}\n").startswith(said)


def test_a_chuck_that_is_no_table_is_refused(tmp_path: Path) -> None:
    assert fault_of(tmp_path, head="chuck = 3\n").startswith("chuck = 3: expected a table [chuck]")


def test_the_spindle_has_a_thread(tmp_path: Path) -> None:
    thread = job_of(tmp_path, lathe='[lathe]\nthread = "M33x3.5"\n').lathe.thread
    assert thread == read_thread("M33x3.5")
    assert fault_of(tmp_path, lathe="[lathe]\nthread = 8\n").startswith("lathe.thread = 8: expected a thread")


@pytest.mark.parametrize(("value", "newtons"), [("150", 150.0), ('"22 lbf"', 97.86), ('"10 kgf"', 98.0665)])
def test_the_cut_is_read_in_any_unit(tmp_path: Path, value: str, newtons: float) -> None:
    assert cut_force(tmp_path, value) == pytest.approx(newtons, abs=0.005)


def cut_force(folder: Path, value: str) -> float | None:
    """Read a job whose holding has a cut force."""
    job_of(folder)
    path = folder / "job.toml"
    path.write_text(re.sub(r"(?m)^\[hold\]$", f"[hold]\ncut_force = {value}", path.read_text("utf-8")), "utf-8")
    return read_job(path).hold.cut_force


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("0", "hold.cut_force = 0: expected a force above 0 and at most 20000 N"),
        ("-5", "hold.cut_force = -5: expected a force above 0"),
        ("inf", 'hold.cut_force = Infinity: expected a force: a number in N or a text such as "100 N" or "22 lbf"'),
        ('"10 kg"', 'hold.cut_force = "10 kg": expected a force'),
        ("true", "hold.cut_force = true: expected a force"),
    ],
)
def test_what_is_no_force_is_refused(tmp_path: Path, value: str, said: str) -> None:
    with pytest.raises(JobFileError, match=re.escape(said)):
        cut_force(tmp_path, value)
