"""Heat and pressure that decide what a support does, by hand and against files that say the movement outright.

A pipe behind that grows by w along up moves its joint as if all supports' footings moved the other way: a hanger `settles` by w, a
support along another line by its part of w, and the gap of a rest grows by w. The fittings and their figures are invented.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.findings_support_data import HEAT, SHORTENED
from anchorsize.casefile import parse_case
from anchorsize.cli import main

OUTSIDE, WALL, LENGTH, MODULUS, POISSON = 0.1683, 0.0071, 1.6, 205e9, 0.3
PIPE = MODULUS * np.pi / 4.0 * (OUTSIDE**2 - (OUTSIDE - 2 * WALL) ** 2) / LENGTH
"""EA/L of the riser [N/m]."""
GROWN = 12e-6 * 10.0 * LENGTH
WEIGHT = 100.0 * 9.80665

RISER = "pipe_behind: {outside: 168.3 mm, wall: 7.1 mm, length: 1.6 m, modulus: 205 GPa, poisson: 0.3}"
BOLTS = "bolts: {count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg}"

COLUMN = f"""\
case_file: 1
title: straight piece on a riser, all in line
fluid: {{name: water, density: 1000 kg/m^3}}
fitting: {{mass: 100 kg, mass_center: [0, 0, 300 mm]}}
openings:
  inlet:  {{center: [0, 0, 0 mm], outward: [0, 0, -1], bore: 154.1 mm}}
  outlet: {{center: [0, 0, 600 mm], outward: [0, 0, 1], bore: 154.1 mm}}
joints:
  foot: {{at: inlet, reference: [0, 1, 0], {BOLTS}, {RISER}}}
allow: {{bolt_tension: 150 MPa, bolt_shear: 80 MPa}}
cases:
  standing: {{inlet: {{flow_in: 0 L/s, pressure: PRESSURE}}, outlet: {{pressure: PRESSURE}}}}
supports:
  A: [{{kind: hanger, name: H, at: [0, 0, 600 mm], allow: 90 kN, HANGER}}]
"""

SPOUT = f"""\
case_file: 1
title: swan neck on a riser
fluid: {{name: water, temperature: 10 degC}}
fitting:
  mass: 88 kg
  mass_center: [0, 0.62, 0.55 m]
  contents: 26 L
  contents_center: [0, 0.58, 0.56 m]
openings:
  inlet:  {{center: [0, 0, 0 m], outward: [0, 0, -1], bore: 154 mm}}
  outlet: {{center: [0, 1.5, 0.45 m], outward: [0, 0.8, -0.6], bore: 80 mm}}
joints:
  foot: {{at: inlet, reference: [0, 1, 0], {BOLTS}, {RISER}}}
allow: {{bolt_tension: 150 MPa, bolt_shear: 80 MPa}}
cases:
  pumping: {{inlet: {{flow_in: 40 L/s, pressure: 52 kPa}}, outlet: free_jet}}
  shut:    {{inlet: {{flow_in: 0 L/s, pressure: 400 kPa}}, outlet: capped}}
  drained: {{contents: empty, inlet: {{flow_in: 0 L/s, pressure: 0 kPa}}, outlet: free_jet}}
external:
  - {{name: ice, force: [260, 0, -180 N], at: [0, 0.9, 0.65 m], cases: [shut, drained]}}
supports:
  A: [{{SUPPORT}}]
