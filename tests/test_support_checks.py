"""The checks of supports against statics done again here, what is listed as not checked, and what stands out."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.optimize import brentq, minimize

from anchorsize import assess, parse_case
from anchorsize.assessment.checks_supports import SUPPORT_RULES, SupportAsk, plate_under
from anchorsize.assessment.findings_supports import worsened
from anchorsize.cli import main
from tests.support_cases import guided, joint, options, pulled, stiffness, still, support

X, Y, Z = np.eye(3)
G = 9.80665  # ISO 80000-3


def judged(held: str, *loads, strut: str = "1 kN/m"):
    """Checks of the support R by name, with the assessment; five struts leave it all that acts along z."""
    text = still(options(A=[*guided(strut=strut), held]), pulled(*loads))
    result = assess(parse_case(text, "file.yaml"))
    return {c.check: c for c in result.cases["still"].checks if c.where == "R"}, result


def on_slope(kind: str, terms: str, way: np.ndarray, *loads):
    """As ``judged``, but R acts along ``way`` in the x-z plane through the origin; struts hold all else, none along ``way``."""
    off = np.cross(way, Y)
    places = [((0, 0, 0), off), (way, off), ((0, 0, 0), Y), (way, Y), (off, Y)]
    struts = [
        support("strut", f"s{i}", at, line, "stiffness: 1 GN/m, allow: 1 GN") for i, (at, line) in enumerate(places)
    ]
    text = still(options(A=[*struts, support(kind, "R", (0, 0, 0), way, terms)]), pulled(*loads))
    result = assess(parse_case(text, "file.yaml"))
    return {c.check: c for c in result.cases["still"].checks if c.where == "R"}, result


def at_origin(*force: float):
    return (force, (0.0, 0.0, 0.0))


def test_every_rule_is_tested_here():
    """A rule without a test of its own would go unnoticed."""
    assert [name for name, _ in SUPPORT_RULES] == [
        "support load", "set load", "anchor moment", "rod tension", "post stress", "post buckling", "plate bearing", "anchor tension",
        "anchor shear", "block bearing", "block sliding", "block overturning", "block uplift", "block base",
    ]  # fmt: skip


# -- load, moment, rod ------------------------------------------------------------------------------------------------


def test_support_load_counts_friction():
    """N = 1000 N with 0.3 N of friction used up: 1000 √1.09."""
    held = support("rest", "R", (0, 0, 0), None, "stiffness: 1 MN/m, friction: 0.3, allow: 4 kN")
    checks, _ = judged(held, at_origin(900, 0, -1000))
    assert checks["support load"].demand == pytest.approx(1000 * math.sqrt(1.09), rel=1e-9)
    assert checks["support load"].utilization == pytest.approx(1000 * math.sqrt(1.09) / 4000, rel=1e-9)
    assert checks["support load"].allowable_from == "user"


@pytest.mark.parametrize(("kind", "load"), [("hanger", -1500.0), ("strut", -1500.0), ("strut", 1500.0)])
def test_support_load_is_a_magnitude(kind: str, load: float):
    checks, result = judged(
        support(kind, "R", (0, 0, 0), None, "stiffness: 1 MN/m, allow: 1 kN"), at_origin(0, 0, load)
    )
    assert checks["support load"].utilization == pytest.approx(1.5, rel=1e-9)
    assert not checks["support load"].holds
    assert result.verdict == "fails"
    # A hanger pulls the fitting up, a strut pushes or pulls against whatever comes.
    assert result.cases["still"].supports["R"].force[2] == pytest.approx(-load, rel=1e-9)


def test_anchor_moment_and_force():
    """The only thing that holds: it must supply minus the load and minus its moment about the anchor."""
    load, at, here = np.array([300.0, -200.0, -900.0]), np.array([1.0, 0.4, 0.2]), np.array([0.2, -0.1, 0.3])
    terms = "six_way: rigid, allow: {force: 3 kN, moment: 2 kN*m}"
    text = still(options(A=[support("anchor", "R", here, Z, terms)]), pulled((load, at)))
    checks = {c.check: c for c in assess(parse_case(text, "f")).cases["still"].checks}
    assert checks["support load"].demand == pytest.approx(np.linalg.norm(load), rel=1e-12)
    assert checks["anchor moment"].demand == pytest.approx(np.linalg.norm(np.cross(at - here, load)), rel=1e-12)
    assert checks["anchor moment"].unit == "Nm"
    assert checks["anchor moment"].allowable == 2000.0


def test_anchor_without_one_of_its_allowables():
    terms = "six_way: rigid, allow: 3 kN"
    text = still(options(A=[support("anchor", "R", (0, 0, 0), Z, terms)]), pulled(at_origin(0, 0, -900)))
    assert ("anchor moment", "R", "allow / moment") in {
        (i.check, i.where, i.supply) for i in assess(parse_case(text, "f")).not_checked
    }


def test_rod_stress_is_on_the_root_area():
    """M12: root diameter 12 - 1.3 × 1.75 mm, the form that fits the root areas of ASME PCC-1 Table H-1 (computed, to 0.1 mm²)."""
    terms = "rod: M12, length: 1 m, modulus: 200 GPa, allow: {stress: 62 MPa}"
    checks, result = judged(support("hanger", "R", (0, 0, 0), None, terms), at_origin(0, 0, -3000))
    root = math.pi / 4 * (0.012 - 1.3 * 0.00175) ** 2
    assert checks["rod tension"].demand == pytest.approx(3000 / root, rel=0.05e-6 / root)
    # It stretches by its tensile stress area, 84.3 mm² (ISO 898-1).
    assert -result.cases["still"].supports["R"].movement == pytest.approx(3000 * 1 / (200e9 * 84.3e-6), rel=1e-3)


def test_rod_of_a_spring_hanger_carries_its_set_load():
    terms = "rod: M12, set_load: 800 N, allow: {stress: 62 MPa}"
    text = still(
        options(A=[support("spring_hanger", "R", (0, 0, 0), None, terms)]), pulled(at_origin(0, 0, -3000)), joint()
    )
    (check,) = (c for c in assess(parse_case(text, "f")).cases["still"].checks if c.check == "rod tension")
    assert check.demand == pytest.approx(800 / (math.pi / 4 * (0.012 - 1.3 * 0.00175) ** 2), rel=1e-3)


# -- posts ------------------------------------------------------------------------------------------------------------

TUBE = "section: {outside: 76.1 mm, wall: 3.2 mm}, length: 0.9 m, modulus: 205 GPa"
AREA = math.pi / 4 * (0.0761**2 - 0.0697**2)
INERTIA = math.pi / 64 * (0.0761**4 - 0.0697**4)


def test_post_stress_with_bending_by_friction():
    held = support("rest", "R", (0, 0, 0), None, f"{TUBE}, friction: 0.25, allow: {{stress: 150 MPa}}")
    checks, _ = judged(held, at_origin(5000, 0, -8000))
    by_hand = 8000 / AREA + 0.25 * 8000 * 0.9 * 0.03805 / INERTIA
    assert checks["post stress"].demand == pytest.approx(by_hand, rel=1e-7)
    assert checks["post stress"].utilization == pytest.approx(by_hand / 150e6, rel=1e-7)


def test_post_stress_without_friction_is_force_over_area():
    checks, _ = judged(
        support("rest", "R", (0, 0, 0), None, f"{TUBE}, allow: {{stress: 150 MPa}}"), at_origin(0, 0, -8000)
    )
    assert checks["post stress"].demand == pytest.approx(8000 / AREA, rel=1e-9)


@pytest.mark.parametrize(("kind", "load"), [("rest", -8000.0), ("strut", -8000.0), ("strut", 8000.0)])
def test_buckling_of_a_post(kind: str, load: float):
    """π²EI/(KL)² over the force, at least the factor of the user; a strut may stand on either side, so both signs count."""
    terms = f"{TUBE}, effective_length_factor: 2, allow: {{stress: 150 MPa, buckling_factor: 3}}"
    checks, _ = judged(support(kind, "R", (0, 0, 0), None, terms), at_origin(0, 0, load))
    critical = math.pi**2 * 205e9 * INERTIA / 1.8**2
    assert checks["post buckling"].demand == pytest.approx(critical / 8000, rel=1e-9)
    assert checks["post buckling"].utilization == pytest.approx(3 * 8000 / critical, rel=1e-9)


def test_section_by_area_and_second_moment():
    terms = (
        "section: {area: 10 cm^2, second_moment: 50 cm^4, half_depth: 40 mm}, length: 1 m, modulus: 200 GPa, friction: 0.2, "
        "effective_length_factor: 1, allow: {stress: 100 MPa, buckling_factor: 2}"
    )
    checks, result = judged(support("rest", "R", (0, 0, 0), None, terms), at_origin(9000, 0, -10000))
    assert checks["post stress"].demand == pytest.approx(10000 / 1e-3 + 2000 * 1 * 0.04 / 50e-8, rel=1e-7)
    assert checks["post buckling"].demand == pytest.approx(math.pi**2 * 200e9 * 50e-8 / 10000, rel=1e-9)
    assert -result.cases["still"].supports["R"].movement == pytest.approx(10000 / (200e9 * 1e-3), rel=1e-9)


# -- base plates ------------------------------------------------------------------------------------------------------


def on_plate(load: float, lever: float, plate: str, allow: str, sideways=X, friction: float = 0.25):
    """A rest that slides: the plate is pressed by ``load`` and turned by the friction at the top, an eccentricity of ``lever``."""
    terms = f"stiffness: 1 GN/m, length: {lever / friction!r} m, friction: {friction}, base_plate: {{{plate}}}, allow: {{{allow}}}"
    force = np.array(sideways) * load - load * Z
    return judged(support("rest", "R", (0, 0, 0), None, terms), (force, (0, 0, 0)))


def pressures(result):
    made = result.cases["still"].supports["R"]
    return plate_under(SupportAsk(made.support, made, result.study.up), made.support.base_plate)


def test_published_base_pressure_inside_the_middle_third():
    """Sarkar, Strength of Materials, Problem 14.3: 112.38 and 55.62 kPa (as computed by a public companion), to 0.01 kPa.

    A wall 1 m on top, 4 m at its base and 6 m high of 22.4 kN/m³, water 5.5 m deep on its upright face: 336 kN per meter,
    off the middle by (151.25 × 5.5/3 - 336 × 0.6)/336 m. Here a post brings that force and moment on to a plate of 4 m × 1 m.
    """
    lever = (151.25 * 5.5 / 3 - 336 * 0.6) / 336
    plate = "length: 4 m, width: 1 m, foundation_modulus: 100 MN/m^3"
    checks, result = on_plate(336e3, lever, plate, "bearing: 150 kPa")
    assert checks["plate bearing"].demand == pytest.approx(112.38e3, abs=5.0)
    assert pressures(result).pressure_min == pytest.approx(55.62e3, abs=5.0)
    assert checks["plate bearing"].utilization == pytest.approx(112.38 / 150, abs=1e-4)


def test_published_footing_tilted_about_its_diagonal():
    """A structural engineers' exchange (2000): 10 ft square, 84.96 kip 4.41 ft off the middle: 9.0 ksf, printed to 0.1.

    The load was chosen so that tilt about a side gives the printed 9.6 ksf, 2P/(3B(B/2 - e)); the diagonal is the test.
    """
    kip, foot = 4448.2216152605, 0.3048
    plate = "length: 10 ft, width: 10 ft, foundation_modulus: 100 MN/m^3"
    diagonal, _ = on_plate(84.96 * kip, 4.41 * foot, plate, "bearing: 1 MPa", sideways=(X + Y) / math.sqrt(2))
    assert diagonal["plate bearing"].demand * foot**2 / kip == pytest.approx(9.0, abs=0.05)
    side, _ = on_plate(84.96 * kip, 4.41 * foot, plate, "bearing: 1 MPa")
    by_side = 2 * 84.96 / (3 * 10 * (5 - 4.41))
    assert side["plate bearing"].demand * foot**2 / kip == pytest.approx(by_side, rel=1e-6)


ANCHORED = (
    "length: 300 mm, width: 200 mm, foundation_modulus: 20000 MN/m^3, anchors: [{x: 120 mm, y: 70 mm, size: M16}, "
    "{x: -120 mm, y: 70 mm, size: M16}, {x: -120 mm, y: -70 mm, size: M16}, {x: 120 mm, y: -70 mm, size: M16}], "
    "anchor_length: 150 mm, anchor_modulus: 205 GPa"
)


def plate_by_hand(load: float, moment: float) -> tuple[float, float]:
    """Greatest pressure and anchor tension of ANCHORED turned about its width: plane strain of the plate, by root finding.

    M16 has 157 mm² (ISO 898-1). Pressure c (u + βx) over the part where it presses, anchors that only pull.
    """
    c, k, half, width, place = 20e9, 157e-6 * 205e9 / 0.15, 0.15, 0.2, 0.12
    x = np.linspace(-half, half, 200_001)

    def sums(u: float, tilt: float) -> tuple[float, float, float, float]:
        press = c * np.maximum(u + tilt * x, 0.0)
        pull = 2 * k * np.maximum(-(u + tilt * np.array([-place, place])), 0.0)
        force = np.trapezoid(press, x) * width - pull.sum()
        turning = np.trapezoid(press * x, x) * width - pull @ np.array([-place, place])
        return force, turning, press.max(), pull.max() / 2

    def tilt_for(u: float) -> float:
        return brentq(lambda tilt: sums(u, tilt)[1] - moment, 0.0, 1e-1)

    found = brentq(lambda u: sums(u, tilt_for(u))[0] - load, -1e-3, 1e-3, xtol=1e-15)
    _, _, pressure, tension = sums(found, tilt_for(found))
    return pressure, tension


@pytest.mark.parametrize("lever", [0.06, 0.2, 0.5])
def test_plate_with_anchors_by_root_finding(lever: float):
    """The anchors, stiff as they are, pull on the lifting side; 1e-5 is what 200 001 points of the section allow."""
    allow = "bearing: 8 MPa, anchor_tension: 20 kN, anchor_shear: 6 kN"
    checks, _ = on_plate(20e3, lever, ANCHORED, allow)
    pressure, tension = plate_by_hand(20e3, 20e3 * lever)
    assert checks["plate bearing"].demand == pytest.approx(pressure, rel=1e-5)
    assert checks["anchor tension"].demand == pytest.approx(tension, rel=1e-5, abs=1.0)
    assert checks["anchor shear"].demand == pytest.approx(0.25 * 20e3 / 4, rel=1e-8)
    assert checks["anchor tension"].utilization == pytest.approx(tension / 20e3, rel=1e-5, abs=1e-4)


def test_plate_is_turned_the_way_the_friction_drags():
    """Length along x, so friction along y turns the narrow way; by energy, minimized by a general program."""
    allow = "bearing: 8 MPa, anchor_tension: 20 kN"
    checks, _ = on_plate(20e3, 0.15, ANCHORED, allow, sideways=Y)
    c, k = 20e9, 157e-6 * 205e9 / 0.15
    y, step = np.linspace(-0.1, 0.1, 20_001, retstep=True)

    def energy(w: np.ndarray) -> float:
        u, tilt = w * [1e-5, 1e-3]
        press = np.maximum(u + tilt * y, 0.0)
        pull = np.maximum(-(u + tilt * np.array([-0.07, 0.07])), 0.0)
        return 0.5 * c * 0.3 * np.sum(press**2) * step + 0.5 * 2 * k * np.sum(pull**2) - 20e3 * u - 20e3 * 0.15 * tilt

    found = minimize(
        energy, [1.0, 1.0], method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-14, "maxiter": 4000}
    ).x
    u, tilt = found * [1e-5, 1e-3]
    assert checks["plate bearing"].demand == pytest.approx(c * (u + tilt * 0.1), rel=1e-3)
    assert checks["anchor tension"].demand == pytest.approx(-k * (u - tilt * 0.07), rel=1e-3)


def test_one_anchor_off_center_is_found_where_it_stands():
    """e1 runs along +x under an upright post: dragged to +x, an anchor at -x pulls and one at +x rests."""
    allow = "bearing: 8 MPa, anchor_tension: 20 kN"
    for place, drag, pulls in ((-120, X, True), (120, X, False), (120, -X, True)):
        plate = (
            f"length: 300 mm, width: 200 mm, foundation_modulus: 20000 MN/m^3, anchors: [{{x: {place} mm, y: 0 mm, size: M16}}], "
            "anchor_length: 150 mm, anchor_modulus: 205 GPa"
        )
        checks, _ = on_plate(20e3, 0.12, plate, allow, sideways=drag)
        assert (checks["anchor tension"].demand > 1.0) == pulls


# -- thrust blocks ----------------------------------------------------------------------------------------------------

BLOCK = (
    "block: {length: 1.2 m, width: 0.8 m, height: 1 m, density: 2400 kg/m^3, friction: 0.4, thrust_height: 0.6 m, passive: 2 kN, "
    "subgrade_modulus: 30 MN/m^3}, allow: {bearing: 100 kPa, bearing_factor: 1.5, sliding_factor: 1.5, overturning_factor: 2, "
    "uplift_factor: 1.2}"
)
WEIGHT = 1.2 * 0.8 * 1.0 * 2400 * G


def test_block_under_level_thrust():
    checks, result = on_slope("thrust_block", BLOCK, -X, at_origin(9000, 0, 0))
    assert checks["block bearing"].demand == pytest.approx(100e3 * 0.8 * 1.0 / 9000, rel=1e-9)
    assert checks["block sliding"].demand == pytest.approx((0.4 * WEIGHT + 2000) / 9000, rel=1e-9)
    assert checks["block overturning"].demand == pytest.approx(WEIGHT * 0.6 / (9000 * 0.6), rel=1e-9)
    assert checks["block uplift"].demand == np.inf
    assert checks["block uplift"].utilization == 0.0
    for name, required in (("bearing", 1.5), ("sliding", 1.5), ("overturning", 2.0)):
        check = checks[f"block {name}"]
        assert check.least
        assert check.utilization == pytest.approx(required / check.demand, rel=1e-12)
    # It gives way on the subgrade over width × height.
    assert -result.cases["still"].supports["R"].movement == pytest.approx(9000 / (30e6 * 0.8 * 1.0), rel=1e-9)


def test_block_that_the_thrust_lifts():
    """4 kN level and 3 kN up: less weight on the base, and the upward part, at the face, turns over the far edge too."""
    way = np.array([-0.8, 0.0, -0.6])  # of the force on the fitting
    checks, _ = on_slope("thrust_block", BLOCK, way, at_origin(4000, 0, 3000))
    assert checks["block sliding"].demand == pytest.approx((0.4 * (WEIGHT - 3000) + 2000) / 4000, rel=1e-9)
    assert checks["block overturning"].demand == pytest.approx(WEIGHT * 0.6 / (4000 * 0.6 + 3000 * 1.2), rel=1e-9)
    assert checks["block uplift"].demand == pytest.approx(WEIGHT / 3000, rel=1e-9)


def test_block_that_the_thrust_presses_down():
    """4 kN level and 3 kN down at the face: it grips better; where on the block it presses is not known, so that it does not
    help against tipping by 4 kN × 0.6 m."""
    way = np.array([-0.8, 0.0, 0.6])
    checks, _ = on_slope("thrust_block", BLOCK, way, at_origin(4000, 0, -3000))
    assert checks["block sliding"].demand == pytest.approx((0.4 * (WEIGHT + 3000) + 2000) / 4000, rel=1e-9)
    assert checks["block overturning"].demand == pytest.approx(WEIGHT * 1.2 / 2 / (4000 * 0.6), rel=1e-9)
    assert checks["block uplift"].utilization == 0.0


def test_block_that_is_lifted_whole_has_no_grip():
    """More uplift than weight: base friction is nothing, and the factor is what the earth in front gives."""
    way = np.array([-0.6, 0.0, -0.8])
    light = BLOCK.replace("2400 kg", "1200 kg") + ", stiffness: 9 MN/m"
    checks, _ = on_slope("thrust_block", light, way, at_origin(12e3, 0, 16e3))
    assert checks["block sliding"].demand == pytest.approx(2000 / 12e3, rel=1e-9)
    assert checks["block uplift"].demand == pytest.approx(WEIGHT / 2 / 16e3, rel=1e-9)
    assert not checks["block uplift"].holds
    assert "block bearing" not in checks  # it does not press on any soil


def test_block_pressed_straight_down_bears_on_its_base():
    """Under a fitting it bears on length × width, and gives way on the same: 96 kN against 9 kN and its weight of 22.59 kN."""
    checks, result = on_slope("thrust_block", BLOCK, Z, at_origin(0, 0, -9000))
    assert checks["block bearing"].demand == pytest.approx(100e3 * 1.2 * 0.8 / (9000 + WEIGHT), rel=1e-9)
    assert -result.cases["still"].supports["R"].movement == pytest.approx(9000 / (30e6 * 1.2 * 0.8), rel=1e-9)
    assert checks["block sliding"].utilization == 0.0


def test_presumptive_bearing_is_shown_and_not_used():
    """Three published values of 'sand' differ fourfold: they stand beside the user's, which alone decides."""
    with_soil = BLOCK.replace("subgrade_modulus", "soil: sand, subgrade_modulus")
    checks, result = on_slope("thrust_block", with_soil, -X, at_origin(9000, 0, 0))
    assert checks["block bearing"].demand == pytest.approx(100e3 * 0.8 / 9000, rel=1e-9)
    assert "for orientation" in checks["block bearing"].formula
    assert "the allowable is yours" in checks["block bearing"].formula
    assert [w.kind for w in result.warnings].count("presumptive bearing") == 1


