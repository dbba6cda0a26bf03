"""What first-time users write, and what they must be told: the remedy, obeyed, gives what they meant."""

from __future__ import annotations

import math

import pytest

from anchorsize.assessment import assess
from anchorsize.assessment.asking import in_force
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.casefile.problems import KINDS
from anchorsize.present.report.worked import worked
from tests.casefile.test_broken_files import BASE
from tests.cases import ELBOW

GASKET = "    gasket: {inside: 115 mm, outside: 162 mm}"
TIGHT = f"{GASKET}\n    tightening: {{torque: 90 N*m, nut_factor: 0.18"
IS_UNIT = "(is this unit right?)"


def said(old: str, new: str) -> list[str]:
    assert old in BASE
    with pytest.raises(CaseFileError) as caught:
        parse_case(BASE.replace(old, new, 1), "f")
    assert {problem.kind for problem in caught.value.problems} <= set(KINDS)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("old", "new", "lines"),
    [
        (
            "pressure: 100 kPa}",
            "pressure: 1,800 kPa}",
            ["26: cases / run / inlet / pressure: '1,800 kPa' is not a pressure (a comma in a number; write '1800 kPa' or '1.8 kPa', whichever is meant, without a comma)"],
        ),
        (
            "pressure: 100 kPa}",
            "pressure: 1,85 bar}",
            ["26: cases / run / inlet / pressure: '1,85 bar' is not a pressure (a comma in a number; write '1.85 bar', with a decimal point)"],
        ),
        ("count: 8,", "count: 8 bolts,", ["19: joints / main / bolts / count: '8 bolts' is not a whole number from 1 to 400 (write 8)"]),
        ('class: "8.8"', "missing: 3", ["19: joints / main / bolts / missing: '3' stands where a list is expected (write [3])"]),
        (
            "size: M16",
            "size: M16x60",
            ["19: joints / main / bolts / size: 'M16x60' names a bolt with its length, 60, where its thread is wanted (write M16)"],
        ),
        (GASKET, f"{TIGHT}, scatter: 25}}", ["21: joints / main / tightening / scatter: '25' must be less than 100 % (write 25 %)"]),
        (GASKET, TIGHT.replace("0.18", "1.8}"), [f"21: joints / main / tightening / nut_factor: '1.8' is more than 1 {IS_UNIT}"]),
        (GASKET, f"{GASKET}\n    grip: 42 m", [f"21: joints / main / grip: '42 m' is more than 5000 mm {IS_UNIT}"]),
        (GASKET, f"{GASKET}\n    bolt_modulus: 205 MPa", [f"21: joints / main / bolt_modulus: '205 MPa' is less than 1 GPa {IS_UNIT}"]),
        ("162 mm}", "162 mm, modulus: 500 kPa}", [f"20: joints / main / gasket / modulus: '500 kPa' is less than 1 MPa {IS_UNIT}"]),
        (
            "outlet: free_jet",
            "outlet: {pressure: 95 kPa, flow_in: 10 L/s}",
            ["25: cases / run: the flows of 'inlet', 'outlet' do not balance: 19.98 kg/s (20 L/s) more in than out (did you mean flow_out at 'outlet'? Or leave out the flow that is least certain; it is solved)"],
        ),
        (
            "  run:\n",
            "  run:\n    temperature: 60 degC\n",
            ["26: cases / run / temperature: unknown key 'temperature' in a case (the fluid is the file's, the same in every case: write it under fluid, or judge the case in a file of its own)"],
        ),
        (
            "  - {name: rope, force: [0, 10, 0 N], at: [0.1, 0, 0 m]}\n",
            "  name: rope\n  force: [0, 10, 0 N]\n  at: [0.1, 0, 0 m]\n",
            ["32: external: a mapping stands where a list is expected (start each entry with a dash: - {name: …, force: …, at: …})"],
        ),
        (
            "at: [0.1, 0, 0 m]}",
            "at: [289, 0, 289 m]}",
            ["32: external / 1 / at: lies 408.6 m from the nearest opening of a fitting that is 200 mm across (is this unit right? In a list, the unit after the last number goes for all three)"],
        ),
        (
            "mass_center: [0.1, 0, 0 m]",
            "mass_center: [850, 0, 0 m]",
            ["8: fitting / mass_center: lies 849.8 m from the nearest opening of a fitting that is 200 mm across (is this unit right? In a list, the unit after the last number goes for all three)"],
        ),
        (
            "external:",
            "supports:\n  one: [{kind: rest, name: R, at: [0.1, 0, -60 m], stiffness: 40 MN/m}]\nexternal:",
            ["32: supports / one / 1 / at: lies 60 m from the nearest opening of a fitting that is 200 mm across (is this unit right? In a list, the unit after the last number goes for all three)"],
        ),
        (
            "pressure: 100 kPa}",
            "pressure: -1.05 bar}",
            ["26: cases / run / inlet / pressure: '-1.05 bar' lies below absolute vacuum with an ambient pressure of 101.325 kPa (pressures are gauge; see absolute_pressure; write ambient where it is higher)"],
        ),
        ("    outlet: capped", "    outlet: capped\n    dynamic_factor: 0.15", ["31: cases / stop / dynamic_factor: '0.15' must not be less than 1 (write the whole factor, 1 or more, such as 1.5; leave it out for none)"]),
        ("    outlet: capped", "    outlet: capped\n    dynamic_faktor: 1.5", ["31: cases / stop / dynamic_faktor: 'dynamic_faktor' is neither an opening nor a key of a case (did you mean 'dynamic_factor'?)"]),
        (
            "inlet: {flow_in: 0 L/s, pressure: 100 kPa}\n    outlet: capped",
            "inlet: free_jet\n    outlet: {flow_in: 0 L/s, pressure: 0 kPa}",
            ["29: cases / stop / inlet: an opening with a joint cannot be a free jet (the pipe that joint 'main' holds to is there: write its pressure, 0 where it is drained)"],
        ),
        (GASKET, f"{GASKET}\n    face_friction: 15", ["21: joints / main / face_friction: '15' is more than 1 (write for example 0.15 or 15 %)"]),
        (
            "external:",
            "sizing: {joint: main, sizes: [M16]}\nexternal:",
            ["31: sizing / joint: unknown key 'joint' (write sizing under the joint that it is for: joints / NAME / sizing)"],
        ),
    ],
)  # fmt: skip
def test_the_remedy_is_said(old, new, lines):
    assert said(old, new) == [f"f:{line}" for line in lines]


