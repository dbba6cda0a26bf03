"""The margin of the best support option names the changes of length that it does not count; the notes below say what they do."""

from __future__ import annotations

from click.testing import CliRunner

from anchorsize.cli import main

# Invented: a fill elbow on a pipe stub, two ties back to the flange against the thrust of its closed valve.
ELBOW = """\
case_file: 1
title: fill elbow with ties (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 206.5 mm, wall: 6.3 mm, material_density: 7850 kg/m^3, kind: elbow,
    turn: 90 deg, toward: [0, 0, -1], radius: 305 mm, before: 100 mm, after: 100 mm}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 12, size: M20, circle: 295 mm, first_at: 15 deg, class: "8.8"}
    gasket: {inside: 220 mm, outside: 273 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    flange: {designation: EN 1092-1 PN 16 DN 200, rating: from table}
    tightening: {torque: 150 N*m, nut_factor: 0.18, scatter: 30 %, relaxation: 10 %, lubricant: oiled}
    grip: 54 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
    PIPE
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, tension_with_shear: linear, bolt_spacing_greatest: 200 mm, gasket_pressure_greatest: 80 MPa}
supports:
  none: []
  ties:
    - {kind: tie, name: T1, at: [0.3, 0.15, 0 m], toward: [-1, 0, 0], stiffness: 60 MN/m, allow: {force: 80 kN}}
    - {kind: tie, name: T2, at: [0.3, -0.15, 0 m], toward: [-1, 0, 0], stiffness: 60 MN/m, allow: {force: 80 kN}}
cases:
  shut: {dynamic_factor: 1.5, inlet: {flow_in: 0 L/s, pressure: 8 bar}, outlet: capped}
"""
PIPE = "pipe_behind: {outside: 219.1 mm, wall: 6.3 mm, length: 1.5 m, modulus: 205 GPa, poisson: 0.3}"


def head_of(tmp_path, text):
    path = tmp_path / "elbow.yaml"
    path.write_text(text, encoding="utf-8")
    made = CliRunner().invoke(main, ["supports", str(path), "--width", "240"])
    assert made.exit_code == 0, made.output
    said = " ".join(made.output.split())
    return said.split("Rests on the allowables")[0], said


def test_the_margin_that_ties_give_names_heat_and_shortening(tmp_path):
    head, whole = head_of(tmp_path, ELBOW.replace("PIPE", PIPE))
    assert "Greatest margin: 'ties'" in head
    assert (
        "Not in that margin: heat in the pipe behind and pressure that shortens the pipe behind, which changes the forces or lets supports "
        "go: see the notes on 'ties' below."
    ) in head
    assert "HEAT IS NOT COUNTED: each 10 K" in whole.removeprefix(head)


def test_nothing_is_left_out_of_the_margin_of_bolts_alone(tmp_path):
    head, _ = head_of(tmp_path, ELBOW.replace("PIPE", PIPE).replace("dynamic_factor: 1.5, ", ""))
    assert "Greatest margin: 'none'" in head
    assert "Not in that margin" not in head
