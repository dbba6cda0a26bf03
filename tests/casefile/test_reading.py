"""Good case files: the format's worked example in SI, short forms, spreads, overrides, starter and schema."""

from __future__ import annotations

import math

import jsonschema
import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.casefile import CaseFileError, numeric_paths, parse_case, read_inputs, schema, starter
from tests.cases import ELBOW

# Every part of the format in one file; invented.
FULL = """\
case_file: 1
title: Terrace outlet elbow
units: metric
up: [0, 0, 1]
fluid: {name: water, temperature: 15 degC}
fitting:
  mass: 9.4 kg
  mass_center: [0.09, 0, -0.03 m]
  contents: 2.6 L
  contents_center: [0.08, 0, -0.02 m]
openings:
  inlet:  {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 102.3 mm}
  outlet: {center: [0.21, 0, -0.12 m], outward: [0.5, 0, -0.866], bore: 62 mm}
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, missing: [], class: "8.8"}
    gasket: {inside: 115 mm, outside: 160 mm, thickness: 2 mm, modulus: 500 MPa, m: 2, y: 11 MPa}
    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %}
    grip: 44 mm
allow:
  bolt_tension: 160 MPa
  bolt_shear: 95 MPa
cases:
  full flow: {inlet: {flow_in: 18 L/s, pressure: 45 kPa}, outlet: free_jet}
  corked:    {inlet: {flow_in: 0 L/s, pressure: 180 kPa}, outlet: capped}
  drained:   {contents: empty, inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}
external:
  - {name: hose pull, force: [0, 40, 0 N], moment: [0, 0, 0 N*m], at: [0.21, 0, -0.12 m]}
supports:
  bolts alone: []
  rod hanger:
    - {kind: hanger, name: H1, at: [0.20, 0, 0.05 m], rod: M12, length: 1.8 m, modulus: 200 GPa}
  rest and strut:
    - {kind: rest, name: R1, at: [0.20, 0, -0.10 m], stiffness: 40 MN/m, gap: 0.5 mm, friction: 0.3}
    - {kind: strut, name: S1, at: [0.20, 0, 0 m], toward: [0, 1, 0], stiffness: 15 MN/m}
"""


def test_the_whole_format_in_si():
    study = parse_case(FULL, "full.yaml")
    assert study.openings["inlet"].area == pytest.approx(math.pi * 0.1023**2 / 4)
    assert np.linalg.norm(study.openings["outlet"].outward) == pytest.approx(1.0, rel=1e-15)
    assert study.fluid.density == pytest.approx(999.1, abs=0.1)  # IAPWS-95 at 15 °C, 1 atm
    assert study.fitting.contents == pytest.approx(2.6e-3)
    assert study.fitting.mass_center == pytest.approx([0.09, 0, -0.03])
    bolts = study.joints["main"].bolts
    assert bolts.numbers == tuple(range(1, 9))
    assert bolts.xy[0] == pytest.approx([0.09 * math.cos(math.pi / 8), 0.09 * math.sin(math.pi / 8)])
    assert bolts.tensile_area == pytest.approx(np.full(8, 157e-6))  # ISO 898-1 Table 4
    assert study.cases["full flow"].states["inlet"].flow == pytest.approx(-0.018)
    assert study.cases["full flow"].states["outlet"].exit == "free_jet"
    assert not study.cases["drained"].contents_full
    assert study.allow.bolt_tension.value == 160e6
    assert study.external[0].force == pytest.approx([0, 40, 0])
    assert list(study.supports) == ["bolts alone", "rod hanger", "rest and strut"]


def test_the_schema_accepts_the_whole_format_and_refuses_an_unknown_key():
    validator = jsonschema.Draft202012Validator(schema())
    validator.validate(yaml.safe_load(FULL))
    assert not validator.is_valid({**yaml.safe_load(FULL), "titel": "x"})
    assert not validator.is_valid(yaml.safe_load(FULL.replace("mass: 9.4 kg", "mass: 9.4")))


@pytest.mark.parametrize("text", ["8 x M16 on 180 mm first at 22.5 deg", "8xM16 on 180mm first at 22.5 deg"])
def test_bolts_in_short(text):
    short = FULL.replace('{count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, missing: [], class: "8.8"}', text)
    assert parse_case(short, "f").joints["main"].bolts.xy == pytest.approx(
        parse_case(FULL, "f").joints["main"].bolts.xy
    )


