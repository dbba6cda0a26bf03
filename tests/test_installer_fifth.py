"""Stumbles of an installer: a bolt found at 0, friction found and friction wanted, a gasket that stays, hints that lead on."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_lubricant import lubricant_rows
from anchorsize.assessment.findings_target import FRICTION_AS_FOUND
from anchorsize.casefile import CaseFileError
from anchorsize.cli.boltup import boltup as boltup_command
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.boltup_first import socket_words
from anchorsize.present.pages.flange import ACROSS, flange_svg
from anchorsize.present.words import size_words
from anchorsize.reference import NotInTable, nut_flats
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repaired
from anchorsize.studies.torque import window

EXAMPLE = (Path(__file__).parent.parent / "examples" / "elbow_as_found.yaml").read_text(encoding="utf-8")
FOUND = re.sub("      target_nut_factor: .*\n", "", EXAMPLE)  # nothing said of the friction once tightened
TORQUE, TARGET = "torque: [100, 55, 100, 100, 100, 100, 100, 100 N*m]", "      target_torque: 100 N*m\n"
GREASED = f"{TARGET}      target_nut_factor: 0.14\n      target_lubricant: greased\n"
REUSED = ", condition: reused"
D = 0.016  # nominal diameter of M16 [m]


def joined(text):
    return " ".join(text.split())


def sheet(text):
    assessment = assess(parse_case(text, "t.yaml"))
    plan = boltup(assessment)
    return sheet_dict(assessment, plan), joined(html.unescape(re.sub("<[^>]*>", " ", sheet_html(assessment, plan))))


def problems(text):
    with pytest.raises(CaseFileError) as raised:
        parse_case(text, "t.yaml")
    return str(raised.value)


def warned(text, kind):
    return [each for each in assess(parse_case(text, "t.yaml")).warnings if each.kind == kind]


def found_at(value):
    return FOUND.replace("55, 100", f"{value}, 100")


@pytest.mark.parametrize("value", [0, 5])
def test_a_bolt_at_nothing_is_warned_of_as_much_as_one_at_little(value):
    data, page = sheet(found_at(value))
    ask = "Find out why before it is tightened again: bolt stretched, nut or thread damaged, gasket crushed there? Inspect it, or replace it."
    kinds = [each for each in data["warnings"] if each["kind"] in ("loose bolts", "bolt far looser")]
    assert [ask in each["message"] for each in kinds] == [True]
    ticks = [line for line in data["check_first"] if "find out why; inspect or replace it before tightening" in line]
    assert [line.startswith("Bolt 2 was found") for line in ticks] == [True]
    assert ask in page
    assert ticks[0] in page


def test_loose_and_far_looser_bolts_share_a_tick():
    """After the line is out of service and the fitting held: to inspect one, it comes out."""
    ticks = sheet(FOUND.replace("100, 55, 100", "0, 55, 100"))[0]["check_first"]
    words = "Bolts 1 and 2 were found LOOSE or FAR LOOSER than the others: find out why"
    (place,) = [i for i, line in enumerate(ticks) if line.startswith(words)]
    before = " ".join(ticks[:place])
    assert "Line out of service" in before
    assert "Fitting held" in before


def test_where_no_bolt_is_tightened_yet_none_is_suspected():
    text = FOUND.replace(TORQUE, "torque: 0 N*m")
    message = warned(text, "loose bolts")[0].message
    assert message.endswith("Tighten them before pressure comes on.")
    assert not any("find out why" in line for line in sheet(text)[0]["check_first"])


def test_a_target_has_its_own_friction_and_what_was_found_keeps_its_own():
    text = (
        FOUND.replace("nut_factor: 0.2", "nut_factor: 0.3")
        .replace("lubricant: dry", "lubricant: rusty")
        .replace(TARGET, GREASED)
    )
    study = parse_case(text, "t.yaml")
    as_found = assess(study).study.joints["basin flange"].tightening
    assert (as_found.nut_factor, as_found.lubricant) == (0.3, "rusty")
    after = repaired(study).joints["basin flange"].tightening
    assert (after.nut_factor, after.lubricant, after.target_nut_factor) == (0.14, "greased", None)
    data, page = sheet(text)
    # T = K D F, turned round by hand for the target; scatter as given
    assert [each["preload_N"] for each in data["bolts"]] == [pytest.approx(100.0 / (0.14 * D), rel=1e-12)] * 8
    assert data["bolts"][0]["preload_greatest_N"] == pytest.approx(1.3 * 100.0 / (0.14 * D), rel=1e-12)
    assert (data["lubricant"], data["nut_factor"]) == ("greased", 0.14)
    assert "Threads and nut faces all alike; lubricant: greased." in data["check_first"]
    assert "greased; nut factor K = 0.14." in page
    assert "As found: K = 0.3, rusty." in page
    assert "ASK BEFORE" not in page


def test_a_found_state_keeps_its_clamp_whatever_the_target_is_greased_with():
    with_one, with_own = (assess(parse_case(text, "t.yaml")) for text in (FOUND, FOUND.replace(TARGET, GREASED)))
    for name, case in with_one.cases.items():
        clamped, other = (each.cases[name].joints["basin flange"].clamping for each in (with_one, with_own))
        assert np.array_equal(clamped.least, other.least)
        assert clamped.mean[0] == pytest.approx(100.0 / (0.2 * D), rel=1e-12)
        assert case.checks


def test_a_window_is_for_the_threads_as_they_will_be():
    plain, greased = (
        parse_case(text.replace(REUSED, ""), "t.yaml") for text in (FOUND, FOUND.replace(TARGET, GREASED))
    )
    first, second = (window(study, "basin flange") for study in (plain, greased))
    # preload = torque / (K D): the same preloads hold, so torques go as the nut factors
    for end in ("least", "greatest"):
        assert getattr(second, end) * second.torque == pytest.approx(
            getattr(first, end) * first.torque * 0.14 / 0.2, rel=1e-6
        )
    assert second.preload * second.least == pytest.approx(first.preload * first.least, rel=1e-6)


def test_a_target_may_scatter_otherwise():
    data = sheet(FOUND.replace(TARGET, f"{TARGET}      target_scatter: 10 %\n"))[0]
    assert data["bolts"][0]["preload_least_N"] == pytest.approx(0.9 * 100.0 / (0.2 * D), rel=1e-12)
    assert "scatter ±10%" in data["joint_facts"]["Preload aimed at"]


def test_a_found_preload_gets_a_torque_by_the_friction_of_the_target():
    text = FOUND.replace(TORQUE, "preload: [30, 15, 30, 30, 30, 30, 30, 30 kN]").replace("      nut_factor: 0.2\n", "")
    assert sheet(text)[0]["bolts"][0]["preload_N"] is None
    assert sheet(text.replace(TARGET, GREASED))[0]["bolts"][0]["preload_N"] == pytest.approx(
        100.0 / (0.14 * D), rel=1e-12
    )


def test_one_friction_for_both_is_said():
    """0.2 / 0.075, the least of table nut_factors, is 2.7."""
    told = "ASK BEFORE TIGHTENING: the torque counts on the friction as found, also for threads cleaned, greased or new (K 0.2); at K 0.075, the least in"
    study = parse_case(FOUND, "t.yaml")
    for each in (study, repaired(study)):
        ((said, doubtful),) = ((w.message, w.doubtful) for w in assess(each).warnings if w.kind == FRICTION_AS_FOUND)
        assert f"Joint 'basin flange': {told} table nut_factors, it pulls 2.7 times as hard." in said
        assert doubtful == (each is not study)  # as found it stands on that friction, once repaired on a guess
        assert said.endswith(
            "target_nut_factor, per bolt where they differ, and target_lubricant; without one by lubricant."
        )
    _, page = sheet(FOUND)
    short = told.replace(", the least in", " it pulls 2.7 times as hard.")
    assert f"{short} The engineer says which friction it is for." in page
    assert "The same friction is taken for the bolts as found." in page
    for own in (GREASED, f"{TARGET}      target_nut_factor: 0.2\n"):
        assert "ASK BEFORE" not in sheet(FOUND.replace(TARGET, own))[1]


def test_what_goes_with_a_target_needs_one():
    text = FOUND.replace(
        TARGET, "      target_nut_factor: 0.14\n      target_lubricant: greased\n      target_scatter: 20 %\n"
    )
    said = problems(text)
    for key in ("target_nut_factor", "target_lubricant", "target_scatter"):
        assert f"'{key}' without a target_torque" in said


@pytest.mark.parametrize("lubricant", ["rusty", "rust", "gritty or rusty", "rusty, dry", "badly corroded"])
def test_rust_is_no_reason_to_count_on_a_low_nut_factor(lubricant):
    text = FOUND.replace("lubricant: dry", f"lubricant: {lubricant}")
    told = warned(text, "nut factor is not the lubricant's")
    # table nut_factors: gritty or rusty, 0.30 as a lower bound; 0.2/0.3 - 1 = -33 %
    assert [each.doubtful for each in told] == [True]
    assert "'gritty or rusty' 0.30 or more" in told[0].message
    assert "pulls at least 33% less than judged here" in told[0].message
    for factor in (0.3, 0.45):
        assert not warned(text.replace("nut_factor: 0.2", f"nut_factor: {factor}"), "nut factor is not the lubricant's")


@pytest.mark.parametrize("words", ["rust-free", "no rust", "not rusty", "anti-rust spray", "rust inhibitor"])
def test_words_that_take_rust_back_are_not_rust(words):
    assert "gritty or rusty" not in {row["condition"] for row in lubricant_rows(words)}


def test_the_pair_of_the_target_is_doubted_by_its_own_keys():
    told = warned(
        FOUND.replace(TARGET, f"{TARGET}      target_lubricant: moly paste\n"), "nut factor is not the lubricant's"
    )
    assert "does not go with target_lubricant 'moly paste'" in told[0].message
    assert "Give the target_nut_factor of the lubricant in use." in told[0].message
    fitting = f"{TARGET}      target_nut_factor: 0.12\n      target_lubricant: moly paste\n"
    assert not warned(FOUND.replace(TARGET, fitting), "nut factor is not the lubricant's")


def test_a_gasket_that_stays_is_not_taken_apart_and_not_taken_for_new():
    text = FOUND.replace("reused", "in_place")
    data, page = sheet(text)
    assert data["take_apart"] is None
    assert data["when_fitted"] is None
    assert "FIT A NEW ONE" not in page
    assert "old gasket off" not in page
    assert any(line.startswith("Gasket STAYS, so no tight nut is loosened") for line in data["check_first"])
    assert "All nuts hand-tight" not in page
    assert data["when_repaired"]["new_gaskets"] == []
    # m and y are for a new gasket, so nothing says that this one seals: never a plain "holds"
    assert data["when_repaired"]["verdict"] == "incomplete"
    supplied = {item.check: item.supply for item in assess(parse_case(text, "t.yaml")).not_checked if item.needed}
    assert set(supplied) == {"gasket seating", "gasket in service"}
    assert all("leak test under pressure (no key of the file)" in supply for supply in supplied.values())
    assert sheet(FOUND)[0]["take_apart"] is not None


def test_where_nobody_says_whether_the_gasket_stays_verdict_and_ticks_agree(tmp_path):
    text = found_at(0).replace(REUSED, "")
    data, page = sheet(text)
    assert "and the gasket is as good as new (the file does not say): HOLDS" in data["as_found"]
    assert data["when_repaired"]["gaskets_not_said"] == ["basin flange"]
    assert "If REPLACED: Faces clean and whole, old gasket off" in page
    assert any(line.startswith("ASK whether the gasket stays") for line in data["check_first"])
    assert "NOT SAID whether it stays: judged as if new" in page
    said = warned(text, "gasket taken as new")[0].message
    assert all(word in said for word in ("new", "reused", "in_place"))
    (tmp_path / "t.yaml").write_text(text, encoding="utf-8")
    mended = json.loads(CliRunner().invoke(boltup_command, [str(tmp_path / "t.yaml"), "--repaired", "--json"]).stdout)
    assert "the gasket is as good as new (the file does not say)" in mended["only_when"]
    assert any(line.startswith("ASK whether the gasket stays") for line in mended["check_first"])


@pytest.mark.parametrize(
    ("old", "new", "hint"),
    [
        ("100, 55, 100", "100, finger tight, 100", "write 0 N·m for a bolt that is loose or only hand-tight"),
        ("100, 55, 100", "100, hand-tight, 100", "write 0 N·m for a bolt"),
        ("100, 55, 100", "100, loose, 100", "write 0 N·m for a bolt"),
        ("target_torque: 100 N*m", "target_torque: about 100 N*m", "write 100 N*m"),
        ("condition: reused", "condition: old", "in_place where it stays"),
        ("condition: reused", "condition: never opened", "write in_place"),
        ("outlet: capped", "outlet: blank", "write capped"),
        ("outlet: capped", "outlet: blind flange", "write capped"),
        ("outlet: capped", "outlet: plugged", "write capped"),
        ("outlet: capped", "outlet: open", "write free_jet"),
        ("outlet: capped", "outlet: to atmosphere", "write free_jet"),
        ("outlet: capped", "outlet: submerged", "is connected, with the pressure there"),
        ("outlet: capped", "outlet: {submerged: 4 ft}", "is connected, with the pressure there"),
        (
            "bolts: {count: 8",
            "bolts: {numbering: counterclockwise, count: 8",
            "bolts are numbered clockwise, seen from the fitting",
        ),
        (
            "bolts: {count: 8",
            "bolts: {clockwise: no, count: 8",
            "give bolts as a list of {x, y, size} in your own order",
        ),
    ],
)
def test_what_is_written_first_leads_on(old, new, hint):
    assert hint in problems(FOUND.replace(old, new, 1))


def test_what_the_hints_advise_is_read():
    for old, new in (
        ("2: 55 N*m", "2: 0 N·m"),
        ("condition: reused", "condition: in_place"),
        ("condition: reused", "condition: In place"),
        ("outlet: capped", "outlet: {pressure: 12 kPa}"),
    ):
        units = (
            FOUND
            if "0 N" not in new
            else FOUND.replace("[100, 55, 100, 100, 100, 100, 100, 100 N*m]", "{all: 100 N*m, 2: 55 N*m}")
        )
        parse_case(units.replace(old, new, 1), "t.yaml")


SHAPED = re.sub(
    r"fitting:.*?joints:",
    """fitting:
  mass: 9.5 kg
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 107 mm, wall: 4 mm, kind: straight, length: 0.4 m}

