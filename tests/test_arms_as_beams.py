"""What an option carries where its arm bends, against a general frame solver and beams by hand.

The arm and its figures are invented.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from Pynite import FEModel3D

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.arms import as_beams
from anchorsize.casefile import parse_case
from anchorsize.present.support_size_words import together_lines
from anchorsize.present.supports_relief import ARM_COUNTS_AS_RIGID, relief_lines
from anchorsize.studies.support_size import size_supports
from anchorsize.studies.supports import compare
from tests.test_limber_arms import elbowed, riser

LENGTH, STEEL = 2.4, 7850.0
INSIDE, WALL = 0.2065, 0.0063
OUTER = INSIDE + 2 * WALL
MODULUS = 200e9
INERTIA = np.pi / 64.0 * (OUTER**4 - INSIDE**4)
EVEN = 9.80665 * np.pi / 4.0 * ((OUTER**2 - INSIDE**2) * STEEL + INSIDE**2 * 1000.0)
"""Weight of wall and water [N/m]."""

LUMPS = 3e-4 * (EVEN * LENGTH + 900.0)
"""Of all the weight [N]: a lump on each fortieth of the arm."""

SHEAR, TURN = 100e6, 5e6
"""Of the joint [N/m, N·m/rad]."""

ARM = f"""\
case_file: 1
title: pipe arm with a hose valve
fluid: {{name: water, density: 1000 kg/m^3}}
fitting:
  shape: {{direction: [1, 0, 0], bore: 206.5 mm, wall: 6.3 mm, material_density: 7850 kg/m^3, kind: straight, length: {LENGTH} m}}
joints:
  wall:
    at: inlet
    reference: [0, 0, 1]
    bolts: {{count: 8, size: M20, circle: 295 mm, first_at: 22.5 deg}}
    stiffness: {{axial: 300 MN/m, shear: 100 MN/m, bending: 5 MN*m/rad, torsion: 5 MN*m/rad}}
external: [{{name: valve, force: [0, 0, -900 N], at: [2.3, 0, 0 m]}}]
cases:
  full: {{inlet: {{flow_in: 0 L/s, pressure: 0 kPa}}, outlet: {{pressure: 0 kPa}}}}
supports:
  some: [SUPPORTS]
