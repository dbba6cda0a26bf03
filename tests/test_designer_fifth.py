"""What a designer of supports stumbled over the fifth time: rounding taken for a force, least sizes one by one, rods and clashes.

Cases invented.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import example, given, settings
from hypothesis import strategies as st

from anchorsize import Assessment, CaseFileError, StudyError, assess, parse_case
from anchorsize.assessment.findings_clash import IN_JET, THROUGH
from anchorsize.assessment.findings_rods import THIN_ROD
from anchorsize.assessment.results import Load, axial_demand
from anchorsize.assessment.scale import Given, action_scale, resolved
from anchorsize.cli import main
from anchorsize.mechanics import frames
from anchorsize.present.report.html import with_subscripts
from anchorsize.present.report.worked import worked
from anchorsize.reference.hangers import least_hanger_rod
from tests.support_cases import on_one_line as run
from tests.support_cases import options, stiffness, support, triple

GIVES = "stiffness: {axial: 30 MN/m, shear: 20 MN/m, bending: 250 kN*m/rad, torsion: 600 kN*m/rad}"

EMPTY = """\
case_file: 1
title: return bend
fluid: {name: water, temperature: 15 degC}
fitting: {mass: 62 kg, mass_center: [0.52, 0, -0.20 m], contents: 29 L, contents_center: [0.55, 0, -0.16 m]}
openings:
  inlet:  {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 159.3 mm}
  outlet: {center: [0.364, 0, -0.46 m], outward: [-1, 0, 0], bore: 107.1 mm}
joints:
  main:
    at: inlet
    bolts: {count: 8, size: M20, circle: 240 mm, class: "8.8"}
    GIVES
allow: {bolt_tension: 160 MPa}
cases:
  empty: {contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}
""".replace("GIVES", GIVES)

BEND = """\
case_file: 1
title: return bend of pipe
fluid: {name: water, temperature: 15 degC}
fitting:
  mass: 62 kg
  mass_center: [0.52, 0, -0.20 m]
  shape:
    start: [0, 0, 0 m]
    direction: [1, 0, 0]
    bore: 159.3 mm
    wall: 4.5 mm
    parts:
      - {kind: elbow, turn: 90 deg, toward: [0, 0, -1], radius: 152 mm, before: 664 mm, after: 78 mm}
      - {kind: elbow, turn: 90 deg, toward: [-1, 0, 0], radius: 152 mm, before: 78 mm, after: 300 mm}
joints:
  main:
    at: inlet
    bolts: {count: 8, size: M20, circle: 240 mm, class: "8.8"}
    GIVES
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  normal: {inlet: {flow_in: 45 L/s, pressure: 30 kPa}, outlet: free_jet}
  empty: {contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}
