"""What tightening may do to a bolt: bolts without proof strength, breaking, pull and twist together. Cases invented."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from anchorsize import CaseFileError, assess, parse_case
from tests.support_cases import on_one_line, printed

CASE = """\
case_file: 1
title: blank on a hose manifold (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings: {inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
joints:
  main:
    at: inlet
    bolts: {count: 8, size: 3/4 in, circle: 190 mm, GRADE}
    gasket: {inside: 115 mm, outside: 158 mm, thickness: 2 mm, modulus: 500 MPa}
    tightening: {TIGHT}
    grip: 44 mm
    bolt_modulus: 205 GPa
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 1000 kPa}}
"""
AREA = 0.3345 * 25.4**2  # mm², tensile stress area of 3/4-10, ASME B1.1
UNIT_LOAD = 1.0 * math.pi / 4 * 100.0**2  # N, 10 bar on the bore


def case(grade: str = 'class: "A307 B"', tight: str = "preload: 60 kN") -> str:
    return CASE.replace("GRADE", grade).replace("TIGHT", tight)


def checks(text: str) -> dict[str, float]:
    found = assess(parse_case(text, "t")).cases["shut"].checks
    return {check.check: float(check.utilization) for check in found}


def twists(text: str) -> list[str]:
    return [
        warning.message for warning in assess(parse_case(text, "t")).warnings if warning.kind == "twist of tightening"
    ]


# -- a strength to tighten against ------------------------------------------------------------------------------------


def test_bolts_without_proof_and_yield_strength_leave_a_tightened_joint_not_fully_judged(tmp_path: Path):
    """A307 B has a tensile strength alone (ASTM A307): nothing says how far it may be tightened."""
    code, told = on_one_line(tmp_path, case(), "check")
    assert code == 3
    assert "HOLDS: all" not in told
    assert (
        "bolt proof of 'main' (needed for this job): supply bolts / class with a proof or yield strength: A307 B has none"
        in told
    )
    assert "A307 B has none; only against breaking" in told
    assert printed(tmp_path, case(), "boltup", "-o", str(tmp_path / "s.html"))[0] == 3


def test_such_bolts_fail_where_tightening_and_load_would_tear_them(tmp_path: Path):
    """Preload a little under the tensile strength of 60 ksi, and the share of the load over it; the share by springs in series.

    Bolts: EA/L of 8 over the grip; gasket: EA/t of the ring.
    """
    tensile = 414.0 * AREA  # N; 60 ksi in whole MPa
    preload = 0.995 * tensile
    bolts = 8 * 205e3 * AREA / 44.0
    ring = 500.0 * math.pi / 4 * (158.0**2 - 115.0**2) / 2.0
    outer = 158.0  # no m and y are given: reaction where the pressure acts out to is found by the tool below
    text = case(tight=f"preload: {preload / 1000:.4f} kN")
    judged = assess(parse_case(text, "t"))
    pulls = float(judged.cases["shut"].joints["main"].axial_demand)
    assert UNIT_LOAD < pulls < math.pi / 4 * outer**2
    use = (preload + pulls / 8 * bolts / (bolts + ring)) / tensile
    assert use > 1.0
    assert checks(text)["bolt breaking"] == pytest.approx(
        use, rel=2e-4
    )  # areas and strength are printed to four digits
    code, told = on_one_line(tmp_path, text, "check")
    assert code == 1
    assert "bolt breaking of joint 'main'" in told


@pytest.mark.parametrize("grade", ['class: "A193 B7"', 'class: "SAE J429 5"', "proof_strength: 250 MPa"])
def test_bolts_with_a_strength_to_tighten_against_are_judged_by_it_alone(grade):
    found = checks(case(grade))
    assert "bolt breaking" not in found
    strength = {"B7": 105.0 * 6.894757, "J429": 85.0 * 6.894757, "proof": 250.0}  # MPa: ASTM A193, SAE J429, the file
    given = next(value for key, value in strength.items() if key in grade)
    assert found["bolt proof"] * given * AREA == pytest.approx(60e3, rel=0.05)
    assert found["bolt proof"] * given * AREA > 60e3


def test_a_tightened_joint_of_bolts_of_no_class_is_not_fully_judged(tmp_path: Path):
    code, told = on_one_line(tmp_path, case("first_at: 0 deg"), "check")
    assert code == 3
    assert "bolt proof of 'main' (needed for this job): supply bolts / class, for its proof strength" in told
    loose = re.sub(r"    tightening: .*\n", "", case("first_at: 0 deg"))
    assert on_one_line(tmp_path, loose, "check")[0] == 0


@pytest.mark.parametrize(
    ("grade", "message"),
    [
        (
            'class: "SAE J429 5", proof_strength: 600 MPa',
            "class SAE J429 5 has a proof strength of 586 MPa in the tables",
        ),
        ('class: "A307 B", proof_strength: 500 MPa', "more than the tensile strength of the class (at most 414 MPa)"),
        ("proof_strength: 250 kN", "proof_strength"),
    ],
)
def test_a_proof_strength_that_cannot_be(grade, message):
    with pytest.raises(CaseFileError) as refused:
        parse_case(case(grade), "t")
    (problem,) = refused.value.problems
    assert problem.line == 8
    assert message in str(problem)


def test_what_is_left_of_the_proof_strength_in_service_goes_beside_the_class():
    """SAE J429 grade 5, 1/4 to 1 in: proof 85 ksi, 586 MPa; 400 MPa of it left in service is what tightening and loads may bring."""
    cold, hot = (
        checks(case(f'class: "SAE J429 5"{given}'))["bolt proof"] for given in ("", ", proof_strength: 400 MPa")
    )
    assert hot / cold == pytest.approx(586 / 400, rel=1e-6)


def test_sizing_takes_no_class_that_cannot_be_tightened_against_anything(tmp_path: Path):
    text = case('class: "A193 B7"')
    code, out = printed(tmp_path, text, "size", "--classes", "A193 B7,A307 B", "--json")
    assert code == 0
    found = json.loads(out)
    assert {each["class"] for each in found["ranked"]} == {"A193 B7"}
    assert "class A307 B has neither proof nor yield strength" in out
    assert on_one_line(tmp_path, text, "size", "--classes", "A307 B")[0] == 1


def test_a_proof_strength_of_the_file_goes_with_every_size_of_its_class(tmp_path: Path):
    code, out = printed(tmp_path, case("proof_strength: 250 MPa"), "size", "--sizes", "5/8 in,3/4 in", "--json")
    assert code in (0, 1)
    found = json.loads(out)
    assert found["ranked"] or found["misses"]
    assert "bolt proof" not in json.dumps(found["not_checked"])


def test_the_report_works_the_breaking_of_a_bolt_out(tmp_path: Path):
    page = tmp_path / "r.md"
    code, _ = printed(tmp_path, case(), "report", "-o", str(page), "--no-limits", "--full")
    assert code == 3
    text = page.read_text()
    assert "bolt breaking" in text
    assert "tensile strength of class A307 B" in text


# -- pull and twist ---------------------------------------------------------------------------------------------------

M16 = 157.0  # mm², ISO 898-1 as printed
YIELD = 640.0  # MPa of 8.8 up to M16, ISO 898-1


def equivalent(pull: float, twist: float, area: float) -> float:
    """√(σ² + 3τ²) [MPa] with τ = 12 M/(π d0³), VDI 2230 Part 1 (from memory); pull [N], twist [N·mm], area [mm²]."""
    across = math.sqrt(4 * area / math.pi)
    return math.sqrt((pull / area) ** 2 + 3 * (12 * twist / (math.pi * across**3)) ** 2)


def test_pull_and_twist_over_nine_tenths_of_yield_are_told_though_proof_holds():
    """M16 8.8, 212 N·m at K = 0.2: 66.25 kN, 86.125 kN at 30 % scatter; half of the torque twists. Proof is 580 MPa (ISO 898-1)."""
    text = case('class: "8.8"', "torque: 212 N*m, nut_factor: 0.2, scatter: 30 %").replace("3/4 in", "M16")
    stress = equivalent(86.125e3, 106e3, M16)
    assert 0.9 * YIELD < stress < YIELD
    assert checks(text)["bolt proof"] < 1.0
    (told,) = twists(text)
    assert f"{stress:.1f} MPa" in told.replace(",", "")
    assert f"{stress / YIELD:.0%} of its yield strength" in told
    assert not twists(text.replace("torque: 212", "torque: 200"))
    assert equivalent(81.25e3, 100e3, M16) < 0.9 * YIELD


def test_with_friction_given_the_thread_takes_its_own_share():
    """Thread alone: F (0.159 P + 0.577 d2 μ), VDI 2230 short form; without friction in the face it has all of the torque."""
    friction = "thread_friction: 0.12, bearing_friction: 0.000001, bearing_diameter: 20 mm"
    twist_of = 0.159 * 2.0 + 0.577 * 14.701 * 0.12  # mm, M16: P 2, d2 14.701 (ISO 724)
    pull = 0.9 * YIELD * M16 / math.sqrt(1 + 3 * (12 * twist_of * M16 / (math.pi * (4 * M16 / math.pi) ** 1.5)) ** 2)
    for share, said in ((0.98, 0), (1.02, 1)):
        torque = share * pull * twist_of / 1000
        text = case('class: "8.8"', f"torque: {torque:.3f} N*m, {friction}").replace("3/4 in", "M16")
        assert len(twists(text)) == said


def test_a_preload_without_any_torque_twists_nothing():
    text = case('class: "8.8"', "preload: 85 kN").replace("3/4 in", "M16")
    assert checks(text)["bolt proof"] < 1.0
    assert equivalent(85e3, 0.0, M16) < 0.9 * YIELD
    assert not twists(text)


# -- a line that is not anchored ---------------------------------------------------------------------------------------


def test_a_line_not_anchored_pulls_with_the_dynamic_factor_as_a_cap_does():
    """What the finding says of an end not anchored is what the fitting carries with that end capped."""
    elbow = """\
