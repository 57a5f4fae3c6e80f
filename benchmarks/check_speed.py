"""Time of one check on a scan of 300 000 triangles, beside the exact mesh boolean of manifold3d on the same work.

Run with ``python benchmarks/check_speed.py [SCAN]``; without a scan a bumpy lump is taken. The field is built
beforehand and the first check is left out, so neither building nor compiling is counted. manifold3d answers less (it
gives the missing wood, no margin, rim line, core, ghost or loose pieces) and gets the form's mesh ready made.
"""

import sys

import numpy as np
from field_build import body, refined, timed

from formmaker.engine.check import check_fit
from formmaker.engine.field import build_field
from formmaker.engine.preparation import prepare_form
from formmaker.engine.sketching import form_from_profile
from formmaker.files.profile_file import profiles_folder, read_profile
from formmaker.geometry.booleans import volume_of_intersection
from formmaker.geometry.meshes import Mesh, mass_properties, moved
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.form import Edge
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.units import Units

TRIANGLES = 300_000


def job_for(mesh: Mesh) -> Job:
    """A natural-edge bowl of about two thirds of the blank's width on an axis straight up its middle."""
    centre, (low, high) = mass_properties(mesh).centre, mesh.bounds
    foot = np.array([centre[0], centre[1], low[2]])
    diameter, height = 0.66 * float((high - low)[:2].min()), 0.7 * float((high - low)[2])
    form = form_from_profile(
        read_profile(profiles_folder() / "open-bowl.toml"),
        diameter=diameter,
        height=height,
        wall=np.array([[0.0, 8.0]]),
        floor=10.0,
        edge=Edge.NATURAL,
        lowest_rim=0.5 * height,
    )
    return Job(
        title="benchmark",
        units=Units.MM,
        plan=BlankPlan(source=BlankSource.SCAN),
        mounting=Mounting(
            foot_centre=foot, rim_centre=[centre[0] + 4.0, centre[1], high[2]], zero=[1, 0, 0], foot_height=12.0
        ),
        form=form,
        hold=Hold(kind=HoldKind.GLUE_BLOCK, diameter=2.0 * form.foot_radius, depth=25.0),
        skin=2.0,
    )


def main() -> None:
    """Print the table."""
    mesh = refined(body(sys.argv[1] if len(sys.argv) > 1 else None), TRIANGLES)
    count = len(mesh.faces)
    blank = Blank(
        mesh=mesh,
        face_kinds=np.zeros(count),
        face_patches=np.full(count, -1),
        uncertainty=1.0,
        source=BlankSource.SCAN,
    )
    build_field(blank)
    build = timed(lambda: build_field(blank), 2)
    field, job = build_field(blank), job_for(mesh)
    prepare = timed(lambda: prepare_form(job.form, job.hold), 5)
    prepared = prepare_form(job.form, job.hold)
    verdict = check_fit(job, prepared, field)
    check = timed(lambda: check_fit(job, prepared, field), 11)
    form = moved(revolved(prepared.outline, 360), job.mounting.blank_from_form)
    boolean = timed(lambda: volume_of_intersection(form, mesh), 3)
    print(f"{count} triangles; the answer: {verdict.answer}, margin {verdict.margin:.2f} mm")
    print(f"field built in          {build:8.3f} s")
    print(f"form prepared in        {1000 * prepare:8.1f} ms, once for each form")
    print(f"check in                {1000 * check:8.1f} ms, rim line included")
    print(f"manifold3d boolean in   {1000 * boolean:8.1f} ms: {boolean / check:.1f} times the check")


if __name__ == "__main__":
    main()
