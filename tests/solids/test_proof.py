"""A bowl proved three ways: against quadrature over angles, against itself, and when the kernel goes wrong."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker.engine.section import build_section, section_volume
from formmaker.errors import KernelError
from formmaker.geometry.curves import points_on, slopes_on
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.mounting import Mounting
from formmaker.model.proof import ProofMethod, WoodFigures
from formmaker.model.section import Section
from formmaker.model.shapes import HalfLog, Round, Shape
from formmaker.sources.shapes import shape_mesh

SCANS = Path(__file__).parents[3] / "shared" / "data"

pytestmark = pytest.mark.kernel

BLOCK = Hold(kind=HoldKind.GLUE_BLOCK, diameter=60, depth=20)
NO_FIELD = WoodFigures(method=ProofMethod.FIELD, bowl=0.0, missing=0.0)
LOG = HalfLog(radius=100, length=320)


def bowl(*handles: tuple[float, float], edge: Edge = Edge.NATURAL, cornered: bool = False) -> Section:
    outer = np.array(handles, dtype=float)
    height = float(outer[-1, 1])
    form = Form(
        handles=outer,
        corners=np.full(len(outer), cornered),
        wall=np.array([[0.0, 8.0]]),
        floor=10.0,
        edge=edge,
        lowest_rim=height,
    )
    return build_section(form)


def upright(foot: tuple[float, float, float], zero: tuple[float, float, float] = (1, 0, 0)) -> Mounting:
    base = np.array(foot, dtype=float)
    return Mounting(foot_centre=base, rim_centre=base + np.array([0, 0, 50]), zero=np.array(zero, dtype=float))


def blank_of(mesh: Mesh, source: BlankSource) -> Blank:
    count = len(mesh.faces)
    return Blank(
        mesh=mesh, face_kinds=np.zeros(count), face_patches=np.full(count, -1), uncertainty=0.0, source=source
    )


def ask(
    shape: Shape | None, mesh: Mesh, mounting: Mounting, section: Section, needed: float, hold: Hold = BLOCK
) -> object:
    from formmaker.solids.proof import Question

    return Question(
        blank=blank_of(mesh, BlankSource.SHAPE if shape else BlankSource.SCAN),
        shape=shape,
        mounting=mounting,
        section=section,
        hold=hold,
        needed_height=needed,
        field=NO_FIELD,
    )


def said_nothing(_: str) -> None:
    return None


def wood_in_half_log(section: Section, foot: float, top: float, *, radius: float) -> float:
    """Volume up to ``top`` of a bowl in a half log with its axis upright through the pith: areas along both curves.

    A disc of radius r at height z is wood between two lines, sqrt(R^2 - z^2) to either side of the pith.
    """
    total = 0.0
    for curve, sign in ((section.outer, 1), (section.inner, -1)):
        t = (np.arange(40000) + 0.5) / 40000 * len(curve.pieces)
        r, z = points_on(curve, t).T
        steps = slopes_on(curve, t)[:, 1] * len(curve.pieces) / 40000
        half = np.sqrt(radius**2 - (z + foot) ** 2)
        total += sign * float((disc_area(r, half) * steps)[z < top].sum())
    return total


def disc_area(r: np.ndarray, half: np.ndarray) -> np.ndarray:
    """Area of a disc of radius r between two lines ``half`` to either side of its middle."""
    half = np.minimum(r, half)
    return 2 * (half * np.sqrt(r * r - half * half) + r * r * np.arcsin(half / r))


OPEN_BOWL = bowl((45, 0), (75, 25), (95, 60), (100, 85))


def test_bowl_volumes_of_mesh_and_kernel_agree_with_layers_and_rings() -> None:
    from formmaker.solids.proof import prove

    exact = wood_in_half_log(OPEN_BOWL, 5.0, 85.0, radius=100)
    proved = prove(ask(LOG, shape_mesh(LOG), upright((0, 0, 5)), OPEN_BOWL, 40.0), say=said_nothing)
    _, mesh, solid = proved.proof.figures
    assert 0.3 < exact / proved.proof.form_volume < 0.9
    assert solid.bowl == pytest.approx(exact, rel=1e-4)
    # 0.1 % is asked; the log's facets stand up to 0.004 mm inside its skin, the form's 0.01 mm off its curve
    assert mesh.bowl == pytest.approx(exact, rel=5e-4)
    assert proved.proof.reduction is None


def test_missing_wood_is_found_on_both_sides_of_the_log_and_only_below_the_lowest_rim() -> None:
    from formmaker.solids.proof import prove

    needed = 70.0
    wood, whole = (wood_in_half_log(OPEN_BOWL, 5.0, needed, radius=radius) for radius in (100, 1e6))
    question = ask(LOG, shape_mesh(LOG), upright((0, 0, 5), zero=(0, 1, 0)), OPEN_BOWL, needed)
    for figure in prove(question, say=said_nothing).proof.figures[1:]:
        assert figure.missing == pytest.approx(whole - wood, rel=2e-3)
        assert len(figure.pieces) == 2
        # zero lies across the log, so that the low sides are at 0 and at half a turn
        found = sorted(math.cos(piece.theta) for piece in figure.pieces)
        assert found == pytest.approx([-1, 1], abs=1e-3)
        assert all(piece.height < needed for piece in figure.pieces)


@pytest.mark.parametrize("kind", list(HoldKind))
def test_a_turned_bowl_in_a_round_is_all_wood_with_its_holding(kind: HoldKind) -> None:
    from formmaker.solids.proof import prove

    section = bowl((40, 0), (70, 20), (90, 50), edge=Edge.TURNED)
    shape, hold = Round(diameter=220, thickness=80), Hold(kind=kind, diameter=60, depth=5)
    own = {HoldKind.GLUE_BLOCK: 0, HoldKind.TENON: 1, HoldKind.RECESS: -1}[kind] * math.pi * 30**2 * 5
    question = ask(shape, shape_mesh(shape), upright((0, 0, 12)), section, 50.0, hold)
    proof = prove(question, say=said_nothing).proof
    whole = section_volume(section) + own
    assert proof.form_volume == pytest.approx(whole, rel=1e-6)
    for figure, near in zip(proof.figures[1:], (5e-4, 1e-6), strict=True):
        assert figure.bowl == pytest.approx(whole, rel=near)
        assert figure.missing == pytest.approx(0.0, abs=1.0)
        assert figure.pieces == ()


def test_a_scan_is_reduced_and_still_gives_the_bowl_within_a_thousandth() -> None:
    from formmaker.solids.proof import prove

    path = SCANS / "butt_half_log.stl"
    if not path.exists():
        pytest.skip("no shared scan butt_half_log.stl beside the project")
    scan = trimesh.load(path)
    scan.merge_vertices()
    mesh = Mesh(vertices=scan.vertices, faces=scan.faces)
    # the scan's sawn face is x = 4, its log stands along z
    mounting = Mounting(
        foot_centre=np.array([8, 0, 200]), rim_centre=np.array([60, 0, 200]), zero=np.array([0, 0, 1])
    )
    said: list[str] = []
    # straight pieces: the kernel meets cones sooner than turned splines
    section = bowl((40, 0), (62, 20), (75, 70), cornered=True)
    question = ask(None, mesh, mounting, section, 50.0)
    proof = prove(question, say=said.append, faces=500).proof
    _, by_mesh, by_solid = proof.figures
    assert by_mesh.bowl > 0.5 * proof.form_volume
    assert by_solid.bowl == pytest.approx(by_mesh.bowl, rel=1e-3)
    assert proof.reduction.faces_before < len(mesh.faces)  # the wood round the form alone
    assert proof.reduction.faces_after <= 500
    assert any(f"reduced from {proof.reduction.faces_before} to" in line for line in said)


def test_form_and_blank_apart_have_no_bowl() -> None:
    from formmaker.solids.proof import prove

    proved = prove(ask(LOG, shape_mesh(LOG), upright((0, 0, 500)), OPEN_BOWL, 85.0), say=said_nothing)
    for figure in proved.proof.figures[1:]:
        assert figure.bowl == 0.0
        assert figure.missing == pytest.approx(section_volume(OPEN_BOWL), rel=5e-4)
    assert len(proved.bowl_mesh.faces) == 0


def faulty(volumes: tuple[float, float], shape: object) -> Callable[..., object]:
    from formmaker.solids.kernel import Parting

    calls: list[float] = []

    def part_once(_first: object, _second: object, fuzz: float, _accuracy: float) -> object:
        calls.append(fuzz)
        return Parting(common=shape, rest=shape, common_volume=volumes[0], rest_volume=volumes[1])

    part_once.calls = calls
    return part_once


@pytest.mark.parametrize(
    ("volumes", "word"),
    [((9000.0, 0.0), "at most"), ((-500.0, 1500.0), "at most"), ((300.0, 300.0), "parts come to")],
)
def test_a_kernel_result_that_cannot_be_is_tried_once_more_and_then_refused(
    monkeypatch: pytest.MonkeyPatch, volumes: tuple[float, float], word: str
) -> None:
    import cadquery as cq

    from formmaker.solids import kernel

    cube = cq.Solid.makeBox(10, 10, 10)
    wrong = faulty(volumes, cube)
    monkeypatch.setattr(kernel, "_part_once", wrong)
    with pytest.raises(KernelError, match=word):
        kernel.parted(cube, cq.Solid.makeBox(20, 20, 20))
    assert wrong.calls == [0.0, kernel.FUZZ]
