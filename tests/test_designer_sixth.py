"""A designer's sixth trial: torsion left out of moments, posts beside the pipe, ties upside down, labels and hints that misled."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_support_data import NEEDS_BRACKET
from anchorsize.casefile import CaseFileError
from anchorsize.cli import main
from anchorsize.present.pictures import face_alt
from anchorsize.present.report.further import supports_section
from anchorsize.studies.supports import compare
from tests.support_cases import joint, options, pulled, stiffness, still, support
from tests.support_cases import printed as run

ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
GIVING = stiffness("40 MN/m", "2 MN/m", "60 kN*m/rad", "60 kN*m/rad")
PIPE = "pipe_behind: {outside: 219.1 mm, wall: 6.3 mm, length: 2 m, modulus: 205 GPa, poisson: 0.3}"
X, Y, Z = np.eye(3)
HELD = "stiffness: 1 MN/m, allow: 90 kN"

ARM = """\
case_file: 1
title: discharge arm (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  mass: 110 kg
  mass_center: [0.95, 0, -0.05 m]
  contents: 55 L
  contents_center: [0.9285, 0, -0.028 m]
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 206.5 mm}
  outlet: {center: [1.814, 0, -0.412 m], outward: [0.5, 0, -0.866], bore: 80 mm}
joints:
  wall:
    at: inlet
    bolts: {count: 8, size: M20, circle: 295 mm}
    pipe_behind: {outside: 219.1 mm, wall: 6.3 mm, length: 1.5 m, modulus: 205 GPa, poisson: 0.3}
    allow: {shear: 4 kN, bending: 3.5 kN*m}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  full: {inlet: {flow_in: 95 L/s, pressure: from losses, loss_coefficient: 0.1}, outlet: free_jet}
  half: {inlet: {flow_in: 47.5 L/s, pressure: from losses, loss_coefficient: 0.1}, outlet: free_jet}
  shut: {inlet: {flow_in: 0 L/s, pressure: 5 bar}, outlet: capped}
  drained: {contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}
supports:
  held:
