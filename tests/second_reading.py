"""What the tests of the second reading share: case files from numbers, and mechanics worked out by general methods."""

from __future__ import annotations

import math

import numpy as np
from scipy import constants, integrate
from scipy.spatial.transform import Rotation

from anchorsize import assess, parse_case

G0 = constants.g
SEEDS = range(6)


def vec(values, unit=""):
    """A vector as a case file writes it, every digit of it."""
    listed = ", ".join(repr(float(value)) for value in values)
    return f"[{listed} {unit}]" if unit else f"[{listed}]"


def judged(text):
    return assess(parse_case(text, "second.yaml"))


def the_check(case, name, where=None):
    return next(c for c in case.checks if c.check == name and (where is None or c.where == where))


def turned(rng):
    return Rotation.random(random_state=np.random.RandomState(int(rng.integers(2**31))))


def joint_axes(axis, reference):
    """a, e1, e2 of a joint: e1 is the reference laid into the flange, e2 what stands on the right of a viewer who looks
    along a with e1 overhead (the right hand is view × overhead)."""
    a = np.asarray(axis, dtype=float) / np.linalg.norm(axis)
    e1 = reference - (reference @ a) * a
    e1 /= np.linalg.norm(e1)
    return a, e1, np.cross(a, e1)


def clockwise(a, e1, radius, angles):
    """Points on a circle, clockwise for a viewer who looks along a: a right-hand turn about a, the way a screw is driven."""
    return np.array([radius * Rotation.from_rotvec(angle * a).apply(e1) for angle in angles])


def pushed_by_disc(center, normal, radius, pressure, density, flow):
    """Force and moment about the origin of pressure and momentum flux, point by point over a disc.

    The fluid on the fitting's side leaves with v = (Q/A) n whatever the sign of Q, its flux of momentum is ρ v (v·n) dA, and
    the pressure on the cut is −p n dA on the fluid; the fitting feels both turned round.
    """
    helper = np.eye(3)[np.argmin(np.abs(normal))]
    one = np.cross(normal, helper)
    one /= np.linalg.norm(one)
    other = np.cross(normal, one)
    nodes, weights = np.polynomial.legendre.leggauss(6)
    rings, share = 0.5 * radius * (nodes + 1.0), 0.5 * radius * weights
    velocity = flow / (math.pi * radius**2) * normal
    force, moment = np.zeros(3), np.zeros(3)
    for ring, width in zip(rings, share, strict=True):
        for angle in np.arange(8) * math.pi / 4:
            area = width * ring * math.pi / 4
            at = center + ring * (math.cos(angle) * one + math.sin(angle) * other)
            here = -(pressure * normal + density * velocity * (velocity @ normal)) * area
            force += here
            moment += np.cross(at, here)
    return force, moment


def beam_flexibility(outside, wall, length, modulus, poisson):
    """6×6 flexibility of the free end of a pipe that runs from it along +a to a fixed end, axes a, e1, e2, by unit loads.

    The section at s from the free end carries the tip's wrench: M(s) = M − s a × F. The rotation of the tip is ∫ κ ds and its movement
    ∫ κ × (tip − section) ds + shear and stretch, κ = bending/EI + twist/GJ. Source: unit-load method; κ_s by Cowper (from memory)."""
    inside = outside - 2 * wall
    area, inertia = math.pi * (outside**2 - inside**2) / 4, math.pi * (outside**4 - inside**4) / 64
    ratio, shear_modulus = inside / outside, modulus / (2 * (1 + poisson))
    shape = 6 * (1 + poisson) * (1 + ratio**2) ** 2
    shape /= (7 + 6 * poisson) * (1 + ratio**2) ** 2 + (20 + 12 * poisson) * ratio**2
    a = np.array([1.0, 0, 0])
    stretch = np.diag([1 / (modulus * area), 1 / (shape * shear_modulus * area), 1 / (shape * shear_modulus * area)])
    give = np.diag([1 / (2 * inertia * shear_modulus), 1 / (modulus * inertia), 1 / (modulus * inertia)])
    columns = []
    for unit in np.eye(6):
        force, moment = unit[:3], unit[3:]

        def strain(s, force=force, moment=moment):
            curved = give @ (moment - s * np.cross(a, force))
            return np.concatenate([stretch @ force + np.cross(curved, -s * a), curved])

        columns.append(integrate.quad_vec(strain, 0, length, epsabs=0, epsrel=1e-12)[0])
    return np.array(columns).T


TIGHT = """case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
joints:
  main:
    at: inlet
    bolts: {{count: 8, size: M16, circle: 200 mm, first_at: 22.5 deg, missing: {missing}, class: "8.8"}}
    gasket: {{inside: 110 mm, outside: 160 mm, {layer}, m: 2, y: 11 MPa, reaction_diameter: 145 mm}}
    tightening: {{{tight}}}
    grip: 44 mm
    bolt_modulus: 205 GPa
    thread_length_in_grip: 18 mm
    face_friction: 0.2
    flange: {{thickness: 20 mm, rating: 16 bar}}
    {more}
allow: {{{allow}}}
external:
  - {{name: pull, force: {force}, moment: {moment}, at: [0, 0, 0 m], cases: [run]}}
cases:
  run: {{inlet: {{flow_in: 0 L/s, pressure: {pressure} Pa}}}}
  calm: {{inlet: {{flow_in: 0 L/s, pressure: 0 Pa}}}}
"""
ALLOWED = "bolt_tension: 200 MPa, bolt_shear: 120 MPa"


LAYER = "thickness: 2 mm, modulus: 400 MPa"


def tight(
    force=(0, 0, 0),
    moment=(0, 0, 0),
    pressure=0.0,
    missing="[]",
    tight="preload: 40 kN",
    more="",
    allow=ALLOWED,
    layer=LAYER,
):
    """Eight M16 on a ring gasket, tightened; forces in N, moments in N·m, the pressure in Pa, the rest as a file writes it."""
    return judged(
        TIGHT.format(
            force=vec(force, "N"),
            moment=vec(moment, "N*m"),
            pressure=pressure,
            missing=missing,
            tight=tight,
            more=more,
            allow=allow,
            layer=layer,
        )
    )


def bolt_of_m16():
    """Stiffness of one M16 over a grip of 44 mm, 18 mm of it threaded: lengths over areas in series."""
    shank, thread_area = math.pi * 0.016**2 / 4, 157e-6  # ISO 898-1 tables 157 mm² for M16
    return 205e9 / (0.026 / shank + 0.018 / thread_area)
