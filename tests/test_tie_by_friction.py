"""Options whose margins tie: which is named first where one holds by friction alone, and what the line says it is. Case invented."""

from __future__ import annotations

from anchorsize import parse_case
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.studies.supports import compare

RISER = """\
case_file: 1
title: riser elbow with a sliding coupling (invented)
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  shape:
    start: [0, 0, 0 m]
    direction: [1, 0, 0]
    bore: 159.3 mm
    wall: 4.5 mm
    material_density: 7850 kg/m^3
    kind: elbow
    turn: 90 deg
    toward: [0, 0, 1]
    radius: 229 mm
    before: 150 mm
    after: 250 mm
  extra_masses:
    - {name: inlet flange, mass: 8 kg, center: [0, 0, 0 m]}
    - {name: coupling half, mass: 6 kg, center: [0.379, 0, 0.45 m]}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M20, circle: 240 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 170 mm, outside: 218 mm, thickness: 2 mm, modulus: 600 MPa, m: 2, y: 11 MPa}
    flange: {designation: EN 1092-1 PN 16 DN 150, rating: 1.6 MPa}
    tightening: {torque: 160 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 48 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
    pipe_behind: {outside: 168.3 mm, wall: 4.5 mm, length: 2.4 m, modulus: 205 GPa, poisson: 0.3}
allow:
  bolt_tension: 200 MPa
  bolt_shear: 110 MPa
  tension_with_shear: linear
  gasket_pressure_greatest: 100 MPa
beyond:
  outlet: {effective_area: 222.5 cm^2}
cases:
  deluge:
    inlet: {flow_in: 95 L/s, pressure: 900 kPa}
    outlet: {pressure: from losses, loss_coefficient: 0.25}
  valve trips:
    dynamic_factor: 1.5
    inlet: {flow_in: 95 L/s, pressure: 900 kPa}
    outlet: {pressure: from losses, loss_coefficient: 0.25}
  shut with surge:
    inlet: {flow_in: 0 L/s, pressure: SHUT, surge: {stopped_flow: 95 L/s, wave_speed: 1150 m/s, closing_time: 5 s, pipe_length: 260 m}}
    outlet: {pressure: from losses, loss_coefficient: 0}
  drained:
    contents: empty
    inlet: {flow_in: 0 L/s, pressure: 0 kPa}
    outlet: {pressure: 0 kPa}
external:
  - {name: wind on the riser, force: [0, 350, 0 N], at: [0.379, 0, 0.40 m]}
supports:
  bolts alone: []
  post under the elbow:
    - {kind: rest, name: R1, at: [0.379, 0, -0.085 m], section: {outside: 114.3 mm, wall: 4.5 mm}, length: 0.8 m, modulus: 205 GPa, friction: 0.3,
       effective_length_factor: 2, allow: {stress: 140 MPa, buckling_factor: 3}, cost: 310}
  post and side strut:
    - {kind: rest, name: R1, at: [0.379, 0, -0.085 m], section: {outside: 114.3 mm, wall: 4.5 mm}, length: 0.8 m, modulus: 205 GPa, friction: 0.3,
       effective_length_factor: 2, allow: {stress: 140 MPa, buckling_factor: 3}, cost: 310}
    - {kind: strut, name: S1, at: [0.379, 0, 0.2 m], toward: [0, 1, 0], section: {outside: 60.3 mm, wall: 3.2 mm}, length: 1.1 m, modulus: 205 GPa,
       effective_length_factor: 1, allow: {force: 10 kN, stress: 140 MPa, buckling_factor: 3}, cost: 180}
"""


def judged(shut, friction="0.3"):
    compared = compare(parse_case(RISER.replace("SHUT", shut).replace("friction: 0.3", f"friction: {friction}"), "t"))
    return compared, " ".join(verdict_lines(compared))


def test_of_a_tie_the_one_named_first_is_not_called_the_greatest():
    compared, said = judged("1000 kPa")
    assert compared.best.name == "post under the elbow"
    uses = {o.name: float(o.deciding(compared.common)[1].utilization) for o in compared.options if o.holds}
    assert uses["post and side strut"] < uses["post under the elbow"] < 1.01 * uses["post and side strut"]
    assert "Named first of practically the same margin: 'post under the elbow'" in said
    assert "Greatest margin" not in said


def test_of_a_tie_one_that_holds_by_friction_alone_comes_second():
    compared, said = judged("1012 kPa")
    smooth, _ = judged("1012 kPa", friction="0")
    holding = {o.name for o in smooth.options if o.holds}
    assert holding == {"post and side strut"}  # without friction
    assert compared.best.name == "post and side strut"
    assert "Greatest margin: 'post and side strut'" in said
    assert (
        "'post under the elbow' holds with practically the same margin as 'post and side strut', but by friction alone"
        in said
    )
    assert "fails (utilization 1)" not in said
