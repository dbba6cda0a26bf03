"""Broken case files: each an edit of one good file, with every line that must be reported, in order.

The messages were read one by one as an installer would: is the place right, is it said what was found, what was expected and
what to write instead?
"""

from __future__ import annotations

import pytest

from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.casefile.problems import KINDS

BASE = """\
case_file: 1
title: base
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  mass: 10 kg
  mass_center: [0.1, 0, 0 m]
openings:
  inlet:
    center: [0, 0, 0 m]
    outward: [-1, 0, 0]
    bore: 100 mm
  outlet: {center: [0.2, 0, 0 m], outward: [1, 0, 0], bore: 50 mm}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 115 mm, outside: 162 mm}
allow:
  bolt_tension: 160 MPa
  bolt_shear: 95 MPa
cases:
  run:
    inlet: {flow_in: 10 L/s, pressure: 100 kPa}
    outlet: free_jet
  stop:
    inlet: {flow_in: 0 L/s, pressure: 100 kPa}
    outlet: capped
external:
  - {name: rope, force: [0, 10, 0 N], at: [0.1, 0, 0 m]}
"""

# (text in BASE, what stands there instead, the lines reported)
BROKEN = [
    (
        "pressure: 100 kPa}\n    outlet: free_jet",
        "pressure: 100 kPaa}\n    outlet: free_jet",
        ["26: cases / run / inlet / pressure: '100 kPaa' is not a pressure (unknown unit 'kPaa'; did you mean 'kPa'?)"],
    ),
    (
        "outside: 162 mm}",
        "outside: 162 mm}\n    flange: {hole: 16 mm}",
        [
            "21: joints / main / flange / hole: '16 mm' does not let bolts M16 (16 mm thick) through (a hole is larger than its bolt; is this unit right?)"
        ],
    ),
    (
        "outside: 162 mm}",
        "outside: 162 mm}\n    flange: {outside: 195 mm}",
        [
            "19: joints / main / bolts / circle: the bolt circle '180 mm' puts the bolts over the rim of the flange, '195 mm' (is this unit right?)"
        ],
    ),
    (
        "  mass: 10 kg\n",
        "  mass: 10 kg\n  extra_masses: [{name: flange, mass: 3 kg}]\n",
        ["8: fitting / extra_masses / 1 / center: 'center' is missing"],
    ),
    (
        "  mass: 10 kg\n",
        "  mass: 10 kg\n  extra_masses: [{name: contents, mass: 3 kg, center: [0, 0, 0 m]}]\n",
        [
            "8: fitting / extra_masses / 1 / name: 'contents weight' is the name of the contents' weight already (reports tell the loads apart by their names)"
        ],
    ),
    (
        "  run:\n",
        "  run:\n    rating_factor: 1.5\n",
        [
            "26: cases / run / rating_factor: 'rating_factor' where no joint has a flange / rating (write the flange's rating: a pressure, or from table)"
        ],
    ),
    (
        "  run:\n",
        "  run:\n    rating_factor: 0\n",
        [
            "26: cases / run / rating_factor: '0' must be more than 0",
            "26: cases / run / rating_factor: 'rating_factor' where no joint has a flange / rating (write the flange's rating: a pressure, or from table)",
        ],
    ),
    (
        "  run:\n",
        "  run:\n    allow: {bolt_spacing_least: 45 mm, endurance_limit: 40 MPa}\n",
        [
            "26: cases / run / allow / bolt_spacing_least: 'bolt_spacing_least' is the same in every case (write it under allow of the file or of the joint)",
            "26: cases / run / allow / endurance_limit: 'endurance_limit' belongs to two cases between which the load repeats (write it under allow of the file or of the joint)",
        ],
    ),
    (
        "mass: 10 kg",
        "mass: 10",
        ["7: fitting / mass: '10' is not a mass (no unit; write one such as 'kg' or 'g' after the number)"],
    ),
    (
        "mass: 10 kg",
        "mass: 10 mm",
        ["7: fitting / mass: '10 mm' is not a mass ('mm' is a length; write one such as 'kg')"],
    ),
    ("mass: 10 kg", "mass: heavy", ["7: fitting / mass: 'heavy' is not a mass (no number at its start)"]),
    (
        "mass: 10 kg",
        "mass: 10,5 kg",
        ["7: fitting / mass: '10,5 kg' is not a mass (a comma in a number; write '10.5 kg', with a decimal point)"],
    ),
    ("mass: 10 kg", "mass: .nan kg", ["7: fitting / mass: '.nan kg' is not a mass (not a finite number)"]),
    ("mass: 10 kg", "mass: inf kg", ["7: fitting / mass: 'inf kg' is not a mass (not a finite number)"]),
    ("mass: 10 kg", "mass: -1 kg", ["7: fitting / mass: '-1 kg' must not be less than 0"]),
    ("mass: 10 kg", "mass: 1e9 kg", ["7: fitting / mass: '1e9 kg' is more than 10000000 kg (is this unit right?)"]),
    (
        "mass: 10 kg",
        "mass:",
        ["7: fitting / mass: nothing is given where a mass is expected (write it, or take out the key)"],
    ),
    ("mass: 10 kg", "mass: [1 kg]", ["7: fitting / mass: a list where a mass is expected (write one value)"]),
    (
        "  mass_center: [0.1, 0, 0 m]\n",
        "",
        ["6: fitting / mass_center: 'mass_center' is missing (mass acts somewhere: write [x, y, z m])"],
    ),
    ("  mass: 10 kg\n", "", ["6: fitting / mass: 'mass' is missing (mass_center is given without it)"]),
    (
        "mass_center: [0.1, 0, 0 m]",
        "mass_center: [0.1, 0, 0]",
        [
            "8: fitting / mass_center: no entry of this list has a unit; a length is expected (the last entry gives it for all: [0.1, 0, 0 m], if that is the unit meant)"
        ],
    ),
    (
        "mass_center: [0.1, 0, 0 m]",
        "mass_center: [0.1, 0 m]",
        ["8: fitting / mass_center: 2 entries are not three numbers (write [x, y, z mm])"],
    ),
    (
        "mass_center: [0.1, 0, 0 m]",
        "mass_center: 0.1 m",
        ["8: fitting / mass_center: '0.1 m' is not three numbers (write [x, y, z mm])"],
    ),
    (
        "mass_center: [0.1, 0, 0 m]",
        "mass_center: [0.1, 0, 0 kPa]",
        [
            "8: fitting / mass_center / 1: '0.1 kPa' is not a length ('kPa' is a pressure; write one such as 'mm')",
            "8: fitting / mass_center / 2: '0 kPa' is not a length ('kPa' is a pressure; write one such as 'mm')",
            "8: fitting / mass_center / 3: '0 kPa' is not a length ('kPa' is a pressure; write one such as 'mm')",
        ],
    ),
    ("case_file: 1\n", "", ["1: case_file: 'case_file' is missing"]),
    ("case_file: 1", "case_file: 2", ["1: case_file: '2' is not 1 (this version reads 'case_file: 1')"]),
    ("title: base", "titel: base", ["2: titel: unknown key 'titel' (did you mean 'title'?)"]),
    (
        "units: metric",
        "units: imperial",
        ["3: units: 'imperial' is not one of the words known here (known: metric, us)"],
    ),
    (
        "up: [0, 0, 1]",
        "up: [0, 0, 0]",
        ["4: up: a direction of no length points nowhere (write for example [1, 0, 0])"],
    ),
    (
        "name: water",
        "name: watter",
        ["5: fluid / name: fluid 'watter' is not in table fluids; nearest: water; seawater (or write its density)"],
    ),
    (
        "temperature: 15 degC",
        "temperature: 15",
        [
            "5: fluid / temperature: '15' is not a temperature (no unit; write one such as 'K' or 'degC' after the number)"
        ],
    ),
    (
        "temperature: 15 degC",
        "temperature: 150 degC",
        ["5: fluid / name: water is listed from 0 to 100 °C, not at 150 °C (or write its density)"],
    ),
    ("fluid: {name: water, temperature: 15 degC}\n", "", ["1: fluid: 'fluid' is missing"]),
    (
        "{name: water, temperature: 15 degC}",
        "{name: brine}",
        [
            "5: fluid / name: fluid 'brine' is not in table fluids; nearest: water; seawater; diesel; ethylene glycol 30 %; ethylene glycol 50 %; propylene glycol 30 %; propylene glycol 50 %; air (or write its density)"
        ],
    ),
    (
        "{name: water, temperature: 15 degC}",
        "{name: brine, density: 1.05 kg/m^3 x}",
        ["5: fluid / density: '1.05 kg/m^3 x' is not a density (unknown unit 'x'; did you mean 'kg/m³'?)"],
    ),
    (
        "{name: water, temperature: 15 degC}",
        "{name: lead, density: 90000 kg/m^3}",
        ["5: fluid / density: '90000 kg/m^3' is more than 25000 kg/m³ (is this unit right?)"],
    ),
    ("bore: 100 mm", "bore: 0 mm", ["13: openings / inlet / bore: '0 mm' must be more than 0"]),
    ("bore: 100 mm", "bore: -100 mm", ["13: openings / inlet / bore: '-100 mm' must be more than 0"]),
    ("bore: 100 mm", "bore: 100 m", ["13: openings / inlet / bore: '100 m' is more than 20 m (is this unit right?)"]),
    (
        "    bore: 100 mm\n",
        "",
        ["10: openings / inlet / bore: 'bore' is missing (write bore, or area where it is not round)"],
    ),
    (
        "bore: 100 mm",
        "bore: 100 mm\n    area: 0.01 m^2",
        ["14: openings / inlet / area: a bore and an area at once (write one of them)"],
    ),
    (
        "bore: 100 mm",
        "bore: 100 mm\n    bore: 101 mm",
        ["14: openings / inlet / bore: 'bore' is written twice, first in line 13 (keep one)"],
    ),
    (
        "bore: 100 mm",
        "bor: 100 mm",
        [
            "10: openings / inlet / bore: 'bore' is missing (write bore, or area where it is not round)",
            "13: openings / inlet / bor: unknown key 'bor' (did you mean 'bore'?)",
        ],
    ),
    (
        "outward: [-1, 0, 0]",
        "outward: [0, 0, 0]",
        [
            "12: openings / inlet / outward: a direction of no length points nowhere (write for example [1, 0, 0])",
            "18: joints / main / reference: the reference direction lies along the axis of the joint (choose one across it; left out, it is up, or +x where up is along the axis)",
        ],
    ),
    (
        "outward: [-1, 0, 0]",
        "outward: [-1 m, 0, 0]",
        [
            "12: openings / inlet / outward / 1: '-1 m' is not a number (the unit 'm' does not belong to a number; write a number or %)"
        ],
    ),
    (
        "at: inlet",
        "at: inlett",
        ["17: joints / main / at: 'inlett' is no opening of this file (did you mean 'inlet'?)"],
    ),
    ("    at: inlet\n", "", ["17: joints / main / at: 'at' is missing"]),
    (
        "reference: [0, 0, 1]",
        "reference: [1, 0, 0]",
        [
            "18: joints / main / reference: the reference direction lies along the axis of the joint (choose one across it; left out, it is up, or +x where up is along the axis)"
        ],
    ),
    ("count: 8", "count: 0", ["19: joints / main / bolts / count: '0' is not a whole number from 1 to 400"]),
    ("count: 8", "count: 8.5", ["19: joints / main / bolts / count: '8.5' is not a whole number from 1 to 400"]),
    ("count: 8", "count: 100000", ["19: joints / main / bolts / count: '100000' is not a whole number from 1 to 400"]),
    (
        "size: M16",
        "size: M15",
        [
            "19: joints / main / bolts / size: thread 'M15' is not in table threads_metric; nearest: M14; M16; M14x1.5; M16x1.5; M12"
        ],
    ),
    (
        "size: M16",
        "size: 16",
        ["19: joints / main / bolts / size: '16' says neither M nor inches (write M16)"],
    ),
    (
        "size: M16, ",
        "",
        ["19: joints / main / bolts / size: 'size' is missing (write '8 x M16 on 180 mm', or name a standard flange)"],
    ),
    (
        "circle: 180 mm, ",
        "",
        [
            "19: joints / main / bolts / circle: 'circle' is missing (write '8 x M16 on 180 mm', or name a standard flange)"
        ],
    ),
    (
        "circle: 180 mm",
        "circle: 180 m",
        ["19: joints / main / bolts / circle: '180 m' is more than 50 m (is this unit right?)"],
    ),
    (
        "first_at: 22.5 deg",
        "first_at: 22.5",
        [
            "19: joints / main / bolts / first_at: '22.5' is not an angle (no unit; write one such as 'deg' or 'rad' after the number)"
        ],
    ),
    (
        'class: "8.8"',
        'class: "8.9"',
        [
            "19: joints / main / bolts / class: property class '8.9' is not in table property_classes; nearest: 8.8; 12.9; 10.9"
        ],
    ),
    (
        'class: "8.8"',
        'class: "8.8", missing: [9]',
        ["19: joints / main / bolts / missing / 1: there is no bolt 9 (the bolts are 1 to 8)"],
    ),
    (
        'class: "8.8"',
        'class: "8.8", missing: [1, 2, 3, 4, 5, 6, 7, 8]',
        ["19: joints / main / bolts / missing: every bolt is missing (a joint needs at least one)"],
    ),
    (
        'class: "8.8"',
        'class: "8.8", missing: [1, 1]',
        ["19: joints / main / bolts / missing / 2: bolt 1 is named twice"],
    ),
    (
        'class: "8.8"',
        'class: "8.8", shear_plane: tread',
        [
            "19: joints / main / bolts / shear_plane: 'tread' is not one of the words known here (did you mean 'thread'?)"
        ],
    ),
    (
        '{count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, class: "8.8"}',
        "8 bolts M16",
        ["19: joints / main / bolts: '8 bolts M16' does not name bolts (write '8 x M16 on 180 mm', or keys)"],
    ),
    (
        "inside: 115 mm",
        "inside: 162 mm",
        [
            "20: joints / main / gasket / inside: '162 mm' is not less than outside, '162 mm' (inside and outside are the diameters of the contact ring)"
        ],
    ),
    (
        "outside: 162 mm",
        "outside: 190 mm",
        [
            "19: joints / main / bolts / circle: the bolt circle '180 mm' puts the bolts on the gasket, '190 mm' (give the contact ring inside the bolts; a gasket that reaches past them is not covered)"
        ],
    ),
    (
        "inside: 115 mm, ",
        "",
        [
            "20: joints / main / gasket / inside: 'inside' is missing (`anchorsize table gasket_rings` lists rings; for any other write "
            "what the face really presses)"
        ],
    ),
    (
        "bolt_tension: 160 MPa",
        "bolt_tension: 160 mpa",
        ["22: allow / bolt_tension: '160 mpa' is not a stress or a force ('mpa' may be milli or mega; write 'MPa')"],
    ),
    (
        "bolt_tension: 160 MPa",
        "bolt_tension: 160 mm",
        ["22: allow / bolt_tension: '160 mm' is not a stress or a force ('mm' is a length; write one such as 'MPa')"],
    ),
    ("bolt_tension: 160 MPa", "bolt_tension: 0 MPa", ["22: allow / bolt_tension: '0 MPa' must be more than 0"]),
    (
        "bolt_tension: 160 MPa",
        "bolt_tensoin: 160 MPa",
        ["22: allow / bolt_tensoin: unknown key 'bolt_tensoin' (did you mean 'bolt_tension'?)"],
    ),
    (
        "  bolt_shear: 95 MPa",
        "  bolt_shear: 95 MPa\n  tension_with_shear: square",
        [
            "24: allow / tension_with_shear: 'square' is not one of the words known here (known: circular, linear, en_1993_1_8)"
        ],
    ),
    (
        "flow_in: 10 L/s, pressure",
        "flow_in: 10 L/s, flow_out: 2 L/s, pressure",
        ["26: cases / run / inlet / flow_out: a flow in and a flow out at one opening (write one of them)"],
    ),
    (
        "flow_in: 10 L/s, pressure",
        "flow_in: -10 L/s, pressure",
        ["26: cases / run / inlet / flow_in: '-10 L/s' is negative (write it under flow_out)"],
    ),
    (
        "flow_in: 10 L/s, pressure",
        "pressure",
        [
            "25: cases / run: the flows of 'inlet', 'outlet' are unknown, and one can be solved (write flow_in or flow_out at all of them but one, such as flow_in: 0 L/s where nothing flows)"
        ],
    ),
    (
        "flow_in: 10 L/s, pressure: 100 kPa",
        "flow_in: 10 L/s, pressure: 100 psia",
        [
            "26: cases / run / inlet / pressure: '100 psia' is not a pressure ('psia' is absolute; write it under absolute_pressure, with ambient)"
        ],
    ),
    (
        "flow_in: 10 L/s, pressure: 100 kPa",
        "flow_in: 10 L/s, absolute_pressure: 100 kPa",
        [
            "26: cases / run / inlet / absolute_pressure: an absolute pressure needs the ambient one (write ambient, for the opening, the case or the whole file)"
        ],
    ),
    (
        "flow_in: 10 L/s, pressure: 100 kPa",
        "flow_in: 10 L/s",
        [
            "26: cases / run / inlet / pressure: 'pressure' is missing (write it, as a gauge, the pump's curve or the level above tells it; or pressure: from losses with loss_coefficient, where another opening's is known; or exit: free_jet or capped; an opening left out counts as connected, which needs a pressure)"
        ],
    ),
    (
        "flow_in: 10 L/s, pressure: 100 kPa",
        "flow_in: 10 L/s, pressure: 100 kPa, beta: 0.5",
        ["26: cases / run / inlet / beta: '0.5' must not be less than 1"],
    ),
    (
        "flow_in: 10 L/s, pressure: 100 kPa",
        "flow_in: 10 kg/s, pressure: 100 kPa",
        ["26: cases / run / inlet / flow_in: '10 kg/s' is not a flow ('kg/s' is a mass flow; write one such as 'L/s')"],
    ),
    (
        "    outlet: free_jet",
        "    outlet: free_jett",
        ["27: cases / run / outlet: 'free_jett' is not one of the words known here (did you mean 'free_jet'?)"],
    ),
    (
        "    outlet: free_jet",
        "    outlet: {exit: free_jet, pressure: 10 kPa}",
        [
            "27: cases / run / outlet / pressure: '10 kPa' at a free jet, whose gauge pressure is 0 (take the pressure out, or write exit: connected)"
        ],
    ),
    (
        "    outlet: free_jet",
        "    outlet: {exit: free_jet, flow_out: 9 L/s}",
        [
            "25: cases / run: the flows of 'inlet', 'outlet' do not balance: 0.9991 kg/s (1 L/s) more in than out (leave out the flow that is least certain; it is solved)"
        ],
    ),
    (
        "    outlet: free_jet",
        "    outlet: {exit: capped, flow_out: 10 L/s}",
        [
            "25: cases / run: the flows of 'inlet' do not balance: 9.991 kg/s (10 L/s) more in than out (leave out the flow that is least certain; it is solved)",
            "27: cases / run / outlet / flow_out: '10 L/s' through a capped opening (take it out, or change exit)",
        ],
    ),
    (
        "    outlet: free_jet\n",
        "",
        [
            "25: cases / run / outlet / pressure: 'pressure' is missing (write it, as a gauge, the pump's curve or the level above tells it; or pressure: from losses with loss_coefficient, where another opening's is known; or exit: free_jet or capped; an opening left out counts as connected, which needs a pressure)"
        ],
    ),
    (
        "    outlet: free_jet",
        "    outlett: free_jet",
        [
            "25: cases / run / outlet / pressure: 'pressure' is missing (write it, as a gauge, the pump's curve or the level above tells it; or pressure: from losses with loss_coefficient, where another opening's is known; or exit: free_jet or capped; an opening left out counts as connected, which needs a pressure)",
            "27: cases / run / outlett: 'outlett' is neither an opening nor a key of a case (did you mean 'outlet'?)",
        ],
    ),
    (
        "    outlet: capped",
        "    outlet: capped\n    contents: half",
        ["31: cases / stop / contents: 'half' is not one of the words known here (known: full, empty)"],
    ),
    (
        "    outlet: capped",
        "    outlet: capped\n    dynamic_factor: 0",
        [
            "31: cases / stop / dynamic_factor: '0' must be more than 0 (write the whole factor, 1 or more, such as 1.5; leave it out for none)"
        ],
    ),
    (
        "    inlet: {flow_in: 0 L/s, pressure: 100 kPa}\n    outlet: capped",
        "    inlet: capped\n    outlet: {flow_in: 0 L/s, pressure: 100 kPa}",
        [
            "29: cases / stop / inlet: an opening with a joint cannot be capped (joint 'main' is there; a closed valve farther on is 'connected' with no flow, and the bolts of a blind flange are judged in a file of its own: anchorsize start cap)"
        ],
    ),
    (
        "force: [0, 10, 0 N]",
        "force: [0, 10, 0 kg]",
        [
            "32: external / 1 / force / 1: '0 kg' is not a force ('kg' holds a mass; write 'kgf')",
            "32: external / 1 / force / 2: '10 kg' is not a force ('kg' holds a mass; write 'kgf')",
            "32: external / 1 / force / 3: '0 kg' is not a force ('kg' holds a mass; write 'kgf')",
        ],
    ),
    (
        "at: [0.1, 0, 0 m]}",
        "at: [0.1, 0, 0 m], cases: [runn]}",
        ["32: external / 1 / cases / 1: 'runn' is no case of this file (did you mean 'run'?)"],
    ),
    (
        ", at: [0.1, 0, 0 m]}",
        "}",
        ["32: external / 1 / at: 'at' is missing (a force acts somewhere: write at: [x, y, z m])"],
    ),
    (
        "  - {name: rope,",
        "  - {nam: rope,",
        [
            "32: external / 1 / nam: unknown key 'nam' (did you mean 'name'?)",
            "32: external / 1 / name: 'name' is missing",
        ],
    ),
    ("title: base", "title: base\n\tunits: us", ["3: a tab in the indentation (indent with spaces)"]),
    (
        "up: [0, 0, 1]",
        "up: [0, 0, 1",
        ["5: not YAML: did not find expected ',' or ']' (a bracket or brace is not closed, or a comma is missing)"],
    ),
    (
        "title: base",
        "title: a: b",
        ["2: not YAML: mapping values are not allowed in this context (a text with a colon needs quotes)"],
    ),
    ("title: base", "title: *nowhere", ["2: title: nothing is marked '&nowhere' above"]),
    (
        "cases:\n  run:",
        "cases:\n  run:\n  run:",
        [
            "25: cases / run: nothing is given here (write its keys below it, indented, or take it out)",
            "26: cases / run: 'run' is written twice, first in line 25 (keep one)",
        ],
    ),
    (
        "flow_in: 10 L/s, pressure",
        "flow_in: 100000 m3/s, pressure",
        ["26: cases / run / inlet / flow_in: '100000 m3/s' is more than 10000000 L/s (is this unit right?)"],
    ),
]


