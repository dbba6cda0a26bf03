"""What supports carry, against published examples, a library's root finding, and hand statics."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, linprog, root

from anchorsize.mechanics import support_capacity as capacity

POUND, INCH, FOOT = 4.4482216152605, 0.0254, 0.3048
PSI = POUND / INCH**2


def coarse_root_area(diameter_in: float, threads_per_inch: float) -> float:
    """Root area of an inch thread, π/4 (d − 1.299/n)² [m²]."""
    return float(np.pi / 4.0 * ((diameter_in - 1.299 / threads_per_inch) * INCH) ** 2)


@pytest.mark.parametrize(
    ("diameter", "threads", "printed"),
    [
        (3 / 8, 16, 600),
        (1 / 2, 13, 1100),
        (5 / 8, 11, 1800),
        (3 / 4, 10, 2700),
        (7 / 8, 9, 3800),
        (9 / 8, 7, 6200),
        (5 / 4, 7, 8000),
        (3 / 2, 6, 11600),
        (2, 4.5, 20700),
    ],
)
def test_published_rod_loads(diameter: float, threads: float, printed: float) -> None:
    """Loads of threaded hanger rods at 9000 psi on the root area, printed to 100 lbf (public load table).

    The table does not always round the same way, so a whole step of 100 lbf is allowed.
    """
    stress = capacity.axial_stress(printed * POUND, coarse_root_area(diameter, threads)) / PSI
    step = 100 * POUND / coarse_root_area(diameter, threads) / PSI
    assert stress == pytest.approx(9000.0, abs=step)


@pytest.mark.parametrize(("diameter", "threads", "printed"), [(3 / 8, 16, 730), (1 / 2, 13, 1350), (5 / 8, 11, 2160)])
def test_mss_sp58_rod_loads(diameter: float, threads: float, printed: float) -> None:
    """MSS SP-58 (2002) loads of coarse-thread rods, printed to 10 lbf: 50 ksi/3.5 × 0.75 on the root area.

    The two factors were inferred from the printed loads, so this tests their common ratio; half a step of rounding.
    """
    area = coarse_root_area(diameter, threads)
    allowed = 50_000 / 3.5 * 0.75 * PSI
    assert capacity.axial_stress(printed * POUND, area) == pytest.approx(allowed, abs=5 * POUND / area)


def test_shortening_of_a_pipe_post() -> None:
    """Hibbeler, Mechanics of Materials, Example 14.8: 150 kip on a short pipe shorten it 0.0208 in, as printed."""
    area = np.pi * (3.0**2 - 2.5**2) * INCH**2
    stiffness = capacity.axial_stiffness(area, 12 * INCH, 10e6 * PSI)
    assert 150e3 * POUND / stiffness / INCH == pytest.approx(0.0208, abs=0.5e-4)


@pytest.mark.parametrize(("factor", "free_top"), [(1.0, False), (2.0, True)])
def test_euler_load_by_integration(factor: float, free_top: bool) -> None:
    """The load under which the deflection curve first closes on its far end, by scipy's integrator and root finder.

    Between pins EI y'' + P y = 0 with y = 0 at both ends; standing free, measured from the top, y = 0 there and y' = 0 at the foot.
    """
    modulus, inertia, length = 200e9, 3.2e-6, 2.5

    def far_end(load: float) -> float:
        run = solve_ivp(
            lambda _, y: (y[1], -load / (modulus * inertia) * y[0]), (0, length), (0.0, 1.0), rtol=1e-10, atol=1e-12
        )
        return float(run.y[1 if free_top else 0, -1])

    guess = 10.0 * modulus * inertia / length**2 / factor**2
    found = brentq(far_end, 0.6 * guess, 1.4 * guess)
    assert capacity.euler_load(modulus, inertia, length, factor) == pytest.approx(found, rel=1e-7)


def test_free_top_of_a_post_by_integrating_its_energy() -> None:
    """Unit load at the top: deflection ∫ x²/(EI) dx over the length, by scipy's quadrature."""
    modulus, second, length = 205e9, 4.878e-7, 0.9
    flexibility, _ = quad(lambda x: x * x / (modulus * second), 0.0, length, epsabs=0.0)
    assert capacity.sideways_stiffness(modulus, second, length) == pytest.approx(1.0 / flexibility, rel=1e-9)


