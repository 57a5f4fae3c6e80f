"""Blank and glue block as files: volumes against closed forms, read again by other readers."""

import math
from pathlib import Path

import cadquery as cq
import numpy as np
import pytest
import trimesh

from formmaker.geometry.frames import frame_from_axis
from formmaker.geometry.meshes import mass_properties
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.shapes import HalfLog
from formmaker.solids.bodies import blank_body, block_body
from formmaker.solids.export import write_glb, write_step, write_stl
from formmaker.sources.shapes import shape_mesh

pytestmark = pytest.mark.kernel


def test_the_block_hangs_under_the_foot_and_has_its_volume_in_every_format(tmp_path: Path) -> None:
    solid, mesh = block_body(Hold(kind=HoldKind.GLUE_BLOCK, diameter=90.0, depth=40.0))
    write_step(solid, tmp_path / "block.step")
    write_stl(mesh, tmp_path / "block.stl")
    volume = math.pi * 45.0**2 * 40.0  # closed form
    again = cq.importers.importStep(str(tmp_path / "block.step")).val()
    box = again.BoundingBox()
    assert again.Volume() == pytest.approx(volume, rel=1e-9)
    assert (box.zmin, box.zmax) == pytest.approx((-40.0, 0.0), abs=1e-6)
    assert trimesh.load(tmp_path / "block.stl").volume == pytest.approx(volume, rel=1e-4)


def test_a_glb_is_in_metres_with_the_axis_along_y(tmp_path: Path) -> None:
    # glTF 2.0: metres, +Y up, right-handed
    _, mesh = block_body(Hold(kind=HoldKind.GLUE_BLOCK, diameter=90.0, depth=40.0))
    write_glb(mesh, tmp_path / "block.glb")
    body = trimesh.load(tmp_path / "block.glb", force="mesh")
    np.testing.assert_allclose(body.bounds, [[-0.045, -0.04, -0.045], [0.045, 0.0, 0.045]], atol=1e-5)
    assert body.volume == pytest.approx(math.pi * 0.045**2 * 0.04, rel=1e-4)  # a mirrored one: below 0


def test_the_blank_lies_where_the_form_sees_it() -> None:
    shape = HalfLog(radius=100.0, length=300.0)
    mesh = shape_mesh(shape)
    blank = Blank(
        mesh=mesh,
        face_kinds=np.zeros(len(mesh.faces), dtype=np.uint8),
        face_patches=np.full(len(mesh.faces), -1, dtype=np.int32),
        uncertainty=1.0,
        source=BlankSource.SHAPE,
    )
    pose = frame_from_axis(np.array([0.0, 0, 10.0]), np.array([0.0, 0, 1]), np.array([0.0, 1, 0]))
    solid, skin = blank_body(blank, shape, pose)
    volume = math.pi * 100.0**2 / 2 * 300.0  # closed form
    box = solid.BoundingBox()
    assert solid.Volume() == pytest.approx(volume, rel=1e-9)
    assert mass_properties(skin).volume == pytest.approx(volume, rel=1e-3)
    assert (box.zmin, box.zmax) == pytest.approx((-10.0, 90.0), abs=1e-6)
    np.testing.assert_allclose(skin.bounds[:, 2], [-10.0, 90.0], atol=0.05)
    assert box.ylen == pytest.approx(300.0, abs=1e-6)  # along the log: square to zero
