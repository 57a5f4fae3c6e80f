"""Jobs made in a few words, for the tests of the engine."""

import numpy as np
import trimesh

from formmaker.engine.check import check_fit
from formmaker.engine.field import Field, build_field
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.geometry.booleans import difference
from formmaker.geometry.meshes import Mesh, mass_properties, moved
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.model.verdict import Verdict
from formmaker.sources.blank import read_blank
from formmaker.units import Units

BLOCK = Hold(kind=HoldKind.GLUE_BLOCK, diameter=40.0, depth=20.0)


def plain_blank(mesh: Mesh, **others: object) -> Blank:
    """A blank of natural skin that is exactly its mesh."""
    count = len(mesh.faces)
    known = {"face_kinds": np.zeros(count), "face_patches": np.full(count, -1), "uncertainty": 0.0}
    return Blank(mesh=mesh, source=BlankSource.SCAN, **(known | others))  # type: ignore[arg-type]


def described_field(shape: object, *, uncertainty: float = 0.0, cells: int = 96) -> Field:
    plan = BlankPlan(source=BlankSource.SHAPE, shape=shape, uncertainty=uncertainty)  # type: ignore[arg-type]
    return build_field(read_blank(plan), cells=cells)


def straight_form(radius: float, height: float, *, wall: float = 8.0, lowest_rim: float | None = None) -> Form:
    """An upright form; natural edge where a lowest rim is given."""
    return Form(
        handles=np.array([[radius, 0.0], [radius, height]]),
        corners=np.array([True, True]),
        wall=np.array([[0.0, wall]]),
        floor=10.0,
        edge=Edge.TURNED if lowest_rim is None else Edge.NATURAL,
        lowest_rim=height if lowest_rim is None else lowest_rim,
    )


def upright(foot: tuple[float, float, float] = (0.0, 0.0, 0.0), **others: object) -> Mounting:
    """An axis straight up from a place, angle 0 toward x."""
    above = (foot[0], foot[1], foot[2] + 100.0)
    return Mounting(foot_centre=foot, rim_centre=above, zero=(1.0, 0.0, 0.0), **others)  # type: ignore[arg-type]


def checked(field: Field, form: Form, mounting: Mounting, *, hold: Hold = BLOCK, skin: float = 0.0) -> Verdict:
    return verdict_on(field, prepare_form(form, hold), mounting, skin=skin)


def job_of(form: Form, mounting: Mounting, *, hold: Hold = BLOCK, skin: float = 0.0, units: Units = Units.MM) -> Job:
    plan = BlankPlan(source=BlankSource.SHAPE)
    return Job(title="test", units=units, plan=plan, mounting=mounting, form=form, hold=hold, skin=skin)


def verdict_on(field: Field, prepared: PreparedForm, mounting: Mounting, *, skin: float = 0.0) -> Verdict:
    job = job_of(prepared.form, mounting, hold=prepared.hold, skin=skin)
    return check_fit(job, prepared, field)


def lump(random: np.random.Generator) -> Mesh:
    """A closed irregular lump: a ball with waves and knobs, 2 562 corners."""
    ball = trimesh.creation.icosphere(subdivisions=4)
    waves = random.normal(size=(6, 3)) * 2.0
    heights = sum(random.uniform(0.02, 0.08) * np.sin(ball.vertices @ wave + random.uniform(0, 6)) for wave in waves)
    sizes = random.uniform([110, 95, 60], [150, 130, 100])
    return Mesh(vertices=ball.vertices * (1.0 + heights)[:, None] * sizes, faces=ball.faces)


def missing_wood(mesh: Mesh, wish: PreparedForm, pose: Mounting) -> float:
    """Volume of must-be-wood outside the blank, by manifold3d on the exact mesh, mm3."""
    bodies, hold = [wish.needed.outline], wish.hold
    if hold.kind is HoldKind.TENON:
        bodies.append(np.array([[0, -hold.depth], [hold.radius, -hold.depth], [hold.radius, 0], [0, 0]]))
    # flats of 180 stand out by 0.01 mm and in by 0.015 at 100 mm: a sixth of the least uncertainty, and of 0.2 below
    turned_bodies = [moved(revolved(body, 180), pose.blank_from_form) for body in bodies]
    lacking = [difference(body, mesh) for body in turned_bodies]
    return sum(mass_properties(body).volume for body in lacking if len(body.faces))
