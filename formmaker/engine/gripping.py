"""A holding beside its bowl and its chuck: sizes, how it is gripped, and what that leaves.

Which wood it stands in is asked in ``seating``, what it has to bear in ``holding_strength``.
"""

import math
from collections.abc import Iterator

import shapely

from formmaker.engine.holding import floor_left, ring_left
from formmaker.engine.preparation import PreparedForm
from formmaker.geometry.curves import polyline
from formmaker.model.chuck import UNKNOWN_CHUCK, Chuck
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.holding import Grip, GripWay, HoldCode, HoldPoint, Sizes
from formmaker.model.lathe import Lathe
from formmaker.model.thread import Thread
from formmaker.units import MM_PER_INCH, Units, format_length

LEAST_TENON = MM_PER_INCH / 8.0
"""Shortest tenon, in sound wood alone, mm; 1/4 in is usual (common practice, no source)."""

LEAST_SHOULDER = 3.0
"""A narrower ring hardly seats on the jaws, mm (ours, no source)."""

OFF_CIRCLE = 0.10
"""Farther from the jaws' true circle they bear on their corners or their middles alone (ours, no source)."""

LEAST_LEFT = 5.0
"""Wood wanted between screws and glue line, and beyond a thread, mm (ours, no source)."""


def sizes_of(prepared: PreparedForm) -> Sizes:
    """The holding beside its bowl."""
    hold, form = prepared.hold, prepared.form
    low, high = (0.0, hold.depth) if hold.kind is HoldKind.RECESS else (-hold.depth, 0.0)
    inner = shapely.LineString(polyline(prepared.section.inner))
    glued = math.pi * glued_radius(prepared) ** 2 if hold.kind is HoldKind.GLUE_BLOCK else None
    return Sizes(
        bowl=2.0 * prepared.radius,
        foot=2.0 * form.foot_radius,
        shoulder=ring_left(prepared),
        floor_left=floor_left(hold, form),
        inside=float(shapely.distance(shapely.box(0.0, low, hold.radius, high), inner)),
        glued=glued,
    )


def glued_radius(prepared: PreparedForm) -> float:
    """Radius that holds the finished bowl: the holding's, but never more than the foot's, mm."""
    return min(prepared.hold.radius, prepared.form.foot_radius)


def grip_of(hold: Hold, chuck: Chuck, lathe: Lathe) -> Grip:
    """How a holding goes on the spindle.

    Parameters
    ----------
    hold : Hold
    chuck : Chuck
        With screws it is a faceplate. A block with neither screws nor jaws is taken to be screwed on by a thread cut
        in it, where a thread is known.
    lathe : Lathe
    """
    way = _way(hold.kind, chuck, lathe)
    ends = {GripWay.CLOSING: chuck.closes_on, GripWay.OPENING: chuck.opens_in}.get(way)
    high = chuck.jaw_height
    is_gripped = way in {GripWay.CLOSING, GripWay.OPENING} and high is not None
    length = min(hold.depth, high) if is_gripped and high is not None else hold.depth
    is_in_jaws = way is GripWay.CLOSING and hold.kind is HoldKind.TENON and high is not None
    below = high - hold.depth if is_in_jaws and high is not None else None
    return Grip(way=way, ends=ends, length=length, below=below)


def _way(kind: HoldKind, chuck: Chuck, lathe: Lathe) -> GripWay:
    has_jaws = chuck.closes_on is not None or chuck.true_circle is not None
    if kind is HoldKind.RECESS:
        return GripWay.UNKNOWN if chuck.opens_in is None else GripWay.OPENING
    if kind is HoldKind.TENON:
        return GripWay.CLOSING if has_jaws or chuck.jaw_height is not None else GripWay.UNKNOWN
    if chuck.screws is not None:
        return GripWay.SCREWS
    if has_jaws:
        return GripWay.CLOSING
    return GripWay.UNKNOWN if spindle_thread(chuck, lathe) is None else GripWay.THREAD


def spindle_thread(chuck: Chuck, lathe: Lathe) -> Thread | None:
    """The thread that something goes on the spindle by: the lathe's own, else the chuck's."""
    return lathe.thread or chuck.thread


def grip_points(hold: Hold, grip: Grip, chuck: Chuck, lathe: Lathe, units: Units) -> Iterator[HoldPoint]:
    """Say what is to be minded of a holding on its chuck, in the job's units."""
    if lathe.thread is not None and chuck.thread is not None and not lathe.thread.fits(chuck.thread):
        text = (
            f"The chuck's thread {chuck.thread.text} does not go on the spindle's {lathe.thread.text} without an "
            "adapter."
        )
        yield HoldPoint(code=HoldCode.THREAD, text=text, hinders=True)
    if grip.way is GripWay.UNKNOWN:
        yield _unknown(hold, chuck)
    elif grip.way is GripWay.SCREWS:
        yield from _screw_points(hold, chuck.screws or 0.0, units)
    elif grip.way is GripWay.THREAD:
        yield from _thread_points(hold, spindle_thread(chuck, lathe), units)
    elif hold.kind is HoldKind.GLUE_BLOCK:
        yield from _block_in_jaws(hold, grip, chuck, units)
    else:
        yield from _jaw_points(hold, grip, chuck, units)


