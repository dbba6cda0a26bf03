"""A joint that holds with a bolt gone is not run so: the sheet and the limits say it as the check does, and what its gasket counts for."""

from __future__ import annotations

import html
import re

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: a chilled water tee, bolt 6 of 8 gone and bolt 3 far looser than the rest.
TEE = """\
case_file: 1
title: chilled water tee (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 6 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 131.7 mm, wall: 4 mm, material_density: 7850 kg/m^3, kind: tee,
    length: 320 mm, at: 160 mm, toward: [0, 0, 1], branch_bore: 82.5 mm, branch_length: 190 mm}
joints:
  header:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 210 mm, first_at: 22.5 deg, class: "8.8", missing: MISSING}
    gasket: {inside: 141 mm, outside: 192 mm, thickness: 2 mm, modulus: 500 MPa, GASKET}
    flange: {designation: EN 1092-1 PN 16 DN 125, rating: from table}
    tightening: {torque: [90, 90, THIRD, 90, 90, 90, 90, 90 N*m], target_torque: 90 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 46 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, tension_with_shear: linear, gasket_pressure_greatest: 60 MPa, bolt_spacing_greatest: 160 mm}
cases:
  duty: {inlet: {flow_in: 28 L/s, pressure: PRESSURE bar ± 10 %}, branch: {flow_out: 10 L/s, pressure: PRESSURE bar}, outlet: {pressure: PRESSURE bar}}
"""
NEW = "m: 2, y: 11 MPa, condition: new"
STOP = "STOP: bolt 6 is missing. In service: take it out of service (pressure off, locked out). Not in service: do not start it"
SQUEEZED = "its gasket is called new, but nuts found tight have squeezed it already: gasket seating and gasket in service as found count"


def ran(tmp_path, arguments, missing="[6]", third=30, gasket=NEW, pressure="4.2"):
    path, text = tmp_path / "tee.yaml", TEE
    for key, value in (("MISSING", missing), ("THIRD", third), ("GASKET", gasket), ("PRESSURE", pressure)):
        text = text.replace(key, str(value))
    path.write_text(text, encoding="utf-8")
    made = CliRunner().invoke(main, [arguments[0], str(path), *arguments[1:]])
    return " ".join(made.output.split())


def sheet(tmp_path, *options, **said):
    page = tmp_path / "sheet.html"
    screen = ran(tmp_path, ["boltup", "-o", str(page), "--force", *options], **said)
    read = html.unescape(re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")))
    return screen, " ".join(read.split())


def test_sheet_of_a_joint_that_holds_with_a_bolt_gone_takes_it_out_of_service(tmp_path):
    for told in sheet(tmp_path):
        assert "HOLDS" in told
        assert STOP in told


def test_so_does_the_sheet_of_its_repair(tmp_path):
    for told in sheet(tmp_path, "--repaired"):
        assert "Holds ONLY when bolt 6 is in" in told
        assert (
            "In service: take it out of service (pressure off, locked out). Not in service: do not start it before that."
            in told
        )
        assert STOP not in told


@pytest.mark.parametrize("said", [{"missing": "[]", "third": 90}, {"pressure": "40"}])
def test_nothing_more_is_said_with_every_bolt_in_or_where_it_fails(tmp_path, said):
    screen, page = sheet(tmp_path, **said)
    assert "STOP: bolt" not in screen + page
    if "pressure" in said:  # it does not hold, and one order is enough
        assert screen.count("take it out of service") == 1


def test_a_loose_bolt_is_named_beside_the_missing_one(tmp_path):
    screen, _ = sheet(tmp_path, third=0)
    assert "STOP: bolt 6 is missing and bolt 3 is loose. In service: take it out of service" in screen


@pytest.mark.parametrize("command", [["limits"], ["scatter", "--samples", "64"]])
def test_limits_and_scatter_say_what_is_done_about_bolts_first(tmp_path, command):
    said = ran(tmp_path, command)
    assert "put the bolt in before pressure comes on. In service: take it out of service first" in said
    assert "FAR LOOSER than the others: bolt 3 at 33% of their median" in said
    assert said.index("FAR LOOSER") < said.index("Assumptions")
    whole = ran(tmp_path, command, missing="[]", third=90)
    assert "FAR LOOSER" not in whole
    assert "out of service" not in whole


def test_a_gasket_called_new_that_tight_nuts_squeezed_is_told_with_the_verdict(tmp_path):
    said = ran(tmp_path, ["check", "--brief"])
    assert f"{SQUEEZED} only if it was never in service and never released" in said
    assert said.index(SQUEEZED) < said.index("Governs:")
    for told in sheet(tmp_path):
        assert SQUEEZED in told


@pytest.mark.parametrize(
    "said",
    [
        {"gasket": "condition: new"},  # neither seating nor service is checked
        {"gasket": NEW.replace("new", "in_place")},
        {"missing": "[]", "third": 90},  # every bolt has what it is to get: none is loosened
    ],
)
def test_a_gasket_that_nobody_released_or_judged_is_not(tmp_path, said):
    assert "squeezed it already" not in ran(tmp_path, ["check", "--brief"], **said)


def test_the_repaired_joint_has_a_gasket_that_is_new(tmp_path):
    assert "squeezed it already" not in ran(tmp_path, ["check", "--repaired", "--brief"])