def test_bearing_area_of_a_thrust_block() -> None:
    """AWWA M23, Example 1: 7385 lbf on soil of 1500 psf, factor 1.5 (inferred): 7.39 ft², partly legible.

    7.385 exactly lies on the edge of rounding, so 0.006 is allowed; the adopted 2 ft × 4 ft then has 8/7.385 times the factor.
    """
    soil = 1500 * POUND / FOOT**2
    area = capacity.bearing_area(7385 * POUND, soil, 1.5)
    assert area / FOOT**2 == pytest.approx(7.39, abs=0.006)
    assert capacity.factor_reached(soil * area, 7385 * POUND) == pytest.approx(1.5, rel=1e-12)


@given(
    thrust=st.floats(0.0, 1e6),
    allowable=st.floats(1e4, 1e6),
    factor=st.floats(1.0, 3.0),
    share=st.floats(0.0, 0.99),
)
def test_soil_under_a_block_pressed_down_bears_the_block_as_well(
    thrust: float, allowable: float, factor: float, share: float
) -> None:
    """On the area found the soil presses back with thrust and block together just the factor below what it bears: equilibrium."""
    own = share * allowable / factor
    area = float(capacity.bearing_area(thrust, allowable, factor, own))
    assert factor * (thrust + own * area) == pytest.approx(allowable * area, rel=1e-9)


def test_soil_that_does_not_bear_the_block_alone_bears_no_thrust_on_any_area() -> None:
    assert capacity.bearing_area(1.0, 100.0, 2.0, [49.5, 50.0, 60.0]) == pytest.approx([2.0, np.inf, np.inf])


def test_base_friction_of_a_bend_block() -> None:
    """Design sheet for 45° bend blocks, friction 0.45 × 84.06 kN: printed 37.82 kN where the product is 37.827, so 0.01 is allowed."""
    weight = 54.28e3 + 7.39e3 + 22.39e3
    assert capacity.sliding_resistance(weight, 0.45) == pytest.approx(37.82e3, abs=10.0)


def test_base_friction_of_a_vessel() -> None:
    """Foundation text, anchor-bolt check of a vertical vessel: 0.55 × 209.73 t = 115.4 t printed to 0.1 t."""
    assert capacity.sliding_resistance(209.73, 0.55) == pytest.approx(115.4, abs=0.05)


def test_base_pressure_inside_the_middle_third() -> None:
    """Sarkar, Strength of Materials, Problem 14.3 (as computed by a public companion of the book): 112.38 and 55.62 kPa.

    A wall 1 m wide on top, 4 m at the base, 6 m high, 22.4 kN/m³, water 5.5 m deep at 10 kN/m³ on the upright face.
    """
    straight, wedge, water = 22.4e3 * 6.0, 22.4e3 * 6.0 * 3.0 / 2.0, 10e3 * 5.5**2 / 2.0
    # About the middle of the base, toe on the +e1 side: the force along −e3 (a) presses down.
    tip = water * 5.5 / 3.0 - straight * 1.5 - wedge * 0.0
    none = np.empty((0, 2))
    plate = capacity.base_plate([-(straight + wedge)], 0.0, -tip, none, np.empty(0), np.empty(0), (4.0, 1.0), 50e6)
    assert plate.pressure_max == pytest.approx(112.38e3, abs=5.0)
    assert plate.pressure_min == pytest.approx(55.62e3, abs=5.0)


def test_footing_that_lifts() -> None:
    """Stack-foundation thread of a structural engineers' list (2000): 10 ft square, e = 4.41 ft: 9.6 and 9.0 ksf.

    The load is chosen for 9.6 ksf about a side; the printed 9.0 ksf about a diagonal is the check, half its last digit.
    """
    kip, ksf = 1000 * POUND, 1000 * POUND / FOOT**2
    load, e = 84.96 * kip, 4.41 * FOOT
    toward = np.array([[1.0, 0.0], [np.sqrt(0.5), np.sqrt(0.5)]])
    moment = load * e
    plate = capacity.base_plate(
        -load, moment * toward[:, 1], -moment * toward[:, 0], np.empty((0, 2)), [], [], (10 * FOOT, 10 * FOOT), 1e7
    )
    np.testing.assert_allclose(plate.pressure_max / ksf, [9.6, 9.0], atol=0.05)
    assert np.all(plate.lift_off > 0.5)


def test_soil_spring_settles_by_pressure_over_modulus() -> None:
    force, area, subgrade = 40e3, 0.9, 30e6
    assert force / capacity.soil_stiffness(subgrade, area) == pytest.approx(force / area / subgrade)


FORCE = st.one_of(st.just(0.0), st.floats(1.0, 1e5))


