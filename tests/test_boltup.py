"""The installer's sheet: its order and torques against published ones, its numbers against the assessment, and the page itself."""

from __future__ import annotations

import html.parser
import io
import json
import math
import re
import subprocess
import sys
from functools import cache
from html import unescape
from pathlib import Path

import numpy as np
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from anchorsize import CaseFileError, StudyError, assess, parse_case
from anchorsize.cli.boltup import boltup
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.boltup_head import SERVICE
from anchorsize.present.on_site import on_site_text
from anchorsize.studies.boltup import boltup as plan_of
from anchorsize.studies.boltup import wrench_setting
from tests.browser import load
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parent.parent / "examples"
FT_LBF = constants.foot * constants.pound_force
GASKET = (
    "    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}\n"
    "    grip: 44 mm\n    bolt_modulus: 205 GPa\n    face_friction: 0.15\n"
)
TIGHT = "    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}\n"
BY_BOLT = "target_torque: [90, 80, 90, 90, 90, 80, 90, 90 N*m]"
FOUND = "torque: [90, 80, 70, 12.5, 50, 40, 30, 24 N*m]"
LOOSE = BLANK_FLANGE.replace("    gasket: {inside: 115 mm, outside: 162 mm}\n", GASKET).replace(
    "22.5 deg}", '22.5 deg, class: "8.8"}'
)
BLANK = LOOSE.replace(GASKET, GASKET + TIGHT)

# ASME PCC-1, legacy cross-pattern table (recalled; the 12-bolt order printed on a public guide as well).
PUBLISHED_ORDERS = {
    4: [1, 3, 2, 4],
    8: [1, 5, 3, 7, 2, 6, 4, 8],
    12: [1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12],
    16: [1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16],
    20: [1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19],
    24: [1, 13, 7, 19, 4, 16, 10, 22, 2, 14, 8, 20, 5, 17, 11, 23, 3, 15, 9, 21, 6, 18, 12, 24],
}


def flange_of(count, text=BLANK):
    """The blank flange with another number of bolts, on a circle that has room for them."""
    circle = max(180, 18 * count)
    text = text.replace("count: 8, size: M16, circle: 180 mm", f"count: {count}, size: M16, circle: {circle} mm")
    return text.replace("inside: 115 mm, outside: 162 mm", f"inside: {circle - 65} mm, outside: {circle - 18} mm")


@cache  # many tests ask of the same sheets
def sheet(text, joint=None):
    """Machine output and page of a case file's text."""
    assessment = assess(parse_case(text, "t.yaml"))
    plan = plan_of(assessment, joint)
    return sheet_dict(assessment, plan), sheet_html(assessment, plan)


def run(folder, text, *words):
    """The command on a file of this text, writing sheet.html."""
    (folder / "t.yaml").write_text(text)
    return CliRunner().invoke(boltup, [str(folder / "t.yaml"), "-o", str(folder / "sheet.html"), *words])


class Reader(html.parser.HTMLParser):
    """Headings, tables, ids and texts of a page; every element closed in its turn."""

    VOID = frozenset({"meta", "link", "br"})

    def __init__(self, page):
        super().__init__()
        self.open, self.ids, self.headings, self.tables, self.words = [], [], [], [], []
        self.elements = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.elements.append((tag, attributes))
        if "id" in attributes:
            self.ids.append(attributes["id"])
        if tag in self.VOID:
            return
        self.open.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")
            assert tag == "td" or attributes.get("scope") in ("row", "col")
        elif re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("style", "script"):
            self.words.append(data)
        if any(tag in self.open for tag in ("td", "th")):
            self.tables[-1][-1][-1] += data

    @property
    def text(self):
        return " ".join("".join(self.words).split())


@pytest.mark.parametrize("count", PUBLISHED_ORDERS)
def test_order_is_the_published_cross_pattern(count):
    data, page = sheet(flange_of(count))
    assert data["order"] == PUBLISHED_ORDERS[count]
    assert " → ".join(map(str, PUBLISHED_ORDERS[count])) in Reader(page).text
    assert "legacy table of ASME PCC-1" in data["order_source"]
    assert {bolt["number"]: bolt["turn"] for bolt in data["bolts"]} == {
        bolt: turn for turn, bolt in enumerate(PUBLISHED_ORDERS[count], 1)
    }


def test_a_count_outside_the_table_does_not_claim_it():
    data, _ = sheet(flange_of(10))
    assert sorted(data["order"]) == list(range(1, 11))
    assert "this tool's own" in data["order_source"]


def test_missing_bolts_are_left_out_of_the_published_order():
    data, page = sheet(flange_of(12).replace("first_at", "missing: [4, 5], first_at"))
    assert data["order"] == [1, 7, 10, 2, 8, 11, 3, 9, 6, 12]
    assert data["round"] == [1, 2, 3, 6, 7, 8, 9, 10, 11, 12]
    assert data["missing"] == [4, 5]
    assert "Missing: bolts 4 and 5." in page
    record = Reader(page).tables[-1]
    assert record[0] == ["Bolt", "1", "2", "3", "4 missing", "5 missing", *map(str, range(6, 13))]
    assert record[1] == ["Torque as found", *[""] * 12]
    assert all(bolt["torque_Nm"] is None for bolt in data["bolts"] if bolt["number"] in (4, 5))


def test_free_positions_are_taken_round_the_flange():
    # numbered from corner to corner: 1 and 2 opposite, 3 and 4 opposite
    free = "bolts: [{x: 70 mm, y: 70 mm, size: M16}, {x: -70 mm, y: -70 mm, size: M16}, {x: 70 mm, y: -70 mm, size: M16}, {x: -70 mm, y: 70 mm, size: M16}]"
    text = re.sub(r"bolts: \{.*\}", free, BLANK_FLANGE).replace("outside: 162 mm", "outside: 160 mm")
    data, page = sheet(text)
    # clockwise from bolt 1 at 1:30 stand 4 (4:30), 2 (7:30), 3 (10:30); the published order of four is 1, 3, 2, 4
    assert data["round"] == [1, 4, 2, 3]
    assert data["order"] == [1, 2, 4, 3]
    assert "bolt 4 at -70 mm toward 12:00 and 70 mm toward 3:00" in page


@pytest.mark.parametrize(
    ("count", "percent"), [(4, [30, 60, 100]), (8, [30, 60, 100]), (12, [20, 40, 80, 100]), (16, [20, 40, 80, 100])]
)
def test_passes_are_the_published_ones(count, percent):
    """Public flange-assembly guide: passes for 4 and 8 bolts, and for 12 and more (printed)."""
    data, page = sheet(flange_of(count))
    assert [round(100 * each["share"]) for each in data["passes"]] == percent
    assert [row[1] for row in Reader(page).tables[0][1:]] == [f"{each}%" for each in percent]


