"""Batches of joints and restraints: each input by itself may differ from row to row, and every row comes out as if alone."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from anchorsize.mechanics import contact, joint_stiffness, restraint
from anchorsize.mechanics.face_integrals import Annulus, Face, Rectangle

RNG = np.random.default_rng(20260102)
ROWS = 4

# A flanged joint of invented size: loads that leave it closed, tip it, pull it open, and press it
LOADS = np.array([[20e3, -3e3, 2e3], [60e3, 9e3, -7e3], [400e3, 1e3, 2e3], [-50e3, 4e3, 0.0]])
ANGLE = 2.0 * np.pi * np.arange(6) / 6 + 0.2
XY = 0.2 * np.stack([np.cos(ANGLE), np.sin(ANGLE)], axis=-1)
STIFFNESS = np.array([4e8, 5e8, 4e8, 0.0, 6e8, 4e8])
PRELOAD = np.array([40e3, 45e3, 42e3, 0.0, 41e3, 44e3])
BATCHED = {
    "xy": XY * np.linspace(0.9, 1.1, ROWS)[:, None, None],
    "bolt_stiffness": STIFFNESS * np.linspace(0.5, 2.0, ROWS)[:, None],
    "preload": PRELOAD * np.linspace(0.7, 1.3, ROWS)[:, None],
    "foundation_modulus": np.linspace(1e10, 9e10, ROWS),
}
PLAIN: dict[str, Any] = {"xy": XY, "bolt_stiffness": STIFFNESS, "preload": PRELOAD, "foundation_modulus": 5e10}
FACES: list[Face] = [
    Annulus(0.24, 0.32),
    Annulus(np.linspace(0.2, 0.26, ROWS), 0.32),
    Rectangle(0.4, 0.45),
    Rectangle(0.4, np.linspace(0.4, 0.5, ROWS)),
]


def row_of(face: Face, row: int) -> Face:
    sizes = [np.asarray(getattr(face, field.name)) for field in fields(face)]  # type: ignore[arg-type]
    return type(face)(*(float(size[row]) if size.ndim else float(size) for size in sizes))


def same(together: Any, alone: Any, row: int, leave: str = "iterations") -> None:
    """Each part of a result against that of the row alone, to 1e-8 of the greatest value in the part."""
    for name in together._fields:
        whole, single = np.asarray(getattr(together, name)), np.asarray(getattr(alone, name))
        assert whole.shape[1:] == single.shape, name
        if name == leave:
            continue
        scale = np.max(np.abs(whole), initial=0.0, where=np.isfinite(whole))
        np.testing.assert_allclose(whole[row], single, rtol=1e-8, atol=1e-8 * scale, err_msg=name)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize(
    "varying", [(), ("xy",), ("bolt_stiffness",), ("preload",), ("foundation_modulus",), tuple(BATCHED)]
)
def test_joints_row_by_row(face: Face, varying: tuple[str, ...]) -> None:
    given = {**PLAIN, **{name: BATCHED[name] for name in varying}}
    together = contact.solve_preloaded_joint(*LOADS.T, face=face, **given)
    assert together.converged.all()
    assert (together.lift_off > 0.0).any()
    for row in range(ROWS):
        mine = {name: value[row] if name in varying else value for name, value in given.items()}
        same(together, contact.solve_preloaded_joint(*LOADS[row], face=row_of(face, row), **mine), row)


@pytest.mark.parametrize("block", [1, 3, 4])
@pytest.mark.parametrize("varying", [(), tuple(BATCHED)])
def test_blocks_change_nothing(block: int, varying: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    given = {**PLAIN, **{name: BATCHED[name] for name in varying}}
    whole = contact.solve_preloaded_joint(*LOADS.T, face=FACES[bool(varying)], **given)
    monkeypatch.setattr(contact, "BLOCK", block)
    blocks = contact.solve_preloaded_joint(*LOADS.T, face=FACES[bool(varying)], **given)
    for row in range(ROWS):
        same(whole, contact.ContactResult(*(np.asarray(part)[row] for part in blocks)), row)


def test_loads_and_bolts_on_axes_of_their_own() -> None:
    """Two patterns down, the loads across: (2, 4) rows."""
    patterns = np.stack([XY, 1.2 * XY])[:, None]
    together = contact.solve_preloaded_joint(*LOADS.T, patterns, STIFFNESS, PRELOAD, FACES[0], 5e10)
    assert together.bolt_tension.shape == (2, 4, 6)
    for down in range(2):
        part = contact.ContactResult(*(np.asarray(value)[down] for value in together))
        for row in range(ROWS):
            same(
                part,
                contact.solve_preloaded_joint(*LOADS[row], patterns[down, 0], STIFFNESS, PRELOAD, FACES[0], 5e10),
                row,
            )


@pytest.mark.parametrize("varying", [(), ("xy",), ("bolt_stiffness",), tuple(BATCHED)])
def test_change_of_a_closed_face_row_by_row(varying: tuple[str, ...]) -> None:
    given = {name: value for name, value in {**PLAIN, **{n: BATCHED[n] for n in varying}}.items() if name != "preload"}
    together = contact.closed_change(*LOADS.T, face=FACES[1], **given)
    assert together.shape == (ROWS, 3)
    for row in range(ROWS):
        mine = {name: value[row] if name in varying else value for name, value in given.items()}
        alone = contact.closed_change(*LOADS[row], face=row_of(FACES[1], row), **mine)
        np.testing.assert_allclose(together[row], alone, rtol=1e-9, atol=1e-9 * np.abs(alone).max())


def test_bolts_without_a_face_row_by_row() -> None:
    """Loads within the pull of the bolts: every row is held by tension alone."""
    loads = np.array([[50e3, 1e3, 0.0], [80e3, -2e3, 1e3], [60e3, 0.0, 3e3], [90e3, 5e3, -4e3]])
    bolts = STIFFNESS * np.linspace(0.5, 2.0, ROWS)[:, None]
    for stiffness in (STIFFNESS, bolts):
        together = contact.solve_preloaded_joint(*loads.T, XY, stiffness, 0.0, None)
        assert together.converged.all()
        for row in range(ROWS):
            k = stiffness if stiffness.ndim == 1 else stiffness[row]
            same(together, contact.solve_preloaded_joint(*loads[row], XY, k, 0.0, None), row)


TURNS = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.6, 0.8, 0.0], [0.0, 0.6, 0.8], [0.0, 0.0, 1.0]])
SUPPORTS = restraint.Supports(
    point=RNG.normal(size=(5, 3)),
    direction=TURNS,
    action=[0, 1, 1, 2, 1],
    stiffness=[1e6, 2e6, 3e6, 1.0, 5e6],
    gap=[1e-3, 0.0, 2e-3, 0.0, 0.0],
    set_load=[0.0, 400.0, 0.0, 300.0, 900.0],
    friction=[0.0, 0.3, 0.0, 0.0, 0.2],
    stick_stiffness=[1.0, 1e6, 1e6, 1.0, 2e6],
)
ROOT = RNG.normal(size=(2, 6, 6))
MOUNTS = restraint.Mounts(RNG.normal(size=(2, 3)), 1e6 * (ROOT @ np.swapaxes(ROOT, -1, -2) + np.eye(6)), (False, False))
FORCES, MOMENTS = RNG.normal(size=(2, ROWS, 3)) * 3e3
SPREAD = np.linspace(0.7, 1.4, ROWS)
SIX = {
    "point": np.asarray(SUPPORTS.point) * SPREAD[:, None, None],
    "direction": np.stack([np.roll(TURNS, turn, axis=1) for turn in (0, 1, 2, 0)]),
    "stiffness": np.asarray(SUPPORTS.stiffness) * SPREAD[:, None],
    "gap": np.asarray(SUPPORTS.gap) * SPREAD[:, None],
    "set_load": np.asarray(SUPPORTS.set_load) * SPREAD[:, None],
    "friction": np.asarray(SUPPORTS.friction) * SPREAD[:, None],
    "stick_stiffness": np.asarray(SUPPORTS.stick_stiffness) * SPREAD[:, None],
}
BESIDE = {
    "center": np.asarray(MOUNTS.center) * SPREAD[:, None, None],
    "stiffness": MOUNTS.stiffness * SPREAD[:, None, None, None],
}


@pytest.mark.parametrize("varying", [(), *((name,) for name in SIX), tuple(SIX)])
@pytest.mark.parametrize("beside", [(), ("center",), ("stiffness",)])
@pytest.mark.parametrize("rigid", [(False, False), (False, True)])
def test_restraints_row_by_row(varying: tuple[str, ...], beside: tuple[str, ...], rigid: tuple[bool, bool]) -> None:
    supports = replace(SUPPORTS, **{name: SIX[name] for name in varying})
    mounts = replace(MOUNTS, **{name: BESIDE[name] for name in beside}, rigid=rigid)
    together = restraint.solve_restraint(FORCES, MOMENTS, supports, mounts)
    assert together.converged.all()
    for row in (0, 3):
        own = replace(SUPPORTS, **{name: SIX[name][row] for name in varying})
        held = replace(MOUNTS, **{name: BESIDE[name][row] for name in beside}, rigid=rigid)
        alone = restraint.solve_restraint(FORCES[row], MOMENTS[row], own, held)
        # the pivot of the rows together is another one, so that rounding differs: what is left over is rounding itself
        same(together._replace(unbalanced=together.motion), alone._replace(unbalanced=alone.motion), row)
        wrench = np.concatenate([FORCES[row], MOMENTS[row]])
        assert np.max(np.abs(together.unbalanced[row])) < 1e-8 * np.max(np.abs(wrench))


@pytest.mark.parametrize("block", [1, 3, 4])
def test_blocks_of_restraints_change_nothing(block: int, monkeypatch: pytest.MonkeyPatch) -> None:
    supports = replace(SUPPORTS, **SIX)
    whole = restraint.solve_restraint(FORCES, MOMENTS, supports, MOUNTS)
    monkeypatch.setattr(restraint, "BLOCK", block)
    parts = restraint.solve_restraint(FORCES, MOMENTS, supports, MOUNTS)
    for row in range(ROWS):
        same(whole, restraint.Restraint(*(np.asarray(part)[row] for part in parts)), row, leave="unbalanced")
    assert parts.iterations.tolist() == whole.iterations.tolist()


def test_pipes_and_joints_row_by_row() -> None:
    pipe = [[0.1, 0.2, 0.3], [0.005, 0.01, 0.15], [1, 2, 5], [200e9, 70e9, 100e9], [0.3, 0.0, 0.5]]
    together = joint_stiffness.pipe_flexibility(*pipe)
    given = joint_stiffness.given_stiffness([1, 2, 3], [4, 5, 6], [7, 8, 9], [1, 3, 5])
    bolts = joint_stiffness.clamped_flexibility(
        BATCHED["xy"], BATCHED["bolt_stiffness"], FACES[1], BATCHED["foundation_modulus"]
    )
    in_series = joint_stiffness.joint_from_flexibility(together, bolts[:3])
    np.testing.assert_array_equal(in_series, np.swapaxes(in_series, -1, -2))
    for row in range(3):
        alone = joint_stiffness.pipe_flexibility(*(values[row] for values in pipe))
        np.testing.assert_allclose(together[row], alone, rtol=1e-12)
        assert given[row] == pytest.approx(
            np.diag([[1, 2, 3][row], *([[4, 5, 6][row]] * 2), [1, 3, 5][row], *([[7, 8, 9][row]] * 2)])
        )
        clamped = joint_stiffness.clamped_flexibility(
            BATCHED["xy"][row],
            BATCHED["bolt_stiffness"][row],
            row_of(FACES[1], row),
            BATCHED["foundation_modulus"][row],
        )
        np.testing.assert_allclose(bolts[row], clamped, rtol=1e-9, atol=1e-9 * np.abs(clamped).max())
        assert in_series[row] @ (alone + clamped) == pytest.approx(np.eye(6), abs=1e-9)
    for place, bad in ((0, 0.0), (1, 0.0), (1, 0.11), (2, 0.0), (3, 0.0), (4, -1.0), (4, 0.501)):
        for pair in ([pipe[place][0], bad], [bad, pipe[place][0]]):
            wrong = [*(values[0] for values in pipe)]
            wrong[place] = pair
            with pytest.raises(ValueError, match=r"pipe"):
                joint_stiffness.pipe_flexibility(*wrong)


@pytest.mark.parametrize("order", [1, -1])
def test_one_joint_that_cannot_be_among_others_is_refused(order: int) -> None:
    in_line = np.array([[0.1, 0.0], [0.0, 0.0], [-0.1, 0.0]])
    patterns = np.stack([np.array([[0.1, 0.0], [0.0, 0.1], [-0.1, 0.0]]), in_line])[::order]
    with pytest.raises(ValueError, match="free to tilt"):
        joint_stiffness.clamped_flexibility(patterns, np.ones(3), None)
    parts = np.stack([np.eye(6), np.diag([1.0, 1.0, 0.0, 1.0, 1.0, 1.0])])[::order]
    with pytest.raises(ValueError, match="nothing in the joint gives"):
        joint_stiffness.joint_from_flexibility(parts, np.zeros((6, 6)))


@pytest.mark.parametrize("bad", ["gap", "set_load", "friction", "stiffness", "direction"])
@pytest.mark.parametrize("row", [0, 3])
def test_one_support_that_cannot_be_among_others_is_refused(bad: str, row: int) -> None:
    """In one row: a gap or friction under zero, a one-way set load under zero, no stiffness, a direction of another length."""
    supports = replace(SUPPORTS, **SIX)
    wrong = np.array(getattr(supports, bad))
    wrong[row, 1] = 0.0 if bad == "stiffness" else 1.01 * wrong[row, 1] if bad == "direction" else -1.0
    with pytest.raises(ValueError, match=r"support|friction"):
        restraint.solve_restraint(FORCES, MOMENTS, replace(supports, **{bad: wrong}), MOUNTS)


def test_friction_and_gaps_belong_to_their_kinds_in_every_row() -> None:
    for name, place in (("gap", 3), ("friction", 0), ("friction", 3), ("set_load", 2)):
        wrong = np.array(SIX[name])
        wrong[2, place] = 0.1
        with pytest.raises(ValueError, match=r"gap|one way"):
            restraint.solve_restraint(FORCES, MOMENTS, replace(SUPPORTS, **{**SIX, name: wrong}), MOUNTS)


@pytest.mark.parametrize("size", [1e-3, 1.0, 1e3])
@pytest.mark.parametrize("stiffness", [1e-3, 1.0, 1e9])
def test_bolts_apart_and_bolts_in_line_whatever_their_size(size: float, stiffness: float) -> None:
    """Three bolts far apart hold against tilt, in a frame of any size; three in a line beside the center do not."""
    k = np.full(3, stiffness)
    apart = size * np.array([[1.0, 0.0], [-0.5, 0.8], [-0.5, -0.8]])
    flexibility = joint_stiffness.clamped_flexibility(apart, k, None)
    assert 1.0 / flexibility[0, 0] == pytest.approx(3.0 * stiffness)
    assert 1.0 / flexibility[4, 4] == pytest.approx(2.0 * 0.64 * size**2 * stiffness)
    for line in ([[0.3, -1.0], [0.3, 0.1], [0.3, 0.7]], [[-1.0, 0.3], [0.1, 0.3], [0.7, 0.3]], [[0.3, 0.3]] * 3):
        with pytest.raises(ValueError, match="free to tilt"):
            joint_stiffness.clamped_flexibility(size * np.array(line), k, None)


def test_a_face_counts_whole_and_only_with_its_modulus() -> None:
    """A ring wider than 2 m with κ = 2: Σk + κA along, κπ(D⁴ − d⁴)/64 and the bolts' Σky² about a diameter; none without κ."""
    xy, k, ring = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.5], [0.0, -1.5]]), np.ones(4), Annulus(3.0, 4.0)
    flexibility = joint_stiffness.clamped_flexibility(xy, k, ring, 2.0)
    ring_second = np.pi * (4.0**4 - 3.0**4) / 64.0
    assert 1.0 / flexibility[0, 0] == pytest.approx(4.0 + 2.0 * np.pi * 7.0 / 4.0)
    assert 1.0 / flexibility[4, 4] == pytest.approx(4.5 + 2.0 * ring_second)
    assert 1.0 / flexibility[5, 5] == pytest.approx(2.0 + 2.0 * ring_second)
    assert joint_stiffness.clamped_flexibility(xy, k, ring) == pytest.approx(
        joint_stiffness.clamped_flexibility(xy, k, None)
    )