""".replace("GIVES", GIVES)

ROD = "length: 1.5 m, modulus: 205 GPa"
SOLID = "stiffness: 100 MN/m, allow: 12 kN"


def judged(text: str, *held: str) -> Assessment:
    return assess(parse_case(text + options(A=held), "f"))


def said(result: Assessment) -> dict[str, str]:
    return {each.kind: each.message for each in result.warnings}


def refused(text: str) -> str:
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    return str(caught.value)


# -- rounding is no force ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("along", [0.65, 0.7, 0.9])
def test_report_of_an_upright_hanger_is_written(tmp_path: Path, along: float):
    """Nothing pulls along x: weights and rod are upright, so the joint, which faces x, is asked for no axial force at all."""
    hanger = support("hanger", "H1", (along, 0, 0.084), None, f"rod: M12, {ROD}, allow: 5 kN")
    result = judged(EMPTY, hanger)
    joint = result.cases["empty"].joints["main"]
    assert float(joint.axial) == 0.0
    assert float(joint.axial_demand) == 0.0
    assert float(joint.reaction_force[0]) == 0.0
    code, out = run(tmp_path, EMPTY + options(A=[hanger]), "report", "--no-limits", "-o", str(tmp_path / "r.md"))
    assert (code, "fault of the tool" in out) == (3, False)  # shear allowables are not given
    assert re.search(r"axial demand \(none\)\s+0 N", run(tmp_path, EMPTY + options(A=[hanger]), "check")[1])


KINDS = ("hanger", "rest", "guide", "strut", "tie", "spring_hanger", "anchor")
WAYS = ((0, 0, 1), (0, 0, -1), (1, 0, 0), (-1, 0, 0), (0, 1, 0), (1, 0, 1), (-1, 2, 2))


def random_file(seed: int) -> str:
    """A file whose places and directions are mostly square to each other, so that much of it cancels to nothing."""
    rng = np.random.default_rng(seed)

    def one_of(*values: object) -> object:
        return values[rng.integers(len(values))]

    def place() -> list[float]:
        return [float(one_of(0, 0, 0.1, -0.3, 0.7, 1.3)) for _ in range(3)]  # type: ignore[arg-type]

    held = []
    for number in range(rng.integers(1, 4)):
        kind = str(one_of(*KINDS))
        terms = f"stiffness: {10 ** rng.uniform(4, 9):.4g} N/m, allow: 50 kN"
        if kind == "spring_hanger":
            terms = f"set_load: {one_of('0 N', '600 N')}, allow: 50 kN"
        elif kind == "anchor":
            six = "{axial: 1 MN/m, shear: 3 MN/m, bending: 20 kN*m/rad, torsion: 7 kN*m/rad}"
            terms = f"six_way: {six}, allow: {{force: 50 kN, moment: 9 kN*m}}"
        else:
            terms += str(one_of("", ", gap: 0.01 mm", ", set_load: 3 kN"))
            terms += ", friction: 0.3" if kind == "rest" else ""
        held.append(support(kind, f"s{number}", place(), WAYS[rng.integers(len(WAYS))], terms))
    outward = one_of((-1, 0, 0), (0, 0, -1), (-1, -1, 0), (-1, 2, -2))
    text = EMPTY.replace("inlet:  {center: [0, 0, 0 m], outward: [-1, 0, 0]", f"inlet:  {{center: {triple(place(), 'm')}, outward: {triple(outward)}")  # type: ignore[arg-type]  # fmt: skip
    text = text.replace("mass_center: [0.52, 0, -0.20 m]", f"mass_center: {triple(place(), 'm')}")
    text = text.replace("    at: inlet\n", "    at: inlet\n    reference: [1, 2, 4]\n")
    soft = float(one_of(1e-3, 1, 1e3))  # type: ignore[arg-type]
    gives = stiffness(f"{30e6 * soft} N/m", f"{20e6 * soft} N/m", f"{25e4 * soft} N*m/rad", f"{6e5 * soft} N*m/rad")
    text = text.replace(GIVES, gives)
    if rng.random() < 0.5:
        text = text.replace("contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}", "inlet: {flow_in: 45 L/s, pressure: 4 MPa}")  # fmt: skip
    return text + options(A=held)


@settings(max_examples=40)
@example(417)  # one joint's moment, that of what rounding drops
@example(2149)  # two parts of a sum that each lost as much
@given(st.integers(0, 10_000))
def test_worked_lines_of_any_supported_file_meet_the_assessment(seed: int):
    """A worked line that cancels to nothing is compared on the scale of what was shared out: it never refuses the report."""
    try:
        result = assess(parse_case(random_file(seed), "f"))
    except StudyError:  # no balance: nothing to report
        return
    assert worked(result).cases["empty"]


TIGHT = "    gasket: {inside: 169 mm, outside: 218 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}\n    tightening: {torque: 20 N*m, nut_factor: 0.2, scatter: 30 %}\n    grip: 48 mm\n    bolt_modulus: 205 GPa\n"


def test_worked_lines_of_a_face_that_opens_all_round():
    """Where the axial demand tears the whole face open, it is pressed nowhere: its greatest pressure is 0, not a pull."""
    text = EMPTY.replace("allow:", f"{TIGHT}allow:").replace("pressure: 0 kPa", "pressure: 9 MPa").replace("free_jet", "capped")  # fmt: skip
    result = assess(parse_case(text, "f"))
    service = result.cases["empty"].joints["main"].service
    assert service is not None
    assert float(np.asarray(service.lift_off_least)) == 1.0
    lines = [step for part in worked(result).cases["empty"] for step in part.steps]
    greatest = [step.result.number for step in lines if step.name == "Greatest face pressure"]
    assert greatest
    assert min(greatest) == 0.0


@given(st.integers(0, 10_000))
def test_taking_rounding_out_moves_nothing_that_counts(seed: int):
    """What is left of force and moment along any axes differs from what was there by no more than a billionth of the scale."""
    rng = np.random.default_rng(seed)
    axis = rng.normal(size=3)
    axis /= np.linalg.norm(axis)
    axes = (axis, *frames.joint_frame(axis, rng.normal(size=3)))
    size = 10 ** rng.uniform(-12, 6, (2, 3))
    force, moment = rng.normal(size=(2, 3)) * size
    scale = action_scale((Load("load", np.array([0.0, 0.0, -1e3]), np.zeros(3)),), [Given(force, moment, np.zeros(3))])
    found = resolved(force, moment, axes, scale)
    np.testing.assert_allclose(found.force, force, rtol=0.0, atol=3e-9 * float(scale.force))
    np.testing.assert_allclose(found.moment, moment, rtol=0.0, atol=3e-9 * float(scale.moment))
    parts = np.array(list(found.actions))
    limits = np.repeat([float(scale.force), float(scale.moment)], 3) * 1e-9
    assert np.all((parts == 0.0) | (np.abs(parts) > limits))


def test_axial_demand_that_cancels_but_for_rounding_is_none():
    assert float(axial_demand(0.1 + 0.2, -0.3)) == 0.0  # 5.6e-17 in floating point
    assert float(axial_demand(1e3, -1e3 + 1e-3)) == pytest.approx(1e-3, rel=1e-6)


# -- least sizes, all together ----------------------------------------------------------------------------------------

TIES = [
    support("tie", f"T{i}", (0.85, y, 0), (-1, 0, 0), "rod: M20, length: 0.85 m, modulus: 205 GPa, allow: {stress: 20 MPa}")
    for i, y in ((1, 0.2), (2, -0.2))
]  # fmt: skip
PULLED = "external:\n  - {name: push, force: [6, 0, 0 kN], at: [0.85, 0, 0 m]}\n"


def test_all_the_least_ones_are_judged_together(tmp_path: Path):
    """What is told of them is what the file itself gives with those sizes written into it."""
    text = EMPTY.replace("bolt_tension: 160 MPa", "bolt_tension: 160 MPa, bolt_shear: 95 MPa") + PULLED  # fmt: skip
    path = tmp_path / "a.yaml"
    path.write_text(text + options(A=TIES))
    option = json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)["options"]["A"]
    found, sizes = option["least_together"], option["least_together"]["sizes"]
    assert set(sizes) == {"T1", "T2"}
    assert "M20" not in sizes.values()
    path.write_text(
        text + options(A=[t.replace("M20", sizes[name]) for t, name in zip(TIES, ("T1", "T2"), strict=True)])
    )
    small = json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)["options"]["A"]
    assert found["verdict"] == small["verdict"]
    for key in ("joint_axial_N", "joint_shear_N", "joint_moment_Nm", "joint_torsion_Nm"):
        assert found[key] == pytest.approx(small[key], rel=1e-9, abs=1e-9)
    assert found["joint_axial_N"] > 1.05 * option["joint_axial_N"]  # softer ties leave more to the joint
    _, out = run(tmp_path, text + options(A=TIES), "supports")
    assert "each size with its own stiffness, the others as given" in out
    told = re.search(
        rf"All the least ones together \(T1 {sizes['T1']}, T2 {sizes['T2']}\): (holds|FAILS).*?as given", out
    )
    assert told is not None
    assert (told[1] == "holds") == (found["verdict"] == "holds")
    assert "Greatest on the joint: axial" in told[0]


def test_nothing_is_told_of_least_ones_that_are_there_already(tmp_path: Path):
    text = EMPTY + options(
        A=[support("hanger", "H1", (0.7, 0, 0.084), None, f"rod: M8, {ROD}, allow: {{stress: 80 MPa}}")]
    )
    path = tmp_path / "a.yaml"
    path.write_text(text)
    option = json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)["options"]["A"]
    smaller = [tried for tried in option["sizing"][0]["tried"] if tried["area_m2"] < 32e-6 and tried["holds"]]
    assert (option["least_together"] is None) == (not smaller)


# -- hanger rods by the table -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inside", "nps", "rod"),
    [
        (154.1, "6", "3/4 in"),  # MSS SP-58, least single rods; insides of standard pipe, ASME B36.10M
        (159.3, "6", "3/4 in"),
        (102.3, "4", "5/8 in"),
        (77.9, "3", "1/2 in"),
        (52.5, "2", "3/8 in"),
        (202.7, "8", "7/8 in"),
    ],
)
def test_least_rod_of_the_pipe_that_fits_a_bore(inside: float, nps: str, rod: str):
    found = least_hanger_rod(inside / 1e3)
    assert found is not None
    assert (found.nps, found.rod) == (nps, rod)


@pytest.mark.parametrize("inside", [5.0, 175.0, 900.0])
def test_no_rod_where_no_pipe_fits(inside: float):
    """175 mm is more than the outside of NPS 6 (168.3 mm) and less than any inside of NPS 8 (193.7 mm at schedule 80)."""
    assert least_hanger_rod(inside / 1e3) is None


@pytest.mark.parametrize(("rod", "thin"), [("M8", True), ("M16", True), ("M20", False), ("3/4 in", False)])
def test_rod_thinner_than_the_tables_is_told(rod: str, thin: bool):
    """NPS 6 asks for 3/4 in, 19.05 mm."""
    found = said(judged(EMPTY, support("hanger", "H1", (0.7, 0, 0.084), None, f"rod: {rod}, {ROD}, allow: 5 kN")))
    assert (THIN_ROD in found) == thin
    if thin:
        assert f"{rod} is thinner than 3/4 in" in found[THIN_ROD]
        assert "NPS 6" in found[THIN_ROD]
        assert "hanger_rod_least, confirmed" in found[THIN_ROD]
        assert "bore of 'inlet', 159.3 mm" in found[THIN_ROD]


def test_least_rod_by_stress_that_the_table_would_not_take_is_told_beside_it(tmp_path: Path):
    hanger = support("hanger", "H1", (0.7, 0, 0.084), None, f"rod: M20, {ROD}, allow: {{stress: 80 MPa}}")
    _, out = run(tmp_path, EMPTY + options(A=[hanger]), "supports")
    assert re.search(r"the least whose own checks hold is (M\d+);.*?; \1 is thinner than 3/4 in", out)
    tie = hanger.replace("kind: hanger", "kind: tie").replace("allow:", "toward: [0, 0, 1], allow:")
    assert "thinner than" not in run(tmp_path, EMPTY + options(A=[tie]), "supports")[1]


# -- supports that run through a jet or the fitting -------------------------------------------------------------------

PIPE_RADIUS, BORE_RADIUS = 0.08415, 0.07965
LEG = 0.664 + 0.152  # of the upright leg along x
OUTLET = np.array([LEG - 0.152 - 0.300, 0.0, -0.46])


def test_strut_through_the_jet_is_told():
    foot = OUTLET + np.array([-0.2, 0.0, -0.5])  # below the jet, 0.2 m from the outlet; its point stands above the jet
    at = OUTLET + np.array([-0.2, 0.0, 0.2])
    strut = support("strut", "S1", at, (at - foot) / 0.7, f"length: 0.7 m, {SOLID}")
    found = said(judged(BEND, strut))
    assert [each.kind for each in judged(BEND, strut).warnings if each.doubtful and each.kind == IN_JET] == [IN_JET]
    assert "runs through the free jet of 'outlet', 200 mm from its end" in found[IN_JET]
    assert IN_JET not in said(
        judged(BEND.replace("outlet: free_jet", "outlet: capped").replace("45 L/s", "0 L/s"), strut)
    )


@pytest.mark.parametrize(
    ("kind", "at", "toward", "length", "told"),
    [
        ("hanger", (0.4, 0, 0.084), (0, 0, 1), 1.0, None),
        ("hanger", (0.4, 0, 0.0), (0, 0, 1), 1.0, None),  # on the axis
        ("hanger", (0.6, 0, -0.46), (0, 0, 1), 1.0, "from its own point"),  # up through the upper leg
        ("hanger", (0.6, 0, -0.544), (0, 0, 1), 0.2, "far side"),
        ("rest", (0.6, 0, -0.544), (0, 0, 1), 1.2, None),
        ("rest", (0.4, 0, -0.084), (0, 0, 1), 1.2, "from its own point"),  # the lower leg is in the way of its post
        ("tie", (LEG + 0.05, 0, -0.2), (1, 0, 0), 1.0, None),
        ("tie", (0.4, 0.0841, 0), (0, 1, 0), 1.0, None),
    ],
)
def test_line_through_the_fitting_is_told(kind: str, at: tuple[float, ...], toward: tuple[float, ...], length: float, told: str | None):  # fmt: skip
    result = judged(BEND, support(kind, "P1", at, toward, f"length: {length} m, {SOLID}"))
    found = said(result)
    assert (THROUGH in found) == (told is not None)
    doubted = [each.kind for each in result.warnings if each.doubtful]
    assert (THROUGH in doubted) == (
        told == "from its own point"
    )  # where it cannot stand, which the verdict must not hide
    if told:
        assert told in found[THROUGH]


def test_line_through_the_end_of_an_opening_is_told_without_a_shape():
    up = support("strut", "S1", (0.5, 0, -0.46), (1, 0, 0), f"length: 0.6 m, {SOLID}")  # through the outlet, 0.364
    assert "runs through the end of 'outlet' 136 mm" in said(judged(EMPTY, up))[THROUGH]
    beside = up.replace("-0.46", "-0.4")  # 60 mm beside a radius of 53.55 mm
    assert THROUGH not in said(judged(EMPTY, beside))


def centerline() -> np.ndarray:
    """Points of the centerline of the bend, and of the jet behind it, by hand."""
    t = np.linspace(0, np.pi / 2, 60)[:, None]
    x, z = np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    upper, lower = np.array([0.664, 0, -0.152]), np.array([0.664, 0, -0.308])
    bends = [upper + 0.152 * (np.sin(t) * x + np.cos(t) * z), lower + 0.152 * (np.cos(t) * x - np.sin(t) * z)]
    straight = [np.linspace((0, 0, 0), (0.664, 0, 0), 200), np.linspace((LEG, 0, -0.152), (LEG, 0, -0.308), 60)]
    return np.concatenate([*bends, *straight, np.linspace((0.664, 0, -0.46), (-9, 0, -0.46), 3000)])


LINE = centerline()


@settings(max_examples=25)
@given(st.integers(0, 100_000))
def test_support_clear_by_more_than_the_radius_is_never_told(seed: int):
    """Its line keeps from centerline and jet by more than the outside radius, at all of its points."""
    rng = np.random.default_rng(seed)
    at, way, length = rng.uniform((0, -0.4, -0.8), (1.2, 0.4, 0.3)), rng.normal(size=3), rng.uniform(0.2, 2.0)
    way /= np.linalg.norm(way)
    points = at - np.linspace(0, length, 200)[:, None] * way
    away = np.min(np.linalg.norm(points[:, None] - LINE, axis=-1))
    found = said(judged(BEND, support("strut", "S1", at, way, f"length: {length!r} m, {SOLID}")))
    if away > PIPE_RADIUS + 0.003:  # 3 mm: the chords of a bend and the points here
        assert THROUGH not in found
        assert IN_JET not in found


# -- what a file may say ----------------------------------------------------------------------------------------------


def test_gap_below_nothing_is_pointed_to_the_set_load():
    text = EMPTY + options(A=[support("rest", "P1", (0.6, 0, -0.5), None, f"gap: -2 mm, {SOLID}")])
    assert "must not be less than 0" in refused(text)
    assert "set against the fitting has a set_load" in refused(text)
    assert "write settles, with a minus" in refused(text)
    assert "did you mean 'settles'" in refused(text.replace("gap: -2 mm", "settlement: 2 mm"))


def test_settlement_by_hand_is_what_settles_and_a_set_load_give():
    """A joint that sinks by s onto a rest adds s k j/(k + j), j the joint's give at the point; so does a set_load of s k."""
    s, k, kj, arm = 1e-3, 1e6, (20e6, 250e3), 0.6
    j = 1.0 / (1.0 / kj[0] + arm**2 / kj[1])

    def push(terms: str) -> float:
        rest = support("rest", "P1", (arm, 0, 0), None, f"stiffness: 1 MN/m, allow: 90 kN{terms}")
        return float(judged(EMPTY, rest).cases["empty"].supports["P1"].push)

    assert push(f", set_load: {s * k} N") - push("") == pytest.approx(s * k * j / (k + j), rel=1e-9)
    assert push(f", settles: {-s} m") - push("") == pytest.approx(s * k * j / (k + j), rel=1e-9)
    assert "a joint that sinks by that onto it as -2 mm" in said(judged(EMPTY, support("rest", "P1", (arm, 0, 0), None, SOLID)))["thermal growth not considered"]  # fmt: skip


