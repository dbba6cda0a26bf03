"""An engineer's sixth trial: supports that a verdict rests on and nobody is told of, and supports taken as stiffer than they are."""

from __future__ import annotations

import html
import io
import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize.assessment import Assessment, assess
from anchorsize.assessment.findings_support_data import LEANS_ON_STIFFNESS
from anchorsize.assessment.findings_support_give import MEMBER_ALONE
from anchorsize.assessment.statements import SPACING_RULE, WHOSE_SPACING_RULE
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.boltup_supports import NAMED, supports_words
from tests.browser import load

RIGID = "rigid anchor starves the joint"
POST = "section: {outside: 168.3 mm, wall: 7.1 mm}, length: 0.8 m, modulus: 205 GPa, effective_length_factor: 1, allow: {stress: 120 MPa, buckling_factor: 3}"

# A pump's outlet elbow that stands on a foot and a strut; all figures invented.
ELBOW = """\
case_file: 1
title: pump outlet elbow
fluid: {name: water, density: 1000 kg/m^3}
fitting:
  mass: 168 kg
  mass_center: [0.28, 0, 0.14 m]
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 309.7 mm, kind: reducing_elbow, turn: 90 deg, toward: [0, 0, 1], radius: 450 mm, end_bore: 260.4 mm, before: 80 mm, after: 70 mm}
joints:
  pump flange:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 12, size: M24, circle: 410 mm, first_at: 15 deg, class: A4-70}
    gasket: {inside: 324 mm, outside: 378 mm, thickness: 2 mm, modulus: 500 MPa, m: 2.0, y: 11 MPa}
    flange: {outside: 460 mm, thickness: 28 mm, hole: 26 mm}
    tightening: {torque: 300 N*m, nut_factor: 0.16, scatter: 25 %, relaxation: 15 %}
    grip: 58 mm
    bolt_modulus: 205 GPa
    stiffness: {axial: 200 MN/m, shear: 100 MN/m, bending: 10 MN*m, torsion: 10 MN*m}
    allow: {force: 9 kN, moment: 6 kN*m, pressure_thrust: included}
allow: {bolt_tension: 200 MPa, bolt_shear: 120 MPa, bolt_spacing_greatest: from formula}
cases:
  duty:
    inlet: {flow_in: 410 L/s, pressure: 2.4 bar}
    outlet: {pressure: 2.3 bar}
  trip:
    inlet: {flow_in: 0 L/s, pressure: 6.0 bar}
    outlet: {pressure: 6.0 bar}
supports:
  bolts alone: []
  foot and strut:
    - {kind: rest, name: R1, at: [530, 0, -150 mm], GIVE POST}
    - {kind: strut, name: S1, at: [690, 0, 0 mm], toward: [-1, 0, 0], GIVE POST}
  anchor foot:
    - {kind: anchor, name: A1, at: [530, 0, -150 mm], toward: [0, 0, 1], six_way: rigid, allow: {force: 80 kN, moment: 30 kN*m}}
""".replace("POST", POST)
FOOT = "foot and strut"
STRUT = "kind: strut, name: S1,"
# EA/L of the tube, by hand
STIFF = 205e9 * math.pi / 4 * (0.1683**2 - 0.1541**2) / 0.8


def judged(text: str, option: str) -> Assessment:
    return assess(parse_case(text.replace("GIVE ", ""), "case.yaml"), option)


def given(stiffness: float) -> str:
    """The file with a stiffness written for both supports."""
    return ELBOW.replace("GIVE ", f"stiffness: {stiffness!r} N/m, ")


def said(made: Assessment) -> dict[str, str]:
    return {finding.kind: finding.message for finding in made.warnings}


def force_used(made: Assessment) -> float:
    return max(
        float(check.utilization)
        for case in made.cases.values()
        for check in case.checks
        if check.check == "joint force"
    )


def run(tmp_path: Path, text: str, *words: str) -> str:
    path = tmp_path / "case.yaml"
    path.write_text(text.replace("GIVE ", ""), "utf-8")
    result = CliRunner().invoke(main, [words[0], str(path), *words[1:]])
    assert result.exit_code in (0, 1), result.output
    return result.output


def flat(text: str) -> str:
    return " ".join(text.split())


def sheet(tmp_path: Path, text: str, option: str) -> tuple[str, dict]:
    page = tmp_path / "sheet.html"
    out = run(tmp_path, text, "boltup", "--option", option, "-o", str(page), "--force", "--json")
    return flat(html.unescape(page.read_text("utf-8"))), json.loads(out)


