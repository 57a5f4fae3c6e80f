"""Every error of ours is a `FormmakerError` and the built-in that fits it, and a file's faults stay apart."""

import inspect

import pytest

from formmaker import errors
from formmaker.errors import Fault, FormError, FormmakerError, JobFileError

BUILT_IN = {
    "BlankError": ValueError,
    "FormError": ValueError,
    "MountingError": ValueError,
    "OffCurveError": ValueError,
    "LatheError": ValueError,
    "MeasureError": ValueError,
    "JobFileError": ValueError,
    "OutputError": OSError,
    "KernelError": RuntimeError,
}


def test_every_error_is_ours_and_a_built_in_one() -> None:
    ours = dict(inspect.getmembers(errors, inspect.isclass))
    raised = {name: kind for name, kind in ours.items() if issubclass(kind, Exception)}
    raised.pop("FormmakerError")
    assert set(raised) == set(BUILT_IN)
    for name, kind in raised.items():
        assert issubclass(kind, FormmakerError)
        assert issubclass(kind, BUILT_IN[name])


def test_an_output_error_says_its_sentence_alone() -> None:
    assert str(errors.OutputError("x cannot be written")) == "x cannot be written"


def test_a_form_error_keeps_its_place() -> None:
    error = FormError("too thin", radius=60.0, height=41.5)
    assert (str(error), error.radius, error.height) == ("too thin", 60.0, 41.5)


def test_faults_are_one_line_each_and_name_their_file() -> None:
    faults = (Fault(key="a.b", value="3", expected="a text"), Fault(key="c", value='"x"', expected="a number"))
    with pytest.raises(JobFileError) as caught:
        raise JobFileError("job.toml", faults)
    assert str(caught.value).splitlines() == [
        "job.toml: a.b = 3: expected a text",
        'job.toml: c = "x": expected a number',
    ]
    assert (caught.value.path, caught.value.faults) == ("job.toml", faults)
