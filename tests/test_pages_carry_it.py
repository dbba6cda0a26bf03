"""What a page must carry to who acts on it: a push that may be greater, which bolts a window is of, which cases are raised."""

from __future__ import annotations

import html
import math
import re
from types import SimpleNamespace

import numpy as np
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_supports import axial_raised
from anchorsize.cli import main

# Invented: return elbow of a boiler, a line going on beyond its outlet.
BOILER = """\
case_file: 1
title: boiler return elbow (invented)
units: metric
fluid: {name: water, temperature: 70 degC}
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 82.5 mm, wall: 3.2 mm, material_density: 7850 kg/m^3, kind: elbow, turn: 90 deg,
    toward: [0, 0, 1], radius: 114.3 mm, before: 60 mm, after: 60 mm}
joints:
  return:
    at: inlet
    bolts: {count: 8, size: M16, circle: 160 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 90 mm, outside: 138 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    flange: {rating: RATING}
    tightening: {torque: 60 N*m, nut_factor: 0.13, lubricant: moly paste, scatter: 30 %, relaxation: 10 %}
    grip: 44 mm
    bolt_modulus: 205 GPa
    face_friction: 0.15
sizing: {counts: [8], sizes: [M16], classes: ["5.6", "8.8"], torques: [60 N*m]}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, gasket_pressure_greatest: 65 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 3.5 bar}, outlet: {pressure: from losses, loss_coefficient: 0}}
"""


def page(tmp_path, text, *command):
    path = tmp_path / "boiler.yaml"
    path.write_text(text, encoding="utf-8")
    ran = CliRunner().invoke(main, [command[0], str(path), *command[1:]])
    assert ran.exit_code != 2, ran.output
    return " ".join(ran.output.split())


def rating_use(study):
    return max(
        float(c.utilization) for case in assess(study).cases.values() for c in case.checks if c.check == "flange rating"
    )


def test_sheet_and_short_check_carry_a_bellows_that_would_fail(tmp_path):
    text = BOILER.replace("RATING", "1.5 MPa")
    area = math.pi / 4 * 82.5**2 * 1.5
    wider = text.replace("allow:", f"beyond: {{outlet: {{effective_area: {area:.6g} mm^2}}}}\nallow:")
    use, then = rating_use(parse_case(text, "t")), rating_use(parse_case(wider, "t"))
    assert use < 1 < then
    words = f"With it flange rating of 'return' FAILS in 'shut': utilization {then:.3g} in place of {use:.3g}. Ask the engineer before start."
    assert "Not in it: If a bellows or sliding coupling is beyond 'outlet'" in page(tmp_path, text, "check", "--brief")
    assert words in page(tmp_path, text, "check", "--brief")
    page(tmp_path, text, "boltup", "-o", str(tmp_path / "s.html"))
    sheet = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", (tmp_path / "s.html").read_text(encoding="utf-8"))).split())
    assert words in sheet
    # 0.5 bores more of the pressure at the outlet, which stands 174.3 mm higher
    pressure = 350e3 - 977.8 * 9.80665 * 0.1743
    more = float(re.search(r"say: up to (\d+) N", sheet).group(1))
    assert more == np.round(0.5 * pressure * math.pi / 4 * 0.0825**2)
    assert "If a bellows" not in page(tmp_path, BOILER.replace("RATING", "3 MPa"), "check", "--brief")
    assert "If a bellows" not in page(tmp_path, wider, "check", "--brief")


def test_the_window_of_a_size_names_its_bolts(tmp_path):
    """With an allowance on the joint that nothing meets the window is of the nearest, not of the bolts of the file."""
    text = BOILER.replace("RATING", "3 MPa").replace(
        "    grip:", "    allow: {force: 1 N, pressure_thrust: included}\n    grip:"
    )
    said = page(tmp_path, text, "size")
    nearest = re.search(r"Nearest is (8 x M16 on 160\.0 mm, class \S+), torque", said).group(1)
    assert f"joint 'return' with {nearest}: torque from" in said
    assert "joint 'return': torque from" in page(tmp_path, text, "check")


def test_what_raises_the_axial_force_in_several_cases_names_the_greatest_too():
    """Riser on a duckfoot: 5013 to 6399 N, 3917 to 4981 N (+27 %), and 21 697 to 22 812 N, which is by 5 % alone and the greatest of all."""
    before = {"pumping": 5013.0, "standing": 3917.0, "valve shuts": 21697.0}
    after = {"pumping": 6399.0, "standing": 4981.0, "valve shuts": 22812.0}

    def cases(axial):
        load = SimpleNamespace(force=np.array([0.0, 0.0, 1e4]))
        support = SimpleNamespace(idle=np.array(False))
        return {
            name: SimpleNamespace(
                joints={"main": SimpleNamespace(axial=np.array(force))}, loads=(load,), supports={"DF": support}
            )
            for name, force in axial.items()
        }

    study = SimpleNamespace(joints={"main": None}, units=parse_case(BOILER.replace("RATING", "3 MPa"), "t").units)
    (found,) = axial_raised(study, cases(after), cases(before))
    assert found.message == (
        "The support raises the joint's axial force from 5013 N to 6399 N in 'pumping' (and by over 10% in 1 more case), the greatest "
        "22.81 kN in 'valve shuts': joint 'main', plus opens it."
    )
    (found,) = axial_raised(study, cases({**after, "valve shuts": 6000.0}), cases({**before, "valve shuts": 6000.0}))
    assert "(and by over 10% in 1 more case): joint 'main'" in found.message