"""
TIE = "    - {kind: tie, name: T1, at: [1.5, 0, 0.1 m], toward: TOWARD, rod: M16, length: 1.875 m, modulus: 205 GPa, allow: {stress: 100 MPa}}\n"
REST = "    - {kind: rest, name: P1, at: AT, stiffness: 20 MN/m, allow: 50 kN}\n"
BASE = (
    "    - kind: thrust_block\n      name: B1\n      at: [1.65, 0, 0.05 m]\n      toward: [-0.5, 0, 0.866]\n      block: {length: 0.8 m, "
    "width: 0.8 m, height: 0.9 m, density: 2400 kg/m^3, friction: 0.4, thrust_height: 0.5 m, subgrade_modulus: 30 MN/m^3}\n"
    "      allow: {bearing: 100 kPa, bearing_factor: 1.5, sliding_factor: 1.5, overturning_factor: 1.5, uplift_factor: 1.2}\n"
)


def said(tmp_path: Path, text: str, command: str = "supports", *words: str) -> str:
    return " ".join(run(tmp_path, text, command, *words)[1].split())


def machine(tmp_path: Path, text: str, command: str = "supports") -> Any:
    return json.loads(run(tmp_path, text, command, "--json")[1])


def rest(at: str) -> str:
    return ARM + REST.replace("AT", at)


def tie(toward: str) -> str:
    return ARM + TIE.replace("TOWARD", toward)


# -- the moment on the joint holds its torsion -------------------------------------------------------------------------


def twisted(holds: str = GIVING) -> str:
    """900 N down, 1 m out along the axis and 0.5 m beside it: 900 N·m of bending and 450 N·m of torsion."""
    return still(options(A=[support("strut", "S", X, Y, HELD)]), pulled((-900 * Z, X + 0.5 * Y)), joint(holds), ALLOW)


def test_moment_on_the_joint_is_bending_and_torsion_together_by_hand(tmp_path: Path):
    alone = machine(tmp_path, twisted())["options"]["bolts alone"]
    assert alone["joint_bending_Nm"] == pytest.approx(900.0, rel=1e-9)
    assert alone["joint_torsion_Nm"] == pytest.approx(450.0, rel=1e-9)
    assert alone["joint_moment_Nm"] == pytest.approx(math.hypot(900.0, 450.0), rel=1e-9)  # 1006.2 N·m
    text = said(tmp_path, twisted())
    assert re.search(r"bolts alone \w+ [\d. -]+? 1,006 N·m", text)
    assert re.search(r"bolts alone 0 900\.0 900\.0 450\.0 still still still", text)
    assert "Greatest moment: on the joint, bending and torsion together." in text


def test_moment_in_the_pipe_holds_its_torsion_too(tmp_path: Path):
    """The fixed end is 3 m from the load along the axis: 2700 N·m of bending with the same 450 N·m of torsion."""
    text = twisted(PIPE)
    alone = machine(tmp_path, text)["options"]["bolts alone"]
    assert alone["pipe_moment_Nm"] == pytest.approx(math.hypot(2700.0, 450.0), rel=1e-9)
    assert "moment, bending and torsion together, of up to 2737 N·m" in said(tmp_path, text, "check", "--option", "A")


def test_moments_are_those_that_check_tells(tmp_path: Path):
    """A post beside the pipe twists the joint: no case of check has a greater moment than the comparison tells."""
    text = rest("[1.0, 0.9, -0.11 m]")
    option = machine(tmp_path, text)["options"]["held"]
    cases = json.loads(run(tmp_path, text, "check", "--option", "held", "--json")[1])["cases"]
    on_joint = {name: case["joints"]["wall"] for name, case in cases.items()}
    moments = {name: math.hypot(each["bending_Nm"], each["torsion_Nm"]) for name, each in on_joint.items()}
    assert option["joint_moment_Nm"] == pytest.approx(max(moments.values()), rel=1e-12)
    assert option["joint_moment_Nm"] > 1.1 * option["joint_bending_Nm"]
    rows = list(csv.DictReader(io.StringIO(run(tmp_path, text, "supports", "--csv")[1])))
    for row in (row for row in rows if row["option"] == "held"):
        assert float(row["joint_moment_Nm"]) == pytest.approx(moments[row["case"]], rel=1e-12)
        assert float(row["joint_bending_Nm"]) == on_joint[row["case"]]["bending_Nm"]


def test_table_of_the_joint_has_torsion_and_fits(tmp_path: Path):
    code, out = run(
        tmp_path, rest("[1.0, 0.9, -0.11 m]").replace("  drained:", "  drained and open at the end:"), "supports"
    )
    assert code == 0
    assert max(len(line) for line in out.splitlines()) <= 80
    heads = [line for line in out.splitlines() if "axial on" in line]
    assert all("bending" in line and "torsion" in line for line in heads)
    assert len(heads) == 1
    section = supports_section(compare(parse_case(rest("[1.0, 0.9, -0.11 m]"), "a.yaml")), None)
    grid = next(block for block in section.blocks if getattr(block, "name", "") == "support_on_joint")
    assert [head.split()[0] for head in grid.headers[1::2]] == ["axial", "shear", "bending", "torsion"]


@pytest.mark.parametrize(
    ("allow", "free"),
    [
        ("shear: 4 kN, bending: 3.5 kN*m", "axial force and torsion"),
        ("force: 40 kN, pressure_thrust: included", "bending and torsion"),
        ("moment: 4 kN*m, shear: 4 kN", "axial force"),
        ("axial: 40 kN, pressure_thrust: included", "shear, bending and torsion"),
    ],
)
def test_actions_without_a_limit_are_told(tmp_path: Path, allow: str, free: str):
    text = rest("[1.0, 0, -0.11 m]").replace("shear: 4 kN, bending: 3.5 kN*m", allow)
    assert f"no limit was given for {free}." in said(tmp_path, text, "check", "--option", "held")


def test_no_action_is_named_where_all_have_a_limit(tmp_path: Path):
    text = rest("[1.0, 0, -0.11 m]").replace("shear: 4 kN, bending: 3.5 kN*m", "force: 40 kN, moment: 4 kN*m")
    assert "no limit was given" not in said(tmp_path, text, "check", "--option", "held")


# -- a support beside the pipe -----------------------------------------------------------------------------------------


def brackets(text: str) -> list[str]:
    return [
        warning.message
        for warning in assess(parse_case(text, "a.yaml"), "held").warnings
        if warning.kind == NEEDS_BRACKET
    ]


@pytest.mark.parametrize(
    ("at", "where"), [("[1.0, 0.9, 0 m]", "beside"), ("[1.0, 0.3, -0.11 m]", "beside"), ("[1.0, 0, -0.9 m]", "below")]
)
def test_post_off_the_pipe_needs_a_bracket(tmp_path: Path, at: str, where: str):
    (message,) = brackets(rest(at))
    assert f"{where} the pipe's centerline, as far as the openings tell" in message
    assert "a bracket or arm is needed there, and is not judged." in message
    assert "bracket to P1 not judged" in said(tmp_path, rest(at)).partition("Greatest margin")[0]


def test_distance_from_the_axis_of_an_opening_by_hand():
    """0.9 m beside the axis of the inlet, in its plane, before anything else is nearer."""
    (message,) = brackets(rest("[0.1, 0.9, 0 m]"))
    assert "stands 900 mm beside" in message


@pytest.mark.parametrize("at", ["[1.0, 0, -0.11 m]", "[1.0, 0.1, 0 m]", "[1.5, 0, 0.1 m]", "[1.8, 0, -0.38 m]"])
def test_post_at_the_pipe_needs_none(at: str):
    assert brackets(rest(at)) == []


def test_shape_tells_the_distance_without_doubt_and_blocks_reach_over_themselves():
    shape = (
        "fitting:\n  mass: 110 kg\n  mass_center: [0.95, 0, -0.05 m]\n  shape:\n    start: [0, 0, 0 m]\n    direction: [1, 0, 0]\n"
        "    bore: 206.5 mm\n    parts:\n      - {kind: straight, length: 1.4 m}\n"
        "      - {kind: elbow, turn: 60 deg, toward: [0, 0, -1], radius: 305 mm}\n      - {kind: nozzle, length: 300 mm, end_bore: 80 mm}\n"
    )
    text = shape.join([ARM.partition("fitting:")[0], "joints:" + ARM.partition("joints:")[2]])
    (message,) = brackets(text + REST.replace("AT", "[1.0, 0.5, 0 m]"))
    assert "stands 500 mm beside the pipe's centerline: a bracket" in message
    assert brackets(text + REST.replace("AT", "[1.0, 0.1, -0.05 m]")) == []
    assert brackets(text + BASE.replace("[1.65, 0, 0.05 m]", "[1.0, 0, -0.45 m]")) == []


# -- pressures that follow from losses ----------------------------------------------------------------------------------


def test_pressures_from_losses_are_not_called_held(tmp_path: Path):
    text = rest("[1.0, 0, -0.11 m]")
    curve = said(tmp_path, text, "curve", "--case", "full", "--to", "142.5 L/s", "--option", "held")
    assert "pressures from losses, as in the file" in curve
    assert "pressures held" not in curve
    limits = said(tmp_path, text, "limits", "--option", "held")
    assert "Greatest flow [L/s]; pressures from losses, as in the file" in limits
    page = tmp_path / "r.html"
    assert (
        CliRunner().invoke(main, ["report", str(tmp_path / "case.yaml"), "--option", "held", "-o", str(page)]).exit_code
        == 0
    )
    assert "pressures held" not in page.read_text()
    assert "pressures from losses, as in the file" in page.read_text()


def test_pressures_given_are_held_and_cases_apart_are_told_apart(tmp_path: Path):
    given = "full: {inlet: {flow_in: 95 L/s, pressure: 2 bar}"
    text = rest("[1.0, 0, -0.11 m]")
    mixed = re.sub(r"full: \{inlet: \{[^}]*\}", given, text)
    curve = said(tmp_path, mixed, "curve", "--case", "full", "--to", "142.5 L/s", "--option", "held")
    assert "pressures held; axial" in curve
    limits = said(tmp_path, mixed, "limits", "--option", "held")
    assert "pressures held; those from losses, as in the file, in 'half'" in limits


# -- a tie turned the wrong way ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("toward", ["[-0.8, 0, -0.6]", "[0.8, 0, -0.6]"])
def test_tie_upside_down_seems_turned(tmp_path: Path, toward: str):
    out = said(tmp_path, tie(toward))
    assert "Tie 'T1' of 'held' seems turned the wrong way: turn toward round" in out
    assert (
        "Turned round it would carry there: turn toward round, or put it on the other side, unless it is meant for 'full' alone."
        in out
    )
    states = machine(tmp_path, tie("[-0.8, 0, 0.6]"))["options"]["held"]["supports"]["T1"]["states"]
    assert [states[case] for case in ("half", "shut", "drained")] == ["carrying"] * 3  # as said: turned, it does


def test_tie_that_faces_the_loads_is_not_called_turned(tmp_path: Path):
    assert "turned the wrong way" not in said(tmp_path, tie("[-0.8, 0, 0.6]"))


def test_tie_slack_in_most_cases_that_carries_the_greatest_load_is_not_called_turned(tmp_path: Path):
    """Idle with little load in three cases; with 1214 N = 1.5 ρ Q v of a jet it takes what would bend the joint, turned round it does not."""
    case = """\
