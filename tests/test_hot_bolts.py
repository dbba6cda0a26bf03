"""Hot bolts are judged by the strength that their class has at room temperature: that, and what would be left of it, is told.

Expected shares are worked out here from the figures remembered of ISO 898-1 (annex of an older edition), ISO 3506-1 and ASME BPVC II-D
Table Y-1. Stress by hand: greatest preload T/(K d) × 1.3 and an eighth of p π G²/4, over the tensile area of M16.
"""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from click.testing import CliRunner

from anchorsize import reference
from anchorsize.assessment import Assessment, Finding, assess
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.text import check_report

KIND, BRITTLE = "strength of hot bolts", "brittle bolts"
AREA, D, G, P = 157e-6, 0.016, 0.140, 1e6  # m², m, m, Pa


def line(
    temperature: str = ", temperature: 150 degC", grade: str = 'class: "5.6"', torque: str = "90 N*m", more: str = ""
) -> str:
    """A blind end on one joint, without weight, so that every bolt carries an eighth of the axial demand."""
    return f"""
case_file: 1
title: Blind end of a hot water line (invented)
units: metric
fluid: {{name: water, density: 917 kg/m^3{temperature}}}
openings:
  head: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
  end:  {{center: [0.3, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}}
joints:
  head:
    at: head
    bolts: {{count: 8, size: M16, circle: 180 mm, {grade}}}
    gasket: {{inside: 108 mm, outside: 162 mm, reaction_diameter: 140 mm, m: 2.0, y: 11 MPa}}
    flange: {{rating: 25 bar}}
    tightening: {{torque: {torque}, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}}
allow: {{bolt_tension: 160 MPa, bolt_shear: 95 MPa, gasket_pressure_greatest: 90 MPa}}
cases:
{more or "  normal: {head: {flow_in: 0 L/s, pressure: 10 bar}, end: {exit: capped}}"}
"""


def stress(torque: float) -> float:
    """Greatest stress of every bolt [Pa], by hand."""
    return (1.3 * torque / (0.2 * D) + P * math.pi / 4 * G**2 / 8) / AREA


def found(text: str) -> tuple[Assessment, list[Finding]]:
    judged = assess(parse_case(text, "t.yaml"))
    return judged, [each for each in judged.warnings if each.kind in (KIND, BRITTLE)]


def said(command: list[str], text: str) -> str:
    """What a command prints of a file, and the page that it writes, in one line."""
    with TemporaryDirectory() as folder:
        file = Path(folder, "t.yaml")
        file.write_text(text, encoding="utf-8")
        more = [str(Path(folder, each)) if each.startswith("out.") else each for each in command[1:]]
        result = CliRunner().invoke(main, [command[0], str(file), *more])
        pages = [each.read_text(encoding="utf-8") for each in Path(folder).glob("out.*")]
    return " ".join("\n".join([result.output, *pages]).split())


# --- the table --------------------------------------------------------------------------------------------------------

B7 = (105, 98.0, 94.1, 91.5, 88.5, 85.3)
REMEMBERED = {
    "5.6": ("degC", (20, 100, 200, 250, 300), (300, 270, 230, 215, 195)),
    "8.8": ("degC", (20, 100, 200, 250, 300), (640, 590, 540, 510, 480)),
    "10.9": ("degC", (20, 100, 200, 250, 300), (940, 875, 790, 745, 705)),
    "12.9": ("degC", (20, 100, 200, 250, 300), (1100, 1020, 925, 875, 825)),
    **{
        f"{steel}-{strength}": ("degC", (20, 100, 200, 300, 400), (1, 0.85, 0.80, 0.75, 0.70))
        for steel in ("A2", "A4")
        for strength in (50, 70, 80)
    },
    **dict.fromkeys(("A193 B7", "A193M B7", "A320 L7"), ("degF", (100, 200, 300, 400, 500, 600), B7)),
    **{f"{spec} B8 Cl.1": ("degF", (100, 200, 300, 400, 500, 600), (30, 25, 22.4, 20.7, 19.4, 18.4)) for spec in ("A193", "A193M")},
    **{f"{spec} B8M Cl.1": ("degF", (100, 200, 300, 400, 500, 600), (30, 25.9, 23.4, 21.4, 20.0, 18.9)) for spec in ("A193", "A193M")},
}  # fmt: skip