@pytest.mark.parametrize(
    ("size", "first", "final"), [("1/2 in", 16, 52), ("5/8 in", 31, 104), ("3/4 in", 55, 184), ("7/8 in", 71, 237)]
)
def test_first_pass_of_a_published_torque_table(size, first, final):
    """Plant procedure, pass of 30 % and final torque of studs in ft·lbf (printed).

    Printed finals are whole, so that a pass may differ by half a digit of its own and 0.3 of half a digit of the final's.
    """
    text = flange_of(8).replace("M16", size).replace("180 mm", "250 mm").replace("90 N*m", f"{final} ft*lbf")
    passes = sheet(text.replace(', class: "8.8"', ""))[0]["passes"]
    assert passes[-1]["groups"][0]["torque_ftlbf"] == pytest.approx(final, rel=1e-12)
    assert passes[0]["groups"][0]["torque_ftlbf"] == pytest.approx(first, abs=0.5 + 0.3 * 0.5)


def test_torques_of_the_passes_by_hand():
    data, page = sheet(BLANK)
    groups = [each["groups"][0] for each in data["passes"]]
    assert [group["torque_Nm"] for group in groups] == pytest.approx([27.0, 54.0, 90.0])
    assert [group["torque_ftlbf"] for group in groups] == pytest.approx(
        [27 / FT_LBF, 54 / FT_LBF, 90 / FT_LBF], rel=1e-7
    )
    assert [group["set_Nm"] for group in groups] == pytest.approx([27.0, 54.0, 90.0])
    # 19.914, 39.829 and 66.381 ft·lbf, down by at most 2 %: steps of 0.2, 0.5 and 1
    assert [group["set_ftlbf"] for group in groups] == pytest.approx([19.8, 39.5, 66.0])
    assert Reader(page).tables[0] == [
        ["pass", "share", "set to N·m", "set to ft·lbf", "exact N·m", "exact ft·lbf"],
        ["1", "30%", "27", "19.8", "27.00", "19.91"],
        ["2", "60%", "54", "39.5", "54.00", "39.83"],
        ["3", "100%", "90", "66", "90.00", "66.38"],
    ]


def test_units_of_the_file_come_first():
    """The same torque, 90 N·m or 66.38 ft·lbf, told in the other order."""
    data, page = sheet(BLANK + "units: us\n")
    read = Reader(page)
    assert read.tables[0] == [
        ["pass", "share", "set to ft·lbf", "set to N·m", "exact ft·lbf", "exact N·m"],
        ["1", "30%", "19.8", "27", "19.91", "27.00"],
        ["2", "60%", "39.5", "54", "39.83", "54.00"],
        ["3", "100%", "66", "90", "66.38", "90.00"],
    ]
    assert "it covers 19.8 to 66 ft·lbf (27 to 90 N·m)." in read.text
    assert "6323 lbf (28.12 kN) in each bolt" in data["joint_facts"]["Preload aimed at"]
    assert "1766 lbf (7854 N)" in data["push"]["words"]
    several = BLANK.replace("torque: 90 N*m", f"torque: 60 N*m, {BY_BOLT}") + "units: us\n"
    read = Reader(sheet(several)[1])
    assert read.tables[0][1] == ["1, 3, 4, 5, 7, 8", "19.8 / 27", "39.5 / 54", "66 / 90", "66.38"]
    assert "Torque of each pass, ft·lbf / N·m" in read.text


def test_greatest_preload_as_a_share_of_proof_by_hand():
    """1.3 × 90 / (0.2 × 0.016) = 36.56 kN of 580 MPa × 157 mm² = 91.06 kN (ISO 898-1, class 8.8 up to M16): 40 %."""
    data, _ = sheet(BLANK)
    assert data["greatest_preload_share"]["of"] == "proof strength"
    assert data["greatest_preload_share"]["share"] == pytest.approx(36562.5 / (580e6 * 157e-6), rel=5e-4)
    assert data["joint_facts"]["Preload aimed at"].endswith("; the greatest is 40% of proof strength")
    bare = sheet(BLANK.replace(', class: "8.8"', ""))[0]
    assert bare["greatest_preload_share"] is None
    assert "proof" not in bare["joint_facts"]["Preload aimed at"]


def test_torque_window_ends_where_the_assessment_says_so():
    """Just inside both ends of the range on the sheet every check that preload decides holds, just outside one fails."""
    text = BLANK.replace("allow: {", "allow: {gasket_pressure_greatest: 400 MPa, ")
    data, page = sheet(text)
    least, greatest = (data["tightening"][f"torque_{end}_Nm"] for end in ("least", "greatest"))
    assert 0 < least < 90 < greatest

    def holds(torque):
        checks = assess(parse_case(text.replace("torque: 90 N*m", f"torque: {torque!r} N*m"), "t")).cases["test"].checks
        return all(check.holds for check in checks)

    assert [holds(torque) for torque in (least * 0.999, least * 1.001, greatest * 0.999, greatest * 1.001)] == [
        False,
        True,
        True,
        False,
    ]
    said = data["joint_facts"]["Torque window"]
    assert said.startswith(f"{least:.4g} N·m ({least / FT_LBF:.4g} ft·lbf) to {greatest:.4g} N·m")
    assert data["tightening"]["least_by"] in said
    assert "Torque window" in Reader(page).text


def test_no_torque_holds_is_said_on_the_sheet():
    said = sheet(BLANK.replace("pressure: 10 bar", "pressure: 200 bar"))[0]
    assert said["tightening"]["exists"] is False
    assert said["joint_facts"]["Torque window"].startswith("none: ")
    assert sheet(LOOSE)[0]["tightening"] is None


@given(torque=st.floats(1e-3, 1e6))
def test_a_setting_is_a_mark_at_most_two_percent_below(torque):
    setting = wrench_setting(torque)
    assert 0.98 * torque * (1 - 1e-8) <= setting <= torque * (1 + 1e-8)
    mantissa = setting / 10.0 ** math.floor(math.log10(torque * 0.02)) if setting else 0.0
    assert mantissa == pytest.approx(round(mantissa), abs=1e-6 * max(1.0, mantissa))


@pytest.mark.parametrize("torque", [1.0, 2.5, 20.0, 25.0, 90.0, 100.0, 210.0, 1000.0, 2500.0])
def test_round_torques_are_marks_themselves(torque):
    assert wrench_setting(torque) == pytest.approx(torque, rel=1e-12)


def test_no_torque_is_set_to_nothing():
    assert wrench_setting(0.0) == 0.0


