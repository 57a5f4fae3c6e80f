import numpy as np

from formmaker.geometry.meshes import Mesh
from formmaker.pictures.wood import GRAIN_DEPTH, grain_image, grain_places, skin_colours


def _plane(size: float, steps: int) -> Mesh:
    x, y = np.meshgrid(np.linspace(-size, size, steps), np.linspace(-size, size, steps))
    number = np.arange(steps * steps).reshape(steps, steps)
    a, b, c, d = (part.ravel() for part in (number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]))
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return Mesh(vertices=np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)]), faces=faces.astype(np.int32))


def test_grain_follows_the_depth_under_the_bark() -> None:
    depth = np.linspace(5.0, 90.0, 200)
    random = np.random.default_rng(3)
    points = np.column_stack([random.uniform(-40, 40, (200, 2)), -depth])
    columns = grain_places(points, _plane(200.0, 101))[:, 0] * GRAIN_DEPTH
    # the drift that makes rings look grown is at most 2.6 mm times 1.75 (three halving layers)
    np.testing.assert_allclose(columns, depth, atol=2.6 * 1.75 + 0.5)
    assert np.corrcoef(columns, depth)[0, 1] > 0.99


def test_sapwood_is_paler_than_heartwood() -> None:
    image = grain_image(width=512, height=32).astype(float)
    assert image[:, :30].mean() > image[:, 200:].mean() + 30.0


def test_a_scan_keeps_its_own_colours_and_a_plain_blank_gets_bark_and_pale_sawn_wood() -> None:
    mesh = _plane(50.0, 20)
    natural = mesh.corners.mean(axis=1)[:, 0] < 0.0
    own = np.random.default_rng(1).integers(0, 255, (len(mesh.vertices), 3)).astype(np.uint8)
    assert (skin_colours(Mesh(vertices=mesh.vertices, faces=mesh.faces, colours=own), natural) == own).all()
    made = skin_colours(mesh, natural).astype(float).mean(axis=1)
    assert made[mesh.vertices[:, 0] < -3.0].mean() < made[mesh.vertices[:, 0] > 3.0].mean() - 40.0
