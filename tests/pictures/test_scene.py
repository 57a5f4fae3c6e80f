from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from formmaker.errors import KernelError, OutputError
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.pictures import scene

SIZE = (480, 360)


@pytest.fixture(scope="module")
def blank() -> Blank:
    mesh = revolved(np.array([[0, 0], [120, 0], [120, 90], [0, 90]]), 90)
    natural = mesh.corners[:, :, 2].min(axis=1) > 89.0
    return Blank(
        mesh=mesh,
        face_kinds=np.where(natural, 0, 1),
        face_patches=np.full(len(mesh.faces), -1),
        uncertainty=1.0,
        source=BlankSource.SHAPE,
        marks=(Mark(name="A", kind=MarkKind.WITNESS, at=np.array([120.0, 0.0, 45.0])),),
    )


@pytest.fixture(scope="module")
def bowl() -> Mesh:
    return revolved(np.array([[0, 10], [50, 10], [95, 80], [87, 80], [48, 22], [0, 22]]), 90)


@pytest.fixture(scope="module")
def mounting() -> Mounting:
    return Mounting(foot_centre=np.zeros(3), rim_centre=np.array([0.0, 0, 90]), zero=np.array([1.0, 0, 0]))


def _shoot(blank: Blank, bowl: Mesh, mounting: Mounting, folder: Path) -> list[NDArray[np.float64]]:
    paths = folder / "in.png", folder / "alone.png"
    bark = np.zeros(len(bowl.faces), dtype=bool)
    scene.picture(blank, bowl, mounting, paths[0], bowl_from_bark=bark, alone=paths[1], size=SIZE)
    images = [Image.open(path) for path in paths]
    assert all(image.format == "PNG" and image.size == SIZE for image in images)
    return [np.asarray(image.convert("RGB"), dtype=np.float64) for image in images]


@pytest.fixture(scope="module")
def shots(
    blank: Blank, bowl: Mesh, mounting: Mounting, tmp_path_factory: pytest.TempPathFactory
) -> list[NDArray[np.float64]]:
    return _shoot(blank, bowl, mounting, tmp_path_factory.mktemp("shots"))


def _is_wood(image: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Warm and strong: the paper and its shadow are nearly grey."""
    return np.asarray(image[..., 0] - image[..., 2] > 45.0)


def test_the_bowl_alone_is_wood_in_the_middle_of_paper(shots: list[NDArray[np.float64]]) -> None:
    alone = shots[1]
    wood = _is_wood(alone)
    rows, columns = np.nonzero(wood)
    # the eye is set so that the bowl fills 0.72 of the width or the height, about the middle
    shares = np.ptp(columns) / SIZE[0], np.ptp(rows) / SIZE[1]
    assert max(shares) == pytest.approx(0.72, abs=0.03)
    assert (columns.min() + columns.max()) / 2 == pytest.approx(SIZE[0] / 2, abs=6)
    assert (rows.min() + rows.max()) / 2 == pytest.approx(SIZE[1] / 2, abs=12)
    assert wood[170:190, 230:250].all()
    for corner in (alone[:12, :12], alone[:12, -12:], alone[-12:, :12], alone[-12:, -12:]):
        assert corner.mean() > 190.0
        assert np.ptp(corner) < 60.0


def test_the_bowl_shows_through_its_blank(shots: list[NDArray[np.float64]]) -> None:
    inside = shots[0]
    wood = _is_wood(inside)
    assert 0.08 < wood.mean() < 0.6
    assert wood[wood.shape[0] // 2 - 40 : wood.shape[0] // 2, wood.shape[1] // 2 + 20].mean() > 0.5


def test_the_same_scene_gives_the_same_picture_and_the_renderers_warnings_stay_off_the_screen(
    blank: Blank,
    bowl: Mesh,
    mounting: Mounting,
    shots: list[NDArray[np.float64]],
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
) -> None:
    again = _shoot(blank, bowl, mounting, tmp_path)
    assert capfd.readouterr() == ("", "")
    for one, other in zip(shots, again, strict=True):
        assert np.quantile(np.abs(one - other), 0.999) <= 3.0


def test_moving_wood_and_mounting_together_changes_nothing(
    blank: Blank, bowl: Mesh, mounting: Mounting, shots: list[NDArray[np.float64]], tmp_path: Path
) -> None:
    turn = np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]])
    shift = np.array([300.0, -20, 5])

    def carried(mesh: Mesh) -> Mesh:
        return Mesh(vertices=mesh.vertices @ turn.T + shift, faces=mesh.faces)

    mark = replace(blank.marks[0], at=turn @ blank.marks[0].at + shift)
    moved_mounting = Mounting(
        foot_centre=shift, rim_centre=turn @ mounting.rim_centre + shift, zero=turn @ mounting.zero
    )
    moved_blank = replace(blank, mesh=carried(blank.mesh), marks=(mark,))
    again = _shoot(moved_blank, carried(bowl), moved_mounting, tmp_path)
    for one, other in zip(shots, again, strict=True):
        # rounding may tip single pixels of an edge or a shadow
        assert np.quantile(np.abs(one - other), 0.98) <= 8.0


def test_a_bowl_without_wood_is_refused(blank: Blank, mounting: Mounting, tmp_path: Path) -> None:
    nothing = Mesh(vertices=np.zeros((0, 3)), faces=np.zeros((0, 3), dtype=np.int32))
    with pytest.raises(KernelError, match="no wood of the bowl lies inside the blank; move the mounting"):
        scene.picture(blank, nothing, mounting, tmp_path / "x.png", bowl_from_bark=np.zeros(0, dtype=bool))


@pytest.mark.parametrize(
    ("script", "words"), [("kill -SEGV $$", "ended by signal 11"), ("echo no display >&2; exit 3", "no display")]
)
def test_a_renderer_that_dies_is_an_error_with_the_way_out(
    script: str,
    words: str,
    blank: Blank,
    bowl: Mesh,
    mounting: Mounting,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    dying = tmp_path / "python"
    dying.write_text(f"#!/bin/sh\n{script}\n")
    dying.chmod(0o755)
    monkeypatch.setattr("sys.executable", str(dying))
    target = tmp_path / "x.png"
    with pytest.raises(KernelError, match=rf"{words}.*libegl1 and libgl1"):
        scene.picture(blank, bowl, mounting, target, bowl_from_bark=np.zeros(len(bowl.faces), dtype=bool))
    assert not target.exists()


def test_a_place_that_cannot_be_written_is_said(
    blank: Blank, bowl: Mesh, mounting: Mounting, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scene, "render", lambda _renderer, _scene, made: [path.write_bytes(b"png") for path in made])
    (tmp_path / "taken").write_text("a file, no folder")
    with pytest.raises(OutputError, match="cannot be written"):
        scene.picture(
            blank, bowl, mounting, tmp_path / "taken" / "x.png", bowl_from_bark=np.zeros(len(bowl.faces), dtype=bool)
        )
