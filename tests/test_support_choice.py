"""What a designer must not overlook when choosing among supports: ties, idle ones, feet, wrong ways, blocks that grow. Invented."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml
from click.testing import CliRunner

from anchorsize import CaseFileError, assess, parse_case
from anchorsize.cli import main
from anchorsize.present.boltup_window import lost_fact
from anchorsize.studies.support_size import size_supports
from anchorsize.studies.supports import compare
from tests.support_cases import joint, options, pulled, stiffness, still, support

EXAMPLES = Path(__file__).parent.parent / "examples"
X, Y, Z = np.eye(3)
GIVING = stiffness("1 MN/m", "1 MN/m", "1 MN*m/rad", "1 MN*m/rad")
ALLOW = "allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}\n"
STRUT = "stiffness: 1 MN/m, allow: 9 kN"
TUBE = "section: {outside: 60 mm, wall: 3 mm}, length: 1.5 m, modulus: 205 GPa"


def arm(load: np.ndarray = -900 * Z, at: np.ndarray = X, holds: str = GIVING, **named: list[str]) -> str:
    return still(options(**named), pulled((load, at)), joint(holds), ALLOW)


def two_cases(text: str) -> str:
    """The file with a case 'other' before 'still', in which load 1 is left off."""
    text = text.replace("cases:\n", "cases:\n  other: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}}\n")
    return text.replace("{name: load 1,", "{name: load 1, cases: [still],")


def out(tmp_path: Path, text: str, *words: str) -> str:
    path = tmp_path / "case.yaml"
    path.write_text(text)
    return " ".join(CliRunner().invoke(main, ["supports", str(path), *words]).output.split())


def machine(tmp_path: Path, text: str) -> dict[str, Any]:
    path = tmp_path / "case.yaml"
    path.write_text(text)
    return json.loads(CliRunner().invoke(main, ["supports", str(path), "--json"]).output)


def said(text: str, option: str | None = None) -> dict[str, str]:
    return {each.kind: each.message for each in assess(parse_case(text, "f"), option).warnings}


# -- ranking ----------------------------------------------------------------------------------------------------------


def test_headline_has_the_margin_over_all_checks(tmp_path: Path):
    """A case that only the joint's axial pull loads, which a strut across leaves as it is, governs every option."""
    pull = "external:\n  - {name: axial, force: [40000, 0, 0 N], at: [0, 0, 0 m], cases: [other]}\n"
    text = two_cases(arm(A=[support("strut", "S", X, Z, STRUT)], none=[]).replace("external:\n", pull))
    compared = compare(parse_case(text, "f"))
    best = compared.best
    governs, decides = best.governing, best.deciding(compared.common)
    assert governs[0] == "other"
    assert decides[0] == "still"
    assert governs[1].margin < decides[1].margin
    head = out(tmp_path, text)
    assert f"Greatest margin: 'A' (S idle in 'other'), {float(governs[1].margin):+.0%} over all its checks" in head
    assert f"{governs[1].check} of joint 'main', bolt {int(governs[1].bolt)}, in 'other'" in head
    assert f"of the checks that it changes {decides[1].check} of support 'S' in 'still'" in head
    assert re.search(r"they do not rank the options: .*bolt tension in 'other'", head)


def test_practical_tie_goes_to_the_fewer_supports(tmp_path: Path):
    """A strut as soft as 2 kN/m beside a good one gains next to nothing."""
    good, soft = support("strut", "S", X, Z, STRUT), support("strut", "T", X, Z, "stiffness: 2 kN/m, allow: 9 kN")
    text = arm(none=[], both=[good, soft], one=[good])
    compared = compare(parse_case(text, "f"))
    ranks = {o.name: float(o.deciding(compared.common)[1].utilization) for o in compared.options}
    assert ranks["both"] < ranks["one"] <= 1.01 * ranks["both"]
    assert machine(tmp_path, text)["best"] == "one"
    assert "'both' holds with practically the same margin as 'one' and more supports" in out(tmp_path, text)
    assert "No option gains" not in out(tmp_path, text)