@pytest.mark.parametrize("surge", ["4 bar", "{rise: 4 bar}", "{pressure_rise: 4 bar}"])
def test_known_rise_of_a_surge_is_pointed_to_the_pressure(surge: str):
    told = refused(EMPTY.replace("pressure: 0 kPa}", f"pressure: 0 kPa, surge: {surge}}}"))
    assert "a rise that is known is added to the pressure of the case" in told
    assert "missing" not in told


def test_other_keys_of_a_surge_are_still_judged():
    told = refused(EMPTY.replace("pressure: 0 kPa}", "pressure: 0 kPa, surge: {rise: 4 bar, stopped_flow: 2 kg}}"))
    assert "a rise that is known" in told
    assert "stopped_flow" in told


@pytest.mark.parametrize(
    ("at", "offered"),
    [
        ("[0.7, 0, 0.084]", "[0.7, 0, 0.084 m]"),
        ("[700, 0, 84]", "[700, 0, 84 mm]"),
        ("0.7 0 0.084", "[0.7, 0, 0.084 m]"),
    ],
)
def test_place_without_a_unit_is_offered_the_likely_one(at: str, offered: str):
    text = EMPTY + options(A=[support("rest", "P1", (0.5, 0, 0), None, SOLID)])
    assert offered in refused(text.replace("[0.5, 0.0, 0.0 m]", at))