"""


ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, bolt_spacing_least: 45 mm}"


def rest(name: str, x: float, more: str = "") -> str:
    return f"{{kind: rest, name: {name}, at: [{x}, 0, 0 m], stiffness: 50 MN/m, allow: {{force: 20 kN}}{more}}}"


def arm(*supports: str) -> Assessment:
    return assess(parse_case(ARM.replace("SUPPORTS", ", ".join(supports)), "f"))


def bent(judged: Assessment) -> tuple[dict[str, float], float, float]:
    """Support forces, shear and bending of the joint with the arm bending, of the one case."""
    beams = as_beams(judged.study, judged.study.supports["some"], judged.cases)
    assert beams is not None
    (case,) = beams.values()
    wall = case.joints["wall"]
    return {name: float(each.push) for name, each in case.supports.items()}, float(wall.shear), float(wall.bending)


def modeled(*more: float, **supports: float) -> FEModel3D:
    """An even weight and a point load on a beam with springs under it in a general frame solver, sway along Z; nodes at ``more``."""
    places = sorted({0.0, 2.3, LENGTH, *more, *supports.values()})
    model = FEModel3D()
    model.add_material("steel", MODULUS, MODULUS / 2.6, 0.3, 7850)
    model.add_section("pipe", 1.0, INERTIA, INERTIA, 2.0 * INERTIA)
    for x in places:
        model.add_node(f"{x}", x, 0, 0)
    for a, b in itertools.pairwise(places):
        model.add_member(f"{a}-{b}", f"{a}", f"{b}", "steel", "pipe")
        model.add_member_dist_load(f"{a}-{b}", "FZ", -EVEN, -EVEN)
    model.add_node_load("2.3", "FZ", -900.0)
    model.def_support("0.0", True, True, False, True, False, True)
    model.def_support_spring("0.0", "DZ", SHEAR)
    model.def_support_spring("0.0", "RY", TURN)
    for x in supports.values():
        model.def_support_spring(f"{x}", "DZ", 50e6)
    model.analyze(check_statics=False)
    return model


def moved(model: FEModel3D, x: float, way: str) -> float:
    return float(getattr(model.nodes[f"{x}"], way)["Combo 1"])


def frame_moves(x: float) -> float:
    """How far the arm without supports comes down at a place [m]."""
    return -moved(modeled(x), x, "DZ")


def frame(**supports: float) -> tuple[dict[str, float], float, float]:
    """Support forces, shear and bending of the joint by that solver."""
    model = modeled(**supports)
    forces = {name: -50e6 * moved(model, x, "DZ") for name, x in supports.items()}
    return forces, abs(SHEAR * moved(model, 0.0, "DZ")), abs(TURN * moved(model, 0.0, "RY"))


PLACES = [
    {"A": 2.2},
    {"A": 1.1},
    {"A": 1.0, "B": 2.2},
    {"A": 0.9, "B": 1.9},
    {"A": 2.0, "B": 2.1},
    {"A": 1.0, "B": 1.5, "C": 2.2},
]


@pytest.mark.parametrize("places", PLACES)
def test_rests_under_an_arm_as_a_frame_solver_has_them(places: dict[str, float]):
    """The even weight counts in lumps of a fortieth of the arm, hence the tolerance; what is left at the joint is a small difference."""
    forces, shear, bending = bent(arm(*(rest(name, x) for name, x in places.items())))
    expected, shear_there, bending_there = frame(**places)
    assert min(expected.values()) > 0.0  # one-way rests that all carry are springs
    assert forces == pytest.approx(expected, abs=LUMPS)
    assert shear == pytest.approx(shear_there, abs=LUMPS)
    assert bending == pytest.approx(bending_there, abs=LUMPS * LENGTH / 2.0)


def test_a_rest_that_would_have_to_pull_carries_nothing():
    """A spring near the joint pulls in the frame; the rest does not, and the frame without it is the answer."""
    assert frame(A=0.2, B=1.2)[0]["A"] < -100.0
    forces, shear, bending = bent(arm(rest("A", 0.2), rest("B", 1.2)))
    expected, shear_there, bending_there = frame(B=1.2)
    assert forces == pytest.approx({"A": 0.0, **expected}, abs=LUMPS)
    assert (shear, bending) == pytest.approx((shear_there, bending_there), abs=LUMPS)


def test_a_gap_closes_by_what_the_arm_bends():
    """Rigid, the arm stays off its guide; the frame says how far it comes down without one, and by how much one gives way."""
    down = frame_moves(2.0)
    alone = -EVEN * LENGTH / SHEAR - (EVEN * LENGTH**2 / 2.0 + 900.0 * 2.3) * 2.0 / TURN - 900.0 / SHEAR
    gap = 2e-3
    assert -alone < gap < down
    rigid = arm(
        f"{{kind: guide, name: G, at: [2, 0, 0 m], toward: [0, 0, 1], stiffness: 50 MN/m, gap: {gap} m, allow: {{force: 9 kN}}}}"
    )
    unit = 1.0 / SHEAR + 2.0**2 / TURN + 2.0**3 / (3.0 * MODULUS * INERTIA)
    forces, _, _ = bent(rigid)
    assert forces["G"] == pytest.approx((down - gap) / (unit + 1.0 / 50e6), rel=2e-3)
    (told,) = [each for each in rigid.warnings if each.kind == "limber arm"]
    assert told.doubtful
    assert re.search(r"'G' then carries [\d.]+ k?N in 'full', where as a rigid body it leaves it idle", told.message)


def test_a_support_that_is_set_keeps_its_force_before_the_loads():
    """Set to 500 N on an arm held still and let go, without weight: of the set force the share left is 1/k over 1/k and all else that gives."""
    text = (
        ARM.replace("material_density: 7850 kg/m^3, ", "")
        .replace("wall: 6.3 mm, ", "")
        .replace("force: [0, 0, -900 N]", "force: [0, 0, 0 N]")
    )
    text = text.replace("full: {", "full: {contents: empty, ")
    judged = assess(parse_case(text.replace("SUPPORTS", rest("A", 2.2, ", set_load: 500 N")), "f"))
    forces, _, bending = bent(judged)
    wall = 8.18e-3  # ASME B36.10M: NPS 8 STD, the pipe nearest to this bore
    bends = 2.2**3 / (3.0 * MODULUS * np.pi / 64.0 * ((INSIDE + 2 * wall) ** 4 - INSIDE**4))
    assert forces["A"] == pytest.approx(500.0 / (1.0 + 50e6 * (1.0 / SHEAR + 2.2**2 / TURN + bends)), rel=1e-4)
    assert bending == pytest.approx(2.2 * forces["A"], rel=1e-6)


@given(st.floats(0.4, 2.3), st.floats(0.4, 2.3), st.floats(0.0, 3.0))
@settings(max_examples=25, deadline=None)
def test_what_holds_balances_what_loads_wherever_the_supports_stand(a: float, b: float, gap: float):
    """Forces up and moments about the joint, from shape and figures by hand."""
    judged = arm(rest("A", a, f", gap: {gap} mm"), rest("B", b))
    forces, shear, bending = bent(judged)
    assert shear == pytest.approx(abs(EVEN * LENGTH + 900.0 - sum(forces.values())), abs=1e-3)
    moment = EVEN * LENGTH**2 / 2.0 + 900.0 * 2.3 - a * forces["A"] - b * forces["B"]
    assert bending == pytest.approx(abs(moment), abs=1e-3)
    assert min(forces.values()) >= 0.0


def test_a_stiff_arm_is_the_rigid_body():
    """The modulus of the pipe behind is the arm's, and a joint given its stiffness does not bend by it."""
    behind = "    pipe_behind: {outside: 219.1 mm, wall: 6.3 mm, length: 1 m, modulus: 200 GPa, poisson: 0.3}\n"
    text = ARM.replace("external:", behind + "external:").replace(
        "SUPPORTS", ", ".join([rest("A", 1.2), rest("B", 2.2)])
    )
    judged = assess(parse_case(text, "f"))
    wall, behind = judged.study.joints["wall"], judged.study.joints["wall"].pipe_behind
    assert behind is not None
    stiff = replace(wall, pipe_behind=replace(behind, modulus=1e8 * MODULUS))
    forces, shear, bending = bent(replace(judged, study=replace(judged.study, joints={"wall": stiff})))
    case = judged.cases["full"]
    assert forces == pytest.approx({name: float(each.push) for name, each in case.supports.items()}, rel=1e-5)
    assert (shear, bending) == pytest.approx(
        (float(case.joints["wall"].shear), float(case.joints["wall"].bending)), rel=1e-4
    )


