"""A gasket whose face opens at the least preload seals nothing there, however much clamp is left on the rest of it."""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.cli import main
from tests.cases import ELBOW

# Invented: a long arm whose bending opens the face while most of the clamp is still there.
TIGHT = (
    "    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}\n"
    "    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}\n"
    "    grip: 44 mm\n    bolt_modulus: 205 GPa\n    face_friction: 0.15\n"
)
JOINT = ELBOW.replace("count: 4, size: M16, circle: 160 mm", "count: 8, size: M16, circle: 180 mm").replace(
    "45 deg}\n", "45 deg}\n" + TIGHT, 1
)
LEAST = 0.7 * 0.9 * 90 / (0.2 * 0.016)  # T/(K d), less scatter and relaxation
CLAMP = 8 * LEAST


def bent(moment: float) -> str:
    return (
        JOINT
        + f"external:\n  - {{name: arm, force: [0, 0, 0 N], moment: [0, {moment:.6g}, 0 kN*m], at: [0, 0, 0 m]}}\n"
    )


def checks_of(text: str) -> dict:
    return {each.check: each for each in assess(parse_case(text, "t.yaml")).cases["run"].checks}


def opening_moment() -> float:
    """Bending at which a ring under its clamp first opens: F (Do² + Di²)/(8 Do), in kN·m."""
    return CLAMP * (0.162**2 + 0.115**2) / (8 * 0.162) / 1e3


@pytest.mark.parametrize("known", [True, False], ids=["stiffness known", "bound"])
def test_no_clamp_counts_where_the_face_opens(known):
    text = bent(8.0 * opening_moment())  # with the stiffness known the bolts take some 70 % of it
    if not known:
        text = text.replace(", thickness: 2 mm, modulus: 500 MPa", "")
    checks = checks_of(text)
    assert not checks["joint lift-off"].holds
    service = checks["gasket in service"]
    assert float(service.demand) > 0
    assert float(service.allowable) == 0.0
    assert math.isinf(float(service.utilization))
    assert not service.holds
    assert service.allowable_from == "no clamp counted: the face may open (joint lift-off)"


def test_a_closed_face_counts_its_clamp():
    checks = checks_of(bent(0.2 * opening_moment()))
    assert checks["joint lift-off"].holds
    service = checks["gasket in service"]
    assert service.holds
    assert float(service.allowable) > 0.8 * CLAMP
    assert service.allowable_from == "clamp left at the least preload"


def test_the_limit_of_the_seal_is_that_of_the_opening(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(bent(0.2 * opening_moment()), encoding="utf-8")
    ran = CliRunner().invoke(main, ["limits", str(path), "--json"])
    assert ran.exit_code in (0, 1, 3), ran.output
    rows = {each["check"]: each for each in json.loads(ran.output)["cases"]["run"]["checks"]}
    opens = rows["joint lift-off"]["flow"]["intervals"][0]["to_m3_s"]
    assert rows["gasket in service"]["flow"]["intervals"][0]["to_m3_s"] == pytest.approx(opens, rel=1e-6)