def test_no_gain_over_bolts_alone_is_said(tmp_path: Path):
    text = arm(A=[support("strut", "S", X, Z, "stiffness: 1 kN/m, allow: 9 kN")])
    assert machine(tmp_path, text)["best"] == "bolts alone"
    assert "No option with supports gains margin over 'bolts alone'." in out(tmp_path, text)


def test_support_that_faces_the_wrong_way_but_touches_stands_in_the_headline(tmp_path: Path):
    """A thrust block that a small load of one case presses and the great one of the other leaves."""
    block = support("thrust_block", "B", (0, 0, 0), X, "stiffness: 10 kN/m, allow: 9 kN")
    text = two_cases(
        still(options(A=[block]), pulled((900 * X, np.zeros(3)), (-10 * X, np.zeros(3))), joint(GIVING), ALLOW)
    )
    head = out(tmp_path, text).partition("Rests on the")[0]
    assert "Thrust block 'B' of 'A' seems turned the wrong way: turn toward round" in head


# -- values that no support has ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ("stiffness: 999 N/m, allow: 9 kN", "stiffness: '999 N/m' is less than 0.001 kN/mm (is this unit right?)"),
        (TUBE.replace("1.5 m", "850 m") + ", allow: 9 kN", "length: '850 m' is more than 100 m (is this unit right?)"),
    ],
)
def test_stiffness_and_length_that_no_support_has(terms: str, words: str):
    text = arm(A=[support("strut", "S", X, Z, terms)])
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    (problem,) = caught.value.problems
    assert problem.kind == "out_of_range"
    assert words in str(problem)
    parse_case(text.replace("999 N/m", "1 kN/m").replace("850 m", "100 m"), "f")


def test_next_to_nothing_is_idle_and_holds_no_way(tmp_path: Path):
    """1 kN/m at 1 m: beside a joint of 1 MN/m and 1 MN·m/rad it takes some 0.2 %, of 300 times that some 7 in a million, of either sign."""
    firm = stiffness("300 MN/m", "300 MN/m", "300 MN*m/rad", "300 MN*m/rad")
    text = two_cases(
        still(
            options(A=[support("strut", "S", X, Z, "stiffness: 1 kN/m, allow: 9 kN")]),
            pulled((-900 * Z, X), (400 * Z, X)),
            joint(firm),
            ALLOW,
        )
    )
    strut = machine(tmp_path, text)["options"]["A"]["supports"]["S"]
    assert strut["states"] == {"other": "idle", "still": "idle"}
    assert strut["least_N"] < 0 < strut["greatest_N"]
    assert "support reversed" not in said(text)
    assert "S: every case" in out(tmp_path, text)
    soft = text.replace("300 MN", "1 MN")
    assert set(machine(tmp_path, soft)["options"]["A"]["supports"]["S"]["states"].values()) == {"carrying"}
    assert "support reversed" in said(soft)


# -- ends and signs ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "toward", "where"),
    [
        ("strut", (0, 1, 0), "foot at [1000, -1500, 0] mm"),
        ("rest", (0, 0, 1), "foot at [1000, 0, -1500] mm"),
        ("tie", (0, 1, 0), "anchor at [1000, 1500, 0] mm"),
        ("hanger", (0, 0, 1), "anchor at [1000, 0, 1500] mm"),
    ],
)
def test_foot_or_anchor_is_told(tmp_path: Path, kind: str, toward: tuple[float, ...], where: str):
    """A length of 1.5 m along toward, back to the foot or on to the anchor."""
    terms = TUBE if kind in ("strut", "rest") else "rod: M12, length: 1.5 m, modulus: 205 GPa"
    text = arm(A=[support(kind, "S", X, toward, f"{terms}, allow: 9 kN")])
    assert f"S: {where}" in out(tmp_path, text)
    given = CliRunner().invoke(main, ["check", str(tmp_path / "case.yaml"), "--option", "A"]).output
    assert where in " ".join(given.split())


