"""What a first-time designer of supports stumbled over: each is said where it cannot be missed. Cases invented."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import Assessment, assess, parse_case
from anchorsize.cli import main
from tests.support_cases import joint, options, pulled, stiffness, still, support
from tests.support_cases import on_one_line as run

X, Y, Z = np.eye(3)
GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
THIN = "section: {outside: 21.3 mm, wall: 2 mm}, length: 6 m, modulus: 205 GPa"
EULER = math.pi**2 * 205e9 * math.pi / 64 * (0.0213**4 - 0.0173**4) / 6**2  # L. Euler, K = 1: 320.7 N


def two_cases(text: str) -> str:
    """The file with a case 'other' before 'still', in which load 1 is left off."""
    text = text.replace("cases:\n", "cases:\n  other: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}}\n")
    return text.replace("{name: load 1,", "{name: load 1, cases: [still],")


def judged(*held: str, load: np.ndarray = -2000 * Z, holds: str = GIVING, at: np.ndarray = X) -> Assessment:
    return assess(parse_case(still(options(A=held), pulled((load, at)), joint(holds), ALLOW), "f"))


def said(result: Assessment) -> dict[str, str]:
    return {each.kind: each.message for each in result.warnings}


def compared(tmp_path: Path, text: str) -> dict[str, Any]:
    path = tmp_path / "case.yaml"
    path.write_text(text)
    return json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)["options"]


# -- posts that may buckle --------------------------------------------------------------------------------------------


def test_post_that_must_buckle_does_not_hold(tmp_path: Path):
    """21.3 × 2 mm, 6 m, under 1.9 kN: its stress is small, its Euler load with pinned ends a sixth of the force."""
    assert pytest.approx(320.7, abs=0.05) == EULER
    post = support("rest", "R1", (0, 0, 0), None, f"{THIN}, stiffness: 1 GN/m, allow: {{stress: 120 MPa}}")
    text = still(options(A=[post]), pulled((-1900 * Z, np.zeros(3))), joint(GIVING), ALLOW)
    code, out = run(tmp_path, text, "check")
    assert code == 3
    assert (
        "Rest 'R1' would buckle: 1898 N in 'still' is 5.92 times its Euler load of 320.7 N" in out[: out.index("Given")]
    )
    assert "(pressed by up to 1898 N in 'still'; Euler load with pinned ends, K = 1: 320.7 N)" in out
    code, out = run(tmp_path, text, "supports")
    assert code == 0  # the joint alone holds
    assert "'A' IS NOT COMPLETE" in out
    assert out.index("Rest 'R1' would buckle") < out.index("Greatest margin")


@pytest.mark.parametrize(
    ("kind", "lacks", "verdict"),
    [
        ("rest", "", "incomplete"),
        ("strut", "", "incomplete"),
        ("guide", "", "incomplete"),
        ("rest", ", effective_length_factor: 1", "incomplete"),
        ("rest", ", effective_length_factor: 1, allow: {stress: 120 MPa, buckling_factor: 1.5}", "holds"),
    ],
)
def test_section_without_ends_or_factor_is_incomplete(kind: str, lacks: str, verdict: str):
    stout = THIN.replace("21.3", "76.1").replace("6 m", "1 m") + lacks
    stout += "" if "allow" in lacks else ", allow: {stress: 120 MPa}"
    result = judged(support(kind, "R1", (0, 0, 0), Z, stout))
    assert result.verdict == verdict
    assert "post over its Euler load" not in said(result)
    assert ("buckling not checked" in said(result)) == (verdict == "incomplete")
    told = [each.message for each in result.warnings if each.kind == "buckling not checked"]
    assert all(("though pressed:" in each) is (kind == "rest") for each in told)
    assert all(("though under force (either sign counts" in each) is (kind != "rest") for each in told)


def test_post_pressed_in_one_case_names_that_case_once():
    text = two_cases(
        still(options(A=[support("rest", "R1", (0, 0, 0), None, f"{THIN}, allow: {{stress: 120 MPa}}")]), pulled((-900 * Z, np.zeros(3))), joint(GIVING))
    )  # fmt: skip
    (item,) = (i for i in assess(parse_case(text, "f")).not_checked if i.check == "post buckling")
    assert "in 'still'" in item.supply


def test_strut_of_a_stiffness_alone_holds_and_its_buckling_stands_in_the_headline(tmp_path: Path):
    strut = support("strut", "S1", (0, 0, 0), Z, "stiffness: 8 MN/m, allow: 15 kN")
    text = still(options(A=[strut]), pulled((-900 * Z, X)), joint(GIVING), ALLOW)
    code, out = run(tmp_path, text, "check")
    assert code == 0
    assert "Buckling of S1 not checked" in out[: out.index("Given")]
    code, out = run(tmp_path, text, "supports")
    assert code == 0
    assert "'A' (buckling of S1 not checked)" in out
    bare = still(options(A=[strut.replace(", allow: 15 kN", "")]), pulled((-900 * Z, X)), joint(GIVING), ALLOW)
    assert run(tmp_path, bare, "check")[0] == 3


# -- where it stands and which way it acts ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "off"), [((0.5, 0, 0), None), ((0.5, 0.55, 0), None), ((1.0, 1.4, 0), "1400 mm"), ((2.0, 0, 1.0), "1414 mm")]
)
def test_point_far_off_the_fitting(at: tuple[float, ...], off: str | None):
    """An arm of 1 m from opening to center of mass: half of it and a bore of 100 mm are believed."""
    text = still(
        options(A=[support("strut", "S1", at, Z, "stiffness: 8 MN/m, allow: 15 kN")]),
        pulled((-900 * Z, X)),
        joint(GIVING),
    )
    text = text.replace("openings:", "fitting: {mass: 20 kg, mass_center: [1, 0, 0 m]}\nopenings:")
    found = {w.kind: w for w in assess(parse_case(text, "f")).warnings}.get("support far off")
    assert (found is not None) == (off is not None)
    if found is not None:
        assert f"Strut 'S1' stands {off} from the nearest opening" in found.message
        assert "not checked" in found.message
        assert found.doubtful


@pytest.mark.parametrize(("kind", "does"), [("rest", "pushes"), ("hanger", "pulls")])
def test_rest_or_hanger_turned_downward(kind: str, does: str):
    held = support(kind, "R", (0, 0, 0), -Z, "stiffness: 1 MN/m, allow: 9 kN")
    result = said(judged(held))
    assert result["support turned downward"].startswith(f"{kind.capitalize()} 'R' {does} down")
    idle = next(message for message in result.values() if "in every case" in message)
    way = "away from it" if kind == "rest" else "toward what it hangs on"
    assert f"at its point the fitting moves 2 mm {way} in 'still'" in idle  # 2 kN on 1 MN/m
    assert idle.endswith("Turn toward round, or put it on the other side.")
    assert "risen" not in idle
    upright = said(judged(support(kind, "R", (0, 0, 0), Z, "stiffness: 1 MN/m, allow: 9 kN")))
    assert not {"support turned downward", "slack hanger", "uplift at a rest"} & set(upright)


def test_gap_that_is_never_used_up_is_the_reason():
    result = said(judged(support("rest", "R", (0, 0, 0), None, "stiffness: 1 MN/m, gap: 3 mm, allow: 9 kN")))
    assert (
        "its gap of 3 mm is not used up, at its point the fitting moves 2 mm in 'still'" in result["uplift at a rest"]
    )
    assert "Turn toward round" not in result["uplift at a rest"]


def test_thrust_block_on_the_wrong_side_is_not_called_soft():
    block = support("thrust_block", "B", (0, 0, 0), X, "stiffness: 1 MN/m, allow: 9 kN")
    result = said(judged(block, load=900 * X))
    assert "moves 0.9 mm away from it" in result["idle thrust block"]
    assert "Turn toward round" in result["idle thrust block"]
    assert "support idles" not in result


def test_block_that_touches_a_little_and_is_left_by_the_load():
    block = support("thrust_block", "B", (0, 0, 0), X, "stiffness: 1 kN/m, allow: 9 kN")
    text = two_cases(still(options(A=[block]), pulled((900 * X, np.zeros(3)), (-10 * X, np.zeros(3))), joint(GIVING)))
    idles = {w.kind: w.message for w in assess(parse_case(text, "f")).warnings}["support idles"]
    assert "where it touches; elsewhere at its point the fitting moves 0.89 mm away from it in 'still'" in idles
    assert "stiffer" not in idles


# -- rigid joints -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("holds", "words"),
    [("", "taken as rigid (no stiffness or pipe_behind given)"), ("stiffness: rigid", "given as rigid")],
)
def test_rigid_joint_is_the_reason_why_supports_idle(tmp_path: Path, holds: str, words: str):
    text = still(
        options(A=[support("strut", "S", X, Z, "stiffness: 1 MN/m, allow: 9 kN")]),
        pulled((-90 * Z, X)),
        joint(holds),
        ALLOW,
    )
    headline = run(tmp_path, text, "supports")[1].partition("Rests on the")[0]
    assert (
        f"Strut 'S' of 'A' carries nothing in any case, as if not there: joint 'main' is {words}, so nothing moves"
        in headline
    )
    assert "give the joint's stiffness, or the pipe_behind it" in headline
    out = run(tmp_path, text, "check")[1]
    assert f"Joint 'main' is {words}: it lets nothing move" in out[: out.index("Given")]
    assert (words.startswith("given")) == ("taken as rigid" not in out)


def twice(first: str, second: str, supports: str = "") -> str:
    text = still(supports, pulled((-400 * Z, X)), joint(first) + joint(second, "far", "outlet"), ALLOW)
    text = text.replace("joints:", "  outlet: {center: [1, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}\njoints:")
    return text.replace("pressure: 0 kPa}}", "pressure: 0 kPa}, outlet: {pressure: 0 kPa}}")


def test_rigid_joint_beside_one_that_gives_way_carries_the_verdict(tmp_path: Path):
    code, out = run(tmp_path, twice(GIVING, "stiffness: rigid"), "check")
    assert code == 0
    assert "Rests on joint 'far' being rigid" in out[: out.index("Given")]
    assert "Rests on joint" not in run(tmp_path, twice(GIVING, GIVING), "check")[1]


def test_joints_without_stiffness_are_told_what_to_write_and_where(tmp_path: Path):
    code, out = run(tmp_path, twice("stiffness: rigid", ""), "check")
    assert code == 3
    assert "under joints / far: `pipe_behind:" in out
    assert "`stiffness: rigid`" in out
    assert "joints / main" not in out


def test_rigid_joint_with_a_pipe_behind_counts_as_the_pipe_alone():
    """The pipe's give without that of bolts and gasket: the same as a pipe behind a joint of which neither is known."""
    pipe = "pipe_behind: {outside: 114.3 mm, wall: 6 mm, length: 0.1 m, modulus: 200 GPa, poisson: 0.3}"
    soft = (
        "gasket: {inside: 110 mm, outside: 140 mm, thickness: 3 mm, modulus: 20 MPa}\n    grip: 50 mm\n    bolt_modulus: 200 GPa\n"
        "    tightening: {preload: 20 kN}"
    )
    strut = support("strut", "S", X, Z, "stiffness: 1 MN/m, allow: 9 kN")
    pushes = [
        float(judged(strut, holds=terms).cases["still"].supports["S"].push)
        for terms in (pipe, f"stiffness: rigid\n    {pipe}\n    {soft}", f"{pipe}\n    {soft}")
    ]
    assert pushes[1] == pytest.approx(pushes[0], rel=1e-12)
    assert pushes[2] > pushes[0] * 1.001  # bolts and gasket give as well, so that the strut takes more
    both = judged(strut, holds=f"stiffness: rigid\n    {pipe}")
    assert "the pipe's give counts, with bolts and gasket as rigid" in said(both)["joint stiffness given twice"]
    assert "pipe behind joint 'main': outside" in str(both)
    given = said(judged(strut, holds=f"{GIVING}\n    {pipe}"))["joint stiffness given twice"]
    assert "the stiffness counts" in given


