"""What an option takes off joint and pipe beside its margin, how far the fitting moves, and blocks that hold as told. Cases invented."""

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

from anchorsize import CaseFileError, assess, parse_case
from anchorsize.present.words import figure
from anchorsize.studies.support_size import size_supports
from tests.support_cases import PIPE, guided, joint, on_one_line, options, printed, pulled, stiffness, still, support

X, Y, Z = np.eye(3)
GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
STRUT = "stiffness: 1 MN/m, allow: 9 kN"
TIGHT = (
    "gasket: {inside: 110 mm, outside: 140 mm, thickness: 2 mm, modulus: 500 MPa}\n    grip: 40 mm\n    bolt_modulus: 205 GPa\n"
    "    tightening: {preload: 40 kN}"
)


def arm(load: np.ndarray = -900 * Z, at: np.ndarray = X, holds: str = PIPE, **named: list[str]) -> str:
    return still(options(**named), pulled((load, at)), joint(holds), ALLOW)


def tightened(text: str) -> str:
    """The joint as tightened, its bolts of a class, so that preload is nearly all of their stress."""
    return text.replace("first_at: 45 deg}\n", f'first_at: 45 deg, class: "8.8"}}\n    {TIGHT}\n')


def said(tmp_path: Path, text: str, command: str = "supports", *words: str) -> str:
    return on_one_line(tmp_path, text, command, *words)[1]


def machine(tmp_path: Path, text: str) -> dict[str, Any]:
    return json.loads(printed(tmp_path, text, "supports", "--json")[1])["options"]


# -- moments and movement ---------------------------------------------------------------------------------------------


def test_moments_of_a_lone_cantilever_and_of_one_propped_at_its_end(tmp_path: Path):
    """900 N, 1 m out from the joint, 3 m from the fixed end of 2 m of pipe; a strut there takes S off both moments."""
    found = machine(tmp_path, arm(A=[support("strut", "S", X, Z, STRUT)]))
    alone, propped = found["bolts alone"], found["A"]
    taken = propped["supports"]["S"]["greatest_N"]
    assert 0 < taken < 900
    for option, load in ((alone, 900.0), (propped, 900.0 - taken)):
        assert option["joint_moment_Nm"] == pytest.approx(load * 1.0, rel=1e-9)
        assert option["pipe_moment_Nm"] == pytest.approx(load * 3.0, rel=1e-9)
        assert option["pipe_moment_case"] == option["movement_case"] == "still"
        assert option["pipe_judged"] is False
    assert propped["movement_m"] == pytest.approx(taken / 1e6, rel=1e-9)  # the point of the strut moves most, along it


def test_movement_without_any_support_by_hand(tmp_path: Path):
    """900 N at 1 m on a joint of 1 MN/m and 1 MN·m/rad: 0.9 mm and, by its turn, as much again."""
    found = machine(tmp_path, arm(holds=GIVING, A=[support("strut", "S", X, Z, STRUT)]))
    assert found["bolts alone"]["movement_m"] == pytest.approx(1.8e-3, rel=1e-9)
    assert found["bolts alone"]["pipe_moment_Nm"] is None
    assert found["bolts alone"]["pipe_judged"] is None
    # The compliance at the strut is 2 per MN of the joint beside 1 of the strut: it takes two thirds, and moves 0.6 mm.
    assert found["A"]["movement_m"] == pytest.approx(0.6e-3, rel=1e-9)
    text = said(tmp_path, arm(holds=GIVING, A=[support("strut", "S", X, Z, STRUT)]))
    assert "The fitting moves at most 1.8 mm, in 'still'." in text.replace("1.800", "1.8")
    assert re.search(r"bolts alone 900\.0 still - - 1\.800 still", text)
    checked = said(tmp_path, arm(holds=GIVING, A=[]), "check")
    assert "The fitting moves at most 1.800 mm: the point of 'load 1'." in checked


def test_movement_far_from_the_origin_and_with_a_joint_that_looks_another_way(tmp_path: Path):
    """Everything moved by 5 m and 7 m: the same movement."""
    text = arm(holds=GIVING, A=[])
    text = text.replace("center: [0, 0, 0 m]", "center: [5, 7, 0 m]").replace(
        "at: [1.0, 0.0, 0.0 m]", "at: [6, 7, 0 m]"
    )
    assert machine(tmp_path, text)["A"]["movement_m"] == pytest.approx(1.8e-3, rel=1e-9)