def kelvin(value: float, unit: str) -> float:
    return 273.15 + (value if unit == "degC" else (value - 32) / 1.8)


@pytest.mark.parametrize("grade", REMEMBERED)
def test_the_share_left_is_that_of_the_figures_remembered(grade):
    unit, temperatures, strengths = REMEMBERED[grade]
    points = list(zip(temperatures, strengths, strict=True))
    for (t1, s1), (t2, s2) in itertools.pairwise(points):
        for at, strength in ((t1, s1), (0.5 * (t1 + t2), 0.5 * (s1 + s2)), (t2, s2)):
            left = reference.hot_share(grade, kelvin(at, unit))
            # five decimals are tabled, and temperatures of °F to 0.005 °C, over which no share falls by more than 0.0045 × 0.005
            assert left.share == pytest.approx(strength / strengths[0], abs=3e-5)
            assert left.provenance.status == "from-memory"
    assert reference.hot_share(grade, kelvin(-20, "degC")).share == 1.0
    assert reference.hot_share(grade, kelvin(temperatures[-1] + 1, unit)).share is None


@pytest.mark.parametrize("grade", ["4.6", "4.8", "5.8", "6.8", "9.8", "A307 B", "A325", "A490", "SAE J429 grade 5", "A193 B8 Cl.2"])  # fmt: skip
def test_nothing_is_taken_of_a_class_of_which_nothing_is_remembered(grade):
    assert reference.hot_share(grade, 423.15) is None


def test_every_row_is_from_memory_and_its_share_is_that_of_its_own_figures():
    for row in reference.load("bolt_strength_hot").rows:
        assert row["status"] == "from-memory"
        if " of " in row["remembered"]:
            left, _, rest = row["remembered"].partition(" of ")
            assert float(row["yield_share"]) == pytest.approx(float(left) / float(rest.split()[0]), abs=5.1e-6)


# --- what is told -----------------------------------------------------------------------------------------------------


def test_what_holds_only_cold_is_doubted_and_stands_at_the_verdict():
    share = (270 + 230) / 2 / 300
    judged, (finding,) = found(line())
    use = stress(90) / 280e6
    assert use < 1 < use / share
    assert judged.verdict == "holds"
    assert (finding.kind, finding.case, finding.doubtful) == (KIND, None, True)
    assert finding.message == (
        "Joint 'head': proof and yield strength of class 5.6 are those at room temperature. At 150 °C, which the bolts have at most, some "
        "83% is left (table bolt_strength_hot, row ISO 898-1 5.6, 100 to 200 °C, from memory): bolt proof and the "
        "upper end of the torque window do not count that, and preload relaxes more when hot. With that bolt proof in 'normal' would be "
        f"{use / share:.4g} in place of {use:.4g}, which FAILS. Write bolts / proof_strength beside class, that at temperature."
    )
    report = " ".join(check_report(judged, 100).split())
    assert "HOLDS ON DOUBTFUL INPUT" in report
    assert (
        "Doubtful input: Joint 'head': proof and yield strength of class 5.6 are those at room temperature." in report
    )


def test_what_is_to_be_written_ends_the_telling_and_is_what_was_told():
    hot = 280 * (270 + 230) / 2 / 300
    judged, told = found(line(grade=f'class: "5.6", proof_strength: {hot:.9g} MPa'))
    assert not told
    (proof,) = (check for check in judged.cases["normal"].checks if check.check == "bolt proof")
    assert float(proof.utilization) == pytest.approx(stress(90) / (hot * 1e6), rel=1e-6)

    assert judged.verdict == "fails"
    assert not found(line(grade="class: A193 B7, proof_strength: 600 MPa"))[1]