# -- what is missing --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "terms", "lacks"),
    [
        ("hanger", "rod: M12, length: 1 m, modulus: 200 GPa", {"rod tension": "allow / stress (on the root area), or allow / force: from table"}),
        ("rest", f"{TUBE}", {"post stress": "allow / stress", "post buckling": "effective_length_factor (K of the end conditions), allow / buckling_factor (pressed by up to 1000 N in 'still'; Euler load with pinned ends, K = 1: 1218 kN)"}),
        ("rest", f"stiffness: 1 MN/m, friction: 0.2, base_plate: {{{ANCHORED}}}, allow: {{bearing: 8 MPa}}",
         {"plate bearing": "length of the post, and base_plate / anchor_length and anchor_modulus", "anchor tension": "allow / anchor_tension", "anchor shear": "allow / anchor_shear"}),
        ("rest", "section: {area: 1 cm^2, second_moment: 1 cm^4}, length: 1 m, modulus: 200 GPa, friction: 0.2, allow: {stress: 100 MPa}",
         {"post stress": "section / half_depth"}),
        ("strut", "stiffness: 1 MN/m", {"capacity of the support": "allow / force, or section with allow / stress"}),
        ("spring_hanger", "set_load: 1 N", {"capacity of the support": "allow / force, or section with allow / stress"}),
    ],
)  # fmt: skip
def test_what_to_supply(kind: str, terms: str, lacks: dict[str, str]):
    held = support(kind, "R", (0, 0, 0), None, terms)
    if kind == "spring_hanger":
        result = assess(parse_case(still(options(A=[held]), pulled(at_origin(0, 0, -9)), joint()), "f"))
    else:
        _, result = judged(held, at_origin(100, 0, -1000))
    missing = {i.check: i.supply for i in result.not_checked if i.where == "R"}
    assert {name: missing[name] for name in lacks} == lacks
    assert result.verdict == "incomplete"


