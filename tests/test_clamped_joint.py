"""The tightened joint judged whole: closed forms, scipy as a second opinion on first opening, and the code's gasket loads by hand."""

from __future__ import annotations

import json
import math
import re

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.optimize import brentq

from anchorsize import CaseFileError, StudyError, assess, parse_case
from anchorsize.cli import main
from anchorsize.mechanics.contact import solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus
from tests.cases import BLANK_FLANGE, ELBOW

TIGHT = (
    "    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}\n"
    "    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}\n"
    "    grip: 44 mm\n    bolt_modulus: 205 GPa\n    face_friction: 0.15\n"
)
BLANK = BLANK_FLANGE.replace("    gasket: {inside: 115 mm, outside: 162 mm}\n", TIGHT).replace(
    "22.5 deg}", '22.5 deg, class: "8.8"}'
)
BENT = (
    ELBOW.replace("count: 4, size: M16, circle: 160 mm", "count: 8, size: M16, circle: 180 mm")
    .replace("45 deg}\n", "45 deg}\n" + TIGHT, 1)
    .replace("allow: {", "allow: {gasket_pressure_greatest: 60 MPa, ")
)


def joint_of(text, case):
    return assess(parse_case(text, "t.yaml")).cases[case].joints["main"]


def checks_of(text, case):
    return {c.check: c for c in assess(parse_case(text, "t.yaml")).cases[case].checks}


def test_preload_range_by_hand():
    clamped = joint_of(BLANK, "test").clamping
    mean = 90 / (0.2 * 0.016)  # T = K D F
    assert clamped.mean == pytest.approx(np.full(8, mean))
    assert clamped.greatest == pytest.approx(np.full(8, 1.3 * mean))
    assert clamped.least == pytest.approx(np.full(8, 0.7 * 0.9 * mean))


def test_a_closed_joint_shares_a_centered_load_by_c():
    joint = joint_of(BLANK, "test")
    k_bolt = 205e9 * joint.clamping.stiff.bolts[0] / (205e9)
    # stud over 44 mm on the stress area of 157 mm² (ISO 898-1)
    assert joint.clamping.stiff.bolts[0] == pytest.approx(205e9 * 157e-6 / 0.044, rel=2e-3)
    face = 500e6 / 2e-3 * math.pi / 4 * (0.162**2 - 0.115**2)
    share = 8 * k_bolt / (8 * k_bolt + face)
    added = joint.service.tension - joint.clamping.mean
    assert added == pytest.approx(np.full(8, share * float(joint.axial_demand) / 8), rel=1e-9)
    assert float(joint.clamping.stiff.load_factor) == pytest.approx(share, rel=1e-12)


@pytest.mark.parametrize(
    ("pressure", "torque"),
    [
        ("60 kPa", "90 N*m"),
        ("600 kPa", "90 N*m"),
        ("5 MPa", "90 N*m"),
        ("2 MPa", "[90, 90, 60, 40, 40, 60, 90, 90 N*m]"),
    ],
)
def test_lift_off_use_is_where_the_solved_face_first_opens(pressure, torque):
    """scipy's brentq on the solved least pressure, as the load grows, against the closed form; even and uneven torques."""
    text = BENT.replace("pressure: 60 kPa}, outlet: free_jet", f"pressure: {pressure}}}, outlet: free_jet")
    text = text.replace("torque: 90 N*m", f"torque: {torque}")
    joint = joint_of(text, "run")
    stiff, bolts = joint.clamping.stiff, parse_case(text, "t").joints["main"].bolts
    load = (float(joint.axial_demand), float(joint.bending1), float(joint.bending2))

    def least_pressure(scale):
        scaled = (scale * part for part in load)
        face = Annulus(0.115, 0.162)
        found = solve_preloaded_joint(*scaled, bolts.xy, stiff.bolts, joint.clamping.least, face, stiff.modulus)
        return float(found.pressure_min) - 1.0  # 1 Pa above zero, where the slope is still that of the closed face

    high = 1.0
    while least_pressure(high) > 0:
        high *= 2
    opens_at = brentq(least_pressure, 0, high, xtol=1e-13, rtol=1e-13)
    assert 1 / float(joint.service.lift_off_use) == pytest.approx(opens_at, rel=1e-5)  # 1 Pa of some 10 MPa


