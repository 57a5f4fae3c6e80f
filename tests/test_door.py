"""The door of the package: what it shows is there, in order, and costs nothing that is slow."""

import json
import subprocess
import sys

import pytest

import formmaker
from formmaker import errors

SLOW = {"cadquery", "OCP", "vtk", "vtkmodules", "trimesh", "numba", "manifold3d", "ezdxf", "svgwrite"}


@pytest.mark.parametrize("name", formmaker.__all__)
def test_a_public_name_is_there_and_tells_what_it_is(name: str) -> None:
    assert getattr(formmaker, name).__doc__


def test_public_names_stand_once_each_in_order() -> None:
    assert list(formmaker.__all__) == sorted(set(formmaker.__all__))


def test_every_error_that_is_raised_on_purpose_stands_at_the_door() -> None:
    raised = {name for name, kind in vars(errors).items() if isinstance(kind, type) and issubclass(kind, Exception)}
    assert raised <= set(formmaker.__all__)


def test_the_door_loads_no_slow_library() -> None:
    told = "import json, sys, formmaker; print(json.dumps(sorted({name.partition('.')[0] for name in sys.modules})))"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    modules = set(json.loads(done.stdout))
    assert "formmaker" in modules  # the listing is the right one
    assert modules & (SLOW | {"scipy", "shapely"}) == set()
