"""Supports whose foundation moves, and supports beside a pipe that sags under its own weight. Hand statics; cases invented."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize import CaseFileError, assess, parse_case
from anchorsize.mechanics.restraint import SupportState
from tests.support_cases import joint, on_one_line, options, printed, pulled, stiffness, still, support

X, Y, Z = np.eye(3)
JOINT, OWN = 2e6, 3e6  # N/m, of the joint across its axis and of the support
GIVING = stiffness("2 MN/m", "2 MN/m", "1 MN*m/rad", "1 MN*m/rad")
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
NOTHING = np.array([0.0, 0.0, -1e-6])


def filed(kind: str, terms: str, load: np.ndarray = NOTHING, holds: str = GIVING) -> str:
    """A support at the joint's center, along z; it and the joint give way as two springs, without turning."""
    held = support(kind, "S", (0, 0, 0), Z, f"stiffness: {OWN!r} N/m, {terms}")
    return still(options(A=[held]), pulled((load, np.zeros(3))), joint(holds), ALLOW)


def found(kind: str, terms: str, load: np.ndarray = NOTHING, holds: str = GIVING):
    result = assess(parse_case(filed(kind, terms, load, holds), "f"), "A")
    return result.cases["still"].supports["S"], result


@pytest.mark.parametrize(
    ("kind", "settles", "force"),
    [
        ("strut", 1.0, -1.0), ("strut", -1.0, 1.0), ("guide", 1.0, -1.0), ("rest", -1.0, 1.0), ("hanger", -1.0, 1.0), ("tie", -1.0, 1.0),
        ("thrust_block", -1.0, 1.0), ("rest", 1.0, 0.0), ("hanger", 1.0, 0.0),
    ],
)  # fmt: skip
def test_two_springs_in_series(kind: str, settles: float, force: float):
    """1 mm shared by support and joint: k_s k_j/(k_s + k_j) × 1 mm in both. One that acts one way only gives nothing when it sinks."""
    result, assessed = found(kind, f"settles: {settles:g} mm, allow: 9 kN")
    shared = OWN * JOINT / (OWN + JOINT) * 1e-3
    assert float(result.push) == pytest.approx(force * shared, rel=1e-6, abs=1e-5)
    assert float(assessed.cases["still"].joints["main"].reaction_force[2]) == pytest.approx(
        -force * shared, rel=1e-6, abs=1e-5
    )
    if not force:
        assert float(result.clearance) == pytest.approx(1e-3, rel=1e-6)


@pytest.mark.parametrize("sinks", [0.3e-3, 0.6e-3])
def test_a_rest_that_sinks_by_more_than_it_is_pressed_lifts_off(sinks: float):
    """1 kN on 2 and 3 MN/m: the joint alone would give 0.5 mm. Less than that leaves some force, more a clearance; a gap does the same."""
    load = -1000.0 * Z
    rest, _ = found("rest", f"settles: {sinks!r} m, allow: 9 kN", load)
    left = OWN * max((1000.0 / JOINT - sinks) / (1.0 + OWN / JOINT), 0.0)
    assert float(rest.push) == pytest.approx(left, rel=1e-6)
    assert float(rest.clearance) == pytest.approx(max(sinks - 1000.0 / JOINT, 0.0), abs=1e-12)
    assert (int(rest.state) == SupportState.OPEN) == (sinks > 0.5e-3)
    gap, _ = found("rest", f"gap: {sinks!r} m, allow: 9 kN", load)
    assert [float(gap.push), float(gap.clearance), float(gap.movement)] == pytest.approx(
        [float(rest.push), float(rest.clearance), float(rest.movement)], rel=1e-9, abs=1e-12
    )


@settings(max_examples=25)
@given(st.floats(-5e3, 5e3), st.floats(-2e-3, 2e-3))
def test_loads_and_settlement_add_up(load: float, sinks: float):
    """Of a support that acts both ways: the force of both is that of the load and that of the settlement."""
    both, _ = found("strut", f"settles: {sinks!r} m, allow: 99 kN", load * Z)
    alone = -load * OWN / (OWN + JOINT)
    assert float(both.push) == pytest.approx(alone - OWN * JOINT / (OWN + JOINT) * sinks, rel=1e-6, abs=1e-4)