@given(FORCE, FORCE, FORCE, st.floats(0.05, 0.9), st.floats(0.1, 2.0), st.floats(1.0, 3.0))
def test_block_mass_holds_and_no_less_does(
    uplift: float, level: float, moment: float, mu: float, arm: float, factor: float
) -> None:
    mass = float(capacity.block_mass(uplift, level, moment, mu, arm, (factor, factor, factor)))

    def least_factor(weight: float) -> float:
        return float(
            np.min(
                [
                    capacity.factor_reached(weight, uplift),
                    capacity.factor_reached(capacity.sliding_resistance(weight - uplift, mu), level),
                    capacity.factor_reached(weight * arm, moment),
                ]
            )
        )

    assert least_factor(mass * capacity.GRAVITY * (1 + 1e-9)) >= factor * (1 - 1e-9)
    if max(uplift, level, moment) > 1.0:
        assert least_factor(mass * capacity.GRAVITY * 0.999) < factor


def test_block_without_friction_cannot_stop_sliding() -> None:
    assert np.isnan(capacity.block_mass(0.0, 100.0, 0.0, 0.0, 1.0, (1.5, 1.5, 1.5)))
    assert capacity.block_mass(0.0, 0.0, 0.0, 0.0, 0.0, (1.5, 1.5, 1.5)) == 0.0  # nothing to hold asks for nothing


def test_bad_input_names_the_value() -> None:
    with pytest.raises(ValueError, match="allowable bearing pressure must be greater than zero"):
        capacity.bearing_area(1.0, 0.0)


def test_base_holds_by_friction_and_by_the_earth_in_front() -> None:
    """μN + passive by hand; a base that is lifted leaves the earth alone."""
    assert capacity.sliding_resistance([100.0, 0.5, -5.0], 0.4, 30.0) == pytest.approx([70.0, 30.2, 30.0])
    assert capacity.sliding_resistance(100.0, 0.4) == 40.0
    assert capacity.bearing_area(600.0, 200.0) == 3.0


@given(
    st.floats(-1e4, 1e4), st.floats(-1e4, 1e4), st.floats(-1e4, 1e4), st.floats(0.05, 0.9), st.floats(0.1, 2.0),
    st.tuples(*[st.floats(1.0, 3.0)] * 3), st.floats(-1e3, 5e3),
)  # fmt: skip
def test_block_mass_is_the_least_that_meets_each_demand(
    uplift: float,
    level: float,
    moment: float,
    mu: float,
    arm: float,
    factors: tuple[float, float, float],
    passive: float,
) -> None:
    """Smallest W of a linear program with the three demands as its rows, by scipy; the level force may come from either side."""
    needed = [factors[0] * uplift, uplift + (factors[1] * abs(level) - passive) / mu, factors[2] * moment / arm]
    if factors[1] * abs(level) <= passive:
        needed.pop(1)  # the earth alone holds it
    least = linprog([1.0], A_ub=[[-1.0]] * len(needed), b_ub=[-weight for weight in needed], bounds=[(0.0, None)]).fun
    mass = capacity.block_mass(uplift, level, moment, mu, arm, factors, passive)
    assert mass * 9.80665 == pytest.approx(least, rel=1e-9, abs=1e-6)
    if passive == 0.0:
        assert capacity.block_mass(uplift, level, moment, mu, arm, factors) == mass


def test_block_that_asks_nothing_needs_no_mass() -> None:
    """Where friction or arm is missing, only what is asked of it has no answer. Factors of 1; by row: nothing asked, pressed
    down, sliding asked, held by the earth, overturning asked, moment that rights."""
    mass = capacity.block_mass(
        [0.0, -9.80665, 0.0, 0.0, 0.0, 9.80665],
        [0.0, 0.0, 5.0, 5.0, 0.0, 0.0],
        [0.0, 0.0, 0.0, 0.0, 5.0, -5.0],
        0.0,
        0.0,
        (1.0, 1.0, 1.0),
        [0.0, 0.0, 0.0, 5.0, 0.0, 0.0],
    )
    assert mass.tolist() == pytest.approx([0.0, 0.0, np.nan, 0.0, np.nan, 1.0], nan_ok=True)


def test_factor_reached_by_hand() -> None:
    found = capacity.factor_reached([6.0, 6.0, 6.0, 6.0, np.nan], [3.0, 0.0, -1.0, 0.5, 2.0])
    assert found.tolist() == pytest.approx([2.0, np.inf, np.inf, 12.0, np.nan], nan_ok=True)
    assert np.isnan(capacity.factor_reached(1.0, np.nan))


