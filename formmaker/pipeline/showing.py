"""What can be looked at: pictures of the bowl inside its wood."""

from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.needed import held_outline
from formmaker.engine.preparation import PreparedForm
from formmaker.geometry.booleans import Cut, intersection_cut
from formmaker.geometry.meshes import moved
from formmaker.geometry.pieces import largest_piece
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import Blank, FaceKind
from formmaker.model.job import Job
from formmaker.pictures.renderer import Renderer, ready_renderer
from formmaker.pictures.scene import picture as write_picture
from formmaker.pipeline.checking import Say, check

WIDTH_PER_FLAT = 4
"""Pixels of a picture's width for each flat in a turn of its bowl: a flat leaves the round by a tenth of a pixel."""


class Shown(Protocol):
    """What a picture is made of; a ``CheckReport`` holds it, and it is there before the check."""

    @property
    def job(self) -> Job:
        """Its mounting in the blank's own millimetres."""

    @property
    def blank(self) -> Blank:
        """The wood."""

    @property
    def prepared(self) -> PreparedForm:
        """The form."""


def picture(job_path: Path, target: Path, say: Say) -> Path:
    """Check a job and picture the bowl inside its wood."""
    with ready_renderer() as renderer:
        return picture_report(check(job_path, say), target, say, renderer=renderer)


def picture_report(
    report: Shown,
    target: Path,
    say: Say,
    *,
    alone: Path | None = None,
    size: tuple[int, int] = (1600, 1200),
    renderer: Renderer | None = None,
) -> Path:
    """Picture the bowl of a job that has been checked; ``alone`` takes a second picture, without the blank."""
    say("picturing")
    bowl = bowl_as_it_comes(report, size[0] // WIDTH_PER_FLAT)
    write_picture(
        report.blank,
        bowl.mesh,
        report.job.mounting,
        target,
        bowl_from_bark=_bark_of(bowl, report.blank),
        alone=alone,
        size=size,
        renderer=renderer,
    )
    return target


def bowl_as_it_comes(report: Shown, segments: int = 360) -> Cut:
    """The bowl that the wood gives, blank frame: the form cut by the skin, without the pieces that would fly off.

    ``segments`` is the number of flats in one turn of it.
    """
    form = revolved(held_outline(report.prepared.outline, report.job.hold), segments)
    return largest_piece(intersection_cut(report.blank.mesh, moved(form, report.job.mounting.blank_from_form)))


def _bark_of(bowl: Cut, blank: Blank) -> NDArray[np.bool_]:
    from_bark = np.zeros(len(bowl.faces), dtype=np.bool_)
    from_bark[bowl.from_first] = blank.face_kinds[bowl.faces[bowl.from_first]] == FaceKind.NATURAL
    return from_bark