def test_block_without_data_says_what_to_supply():
    bare = "block: {length: 1 m, width: 1 m, height: 1 m, density: 2400 kg/m^3, soil: soft clay, subgrade_modulus: 9 MN/m^3}"
    _, result = on_slope("thrust_block", bare, -X, at_origin(900, 0, 0))
    missing = {i.check: i for i in result.not_checked if i.where == "R"}
    assert missing["block bearing"].supply.startswith(
        "allow / bearing of the soil, allow / bearing_factor (for orientation"
    )
    assert missing["block sliding"].supply == "block / friction of its base, allow / sliding_factor"
    assert missing["block overturning"].supply == "block / thrust_height, allow / overturning_factor"
    assert missing["block uplift"].supply == "allow / uplift_factor"
    assert missing["capacity of the support"].needed
    assert result.verdict == "incomplete"


def test_no_capacity_ends_with_3(tmp_path):
    file = tmp_path / "f.yaml"
    held = support("rest", "R", (1, 0, 0), None, "stiffness: 1 MN/m")
    allow = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
    file.write_text(still(options(A=[held]), pulled((-100 * Z, X)), joint(), allow))
    run = CliRunner().invoke(main, ["check", str(file)])
    assert run.exit_code == 3
    assert "capacity of the support of 'R'" in run.output
    file.write_text(
        still(options(A=[held.replace("1 MN/m", "1 MN/m, allow: 10 N")]), pulled((-100 * Z, X)), joint(), allow)
    )
    assert CliRunner().invoke(main, ["check", str(file)]).exit_code == 1
    file.write_text(
        still(options(A=[held.replace("1 MN/m", "1 MN/m, allow: 1 kN")]), pulled((-100 * Z, X)), joint(), allow)
    )
    assert CliRunner().invoke(main, ["check", str(file)]).exit_code == 0


