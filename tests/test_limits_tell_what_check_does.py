"""Limits are asked for when somebody wants to run: what the check of the same file warns of stands on that page too, by the same names."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from anchorsize.cli import main
from anchorsize.present.words import margin, used

# Invented: a lateral on a bellows, all bolts found tight, and nobody knows the gasket.
LATERAL = """\
case_file: 1
title: lateral in a valve chamber (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 309.7 mm, wall: 7.1 mm, material_density: 7850 kg/m^3, kind: elbow,
    turn: 45 deg, toward: [0, 1, 0], radius: 450 mm, before: 200 mm, after: 200 mm}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 12, size: M20, circle: 400 mm, first_at: 15 deg, class: "8.8", missing: [5]}
    gasket: {inside: 324 mm, outside: 373 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa CONDITION}
    tightening: {torque: 240 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 50 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
    stiffness: {axial: 500 MN/m, shear: 300 MN/m, bending: 5 MN*m, torsion: 5 MN*m}
allow: {bolt_tension: 200 MPa, bolt_shear: 95 MPa, tension_with_shear: linear, bolt_spacing_greatest: 250 mm, gasket_pressure_greatest: 80 MPa}
supports:
  strut:
    - {kind: strut, name: S1, at: [0.45, 0.05, 0 m], toward: [0, 1, 0], section: {outside: 139.7 mm, wall: 8 mm}, length: 0.8 m,
       modulus: 205 GPa, effective_length_factor: 1, allow: {stress: 140 MPa, buckling_factor: 3}}
cases:
  duty: {inlet: {flow_in: 160 L/s, pressure: 2.5 bar}, outlet: {pressure: from losses, loss_coefficient: 0.1}}
"""


def page(tmp_path, *arguments, condition=""):
    path = tmp_path / "lateral.yaml"
    path.write_text(LATERAL.replace(" CONDITION", f", condition: {condition}" if condition else ""), encoding="utf-8")
    made = CliRunner().invoke(main, [arguments[0], str(path), "--option", "strut", *arguments[1:]])
    assert made.exit_code in (0, 1, 3), made.output
    return made.output


def flat(text):
    return " ".join(text.split())


def test_a_gasket_taken_as_new_is_told_above_the_limits(tmp_path):
    said = flat(page(tmp_path, "limits", "--points", "3"))
    words = "NOT SAID whether the gasket stays; gasket taken as new"
    assert words in flat(page(tmp_path, "check"))
    assert said.index(words) < said.index("Greatest flow")
    assert words not in flat(page(tmp_path, "limits", "--points", "3", condition="in_place"))


@pytest.mark.parametrize(
    "words",
    [
        "No surge is judged: no case has a surge",
        "Pressure pushes on the bore of 'outlet' alone",
        "A hose, or any line not anchored beyond",
    ],
)
def test_what_no_limit_counts_stands_beside_them(tmp_path, words):
    assert words in flat(page(tmp_path, "check"))
    said = flat(page(tmp_path, "limits", "--points", "3"))
    assert said.index("Not counted in these limits") < said.index(words) < said.index("Assumptions")


def test_a_strut_is_no_post_on_any_page(tmp_path):
    assert "strut buckling, S1" in flat(page(tmp_path, "check"))
    said = page(tmp_path, "limits", "--points", "3")
    assert "strut buckling of 'S1'" in said
    assert "post " not in said
    assert "post " not in page(tmp_path, "check", "--one-lost")
    machine = json.loads(page(tmp_path, "limits", "--points", "3", "--json"))
    assert "post buckling" in {
        each["check"] for each in machine["cases"]["duty"]["checks"]
    }  # the name in the machine output stays


@pytest.mark.parametrize(
    ("value", "text"),
    # 23,380 of 23,340 and 5010 of 5000 are over what is allowed, by 0.17 and 0.2 %
    [
        (23380 / 23340, "1.002"),
        (5010 / 5000, "1.002"),
        (1.00001, "1.00001"),
        (1.0, "1.00"),
        (1.05, "1.05"),
        (12.34, "12.3"),
    ],
)
def test_a_utilization_that_fails_reads_over_one(value, text):
    assert used(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(-0.0017, "-0.2%"), (-0.00001, "-0.001%"), (-0.02, "-2%"), (0.0, "+0%"), (0.001, "+0%"), (0.31, "+31%")],
)
def test_a_margin_that_is_wanting_reads_under_nothing(value, text):
    assert margin(value) == text
