"""The JSON answer has the keys, units and words that programs were promised."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from formmaker.files.verdict_json import verdict_to_json
from formmaker.model.verdict import RimLine, Verdict

KEYS = {
    "answer": None,
    "margin_mm": None,
    "uncertainty_mm": None,
    "worst": {"theta_deg", "radius_mm", "z_mm", "part"},
    "diameter_mm": None,
    "height_mm": None,
    "foot_mm": None,
    "rim": {
        "theta_deg",
        "height_mm",
        "kind",
        "lowest_mm",
        "highest_mm",
        "mean_mm",
        "lean_mm",
        "lean_toward_deg",
        "sway_mm",
        "highs",
        "lows",
    },
    "spin": {"z_mm", "core_mm", "ghost_mm"},
    "loose_pieces": {"volume_cm3", "theta_deg", "z_mm"},
    "weak_necks": {"area_cm2", "volume_cm3", "theta_deg", "z_mm"},
    "windows": {"area_cm2", "theta_deg", "z_mm"},
    "volume_cm3": {"blank", "bowl", "waste"},
    "hold": {"kind", "diameter_mm", "ratio", "findings"},
    "findings": {"code", "text", "part", "theta_deg", "z_mm", "amount_mm"},
}


def test_the_keys_are_those_promised(broken: Verdict) -> None:
    answer = verdict_to_json(broken)
    assert list(answer) == list(KEYS)
    for key, inner in KEYS.items():
        value = answer[key]
        if inner is not None:
            assert set(value[0] if isinstance(value, list) else value) == inner  # type: ignore[arg-type]


def test_the_figures_are_in_degrees_and_centimetres(broken: Verdict) -> None:
    answer = json.loads(json.dumps(verdict_to_json(broken), allow_nan=False))
    assert (answer["answer"], answer["margin_mm"]) == ("misses", -4.1)
    assert answer["worst"] == {"theta_deg": pytest.approx(214.0), "radius_mm": 50.0, "z_mm": 41.0, "part": "wall"}
    rim = answer["rim"]
    assert rim["theta_deg"] == pytest.approx([0.0, 90.0, 180.0, 270.0])
    assert rim["height_mm"] == pytest.approx([74.0, 72.0, 74.0, 60.0])
    assert (rim["lowest_mm"], rim["highest_mm"], rim["mean_mm"]) == pytest.approx((60.0, 74.0, 70.0))
    assert (rim["lean_mm"], rim["lean_toward_deg"], rim["sway_mm"]) == (6.0, 90.0, 4.0)
    assert rim["kind"] == ["natural", "natural", "sawn", "turned"]
    assert rim["lows"] == [{"theta_deg": 270.0, "height_mm": 60.0}]
    assert answer["loose_pieces"] == [{"volume_cm3": 2.5, "theta_deg": 180.0, "z_mm": 70.0}]
    assert answer["weak_necks"] == [{"area_cm2": 1.25, "volume_cm3": 12.0, "theta_deg": 270.0, "z_mm": 61.0}]
    assert answer["windows"][0]["area_cm2"] == 3.5
    assert answer["volume_cm3"] == {"blank": 3000.0, "bowl": 250.0, "waste": 2750.0}
    assert answer["findings"][0] == {
        "code": "weak neck",
        "text": "A part hangs by a neck.",
        "part": "rim",
        "theta_deg": 270.0,
        "z_mm": 61.0,
        "amount_mm": 12.5,
    }


def test_what_is_not_finite_is_null(broken: Verdict, rim: RimLine) -> None:
    blind = replace(rim, height=np.full(4, np.nan), lean=math.nan, lean_toward=math.inf)
    answer = json.loads(json.dumps(verdict_to_json(replace(broken, rim=blind, margin=-math.inf)), allow_nan=False))
    assert answer["margin_mm"] is None
    assert answer["spin"] == {"z_mm": [0.0, 80.0], "core_mm": [60.0, None], "ghost_mm": [100.0, None]}
    assert answer["rim"]["height_mm"] == [None] * 4
    assert [answer["rim"][key] for key in ("lowest_mm", "mean_mm", "lean_mm", "lean_toward_deg")] == [None] * 4
    assert answer["findings"][1]["amount_mm"] is None
    assert answer["findings"][1]["part"] is None


def test_angles_are_below_360(verdict: Verdict, rim: RimLine) -> None:
    turned = replace(rim, theta=rim.theta - 2 * np.pi, lean_toward=-1e-18)
    answer = verdict_to_json(replace(verdict, rim=turned))
    angles = [*answer["rim"]["theta_deg"], answer["rim"]["lean_toward_deg"]]  # type: ignore[index, misc]
    assert all(0.0 <= angle < 360.0 for angle in angles)