@pytest.mark.parametrize("anchored", [True, False])
def test_anchors_and_rigid_joints_are_not_worked_out(anchored: bool):
    six = "six_way: {axial: 8 MN/m, shear: 8 MN/m, bending: 2 MN*m/rad, torsion: 2 MN*m/rad}"
    held = f"{{kind: anchor, name: A, at: [2, 0, 0 m], toward: [0, 0, 1], {six}, allow: {{force: 9 kN}}}}"
    text = ARM.replace("SUPPORTS", held if anchored else rest("A", 2.0))
    if not anchored:
        text = re.sub(r"stiffness: \{axial.*?\}", "stiffness: rigid", text)
    judged = assess(parse_case(text, "f"))
    assert as_beams(judged.study, judged.study.supports["some"], judged.cases) is None
    assert not any("As a slender beam" in each.message for each in judged.warnings)
    assert any(each.kind == "limber arm" for each in judged.warnings) == anchored


def test_the_riser_as_a_beam_by_hand():
    """Force method and virtual work of tests/test_limber_arms.py, with the modulus that is assumed and the elbow's flexibility."""
    judged = riser()
    beams = as_beams(judged.study, judged.study.supports["strut"], judged.cases)
    assert beams is not None
    bending = elbowed()[1]
    assert float(beams["surge"].joints["nozzle"].bending) == pytest.approx(bending, rel=2e-3)
    (told,) = [each for each in judged.warnings if each.kind == "limber arm"]
    assert "in place of 673.5 N·m in 'surge'" in told.message
    fails = f"joint bending of 'nozzle' FAILS in 'surge': utilization {bending / 1200.0:.3g}, as a rigid body 0.561"
    assert fails in told.message


