"""The physics read a second time: bolts, gasket, face, tightening and the checks of a joint, derived by another way than the code takes.

Every test states its derivation and works the number out by a general method (springs in space, quadrature, root finding) with numpy and scipy;
the code is asked through a case file wherever a file can ask it. Random inputs come from seeded generators. Tolerances are those of
the numerical method used, said where over 1e-9.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, optimize

from anchorsize.mechanics import joint_checks, stiffness, thread_engagement
from anchorsize.reference.fasteners import thread
from tests.second_reading import (
    ALLOWED,
    SEEDS,
    bolt_of_m16,
    clockwise,
    joint_axes,
    judged,
    the_check,
    tight,
    turned,
    vec,
)


def bolts_as_springs(points, weights, center, a, force, moment):
    """Force of every bolt on the fitting when each is a point spring, as stiff along the joint as across: K d = load.

    Along a and across do not mix as all points lie in one plane; taking one stiffness for both costs nothing there."""
    arms = points - center
    rows = [np.hstack([np.eye(3), np.array([np.cross(e, arm) for e in np.eye(3)]).T]) for arm in arms]
    whole = sum(w * row.T @ row for w, row in zip(weights, rows, strict=True))
    motion = np.linalg.solve(whole, np.concatenate([force, moment]))
    each = np.array([-w * row @ motion for w, row in zip(weights, rows, strict=True)])
    pull = each @ a
    return pull, np.linalg.norm(each - np.outer(pull, a), axis=1)


@pytest.mark.parametrize("place", ["oblique", "axis up", "axis down"])
@pytest.mark.parametrize("seed", SEEDS)
def test_bolt_forces_of_a_joint_any_way_round_from_springs_in_space(seed, place):
    """Rigid flange on bolts that are springs in space: signs of axial force, bending, shear and torsion, the clock direction,
    missing bolts, and the pressure annulus as a push on the fitting away from the pipe, all at once.

    Source: equilibrium and compatibility of a rigid body on springs; nothing of M1, M2, N is used."""
    rng = np.random.default_rng(100 + seed)
    axis = {
        "oblique": turned(rng).apply([1.0, 0, 0]),
        "axis up": np.array([0, 0, 1.0]),
        "axis down": np.array([0, 0, -1.0]),
    }[place]
    center, bore, pressure, reach = rng.uniform(-1, 1, 3), 0.1, rng.uniform(0, 2e6), rng.uniform(0.12, 0.15)
    pull, twist, at = rng.uniform(-5e3, 5e3, 3), rng.uniform(-900, 900, 3), rng.uniform(-1, 1, 3)
    first, missing = rng.uniform(0, 360), sorted(rng.choice(np.arange(1, 9), 2, replace=False))
    text = (
        f"case_file: 1\nfluid: {{name: water, density: 1000 kg/m^3}}\nopenings:\n"
        f"  inlet: {{center: {vec(center, 'm')}, outward: {vec(axis)}, bore: {bore} m}}\njoints:\n  main:\n    at: inlet\n"
        f"    bolts: {{count: 8, size: M16, circle: 180 mm, first_at: {first!r} deg, missing: {[int(m) for m in missing]}}}\n"
        f"    gasket: {{inside: 115 mm, outside: 160 mm, reaction_diameter: {reach!r} m}}\n"
        f"external:\n  - {{name: hose, force: {vec(pull, 'N')}, moment: {vec(twist, 'N*m')}, at: {vec(at, 'm')}}}\n"
        f"cases:\n  run: {{inlet: {{flow_in: 0 L/s, pressure: {pressure!r} Pa}}}}\n"
    )
    case = judged(text).cases["run"].joints["main"]
    reference = np.array([1.0, 0, 0]) if place != "oblique" else np.array([0, 0, 1.0])
    a, e1, _ = joint_axes(axis, reference)
    points = center + clockwise(a, e1, 0.09, np.radians(first) + np.arange(8) * math.pi / 4)
    there = np.array([n + 1 not in missing for n in range(8)])
    whole_end = pressure * math.pi * reach**2 / 4  # bore and annulus, however it is shared out
    force = pull - whole_end * a
    moment = twist + np.cross(at - center, pull)
    tension, shear = bolts_as_springs(points[there], np.ones(6), center, a, force, moment)
    assert case.external_tension[there] == pytest.approx(tension, rel=1e-9, abs=1e-6)
    assert case.bolt_shear[there] == pytest.approx(shear, rel=1e-9, abs=1e-6)
    assert case.external_tension[~there] == pytest.approx([0, 0])


def test_the_bore_never_changes_what_a_blank_flange_pulls():
    """On a blanked joint the fluid presses on a disc of the diameter G, whatever bore is written for the opening behind it."""
    totals = []
    for bore in (40, 80, 115):
        joint = (
            judged(
                "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
                f"  pipe: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: {bore} mm}}\njoints:\n  main:\n    at: pipe\n"
                "    bolts: 8 x M16 on 180 mm\n    gasket: {inside: 115 mm, outside: 162 mm}\n"
                "cases:\n  test: {pipe: {flow_in: 0 L/s, pressure: 10 bar}}\n"
            )
            .cases["test"]
            .joints["main"]
        )
        totals.append(joint.external_tension.sum())
    # b0 = 11.75 mm is over 1/4 in, so b = 0.5 √b0 in inches (ASME BPVC VIII-1 App. 2, Table 2-5.2, from memory)
    width = 0.5 * math.sqrt(11.75 / 25.4) * 25.4e-3
    assert totals == pytest.approx([1e6 * math.pi * (0.162 - 2 * width) ** 2 / 4] * 3, rel=1e-4)


def joint_by_quadrature(axial, moment1, moment2, points, springs, preload, inside, outside, modulus):
    """Equilibrium of a flange on bolts that pull only and a ring that pushes only, by quadrature over the ring and a general
    root finder. Displacement of the flange u = d0 + d1 x + d2 y; the bolts' tensions are their preloads at the assembled state."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    ring = (inside + (outside - inside) * (nodes + 1) / 2) / 2
    angle = (np.arange(720) + 0.5) * math.pi / 360
    x, y = np.outer(ring, np.cos(angle)), np.outer(ring, np.sin(angle))
    area = np.outer(ring * weights * (outside - inside) / 4, np.full(720, math.pi / 360))

    def face(d):  # pressure where the flange is pushed against the ring
        pressure = modulus * np.maximum(-(d[0] + d[1] * x + d[2] * y), 0.0)
        return pressure, np.array([(pressure * area).sum(), (pressure * area * x).sum(), (pressure * area * y).sum()])

    basis = np.column_stack([np.ones(len(points)), points])
    scale = np.array([1.0, 0.1, 0.1])

    def solve(lack):
        size = 1e-5 * np.array([1, 10, 10])
        found = optimize.root(lambda z: lack(z * size) / (scale * preload.sum()), [-3, 0, 0], method="hybr", tol=1e-13)
        assert np.abs(found.fun).max() < 1e-9
        return found.x * size

    assembled = solve(lambda d: basis.T @ preload - face(d)[1])
    # on the fitting: bolts pull along a, the ring pushes along −a; Σt − Σc = N, Σ(t − c)x = M2, Σ(t − c)y = −M1
    wanted = np.array([axial, moment2, -moment1])

    def tension(d):
        return np.maximum(preload + springs * (basis @ (d - assembled)), 0.0)

    d = solve(lambda d: basis.T @ tension(d) - face(d)[1] - wanted)
    pressure, pushes = face(d)
    return tension(d), pushes[0], area[pressure <= 0].sum() / area.sum(), pressure.max()


