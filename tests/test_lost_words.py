"""What `--one-lost` says of the checks that fail as it stands, and with how many bolts others fail as well, against `--without N`."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.losses import loss_notes, lost_verdict
from anchorsize.studies.lost_bolt import any_lost

JOINT = "exchanger flange"

# Invented: bolt 6 gone, bolt 4 found far too loose, so that slip fails at bolt 4 alone.
LAUNDRY = """\
case_file: 1
title: Heat recovery spool, bolt 6 gone (invented)
units: us
up: [0, 0, 1]
fluid: {name: water, temperature: 150 degF}
fitting:
  mass: 96 lb
  mass_center: [14, 0, -5 in]
  contents: 4.6 gal
  contents_center: [13, 0, -4 in]
openings:
  inlet:  {center: [0, 0, 0 in], outward: [-1, 0, 0], bore: 6.065 in}
  outlet: {center: [24, 0, -14 in], outward: [0, 0, -1], bore: 4.026 in}
joints:
  exchanger flange:
    at: inlet
    bolts: {count: 8, size: 3/4 in, circle: 9.5 in, first_at: 22.5 deg, missing: [6], class: A193 B7}
    gasket: {inside: 6.62 in, outside: 8.5 in, thickness: 1/16 in, modulus: 60 ksi, m: 2, y: 1600 psi, condition: reused}
    flange: {outside: 11 in, thickness: 1 in, hole: 7/8 in, rating: 245 psi}
    tightening: {torque: [110, 105, 110, 40, 110, 110, 95, 110 ft*lbf], target_torque: 110 ft*lbf, nut_factor: 0.2, target_nut_factor: 0.16, target_lubricant: nickel anti-seize, lubricant: dry, scatter: 30 %, relaxation: 10 %}
    grip: 2.06 in
    bolt_modulus: 29700 ksi
    face_friction: 0.15
allow:
  bolt_tension: 25 ksi
  bolt_shear: 14 ksi
  tension_with_shear: linear
  hole_bearing: 30 ksi
  bolt_spacing_greatest: 4.5 in
  gasket_pressure_greatest: 9000 psi
cases:
  wash hours:
    inlet: {flow_in: 620 gal/min, pressure: 32 psi}
    outlet: {pressure: 29 psi}
  exchanger shut:
    inlet: {flow_in: 0 gal/min, pressure: 75 psi}
    outlet: {flow_out: 0 gal/min, pressure: 75 psi}
  test:
    inlet: {flow_in: 0 gal/min, pressure: 150 psi}
    outlet: capped
  drained:
    contents: empty
    inlet: {flow_in: 0 gal/min, pressure: 0 psi}
    outlet: {flow_out: 0 gal/min, pressure: 0 psi}
external:
  - {name: return hose pull, force: [0, 60, -80 lbf], at: [24, 0, -14 in]}
