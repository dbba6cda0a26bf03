"""Small case files that several tests start from. Invented."""

BLANK_FLANGE = """\
case_file: 1
title: blank flange
fluid: {name: water, density: 1000 kg/m^3}
openings:
  pipe: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
joints:
  main:
    at: pipe
    bolts: {count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg}
    gasket: {inside: 115 mm, outside: 162 mm}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  test: {pipe: {flow_in: 0 L/s, pressure: 10 bar}}
"""

ELBOW = """\
case_file: 1
title: elbow
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 10 kg, mass_center: [0.1, 0, 0 m], contents: 2 L, contents_center: [0.1, 0, 0.05 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  outlet: {center: [0.2, 0, 0.2 m], outward: [0, 0, 1], bore: 50 mm}
joints:
  main:
    at: inlet
    bolts: {count: 4, size: M16, circle: 160 mm, first_at: 45 deg}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {inlet: {flow_in: 20 L/s, pressure: 60 kPa}, outlet: free_jet}
  stopped: {inlet: {flow_in: 0 L/s, pressure: 60 kPa}, outlet: capped}
"""