# -- what stands out --------------------------------------------------------------------------------------------------

GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")


def findings(held: list[str], *loads, holds: str = GIVING, allow: str = "", second=None) -> dict[str, str]:
    """Messages by kind; a second case is the first with its loads left off but ``second``."""
    text = still(options(A=held), pulled(*loads), joint(holds), allow)
    if second is not None:
        text = text.replace("cases:\n", "cases:\n  other: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}}\n")
        text = text.replace("name: load 1,", "name: load 1, cases: [still],")
        more = pulled(second).split("\n", 1)[1].replace("load 1,", "load other, cases: [other],")
        text = text.replace("external:\n", f"external:\n{more}")
    return {w.kind: w.message for w in assess(parse_case(text, "f")).warnings}


@pytest.mark.parametrize(
    ("kind", "finding", "words"),
    [
        ("hanger", "slack hanger", "Hanger 'R' is slack in 'still'"),
        ("tie", "slack tie", "Tie 'R' is slack in 'still'"),
        ("rest", "uplift at a rest", "Rest 'R' has lifted in 'still'"),
        ("thrust_block", "idle thrust block", "Thrust block 'R' does not touch in 'still'"),
    ],
)
def test_one_way_support_that_carries_nothing(kind: str, finding: str, words: str):
    held = [support(kind, "R", (0, 0, 0), Z, "stiffness: 1 MN/m, allow: 9 kN")]
    once = findings(held, at_origin(0, 0, 500), second=at_origin(0, 0, -500))
    assert once[finding].startswith(words + ":")
    always = findings(held, at_origin(0, 0, 500))
    assert "in every case: it does nothing at all" in always[finding]
    assert finding not in findings(held, at_origin(0, 0, -500))