def test_every_number_of_the_sheet_is_that_of_the_assessment():
    text = (EXAMPLES / "wye_missing_bolt.yaml").read_text()
    assessment = assess(parse_case(text, "w.yaml"))
    data, page = sheet(text)
    clamped = assessment.cases["drained"].joints["header flange"].clamping
    words = Reader(page).text
    for i, bolt in enumerate(data["bolts"]):
        if bolt["number"] == 3:
            continue
        assert bolt["torque_Nm"] == clamped.torque_wanted[i]
        assert (bolt["preload_least_N"], bolt["preload_N"], bolt["preload_greatest_N"]) == (
            clamped.least[i],
            clamped.mean[i],
            clamped.greatest[i],
        )
    # T = K D F by hand: 210 / (0.2 × 0.020) = 52.5 kN; ± 30 % and 10 % relaxation
    for newtons in (52500.0, 0.7 * 0.9 * 52500.0, 1.3 * 52500.0):
        assert f"{newtons / 1000:.4g} kN ({newtons / constants.pound_force:.0f} lbf)" in words
    for shown in (
        "8 × M20",
        "7 present, bolt 3 MISSING",
        "class 8.8",
        "295 mm circle",
        "grip 54 mm",
        "K = 0.2",
        "219 mm to 273 mm",
        "2 mm thick",
    ):
        assert shown in words
    for shown in (
        "scatter ±30%",
        "relaxation 10%",
        "outside 340 mm",
        "holes 22 mm",
        "63 to 210 N·m (46 to 154 ft·lbf)",
    ):
        assert shown in words
    greatest = max(assessment.cases.values(), key=lambda case: np.linalg.norm(case.reaction_force))
    assert data["push"]["case"] == greatest.name
    assert data["push"]["size_N"] == pytest.approx(np.linalg.norm(greatest.reaction_force), rel=1e-12)
    for line in (*assessment.assumptions, data["deferral"], *data["cautions"], *data["check_first"]):
        assert " ".join(line.split()) in words
    assert "bolt 3 of 8" in words


def test_push_of_a_blank_flange_is_pressure_on_its_bore():
    data, _ = sheet(BLANK)
    push = 1e6 * math.pi / 4 * 0.1**2
    assert data["push"]["away_from_pipe_N"] == pytest.approx(push)
    assert data["push"]["size_N"] == pytest.approx(push)
    assert data["push"]["words"] == (
        "Hardest in 'test': the fitting wants to move AWAY from the pipe, with "
        f"{push:.4g} N ({push / constants.pound_force:.4g} lbf)."
    )
    assert data["empty_weight_N"] is None


def test_push_of_an_elbow_by_hand():
    """The inlet pushes along +x (away from the pipe), the jet leaves upward and pushes down, 12 kg of weight with it."""
    data, page = sheet(ELBOW)
    along = 60e3 * math.pi / 4 * 0.1**2 + 1000 * 0.02**2 / (math.pi / 4 * 0.1**2)
    down = 1000 * 0.02**2 / (math.pi / 4 * 0.05**2) + 12 * 9.80665
    assert data["push"]["force_N"] == pytest.approx([along, 0.0, -down])
    assert data["push"]["up_in_flange_N"] == pytest.approx(-down)
    assert data["push"]["sideways_N"] == pytest.approx(0.0, abs=1e-9)
    assert "move AWAY from the pipe and DOWN, with" in data["push"]["words"]
    assert data["empty_weight_N"] == pytest.approx(10 * 9.80665)
    assert data["empty_mass_kg"] == pytest.approx(10.0)
    # 10 kg / 0.45359237 kg and 98.0665 N / 4.4482216 N: the same figure, since both stand under standard gravity
    assert "Empty, the fitting weighs 10 kg (22.05 lb), a force of 98.07 N (22.05 lbf)." in Reader(page).text


PULLS = {
    "[0, 0, 5000 N]": "UP",
    "[0, 0, -5000 N]": "DOWN",
    # looking along -x, from the fitting toward the pipe, +y is on the right: the side of 3 o'clock
    "[0, 5000, 0 N]": "SIDEWAYS toward 3:00",
    "[0, -5000, 0 N]": "SIDEWAYS toward 9:00",
    "[-5000, 0, 0 N]": "AGAINST the pipe",
    "[5000, 0, 0 N]": "AWAY from the pipe",
}
QUIET = BLANK.replace("pressure: 10 bar", "pressure: 0 bar")


@pytest.mark.parametrize("force", PULLS)
def test_a_pull_alone_is_told_in_its_direction(force):
    text = QUIET + f"external:\n  - {{name: pull, force: {force}, moment: [0, 0, 0 N*m], at: [0, 0, 0 m]}}\n"
    said = sheet(text)[0]["push"]["words"]
    assert said == f"Hardest in 'test': the fitting wants to move {PULLS[force]}, with 5000 N (1124 lbf)."


def test_on_an_upright_pipe_away_is_up_and_the_clock_tells_the_side():
    # the axis points down; 12:00 is +x and e2 = a × e1 = -y, so that a pull along +y goes toward 9 o'clock
    text = BLANK.replace("outward: [-1, 0, 0]", "outward: [0, 0, -1]")
    text += "external:\n  - {name: pull, force: [0, 20, 0 kN], moment: [0, 0, 0 N*m], at: [0, 0, 0 m]}\n"
    data, page = sheet(text)
    assert "SIDEWAYS toward 9:00 and AWAY from the pipe (up), with" in data["push"]["words"]
    assert "12:00 points along [1, 0, 0] of the case file" in Reader(page).text


def test_nothing_pushes():
    assert "Nothing pushes the fitting" in sheet(QUIET)[0]["push"]["words"]


def test_top_of_a_flange_counted_from_another_direction():
    page = Reader(sheet(BLANK.replace("at: pipe", "at: pipe\n    reference: [0, 1, 0]"))[1]).text
    assert "the top of the flange is at 9:00" in page
    assert "UP 9:00" in page


def test_torques_that_differ_stand_by_their_bolts():
    data, page = sheet(BLANK.replace("torque: 90 N*m", f"torque: 90 N*m, {BY_BOLT}"))
    assert [[group["bolts"], group["torque_Nm"]] for group in data["passes"][-1]["groups"]] == [
        [[1, 3, 4, 5, 7, 8], 90.0],
        [[2, 6], 80.0],
    ]
    rows = Reader(page).tables[0]
    assert rows[1] == ["1, 3, 4, 5, 7, 8", "27 / 19.8", "54 / 39.5", "90 / 66", "90.00"]
    assert rows[2] == ["2, 6", "24 / 17.6", "48 / 35", "80 / 59", "80.00"]


def test_bolts_of_two_sizes_have_two_torques_and_were_not_found_so():
    places = [(70, 70, "M16"), (70, -70, "M12"), (-70, -70, "M16"), (-70, 70, "M12")]
    free = ", ".join(f"{{x: {x} mm, y: {y} mm, size: {size}}}" for x, y, size in places)
    text = re.sub(r"bolts: \{.*\}", f"bolts: [{free}]", BLANK).replace("outside: 162 mm", "outside: 160 mm")
    data, page = sheet(text.replace("torque: 90 N*m", "torque: [90, 40, 90, 40 N*m]"))
    assert data["no_torque"] is None
    assert [group["bolts"] for group in data["passes"][-1]["groups"]] == [[1, 3], [2, 4]]
    assert "for the bolts with the greatest torque, the others in proportion" in page
    one_looser = sheet(text.replace("torque: 90 N*m", "torque: [90, 40, 90, 30 N*m]"))[0]
    assert one_looser["no_torque"].startswith("NO TARGET TORQUE")