def test_rigid_joint_tells_no_movement(tmp_path: Path):
    found = machine(tmp_path, arm(holds="", A=[support("strut", "S", X, Z, STRUT)]))
    assert found["A"]["movement_m"] is None
    assert "moves at most" not in said(tmp_path, arm(holds="", A=[]))
    assert "fitting moves" not in said(tmp_path, arm(holds="", A=[]))


def test_supports_alone_tell_the_movement(tmp_path: Path):
    """Free along z at the origin but for a rest of 1 MN/m under 500 N."""
    held = [*guided(strut="1 MN/m"), support("rest", "R", (0, 0, 0), None, "stiffness: 1 MN/m, allow: 9 kN")]
    found = machine(tmp_path, still(options(A=held), pulled((-500 * Z, (0, 0, 0)))))
    assert found["A"]["movement_m"] == pytest.approx(0.5e-3, rel=1e-9)


def test_csv_has_moments_and_movement_of_every_case(tmp_path: Path):
    text = arm(A=[support("strut", "S", X, Z, STRUT)])
    rows = list(csv.DictReader(io.StringIO(printed(tmp_path, text, "supports", "--csv")[1])))
    found = machine(tmp_path, text)
    for row in rows:
        for key in ("joint_moment_Nm", "pipe_moment_Nm", "movement_m"):
            assert float(row[key]) == found[row["option"]][key]


def test_ties_in_margin_are_told_with_what_the_support_does(tmp_path: Path):
    """Preload is nearly all of the bolts' stress: margins tie, while moments on joint and in pipe fall to the same share."""
    text = tightened(arm(load=-90 * Z, A=[support("strut", "S", X, Z, STRUT)]))
    found, out = machine(tmp_path, text), said(tmp_path, text)
    assert "No option with supports gains margin over 'bolts alone'." in out
    at_joint, at_end = (re.escape(figure(found["A"][key])) for key in ("joint_moment_Nm", "pipe_moment_Nm"))
    assert re.search(
        rf"Margins tie, because preload decides; but with 'A' in place of 'bolts alone' the moment on the joint falls from 90\.00 N·m to {at_joint} N·m "
        rf"and the moment in the pipe behind, at its fixed end, falls from 270\.0 N·m to {at_end} N·m\. The pipe is not judged",
        out,
    )
    assert "more supports as" not in out
    untied = said(tmp_path, arm(A=[support("strut", "S", X, Z, STRUT)]))
    assert "Margins tie" not in untied
    assert "The pipe is not judged" in untied


def test_less_margin_by_the_supports_own_check_says_so(tmp_path: Path):
    """A strut whose capacity is used more than the bolts are without it, while the bolts are better off."""
    text = arm(tight=[support("strut", "S", X, Z, "stiffness: 1 MN/m, allow: 1 kN")])
    found, out = machine(tmp_path, text), said(tmp_path, text)
    with_it, alone = (found[name]["governing_bolt"]["utilization"] for name in ("tight", "bolts alone"))
    assert with_it < alone < found["tight"]["governing"]["utilization"]
    assert "'tight' holds with less margin than 'bolts alone': support load of support 'S'" in out
    assert "which is the support's own: its joint's checks use at most" in out


@pytest.mark.parametrize(("bending", "far"), [(1e6, False), (21e3, False), (19e3, True)])
def test_movement_too_large_is_doubted(tmp_path: Path, bending: float, far: bool):
    """900 N at 1 m on so many N·m/rad and 1 GN/m: it turns by 900/K, five hundredths at 18 kN·m/rad and some weight more."""
    soft = stiffness("1 GN/m", "1 GN/m", f"{bending * 0.9:g} N*m/rad", "1 MN*m/rad")
    text = arm(holds=soft, A=[support("strut", "S", X, Z, "stiffness: 1 GN/m, allow: 9 kN")], none=[])
    turn = 900 / (0.9 * bending)
    assert (turn > 0.05) == far
    code, out = printed(tmp_path, text, "check", "--option", "none")
    assert code == 0
    assert ("The movement is too large for this calculation" in " ".join(out.partition("Given")[0].split())) == far
    told = said(tmp_path, text)
    assert ("the fitting moves too far for this calculation with 'none' (" in told) == far
    assert "moves too far for this calculation with 'A'" not in told
    kinds = {
        name: {w["kind"] for w in option["warnings"] if w["doubtful"]}
        for name, option in machine(tmp_path, text).items()
    }
    assert ("moves too far" in kinds["none"]) == far
    assert "moves too far" not in kinds["A"]


