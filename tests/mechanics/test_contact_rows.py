"""The preloaded joint mirrored, in other units and beside a far larger one: the same forces after the same evaluations.

How near a row must come to balance hangs on the loads and the reach of that row alone. Only the count of evaluations shows
where it does not, since each result is good either way.
"""

from __future__ import annotations

import numpy as np
import pytest

from anchorsize.mechanics import one_sided
from anchorsize.mechanics.contact import ContactResult, ContactStatus, assemble, solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus, Rectangle
from anchorsize.mechanics.inputs import Array

K = 3.2e8
MODULUS = 2.5e11
ROWS = 120
RNG = np.random.default_rng(20260103)
ANGLE = 0.2 + 2.0 * np.pi * np.arange(6) / 6
XY = 0.09 * np.stack([np.cos(ANGLE), np.sin(ANGLE)], axis=-1)
# Loads of all sorts, each row ruled by another of the three
LOADS = RNG.normal(size=(ROWS, 3)) * 10.0 ** RNG.uniform(-2, 0, (ROWS, 3)) * [3e5, 2e4, 2e4]
PRELOADS = 10.0 ** RNG.uniform(1, 5, (ROWS, 1)) * RNG.uniform(0.5, 1.5, (ROWS, 6)) * (RNG.random((ROWS, 1)) < 0.5)
STIFFNESS = K * RNG.uniform(0.5, 1.5, (ROWS, 6))


def solved(
    loads: Array, length: float = 1.0, force: float = 1.0, rim: float = 0.115, mirror: tuple[int, int] = (1, 1)
) -> ContactResult:
    """The joints in other units, or mirrored: x turned round turns M2 round, y turned round M1."""
    N, M1, M2 = loads.T * force
    x, y = mirror
    return solve_preloaded_joint(
        N,
        y * length * M1,
        x * length * M2,
        length * XY * mirror,
        STIFFNESS * force / length,
        PRELOADS * force,
        Annulus(length * rim, length * 0.16),
        MODULUS * force / length**3,
    )


PLAIN = solved(LOADS)


def test_the_joints_are_of_all_sorts() -> None:
    assert PLAIN.converged.all()
    assert np.sum(PLAIN.lift_off == 0.0) > 10
    assert np.sum((PLAIN.lift_off > 0.0) & (PLAIN.lift_off < 1.0)) > 10
    assert np.sum(PLAIN.lift_off == 1.0) > 10
    assert set(PLAIN.iterations) >= {1, 2, 3, 4, 5}


@pytest.mark.parametrize("mirror", [(-1, 1), (1, -1), (-1, -1)])
def test_a_mirrored_joint(mirror: tuple[int, int]) -> None:
    """A change of sign is exact, so that the evaluations are the same ones."""
    other = solved(LOADS, mirror=mirror)
    np.testing.assert_array_equal(other.iterations, PLAIN.iterations)
    np.testing.assert_allclose(other.bolt_tension, PLAIN.bolt_tension, rtol=1e-9, atol=1e-6)


@pytest.mark.parametrize("length", [2.0**-20, 2.0**20])
@pytest.mark.parametrize("force", [2.0**-40, 2.0**40])
def test_other_units(length: float, force: float) -> None:
    other = solved(LOADS, length, force)
    np.testing.assert_array_equal(other.iterations, PLAIN.iterations)
    np.testing.assert_allclose(other.bolt_tension / force, PLAIN.bolt_tension, rtol=1e-9, atol=1e-6)
    np.testing.assert_allclose(other.opens_toward, PLAIN.opens_toward, atol=1e-6)


@pytest.mark.parametrize("bolts", [0, 6])
@pytest.mark.parametrize("length", [2.0**-20, 2.0**20])
def test_other_units_of_a_face_or_bolts_alone(bolts: int, length: float) -> None:
    """A push within the rim of a face without bolts, a pull within the bolts without a face."""
    random = np.random.default_rng(4)
    off = 0.075 * np.sqrt(random.random(ROWS)) * np.exp(2j * np.pi * random.random(ROWS))
    N = 10e3 * random.random(ROWS) * (1 if bolts else -1)

    def under(size: float) -> ContactResult:
        face, modulus = (None, 0.0) if bolts else (Annulus(size * 0.115, size * 0.16), MODULUS / size**3)
        none = np.zeros(bolts)
        return solve_preloaded_joint(
            N, -N * size * off.imag, N * size * off.real, size * XY[:bolts], none + K / size, none, face, modulus
        )

    here, there = under(1.0), under(length)
    assert here.converged.all()
    assert len(set(here.iterations)) > 2
    np.testing.assert_array_equal(there.iterations, here.iterations)
    np.testing.assert_allclose(there.clamp + there.bolt_tension.sum(axis=-1), np.abs(N), rtol=1e-9)


