"""Arms that bend beside joints that hardly do, against beams by hand (direct stiffness) and by a general frame solver.

The riser and its figures are invented.
"""

from __future__ import annotations

import numpy as np
import pytest
from Pynite import FEModel3D

from anchorsize.assessment import Assessment, assess
from anchorsize.casefile import parse_case
from tests.support_cases import PIPE, joint, options, pulled, still, support
from tests.test_elbow_flexibility import arc, joined, line

X, Z = np.eye(3)[[0, 2]]

OUTSIDE, WALL, MODULUS = 0.1683, 0.0071, 205e9
BORE = OUTSIDE - 2.0 * WALL
EI = MODULUS * np.pi / 64.0 * (OUTSIDE**4 - BORE**4)
SWAY, TURN, STRUT = 100e6, 20e6, 295e6
"""Of the joint [N/m, N·m/rad] and of the strut [N/m]."""

HEIGHT, PUSH = 1.4, -23_780.0
WEIGHTS = {"pipe": (67.79, 0.25207), "valve": (250.0, 1.0), "flange": (9.0, 1.08), "water": (44.802 * 0.99821, 0.25281)}
"""Mass [kg] and place to the side [m] of what hangs on the riser."""

TIP = 9.80665 * sum(mass * arm for mass, arm in WEIGHTS.values())
"""Moment [N·m] of all weights about the riser."""

RISER = f"""\
case_file: 1
title: riser on a pump nozzle
fluid: {{name: water, density: 998.21 kg/m^3}}
fitting:
  shape: {{direction: [0, 0, 1], bore: {BORE * 1e3} mm, wall: 7.1 mm, material_density: 7850 kg/m^3, kind: elbow, turn: 90 deg, toward: [1, 0, 0],
    radius: 228.6 mm, before: 1171.4 mm, after: 871.4 mm}}
  extra_masses: [{{name: valve, mass: 250 kg, center: [1.0 m, 0 m, TOP]}}, {{name: flange, mass: 9 kg, center: [1.08 m, 0 m, TOP]}}]
joints:
  nozzle:
    at: inlet
    reference: [1, 0, 0]
    bolts: {{count: 8, size: 3/4 in, circle: 241.3 mm, first_at: 22.5 deg}}
    HELD
    allow: {{bending: 1.2 kN*m}}
cases:
  surge: {{inlet: {{flow_in: 0 L/s, pressure: 1288.9 kPa}}, outlet: {{pressure: 1275 kPa}}}}
supports:
  strut: [{{kind: strut, name: S1, at: [0 m, 0 m, STRUT], toward: [1, 0, 0], stiffness: 295 MN/m, allow: {{force: 40 kN}}}}]
"""

GIVEN = "stiffness: {axial: 200 MN/m, shear: 100 MN/m, bending: 20 MN*m/rad, torsion: 1 MN*m/rad}"


def riser(strut: float = HEIGHT, held: str = GIVEN) -> Assessment:
    """The riser judged with its strut so high [m] and its joint held so."""
    text = RISER.replace("TOP", f"{HEIGHT} m").replace("STRUT", f"{strut} m").replace("HELD", held)
    return assess(parse_case(text, "f"))


def beam(bending: float, push: float, moment: float) -> float:
    """Moment [N·m] that the joint puts on a straight riser pushed and turned at its top, where the strut holds it.

    Direct stiffness of one slender beam (any text on structural analysis): sway and turn of both ends, springs on the diagonal.
    """
    k = bending / HEIGHT**3
    stiff = k * np.array(
        [
            [12.0, 6.0 * HEIGHT, -12.0, 6.0 * HEIGHT],
            [6.0 * HEIGHT, 4.0 * HEIGHT**2, -6.0 * HEIGHT, 2.0 * HEIGHT**2],
            [-12.0, -6.0 * HEIGHT, 12.0, -6.0 * HEIGHT],
            [6.0 * HEIGHT, 2.0 * HEIGHT**2, -6.0 * HEIGHT, 4.0 * HEIGHT**2],
        ]
    )
    stiff += np.diag([SWAY, TURN, STRUT, 0.0])
    moved = np.linalg.solve(stiff, np.array([0.0, 0.0, push, moment]))
    return float(-TURN * moved[1])


def framed(bending: float, push: float, moment: float) -> float:
    """The same by a general frame solver: sway along X, turn about Y."""
    inertia = bending / MODULUS
    model = FEModel3D()
    model.add_material("steel", MODULUS, MODULUS / 2.6, 0.3, 7850)
    model.add_section("pipe", 1.0, inertia, inertia, 2.0 * inertia)
    model.add_node("joint", 0, 0, 0)
    model.add_node("top", 0, 0, HEIGHT)
    model.add_member("riser", "joint", "top", "steel", "pipe")
    model.def_support("joint", False, True, True, True, False, True)
    model.def_support_spring("joint", "DX", SWAY)
    model.def_support_spring("joint", "RY", TURN)
    model.def_support_spring("top", "DX", STRUT)
    model.add_node_load("top", "FX", push)
    model.add_node_load("top", "MY", moment)
    model.analyze(check_statics=False)
    return float(-TURN * model.nodes["joint"].RY["Combo 1"])