def test_a_nut_factor_is_found_by_its_letter():
    assert any("did you mean 'nut_factor'?" in line for line in said(GASKET, TIGHT.replace("nut_factor", "K") + "}"))


def test_a_temperature_without_unit_is_the_only_complaint():
    """Flange rating, wave speed and losses all follow from it; nothing is said of what is not known."""
    flange = "    gasket: {inside: 115 mm, outside: 160 mm}\n    flange: {designation: EN 1092-1 PN 16 DN 100, rating: from table}"
    pipe = "surge: {stopped_flow: 3 L/s, pipe: {inside: 1 m, wall: 1 mm, modulus: 200 GPa, poisson: 0.3, anchoring: throughout}}"
    text = BASE.replace("15 degC", "15").replace(GASKET, flange)
    text = text.replace("pressure: 100 kPa}\n    outlet: capped", f"pressure: 100 kPa, {pipe}}}\n    outlet: capped")
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    assert [problem.kind for problem in caught.value.problems] == ["no_unit"]


def test_generous_bounds_take_what_there_is():
    """Nylon bolts, a soft rubber ring, a long through-bolt, rusted threads, a load at the end of a long arm."""
    text = BASE.replace("162 mm}", "162 mm, thickness: 5 mm, modulus: 2 MPa}")
    text = text.replace(GASKET.split(",")[0], f"    grip: 2.5 m\n    bolt_modulus: 2.5 GPa\n{GASKET.split(',')[0]}")
    text = text.replace("at: [0.1, 0, 0 m]}", "at: [0.1, 0, 15 m]}")
    assert parse_case(text, "f").joints["main"].grip == 2.5