def test_strut_is_pressed_or_pulled_and_its_columns_say_so(tmp_path: Path):
    held = [support("strut", "S", X, Z, STRUT), support("strut", "U", X, -Z, STRUT)]
    text = two_cases(still(options(A=held), pulled((-900 * Z, X), (100 * Z, X)), joint(GIVING), ALLOW))
    told = out(tmp_path, text)
    found = machine(tmp_path, text)["options"]["A"]["supports"]
    assert found["S"]["greatest_size_N"] == pytest.approx(found["S"]["greatest_N"])
    assert found["U"]["greatest_size_N"] == pytest.approx(-found["U"]["least_N"])
    assert found["U"]["greatest_size_N"] > found["U"]["greatest_N"] > 0
    assert re.search(r"still +carrying, pressed carrying, pulled", told)
    assert re.search(r"other +carrying, pulled carrying, pressed", told)
    assert "most pulled" in told
    assert "most pushed" in told
    one = out(tmp_path, arm(A=[support("strut", "S", X, Z, STRUT)]))
    assert re.search(r"S +strut +- +- +\d+", one)  # never pulled


def test_anchor_across_in_every_case(tmp_path: Path):
    """An anchor whose axis lies along x carries a level pull across the axis too: the resultant of what JSON has."""
    six = "six_way: {axial: 1 MN/m, shear: 2 MN/m, bending: 1 kN*m/rad, torsion: 1 kN*m/rad}, allow: {force: 9 kN, moment: 9 kN*m}"
    text = arm(load=300 * X + 400 * Y, at=np.zeros(3), A=[support("anchor", "N", (0, 0, 0), X, six)])
    case = machine(tmp_path, text)["options"]["A"]["supports"]["N"]["cases"]["still"]
    assert case["along_N"] == pytest.approx(-150.0, rel=1e-3)  # as stiff along as the joint
    assert re.search(r"still +carrying -150.0 N along, 266.7 N across", out(tmp_path, text))  # two thirds of 400 N


def test_either_sign_counts_for_buckling():
    """A strut that is pulled by its sign: its factor is the same as of the one turned round, and says why."""
    terms = f"{TUBE}, effective_length_factor: 1, allow: {{force: 9 kN, buckling_factor: 2}}"
    checks = []
    for way in (Z, -Z):
        case = assess(parse_case(arm(A=[support("strut", "S", X, way, terms)]), "f")).cases["still"]
        checks += [check for check in case.checks if check.check == "post buckling"]
    assert checks[0].demand == pytest.approx(float(checks[1].demand), rel=1e-9)
    assert all("either sign counts, since toward may be written either way" in check.formula for check in checks)
    thin = "section: {outside: 21.3 mm, wall: 2 mm}, length: 6 m, modulus: 205 GPa, stiffness: 10 MN/m, allow: {stress: 120 MPa}"
    assert (
        "either sign counts"
        in said(arm(A=[support("strut", "S", X, -Z, thin)], load=-2000 * Z))["post over its Euler load"]
    )


@pytest.mark.parametrize("kind", ["strut", "guide", "rest"])
def test_buckling_factor_without_section_is_incomplete(kind: str):
    held = support(kind, "S", X, Z, "stiffness: 1 MN/m, allow: {force: 9 kN, buckling_factor: 3}")
    assert assess(parse_case(arm(A=[held]), "f")).verdict == "incomplete"
    assert assess(parse_case(arm(A=[held.replace(", buckling_factor: 3", "")]), "f")).verdict == "holds"


@pytest.mark.parametrize("kind", ["tie", "hanger"])
def test_buckling_factor_of_what_is_only_pulled_is_refused(kind: str):
    held = support(kind, "S", X, Z, "stiffness: 1 MN/m, allow: {force: 9 kN, buckling_factor: 3}")
    with pytest.raises(CaseFileError, match="does not buckle"):
        parse_case(arm(A=[held]), "f")