# -- set loads, noise, bounds -----------------------------------------------------------------------------------------


def test_set_load_is_explained_and_held_against_the_capacity():
    """20 kN set against a joint that gives as much as the hanger leaves half of it, and half of the load."""
    held = support("hanger", "H", (0, 0, 0), None, "stiffness: 1 MN/m, set_load: 20 kN, allow: 15 kN")
    result = judged(held, load=-2000 * Z, at=np.zeros(3))
    checks = {c.check: c for c in result.cases["still"].checks if c.where == "H"}
    assert checks["support load"].demand == pytest.approx(11000, rel=1e-9)
    assert checks["set load"].utilization == pytest.approx(20 / 15, rel=1e-12)
    assert result.verdict == "fails"
    assert "set to 20 kN while nothing loads the fitting" in said(result)["set load"]
    assert said(result)["set load"].endswith("it carries 11 kN in 'still'.")


@pytest.mark.parametrize(
    ("kind", "terms", "least", "capacity"),
    [
        ("hanger", "rod: M12, length: 1 m, modulus: 200 GPa, allow: {stress: 60 MPa}", 4e3, 60e6 * math.pi / 4 * (0.012 - 1.3 * 0.00175) ** 2),
        ("rest", "section: {outside: 60 mm, wall: 5 mm}, length: 1 m, modulus: 200 GPa, allow: {stress: 9 MPa}", 4e3, 9e6 * math.pi / 4 * (0.06**2 - 0.05**2)),
    ],
)  # fmt: skip
def test_set_load_on_rod_and_post_by_stress(kind: str, terms: str, least: float, capacity: float):
    held = support(kind, "H", (0, 0, 0), None, f"set_load: {least} N, {terms}")
    (check,) = (c for c in judged(held).cases["still"].checks if c.check == "set load")
    assert check.allowable == pytest.approx(capacity, rel=1e-3)  # root area of the table to 0.1 mm²
    assert check.demand == least


