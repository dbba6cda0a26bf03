"""No check looks at corrosion: every page says so, and of bolts in salt water it stands with the verdict."""

from __future__ import annotations

import html
import re

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: the arm of a fountain in a pool.
ARM = """\
case_file: 1
title: fountain arm (invented)
units: metric
fluid: FLUID
fitting:
  shape: {start: [0, 0, 0 m], direction: [0, 0, 1], bore: 159.3 mm, wall: 4.5 mm, material_density: 7930 kg/m^3, kind: elbow,
    turn: 90 deg, toward: [1, 0, 0], radius: 229 mm, before: 100 mm, after: 100 mm}
joints:
  main:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg, class: "CLASS"}
    gasket: {inside: 169 mm, outside: 212 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    tightening: {torque: 130 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 50 mm
    bolt_modulus: 193 GPa
    face_friction: 0.15
allow: {bolt_tension: 130 MPa, bolt_shear: 80 MPa, tension_with_shear: linear, bolt_spacing_greatest: 120 mm, gasket_pressure_greatest: 70 MPa}
sizing: {counts: [8], sizes: [M20], circles: [240 mm], classes: [A2-70, A4-70], torques: [130 N*m]}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 4.5 bar}, outlet: capped}
"""
SEA, FRESH = "{name: seawater, temperature: 20 degC}", "{name: water, temperature: 20 degC}"


def said(tmp_path, command, fluid, kind="A2-70"):
    path = tmp_path / "arm.yaml"
    path.write_text(ARM.replace("FLUID", fluid).replace("CLASS", kind), encoding="utf-8")
    made = CliRunner().invoke(main, [command, str(path)])
    assert made.exit_code == 0, made.output
    return " ".join(made.output.split())


@pytest.mark.parametrize(
    ("fluid", "kind", "words"),
    [
        (SEA, "A2-70", "'seawater' attacks bolts of A2-70: stainless ones pit"),
        (SEA, "8.8", "'seawater' attacks bolts of 8.8: steel wastes away"),
        (
            "{name: pool brine, density: 1025 kg/m^3}",
            "A4-70",
            "'pool brine' attacks bolts of A4-70: stainless ones pit",
        ),
    ],
)
def test_salt_water_stands_with_the_verdict(tmp_path, fluid, kind, words):
    told = said(tmp_path, "check", fluid, kind)
    assert words in told
    assert told.index("CORROSION IS NOT JUDGED") < told.index("Rests on the allowables given")


def test_a_ranking_of_classes_says_that_it_knows_none(tmp_path):
    told = said(tmp_path, "size", SEA)
    assert told.index("CORROSION IS NOT JUDGED") < told.index("Rests on the allowables given")
    assert "Margins that are alike do not make classes alike." in told


def test_the_sheet_says_it_too(tmp_path):
    path, page = tmp_path / "arm.yaml", tmp_path / "sheet.html"
    path.write_text(ARM.replace("FLUID", SEA).replace("CLASS", "A4-70"), encoding="utf-8")
    CliRunner().invoke(main, ["boltup", str(path), "-o", str(page)])
    read = html.unescape(re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")))
    assert "CORROSION IS NOT JUDGED" in read


@pytest.mark.parametrize("command", ["check", "size", "limits", "supports"])
def test_of_fresh_water_it_is_an_assumption_alone(tmp_path, command):
    told = said(tmp_path, command, FRESH)
    assert "CORROSION IS NOT JUDGED" not in told
    assert (
        "Corrosion, and whatever else fluid, soil or air do to bolts, flanges and supports in time, is not judged."
        in told
    )


@pytest.mark.parametrize("command", ["limits", "supports"])
def test_who_reads_that_page_alone_is_told_too(tmp_path, command):
    told = said(tmp_path, command, SEA)
    assert told.index("CORROSION IS NOT JUDGED") < told.index("Assumptions")