def test_the_velocity_of_a_surge_is_that_in_its_pipe_and_is_told():
    """12 L/s in 159.3 mm is 0.602 m/s; ρ a Δv by hand, and p A of the pipe, not of the opening, in the leg."""
    pipe = "{inside: 159.3 mm, wall: 4.5 mm, modulus: 200 GPa, poisson: 0.3, anchoring: throughout}"
    text = ELBOW.replace("1000 kg/m^3", "1000 kg/m^3, bulk_modulus: 2.2 GPa").replace(
        "flow_in: 0 L/s, pressure: 60 kPa",
        f"flow_in: 0 L/s, pressure: 60 kPa, surge: {{stopped_flow: 12 L/s, pipe: {pipe}}}",
    )
    judged = assess(parse_case(text, "f"))
    area = math.pi / 4 * 0.1593**2
    speed = float(judged.study.cases["stopped"].states["inlet"].surge.wave_speed)
    rise = 1000 * speed * 0.012 / area
    assert float(judged.cases["stopped"].openings["inlet"].surge_rise) == pytest.approx(rise, rel=1e-9)
    words = " ".join(str(judged).split())
    assert "Surge at inlet: 12.00 L/s stopped, 0.6021 m/s in the pipe of 159.3 mm, wave speed" in words
    leg = next(w.message for w in judged.warnings if w.kind == "wave in a leg")
    assert f"{rise * area / 1e3:.2f}"[:4] in leg


def test_the_report_works_a_surge_out_with_the_pipe_that_it_runs_in():
    pipe = "{inside: 159.3 mm, wall: 4.5 mm, modulus: 200 GPa, poisson: 0.3, anchoring: throughout}"
    text = ELBOW.replace("1000 kg/m^3", "1000 kg/m^3, bulk_modulus: 2.2 GPa").replace(
        "flow_in: 0 L/s, pressure: 60 kPa",
        f"flow_in: 0 L/s, pressure: 60 kPa, surge: {{stopped_flow: 12 L/s, pipe: {pipe}}}",
    )
    steps = [step for part in worked(assess(parse_case(text, "f"))).cases["stopped"] for step in part.steps]
    stopped = next(step for step in steps if step.name.startswith("Velocity that is stopped"))
    assert stopped.result.value == pytest.approx(0.012 / (math.pi / 4 * 0.1593**2), rel=1e-6)


def test_places_of_a_file_without_a_usable_opening_are_left_alone():
    found = said("    bore: 100 mm\n  outlet: {center: [0.2, 0, 0 m], outward: [1, 0, 0], bore: 50 mm}\n", "")
    assert not any("lies" in line for line in found)
    shape = BASE[: BASE.index("openings:")] + "openings: {}\n" + BASE[BASE.index("joints:") :]
    with pytest.raises(CaseFileError, match="no opening at all"):
        parse_case(shape.replace("[0.1, 0, 0 m]", "[300, 0, 0 m]"), "f")


def test_room_for_a_wrench_is_looked_up_for_each_joint_by_its_own_bolts():
    """M30 at one flange and M16 at the other: each needs what it needs in a file of its own."""
    text = ELBOW.replace("bolt_shear: 95 MPa", "bolt_shear: 95 MPa, bolt_spacing_least: from table")
    text = text[: text.index("  stopped:")].replace("outlet: free_jet", "outlet: {pressure: 50 kPa}")
    small = text[text.index("  main:") : text.index("allow:")]
    big = small.replace("size: M16, circle: 160", "size: M30, circle: 240")

    def wanted(joints: str) -> dict[str, float]:
        study = parse_case(text.replace(small, joints), "f")
        return {
            name: float(in_force(study, one, study.cases["run"]).bolt_spacing_least.value)
            for name, one in study.joints.items()
        }

    both = wanted(big + small.replace("main:", "other:").replace("at: inlet", "at: outlet"))
    assert both == {"main": wanted(big)["main"], "other": wanted(small)["main"]}
    assert both["main"] > both["other"] > 0.016
    own = "    allow: {bolt_spacing_least: 50 mm}\n"
    assert wanted(small + own)["main"] == pytest.approx(0.05)