@pytest.mark.parametrize("size", [1e-9, 1.0, 1e9])
def test_an_even_pull_on_bolts_alone_tilts_nowhere(size: float) -> None:
    """N at the center of seven like bolts lifts them evenly, but for rounding; beside it, toward the side it stands on."""
    angle = 0.2 + 2.0 * np.pi * np.arange(7) / 7
    circle = 0.09 * size * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    beside = 1e-3 * size * np.array([[0.0, 0.0], [1.0, 0.0], [0.0, -1.0]])
    found = solve_preloaded_joint(7.0, -7.0 * beside[:, 1], 7.0 * beside[:, 0], circle, 1.0 / size, 0.0, None)
    assert found.converged.all()
    np.testing.assert_allclose(found.bolt_tension[0], 1.0, rtol=1e-9)
    assert np.isnan(found.opens_toward[0])
    assert np.cos(found.opens_toward[1]) > 0.999
    assert np.sin(found.opens_toward[2]) < -0.999


@pytest.mark.parametrize("beside", [2.0**-40, 2.0**40])
def test_beside_far_greater_and_smaller_joints(beside: float) -> None:
    """Each joint first with a copy of itself, then with one of other forces or another length."""
    for force, length in ((beside, 1.0), (1.0, beside)):
        both = solve_preloaded_joint(
            *np.concatenate([LOADS, LOADS * force * [1.0, length, length]]).T,
            np.concatenate([np.broadcast_to(XY, (ROWS, 6, 2)), np.broadcast_to(length * XY, (ROWS, 6, 2))]),
            np.concatenate([STIFFNESS, STIFFNESS * force / length]),
            np.concatenate([PRELOADS, PRELOADS * force]),
            Annulus(np.repeat([0.115, 0.115 * length], ROWS), np.repeat([0.16, 0.16 * length], ROWS)),
            np.repeat([MODULUS, MODULUS * force / length**3], ROWS),
        )
        np.testing.assert_array_equal(both.iterations, np.tile(PLAIN.iterations, 2))
        np.testing.assert_allclose(both.bolt_tension[:ROWS], PLAIN.bolt_tension, rtol=1e-9, atol=1e-6)


@pytest.mark.parametrize("force", [1e-12, 1.0, 1e12])
def test_bolts_in_a_line_hold_no_moment_across_it_however_small(force: float) -> None:
    """Two bolts on the x-axis: N between them is held by the lever rule, any M1 is not."""
    pair = np.array([[-0.1, 0.0], [0.1, 0.0]])
    found = solve_preloaded_joint(force, [0.0, 0.01 * force, -0.01 * force], 0.05 * force, pair, force * 1e3, 0.0, None)
    assert found.status.tolist() == [ContactStatus.SOLVED, *[ContactStatus.NO_EQUILIBRIUM] * 2]
    assert found.bolt_tension[0] / force == pytest.approx([0.25, 0.75], rel=1e-9)


def test_one_bolt_at_the_center_hangs_what_hangs_below_it() -> None:
    """It has no reach by itself: it pulls N, and holds no moment."""
    found = solve_preloaded_joint([3.0, 3.0, -3.0], [0.0, 0.1, 0.0], 0.0, [[0.0, 0.0]], [1e3], [0.0], None)
    assert found.status.tolist() == [ContactStatus.SOLVED, *[ContactStatus.NO_EQUILIBRIUM] * 2]
    assert found.bolt_tension[0, 0] == pytest.approx(3.0)
    assert found.displacement[0] == pytest.approx([3e-3, 0.0, 0.0])


def test_bolts_may_be_the_only_rows() -> None:
    """One load, three sets of bolts, given as lists: side by side with the face they give way by N/(Σk + κA)."""
    stiffness = [[1e8] * 4, [2e8] * 4, [5e8] * 4]
    corners = [[0.1, 0.1], [-0.1, 0.1], [-0.1, -0.1], [0.1, -0.1]]
    found = solve_preloaded_joint(20e3, 0.0, 0.0, corners, stiffness, 30e3, Rectangle(0.2, 0.3), 1e10)
    assert found.bolt_tension.shape == (3, 4)
    assert found.displacement[:, 0] == pytest.approx(20e3 / (4 * np.array([1e8, 2e8, 5e8]) + 1e10 * 0.06), rel=1e-9)


def test_without_a_face_only_slack_bolts_are_assembled() -> None:
    """One tight bolt is enough to have nothing to rest on; where none is, nothing presses."""
    tight = np.zeros((3, 6))
    tight[1, 4] = tight[2] = 1.0
    assembled = assemble(XY, tight, None)
    assert assembled.status.tolist() == [ContactStatus.SOLVED, *[ContactStatus.NO_ASSEMBLY] * 2]
    assert assembled.closing[0].tolist() == [0.0, 0.0, 0.0]
    found = solve_preloaded_joint(6.0, 0.0, 0.0, XY, 1e3, tight, None)
    assert found.converged.tolist() == [True, False, False]
    assert found.bolt_tension[0] == pytest.approx(np.ones(6))