def test_settlement_takes_from_what_was_set():
    """A tie set to 4 kN whose anchor comes 1 mm nearer: 1 kN is left to be shared; one set to 2 kN is left 1/3 mm slack."""
    tie, _ = found("tie", "set_load: 4 kN, settles: 1 mm, allow: 9 kN")
    assert float(tie.push) == pytest.approx(1e3 * JOINT / (OWN + JOINT), rel=1e-6)
    slack, _ = found("tie", "set_load: 2 kN, settles: 1 mm, allow: 9 kN")
    assert float(slack.push) == 0.0
    assert float(slack.clearance) == pytest.approx(1e-3 / 3.0, rel=1e-6)


def test_settlement_is_no_set_load():
    """As a set load of k × s it would fail by itself (3 kN against 2 kN), though the support never carries that: 1.2 kN."""
    sunk, result = found("rest", "settles: -1 mm, allow: 2 kN")
    made = {check.check: check for check in result.cases["still"].checks if check.where == "S"}
    assert set(made) == {"support load"}
    assert made["support load"].holds
    preset, other = found("rest", "set_load: 3 kN, allow: 2 kN")
    assert float(preset.push) == pytest.approx(float(sunk.push), rel=1e-9)
    assert not next(check for check in other.cases["still"].checks if check.check == "set load").holds


def test_a_rigid_joint_lets_all_of_it_act():
    strut, _ = found("strut", "settles: 0.2 mm, allow: 9 kN", holds="stiffness: rigid")
    assert float(strut.push) == pytest.approx(-OWN * 0.2e-3, rel=1e-9)
    rest, _ = found("rest", "settles: 0.2 mm, allow: 9 kN", holds="stiffness: rigid")
    assert float(rest.push) == 0.0


@pytest.mark.parametrize("holds", [GIVING, "stiffness: rigid"])
@pytest.mark.parametrize(("kind", "settles"), [("strut", 0.4), ("rest", 0.1), ("rest", 0.9), ("rest", -0.3)])
def test_worked_lines_count_what_settles(tmp_path: Path, kind: str, settles: float, holds: str):
    """A line that does not meet the assessment would stop the report."""
    text = filed(kind, f"settles: {settles:g} mm, allow: 9 kN", -1000.0 * Z, holds)
    out = tmp_path / "r.md"
    code, output = printed(tmp_path, text, "report", "--option", "A", "--no-limits", "-o", str(out))
    assert code == 0, output
    page = out.read_text()
    formula = "s − k·z" if "rigid" in holds else "s − k·(δ + z)"
    assert (f"max({formula}, 0)" if kind == "rest" else f"P = {formula}") in page


def test_settlement_is_told(tmp_path: Path):
    text = filed("rest", "settles: 0.2 mm, allow: 9 kN", -1000.0 * Z)
    _, said = on_one_line(tmp_path, text, "check", "--option", "A")
    assert "settles 0.2000 mm against toward" in said
    left = OWN * (1000.0 / JOINT - 0.2e-3) / (1.0 + OWN / JOINT)
    assert "Rest 'S' settles by 0.2 mm (what holds it moves against its toward, which takes load off it)" in said
    assert f"it carries {left:.0f} N in 'still'" in said
    data = json.loads(printed(tmp_path, text, "check", "--option", "A", "--json")[1])
    assert data["cases"]["still"]["supports"]["S"]["settlement_m"] == pytest.approx(0.2e-3)
    lifted = filed("rest", "settles: 0.9 mm, allow: 9 kN", -1000.0 * Z)
    _, said = on_one_line(tmp_path, lifted, "supports")
    assert "what it settles, 0.9 mm, is not used up, at its point the fitting moves 0.5 mm in 'still'" in said


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("{kind: spring_hanger, name: S, at: [0, 0, 0 m], set_load: 1 kN, settles: 1 mm}", "'settles' does not belong to a spring_hanger"),
        ("{kind: anchor, name: S, at: [0, 0, 0 m], six_way: rigid, settles: 1 mm}", "'settles' does not belong to an anchor"),
        ("{kind: rest, name: S, at: [0, 0, 0 m], stiffness: 1 MN/m, gap: 2 mm, settles: 1 mm}", "a gap and a settlement at once"),
        ("{kind: rest, name: S, at: [0, 0, 0 m], stiffness: 1 MN/m, settles: 300 mm}", "how far what holds the support moves against its toward"),
        ("{kind: rest, name: S, at: [0, 0, 0 m], stiffness: 1 MN/m, settlement: 1 mm}", "settles"),
        ("{kind: rest, name: S, at: [0, 0, 0 m], stiffness: 1 MN/m, subsidence: 1 mm}", "settles"),
    ],
)  # fmt: skip
def test_settlement_that_cannot_be(entry: str, said: str):
    with pytest.raises(CaseFileError) as caught:
        parse_case(still(options(A=[entry]), pulled((NOTHING, np.zeros(3))), joint(GIVING), ALLOW), "f")
    (problem,) = caught.value.problems
    assert said in str(problem)


