"""Batches: every row comes out as if it stood alone, lists serve as arrays, and a guard sees one bad value among good ones.

The rows differ from one another in every argument, so that a row mixed up with another shows.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from anchorsize.mechanics import (
    arm,
    bolting_order,
    checks,
    continuity,
    energy,
    fatigue,
    flange_code,
    frames,
    gas,
    gasket,
    inputs,
    joint_checks,
    momentum,
    profile,
    solids,
    stiffness,
    support_capacity,
    surge,
    thread_engagement,
    tightening,
    unsteady,
)

# Arguments by row, invented; whole numbers on purpose where they are possible, since a caller may write them.
ROWS: list[tuple[Callable[..., Any], tuple[list[Any], ...]]] = [
    (gas.specific_gas_constant, ([0.018, 0.029, 0.044],)),
    (gas.sonic_pressure, ([1, 2, 3], [0.01, 0.02, 0.04], [300, 400, 500], [1.3, 1.4, 1.6], [0.018, 0.029, 0.044])),
    (gas.open_discharge, ([1, 9, 3], [0.01, 0.02, 0.4], [300, 400, 500], [1.3, 1.4, 1.6], [0.018, 0.029, 0.044], [100000, 90000, 120000])),
    (gasket.basic_width, ([0.1, 0.2, 0], [0.11, 0.25, 1])),
    (gasket.effective_width, ([0.004, 0.02, 1],)),
    (gasket.reaction_diameter, ([0.1, 0.2, 0], [0.11, 0.25, 1])),
    (fatigue.stress_cycle, ([1000, 2000, 3000], [5000, 1000, 4000], [1e-4, 2e-4, 1])),
    (fatigue.goodman_alternating_stress, ([100, 200, 900], [50, 60, 70], [800, 900, 850])),
    (momentum.thrust, ([1000, -20, 300], [2, 3, 5], [1000, 800, 1], [1, -2, 3], [1, 2, 1.02])),
    (momentum.push, ([10, -20, 30], [[1, 0, 0], [0, 1, 0], [0, 0.6, 0.8]])),
    (momentum.moment_about_origin, ([[1, 2, 3], [4, 5, 6], [7, 8, 10]], [[1, 0, 2], [0, 1, 0], [0, 3, 4]])),
    (momentum.weight, ([1, 2, 3], [[0, 0, 1], [0, 1, 0], [0.6, 0, 0.8]], [9, 10, 11])),
    (momentum.unsteady_force, ([1000, 2, 3], [[[1, 2, 3], [4, 5, 7]], [[1, 0, 0], [0, 3, 0]], [[0, 0, 1], [2, 2, 2]]], [[1, -1], [2, -3], [4, 1]])),
    (momentum.transfer, ([[1, 2, 3], [4, 5, 6], [7, 8, 10]], [[1, 1, 2], [3, 5, 8], [1, 2, 1]], [[1, 0, 2], [0, 1, 0], [0, 3, 4]], [[5, 0, 1], [2, 0, 1], [1, 1, 1]])),
    (unsteady.unsteady_moment, ([1000, 2, 3], [[[1, 2, 3], [4, 5, 7]], [[1, 0, 0], [0, 3, 0]], [[0, 0, 1], [2, 2, 2]]], [[1, -1], [2, -3], [4, 1]])),
    (thread_engagement.bolt_thread_area, ([10, 12, 14], [1, 2, 3], [9, 15, 22], [8, 14, 21])),
    (thread_engagement.nut_thread_area, ([10, 12, 14], [1, 2, 3], [10, 16, 24], [9, 15, 22])),
    (thread_engagement.stripping_strength, ([1, 2, 3], [2, 3, 1], [400, 500, 600], [300, 500, 700])),
    (tightening.torque_arm_from_nut_factor, ([0.2, 0.15, 1], [1, 2, 3])),
    (tightening.torque_arm_from_friction, ([1, 2, 3], [9, 15, 22], [0.1, 0.2, 0], [0.15, 0, 0.1], [12, 20, 30])),
    (tightening.preload_from_torque, ([1, 2, 3], [0.1, 0.4, 1])),
    (tightening.torque_from_preload, ([1, 2, 3], [0.1, 0.4, 1])),
    (tightening.preload_range, ([10, 20, 30], [0.3, 0, 0.1], [0.1, 0.2, 0])),
    (flange_code.gasket_load_in_service, ([1, -2, 3], [4, 5, 6], [0.1, 1, 0.3], [2, 3, 0])),
    (flange_code.operating_bolt_load, ([1, -2, 3], [4, 5, 6], [0.1, 1, 0.3], [2, 3, 0])),
    (flange_code.seating_bolt_load, ([4, 5, 6], [0.1, 1, 0.3], [2, 3, 0])),
    (flange_code.bolt_area_required, ([4, 5, 6], [6, 5, 1], [1, 2, 3], [3, 2, 4])),
    (flange_code.equivalent_pressure, ([1, -2, 3], [4, -5, 6], [-1, 2, 3], [1, 2, 3])),
    (profile.beta_power_law, ([5, 7, 10],)),
    (profile.power_law_exponent, ([4000, 50000, 5000000],)),
    (stiffness.bolt_stiffness, ([100, 200, 300], [0, 200, 150], [3, 4, 5], [2, 3, 4], [200, 210, 70])),
    (stiffness.member_stiffness, ([100, 200, 30], [10, 20, 30], [15, 31, 50], [200, 100, 70], [0.5, 0.4, 0.6])),
    (stiffness.annulus_area, ([1, 0, 3], [2, 3, 7])),
    (stiffness.face_modulus_of_gasket, ([1, 2, 3], [2, 1, 4])),
    (stiffness.load_factor, ([1, 2, 3], [2, 1, 4])),
    (stiffness.greatest_tension_bound, ([1, 2, 3], [2, -1, 4])),
    (stiffness.least_clamp_bound, ([1, 2, 3], [2, -1, 4])),
    (lambda nu: surge.restraint_factor("throughout", nu), ([0.3, 0, 0.4],)),
    (lambda nu: surge.restraint_factor("upstream end", nu), ([0.3, 0, 0.4],)),
    (lambda nu: surge.restraint_factor("expansion joints", nu), ([0.3, 0, 0.4],)),
    (surge.thick_wall_factor, ([1, 0.9, 0.8], [0.3, 0, 0.4], [10, 20, 30], [1, 3, 2])),
    (surge.wave_speed, ([2e9, 1e9, 3e9], [1000, 800, 1200], [10, 20, 30], [1, 3, 2], [200e9, 1e9, np.inf], [1, 0.9, 0.8])),
    (
        arm.arm_flexibility,
        (
            [[[0, 0, 0], [0, 0, 1]], [[0, 0, 0], [1, 0, 0]], [[1, 0, 2], [1, 1, 2]]],
            [[[0, 0, 1], [0, 2, 1]], [[1, 0, 0], [1, 0, 3]], [[1, 1, 2], [4, 1, 2]]],
            [[0, 2, 1], [1, 0, 3], [4, 2, 2]],
            [[[0.2, 0.2], [0.2, 0.1]], [[0.3, 0.3], [0.3, 0.3]], [[0.1, 0.2], [0.2, 0.2]]],
            [0.01, 0.02, 0.005],
            [200e9, 70e9, 100e9],
        ),
    ),
    (
        arm.arm_movement,
        (
            [[[0, 0, 0], [0, 0, 1]], [[0, 0, 0], [1, 0, 0]], [[1, 0, 2], [1, 1, 2]]],
            [[[0, 0, 1], [0, 2, 1]], [[1, 0, 0], [1, 0, 3]], [[1, 1, 2], [4, 1, 2]]],
            [[0, 2, 1], [1, 0, 3], [4, 2, 2]],
            [[100, 0, 5], [0, -20, 0], [7, 8, 9]],
            [[1, 2, 3], [-4, 0, 6], [7, 0, 0]],
            [[[0.2, 0.2], [0.2, 0.1]], [[0.3, 0.3], [0.3, 0.3]], [[0.1, 0.2], [0.2, 0.2]]],
            [0.01, 0.02, 0.005],
            [200e9, 70e9, 100e9],
        ),
    ),
    (surge.joukowsky, ([1000, 800, 1200], [1400, 1000, 300], [1, -2, 3])),
    (surge.critical_time, ([1000, 800, 1200], [1400, 1000, 300])),
    (tightening.thread_share, ([2, 1.5, 2.5], [14.7, 9.03, 18.4], [0, 0.1, 0.2], [3, 2, 4])),
    (tightening.twisted_stress, ([1, 2, 0], [0, 1, 3], [1, 2, 5])),
    (surge.closure_rise, ([1000, 800, 1200], [1400, 1000, 300], [1, -2, 3], [100, 200, 300], [0, 5, 1])),
    (frames.part_along, ([[1, 2, 3], [4, 5, 6], [7, 8, 10]], [[1, 0, 2], [0, 1, 0], [0, 3, 4]])),
    (frames.joint_frame, ([[1, 2, 2], [0, 5, 0], [3, 0, 4]], [[1, 0, 0], [2, 1, 0], [0, 3, 1]])),
    (frames.joint_actions, ([[1, 2, 3], [4, 5, 6], [7, 8, 10]], [[1, 1, 2], [3, 5, 8], [1, 2, 1]], [[1, 0, 0], [0, 1, 0], [0, 0, 1]], [[0, 1, 0], [0, 0, 1], [1, 0, 0]], [[0, 0, 1], [1, 0, 0], [0, 1, 0]])),
    (lambda d, at: frames.circle_positions(5, d, at), ([1, 2, 3], [0, 1, 0.4])),
    (frames.clock_position, ([0, 1, 3],)),
    (frames.pressure_annulus, ([1, -2, 3], [2, 3, 4], [1, 5, 7])),
    (joint_checks.kern_radius, ([1, 0, 3], [2, 3, 7])),
    (joint_checks.lift_off_demand, ([1, -2, 3], [-2, 3, 4], [1, 2, 0.5])),
    (joint_checks.closed_face_pressure, ([10, 20, 30], [-2, 3, 4], [1, 0, 3], [2, 3, 7])),
    (joint_checks.slip_utilization_bolt, ([1, -2, 3], [10, 20, -3], [0.2, 0.1, 0.3])),
    (joint_checks.friction_radius, ([1, 0, 3], [2, 3, 7])),
    (joint_checks.slip_utilization_ring, ([1, -2, 0], [1, 2, -3], [10, 20, 30], [0.2, 0.1, 0.3], [1, 2, 3], [0, 1, 3])),
    (joint_checks.greatest_bolt_spacing, ([10, 20, 30], [15, 20, 40], [0, 3, 2])),
    (energy.total_head, ([1000, 2000, -300], [1, 2, 3], [0, 5, -2], [1000, 800, 1200], [1, 2, 1.1], [9, 10, 11])),
    (energy.head_loss, ([[1, 2, -3], [-4, 1, 3], [2, -2, 0]], [[5, 4, 9], [8, 1, 2], [7, 9, 1]])),
    (energy.implied_loss_coefficient, ([1, 2, 3], [2, 4, 1], [9, 10, 11])),
    (energy.is_gain, ([1, -2, -0.001], [10, 20, 3], [0.1, 0.01, 0.1])),
    (energy.loss_pressure, ([1, 2, 3], [2, 4, 1], [1000, 800, 1200])),
    (energy.pressure_from_losses, ([1000, 2000, 300], [1, 2, 3], [0, 5, -2], [3, 1, 2], [1, 1, 4], [10, 0, 30], [1000, 800, 1200], [True, False, False], [9, 10, 11])),
    (energy.vapor_margin, ([1000, 2000, 300], [10, 20, 30], [7, 8, 9])),
    (continuity.imbalance, ([[1, 2, -3], [-4, 1, 2], [2, -1, 0]],)),
    (continuity.solve_unknown, ([[1, 2, np.nan], [-4, 3, np.nan], [2, -1, 0]],)),
    (lambda torque: bolting_order.pass_torques(torque, [0.3, 0.6, 1]), ([100, 200, 0],)),
    (support_capacity.factor_reached, ([1, 2, 3], [4, 0, -1])),
    (support_capacity.axial_stiffness, ([1, 2, 3], [4, 5, 7], [8, 9, 10])),
    (support_capacity.sideways_stiffness, ([1, 2, 3], [4, 5, 7], [8, 9, 10])),
    (support_capacity.soil_stiffness, ([1, 2, 3], [4, 5, 7])),
    (support_capacity.axial_stress, ([1, -2, 3], [4, 5, 7])),
    (support_capacity.euler_load, ([1, 2, 3], [4, 5, 7], [8, 9, 10], [1, 2, 0.7])),
    (support_capacity.bearing_area, ([1, 2, 3], [4, 5, 7], [1.5, 1, 2])),
    (support_capacity.sliding_resistance, ([1, -2, 3], [0.4, 0.5, 0], [0, 2, 3])),
    (support_capacity.base_pressure, ([6, 4, 2], [1, -7, 9], [8, 5, 7], [2, 1, 3])),
    (lambda u, h, m, mu, arm, f, g, k, p: support_capacity.block_mass(u, h, m, mu, arm, (f, g, k), p),
     ([1000, -2000, 10], [50, -600, 10], [30, 400, 9000], [0.4, 0.5, 0.3], [1, 2, 0.1], [1.2, 1, 2], [1.5, 2, 1], [1.5, 1, 3], [0, 20, 3])),
    (checks.stress_tension, ([1, -2, 3], [4, 5, 7])),
    (checks.stress_shear, ([1, -2, 3], [4, 5, 7])),
    (checks.hole_bearing, ([1, -2, 3], [4, 5, 7], [2, 3, 4])),
    (checks.interaction_circular, ([0.1, -0.2, 0.3], [0.4, 0.5, -0.7])),
    (checks.interaction_linear, ([0.1, -0.2, 0.3], [0.4, 0.5, -0.7])),
    (checks.interaction_en_1993_1_8, ([0.1, -0.2, 1], [0.4, 0.5, -0.1])),
    (checks.least_spacing, (
        [[[0, 0], [1, 0], [0, 3], [4, 4]], [[0, 0], [5, 0], [0, 3], [9, 1]], [[0, 2], [7, 0], [0, 3], [8, 8]]],
        [[1, 1, 1, 1], [1, 1, 0, 1], [0, 1, 0, 0]],
    )),
    (checks.greatest_gap, (
        [[[2, 0], [0, 1], [-3, 0], [0, -9]], [[0, 2], [0, -5], [4, 0], [1, 1]], [[0, 2], [7, 0], [0, -3], [1, -1]]],
        [[1, 1, 1, 1], [1, 1, 0, 1], [0, 1, 0, 0]],
    )),
    (checks.utilization, ([1, -2, 3], [4, 5, 7])),
    (checks.utilization, ([1, -2, 3], [0, 0, 7])),
    (checks.utilization_at_least, ([4, 5, 7], [1, 2, 3])),
    (checks.margin, ([0.5, 0, 2],)),
    (solids.miter_piece, ([1, 2, 3], [0.2, 0.3, 1], [0, 0.1, 0.2], [0.3, 0, 0.1])),
    (solids.branch_outside_run, ([1, 2, 3], [0.2, 0.3, 1], [0.2, 0.5, 1.5], [1, 1.5, 2])),
]  # fmt: skip


def parts(result: Any) -> tuple[Any, ...]:
    return tuple(result) if isinstance(result, tuple) else (result,)


@pytest.mark.parametrize(("function", "arguments"), ROWS)
def test_rows_come_out_as_if_alone(function: Callable[..., Any], arguments: tuple[list[Any], ...]) -> None:
    together = parts(function(*arguments))
    for row in range(3):
        alone = parts(function(*(argument[row] for argument in arguments)))
        for whole, single in zip(together, alone, strict=True):
            assert np.shape(whole) == (3, *np.shape(single))
            # one rounding more or less, where a sum is taken in another order
            np.testing.assert_allclose(whole[row], single, rtol=1e-14, atol=1e-300)


@pytest.mark.parametrize(("function", "arguments"), ROWS)
def test_another_leading_axis_changes_nothing(function: Callable[..., Any], arguments: tuple[list[Any], ...]) -> None:
    """Rows on the second of two leading axes, so that an axis counted from the wrong end shows."""
    together = parts(function(*arguments))
    for whole, deeper in zip(together, parts(function(*([argument] for argument in arguments))), strict=True):
        np.testing.assert_array_equal(deeper, np.asarray(whole)[None])


def test_one_pattern_serves_every_set_of_missing_bolts() -> None:
    places = [[2, 0], [0, 1], [-3, 0], [0, -9]]
    present = [[1, 1, 1, 1], [1, 0, 1, 0], [0, 1, 1, 1]]
    for function in (checks.greatest_gap, checks.least_spacing):
        assert function(places, present).tolist() == [float(function(places, each)) for each in present]


def test_one_demand_against_several_allowables() -> None:
    assert checks.utilization(1.0, [0.0, 2.0, 0.5]).tolist() == [np.inf, 0.5, 2.0]
    assert checks.utilization([0.0, 1.0], 0.0).tolist() == [0.0, np.inf]


# function, arguments of which one is named, and the values of it that must be refused: zero or less unless said
GUARDED: list[tuple[Callable[..., Any], list[Any], int, float]] = [
    (lambda value: inputs.positive("it", value), [1], 0, 0),
    (lambda value: inputs.not_negative("it", value), [0], 0, -1e-9),
    (lambda value: inputs.share("it", value), [0.5], 0, 1),
    (lambda value: inputs.share("it", value), [0], 0, -1e-9),
    (gasket.basic_width, [0, 1], 0, -1e-9),
    (gasket.basic_width, [1, 2], 1, 1),
    (profile.power_law_exponent, [4000], 0, 3999),
    (tightening.torque_arm_from_friction, [1, 9, 0.1, 0.1, 12], 2, 50),
    (tightening.preload_range, [1, 0.1, 0], 1, 1),
    (stiffness.bolt_stiffness, [100, 100, 3, 2, 200], 1, 101),
    (stiffness.member_stiffness, [100, 10, 15, 200, 0.5], 2, 10),
    (stiffness.member_stiffness, [100, 10, 15, 200, 1.5], 4, np.pi / 2),
    (stiffness.annulus_area, [1, 2], 1, 1),
    (surge.wave_speed, [2e9, 1000, 10, 1, 200e9], 0, 0),
    (surge.wave_speed, [2e9, 1000, 10, 1, 200e9], 1, 0),
    (surge.wave_speed, [2e9, 1000, 10, 1, 200e9], 2, 0),
    (surge.wave_speed, [2e9, 1000, 10, 1, 200e9], 3, 0),
    (surge.wave_speed, [2e9, 1000, 10, 1, 200e9], 4, 0),
    (surge.closure_rise, [1000, 1400, 1, 100, 0], 3, 0),
    (surge.closure_rise, [1000, 1400, 1, 100, 0], 4, -1e-9),
    (gas.open_discharge, [0, 1, 300, 1.4, 0.03, 1e5], 0, -1e-9),
    (gas.open_discharge, [1, 1, 300, 1.4, 0.03, 1e5], 1, 0),
    (gas.open_discharge, [1, 1, 300, 1.4, 0.03, 1e5], 2, 0),
    (gas.open_discharge, [1, 1, 300, 1.4, 0.03, 1e5], 3, 1),
    (gas.open_discharge, [1, 1, 300, 1.4, 0.03, 1e5], 4, 0),
    (gas.open_discharge, [1, 1, 300, 1.4, 0.03, 1e5], 5, 0),
    (joint_checks.kern_radius, [1, 1], 1, 0.999),
    (energy.pressure_from_losses, [1000, 1, 0, 3, 1, 0, 1000], 5, -1e-9),
]


@pytest.mark.parametrize(("function", "arguments", "place", "bad"), GUARDED)
def test_one_bad_value_among_good_ones_is_refused(
    function: Callable[..., Any], arguments: list[Any], place: int, bad: float
) -> None:
    """The good values stand at the edge of what is allowed where there is one."""
    good = arguments[place]
    held = parts(function(*arguments[:place], [good, good], *arguments[place + 1 :]))
    assert all(np.all(np.isfinite(part)) for part in held)
    for pair in ([good, bad], [bad, good]):
        with pytest.raises(ValueError, match=r"\w"):
            function(*arguments[:place], pair, *arguments[place + 1 :])


@pytest.mark.parametrize("rows", [0, 1])
def test_a_vector_without_length_among_others_is_refused(rows: int) -> None:
    axes, references = [[1.0, 0, 0], [1, 0, 0]], [[0.0, 0, 1], [0, 0, 1]]
    for broken, message in (([0.0, 0, 0], "no length"), ([-3.0, 0, 0], "lies along the joint axis")):
        references[rows] = broken
        with pytest.raises(ValueError, match=message):
            frames.joint_frame(axes, references)