def test_what_holds_with_the_strength_left_is_told_plainly():
    judged, (finding,) = found(line(grade='class: "8.8"'))
    use, share = stress(90) / 580e6, (590 + 540) / 2 / 640
    assert not finding.doubtful
    assert not judged.doubtful
    assert (
        f"With that bolt proof in 'normal' would be {use / share:.4g} in place of {use:.4g}. Write" in finding.message
    )
    assert "some 88% is left" in finding.message


def test_what_fails_cold_is_no_doubt_but_a_failure():
    judged, (finding,) = found(line(torque="140 N*m"))
    assert judged.verdict == "fails"
    assert not finding.doubtful


@pytest.mark.parametrize(
    ("temperature", "grade"),
    [
        ("", 'class: "5.6"'),
        (", temperature: 20 degC", 'class: "5.6"'),
        (", temperature: 60 degC", 'class: "8.8"'),  # 1 − (1 − 590/640)/2 = 0.961
        (", temperature: 80 degC", 'class: "4.6"'),
        (", temperature: -40 degC", 'class: "8.8"'),
        (", temperature: -60 degC", "class: A320 L7"),
        (", temperature: -60 degC", "class: A4-70"),
        (", temperature: 150 degC", "proof_strength: 230 MPa"),
    ],
)
def test_nothing_is_told_where_nothing_is_lost(temperature, grade):
    judged, told = found(line(temperature, grade))
    assert not told
    assert not any("room temperature" in each for each in judged.assumptions)
    assert "bolt_strength_hot" not in {each.table for each in judged.study.provenance}
    assert "room temperature" not in said(["check"], line(temperature, grade))


@pytest.mark.parametrize(
    ("temperature", "grade", "doubtful", "words"),
    [
        ("140 degC", 'class: "4.6"', False, "What is left at 140 °C, which the bolts have at most, is not known here (no row in table bolt_strength_hot)"),
        ("151 degC", 'class: "4.6"', True, "is not known here (no row in table bolt_strength_hot)"),
        ("301 degC", 'class: "8.8"', True, "is not known here (table bolt_strength_hot ends at 300 °C for it)"),
        ("160 degC", "class: A307 B", True, "the tensile strength of class A307 B is that at room temperature."),
    ],
)  # fmt: skip
def test_what_is_not_known_is_said_and_doubted_where_it_is_hot(temperature, grade, doubtful, words):
    _, (finding,) = found(line(f", temperature: {temperature}", grade, torque="60 N*m"))
    assert finding.doubtful is doubtful
    assert words in finding.message


def test_the_same_in_other_units():
    _, (there,) = found(line(", temperature: 302 degF").replace("units: metric", "units: us"))
    _, (here,) = found(line())
    assert here.doubtful
    assert there.doubtful
    assert there.message == here.message.replace("At 150 °C", "At 302 °F")


TEST = "{rating_factor: 1.5, head: {flow_in: 0 L/s, pressure: 10 bar}, end: {exit: capped}}"
SERVICE = "{head: {flow_in: 0 L/s, pressure: 1 bar}, end: {exit: capped}}"


def test_a_test_of_its_own_rating_is_run_cold():
    assert not found(line(more=f"  test: {TEST}"))[1]
    torque = 88.0  # holds hot at 1 bar, would not at 10
    in_service = (1.3 * torque / (0.2 * D) + 1e5 * math.pi / 4 * G**2 / 8) / AREA
    share = (270 + 230) / 2 / 300
    assert in_service / share / 280e6 < 1 < (in_service + 9e5 * math.pi / 4 * G**2 / 8 / AREA) / share / 280e6
    _, (finding,) = found(line(torque="88 N*m", more=f"  test: {TEST}\n  service: {SERVICE}"))
    assert not finding.doubtful
    assert f"bolt proof in 'service' would be {in_service / share / 280e6:.4g}" in finding.message