case_file: 1
title: jet on a riser (invented)
fluid: {name: brine, density: 1030 kg/m^3}
fitting: {mass: 62 kg, mass_center: [0.22, 0, 0.75 m], contents: 26 L, contents_center: [0.14, 0, 0.70 m]}
openings:
  inlet:  {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 150 mm}
  outlet: {center: [0.60, 0, 1.20 m], outward: [1, 0, 0], bore: 70 mm}
joints:
  foot:
    at: inlet
    reference: [1, 0, 0]
    bolts: 8 x M20 on 240 mm
    pipe_behind: {outside: 168.3 mm, wall: 7.1 mm, length: 0.8 m, modulus: 205 GPa, poisson: 0.3}
allow: {bolt_tension: 140 MPa, bolt_shear: 80 MPa}
cases:
  spouting: {inlet: {flow_in: 55 L/s, pressure: 130 kPa}, outlet: free_jet}
  start: {dynamic_factor: 1.5, inlet: {flow_in: 55 L/s, pressure: 130 kPa}, outlet: free_jet}
  shut: {inlet: {flow_in: 0 L/s, pressure: 400 kPa}, outlet: capped}
  raised: {inlet: {flow_in: 0 L/s, pressure: 900 kPa}, outlet: capped}
  empty: {contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}