@pytest.mark.parametrize("kind", ["strut", "guide"])
def test_two_way_support_in_its_gap(kind: str):
    held = [support(kind, "R", (0, 0, 0), Z, "stiffness: 1 MN/m, gap: 5 mm, allow: 9 kN")]
    assert f"{kind} in its gap" in findings(held, at_origin(0, 0, 500))
    assert f"{kind} in its gap" not in findings(held, at_origin(0, 0, 50000))


def test_support_that_reverses():
    held = [support("strut", "R", (0, 0, 0), Z, "stiffness: 1 MN/m, allow: 9 kN")]
    said = findings(held, at_origin(0, 0, 500), second=at_origin(0, 0, -800))["support reversed"]
    assert said.startswith("Strut 'R' pushes with 400 N in 'other' and pulls with 250 N in 'still'")
    assert said.endswith("must hold both ways without play.")
    assert "support reversed" not in findings(held, at_origin(0, 0, 500), second=at_origin(0, 0, 800))
    loose = [support("strut", "R", (0, 0, 0), Z, "stiffness: 1 MN/m, gap: 0.02 mm, allow: 9 kN")]
    said = findings(loose, at_origin(0, 0, 500), second=at_origin(0, 0, -800))["support reversed"]
    assert (
        "both ways, and it strikes through its gap of 0.02 mm at every change between the two, which is not judged"
        in said
    )