@pytest.mark.parametrize(
    ("grade", "at", "least"),
    [
        ('class: "8.8"', -51, "-50 °C"),
        ("class: A193 B7", -46, "-45 °C"),
        ("class: A307 B", -46, "-45 °C"),
        ("class: A325", -46, "-45 °C"),
        ("class: A490", -46, "-45 °C"),
        ("class: SAE J429 grade 5", -46, "-45 °C"),
    ],
)
def test_bolts_that_may_be_brittle_are_doubted(grade, at, least):
    judged, (finding,) = found(line(f", temperature: {at} degC", grade))
    assert (finding.kind, finding.doubtful) == (BRITTLE, True)
    assert f"at {at} °C bolts of class" in finding.message
    assert f"they are commonly used down to {least} (from memory)" in finding.message
    assert judged.doubtful
    assert not found(line(f", temperature: {at + 1} degC", grade))[1]


# --- where it is seen -------------------------------------------------------------------------------------------------

SHORT = "Joint 'head': the strength of class 5.6 is that at room temperature; some 83% of it is left at 150 °C (from memory)."
DOUBT = "Doubtful input: Joint 'head': proof and yield strength of class 5.6 are those at room temperature."
WINDOW = "strength of the bolts at room temperature, NOT that in service"


@pytest.mark.parametrize("command", ["check", "limits", "supports"])
def test_every_page_says_that_the_strength_is_that_at_room_temperature(command):
    text = said([command], line())
    assert DOUBT in text
    assert SHORT in text
    assert DOUBT not in said([command], line(", temperature: 20 degC"))
    # also where nothing is in doubt
    assert "the strength of class 8.8 is that at room temperature; some 88% of it is left" in said(
        [command], line(grade='class: "8.8"')
    )


def test_the_torque_window_says_so():
    assert f"scatter and loss included, {WINDOW}; given:" in said(["check"], line())
    assert WINDOW not in said(["check"], line(", temperature: 20 degC"))
    assert WINDOW in said(["size", "--counts", "8"], line())


def test_the_sheet_says_so():
    page = said(["boltup", "-o", "out.html"], line()).replace("&#39;", "'")
    assert DOUBT in page
    assert WINDOW in page
    assert SHORT in page
    plain = said(["boltup", "-o", "out.html"], line(grade='class: "8.8"')).replace("&#39;", "'")
    assert "Doubtful input" not in plain
    assert WINDOW in plain


def test_the_report_shows_the_row_and_that_it_is_from_memory():
    page = said(["report", "-o", "out.md"], line())
    assert "values of yield strength left in hot bolts of ISO 898-1 5.6" in page
    assert "| ISO 898-1 5.6, 100 to 200 °C | at 150 °C, yield left 83.33 % |" in page
    assert DOUBT in page
    assert "yield strength left in hot bolts of ISO 898-1 5.6" in said(["check"], line())


def test_no_class_is_offered_that_holds_only_cold_without_a_word():
    asked = ["size", "--classes", "5.6, 8.8, A2-70", "--counts", "8"]
    text = said(asked, line())
    only = "class 5.6 holds bolt proof only at room temperature, NOT with the 83% of its strength left at 150 °C"
    assert f"row 3: {only}" in text
    assert "class 8.8 holds bolt proof only" not in text
    assert "HOLDS: 3 of 3 candidates" in text  # the first choice holds hot as well
    assert "HOLDS ON DOUBTFUL INPUT" in said(["size", "--classes", "5.6", "--counts", "8"], line())
    held = {each["class"]: each["held"] for each in json.loads(said([*asked, "--json"], line()))["ranked"]}
    assert held == {"8.8": [], "A2-70": [], "5.6": [only]}
    assert "room temperature" not in said(asked, line(", temperature: 20 degC"))
    assert only in said([*asked, "--robust"], line())


def test_size_says_of_each_class_what_is_not_known_of_it():
    text = said(["size", "--classes", "4.6, 8.8", "--counts", "8"], line(torque="60 N*m"))
    assert (
        "row 2: how strong class 4.6 is at 150 °C is not known; bolt proof takes its strength at room temperature"
        in text
    )
    cold = said(["size", "--classes", "8.8, A2-70", "--counts", "8"], line(", temperature: -60 degC"))
    assert "row 1: class 8.8 may be brittle as cold as the fluid is; that is not judged" in cold
    assert "class A2-70 may" not in cold
