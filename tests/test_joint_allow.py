"""What a nozzle or pipe may take at a joint: hand figures, numpy's cross and norm, properties, and what is told and refused."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize import assess, evaluate, parse_case, read_case
from anchorsize.assessment.checks_actions import ACTIONS, PRESSURE_IN, PRESSURE_OUT
from anchorsize.casefile import CaseFileError, starter
from anchorsize.cli import main
from anchorsize.mechanics import frames
from anchorsize.present.report.further import supports_section
from anchorsize.present.report.worked import worked
from anchorsize.studies.supports import compare
from tests.casefile.test_starters import ALL, uncommented
from tests.cases import BLANK_FLANGE, ELBOW
from tests.support_cases import joint, options, pulled, stiffness, still, support, triple

BORE, PRESSURE = math.pi / 4 * 0.1**2, 60e3
FORCES = "force: 3 kN, axial: 2.5 kN"
EVERY = f"{FORCES}, moment: 1.8 kN*m, shear: 1 kN, bending: 1.5 kN*m, torsion: 900 N*m"
GIVING = stiffness("40 MN/m", "2 MN/m", "60 kN*m/rad", "60 kN*m/rad")
EYE = np.eye(3)
EXAMPLE = Path(__file__).parents[1] / "examples" / "supported_arm.yaml"


def allowing(text: str, allow: str, thrust: str = "included") -> str:
    """The file with an allow of its only joint; ``thrust`` empty leaves pressure_thrust out."""
    said = f", pressure_thrust: {thrust}" if thrust else ""
    return text.replace("joints:\n  main:\n", f"joints:\n  main:\n    allow: {{{allow}{said}}}\n")


def made(text: str, case: str) -> dict:
    """The checks of the joint's own actions in a case, by name."""
    checks = assess(parse_case(text, "t.yaml")).cases[case].checks
    return {check.check: check for check in checks if check.check in ACTIONS}


def demands(text: str, case: str) -> dict[str, float]:
    """Their demands."""
    return {name: float(check.demand) for name, check in made(text, case).items()}


def told_of(text: str) -> list[str]:
    """The problems of a file."""
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "t.yaml")
    return str(caught.value).splitlines()


# --- by hand -------------------------------------------------------------------------------------------------------------------

WEIGHTLESS = ELBOW.replace(
    "fitting: {mass: 10 kg, mass_center: [0.1, 0, 0 m], contents: 2 L, contents_center: [0.1, 0, 0.05 m]}\n", ""
)


@pytest.mark.parametrize(("thrust", "pressure"), [("included", PRESSURE), ("excluded", 0.0)])
def test_a_jet_and_a_pressure_by_hand(thrust, pressure):
    """20 L/s of 1000 kg/m³ in by 100 mm along +x, out by 50 mm along +z at [0.2, 0, 0.2 m]: each end pushes with its ṁv, the inlet
    with pA besides; the jet's push down, 0.2 m out, is all the shear and all the bending."""
    inlet, jet = 20.0 * (0.02 / BORE), 20.0 * (0.02 / (math.pi / 4 * 0.05**2))
    found = demands(allowing(WEIGHTLESS, EVERY, thrust), "run")
    axial = inlet + pressure * BORE
    assert found["joint axial"] == pytest.approx(axial, rel=1e-12)
    assert found["joint shear"] == pytest.approx(jet, rel=1e-12)
    assert found["joint force"] == pytest.approx(math.sqrt(axial**2 + jet**2), rel=1e-12)
    assert found["joint bending"] == found["joint moment"] == pytest.approx(0.2 * jet, rel=1e-12)
    assert found["joint torsion"] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("thrust", "share"), [("included", 1.0), ("excluded", 0.0)])
def test_a_bolted_end_under_pressure_pulls_with_pressure_times_bore_and_the_gasket_adds_nothing(thrust, share):
    """10 bar on 100 mm; the gasket lets the pressure act on the bolts far beyond the bore, the nozzle does not feel that."""
    study = parse_case(allowing(BLANK_FLANGE, EVERY, thrust), "t.yaml")
    case = assess(study).cases["test"]
    force = next(check for check in case.checks if check.check == "joint force")
    assert float(case.joints["main"].pressure_annulus) > 1e6 * BORE * 0.5
    # 1e-9 of the pressure end load: rounding of the difference
    assert float(force.demand) == pytest.approx(share * 1e6 * BORE, rel=1e-12, abs=1e-9 * 1e6 * BORE)