"""
# the same without a bolt gone, all of them tightened too little
WEAK = re.sub(
    r"tightening: .*",
    "tightening: {torque: 20 ft*lbf, nut_factor: 0.2, lubricant: dry, scatter: 30 %, relaxation: 10 %}",
    LAUNDRY,
)
WEAK = WEAK.replace(" missing: [6],", "").replace("reused", "new")
# slip fails in two cases as it stands, and in one of them with bolt 4 lost too
LOOSER = (
    LAUNDRY.replace("110, 40, 110", "110, 20, 110")
    .replace("75 psi", "130 psi")
    .replace("face_friction: 0.15", "face_friction: 0.12")
)
# nothing fails as it stands but slip at bolt 4
SLIP_ALONE = LAUNDRY.replace("245 psi", "400 psi").replace("4.5 in", "7 in")
BOLTS = {LAUNDRY: (1, 2, 3, 4, 5, 7, 8), WEAK: tuple(range(1, 9))}

Failing = dict[str, set[str]]  # cases by check


def run(tmp_path: Path, text: str, *words: object) -> str:
    (tmp_path / "f.yaml").write_text(text)
    command, *rest = map(str, words)
    return CliRunner().invoke(main, [command, str(tmp_path / "f.yaml"), *rest]).output


def flat(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def failing(tmp_path: Path, text: str, *words: object) -> Failing:
    """What fails in a run of `check`, which knows nothing of bolts lost in turn."""
    found: Failing = {}
    for name, case in json.loads(run(tmp_path, text, "check", "--json", *words))["cases"].items():
        for check in case["checks"]:
            if not check["holds"]:
                found.setdefault(check["check"], set()).add(name)
    return found


def without(tmp_path: Path, text: str, bolts: Iterable[int]) -> dict[int, Failing]:
    return {bolt: failing(tmp_path, text, "--without", bolt) for bolt in bolts}


def anew(today: Failing, then: dict[int, Failing], check: str) -> set[int]:
    """The bolts with which lost a check fails in a case in which it holds today."""
    return {bolt for bolt, found in then.items() if found.get(check, set()) - today.get(check, set())}


def test_what_holds_with_a_bolt_lost_does_not_fail_whichever_is_lost(tmp_path):
    today, then = failing(tmp_path, LAUNDRY), without(tmp_path, LAUNDRY, BOLTS[LAUNDRY])
    slip = {bolt for bolt, found in then.items() if "slip at the bolts" in found}
    assert set(today) == {"widest bolt gap", "slip at the bolts", "flange rating"}
    assert all(
        today[check] <= found[check] for found in then.values() for check in ("widest bolt gap", "flange rating")
    )
    assert 4 not in slip
    assert {1, 2, 3, 7, 8} <= slip
    assert [
        b for b, found in then.items() if not today["slip at the bolts"] <= found.get("slip at the bolts", set())
    ] == [4]
    page = tmp_path / "r.html"
    run(tmp_path, LAUNDRY, "report", "--one-lost", "--no-limits", "-o", page)
    for said in map(flat, (run(tmp_path, LAUNDRY, "check", "--one-lost"), page.read_text())):
        (whichever,) = re.findall(r"Fails as it stands, whichever bolt is lost: (.*?\d)\.(?= |$)", said)
        assert "widest bolt gap in every case (4)" in whichever
        assert "flange rating in 'exchanger shut'" in whichever
        assert "slip" not in whichever
        assert (
            "Fails as it stands, not with bolt 4 lost: slip at the bolts in 'exchanger shut', utilization 1.53." in said
        )


def test_the_cases_of_a_check_are_told_apart(tmp_path):
    """A check that a lost bolt mends in some of its cases fails in the others still."""
    today, then = failing(tmp_path, LOOSER), without(tmp_path, LOOSER, BOLTS[LAUNDRY])
    slip = {bolt: found.get("slip at the bolts", set()) for bolt, found in then.items()}
    assert today["slip at the bolts"] == {"exchanger shut", "test"}
    assert all("exchanger shut" in cases for cases in slip.values())
    assert [bolt for bolt, cases in slip.items() if "test" not in cases] == [4]
    said = flat(run(tmp_path, LOOSER, "check", "--one-lost"))
    (whichever,) = re.findall(r"Fails as it stands, whichever bolt is lost: (.*?\d)\. ", said)
    assert "slip at the bolts in 'exchanger shut', a bolt has no clamp" in whichever
    assert "Fails as it stands, not with bolt 4 lost: slip at the bolts in 'test', utilization" in said


def test_a_check_that_fails_alone_at_a_bolt_holds_without_it(tmp_path):
    today, then = failing(tmp_path, SLIP_ALONE), without(tmp_path, SLIP_ALONE, BOLTS[LAUNDRY])
    assert set(today) == {"slip at the bolts"}
    assert not then[4]
    fails = sum(map(bool, then.values()))
    said = flat(run(tmp_path, SLIP_ALONE, "check", "--one-lost"))
    assert f"With any one bolt lost: DOES NOT HOLD, with {fails} of 7 (" in said
    assert "whichever bolt is lost" not in said
    assert "Fails as it stands, not with bolt 4 lost: slip at the bolts" in said


def test_each_check_is_told_with_how_many_bolts_it_fails(tmp_path):
    today, then = failing(tmp_path, LAUNDRY), without(tmp_path, LAUNDRY, BOLTS[LAUNDRY])
    assert anew(today, then, "joint lift-off") == {5, 7}
    assert anew(today, then, "slip at the bolts") == {5}
    assert {check for found in then.values() for check in found} == {*today, "joint lift-off"}
    end = "whichever it is (as today; joint lift-off fails as well with 2 of them, slip at the bolts with 1)."
    said = flat(run(tmp_path, LAUNDRY, "check", "--one-lost"))
    assert (
        said.count(f"With any one bolt lost: DOES NOT HOLD, {end}") == 3
    )  # with the verdict twice, and below the table
    sheet = json.loads(run(tmp_path, LAUNDRY, "boltup", "--json"))["joint_facts"]["If a bolt is lost"]
    assert sheet.endswith(f"As it stands now, with any one bolt lost: DOES NOT HOLD, {end}")


def test_what_fails_with_every_bolt_comes_first_and_what_fails_with_some_says_so(tmp_path):
    today, then = failing(tmp_path, WEAK), without(tmp_path, WEAK, BOLTS[WEAK])
    assert anew(today, then, "widest bolt gap") == set(BOLTS[WEAK])
    slip = anew(today, then, "slip at the bolts")
    assert 0 < len(slip) < 8
    others = {check for found in then.values() for check in found} - {"widest bolt gap", "slip at the bolts"}
    assert set.union(*(anew(today, then, check) for check in others)) == set(BOLTS[WEAK])
    said = flat(run(tmp_path, WEAK, "check", "--one-lost"))
    assert (
        f"DOES NOT HOLD, whichever it is (widest bolt gap and more fail then, slip at the bolts with {len(slip)})."
        in said
    )


def judged(text: str):
    return assess(parse_case(text, "f.yaml"))


def test_checks_that_fail_with_the_same_bolts_stand_together():
    rows = any_lost(judged(LAUNDRY), [JOINT])
    both = [replace(row, new=rows[0].new if row.new else ()) for row in rows]  # lift-off and slip with either
    assert lost_verdict(both).endswith("(as today; joint lift-off and slip at the bolts fail as well with 2 of them)")
    # as many, but not the same: together it would read as one bolt that does both
    lift, slip = (
        tuple(each for each in rows[0].new if each.check == check) for check in ("joint lift-off", "slip at the bolts")
    )
    apart = [replace(row, new={5: lift, 7: slip}.get(row.bolt, ())) for row in rows]
    assert lost_verdict(apart).endswith(
        "(as today; joint lift-off fails as well with 1 of them, slip at the bolts with 1)"
    )


def test_a_bolt_without_which_nothing_can_be_judged_does_not_fail_as_today():
    rows = [row for row in any_lost(judged(LAUNDRY), [JOINT]) if row.new]
    gone = replace(rows[0], bolt=9, new=(), refused="no equilibrium")
    said = lost_verdict([*rows, gone])
    assert said.endswith("whichever it is (joint lift-off fails with 2 of them, slip at the bolts with 1)")


@pytest.mark.parametrize(
    ("spared", "other", "words"),
    [
        ((3, 4), False, "not with bolt 3 or 4 lost"),
        ((1, 3, 4), True, "not with bolt 1, 3 or 4 of 'exchanger flange' lost"),
        ((1, 2, 3, 4, 5, 7, 8), False, "not with any one bolt lost"),
    ],
)
def test_bolts_are_lost_one_at_a_time_in_the_words_too(spared, other, words):
    state = judged(LAUNDRY)
    place = ("exchanger shut", "slip at the bolts", JOINT)
    rows = [replace(row, no_longer_failing=(place,) * (row.bolt in spared)) for row in any_lost(state, [JOINT])]
    rows += [replace(rows[0], joint="other", no_longer_failing=())] * other
    assert f"Fails as it stands, {words}: slip at the bolts in 'exchanger shut', utilization 1.53." in loss_notes(
        rows, state
    )