def site(text):
    """What `check` says on site, on one line."""
    return " ".join(on_site_text(assess(parse_case(text, "t")), 80).split())


def test_torques_as_found_are_no_target(tmp_path):
    text = BLANK.replace("torque: 90 N*m", FOUND).replace("pressure: 10 bar", "pressure: 1 bar")
    ended = run(tmp_path, text)
    assert "HOLDS: all" in ended.output
    assert "NO TARGET TORQUE: the file gives the bolts different torques, as found" in " ".join(ended.output.split())
    assert ended.exit_code == 3
    data, page = sheet(text)
    read = Reader(page)
    assert "say the torque to tighten to with joints / main / tightening / target_torque" in read.text
    assert len(read.tables) == 1  # the record alone
    assert read.tables[0][1] == [
        "Torque as found, N·m",
        *("90.00", "80.00", "70.00", "12.50", "50.00", "40.00", "30.00", "24.00"),
    ]
    assert "N·m" not in read.text.replace("Torque as found, N·m", "").replace("Torque in (N·m or ft·lbf)", "")
    assert [each["groups"] for each in data["passes"]] == [[], [], []]
    assert data["tightening"] is None
    assert [bolt["torque_found_Nm"] for bolt in data["bolts"]] == [90.0, 80.0, 70.0, 12.5, 50.0, 40.0, 30.0, 24.0]
    assert {bolt["torque_Nm"] for bolt in data["bolts"]} == {None}
    said = site(text)
    assert "Torque: target: none given (supply target_torque under tightening); judged as found: bolt 1: 90 N·m" in said
    assert "bolt 4: 12.5 N·m" in said
    failing = run(tmp_path, text.replace("bolt_tension: 160 MPa", "bolt_tension: 1 MPa"), "--force")
    assert failing.exit_code == 1


def test_preloads_as_found_are_no_target():
    text = BLANK.replace("torque: 90 N*m", "preload: [28, 28, 28, 4, 28, 28, 28, 28 kN]")
    data, page = sheet(text)
    assert data["no_torque"].startswith("NO TARGET TORQUE: the file gives the bolts different preloads, as found")
    assert Reader(page).tables[0][1][0] == "Torque as found"
    aimed = sheet(text.replace("preload:", "target_torque: 90 N*m, preload:"))[0]
    assert aimed["passes"][-1]["groups"][0]["torque_Nm"] == 90.0
    assert "judged at the preloads as found" in site(text.replace("preload:", "target_torque: 90 N*m, preload:"))


def test_target_torque_is_told_and_the_torques_found_are_judged(tmp_path):
    text = BLANK.replace("torque: 90 N*m", f"{FOUND}, target_torque: 90 N*m")
    data, page = sheet(text)
    read, plain = Reader(page), sheet(BLANK)[0]
    assert data["passes"] == plain["passes"]
    assert read.tables[0] == Reader(sheet(BLANK)[1]).tables[0]
    assert read.tables[1][1][4] == "12.50"
    assert data["joint_facts"]["Preload aimed at"] == plain["joint_facts"]["Preload aimed at"]
    assert "The verdict is for the torques as found, not for the target torque" in read.text
    judged = assess(parse_case(BLANK.replace("torque: 90 N*m", FOUND), "t"))
    uses = [check.utilization for case in judged.cases.values() for check in case.checks]
    with_target = assess(parse_case(text, "t"))
    assert [check.utilization for case in with_target.cases.values() for check in case.checks] == uses
    said = site(text)
    assert (
        "Torque: target: 90 N·m (66.38 ft·lbf) (NOT for bolts 4, 7 and 8 if the gasket STAYS); judged as found: bolt 1: 90 N·m"
        in said
    )
    assert "bolts " not in said.split("judged as found")[1].split("Preload")[0]
    assert run(tmp_path, text.replace("pressure: 10 bar", "pressure: 1 bar")).exit_code == 0


def test_bolts_found_alike_are_told_together():
    text = BLANK.replace("torque: 90 N*m", "torque: [90, 90, 90, 12, 90, 90, 90, 90 N*m], target_torque: 90 N*m")
    assert "bolts 1, 2, 3, 5, 6, 7 and 8: 90 N·m (66.38 ft·lbf); bolt 4: 12 N·m (8.851 ft·lbf)" in site(text)


def test_a_target_that_would_break_a_bolt_is_not_told():
    """1.3 × 1000 / (0.2 × 0.016) = 406 kN on 157 mm² is 2588 MPa, over the 800 MPa of class 8.8 (ISO 898-1)."""
    text = BLANK.replace("torque: 90 N*m", "torque: 60 N*m, target_torque: 1000 N*m").replace("10 bar", "9 bar")
    data, page = sheet(text)
    assert "over its tensile strength" in data["no_torque"]
    assert "1000" not in Reader(page).text
    assert "would pull a bolt over its tensile strength" in site(text)


def test_target_torque_alone_is_not_judged():
    with pytest.raises(CaseFileError, match="write torque, or preload"):
        parse_case(BLANK.replace("torque: 90 N*m", "target_torque: 90 N*m"), "t")
    with pytest.raises(CaseFileError, match="3 values for 8 bolts"):
        parse_case(BLANK.replace("torque: 90 N*m", "torque: 90 N*m, target_torque: [9, 9, 9 N*m]"), "t")


def test_lubricant_is_told_or_asked_for():
    paste = "tallow on threads and nut faces"
    data, page = sheet(BLANK.replace("torque: 90 N*m", f"torque: 90 N*m, lubricant: {paste}"))
    assert f"Threads and nut faces all alike; lubricant: {paste}." in data["check_first"]
    assert data["joint_facts"]["Lubrication"].startswith(f"{paste}; nut factor K = 0.2")
    assert data["lubricant"] == paste
    assert Reader(page).text.count(paste) == 2
    for text in (BLANK, LOOSE):
        data, page = sheet(text)
        assert "Threads and nut faces all alike; lubricant not stated: ask before tightening." in data["check_first"]
        assert data["joint_facts"]["Lubrication"].startswith("lubricant not stated: ask before tightening; ")
        assert "ask before tightening" in Reader(page).text


def test_a_missing_bolt_has_its_order_for_when_it_is_fitted():
    data, page = sheet(flange_of(12).replace("first_at", "missing: [4, 5], first_at"))
    assert data["order_when_fitted"] == PUBLISHED_ORDERS[12]
    text = Reader(page).text
    assert (
        "If the gasket STAYS: FIT FIRST, without pressure: bolts 4 and 5 (M16). Bolts 4 and 5 ONE AFTER THE OTHER, in this order: hand-tight, then at once as tight as the engineer says;"
        in text
    )
    whole_order, without = " → ".join(map(str, PUBLISHED_ORDERS[12])), " → ".join(map(str, data["order"]))
    assert text.index("FIT FIRST") < text.index(whole_order)
    assert "Tightened without bolts 4 and 5 ONLY where" in text
    assert without not in text  # one order on the sheet, so that nobody follows the wrong one
    assert "same steps, same order, 4, 5 left out" in text
    assert [bolt for bolt in PUBLISHED_ORDERS[12] if bolt not in (4, 5)] == data["order"]
    whole, page = sheet(flange_of(12))
    assert whole["order_when_fitted"] is None
    assert "missing" not in Reader(page).text
    assert "FIT FIRST" not in Reader(page).text