def test_gasket_loads_of_the_code_by_hand():
    checks, joint = checks_of(BLANK, "test"), joint_of(BLANK, "test")
    width = 0.5 * math.sqrt(11.75 / 25.4) * 0.0254  # b, App. 2 Table 2-5.2, b0 = 11.75 mm
    diameter = 0.162 - 2 * width
    assert float(checks["gasket seating"].demand) == pytest.approx(math.pi * width * diameter * 11e6, rel=1e-9)
    assert float(checks["gasket in service"].demand) == pytest.approx(
        2 * width * math.pi * diameter * 2 * 1e6, rel=1e-9
    )
    assert float(checks["gasket seating"].allowable) == pytest.approx(joint.clamping.least.sum())


def test_proof_takes_the_greatest_preload_and_the_added_load():
    check, joint = checks_of(BLANK, "test")["bolt proof"], joint_of(BLANK, "test")
    assert float(check.allowable) == 580e6  # ISO 898-1 Table 3, 8.8 up to M16
    share = float(joint.clamping.stiff.load_factor) * float(joint.axial_demand) / 8
    assert float(check.demand) == pytest.approx((1.3 * 28125 + share) / 157e-6, rel=3e-3)


def test_without_stiffness_the_bounds_stand_in_and_say_so():
    text = BENT.replace("    bolt_modulus: 205 GPa\n", "")
    joint = joint_of(text, "run")
    assert joint.service.tension is None
    assert joint.service.tension_bound == pytest.approx(joint.clamping.greatest + np.maximum(joint.external_tension, 0))
    assert float(joint.service.clamp_bound) == pytest.approx(joint.clamping.least.sum() - float(joint.axial_demand))
    assert "bound" in checks_of(text, "run")["joint lift-off"].source
    solved = joint_of(BENT, "run").service
    assert np.all(joint.service.tension_bound >= solved.tension_greatest)
    assert float(joint.service.clamp_bound) <= float(solved.clamp_least)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("nut_factor: 0.2, ", "", "a torque gives no preload by itself"),
        ("torque: 90 N*m", "torque: 900 N*m", "it would break while being tightened"),
    ],
)
def test_impossible_tightening_is_refused_in_words(old, new, says):
    with pytest.raises((StudyError, CaseFileError), match=says):
        assess(parse_case(BLANK.replace(old, new), "t.yaml"))


def test_a_torque_without_friction_is_refused_at_its_line_with_the_table_to_look_in():
    with pytest.raises(CaseFileError, match=r"t.yaml:11: .* / torque: .*`anchorsize table nut_factors`"):
        parse_case(BLANK.replace("nut_factor: 0.2, ", ""), "t.yaml")


def test_json_and_report_carry_the_service_state(tmp_path):
    path = tmp_path / "t.yaml"
    path.write_text(BENT)
    data = json.loads(CliRunner().invoke(main, ["check", str(path), "--json"]).output)["cases"]["run"]["joints"]["main"]
    assert data["bolts"][0]["service_tension_N"] == pytest.approx(float(joint_of(BENT, "run").service.tension[0]))
    assert {"clamp_N", "pressure_min_Pa", "pressure_max_Pa", "lift_off"} <= data["face"].keys()
    text = CliRunner().invoke(main, ["check", str(path), "--width", "80"]).output
    assert "service" in text
    assert "Face at the least preload" in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_torque_window_ends_where_the_checks_say():
    from anchorsize.studies.torque import window

    found = window(parse_case(BLANK, "t.yaml"), "main")
    checks = checks_of(BLANK, "test")
    # seating goes with 1/torque; the greatest preload goes with the torque, the load's share does not
    assert found.least == pytest.approx(max(float(checks["gasket seating"].utilization), found.least), rel=1e-12)
    for multiple, names in ((found.least, [found.least_by]), (found.greatest, [found.greatest_by])):
        text = BLANK.replace("torque: 90 N*m", f"torque: {90 * multiple!r} N*m")
        used = {f"{name} in 'test'": float(check.utilization) for name, check in checks_of(text, "test").items()}
        assert [used[name] for name in names] == pytest.approx([1.0], rel=1e-9)