@pytest.mark.parametrize("seed", SEEDS)
def test_service_tension_and_clamp_by_quadrature_over_the_ring(seed):
    """Case file to service tensions against an equilibrium found with other means: closed, partly open, a bolt missing.

    Source: first principles. The quadrature cuts the ring in 28 800 cells; a free edge through them costs some 1e-4."""
    rng = np.random.default_rng(200 + seed)
    size = (0.4, 1.0, 1.6)[seed % 3]
    force, moment = size * np.array([60e3, 0, 0]), size * rng.uniform(-6e3, 6e3, 3)
    missing = [[], [3]][seed % 2]
    case = tight(force, moment, 300e3, str(missing)).cases["run"]
    joint = case.joints["main"]
    a, e1, e2 = joint_axes([-1, 0, 0], np.array([0, 0, 1.0]))
    angles = np.radians(22.5) + np.arange(8) * math.pi / 4
    there = np.array([n + 1 not in missing for n in range(8)])
    xy = 0.1 * np.column_stack([np.cos(angles), np.sin(angles)])
    axial = -force @ a + 300e3 * math.pi * 0.145**2 / 4
    springs = np.full(there.sum(), bolt_of_m16())
    tension, clamp, opened, greatest = joint_by_quadrature(
        axial, moment @ e1, moment @ e2, xy[there], springs, np.full(there.sum(), 40e3), 0.11, 0.16, 400e6 / 0.002
    )
    assert joint.service.tension[there] == pytest.approx(tension, rel=2e-3)
    assert float(joint.service.clamp) == pytest.approx(clamp, rel=2e-3)
    assert float(joint.service.lift_off) == pytest.approx(opened, abs=3e-3)
    assert float(joint.service.pressure_max) == pytest.approx(greatest, rel=1e-2)