# -- the soil under a block ---------------------------------------------------------------------------------------------


def test_pressure_under_a_base_worked_by_hand() -> None:
    """1698 kg on 430 mm × 1.4 m, pushed by 3476 N at 0.6 m: e = 0.125 m is over L/6 = 0.072 m, and 2N/(3B(L/2 − e)) is 88 kPa.

    The same on 1.2 m is within the kern: N/A (1 ± 6e/L) = 9911 (1 ± 0.626) Pa.
    """
    found = capacity.base_pressure(16.65e3, 3476.0 * 0.6, 0.43, 1.4)
    assert float(found.greatest) == pytest.approx(88e3, abs=0.5e3)
    assert float(found.contact) == pytest.approx(3.0 * (0.215 - 0.12526), abs=1e-5)
    assert float(found.least) == 0.0
    within = capacity.base_pressure(16.65e3, -3476.0 * 0.6, 1.2, 1.4)  # either sign
    assert float(within.greatest) == pytest.approx(9910.7 * 1.6263, rel=1e-4)
    assert float(within.least) == pytest.approx(9910.7 * 0.3737, rel=1e-4)
    assert float(within.contact) == 1.2


def test_a_base_that_nothing_balances() -> None:
    """Tipped over its edge, lifted, or turned without a load; a base without either has no pressure."""
    found = capacity.base_pressure([10.0, 10.0, -1.0, 0.0, 0.0], [5.0, 7.0, 0.0, 1.0, 0.0], 1.0, 1.0)
    assert found.greatest.tolist() == [np.inf, np.inf, np.inf, np.inf, 0.0]
    assert found.least.tolist() == [0.0] * 5
    assert found.contact.tolist() == [0.0] * 5
    assert np.isnan(capacity.base_pressure(np.nan, 1.0, 1.0, 1.0).greatest)
    with pytest.raises(ValueError, match="length of the base"):
        capacity.base_pressure(1.0, 0.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="width of the base"):
        capacity.base_pressure(1.0, 0.0, 1.0, 0.0)


@given(st.floats(1.0, 1e6), st.floats(-0.49, 0.49), st.floats(0.1, 20.0), st.floats(0.1, 20.0))
def test_pressures_under_a_base_add_up_to_its_load(normal: float, off: float, length: float, width: float) -> None:
    """The integral of the pressures is N and their moment about the middle M, whatever the regime."""
    found = capacity.base_pressure(normal, normal * off * length, length, width)
    high, low, contact = (float(part) for part in found)

    places, weights = np.polynomial.legendre.leggauss(3)  # exact for what is of the second power
    x = contact * (places + 1.0) / 2.0  # from the pressed edge
    pushed = width * contact / 2.0 * weights * (high + (low - high) * x / contact)
    total, turned = float(pushed.sum()), float((pushed * (length / 2.0 - x)).sum())
    assert total == pytest.approx(normal, rel=1e-9)
    assert turned == pytest.approx(abs(off) * normal * length, rel=1e-7, abs=1e-9 * normal * length)
    assert 0.0 <= low <= high
    assert contact <= length * (1.0 + 1e-12)


@pytest.mark.parametrize("off", [0.0, 0.1, 1.0 / 6.0, 0.25, 0.4])
def test_pressure_under_a_base_on_a_bed_of_strips(off: float) -> None:
    """A bed of 20000 strips that only push, its sinking and turning found by a library: balance alone tells the edge pressure."""
    normal, length, width, bed = 7.0e3, 1.3, 0.9, 1.0e6
    x = (np.arange(20_000) + 0.5) / 20_000 * length - length / 2.0
    strip = width * length / 20_000

    evenly = normal / (bed * width * length)

    def lack(motion: np.ndarray) -> list[float]:  # sinking of middle and edge against an even one
        pushed = np.maximum(motion[0] + motion[1] * 2.0 * x / length, 0.0) * evenly * bed * strip
        return [float(pushed.sum()) / normal - 1.0, float((pushed * x).sum()) / normal / length - off]

    found = root(lack, [1.0, 1.0])
    assert np.abs(found.fun) == pytest.approx([0.0, 0.0], abs=1e-9)
    edge = bed * evenly * (found.x[0] + found.x[1])
    expected = capacity.base_pressure(normal, normal * off * length, length, width)
    assert float(expected.greatest) == pytest.approx(edge, rel=1e-6)
