"""What the page is told of the board: words, figures and drawings, all in the unit the turner reads.

It chooses words and lays out; every figure comes from the sitting.
"""

import math
from collections.abc import Callable

from formmaker.desk.board import Board
from formmaker.desk.making import address_of, words_for
from formmaker.desk.rim_view import rim_drawing, rim_window
from formmaker.desk.ring_view import reach_of, ring_drawing
from formmaker.desk.saying import Told, headline_of
from formmaker.desk.section_view import Window, section_drawing
from formmaker.desk.weighing import cards, said_of
from formmaker.engine.cuts import say_cut
from formmaker.errors import FormmakerError
from formmaker.files.spoken import (
    CAUTION,
    say_angle,
    say_answer,
    say_height,
    say_hold,
    say_place_of,
    say_rim,
    say_sizes,
)
from formmaker.files.spoken_blank import spoken_blank
from formmaker.model.blank import FaceKind
from formmaker.model.mounting import Mounting
from formmaker.model.verdict import Finding, Reason
from formmaker.pipeline import looking
from formmaker.pipeline.advising import balance_words, move_words
from formmaker.pipeline.changes import said_move
from formmaker.pipeline.sitting import Sitting
from formmaker.units import degrees_round, format_length

GOOD_NEWS = (Reason.KEEP_MET, Reason.FLAW_CLEAR)


def told(board: Board, window: Window) -> Told:
    """Everything on the page but the scene.

    Parameters
    ----------
    board : Board
    window : Window
        Of the half section; kept by the caller while a handle is held, so that the paper does not move under it.
    """
    return {
        **_verdict(board.sitting),
        **_drawings(board, window),
        **_form(board.sitting),
        **_marks(board.sitting),
        **_sitting(board),
        "choices": cards(board.found, board.sitting) if board.found else [],
        "found_words": said_of(board.found, board.sitting.units) if board.found else "",
        "refusal": board.refusal,
        "news": board.news,
    }


def _verdict(sitting: Sitting) -> Told:
    report = sitting.report
    verdict, job = report.verdict, report.job
    sentence = say_answer(verdict, job)
    findings = {finding.text: finding for finding in (*verdict.findings, *verdict.hold.findings)}
    torn = bool(verdict.loose_pieces or verdict.weak_necks)
    headline = headline_of(sitting)
    return {
        "answer": verdict.answer.value,
        "headline": headline,
        "sentence": _after(headline, sentence),
        "worst_theta": verdict.worst.theta,
        "worst_height": verdict.worst.height,
        "caution": CAUTION if torn else "",
        "findings": [_finding(finding, sitting) for finding in findings.values()],
        "rim_words": list(say_rim(verdict.rim, verdict.uncertainty, job)),
        "bowl_words": [say_sizes(verdict, job.units), say_hold(verdict, job.units)],
        "has_lean": verdict.rim.lean > verdict.uncertainty,
    }


def _wood(sitting: Sitting, _begun: Mounting) -> Told:
    return {"wood_words": list(spoken_blank(sitting.report.blank, sitting.units))}


def _balance(sitting: Sitting, _begun: Mounting) -> Told:
    return {"balance_words": [line for said in _if_any(lambda: balance_words(sitting)) for line in _by_press(said)]}


def _by_press(line: str) -> list[str]:
    """A line of the words on balance, without the job file's figures: here a press does it."""
    if line.startswith(("- foot_centre", "- rim_centre")):
        return []
    return [line.replace("In the job:", "The button Balance does it.")]


def _way(sitting: Sitting, begun: Mounting) -> Told:
    return {"way_words": _if_any(lambda: move_words(sitting, begun))}


SAID_AT_REST: tuple[Callable[[Sitting, Mounting], Told], ...] = (_balance, _way, _wood)
"""What takes longer to say than a check takes: how it turns on its axis, how its centres are moved, the wood."""


def _if_any(say: Callable[[], tuple[str, ...]]) -> list[str]:
    try:
        return list(say())
    except FormmakerError as error:
        return [str(error)]


def _after(headline: str, sentence: str) -> str:
    """The sentence without the words that the headline says already."""
    rest = sentence.removeprefix(headline.lower()).removeprefix(" as wished").lstrip(" ,:")
    return rest[:1].upper() + rest[1:]


def _finding(finding: Finding, sitting: Sitting) -> Told:
    job = sitting.report.job
    has_place = finding.theta is not None
    return {
        "text": finding.text + say_place_of(finding, job),
        "theta": finding.theta if has_place else None,
        "height": finding.height if has_place and finding.height is not None else 0.0,
        "good": finding.reason in GOOD_NEWS,
        "note": finding.reason is Reason.BLANK_NOTE,
    }


