"""No check looks at the flange's own strength: every page says so, and of a flange of no standard with the moment that tilts it."""

from __future__ import annotations

import math
import re

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: an elbow of a test rig on bolts that a tensioner pulls.
RIG = """\
case_file: 1
title: elbow of a test rig (invented)
units: metric
fluid: {name: water, temperature: 15 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [0, 0, -1], bore: 386.4 mm, wall: 10 mm, material_density: 7850 kg/m^3, kind: elbow,
    turn: 90 deg, toward: [1, 0, 0], radius: 600 mm, before: 100 mm, after: 100 mm}
joints:
  rig:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 16, size: M24, circle: 550 mm, first_at: 11.25 deg, class: "10.9"}
    gasket: {inside: 422 mm, outside: 464 mm, thickness: 7.2 mm, modulus: 2500 MPa, m: 3, y: 68.9 MPa}
    flange: FLANGE
    tightening: {preload: 240 kN, scatter: 10 %, relaxation: 8 %}
    grip: 87.2 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
allow: {bolt_tension: 300 MPa, bolt_shear: 150 MPa, tension_with_shear: linear, bolt_spacing_greatest: 130 mm, gasket_pressure_greatest: 300 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 3.5 bar}, outlet: capped}
"""
OWN = "{outside: 620 mm, thickness: 40 mm, rating: 25 bar, raised_face: flat}"
ASSUMED = "Neither the strength and tilting of the flange itself as its bolts are tightened and loaded, nor the pressure under head and nut, is judged"


def said(tmp_path, command, flange=OWN):
    path = tmp_path / "rig.yaml"
    path.write_text(RIG.replace("FLANGE", flange), encoding="utf-8")
    made = CliRunner().invoke(main, [command, str(path)])
    assert made.exit_code in (0, 3), made.output
    return " ".join(made.output.split())


def test_the_moment_that_tilts_a_flange_of_no_standard_stands_with_the_verdict(tmp_path):
    told = said(tmp_path, "check")
    found = re.search(
        r"THE FLANGE ITSELF IS NOT JUDGED: at the greatest preload its bolts tilt it with W \(C - G\)/2 = ([\d.]+) kN·m",
        told,
    )
    # ASME BPVC VIII-1 App. 2: b = 0.5 √b0 in inches, G = outside less 2b, M = W (C - G)/2; 240 kN and a tenth more in each bolt
    b = 0.5 * math.sqrt((464 - 422) / 4 / 25.4) * 25.4e-3
    moment = 16 * 1.1 * 240e3 * (0.550 - (0.464 - 2 * b)) / 2
    assert float(found[1]) == pytest.approx(moment / 1e3, rel=1e-3)
    assert found.start() < told.index("Rests on the allowables given")


@pytest.mark.parametrize(
    "flange", ["{rating: 25 bar}", "{designation: EN 1092-1 PN 16 DN 400, rating: 16 bar, hole: 27 mm}"]
)
def test_of_others_it_is_an_assumption_alone(tmp_path, flange):
    told = said(tmp_path, "check", flange)
    assert "THE FLANGE ITSELF IS NOT JUDGED" not in told
    assert ASSUMED in told


@pytest.mark.parametrize("command", ["limits", "size"])
def test_every_page_assumes_it(tmp_path, command):
    sizing = "sizing: {counts: [16], sizes: [M24], circles: [550 mm], classes: ['10.9']}\ncases:"
    path = tmp_path / "rig.yaml"
    path.write_text(RIG.replace("FLANGE", OWN).replace("cases:", sizing), encoding="utf-8")
    assert ASSUMED in " ".join(CliRunner().invoke(main, [command, str(path)]).output.split())
