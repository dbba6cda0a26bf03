"""The rise by a valve whose area falls evenly, against the rigid column integrated in time and a wave followed along an elastic pipe."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from anchorsize.mechanics import surge

RHO = 1000.0
LONG = 250.0  # m


def column(pressure, velocity, length, closing):
    """Rise at the valve [Pa] of a rigid column: ρ L dv/dt = p₀ − p, through the valve v = v₀ (1 − t/t_c) √(p/p₀).

    Followed until a hundred-thousandth of the area is left, by when p has come as near to its end.
    """

    def valve(t, v):
        return pressure * (v / (velocity * (1.0 - t / closing))) ** 2

    end = closing * (1.0 - 1e-5)
    found = solve_ivp(
        lambda t, v: (pressure - valve(t, v)) / (RHO * length), (0.0, end), [velocity], "Radau", rtol=1e-9, atol=1e-14
    )
    assert found.success
    return float(np.max(valve(found.t, found.y[0]))) - pressure


CELLS = 100


def followed(pressure, velocity, length, closing, speed):
    """Rise at the valve [Pa] along a frictionless elastic pipe by the method of characteristics (Wylie and Streeter, chapter 3).

    At the valve p = C − ρ a v meets p = p₀ (v/(v₀ τ))², at the reservoir p stays p₀.
    """
    step, impedance = length / CELLS / speed, RHO * speed
    p, v = np.full(CELLS + 1, pressure), np.full(CELLS + 1, velocity)  # reservoir first, valve last
    greatest = 0.0
    for k in range(1, round((closing + 4 * length / speed) / step) + 2):
        coming, going = p + impedance * v, p - impedance * v
        p, v = np.empty_like(p), np.empty_like(v)
        p[1:-1], v[1:-1] = (coming[:-2] + going[2:]) / 2, (coming[:-2] - going[2:]) / (2 * impedance)
        p[0], v[0] = pressure, (pressure - going[1]) / impedance
        opened = velocity * max(0.0, 1.0 - k * step / closing)
        if opened > 0.0 and coming[-2] > 0.0:
            slope = opened**2 / pressure  # v² = slope p
            v[-1] = (-slope * impedance + np.sqrt((slope * impedance) ** 2 + 4 * slope * coming[-2])) / 2
        else:
            v[-1] = 0.0
        p[-1] = coming[-2] - impedance * v[-1]
        greatest = max(greatest, p[-1] - pressure)
    return greatest


@pytest.mark.parametrize("share", [0.1, 0.5, 1.5, 2.7, 6.0])
def test_the_rise_is_that_of_a_rigid_column_followed_in_time(share):
    """``share`` is K = ρ L v/(t p₀); the pipe is rigid, so that no sudden stop bounds the rise."""
    velocity, closing = 2.0, 3.0
    pressure = RHO * LONG * velocity / (closing * share)
    rise = surge.closing_valve_rise(RHO, 1e9, velocity, LONG, closing, pressure)
    # what is left of the way to its end is of the order of the area left, times the rise over p₀
    assert rise == pytest.approx(column(pressure, velocity, LONG, closing), rel=1e-3)


@pytest.mark.parametrize(("pressure", "closing"), [(110e3, 2.5), (60e3, 4.0), (300e3, 2.0), (200e3, 6.0)])
def test_the_rise_against_a_wave_followed_along_an_elastic_pipe(pressure, closing):
    """Closing takes several echoes of 0.45 s, so that what the pipe gives way by shifts the rise by less than a twentieth."""
    velocity = 0.06 / (np.pi / 4 * 0.16**2)
    rise = float(surge.closing_valve_rise(RHO, 1100.0, velocity, LONG, closing, pressure))
    assert followed(pressure, velocity, LONG, closing, 1100.0) == pytest.approx(rise, rel=0.05)


@pytest.mark.parametrize("echoes", [1.05, 2.0, 5.0])
def test_the_greater_of_an_even_flow_and_an_even_area_bounds_an_elastic_pipe_but_for_a_tenth(echoes):
    """From long lines under high pressure, where an even flow rises more, to lines of next to none, where the whole ρ a v comes near."""
    speed, velocity = 1100.0, 2.0
    closing = echoes * 2 * LONG / speed
    even = float(surge.closure_rise(RHO, speed, velocity, LONG, closing))
    for allievi in (0.1, 1.0, 3.0, 10.0, 100.0):
        pressure = RHO * speed * velocity / (2 * allievi)
        by_area = float(surge.closing_valve_rise(RHO, speed, velocity, LONG, closing, pressure))
        assert followed(pressure, velocity, LONG, closing, speed) < 1.1 * max(even, by_area)


def test_a_run_of_characteristics_made_by_someone_else():
    """60 L/s in 160 mm, water of 999.7 kg/m³, 1100 m/s, 250 m, 1.1 bar, 2.5 s: 913.6 kPa, and the rigid column 907 kPa, both as handed over."""
    velocity = 0.06 / (np.pi / 4 * 0.16**2)
    rise = surge.closing_valve_rise(999.7, 1100.0, velocity, LONG, 2.5, 110e3)
    assert rise == pytest.approx(907e3, abs=0.5e3)
    assert rise == pytest.approx(913.6e3, rel=0.01)  # its pipe is elastic


@given(st.floats(0.05, 5.0), st.floats(1e3, 5e6), st.floats(1.001, 50.0))
def test_it_is_over_michaud_from_three_halves_on_and_never_over_a_sudden_stop(velocity, pressure, echoes):
    speed = 1100.0
    closing = echoes * 2 * LONG / speed
    rise = surge.closing_valve_rise(RHO, speed, velocity, LONG, closing, pressure)
    sudden, even = RHO * speed * velocity, 2 * RHO * LONG * velocity / closing
    share = RHO * LONG * velocity / (closing * pressure)
    assert rise <= sudden * (1 + 1e-12)
    if share > 1.501:
        assert rise > even * (1 - 1e-12)
    elif share < 1.499:
        assert rise < even
    if rise < 0.999 * sudden:
        # the pressure at which the column slows as evenly as the area falls: ρ L dv/dt = p₀ − p with v = v₀ τ √(p/p₀)
        assert rise == pytest.approx(RHO * LONG * velocity / closing * np.sqrt(1 + rise / pressure), rel=1e-9)


def test_sudden_and_undriven_stops_are_those_of_joukowsky():
    speed, velocity = 1100.0, 2.0
    sudden = RHO * speed * velocity
    echo = 2 * LONG / speed
    for closing, pressure in ((0.0, 1e5), (echo, 1e7), (5.0, 0.0), (5.0, -4e4), (5.0, 1e-9)):
        assert surge.closing_valve_rise(RHO, speed, velocity, LONG, closing, pressure) == pytest.approx(
            sudden, rel=1e-12
        )
    assert surge.closing_valve_rise(RHO, speed, 0.0, LONG, 5.0, 1e5) == 0.0


def test_rows_are_worked_out_each_by_itself():
    columns = ([1000, 800, 1200], [1400, 1000, 300], [1, 2, 3], [100, 200, 300], [0, 5, 40], [1e5, 2e5, -1e4])
    alone = [float(surge.closing_valve_rise(*row)) for row in zip(*columns, strict=True)]
    assert surge.closing_valve_rise(*(np.array(each) for each in columns)).tolist() == alone
    assert surge.closing_valve_rise(1000.0, 1100.0, np.ones((4, 1)), 100.0, 5.0, np.full(3, 1e5)).shape == (4, 3)


def test_a_flow_that_goes_the_other_way_is_refused():
    with pytest.raises(ValueError, match="a closing valve stops must not be negative"):
        surge.closing_valve_rise(1000.0, 1100.0, -1.0, 100.0, 5.0, 1e5)
    with pytest.raises(ValueError, match="a closing valve stops must not be negative"):  # one of many is enough
        surge.closing_valve_rise(1000.0, 1100.0, [1.0, -1.0], 100.0, 5.0, 1e5)
    with pytest.raises(ValueError, match="a closing time must not be negative"):
        surge.closing_valve_rise(1000.0, 1100.0, 1.0, 100.0, -5.0, 1e5)
