"""Contacts as linear bounds: never below the distance that exact motion gives, and their mean never too small."""

import numpy as np
import trimesh

from formmaker.engine.field import build_field
from formmaker.geometry.charts import turn_about
from formmaker.geometry.frames import Points
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import signed_distance
from formmaker.geometry.pose_contacts import BENT, FLAT, REST, TERMS, TILTS, WORK, _linear, _second_order
from tests.engine.jobs import plain_blank
from tests.geometry.test_pose_search import BOWL, problem_in

SIZE = 120.0


def turned(direction: Points, other: Points, points: Points) -> Points:
    """Points turned about the origin by the shortest way from one direction to another (O. Rodrigues, 1840)."""
    axis, along = np.cross(direction, other), float(direction @ other)
    return points * along + np.cross(axis, points) + np.outer(points @ axis, axis) / (1.0 + along)


def test_no_contact_is_lower_than_the_distance_that_exact_motion_gives() -> None:
    ball = trimesh.creation.icosphere(subdivisions=4, radius=90.0)
    dent = trimesh.creation.icosphere(subdivisions=3, radius=60.0)
    dent.apply_translation([110.0, 0.0, 0.0])
    hollowed = trimesh.boolean.difference([ball, dent])
    field = build_field(plain_blank(Mesh(vertices=hollowed.vertices, faces=hollowed.faces)), cells=64)
    problem = problem_in(field, BOWL)
    wood, body = problem.coarse[4], np.asarray(problem.coarse[0])
    rng, turn, row = np.random.default_rng(3), np.empty((3, 3)), np.empty(WORK)
    close, worst = 0, np.inf
    for _ in range(1500):
        point, place = body[rng.integers(len(body))], np.array([*rng.normal(size=3) * 15.0, 0.0, 0.0, 0.0])
        direction = rng.normal(size=3)
        turn_about(*(direction / np.linalg.norm(direction)), turn)
        width = float(np.exp(rng.uniform(np.log(0.3), np.log(12.0))))
        half = np.array([*rng.uniform(0.2, 1.0, 3) * width, 0.0, 0.0, 0.0])
        across, up = rng.uniform(0.2, 1.0, 2) * width / 60.0
        angle = float(np.arctan(np.hypot(across, up)))
        span = (SIZE, SIZE + rng.uniform(0.0, width))
        if not _linear(point, (place, turn), (half, angle, across, up), span, wood, 0.0, row):
            continue
        for _ in range(6):
            parts = rng.choice([-1.0, 1.0], 6) * rng.choice([1.0, rng.random()], 6)
            step = np.array(
                [*parts[:3] * half[:3], parts[3] * across, parts[4] * up, 0.0, abs(parts[5]) * (span[1] - SIZE)]
            )
            size, axis = SIZE + step[6], turn[:, 2] + step[3] * turn[:, 0] + step[4] * turn[:, 1]
            r, h = size * point[0] + point[2], size * point[1] + point[3]
            arm = turn @ np.array([r * point[4], r * point[5], h])
            at = place[:3] + step[:3] + turned(turn[:, 2], axis / np.linalg.norm(axis), arm[None])[0]
            true = float(signed_distance(field.skin.tree, at[None]).distance[0])
            room = float(row[0] + row[1 : 1 + TERMS] @ step) - true
            worst, close = min(worst, room), close + (room < 1.0)
    assert worst > -1e-3  # nodes are kept in single precision
    assert close > 1000  # and it is a near bound


def test_the_second_order_of_a_mean_covers_every_motion_of_the_box() -> None:
    rng, turn = np.random.default_rng(5), np.empty((3, 3))
    shares = []
    for _ in range(300):
        direction = rng.normal(size=3)
        turn_about(*(direction / np.linalg.norm(direction)), turn)
        many = int(rng.integers(1, 9))
        flats = rng.random(many)
        arms = rng.normal(size=(many, 2, 3)) * 60.0
        limits = np.array([*rng.random(3) * 5.0, *rng.random(2) * 0.08, rng.random() * 3.0, 0.0])
        mean = np.zeros(WORK)
        mean[FLAT], mean[BENT] = flats.sum(), np.inf
        mean[TILTS:REST] = np.einsum("i,ijk->jk", flats, arms).ravel()
        both = np.array([flats @ (arms[:, a] * arms[:, b]).sum(axis=1) for a, b in ((0, 0), (1, 1), (0, 1))])
        bound = float(_second_order(mean, both, limits, turn))
        corners = rng.choice([-1.0, 1.0], (200, 6)) * limits[:6]
        moves = corners[:, None, :3] + np.einsum("cj,ijk->cik", corners[:, 3:5], arms)
        moves = moves + corners[:, None, 5:6] * turn[:, 2]
        found = (flats * (moves**2).sum(axis=2)).sum(axis=1).max()
        assert found <= bound * (1.0 + 1e-12)
        shares.append(found / bound)
    assert np.median(shares) > 0.8
