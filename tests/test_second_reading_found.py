"""What the second reading of the physics found wrong, each against statics or a general solution."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from anchorsize import CaseFileError
from anchorsize.mechanics import contact, fatigue
from anchorsize.mechanics.face_integrals import Annulus
from tests.second_reading import ALLOWED, bolt_of_m16, judged, the_check, tight, vec

NO_MODULUS = "thickness: 2 mm"  # so that only the bounds can be given


def by_contact(joint, preload, modulus):
    """The joint solved with a gasket of some modulus per thickness [Pa/m] that the file does not know of."""
    angles = np.radians(22.5) + np.arange(8) * math.pi / 4
    xy = 0.1 * np.column_stack([np.cos(angles), np.sin(angles)])
    springs = np.where(preload > 0, bolt_of_m16(), 0.0)
    return contact.solve_preloaded_joint(
        joint.axial_demand, joint.bending1, joint.bending2, xy, springs, preload, Annulus(0.11, 0.16), modulus
    )


@pytest.mark.parametrize("modulus", [2e10, 2e11, 2e12, 2e13])
def test_the_bound_of_gasket_crushing_is_one_with_bolts_missing(modulus):
    """Preloads of the bolts that are there press a ring unevenly: F/A + (M + |Σ F r|)/(A kern). No stiffness may give more as long as
    the face is closed. Source: flexure formula; against the contact solution at stiffnesses the file does not state."""
    case = tight(
        moment=(0, 0, 60), missing="[3]", allow=ALLOWED + ", gasket_pressure_greatest: 300 MPa", layer=NO_MODULUS
    ).cases["run"]
    joint = case.joints["main"]
    found = by_contact(joint, joint.clamping.greatest, modulus)
    assert float(found.lift_off) == 0.0
    assert float(the_check(case, "gasket crushing").demand) >= float(found.pressure_max) * (1 - 1e-9)


@pytest.mark.parametrize("modulus", [2e10, 2e11, 2e12, 2e13])
def test_the_bound_of_bolt_tension_is_one_where_the_joint_is_pressed_together(modulus):
    """Compression that the gasket takes leaves no relief at the bolts, so that none may be counted in an upper bound."""
    case = tight(force=(-140e3, 0, 0), moment=(0, 8e3, 0), tight="preload: 20 kN", layer=NO_MODULUS).cases["run"]
    joint = case.joints["main"]
    found = by_contact(joint, joint.clamping.greatest, modulus)
    assert (joint.service.tension_bound >= found.bolt_tension * (1 - 1e-9)).all()


@pytest.mark.parametrize(("drag", "anchor"), [((500, 0), (-120, 0)), ((0, 500), (0, -120)), ((0, -500), (0, 120))])
def test_the_anchor_on_the_side_that_the_drag_leaves_has_the_long_lever(drag, anchor):
    """A post pushed toward +y tips about the plate's +y edge: an anchor at −120 mm pulls with a lever of nearly 0.27 m, one at +120 mm
    of 0.03 m. Under an upright post the plate's x and y are those of the plan. Source: statics, e = 0.325 m > 0.15 m."""

    def pull(at):
        case = judged(
            "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
            "  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}\njoints:\n  main:\n    at: inlet\n    bolts: 4 x M16 on 180 mm\n"
            "    stiffness: {axial: 1 N/m, shear: 1 N/m, bending: 1 N*m/rad, torsion: 1 N*m/rad}\n"
            f"external:\n  - {{name: pull, force: {vec([*drag, -2000], 'N')}, at: [0, 0, 0 m]}}\n"
            "cases:\n  run: {inlet: {flow_in: 0 L/s, pressure: 0 Pa}}\nsupports:\n  post:\n"
            "    - {kind: rest, name: P, at: [0, 0, 0 m], friction: 0.9, length: 1.3 m, modulus: 200 GPa, stiffness: 100 MN/m, base_plate: "
            f"{{length: 0.3 m, width: 0.3 m, foundation_modulus: 10 GPa/m, anchors: [{{x: {at[0]} mm, y: {at[1]} mm, size: M16}}], "
            "anchor_length: 300 mm, anchor_modulus: 200 GPa}, allow: {bearing: 50 MPa, anchor_tension: 20 kN, force: 1 GN}}\n"
        ).cases["run"]
        return float(the_check(case, "anchor tension").demand)

    moment = 500 * 1.3 - 2000 * 0.15  # about the edge
    far, near = pull(anchor), pull((-anchor[0], -anchor[1]))
    assert moment / 0.27 < far < 2 * moment / 0.27  # the pressed strip has some width
    assert near > moment / 0.03


