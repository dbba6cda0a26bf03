"""A dynamic factor where the thrusts press the joint shut: what is worse without it, which a sudden load passes and settles at, is told.

Expected figures are worked out here: net thrust along the bolts k (p A_in − p A_out), annulus p (π G²/4 − A_in), tension over the
tensile area of the bolts.
"""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import Assessment, Finding, assess
from anchorsize.assessment.findings_support_data import FAILS_WITHOUT_FACTOR, LOUD, WORSE_WITHOUT_FACTOR
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.present.text import check_report
from anchorsize.studies.supports import compare

BORE, G = 0.100, 0.140  # m: bore, gasket reaction diameter
A = math.pi / 4 * BORE**2
P = 2e6  # Pa
ANNULUS = P * (math.pi / 4 * G**2 - A)  # 15.1 kN
BOLTS = 8 * 157e-6  # m², eight M16 (ISO 898-1)


def line(effective: float, allowed: float, factor: str = "dynamic_factor: 2, ", more: str = "") -> str:
    """A straight piece on the joint at its end; pressure pushes it there on its bore and at the other end on ``effective`` [m²].

    ``allowed`` [Pa] is the bolt tension; axial force on the bolts k p (A − effective), positive where it opens the joint.
    """
    return f"""
case_file: 1
title: Straight piece behind a bellows, district heating main (invented)
units: metric
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  header: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
  inlet:  {{center: [0.4, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}}
beyond: {{inlet: {{effective_area: {effective * 1e6:.9g} mm²}}}}
joints:
  header:
    at: header
    bolts: {{count: 8, size: M16, circle: 180 mm, class: "8.8"}}
    gasket: {{inside: 108 mm, outside: 162 mm, reaction_diameter: 140 mm}}
allow: {{bolt_tension: {allowed / 1e6:.9g} MPa, bolt_shear: 95 MPa}}
cases:
  trip surge: {{{factor}header: {{flow_in: 0 L/s, pressure: 20 bar}}, inlet: {{pressure: 20 bar}}}}
{more}"""


def stress(factor: float, effective: float) -> float:
    """Tension of every bolt over its tensile area [Pa], by hand."""
    return (factor * P * (A - effective) + ANNULUS) / BOLTS


def found(text: str) -> tuple[Assessment, list[Finding]]:
    judged = assess(parse_case(text, "t.yaml"))
    return judged, [each for each in judged.warnings if each.kind in (FAILS_WITHOUT_FACTOR, WORSE_WITHOUT_FACTOR)]


EFFECTIVE = A + 2e-3  # m²: 4 kN presses the joint shut at factor 1, 8 kN at 2


def test_what_fails_at_one_is_doubted_and_stands_at_the_verdict():
    allowed = 0.5 * (stress(2, EFFECTIVE) + stress(1, EFFECTIVE))
    judged, (finding,) = found(line(EFFECTIVE, allowed))
    assert judged.verdict == "holds"
    assert finding.kind == FAILS_WITHOUT_FACTOR
    assert finding.kind in LOUD
    assert (finding.case, finding.doubtful) == ("trip surge", True)
    one, two = stress(1, EFFECTIVE) / allowed, stress(2, EFFECTIVE) / allowed
    assert (
        "'trip surge' is judged at its dynamic factor 2; at 1, through which a sudden load passes and at which it settles, bolt tension of "
        f"'header' FAILS: utilization {one:.3g} in place of {two:.3g} (at joint 'header' that makes the axial demand "
        in finding.message
    )
    assert finding.message.endswith(". Write the case again without dynamic_factor.")
    said = " ".join(check_report(judged, 100).split())
    assert "HOLDS ON DOUBTFUL INPUT" in said
    assert "Doubtful input: in 'trip surge': 'trip surge' is judged at its dynamic factor 2" in said


def test_the_case_written_again_ends_the_telling():
    allowed = 0.5 * (stress(2, EFFECTIVE) + stress(1, EFFECTIVE))
    again = "  settled: {header: {flow_in: 0 L/s, pressure: 20 bar}, inlet: {pressure: 20 bar}}\n"
    judged, told = found(line(EFFECTIVE, allowed, more=again))
    assert judged.verdict == "fails"  # by the case that was asked for
    assert not told
    # a case that asks less of the joint does not stand in for it
    low = again.replace("20 bar", "10 bar")
    assert [each.kind for each in found(line(EFFECTIVE, allowed, more=low))[1]] == [FAILS_WITHOUT_FACTOR]


def test_what_holds_but_is_worse_at_one_is_told_plainly():
    allowed = 1.5 * stress(1, EFFECTIVE)
    judged, (finding,) = found(line(EFFECTIVE, allowed))
    assert (finding.kind, finding.case, finding.doubtful) == (WORSE_WITHOUT_FACTOR, "trip surge", False)
    one, two = stress(1, EFFECTIVE) / allowed, stress(2, EFFECTIVE) / allowed
    assert f"bolt tension of 'header' has a utilization of {one:.3g} in place of {two:.3g}" in finding.message
    assert not judged.doubtful
    # nor where it is of no account, half used or less
    assert not found(line(EFFECTIVE, 2.1 * stress(1, EFFECTIVE)))[1]