def length_points(hold: Hold, shoulder: float, units: Units) -> Iterator[HoldPoint]:
    """Say where a tenon is short, or its shoulder narrow."""
    if hold.kind is not HoldKind.TENON:
        return
    if not hold.depth >= LEAST_TENON:
        text = (
            f"The tenon is {format_length(hold.depth, units)} long; common practice is about "
            f"{format_length(2.0 * LEAST_TENON, units)}, and {format_length(LEAST_TENON, units)} in sound wood."
        )
        yield HoldPoint(code=HoldCode.DEPTH, text=text)
    if 0.0 <= shoulder < LEAST_SHOULDER:
        text = (
            f"The shoulder is only {format_length(shoulder, units)} wide: it is what seats on the jaws and keeps the "
            "bowl from rocking."
        )
        yield HoldPoint(code=HoldCode.SHOULDER, text=text, hinders=not shoulder > 0.0)


def _unknown(hold: Hold, chuck: Chuck) -> HoldPoint:
    missing = {
        HoldKind.TENON: "closes_on, true_circle and jaw_height",
        HoldKind.RECESS: "opens_in and jaw_height",
        HoldKind.GLUE_BLOCK: "screws, closes_on or thread",
    }[hold.kind]
    said = "The job has no [chuck]" if chuck == UNKNOWN_CHUCK else "The [chuck] of the job lacks what is asked here"
    text = f"{said}: give {missing}, and what the {hold.kind.value} goes on is compared with it."
    return HoldPoint(code=HoldCode.CHUCK, text=text)


def _jaw_points(hold: Hold, grip: Grip, chuck: Chuck, units: Units) -> Iterator[HoldPoint]:
    """A tenon or a recess in jaws: range, true circle, bottom."""
    verb = "close on" if grip.way is GripWay.CLOSING else "open in"
    size = format_length(hold.diameter, units)
    if grip.ends is not None and not grip.ends[0] <= hold.diameter <= grip.ends[1]:
        low, high = (format_length(end, units) for end in grip.ends)
        text = f"The jaws {verb} {low} to {high}: not on this {hold.kind.value} of {size}."
        yield HoldPoint(
            code=HoldCode.JAWS, text=text.replace("not on", "not in" if verb == "open in" else "not on"), hinders=True
        )
    circle = chuck.true_circle
    if grip.way is GripWay.CLOSING and circle is not None and abs(hold.diameter / circle - 1.0) > OFF_CIRCLE:
        bear = "their corners" if hold.diameter > circle else "their middles"
        text = (
            f"The jaws make a true circle at {format_length(circle, units)}: on {size} they bear on {bear} and mark "
            "the wood. Common practice keeps near the circle."
        )
        yield HoldPoint(code=HoldCode.CIRCLE, text=text)
    if grip.below is not None and not grip.below > 0.0:
        text = (
            f"The tenon is {format_length(hold.depth, units)} long and the jaws are "
            f"{format_length(chuck.jaw_height or 0.0, units)} high: it meets the bottom of the chuck before its "
            "shoulder seats. Make it shorter."
        )
        yield HoldPoint(code=HoldCode.BOTTOM, text=text, hinders=True)


def _block_in_jaws(hold: Hold, grip: Grip, chuck: Chuck, units: Units) -> Iterator[HoldPoint]:
    """A block is turned to suit the jaws, so only one that is too small for them hinders."""
    size = format_length(hold.diameter, units)
    if grip.ends is not None:
        low, high = (format_length(end, units) for end in grip.ends)
        if not hold.diameter >= grip.ends[0]:
            text = f"The jaws close on {low} to {high}: the block of {size} is too small for them."
            yield HoldPoint(code=HoldCode.JAWS, text=text, hinders=True)
            return
        if hold.diameter > grip.ends[1]:
            text = f"The jaws close on {low} to {high}: turn a tenon of that size on the block of {size}."
            yield HoldPoint(code=HoldCode.JAWS, text=text)
            return
    if chuck.jaw_height is not None and hold.depth >= chuck.jaw_height:
        text = (
            f"The block is thicker than the jaws are high ({format_length(chuck.jaw_height, units)}): turn a tenon "
            "with a shoulder on it, shorter than that, so that it does not rest on the bottom of the chuck."
        )
        yield HoldPoint(code=HoldCode.BOTTOM, text=text)


def _screw_points(hold: Hold, screws: float, units: Units) -> Iterator[HoldPoint]:
    left = hold.depth - screws
    said = f"The screws of the faceplate go {format_length(screws, units)} into the block of "
    said += format_length(hold.depth, units)
    if hold.kind is HoldKind.GLUE_BLOCK and not left > 0.0:
        text = f"{said}: they would come through to the bowl. Use shorter screws or a thicker block."
        yield HoldPoint(code=HoldCode.SCREWS, text=text, hinders=True)
    elif left < LEAST_LEFT:
        text = f"{said}: only {format_length(left, units)} of block is left over them."
        yield HoldPoint(code=HoldCode.SCREWS, text=text)


def _thread_points(hold: Hold, thread: Thread | None, units: Units) -> Iterator[HoldPoint]:
    if thread is None:
        return
    wall = (hold.diameter - thread.diameter) / 2.0
    if not wall > 0.0:
        text = f"The thread {thread.text} is wider than the block of {format_length(hold.diameter, units)}."
        yield HoldPoint(code=HoldCode.THREAD, text=text, hinders=True)
    elif wall < thread.diameter / 2.0:
        text = (
            f"Only {format_length(wall, units)} of block is left round the thread {thread.text}; half the thread's "
            "width is little enough (ours, no source)."
        )
        yield HoldPoint(code=HoldCode.THREAD, text=text)
    if hold.depth < thread.diameter + LEAST_LEFT:
        text = (
            f"The block is {format_length(hold.depth, units)} thick; a thread {thread.text} cut in wood wants at "
            f"least its own width, {format_length(thread.diameter, units)}, of it (common practice, from memory), "
            "and wood beyond it."
        )
        yield HoldPoint(code=HoldCode.BLOCK, text=text)