def test_a_surge_at_a_free_jet_is_refused():
    """A jet into the open has the gauge pressure 0 whatever happens in the pipe."""
    with pytest.raises(CaseFileError, match="surge"):
        judged(
            "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
            "  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}\n  outlet: {center: [1, 0, 0 m], outward: [1, 0, 0], bore: 60 mm}\n"
            "cases:\n  run: {inlet: {flow_in: 10 L/s, pressure: 1 bar}, outlet: {exit: free_jet, surge: {stopped_flow: 10 L/s, wave_speed: 1000 m/s}}}\n"
        )


def test_the_moment_of_a_changing_flow_does_not_depend_on_where_the_origin_is():
    """Moving the whole fitting by d leaves what the joint carries about its own center alone. Source: invariance of statics; ∫ r × dr from
    the first opening to another along a straight line is r₁ × r₂."""

    def bending(shift):
        points = [np.array(p) + shift for p in ((0, 0, 0), (1, 0, 0.4))]
        joint = (
            judged(
                "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
                f"  inlet: {{center: {vec(points[0], 'm')}, outward: [-1, 0, 0], bore: 100 mm}}\n"
                f"  outlet: {{center: {vec(points[1], 'm')}, outward: [0, 0, 1], bore: 60 mm}}\njoints:\n  main:\n    at: inlet\n    bolts: 8 x M16 on 180 mm\n"
                "cases:\n  run: {inlet: {flow_in: 10 L/s, pressure: 1 bar, flow_change: -1 m^3/s^2}, outlet: {exit: free_jet, flow_change: 1 m^3/s^2}}\n"
            )
            .cases["run"]
            .joints["main"]
        )
        return joint.reaction_moment

    assert bending(np.array([3.0, -2.0, 5.0])) == pytest.approx(bending(np.zeros(3)), rel=1e-9, abs=1e-6)


def test_a_thrust_that_presses_a_block_down_is_not_credited_with_its_whole_length():
    """Pressed down in its middle the block gains U l/2 about the far edge, and nothing where it is pressed at that edge: a factor that
    holds wherever it is pressed counts at most the half. Source: statics."""
    case = judged(
        "case_file: 1\nfluid: {name: water, density: 1000 kg/m^3}\nopenings:\n"
        "  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}\njoints:\n  main:\n    at: inlet\n    bolts: 4 x M16 on 180 mm\n"
        "    stiffness: {axial: 1 N/m, shear: 1 N/m, bending: 1 N*m/rad, torsion: 1 N*m/rad}\n"
        "external:\n  - {name: pull, force: [30000, 0, 0 N], at: [0, 0, 0 m]}\ncases:\n  run: {inlet: {flow_in: 0 L/s, pressure: 0 Pa}}\n"
        "supports:\n  block:\n    - {kind: strut, name: x, at: [0, 0, 1 m], toward: [0, 0, 1], stiffness: 1000 MN/m, allow: 1 GN}\n"
        "    - {kind: thrust_block, name: B, at: [0, 0, 0 m], toward: [-0.8, 0, 0.6], stiffness: 100 MN/m, block: {length: 1.6 m, width: 1.1 m, "
        "height: 0.9 m, density: 2300 kg/m^3, friction: 0.45, thrust_height: 0.9 m}, allow: {bearing: 100 kPa, bearing_factor: 1.5, "
        "sliding_factor: 1.5, overturning_factor: 1.5, uplift_factor: 1.2}}\n"
    ).cases["run"]
    push = float(case.supports["B"].push)
    level, down, weight = 0.8 * push, 0.6 * push, 2300 * 1.6 * 1.1 * 0.9 * 9.80665
    most = max((weight + down) * 0.8 / (level * 0.9), weight * 0.8 / (level * 0.9 - down * 0.8))
    assert float(the_check(case, "block overturning").demand) <= most * (1 + 1e-6)


