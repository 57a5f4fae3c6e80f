"""Help and refusals come at once: a fresh interpreter that gives them has loaded none of the slow libraries."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

SLOW = {"cadquery", "OCP", "vtk", "vtkmodules", "trimesh", "numba", "manifold3d", "ezdxf", "svgwrite"}


def loaded(folder: Path, *words: str) -> tuple[int, set[str], str]:
    """Exit code, top-level modules loaded, and what stood on the standard output of ``formmaker`` run afresh."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("COV_")}
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "formmaker", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        env=environment,
    )
    lines = [line for line in done.stderr.splitlines() if line.startswith("import time:")]
    return done.returncode, {line.rpartition("|")[2].strip().partition(".")[0] for line in lines}, done.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("start")
    (folder / "bad.toml").write_text('units = "mm"\n[form]\nprofile = "open-bowl"\n')
    return folder


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--help",), 0),
        (("check", "bad.toml"), 2),
        (("picture", "missing.toml", "-o", "x.png"), 2),
        (("new", "out", "--shape", "round"), 2),
    ],
)
def test_no_slow_library_is_loaded(folder: Path, words: tuple[str, ...], code: int) -> None:
    exit_code, modules, output = loaded(folder, *words)
    assert exit_code == code
    assert "formmaker" in modules  # the listing is the right one
    assert modules & SLOW == set()
    assert ("Usage" in output) == (code == 0)