def test_the_sheet_ticks_off_the_supports_that_the_verdict_counts_on(tmp_path: Path):
    text = ELBOW.replace(STRUT, f"{STRUT} set_load: 17 kN,").replace("kind: rest,", "kind: rest, gap: 0.02 mm,")
    page, machine = sheet(tmp_path, text, FOOT)
    # 17 kN / 4.44822 N and 0.02 mm / 25.4 mm
    line = (
        "Supports in place and set while the fitting is still held, before its weight comes on the joint, the verdict counts on them: "
        "R1 (rest, gap 0.02 mm (0.0007874 in)); "
        "S1 (strut, set to 17 kN (3822 lbf))."
    )
    assert line in page
    assert line in machine["check_first"]
    assert machine["supports"] == [
        {"name": "R1", "kind": "rest", "set_load_N": None, "gap_m": pytest.approx(2e-5)},
        {"name": "S1", "kind": "strut", "set_load_N": pytest.approx(17e3), "gap_m": 0.0},
    ]
    brief = flat(run(tmp_path, text, "check", "--option", FOOT, "--brief"))
    assert (
        "Supports: R1 (rest, gap 0.02 mm (0.0007874 in)); S1 (strut, set to 17 kN (3822 lbf)): in place and set while the fitting is still held"
        in brief
    )


def test_a_rest_that_the_fitting_never_reaches_is_not_counted_on(tmp_path: Path):
    text = ELBOW.replace("kind: rest,", "kind: rest, gap: 2 mm,")
    page, machine = sheet(tmp_path, text, FOOT)
    assert "R1" not in [each["name"] for each in machine["supports"]]
    assert "Not counted on: R1 (rest, gap 2 mm (0.07874 in)), which carries nothing in any case of the file." in page


def test_bolts_alone_have_no_support_to_tick_off(tmp_path: Path):
    page, machine = sheet(tmp_path, ELBOW, "bolts alone")
    assert "in place and set while" not in page
    assert machine["supports"] == []
    assert "Supports:" not in run(tmp_path, ELBOW, "check", "--option", "bolts alone", "--brief")


def test_many_supports_are_counted():
    lines = "".join(
        f"    - {{kind: rest, name: R{i}, at: [{500 + i}, 0, -150 mm], stiffness: 1 MN/m}}\n" for i in range(9)
    )
    study = parse_case(ELBOW.partition("supports:")[0] + "supports:\n  many:\n" + lines, "case.yaml")
    words = supports_words(study.supports["many"], "metric")
    assert words == "R0, R1, R2, R3, R4 and R5 (rest); and 3 more in the case file"
    assert NAMED == 6


def test_a_rigid_anchor_that_leaves_the_joint_nothing_is_doubtful(tmp_path: Path):
    made = judged(ELBOW, "anchor foot")
    for case in made.cases.values():
        joint = case.joints["pump flange"]
        assert float(joint.axial) == float(joint.shear1) == float(joint.bending1) == 0.0
    found = next(finding for finding in made.warnings if finding.kind == RIGID)
    assert found.doubtful
    assert "anchor 'a1' is taken as rigid, so joint 'pump flange' carries nothing" in found.message.casefold()
    words = "Doubtful input: Anchor 'A1' is taken as rigid"
    told = flat(run(tmp_path, ELBOW, "supports"))
    assert f"In 'anchor foot': {words}" in told
    assert "'anchor foot' (on doubtful input)" in told
    assert words in flat(run(tmp_path, ELBOW, "check", "--option", "anchor foot"))
    assert words in sheet(tmp_path, ELBOW, "anchor foot")[0]


def test_an_anchor_of_given_stiffness_is_not_doubted():
    soft = "six_way: {axial: 300 MN/m, shear: 100 MN/m, bending: 20 MN*m, torsion: 20 MN*m}"
    made = judged(ELBOW.replace("six_way: rigid", soft), "anchor foot")
    assert RIGID not in said(made)
    assert force_used(made) > 0.1  # and the joint takes a share


