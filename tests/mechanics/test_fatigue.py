"""Goodman check against a published worked example and the line itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anchorsize.mechanics import fatigue as fa
from anchorsize.mechanics.stiffness import load_factor

tensions = st.floats(0.0, 1e5)
strengths = st.floats(1e8, 1.5e9)


def test_bhandari_7_20_connecting_rod_bolts() -> None:
    """Bhandari, Design of Machine Elements, Example 7.20: core area 38.128117 mm² (as computed by a public companion).

    Two bolts, 5 kg reciprocating at 2000 rpm, stroke 100 mm, rod 200 mm; members four times as stiff as the bolt; preload
    that just separates at 50 % overspeed; Se = 0.5·600·0.897/3 MPa; a factor of safety of 2 is a utilization of 1/2.
    """

    def pull_per_bolt(rpm: float) -> float:
        return 5.0 * 0.05 * (2 * np.pi * rpm / 60) ** 2 * (1 + 0.05 / 0.2) / 2

    share = load_factor(1.0, 4.0)
    preload = (1 - share) * pull_per_bolt(3000)
    loaded = preload + share * pull_per_bolt(2000)  # under the speed that separates
    cycle = fa.stress_cycle(preload, loaded, 38.128117e-6)
    used = fa.goodman_utilization(cycle, 0.5 * 600e6 * 0.897 / 3, 600e6)
    # The area is printed to 5e-7 of 38 mm²; the utilization at fixed preload changes about three times as fast as the area.
    assert used == pytest.approx(0.5, rel=3 * 5e-7 / 38)


@given(least=st.floats(0.0, 9e7), Se=strengths, Sut=strengths)
def test_allowed_point_lies_on_the_goodman_line(least: float, Se: float, Sut: float) -> None:
    """Grown to the allowed alternating stress from the held least stress, σa/Se + σm/Sut is 1 (definition of the line)."""
    alternating = fa.goodman_alternating_stress(least, Se, Sut)
    assert alternating / Se + (least + alternating) / Sut == pytest.approx(1.0, rel=1e-9)


@given(one=tensions, other=tensions)
def test_order_of_the_cases_does_not_matter(one: float, other: float) -> None:
    assert fa.stress_cycle(one, other, 1e-4) == fa.stress_cycle(other, one, 1e-4)
    cycle = fa.stress_cycle(one, other, 1e-4)
    assert cycle.least + 2 * cycle.alternating == pytest.approx(max(one, other) / 1e-4, rel=1e-9)


def test_steady_tension_does_not_tire_and_no_strength_left_tires_at_once() -> None:
    cycles = fa.StressCycle(np.array([3e8, 9e8]), np.array([3e8, 9.1e8]), np.array([0.0, 1e7]))
    assert fa.goodman_utilization(cycles, 5e7, 8e8).tolist() == [0.0, np.inf]


@given(preload=tensions, swing=st.floats(1.0, 1e4), more=st.floats(1.0, 1e4))
def test_more_preload_or_swing_tires_more(preload: float, swing: float, more: float) -> None:
    def used(least: float, rise: float) -> float:
        return float(fa.goodman_utilization(fa.stress_cycle(least, least + rise, 1e-3), 5e7, 8e8))

    found = used(preload, swing)
    assert used(preload + more, swing) >= found
    assert used(preload, swing + more) >= found


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: fa.stress_cycle(1.0, 2.0, 0.0), "tensile stress area must be greater than zero"),
        (lambda: fa.goodman_alternating_stress(1e8, 0.0, 8e8), "endurance limit must be greater than zero"),
    ],
)
def test_bad_input_is_named(call, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=message):
        call()


@given(one=tensions, other=tensions)
def test_mean_stands_midway_and_greatest_is_mean_plus_alternating(one: float, other: float) -> None:
    """Mean and half range of a cycle, by definition; a tension of 1e5 N on 2e-4 m² is 5e8 Pa, rounded in the last bits."""
    cycle = fa.stress_cycle(one, other, 2e-4)
    assert cycle.mean == pytest.approx(np.mean([one, other]) / 2e-4, rel=1e-12)
    assert cycle.mean + cycle.alternating == pytest.approx(np.max([one, other]) / 2e-4, rel=1e-12)
