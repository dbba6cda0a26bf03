"""A joint of which the file does not say how it is tightened: whose torque is whose beside nuts that stay tight, and no release by HOLDS."""

from __future__ import annotations

import html
import json
import re

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.assessment.taken_out import parts_without
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.present.boltup import sheet_dict, sheet_html, written_text
from anchorsize.present.boltup_first import check_first, steps
from anchorsize.present.boltup_passes import order_made
from anchorsize.present.repaired import only_when, repair_words
from anchorsize.studies.boltup import boltup
from anchorsize.studies.repaired import repair, repaired
from tests.browser import load
from tests.test_sheet_readable import READABLE, printed, sizes

# Invented: an elbow hung under a roof header in service, bolt 6 gone.
STAYS = """\
case_file: 1
title: Flushing elbow hung under a roof header, bolt 6 missing (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 12 degC}
fitting:
  mass: 31 kg
  mass_center: [0.12, 0, -0.20 m]
  contents: 7.5 L
  contents_center: [0.09, 0, -0.18 m]
openings:
  top:    {center: [0, 0, 0 m], outward: [0, 0, 1], bore: 158 mm}
  nozzle: {center: [0.46, 0, -0.24 m], outward: [1, 0, 0], bore: 80 mm}
joints:
  roof flange:
    at: top
    reference: [1, 0, 0]
    bolts: {count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg, missing: [6], class: "8.8"}
    gasket: {inside: 169 mm, outside: 218 mm, thickness: 2 mm, modulus: 450 MPa, m: 2, y: 11 MPa, condition: in_place}
    flange: {outside: 285 mm, thickness: 22 mm, hole: 22 mm, rating: 16 bar}
    grip: 48 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow:
  bolt_tension: 140 MPa
  bolt_shear: 85 MPa
  tension_with_shear: linear
  hole_bearing: 190 MPa
  bolt_spacing_greatest: 120 mm
  gasket_pressure_greatest: 70 MPa
cases:
  flushing:
    top: {flow_in: 40 L/s, pressure: 42 kPa}
    nozzle: free_jet
  shut in:
    top: {flow_in: 0 L/s, pressure: 6 bar}
    nozzle: capped
  drained:
    contents: empty
    top: {flow_in: 0 L/s, pressure: 0 kPa}
    nozzle: free_jet
"""
NOT_SAID = STAYS.replace(", condition: in_place", "")
FOUND = "    tightening: {torque: [150, 155, 145, 150, 110, 0, 60, 150 N*m], nut_factor: 0.2, scatter: 30 %}\n"
AS_FOUND = STAYS.replace("    grip:", f"{FOUND}    grip:")
OWN = AS_FOUND.replace(
    "scatter: 30 %",
    "scatter: 30 %, target_torque: [160, 160, 160, 160, 105, 105, 105, 160 N*m], "
    "target_nut_factor: [0.2, 0.2, 0.2, 0.2, 0.13, 0.13, 0.13, 0.2]",
)
ASKED = AS_FOUND.replace("scatter: 30 %", "scatter: 30 %, target_torque: 160 N*m")
NO_RELEASE = (
    "but that is NO RELEASE: how tight the bolts are and whether the joint seals or lifts off is NOT JUDGED, for the file says nothing of "
    "the tightening"
)
THREADS = "Threads and nut faces of bolt 6: lubricant not stated: ask before tightening. Nothing is put on the others, whose nuts stay tight."
ITS_OWN = (
    "the engineer gives bolt 6 a torque of its OWN, not that of the others, for new or cleaned threads turn easier."
)


def planned(text, mended=False):
    study = parse_case(text, "t")
    assessment = assess(repaired(study) if mended else study)
    return assessment, boltup(assessment, None, study if mended else None), assess(study) if mended else None