def test_brief_tells_the_moment_in_the_pipe(tmp_path: Path):
    out = said(tmp_path, arm(A=[]), "check", "--brief")
    assert "moment, bending and torsion together, of up to 2700 N·m at its fixed end in 'still'" in out


# -- supports that never carry ----------------------------------------------------------------------------------------


def test_support_that_never_carries_stands_beside_the_verdict(tmp_path: Path):
    tube = "section: {outside: 60 mm, wall: 3 mm}, length: 1.5 m, modulus: 205 GPa, effective_length_factor: 1"
    held = support("strut", "S1", X, Y, f"{tube}, gap: 2 mm, allow: {{stress: 120 MPa, buckling_factor: 3}}")
    text = arm(A=[held])
    head = said(tmp_path, text, "check").partition("Rests on")[0]
    assert "Support S1 never carries in any case: its gap of 2 mm is not used up" in head
    assert "Its 2 checks hold only because it carries nothing." in head
    out = said(tmp_path, text)
    assert re.search(r"S1 strut - - - - -", out)
    touched = text.replace(f"toward: {[0.0, 1.0, 0.0]}", f"toward: {[0.0, 0.0, 1.0]}").replace(
        "gap: 2 mm", "gap: 0.01 mm"
    )
    assert touched != text
    assert "never carries" not in said(tmp_path, touched, "check")


def test_lifted_rest_has_dashes_and_says_why(tmp_path: Path):
    out = said(tmp_path, arm(load=900 * Z, A=[support("rest", "R", X, None, "stiffness: 1 MN/m, allow: 9 kN")]))
    assert re.search(r"R rest - - - - -", out)
    assert "'-' where it never carries." in out


# -- names for the reader ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["strut", "guide", "rest"])
def test_checks_are_named_by_what_the_support_is(tmp_path: Path, kind: str):
    """The machine output keeps the name of the check."""
    tube = "section: {outside: 60 mm, wall: 3 mm}, length: 1.5 m, modulus: 205 GPa"
    ends = ", effective_length_factor: 1, allow: {stress: 120 MPa, buckling_factor: 3}"
    text = arm(A=[support(kind, "S1", X, Z, tube + ends)])
    shown = "post" if kind == "rest" else kind
    out = said(tmp_path, text, "check")
    assert f"{shown} stress, S1" in out
    assert f"{shown} stress: force along the {shown} / area" in out
    assert ("post" in out.partition("Assumptions")[0]) == (kind == "rest")
    checks = json.loads(printed(tmp_path, text, "check", "--json")[1])["cases"]["still"]["checks"]
    assert {"post stress", "post buckling"} <= {check["check"] for check in checks}
    lacking = said(tmp_path, arm(A=[support(kind, "S1", X, Z, f"{tube}, allow: {{stress: 120 MPa}}")]), "check")
    assert f"{shown} buckling of 'S1'" in lacking


# -- blocks -----------------------------------------------------------------------------------------------------------


def block(
    length: float = 0.8,
    width: float = 0.8,
    height: float = 0.8,
    toward: np.ndarray = -X,
    bearing: float = 48,
    more: str = "",
) -> str:
    terms = (
        f"block: {{length: {length!r} m, width: {width!r} m, height: {height!r} m, density: 2400 kg/m^3, friction: 0.45, thrust_height: 0.2 m, "
        f"subgrade_modulus: 30 MN/m^3}}, allow: {{bearing: {bearing:g} kPa, bearing_factor: 1.5, sliding_factor: 1.5, overturning_factor: 1.5, "
        f"uplift_factor: 1.2}}{more}"
    )
    return support("thrust_block", "B", (0, 0, 0), toward, terms)


def sized(text: str):
    return size_supports(parse_case(text, "f"), "A")[0].block


