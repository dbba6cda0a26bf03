"""Properties that hold for every load, pattern and orientation, and second opinions by scipy.

Equalities hold to rounding: one part in 10⁸ of the loads, since a random pattern may magnify the last bits.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.constants import g as standard_gravity
from scipy.integrate import quad
from scipy.linalg import lstsq
from scipy.spatial.transform import Rotation

from anchorsize.mechanics import bolt_group, bolt_rows, checks, continuity, frames, gasket, momentum, profile

Array = NDArray[np.float64]
SHARE = 1e-8

seeds = st.integers(0, 2**32 - 1)
counts = st.integers(3, 24)


class Joint(NamedTuple):
    """A random joint: loads on the fitting about the bolt-circle center, axis and in-plane vectors, bolts."""

    force: Array
    moment: Array
    axis: Array
    e1: Array
    e2: Array
    xy: Array
    weight: Array

    def actions(self) -> frames.JointActions:
        return frames.joint_actions(self.force, self.moment, self.axis, self.e1, self.e2)

    def bolt_forces(self) -> Array:
        """Forces (n, 3) that the bolts put on the fitting."""
        a = self.actions()
        t = bolt_group.tension(a.axial, a.bending1, a.bending2, self.xy, self.weight)
        s = bolt_group.shear(a.shear1, a.shear2, a.torsion, self.xy, self.weight)
        return t[:, None] * self.axis + s[:, :1] * self.e1 + s[:, 1:] * self.e2


def any_joint(seed: int, count: int) -> Joint:
    """A joint with unequal bolts anywhere within 0.3 m, the last one missing."""
    rng = np.random.default_rng(seed)
    weight = rng.uniform(0.2, 2.0, count)
    if count > 3:
        weight[-1] = 0.0
    axis = rng.normal(size=3)
    axis /= np.linalg.norm(axis)
    e1, e2 = frames.joint_frame(axis, rng.normal(size=3))
    angle = np.arange(count) * 2.4 + rng.uniform(0.0, 0.3, count)
    xy = rng.uniform(0.1, 0.3, count)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    return Joint(rng.normal(size=3) * 1e4, rng.normal(size=3) * 1e3, axis, e1, e2, xy, weight)


@given(seeds, counts)
def test_bolts_balance_the_loads(seed: int, count: int) -> None:
    joint = any_joint(seed, count)
    bolts = joint.bolt_forces()
    places = joint.xy[:, :1] * joint.e1 + joint.xy[:, 1:] * joint.e2
    moments = momentum.moment_about_origin(bolts, places).sum(axis=0)
    assert bolts.sum(axis=0) == pytest.approx(-joint.force, abs=1e4 * SHARE)
    assert moments == pytest.approx(-joint.moment, abs=1e4 * SHARE)
    if count > 3:
        assert np.all(bolts[-1] == 0.0)


@given(seeds, counts)
def test_bolts_against_scipy_least_squares(seed: int, count: int) -> None:
    """Springs take the loads with the least Σ t²/k: the least-norm solution in t/√k of the equilibrium equations."""
    joint = any_joint(seed, count)
    root = np.sqrt(joint.weight)
    x, y = joint.xy.T
    a = joint.actions()
    equations = np.stack([np.ones_like(x), x, y]) * root
    t = root * lstsq(equations, np.array([a.axial, a.bending2, -a.bending1]))[0]
    ours = bolt_group.tension(a.axial, a.bending1, a.bending2, joint.xy, joint.weight)
    assert ours == pytest.approx(t, abs=np.abs(t).max() * SHARE)

    nothing = np.zeros_like(x)
    sums = [np.concatenate([root, nothing]), np.concatenate([nothing, root]), np.concatenate([-y * root, x * root])]
    s = np.concatenate([root, root]) * lstsq(np.stack(sums), np.array([a.shear1, a.shear2, -a.torsion]))[0]
    ours = bolt_group.shear(a.shear1, a.shear2, a.torsion, joint.xy, joint.weight)
    assert ours == pytest.approx(s.reshape(2, -1).T, abs=np.abs(s).max() * SHARE)


@given(seeds, counts)
def test_turning_the_world_turns_the_bolt_forces(seed: int, count: int) -> None:
    joint = any_joint(seed, count)
    turn = Rotation.random(random_state=seed)
    turned = Joint(*(turn.apply(vector) for vector in joint[:5]), joint.xy, joint.weight)
    assert turned.bolt_forces() == pytest.approx(turn.apply(joint.bolt_forces()), abs=1e5 * SHARE)


@given(seeds, counts)
def test_loads_superpose(seed: int, count: int) -> None:
    one, other = any_joint(seed, count), any_joint(seed + 1, count)
    second = one._replace(force=other.force, moment=other.moment)
    both = one._replace(force=one.force + other.force, moment=one.moment + other.moment)
    assert both.bolt_forces() == pytest.approx(one.bolt_forces() + second.bolt_forces(), abs=1e5 * SHARE)


@given(seeds, counts)
def test_batches_are_their_rows(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    joints = [any_joint(seed + row, count) for row in range(3)]
    xy, weight = np.stack([j.xy for j in joints]), np.stack([j.weight for j in joints])
    N, M1, M2 = rng.normal(size=(3, 2, 3))
    together = bolt_group.tension(N, M1, M2, xy, weight)
    assert together.shape == (2, 3, count)
    row = bolt_group.tension(N[1, 2], M1[1, 2], M2[1, 2], xy[2], weight[2])
    assert together[1, 2] == pytest.approx(row, abs=1e-9)


@settings(max_examples=20)  # each example is thousands of loads already
@given(seeds, counts, st.sampled_from(["circular", "linear", "en_1993_1_8"]))
def test_many_rows_agree_with_the_bolts_one_by_one(seed: int, count: int, form: str) -> None:
    rng = np.random.default_rng(seed)
    joint = any_joint(seed, count)
    # One row more than a block, so that a short last block is met too.
    loads = rng.normal(size=(6, bolt_rows.BLOCK + 1))
    in_tension, in_shear = rng.uniform(1.0, 3.0, count), rng.uniform(1.0, 3.0, (bolt_rows.BLOCK + 1, 1))
    found = bolt_rows.greatest(*loads, joint.xy, joint.weight, in_tension, in_shear, form)
    t = bolt_group.tension(*loads[:3], joint.xy, joint.weight)
    s = np.linalg.norm(bolt_group.shear(*loads[3:], joint.xy, joint.weight), axis=-1)
    rule = getattr(checks, f"interaction_{form}")
    assert found.tension == pytest.approx(t.max(axis=-1), abs=1e-6)
    assert found.shear == pytest.approx(s.max(axis=-1), abs=1e-6)
    assert found.interaction == pytest.approx(rule(t / in_tension, s / in_shear).max(axis=-1), abs=1e-6)


@given(st.floats(0.0, 0.3), st.floats(0.0, 6.3))
def test_two_bolts_in_line_carry_what_they_can(offset: float, angle: float) -> None:
    """Two bolts on any line carry bending along it; across it they refuse, and say how much is left."""
    along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    xy = np.stack([0.1 * along, -0.1 * along]) + offset * across
    two = np.ones(2)
    assert bolt_group.capability(xy, two) == 2
    # A pull through the middle of the line with bending along it: x carries M2 and y carries −M1.
    pulled = 100.0 * offset * across + 5.0 * along
    t = bolt_group.tension(100.0, -pulled[1], pulled[0], xy, two)
    assert t == pytest.approx([50.0 + 25.0, 50.0 - 25.0], abs=1e-6)
    skew = pulled + 7.0 * across
    with pytest.raises(ValueError, match="bolts in one line cannot balance the axial force and bending"):
        bolt_group.tension(100.0, -skew[1], skew[0], xy, two)


@given(st.lists(st.floats(-50.0, 50.0).filter(lambda skew: skew == 0.0 or abs(skew) > 1e-3), min_size=1, max_size=8))
def test_only_the_rows_that_are_not_balanced_are_named(skew: list[float]) -> None:
    """Two bolts along x carry M2 but nothing of M1: what is left over of a row is its M1, by statics."""
    xy, M1 = np.array([[0.1, 0.0], [-0.1, 0.0]]), np.array(skew)
    loads = (np.full(M1.shape, 100.0), M1, np.full(M1.shape, 5.0))
    found = bolt_group.unable(bolt_group.pattern(xy, np.ones(2)), loads)
    assert bool(found) == bool(np.any(M1))
    for each in found:
        assert each.rows.tolist() == (M1 != 0.0).tolist()
        assert each.moment == pytest.approx(np.abs(M1), abs=1e-12)


def test_patterns_that_cannot_hold_say_so() -> None:
    one, nowhere = np.array([[0.1, 0.0]]), np.zeros(1)
    assert bolt_group.capability(one, np.ones(1)) == 1
    assert bolt_group.tension(10.0, 0.0, 1.0, one, np.ones(1)) == pytest.approx([10.0])  # a pull through the bolt
    assert bolt_group.shear(1.0, 2.0, -0.2, one, np.ones(1)) == pytest.approx(np.array([[1.0, 2.0]]))
    with pytest.raises(ValueError, match="bolts in one place cannot balance the axial force and bending"):
        bolt_group.tension(10.0, 5.0, 1.0, one, np.ones(1))
    with pytest.raises(ValueError, match=r"bolts in one place cannot balance the shear and torsion.*row 1 of 2"):
        bolt_group.shear([0.0, 0.0], 0.0, [0.0, 3.0], one, np.ones(1))
    assert bolt_group.capability(one, nowhere) == 0
    with pytest.raises(ValueError, match="a pattern without bolts cannot balance"):
        bolt_rows.greatest(1.0, 0.0, 0.0, 0.0, 0.0, 0.0, one, nowhere, 1.0, 1.0)
    with pytest.raises(ValueError, match="stiffness of a bolt"):
        bolt_group.tension(1.0, 0.0, 0.0, one, -np.ones(1))


@given(seeds)
def test_frame_is_right_handed_and_clockwise(seed: int) -> None:
    joint = any_joint(seed, 4)
    assert np.cross(joint.e1, joint.e2) == pytest.approx(joint.axis, abs=1e-12)
    assert np.array([joint.e1, joint.e2]) @ joint.axis == pytest.approx(np.zeros(2), abs=1e-12)


def test_looking_along_the_pipe_e2_is_to_the_right() -> None:
    """Looking south (−y) with up above, west (−x) is to the right: three on the clock."""
    e1, e2 = frames.joint_frame([0.0, -2.0, 0.0], [0.0, 0.3, 1.0])
    assert e1 == pytest.approx([0.0, 0.0, 1.0])
    assert e2 == pytest.approx([-1.0, 0.0, 0.0])
    hour, minute = frames.clock_position(np.radians([0.0, 22.5, 90.0, 359.99, -90.0]))
    assert list(zip(hour, minute, strict=True)) == [(12, 0), (12, 45), (3, 0), (12, 0), (9, 0)]
    with pytest.raises(ValueError, match="along the joint axis"):
        frames.joint_frame([0.0, 0.0, 1.0], [0.0, 0.0, -3.0])
    with pytest.raises(ValueError, match="no length"):
        frames.joint_frame([0.0, 0.0, 0.0], [0.0, 0.0, 1.0])


def test_circle_runs_clockwise_from_the_first_bolt() -> None:
    xy, angle = frames.circle_positions(4, [0.2, 0.4], np.radians([0.0, 90.0]))
    assert xy[0] == pytest.approx(np.array([[0.1, 0.0], [0.0, 0.1], [-0.1, 0.0], [0.0, -0.1]]), abs=1e-15)
    assert xy[1, 0] == pytest.approx([0.0, 0.2], abs=1e-15)
    assert np.degrees(angle[1]) == pytest.approx([90.0, 180.0, 270.0, 360.0])
    with pytest.raises(ValueError, match="one bolt at least"):
        frames.circle_positions(0, 0.2)


@given(st.floats(1e-3, 1.0), st.floats(0.0, 1e7), st.floats(500.0, 2000.0), st.floats(0.0, 10.0))
def test_reversing_the_flow_leaves_the_thrust(area: float, pressure: float, density: float, flow: float) -> None:
    forward = momentum.thrust(pressure, area, density, flow, 1.02)
    assert momentum.thrust(pressure, area, density, -flow, 1.02) == forward


@given(st.floats(0.01, 1.0), st.floats(1e3, 1e7), st.floats(1.0, 179.0))
def test_bend_at_rest(diameter: float, pressure: float, turn: float) -> None:
    """2 p A sin(θ/2) along the bisector, outward: the thrust of a bend in AWWA M23 and every pipe-maker manual."""
    area, angle = np.pi * diameter**2 / 4, np.radians(turn)
    outward = np.array([[-1.0, 0.0, 0.0], [np.cos(angle), np.sin(angle), 0.0]])
    pushes = momentum.push(sum(momentum.thrust(pressure, area, 1000.0, 0.0)), outward)
    size = 2.0 * pressure * area * np.sin(angle / 2.0)
    bisector = np.array([np.sin(angle / 2.0), -np.cos(angle / 2.0), 0.0])
    assert pushes.sum(axis=0) == pytest.approx(size * bisector, abs=pressure * area * 1e-12)


@given(st.floats(0.02, 1.0), st.floats(1.05, 1.5), st.floats(1e3, 1e7), st.integers(3, 40))
def test_blank_flange_pulls_with_the_whole_gasket_circle(bore: float, ring: float, pressure: float, count: int) -> None:
    """ASME VIII-1 App. 2: bolts of a blank flange carry H = p π G²/4, whatever the bore."""
    area, outside = np.pi * bore**2 / 4, bore * ring * 1.1
    G = gasket.reaction_diameter(bore * ring, outside)
    force = momentum.push(sum(momentum.thrust(pressure, area, 1000.0, 0.0)), [-1.0, 0.0, 0.0])
    e1, e2 = frames.joint_frame([-1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    axial = frames.joint_actions(force, np.zeros(3), np.array([-1.0, 0.0, 0.0]), e1, e2).axial
    xy, _ = frames.circle_positions(count, 1.3 * outside)
    demand = axial + frames.pressure_annulus(pressure, G, area)
    total = bolt_group.tension(demand, 0.0, 0.0, xy, np.ones(count)).sum()
    assert total == pytest.approx(pressure * np.pi * G**2 / 4, rel=1e-12)


def test_a_blank_end_asks_nothing_of_a_nozzle_beyond_its_pressure_and_a_held_one_is_pushed() -> None:
    """Statics by hand: 4 bar on a bore of 0.02 m² pull with 8 kN where the joint holds the end alone, and push a nozzle with as much
    where supports hold it; a pull of 0.5 kN besides is left. Rows are told one by one."""
    left = frames.axial_beyond_pressure([8000.0, 0.0, 8500.0], [4e5, 4e5, 4e5], 0.02)
    assert left == pytest.approx([0.0, -8000.0, 500.0], abs=1e-9)


@given(seeds)
def test_moments_move_like_statics(seed: int) -> None:
    force, at, here, there = np.random.default_rng(seed).normal(size=(4, 3))
    about_here = np.cross(at - here, force)
    assert momentum.transfer(force, about_here, here, there) == pytest.approx(np.cross(at - there, force), abs=1e-12)
    assert momentum.transfer(force, about_here, here, np.zeros(3)) == pytest.approx(
        momentum.moment_about_origin(force, at), abs=1e-12
    )


@given(seeds, st.floats(0.1, 3.0))
def test_unsteady_force_is_newtons_on_the_water_in_a_bend(seed: int, turn: float) -> None:
    """The momentum in a curved pipe is ∫ rho Q ds along its centerline (scipy quadrature); the origin is anywhere."""
    rng = np.random.default_rng(seed)
    radius, density, change = 0.4, 998.0, 3.0
    shift = rng.normal(size=3)
    ends = shift + radius * np.array([[0.0, 0.0, 0.0], [np.sin(turn), 1.0 - np.cos(turn), 0.0]])
    along = [quad(part, 0.0, turn)[0] * radius for part in (np.cos, np.sin)]
    force = momentum.unsteady_force(density, ends, [-change, change])
    assert force == pytest.approx([-density * change * along[0], -density * change * along[1], 0.0], abs=1e-9)


def test_continuity() -> None:
    flows = continuity.solve_unknown([[-3.0, 1.0, np.nan], [-3.0, 1.0, 2.0]])
    assert flows == pytest.approx(np.array([[-3.0, 1.0, 2.0], [-3.0, 1.0, 2.0]]))
    assert continuity.solve_unknown([9.0, 1.0, 2.0], 0) == pytest.approx([-3.0, 1.0, 2.0])
    with pytest.raises(ValueError, match="openings 0, 2 are all unknown"):
        continuity.solve_unknown([np.nan, 1.0, np.nan])
    with pytest.raises(ValueError, match="opening 3 does not exist"):
        continuity.solve_unknown([1.0, 1.0, 1.0], 3)
    absolute, relative = continuity.imbalance([[-10.0, 9.9], [0.0, 0.0]])
    assert absolute == pytest.approx([-0.1, 0.0])
    assert relative == pytest.approx([-0.01, 0.0])
    with pytest.raises(ValueError, match="unknown"):
        continuity.imbalance([np.nan, 1.0])


@given(st.floats(0.0, 2.0), st.floats(0.0, 2.0))
def test_interactions_hold_within_their_rules(t: float, s: float) -> None:
    """Each utilization is at most 1 exactly where its rule holds (EN 1993-1-8 Table 3.4, AISC 360 Commentary J3.7)."""
    edge = 1e-12
    if abs(t * t + s * s - 1.0) > edge:
        assert (checks.interaction_circular(t, s) <= 1.0) == (t * t + s * s <= 1.0)
    if abs(s + t / 1.4 - 1.0) > edge and abs(t - 1.0) > edge:
        assert (checks.interaction_en_1993_1_8(t, s) <= 1.0) == (s + t / 1.4 <= 1.0 and t <= 1.0)
    assert checks.interaction_linear(t, s) >= checks.interaction_en_1993_1_8(t, s) - edge
    assert checks.interaction_linear(t, s) >= checks.interaction_circular(t, s) - edge
    assert checks.interaction_linear(-t, -s) == s  # a bolt in compression is in shear alone


def test_utilization_and_margin_at_their_limits() -> None:
    assert checks.utilization([0.0, -1.0, 1.0, 3.0], [0.0, 2.0, 0.0, 2.0]).tolist() == [0.0, 0.0, np.inf, 1.5]
    assert np.isnan(checks.utilization(np.nan, 1.0))
    assert checks.utilization_at_least(50.0, 40.0) == 0.8
    assert checks.margin([0.5, 0.0, 1.0]).tolist() == [1.0, np.inf, 0.0]
    assert checks.hole_bearing(-12e3, 0.016, 0.01) == pytest.approx(75e6)


def test_least_spacing_skips_missing_bolts() -> None:
    xy, _ = frames.circle_positions(6, 0.2)
    present = np.array([[True] * 6, [True, False] * 3, [True] + [False] * 5])
    # Chords of a hexagon and of a triangle in a circle of radius 0.1.
    assert checks.least_spacing(xy, present) == pytest.approx([0.1, 0.1 * np.sqrt(3.0), np.inf])


@pytest.mark.parametrize(
    ("n", "printed"), [(5, 1.037), (6, 1.027), (7, 1.020), (8, 1.016), (9, 1.013)], ids="n{}".format
)
def test_power_law_factor(n: int, printed: float) -> None:
    """White, Fluid Mechanics, table in section 3.4 (recalled), and quadrature of the profile by scipy."""
    assert profile.beta_power_law(n) == pytest.approx(printed, abs=0.0005)
    mean = quad(lambda r: 2.0 * r * (1.0 - r) ** (1.0 / n), 0.0, 1.0)[0]
    flux = quad(lambda r: 2.0 * r * (1.0 - r) ** (2.0 / n), 0.0, 1.0)[0]
    assert profile.beta_power_law(n) == pytest.approx(flux / mean**2, rel=1e-7)


def test_laminar_factor() -> None:
    """Cengel & Cimbala, 2nd ed., Example 6-1 (companion): 1.33; and quadrature of the parabola by scipy."""
    assert profile.beta_laminar == pytest.approx(1.33, abs=0.005)
    assert profile.beta_laminar == pytest.approx(quad(lambda r: 8.0 * r * (1.0 - r * r) ** 2, 0.0, 1.0)[0], rel=1e-12)


@pytest.mark.parametrize("reynolds", [3e4, 1e5, 1e6, 3e6])
def test_exponent_against_another_correlation(reynolds: float) -> None:
    """Fox & McDonald, section on turbulent profiles: n = −1.7 + 1.8 log Re on the centerline speed (from memory).

    Two fits to the same scattered measurements: within a tenth of each other, and the factor within 0.004."""
    n = float(profile.power_law_exponent(reynolds))
    centerline = (n + 1.0) * (2.0 * n + 1.0) / (2.0 * n * n)
    other = -1.7 + 1.8 * np.log10(reynolds * centerline)
    assert n == pytest.approx(other, rel=0.1)
    assert profile.beta_power_law(n) == pytest.approx(float(profile.beta_power_law(other)), abs=0.004)


def test_values_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="area of an opening"):
        momentum.thrust(1.0, 0.0, 1000.0, 0.0)
    with pytest.raises(ValueError, match="4000 or more"):
        profile.power_law_exponent([1e5, 2e3])
    with pytest.raises(ValueError, match="larger than the inside"):
        gasket.reaction_diameter(0.1, 0.1)
    with pytest.raises(ValueError, match="exponent of a power-law"):
        profile.beta_power_law(0.0)


@pytest.mark.parametrize(
    ("reynolds", "printed"),
    [(4e3, 6.0), (2.3e4, 6.6), (1.1e5, 7.0), (1.1e6, 8.8), (2e6, 10.0), (3.2e6, 10.0), (1e8, 10.0)],
)
def test_exponents_of_nikuradse(reynolds: float, printed: float) -> None:
    """Schlichting, Boundary-Layer Theory, table of measured exponents in smooth pipes (recalled); the last holds beyond.

    At the Reynolds numbers of the table nothing is read between its lines: the exponents are met to rounding."""
    assert profile.power_law_exponent(reynolds) == pytest.approx(printed, rel=1e-12)


def test_weight_under_standard_gravity() -> None:
    """scipy.constants.g is the conventional value."""
    assert momentum.weight(2.0, [0.0, 0.0, 1.0]).tolist() == [0.0, 0.0, -2.0 * standard_gravity]


def test_uniform_profile_unless_said_otherwise() -> None:
    assert momentum.thrust(0.0, 2.0, 1000.0, 3.0) == (0.0, 4500.0)


def test_interaction_of_the_european_standard_by_hand() -> None:
    """EN 1993-1-8, Table 3.4: s + t/1.4 ≤ 1 and t ≤ 1, so that t = 0.7 leaves s = 0.5."""
    assert checks.interaction_en_1993_1_8([0.7, 1.0, 1.2], [0.5, 0.0, 0.1]) == pytest.approx([1.0, 1.0, 1.2])


def test_a_pressed_bolt_has_no_tensile_stress() -> None:
    assert checks.stress_tension([-5.0, 0.0, 0.5], 2.0).tolist() == [0.0, 0.0, 0.25]


@pytest.mark.parametrize("place", [0, 2, -1, -3])
def test_the_unknown_flow_may_be_named_by_its_place(place: int) -> None:
    flows = np.array([1.0, 2.0, -4.0])
    solved = continuity.solve_unknown(flows, place)
    assert solved.sum() == 0.0
    assert np.flatnonzero(solved != flows).tolist() == [place % 3]


@pytest.mark.parametrize("place", [3, -4])
def test_a_place_that_does_not_exist_is_named(place: int) -> None:
    with pytest.raises(ValueError, match=f"opening {place} does not exist: there are 3"):
        continuity.solve_unknown([1.0, 2.0, 3.0], place)


def test_the_row_with_most_unknown_flows_is_named() -> None:
    rows = [[1.0, np.nan, 2.0, 0.0], [np.nan, 1.0, np.nan, np.nan], [1.0, 2.0, np.nan, 4.0]]
    with pytest.raises(ValueError, match="openings 0, 2, 3 are all unknown"):
        continuity.solve_unknown(rows)


def test_imbalance_by_hand() -> None:
    """1 of 4 kg/s too much, either way round, and nothing where nothing flows."""
    absolute, relative = continuity.imbalance([[4.0, -1.0, -2.0], [-4.0, 1.0, 2.0], [0.25, -0.5, 0.0], [0.0, 0.0, 0.0]])
    assert absolute == pytest.approx([1.0, -1.0, -0.25, 0.0])
    assert relative == pytest.approx([0.25, -0.25, -0.5, 0.0])


def test_one_bolt_is_a_circle_as_well() -> None:
    xy, angle = frames.circle_positions(1, 0.2)
    assert xy.tolist() == [[0.1, 0.0]]
    assert angle.tolist() == [0.0]


@given(seeds, st.integers(1, 9))
def test_widest_gap_by_going_round(seed: int, count: int) -> None:
    """Bolts that are there, sorted by the angle of their complex number; each to the next and the last to the first."""
    rng = np.random.default_rng(seed)
    places = rng.uniform(0.1, 0.3, count) * np.exp(1j * rng.uniform(-np.pi, np.pi, count))
    present = rng.random(count) < 0.7
    round_trip = sorted((place for place, there in zip(places, present, strict=True) if there), key=np.angle)
    steps = [abs(b - a) for a, b in zip(round_trip, [*round_trip[1:], *round_trip[:1]], strict=True)]
    expected = max(steps) if len(steps) > 1 else np.nan
    found = checks.greatest_gap(np.stack([places.real, places.imag], axis=-1), present)
    assert found == pytest.approx(expected, rel=1e-12, nan_ok=True)


@pytest.mark.parametrize("axis", np.eye(3).tolist())
def test_how_near_to_the_axis_a_reference_may_lie(axis: list[float]) -> None:
    """A sine of 1e-9 still gives the direction, a tenth less is taken for the axis itself."""
    a = np.array(axis)
    across = np.roll(a, 1)
    e1, e2 = frames.joint_frame(axis, a + frames.PARALLEL * across)
    assert e1 == pytest.approx(across)
    assert e2 == pytest.approx(np.cross(a, across))
    with pytest.raises(ValueError, match="lies along the joint axis"):
        frames.joint_frame(axis, a + 0.9 * frames.PARALLEL * across)
