"""A sheet that asks for another torque says what no torque mends, and what its repaired state is doubted for."""

from __future__ import annotations

import html
import json
import re

from click.testing import CliRunner

from anchorsize.cli import main

# Invented: a pump elbow, bolt 5 of 8 gone, bellows behind it that nothing ties.
PUMP = """\
case_file: 1
title: pump elbow (invented)
units: us
fluid: {name: water, temperature: 60 degF}
fitting:
  shape: {start: [0, 0, 0 in], direction: [0, 0, 1], bore: 6.065 in, wall: 0.28 in, material_density: 490 lb/ft^3, kind: elbow,
    turn: 90 deg, toward: [1, 0, 0], radius: 9 in, before: 4 in, after: 4 in}
joints:
  pump:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: 3/4 in, circle: 9.5 in, first_at: 22.5 deg, missing: [5], class: A193 B7}
    gasket: {inside: 6.62 in, outside: 8.5 in, thickness: 1/8 in, modulus: 72500 psi, m: 2, y: 1600 psi, condition: CONDITION}
    flange: {designation: class 150 NPS 6, rating: from table}
    tightening: {torque: [100, 95, 90, 100, 0, 90, 85, 100 ft*lbf], target_torque: TARGET ft*lbf, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}
    grip: 2.13 in
    bolt_modulus: 29700 ksi
    face_friction: 0.15
allow: {bolt_tension: 25 ksi, bolt_shear: 14 ksi, tension_with_shear: linear}
EXTRA
cases:
  duty: {inlet: {flow_in: 900 gpm, pressure: 58 psi}, outlet: {pressure: 57 psi}}
  start: {dynamic_factor: 2, inlet: {flow_in: 900 gpm, pressure: 84 psi}, outlet: {pressure: 83 psi}}
"""
LOOSE_BELLOWS = "beyond: {outlet: {effective_area: 48 in^2}}"


def filled(target, condition="in_place", extra=LOOSE_BELLOWS):
    return PUMP.replace("TARGET", str(target)).replace("CONDITION", condition).replace("EXTRA", extra)


def sheet(tmp_path, text):
    path, page = tmp_path / "pump.yaml", tmp_path / "sheet.html"
    path.write_text(text, encoding="utf-8")
    ran = CliRunner().invoke(main, ["boltup", str(path), "-o", str(page)])
    assert page.exists(), ran.output
    data = CliRunner().invoke(main, ["boltup", str(path), "--json"])
    read = html.unescape(re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")))
    return " ".join(ran.output.split()), " ".join(read.split()), json.loads(data.output)


def test_the_sheet_that_wants_more_torque_names_what_torque_does_not_mend(tmp_path):
    screen, page, data = sheet(tmp_path, filled(100))
    assert "THESE TORQUES DO NOT HOLD: at least" in screen
    (words,) = set(
        re.findall(r"WHATEVER THE TORQUE, flange rating fails too \(utilization ([\d.]+) in 'start'\)\.", screen)
    )
    assert f"(utilization {words} in 'start')" in page
    assert "WHATEVER THE TORQUE, flange rating fails too" in data["outside_the_window"]
    # the same joint with no bolt gone
    path = tmp_path / "whole.yaml"
    path.write_text(filled(100).replace("missing: [5], ", "").replace("100, 0, 90", "100, 90, 90"), encoding="utf-8")
    judged = json.loads(CliRunner().invoke(main, ["check", str(path), "--json"]).output)
    rating = max(
        c["utilization"] for case in judged["cases"].values() for c in case["checks"] if c["check"] == "flange rating"
    )
    assert abs(float(words) / rating - 1) < 0.01


def test_each_check_that_no_torque_mends_is_named(tmp_path):
    """With bolt 5 in, neighbors stand 9.5 in × sin 22.5° = 3.64 in apart, over the 3 in allowed: 1.21 of it."""
    limited = filled(100).replace(
        "tension_with_shear: linear", "tension_with_shear: linear, bolt_spacing_greatest: 3 in"
    )
    screen, _, _ = sheet(tmp_path, limited)
    assert re.search(r"flange rating fails too \(utilization \S+ in 'start'\), and so does widest bolt gap\.", screen)


def test_nothing_is_said_of_what_holds_at_any_torque(tmp_path):
    screen, page, data = sheet(
        tmp_path, filled(100, extra=f"{LOOSE_BELLOWS}").replace("rating: from table", "rating: 20000 psi")
    )
    assert "THESE TORQUES DO NOT HOLD: at least" in screen
    assert "WHATEVER THE TORQUE" not in screen + page
    assert "WHATEVER THE TORQUE" not in data["outside_the_window"]


# tied in 'start' as the factor of 2 has it, so that at 1 the ties push the elbow the other way
TIED = "external: [{name: ties, force: [4800, 0, 0 lbf], at: [13, 0, 13 in], cases: [start]}, {name: tie, force: [1700, 0, 0 lbf], at: [13, 0, 13 in], cases: [duty]}]"


def test_the_doubt_of_the_repaired_state_stands_on_the_sheet_that_leads_to_it(tmp_path):
    text = filled(120, "reused", TIED).replace("[100, 95, 90, 100, 0", "[100, 95, 90, 40, 0")
    screen, page, _ = sheet(tmp_path, text)
    assert "HOLDS ON DOUBTFUL INPUT" in screen
    path = tmp_path / "pump.yaml"
    repaired = " ".join(CliRunner().invoke(main, ["check", str(path), "--repaired", "--brief"]).output.split())
    (doubt,) = set(re.findall(r"at 1, through which .*? FAILS: utilization [\d.a-z]+ in place of [\d.]+", repaired))
    assert f"Doubtful once repaired: in 'start': 'start' is judged at its dynamic factor 2; {doubt}" in screen
    assert screen.count("is judged at its dynamic factor 2") == 1
    assert doubt in page