def test_a_surge_is_pressure_and_a_dynamic_factor_is_not():
    """Joukowsky: ρ a Δv on top of p. A factor of 1.7 on the thrust leaves 0.7 p A where p A is taken out."""
    still_end = "test: {pipe: {flow_in: 0 L/s, pressure: 10 bar"
    surge = BLANK_FLANGE.replace(still_end, f"{still_end}, surge: {{stopped_flow: 8 L/s, wave_speed: 1200 m/s}}")
    rise = 1000.0 * 1200.0 * 0.008 / BORE
    whole, none = (
        demands(allowing(surge, FORCES, thrust), "test")["joint axial"] for thrust in ("included", "excluded")
    )
    assert whole == pytest.approx((1e6 + rise) * BORE, rel=1e-12)
    assert none == pytest.approx(0.0, abs=1e-9 * whole)
    sudden = BLANK_FLANGE.replace("test: {", "test: {dynamic_factor: 1.7, ")
    whole, rest = (
        demands(allowing(sudden, FORCES, thrust), "test")["joint axial"] for thrust in ("included", "excluded")
    )
    assert (whole, rest) == (pytest.approx(1.7e6 * BORE, rel=1e-12), pytest.approx(0.7e6 * BORE, rel=1e-9))


def test_where_an_anchor_takes_the_thrust_the_pressure_pushes_the_nozzle_in():
    """An anchor a million times as stiff as the joint leaves it nothing; beside its pressure the nozzle then feels −pA."""
    held = joint(stiffness("1 kN/m", "1 kN/m", "1 N*m/rad", "1 N*m/rad")).replace(
        "main:\n", f"main:\n    allow: {{{FORCES}, pressure_thrust: excluded}}\n"
    )
    anchor = support("anchor", "A", (0, 0, 0), (-1, 0, 0), "six_way: rigid, allow: {force: 20 kN, moment: 1 kN*m}")
    text = still(options(anchored=[anchor]), "", held).replace("pressure: 0 kPa", "pressure: 400 kPa")
    result = assess(parse_case(text, "t.yaml")).cases["still"]
    assert float(result.joints["main"].axial) == pytest.approx(0.0, abs=1e-2)
    found = {check.check: float(check.demand) for check in result.checks}
    assert found["joint axial"] == pytest.approx(400e3 * BORE, rel=1e-5)


# --- against numpy ------------------------------------------------------------------------------------------------------------

numbers = st.floats(-1.0, 1.0).map(lambda value: round(value, 3))
vectors = st.tuples(numbers, numbers, numbers).map(np.array)
directions = vectors.filter(lambda vector: np.linalg.norm(vector) > 0.2).map(
    lambda vector: vector / np.linalg.norm(vector)
)
turns = st.tuples(directions, st.floats(-3.0, 3.0))


def turning(turn) -> np.ndarray:
    """Rodrigues: the matrix of a turn about an axis."""
    axis, angle = turn
    across = np.cross(np.eye(3), axis)
    return np.eye(3) + math.sin(angle) * -across + (1 - math.cos(angle)) * across @ across


def bent(out, at, force, where, thrust="included", pressure=60.0, turn=EYE, scale=1.0, flow=20.0) -> str:
    """A fitting of two openings anywhere, with an outside force [kN] and no weight, all of it turned about the origin."""
    inward = turn @ np.array([-1.0, 0, 0])
    reference = turn @ np.array([0, 0, 1.0])
    return f"""\
case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  inlet: {{center: {triple(turn @ np.array([0.3, -0.2, 0.1]), "m")}, outward: {triple(inward)}, bore: 100 mm}}
  outlet: {{center: {triple(turn @ at, "m")}, outward: {triple(turn @ out)}, bore: 50 mm}}
joints:
  main:
    at: inlet
    reference: {triple(reference)}
    bolts: {{count: 8, size: M16, circle: 180 mm}}
    allow: {{{EVERY}, pressure_thrust: {thrust}}}
allow: {{bolt_tension: 160 MPa, bolt_shear: 95 MPa}}
external: [{{name: pull, force: {triple(scale * (turn @ force), "kN")}, at: {triple(turn @ where, "m")}}}]
cases:
  run: {{inlet: {{flow_in: {flow!r} L/s, pressure: {pressure!r} kPa}}, outlet: free_jet}}
"""