def test_a_face_open_when_assembled_and_closed_by_the_load() -> None:
    """The bolts are soft and stay taut; in the row beside it like preloads close the face from the start. Both balance.

    A closed ring under q = q0 ± q1 pushes with q0 A and has the moment q1 I/R; I = π(D⁴ − d⁴)/64.
    """
    uneven = np.array([60e3, 30e3, 3e3, 3e3, 3e3, 30e3])
    tight = np.stack([uneven, np.full(6, 30e3)])
    found = solve_preloaded_joint(-1.2e6, 0.0, 0.0, XY, 4e7, tight, Annulus(0.115, 0.16), 1e13)
    unloaded = solve_preloaded_joint(0.0, 0.0, 0.0, XY, 4e7, tight, Annulus(0.115, 0.16), 1e13)
    assert (unloaded.lift_off > 0.0).tolist() == [True, False]
    assert found.lift_off.tolist() == [0.0, 0.0]
    np.testing.assert_allclose(found.bolt_tension.sum(axis=-1) - found.clamp, -1.2e6, rtol=1e-9)
    area, second = np.pi / 4 * (0.16**2 - 0.115**2), np.pi / 64 * (0.16**4 - 0.115**4)
    mean, swing = (found.pressure_max + found.pressure_min) / 2, (found.pressure_max - found.pressure_min) / 2
    np.testing.assert_allclose(mean * area, found.clamp, rtol=1e-9)
    np.testing.assert_allclose(swing * second / 0.08, np.linalg.norm(found.bolt_tension @ XY, axis=-1), atol=1e-3)
    assert (found.bolt_tension > 0.0).all()


@pytest.mark.parametrize("each", [1.0, 40e3])
def test_a_disk_half_open_under_constant_forces(each: float) -> None:
    """Bolts without stiffness press with ΣF − N; at 3πR/16 from the center half of a disk carries it, 3P/(2R²) at most."""
    radius, push = 0.35, 6.0 * each - 2.0 * each
    bending = push * 3.0 * np.pi * radius / 16.0
    found = solve_preloaded_joint(2.0 * each, 0.0, bending, XY, 0.0, each, Annulus(0.0, 2.0 * radius), 1e9 * each)
    assert found.bolt_tension.tolist() == [each] * 6
    assert found.clamp == pytest.approx(push, rel=1e-8)
    assert found.lift_off == pytest.approx(0.5, abs=1e-8)
    assert found.pressure_max == pytest.approx(1.5 * push / radius**2, rel=1e-8)


def test_a_joint_at_rest_tilts_nowhere() -> None:
    found = solve_preloaded_joint(0.0, 0.0, 0.0, XY, K, 0.0, None)
    assert found.converged
    assert found.displacement.tolist() == [0.0, 0.0, 0.0]
    assert np.isnan(found.opens_toward)


@pytest.mark.parametrize(("length", "force"), [(1.0, 1.0), (2.0**-20, 2.0**-40), (2.0**20, 2.0**40)])
def test_only_what_comes_loose_is_searched_for(length: float, force: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing does, one linear system is the answer, a missing bolt or not; and no assembly is made twice."""
    searched: list[int] = []
    minimize = one_sided.minimize

    def counting(system: one_sided.OneSidedSystem) -> one_sided.Minimum:
        searched.append(system.load.shape[1])
        return minimize(system)

    monkeypatch.setattr(one_sided, "minimize", counting)
    there = np.array([1.0, 1.0, 1.0, 1.0, 1.0, 0.0])
    face, modulus, tight = Annulus(length * 0.115, length * 0.16), MODULUS * force / length**3, 40e3 * force * there
    assembled = assemble(length * XY, tight, face, modulus)
    assert searched == [1]
    searched.clear()
    bolts = (length * XY, K * force / length * there, tight, face, modulus, assembled)
    closed = solve_preloaded_joint(force * np.array([0.0, 5e3, -150e3]), 10.0 * force * length, 0.0, *bolts)
    assert closed.converged.all()
    assert closed.lift_off.tolist() == [0.0, 0.0, 0.0]
    assert searched == []
    opened = solve_preloaded_joint(force * np.array([5e3, 500e3, -150e3]), 10.0 * force * length, 0.0, *bolts)
    assert (opened.lift_off > 0.0).tolist() == [False, True, False]
    assert searched == [1]
    searched.clear()
    loose = 40e3 * force * np.array([1.0, 1.0, 2.5e-4, 1.0, 1.0, 1.0])  # 10 N in one of the bolts, which goes slack
    given = (length * XY, K * force / length, loose, face, modulus)
    slack = solve_preloaded_joint(
        force * np.array([0.0, -150e3]), 0.0, 0.0, *given, assemble(given[0], loose, face, modulus)
    )
    assert (slack.bolt_tension == 0.0).any(axis=-1).tolist() == [False, True]
    assert searched == [1, 1]  # of the assembly, and of the row under load
