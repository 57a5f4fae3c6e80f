"""Time of a search to a proven gap, field built: the demo's burr and two scans, axis within 30 degrees and any axis.

Run with ``python benchmarks/seek_speed.py [SECONDS [BLANK ...]]``; scans are looked for in ``../shared/data``. Wall
clock and processor time are both given: a machine that does something else lengthens the first. Without choices: they
are looked for after the proof. At the end the peak of memory, after one more search in 300 000 triangles.
"""

import math
import resource
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import trimesh
from check_speed import TRIANGLES, job_for
from field_build import body, refined

from formmaker.engine.field import Field, build_field
from formmaker.engine.ground import ground_of
from formmaker.engine.seeking import seek
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.job import Job
from formmaker.model.wish import ANY, Wish
from formmaker.sources.samples import hedge_elm_burr

GAP = 0.02
SCANS = ("stump_blank", "butt_half_log")
SHARED = Path(__file__).resolve().parents[2] / "shared" / "data"
RANGES = {"30 degrees": Wish(tilt_limit=math.radians(30.0)), "any axis": Wish(rim_side=ANY)}


def blank_of(mesh: Mesh) -> Blank:
    """A blank of natural skin, known to a millimetre."""
    count = len(mesh.faces)
    kinds, patches = np.zeros(count), np.full(count, -1)
    return Blank(mesh=mesh, face_kinds=kinds, face_patches=patches, uncertainty=1.0, source=BlankSource.SCAN)


def mesh_of(name: str) -> Mesh:
    """The burr of the demo, or a shared scan."""
    if name == "burr":
        return hedge_elm_burr()
    found = trimesh.load_mesh(SHARED / f"{name}.stl")
    return Mesh(vertices=np.asarray(found.vertices), faces=np.asarray(found.faces))


def searched(job: Job, field: Field, wish: Wish, limit: float) -> str:
    """One search as a row of the table."""
    wall, work = time.perf_counter(), time.process_time()
    found = seek(
        ground_of(job, wish, field),
        gap=GAP,
        rng=np.random.default_rng(1),
        watch=lambda _: time.perf_counter() - wall > limit,
    )
    wall, work = time.perf_counter() - wall, time.process_time() - work
    TIMES.append(wall)
    best = found.best.diameter if found.best is not None else math.nan
    return (
        f"{best:7.1f} mm  gap {100.0 * found.gap:5.2f} %  {wall:6.2f} s wall  {work:6.2f} s work  {found.boxes} boxes"
    )


TIMES: list[float] = []


def main() -> None:
    """Print the table."""
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    names = sys.argv[2:] or ["burr", *(name for name in SCANS if (SHARED / f"{name}.stl").exists())]
    cases = []
    for name in names:
        mesh = mesh_of(name)
        cases.append((name, replace(job_for(mesh), skin=2.0), build_field(blank_of(mesh))))
    searched(cases[0][1], cases[0][2], RANGES["30 degrees"], 5.0)  # compiles, or loads what was compiled
    for words, wish in RANGES.items():
        TIMES.clear()
        for name, job, field in cases:
            print(f"{name:14} {words:11} {searched(job, field, wish, limit)}")
        print(f"{'median':14} {words:11} {statistics.median(TIMES):.2f} s wall")
    large = refined(body(None), TRIANGLES)
    field = build_field(blank_of(large))
    print(f"{len(large.faces)} triangles {searched(job_for(large), field, RANGES['30 degrees'], limit)}")
    print(f"peak of memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0:.0f} MiB")


if __name__ == "__main__":
    main()
