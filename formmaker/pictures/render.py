"""The renderer's own process: ``python -m formmaker.pictures.render``, told what to do by a line of its input.

The line is a list in JSON, ``["SCENE.npz", "OUT.png", "ALONE.png"]``, the last one if wanted; where none comes, there
is nothing to do. A machine without OpenGL can end the process from within the graphics library; here that ends only
this one. It reads the arrays that ``scene`` wrote and writes pictures; it decides nothing about the bowl.
"""

import json
import sys
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from formmaker.geometry.meshes import Mesh
from formmaker.pictures.camera import Camera, framed, open_side
from formmaker.pictures.paint import Pin, seen_through, shaded, vignetted, with_axis_and_marks
from formmaker.pictures.stage import Actor, corner_shade, facing_shot, shadowed_ground, shot
from formmaker.pictures.surface import FEATURE_ANGLE, Surface, grained, part_of, refined, smooth_surface
from formmaker.pictures.wood import grain_image, skin_colours

Arrays = Mapping[str, NDArray[np.generic]]

BARK_ANGLE = 70.0
"""Bark is shaded rounder than cut wood: its facets are the scanner's, not the tree's."""

LEVEL_AZIMUTH = np.radians(-55.0)
"""From where a bowl with a level rim is seen, about its own axis from angle 0."""

SMALL_PART = 10
"""Fewer triangles than this are no part worth shading."""


def main(arguments: list[str]) -> None:
    """Read a scene, write one picture or two."""
    with np.load(arguments[0], allow_pickle=False) as archive:
        arrays = {name: archive[name] for name in archive.files}
    blank, bowl = _mesh(arrays, "blank"), _mesh(arrays, "bowl")
    natural, bark = arrays["blank_natural"].astype(bool), arrays["bowl_bark"].astype(bool)
    size = (int(arrays["size"][0]), int(arrays["size"][1]))
    grain = grain_image()
    skin = part_of(blank, natural) if natural.any() else None
    bowl_actors = _actors(bowl, bark, skin, grain, gloss=0.22)
    azimuth = open_side(bowl.vertices, fallback=LEVEL_AZIMUTH)
    _save(
        _in_blank(arrays, blank, _actors(blank, natural, skin, _paler(grain), gloss=0.0), bowl_actors, azimuth, size),
        arguments[1],
    )
    if len(arguments) > 2:
        _save(_alone(bowl, bowl_actors, framed(bowl.vertices, azimuth, size, fill=0.72)), arguments[2])


def _in_blank(
    arrays: Arrays,
    blank: Mesh,
    blank_actors: list[Actor],
    bowl_actors: list[Actor],
    azimuth: float,
    size: tuple[int, int],
) -> NDArray[np.uint8]:
    axis = np.asarray(arrays["axis"], dtype=np.float64)
    pins = _pins(arrays)
    seen = np.concatenate([blank.vertices, axis, *[pin.head[None] for pin in pins]])
    camera = framed(seen, azimuth, size, fill=0.86)
    ground = shadowed_ground(blank, height=float(blank.bounds[0, 2]))
    reach = 0.10 * float(np.ptp(blank.bounds, axis=0).max())
    inside = shot(bowl_actors, camera, ground=ground)
    inside = shaded(
        inside, corner_shade([actor.surface for actor in bowl_actors], camera, reach=reach), strength=0.75
    )
    outside = shot(blank_actors, camera, ground=ground)
    outside = shaded(
        outside, corner_shade([actor.surface for actor in blank_actors], camera, reach=reach), strength=0.7
    )
    facing = facing_shot([actor.surface for actor in blank_actors], camera)
    return with_axis_and_marks(vignetted(seen_through(inside, outside, facing)), camera, axis, pins)


def _alone(bowl: Mesh, actors: list[Actor], camera: Camera) -> NDArray[np.uint8]:
    ground = shadowed_ground(bowl, height=float(bowl.bounds[0, 2]))
    reach = 0.14 * float(np.ptp(bowl.bounds, axis=0).max())
    sky = corner_shade([*[actor.surface for actor in actors], ground.surface], camera, reach=reach)
    return vignetted(shaded(shot(actors, camera, ground=ground), sky, strength=0.75))


def _actors(
    mesh: Mesh, natural: NDArray[np.bool_], skin: Mesh | None, grain: NDArray[np.uint8], *, gloss: float
) -> list[Actor]:
    """Bark with its colours and wood with its grain; a scan's sawn faces keep the colours that it carries."""
    actors = []
    coloured_whole = mesh.colours is not None and gloss == 0.0
    bark = np.ones_like(natural) if coloured_whole else natural
    if bark.sum() >= SMALL_PART:
        actors.append(Actor(surface=_bark_surface(part_of(mesh, bark))))
    if (~bark).sum() >= SMALL_PART:
        wood = smooth_surface(refined(part_of(mesh, ~bark)), feature_angle=FEATURE_ANGLE)
        actors.append(Actor(surface=grained(wood, skin), grain=grain, gloss=gloss))
    return actors


def _bark_surface(part: Mesh) -> Surface:
    if part.colours is None:
        fine = refined(part)
        colours = skin_colours(fine, np.ones(len(fine.faces), dtype=np.bool_))
        part = Mesh(vertices=fine.vertices, faces=fine.faces, colours=colours)
    return smooth_surface(part, feature_angle=BARK_ANGLE)


def _paler(grain: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return (grain * 0.55 + np.array([232.0, 214.0, 184.0]) * 0.45).astype(np.uint8)


def _pins(arrays: Arrays) -> list[Pin]:
    rows = zip(arrays["mark_names"], arrays["mark_kinds"], arrays["mark_at"], arrays["mark_head"], strict=True)
    return [
        Pin(name=str(name), kind=str(kind), at=np.asarray(at), head=np.asarray(head)) for name, kind, at, head in rows
    ]


def _mesh(arrays: Arrays, name: str) -> Mesh:
    colours = arrays.get(f"{name}_colours")
    return Mesh(
        vertices=np.asarray(arrays[f"{name}_vertices"], np.float64),
        faces=np.asarray(arrays[f"{name}_faces"], np.int32),
        colours=None if colours is None else np.asarray(colours, np.uint8),
    )


def _save(image: NDArray[np.uint8], path: str) -> None:
    Image.fromarray(image).save(Path(path), format="PNG", compress_level=6)


if __name__ == "__main__":
    line = (
        sys.stdin.readline()
    )  # after the libraries are loaded: whoever started this may still be at work on the scene
    if line:
        main(json.loads(line))