def test_fatigue_counts_the_swing_of_the_preload_that_lets_the_face_open():
    """While closed the swing is the same at any preload and the mean worst at the greatest; once the face opens at the least preload, the bolt
    takes the whole load there. The worse of both governs. Source: Goodman line; contact solution at the least preload."""
    case = tight(
        (60e3, 0, 0),
        tight="preload: 15 kN, scatter: 60 %",
        more="cycles_between: [calm, run]",
        allow=ALLOWED + ", endurance_limit: 60 MPa",
        layer="thickness: 2 mm, modulus: 40 GPa",
    ).cases["run"]
    joint = case.joints["main"]
    opened = by_contact(joint, joint.clamping.least, 40e9 / 0.002)
    cycle = fatigue.stress_cycle(joint.clamping.least, opened.bolt_tension, 157e-6)
    used = fatigue.goodman_utilization(cycle, 60e6, 800e6).max()
    assert float(the_check(case, "bolt fatigue").utilization) >= used * (1 - 1e-3)


def slips_at(pressure, x, y, area, friction, shear, torsion):
    """Multiple of the load at which a pressed face slips: least of friction work over load work, over all turning points.

    Source: kinematic theorem of limit analysis, exact for in-plane Coulomb friction under known pressures."""
    grip, least = friction * pressure * area, math.inf
    for pole in itertools.product(np.linspace(-0.6, 0.6, 61), repeat=2):
        moved = np.array([-(0 - pole[1]), 0 - pole[0]])  # of the joint's center when turning by 1 about the pole
        work = shear @ moved + torsion
        if abs(work) > 0:
            least = min(least, (grip * np.hypot(x - pole[0], y - pole[1])).sum() / abs(work))
    return least


@pytest.mark.parametrize(("bend", "torsion"), [(0, 300), (1300, 0), (2600, 0), (2600, 300), (2600, -300)])
def test_joint_slip_counts_that_bending_moves_the_clamp_off_center(bend, torsion):
    """Bending presses one side of the ring more; a shear through the joint's center then also turns the joint about the clamp's center,
    and an uneven ring turns more easily. The printed use may not be under that of the limit analysis. Source: Coulomb friction."""
    # the joint's axis is −x, e1 = +z, e2 = +y; bending about z presses along y, shear along z stands across that
    case = tight(
        (0, 0, 6e3), (torsion, 0, bend), tight="preload: 12 kN", layer="thickness: 2 mm, modulus: 40 GPa"
    ).cases["run"]
    clamp, bed = 8 * 12e3, 40e9 / 0.002
    inertia = math.pi * (0.16**4 - 0.11**4) / 64
    nodes, weights = np.polynomial.legendre.leggauss(30)
    ring, angle = 0.055 + 0.025 * (nodes + 1) / 2, (np.arange(180) + 0.5) * math.pi / 90
    x, y = np.outer(ring, np.cos(angle)), np.outer(ring, np.sin(angle))
    area = np.outer(ring * weights * 0.0125, np.full(180, math.pi / 90))
    share = bed * inertia / (bed * inertia + 8 * bolt_of_m16() * 0.1**2 / 2)  # of the bending, while the face is closed
    pressure = clamp / (math.pi * (0.16**2 - 0.11**2) / 4) + share * bend / inertia * y
    assert pressure.min() > 0
    multiple = slips_at(pressure, x, y, area, 0.2, np.array([6e3, 0.0]), torsion)
    assert float(the_check(case, "joint slip").utilization) >= (1 - 1e-3) / multiple