def test_the_sentence_on_relief_says_that_the_arm_counts_as_rigid():
    """Where a note on the option tells the arm's bending, and nowhere else."""

    def headline(turn: str) -> str:
        text = ARM.replace("bending: 5 MN*m/rad", f"bending: {turn}").replace("supports:\n", "supports:\n  none: []\n")
        text = text.replace("cases:\n", f"{ALLOW}\ncases:\n", 1)
        return " ".join(relief_lines(compare(parse_case(text.replace("SUPPORTS", rest("A", 2.2)), "f"))))

    limber, stubby = headline("5 MN*m/rad"), headline("0.2 MN*m/rad")
    assert "falls from" in limber
    assert "falls from" in stubby
    assert ARM_COUNTS_AS_RIGID in limber
    assert ARM_COUNTS_AS_RIGID not in stubby


def test_a_size_that_only_a_rigid_arm_allows_is_told_as_doubtful():
    """20.3 mm: Euler holds with the rigid share of the sideways load and not with the beam's, whose force the frame solver has."""
    inner, inertia = 0.0163, np.pi / 64.0 * (0.0203**4 - 0.0163**4)
    stiff = 205e9 * np.pi / 4.0 * (0.0203**2 - inner**2) / 1.5
    euler = np.pi**2 * 205e9 * inertia / 1.5**2
    to_tip, at = 2.3, 1.2
    bends = at**2 * (3.0 * to_tip - at) / (6.0 * MODULUS * INERTIA)
    gives = 1.0 / SHEAR + at**2 / TURN
    moves = 1.0 / SHEAR + at * to_tip / TURN
    rigid = 900.0 * moves / (gives + 1.0 / stiff)
    bent_force = 900.0 * (moves + bends) / (gives + at**3 / (3.0 * MODULUS * INERTIA) + 1.0 / stiff)
    assert 3.0 * rigid / euler < 1.0 < 3.0 * bent_force / euler
    sections = "sections: {thin: {outside: 20.3 mm, wall: 2 mm}, stout: {outside: 48.3 mm, wall: 3.2 mm}}"
    strut = (
        "{kind: strut, name: S, at: [1.2, 0, 0 m], toward: [0, 1, 0], section: {outside: 48.3 mm, wall: 3.2 mm}, SECTIONS, length: 1.5 m, "
        "modulus: 205 GPa, effective_length_factor: 1, allow: {buckling_factor: 3}}"
    ).replace("SECTIONS", sections)
    text = ARM.replace("force: [0, 0, -900 N]", "force: [0, 900, 0 N]").replace("cases:\n", f"{ALLOW}\ncases:\n", 1)
    study = parse_case(text.replace("SUPPORTS", strut), "f")
    (option,) = [each for each in compare(study).options if each.supports]
    lines = together_lines(option, size_supports(study, "some"), study)
    assert "(S thin): holds ON DOUBTFUL INPUT" in lines[0]
    used_then = f"utilization {3.0 * bent_force / euler:.3g}, as a rigid body {3.0 * rigid / euler:.3g}"
    assert any(f"strut buckling of 'S' FAILS in 'full': {used_then}" in line for line in lines)
    assert any(line.startswith("With the least: Strut 'S' is slender: KL/r") for line in lines)


def test_the_words_name_the_pipe_that_was_reckoned_with():
    """Without a shape it is the pipe behind, whose outside is not the bore and its wall; L³/3EI of that pipe."""
    text = ARM.replace("bore: 206.5 mm, wall: 6.3 mm, material_density: 7850 kg/m^3", "bore: 206.5 mm")
    text = text.replace(
        "external:",
        "    pipe_behind: {outside: 273 mm, wall: 9.3 mm, length: 1 m, modulus: 200 GPa, poisson: 0.3}\nexternal:",
    )
    openings = "openings:\n  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 206.5 mm}\n  outlet: {center: [2.4, 0, 0 m], outward: [1, 0, 0], bore: 206.5 mm}\n"
    text = re.sub(r"fitting:\n.*?\n(?=joints)", openings, text, flags=re.DOTALL).replace("SUPPORTS", rest("A", 2.2))
    (told,) = [each.message for each in assess(parse_case(text, "f")).warnings if each.kind == "limber arm"]
    assert "Arm taken as pipe of 273 mm outside, wall 9.3 mm (that of the pipe behind)" in told
    second = np.pi / 64.0 * (0.273**4 - (0.273 - 0.0186) ** 4)
    ratio = 2.2**3 / (3.0 * MODULUS * second) / (1.0 / SHEAR + 2.2**2 / TURN)
    assert f"bends {ratio:.2g} times as much as the joint" in told