def test_without_a_bolt_is_as_if_it_were_missing(tmp_path):
    given = sheet(BLANK.replace("first_at", "missing: [3], first_at"))[0]
    (tmp_path / "t.yaml").write_text(BLANK)
    ended = CliRunner().invoke(boltup, [str(tmp_path / "t.yaml"), "--without", "3", "--json"])
    data = json.loads(ended.output)
    assert data["missing"] == [3]
    for key in ("order", "order_when_fitted", "passes", "bolts", "verdict"):
        assert data[key] == json.loads(json.dumps(given[key]))
    assert run(tmp_path, BLANK, "--without", "9").exit_code == 2


def test_a_bolt_taken_away_was_still_found_looser_than_the_rest(tmp_path):
    text = BLANK.replace("torque: 90 N*m", "torque: [90, 90, 90, 12, 90, 90, 90, 90 N*m]")
    assert "NO TARGET TORQUE" in run(tmp_path, text, "--without", "4").output
    untightened = text.replace("12, 90", "0, 90").replace("first_at", "missing: [4], first_at")
    assert sheet(untightened)[0]["no_torque"] is None


def test_preload_with_friction_known_gives_the_torque_that_makes_it():
    data, _ = sheet(BLANK.replace("torque: 90 N*m", "preload: 28.125 kN"))
    assert data["passes"][-1]["groups"][0]["torque_Nm"] == pytest.approx(90.0)  # T = K D F = 0.2 × 0.016 × 28125


@pytest.mark.parametrize(
    ("text", "supply"),
    [
        (LOOSE, "tightening: torque or preload, with nut_factor"),
        (
            BLANK.replace("torque: 90 N*m, nut_factor: 0.2", "preload: 28 kN"),
            "tightening: nut_factor, or thread_friction",
        ),
    ],
)
def test_without_tightening_no_torque_is_given_and_it_says_what_to_supply(tmp_path, text, supply):
    ended = run(tmp_path, text)
    page = (tmp_path / "sheet.html").read_text()
    assert ended.exit_code == 3
    assert "NO TORQUE IS GIVEN" in ended.output
    for words in ("NO TORQUE IS GIVEN", supply):
        assert words in Reader(page).text
    assert "Torque of each pass" not in page
    assert "Passes at 30%, 60%, 100% of the final torque" in page


@pytest.mark.parametrize(
    ("text", "code", "loud", "word"),
    [
        (BLANK, 0, None, "HOLDS: all"),
        (
            BLANK.replace("bolt_tension: 160 MPa", "bolt_tension: 1 MPa"),
            1,
            "STOP: this joint does not hold",
            "DOES NOT HOLD",
        ),
        (BLANK.replace("bolt_tension: 160 MPa, ", ""), 3, "CAUTION: this joint is not fully judged", "NOT COMPLETE"),
    ],
)
def test_verdict_on_top_and_in_the_exit_code(tmp_path, text, code, loud, word):
    ended = run(tmp_path, text)
    page = Reader((tmp_path / "sheet.html").read_text())
    assert ended.exit_code == code
    assert word in ended.output
    assert word in page.text
    assert "review by a licensed engineer" in " ".join(ended.output.split())
    assert [words for words in page.words if words.startswith(("STOP", "CAUTION"))] == (
        [] if loud is None else [each for each in page.words if each.startswith(loud)]
    )
    assert loud is None or page.text.index(loud) < page.text.rindex("Bolting up")  # the window's title comes before


def test_machine_output_with_and_without_the_page(tmp_path):
    alone = CliRunner().invoke(boltup, [str(EXAMPLES / "wye_missing_bolt.yaml"), "--json"])
    data = json.loads(alone.output)
    assert (alone.exit_code, data["format"], data["verdict"]) == (1, "anchorsize/1", "fails")
    ended = run(tmp_path, (EXAMPLES / "wye_missing_bolt.yaml").read_text(), "--json")
    assert json.loads(ended.output) == data
    assert (tmp_path / "sheet.html").stat().st_size > 5000


def test_one_of_several_joints(tmp_path):
    two = ELBOW.replace("allow:", "  far:\n    at: outlet\n    bolts: {count: 4, size: M12, circle: 100 mm}\nallow:")
    two = two.replace("outlet: capped", "outlet: {flow_out: 0 L/s, pressure: 60 kPa}")
    two = two.replace("outlet: free_jet", "outlet: {pressure: 0 kPa}")
    with pytest.raises(StudyError, match="choose one with --joint"):
        sheet(two)
    with pytest.raises(StudyError, match="no joint 'near'; the file has main, far"):
        sheet(two, "near")
    data, _ = sheet(two, "far")
    assert [bolt["size"] for bolt in data["bolts"]] == ["M12"] * 4
    assert run(tmp_path, two).exit_code == 2
    assert run(tmp_path, two, "--joint", "far").exit_code == 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "-o is missing"),
        (["--json", "--open"], "give -o as well"),
        (["-o", "none/sheet.html"], "there is no folder 'none'"),
        (["-o", "sheet.html", "--option", "rod"], "no support option 'rod'"),
        (["-o", "sheet.html", "--joint", "far"], "no joint 'far'"),
    ],
)
def test_bad_input_is_said_and_nothing_is_written(tmp_path, monkeypatch, words, said):
    monkeypatch.chdir(tmp_path)
    Path("t.yaml").write_text(BLANK)
    ended = CliRunner().invoke(boltup, ["t.yaml", *words])
    assert ended.exit_code == 2
    assert said in ended.output
    assert "Traceback" not in ended.output
    assert [path.name for path in tmp_path.iterdir()] == ["t.yaml"]


def test_never_over_another_file_unless_told(tmp_path):
    (tmp_path / "sheet.html").write_text("mine")
    assert run(tmp_path, BLANK).exit_code == 2
    assert (tmp_path / "sheet.html").read_text() == "mine"
    assert run(tmp_path, BLANK, "--force").exit_code == 0
    assert "Bolting up" in (tmp_path / "sheet.html").read_text()