def _drawings(board: Board, window: Window) -> Told:
    sitting, picked = board.sitting, board.picked
    theta, height = picked.theta, picked.height
    cut = looking.half_section(sitting, theta)
    wood = looking.end_view(sitting, height)
    reach = reach_of(sitting)
    width, low, high = rim_window(sitting, board.rim_aspect)
    job = sitting.report.job
    where = f"at {say_angle(theta, job.index_count)}"
    return {
        "section_svg": section_drawing(sitting, cut, window, theta=theta, height=height),
        "section_box": window.box,
        "section_words": f"Half section {where}" + (", wood is wanting here" if cut.wanting else ""),
        "ring_svg": ring_drawing(sitting, wood, theta=theta, height=height, reach=reach),
        "ring_box": f"{-reach:.1f} {-reach:.1f} {2 * reach:.1f} {2 * reach:.1f}",
        "ring_words": f"From the rim, {say_height(height, job.units)}",
        "rim_svg": rim_drawing(sitting, theta=theta, height=height, aspect=board.rim_aspect),
        "rim_box": f"0 {-high:.1f} {width:.1f} {high - low:.1f}",
        "rim_per": width / (2.0 * math.pi),
        "picked_theta": theta,
        "picked_height": height,
        "picked_deg": round(degrees_round(theta), 1),
        "picked_words": f"{say_angle(theta, job.index_count)}, {say_height(height, job.units)}",
        "handles": _handles(board),
    }


def _handles(board: Board) -> list[Told]:
    form, units = board.sitting.report.job.form, board.sitting.units
    last = len(form.handles) - 1
    names = {0: "foot", last: "rim"}
    return [
        {
            "n": number,
            "x": round(float(radius), 3),
            "y": round(-float(height), 3),
            "corner": bool(form.corners[number]),
            "inner": 0 < number < last,
            "label": f"Handle {number + 1} of {last + 1}, {names.get(number, 'side')}: radius "
            f"{format_length(float(radius), units)}, height {format_length(float(height), units)}",
        }
        for number, (radius, height) in enumerate(form.handles.tolist())
    ]


def _form(sitting: Sitting) -> Told:
    job, verdict, units = sitting.report.job, sitting.report.verdict, sitting.units
    form, hold = job.form, job.hold
    walls = form.wall[:, 1]
    lengths = {
        "form.diameter": verdict.diameter,
        "form.height": form.height,
        "form.wall": float(walls[0]),
        "form.floor": form.floor,
        "form.lowest_rim": form.lowest_rim,
        "hold.diameter": hold.diameter,
        "hold.depth": hold.depth,
        "allowance.skin": job.skin,
        "mounting.foot_height": job.mounting.foot_height,
    }
    return {
        "fields": {key.replace(".", "_"): format_length(length, units) for key, length in lengths.items()},
        "exact": {key.replace(".", "_"): f"{length:.4f} mm" for key, length in lengths.items()},
        "wall_law": len(walls) > 1,
        "edge": form.edge.value,
        "hold_kind": hold.kind.value,
        "rim_end": job.mounting.rim_end.value,
        "profile_name": form.name,
        "title": job.title,
    }


def _marks(sitting: Sitting) -> Told:
    job = sitting.report.job
    form_from_blank = job.mounting.blank_from_form.inverse
    marks = []
    for number, mark in enumerate(sitting.report.blank.marks):
        x, y, z = (float(part) for part in form_from_blank.carry(mark.at))
        theta = math.atan2(y, x) % (2.0 * math.pi)
        where = f"{say_angle(theta, job.index_count)}, {say_height(z, job.units)}"
        marks.append(
            {"n": number, "name": mark.name, "kind": mark.kind.value, "theta": theta, "height": z, "where": where}
        )
    cuts = [say_cut(report, job.units) for report in sitting.report.blank.cuts]
    return {"marks": marks, "bark_share": _bark_share(sitting), "cuts": cuts}


def _bark_share(sitting: Sitting) -> bool:
    return bool((sitting.report.blank.face_kinds == FaceKind.NATURAL).any())


def _sitting(board: Board) -> Told:
    sitting = board.sitting
    return {
        "file_name": sitting.path.name,
        "units": sitting.units.value,
        "step": board.step,
        "can_undo": board.history.can_undo,
        "can_redo": board.history.can_redo,
        "is_saved": board.is_saved,
        "disk_changed": board.disk_changed,
        "shown": {name: name in board.shown for name in ("blank", "bowl", "ghost", "waste")},
        "move_words": _move_words(board),
        "index_count": sitting.report.job.index_count,
        "made": [{"words": words_for(path), "href": address_of(path, board.folder)} for path in board.made],
    }


def _move_words(board: Board) -> list[str]:
    """How far the centres stand from where they stood when the sitting began."""
    job = board.sitting.report.job
    foot, rim = said_move(board.begun, job.mounting)
    if max(foot[0], rim[0]) < 0.05:
        return ["The centres stand where they stood when this was opened."]
    return [
        f"The {name} centre has moved {format_length(far, job.units)} toward {say_angle(toward, job.index_count)}."
        if far >= 0.05
        else f"The {name} centre stands where it stood."
        for name, (far, toward) in (("foot", foot), ("rim", rim))
    ]