def read(text, mended=False):
    """What stands on the sheet, on one line; the screen text; the data."""
    assessment, plan, before = planned(text, mended)
    page = re.sub(r"<style>.*?</style>", " ", str(sheet_html(assessment, plan, before)), flags=re.DOTALL)
    words = " ".join(html.unescape(re.sub("<[^>]*>", " ", page)).split())
    return words, " ".join(written_text(assessment, plan, "s", before).split()), sheet_dict(assessment, plan, before)


def run(tmp_path, text, *more):
    path = tmp_path / "t.yaml"
    path.write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, [more[0], str(path), *more[1:]])


# -- beside nuts that stay tight ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("mended", [False, True])
def test_nothing_is_put_under_nuts_that_stay_tight(mended):
    said, screen, data = read(STAYS, mended)
    assert THREADS in data["check_first"]
    assert "all alike" not in said
    for told in (said, screen, data["no_torque"]):
        assert f"The gasket STAYS: {ITS_OWN}" in told


@pytest.mark.parametrize("mended", [False, True])
def test_a_bolt_that_goes_in_has_a_torque_of_its_own_and_the_others_get_a_check(mended):
    """The cross pattern of 8, 1 5 3 7 2 6 4 8 (ASME PCC-1), without 6."""
    plan = planned(STAYS, mended)[1]
    first, over_all, _, last = steps(plan)
    assert first.startswith("Bolt 6: hand-tight, then at 30%, 60%, 100% of its OWN torque; NO other nut is loosened;")
    assert over_all == (
        "Then as a CHECK one round over the others at THEIR final torque, bolt 6 left out; not known how tight they are: passes ONLY where "
        "the engineer says so. In this order:"
    )
    assert last.startswith("Last, every bolt at its OWN full torque, bolt by bolt")
    assert order_made(plan) == (1, 5, 3, 7, 2, 4, 8)
    assert "1 → 5 → 3 → 7 → 2 → 4 → 8" in read(STAYS, mended)[0]


def test_where_nobody_says_whether_the_gasket_stays_both_ways_are_told_apart():
    said, screen, data = read(NOT_SAID)
    assert data["if_gasket_stays"] == (
        "If the gasket STAYS: Bolt 6: hand-tight, then at 30%, 60%, 100% of its OWN torque; NO other nut is loosened; then as a CHECK one "
        "round over the others at THEIR final torque, bolt 6 left out (not known how tight they are: passes ONLY where the engineer says "
        "so); then steps 3 and 4, each at its OWN torque."
    )
    assert f"If it STAYS: {THREADS}" in said
    assert "If REPLACED: Threads and nut faces all alike;" in said
    assert f"If the gasket STAYS: {ITS_OWN}" in screen
    # a new gasket: every nut was off, and all bolts get one torque in every pass
    assert steps(planned(NOT_SAID)[1])[1] == "Passes at 30%, 60%, 100% of the final torque, each in this order:"


def test_where_the_gasket_goes_no_bolt_is_told_apart():
    for condition in ("new", "reused"):
        said, screen, _ = read(STAYS.replace("in_place", condition))
        assert "Threads and nut faces all alike; lubricant not stated" in said
        assert "OWN" not in said
        assert "OWN" not in screen


def test_known_tight_ones_get_the_passes_that_turn_them_once_a_target_is_given():
    plan = planned(AS_FOUND)[1]
    assert plan.lacking == "as found"
    assert steps(plan)[1] == (
        "Then passes at 30%, 60%, 100% of the final torque of the others, bolts 5, 6 and 7 left out, each in this order:"
    )
    assert "of its OWN torque" in steps(plan)[0]
    said, _, data = read(AS_FOUND)
    assert "The gasket STAYS: the engineer gives bolts 5, 6 and 7 torques of their OWN" in data["no_torque"]
    assert "Threads and nut faces of bolts 5, 6 and 7: lubricant not stated" in said
    not_said = read(AS_FOUND.replace(", condition: in_place", ""))[2]["if_gasket_stays"]
    assert not_said.endswith(
        "of its OWN torque; NO other nut is loosened; then steps 2 to 4, NOT for bolts 5, 6 and 7."
    )


