"""Pipe, bolts and face as 6×6 stiffness: against a general-purpose frame solver, the contact solver and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.spatial.transform import Rotation

from anchorsize.mechanics import joint_stiffness as joints
from anchorsize.mechanics import rigid_body
from anchorsize.mechanics.contact import solve_preloaded_joint
from anchorsize.mechanics.face_integrals import Annulus
from anchorsize.mechanics.restraint import Mounts, Supports, solve_restraint

PIPE = (0.1143, 0.00602, 1.4, 200e9, 0.3)


def test_pipe_by_integrating_its_energy() -> None:
    """Unit-load method, integrated by scipy along the pipe: bending, shear, tension and torsion of the free end."""
    outside, wall, length, modulus, poisson = PIPE
    inside = outside - 2 * wall
    area, inertia = np.pi / 4 * (outside**2 - inside**2), np.pi / 64 * (outside**4 - inside**4)
    shear_modulus = modulus / 2 / (1 + poisson)
    shear_area = joints.shear_shape(outside, wall, poisson) * area
    rigidity = np.array([modulus * area, shear_modulus * shear_area, shear_modulus * shear_area])
    rigidity = np.concatenate([rigidity, [shear_modulus * 2 * inertia, modulus * inertia, modulus * inertia]])

    def section(load: np.ndarray, x: float) -> np.ndarray:
        """Forces and moments in the section at x on the +a side of the joint from a wrench at the joint."""
        return np.concatenate([load[:3], load[3:] - np.cross([x, 0.0, 0.0], load[:3])])

    def entry(i: int, j: int) -> float:
        one, other = np.eye(6)[i], np.eye(6)[j]
        return quad(lambda x: float(np.sum(section(one, x) * section(other, x) / rigidity)), 0, length)[0]

    expected = np.array([[entry(i, j) for j in range(6)] for i in range(6)])
    np.testing.assert_allclose(joints.pipe_flexibility(*PIPE), expected, rtol=1e-9, atol=1e-20)


def test_thin_wall_shear_shape() -> None:
    """A thin ring has κ = 2(1+ν)/(4+3ν), a solid disk 6(1+ν)/(7+6ν): the limits Cowper gives (from memory)."""
    assert joints.shear_shape(1.0, 1e-7, 0.3) == pytest.approx(2 * 1.3 / (4 + 0.9), rel=1e-6)
    assert joints.shear_shape(1.0, 0.5, 0.3) == pytest.approx(6 * 1.3 / (7 + 1.8), rel=1e-12)


def frame_solver_motion(load: np.ndarray, place: np.ndarray, spring: float) -> tuple[np.ndarray, float]:
    """Displacements of the free end of the pipe and the force in a vertical spring on an arm, by a frame solver.

    Its beams do not deform in shear; the pipe lies along −x from the joint at the origin.
    """
    pynite = pytest.importorskip("Pynite")
    outside, wall, length, modulus, poisson = PIPE
    inside = outside - 2 * wall
    area, inertia = np.pi / 4 * (outside**2 - inside**2), np.pi / 64 * (outside**4 - inside**4)
    model = pynite.FEModel3D()
    model.add_material("steel", modulus, modulus / 2 / (1 + poisson), poisson, 0.0)
    model.add_section("pipe", area, inertia, inertia, 2 * inertia)
    model.add_section("stiff", area * 1e4, inertia * 1e7, inertia * 1e7, 2e7 * inertia)
    for name, (x, y, z) in {"far": (-length, 0, 0), "joint": (0, 0, 0), "end": tuple(place)}.items():
        model.add_node(name, x, y, z)
    model.add_member("pipe", "far", "joint", "steel", "pipe")
    model.add_member("fitting", "joint", "end", "steel", "stiff")
    model.def_support("far", True, True, True, True, True, True)
    model.def_support_spring("end", "DZ", spring)
    for axis, value in zip(("FX", "FY", "FZ", "MX", "MY", "MZ"), load, strict=True):
        model.add_node_load("joint", axis, float(value))
    model.analyze(check_statics=False)
    node = model.nodes["joint"]
    motion = np.array([getattr(node, part)["Combo 1"] for part in ("DX", "DY", "DZ", "RX", "RY", "RZ")])
    return motion, -spring * model.nodes["end"].DZ["Combo 1"]


def test_pipe_and_spring_against_a_frame_solver() -> None:
    """Six loads in turn; the frame solver's stiff arm and shear-rigid beams account for 1e-4 of the motion."""
    outside, wall, length, modulus, poisson = PIPE
    flexibility = np.array(joints.pipe_flexibility(*PIPE))
    area = np.pi / 4 * (outside**2 - (outside - 2 * wall) ** 2)
    shear = length / (joints.shear_shape(outside, wall, poisson) * modulus / 2 / (1 + poisson) * area)
    flexibility[1, 1] -= shear
    flexibility[2, 2] -= shear
    stiffness = rigid_body.in_world_axes(
        joints.joint_from_flexibility(flexibility), [-1, 0, 0], [0, 0, 1], np.cross([-1, 0, 0], [0, 0, 1])
    )
    place, spring = np.array([0.3, 0.1, 0.2]), 2e6
    loads = np.diag([5e3, 2e3, -3e3, 400.0, 500.0, -600.0])
    supports = Supports([place], [[0, 0, 1.0]], [0], [spring])
    mounts = Mounts(np.zeros((1, 3)), stiffness[None], (False,))
    found = solve_restraint(loads[:, :3], loads[:, 3:], supports, mounts)
    for load, motion, force in zip(loads, found.motion, found.support_force[:, 0], strict=True):
        expected, in_spring = frame_solver_motion(load, place, spring)
        np.testing.assert_allclose(motion, expected, atol=2e-4 * np.abs(expected).max())
        assert force == pytest.approx(in_spring, abs=2e-4 * np.abs(load).max())


