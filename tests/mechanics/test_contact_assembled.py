"""The joint assembled beforehand, the answer of the closed joint, and the linear change of the face under a load."""

from __future__ import annotations

import numpy as np
import pytest

from anchorsize.mechanics.contact import ContactStatus, assemble, closed_change, solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus
from tests.reference_joint import ReferenceJoint, Ring

RING = Annulus(0.115, 0.160)
K, F, MODULUS = 4e8, 30e3, 1e13


def circle(count):
    angle = 2 * np.pi * np.arange(count) / count
    return 0.09 * np.column_stack([np.cos(angle), np.sin(angle)])


def loads(scale, rows, seed=1):
    return scale * np.array([150e3, 8e3, 8e3])[:, None] * np.random.default_rng(seed).normal(size=(3, rows))


@pytest.mark.parametrize("scale", [0.02, 0.3])
def test_assembled_beforehand_gives_the_same(scale):
    acting, random = loads(scale, 50), np.random.default_rng(2)
    for preload in (np.full(6, F), F * random.uniform(0.5, 1.5, 6), F * random.uniform(0.5, 1.5, (50, 6))):
        assembled = assemble(circle(6), preload, RING, MODULUS)
        assert assembled.status.shape == preload.shape[:-1]
        once = solve_preloaded_joint(*acting, circle(6), K, preload, RING, MODULUS)
        again = solve_preloaded_joint(*acting, circle(6), K, preload, RING, MODULUS, assembled)
        for one, other in zip(once, again, strict=True):
            np.testing.assert_array_equal(one, other)


def test_assembly_of_like_preloads_presses_evenly():
    # c0 = ΣF/(κ A), by hand
    area = np.pi / 4 * (0.160**2 - 0.115**2)
    assembled = assemble(circle(6), F, RING, MODULUS)
    assert assembled.closing[0] == pytest.approx(6 * F / (MODULUS * area), rel=1e-10)
    assert np.abs(assembled.closing[1:]).max() * 0.08 < 1e-10 * assembled.closing[0]


def test_face_changes_in_proportion_to_the_load_while_closed():
    acting = loads(0.02, 40)
    result = solve_preloaded_joint(*acting, circle(8), K, F, RING, MODULUS)
    assert np.all(result.lift_off == 0.0)
    assembled, change = assemble(circle(8), F, RING, MODULUS), closed_change(*acting, circle(8), K, RING, MODULUS)
    closing = assembled.closing + change
    rim = np.hypot(closing[:, 1], closing[:, 2]) * 0.080
    np.testing.assert_allclose(MODULUS * (closing[:, 0] - rim), result.pressure_min, rtol=1e-9)
    np.testing.assert_allclose(MODULUS * (closing[:, 0] + rim), result.pressure_max, rtol=1e-9)


def test_change_of_a_centered_load_by_hand():
    """Bolts and face are springs side by side: the face gives way by N/(Σk + κ A)."""
    area = np.pi / 4 * (0.160**2 - 0.115**2)
    change = closed_change(5e4, 0.0, 0.0, circle(8), K, RING, MODULUS)
    assert change[0] == pytest.approx(-5e4 / (8 * K + MODULUS * area), rel=1e-10)
    assert np.abs(change[1:]).max() < 1e-12


@pytest.mark.parametrize(
    ("load", "preload"),
    [
        ((-400e3, 0.0, 0.0), [F, F, F, F, F, 0.3 * F]),  # closed by the load
        ((-400e3, 0.0, 0.0), [2 * F, F, 0.1 * F, 0.1 * F, 0.1 * F, F]),  # partly open before the load, closed under it
        ((10e3, 300.0, 0.0), [2 * F, F, 0.1 * F, 0.1 * F, 0.1 * F, F]),  # partly open before and after
        ((5e3, 200.0, 100.0), [F] * 6),  # nothing comes loose
    ],
)
def test_joint_agrees_with_a_general_minimization(load, preload):
    """scipy minimizes the energy of the same joint with the face by quadrature, good to about 1e-6 of the preloads."""
    joint = ReferenceJoint(circle(6), np.full(6, K), np.array(preload), Ring(0.115, 0.160), MODULUS)
    N, M1, M2 = load
    tension = joint.under(np.array([N, M1, M2]), joint.assembled())[0]
    result = solve_preloaded_joint(N, M1, M2, circle(6), K, preload, RING, MODULUS)
    assert result.status == ContactStatus.SOLVED
    np.testing.assert_allclose(result.bolt_tension, tension, atol=2e-5 * sum(preload))


def test_uneven_preloads_of_the_comparison_do_open_the_face():
    uneven = [2 * F, F, 0.1 * F, 0.1 * F, 0.1 * F, F]
    assert np.all(RING.extremes(assemble(circle(6), uneven, RING, MODULUS).closing)[0] < 0.0)
    closed = solve_preloaded_joint(-400e3, 0.0, 0.0, circle(6), K, uneven, RING, MODULUS)
    assert closed.lift_off == 0.0


def test_preloads_that_cannot_rest_are_told_before_any_load():
    one_bolt_tight = np.array([F, 0, 0, 0, 0, 0])  # its pull stands outside the gasket
    assembled = assemble(circle(6), np.stack([one_bolt_tight, np.full(6, F)]), RING, MODULUS)
    assert assembled.status.tolist() == [ContactStatus.NO_ASSEMBLY, ContactStatus.SOLVED]
    assert np.all(np.isnan(assembled.closing[0]))