def problems(text: str):
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f.yaml")
    return caught.value.problems


def test_the_file_that_the_others_break_is_good():
    assert parse_case(BASE, "f.yaml").title == "base"


@pytest.mark.parametrize(
    ("old", "new", "lines"), BROKEN, ids=[f"{i}-{new[:30]!r}" for i, (_, new, _) in enumerate(BROKEN)]
)
def test_every_problem_is_reported_with_its_line(old, new, lines):
    assert BASE.count(old) >= 1
    found = problems(BASE.replace(old, new, 1))
    assert [str(problem) for problem in found] == [f"f.yaml:{line}" for line in lines]
    assert all(problem.kind in KINDS for problem in found)


def test_problems_all_over_the_file_come_in_one_run_by_line():
    text = BASE.replace("bore: 50 mm", "bore: 0 mm").replace("95 MPa", "95").replace("circle: 180 mm", "circle: 18 cm3")
    assert [problem.line for problem in problems(text)] == [14, 19, 23]


def test_a_normal_of_any_length_is_brought_to_length_one():
    study = parse_case(BASE.replace("outward: [-1, 0, 0]", "outward: [-30, 0, 40]"), "f.yaml")
    assert study.openings["inlet"].outward == pytest.approx([-0.6, 0, 0.8])


ALIAS_BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{chr(98 + i)}: &{chr(98 + i)} [{', '.join(['*' + chr(97 + i)] * 9)}]\n" for i in range(9)
)


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("", 1, "the file is empty"),
        ("   \n", 1, "the file is empty"),
        ("- 1\n- 2\n", 1, "keys are expected here"),
        ("just words\n", 1, "keys are expected here"),
        (BASE + "---\ncase_file: 1\n", 33, "a second document starts here"),
        (ALIAS_BOMB, 1, "too many entries, or aliases that multiply"),
        ("a: " + "[" * 60 + "]" * 60 + "\n", 1, "nested too deeply"),
        ("case_file: 1\n" + "# " + "x" * 2_100_000, 0, "larger than 2 MB"),
        ("? [a, b]\n: 1\n", 1, "a key must be a single word or text"),
        ("case_file: 1\ntitle: a\x07b\n", 0, "holds a character that YAML does not allow"),
    ],
    ids=["empty", "blank", "list", "words", "two-documents", "alias-bomb", "deep", "large", "list-key", "bell"],
)
def test_what_is_no_case_file_is_said_in_words(text, line, message):
    found = problems(text)[0]
    assert found.line == line
    assert message in found.message


