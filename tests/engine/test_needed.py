"""Must-be-wood: areas of its parts by Pappus, volumes of outlines with their holding, cells that add up."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from formmaker.engine.cells import section_cells
from formmaker.engine.needed import PARTS, NeededWood, held_outline, needed_wood
from formmaker.engine.section import build_section, section_outline
from formmaker.errors import FormError
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.verdict import Part
from tests.engine.jobs import BLOCK, straight_form
from tests.strategies import forms

RADIUS, HEIGHT, WALL = 60.0, 50.0, 8.0
FORM = straight_form(RADIUS, HEIGHT, wall=WALL)
SECTION = build_section(FORM)


def areas(needed: NeededWood) -> dict[Part, float]:
    """Area of each part's surface of revolution, by Pappus, mm2."""
    r0, z0, r1, z1 = needed.segments.T
    swept = np.pi * (r0 + r1) * np.hypot(r1 - r0, z1 - z0)
    return {part: float(swept[needed.parts == PARTS.index(part)].sum()) for part in Part}


def turned_volume(outline: np.ndarray) -> float:
    polygon = shapely.Polygon(outline)
    assert polygon.is_valid
    return float(2.0 * np.pi * polygon.centroid.x * polygon.area)


@pytest.mark.parametrize("radius", [20.0, RADIUS, 75.0])
def test_a_glue_block_asks_for_wood_under_its_whole_face(radius: float) -> None:
    hold = Hold(kind=HoldKind.GLUE_BLOCK, diameter=2.0 * radius, depth=20.0)
    found = areas(needed_wood(FORM, SECTION, hold))
    assert found[Part.GLUE_FACE] == pytest.approx(np.pi * radius**2)
    assert found[Part.FOOT] == pytest.approx(np.pi * max(RADIUS**2 - radius**2, 0.0), abs=1e-6)
    assert found[Part.RIM] == pytest.approx(np.pi * (RADIUS**2 - (RADIUS - WALL) ** 2))
    assert found[Part.TENON] == 0.0


@pytest.mark.parametrize("radius", [20.0, 70.0])
def test_a_tenon_asks_for_both_its_ends_and_its_side(radius: float) -> None:
    hold = Hold(kind=HoldKind.TENON, diameter=2.0 * radius, depth=6.0)
    needed = needed_wood(FORM, SECTION, hold)
    found = areas(needed)
    assert found[Part.TENON] == pytest.approx(2.0 * np.pi * radius**2 + 2.0 * np.pi * radius * 6.0)
    assert found[Part.FOOT] == pytest.approx(np.pi * RADIUS**2)
    assert needed.segments[:, [1, 3]].min() == -6.0


def test_a_recess_asks_for_nothing_beyond_the_body() -> None:
    recess = needed_wood(FORM, SECTION, Hold(kind=HoldKind.RECESS, diameter=40.0, depth=5.0))
    assert_allclose(recess.segments[:, [1, 3]].min(), 0.0, atol=1e-12)
    assert areas(recess)[Part.FOOT] == pytest.approx(np.pi * RADIUS**2)
    assert sum(areas(recess).values()) == pytest.approx(sum(areas(needed_wood(FORM, SECTION, BLOCK)).values()))


def test_walls_and_floor_of_an_upright_form_have_the_areas_of_cylinders_and_discs() -> None:
    found = areas(needed_wood(FORM, SECTION, BLOCK))
    inside, fillet = RADIUS - WALL, 15.0  # an eighth of the diameter
    sides = 2.0 * np.pi * (RADIUS * HEIGHT + inside * (HEIGHT - FORM.floor - fillet))
    arc = 2.0 * np.pi * (inside - fillet + fillet * 2.0 / np.pi) * fillet * np.pi / 2.0
    whole = sides + arc + np.pi * (inside - fillet) ** 2
    assert found[Part.WALL] + found[Part.FLOOR] == pytest.approx(whole, rel=3e-4)  # chords of the fillet
    assert found[Part.FLOOR] > np.pi * (inside - fillet) ** 2