# -- the weight of the pipe behind --------------------------------------------------------------------------------------

LONG = 12.0  # m, so slender that shear counts for a few parts in ten thousand
PER_METER = 300.0  # N/m
SLENDER = f"pipe_behind: {{outside: 114.3 mm, wall: 6 mm, length: {LONG} m, modulus: 200 GPa, poisson: 0.3}}"
HALF, TWELFTH = PER_METER * LONG / 2.0, PER_METER * LONG**2 / 12.0


def propped(at: float, moment: float) -> float:
    """Force of a stiff rest `at` m out from the joint, under the two loads of the recipe at the joint."""
    held = support("rest", "S", (at, 0, 0), Z, "stiffness: 1 GN/m, allow: 99 kN")
    loads = f"external:\n  - {{name: pipe, force: [0, 0, {-HALF} N], moment: [0, {moment}, 0 N*m], at: [0, 0, 0 m]}}\n"
    result = assess(parse_case(still(options(A=[held]), loads, joint(SLENDER), ALLOW), "f"), "A")
    return float(result.cases["still"].supports["S"].push)


def test_recipe_for_the_weight_of_the_pipe_gives_the_propped_cantilever():
    """Uniform load w on a cantilever propped at its end: 3wL/8. Shear is left out of the closed form: a few parts in ten thousand."""
    assert propped(0.0, -TWELFTH) == pytest.approx(3.0 * PER_METER * LONG / 8.0, rel=1e-3)


def test_recipe_for_the_weight_of_the_pipe_with_the_rest_out_on_the_fitting():
    """A rigid arm a beyond the end: w(L⁴/8 + L³a/6) = R(L³/3 + L²a + La²), by the sag and the slope of the free end."""
    a = 1.5
    expected = PER_METER * (LONG**4 / 8 + LONG**3 * a / 6) / (LONG**3 / 3 + LONG**2 * a + LONG * a**2)
    assert propped(a, -TWELFTH) == pytest.approx(expected, rel=1e-3)
    assert propped(a, TWELFTH) != pytest.approx(expected, rel=0.1)  # the moment turns the end up


def test_weight_and_length_of_the_pipe_are_told(tmp_path: Path):
    held = support("rest", "S", (0, 0, 0), Z, "stiffness: 10 MN/m, allow: 99 kN")
    text = still(options(A=[held]), pulled((-900.0 * Z, np.zeros(3))), joint(SLENDER), ALLOW)
    _, said = on_one_line(tmp_path, text, "check", "--option", "A")
    assert "supports set before this pipe is let go or filled carry part of it" in said
    assert "w L/2 down and the moment w L²/12 that turns this end of the pipe up" in said
    assert "pressure shortens it by Poisson's ratio × hoop stress × length / modulus" in said
    assert (
        "pressure shortens it"
        not in on_one_line(tmp_path, still("", pulled((-900.0 * Z, X)), joint(SLENDER), ALLOW), "check")[1]
    )


def test_a_support_set_once_the_weight_is_on_the_joint_takes_none_of_it_back():
    """The recipe of the assumptions: 900 N at 1 m give 900/k + 900·1²/kθ there (statics); with that as settles the rest carries nothing."""
    sagged = 900.0 / 2e6 + 900.0 / 1e6
    held, late = (
        assess(
            parse_case(
                still(
                    options(A=[support("rest", "R", X, Z, f"stiffness: 5 MN/m, allow: 9 kN{more}")]),
                    pulled((-900 * Z, X)),
                    joint(GIVING),
                ),
                "f",
            )
        )
        for more in ("", f", settles: {sagged * 1e3} mm")
    )
    assert float(held.cases["still"].supports["R"].push) == pytest.approx(
        900.0 * sagged / (sagged + 900.0 / 5e6), rel=1e-9
    )
    assert float(late.cases["still"].supports["R"].push) == pytest.approx(0.0, abs=1e-6)
    assert any("write as settles what the joint had given there" in line for line in held.assumptions)
