from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker import pipeline
from formmaker.geometry.meshes import Mesh, face_areas, face_normals, mass_properties
from formmaker.model.form import Edge
from formmaker.model.hold import HoldKind
from formmaker.model.verdict import Answer
from formmaker.sources.samples import SAMPLES, SCAN_NAME, hedge_elm_burr, sample_job, write_sample_scan


@pytest.fixture(scope="module")
def burr() -> Mesh:
    return hedge_elm_burr()


def test_the_burr_is_one_closed_body_of_the_size_told(burr: Mesh) -> None:
    other = trimesh.Trimesh(burr.vertices, burr.faces, process=False)
    assert other.is_watertight
    assert other.is_winding_consistent
    assert other.body_count == 1
    assert other.euler_number == 2
    assert mass_properties(burr).volume == pytest.approx(other.volume, rel=1e-9)
    np.testing.assert_allclose(np.ptp(burr.bounds, axis=0), [330, 290, 170], atol=8)
    assert 55_000 < len(burr.faces) < 65_000
    assert face_areas(burr).min() > 0.1


def test_no_part_of_the_burr_lies_over_another_seen_from_its_eye(burr: Mesh) -> None:
    # every triangle shows its outside away from one inner point: star-shaped, so it cannot cross itself
    away = burr.corners.mean(axis=1) - np.array([0.0, 0.0, 40.0])
    assert (np.einsum("ij,ij->i", face_normals(burr), away) > 0.0).all()


def test_the_sawn_face_is_nearly_flat_and_pale_and_the_wing_stands_out(burr: Mesh) -> None:
    sawn = np.abs(burr.vertices[:, 2]) < 0.6
    assert 0.0 < np.ptp(burr.vertices[sawn, 2]) < 1.2
    assert burr.colours is not None
    inner = sawn & (np.linalg.norm(burr.vertices[:, :2], axis=1) < 100.0)
    assert burr.colours[inner].mean() > burr.colours[burr.vertices[:, 2] > 20.0].mean() + 40.0
    turn = np.degrees(np.arctan2(burr.vertices[:, 1], burr.vertices[:, 0]))
    reach = np.linalg.norm(burr.vertices[:, :2], axis=1)
    assert reach[np.abs(turn - 28.0) < 10.0].max() > np.median(reach[np.abs(reach - reach.max()) < 60.0]) + 15.0


def test_the_burr_is_the_same_every_time_and_another_seed_is_another_burr(burr: Mesh) -> None:
    again = hedge_elm_burr()
    assert (again.vertices == burr.vertices).all()
    assert not np.allclose(hedge_elm_burr(np.random.default_rng(3)).vertices, burr.vertices)


def test_the_scan_reads_back_as_written(burr: Mesh, tmp_path: Path) -> None:
    write_sample_scan(tmp_path / SCAN_NAME)
    read = trimesh.load(tmp_path / SCAN_NAME, process=False)
    np.testing.assert_allclose(read.vertices, burr.vertices, atol=1e-4)  # float32 in the file
    assert (read.faces == burr.faces).all()
    assert (read.visual.vertex_colors[:, :3] == burr.colours).all()


def test_an_unknown_sample_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        sample_job("oak stump")


@pytest.mark.slow
def test_every_sample_fits_beyond_its_uncertainty_as_it_is_meant(tmp_path: Path) -> None:
    write_sample_scan(tmp_path / SCAN_NAME)
    meant = {
        "hedge-elm burr": (Edge.NATURAL, HoldKind.GLUE_BLOCK, "mm"),
        "plum half log": (Edge.NATURAL, HoldKind.TENON, "in"),
        "sycamore plank round": (Edge.TURNED, HoldKind.RECESS, "mm"),
    }
    assert tuple(meant) == SAMPLES
    for name, (edge, hold, units) in meant.items():
        path = tmp_path / f"{name}.toml"
        path.write_text(sample_job(name), encoding="utf-8")
        report = pipeline.check(path, lambda _text: None)
        assert (report.job.form.edge, report.job.hold.kind, report.job.units) == (edge, hold, units)
        assert report.verdict.answer is Answer.FITS
        assert report.verdict.loose_pieces == report.verdict.weak_necks == report.verdict.windows == ()