def test_no_torque_is_said_where_none_would_do():
    from anchorsize.studies.torque import window

    text = BLANK.replace("y: 11 MPa", "y: 60 MPa").replace('class: "8.8"', 'class: "4.6"')
    found = window(parse_case(text, "t.yaml"), "main")
    assert not found.exists


def test_one_bolt_lost_agrees_with_leaving_each_out_by_hand(tmp_path):
    from anchorsize.studies.lost_bolt import one_lost

    study = parse_case(BENT, "t.yaml")
    for row in one_lost(study, "main"):
        text = BENT.replace("first_at: 45 deg", f"first_at: 45 deg, missing: [{row.bolt}]")
        single = assess(parse_case(text, "t.yaml"))
        assert row.utilization == pytest.approx(float(single.governing[1].utilization), rel=1e-9)
        assert row.check == single.governing[1].check
        assert row.verdict == single.verdict
        assert row.holds == (single.verdict == "holds")
    path = tmp_path / "t.yaml"
    path.write_text(BENT)
    data = json.loads(CliRunner().invoke(main, ["check", str(path), "--json", "--one-lost", "--without", "2"]).output)
    assert len(data["one_bolt_lost"]) == 7
    assert [bolt["number"] for bolt in data["cases"]["run"]["joints"]["main"]["bolts"]] == [1, 3, 4, 5, 6, 7, 8]
    wrong = CliRunner().invoke(main, ["check", str(path), "--without", "9"])
    assert wrong.exit_code == 2
    assert "its bolts are 1 to 8" in wrong.stderr


def test_fatigue_and_stripping_by_hand():
    text = BENT.replace(
        "gasket_pressure_greatest",
        "endurance_limit: 40 MPa, bolt_thread_shear: 400 MPa, nut_thread_shear: 300 MPa, gasket_pressure_greatest",
    )
    text = text.replace("first_at: 45 deg}", 'first_at: 45 deg, class: "8.8"}').replace(
        "    grip", "    thread_engagement: 14 mm\n    cycles_between: [run, stopped]\n    grip"
    )
    result = assess(parse_case(text, "t.yaml"))
    one, two = (result.cases[name].joints["main"].service.tension_greatest / 157e-6 for name in ("run", "stopped"))
    swing, low = np.abs(one - two) / 2, np.minimum(one, two)
    # Goodman with the least stress held: Sa = Se (Sut − σmin)/(Sut + Se), Shigley section 8-11
    used = np.max(swing / (40e6 * (800e6 - low) / (800e6 + 40e6)))
    checks = {c.check: c for c in result.cases["stopped"].checks}
    assert float(checks["bolt fatigue"].utilization) == pytest.approx(used, rel=5e-3)
    d, pitch = 0.016, 0.002
    d2, d1 = d - 0.649519 * pitch, d - 1.082532 * pitch  # ISO 724
    bolt = math.pi * d1 * 0.014 / pitch * (pitch / 2 + (d2 - d1) * math.tan(math.radians(30)))
    nut = math.pi * d * 0.014 / pitch * (pitch / 2 + (d - d2) * math.tan(math.radians(30)))
    assert float(checks["thread stripping"].allowable) == pytest.approx(min(400e6 * bolt, 300e6 * nut), rel=1e-6)


