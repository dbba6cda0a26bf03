"""The physics read a second time: pipe, supports, posts, plates and blocks, derived by another way than the code takes.

Every test states its derivation and works the number out by a general method (unit loads, exhaustive search, direct stiffness) with numpy and scipy;
the code is asked through a case file wherever a file can ask it. Random inputs come from seeded generators. Tolerances are those of
the numerical method used, said where over 1e-9.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import optimize

from anchorsize.mechanics import joint_stiffness
from tests.second_reading import G0, SEEDS, beam_flexibility, joint_axes, judged, pushed_by_disc, the_check, turned, vec


def test_pipe_flexibility_by_the_unit_load_method():
    """Signs of the coupling between force and turning, Timoshenko shear, torsion."""
    found = joint_stiffness.pipe_flexibility(0.1143, 0.006, 1.7, 200e9, 0.3)
    assert np.asarray(found) == pytest.approx(beam_flexibility(0.1143, 0.006, 1.7, 200e9, 0.3), rel=1e-9, abs=1e-18)


def shared_by_trying_every_state(stiff, load, supports):
    """Forces of one-way and two-way springs on a rigid body: every combination of carrying and not is tried, and the one that
    contradicts nothing is kept. ``supports``: point, direction, stiffness, gap, set load, one way."""
    lines = [np.concatenate([n, np.cross(p, n)]) for p, n, *_ in supports]
    for carrying in itertools.product([False, True], repeat=len(supports)):
        whole, right = stiff.copy(), load.copy()
        for on, row, (_, _, k, gap, preset, _) in zip(carrying, lines, supports, strict=True):
            if on:
                whole += k * np.outer(row, row)
                right += (preset - k * gap) * row
        motion = np.linalg.solve(whole, right)
        free = [
            preset - k * (row @ motion + gap) for row, (_, _, k, gap, preset, _) in zip(lines, supports, strict=True)
        ]
        fits = [
            (on and (f > 0 or not one_way)) or (not on and f <= 0 and one_way)
            for on, f, (*_, one_way) in zip(carrying, free, supports, strict=True)
        ]
        if all(fits):
            return motion, [f if on else 0.0 for on, f in zip(carrying, free, strict=True)]
    raise AssertionError("no state fits")


@pytest.mark.parametrize("seed", range(10))
def test_shares_of_supports_by_trying_every_state(seed):
    """A fitting on a pipe that runs off in any direction, with a hanger, a rest with a gap, a tie with a set load, a strut and a
    spring hanger: flexibility of the pipe by unit loads, turned into world axes by hand, one-way supports by exhaustion.

    Source: equilibrium and compatibility; the pipe is a cantilever from the joint to its fixed end along the joint's axis."""
    rng = np.random.default_rng(500 + seed)
    axis, center = turned(rng).apply([1.0, 0, 0]), rng.uniform(-0.5, 0.5, 3)
    points, ways = rng.uniform(-1.5, 1.5, (4, 3)), turned(rng).apply(rng.normal(size=(4, 3)))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    pull, at = rng.uniform(-8e3, 8e3, 3), rng.uniform(-1, 1, 3)
    k = np.exp(rng.uniform(math.log(1e5), math.log(1e7), 4))
    listed = [
        f"{{kind: hanger, name: A, at: {vec(points[0], 'm')}, toward: {vec(ways[0])}, stiffness: {float(k[0])!r} N/m, allow: 1 GN}}",
        f"{{kind: rest, name: B, at: {vec(points[1], 'm')}, toward: {vec(ways[1])}, stiffness: {float(k[1])!r} N/m, gap: 0.4 mm, allow: 1 GN}}",
        f"{{kind: tie, name: C, at: {vec(points[2], 'm')}, toward: {vec(ways[2])}, stiffness: {float(k[2])!r} N/m, set_load: 300 N, allow: 1 GN}}",
        f"{{kind: strut, name: D, at: {vec(points[3], 'm')}, toward: {vec(ways[3])}, stiffness: {float(k[3])!r} N/m, allow: 1 GN}}",
        "{kind: spring_hanger, name: E, at: [0.4, 0.1, 0.2 m], set_load: 500 N, allow: 1 GN}",
    ]
    result = judged(
        f"case_file: 1\nfluid: {{name: water, density: 1000 kg/m^3}}\nopenings:\n"
        f"  inlet: {{center: {vec(center, 'm')}, outward: {vec(axis)}, bore: 100 mm}}\njoints:\n  main:\n    at: inlet\n"
        "    bolts: 4 x M16 on 180 mm\n"
        "    pipe_behind: {outside: 114.3 mm, wall: 6 mm, length: 1.7 m, modulus: 200 GPa, poisson: 0.3}\n"
        f"external:\n  - {{name: pull, force: {vec(pull, 'N')}, at: {vec(at, 'm')}}}\n"
        "cases:\n  run: {inlet: {flow_in: 0 L/s, pressure: 0 Pa}}\nsupports:\n  all:\n"
        + "".join(f"    - {each}\n" for each in listed)
    ).cases["run"]
    a, e1, e2 = joint_axes(axis, np.array([0, 0, 1.0]))
    turn = np.kron(np.eye(2), np.column_stack([a, e1, e2]))
    local = turn @ np.linalg.inv(beam_flexibility(0.1143, 0.006, 1.7, 200e9, 0.3)) @ turn.T
    move = np.eye(6)  # motion of the center from that of the origin: u + θ × c
    move[:3, 3:] = np.array([np.cross(e, center) for e in np.eye(3)]).T
    lift = np.array([0, 0, 500.0])
    load = np.concatenate([pull + lift, np.cross(at, pull) + np.cross([0.4, 0.1, 0.2], lift)])
    supports = [
        (points[0], ways[0], k[0], 0.0, 0.0, True),
        (points[1], ways[1], k[1], 0.4e-3, 0.0, True),
        (points[2], ways[2], k[2], 0.0, 300.0, True),
        (points[3], ways[3], k[3], 0.0, 0.0, False),
    ]
    motion, forces = shared_by_trying_every_state(move.T @ local @ move, load, supports)
    found = [float(result.supports[name].push) for name in "ABCD"]
    assert found == pytest.approx(forces, rel=1e-6, abs=1e-3)
    wrench = -local @ (move @ motion)  # what the pipe puts on the fitting, about the joint's center
    assert result.joints["main"].reaction_force == pytest.approx(wrench[:3], rel=1e-6, abs=1e-3)
    assert result.joints["main"].reaction_moment == pytest.approx(wrench[3:], rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("mu", [0.05, 0.3, 0.8])
@pytest.mark.parametrize("seed", range(4))
def test_friction_stays_in_its_cone_drags_against_the_motion_and_balances(seed, mu):
    """|drag| ≤ μ f, across the support's direction; where it slides it is μ f against the movement across; all forces add up to
    nothing with the load. Source: Coulomb. The drag's stick spring is as stiff as the support (the file says nothing else)."""
    rng = np.random.default_rng(600 + seed)
    pull, at = np.array([*rng.uniform(-3e3, 3e3, 2), -9e3]), np.array([0.8, 0.0, 0.0])
    spot, stiff = np.array([0.9, 0.1, -0.2]), 4e6
    case = judged(
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
        "  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}\njoints:\n  main:\n    at: inlet\n    bolts: 4 x M16 on 180 mm\n"
        "    pipe_behind: {outside: 114.3 mm, wall: 6 mm, length: 1.7 m, modulus: 200 GPa, poisson: 0.3}\n"
        f"external:\n  - {{name: pull, force: {vec(pull, 'N')}, at: {vec(at, 'm')}}}\n"
        "cases:\n  run: {inlet: {flow_in: 0 L/s, pressure: 0 Pa}}\nsupports:\n  rest:\n"
        f"    - {{kind: rest, name: R, at: {vec(spot, 'm')}, stiffness: {stiff} N/m, friction: {mu}, allow: 1 GN}}\n"
    ).cases["run"]
    rest, joint = case.supports["R"], case.joints["main"]
    drag, push = rest.friction, float(rest.push)
    assert push > 0
    assert drag @ [0, 0, 1] == pytest.approx(0, abs=1e-6)
    assert np.linalg.norm(drag) <= mu * push * (1 + 1e-6)
    assert joint.reaction_force + rest.force + pull == pytest.approx(np.zeros(3), abs=1e-4)
    assert joint.reaction_moment + np.cross(spot, rest.force) + np.cross(at, pull) == pytest.approx(
        np.zeros(3), abs=1e-4
    )
    flex = beam_flexibility(0.1143, 0.006, 1.7, 200e9, 0.3)
    turn = np.kron(np.eye(2), np.column_stack([[-1, 0, 0], [0, 0, 1], np.cross([-1, 0, 0], [0, 0, 1])]))
    motion = turn @ flex @ turn.T @ -np.concatenate([joint.reaction_force, joint.reaction_moment])
    moved = motion[:3] + np.cross(motion[3:], spot)
    across = moved * [1, 1, 0]
    assert push == pytest.approx(-stiff * moved[2], rel=1e-6)
    stuck = -stiff * across
    wanted = stuck if np.linalg.norm(stuck) <= mu * push else -mu * push * across / np.linalg.norm(across)
    assert drag == pytest.approx(wanted, rel=1e-4, abs=1e-2)


POST = """case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
joints:
  main:
    at: inlet
    bolts: 4 x M16 on 180 mm
    stiffness: {{axial: 1 N/m, shear: 1 N/m, bending: 1 N*m/rad, torsion: 1 N*m/rad}}
external:
  - {{name: pull, force: {force}, at: [0, 0, 0 m]}}
cases:
  run: {{inlet: {{flow_in: 0 L/s, pressure: 0 Pa}}}}
supports:
  post:
    - {{kind: strut, name: x, at: [0, 0, 1 m], toward: [1, 0, 0], stiffness: 1 kN/m, allow: 1 GN}}
    - {support}
"""


def test_a_post_with_friction_at_its_top_is_a_cantilever():
    """Axial N/A and bending H L c/I at the foot; buckling π²EI/(KL)² checked against the first root of the column's own equation
    (free-standing, K = 2: tan-free end gives cos kL = 0). Source: strength of materials, Euler."""
    area, inertia, depth, length = 2.1e-3, 1.4e-6, 0.045, 1.3
    case = judged(
        POST.format(
            force="[300, 0, -20000 N]",
            support="{kind: rest, name: P, at: [0, 0, 0 m], friction: 0.4, length: 1.3 m, modulus: 200 GPa, effective_length_factor: 2, "
            "section: {area: 2100 mm^2, second_moment: 1.4e6 mm^4, half_depth: 45 mm}, allow: {stress: 100 MPa, buckling_factor: 3}}",
        )
    ).cases["run"]
    post = case.supports["P"]
    assert float(post.push) == pytest.approx(20000, rel=1e-6)
    assert np.linalg.norm(post.friction) == pytest.approx(300, rel=1e-5)
    stress = 20000 / area + 300 * length * depth / inertia
    assert float(the_check(case, "post stress").demand) == pytest.approx(stress, rel=1e-5)
    root = optimize.brentq(
        lambda k: math.cos(k * length), 1, 2
    )  # EI w″ = −P w, w(0) = 0 at the foot's tangent, free top
    assert float(the_check(case, "post buckling").demand) == pytest.approx(200e9 * inertia * root**2 / 20000, rel=1e-6)


@pytest.mark.parametrize(("drag", "along"), [(300, 0), (1500, 0), (0, 300), (0, -1500)])
def test_a_base_plate_is_pressed_most_on_the_side_that_the_drag_pushes_toward(drag, along):
    """The friction on the post's top pushes it the way the fitting goes: e = H L/N at the foot. Within the kern p = N/(ab)(1 + 6e/a),
    beyond it the triangle 2N/(3b(a/2 − e)). A post along up: the plate's length lies along x.

    Source: footing without tension; any text on foundations."""
    length, wide = 0.5, 0.3
    case = judged(
        POST.format(
            force=f"[{drag}, {along}, -20000 N]",
            support="{kind: rest, name: P, at: [0, 0, 0 m], friction: 0.4, length: 1.3 m, modulus: 200 GPa, stiffness: 100 MN/m, "
            f"base_plate: {{length: {length} m, width: {wide} m, foundation_modulus: 1 GPa/m}}, allow: {{bearing: 5 MPa, force: 1 GN}}}}",
        ).replace(
            "    - {kind: strut, name: x, at: [0, 0, 1 m], toward: [1, 0, 0], stiffness: 1 kN/m, allow: 1 GN}\n", ""
        )
    ).cases["run"]
    push, pull = float(case.supports["P"].push), math.hypot(drag, along)
    side, other = (length, wide) if drag else (wide, length)
    off = pull * 1.3 / push
    even = push / (length * wide)
    wanted = even * (1 + 6 * off / side) if off <= side / 6 else 2 * push / (3 * other * (side / 2 - off))
    assert float(the_check(case, "plate bearing").demand) == pytest.approx(wanted, rel=1e-4)


def test_a_thrust_block_slides_tips_and_bears():
    """Block of weight W pushed level with H at height h and lifted with U at its near face: μ(W − U) + E against H, W l/2 against
    H h + U l about the far edge, W against U, allowable × w h against the thrust. Source: statics."""
    case = judged(
        POST.format(
            force="[30000, 0, 0 N]",
            support="{kind: thrust_block, name: B, at: [0, 0, 0 m], toward: [-0.96, 0, -0.28], stiffness: 100 MN/m, "
            "block: {length: 1.6 m, width: 1.1 m, height: 0.9 m, density: 2300 kg/m^3, friction: 0.45, thrust_height: 0.5 m, passive: 4 kN}, "
            "allow: {bearing: 100 kPa, bearing_factor: 1.5, sliding_factor: 1.5, overturning_factor: 1.5, uplift_factor: 1.2}}",
        ).replace("[1, 0, 0], stiffness: 1 kN/m", "[0, 0, 1], stiffness: 1000 MN/m")
    ).cases["run"]
    push = float(case.supports["B"].push)
    assert push == pytest.approx(30000 / 0.96, rel=1e-4)
    level, lift, weight = 0.96 * push, 0.28 * push, 2300 * 1.6 * 1.1 * 0.9 * G0
    assert float(the_check(case, "block sliding").demand) == pytest.approx(
        (0.45 * (weight - lift) + 4e3) / level, rel=1e-9
    )
    assert float(the_check(case, "block overturning").demand) == pytest.approx(
        weight * 0.8 / (level * 0.5 + lift * 1.6), rel=1e-9
    )
    assert float(the_check(case, "block uplift").demand) == pytest.approx(weight / lift, rel=1e-9)
    assert float(the_check(case, "block bearing").demand) == pytest.approx(100e3 * 1.1 * 0.9 / push, rel=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_two_joints_and_an_anchor_share_by_their_stiffnesses(seed):
    """Forces of springs in parallel on a rigid body: (ΣJᵢᵀKᵢJᵢ) q = load, each gives −Kᵢ Jᵢ q at its own place. One joint by given
    stiffnesses, one by the pipe behind it (unit loads), an anchor whose axis is its ``toward``; every axis oblique.

    Source: direct stiffness method. The thrusts of both openings act, so nothing of the joints is double counted."""
    rng = np.random.default_rng(700 + seed)
    centers, axes = rng.uniform(-1, 1, (3, 3)), turned(rng).apply(rng.normal(size=(3, 3)))
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    pull, at = rng.uniform(-8e3, 8e3, 3), rng.uniform(-1, 1, 3)
    case = judged(
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
        f"  one: {{center: {vec(centers[0], 'm')}, outward: {vec(axes[0])}, bore: 100 mm}}\n"
        f"  two: {{center: {vec(centers[1], 'm')}, outward: {vec(axes[1])}, bore: 80 mm}}\njoints:\n"
        "  first:\n    at: one\n    bolts: 4 x M16 on 180 mm\n"
        "    stiffness: {axial: 3 MN/m, shear: 1 MN/m, bending: 200 kN*m/rad, torsion: 90 kN*m/rad}\n"
        "  second:\n    at: two\n    bolts: 4 x M16 on 180 mm\n"
        "    pipe_behind: {outside: 114.3 mm, wall: 6 mm, length: 1.7 m, modulus: 200 GPa, poisson: 0.3}\n"
        f"external:\n  - {{name: pull, force: {vec(pull, 'N')}, at: {vec(at, 'm')}}}\n"
        "cases:\n  run: {one: {flow_in: 15 L/s, pressure: 300 kPa}, two: {pressure: 280 kPa}}\nsupports:\n  all:\n"
        f"    - {{kind: anchor, name: A, at: {vec(centers[2], 'm')}, toward: {vec(axes[2])}, allow: {{force: 1 GN, moment: 1 GN*m}}, "
        "six_way: {axial: 2 MN/m, shear: 0.5 MN/m, bending: 70 kN*m/rad, torsion: 40 kN*m/rad}}\n"
    ).cases["run"]
    force, moment = pull.copy(), np.cross(at, pull)
    for i, bore, pressure in ((0, 0.1, 300e3), (1, 0.08, 280e3)):
        part = pushed_by_disc(centers[i], axes[i], bore / 2, pressure, 1000, 0.015)
        force, moment = force + part[0], moment + part[1]

    def about(stiff, axis, center):
        a, e1, e2 = joint_axes(axis, np.array([0, 0, 1.0]))
        turn = np.kron(np.eye(2), np.column_stack([a, e1, e2]))
        move = np.eye(6)
        move[:3, 3:] = np.array([np.cross(e, center) for e in np.eye(3)]).T
        return turn @ stiff @ turn.T, move

    stiffnesses = [
        np.diag([3e6, 1e6, 1e6, 90e3, 200e3, 200e3]),
        np.linalg.inv(beam_flexibility(0.1143, 0.006, 1.7, 200e9, 0.3)),
        np.diag([2e6, 0.5e6, 0.5e6, 40e3, 70e3, 70e3]),
    ]
    parts = [about(*each) for each in zip(stiffnesses, axes, centers, strict=True)]
    motion = np.linalg.solve(sum(m.T @ k @ m for k, m in parts), np.concatenate([force, moment]))
    wrenches = [-k @ m @ motion for k, m in parts]
    for name, wrench in zip(("first", "second"), wrenches, strict=False):
        assert case.joints[name].reaction_force == pytest.approx(wrench[:3], rel=1e-7, abs=1e-4)
        assert case.joints[name].reaction_moment == pytest.approx(wrench[3:], rel=1e-7, abs=1e-4)
    assert case.supports["A"].force == pytest.approx(wrenches[2][:3], rel=1e-7, abs=1e-4)
    assert case.supports["A"].moment == pytest.approx(wrenches[2][3:], rel=1e-7, abs=1e-4)
