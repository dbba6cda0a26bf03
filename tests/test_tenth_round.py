"""Supports that let go within the limits, tightenings near an end of their window, and what is nobody's here. Cases invented."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from tests.support_cases import on_one_line, printed

ARM = """\
case_file: 1
title: outlet arm over a tank (invented)
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 60 kg, mass_center: [1.0, 0, 0 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  jet: {center: [1.2, 0, -0.5 m], outward: [0, 0, -1], bore: 100 mm}
joints:
  main:
    at: inlet
    bolts: {count: 8, size: M16, circle: 180 mm}
    stiffness: {axial: 1 GN/m, shear: 1 GN/m, bending: 1 MN*m/rad, torsion: 1 MN*m/rad}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  full: {inlet: {flow_in: 20 L/s, pressure: 0 kPa}, jet: free_jet}
supports:
  post: [{kind: rest, name: P1, at: [1.2, 0, 0 m], stiffness: 20 MN/m, allow: 9 kN}]
"""


def test_limits_say_from_which_flow_on_a_support_lets_go(tmp_path: Path):
    """The post lets go where the arm would not sink at it any more.

    Sinking at the post without it, unit 1/k of shear and bending springs: (W - T)/k_s + (W a - T l) l/k_b, W 588.4 N at a = 1 m and the
    jet's lift T = rho Q^2/A at l = 1.2 m; zero at T = W (1/k_s + a l/k_b)/(1/k_s + l^2/k_b).
    """
    weight, shear, bending = 60 * 9.80665, 1e9, 1e6
    lift = weight * (1 / shear + 1.0 * 1.2 / bending) / (1 / shear + 1.2**2 / bending)
    flow = math.sqrt(lift * math.pi / 4 * 0.1**2 / 1000) * 1000
    code, out = printed(tmp_path, ARM, "limits", "--option", "post", "--json")
    assert code == 0
    (told,) = json.loads(out)["cases"]["full"]["let_go"]
    assert told.startswith("support 'P1' lets go, slack or lifted, from a flow of about ")
    start = float(told.split("about ")[1].split()[0])
    greatest = json.loads(out)["cases"]["full"]["flow"]["intervals"][-1]["to_m3_s"] * 1000
    assert flow <= start <= flow + (greatest - 20) / 200 + 0.01 < greatest  # the first of 201 steps beyond it
    said = on_one_line(tmp_path, ARM, "limits", "--option", "post")[1]
    assert f"Within the limits of 'full' {told}" in said
    assert (
        "lets go" not in on_one_line(tmp_path, ARM.replace("kind: rest", "kind: strut, toward: [0, 0, 1]"), "limits")[1]
    )


def test_what_supports_are_fastened_to_and_closures_are_said_to_be_judged_by_nobody_here(tmp_path: Path):
    said = on_one_line(tmp_path, ARM, "check", "--option", "post")[1]
    assert "What supports stand on, hang from or are fastened to" in said
    assert "The closure at" not in said
    capped = (
        ARM.replace("flow_in: 20 L/s", "flow_in: 0 L/s")
        .replace("jet: free_jet", "jet: capped")
        .partition("supports:")[0]
    )
    said = on_one_line(tmp_path, capped, "check")[1]
    assert "The closure at 'jet' is part of the fitting: neither it nor its own bolts are judged" in said
    assert "What supports stand on" not in said


BLANK = """\
case_file: 1
title: blank (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings: {inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}}
joints:
  main:
    at: inlet
    bolts: {count: 8, size: M16, circle: 180 mm, class: "8.8"}
    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa, condition: new}
    tightening: {torque: TORQUE, nut_factor: 0.2}
    grip: 44 mm
    bolt_modulus: 205 GPa
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, gasket_pressure_greatest: 40 MPa}
cases: {shut: {inlet: {flow_in: 0 L/s, pressure: 900 kPa}}}
"""


def test_a_tightening_near_an_end_of_its_window_is_called_close(tmp_path: Path):
    def window(torque: float) -> tuple[float, float, str]:
        text = BLANK.replace("TORQUE", f"{torque} N*m")
        found = json.loads(printed(tmp_path, text, "boltup", "--json")[1])["tightening"]
        return found["torque_least_Nm"], found["torque_greatest_Nm"], on_one_line(tmp_path, text, "check")[1]

    least, greatest, _ = window(80)
    assert 1.25 * least < greatest / 1.25
    for torque, words in (
        (1.015 * least, "which is CLOSE, only 1.5% over the least"),
        (greatest / 1.05, "which is CLOSE, only 5.0% under the most"),
        (1.15 * least, ""),
        (greatest / 1.15, ""),
    ):
        said = window(torque)[2]
        assert (words in said) if words else ("CLOSE" not in said)


def test_the_joint_of_a_blind_flange_is_sent_to_a_file_of_its_own(tmp_path: Path):
    code, said = on_one_line(
        tmp_path,
        BLANK.replace("TORQUE", "80 N*m").replace("inlet: {flow_in: 0 L/s, pressure: 900 kPa}", "inlet: capped"),
        "check",
    )
    assert code == 2
    assert "judged in a file of its own: anchorsize start cap" in said


@pytest.mark.parametrize("command", ["check", "supports"])
def test_both_commands_say_whose_the_structure_is(tmp_path: Path, command: str):
    assert "whoever answers for it needs the support forces" in on_one_line(tmp_path, ARM, command)[1]
