"""A fitting may press on its joint while the pressure on the gasket's ring opens it: the words go by what the bolts take."""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: a 60° bend at the foot of a rising main, a strut across it.
BEND = """\
case_file: 1
title: bend of a rising main (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 12 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 260.4 mm, wall: 6.3 mm, material_density: 7850 kg/m^3, kind: elbow,
    turn: 60 deg, toward: [0, 1, 0], radius: 375 mm, before: 100 mm, after: 100 mm}
beyond: {outlet: {effective_area: EFFECTIVE}}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 12, size: M24, circle: 355 mm, first_at: 15 deg, class: "5.6"}
    gasket: {inside: INSIDE, outside: OUTSIDE, thickness: 3 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    flange: {designation: EN 1092-1 PN 16 DN 250, rating: from table}
    tightening: {torque: 150 N*m, nut_factor: 0.18, scatter: 30 %, relaxation: 10 %, lubricant: oiled}
    grip: 58 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
    pipe_behind: {outside: 273 mm, wall: 6.3 mm, length: 1.2 m, modulus: 205 GPa, poisson: 0.3}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, tension_with_shear: linear}
supports:
  strut:
    - {kind: strut, name: S1, at: [0.3558, -0.068, 0 m], toward: [-0.5, 0.8660254, 0], section: {outside: 139.7 mm, wall: 8 mm},
       length: 0.8 m, modulus: 205 GPa, effective_length_factor: 1, allow: {stress: 140 MPa, buckling_factor: 3}}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 10 bar}, outlet: {pressure: 10 bar}}
"""


def sheet(tmp_path, inside, outside, area, edit=lambda text: text):
    path = tmp_path / "bend.yaml"
    text = BEND.replace("INSIDE", inside).replace("OUTSIDE", outside).replace("EFFECTIVE", area)
    path.write_text(edit(text), encoding="utf-8")
    made = CliRunner().invoke(main, ["boltup", str(path), "--option", "strut", "--json"])
    assert made.exit_code in (0, 1, 3), made.output
    return json.loads(made.stdout)


def kilonewtons(words):
    return float(words.rsplit("with ", 1)[1].split(" kN", 1)[0])


def test_pressure_on_the_ring_that_opens_the_joint_is_told(tmp_path):
    data = sheet(tmp_path, "273 mm", "329 mm", "585.3 cm^2")
    own, words = data["own_push"], data["push"]["words"]
    # ASME BPVC VIII-1 App. 2: the ring ends at the raised face, 320 mm (EN 1092-1); b = 0.5 √b0 in inches, G = outside less 2b
    b = 0.5 * math.sqrt((320.0 - 273.0) / 4.0 / 25.4) * 25.4
    annulus = 1e6 * math.pi / 4.0 * ((0.320 - 2e-3 * b) ** 2 - 0.2604**2)
    opens = annulus + own["away_from_pipe_N"]
    assert own["away_from_pipe_N"] < 0.0 < opens
    assert "AGAINST the pipe" in words
    assert "presses this joint together" not in words
    part = words.split("yet pressure on the gasket's ring opens this joint all the same, ")[1].split(" (")[0]
    assert kilonewtons(f", {part}") == pytest.approx(opens / 1e3, rel=1e-3)


def test_a_ring_close_to_the_bore_leaves_the_joint_pressed(tmp_path):
    words = sheet(tmp_path, "260.4 mm", "266 mm", "620 cm^2")["push"]["words"]
    assert ": it presses this joint together" in words
    assert "opens this joint" not in words