def test_rigid_joint_is_said_to_starve_the_supports():
    held = [support("rest", "R", (0, 0, 0), Z, "stiffness: 1 MN/m, allow: 9 kN")]
    assert "every support idles" in findings(held, at_origin(0, 0, -500), holds="")["rigid joint starves the supports"]
    preset = [support("rest", "R", (0, 0, 0), Z, "stiffness: 1 MN/m, set_load: 200 N, allow: 9 kN")]
    said = findings(preset, at_origin(0, 0, -500), holds="stiffness: rigid")["rigid joint starves the supports"]
    assert "only the set loads of R act" in said


def test_support_so_soft_that_it_idles():
    """1 kN/m beside 1 MN/m takes 0.1 %, which is under 2 % of the loads."""
    held = [support("rest", "R", (0, 0, 0), Z, "stiffness: 1 kN/m, allow: 9 kN")]
    assert "Rest 'R' carries at most 0.10% of the loads" in findings(held, at_origin(0, 0, -500))["support idles"]
    stiffer = [support("rest", "R", (0, 0, 0), Z, "stiffness: 100 kN/m, allow: 9 kN")]
    assert "support idles" not in findings(stiffer, at_origin(0, 0, -500))


def test_support_that_loads_the_bolts_more():
    """A spring hanger pulled up to twice the load, far out, turns the joint more than the load did."""
    allow = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
    for preset, worse in ((2500, True), (500, False)):
        held = [support("spring_hanger", "R", (1, 0, 0), None, f"set_load: {preset} N, allow: 9 kN")]
        found = findings(held, (-1000 * Z, X), allow=allow)
        assert ("supports load the joint more" in found) == worse
        assert not worse or "the supports make tension with shear worse" in found["supports load the joint more"]