ELBOW = 1.65 * (OUTSIDE - WALL) ** 2 / 4.0 / (WALL * 0.2286)
"""Flexibility factor of the riser's elbow, 1.65 r²/(t R) = 6.6: ASME B31.3 Appendix D, from memory."""


def elbowed(turn: float = TURN) -> tuple[float, float]:
    """What the riser gives at its strut [m/N], and the bending of its joint [N·m], by virtual work and the force method.

    The strut holds the elbow at its middle, the place nearest to it; the half elbow below bends with the factor. Modulus 200 GPa, as
    assumed. Wall and water are even along the centerline.
    """
    stiff, radius, foot, reach = EI * 200.0 / 205.0, 0.2286, 1.1714, 0.8714
    corner, top = foot * Z, HEIGHT * Z + radius * X
    up = {"along": Z, "toward": X}
    below = joined(line(0 * Z, corner), arc(corner, radius, np.pi / 4.0, ELBOW, **up))
    whole = joined(line(0 * Z, corner), arc(corner, radius, np.pi / 2.0, ELBOW, **up), line(top, top + reach * X))
    even = 9.80665 * (WEIGHTS["pipe"][0] + WEIGHTS["water"][0]) / whole.lengths.sum()
    order = np.argsort(whole.places[:, 2] + whole.places[:, 0])  # the way rises, then goes out
    downs = (even * whole.lengths)[order]
    turns = (even * whole.lengths * whole.places[:, 0])[order]
    far = (whole.places[:, 2] + whole.places[:, 0])[order]
    outside = [9.80665 * WEIGHTS[name][0] * np.array([1.0, WEIGHTS[name][1]]) for name in ("valve", "flange")]
    weight, turning = np.sum(outside, axis=0)
    asked = []
    for place in below.places:
        beyond = far > place[2] + place[0]
        down, about = weight + downs[beyond].sum(), turning + turns[beyond].sum()
        asked.append([0.0, PUSH * (HEIGHT - place[2]) + about - down * place[0], 0.0])
    unit = np.cross(HEIGHT * Z - below.places, X)
    gives = below.work(unit, unit, stiff)
    joint_gives = 1.0 / SWAY + HEIGHT**2 / turn
    free = PUSH * joint_gives + TIP * HEIGHT / turn + below.work(unit, np.array(asked), stiff)
    force = -free / (gives + joint_gives + 1.0 / STRUT)
    return gives, abs(PUSH * HEIGHT + TIP + force * HEIGHT)


def test_a_strut_stops_the_sway_of_an_arm_and_not_its_turning():
    """The tool's rigid body is the beam made a million times as stiff; the riser's own EI turns the moment's sign and fails the nozzle."""
    nozzle = riser().cases["surge"].joints["nozzle"]
    bending = float(np.hypot(nozzle.bending1, nozzle.bending2))
    assert bending == pytest.approx(abs(beam(1e6 * EI, PUSH, TIP)), rel=5e-3)  # loads typed in to some 4 figures
    assert bending < 1200.0 < abs(beam(EI, PUSH, TIP))
    assert beam(1e6 * EI, PUSH, TIP) == pytest.approx(673.5, rel=5e-3)
    assert beam(EI, PUSH, TIP) == pytest.approx(1245.0, rel=5e-3)
    assert framed(EI, PUSH, TIP) == pytest.approx(beam(EI, PUSH, TIP), rel=1e-6)


def test_neither_a_soft_support_nor_none_bounds_the_beam():
    """Why the arm is worked out as a beam: with the arm's L³/3EI put in series the push leaves far too much, and a pure moment turns its sign."""
    in_series = 1.0 / (1.0 / STRUT + HEIGHT**3 / (3.0 * EI))
    joint_gives = 1.0 / SWAY + HEIGHT**2 / TURN
    force = (PUSH * joint_gives + TIP * HEIGHT / TURN) / (joint_gives + 1.0 / in_series)
    softened = -(PUSH * HEIGHT + TIP - force * HEIGHT)
    assert softened > 10.0 * beam(EI, PUSH, TIP)
    balanced = -TIP / HEIGHT  # push and turn that leave the joint no bending where there is no strut
    assert abs(balanced * HEIGHT + TIP) < 1e-9 < 0.1 * TIP < abs(beam(EI, balanced, TIP))


def test_the_limber_arm_is_told_beside_the_verdict():
    found = {each.kind: each for each in riser().warnings}["limber arm"]
    # by virtual work, over 1/k of strut, sway and turn of the joint
    bends = elbowed()[0] / (1.0 / STRUT + 1.0 / SWAY + HEIGHT**2 / TURN)
    assert found.doubtful
    assert f"bends {bends:.1f} times as much as joint and support" in found.message
    assert "Strut 'S1' (1400 mm)" in found.message
    assert "168.3 mm outside, wall 7.1 mm (as its shape), modulus 200 GPa, assumed" in found.message
    assert "nozzle moment" in found.message