def test_open_without_a_display_keeps_page_and_exit_code(tmp_path, monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    ended = run(tmp_path, BLANK, "--open")
    assert ended.exit_code == 0
    assert "no browser could be started" in ended.output
    assert (tmp_path / "sheet.html").exists()


def test_the_command_is_quick_to_explain_itself():
    code = "import sys, anchorsize.cli.boltup; print([m for m in ('numpy', 'pint', 'pandas', 'jinja2') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout == "[]\n"


def test_a_push_on_several_joints_is_told_with_the_part_of_each():
    """Two flanges on one axis, 30 and 10 MN/m: along it they hold three quarters and one quarter of what pushes."""
    text = BLANK.replace(
        "joints:\n", "  end: {center: [0.4, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}\njoints:\n"
    ).replace("pressure: 10 bar}", "pressure: 10 bar}, end: {pressure: 10 bar}")
    text += "external:\n  - {name: pull, force: [8, 0, 0 kN], moment: [0, 0, 0 N*m], at: [0, 0, 0 m]}\n"
    first = text[text.index("  main:\n") : text.index("allow:")]
    second = first.replace("main:", "other:").replace("at: pipe", "at: end")
    stiff = "    stiffness: {{axial: {0} MN/m, shear: {0} MN/m, bending: {0} MN*m, torsion: {0} MN*m}}\n"
    shared = text.replace(first, first + stiff.format(30) + second + stiff.format(10))
    whole = "On both joints together, so not on this joint alone: 8000 N (1798 lbf) at most, in 'test'."
    data, page = sheet(shared, "main")
    assert data["push"]["words"] == (
        "Hardest on this joint in 'test': its own share pushes the fitting AWAY from the pipe, with 6000 N (1349 lbf): it pulls this "
        f"joint open. {whole}"
    )
    assert data["push"]["words"] in unescape(page)
    assert data["own_push"]["away_from_pipe_N"] == pytest.approx(6000)
    assert data["push"]["size_N"] == pytest.approx(8000)
    data = sheet(shared, "other")[0]  # at the far end the same pull is against the pipe
    # ASME BPVC VIII-1 App. 2: gasket of 115 to 162 mm, b = 0.5 √b0 in inches, G = outside less 2b; 10 bar from the bore out to there
    seated = 0.5 * math.sqrt((162 - 115) / 4 / 25.4) * 25.4e-3
    opens = 1e6 * math.pi / 4 * ((0.162 - 2 * seated) ** 2 - 0.1**2) - 2000
    assert data["push"]["words"] == (
        "Hardest on this joint in 'test': its own share pushes the fitting AGAINST the pipe, with 2000 N (449.6 lbf), yet pressure on the "
        f"gasket's ring opens this joint all the same, with {opens:.0f} N ({opens / 4.4482216:.0f} lbf). {whole}"
    )
    assert data["own_push"]["away_from_pipe_N"] == pytest.approx(-2000)
    unknown = sheet(text.replace(first, first + second), "main")[0]["push"]["words"]
    assert unknown == f"How much of the load this joint holds, and which way, is not known. {whole}"
    on_site = " ".join(on_site_text(assess(parse_case(shared, "t")), 80).split())
    assert (
        "joint 'other', Worst push: Hardest on this joint in 'test': its own share pushes the fitting AGAINST"
        in on_site
    )


def test_a_push_that_a_support_shares_is_told_by_what_is_left_for_the_joint():
    """Joint and strut of 10 MN/m each on one axis hold half of 8 kN each."""
    text = BLANK.replace("pressure: 10 bar", "pressure: 0 bar")
    text += "external:\n  - {name: pull, force: [8, 0, 0 kN], moment: [0, 0, 0 N*m], at: [0, 0, 0 m]}\n"
    stiff = "    stiffness: {axial: 10 MN/m, shear: 10 MN/m, bending: 10 MN*m, torsion: 10 MN*m}\nallow:"
    strut = "supports:\n  one: [{kind: strut, name: S, at: [0.1, 0, 0 m], toward: [1, 0, 0], stiffness: 10 MN/m}]\n"
    plan = plan_of(assess(parse_case(text.replace("allow:", stiff, 1) + strut, "t"), "one"))
    assert plan.share.size == pytest.approx(4000)
    words = sheet_dict(assess(parse_case(text.replace("allow:", stiff, 1) + strut, "t"), "one"), plan)["push"]["words"]
    assert "with 4000 N" in words
    assert "On this joint and the support together, so not on this joint alone: 8000 N" in words


def test_pressures_that_contradict_each_other_stand_at_the_head_of_the_sheet(tmp_path):
    """Still water with 10 bar at one flange and 2 bar at the other."""
    text = BLANK.replace(
        "joints:\n", "  end: {center: [0.4, 0, 0 m], outward: [1, 0, 0], bore: 100 mm}\njoints:\n"
    ).replace("pressure: 10 bar}", "pressure: 10 bar}, end: {flow_out: 0 L/s, pressure: OTHER}")
    data, page = sheet(text.replace("OTHER", "2 bar"))
    assert any(warning["doubtful"] for warning in data["warnings"])
    shown = unescape(page)
    assert shown.index("STOP: the pressures or flows given for 'test' contradict each other") < shown.index("<h1>")
    assert "Doubtful input: in 'test': The data contradict themselves" in shown
    told = run(tmp_path, text.replace("OTHER", "2 bar")).output
    assert "Doubtful input: in 'test': The data contradict themselves" in " ".join(told.split())
    assert "contradict" not in sheet(text.replace("OTHER", "10 bar"))[1]


def test_the_repair_is_judged_as_a_file_with_everything_put_right(tmp_path):
    """The line, the machine output and --repaired all say what the same file says without the gap and at the target."""
    loose = "torque: {all: 90 N*m, 6: 4 N*m}, target_torque: 100 N*m, target_nut_factor: 0.2"
    found = BLANK.replace("torque: 90 N*m", loose).replace("22.5 deg,", "22.5 deg, missing: [3],")
    found = found.replace("allow: {", "allow: {bolt_spacing_greatest: 75 mm, ").replace(
        "y: 11 MPa", "y: 11 MPa, condition: reused"
    )
    whole = BLANK.replace("torque: 90 N*m", "torque: 100 N*m").replace(
        "allow: {", "allow: {bolt_spacing_greatest: 75 mm, "
    )
    data, page = sheet(found)
    right = assess(parse_case(whole, "t"))
    assert (data["verdict"], right.verdict) == ("fails", "holds")
    told = data["when_repaired"]
    assert (told["verdict"], told["fitted"], told["new_gaskets"]) == ("holds", {"main": [3]}, ["main"])
    assert told["governing"]["utilization"] == pytest.approx(float(right.governing[1].utilization), rel=1e-12)
    assert "With bolt 3 fitted, all at 100 N·m (73.76 ft·lbf) and a new gasket: HOLDS (" in site(found)
    bar = "Once bolt 3 is in, a NEW gasket is fitted and every bolt is at 100 N·m (73.76 ft·lbf): HOLDS, on the same assumptions ("
    assert data["as_found"].startswith(f"STOP, as found it DOES NOT HOLD. {SERVICE['fails']} as it is. {bar}")
    assert data["as_found"] in Reader(page).text
    assert "go back to the engineer" not in Reader(page).text
    (tmp_path / "t.yaml").write_text(found)
    ended = CliRunner().invoke(boltup, [str(tmp_path / "t.yaml"), "--repaired", "--json"])
    mended = json.loads(ended.stdout)
    assert (ended.exit_code, mended["verdict"], mended["missing"], mended["when_repaired"]) == (0, "holds", [], None)
    assert mended["passes"] == sheet(whole)[0]["passes"]
    assert "bolt 3 fitted" in ended.stderr
    both = CliRunner().invoke(boltup, [str(tmp_path / "t.yaml"), "--repaired", "--without", "3", "--json"])
    assert both.exit_code == 2
    assert "choose one" in both.stderr


def test_a_repair_that_does_not_do_says_so_and_one_without_target_asks_for_it():
    gap = BLANK.replace("22.5 deg,", "22.5 deg, missing: [3],").replace("bolt_tension: 160", "bolt_tension: 1")
    assert "With bolt 3 fitted and all at 90 N·m (66.38 ft·lbf): DOES NOT HOLD (bolt tension in 'test'" in site(gap)
    assert "all tightened alike: not judged: joint 'main': its bolts are tightened differently" in site(
        BLANK.replace("torque: 90 N*m", FOUND)
    )
    assert "After repair" not in site(BLANK)


def torques(words, missing=""):
    """Torques [N·m] by bolt, and the notes, of a file with these words for torque."""
    text = BLANK.replace("torque: 90 N*m", f"torque: {words}")
    study = parse_case(text.replace("22.5 deg,", f"22.5 deg, missing: [{missing}],"), "t")
    return [round(each, 9) for each in study.joints["main"].tightening.torque], study.notes


@pytest.mark.parametrize(
    "words",
    [
        "{all: 90 N*m, 6: 40 N*m, 3: -}",
        "[90, 90, -, 90, 90, 40, 90, 90 N*m]",
        "[90, 90, 90, 90, 40, 90, 90 N*m]",  # bolt 3 left out
        "{1: 90 N*m, 2: 90 N*m, 4: 90 N*m, 5: 90 N*m, 6: 40 N*m, 7: 90 N*m, 8: 90 N*m}",
    ],
)
def test_torques_found_by_number_and_with_a_bolt_missing(words):
    found, notes = torques(words, "3")
    assert [found[i] for i in (0, 1, 3, 4, 5, 6, 7)] == [90, 90, 90, 90, 40, 90, 90]
    assert not [note for note in notes if "not used" in note]


def test_the_schema_takes_torques_by_number_and_lists_with_a_gap():
    from jsonschema import Draft202012Validator

    from anchorsize.casefile import schema

    judge = Draft202012Validator(schema())
    for words in ("{all: 90 N*m, 6: 40 N*m, 3: -}", "[90, 90, '-', 90, 90, 40, 90, '90 N*m']"):
        quoted = words.replace("-}", "'-'}")
        tree = yaml.safe_load(BLANK.replace("torque: 90 N*m", f"torque: {quoted}"))
        given = tree["joints"]["main"]["tightening"]
        if isinstance(given["torque"], dict):
            given["torque"] = {str(key): value for key, value in given["torque"].items()}
        assert not list(judge.iter_errors(tree))
        given["torque"] = {"six": "40 N*m"}
        assert list(judge.iter_errors(tree))


def test_a_torque_for_a_missing_bolt_is_told_to_be_unused():
    for words in ("{all: 90 N*m, 3: 70 N*m}", "[90, 90, 70, 90, 90, 90, 90, 90 N*m]"):
        assert (
            "Joint 'main': bolt 3 is missing, so what the file has for it under torque is not used."
            in torques(words, "3")[1]
        )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("{all: 90 N*m, 9: 40 N*m}", "there is no bolt 9"),
        ("{6: 40 N*m}", "no value for bolt 1, 2, 3, 4, 5, 7, 8"),
        ("{all: 90 N*m, six: 40 N*m}", "'six' is no bolt number"),
        ("[90, 90, -, 90, 90, 40, 90, 90 N*m]", "no value for bolt 3"),
        ("{all: 90 N*m, 3: -}", "no value for bolt 3"),
        ("90 N*m, target_torque: [90, 90, -, 90, 90, 90, 90, 90 N*m]", "a target is for every bolt"),
        ("90 N*m, as_found: 40 N*m", "what was found goes under torque"),
    ],
)
def test_torques_that_do_not_fit_the_bolts_are_refused(words, said):
    with pytest.raises(CaseFileError, match=said):
        parse_case(BLANK.replace("torque: 90 N*m", f"torque: {words}"), "t")