def test_thermal_growth_is_named_with_every_support_and_never_without():
    held = [support("strut", "R", (0, 0, 0), Z, "stiffness: 1 MN/m, allow: 9 kN")]
    assert "thermal growth not considered" in findings(held, at_origin(0, 0, 500))
    assert "thermal growth not considered" not in findings([], at_origin(0, 0, 500))


def test_friction_that_leaves_a_choice():
    """A joint that slants by 45°, 0.1 along and 1.9 kN/m across, couples sideways and upward motion by -0.9; the rest may
    stand off, or stick: by hand, clear the load of 1.15 N sideways and 1 N down lifts it, (0.9 × 1.15 - 1)/det > 0; stuck and
    stiff it carries 1 N, and its friction of 1.15 is under 1.3.
    """
    soft = stiffness("100 N/m", "1900 N/m", "1 kN*m/rad", "1 kN*m/rad")
    for friction, choice in ((1.3, True), (0.5, False)):
        held = [support("rest", "R", (0, 0, 0), None, f"stiffness: 10 MN/m, friction: {friction}, allow: 1 kN")]
        text = still(options(A=held), pulled(at_origin(1.15, 0, -1)), joint(soft))
        text = text.replace("outward: [-1, 0, 0]", "outward: [-1, 0, -1]")
        found = {w.kind: w for w in assess(parse_case(text, "f")).warnings}
        assert ("friction leaves a choice" in found) == choice
        if choice:
            assert found["friction leaves a choice"].case == "still"
            assert "Judge it without friction as well" in found["friction leaves a choice"].message


