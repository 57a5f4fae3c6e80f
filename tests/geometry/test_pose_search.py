"""The search for the largest body: no bound is ever broken, and closed forms are met within the gap stated."""

import numpy as np
import trimesh

from formmaker.engine.field import Field, build_field
from formmaker.geometry.charts import cube_charts
from formmaker.geometry.frames import Points
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import signed_distance
from formmaker.geometry.pose_bounds import COLUMNS, FACE, MOST, VARIABLES
from formmaker.geometry.pose_boxes import bound_boxes
from formmaker.geometry.pose_limits import PoseLimits
from formmaker.geometry.pose_problem import PoseProblem, PoseRange, ceiling_of, chance_poses, pose_problem
from formmaker.geometry.pose_search import climb
from formmaker.geometry.turned_points import Rings
from tests.engine.jobs import lump, plain_blank

NEED = 1.5
TURNS = 720

# an open bowl with a tenon: radius and height for a unit of size about a reference, and what stays
BOWL = Rings(
    rows=np.array(
        [
            [0.16, -0.2, 0.0, 0.0],
            [0.3, -0.15, 0.0, 0.0],
            [0.42, -0.05, 0.0, 0.0],
            [0.48, 0.08, 0.0, 0.0],
            [0.5, 0.2, 0.0, 0.0],
            [0.0, -0.2, 20.0, -6.0],
        ]
    )
)
CYLINDER = Rings(rows=np.array([[0.5, 0.0, 0.0, 0.0], [0.5, 0.25, 0.0, 0.0], [0.5, -0.25, 0.0, 0.0]]))


def problem_in(field: Field, rings: Rings, *, limits: PoseLimits | None = None, **where: object) -> PoseProblem:
    bounds = np.asarray(field.blank.mesh.bounds)
    return pose_problem(
        ceiling_of(field.skin, bounds),
        rings,
        PoseRange(places=bounds, axis=np.array([0.0, 0.0, 1.0]), **where),  # type: ignore[arg-type]
        needs=(NEED, NEED),
        sizes=(20.0, field.diagonal),
        limits=limits or PoseLimits(),
    )


def carried(body: Points, pose: Points, size: float) -> Points:
    """Points of a body in the wood, by numpy alone."""
    z = pose[3:6] / np.linalg.norm(pose[3:6])
    x = np.cross(z, np.eye(3)[int(np.abs(z).argmin())])
    x /= np.linalg.norm(x)
    r, h = size * body[:, 0] + body[:, 2], size * body[:, 1] + body[:, 3] + pose[6]
    return pose[:3] + (r * body[:, 4])[:, None] * x + (r * body[:, 5])[:, None] * np.cross(z, x) + h[:, None] * z


def held_exactly(field: Field, problem: PoseProblem, pose: Points, guess: float) -> float:
    """A size that a pose holds by the mesh itself, not far from a guess; 0 where there is none."""
    # the search spins its points about the axis as it likes, so whole rings are asked
    theta = 2.0 * np.pi * np.arange(TURNS) / TURNS
    rows = problem.rings.rows
    body = np.column_stack(
        [np.repeat(rows, TURNS, axis=0), np.tile(np.cos(theta), len(rows)), np.tile(np.sin(theta), len(rows))]
    )
    for share in np.linspace(1.0, 0.97, 16):
        deep = signed_distance(field.skin.tree, carried(body, pose, share * guess)).distance
        # a place between two points of a ring lies no farther from one than half the arc
        if deep.min() >= NEED + 0.5 * guess * np.pi / TURNS:
            return float(share * guess)
    return 0.0


def at_of(problem: PoseProblem, pose: Points, face: int) -> Points:
    """A pose as the variables of a box on one chart."""
    x, y, z = cube_charts(problem.where.axis)[face] @ pose[3:6]
    return np.array([*pose[:3], x / z, y / z, 0.0])


def box_round(problem: PoseProblem, pose: Points, rng: np.random.Generator) -> Points | None:
    """A box that holds a pose, its widths and the pose's place in it at chance."""
    face = int((cube_charts(problem.where.axis)[:, 2] @ pose[3:6]).argmax())
    box = np.zeros(COLUMNS)
    half = np.append(np.exp(rng.uniform(np.log(0.05), np.log(60.0), 3)), [0.0, 0.0, 0.0])
    half[3:5] = np.exp(rng.uniform(np.log(5e-4), np.log(0.8), 2))
    if rng.random() < 0.5:  # all widths alike: the boxes that a search meets
        half[:3], half[3:5] = half[0], half[0] / 80.0
    at = at_of(problem, pose, face)
    box[:VARIABLES], box[VARIABLES:FACE] = at + half * rng.uniform(-1.0, 1.0, 6), half
    box[FACE], box[MOST] = face, problem.sizes[1]
    return box


def solids() -> list[Field]:
    rng = np.random.default_rng(7)
    half_log = trimesh.creation.cylinder(radius=110.0, height=320.0, sections=64)
    half_log = trimesh.intersections.slice_mesh_plane(half_log, [1.0, 0.0, 0.0], [0.0, 0.0, 0.0], cap=True)
    hollow = trimesh.boolean.difference(
        [
            trimesh.creation.icosphere(subdivisions=4, radius=120.0),
            trimesh.creation.icosphere(subdivisions=3, radius=40.0),
        ]
    )
    meshes = [lump(rng), lump(rng), *(Mesh(vertices=m.vertices, faces=m.faces) for m in (half_log, hollow))]
    return [build_field(plain_blank(mesh), cells=64) for mesh in meshes]


def test_no_box_that_holds_a_feasible_pose_is_ruled_out() -> None:
    rng = np.random.default_rng(11)
    lost, asked, told, shrunk = 0, 0, 0, 0
    for field in solids():
        for rings in (BOWL, CYLINDER):
            problem = problem_in(field, rings)
            poses, sizes = climb(problem, chance_poses(problem, rng, 24), rng)
            sure = [(pose, held_exactly(field, problem, pose, size)) for pose, size in zip(poses, sizes, strict=True)]
            sure = [(pose, size) for pose, size in sure if size > 0.0]
            assert len(sure) > 8
            for number in range(2500):
                pose, size = sure[number % len(sure)]
                box = box_round(problem, pose, rng)
                out = np.empty((1, 2))
                rows = box[None].copy()
                bound_boxes(rows, (0, 1), problem.coarse, (size - 1e-6, np.inf), out)
                asked += 1
                beyond = np.abs(at_of(problem, pose, int(box[FACE])) - rows[0, :VARIABLES]) - rows[0, VARIABLES:FACE]
                lost += not (rows[0, MOST] >= size and beyond.max() < 1e-6)
                shrunk += rows[0, VARIABLES : VARIABLES + 5].prod() > 0.0 and (
                    rows[0, VARIABLES:FACE].sum() < 0.9 * box[VARIABLES:FACE].sum()
                )
                told += rows[0, MOST] < 1.2 * size
    assert asked == 20_000
    assert lost == 0
    assert told > 4000  # the bounds say something: they are not passed by saying nothing
    assert shrunk > 2000


def test_a_pose_that_holds_nothing_is_polished_to_nothing() -> None:
    field = solids()[0]
    problem = problem_in(field, BOWL)
    corner = np.array(field.blank.mesh.bounds)[1]
    poses = np.array([[*corner, 0.0, 0.0, 1.0, 0.0], [*corner, 1.0, 0.0, 0.0, 0.0]])
    _, sizes = climb(problem, poses, np.random.default_rng(1), fine=True)
    assert (sizes <= 0.0).all()