case_file: 1
title: elbow before a shut hose valve (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  hose: {center: [0.2, 0, -0.2 m], outward: [0, 0, -1], bore: 80 mm}
joints:
  main: {at: inlet, bolts: {count: 8, size: M16, circle: 180 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  slam: {dynamic_factor: 2, inlet: {flow_in: 0 L/s, pressure: 600 kPa}, hose: END}
"""
    open_ended = assess(parse_case(elbow.replace("END", "{exit: connected, pressure: 600 kPa}"), "t"))
    capped = assess(parse_case(elbow.replace("END", "capped"), "t"))
    pull = 2 * 0.6 * math.pi / 4 * 80.0**2  # N
    (told,) = [each.message for each in open_ended.warnings if each.kind == "closed end not anchored"]
    assert f"p·A × the dynamic factor 2 = {pull:.0f} N" in told.replace(",", "")
    from anchorsize.studies.boltup import boltup

    (end,) = boltup(open_ended).ends
    assert end.then.size == pytest.approx(float(sum(capped.cases["slam"].reaction_force ** 2)) ** 0.5, rel=1e-9)
    assert end.pull.size == pytest.approx(pull, rel=1e-9)


# -- twist is told where the torque is given --------------------------------------------------------------------------


TWISTED = 'class: "8.8"', "torque: 212 N*m, nut_factor: 0.2, scatter: 30 %"
TIGHT = 'class: "8.8"', "torque: 150 N*m, target_torque: 212 N*m, nut_factor: 0.2, scatter: 30 %"


def m16(words: tuple[str, str]) -> str:
    return case(*words).replace("3/4 in", "M16")


def test_the_twist_stands_beside_the_verdict_wherever_the_torque_is_given(tmp_path: Path):
    share = equivalent(86.125e3, 106e3, M16) / YIELD
    words = f"by pull and twist together, at the greatest preload: {share:.0%} of its yield strength"
    for command in (["check"], ["check", "--brief"]):
        assert words in on_one_line(tmp_path, m16(TWISTED), *command)[1].split("On site")[0]
    page = tmp_path / "s.html"
    assert words in on_one_line(tmp_path, m16(TWISTED), "boltup", "-o", str(page))[1]
    said = " ".join(re.sub("<[^>]*>", " ", page.read_text()).split())
    assert words in said
    assert said.index(words) < said.index("Judged for (at")
    assert "keeps it from stretching" in said  # not cut off
    calm = m16(('class: "8.8"', TWISTED[1].replace("212", "150")))
    assert "pull and twist together, at" not in on_one_line(tmp_path, calm, "check", "--brief")[1]


def test_the_twist_is_told_of_the_torque_that_the_output_gives(tmp_path: Path):
    (told,) = twists(m16(TIGHT))
    assert "the torque of the target brings every bolt to up to" in told
    (told,) = twists(
        m16(('class: "8.8"', TIGHT[1].replace("150", "212").replace("target_torque: 212", "target_torque: 150")))
    )
    assert "the torque as found brought every bolt to up to" in told
    page = tmp_path / "s.html"
    for words in ((), ("--repaired",)):
        printed(tmp_path, m16(TIGHT), "boltup", "--force", "-o", str(page), *words)
        said = " ".join(re.sub("<[^>]*>", " ", page.read_text()).split())
        assert ("the torque given brings every bolt" if words else "the torque of the target brings every bolt") in said
    tight = TIGHT[1].replace("torque: 150 N*m", "torque: 230 N*m", 1)
    held = m16(('class: "8.8"', tight)).replace("modulus: 500 MPa}", "modulus: 500 MPa, condition: in_place}")
    assert [("as found" in each, "target" in each) for each in twists(held)] == [(True, False)]


def test_a_window_says_from_which_torque_pull_and_twist_are_too_much(tmp_path: Path):
    """The stress of 212 N·m in proportion to the torque: 90 % of yield at 212 × 0.9 × 640 over it, below the end by bolt proof."""
    at = 212.0 * 0.9 * YIELD / equivalent(86.125e3, 106e3, M16)
    limited = "bolt_shear: 95 MPa", "bolt_shear: 95 MPa, gasket_pressure_greatest: 900 MPa"
    text = m16(TWISTED).replace(*limited)
    _, out = printed(tmp_path, text, "check", "--json")
    found = json.loads(out)["tightening"]["main"]
    assert found["torque_twisted_Nm"] == pytest.approx(at, rel=1e-3)  # area and yield strength as printed
    assert found["torque_twisted_Nm"] < found["torque_greatest_Nm"]
    assert found["greatest_by"].startswith("bolt proof")
    shown = f"OVER {found['torque_twisted_Nm']:.1f} N·m"
    assert f"{shown} pull and twist pass 90% of yield" in on_one_line(tmp_path, text, "check", "--brief")[1]
    page = tmp_path / "s.html"
    printed(tmp_path, text, "boltup", "-o", str(page))
    assert shown in " ".join(re.sub("<[^>]*>", " ", page.read_text()).split())
    crushed = text.replace("900 MPa", "40 MPa")
    found = json.loads(printed(tmp_path, crushed, "check", "--json")[1])["tightening"]["main"]
    assert found["greatest_by"].startswith("gasket crushing")
    assert found["torque_twisted_Nm"] is None