def test_a_short_stiff_arm_is_not_told():
    """Up to 0.15 m L³/3EI is 4 % of what the joint's sway and turn give; at 0.3 m it is a quarter: told."""
    shares = [(low**3 / (3.0 * EI)) / (1.0 / SWAY + low**2 / TURN) for low in (0.15, 0.3)]
    assert shares[0] < 0.05 < 0.2 < shares[1] < 0.5
    assert "limber arm" not in {each.kind for each in riser(strut=0.15).warnings}
    assert len([each for each in riser(strut=0.3).warnings if each.kind == "limber arm"]) == 1


def test_an_arm_that_bends_some_is_told_without_doubt():
    """A joint that turns some seven times as far gives more than the arm bends."""
    soft = GIVEN.replace("20 MN*m/rad", "3 MN*m/rad")
    found = {each.kind: each for each in riser(held=soft).warnings}["limber arm"]
    bends = elbowed()[0] / (1.0 / SWAY + HEIGHT**2 / 3e6)
    assert not found.doubtful
    assert f"bends {bends:.2g} times as much as the joint" in found.message


def test_a_rigid_joint_is_left_to_its_own_finding():
    kinds = {each.kind for each in riser(held="stiffness: rigid").warnings}
    assert "limber arm" not in kinds
    assert "rigid joint starves the supports" in kinds


def test_a_short_pipe_behind_is_as_stiff_as_a_joint_given_so():
    """Arm of the pipe's own section: (L³/3) over (r³/3 + r²L + rL²), the pipe r long, from the slopes of a cantilever."""
    r = 0.2
    short = f"pipe_behind: {{outside: 168.3 mm, wall: 7.1 mm, length: {r} m, modulus: 205 GPa, poisson: 0.3}}"
    found = {each.kind: each for each in riser(held=short).warnings}
    bends = HEIGHT**3 / 3.0 / (r**3 / 3.0 + r**2 * HEIGHT + r * HEIGHT**2 + EI / STRUT)
    assert found["limber arm"].doubtful
    assert f"bends {bends:.2g} times" in found["limber arm"].message  # shear of the pipe behind is 2 % of its give


def test_without_a_shape_the_arm_runs_straight_and_its_wall_is_assumed():
    """Bore 100 mm is NPS 4: standard wall 6.02 mm (ASME B36.10M). A spring hanger pulls as set, whatever bends."""
    stiff = "stiffness: {axial: 1 GN/m, shear: 1 GN/m, bending: 50 MN*m/rad, torsion: 50 MN*m/rad}"
    load = pulled((-900 * Z, 2 * X))

    def told(held: str, *supports: str) -> dict[str, str]:
        judged = assess(parse_case(still(options(A=supports), load, joint(held)), "f"))
        return {each.kind: each.message for each in judged.warnings}

    strut = support("strut", "S", X, Z, "stiffness: 100 MN/m, allow: 9 kN")
    assert "wall 6.02 mm (standard wall, assumed)" in told(stiff, strut)["limber arm"]
    along = support("strut", "S", X, X, "stiffness: 100 MN/m, allow: 9 kN")
    assert "limber arm" not in told(stiff, along)
    spring = support("spring_hanger", "H", X, None, "set_load: 900 N, allow: 9 kN")
    assert "limber arm" not in told(stiff, spring)
    assert "that of the pipe behind" in told(PIPE.replace("2 m", "1.1 m"), strut)["limber arm"]


def test_the_way_to_a_branch_leaves_the_run_where_the_branch_does():
    """A support at a branch's end: the branch bends by b³/3EI of its own section, the run up to it turns by a·b²/EI."""
    a, b = 0.7, 0.8
    text = f"""\
case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
fitting:
  shape: {{direction: [1, 0, 0], bore: 102.3 mm, wall: 6 mm, material_density: 7850 kg/m^3, kind: tee, length: 1 m, at: 0.4 m, before: 0.3 m,
    branch_bore: 77.9 mm, branch_length: {b} m, toward: [0, 0, 1]}}
joints:
{joint("stiffness: {axial: 1 GN/m, shear: 1 GN/m, bending: 5 MN*m/rad, torsion: 5 MN*m/rad}")}\
cases:
  a: {{inlet: {{flow_in: 0 L/s, pressure: 1 bar}}, outlet: {{pressure: 1 bar}}, branch: {{flow_out: 0 L/s, pressure: 1 bar}}}}
{options(A=[support("strut", "S", (a, 0, b), X, "stiffness: 100 MN/m, allow: {force: 9 kN}")])}"""
    run, branch = (200e9 * np.pi / 64.0 * (d**4 - (d - 0.012) ** 4) for d in (0.1143, 0.0899))
    bends = (b**3 / 3.0 / branch + a * b**2 / run) / (1.0 / 1e9 + b**2 / 5e6 + 1.0 / 100e6)
    found = {each.kind: each.message for each in assess(parse_case(text, "f")).warnings}
    assert f"bends {bends:.2g} times as much" in found["limber arm"]