@settings(max_examples=40, deadline=None)
@given(directions, vectors, vectors, vectors, st.sampled_from(["included", "excluded"]))
def test_demands_are_those_of_cross_and_norm(out, at, force, where, thrust):
    found = demands(bent(out, at, force, where, thrust), "run")
    center, axis, jet_area = np.array([0.3, -0.2, 0.1]), np.array([-1.0, 0, 0]), math.pi / 4 * 0.05**2
    loads = [
        (-(PRESSURE * BORE + 1000 * 0.02**2 / BORE) * axis, center),
        (-(1000 * 0.02**2 / jet_area) * out, at),
        (1e3 * force, where),
    ]
    held = -sum(load for load, _ in loads)  # the joint's force on the fitting
    moment = -sum(np.cross(point - center, load) for load, point in loads)
    if thrust == "excluded":
        held = held - PRESSURE * BORE * axis
    along, about = held @ axis, moment @ axis
    near = {"rel": 1e-9, "abs": 1e-6}  # 1 µN and 1 µN·m beside loads of hundreds of N: rounding
    assert found["joint force"] == pytest.approx(np.linalg.norm(held), **near)
    assert found["joint moment"] == pytest.approx(np.linalg.norm(moment), **near)
    assert found["joint axial"] == pytest.approx(abs(along), **near)
    assert found["joint shear"] == pytest.approx(np.linalg.norm(held - along * axis), **near)
    assert found["joint torsion"] == pytest.approx(abs(about), **near)
    assert found["joint bending"] == pytest.approx(np.linalg.norm(moment - about * axis), **near)


