"""Files for other programs, read back by a second reader."""

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker.errors import KernelError, OutputError
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.revolve import revolved

pytestmark = pytest.mark.kernel

CUP = revolved(np.array([[0, 0], [40, 0], [60, 70], [52, 70], [36, 8], [0, 8]], dtype=float), 90)


def test_a_bowl_read_back_from_step_has_its_volume_and_box(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    import cadquery as cq

    from formmaker.model.shapes import HalfLog, Round
    from formmaker.solids.export import write_step
    from formmaker.solids.kernel import boxed, measure, parted
    from formmaker.solids.shapes import shape_solid

    blank = shape_solid(HalfLog(radius=100, length=320))
    rod = parted(shape_solid(Round(diameter=120, thickness=150)), blank).common
    path = tmp_path / "rod.step"
    write_step(rod, path)
    read = cq.importers.importStep(str(path)).val()
    # check-values 7.2: half log of radius 100, upright rod of radius 60
    assert measure(read).volume == pytest.approx(1077481.310, rel=1e-6)
    assert boxed(read) == pytest.approx(np.array([[-60, -60, 0], [60, 60, 100]]), abs=1e-3)
    assert "SI_UNIT(.MILLI.,.METRE.)" in path.read_text()
    assert "INCH" not in path.read_text()
    assert capfd.readouterr().out == ""


def test_a_bowl_read_back_from_stl_is_closed_and_has_its_volume(tmp_path: Path) -> None:
    from formmaker.solids.export import write_stl

    path = tmp_path / "cup.stl"
    write_stl(CUP, path)
    read = trimesh.load(path)
    outer = math.pi * 70 / 3 * (40**2 + 40 * 60 + 60**2)
    inner = math.pi * 62 / 3 * (36**2 + 36 * 52 + 52**2)
    assert read.is_watertight
    assert read.volume == pytest.approx(outer - inner, rel=1e-6)
    assert path.stat().st_size == 84 + 50 * len(CUP.faces)


def test_what_cannot_be_written_leaves_the_old_file_alone(tmp_path: Path) -> None:
    import cadquery as cq

    from formmaker.solids.export import write_step, write_stl

    nothing = Mesh(vertices=np.zeros((0, 3)), faces=np.zeros((0, 3)))
    old = tmp_path / "old.stl"
    old.write_text("old")
    with pytest.raises(KernelError, match="nothing in common"):
        write_stl(nothing, old)
    with pytest.raises(KernelError, match="nothing in common"):
        write_step(cq.Compound.makeCompound([]), old)
    assert old.read_text() == "old"
    with pytest.raises(OutputError):
        write_stl(CUP, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["old.stl"]
