"""A proof in a few lines: what three independent methods found, side by side, and what each cost in truth.

It chooses words only; every figure comes from the proof, in the job's units.
"""

from collections.abc import Iterator, Sequence

from formmaker.files.spoken import say_angle, say_height, wrapped
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.model.proof import Proof, ProofMethod, Reduction, WoodFigures
from formmaker.tolerances import DEFAULT
from formmaker.units import Units, format_fine, format_length, format_volume

_METHODS = {
    ProofMethod.FIELD: "distance grid",
    ProofMethod.MESH: "mesh boolean",
    ProofMethod.SOLID: "solid kernel",
}

_COUNTED = {
    HoldKind.GLUE_BLOCK: "bowl",
    HoldKind.TENON: "bowl with its tenon",
    HoldKind.RECESS: "bowl less its recess",
}
"""What the volumes of a proof are of; those of a check leave the holding out."""

_COLUMN = 22

_NAMED_PIECES = 3  # pieces of missing wood that are named one by one; the largest come first


def spoken_proof(proof: Proof, job: Job) -> str:
    """Say a proof to a turner.

    Parameters
    ----------
    proof : Proof
    job : Job
        For its units and index positions.

    Returns
    -------
    str
        Lines without a line break at the end.
    """
    lines = [
        f"{job.title}: the same question put to independent methods.",
        *_table(proof, job),
        *wrapped(_remarks(proof, job)),
    ]
    return "\n".join(lines)


def _table(proof: Proof, job: Job) -> Iterator[str]:
    yield f"  {'':<14}{_COUNTED[job.hold.kind]:>{_COLUMN}}{'wood missing':>16}"
    for figures in proof.figures:
        bowl, missing = format_volume(figures.bowl, job.units), format_volume(figures.missing, job.units)
        yield f"  {_METHODS[figures.method]:<14}{bowl:>{_COLUMN}}{missing:>16}"


def _remarks(proof: Proof, job: Job) -> Iterator[str]:
    yield from _disagreements(proof)
    yield (
        f"The bowl volumes differ by at most {100.0 * proof.spread:.2g} % of the whole form "
        f"({format_volume(proof.form_volume, job.units)})."
    )
    for figures in proof.figures:
        if figures.method is ProofMethod.SOLID:
            yield from _pieces(figures, job)
    if proof.reduction is not None:
        yield _say_reduction(proof.reduction, job.units)
    if proof.loose_volume > 0.0:
        yield (
            f"Pieces of {format_volume(proof.loose_volume, job.units)} hang on nothing; the finished bowl is "
            "written without them."
        )


def _disagreements(proof: Proof) -> Iterator[str]:
    """What the reader must not overlook: the methods do not say the same."""
    missed = proof.missed_by(DEFAULT.min_loose_volume)
    sound = [figures.method for figures in proof.figures if figures.method not in missed]
    if missed and sound:
        yield (
            f"They do not agree: wood is missing by the {_named(missed)}, none by the {_named(sound)}. This is no "
            "proof."
        )
    if not proof.spread <= DEFAULT.proof_spread:
        yield (
            f"They do not agree on the bowl's volume to within {100.0 * DEFAULT.proof_spread:g} % of the form: take "
            "none of these volumes as proved."
        )


def _named(methods: Sequence[ProofMethod]) -> str:
    return " and the ".join(_METHODS[method] for method in methods)


def _pieces(figures: WoodFigures, job: Job) -> Iterator[str]:
    """Where the wood is missing, the largest places first."""
    for piece in figures.pieces[:_NAMED_PIECES]:
        yield (
            f"- {format_volume(piece.volume, job.units)} missing about {say_angle(piece.theta, job.index_count)}, "
            f"{say_height(piece.height, job.units)}, {format_length(piece.radius, job.units)} from the axis."
        )
    left = len(figures.pieces) - _NAMED_PIECES
    if left > 0:
        yield f"- and {left} smaller {'place' if left == 1 else 'places'}."


def _say_reduction(reduction: Reduction, units: Units) -> str:
    return (
        f"For the solid kernel the wood round the form, {reduction.faces_before} triangles, was brought down to "
        f"{reduction.faces_after}; the two skins are at most {format_fine(reduction.farthest, units)} apart "
        f"({format_fine(reduction.rms, units)} in the root mean square)."
    )