def test_where_every_nut_stays_tight_nothing_is_put_on_any():
    whole = STAYS.replace(", missing: [6]", "")
    told = check_first(planned(whole)[1], "metric")
    assert "Threads and nut faces: nothing put on them, for all nuts stay tight." in told
    assert steps(planned(whole)[1])[0].startswith("NO nut is loosened, all are tightened up from where they are;")


# -- no release ---------------------------------------------------------------------------------------------------------


def test_holds_once_repaired_is_no_release_where_nothing_is_known_of_the_tightening():
    said, screen, data = read(NOT_SAID)
    once = (
        "Once bolt 6 is in, every bolt is as tight as the engineer says and the gasket is as good as new (the file does not say): HOLDS, "
        "on the same assumptions (widest bolt gap in every case, utilization 0.765), "
    )
    for told in (said, screen, data["as_found"]):
        assert f"{once}{NO_RELEASE}." in told
    assert data["when_repaired"]["verdict"] == "holds"
    assert data["when_repaired"]["words"].endswith(f"), {NO_RELEASE}.")


def test_the_sheet_of_the_repair_says_so_too():
    said, screen, data = read(NOT_SAID, mended=True)
    for told in (said, screen, data["only_when"]):
        assert "Holds ONLY when bolt 6 is in, every bolt is as tight as the engineer says and the gasket" in told
        assert NO_RELEASE in told


def test_what_does_not_hold_or_is_not_fully_judged_says_how_tight_and_no_more():
    once = "Once bolt 6 is in and every bolt is as tight as the engineer says: still "
    assert f"{once}is NOT FULLY JUDGED" in read(STAYS)[0]
    weak = STAYS.replace("bolt_spacing_greatest: 120 mm", "bolt_spacing_greatest: 80 mm")
    assert f"{once}DOES NOT HOLD" in read(weak)[0]
    assert "NO RELEASE" not in read(STAYS)[0] + read(weak)[0]


def test_check_says_it_at_every_place_and_ends_as_before(tmp_path):
    after = (
        "With bolt 6 fitted, all as tight as the engineer says and the gasket as good as new (the file does not say): HOLDS (widest bolt gap "
        f"in every case, utilization 0.765), {NO_RELEASE}."
    )
    for more in ((), ("--brief",)):
        ended = run(tmp_path, NOT_SAID, "check", *more)
        assert ended.exit_code == 1
        assert f"After repair: {after}" in " ".join(ended.stdout.split())
    data = json.loads(run(tmp_path, NOT_SAID, "check", "--json").stdout)
    assert data["when_repaired"]["words"] == after
    ended = run(tmp_path, NOT_SAID, "check", "--repaired", "--brief")
    assert ended.exit_code == 0
    note = (
        "every bolt as tight as the engineer says; how tight they are and whether the joint seals or lifts off is NOT JUDGED, for the file "
        "says nothing of the tightening."
    )
    assert note in " ".join(ended.stdout.split())
    assert note in " ".join(ended.stderr.split())


def test_a_known_tightening_is_named_and_judged():
    known = NOT_SAID.replace(
        "    grip:", "    tightening: {torque: 150 N*m, nut_factor: 0.2, scatter: 30 %}\n    grip:"
    )
    said = read(known.replace("thickness: 2 mm, ", "condition: reused, thickness: 2 mm, "))[0]
    assert "every bolt is at 150 N·m" in said
    assert "NO RELEASE" not in said