def test_slip_by_hand():
    checks, joint = checks_of(BENT, "run"), joint_of(BENT, "run")
    radius = (
        (0.162**3 - 0.115**3) / (0.162**2 - 0.115**2) / 3
    )  # mean friction radius of a uniformly pressed ring, 2/3 (Ro³−Ri³)/(Ro²−Ri²)
    clamp = float(joint.service.clamp_least)
    assert float(joint.service.lift_off_least) == 0.0
    # flexure formula of the closed ring: the pressure falls by M Ro/I from the middle to the rim
    area, second = math.pi / 4 * (0.162**2 - 0.115**2), math.pi / 64 * (0.162**4 - 0.115**4)
    off = (clamp / area - float(joint.service.pressure_min_least)) * second / 0.081 / clamp
    turning = abs(float(joint.torsion)) + float(joint.shear) * off
    used = float(joint.shear) / (0.15 * clamp) + turning / (0.15 * clamp * radius * (1 - (off / radius) ** 2))
    assert float(checks["joint slip"].utilization) == pytest.approx(used, rel=1e-6)


def test_metal_to_metal_uses_the_pressure_cones():
    text = BLANK.replace(", thickness: 2 mm, modulus: 500 MPa", "").replace(
        "    grip", "    members: {modulus: 205 GPa, face_diameter: 24 mm}\n    grip"
    )
    clamped = joint_of(text, "test").clamping
    # Shigley eq. 8-22 with α = 30°, D = 1.5 d: k = 0.5774 π E d / (2 ln(5 (0.5774 l + 0.5 d)/(0.5774 l + 2.5 d)))
    d, grip, tan = 0.016, 0.044, math.tan(math.radians(30))
    member = tan * math.pi * 205e9 * d / (2 * math.log(5 * (tan * grip + 0.5 * d) / (tan * grip + 2.5 * d)))
    bolt = clamped.stiff.bolts[0]
    assert float(clamped.stiff.load_factor) == pytest.approx(bolt / (bolt + member), rel=1e-9)


def test_friction_form_of_the_torque():
    text = BLANK.replace("nut_factor: 0.2", "thread_friction: 0.12, bearing_friction: 0.12, bearing_diameter: 20.75 mm")
    mean = joint_of(text, "test").clamping.mean[0]
    # VDI 2230 eq. R8/1 (from memory): M_A = F (0.16 P + 0.58 d2 μ_G + D_Km/2 μ_K), itself a shortened form, good to about 1 %
    d2 = 16e-3 - 0.649519 * 2e-3
    assert mean == pytest.approx(90 / (0.16 * 2e-3 + 0.58 * d2 * 0.12 + 20.75e-3 / 2 * 0.12), rel=0.01)


def test_the_flange_rating_comes_from_the_table_at_temperature():
    text = BLANK.replace(
        "{name: water, density: 1000 kg/m^3}", "{name: water, density: 1000 kg/m^3, temperature: 20 degC}"
    )
    text = text.replace(
        "    grip", "    flange: {designation: ASME B16.5 class 150 NPS 4, rating: from table}\n    grip"
    )
    check = checks_of(text, "test")["flange rating"]
    assert float(check.allowable) == pytest.approx(19.6e5)  # ASME B16.5 Table 2-1.1, class 150, to 38 °C
    assert float(check.demand) == pytest.approx(1e6, rel=1e-9)  # pressure alone


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("    grip", "    flange: {outside: 150 mm}\n    grip", "reaches past the flange"),
        ("    grip", "    flange: {rating: from table}\n    grip", "needs a standard flange and a temperature"),
        ("bolt_modulus: 205 GPa", "bolt_modulus: 0 GPa", "must be more than 0"),
        ("    grip", "    cycles_between: [test]\n    grip", "1 cases where two are expected"),
        ("    grip", "    cycles_between: [test, tset]\n    grip", "did you mean 'test'"),
        ("torque: 90 N*m", "torque: [90, 90 N*m]", "bolt"),
    ],
)
def test_bad_joint_data_is_refused_with_its_line(old, new, says):
    from anchorsize import CaseFileError

    with pytest.raises(CaseFileError, match=says):
        parse_case(BLANK.replace(old, new, 1), "t.yaml")