# -- findings ---------------------------------------------------------------------------------------------------------


def test_rest_that_carries_under_uplift_is_not_called_useless():
    """Pulled up at the joint and pressed down at the end: the whole wants to rise, the rest at the end carries."""
    rest = support("rest", "R", 2 * X, Z, STRUT)
    loads = pulled((3000 * Z, np.zeros(3)), (-900 * Z, 2 * X))
    text = two_cases(still(options(A=[rest], none=[]), loads, joint(GIVING), ALLOW)).replace("cases: [still],", "")
    assert "pushes up from below" not in said(text, "A")["uplift"]
    assert "takes nothing of that, a moment at most" in said(text, "none")["uplift"]
    uplifts = [each for each in assess(parse_case(text, "f"), "none").warnings if each.kind == "uplift"]
    assert len(uplifts) == 1
    assert "wants to rise in 'other', 'still'" in uplifts[0].message


def test_axial_force_that_a_support_raises_is_said():
    """A strut askew under a load down pushes the fitting away from the joint; an upright one does not."""
    askew = said(arm(A=[support("strut", "S", X, (1, 0, 1), STRUT)]))
    assert re.search(
        r"raises the joint's axial force from 0 N to [\d.]+ N in 'still'", askew["supports raise the axial force"]
    )
    assert "supports raise the axial force" not in said(arm(A=[support("strut", "S", X, Z, STRUT)]))


def test_block_of_the_area_asked_for_bears_what_it_draws_itself(tmp_path: Path):
    """A wider block is stiffer and draws more: judged in a file of its own with that width, its bearing holds, just so."""

    def blocked(width: float, bearing: float = 100) -> str:
        terms = (
            f"block: {{length: 0.5 m, width: {width!r} m, height: 0.5 m, density: 2400 kg/m^3, friction: 0.4, thrust_height: 0.25 m, "
            f"subgrade_modulus: 30 MN/m^3}}, allow: {{bearing: {bearing} kPa, bearing_factor: 1.5, sliding_factor: 1.5, overturning_factor: 1.5, "
            "uplift_factor: 1.2}"
        )
        return arm(load=40e3 * X, at=np.zeros(3), A=[support("thrust_block", "B", (0, 0, 0), -X, terms)])

    def utilization(width: float) -> float:
        checks = assess(parse_case(blocked(width), "f"), "A").cases["still"].checks
        return float(next(check.utilization for check in checks if check.check == "block bearing"))

    # 30 MN/m³ A beside 1 MN/m, 40 kN: 1.5 × 40 kN × 30 A/(1 + 30 A) = 100 kPa A gives A = 0.6 − 1/30 m²
    needs = size_supports(parse_case(blocked(0.2), "f"), "A")[0].block
    assert needs.settled
    assert needs.bearing_area == pytest.approx(0.6 - 1 / 30, rel=2e-3)
    assert 0.998 <= utilization(needs.bearing_area / 0.5) <= 1 + 1e-9
    assert "is too small for what it draws; with a width of" in out(tmp_path, blocked(0.2))


def test_a_lost_bolt_is_told_under_the_option_asked_for():
    """With the option asked for and with the others taken out of the file, the sheet says the same of a lost bolt."""
    text = (EXAMPLES / "supported_arm.yaml").read_text().replace("bolt_tension: 120 MPa", "bolt_tension: 34 MPa")
    told = {}
    for option in ("bolts alone", "struts up and across"):
        alone = yaml.safe_load(text)
        alone["supports"] = {option: alone["supports"][option]}
        facts = [
            lost_fact(assess(parse_case(each, "arm.yaml"), option), "main") for each in (text, yaml.safe_dump(alone))
        ]
        assert facts[0] == facts[1]
        told[option] = facts[0][0][1]
    assert told["bolts alone"] != told["struts up and across"]