def test_clamped_joint_moves_as_the_contact_solver_says() -> None:
    """Opening and tilts of a tightened joint with little load equal those of the contact solver, which knows no matrices."""
    angle = np.arange(8) * np.pi / 4
    xy = 0.09 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    xy, k = xy[:7], np.full(7, 4e8)
    face, modulus = Annulus(0.115, 0.16), 2.5e11
    flexibility = joints.clamped_flexibility(xy, k, face, modulus)
    loads = np.array([[2e3, 0, 0], [0, 80.0, 0], [0, 0, 90.0]])
    contact = solve_preloaded_joint(loads[:, 0], loads[:, 1], loads[:, 2], xy, k, np.full(7, 60e3), face, modulus)
    wrench = np.zeros((3, 6))
    wrench[:, 0], wrench[:, 4], wrench[:, 5] = -loads[:, 0], loads[:, 1], loads[:, 2]
    motion = wrench @ flexibility
    np.testing.assert_allclose(motion[:, 0], -contact.displacement[:, 0], rtol=1e-7, atol=1e-16)
    np.testing.assert_allclose(motion[:, 5], contact.displacement[:, 1], rtol=1e-7, atol=1e-16)
    np.testing.assert_allclose(motion[:, 4], -contact.displacement[:, 2], rtol=1e-7, atol=1e-16)
    assert np.all(flexibility[1:4] == 0.0)


def test_bolts_in_series_with_the_pipe_add_their_flexibilities() -> None:
    xy = np.array([[0.09, 0], [0, 0.09], [-0.09, 0], [0, -0.09]])
    clamped = joints.clamped_flexibility(xy, np.full(4, 4e8), None)
    pipe = joints.pipe_flexibility(*PIPE)
    stiffness = joints.joint_from_flexibility(clamped, pipe)
    np.testing.assert_allclose(np.linalg.inv(stiffness), clamped + pipe, rtol=1e-9, atol=1e-22)
    assert 1 / np.linalg.inv(stiffness)[0, 0] == pytest.approx(1 / (1 / 1.6e9 + pipe[0, 0]))


def test_given_stiffness_acts_along_and_about_its_own_axes() -> None:
    """Pushed and turned along and about a = −x: 1, 2, 3, 4 for axial, shear, bending and torsion, by definition."""
    world = rigid_body.in_world_axes(joints.given_stiffness(1.0, 2.0, 3.0, 4.0), [-1, 0, 0], [0, 0, 1], [0, 1, 0])
    np.testing.assert_allclose(world, np.diag([1.0, 2.0, 2.0, 4.0, 3.0, 3.0]), atol=1e-15)


def test_refusals() -> None:
    with pytest.raises(ValueError, match="Poisson"):
        joints.pipe_flexibility(0.1, 0.005, 1.0, 2e11, 0.6)
    with pytest.raises(ValueError, match="nothing in the joint gives"):
        joints.joint_from_flexibility(joints.clamped_flexibility([[0.1, 0], [0, 0.1], [-0.1, 0]], np.ones(3), None))
    with pytest.raises(ValueError, match="free to tilt"):
        joints.clamped_flexibility([[0.1, 0], [0.0, 0], [-0.1, 0]], np.ones(3), None)
    with pytest.raises(ValueError, match="thicker than its outside radius"):
        joints.pipe_flexibility(0.1, 0.06, 1.0, 2e11, 0.3)
    with pytest.raises(ValueError, match="bending stiffness of a joint"):
        joints.given_stiffness(1.0, 1.0, 0.0, 1.0)


@given(st.integers(0, 2**32 - 1))
def test_moved_stiffness_holds_the_same_motion(seed: int) -> None:
    """A wrench at the point and its equivalent about the origin bring about the same motion; turning axes changes nothing."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(6, 6))
    local = root @ root.T + np.eye(6)
    turn, point, motion = Rotation.random(rng=rng).as_matrix(), rng.normal(size=3), rng.normal(size=6)
    world = rigid_body.in_world_axes(local, *turn.T)
    about = rigid_body.stiffness_about_origin(world, point)
    at_point = np.concatenate([motion[:3] + np.cross(motion[3:], point), motion[3:]])
    in_local = np.concatenate([turn.T @ at_point[:3], turn.T @ at_point[3:]])
    wrench = local @ in_local
    force, moment = turn @ wrench[:3], turn @ wrench[3:]
    expected = np.concatenate([force, moment + np.cross(point, force)])
    np.testing.assert_allclose(about @ motion, expected, atol=1e-9 * np.abs(expected).max())


def test_shear_shape_of_a_bore_of_half_the_outside_worked_by_hand() -> None:
    """Cowper's formula (from memory) for m = 1/2, ν = 0.3: 6·1.3·1.25² = 12.1875 over 8.8·1.25² + 23.6/4 = 19.65."""
    assert joints.shear_shape([0.2, 5.0], [0.05, 1.25], 0.3) == pytest.approx([12.1875 / 19.65] * 2, rel=1e-12)
