"""Where the shared scans lie, and how a test asks for one: it is skipped where they are not there."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker.geometry.meshes import Mesh

FOLDER = Path(__file__).resolve().parents[2] / "shared" / "data"
CLOSED = (
    "stump_blank.stl",
    "stump_top.stl",
    "butt_log.stl",
    "butt_half_log.stl",
    "dirty_butt_log_spiky.stl",
    "stone.stl",
)


def scan_path(name: str) -> Path:
    """Path of a shared scan."""
    path = FOLDER / name
    if not path.exists():
        pytest.skip(f"the shared scans are not here: no {name} in ../shared/data")
    return path


def closed_scan(name: str) -> Mesh:
    """A shared scan that is closed as it is, mm."""
    found = trimesh.load_mesh(scan_path(name))
    return Mesh(vertices=np.asarray(found.vertices), faces=np.asarray(found.faces))
