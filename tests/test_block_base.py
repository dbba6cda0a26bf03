"""The soil under a thrust block: its check, what is told where nobody allowed for it, and blocks sized for it. Cases invented."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest

from anchorsize import assess, parse_case
from anchorsize.studies.support_size import size_supports
from tests.support_cases import joint, on_one_line, options, printed, pulled, stiffness, still, support

X, Y, Z = np.eye(3)
G = 9.80665  # ISO 80000-3
GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
FACTORS = "sliding_factor: 1.5, overturning_factor: 1.5, uplift_factor: 1.2"


def block(
    allow: str, toward: np.ndarray = -X, sides: tuple[float, ...] = (1.6, 1.4, 1.2), thrust_height: str = "0.6 m"
) -> str:
    length, width, height = sides
    high = f"thrust_height: {thrust_height}, " if thrust_height else ""
    made = (
        f"block: {{length: {length!r} m, width: {width!r} m, height: {height!r} m, density: 2350 kg/m^3, friction: 0.32, {high}"
        f"subgrade_modulus: 20 MN/m^3}}, allow: {{{allow}}}"
    )
    return support("thrust_block", "B2", (0, 0, 0), toward, made)


def filed(held: str, thrust: np.ndarray) -> str:
    """The block against a force on the fitting, beside a joint that gives."""
    return still(options(A=[held]), pulled((thrust, np.zeros(3))), joint(GIVING), ALLOW)


def judged(held: str, thrust: np.ndarray):
    result = assess(parse_case(filed(held, thrust), "f"), "A")
    case = result.cases["still"]
    return {check.check: check for check in case.checks if check.where == "B2"}, case.supports["B2"], result


def pressure(normal: float, moment: float, length: float, width: float) -> float:
    """By hand: the trapezoid, or the triangle beyond the kern."""
    off = moment / normal
    if off <= length / 6.0:
        return normal / (length * width) * (1.0 + 6.0 * off / length)
    return 2.0 * normal / (3.0 * width * (length / 2.0 - off))


# -- the check --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("slant", [-0.5, 0.0, 0.4])
@pytest.mark.parametrize("load", [4e3, 40e3])
def test_block_base_by_hand(slant: float, load: float):
    """Pulled up, level and pressed down: uplift at the face, a downward part through the middle, the level one at 0.6 m."""
    way = np.array([-1.0, 0.0, slant]) / math.hypot(1.0, slant)
    checks, result, _ = judged(block("base_bearing: 60 kPa", way), -load * way)
    push = float(result.push)
    up, level = -push * way[2], push * abs(way[0])
    weight = 1.6 * 1.4 * 1.2 * 2350 * G
    expected = pressure(weight - up, level * 0.6 + max(up, 0.0) * 0.8, 1.6, 1.4)
    assert checks["block base"].demand == pytest.approx(expected, rel=1e-9)
    assert checks["block base"].utilization == pytest.approx(expected / 60e3, rel=1e-9)
    assert float(checks["block base"].demand) > 2350 * 1.2 * G - up / (1.6 * 1.4)


def test_block_pressed_down_is_held_against_its_bearing():
    """2350 × 9.80665 × 1.2 m is 27.7 kPa by weight alone: more than 20 kPa of the soil that it is pressed down on.

    So neither its base nor its bearing holds: 20 kPa × 2.24 m² = 44.8 kN against 61.95 kN with less than 3 kN of thrust."""
    way = np.array([-0.5, 0.0, 0.866]) / math.hypot(0.5, 0.866)
    checks, found, result = judged(block("bearing: 20 kPa, bearing_factor: 1.5", way), -3e3 * way)
    borne = float(found.push) + 2350 * G * 1.6 * 1.4 * 1.2
    assert float(checks["block bearing"].demand) == pytest.approx(20e3 * 1.6 * 1.4 / borne, rel=1e-9)
    assert not checks["block bearing"].holds
    assert not checks["block base"].holds
    assert float(checks["block base"].demand) > 27.65e3
    assert result.verdict == "fails"
    own, _, _ = judged(block("bearing: 20 kPa, bearing_factor: 1.5, base_bearing: 40 kPa", way), -3e3 * way)
    assert own["block base"].holds
    assert own["block base"].allowable == 40e3


def test_block_that_tips_has_no_base():
    checks, result, _ = judged(block("base_bearing: 1 MPa", sides=(0.3, 1.4, 1.2)), 6e3 * X)
    assert float(result.push) * 0.6 > 0.3 * 1.4 * 1.2 * 2350 * G * 0.15
    assert checks["block base"].demand == np.inf
    assert not checks["block base"].holds


def test_base_bearing_without_thrust_height_is_not_checked():
    checks, _, result = judged(block("base_bearing: 60 kPa, uplift_factor: 1.2", thrust_height=""), 4e3 * X)
    assert "block base" not in checks
    assert {item.check: item.supply for item in result.not_checked}["block base"] == "block / thrust_height"
    (found,) = [each for each in result.warnings if each.kind == "soil under a block not checked"]
    assert "tipping not counted without block / thrust_height: not checked; give block / thrust_height" in found.message


@pytest.mark.parametrize(
    ("load", "sides", "line"),
    [
        (4e3, (1.6, 1.4, 1.2), "D = N/(l·w) + 6·M/(w·l²)"),
        (4e3, (0.5, 1.4, 1.2), "D = 2·N/(3·w·(l/2 − M/N))"),
        (6e3, (0.3, 1.4, 1.2), ""),
    ],
)
def test_worked_lines_of_a_base(tmp_path: Path, load: float, sides: tuple[float, ...], line: str):
    """Trapezoid, triangle and a block that tips; a line that does not meet the assessment would stop the report."""
    way = np.array([-0.9, 0.0, -math.sqrt(0.19)])
    text = filed(block(f"base_bearing: 60 kPa, {FACTORS}", way, sides), -load * way)
    out = tmp_path / "r.md"
    code, output = printed(tmp_path, text, "report", "--option", "A", "--no-limits", "-o", str(out))
    assert code in (0, 1), output
    page = out.read_text()
    for what in ("N = ρ·l·w·h·g − U", "M = H·h\\_t + max(U, 0)·l/2", line):
        assert what in page
    assert ("D = N/(l·w)" in page or "D = 2·N" in page) == bool(line)
    _, said = on_one_line(tmp_path, text, "check", "--option", "A")
    assert "bearing under the base 0.06000 MPa" in said


# -- what is told -----------------------------------------------------------------------------------------------------


def told(held: str, thrust: np.ndarray):
    _, _, result = judged(held, thrust)
    return [each for each in result.warnings if each.kind == "soil under a block not checked"]


def test_soil_under_a_block_is_told_with_its_figure():
    """4 kN level beside 1 MN/m of the joint; 27.65 kPa of weight; in doubt where the bearing given is less."""
    push = 4e3 * 20e6 * 1.4 * 1.2 / (1e6 + 20e6 * 1.4 * 1.2)
    weight = 1.6 * 1.4 * 1.2 * 2350 * G
    whole = pressure(weight, push * 0.6, 1.6, 1.4) / 1e3
    for bearing, doubtful in ((50, False), (20, True)):
        (found,) = told(block(f"bearing: {bearing} kPa, bearing_factor: 1.5"), 4e3 * X)
        said = found.message
        assert (
            f"The soil under block 'B2' gets up to {whole:.4g} kPa in 'still', of which weight alone 27.65 kPa" in said
        )
        assert "not checked; give allow / base_bearing" in said
        assert found.doubtful == doubtful
        assert ("more than the 20 kPa given as its bearing" in said) == doubtful
    assert not told(block("bearing: 50 kPa, base_bearing: 50 kPa, bearing_factor: 1.5"), 4e3 * X)
    assert not told(block("bearing: 50 kPa, bearing_factor: 1.5", Z), -4e3 * Z)  # held against its bearing
    (tipped,) = told(block("bearing: 50 kPa, bearing_factor: 1.5", sides=(0.3, 1.4, 1.2)), 6e3 * X)
    assert "tips or lifts" in tipped.message
    (bare,) = told(block("bearing: 50 kPa, bearing_factor: 1.5", thrust_height=""), 4e3 * X)
    assert "tipping not counted without block / thrust_height" in bare.message


# -- sizing -----------------------------------------------------------------------------------------------------------

SIDE = f"bearing: 50 kPa, bearing_factor: 1.5, {FACTORS}"


def sized(held: str, thrust: np.ndarray):
    return size_supports(parse_case(filed(held, thrust), "f"), "A")[0].block


def test_length_grows_until_the_soil_under_it_holds(tmp_path: Path):
    """Weight alone would do with a short block, whose toe presses with 88 kPa; the least length within the allowable, by hand."""
    thrust = 3.579e3 * X
    without = sized(block(SIDE), thrust)
    level, width, height = without.force, 1.4, 1.2
    assert level == pytest.approx(3476, abs=2)
    assert without.size.length == pytest.approx(0.43)
    weight = 2350 * G * width * height
    assert without.size.base_pressure == pytest.approx(pressure(weight * 0.43, level * 0.6, 0.43, width), rel=1e-6)
    assert without.size.base_pressure == pytest.approx(88e3, abs=0.5e3)
    assert not without.size.base_judged
    _, said = on_one_line(tmp_path, filed(block(SIDE), thrust), "supports")
    assert re.search(
        r"least length that holds is 430 mm .* the soil under this size gets up to 88\.\d+ kPa, more than the 50 kPa given",
        said,
    )

    found = sized(block(f"{SIDE}, base_bearing: 50 kPa"), thrust).size
    least = next(n for n in range(43, 500) if pressure(weight * n / 100, level * 0.6, n / 100, width) <= 50e3) / 100
    assert found.length == pytest.approx(least)
    assert found.governing.check == "block base"
    assert found.base_judged
    assert found.base_pressure <= 50e3
    out = json.loads(printed(tmp_path, filed(block(f"{SIDE}, base_bearing: 50 kPa"), thrust), "supports", "--json")[1])
    (entry,) = out["options"]["A"]["sizing"]
    assert entry["holds_at"]["base_pressure_Pa"] == pytest.approx(found.base_pressure, rel=1e-9)


def test_no_length_spares_soil_that_the_height_alone_overloads(tmp_path: Path):
    """27.65 kPa by weight at any length, against 25 kPa."""
    held = block(f"{SIDE}, base_bearing: 25 kPa")
    needs = sized(held, 4e3 * X)
    assert needs.size is None
    assert needs.base_too_small
    _, said = on_one_line(tmp_path, filed(held, 4e3 * X), "supports")
    assert "gets more than it may however long it is made: a larger base or a lower block is needed" in said


@pytest.mark.parametrize("load", [20e3, 60e3])
def test_base_of_a_block_pressed_down_is_widened_for_its_weight(tmp_path: Path, load: float):
    """Entered as told it holds, 10 mm narrower no height does."""
    way = np.array([-1.0, 0.0, 1.5]) / math.hypot(1.0, 1.5)
    needs = sized(block(SIDE, way, (0.8, 0.4, 0.8), "0.2 m"), -load * way)
    size = needs.size
    sides = (size.length, size.width, size.height)
    checks, _, _ = judged(block(SIDE, way, sides, "0.2 m"), -load * way)
    assert all(check.holds for check in checks.values())
    narrower = sized(block(SIDE, way, (size.length, size.width - 0.01, 0.8), "0.2 m"), -load * way)
    assert narrower.size.width == pytest.approx(size.width)
    _, said = on_one_line(tmp_path, filed(block(SIDE, way, (0.8, 0.4, 0.8), "0.2 m"), -load * way), "supports")
    assert "too small for what it draws and weighs" in said
