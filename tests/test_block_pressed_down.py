"""A thrust block that is pressed down: its soil carries thrust and weight, checked and sized by one factor. Cases invented."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize import assess, parse_case
from anchorsize.assessment import evaluate
from anchorsize.mechanics.support_capacity import bearing_area
from anchorsize.studies.support_size import size_supports
from anchorsize.study import Study
from tests.support_cases import on_one_line, options, printed, pulled, still, support

X, Y, Z = np.eye(3)
G = 9.80665  # ISO 80000-3
ALL = "sliding_factor: 1.5, overturning_factor: 1.5, uplift_factor: 1.2"
SLANTED = np.array([-0.6, 0.0, 0.8])


def block(
    width: float,
    way: np.ndarray = Z,
    height: float = 0.5,
    bearing: str = "100 kPa",
    thrust_height: float = 0.2,
    density: float = 2400,
) -> str:
    terms = (
        f"stiffness: 20 MN/m, block: {{length: 0.6 m, width: {width!r} m, height: {height!r} m, density: {density!r} kg/m^3, "
        f"friction: 0.4, thrust_height: {thrust_height!r} m, soil: sand}}, allow: {{bearing: {bearing}, bearing_factor: 1.5, {ALL}}}"
    )
    return support("thrust_block", "B1", (0, 0, 0), way, terms)


def filed(held: str, thrust: float, way: np.ndarray = Z) -> str:
    """The block alone takes the thrust, whatever its size: struts hold all else, none along its way."""
    off = np.cross(way, Y)
    places = [((0, 0, 0), off), (way, off), ((0, 0, 0), Y), (way, Y), (off, Y)]
    struts = [
        support("strut", f"s{i}", at, line, "stiffness: 1 MN/m, allow: 1 GN") for i, (at, line) in enumerate(places)
    ]
    return still(options(A=[*struts, held]), pulled((-thrust * way, np.zeros(3))))


def judged(text: str):
    return {c.check: c for c in assess(parse_case(text, "f"), "A").cases["still"].checks if c.where == "B1"}


def needs_of(text: str):
    return next(each.block for each in size_supports(parse_case(text, "f"), "A") if each.block is not None)


# -- the check --------------------------------------------------------------------------------------------------------


def test_soil_under_a_block_carries_its_weight_with_the_factor():
    """0.6 × 0.238 × 0.5 m of 2400 kg/m³ weigh 1680.5 N: 9380 + 1680.5 = 11060.5 N, and 100 kPa × 0.1428 m² over that is 1.291."""
    checks = judged(filed(block(0.238), 9380.0))
    bearing, base = checks["block bearing"], checks["block base"]
    assert float(bearing.demand) == pytest.approx(14280 / 11060.5, rel=1e-5)
    assert not bearing.holds
    # thrust through the middle: the base line has the same pressure, against the same allowable
    assert float(bearing.demand) == pytest.approx(100e3 / float(base.demand), rel=1e-9)
    assert "the block's own weight" in bearing.formula
    assert "the weight by statics" in bearing.source


def test_slanted_block_counts_its_whole_weight_beside_the_whole_thrust():
    """W = 2400 × 9.80665 × 0.6 × 0.4 × 0.5 m³; beside 5 kN on 0.24 m² of 100 kPa; the base gets W + 0.8 · 5 kN, less."""
    weight = 2400 * G * 0.6 * 0.4 * 0.5
    checks = judged(filed(block(0.4, SLANTED), 5e3, SLANTED))
    assert float(checks["block bearing"].demand) == pytest.approx(100e3 * 0.24 / (5e3 + weight), rel=1e-9)


@pytest.mark.parametrize("slant", [-0.5, 0.0, 0.5, 0.9])
def test_block_pushed_sideways_stays_by_its_face(slant: float):
    """Up to a cosine of 0.7 to up it bears on width × height, and its weight is the base's affair."""
    way = np.array([-1.0, 0.0, slant]) / math.hypot(1.0, slant)
    bearing = judged(filed(block(0.4, way), 5e3, way))["block bearing"]
    assert float(bearing.demand) == pytest.approx(100e3 * 0.4 * 0.5 / 5e3, rel=1e-9)
    assert "weight" not in bearing.formula + bearing.source


def weighing(study: Study, density: float) -> Study:
    supports = tuple(
        each if each.block is None else replace(each, block=replace(each.block, density=density))
        for each in study.supports["A"]
    )
    return replace(study, supports={"A": supports})


@pytest.mark.parametrize("way", [Z, SLANTED])
def test_without_weight_it_is_the_thrust_alone(way: np.ndarray):
    study = parse_case(filed(block(0.4, way), 5e3, way), "f")
    factors = []
    for density in (2400.0, 24.0, 0.0):
        checks = evaluate(weighing(study, density), "A")["still"].checks
        factors.append(float(next(c.demand for c in checks if c.check == "block bearing")))
    assert factors == sorted(factors)
    assert factors[-1] == pytest.approx(100e3 * 0.24 / 5e3, rel=1e-9)


