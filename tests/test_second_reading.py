"""The physics read a second time: momentum, energy, gas, surge and shapes, each formula derived by another way than the code takes.

Every test states its derivation and works the number out by a general method (quadrature, characteristics, equations of motion) with numpy and scipy;
the code is asked through a case file wherever a file can ask it. Random inputs come from seeded generators. Tolerances are those of
the numerical method used, said where over 1e-9.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import constants, integrate, optimize

from anchorsize.mechanics import profile, surge
from tests.second_reading import G0, SEEDS, judged, pushed_by_disc, turned, vec


@pytest.mark.parametrize("seed", SEEDS)
def test_reaction_from_the_flux_over_every_point_of_the_openings(seed):
    """Momentum and angular momentum of the fluid in a fitting with three openings anywhere, one flow solved by continuity.

    Source: momentum theorem, integrated over the control surface by quadrature instead of T = pA + ρQ²/A at the centers."""
    rng = np.random.default_rng(seed)
    centers, normals = rng.uniform(-1, 1, (3, 3)), turned(rng).apply(np.eye(3)) * rng.choice([-1, 1], (3, 1))
    bores, up = rng.uniform(0.05, 0.3, 3), turned(rng).apply([0, 0, 1.0])
    pressures, flows = rng.uniform(-20e3, 900e3, 3), np.array([-0.02, 0.013, 0.007])
    mass, volume, mass_at, volume_at = 31.0, 0.004, rng.uniform(-1, 1, 3), rng.uniform(-1, 1, 3)
    pull, twist, pull_at = rng.uniform(-500, 500, 3), rng.uniform(-80, 80, 3), rng.uniform(-1, 1, 3)
    opening = "".join(
        f"  o{i}: {{center: {vec(centers[i], 'm')}, outward: {vec(normals[i])}, bore: {float(bores[i])!r} m}}\n"
        for i in range(3)
    )
    ways = ("flow_in: 20 L/s, ", "flow_out: 13 L/s, ", "")
    states = ", ".join(f"o{i}: {{{ways[i]}pressure: {float(pressures[i])!r} Pa}}" for i in range(3))
    case = judged(
        f"case_file: 1\nup: {vec(up)}\nfluid: {{name: brine, density: 1070 kg/m^3}}\n"
        f"fitting: {{mass: {mass} kg, mass_center: {vec(mass_at, 'm')}, contents: {volume} m^3, "
        f"contents_center: {vec(volume_at, 'm')}}}\nopenings:\n{opening}"
        f"external:\n  - {{name: hose, force: {vec(pull, 'N')}, moment: {vec(twist, 'N*m')}, at: {vec(pull_at, 'm')}}}\n"
        f"cases:\n  run: {{{states}}}\n"
    ).cases["run"]
    force, moment = pull.copy(), twist + np.cross(pull_at, pull)
    for weight, at in ((mass, mass_at), (volume * 1070, volume_at)):
        force += -weight * G0 * up
        moment += np.cross(at, -weight * G0 * up)
    for i in range(3):
        part = pushed_by_disc(centers[i], normals[i], bores[i] / 2, pressures[i], 1070, flows[i])
        force, moment = force + part[0], moment + part[1]
    assert case.reaction_force == pytest.approx(-force, rel=1e-9, abs=1e-8)
    assert case.reaction_moment == pytest.approx(-moment, rel=1e-9, abs=1e-8)
    assert float(case.vertical_reaction) == pytest.approx(-force @ up, rel=1e-9, abs=1e-8)


@pytest.mark.parametrize("changing", ["2 m^3/s^2", "-2 m^3/s^2"])
def test_a_changing_flow_from_the_momentum_held_along_the_centerline(changing):
    """The fluid in the elbow holds ∫ ρ (Q/A) t A ds = ρQ ∫ t ds and ρQ ∫ r × t ds; the fitting feels minus the rate of both.

    Source: storage term of the momentum theorem; line integrals by quadrature along the arc."""
    rate = float(changing.split()[0])
    case = judged(
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nfitting:\n  mass: 0 kg\n  mass_center: [0, 0, 0 m]\n"
        "  shape: {kind: elbow, bore: 100 mm, turn: 70 deg, radius: 0.4 m, start: [0.3, -0.2, 0.5 m], direction: [1, 0, 0],"
        " toward: [0, 0, 1]}\n"
        f"cases:\n  run: {{inlet: {{flow_in: 0 L/s, pressure: 0 Pa, flow_change: {-rate!r} m^3/s^2}}, "
        f"outlet: {{pressure: 0 Pa, flow_change: {rate!r} m^3/s^2}}}}\n"
    ).cases["run"]
    found = next(load for load in case.loads if load.source == "flow change")
    start, radius = np.array([0.3, -0.2, 0.5]), 0.4

    def place(angle):
        return start + radius * np.array([math.sin(angle), 0, 1 - math.cos(angle)])

    def tangent(angle):
        return np.array([math.cos(angle), 0, math.sin(angle)])

    end = math.radians(70)
    force = -1000 * rate * radius * integrate.quad_vec(tangent, 0, end)[0]
    moment = -1000 * rate * radius * integrate.quad_vec(lambda s: np.cross(place(s), tangent(s)), 0, end)[0]
    assert found.force == pytest.approx(force, rel=1e-9, abs=1e-9)
    assert found.moment == pytest.approx(moment, rel=1e-9, abs=1e-9)


PLAIN = """case_file: 1
fluid: {{name: water, density: 998 kg/m^3}}
openings:
  low: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 150 mm}}
  high: {{center: [1, 0, 2.5 m], outward: [0, 0, 1], bore: 80 mm}}