def test_a_verdict_that_leans_on_bare_posts_says_so_with_its_figures(tmp_path: Path):
    made = judged(ELBOW, FOOT)
    words = said(made)[LEANS_ON_STIFFNESS]
    assert made.verdict == "holds"
    assert pytest.approx(921.4e6, rel=1e-4) == STIFF
    assert "The stiffness of R1 and S1 is that of the post and strut alone (EA/L, 921.4 kN/mm)" in words
    # the same with that half written into the file
    half = judged(given(STIFF / 2), FOOT)
    assert half.verdict == "fails"
    assert (
        f"With R1 and S1 half as stiff: FAILS, joint force of 'pump flange' in 'trip' {force_used(half):.3g} (as given at most joint force of "
        f"'pump flange' in 'trip' {force_used(made):.3g})" in words
    )
    told = flat(run(tmp_path, ELBOW, "supports"))
    assert f"In '{FOOT}': {words}" in told.partition("option bolts all")[0]
    checked = flat(run(tmp_path, ELBOW, "check", "--option", FOOT))
    assert words in checked.partition("Governs")[0]
    assert "the verdict" not in words.partition("half")[0]
    assert words[:120] in sheet(tmp_path, ELBOW, FOOT)[0]


def test_a_third_of_the_stiffness_is_told_where_only_that_fails():
    half, third = (force_used(judged(given(STIFF / part), FOOT)) for part in (2, 3))
    between = 9.0 * math.sqrt(half * third)  # kN
    text = ELBOW.replace("force: 9 kN", f"force: {between} kN")
    words = said(judged(text, FOOT))[LEANS_ON_STIFFNESS]
    assert f"a third as stiff: FAILS, joint force of 'pump flange' in 'trip' {9.0 * third / between:.3g}" in words


def test_bare_posts_that_decide_nothing_are_told_in_a_line():
    words = said(judged(ELBOW.replace("force: 9 kN, moment: 6 kN*m", "force: 900 kN, moment: 600 kN*m"), FOOT))
    assert LEANS_ON_STIFFNESS not in words
    assert "brackets, foundation and the structure behind are left out" in words[MEMBER_ALONE]
    assert "FAILS" not in words[MEMBER_ALONE]


@pytest.mark.parametrize("option", [FOOT, "bolts alone"])
def test_a_given_stiffness_is_taken_as_it_is(option: str):
    words = said(judged(given(300e6), option))
    assert LEANS_ON_STIFFNESS not in words
    assert MEMBER_ALONE not in words


def test_beside_a_rigid_joint_the_stiffness_of_supports_decides_nothing():
    text = ELBOW.replace("stiffness: {axial: 200 MN/m, shear: 100 MN/m, bending: 10 MN*m, torsion: 10 MN*m}", "")
    words = said(judged(text, FOOT))
    assert "rigid joint starves the supports" in words
    assert MEMBER_ALONE not in words


def test_a_lost_bolt_that_breaks_the_formula_of_the_gap_alone_says_whose_rule_that_is(tmp_path: Path):
    text = ELBOW.replace("GIVE ", "stiffness: 2 GN/m, ")
    rule = flat(SPACING_RULE)
    words = ("check", "--option", FOOT, "--one-lost")
    told = flat(run(tmp_path, text, *words))
    assert "(widest bolt gap fails then)" in told
    assert told.count(rule) == 1
    assert WHOSE_SPACING_RULE in sheet(tmp_path, text, FOOT)[0]
    length = text.replace("bolt_spacing_greatest: from formula", "bolt_spacing_greatest: 150 mm")
    assert "(widest bolt gap fails then)" in flat(run(tmp_path, length, *words))
    assert rule not in flat(run(tmp_path, length, *words))


def test_the_strength_that_bolt_proof_is_checked_against_stands_with_the_sizes(tmp_path: Path):
    """ISO 3506-1, class 70: 0.2 % proof stress 450 MPa; the standard has no proof load for it."""
    text = ELBOW.replace("GIVE ", "stiffness: 2 GN/m, ")
    words = ("size", "--option", FOOT, "--torques", "250 N*m,300 N*m")
    told = flat(run(tmp_path, text, *words))
    assert "yield strength 450.0 MPa (bolt proof is checked against it" in told
    assert "proof strength not known" not in told
    assert '"yield_strength_Pa": 450000000.0' in run(tmp_path, text, *words, "--json")


def test_a_sheet_with_supports_and_all_that_is_said_of_them_is_one_page(browser, tmp_path: Path):
    import pypdf

    sheet(tmp_path, ELBOW, FOOT)
    shown = load(browser, tmp_path / "sheet.html")
    for paper in ("A4", "Letter"):
        assert len(pypdf.PdfReader(io.BytesIO(shown.pdf(paper))).pages) == 1