@pytest.mark.parametrize("seed", SEEDS)
def test_lift_off_as_the_multiple_of_the_load_that_first_opens_the_face(seed):
    """While closed, bolts and ring are one elastic section: flexure formula of the composite section with weights k and E/t·dA.
    The multiple at which the least pressure over the rim is zero is found by bracketing; the check is one over it.

    Source: composite-section flexure formula; any text on the strength of materials."""
    rng = np.random.default_rng(300 + seed)
    force, moment = np.array([40e3, 0, 0]) * rng.uniform(0, 1), rng.uniform(-4e3, 4e3, 3)
    case = tight(force, moment, 500e3, tight="preload: 40 kN, scatter: 25 %, relaxation: 10 %").cases["run"]
    a, e1, e2 = joint_axes([-1, 0, 0], np.array([0, 0, 1.0]))
    angles = np.radians(22.5) + np.arange(8) * math.pi / 4
    x, y = 0.1 * np.cos(angles), 0.1 * np.sin(angles)
    bolt, bed = bolt_of_m16(), 400e6 / 0.002
    axial = -force @ a + 500e3 * math.pi * 0.145**2 / 4
    about_x, about_y = moment @ e2, -(moment @ e1)  # Σtx and Σty wanted
    area, inertia = math.pi * (0.16**2 - 0.11**2) / 4, math.pi * (0.16**4 - 0.11**4) / 64
    rim = np.linspace(0, 2 * math.pi, 20001)
    rise = (
        axial / (8 * bolt + bed * area)
        + about_x * 0.08 * np.cos(rim) / (bolt * (x**2).sum() + bed * inertia)
        + about_y * 0.08 * np.sin(rim) / (bolt * (y**2).sum() + bed * inertia)
    )
    pressed = 8 * 40e3 * 0.75 * 0.9 / (bed * area)
    multiple = pressed / rise.max()  # the first point of the rim to lose its closing
    assert float(the_check(case, "joint lift-off").utilization) == pytest.approx(1 / multiple, rel=1e-6)


def test_kern_of_a_ring_from_its_section_modulus():
    """A pressure F/A − (F e) R/I is zero at the rim when e = I/(A R); A and I by quadrature. So is the friction radius ∫r dA/A.

    Source: flexure formula; even pressure."""
    for inside, outside in ((0.0, 0.2), (0.11, 0.16)):
        area = integrate.quad(lambda r: 2 * math.pi * r, inside / 2, outside / 2)[0]
        inertia = integrate.quad(lambda r: math.pi * r**3, inside / 2, outside / 2)[0]
        first = integrate.quad(lambda r: 2 * math.pi * r**2, inside / 2, outside / 2)[0]
        assert float(joint_checks.kern_radius(inside, outside)) == pytest.approx(
            inertia / (area * outside / 2), rel=1e-9
        )
        assert float(joint_checks.friction_radius(inside, outside)) == pytest.approx(first / area, rel=1e-9)


