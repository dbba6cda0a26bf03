"""Where nobody says whether the gasket stays, head and verdict hold for both ways: what the one forbids is never asked for plainly."""

from __future__ import annotations

import html
import json
import re

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: a drop elbow under a fire pump header, bolts 3 and 4 gone, bolt 6 far looser, bolt 8 perhaps over the target.
DROP = """\
case_file: 1
title: drop elbow (invented)
units: us
fluid: {name: water, temperature: 60 degF}
fitting:
  shape: {start: [0, 0, 0 in], direction: [0, 0, -1], bore: 7.981 in, wall: 0.322 in, material_density: 490 lb/ft^3, kind: elbow,
    turn: 90 deg, toward: [1, 0, 0], radius: 12 in, before: 4 in, after: 4 in}
joints:
  header:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: 3/4 in, circle: 11.75 in, first_at: 22.5 deg, missing: [3, 4], class: A193 B7}
    gasket: {inside: 8.62 in, outside: 10.62 in, thickness: 1/8 in, modulus: 72500 psi, m: 2, y: 1600 psiCONDITION}
    flange: {designation: class 150 NPS 8, rating: from table}
    tightening: {torque: [120, 110, 0, 0, 115, 60, 120, EIGHTH ft*lbf], target_torque: 120 ft*lbf, nut_factor: 0.2, scatter: 30 %}
    grip: 2.5 in
    bolt_modulus: 29700 ksi
    face_friction: 0.15
allow: {bolt_tension: 25 ksi, bolt_shear: 14 ksi, tension_with_shear: linear, bolt_spacing_greatest: 6 in, gasket_pressure_greatest: 10000 psi}
cases:
  shut: {inlet: {flow_in: 0 gal/min, pressure: 165 psi}, outlet: capped}
"""
UNDER, OVER = 115, 125  # of a target of 120 ft·lbf
# K 0.2 of the file beside 0.075, the least of table nut_factors: 0.2 / 0.075 = 2.67
HARDER = "at K 0.075, the least in table nut_factors, it pulls 2.7 times as hard"
STAYS_OVER = (
    "IF THE GASKET STAYS, DO NOT TIGHTEN: bolt 8 cannot get to the torque without being loosened; the engineer decides."
)
STAYS_UNDER = "IF THE GASKET STAYS, DO NOT USE THE TORQUE ON BOLTS 3, 4 AND 6:"


def ran(tmp_path, eighth, *arguments, condition=""):
    path = tmp_path / "drop.yaml"
    said = f", condition: {condition}" if condition else ""
    path.write_text(DROP.replace("CONDITION", said).replace("EIGHTH", str(eighth)), encoding="utf-8")
    return CliRunner().invoke(main, [arguments[0], str(path), *arguments[1:]])


def flat(text):
    return " ".join(text.split())


def sheet(tmp_path, eighth, *options, condition=""):
    page = tmp_path / "sheet.html"
    made = ran(tmp_path, eighth, "boltup", "-o", str(page), "--force", *options, condition=condition)
    read = html.unescape(re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")))
    return flat(made.output), flat(read)


@pytest.mark.parametrize("options", [(), ("--repaired",)])
def test_a_bolt_over_the_target_keeps_all_hands_off_if_the_gasket_stays(tmp_path, options):
    for told in (*sheet(tmp_path, OVER, *options), flat(ran(tmp_path, OVER, "check", *options).output)):
        assert STAYS_OVER in told
        assert "IF IT GOES, ASK FIRST: new or cleaned threads turn easier" in told
        assert "2.7 times as hard" in told
        assert STAYS_UNDER not in told


@pytest.mark.parametrize("options", [(), ("--repaired",)])
def test_with_every_bolt_under_it_the_torque_is_kept_from_those_with_new_threads(tmp_path, options):
    for told in (*sheet(tmp_path, UNDER, *options), flat(ran(tmp_path, UNDER, "check", *options).output)):
        assert STAYS_UNDER in told
        assert "IF IT GOES, ASK FIRST too." in told
        assert "DO NOT TIGHTEN" not in told
    assert HARDER in flat(ran(tmp_path, UNDER, "check", *options).output)


@pytest.mark.parametrize("eighth", [UNDER, OVER])
def test_the_less_is_known_the_less_sure_is_the_verdict_of_the_repair(tmp_path, eighth):
    answer = json.loads(ran(tmp_path, eighth, "check", "--repaired", "--json").stdout)
    renewed = json.loads(ran(tmp_path, eighth, "check", "--repaired", "--json", condition="reused").stdout)
    assert renewed["verdict"] == answer["verdict"] == "holds"
    assert renewed["doubtful"] is answer["doubtful"] is True
    screen, page = sheet(tmp_path, eighth)
    assert "as good as new (the file does not say): HOLDS ON DOUBTFUL INPUT" in screen
    assert "as good as new (the file does not say): HOLDS ON DOUBTFUL INPUT" in page


def test_what_a_bar_says_is_not_said_again_as_a_doubt(tmp_path):
    for told in sheet(tmp_path, UNDER, "--repaired"):
        assert told.count(STAYS_UNDER) == 1


@pytest.mark.parametrize(("eighth", "decides"), [(OVER, True), (UNDER, False)])
def test_the_head_asks_for_nothing_that_the_engineer_decides_if_it_stays(tmp_path, eighth, decides):
    for told in sheet(tmp_path, eighth):
        assert (
            "put the bolts in before pressure comes on; if the gasket STAYS ONLY when the engineer says so" in told
        ) is decides
        unless = "Inspect it, or replace it. If the gasket STAYS: look from outside, and ASK the engineer before it is turned or taken out."
        assert (unless in told) is decides