joints:""",
    FOUND,
    flags=re.DOTALL,
)


@pytest.mark.parametrize(("wall", "of"), [(", wall: 4 mm", "wall"), ("", "contents")])
def test_a_mass_with_a_shape_acts_at_the_center_of_the_shape(wall, of):
    study = parse_case(SHAPED.replace(", wall: 4 mm", wall), "t.yaml")
    # a straight pipe from the origin along x: its middle
    assert study.fitting.mass == 9.5
    assert study.fitting.mass_center == pytest.approx([0.2, 0.0, 0.0], abs=1e-12)
    assert any(f"the center of its shape's {of}" in note for note in study.notes)


def test_a_given_center_goes_before_that_of_the_shape():
    study = parse_case(SHAPED.replace("mass: 9.5 kg", "mass: 9.5 kg\n  mass_center: [0.1, 0, 0 m]"), "t.yaml")
    assert study.fitting.mass_center == pytest.approx([0.1, 0.0, 0.0])
    assert not any("No mass_center is given" in note for note in study.notes)


def test_without_a_shape_a_mass_wants_its_center():
    assert "mass acts somewhere" in problems(FOUND.replace("  mass_center: [0.11, 0, -0.05 m]\n", ""))


# Across flats: ISO 4032 (M12 18, M16 24, M20 30, M30 46); heavy nuts of ASME B18.2.2 are 1.5 D + 1/8 in
@pytest.mark.parametrize(
    ("size", "part", "words"),
    [
        ("M12", "nut", "18 mm"),
        ("M16", "nut", "24 mm"),
        ("M16x1.5", "nut", "24 mm"),
        ("M30", "nut", "46 mm"),
        ("1/2", "heavy nut", "7/8 in"),
        ("5/8 in", "heavy nut", "1-1/16 in"),
        ("3/4", "heavy nut", "1-1/4 in"),
        ("3/4-10", "heavy nut", "1-1/4 in"),
        ("1 in", "heavy nut", "1-5/8 in"),
        ("1-1/4 in", "heavy nut", "2 in"),
    ],
)
def test_the_socket_of_a_size(size, part, words):
    found = nut_flats(size)
    assert (found.part, found.words) == (part, words)
    assert found.provenance.status == "confirmed"
    assert socket_words(size).startswith(f"{words} ({part} ")


def test_a_size_without_a_tabled_nut_has_no_socket():
    with pytest.raises(NotInTable):
        nut_flats("M100")
    assert socket_words("anchor rod 16") == ""


def test_the_sheet_names_socket_used_bolts_and_the_push_of_every_case():
    data, page = sheet(FOUND)
    assert any("Socket 24 mm (nut M16, ISO 4032" in line for line in data["check_first"])
    assert "corroded, stretched or damaged ones REPLACED" in page
    assert [push["case"] for push in data["pushes"]] == ["pumping", "night flow", "shut in", "drained"]
    for push in data["pushes"]:
        if push["case"] != data["push"]["case"]:
            assert f"'{push['case']}'" in page.split("Otherwise: ")[1]
    # drained, only the weight is left: 9.5 kg, down
    drained = data["pushes"][-1]
    assert drained["size_N"] == pytest.approx(9.5 * 9.80665, rel=1e-12)
    assert "'drained' 93.16 N DOWN" in page


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("3/4", "3/4 in"),
        ("1 1/8", "1 1/8 in"),
        ("1-1/8", "1-1/8 in"),
        ("3/4 in", "3/4 in"),
        ("M16", "M16"),
        ("3/4-10", "3/4-10"),
    ],
)
def test_inch_sizes_have_their_unit(size, words):
    assert size_words(size) == words


def test_hours_stand_clear_of_the_turns():
    text = FOUND.replace("first_at: 22.5 deg", "first_at: 0 deg")
    plan = boltup(assess(parse_case(text, "t.yaml")))
    svg = flange_svg(plan.joint, plan.main_order, plan.up_at)
    boxes = [
        tuple(map(float, each))
        for each in re.findall(r'<rect x="([-\d.]+)" y="([-\d.]+)" width="([\d.]+)" height="([\d.]+)"', svg)
    ]
    assert len(boxes) == 8
    for hour in ("3:00", "9:00"):
        x, _y, size = map(
            float, re.search(rf'<text x="([-\d.]+)" y="([-\d.]+)" font-size="([\d.]+)"[^>]*>{hour}<', svg).groups()
        )
        half = 0.5 * 0.556 * size * len(hour)  # digits of Arial are 0.556 of the size wide, the colon less
        assert abs(x) + half <= ACROSS
        beside = [box for box in boxes if (box[0] + 0.5 * box[2]) * x > 0.0 and abs(box[1] + 0.5 * box[3]) < 1.0]
        assert len(beside) == 1
        reach = max(abs(beside[0][0]), abs(beside[0][0] + beside[0][2]))
        assert abs(x) - half >= reach + 3.0