"""

HANGER = "kind: hanger, name: S, at: [0, 1.1, 0.75 m], stiffness: 20 MN/m, allow: 9 kN"
TIE = "kind: tie, name: S, at: [0, 1.1, 0.7 m], toward: [0, -0.8, 0.6], stiffness: 20 MN/m, allow: 9 kN"
REST = "kind: rest, name: S, at: [0, 1.1, 0.5 m], stiffness: 20 MN/m, allow: 9 kN"
STRUT = "kind: strut, name: S, at: [0, 1, 0.55 m], toward: [0, 0.6, 0.8], stiffness: 20 MN/m, allow: {force: 9 kN}"
SPRING = "kind: spring_hanger, name: S, at: [0, 1.1, 0.75 m], set_load: 500 N, allow: 900 N"


def column(hanger: str, pressure: str = "0 bar") -> Assessment:
    return assess(parse_case(COLUMN.replace("HANGER", hanger).replace("PRESSURE", pressure), "f"))


def spout(support: str) -> Assessment:
    return assess(parse_case(SPOUT.replace("SUPPORT", support), "f"))


def said(judged: Assessment, kind: str = HEAT) -> str:
    told = [each.message for each in judged.warnings if each.kind == kind]
    assert len(told) <= 1
    return "".join(told)


def hung(preset: float, spring: float, longer: float) -> float:
    """Force of the hanger in line: of its set load and the weight, with the riser ``longer``; two springs and a movement."""
    moved = (preset - WEIGHT + PIPE * longer) / (PIPE + spring)
    return max(0.0, preset - spring * moved)


def figure(words: str, way: str) -> float:
    """What stands before a word of the way, in N or N·m."""
    found = re.search(rf"([\d,.]+) (k?)N(?:·m)? {way}", words)
    assert found is not None, words
    return float(found[1].replace(",", "")) * (1e3 if found[2] else 1.0)


def greatest(words: str, of: str) -> dict[str, float]:
    sentence = re.search(rf"The greatest {of} is (.*?) as given\.", words)
    assert sentence is not None, words
    return {way: figure(f"{sentence[1]} as given", way) for way in ("warmer", "colder", "as given")}


def test_a_hanger_in_line_with_the_riser_by_hand():
    """30 N set, 0.2 MN/m: the growth takes 38 N off it, so it goes slack; both are little beside the weight."""
    words = said(column("stiffness: 0.2 MN/m, set_load: 30 N"))
    as_given, warm, cold = (hung(30.0, 0.2e6, longer) for longer in (0.0, GROWN, -GROWN))
    assert warm == 0.0
    assert "changes its length by 0.192 mm" in words
    assert "So much warmer, 'H' goes slack in 'standing'." in words
    assert "So much colder" not in words
    assert greatest(words, "force of 'H'") == pytest.approx(
        {"warmer": warm, "colder": cold, "as given": as_given}, abs=0.05
    )
    assert "stands against that" not in words  # 38 N is under a twentieth of the weight


def test_a_stiffer_hanger_is_told_by_what_holds_against_it_and_not_twice():
    """2 MN/m and a set load that both ways leave some of: nothing lets go, and the force is told as a change only."""
    words = said(column("stiffness: 2 MN/m, set_load: 500 N"))
    change = hung(500.0, 2e6, -GROWN) - hung(500.0, 2e6, 0.0)
    assert [float(each) for each in re.findall(r"([\d.]+) N at", words)] == pytest.approx([change] * 2, abs=0.05)
    assert "greatest force" not in words
    assert "So much" not in words


def test_the_colder_way_counts_where_the_warmer_one_lets_go():
    """Warmer a hanger can lose no more than it carries; colder it gains all that the springs in line ask."""
    words = said(column("stiffness: 2 MN/m"))
    change = hung(0.0, 2e6, -GROWN) - hung(0.0, 2e6, 0.0)
    assert [float(each) for each in re.findall(r"([\d.]+) N at", words)] == pytest.approx([change] * 2, abs=0.05)
    assert change > 50.0 * hung(0.0, 2e6, 0.0)


def test_pressure_that_shortens_the_riser_loads_a_hanger_by_hand():
    """ν p d/(2 t) L/E over hanger and riser in line (strength of materials): under a twentieth of the thrusts, many times what it carries."""
    words = said(column("stiffness: 30 MN/m", "12 bar"), SHORTENED)
    shorter = POISSON * 1.2e6 * (OUTSIDE - 2 * WALL) / (2 * WALL) * LENGTH / MODULUS
    assert f"by up to {shorter * 1e3:.4g} mm" in words
    sentence = words[words.index("The greatest force of 'H' is") :]
    assert figure(sentence, "so") == pytest.approx(hung(0.0, 30e6, -shorter), abs=0.06)
    assert figure(sentence, "as given") == pytest.approx(hung(0.0, 30e6, 0.0), abs=0.01)
    assert said(column("stiffness: 3 MN/m", "12 bar"), SHORTENED) == ""  # under a hundredth of the thrusts


def force(judged: Assessment) -> dict[str, float]:
    return {name: float(np.linalg.norm(case.supports["S"].force)) for name, case in judged.cases.items()}


def moment(judged: Assessment) -> float:
    return max(float(np.linalg.norm(case.joints["foot"].reaction_moment)) for case in judged.cases.values())


def test_a_hanger_beside_the_riser_is_told_of_as_of_one_that_settles():
    as_given = spout(HANGER)
    warm, cold = (spout(f"{HANGER}, settles: {by} mm") for by in (0.192, -0.192))
    words = said(as_given)
    assert force(as_given)["pumping"] > 50.0
    assert force(warm)["pumping"] == 0.0
    assert "So much warmer, 'S' goes slack in 'pumping'." in words
    assert greatest(words, "force of 'S'") == pytest.approx(
        {way: max(force(each).values()) for way, each in (("warmer", warm), ("colder", cold), ("as given", as_given))},
        abs=0.06,
    )
    assert greatest(words, "moment on joint 'foot'") == pytest.approx(
        {"warmer": moment(warm), "colder": moment(cold), "as given": moment(as_given)}, abs=0.06
    )


def test_a_tie_that_leans_settles_by_its_part():
    as_given, warm = spout(TIE), spout(f"{TIE}, settles: {0.192 * 0.6} mm")
    gone = [name for name in as_given.cases if force(as_given)[name] > 0.0 == force(warm)[name]]
    assert gone == ["pumping"]
    assert "So much warmer, 'S' goes slack in 'pumping'." in said(as_given)


def test_a_rest_within_its_gap_comes_to_carry_when_colder():
    """The pipe that shortens closes the gap by as much: 0.2 mm become 0.008 mm."""
    as_given, cold = spout(f"{REST}, gap: 0.2 mm"), spout(f"{REST}, gap: 0.008 mm")
    woken = [name for name in as_given.cases if force(as_given)[name] == 0.0 < force(cold)[name]]
    assert woken == ["pumping"]
    words = said(as_given)
    assert "So much colder, 'S' comes to carry in 'pumping'." in words
    assert greatest(words, "force of 'S'")["colder"] == pytest.approx(max(force(cold).values()), abs=0.06)


def test_a_rest_lifts():
    words = said(spout(REST))
    assert "So much warmer, 'S' lifts in 'pumping'." in words


def test_a_strut_is_told_once_of_its_force():
    words = said(spout(STRUT))
    assert words.count("HEAT IS NOT COUNTED") == 1
    assert "at support 'S'" in words
    assert "greatest force" not in words


@pytest.mark.parametrize(
    "support",
    [
        SPRING,  # gives its load wherever the fitting moves
        HANGER.replace("20 MN/m", "0.05 MN/m"),  # carries and loses next to nothing
        STRUT.replace("[0, 0.6, 0.8]", "[1, 0, 0]"),  # across the growth
    ],
)
def test_supports_that_the_growth_leaves_alone_are_silent(support: str):
    assert said(spout(support)) == ""


def test_no_support_and_a_joint_of_given_stiffness_are_silent():
    assert said(assess(parse_case(SPOUT.replace("{SUPPORT}", ""), "f"))) == ""
    held = "stiffness: {axial: 450 MN/m, shear: 9 MN/m, bending: 5 MN*m/rad, torsion: 4 MN*m/rad}"
    assert said(assess(parse_case(SPOUT.replace("SUPPORT", HANGER).replace(RISER, held), "f"))) == ""


@settings(max_examples=25, deadline=None)
@given(st.floats(0.05, 60.0), st.floats(0.2, 1.4), st.booleans())
def test_whatever_the_hanger_the_words_are_those_of_the_files_that_settle(stiff: float, place: float, is_rest: bool):
    """Slack and waking supports are named where, and only where, the files with the movement written out have them.

    All cases of them are, once one is felt beside the loads of its case.
    """

    def told(change: dict[str, float], most: float, loads: dict[str, float]) -> list[str]:
        felt = any(each > 0.01 * loads[name] for name, each in change.items())
        return [f"'{name}'" for name, each in change.items() if felt and each > 0.01 * most]

    base = REST if is_rest else HANGER
    base = base.replace("20 MN/m", f"{stiff} MN/m").replace("1.1,", f"{place},")
    as_given = spout(base)
    words = said(as_given)
    for lead, by in (("So much warmer", 0.192), ("So much colder", -0.192)):
        before, after = force(as_given), force(spout(f"{base}, settles: {by} mm"))
        loads = {name: sum(np.linalg.norm(load.force) for load in as_given.cases[name].loads) for name in before}
        gone = told({name: before[name] for name in before if after[name] == 0.0}, max(before.values()), loads)
        woken = told({name: after[name] for name in before if before[name] == 0.0}, max(after.values()), loads)
        sentence = re.search(rf"{lead}, (.*?)\.", words)
        parts = "" if sentence is None else sentence[1]
        named = re.search(r"'S' (?:goes slack|lifts) in ((?:'\w+'(?:, | and )?)+)", parts)
        assert re.findall(r"'(?!S')\w+'", named[1] if named else "") == gone
        named = re.search(r"'S' comes to carry in ((?:'\w+'(?:, | and )?)+)", parts)
        assert re.findall(r"'(?!S')\w+'", named[1] if named else "") == woken


def test_a_rest_that_lifts_is_told_in_every_case_though_its_load_is_little_beside_those_of_one():
    """Settled more and more, it keeps little beside the loads of some case first; warmer, it is told wherever the longer gap lifts it."""
    base = REST.replace("1.1,", "0.9,")
    for by in np.linspace(0.0, 1.5, 31):
        given = spout(f"{base}, settles: {by:.3f} mm")
        before, after = force(given), force(spout(f"{base}, settles: {by + 0.192:.3f} mm"))
        gone = [name for name in before if before[name] > 0.01 * max(before.values()) and after[name] == 0.0]
        named = re.search(r"So much warmer, 'S' lifts in ((?:'\w+'(?:, | and )?)+)", said(given))
        if named:
            assert re.findall(r"'(\w+)'", named[1]) == gone


def test_it_stands_beside_the_verdict_on_the_screen(tmp_path: Path):
    file = tmp_path / "f.yaml"
    file.write_text(SPOUT.replace("SUPPORT", HANGER), "utf-8")
    text = " ".join(CliRunner().invoke(main, ["check", str(file), "--brief"]).output.split())
    assert "So much warmer, 'S' goes slack in 'pumping'." in text[: text.index("Governs:")]


def test_the_growth_of_the_fitting_itself_is_said_to_be_left_out():
    words = said(spout(HANGER))
    assert "The fitting, up to each support, and the supports grow as well: that is NOT in these figures" in words


HYDRANT = """\
case_file: 1
title: hydrant elbow with a hose valve on a post
fluid: {name: water, temperature: 2 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [0, 0, 1], bore: 82.5 mm, wall: 5 mm, material_density: 7850 kg/m^3, kind: elbow,
    turn: 90 deg, toward: [1, 0, 0], radius: 114 mm, before: 150 mm, after: 350 mm}
  extra_masses: [{name: valve, mass: 24 kg, center: [0.4, 0, 0.264 m]}]