cases:
  run: {{low: {{{low}}}, high: {{{high}}}}}
"""


@pytest.mark.parametrize("asked", ["low", "high"])
@pytest.mark.parametrize("way", ["up", "down"])
def test_pressure_from_losses_leaves_a_line_of_head_that_falls_the_way_the_water_runs(asked, way):
    """H(upstream) − H(downstream) = K v²/2g with H = p/ρg + v²/2g + z, whichever of the two pressures is asked for.

    Source: energy equation of steady flow. The velocity is that at the opening asked for."""
    flow = {"low": "flow_in: 40 L/s" if way == "up" else "flow_out: 40 L/s", "high": ""}
    other = "high" if asked == "low" else "low"
    terms = {
        asked: ", ".join(filter(None, [flow[asked], "pressure: from losses", "loss_coefficient: 1.7"])),
        other: ", ".join(filter(None, [flow[other], "pressure: 230 kPa"])),
    }
    found = judged(PLAIN.format(**terms)).cases["run"].openings
    speed = {"low": 0.04 / (math.pi * 0.15**2 / 4), "high": 0.04 / (math.pi * 0.08**2 / 4)}
    head = {
        n: float(found[n].pressure) / (998 * G0) + speed[n] ** 2 / (2 * G0) + (2.5 if n == "high" else 0) for n in speed
    }
    fall = head["low"] - head["high"] if way == "up" else head["high"] - head["low"]
    assert fall == pytest.approx(1.7 * speed[asked] ** 2 / (2 * G0), rel=1e-12)


def test_a_closed_valve_pushes_and_a_cork_does_not():
    """Cut the water just before a closed valve on the next pipe: p A acts on the fitting. A cork belongs to the fitting: the
    pressure on the cork and on the walls is inside the control surface, and nothing crosses there."""
    connected = judged(PLAIN.format(low="flow_in: 0 L/s, pressure: 400 kPa", high="exit: connected, pressure: 400 kPa"))
    capped = judged(PLAIN.format(low="flow_in: 0 L/s, pressure: 400 kPa", high="exit: capped"))
    more = connected.cases["run"].reaction_force - capped.cases["run"].reaction_force
    assert more == pytest.approx([0, 0, 400e3 * math.pi * 0.08**2 / 4], rel=1e-12, abs=1e-9)


def test_the_dynamic_factor_is_on_thrusts_alone():
    """With the factor f the joint carries f T of the thrust, the weights once and the pressure annulus once."""
    text = (
        "case_file: 1\nfluid: {{name: water, density: 1000 kg/m^3}}\n"
        "fitting: {{mass: 20 kg, mass_center: [0.2, 0, 0 m]}}\nopenings:\n"
        "  inlet: {{center: [0, 0, 0 m], outward: [0, 0, -1], bore: 100 mm}}\n"
        "  outlet: {{center: [0, 0, 1 m], outward: [0, 0, 1], bore: 60 mm}}\njoints:\n  main:\n    at: inlet\n"
        "    bolts: 4 x M16 on 180 mm\n    gasket: {{inside: 115 mm, outside: 160 mm, reaction_diameter: 140 mm}}\n"
        "cases:\n  run: {{dynamic_factor: {f}, inlet: {{flow_in: 12 L/s, pressure: 90 kPa}}, outlet: free_jet}}\n"
    )
    area, mouth = math.pi * 0.1**2 / 4, math.pi * 0.06**2 / 4
    # upward through the inlet, downward through the outlet; the joint's axis points down, so an upward net push opens it
    thrust = 90e3 * area + 1000 * 0.012**2 / area - 1000 * 0.012**2 / mouth
    for factor in (1.0, 1.7):
        joint = judged(text.format(f=factor)).cases["run"].joints["main"]
        annulus = 90e3 * (math.pi * 0.14**2 / 4 - area)
        assert joint.external_tension.sum() == pytest.approx(factor * thrust - 20 * G0 + annulus, rel=1e-12)


def gas_exit(mass_flow, area, stagnation, k, molar, ambient):
    """Mach number and static pressure in the exit plane of a pipe fed with a known mass flow and stagnation temperature.

    ṁ/A = p M √(k M_w/(R T)), T = T₀/(1 + (k−1)/2 M²): with p = ambient one Mach number follows; over 1 it cannot be, and the
    exit is sonic with the pressure that then follows."""

    def flux(mach, pressure):
        temperature = stagnation / (1 + (k - 1) / 2 * mach**2)
        return pressure * mach * math.sqrt(k * molar / (constants.R * temperature))

    if flux(1.0, ambient) <= mass_flow / area:
        return 1.0, mass_flow / area / flux(1.0, 1.0)
    return optimize.brentq(lambda mach: flux(mach, ambient) - mass_flow / area, 1e-9, 1.0, xtol=1e-14), ambient


def blown(bore, flow, stagnation, k, molar, ambient):
    """A case that blows ``flow`` [kg/s] of a gas out of an open mouth."""
    return judged(
        f"case_file: 1\nfluid: {{name: gas, density: 1 kg/m^3}}\nopenings:\n"
        f"  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}\n"
        f"  mouth: {{center: [1, 0, 0 m], outward: [0, 0, 1], bore: {bore!r} m}}\n"
        f"cases:\n  blow: {{inlet: {{pressure: 0 kPa, density: 5 kg/m^3}}, mouth: {{exit: free_jet, gas: {{mass_flow: {flow!r} kg/s, "
        f"stagnation_temperature: {stagnation!r} K, k: {k!r}, molar_mass: {molar!r} kg/mol, ambient: {ambient!r} Pa}}}}}}\n"
    ).cases["blow"]


@pytest.mark.parametrize("seed", SEEDS)
def test_gas_discharge_from_the_mach_number(seed):
    """Thrust = p A (1 + k M²) − p_amb A, the impulse function of one-dimensional gas flow (ρv² = k p M²); choked and subsonic.

    Source: any text on gas dynamics, solved for M by bracketing; ideal gas."""
    rng = np.random.default_rng(seed)
    bore, k, molar, stagnation = (
        rng.uniform(0.05, 0.3),
        rng.uniform(1.1, 1.6),
        rng.uniform(0.004, 0.06),
        rng.uniform(280, 700),
    )
    ambient, area = rng.uniform(80e3, 105e3), math.pi * bore**2 / 4
    flow = (
        area
        * ambient
        * math.sqrt(molar / (constants.R * stagnation))
        * (0.4 if seed % 2 else 4.0)
        * rng.uniform(0.5, 1.2)
    )
    case = blown(bore, flow, stagnation, k, molar, ambient)
    mach, pressure = gas_exit(flow, area, stagnation, k, molar, ambient)
    thrust = pressure * area * (1 + k * mach**2) - ambient * area
    mouth = case.openings["mouth"]
    assert (mach == 1.0) == (seed % 2 == 0)
    assert float(mouth.thrust) == pytest.approx(thrust, rel=1e-9)
    assert float(mouth.mass_flow) == pytest.approx(flow, rel=1e-12)


def test_choked_discharge_is_the_relief_reaction_of_api_520():
    """API 520 Part II: F = 129 W √(kT/((k+1)M)) + 0.1 A P in N, kg/s, K, kg/kmol, mm², barg (constants from memory).

    ṁ v* = W √(2 k R T₀/((k+1) M)) and √(2 × 8314.46) = 128.95, printed as 129: half a digit is 0.4 %."""
    mouth = blown(math.sqrt(4 * 0.02 / math.pi), 12.0, 450.0, 1.3, 0.01802, 101325.0).openings["mouth"]
    gauge = float(mouth.pressure) / 1e5
    assert gauge > 0
    found = float(mouth.thrust)
    assert found == pytest.approx(129 * 12 * math.sqrt(1.3 * 450 / (2.3 * 18.02)) + 0.1 * 0.02e6 * gauge, rel=4e-3)


def peak_by_characteristics(density, speed, stopped, length, closing, reaches=200):
    """Greatest rise at a valve whose velocity falls evenly to nothing, reservoir at the other end, no friction.

    Along dx/dt = ±a the quantity p ± ρ a v keeps its value (method of characteristics)."""
    step = length / speed / reaches
    head, velocity, greatest = np.zeros(reaches + 1), np.full(reaches + 1, stopped), 0.0
    for number in range(1, int(3 * max(closing, 2 * length / speed) / step)):
        forward, back = head + density * speed * velocity, head - density * speed * velocity
        head, velocity = head.copy(), velocity.copy()
        head[1:-1] = (forward[:-2] + back[2:]) / 2
        velocity[1:-1] = (forward[:-2] - back[2:]) / (2 * density * speed)
        head[0], velocity[0] = 0.0, -back[1] / (density * speed)
        velocity[-1] = stopped * max(0.0, 1 - number * step / closing) if closing else 0.0
        head[-1] = forward[-2] - density * speed * velocity[-1]
        greatest = max(greatest, head[-1])
    return greatest


@pytest.mark.parametrize("closing", [0.0, 0.12, 0.5, 1.3])
def test_surge_by_the_method_of_characteristics_reaches_thrust_and_gasket(closing):
    """2 L/a is 0.4 s here: the first two closures give ρ a Δv, the others that times (2L/a)/t; the rise adds to the pressure
    that the bore and the gasket annulus feel, and not to the momentum."""
    speed, length, area = 1000.0, 200.0, math.pi * 0.1**2 / 4
    slow = f", closing_time: {closing} s, pipe_length: {length} m" if closing else ""
    case = judged(
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
        "  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}\njoints:\n  main:\n    at: inlet\n"
        "    bolts: 8 x M16 on 180 mm\n    gasket: {inside: 115 mm, outside: 160 mm, reaction_diameter: 150 mm}\n"
        f"cases:\n  slam: {{inlet: {{flow_in: 0 L/s, pressure: 200 kPa, surge: {{stopped_flow: 15 L/s, wave_speed: {speed} m/s{slow}}}}}}}\n"
    ).cases["slam"]
    rise = peak_by_characteristics(1000.0, speed, 0.015 / area, length, closing)
    # the grid resolves the closing in steps of one reach: 1/200 of L/a
    assert float(case.openings["inlet"].pressure) == pytest.approx(200e3 + rise, rel=1e-2 if closing > 0.4 else 1e-9)
    carried = case.joints["main"].external_tension.sum()
    assert carried == pytest.approx(float(case.openings["inlet"].pressure) * math.pi * 0.15**2 / 4, rel=1e-12)


@pytest.mark.parametrize("anchoring", ["throughout", "upstream end", "expansion joints"])
@pytest.mark.parametrize("wall", [0.002, 0.03])
def test_wave_speed_from_the_give_of_a_thick_tube(anchoring, wall):
    """1/(ρa²) = 1/K + dA/(A dp), dA/A = 2 ε_θ at the bore. Lamé under unit pressure: σ_r = −1, σ_θ = (b²+r²)/(b²−r²); the axial
    stress is ν(σ_θ+σ_r) where no point may move along the pipe, the end force over the wall where only the upstream end is
    held, none between expansion joints.

    Source: Lamé's tube and mass balance of a slice; any text on elasticity."""
    bulk, density, modulus, poisson, bore = 2.19e9, 999.1, 110e9, 0.28, 0.2
    inner, outer = bore / 2, bore / 2 + wall
    hoop, radial = (outer**2 + inner**2) / (outer**2 - inner**2), -1.0
    axial = {
        "throughout": poisson * (hoop + radial),
        "upstream end": inner**2 / (outer**2 - inner**2),
        "expansion joints": 0.0,
    }[anchoring]
    give = 2 * (hoop - poisson * (radial + axial)) / modulus
    factor = surge.thick_wall_factor(surge.restraint_factor(anchoring, poisson), poisson, bore, wall)
    found = surge.wave_speed(bulk, density, bore, wall, modulus, factor)
    assert float(found) == pytest.approx(1 / math.sqrt(density * (1 / bulk + give)), rel=1e-12)


