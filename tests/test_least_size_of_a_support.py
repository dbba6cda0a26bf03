"""The least size of a support is sought by its own checks: where the joint fails with it, the page says what to stay with."""

from __future__ import annotations

import re

from click.testing import CliRunner

from anchorsize.cli import main

# Invented: an elbow that is pulled across its short pipe stub, which bends the flange more, the softer the strut is.
ELBOW = """\
case_file: 1
title: elbow on a strut (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [0, 0, 1], bore: 82.5 mm, wall: 3.2 mm, material_density: 7850 kg/m^3, kind: elbow,
    turn: 90 deg, toward: [1, 0, 0], radius: 120 mm, before: 300 mm, after: 100 mm}
joints:
  main:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: M16, circle: 160 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 92 mm, outside: 142 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    flange: {designation: EN 1092-1 PN 16 DN 80, rating: from table}
    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 42 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
    pipe_behind: {outside: 88.9 mm, wall: 3.2 mm, length: 0.12 m, modulus: 205 GPa, poisson: 0.3}
allow: {bolt_tension: 200 MPa, bolt_shear: 95 MPa, tension_with_shear: linear, bolt_spacing_greatest: 120 mm, gasket_pressure_greatest: 100 MPa}
supports:
  strut:
    - {kind: strut, name: S1, at: [0.1, 0, 0.42 m], toward: [-1, 0, 0], section: {outside: 114.3 mm, wall: 8 mm}, length: 0.3 m,
       modulus: 205 GPa, effective_length_factor: 1, allow: {force: 60 kN, stress: 250 MPa, buckling_factor: 3},
       sections: {thin: {outside: 21.3 mm, wall: 2.3 mm}, middle: {outside: 42.4 mm, wall: 2.6 mm}, thick: {outside: 114.3 mm, wall: 8 mm}}}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 9 bar}, outlet: capped}
external:
  - {name: side pull, force: [FORCE, 0, 0 kN], at: [0.3, 0, 0.42 m]}
"""


def said(tmp_path, force):
    path = tmp_path / "elbow.yaml"
    path.write_text(ELBOW.replace("FORCE", str(force)), encoding="utf-8")
    return " ".join(CliRunner().invoke(main, ["supports", str(path)]).output.split())


def test_whose_checks_the_least_size_passes_is_said_and_what_to_do_where_the_joint_fails_with_it(tmp_path):
    told = [said(tmp_path, force) for force in range(5, 27, 3)]
    assert all("the least whose own checks hold is" in each for each in told)
    fails = [
        each for each in told if "HOLDS: 'strut'" in each and re.search(r"With the least one \(S1 [^)]*\): FAILS", each)
    ]
    assert fails  # somewhere between what both hold and what neither does
    assert all("; as given the option holds: stay with the sizes given, or try sizes between" in each for each in fails)
    others = [each for each in told if each not in fails]
    assert others
    assert not any("stay with the sizes given" in each for each in others)