def test_one_bolt_cannot_carry_a_moment_and_says_so():
    text = BENT.replace(
        "count: 8, size: M16, circle: 180 mm, first_at: 45 deg",
        "count: 8, size: M16, circle: 180 mm, first_at: 45 deg, missing: [2, 3, 4, 5, 6, 7, 8]",
    )
    with pytest.raises(StudyError, match="joint 'main'"):
        assess(parse_case(text, "t.yaml"))


def test_the_torque_for_a_preload_asked_for(tmp_path):
    path = tmp_path / "t.yaml"
    path.write_text(BLANK.replace("torque: 90 N*m", "preload: 28.125 kN"))
    assert "Torque for the preload given: 90.00 N·m" in CliRunner().invoke(main, ["check", str(path)]).output  # K D F
    bolts = json.loads(CliRunner().invoke(main, ["check", str(path), "--json"]).output)["cases"]["test"]["joints"][
        "main"
    ]["bolts"]
    assert bolts[0]["torque_Nm"] == pytest.approx(0.2 * 0.016 * 28125)


def test_scatter_by_a_tightening_method_of_the_table():
    study = parse_case(BLANK.replace("scatter: 30 %, ", "method: torque wrench, "), "t.yaml")
    assert float(study.joints["main"].tightening.scatter) == pytest.approx(
        0.25
    )  # Machinery's Handbook, torque wrench ±25 %
    assert any(row.table == "tightening_scatter" for row in study.provenance)


def test_a_class_without_proof_strength_is_held_to_its_yield():
    check = checks_of(BLANK.replace('class: "8.8"', "class: A193 B7"), "test")["bolt proof"]
    assert float(check.allowable) == pytest.approx(105 * 6.894757e6, rel=0.01)  # ASTM A193 B7, 105 ksi (720 to 725 MPa)
    assert "yield" in check.allowable_from


def test_the_lift_off_bound_sees_where_bolts_are_missing():
    soft = BENT.replace("    bolt_modulus: 205 GPa\n", "")
    lopsided = soft.replace("first_at: 45 deg", "first_at: 45 deg, missing: [2, 3, 4, 5]")
    check, joint = checks_of(lopsided, "run")["joint lift-off"], joint_of(lopsided, "run")
    # four bolts on one half of a 180 mm circle: their resultant stands farther out than the kern (Do² + Di²)/(8 Do)
    bolts = parse_case(lopsided, "t").joints["main"].bolts.xy[[0, 5, 6, 7]]
    offset = np.linalg.norm(bolts.mean(axis=0))
    kern = (0.162**2 + 0.115**2) / (8 * 0.162)
    assert offset > kern
    pull = 4 * 0.63 * 28125
    expected = float(joint.axial_demand) + (float(joint.bending) + pull * offset) / kern
    assert float(check.demand) == pytest.approx(expected, rel=1e-9)
    assert not check.holds


def test_one_bolt_lost_is_judged_with_the_widest_gap():
    from anchorsize.studies.lost_bolt import one_lost

    rows = one_lost(parse_case(BENT.replace("allow: {", "allow: {bolt_spacing_greatest: 100 mm, "), "t.yaml"), "main")
    # eight on 180 mm: two neighbors of a lost bolt stand 180 sin(45°) mm apart
    assert [row.utilization for row in rows] == pytest.approx([180 * math.sin(math.pi / 4) / 100] * 8, rel=1e-9)
    assert not any(row.holds for row in rows)