def test_bolts_at_free_places():
    free = ELBOW.replace(
        "{count: 4, size: M16, circle: 160 mm, first_at: 45 deg}",
        "[{x: 50 mm, y: 60 mm, size: M16}, {x: -50 mm, y: 60 mm, size: M12}, {x: 0 mm, y: -70 mm, size: M16}]",
    )
    bolts = parse_case(free, "f").joints["main"].bolts
    assert bolts.xy == pytest.approx(np.array([[0.05, 0.06], [-0.05, 0.06], [0, -0.07]]))
    assert bolts.tensile_area == pytest.approx([157e-6, 84.3e-6, 157e-6])  # ISO 898-1 Table 4


def test_a_flange_by_designation_brings_its_drilling():
    # EN 1092-1 PN 16 DN 100: 8 × M16 on 180 mm
    named = ELBOW.replace(
        "bolts: {count: 4, size: M16, circle: 160 mm, first_at: 45 deg}", "flange: EN 1092-1 PN 16 DN 100"
    )
    bolts = parse_case(named, "f").joints["main"].bolts
    assert len(bolts.numbers) == 8
    assert float(bolts.circle) == pytest.approx(0.18)
    assert set(bolts.sizes) == {"M16"}


def test_absolute_pressure_less_ambient_is_gauge():
    text = ELBOW.replace("pressure: 60 kPa}, outlet: free_jet", "absolute_pressure: 161.325 kPa}, outlet: free_jet")
    text = text.replace("title: elbow", "title: elbow\nambient: 101.325 kPa")
    assert float(parse_case(text, "f").cases["run"].states["inlet"].pressure) == pytest.approx(60e3)


@pytest.mark.parametrize(
    ("text", "center", "half"),
    [
        ("45 kPa ± 10 %", 45e3, 4.5e3),
        ("45 ± 3 kPa", 45e3, 3e3),
        ("45 kPa +/- 3 kPa", 45e3, 3e3),
        ("{value: 45 kPa, plus_minus: 3 kPa, shape: uniform}", 45e3, 3e3),
    ],
)
def test_spreads_keep_the_center_for_the_single_answer(text, center, half):
    file = ELBOW.replace("pressure: 60 kPa}, outlet: free_jet", f"pressure: {text}}}, outlet: free_jet")
    assert float(parse_case(file, "f").cases["run"].states["inlet"].pressure) == pytest.approx(center)
    value = {v.path: v for v in read_inputs(file, "f")}["cases/run/inlet/pressure"]
    assert value.plus_minus == pytest.approx(half)


def test_overrides_put_arrays_where_numbers_stood():
    bores = np.array([0.04, 0.05])
    study = parse_case(ELBOW, "f", overrides={"openings/outlet/bore": bores})
    assert study.openings["outlet"].area == pytest.approx(math.pi * bores**2 / 4)
    with pytest.raises(CaseFileError, match="openings/outlet/bore"):
        parse_case(ELBOW, "f", overrides={"openings/outlet/bor": bores})
    assert "joints/main/bolts/circle" in [
        row[0] if isinstance(row, tuple) else row for row in numeric_paths(ELBOW, "f")
    ]


def test_the_starter_reads():
    assert parse_case(starter(None), "starter.yaml").cases


def test_a_table_value_leaves_its_provenance():
    rows = {p.table for p in parse_case(FULL, "f").provenance}
    assert {"threads_metric", "property_classes"} <= rows
    assert any(table in rows for table in ("fluids", "water"))


@settings(max_examples=200)
@given(st.text(max_size=200))
def test_any_text_is_a_study_or_a_case_file_error(text):
    with pytest.raises(CaseFileError):
        parse_case(text, "f.yaml")


@settings(max_examples=150)
@given(
    st.integers(0, len(FULL) - 1), st.integers(0, 40), st.text(alphabet="{}[]:,\n -0123456789abkP&*#'\"%", max_size=8)
)
def test_a_damaged_file_is_a_study_or_a_case_file_error(start, cut, put):
    try:
        parse_case(FULL[:start] + put + FULL[start + cut :], "f.yaml")
    except CaseFileError as error:
        assert error.problems