def test_a_gasket_used_before_is_not_counted_as_holding():
    text = BLANK.replace("y: 11 MPa", "y: 11 MPa, condition: reused")
    judged = assess(parse_case(text, "t"))
    made = {check.check for check in judged.cases["test"].checks}
    assert not made & {"gasket seating", "gasket in service"}
    unmade = {item.check: item for item in judged.not_checked if item.needed}
    assert unmade["gasket seating"].supply.startswith("a new gasket")
    assert judged.verdict == "incomplete"
    assert "used before: FIT A NEW ONE" in Reader(sheet(text)[1]).text
    assert any("m and y are for a new gasket" in line for line in assess(parse_case(BLANK, "t")).assumptions)
    new = assess(parse_case(BLANK.replace("y: 11 MPa", "y: 11 MPa, condition: new"), "t"))
    assert (new.verdict, any("new gasket" in line for line in new.assumptions)) == ("holds", False)


def test_on_a_flat_flange_an_opening_shows_where_twelve_is():
    # the axis points down; 12:00 is +x and e2 = a × e1 = -y, so that an opening at +y lies toward 9 o'clock
    side = "  side: {center: [0, 0.4, 0.3 m], outward: [0, 1, 0], bore: 50 mm}\njoints:\n"
    text = BLANK.replace("outward: [-1, 0, 0]", "outward: [0, 0, -1]").replace("joints:\n", side)
    page = sheet(text.replace("pressure: 10 bar}", "pressure: 10 bar}, side: capped"))[1]
    assert "9:00 points toward opening 'side' (arrow)" in Reader(page).text
    head = [
        [float(part) for part in p.split(",")]
        for p in re.findall(r'<polygon points="([^"]+)" fill="#1b2327"/>', page)[0].split()
    ]
    tip, *barbs = head
    assert tip[0] < barbs[0][0] < 0  # to the left
    assert tip[1] == pytest.approx(0, abs=0.01)
    near = text.replace("[0, 0.4, 0.3 m]", "[0, 0.01, 0.3 m]").replace(
        "pressure: 10 bar}", "pressure: 10 bar}, side: capped"
    )
    assert "which nothing on the fitting shows: ask, and mark it first" in Reader(sheet(near)[1]).text


