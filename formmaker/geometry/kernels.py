"""Whether this machine already has the compiled kernels: the first run makes them, later ones read them."""

from pathlib import Path

from formmaker.geometry.grid import value_at


def are_compiled() -> bool:
    """Whether numba finds kernels it compiled before, in the place where it keeps them."""
    return any(Path(value_at.stats.cache_path).glob("grid.value_at*.nbi"))