@pytest.mark.parametrize("way", [Z, SLANTED])
def test_worked_line_counts_the_weight(tmp_path: Path, way: np.ndarray):
    """A line that does not meet the assessment would stop the report."""
    out = tmp_path / "r.md"
    text = filed(block(0.4, way), 5e3, way)
    code, output = printed(tmp_path, text, "report", "--option", "A", "--no-limits", "-o", str(out))
    assert code in (0, 1), output
    assert "D = q·l·w/(P + ρ·l·w·h·g)" in out.read_text()


# -- sizing -----------------------------------------------------------------------------------------------------------


@given(
    thrust=st.floats(0.0, 1e6),
    allowable=st.floats(1e4, 1e6),
    factor=st.floats(1.0, 3.0),
    share=st.floats(0.0, 0.9),
)
def test_area_carries_thrust_and_its_own_weight(thrust: float, allowable: float, factor: float, share: float):
    """On the area asked for, factor × (thrust + own weight) is what the soil bears."""
    own = share * allowable / factor
    area = float(bearing_area(thrust, allowable, factor, own))
    assert factor * (thrust + own * area) == pytest.approx(allowable * area, rel=1e-9)
    assert float(bearing_area(thrust, allowable, factor, allowable / factor * (1 + 1e-9))) == np.inf
    assert float(bearing_area(thrust, allowable, factor)) == pytest.approx(factor * thrust / allowable, rel=1e-12)


def test_area_of_a_block_pressed_down_by_hand(tmp_path: Path):
    """9457 N/(100 kPa/1.5 − 2400 × 9.80665 × 0.5 m) = 9457/(66667 − 11768) = 0.1723 m²; by 0.6 m, 287.1 mm, so 290 mm."""
    wide = filed(block(0.4), 9457.0)
    needs = needs_of(wide)
    assert needs.bearing_area == pytest.approx(0.17226, abs=5e-6)
    used = float(judged(filed(block(needs.bearing_area / 0.6), 9457.0))["block bearing"].utilization)
    assert used == pytest.approx(1.0, rel=1e-9)
    _, said = on_one_line(tmp_path, wide, "supports")
    assert (
        "as given bears the 9457 N that it draws and its own weight (this force with the weight on such an area needs 0.1723 m² of it"
        in said
    )
    narrow = filed(block(0.26), 9457.0)  # 0.156 m²: more than the thrust alone needs, 0.1419 m²
    size = needs_of(narrow).size
    assert size.width == pytest.approx(0.29)
    assert 0.98 < float(judged(filed(block(0.29), 9457.0))["block bearing"].utilization) <= 1.0
    assert float(judged(filed(block(0.28), 9457.0))["block bearing"].utilization) > 1.0
    _, said = on_one_line(tmp_path, narrow, "supports")
    assert (
        "too small for what it draws and weighs; with a width of 290 mm, length as given, it bears the 9457 N" in said
    )
    assert "that it draws then and its own weight; nothing pushes it sideways" in said


@pytest.mark.parametrize("height", [0.2, 0.5, 3.0])  # at 3 m the soil does not bear it on any area
@pytest.mark.parametrize("width", [0.3, 0.9])
def test_slanted_block_is_sized_with_the_height_that_it_gets(width: float, height: float):
    """Whatever height is given: entered as told it holds, and 10 mm narrower or lower than the least it does not."""
    held = block(width, SLANTED, height, "60 kPa")
    size = needs_of(filed(held, 8e3, SLANTED)).size

    def worst(wide: float, high: float) -> float:
        found = judged(filed(block(wide, SLANTED, high, "60 kPa"), 8e3, SLANTED))
        return max(float(check.utilization) for check in found.values())

    assert worst(round(size.width, 4), round(size.height, 4)) <= 1.0
    assert size.height == pytest.approx(0.2) or worst(size.width, size.height - 0.01) > 1.0
    if size.width > width:
        assert all(worst(size.width - 0.01, high / 100) > 1.0 for high in range(20, 200, 4))
    else:
        assert size.width == pytest.approx(width)


def test_soil_that_does_not_bear_the_block_itself(tmp_path: Path):
    """2400 × 9.80665 × 0.5 m is 11.77 kPa; 1.5 times that is 17.65 kPa, more than 17 kPa, so that no area holds; 18 kPa has one."""
    text = filed(block(0.4, bearing="17 kPa"), 100.0)
    needs = needs_of(text)
    assert needs.too_heavy
    assert needs.size is None
    _, said = on_one_line(tmp_path, text, "supports")
    assert "no area holds: at the height given its weight alone presses the soil under it with 11.77 kPa" in said
    assert "1.5 times that is not less than its bearing of 17 kPa: a lower or lighter block" in said
    out = json.loads(printed(tmp_path, text, "supports", "--json")[1], parse_constant=lambda word: pytest.fail(word))
    (entry,) = (each for each in out["options"]["A"]["sizing"] if each["support"] == "B1")
    assert entry["bearing_area_m2"] is None
    assert entry["holds_at"] is None
    bears = needs_of(filed(block(0.4, bearing="18 kPa"), 100.0))
    assert not bears.too_heavy
    assert bears.bearing_area == pytest.approx(150 / (18e3 - 1.5 * 2400 * G * 0.5), rel=1e-9)
