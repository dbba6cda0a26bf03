"""Gas where no liquid is, flow in an empty fitting, and pressure left beyond a valve that is shut: each is told, with what comes of it."""

from __future__ import annotations

import html
import math
import re

import pytest
from click.testing import CliRunner

from anchorsize.cli import main

# Invented: a lateral of a cooling water gallery, a valve on its branch.
TEE = """\
case_file: 1
title: tee of a gallery (invented)
units: metric
up: [0, 0, 1]
fluid: FLUID
fitting:
  shape: {start: [0, 0, 0 m], direction: [1, 0, 0], bore: 206.5 mm, wall: 6.3 mm, material_density: 7850 kg/m^3, kind: tee,
    length: 600 mm, at: 300 mm, toward: [0, 1, 0], branch_bore: 206.5 mm, branch_length: 250 mm}
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
beyond: {branch: {effective_area: 480 cm^2}, outlet: {effective_area: 480 cm^2}}
EXTERNAL
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa, tension_with_shear: linear, bolt_spacing_greatest: 200 mm, gasket_pressure_greatest: 80 MPa}
cases:
  night: {inlet: {flow_in: 40 L/s, pressure: 380 kPa}, branch: {flow_out: 10 L/s, pressure: 378 kPa}, outlet: {pressure: 379 kPa}}
  shut: {inlet: {flow_in: 0 L/s, pressure: 480 kPa}, branch: capped, outlet: {pressure: 480 kPa}}
  bare: {contents: empty, inlet: {flow_in: BARE L/s, pressure: BLOWN kPa}, branch: {flow_out: 0 L/s, pressure: BLOWN kPa}, outlet: {pressure: BLOWN kPa}}
"""
WATER = "{name: water, temperature: 15 degC}"
PUSH = 'external: [{name: "beyond branch", force: [0, -18144, 0 N], at: [300, 250, 0 mm], cases: ["shut"]}]'


def filled(fluid=WATER, bare=0, blown=0, external=""):
    text = TEE.replace("FLUID", fluid).replace("BARE", str(bare)).replace("BLOWN", str(blown))
    return text.replace("EXTERNAL\n", f"{external}\n" if external else "")


def said(tmp_path, text, command="check", *words):
    path = tmp_path / "tee.yaml"
    path.write_text(text, encoding="utf-8")
    made = CliRunner().invoke(main, [command, str(path), *words])
    assert made.exit_code in (0, 1, 3), made.output
    return " ".join(made.output.split())


def test_pressure_left_beyond_a_shut_valve_is_told_with_what_it_does(tmp_path):
    told = said(tmp_path, filled())
    assert "'branch' is capped in 'shut' and has a line beyond it in other cases." in told
    force = 378e3 * 480e-4  # pressure of the night on the effective area of the bellows
    assert float(re.search(r"with up to ([\d.]+) kN as in those cases", told)[1]) == pytest.approx(
        force / 1e3, rel=1e-3
    )
    # nothing else acts level in that case: the push and the weight, which is there alone without it, are at a right angle
    there, weight = re.search(r"the shear ([\d.]+) kN in place of ([\d.]+) N", told).groups()
    assert float(there) == pytest.approx(math.hypot(force, float(weight)) / 1e3, rel=1e-3)
    assert "Where it is so, write under external" in told
    assert told.count("'outlet' is capped") == 0


def test_a_pressure_test_is_made_against_a_blank(tmp_path):
    assert "has a line beyond it in other cases" not in said(
        tmp_path, filled().replace("shut: {inlet", "shut: {rating_factor: 1.5, inlet")
    )


def test_written_under_external_it_is_told_no_more(tmp_path):
    assert "has a line beyond it in other cases" not in said(tmp_path, filled(external=PUSH))


def test_limits_and_supports_have_it_where_it_makes_a_check_fail(tmp_path):
    weak = filled().replace("torque: 150 N*m", "torque: 60 N*m")
    assert (
        "FAILS in 'shut'"
        in said(tmp_path, weak).split("has a line beyond it in other cases")[1].split("write under external")[0]
    )
    for command in ("check", "supports"):
        told = said(tmp_path, weak, command)
        assert told.index("has a line beyond it in other cases") < told.index("Rests on the allowables given")
    assert "has a line beyond it in other cases" in said(tmp_path, weak, "limits", "--points", "3")


def test_pressure_without_liquid_is_compressed_gas(tmp_path):
    told = said(tmp_path, filled(blown=300))
    assert told.index("No liquid in 'bare', yet under pressure: that is COMPRESSED GAS.") < told.index(
        "Rests on the allowables given"
    )
    assert "Vent it and check at a gauge" in told
    page = tmp_path / "sheet.html"
    said(tmp_path, filled(blown=300), "boltup", "-o", str(page))
    assert "COMPRESSED GAS: a drained line can still be under pressure." in html.unescape(
        page.read_text(encoding="utf-8")
    )
    drained = said(tmp_path, filled())
    assert "GAS" not in drained.replace("GASKET", "")


def test_a_fluid_that_is_a_gas_is_called_one(tmp_path):
    told = said(tmp_path, filled(fluid="{name: air, density: 9.6 kg/m^3, temperature: 15 degC}"))
    assert "'air', 9.6 kg/m³, is a gas. It goes off like a spring" in told
    assert "losses, surges and boiling are those of liquids" in told
    assert "Vent it and check at a gauge" in told


def test_flow_through_an_empty_fitting_is_doubted(tmp_path):
    told = said(tmp_path, filled(bare=20))
    assert (
        "Doubtful input: in 'bare': contents: empty, yet 20 L/s flows: the momentum of water counts, its weight does not."
        in told
    )
    assert "contents: empty, yet" not in said(tmp_path, filled())