def test_spring_hanger_has_no_check_of_its_set_load_beside_that_of_its_load():
    result = judged(support("spring_hanger", "P", (0, 0, 0), None, "set_load: 800 N, allow: 9 kN"))
    assert [c.check for c in result.cases["still"].checks if c.where == "P"] == ["support load"]
    assert "set load" not in said(result)


def test_rounding_is_no_force(tmp_path: Path):
    """A strut across a load along odd directions gets what rounding leaves of nothing; it is idle and has no size."""
    way = np.array([0.6, 0.0, 0.8])
    across = np.array([-0.8, 0.0, 0.6]) / np.linalg.norm([-0.8, 0.0, 0.6])
    turned = joint(stiffness("1.1 MN/m", "1.1 MN/m", "0.7 MN*m/rad", "0.7 MN*m/rad"))
    odd = 1234.5 * across + np.array([0.0, 1 / 3, 0.0])
    tube = "section: {outside: 60 mm, wall: 3 mm}, sections: {a: {outside: 48.3 mm, wall: 2.6 mm}}, length: 1 m, modulus: 205 GPa"
    held = support(
        "strut",
        "S",
        (0, 0, 0),
        way,
        f"{tube}, effective_length_factor: 1, allow: {{stress: 90 MPa, buckling_factor: 2}}",
    )
    text = still(options(A=[held]), pulled((odd, np.zeros(3))), turned, ALLOW)
    result = assess(parse_case(text, "f")).cases["still"].supports["S"]
    assert (float(result.push), result.force.tolist()) == (0.0, [0.0, 0.0, 0.0])
    out = compared(tmp_path, text)["A"]["supports"]["S"]
    assert out["states"] == {"still": "idle"}
    assert "it carries nothing in any case, so no size follows" in run(tmp_path, text, "supports")[1]
    for command in (["supports"], ["check"], ["supports", "--csv"]):
        shown = run(tmp_path, text, *command)[1]
        assert not re.search(r"0\.0000000\d*|e-1\d", shown)