@pytest.mark.parametrize(("over", "told"), [(0.04, False), (0.06, True)])
def test_from_five_percent_more_on_it_is_told(over, told):
    """With p Δ the force that presses shut at 1, (annulus − p Δ) / (annulus − 2 p Δ) = 1 + over."""
    shut = ANNULUS * over / (1 + 2 * over)
    effective = A + shut / P
    assert stress(1, effective) / stress(2, effective) == pytest.approx(1 + over)
    assert bool(found(line(effective, 1.2 * stress(1, effective)))[1]) is told


def test_a_thrust_that_opens_the_joint_is_worst_at_the_factor_and_nothing_is_told():
    bore = math.pi / 4 * 0.080**2
    assert stress(2, bore) > stress(1, bore) > 0
    for allowed, verdict in ((1.1 * stress(2, bore), "holds"), (0.5 * (stress(1, bore) + stress(2, bore)), "fails")):
        text = "\n".join(each for each in line(A, allowed).splitlines() if not each.startswith("beyond"))
        text = text.replace("outward: [1, 0, 0], bore: 100 mm", "outward: [1, 0, 0], bore: 80 mm")
        judged, told = found(text)
        assert judged.verdict == verdict
        (check,) = (each for each in judged.cases["trip surge"].checks if each.check == "bolt tension")
        assert float(check.demand) == pytest.approx(stress(2, bore))
        assert not told


def test_nothing_is_told_without_a_factor():
    for factor in ("", "dynamic_factor: 1, "):
        for share in (0.9, 1.2):
            assert not found(line(EFFECTIVE, share * stress(1, EFFECTIVE), factor))[1]


@settings(max_examples=25, deadline=None)
@given(
    factor=st.floats(1.01, 20),
    pressure=st.floats(0.1, 40),
    turn=st.floats(-1, 1),
    bore=st.floats(40, 100),
    allowed=st.floats(1, 400),
)
def test_nothing_is_told_where_all_loads_grow_with_the_factor(factor, pressure, turn, bore, allowed):
    """No gasket, so no annulus, and no weights: every demand is the factor times that at 1."""
    text = f"""
case_file: 1
title: Weightless bend (invented)
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  header: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
  inlet:  {{center: [0.4, 0, 0.2 m], outward: [{turn:.6f}, 0, 0.5], bore: {bore:.6f} mm}}
joints:
  header: {{at: header, bolts: {{count: 8, size: M16, circle: 180 mm}}}}
allow: {{bolt_tension: {allowed:.6f} MPa, bolt_shear: {allowed:.6f} MPa}}
cases:
  trip: {{dynamic_factor: {factor:.6f}, header: {{flow_in: 0 L/s, pressure: {pressure:.6f} bar}}, inlet: {{pressure: {pressure:.6f} bar}}}}
"""
    assert not found(text)[1]


SUPPORTED = """
supports:
  bare: []
  guided:
    - {kind: guide, name: shoe, at: [0.2, 0, 0 m], toward: [0, 0, 1], stiffness: 1 MN/m, allow: {force: 50 kN}}
"""


@pytest.mark.parametrize(("share", "lead"), [(0.95, "Doubtful input: in 'trip surge': "), (1.5, "")])
def test_a_comparison_of_supports_tells_it(share, lead):
    """Once for all options: a guide across the bolts changes nothing along them."""
    text = line(EFFECTIVE, share * stress(1, EFFECTIVE)) + SUPPORTED
    text = text.replace("    bolts:", "    stiffness: rigid\n    bolts:")
    lines = verdict_lines(compare(parse_case(text, "t.yaml")))
    (told,) = (each for each in lines if "without dynamic_factor" in each)
    assert told.startswith(f"{lead}'trip surge' is judged at its dynamic factor 2; at 1, ")


def test_a_case_that_cannot_be_judged_at_one_is_doubted(monkeypatch):
    from anchorsize.assessment import StudyError, evaluation

    def refused(*_: object) -> None:
        raise StudyError("nothing holds it")

    monkeypatch.setattr(evaluation, "evaluate_case", refused)
    _, (finding,) = found(line(EFFECTIVE, 2 * stress(1, EFFECTIVE)))
    assert finding.doubtful
    assert "at which it settles, joints and supports cannot be judged: they may not hold. Write" in finding.message


def test_the_machine_output_has_it(tmp_path):
    path = tmp_path / "t.yaml"
    path.write_text(line(EFFECTIVE, 0.95 * stress(1, EFFECTIVE)))
    result = CliRunner().invoke(main, ["check", str(path), "--json"])
    (told,) = (each for each in json.loads(result.output)["warnings"] if each["kind"] == FAILS_WITHOUT_FACTOR)
    assert (told["case"], told["doubtful"]) == ("trip surge", True)
