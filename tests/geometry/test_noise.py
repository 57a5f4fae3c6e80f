import numpy as np

from formmaker.geometry.noise import layered_noise, noise_lattice, smooth_noise


def test_the_field_passes_through_its_lattice_and_is_a_smooth_mean_between() -> None:
    lattice = noise_lattice(np.random.default_rng(4))
    # half way along an edge the quintic ease is exactly 1/2: the mean of both ends
    points = np.array([[3.0, 5.0, 7.0], [3.5, 5.0, 7.0], [31.5, 0.0, 0.0]])
    expected = [
        lattice[3, 5, 7],
        (lattice[3, 5, 7] + lattice[4, 5, 7]) / 2,
        (lattice[31, 0, 0] + lattice[0, 0, 0]) / 2,
    ]
    np.testing.assert_allclose(smooth_noise(lattice, points), expected, atol=1e-12)


def test_layers_are_halved_in_grain_and_strength() -> None:
    lattice = noise_lattice(np.random.default_rng(4))
    points = np.random.default_rng(5).uniform(-90.0, 90.0, (50, 3))
    one = smooth_noise(lattice, points / 20.0)
    two = smooth_noise(lattice, points / 10.0 + 7.31) / 2.0
    np.testing.assert_allclose(layered_noise(lattice, points, grain=20.0, layers=2), one + two, atol=1e-12)