def test_the_ring_never_slips_before_the_straight_line_of_shear_and_torsion_says():
    """A ring that turns about a point drags with μp opposite to the motion of every element: pairs (V, T) on the slip surface by
    quadrature over positions of that point. The straight line V/μF + T/(μF r) = 1 must run inside. Source: Coulomb friction."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    ring = 0.055 + 0.025 * (nodes + 1) / 2
    angle = (np.arange(720) + 0.5) * math.pi / 360
    x, y = np.outer(ring, np.cos(angle)), np.outer(ring, np.sin(angle))
    area = np.outer(ring * weights, np.ones(720))
    area /= area.sum()
    radius = float(joint_checks.friction_radius(0.11, 0.16))
    for pole in (0.0, 0.02, 0.05, 0.09, 0.3):
        speed = np.hypot(x - pole, y)
        shear, torque = (area * (x - pole) / speed).sum(), (area * (x * (x - pole) + y**2) / speed).sum()
        used = joint_checks.slip_utilization_ring(10e3 * 0.15 * shear, 10e3 * 0.15 * torque, 10e3, 0.15, radius)
        assert float(used) >= 1 - 1e-6
        assert float(used) < 1.5


def test_torque_from_the_incline_and_the_cone():
    """A nut is a block pushed up the unrolled thread: per unit of thread the flank normal n carries n (cos α cos φ − μ sin φ)
    of the bolt's pull and n (sin φ cos α + μ cos φ) of the push, α the half flank angle in the normal section (tan α = tan 30°
    cos φ). Under the nut μ F D/2 is added. Preload through the case file, with scatter and relaxation.

    Source: statics of the power screw, Shigley, section 8-2 (from memory); ISO 16047 takes cos 30° for cos α: 4e-5 apart."""
    pitch, diameter, mu, under, across = 0.002, 0.016, 0.13, 0.11, 0.0205
    middle = diameter - 2 * (3 / 8) * (math.sqrt(3) / 2) * pitch  # ISO 68-1: d2 = d − 2 · 3/8 H
    lead = math.atan(pitch / (math.pi * middle))
    flank = math.atan(math.tan(math.radians(30)) * math.cos(lead))
    push = (math.sin(lead) * math.cos(flank) + mu * math.cos(lead)) / (
        math.cos(flank) * math.cos(lead) - mu * math.sin(lead)
    )
    arm = push * middle / 2 + under * across / 2
    case = tight(
        tight=f"torque: 120 N*m, thread_friction: {mu}, bearing_friction: {under}, bearing_diameter: {across} m, scatter: 20 %, "
        "relaxation: 8 %"
    ).cases["calm"]
    clamped = case.joints["main"].clamping
    assert clamped.mean == pytest.approx(np.full(8, 120 / arm), rel=1e-3)
    assert clamped.least == pytest.approx(0.8 * 0.92 * clamped.mean, rel=1e-12)
    assert clamped.greatest == pytest.approx(1.2 * clamped.mean, rel=1e-12)
    assert case.joints["main"].service.tension == pytest.approx(clamped.mean, rel=1e-9)  # no load, no change


def test_bolt_and_member_stiffness_by_integrating_the_give_along_the_grip():
    """1/k = ∫ dz/(E A(z)): steps for the bolt, a cone that opens at 30° from the face under head and nut for the members.

    Source: axial bar; the cone is Shigley's (9th edition, section 8-5, from memory)."""
    each = integrate.quad(lambda z: 1 / (205e9 * (156.7e-6 if z < 0.018 else 201.06e-6)), 0, 0.044, points=[0.018])[0]
    assert float(stiffness.bolt_stiffness(0.044, 0.018, 201.06e-6, 156.7e-6, 205e9)) == pytest.approx(
        1 / each, rel=1e-9
    )
    spread = math.tan(math.pi / 6)

    def cone(z):
        outside = 0.024 + 2 * spread * min(z, 0.044 - z)
        return 1 / (200e9 * math.pi * (outside**2 - 0.016**2) / 4)

    give = integrate.quad(cone, 0, 0.044, points=[0.022])[0]
    assert float(stiffness.member_stiffness(0.044, 0.016, 0.024, 200e9)) == pytest.approx(1 / give, rel=1e-9)