joints:
  main:
    at: inlet
    bolts: {count: 8, size: M16, circle: 160 mm, first_at: 22.5 deg}
    gasket: {inside: 90 mm, outside: 138 mm}
    pipe_behind: {outside: 88.9 mm, wall: 5 mm, length: 1.2 m, modulus: 205 GPa, poisson: 0.3}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 64 bar}, outlet: capped}
  stood on: {contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}
external:
  - {name: man on the valve, force: [0, 0, -1 kN], at: [0.4, 0, 0.3 m], cases: [stood on]}
supports:
  post: [{kind: rest, name: P1, at: [0.4, 0, 0.2 m], stiffness: 119 MN/m, SETTLES, allow: 9 kN}]
"""


def test_a_moment_is_told_that_does_as_much_as_a_noticeable_axial_force():
    """10 K of a 1.2 m riser, 0.144 mm, against the file with that settlement said outright, warmer and colder."""

    def moment(settles: float) -> float:
        judged = assess(parse_case(HYDRANT.replace("SETTLES", f"settles: {settles} mm"), "f"))
        return max(float(np.linalg.norm(case.joints["main"].reaction_moment)) for case in judged.cases.values())

    given, warmer, colder = moment(0.0), moment(0.144), moment(-0.144)
    assert warmer > 1.25 * given
    judged = assess(parse_case(HYDRANT.replace(" SETTLES,", ""), "f"))
    (told,) = (each.message for each in judged.warnings if each.kind == HEAT)
    words = re.search(
        r"The greatest moment on joint 'main' is (\S+) N·m warmer and (\S+) N·m colder, (\S+) N·m as given\.", told
    )
    assert words, told
    assert [float(each) for each in words.groups()] == pytest.approx([warmer, colder, given], rel=1e-3)