def test_what_the_loads_do_with_a_bolt_lost_stands_beside_the_spacing_that_governs():
    """Each row's check under load is what a file without that bolt gives: `--without` is the other way to ask."""
    from anchorsize.assessment.checks import LAYOUT
    from anchorsize.studies.lost_bolt import one_lost, without

    study = parse_case(BENT.replace("allow: {", "allow: {bolt_spacing_greatest: 100 mm, "), "t.yaml")
    losses = one_lost(study, "main")
    for row in losses:
        checks = assess(without(study, "main", (row.bolt,))).cases
        asked = [
            (c.utilization, name, c.check)
            for name, case in checks.items()
            for c in case.checks
            if c.check not in LAYOUT
        ]
        assert row.under_load is not None
        assert row.under_load.utilization == pytest.approx(max(asked)[0], rel=1e-9)
        assert row.check in LAYOUT


def test_lost_bolts_are_ranked_by_what_their_loss_makes_worse():
    """Against a file with the bolt and one without it: what grew most, of what fails before what holds, and what fails only then."""
    from anchorsize.present.losses import losses_text
    from anchorsize.studies.lost_bolt import one_lost

    def used_in(text):
        cases = assess(parse_case(text, "t.yaml")).cases
        return {(name, c.check): float(c.utilization) for name, case in cases.items() for c in case.checks}

    # least spacing governs every row and no loss changes it
    text = BENT.replace("allow: {", "allow: {bolt_spacing_least: 68 mm, bolt_spacing_greatest: 129 mm, ")
    today = used_in(text)
    losses = one_lost(parse_case(text, "t.yaml"), "main")
    assert {row.check for row in losses} <= {"bolt spacing", "widest bolt gap", "joint lift-off"}
    for row in losses:
        lost = used_in(text.replace("first_at: 45 deg", f"first_at: 45 deg, missing: [{row.bolt}]"))
        grown = {place: use for place, use in lost.items() if use > today[place] * 1.01}
        assert row.worsened is not None
        most = max(grown, key=lambda place: (lost[place] > 1.0, lost[place] - today[place]))
        assert row.worsened.growth == pytest.approx(lost[most] - today[most], rel=1e-9)
        assert row.worsened.holds == (lost[most] <= 1.0)
        assert row.worsened.today == pytest.approx(today[row.worsened.case, row.worsened.check], rel=1e-9)
        assert row.worsened.check != "bolt spacing"
        assert {(each.case, each.check) for each in row.new} == {p for p in lost if lost[p] > 1 >= today[p]}
    assert [row.worsened.holds for row in losses] == sorted(row.worsened.holds for row in losses)
    for holds in (False, True):
        ranked = [row.worsened.growth for row in losses if row.worsened.holds is holds]
        assert ranked == pytest.approx(sorted(ranked, reverse=True), rel=1e-9)
    said = " ".join(losses_text(losses, assess(parse_case(text, "t.yaml")), 80)[0].split())
    assert "new against today" in said


def test_a_face_that_opens_without_its_bolt_and_a_joint_without_balance_are_words():
    from anchorsize.present.losses import losses_text
    from anchorsize.studies.lost_bolt import one_lost

    def said(text):
        study = parse_case(text, "t.yaml")
        return " ".join(losses_text(one_lost(study, "main"), assess(study), 80)[0].split())

    # three of four bolts on 260 mm: their resultant stands 260/6 mm off the center, outside the kern (Do² + Di²)/(8 Do)
    assert 260 / 6 > (162**2 + 115**2) / (8 * 162)
    opens = said(BENT.replace("count: 8", "count: 4").replace("circle: 180", "circle: 260"))
    assert re.search(r"joint lift-off .* opens at .* any load", opens)
    assert "inf" not in opens
    three = BENT.replace("count: 8", "count: 3")
    # two bolts carry no bending about the line through them, so one of three lost leaves no balance without preload
    bare = said(re.sub(r"    (tightening|grip|bolt_modulus).*\n", "", three))
    assert "cannot be judged" in bare
    assert "cannot balance the axial force and bending" in bare