def test_thread_areas_from_the_width_of_the_tooth():
    """The bolt's tooth is cut along the nut's minor diameter, the nut's along the bolt's major diameter: the width of a 60° tooth is
    P/2 at the pitch diameter and grows by 2 tan 30° per radius toward its root. Source: ISO 68-1 profile."""
    pitch, major = 0.002, 0.016
    height = math.sqrt(3) / 2 * pitch
    middle, minor = major - 0.75 * height, major - 1.25 * height

    def width(away):
        return pitch / 2 + 2 * away * math.tan(math.radians(30))

    bolt = math.pi * minor * width((middle - minor) / 2) * 0.013 / pitch
    nut = math.pi * major * width((major - middle) / 2) * 0.013 / pitch
    assert float(thread_engagement.bolt_thread_area(0.013, pitch, middle, minor)) == pytest.approx(bolt, rel=1e-12)
    assert float(thread_engagement.nut_thread_area(0.013, pitch, major, middle)) == pytest.approx(nut, rel=1e-12)


def test_code_loads_and_bolt_area_of_the_file():
    """ASME BPVC VIII-1 App. 2 (2-5, from memory): b0 = N/2 = 12.5 mm → b = 0.5 √b0 in inches; Wm1 = π/4 G²P + 2bπGmP, Wm2 = πbGy;
    Am = max(Wm1/Sb, Wm2/Sa); seating against the least preloads, Hp = 2bπGmP against the clamp left."""
    allow = ALLOWED + ", bolt_stress_operating: 150 MPa, bolt_stress_seating: 170 MPa"
    for pressure in (2e5, 4e6):
        case = tight(pressure=pressure, allow=allow).cases["run"]
        b = 0.5 * math.sqrt(12.5 / 25.4) * 25.4e-3
        hp = 2 * b * math.pi * 0.145 * 2 * pressure
        wm1, wm2 = math.pi / 4 * 0.145**2 * pressure + hp, math.pi * b * 0.145 * 11e6
        assert float(the_check(case, "code bolt area").demand) == pytest.approx(max(wm1 / 150e6, wm2 / 170e6), rel=2e-3)
        assert float(the_check(case, "gasket seating").demand) == pytest.approx(wm2, rel=2e-3)
        assert float(the_check(case, "gasket in service").demand) == pytest.approx(hp, rel=2e-3)


@pytest.mark.parametrize("seed", SEEDS)
def test_equivalent_pressure_from_the_line_load_on_the_gasket_circle(seed):
    """What pulls on the gasket circle per length: (p πG²/4 + F)/(πG) all round and M/(πG²/4) at its worst point. The pressure that
    alone pulls as much is 4/G times the sum. p enters once: the joint's axial demand holds p A of the bore already.

    Source: thin ring under pull and bending; any text on the strength of materials."""
    rng = np.random.default_rng(400 + seed)
    force, moment, pressure = np.array([rng.uniform(0, 2e4), 0, 0]), rng.uniform(-3e3, 3e3, 3), rng.uniform(0, 2e6)
    case = tight(force, moment, pressure).cases["run"]
    bending = math.hypot(moment[1], moment[2])
    line = (pressure * math.pi * 0.145**2 / 4 + force[0]) / (math.pi * 0.145) + bending / (math.pi * 0.145**2 / 4)
    assert float(the_check(case, "flange rating").demand) == pytest.approx(4 / 0.145 * line, rel=1e-9)