@given(form=forms())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_surface_closes_round_a_body_that_ends_where_wood_is_no_longer_asked_for(form: Form) -> None:
    section = build_section(form)
    needed = needed_wood(form, section, BLOCK)
    whole, body = shapely.Polygon(section_outline(section)), shapely.Polygon(needed.outline)
    top = form.lowest_rim if form.edge is Edge.NATURAL else form.height
    assert body.is_valid
    assert body.bounds[3] == pytest.approx(top, abs=1e-9)
    assert body.difference(whole.buffer(1e-9)).area < 1e-6
    lost = whole.intersection(shapely.box(-1.0, -1.0, 1e4, top)).difference(body.buffer(1e-9))
    assert all(part.distance(body) > 0.0 or part.area < 1e-6 for part in shapely.get_parts(lost))
    # what is asked for is the whole border but the axis, and the ring of a block wider than the foot
    border = sum(np.hypot(*(needed.segments[:, 2:] - needed.segments[:, :2]).T))
    wider = max(BLOCK.radius - form.foot_radius, 0.0)
    on_axis = needed.outline[needed.outline[:, 0] <= 1e-6, 1]
    assert border == pytest.approx(body.length - np.ptp(on_axis) + wider, abs=1e-6)


def test_a_lowest_rim_at_the_height_itself_asks_for_all_of_it() -> None:
    natural = replace(FORM, edge=Edge.NATURAL, lowest_rim=HEIGHT)
    assert_allclose(needed_wood(natural, SECTION, BLOCK).segments, needed_wood(FORM, SECTION, BLOCK).segments)
    almost = replace(FORM, edge=Edge.NATURAL, lowest_rim=HEIGHT - 1e-7)
    assert areas(needed_wood(almost, SECTION, BLOCK))[Part.RIM] == pytest.approx(
        np.pi * (RADIUS**2 - (RADIUS - WALL) ** 2), rel=1e-6
    )


# ---- outlines with their holding, cells ----------------------------------------------------------------------------


@pytest.mark.parametrize("diameter", [30.0, 70.0])
@pytest.mark.parametrize(("kind", "sign"), [(HoldKind.TENON, 1), (HoldKind.RECESS, -1), (HoldKind.GLUE_BLOCK, 0)])
def test_a_holding_adds_or_takes_its_own_cylinder(kind: HoldKind, sign: int, diameter: float) -> None:
    outline = section_outline(SECTION)
    held = held_outline(outline, Hold(kind=kind, diameter=diameter, depth=4.0))
    change = sign * np.pi * (diameter / 2.0) ** 2 * 4.0
    assert turned_volume(held) == pytest.approx(turned_volume(outline) + change, rel=1e-9)


def test_a_recess_wider_than_the_foot_leaves_what_is_above_it_and_one_over_all_leaves_nothing() -> None:
    held = held_outline(section_outline(SECTION), Hold(kind=HoldKind.RECESS, diameter=130.0, depth=4.0))
    assert held[:, 1].min() == pytest.approx(4.0)
    with pytest.raises(FormError, match="recess of diameter 130 mm and depth 60 mm takes the whole bowl away"):
        held_outline(section_outline(SECTION), Hold(kind=HoldKind.RECESS, diameter=130.0, depth=60.0))


@given(form=forms(), size=st.floats(0.7, 6.0))
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
def test_cells_add_up_to_their_outline_and_stand_in_their_squares(form: Form, size: float) -> None:
    outline = section_outline(build_section(form))
    cells, polygon = section_cells(outline, size), shapely.Polygon(outline)
    assert cells.areas.sum() == pytest.approx(polygon.area)
    assert 2.0 * np.pi * cells.ring_areas.sum() == pytest.approx(turned_volume(outline))
    assert cells.areas @ cells.centres[:, 1] == pytest.approx(polygon.area * polygon.centroid.y)
    low = outline.min(axis=0) + cells.index * size
    assert (cells.centres >= low - 1e-9).all()
    assert (cells.centres <= low + size + 1e-9).all()
    assert len(np.unique(cells.index, axis=0)) == len(cells.index)
    assert (cells.index.max(axis=0) < cells.shape).all()