def test_unusual_stiffness_is_doubted():
    result = {w.kind: w for w in judged(support("strut", "S", X, Z, "stiffness: 4 kN/m, allow: 9 kN")).warnings}
    doubt = result["unusual stiffness of a support"]
    assert "4000 N/m is unusual" in doubt.message
    assert doubt.doubtful
    usual = judged(support("strut", "S", X, Z, "stiffness: 8 MN/m, allow: 9 kN"))
    assert "unusual stiffness of a support" not in said(usual)


# -- the comparison ---------------------------------------------------------------------------------------------------


def hung(**more: list[str]) -> str:
    """A hanger that is slack in 'other', where the fitting is pulled up."""
    held = [support("hanger", "H", X, None, "stiffness: 1 MN/m, allow: 9 kN, cost: 5")]
    return two_cases(still(options(none=[], A=held, **more), pulled((-900 * Z, X), (30 * Z, X)), joint(GIVING), ALLOW))


def test_slack_in_a_case_stands_beside_the_option_that_is_best(tmp_path: Path):
    code, out = run(tmp_path, hung(), "supports")
    assert code == 0
    assert "HOLDS: 'none', 'A' (H slack in 'other')." in out
    assert "Greatest margin: 'A' (H slack in 'other')," in out
    assert "H: other" in out[out.index("idle in") : out.index("Option: none")]
    lifted = hung().replace("kind: hanger, name: H", "kind: rest, name: H")
    assert "'A' (H lifted in 'other'" in run(tmp_path, lifted, "supports")[1]