UNITS = [(length, force) for length in (2.0**-20, 1.0, 2.0**20) for force in (2.0**-30, 2.0**30)]


@pytest.mark.parametrize(("length", "force"), UNITS)
@pytest.mark.parametrize("face", [FACES[0], FACES[2], None])
def test_a_joint_is_the_same_in_any_units(length: float, force: float, face: Face | None) -> None:
    """Powers of two scale every number exactly, so that even the count of evaluations must stay."""
    loads = LOADS if face else np.abs(LOADS) * [1.0, 0.1, 0.1]
    preload, modulus = (PRELOAD, 5e10) if face else (0.0 * PRELOAD, 0.0)
    other = type(face)(*(length * np.asarray(getattr(face, side.name)) for side in fields(face))) if face else None  # type: ignore[arg-type]
    plain = contact.solve_preloaded_joint(*loads.T, XY, STIFFNESS, preload, face, modulus)
    scaled = contact.solve_preloaded_joint(
        *(loads * force * [1.0, length, length]).T,
        length * XY,
        force / length * STIFFNESS,
        force * preload,
        other,
        force / length**3 * modulus,
    )
    pressure = force / length**2
    factors = [np.array([length, 1.0, 1.0]), force, force, pressure, pressure, 1.0, 1.0, 1, 1, 1]
    assert plain.converged.all()
    for name, factor in zip(plain._fields, factors, strict=True):
        expected = getattr(plain, name) * factor
        np.testing.assert_allclose(
            getattr(scaled, name),
            expected,
            rtol=1e-9,
            atol=1e-12 * np.nanmax(np.abs(expected), initial=0.0),
            err_msg=name,
        )