@settings(max_examples=25, deadline=None)
@given(directions, vectors, vectors, vectors, turns, st.sampled_from(["included", "excluded"]))
def test_turning_everything_changes_no_demand(out, at, force, where, turn, thrust):
    text = bent(out, at, force, where, thrust).replace("case_file: 1\n", "case_file: 1\nup: [0, 0, 1]\n")
    turned = bent(out, at, force, where, thrust, turn=turning(turn))
    before, after = demands(text, "run"), demands(turned, "run")
    assert after == pytest.approx(before, rel=1e-8, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(vectors, vectors, st.floats(0.01, 100.0))
def test_demand_and_utilization_grow_with_the_load(force, where, scale):
    """No flow and no pressure: the outside force alone."""
    one, more = (
        made(bent(np.eye(3)[2], np.ones(3), force, where, scale=s, flow=0.0, pressure=0.0), "run") for s in (1.0, scale)
    )
    for name, check in one.items():
        assert float(more[name].demand) == pytest.approx(scale * float(check.demand), rel=1e-9, abs=1e-9)
        for each in (check, more[name]):
            assert float(each.utilization) == pytest.approx(float(each.demand) / float(each.allowable), rel=1e-12)
            assert bool(each.holds) == (float(each.utilization) <= 1.0)


@settings(max_examples=25, deadline=None)
@given(directions, vectors, vectors, vectors)
def test_without_pressure_it_does_not_matter_whether_it_counts(out, at, force, where):
    within, beside = (
        demands(bent(out, at, force, where, thrust, pressure=0.0), "run") for thrust in ("included", "excluded")
    )
    assert within == beside


@given(st.floats(-1e6, 1e6), st.floats(-1e5, 1e7), st.floats(1e-5, 1.0))
def test_what_is_taken_out_is_put_back(axial, pressure, area):
    beyond = frames.axial_beyond_pressure(axial, pressure, area)
    assert beyond + pressure * area == pytest.approx(axial, rel=1e-9, abs=1e-6)
    assert frames.axial_beyond_pressure(axial, 0.0, area) == axial


def test_a_batch_gives_what_its_rows_give():
    pressures = np.array([0.0, 30e3, 60e3, 4e5])
    text = allowing(ELBOW, EVERY, "excluded")
    batch = evaluate(parse_case(text, "t", overrides={"cases/run/inlet/pressure": pressures}))["run"]
    for row, pressure in enumerate(pressures):
        single = made(
            text.replace(
                "pressure: 60 kPa}, outlet: free_jet", f"pressure: {float(pressure) / 1e3!r} kPa}}, outlet: free_jet"
            ),
            "run",
        )
        for check in batch.checks:
            if check.check in ACTIONS:
                got = np.broadcast_to(check.demand, pressures.shape)[row]
                assert got == pytest.approx(float(single[check.check].demand), rel=1e-12, abs=1e-9)


# --- beside supports, in cases, for several joints ----------------------------------------------------------------------------


def test_beside_supports_it_is_what_they_leave_to_the_joint():
    """The joint gives what the loads ask less what the hanger gives, about the joint's own point."""
    hanger = support("hanger", "H", (0.5, 0, 0), (0, 0, 1), "stiffness: 5 MN/m, allow: 9 kN")
    held = joint(GIVING).replace("main:\n", f"main:\n    allow: {{{EVERY}, pressure_thrust: included}}\n")
    pull, at = np.array([300.0, -200.0, -4000.0]), np.array([1.0, 0, 0])
    result = assess(parse_case(still(options(hung=[hanger]), pulled((pull, at)), held), "t.yaml")).cases["still"]
    up = result.supports["H"].force
    assert np.linalg.norm(up) > 500.0
    found = {check.check: float(check.demand) for check in result.checks}
    left = -(pull + up)
    moment = -(np.cross(at, pull) + np.cross([0.5, 0, 0], up))
    assert found["joint force"] == pytest.approx(np.linalg.norm(left), rel=1e-9)
    assert found["joint moment"] == pytest.approx(np.linalg.norm(moment), rel=1e-9)
    assert found["joint axial"] == pytest.approx(300.0, rel=1e-9)


def test_a_case_may_allow_more_and_inherits_whether_pressure_counts():
    text = allowing(BLANK_FLANGE, "force: 3 kN", "excluded").replace(
        "test: {", "test: {allow: {force: 4 kN, origin: occasional}, "
    )
    check = made(text, "test")["joint force"]
    assert (float(check.allowable), check.allowable_from) == (
        4000.0,
        "of the nozzle or pipe, occasional, for case 'test'",
    )
    assert float(check.demand) == pytest.approx(0.0, abs=1e-5)


def test_the_file_may_allow_for_every_joint_and_one_joint_its_own():
    text = BLANK_FLANGE.replace("allow: {", "allow: {force: 9 kN, pressure_thrust: included, ")
    assert float(made(text, "test")["joint force"].allowable) == 9000.0
    own = made(allowing(text, "force: 2 kN", ""), "test")["joint force"]
    assert (float(own.allowable), bool(own.holds)) == (2000.0, False)
    assert float(own.demand) == pytest.approx(1e6 * BORE, rel=1e-12)


def test_what_nobody_asks_for_is_neither_made_nor_listed():
    found = assess(parse_case(ELBOW, "t.yaml"))
    assert not {check.check for case in found.cases.values() for check in case.checks} & set(ACTIONS)
    assert not {item.check for item in found.not_checked} & set(ACTIONS)
    assert set(made(allowing(ELBOW, "moment: 1.8 kN*m", ""), "run")) == {"joint moment"}
    assert not any("nozzle" in line for line in found.assumptions)


# --- what is refused ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", ["force", "axial"])
@pytest.mark.parametrize("place", ["joint", "file", "case"])
def test_a_force_without_a_word_on_pressure_is_refused_where_it_stands(key, place):
    text, where = {
        "joint": (allowing(BLANK_FLANGE, f"{key}: 3 kN", ""), "joints / main / allow"),
        "file": (BLANK_FLANGE.replace("allow: {", f"allow: {{{key}: 3 kN, "), "allow"),
        "case": (BLANK_FLANGE.replace("test: {", f"test: {{allow: {{{key}: 3 kN}}, "), "cases / test / allow"),
    }[place]
    line = 1 + next(i for i, each in enumerate(text.splitlines()) if f"{key}: 3 kN" in each)
    told = told_of(text)
    assert told[0].startswith(f"t.yaml:{line}: {where} / pressure_thrust: 'pressure_thrust' is missing beside '{key}'")
    assert "included" in told[0]
    assert "excluded" in told[0]


@pytest.mark.parametrize(
    ("given_as", "told"),
    [
        ("force: -3 kN", "'-3 kN' must be more than 0"),
        ("force: 0 kN", "'0 kN' must be more than 0"),
        ("moment: 1.8 kN", "'1.8 kN' is not a moment"),
        ("torsion: 5 MPa", "'5 MPa' is not a moment"),
        ("shear: 3 kN*m", "'3 kN*m' is not a force"),
        ("axial: 3", "'3' is not a force (no unit"),
        ("nozzle_force: 3 kN", "did you mean 'force'?"),
        ("bending_moment: 3 kN*m", "did you mean 'bending'?"),
        ("Fx: 3 kN", "force and moment (resultants), or axial, shear, bending, torsion"),
        ("my: 3 kN*m", "force and moment (resultants), or axial, shear, bending, torsion"),
    ],
)
def test_what_cannot_be_read_is_told_in_words(given_as, told):
    assert told in told_of(allowing(BLANK_FLANGE, given_as))[0]


def test_a_word_on_pressure_that_is_none_is_told_with_those_that_are():
    assert "included, excluded" in told_of(allowing(BLANK_FLANGE, "force: 3 kN", "yes"))[0]


# --- what is told ---------------------------------------------------------------------------------------------------------------


def printed(tmp_path: Path, text: str, *words: str) -> str:
    path = tmp_path / "file.yaml"
    path.write_text(text)
    return CliRunner().invoke(main, [words[0], str(path), *words[1:]]).output


@pytest.mark.parametrize(("thrust", "words"), [("included", PRESSURE_IN), ("excluded", PRESSURE_OUT)])
def test_check_says_what_is_compared(tmp_path, thrust, words):
    told = " ".join(printed(tmp_path, allowing(ELBOW, EVERY, thrust), "check").split())
    assert (
        f"joint force: √(axial² + shear²), {words}; statics about the bolt-circle center; allowable: of the nozzle or pipe, user"
        in told
    )
    assert f"pressure thrust {thrust} in force and axial of the joint" in told
    assert f"compared part by part, force and moment never together, about the bolt-circle center; {words}." in told


def test_a_report_of_every_such_check_is_worked_out():
    study = parse_case(allowing(ELBOW, EVERY, "excluded"), "t.yaml")
    steps = [step for part in worked(assess(study)).cases["run"] for step in part.steps]
    lines = {step.label: step for step in steps if step.name.startswith("Demand")}
    assert set(ACTIONS) <= set(lines)
    beyond = next(step for step in steps if step.name == "Axial force without the pressure thrust")
    assert beyond.result.number == pytest.approx(1000 * 0.02**2 / BORE, rel=1e-9)


def test_limits_stop_where_pressure_times_bore_is_the_allowable(tmp_path):
    text = allowing(BLANK_FLANGE.replace("pressure: 10 bar", "pressure: 1 bar"), "axial: 3 kN")
    told = json.loads(printed(tmp_path, text, "limits", "--json"))
    found = told["cases"]["test"]
    assert found["pressure_Pa"] == pytest.approx(3000.0 / BORE, rel=1e-6)
    assert found["pressure_stopped_by"]["check"] == "joint axial"


def test_size_says_that_no_bolts_mend_it(tmp_path):
    text = allowing(BLANK_FLANGE, "force: 3 kN").replace("cases:", "sizing: {sizes: [M12, M16]}\ncases:")
    told = " ".join(printed(tmp_path, text, "size").split())
    assert "Fails whatever the bolts: joint force of joint 'main' in 'test'." in told
    assert (
        "joint force: this check is of what the fitting puts on the nozzle or pipe, and no choice of bolts mends that"
        in told
    )


@pytest.mark.parametrize("name", ALL)
def test_what_a_starter_shows_of_it_as_a_comment_is_right(name):
    text = uncommented(starter(name), "allow: {force:")
    assert text != starter(name)
    case = next(iter(assess(parse_case(text, name)).cases.values()))
    found = {check.check: check for check in case.checks if check.check in ACTIONS}
    assert set(found) == {"joint force", "joint moment"}
    # 1 lbf = 4.4482216152605 N, 1 ft = 0.3048 m (NIST SP 811)
    allowed = (700 * 4.4482216152605, 1300 * 4.4482216152605 * 0.3048) if name == "us" else (3000.0, 1800.0)
    assert tuple(float(found[each].allowable) for each in ("joint force", "joint moment")) == pytest.approx(
        allowed, rel=1e-9
    )


# --- support options side by side ------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def side_by_side() -> dict:
    return json.loads(CliRunner().invoke(main, ["supports", str(EXAMPLE), "--json"]).output)["options"]


def greatest(cases: dict, key: str) -> float:
    """The greatest by size of a joint's action over the cases of ``check --json``, with its sign."""
    return max((each[key] for case in cases.values() for each in case["joints"].values()), key=abs)


def test_every_option_says_what_it_leaves_on_the_joint(side_by_side):
    for option, found in side_by_side.items():
        cases = json.loads(CliRunner().invoke(main, ["check", str(EXAMPLE), "--json", "--option", option]).output)[
            "cases"
        ]
        assert found["joint_axial_N"] == greatest(cases, "axial_N")
        assert found["joint_shear_N"] == greatest(cases, "shear_N")
        assert found["joint_torsion_Nm"] == abs(greatest(cases, "torsion_Nm"))
        on_joint = cases[found["joint_axial_case"]]["joints"].values()
        assert found["joint_axial_N"] in [each["axial_N"] for each in on_joint]


def test_the_lines_of_the_csv_hold_the_joint_of_their_case(side_by_side):
    rows = list(csv.DictReader(io.StringIO(CliRunner().invoke(main, ["supports", str(EXAMPLE), "--csv"]).output)))
    assert {row["option"] for row in rows} == set(side_by_side)
    for option in side_by_side:
        cases = json.loads(CliRunner().invoke(main, ["check", str(EXAMPLE), "--json", "--option", option]).output)[
            "cases"
        ]
        for row in (row for row in rows if row["option"] == option):
            (held,) = cases[row["case"]]["joints"].values()
            assert float(row["joint_axial_N"]) == held["axial_N"]
            assert float(row["joint_shear_N"]) == held["shear_N"]
            assert float(row["joint_torsion_Nm"]) == abs(held["torsion_Nm"])


def test_the_table_shows_them_with_their_sign_within_80_columns(side_by_side):
    told = CliRunner().invoke(main, ["supports", str(EXAMPLE)]).output
    assert max(map(len, told.splitlines())) <= 80
    table = told[told.index("axial on") :]
    table = table[: table.index("Axial:")]
    for found in side_by_side.values():
        for key in ("joint_axial_N", "joint_shear_N"):
            # the example is metric: newtons, four figures and no decimals from a thousand on
            figure = re.escape(f"{found[key]:,.0f}") if abs(found[key]) >= 1000.0 else re.escape(f"{found[key]:.4g}")
            assert re.search(rf"(?<![\d,]){figure}(?!\d)", table), (key, figure)
    assert "plus opens the joint, minus presses it" in told


def test_an_option_that_presses_the_joint_has_a_minus():
    """900 N toward the pipe, with bolts alone: the joint is pressed by all of it."""
    study = parse_case(still("", pulled((np.array([-900.0, 0, 0]), np.zeros(3))), joint(GIVING)), "t.yaml")
    (alone,) = compare(study).options
    assert alone.joint_axial.value == pytest.approx(-900.0, rel=1e-12)


def test_a_nozzle_loaded_more_is_not_told_as_bolts_loaded_more():
    """The finding is of bolts; a nozzle over its limit fails by a check of its own."""
    hanger = support("hanger", "H", (1, 0, 0), (1, 0, 0), "stiffness: 5 MN/m, set_load: 2 kN, allow: 9 kN")
    held = joint(GIVING).replace("main:\n", "main:\n    allow: {axial: 100 N, pressure_thrust: included}\n")
    study = parse_case(still(options(hung=[hanger]), pulled((np.array([50.0, 0, 0]), np.zeros(3))), held), "t.yaml")
    found = assess(study)
    assert not bool(next(c for c in found.cases["still"].checks if c.check == "joint axial").holds)
    assert "supports load the joint more" not in {finding.kind for finding in found.warnings}


def test_the_report_has_the_table():
    section = supports_section(compare(read_case(str(EXAMPLE))), None)
    grid = next(block for block in section.blocks if getattr(block, "name", "") == "support_on_joint")
    assert grid.headers[0] == "option"
    assert len(grid.headers) == len(set(grid.headers)) == 9
    assert len(grid.rows) >= 2