def test_force_and_utilization_of_every_case(tmp_path: Path):
    """By the compliances: the joint's 1/1 + 1/1 per MN at 1 m, the hanger's own 1/1, so that it takes two thirds of 870 N."""
    text = hung()
    case = compared(tmp_path, text)["A"]["supports"]["H"]["cases"]
    assert case["still"]["along_N"] == pytest.approx(580, rel=1e-9)
    assert case["still"]["utilization"] == pytest.approx(580 / 9000, rel=1e-9)
    assert case["still"]["check"] == "support load"
    assert (case["other"]["along_N"], case["other"]["state"]) == (0.0, "slack")
    assert re.search(r"still +carrying 580.0 N, 0.0644", run(tmp_path, text, "supports")[1])


def test_options_without_a_cost_are_named_where_the_cheapest_is(tmp_path: Path):
    dear = support("rest", "R", X, None, "stiffness: 2 MN/m, allow: 9 kN")
    out = run(tmp_path, hung(B=[dear]), "supports")[1]
    assert "'A', 5.000. Left out for want of a cost of every support: 'B'." in out
    assert "Left out" not in run(tmp_path, hung(), "supports")[1]


def test_checks_not_made_are_counted_in_the_ranking(tmp_path: Path):
    tube = "section: {outside: 60 mm, wall: 3 mm}, length: 1 m, modulus: 205 GPa, effective_length_factor: 1"
    strut = support("strut", "S", X, Z, f"{tube}, allow: {{force: 9 kN, buckling_factor: 2}}")
    out = run(tmp_path, hung(B=[strut]), "supports")[1]
    assert "'B' (1 check of its supports not made)" in out


def test_many_supports_stay_within_the_width_and_wide_terminals_wrap_less(tmp_path: Path):
    long = "struts in a row under the far end of the arm"
    struts = [
        support("strut", f"strut number {i}", (0.1 * i, 0, 0), Z, "stiffness: 1 MN/m, allow: 9 kN") for i in range(7)
    ]
    path = tmp_path / "case.yaml"
    path.write_text(hung(B=struts).replace("  B:", f"  {long}:"))
    narrow = CliRunner().invoke(main, ["supports", str(path)]).output
    assert max(map(len, narrow.splitlines())) <= 80
    wide = CliRunner().invoke(main, ["supports", str(path), "--width", "140"]).output
    assert re.search(rf"^  {long} +holds", wide, re.MULTILINE)


@pytest.mark.parametrize(
    ("ends", "words"),
    [("", ", its buckling not checked)"), (", effective_length_factor: 1", "own stiffness, the others as given)")],
)
def test_least_section_without_buckling_says_so(tmp_path: Path, ends: str, words: str):
    tubes = "section: {outside: 60 mm, wall: 3 mm}, sections: {slim: {outside: 21.3 mm, wall: 2 mm}}, length: 1 m, modulus: 205 GPa"
    factor = ", buckling_factor: 1.5" if ends else ""
    held = support("rest", "R", (0, 0, 0), None, f"{tubes}{ends}, allow: {{stress: 120 MPa{factor}}}")
    text = still(options(A=[held]), pulled((-1900 * Z, np.zeros(3))), joint(GIVING), ALLOW)
    (line,) = re.findall(r"the least whose own checks hold is slim.*?\)", run(tmp_path, text, "supports")[1])
    assert line.endswith(words)
