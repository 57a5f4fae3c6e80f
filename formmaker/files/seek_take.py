"""Writing the size of a choice into the text of a job: diameter, height, lowest rim, holding, nothing else.

Its mounting is written by ``pipeline.moving``, as every move is.
"""

from formmaker.files.job_edit import with_values, written_length
from formmaker.model.choices import Choice
from formmaker.model.form import Edge
from formmaker.model.job import Job


def taken(text: str, choice: Choice, job: Job) -> str:
    """Write the size of a choice into the text (TOML) of a job that says ``job``."""
    form, hold = choice.form, choice.hold
    lengths = {"form.diameter": choice.verdict.diameter, "form.height": form.height}
    if form.edge is Edge.NATURAL:
        lengths["form.lowest_rim"] = form.lowest_rim
    if hold != job.hold:
        lengths["hold.diameter"] = hold.diameter
    return with_values(text, {key: written_length(length, job.units) for key, length in lengths.items()})