def test_a_check_that_no_support_changes_hides_nothing():
    """Gasket seating uses 0.89 with or without supports; that the bolts go from 0.34 to 0.75 must be said all the same."""
    example = (Path(__file__).parents[1] / "examples" / "supported_arm.yaml").read_text()
    given = (
        example[: example.index("supports:")].replace("y: 11 MPa", "y: 25 MPa").replace("    face_friction: 0.15\n", "")
    )
    held = support("spring_hanger", "P", (1.3, 0, 0), None, "set_load: 3 kN, allow: 9 kN")
    study = parse_case(given + options(A=[held], none=[]), "f")
    used = {}
    for option in ("A", "none"):
        cases = assess(study, option).cases.values()
        used[option] = max(float(c.utilization) for case in cases for c in case.checks if c.bolt is not None)
    assert used["A"] > 2 * used["none"]
    assert max(float(c.utilization) for case in cases for c in case.checks) > used["A"]
    assert "supports load the joint more" in {w.kind for w in assess(study, "A").warnings}


def test_what_the_supports_make_worse_is_named():
    """A check of the flange that gets worse is not told of the bolts, which may get better."""
    (found,) = worsened(
        {("slams", "flange rating"): 0.929, ("slams", "bolt shear"): 0.1},
        {("slams", "flange rating"): 0.915, ("runs", "bolt shear"): 0.3},
    )
    assert (
        "is 0.929 (flange rating in 'slams'); with bolts alone it is 0.915 (flange rating in 'slams')" in found.message
    )
    assert "the supports make flange rating worse" in found.message
    assert "bolts worse" not in found.message