@pytest.mark.parametrize("load", [4e3, 20e3, 60e3])
@pytest.mark.parametrize("face", [0.3, 0.8])
@pytest.mark.parametrize("slant", [0.0, 0.5, 1.5])
def test_block_holds_when_entered_as_told_and_the_step_below_does_not(load: float, face: float, slant: float):
    """On a joint that gives; pressed a little, or mostly, down as well. The size is entered in a file of its own, and check judges it."""
    way = np.array([-1.0, 0.0, slant]) / math.hypot(1.0, slant)

    def filed(*sides: float) -> str:
        return arm(load=-load * way, at=np.zeros(3), holds=GIVING, A=[block(*sides, toward=way)])

    def worst(*sides: float) -> float:
        checks = assess(parse_case(filed(*sides), "f"), "A").cases["still"].checks
        return max(float(check.utilization) for check in checks if check.where == "B")

    needs = sized(filed(0.8, face, 0.8))
    size = needs.size
    assert size is not None
    entered = [round(side, 4) for side in (size.length, size.width, size.height)]
    assert entered == pytest.approx([size.length, size.width, size.height], abs=1e-9)  # whole centimeters, as printed
    assert worst(*entered) == pytest.approx(float(size.governing.utilization), rel=1e-6)
    assert worst(*entered) <= 1.0
    assert size.mass == pytest.approx(2400 * math.prod(entered), rel=1e-9)
    length, width, height = entered
    if needs.on_base:
        assert height == pytest.approx(0.2) or worst(length, width, height - 0.01) > 1.0
    else:
        assert worst(length - 0.01, width, height) > 1.0
    # entered, it is not told to shrink
    again = sized(filed(*entered)).size
    assert [again.length, again.width, again.height] == pytest.approx(entered, abs=1e-9)


def test_area_and_mass_are_of_one_force(tmp_path: Path):
    """A block whose face bears what it draws: area and mass by hand from that force, and a smaller face is not asked for."""
    text = arm(load=4e3 * X, at=np.zeros(3), holds=GIVING, A=[block()])
    force = 4e3 * 30e6 * 0.64 / (1e6 + 30e6 * 0.64)  # beside a joint of 1 MN/m
    needs = sized(text)
    assert needs.force == pytest.approx(force, rel=1e-6)
    assert needs.bearing_area == pytest.approx(1.5 * force / 48e3, rel=1e-6)
    slides, tips = 1.5 * force / 0.45, 1.5 * force * 0.2 / 0.4
    assert needs.mass == pytest.approx(max(slides, tips) / 9.80665, rel=1e-6)
    assert needs.size.width == pytest.approx(0.8)
    assert needs.size.height == pytest.approx(0.8)
    # sliding asks for so much length of 0.64 m² at 2400 kg/m³, rounded up to 10 mm
    assert needs.size.length == pytest.approx(math.ceil(slides / 9.80665 / 2400 / 0.64 * 100) / 100)
    out = said(tmp_path, text)
    assert f"the least length that holds is {needs.size.length * 1000:.0f} mm" in out
    assert "its bearing face (width × height) as given bears" in out


def test_block_pressed_straight_down_bears_on_its_base_and_needs_no_weight(tmp_path: Path):
    text = arm(load=-4e3 * Z, at=np.zeros(3), holds=GIVING, A=[block(height=0.4, toward=Z)])
    needs = sized(text)
    assert needs.mass == 0.0
    out = said(tmp_path, text)
    assert "its bearing face (length × width) as given bears" in out
    assert "nothing pushes it sideways or lifts it, so no weight is asked for" in out
    assert "width × height" not in out.partition("sizing thrust block")[2].partition("Assumptions")[0]
    assert "mass of 0" not in out
    code, output = printed(tmp_path, text, "report", "--option", "A", "--no-limits", "-o", str(tmp_path / "r.html"))
    assert code == 0, output


def test_block_toward_the_ground_is_told_of_its_direction():
    with pytest.raises(CaseFileError) as caught:
        parse_case(arm(A=[block(toward=np.array([-1.0, 0.0, -1.0]))]), "f")
    (problem,) = caught.value.problems
    assert problem.path[-1] == "toward"
    assert "points down" in str(problem)
    assert "missing" not in str(problem)


def test_an_option_that_raises_the_moments_is_told_with_them(tmp_path: Path):
    """2700 N up beside 900 N down, 1 m out and 3 m from the fixed end: 1800 N·m and 5400 N·m in place of 900 and 2700."""
    hanger = support("spring_hanger", "S", X, None, "set_load: 2700 N, allow: 9 kN")
    text = said(tmp_path, arm(A=[hanger]))
    assert (
        "NOT a relief: with 'A' in place of 'bolts alone' the moment on the joint rises from 900.0 N·m to 1,800 N·m and the moment in the "
        "pipe behind, at its fixed end, rises from 2,700 N·m to 5,400 N·m. The pipe is not judged"
    ) in text
    assert "NOT a relief" not in said(tmp_path, arm(A=[hanger.replace("2700", "500")]))