@pytest.mark.parametrize("rule", ["circular", "linear", "en_1993_1_8"])
def test_interaction_at_every_bolt_of_the_file(rule):
    """EN 1993-1-8 Table 3.4: Fv/FvR + Ft/(1.4 FtR) ≤ 1 with Ft ≤ FtR (from memory); ellipse and straight line by definition. The
    worst bolt is the one whose ratio is greatest, not the one with the greatest tension."""
    case = tight(
        (9e3, 7e3, 4e3),
        (1500, 2500, -1800),
        8e5,
        "[5]",
        allow=f"{ALLOWED}, tension_with_shear: {rule}, hole_bearing: 90 MPa",
    ).cases["run"]
    joint, area = case.joints["main"], thread("M16").tensile_area
    t = np.maximum(joint.external_tension, 0) / area / 200e6
    s = joint.bolt_shear / area / 120e6
    used = {"circular": np.hypot(t, s), "linear": t + s, "en_1993_1_8": np.maximum(s + t / 1.4, t)}[rule]
    found = the_check(case, "tension with shear")
    assert float(found.utilization) == pytest.approx(used.max(), rel=1e-12)
    assert int(found.bolt) == int(used.argmax()) + 1
    assert float(the_check(case, "hole bearing").demand) == pytest.approx(
        joint.bolt_shear.max() / (0.016 * 0.02), rel=1e-12
    )


def test_goodman_by_growing_the_swing_until_it_breaks():
    """From the least stress the swing grows: σa = n s, σm = σ_least + n s; broken when σa/Se + σm/Su = 1. The use is 1/n.

    Source: Goodman line with the preload held (Shigley, section 8-11, from memory); swing of the closed joint C·ΔN per bolt."""
    more = "cycles_between: [calm, run]"
    case = tight((50e3, 0, 0), pressure=0.0, more=more, allow=ALLOWED + ", endurance_limit: 60 MPa").cases["run"]
    area, bolt = thread("M16").tensile_area, bolt_of_m16()
    share = 8 * bolt / (8 * bolt + 400e6 / 0.002 * math.pi * (0.16**2 - 0.11**2) / 4)
    least, swing = 40e3 / area, share * 50e3 / 8 / area / 2
    n = optimize.brentq(lambda n: n * swing / 60e6 + (least + n * swing) / 800e6 - 1, 0, 1e4)
    found = the_check(case, "bolt fatigue")
    # M16 of class 8.8 has 800 MPa (ISO 898-1); the area formula's rounding is 2e-4
    assert float(found.utilization) == pytest.approx(1 / n, rel=1e-3)


def test_spacing_is_the_chord_between_neighbors_that_are_there():
    """Chord 2 R sin(half the angle between): least between neighbors, widest across the missing ones. TEMA's greatest: 2d + 6t/(m + 0.5)
    (from memory)."""
    allow = ALLOWED + ", bolt_spacing_least: 40 mm, bolt_spacing_greatest: from formula"
    case = tight(missing="[2, 3, 6]", allow=allow).cases["run"]
    assert float(the_check(case, "bolt spacing").demand) == pytest.approx(0.2 * math.sin(math.pi / 8), rel=1e-12)
    widest = the_check(case, "widest bolt gap")
    assert float(widest.demand) == pytest.approx(0.2 * math.sin(3 * math.pi / 8), rel=1e-12)
    assert float(widest.allowable) == pytest.approx(2 * 0.016 + 6 * 0.02 / 2.5, rel=1e-12)


def test_joint_slip_of_the_file_from_friction_added_up_over_the_ring():
    """Clamp at the least preload less the pull that the closed face gives up, times μ, against shear and torsion on the straight line of
    the two; the arm of the torsion is ∫ r dA/A of the ring by quadrature. Source: Coulomb friction, even pressure."""
    case = tight((6e3, 3e3, -4e3), (700, 0, 0), tight="preload: 40 kN, scatter: 30 %").cases["run"]
    ring = (
        integrate.quad(lambda r: 2 * math.pi * r**2, 0.055, 0.08)[0]
        / integrate.quad(lambda r: 2 * math.pi * r, 0.055, 0.08)[0]
    )
    bolts, bed = 8 * bolt_of_m16(), 400e6 / 0.002 * math.pi * (0.16**2 - 0.11**2) / 4
    clamp = 8 * 40e3 * 0.7 - 6e3 * bed / (bolts + bed)
    used = (math.hypot(3e3, 4e3) + 700 / ring) / (0.2 * clamp)
    assert float(the_check(case, "joint slip").utilization) == pytest.approx(used, rel=1e-9)
