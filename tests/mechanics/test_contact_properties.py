"""What the preloaded joint must do whatever the numbers: balance, convexity, continuity, existence; and its rows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from anchorsize.mechanics.contact import (
    BLOCK,
    ContactResult,
    ContactStatus,
    assemble,
    closed_change,
    solve_preloaded_joint,
)
from anchorsize.mechanics.face_integrals import Annulus, Rectangle
from anchorsize.mechanics.inputs import Array

RING = Annulus(0.115, 0.160)
MODULUS = 2.5e11  # gasket of 500 MPa, 2 mm thick [Pa/m]
K, F = 3.2e8, 40e3


def circle(count: int, radius: float = 0.09, first: float = 0.0) -> Array:
    angle = first + np.arange(count) * 2.0 * np.pi / count
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


forces = st.floats(-600e3, 600e3)
moments = st.floats(-40e3, 40e3)
shares = st.lists(st.floats(0.3, 1.7), min_size=6, max_size=6)
moduli = st.floats(10.0, 16.0).map(lambda power: 10.0**power)


def balance(result: ContactResult, xy: Array, face: Annulus, modulus: float, closing: Array) -> Array:
    """Return Σt(1, x, y) − ∫q(1, x, y) dA."""
    a, sx, sy, xx, sxy, yy = face.moments(closing - result.displacement)
    second = np.array([[a, sx, sy], [sx, xx, sxy], [sy, sxy, yy]])
    basis = np.column_stack([np.ones(len(xy)), xy])
    return result.bolt_tension @ basis - modulus * second @ (closing - result.displacement)


@given(N=forces, M1=moments, M2=moments, modulus=moduli)
def test_forces_balance_the_load(N: float, M1: float, M2: float, modulus: float) -> None:
    xy = circle(6, first=0.2)
    result = solve_preloaded_joint(N, M1, M2, xy, K, F, RING, modulus)
    assert result.converged
    closing = np.array([6 * F / (modulus * float(RING.area())), 0.0, 0.0])
    scale = max(6 * F, abs(N), abs(M1) / 0.09, abs(M2) / 0.09)
    left = balance(result, xy, RING, modulus, closing) - [N, M2, -M1]
    # 1e-10 is the criterion; a face of 1e16 Pa/m adds the rounding of its tiny indentation
    assert np.max(np.abs(left) / [1.0, 0.09, 0.09]) < 1e-8 * scale
    assert np.all(result.bolt_tension >= 0.0)
    assert result.pressure_min >= 0.0
    assert result.bolt_tension.sum() - result.clamp == pytest.approx(N, abs=1e-8 * scale)


@given(M1=moments, M2=moments, share=shares)
def test_a_joint_opens_as_the_pull_grows(M1: float, M2: float, share: list[float]) -> None:
    """The work of a load change on its displacement change is not negative: convexity."""
    N = np.linspace(-400e3, 600e3, 41)
    result = solve_preloaded_joint(N, M1, M2, circle(6), K * np.array(share), F, RING, MODULUS)
    assert np.all(result.converged)
    assert np.all(np.diff(result.displacement[:, 0]) >= -1e-14)


@given(N=forces, M1=moments, M2=moments, turn=st.floats(0.0, 6.28), share=shares)
def test_turning_pattern_and_loads_together_changes_nothing(
    N: float, M1: float, M2: float, turn: float, share: list[float]
) -> None:
    preload = F * np.array(share)
    c, s = np.cos(turn), np.sin(turn)
    here = solve_preloaded_joint(N, M1, M2, circle(6), K, preload, RING, MODULUS)
    there = solve_preloaded_joint(N, c * M1 - s * M2, s * M1 + c * M2, circle(6, first=turn), K, preload, RING, MODULUS)
    scale = max(10 * F, abs(N), abs(M1) / 0.09, abs(M2) / 0.09)
    np.testing.assert_allclose(there.bolt_tension, here.bolt_tension, atol=1e-7 * scale)
    assert there.lift_off == pytest.approx(here.lift_off, abs=1e-6)
    # a face that a hard push presses evenly falls nowhere, so there is no direction to compare
    if here.pressure_max - here.pressure_min > 1e-6 * here.pressure_max:
        gap = (there.opens_toward - here.opens_toward - turn + np.pi) % (2 * np.pi) - np.pi
        assert gap == pytest.approx(0.0, abs=1e-5)


@given(M1=moments, N=st.floats(0.0, 500e3))
def test_no_jump_where_the_face_begins_to_open(M1: float, N: float) -> None:
    """A load changed by 1e-7 of the preloads changes no tension by more than 1e-5 of them."""
    near = M1 + np.array([0.0, 1e-7 * 6 * F * 0.09])
    result = solve_preloaded_joint(N, near, 0.0, circle(6), K, F, RING, MODULUS)
    assert np.max(np.abs(np.diff(result.bolt_tension, axis=0))) < 1e-5 * 6 * F
    assert abs(np.diff(result.clamp)[0]) < 1e-5 * 6 * F


@given(share=shares, N=st.floats(50e3, 500e3), tilt=st.floats(-0.6, 0.6), other=st.floats(-0.6, 0.6))
def test_bolts_alone_are_the_linear_group_while_all_are_taut(
    share: list[float], N: float, tilt: float, other: float
) -> None:
    """Tensions of a plane from the 3×3 balance, solved by numpy, for loads made from a plane that stretches every bolt."""
    xy, k = circle(6), K * np.array(share)
    basis = np.column_stack([np.ones(6), xy])
    tension = k * (basis @ [1.0, tilt / 0.09, other / 0.09])
    tension *= N / tension.sum()
    total, M2, minus_M1 = tension @ basis
    linear = k * (basis @ np.linalg.solve(basis.T * k @ basis, [total, M2, minus_M1]))
    result = solve_preloaded_joint(total, -minus_M1, M2, xy, k, 0.0, None)
    np.testing.assert_allclose(result.bolt_tension, linear, rtol=1e-8)
    assert result.clamp == 0.0
    assert np.isnan(result.pressure_max)


@settings(deadline=None)
@given(x=st.floats(-1.2, 1.2), y=st.floats(-1.2, 1.2))
def test_bolts_alone_hold_what_pulls_between_them(x: float, y: float) -> None:
    """Bolts that only pull hold a pull at (x, y) if it stands within their hull, found by scipy, and no push at all."""
    xy = circle(5, 1.0)
    edges = ConvexHull(xy).equations
    depth = np.max(edges[:, :2] @ [x, y] + edges[:, 2])
    if abs(depth) > 1e-6:
        result = solve_preloaded_joint(1e3, -1e3 * y, 1e3 * x, xy, K, 0.0, None)
        assert bool(result.converged) == (depth < 0.0)
    assert solve_preloaded_joint(-1e3, 0.0, x, xy, K, 0.0, None).status == ContactStatus.NO_EQUILIBRIUM


@settings(deadline=None)
@given(x=st.floats(-0.12, 0.12), y=st.floats(-0.12, 0.12))
def test_a_face_alone_holds_what_pushes_on_it(x: float, y: float) -> None:
    for face, inside in (
        (RING, np.hypot(x, y) / 0.08),
        (Rectangle(0.16, 0.1), max(abs(x) / 0.08, abs(y) / 0.05)),
    ):
        result = solve_preloaded_joint(-1e3, 1e3 * y, -1e3 * x, np.zeros((0, 2)), np.zeros(0), np.zeros(0), face, 1e9)
        if inside < 0.999:
            assert result.converged
            assert result.clamp == pytest.approx(1e3, rel=1e-8)
        elif inside > 1.001:
            assert result.status == ContactStatus.NO_EQUILIBRIUM


def test_any_joint_that_can_be_assembled_can_be_loaded() -> None:
    """Bolts scattered in and about the gasket, stiffness and preload apart by a factor of 1000, soft to metallic faces.

    The face rests if the resultant of the preloads stands within its rim. Then it stands between the bolts too, so that bolts and
    face have a point in common, no plane parts them, and every load has an answer.
    """
    random = np.random.default_rng(23)
    rows, bolts = 20_000, 5
    angle, radius = random.uniform(0.0, 2.0 * np.pi, (rows, bolts)), random.uniform(0.02, 0.13, (rows, bolts))
    xy = radius[..., None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    k, preload = 10.0 ** random.uniform(6, 9, (rows, bolts)), 10.0 ** random.uniform(2, 5, (rows, bolts))
    total = preload.sum(axis=1)
    off = np.hypot(*(np.einsum("rn,rnc->cr", preload, xy) / total))
    face = Annulus(random.uniform(0.0, 0.155, rows), 0.16)
    N, M1, M2 = total * random.normal(size=(3, rows)) * np.array([[2.0], [0.15], [0.15]])
    result = solve_preloaded_joint(N, M1, M2, xy, k, preload, face, 10.0 ** random.uniform(9, 15, rows))
    clear = np.abs(off - 0.08) > 1e-3
    expected = np.where(off < 0.08, ContactStatus.SOLVED, ContactStatus.NO_ASSEMBLY)
    np.testing.assert_array_equal(result.status[clear], expected[clear])
    assert np.sum(result.lift_off > 0.5) > rows // 4


# --- rows -------------------------------------------------------------------------------------------------------


def test_every_row_is_solved_as_if_alone() -> None:
    """More rows than one block, each with its own pattern, stiffness, preload, ring and modulus."""
    random = np.random.default_rng(3)
    rows = BLOCK + 5
    xy = circle(5) * random.uniform(0.95, 1.05, (rows, 5, 1))
    k, preload = K * random.uniform(0.5, 1.5, (rows, 5)), F * random.uniform(0.5, 1.5, (rows, 5))
    inside, modulus = random.uniform(0.05, 0.13, rows), MODULUS * random.uniform(0.3, 3.0, rows)
    N, M1, M2 = random.normal(0, 1, (3, rows)) * np.array([[200e3], [6e3], [6e3]])
    together = solve_preloaded_joint(N, M1, M2, xy, k, preload, Annulus(inside, 0.16), modulus)
    assert together.converged.all()
    assert np.any(together.lift_off > 0.0)
    for i in (0, 1, 17, BLOCK - 1, BLOCK, rows - 1):
        alone = solve_preloaded_joint(N[i], M1[i], M2[i], xy[i], k[i], preload[i], Annulus(inside[i], 0.16), modulus[i])
        assert alone.bolt_tension.shape == (5,)
        np.testing.assert_allclose(together.bolt_tension[i], alone.bolt_tension, rtol=1e-7, atol=1e-7 * F)
        assert together.pressure_max[i] == pytest.approx(alone.pressure_max, rel=1e-7)


def test_axes_broadcast() -> None:
    N, scale = np.array([0.0, 50e3, 300e3]), np.array([[0.5], [1.0]])
    result = solve_preloaded_joint(N, 500.0, 0.0, circle(6), K, F * scale[..., None] * np.ones(6), RING, MODULUS)
    assert result.bolt_tension.shape == (2, 3, 6)
    assert result.clamp.shape == result.status.shape == (2, 3)
    one = solve_preloaded_joint(300e3, 500.0, 0.0, circle(6), K, 0.5 * F, RING, MODULUS)
    np.testing.assert_allclose(result.bolt_tension[0, 2], one.bolt_tension, rtol=1e-9)
    none = solve_preloaded_joint(np.zeros(0), 0.0, 0.0, circle(6), K, F, RING, MODULUS)
    assert none.bolt_tension.shape == (0, 6)


def test_rows_without_an_answer_say_why() -> None:
    xy = circle(6)
    loads = np.array([10e3, np.nan, np.inf])
    result = solve_preloaded_joint(loads, 0.0, 0.0, xy, K, F, RING, MODULUS)
    np.testing.assert_array_equal(result.status, [ContactStatus.SOLVED, ContactStatus.GIVEN_UP, ContactStatus.GIVEN_UP])
    assert np.all(np.isnan(result.bolt_tension[1:]))
    one_bolt_tight = np.array([F, 0, 0, 0, 0, 0])  # its pull stands outside the gasket
    beside = solve_preloaded_joint(0.0, 0.0, 0.0, xy, K, np.stack([one_bolt_tight, np.full(6, F)]), RING, MODULUS)
    np.testing.assert_array_equal(beside.status, [ContactStatus.NO_ASSEMBLY, ContactStatus.SOLVED])
    assert np.isnan(beside.clamp[0])
    no_face = solve_preloaded_joint(10e3, 0.0, 0.0, xy, K, F, None)
    assert no_face.status == ContactStatus.NO_ASSEMBLY


def test_impossible_inputs_are_refused() -> None:
    with pytest.raises(ValueError, match="stiffness of a bolt must not be negative"):
        solve_preloaded_joint(0.0, 0.0, 0.0, circle(4), -1.0, 0.0, RING, MODULUS)
    with pytest.raises(ValueError, match="preload of a bolt must not be negative"):
        solve_preloaded_joint(0.0, 0.0, 0.0, circle(4), K, -1.0, RING, MODULUS)
    with pytest.raises(ValueError, match="foundation modulus of a face must be positive"):
        solve_preloaded_joint(0.0, 0.0, 0.0, circle(4), K, F, RING)
    with pytest.raises(ValueError, match="pairs x, y"):
        solve_preloaded_joint(0.0, 0.0, 0.0, np.zeros((4, 3)), K, F, RING, MODULUS)


def test_a_bolt_without_stiffness_pulls_with_a_constant_force() -> None:
    """Closed: the flange moves as it would without that bolt. Opening: its force stays, and forces balance in every row."""
    angle = 2.0 * np.pi * np.arange(6) / 6
    xy = 0.2 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    k = np.array([0.0, 4e8, 5e8, 4e8, 0.0, 4e8])
    preload = np.array([40e3, 45e3, 42e3, 41e3, 0.25, 44e3])
    N, M1, M2 = (
        np.array([0.0, 20e3, 150e3, -10e3]),
        np.array([0.0, 500.0, 9e3, 100.0]),
        np.array([0.0, -300.0, -6e3, 0.0]),
    )
    ring, modulus = Annulus(0.24, 0.32), 5e10
    found = solve_preloaded_joint(N, M1, M2, xy, k, preload, ring, modulus)
    assert found.converged.all()
    assert np.all(found.bolt_tension[:, [0, 4]] == preload[[0, 4]])
    assert found.bolt_tension[0] == pytest.approx(preload, abs=1e-5)
    assert found.displacement[0] == pytest.approx(np.zeros(3), abs=1e-14)
    assert found.clamp == pytest.approx(found.bolt_tension.sum(axis=-1) - N, abs=1e-5)
    assert found.lift_off[2] > 0.0
    closed = found.lift_off == 0.0
    assert closed.tolist() == [True, True, False, True]
    moved = -closed_change(N, M1, M2, xy, k, ring, modulus)
    np.testing.assert_allclose(found.displacement[closed], moved[closed], rtol=1e-6, atol=1e-14)


def test_nothing_loose_takes_one_evaluation_and_a_bolt_pressed_slack_is_found() -> None:
    """Under 150 kN of pressing a bolt of 10 N goes slack while the whole face stays closed: it must not push."""
    xy, k = circle(6), np.full(6, K)
    preload = np.array([F, F, 10.0, F, F, F])
    found = solve_preloaded_joint([5e3, -150e3], 0.0, [100.0, 0.0], xy, k, [np.full(6, F), preload], RING, MODULUS)
    assert found.iterations[0] == 1
    assert found.lift_off.tolist() == [0.0, 0.0]
    assert found.bolt_tension[1, 2] == 0.0
    assert np.all(np.delete(found.bolt_tension[1], 2) > 0.0)
    assert found.clamp == pytest.approx(found.bolt_tension.sum(axis=-1) - [5e3, -150e3], rel=1e-9)
    # as if the slack bolt were not there, but for its 10 N that pressed the face while there was no load
    without = solve_preloaded_joint(-150e3, 0.0, 0.0, np.delete(xy, 2, axis=0), k[:5], np.full(5, F), RING, MODULUS)
    assert np.delete(found.bolt_tension[1], 2) == pytest.approx(without.bolt_tension, abs=10.0)


@pytest.mark.parametrize("size", [1e-6, 1.0, 1e6])
def test_an_even_pull_opens_toward_nowhere_and_a_tilt_somewhere(size: float) -> None:
    face = Annulus(size * 0.115, size * 0.160)
    found = solve_preloaded_joint(
        [20e3, 20e3], 0.0, [0.0, size * 50.0], size * circle(6), K / size, F, face, MODULUS / size**3
    )
    assert np.isnan(found.opens_toward[0])
    assert found.opens_toward[1] == pytest.approx(0.0, abs=1e-6) or found.opens_toward[1] == pytest.approx(2.0 * np.pi)


def test_a_face_needs_its_modulus_when_it_is_assembled() -> None:
    for modulus in ({}, {"foundation_modulus": [MODULUS, 0.0]}, {"foundation_modulus": [-1.0, MODULUS]}):
        with pytest.raises(ValueError, match="modulus of a face must be positive"):
            assemble(circle(6), F, RING, **modulus)
    soft = solve_preloaded_joint(2.0, 0.0, 0.0, circle(6), 1.0, 1.0, RING, 0.5)  # a modulus under one is one as well
    assert soft.converged