@pytest.mark.parametrize(("length", "force"), UNITS)
def test_a_restraint_is_the_same_in_any_units(length: float, force: float) -> None:
    blocks = np.array([[1.0 / length] * 3 + [1.0] * 3] * 3 + [[1.0] * 3 + [length] * 3] * 3) * force
    plain = restraint.solve_restraint(FORCES, MOMENTS, SUPPORTS, MOUNTS)
    scaled = restraint.solve_restraint(
        force * FORCES,
        force * length * MOMENTS,
        replace(
            SUPPORTS,
            point=length * np.asarray(SUPPORTS.point),
            stiffness=force / length * np.asarray(SUPPORTS.stiffness),
            gap=length * np.asarray(SUPPORTS.gap),
            set_load=force * np.asarray(SUPPORTS.set_load),
            stick_stiffness=force / length * np.asarray(SUPPORTS.stick_stiffness),
        ),
        replace(MOUNTS, center=length * np.asarray(MOUNTS.center), stiffness=MOUNTS.stiffness * blocks),
    )
    assert scaled.iterations.tolist() == plain.iterations.tolist()
    assert scaled.state.tolist() == plain.state.tolist()
    near = 1e-9 * np.abs(plain.support_force).max()
    assert scaled.support_force / force == pytest.approx(plain.support_force, abs=near)
    assert scaled.friction_force / force == pytest.approx(plain.friction_force, abs=near)
    assert scaled.movement / length == pytest.approx(plain.movement, rel=1e-9)
    assert scaled.clearance / length == pytest.approx(plain.clearance, rel=1e-6, abs=1e-12)
    assert scaled.motion / [*[length] * 3, 1.0, 1.0, 1.0] == pytest.approx(plain.motion, rel=1e-8, abs=1e-14)
    assert scaled.mount_wrench / force / [1.0, 1.0, 1.0, *[length] * 3] == pytest.approx(plain.mount_wrench, abs=near)