supports:
  none: []
  held:
    - {kind: tie, name: T1, at: [0.10, 0, 1.10 m], toward: TOWARD, rod: M16, length: 1.6 m, modulus: 205 GPa, allow: {stress: 100 MPa}}
"""
    written = case.replace("TOWARD", "[0.8, 0, -0.6]")
    most, states = [], []
    for text in (written, case.replace("TOWARD", "[-0.8, 0, 0.6]")):
        told = machine(tmp_path, text)["options"]["held"]["supports"]["T1"]
        most.append(max(each["along_N"] for each in told["cases"].values()))
        states.append(told["states"])
    idle = [[name for name, state in each.items() if state == "slack"] for each in states]
    assert idle == [["shut", "raised", "empty"], ["spouting", "start"]]
    assert most[0] > 1214.0 > 5.0 * most[1]
    assert "turned the wrong way" not in said(tmp_path, written)


# -- hints and reasons -------------------------------------------------------------------------------------------------


def test_contents_beside_a_shape_are_named_with_their_center_at_once():
    shape = "  shape: {kind: straight, bore: 200 mm, length: 1 m}\n"
    base = re.sub(r"openings:\n.*?joints:", "joints:", ARM, flags=re.S).replace("fitting:\n", "fitting:\n" + shape)
    text = base + REST.replace("AT", "[0.5, 0, -0.1 m]")
    with pytest.raises(CaseFileError) as found:
        parse_case(text, "a.yaml")
    assert (
        "contents and contents_center beside shape, which gives them (take them out; for a volume of your own"
        in str(found.value)
    )
    with pytest.raises(CaseFileError) as left:
        parse_case(text.replace("  contents: 55 L\n", ""), "a.yaml")
    assert "contents_center beside shape, which gives them (take it out" in str(left.value)
    assert "given without it" not in str(left.value)
    parse_case(
        text.replace("  contents: 55 L\n", "").replace("  contents_center: [0.9285, 0, -0.028 m]\n", ""), "a.yaml"
    )


def test_floor_of_a_block_is_told(tmp_path: Path):
    out = said(tmp_path, ARM + BASE)
    assert "the least height that holds is 500 mm" in out
    assert ", not less than its thrust_height of 500 mm; " in out
    # half as high a thrust lets the block be lower, as said
    lower = said(tmp_path, ARM + BASE.replace("thrust_height: 0.5 m", "thrust_height: 0.25 m"))
    assert float(re.search(r"least height that holds is (\d+) mm", lower)[1]) < 500.0


def test_smallest_rod_tried_is_told_as_such(tmp_path: Path):
    assert re.search(
        r"least whose own checks hold is M6; [^(]*, and it is the smallest tried \(",
        said(tmp_path, tie("[-0.8, 0, 0.6]")),
    )
    heavy = tie("[-0.8, 0, 0.6]").replace("stress: 100 MPa", "stress: 20 MPa")
    assert "the least whose own checks hold is M" in said(tmp_path, heavy)
    assert "the smallest tried" not in said(tmp_path, heavy)


def test_a_nearly_even_face_says_so():
    tight = (
        "    gasket: {inside: 220 mm, outside: 273 mm, thickness: 2 mm, modulus: 600 MPa, m: 2, y: 11 MPa}\n    grip: 52 mm\n"
        "    bolt_modulus: 205 GPa\n    tightening: {torque: TORQUE N*m, nut_factor: 0.2, scatter: 25 %}\n    pipe_behind"
    )
    text = rest("[1.0, 0, -0.11 m]").replace("    pipe_behind", tight, 1)

    def words(torque: str, case: str) -> str:
        found = face_alt(assess(parse_case(text.replace("TORQUE", torque), "a.yaml"), "held"), case, "wall")
        assert found is not None
        return found

    low, high = re.search(r"nearly even: from ([\d.]+) MPa at \S+ to ([\d.]+) MPa", words("300", "drained")).groups()
    assert 0.9 * float(high) <= float(low) < float(high)
    assert "nearly even" not in words("60", "full")
