"""The rim line against closed forms, and against slices of real scans cut by another library."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker.engine.field import build_field
from formmaker.engine.rim import ANGLES, peaks, trace_rim
from formmaker.engine.section import build_section
from formmaker.engine.sketching import form_from_profile
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.geometry.curve_measures import points_by_length
from formmaker.geometry.curves import Curve, arc_about, curve_through
from formmaker.geometry.frames import Frame
from formmaker.model.form import Edge
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import HalfLog
from formmaker.model.verdict import RimKind
from tests.engine.jobs import described_field, plain_blank, upright
from tests.scans import closed_scan

THETA = 2.0 * np.pi * np.arange(ANGLES) / ANGLES


@pytest.mark.parametrize("radius", [60.0, 80.0])
def test_upright_form_in_a_half_log_has_the_rim_of_two_crossed_cylinders(radius: float) -> None:
    # z = sqrt(R^2 - r^2 cos^2 t), t from the direction across the log (cylinder-cylinder curve, MathWorld)
    field = described_field(HalfLog(radius=100.0, length=300.0))
    outer = curve_through(np.array([[radius, 0.0], [radius, 110.0]]), np.array([True, True]))
    rim = trace_rim(field, outer, upright().blank_from_form)
    np.testing.assert_allclose(rim.height, np.sqrt(100.0**2 - (radius * np.sin(THETA)) ** 2), atol=0.05)
    assert sorted(round(np.degrees(high.theta)) % 360 for high in rim.highs) == [0, 180]
    assert sorted(round(np.degrees(low.theta)) % 360 for low in rim.lows) == [90, 270]
    # lows of 80 mm for r = 60 and 60 mm for r = 80 (same source)
    assert rim.lows[0].height == pytest.approx({60.0: 80.0, 80.0: 60.0}[radius], abs=0.05)
    assert rim.lean == pytest.approx(0.0, abs=0.01)
    assert set(rim.kinds) == {RimKind.NATURAL}


def test_ball_shaped_form_in_a_log_has_a_rim_that_is_a_parabola_from_the_side() -> None:
    # a ball of radius rho about a point c above the pith: z = (x^2 + R^2 + c^2 - rho^2) / (2 c)
    # R 100, rho 90, c 50: low 44 across the log at y = 89.8, high at x = 74.8 (check values, section 7.2)
    outer = arc_about((0.0, 50.0), 90.0, start=float(np.arcsin(-40.0 / 90.0)), end=1.0)
    field = described_field(HalfLog(radius=100.0, length=400.0))
    rim = trace_rim(field, outer, Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, 0.0])))
    x = rim.radius * np.cos(THETA)
    np.testing.assert_allclose(rim.height, (x**2 + 100.0**2 + 50.0**2 - 90.0**2) / 100.0, atol=0.05)
    assert rim.height.min() == pytest.approx(44.0, abs=0.05)
    assert rim.height.max() == pytest.approx(100.0, abs=0.05)
    assert abs(x[int(rim.height.argmax())]) == pytest.approx(74.833, abs=0.05)


def test_a_form_that_stays_in_wood_ends_turned_and_one_that_starts_in_air_ends_at_the_foot() -> None:
    field = described_field(HalfLog(radius=100.0, length=300.0))
    low = curve_through(np.array([[40.0, 0.0], [40.0, 50.0]]), np.array([True, True]))
    rim = trace_rim(field, low, upright((0.0, 0.0, 5.0)).blank_from_form)
    assert set(rim.kinds) == {RimKind.TURNED}
    np.testing.assert_allclose(rim.height, 50.0)
    below = trace_rim(field, low, upright((0.0, 0.0, -5.0)).blank_from_form)
    np.testing.assert_allclose(below.height, 0.0)


def test_a_rim_that_runs_out_of_the_end_of_a_log_is_sawn_there() -> None:
    field = described_field(HalfLog(radius=100.0, length=130.0))
    outer = curve_through(np.array([[50.0, 0.0], [80.0, 90.0]]), np.array([True, True]))
    rim = trace_rim(field, outer, upright().blank_from_form)
    assert rim.kinds[0] is RimKind.SAWN is rim.kinds[180]
    assert rim.kinds[90] is RimKind.NATURAL
    assert rim.height[0] == pytest.approx(45.0, abs=0.02)  # where 50 + z / 3 reaches the end at 65


def test_peaks_of_two_equal_highs_and_unequal_lows() -> None:
    height = 50.0 + 8.0 * np.cos(2.0 * THETA) + 2.0 * np.cos(THETA - np.pi / 2.0)
    high, low = peaks(height)
    assert len(high) == 2 == len(low)
    assert height[low[0]] < height[low[1]]
    assert low.tolist() == [270, 90]
    assert len(peaks(np.full(ANGLES, 30.0))[0]) == 0


# ---- real scans ---------------------------------------------------------------------------------------------------


class Slice:
    """The body cut by the half plane of one angle: trimesh slices it, a ray counts crossings."""

    def __init__(self, form: trimesh.Trimesh, theta: float) -> None:
        normal = np.array([-np.sin(theta), np.cos(theta), 0.0])
        lines = trimesh.intersections.mesh_plane(form, plane_normal=normal, plane_origin=np.zeros(3))
        self.radii = lines @ np.array([np.cos(theta), np.sin(theta), 0.0])
        self.heights = lines[:, :, 2]

    def holds(self, places: np.ndarray) -> np.ndarray:
        """Whether places (radius, height) lie in the body."""
        (r0, r1), (z0, z1) = self.radii.T, self.heights.T
        radius, height = places[:, :1], places[:, 1:]
        straddles = (z0 <= height) != (z1 <= height)
        with np.errstate(divide="ignore", invalid="ignore"):
            crossing = r0 + (height - z0) / (z1 - z0) * (r1 - r0)
        return np.asarray((straddles & (crossing > radius)).sum(axis=1) % 2 == 1)


def first_exit(body: Slice, outer: Curve) -> float | None:
    """Height of the only way out along the outer curve, by bisection; None where there is not exactly one."""
    shares = np.linspace(0.0, 1.0, 800)
    inside = body.holds(points_by_length(outer, shares))
    changes = np.flatnonzero(inside[1:] != inside[:-1])
    if not inside[0] or len(changes) > 1:
        return None
    if len(changes) == 0:
        return float(outer.end[1])
    low, high = shares[changes[0]], shares[changes[0] + 1]
    while high - low > 1e-5:
        middle = (low + high) / 2.0
        if body.holds(points_by_length(outer, np.array([middle])))[0]:
            low = middle
        else:
            high = middle
    return float(points_by_length(outer, np.array([low]))[0, 1])


SCANS = {
    # a log lying along z, split face toward -x: the axis goes from that face out through the bark
    "butt_half_log.stl": (
        Mounting(foot_centre=(4, 0, 200), rim_centre=(100, 0, 205), zero=(0, 0, 1), foot_height=4),
        150.0,
    ),
    "stump_blank.stl": (
        Mounting(foot_centre=(-20, 0, 30), rim_centre=(-20, 5, 150), zero=(1, 0, 0), foot_height=8),
        240.0,
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SCANS)
def test_rim_on_a_scan_is_where_another_library_finds_the_wood_to_end(name: str) -> None:
    mesh, (mounting, diameter) = closed_scan(name), SCANS[name]
    profile = read_profile(find_profile("open-bowl", Path()))
    form = form_from_profile(
        profile,
        diameter=diameter,
        height=100.0,
        wall=np.array([[0.0, 7.0]]),
        floor=9.0,
        edge=Edge.NATURAL,
        lowest_rim=40.0,
    )
    outer, frame = build_section(form).outer, mounting.blank_from_form
    rim = trace_rim(build_field(plain_blank(mesh)), outer, frame)
    body = trimesh.Trimesh(frame.inverse.carry(mesh.vertices), mesh.faces, process=False)
    truth = [first_exit(Slice(body, float(angle)), outer) for angle in THETA]
    single = np.array([height is not None for height in truth])
    error = np.abs(rim.height[single] - np.array([height for height in truth if height is not None]))
    assert single.sum() > 250
    assert (error <= 0.1).mean() >= 0.99