STIFF = "{axial: 400 kN/mm, shear: 100 kN/mm, bending: 900 kN*m/rad, torsion: 900 kN*m/rad}"
TWO = """\
case_file: 1
title: spool between two flanges (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  left: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 80 mm}
  right: {center: [1, 0, 0 m], outward: [1, 0, 0], bore: 80 mm}
joints:
  near:
    at: left
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 160 mm, first_at: 22.5 deg, missing: [6], class: "8.8"}
    stiffness: rigid
  far:
    at: right
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 160 mm, first_at: 22.5 deg, missing: [2], class: "8.8"}
    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %}
    stiffness: rigid
allow: {bolt_tension: 140 MPa, bolt_shear: 85 MPa}
cases:
  shut: {left: {flow_in: 0 L/s, pressure: 6 bar}, right: {pressure: 6 bar}}
"""


def test_of_two_joints_the_torque_of_one_is_not_told_of_the_other():
    assessment = assess(parse_case(TWO.replace("rigid", STIFF, 1), "t"))
    found = repair(assessment)
    assert repair_words(assessment).startswith(
        "With bolt 6 of 'near' fitted, bolt 2 of 'far' fitted, all of 'near' as tight as the engineer says and all others at 90 N·m"
    )
    assert "every bolt of 'near' is as tight as the engineer says and every other bolt is at 90 N·m" in only_when(
        found, assessment
    )
    assert (found.assessment.verdict == "holds") == ("how tight the bolts of 'near' are" in repair_words(assessment))


# -- the missing go in first --------------------------------------------------------------------------------------------


def off_center(preloads: np.ndarray) -> float:
    """How far off the middle the resultant lies [m], bolts evenly on a circle of 240 mm from 22.5° on."""
    angles = np.deg2rad(22.5 + 45.0 * np.arange(8))
    return float(0.12 * np.hypot(preloads @ np.cos(angles), preloads @ np.sin(angles)) / preloads.sum())


def test_a_missing_bolt_with_a_torque_of_its_own_is_in_before_another_comes_out():
    """F = T/(K d): as found at K 0.2, bolt 6 at 105 N·m and K 0.13; kern of the ring (R² + r²)/(4 R), any strength-of-materials book."""
    found = np.array([150.0, 155, 145, 150, 110, 0, 60, 150]) / (0.2 * 0.02)
    kern = (0.109**2 + 0.0845**2) / (4 * 0.109)
    with_6 = np.where(np.arange(8) == 5, 105.0 / (0.13 * 0.02), found)
    without_5, without_7 = np.arange(8) != 4, np.arange(8) != 6
    assert off_center(found * without_5) > kern > off_center(with_6 * without_5)
    assert kern > off_center(with_6 * without_7)
    assert parts_without(parse_case(OWN, "t").joints["roof flange"]) == ()
    (told,) = [line for line in check_first(planned(OWN)[1], "metric") if "FAR LOOSER" in line]
    assert told.endswith("the missing in first and tightened, one bolt out at a time, all others left as they are.")


def test_where_the_engineer_has_still_to_give_its_torque_it_does_not_count():
    for text in (ASKED, AS_FOUND):
        assert parts_without(parse_case(text, "t").joints["roof flange"]) == (5,)
        (told,) = [line for line in check_first(planned(text)[1], "metric") if "FAR LOOSER" in line]
        assert "the missing in first, one bolt out at a time" in told
        assert "With bolt 5 out the flanges can part there" in told


# -- on paper -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "mended"),
    [(STAYS, False), (STAYS, True), (NOT_SAID, False), (NOT_SAID, True), (AS_FOUND, False), (OWN, False)],
)
def test_the_sheets_stay_one_readable_page(text, mended, browser, tmp_path):
    pytest.importorskip("pypdf")
    assessment, plan, before = planned(text, mended)
    (tmp_path / "s.html").write_text(sheet_html(assessment, plan, before), encoding="utf-8")
    page = load(browser, tmp_path / "s.html")
    for paper in ("A4", "Letter"):
        pages, found = printed(page.pdf(paper))
        assert pages == 1
        assert min(sizes(found, "hand-tight")) >= READABLE - 0.01