HOSTILE = [
    '<script>document.title = "taken"</script>',
    '<img src="http://elsewhere.invalid/a.png" onerror="alert(1)">',
    "</title></style><h1>mine</h1>",
    "{{ 7 * 7 }} {% raw %} &amp; &lt;",
    "Überlangeswort" * 9,
    "שסתום מים ראשי عربي",
    "\u202eturned about",
    "valve 🚰🔧👩‍🔧",
    "]]> --> ' \" \\",
]


def with_text(words):
    """A case file with these words as title, note and names."""
    quoted = json.dumps(words, ensure_ascii=False)
    return (
        (EXAMPLES / "wye_missing_bolt.yaml")
        .read_text()
        .replace(
            "title: Header wye with two unequal branches, bolt 3 missing (invented)",
            f"title: {quoted}\nnotes: {quoted}",
        )
        .replace("torque: 210 N*m", f"torque: 210 N*m, lubricant: {quoted}")
        .replace("header flange:", f"{quoted}:")
        .replace("hydrostatic test:", f"{json.dumps('test ' + words, ensure_ascii=False)}:")
    )


@pytest.mark.parametrize("words", HOSTILE)
def test_text_of_the_user_comes_out_as_text(words):
    page = Reader(sheet(with_text(words))[1])
    shown = " ".join(words.replace("\u202e", "").split())
    assert (
        page.text.count(shown) >= 7
    )  # title of window and page, joint, note, case that pushes hardest, lubricant twice
    assert not [tag for tag, _ in page.elements if tag in ("script", "img", "iframe", "object")]
    assert not [name for _, attributes in page.elements for name in attributes if name.startswith("on")]


@pytest.mark.parametrize("words", ["plain", *HOSTILE])
def test_page_is_well_formed_and_in_order(words):
    page = Reader(sheet(with_text(words))[1])
    assert len(page.ids) == len(set(page.ids))
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(page.headings, page.headings[1:], strict=False))
    named = [a["aria-labelledby"] for _, a in page.elements if "aria-labelledby" in a]
    assert set(named) <= set(page.ids)
    pictures = [a for tag, a in page.elements if tag == "svg"]
    assert [a["role"] for a in pictures] == ["img"]
    assert "Order of tightening: 1, 5, 3, 7, 2, 6, 4, 8." in page.text
    assert next(a for tag, a in page.elements if tag == "html")["lang"] == "en"


def test_picture_is_to_scale():
    page = sheet(BLANK.replace("grip: 44 mm", "grip: 44 mm\n    flange: {outside: 220 mm}"))[1]
    radii = [float(radius) for radius in re.findall(r'<circle r="([\d.]+)"', page)]
    rim, outer, inner, circle = radii[:4]
    assert [outer / rim, inner / rim, circle / rim] == pytest.approx([162 / 220, 115 / 220, 180 / 220], abs=1e-3)
    # bolt 1 at 22.5° clockwise from the top, seen from the fitting toward the pipe
    corners = re.findall(r'<polygon points="([^"]+)"', page)
    centers = [np.mean([[float(part) for part in p.split(",")] for p in each.split()], axis=0) for each in corners]
    angle = math.radians(22.5)
    assert centers[0] == pytest.approx([circle * math.sin(angle), -circle * math.cos(angle)], abs=0.02)
    assert len(centers) == 8


CROWDED = {
    "blank": BLANK,
    "no torque": LOOSE,
    "24 bolts": flange_of(24),
    "64 bolts, 3 gone": flange_of(64).replace("first_at", "missing: [3, 7, 55], first_at"),
    "torques that differ": BLANK.replace(
        "torque: 90 N*m", f"{FOUND}, target_torque: [90, 80, 70, 60, 50, 40, 30, 20 N*m]"
    ),
    "as found, some gone, long lubricant": BLANK.replace(
        "torque: 90 N*m", f"{FOUND}, {BY_BOLT}, lubricant: {'thread paste ' * 20}"
    ).replace("first_at", "missing: [3, 7], first_at"),
    "48 bolts, 2 gone": flange_of(48).replace("first_at", "missing: [3, 40], first_at"),
    "long texts": with_text("long words and many " * 20),
    **{f"hostile {i}": with_text(HOSTILE[i]) for i in (1, 4)},
}


PAPERS = (("A4", (595, 842)), ("Letter", (612, 792)))


@pytest.mark.parametrize("name", CROWDED)
def test_page_in_a_browser(name, browser, tmp_path):
    import pypdf

    (tmp_path / "sheet.html").write_text(sheet(CROWDED[name])[1], encoding="utf-8")
    page = load(browser, tmp_path / "sheet.html")
    assert page.complaints == []
    assert page.requests == []
    assert [page.overflow(width) for width in (320, 375, 800, 1400)] == [0, 0, 0, 0]
    assert page.value("document.title").startswith("Bolting up: ")
    # hostile texts are there to be escaped; how a crowded sheet fits either paper, the others tell
    papers = PAPERS[:1] if name.startswith("hostile") else PAPERS
    for paper, size in papers:
        printed = pypdf.PdfReader(io.BytesIO(page.pdf(paper))).pages
        assert [tuple(map(float, each.mediabox[2:])) for each in printed] == [pytest.approx(size, abs=1)]
        assert "uniform velocity" in " ".join(printed[0].extract_text().split())  # the last line is on the page


NARROW_RECORD = """[...document.querySelectorAll('.record th, .record td')].map(cell => cell.getBoundingClientRect())
.filter(box => box.left < 0 || box.right > 390 || box.height < 20).length"""


def test_record_stands_whole_on_a_telephone(browser, tmp_path):
    run(tmp_path, CROWDED["24 bolts"])
    page = load(browser, tmp_path / "sheet.html")
    page.at_width(390)
    assert page.value(NARROW_RECORD) == 0
    tops = "[...document.querySelectorAll('.record thead tr th')].map(cell => Math.round(cell.getBoundingClientRect().top))"
    assert len(set(page.value(tops))) == 26  # two bands, a bolt below the other in each
    page.at_width(1200)
    assert len(set(page.value(tops))) == 2


CONTRAST = """
(() => {
  const parts = color => (color.match(/[\\d.]+/g) || []).map(Number);
  const light = color => { const [r, g, b] = parts(color).map(c => c / 255).map(c => c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = element => { for (let e = element; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
    if (parts(c)[3] !== 0) return c; } return 'rgb(255, 255, 255)'; };
  let least = 99;
  for (const element of document.querySelectorAll('main *')) {
    if (element.closest('svg') || ![...element.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())) continue;
    const [a, b] = [light(getComputedStyle(element).color), light(behind(element))].sort((x, y) => y - x);
    least = Math.min(least, (a + 0.05) / (b + 0.05));
  }
  return least;
})()
"""


def test_text_stands_out_from_its_ground(browser, tmp_path):
    """Contrast of every text at least 4.5 to 1: WCAG 2.1, success criterion 1.4.3, by its own formula in the browser."""
    run(tmp_path, (EXAMPLES / "wye_missing_bolt.yaml").read_text())
    assert 4.5 <= load(browser, tmp_path / "sheet.html").value(CONTRAST) < 99