# -- words ------------------------------------------------------------------------------------------------------------


def test_friction_that_loads_its_own_support_more_is_told():
    def rubbed(friction: float) -> Assessment:
        terms = f"stiffness: 100 MN/m, friction: {friction}, allow: 12 kN"
        return judged(BEND, support("rest", "P1", (0.664, 0, -0.544), None, terms))

    def greatest(made: Assessment) -> float:
        return max(float(np.linalg.norm(case.supports["P1"].force)) for case in made.cases.values())

    with_it, without = rubbed(0.3), rubbed(0.0)
    told = said(with_it)["friction relieves the joint"]
    raised = re.search(
        r"raises the greatest force of P1, along and across together, from ([\d.,]+) N to ([\d.,]+) N", told
    )
    assert greatest(with_it) > 1.05 * greatest(without)
    assert raised is not None
    shown = [float(each.replace(",", "")) for each in raised.groups()]
    assert shown == pytest.approx([greatest(without), greatest(with_it)], rel=5e-4)  # four figures


def test_options_alike_in_margin_are_told_by_the_moment_that_differs(tmp_path: Path):
    """Bolt shear decides and hardly changes; the moment on the joint does."""
    post = support("rest", "P1", (0.664, 0, -0.544), None, "stiffness: 100 MN/m, allow: 12 kN")
    tight = "    tightening: {torque: 150 N*m, nut_factor: 0.2, scatter: 30 %}\n    grip: 48 mm\n    bolt_modulus: 205 GPa\n"
    text = BEND.replace("allow:", f"{tight}allow:")
    path = tmp_path / "a.yaml"
    path.write_text(text + options(post=[post]))
    made = json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)["options"]
    used = sorted(each["governing"]["utilization"] for each in made.values())
    moments = [each["joint_moment_Nm"] for each in made.values()]
    _, out = run(tmp_path, text + options(post=[post]), "supports")
    assert used[1] <= 1.05 * used[0]
    assert max(moments) > 1.05 * min(moments)
    assert "are alike; what differs is the greatest moment on the joint" in out


def test_subscripts_of_headings_are_set_as_such():
    assert with_subscripts("the plane a_0 + a_y·y") == "the plane a<sub>0</sub> + a<sub>y</sub>·y"
    assert with_subscripts("as 's_1' & so") == "as &#x27;s_1&#x27; &amp; so"