def test_alias_into_itself_is_refused():
    assert problems("case_file: &a {x: *a}\n")[0].kind in {"yaml", "too_large"}


@pytest.mark.parametrize(
    ("raw", "line", "message"),
    [
        (BASE.replace("title: base", "title: b\xe4se").encode("latin-1"), 2, "not UTF-8 text (byte 0xe4)"),
        (BASE.encode("utf-16"), 1, "not UTF-8 text, but UTF-16"),
        (b"\x00\x01\x02\xff", 1, "not UTF-8 text"),
    ],
    ids=["latin-1", "utf-16", "bytes"],
)
def test_other_encodings_are_refused_with_their_line(tmp_path, raw, line, message):
    from anchorsize.casefile import read_case

    path = tmp_path / "f.yaml"
    path.write_bytes(raw)
    with pytest.raises(CaseFileError) as caught:
        read_case(path)
    assert caught.value.problems[0].line == line
    assert message in caught.value.problems[0].message


@pytest.mark.parametrize(
    "raw", [BASE.replace("\n", "\r\n").encode(), b"\xef\xbb\xbf" + BASE.encode()], ids=["crlf", "bom"]
)
def test_windows_line_ends_and_a_byte_order_mark_are_taken(tmp_path, raw):
    from anchorsize.casefile import read_case

    path = tmp_path / "f.yaml"
    path.write_bytes(raw)
    assert read_case(path).title == "base"