def test_momentum_factors_by_integrating_the_profile():
    """β = A ∫u² dA/(∫u dA)²: 4/3 for a parabola, and for u = (1 − r/R)^(1/n). Source: definition."""

    def beta(speed):
        mean = integrate.quad(lambda r: speed(r) * 2 * r, 0, 1)[0]
        return integrate.quad(lambda r: speed(r) ** 2 * 2 * r, 0, 1)[0] / mean**2

    assert profile.beta_laminar == pytest.approx(beta(lambda r: 1 - r**2), rel=1e-12)
    for n in (5.0, 7.0, 10.0):
        assert float(profile.beta_power_law(n)) == pytest.approx(beta(lambda r, n=n: (1 - r) ** (1 / n)), rel=1e-7)


def test_mass_and_contents_of_an_elbow_by_integrating_its_volume():
    """Volume element of a bend: (R − ρ cos ψ) dφ dA with ρ cos ψ toward the center; wall and water with their centers by
    quadrature. Source: geometry; Pappus gives the volume, the second term of the center comes of itself."""
    bore, wall, radius, turn = 0.1, 0.008, 0.22, math.radians(65)
    built = judged(
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nfitting:\n"
        "  shape: {kind: elbow, bore: 100 mm, wall: 8 mm, material_density: 7850 kg/m^3, turn: 65 deg, radius: 220 mm, direction: [0, 1, 0], toward: [0, 0, -1]}\n"
        "cases:\n  run: {inlet: {flow_in: 0 L/s, pressure: 0 Pa}, outlet: free_jet}\n"
    ).study

    def solid(inner, outer):
        spread = 2 * math.pi * integrate.quad(lambda r: r, inner, outer)[0]
        square = integrate.dblquad(lambda q, r: (r * math.cos(q)) ** 2 * r, inner, outer, 0, 2 * math.pi)[0]
        volume = turn * radius * spread
        reach = (radius**2 * spread + square) / volume  # ∫ (R − ρ cos ψ)² dA per angle, over the volume
        along, across = reach * (1 - math.cos(turn)), radius - reach * math.sin(turn)
        return volume, np.array([0, along, -across])  # the bend turns from +y toward −z

    water, water_at = solid(0, bore / 2)
    steel, steel_at = solid(bore / 2, bore / 2 + wall)
    assert float(built.fitting.contents) == pytest.approx(water, rel=1e-9)
    assert built.fitting.contents_center == pytest.approx(water_at, rel=1e-8, abs=1e-12)
    assert float(built.fitting.mass) == pytest.approx(7850 * steel, rel=1e-9)
    assert built.fitting.mass_center == pytest.approx(steel_at, rel=1e-8, abs=1e-12)
    outlet = built.openings["outlet"]
    assert outlet.outward == pytest.approx([0, math.cos(turn), -math.sin(turn)], abs=1e-12)
    assert outlet.center == pytest.approx([0, radius * math.sin(turn), -radius * (1 - math.cos(turn))], abs=1e-12)
