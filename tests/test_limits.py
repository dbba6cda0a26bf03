"""Limits of flow and pressure: against closed forms by hand, dense scans of the evaluation, and points on either side of an end."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import example, given, settings
from hypothesis import strategies as st

from anchorsize.assessment import StudyError, assess
from anchorsize.assessment.refusing import Refused
from anchorsize.casefile import parse_case, read_case
from anchorsize.cli.limits import limits as command
from anchorsize.present.limits import limits_text
from anchorsize.present.limits_machine import CSV_KEYS, limits_dict
from anchorsize.present.limits_picture import limits_alt, limits_picture
from anchorsize.studies.limits import Ask, limits
from anchorsize.studies.limits_scan import Judged, Lines, scan, scan_grid
from anchorsize.studies.rows import judge_rows
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parent.parent / "examples"
G = 9.80665
EXACT = 1e-4  # what the limits promise, relative

# The blank flange with its gasket reaction diameter and the tension of a bolt as a force: nothing is looked up.
PLAIN_BLANK = BLANK_FLANGE.replace("outside: 162 mm}", "outside: 162 mm, reaction_diameter: 150 mm}").replace(
    "bolt_tension: 160 MPa, bolt_shear: 95 MPa", "bolt_tension: 20 kN, bolt_shear: 10 kN"
)

# All forces act through the middle of the flange: the joint sees no bending, every bolt the same.
CENTERED = """\
case_file: 1
title: centered
fluid: {{name: water, density: 1000 kg/m^3}}
fitting: {{mass: 800 kg, mass_center: [0, 0, 0 m]}}
openings:
  inlet: {{center: [0, 0, 0 m], outward: {inlet}, bore: 100 mm}}
  outlet: {{center: [0, 0, 0 m], outward: {outlet}, bore: 50 mm}}
joints:
  main:
    at: inlet
    bolts: {{count: 4, size: M16, circle: 160 mm}}
allow: {{bolt_tension: {tension}, bolt_shear: {shear}, tension_with_shear: {form}}}
cases:
  run: {{inlet: {{flow_in: 20 L/s, pressure: {pressure}}}, outlet: free_jet}}
"""
INLET_AREA, OUTLET_AREA = math.pi / 4 * 0.1**2, math.pi / 4 * 0.05**2
WEIGHT = 800.0 * G

# Hangs under its pipe and throws water down and a little sideways: at no flow the weight is too much for the bolts, the jet
# takes it off them, and at last its sideways part shears them.
REVERSAL = CENTERED.format(
    inlet="[0, 0, 1]", outlet="[0.6, 0, -0.8]", pressure="10 kPa", tension="1.2 kN", shear="6 kN", form="linear"
)


def asked(text, **words):
    return limits(parse_case(text, "limits.yaml"), Ask(**words))


def ends(span):
    return [(each.low, each.high) for each in span.intervals]


def run(*words):
    return CliRunner().invoke(command, [str(word) for word in words])


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(ELBOW)
    return path


# by hand


def test_blank_flange_holds_up_to_the_pressure_by_hand():
    """p π G²/4 = n F: the pressure end load over the gasket reaction diameter, shared by eight bolts."""
    case = asked(PLAIN_BLANK).cases["test"]
    assert case.flow is None
    assert ends(case.pressure) == [(0.0, pytest.approx(8 * 20e3 / (math.pi / 4 * 0.15**2), rel=EXACT))]
    assert case.pressure.intervals[0].high_by.check in ("bolt tension", "tension with shear")


def test_turned_back_jet_holds_up_to_the_flow_by_hand():
    """Both thrusts pull at the joint and nothing else does: n F = ρ Q² (1/A1 + 1/A2)."""
    text = CENTERED.format(
        inlet="[-1, 0, 0]", outlet="[-1, 0, 0]", pressure="0 kPa", tension="5 kN", shear="50 kN", form="circular"
    ).replace("mass: 800 kg", "mass: 0 kg")
    case = asked(text).cases["run"]
    by_hand = math.sqrt(4 * 5e3 / (1000 * (1 / INLET_AREA + 1 / OUTLET_AREA)))
    assert case.pressure is None
    assert "no pressure above zero" in case.notes[0]
    assert ends(case.flow) == [(0.0, pytest.approx(by_hand, rel=EXACT))]


def reversal_by_hand(pressure, tension=1.2e3, shear=6e3):
    """Least and greatest flow: t = 1 - s on the way in, while the bolts are pulled; s = 1 on the way out, when they are not."""
    pulled = (WEIGHT + pressure * INLET_AREA) / (4 * tension)
    relieved = 1000 * (0.8 / OUTLET_AREA - 1 / INLET_AREA) / (4 * tension)
    sheared = 1000 * 0.6 / OUTLET_AREA / (4 * shear)
    assert pulled > 1
    assert relieved > sheared
    return math.sqrt((pulled - 1) / (relieved - sheared)), math.sqrt(1 / sheared)


def test_reversal_does_not_begin_at_zero_flow():
    case = asked(REVERSAL, points=0).cases["run"]
    assert ends(case.flow) == [pytest.approx(reversal_by_hand(10e3), rel=EXACT)]
    assert case.flow.intervals[0].low_by.check == "tension with shear"
    assert case.flow.intervals[0].high_by.check in ("bolt shear", "tension with shear")


def test_reversal_bounds_the_plane_by_hand():
    case = asked(REVERSAL, points=9).cases["run"]
    plane = case.boundary
    seen = 0
    for pressure, span in zip(plane.pressures, plane.flow_at[0], strict=True):
        least, greatest = reversal_by_hand(float(pressure))
        if least < greatest * (1 - 1e-9):
            assert ends(span) == [pytest.approx((least, greatest), rel=EXACT)]
            seen += 1
        else:
            assert not span.intervals
    assert seen >= 3
    # the same line the other way: p = (4 F (1 - s + relieved Q²) - W) / A1
    for flow, span in zip(plane.flows, plane.pressure_at[0], strict=True):
        shear = 1000 * 0.6 / OUTLET_AREA * flow**2 / (4 * 6e3)
        relief = 1000 * (0.8 / OUTLET_AREA - 1 / INLET_AREA) * flow**2
        most = (4 * 1.2e3 * (1 - shear) + relief - WEIGHT) / INLET_AREA
        if shear < 1 and most > 0:
            assert ends(span) == [(0.0, pytest.approx(most, rel=EXACT))]
        else:
            assert not span.intervals


def test_square_pressure_follows_the_flow():
    """With p = p0 (Q/Q0)² pressure and jet both grow with Q²: p0 A1/Q0² takes its place beside the momentum of the inlet."""
    text = REVERSAL.replace("bolt_tension: 1.2 kN", "bolt_tension: 2.5 kN").replace(
        "bolt_shear: 6 kN", "bolt_shear: 60 kN"
    )
    text = text.replace("10 kPa", "200 kPa").replace("mass: 800 kg", "mass: 0 kg")
    # without weight: N = Q² (p0 A1/Q0² + ρ/A1 - 0.8 ρ/A2), sheared by 0.6 ρ Q²/A2; linear form
    pull = 200e3 * INLET_AREA / 0.02**2 + 1000 / INLET_AREA - 800 / OUTLET_AREA
    one = pull / (4 * 2.5e3) + 600 / OUTLET_AREA / (4 * 60e3)
    case = asked(text, rule="square", points=0).cases["run"]
    assert ends(case.flow) == [(0.0, pytest.approx(math.sqrt(1 / one), rel=EXACT))]


def test_from_losses_by_hand():
    """Pressure = level difference (none here) + loss and gain of velocity, all with Q²: the same as square from that point."""
    text = REVERSAL.replace("10 kPa", "600 kPa").replace("mass: 800 kg", "mass: 0 kg")
    square, losses = (asked(text, rule=rule, points=0).cases["run"].flow.greatest for rule in ("square", "from losses"))
    assert losses == pytest.approx(square, rel=1e-8)


# against dense scans through the file


def overridden(name, case, values):
    """The study of an example with inputs of one case replaced, the other cases left out."""
    text = (EXAMPLES / name).read_text()
    study = parse_case(text, name, overrides={f"cases/{case}/{path}": value for path, value in values.items()})
    return replace(study, cases={case: study.cases[case]})


SCANNED = [
    ("terrace_elbow.yaml", "full flow", {"inlet/flow_in": 0.018}, {"inlet/pressure": 45e3}),
    ("terrace_elbow.yaml", "pump start", {"inlet/flow_in": 0.018}, {"inlet/pressure": 45e3}),
    (
        "monitor_head.yaml",
        "full throw",
        {"riser/flow_in": 600 * 231 * 0.0254**3 / 60},
        {"riser/pressure": 84 * 6894.757293168},
    ),
    (
        "wye_missing_bolt.yaml",
        "both branches",
        {"header/flow_in": 0.095, "small/flow_out": 0.022},
        {"header/pressure": 3.2e5, "large/pressure": 3.0e5, "small/pressure": 2.9e5},
    ),
]


@pytest.mark.parametrize(("name", "case", "flows", "pressures"), SCANNED)
def test_region_is_that_of_a_dense_scan(name, case, flows, pressures):
    """Every point of a grid through the file's own numbers holds exactly where the boundary says so."""
    made = limits(read_case(EXAMPLES / name), Ask(cases=(case,), points=7)).cases[case]
    plane = made.boundary
    fixed = {(each.check, each.where) for each in made.fixed}
    for values, spans, top, along in (
        (plane.flows, plane.pressure_at[0], plane.pressures[-1], "flow"),
        (plane.pressures, plane.flow_at[0], plane.flows[-1], "pressure"),
    ):
        grid = np.linspace(0.0, top, 301)
        for at, span in zip(values, spans, strict=True):
            flow, pressure = (np.full(301, at), grid) if along == "flow" else (grid, np.full(301, at))
            changed = {path: own * flow / made.own_flow for path, own in flows.items()}
            changed |= {path: own * pressure / made.own_pressure for path, own in pressures.items()}
            rows = judge_rows(overridden(name, case, changed), (301,))
            moving = [i for i, key in enumerate(rows.keys) if key[1:] not in fixed]
            holds = np.max(rows.utilization[moving], axis=0) <= 1.0
            said = np.zeros(301, dtype=bool)
            near = np.zeros(301, dtype=bool)
            for low, high in ends(span):
                said |= (grid >= low) & (grid <= high)
                near |= (np.abs(grid - low) <= EXACT * low) | (np.abs(grid - high) <= EXACT * high)
            assert np.array_equal(said[~near], holds[~near])


@pytest.mark.parametrize(("name", "case", "flows", "pressures"), SCANNED)
def test_each_check_ends_where_it_is_said_to(name, case, flows, pressures):
    made = limits(read_case(EXAMPLES / name), Ask(cases=(case,), points=0)).cases[case]
    seen = 0
    for each in made.checks:
        for span, changing, own in ((each.flow, flows, made.own_flow), (each.pressure, pressures, made.own_pressure)):
            if span.greatest is None or (span.greatest > 30.0 * own and changing is flows):
                continue  # a case file takes no stream faster than 1000 m/s
            beside = span.greatest / own * np.array([1 - EXACT, 1 + EXACT])
            rows = judge_rows(overridden(name, case, {path: value * beside for path, value in changing.items()}), (2,))
            use = rows.utilization[rows.keys.index((case, each.check, each.where))]
            assert use[0] <= 1.0 < use[1]
            seen += 1
    assert seen >= 4


# properties


@settings(max_examples=12, deadline=None)
@given(st.floats(2.0, 60.0), st.floats(1.0, 2000.0), st.floats(20.0, 400.0), st.floats(10.0, 300.0))
def test_all_holds_just_inside_and_not_just_outside(flow, pressure, tension, shear):
    text = ELBOW.replace("20 L/s, pressure: 60 kPa", f"{flow!r} L/s, pressure: {pressure!r} kPa")
    text = text.replace("160 MPa, bolt_shear: 95 MPa", f"{tension!r} MPa, bolt_shear: {shear!r} MPa")
    case = asked(text, points=0, cases=("run",)).cases["run"]
    at_100_m_s = 100.0 * math.pi * 0.05**2 / 4  # in the outlet of 50 mm
    for span, path, own, end in (
        (case.flow, "cases/run/inlet/flow_in", case.own_flow, at_100_m_s),
        (case.pressure, "cases/run/inlet/pressure", case.own_pressure, 1e8),
    ):
        for each in span.intervals:
            inside = [each.high * (1 - 1e-3), each.low * (1 + 1e-3)]
            outside = [each.high * (1 + 1e-3), each.low * (1 - 1e-3)]
            study = parse_case(text, "e", overrides={path: np.array(inside + outside)})
            holds = judge_rows(replace(study, cases={"run": study.cases["run"]}), (4,)).holds
            assert holds[0]
            assert holds[1]
            assert each.high_by is None or not holds[2]
            assert each.low_by is None or not holds[3]
        assert span.searched_to == pytest.approx(min(1e4 * own, max(100 * own, end)))


@settings(max_examples=8, deadline=None)
@given(st.floats(0.3, 3.0), st.floats(1.01, 3.0))
def test_more_allowed_never_lowers_a_limit(start, more):
    def found(times):
        text = REVERSAL.replace(
            "tension: 1.2 kN, bolt_shear: 6 kN", f"tension: {1.2 * times} kN, bolt_shear: {6 * times} kN"
        )
        return asked(text, points=0).cases["run"]

    less, greater = found(start), found(start * more)
    for one, other in ((less.flow, greater.flow), (less.pressure, greater.pressure)):
        for low, high in ends(one):
            assert any(a <= low * (1 + 1e-7) and b >= high * (1 - 1e-7) for a, b in ends(other))


def test_units_do_not_matter():
    text = ELBOW.replace("20 L/s, pressure: 60 kPa", f"{0.02 * 3600} m^3/h, pressure: {60e3 / 6894.757293168!r} psi")
    text = text.replace("160 MPa", f"{160e6 / 6894.757293168!r} psi").replace("bore: 50 mm", f"bore: {50 / 25.4!r} in")
    one, other = (asked(each, points=0).cases["run"] for each in (ELBOW, text + "units: us\n"))
    assert ends(other.flow) == [pytest.approx(each, rel=1e-8) for each in ends(one.flow)]
    assert ends(other.pressure) == [pytest.approx(each, rel=1e-8) for each in ends(one.pressure)]


def test_own_point_does_not_move_the_limit():
    """The end is a matter of the fitting, not of where the search starts."""
    far = ELBOW.replace("flow_in: 20 L/s", "flow_in: 3 L/s")
    one, other = (asked(each, points=0).cases["run"].flow.greatest for each in (ELBOW, far))
    assert one == pytest.approx(other, rel=1e-8)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0.02, 0.98), min_size=1, max_size=6, unique=True))
@example([0.13, 0.0625, 0.078125, 0.12346126928574004])
@example([0.5, 0.546875, 0.5546875])
def test_scan_finds_every_interval(places):
    """A made-up check that changes between holding and failing at given places, two of them closer than the scan, but not three."""
    places, step = sorted(places), float(np.max(np.diff(scan_grid(60, 2.0))))
    three = [high - low for low, high in zip(places, places[2:], strict=False)]
    if min(np.diff([0.0, *places, 1.0])) < 2e-3 or min(three, default=1.0) < 3.0 * step:
        places = [(i + 1) / (len(places) + 1) for i in range(len(places))]

    def judge(flow, _):
        # a million times the product, kept between 0 and 2: between places close together it would else vary by no more than rounding
        over = 1e6 * np.prod([flow - place for place in places], axis=0) * (-1.0) ** len(places)
        use = 1.0 + over / (1.0 + np.abs(over))
        return Judged(use[None], Refused(flow.shape))

    line = Lines(np.zeros(1), np.ones(1), np.ones(1), np.ones(1))
    found = scan(judge, line, scan_grid(60, 2.0), (("check", "here"),), np.ones(1, dtype=bool), 1e-10).spans[0][0]
    # at zero the product times (-1)^n is positive: it fails there
    changes = [value for each in found.intervals for value in (each.low, each.high)][: len(places)]
    assert changes == pytest.approx(places, rel=1e-7)


def test_a_dip_between_points_of_the_scan_is_found():
    def judge(flow, _):
        return Judged((1.0 + (flow - 0.5123) ** 2 - 1e-8)[None], Refused(flow.shape))

    line = Lines(np.zeros(1), np.ones(1), np.ones(1), np.ones(1))
    found = scan(judge, line, scan_grid(60, 2.0), (("check", "here"),), np.ones(1, dtype=bool), 1e-10).spans[0][0]
    assert ends(found) == [pytest.approx((0.5123 - 1e-4, 0.5123 + 1e-4), abs=1e-9)]


# what cannot move, cannot be judged, or is not there


def test_layout_that_fails_is_mended_by_no_flow():
    text = ELBOW.replace("bolt_shear: 95 MPa", "bolt_shear: 95 MPa, bolt_spacing_least: 200 mm")
    found = asked(text, points=5)
    case = found.cases["run"]
    assert [each.check for each in case.fixed] == ["bolt spacing"]
    assert case.flow.greatest == pytest.approx(asked(ELBOW, points=0).cases["run"].flow.greatest, rel=1e-8)
    assert "No flow or pressure mends" in limits_text(found, 80)
    assert found.verdict == "fails"


def test_no_limit_is_said_in_words_and_null(file):
    words = (file, "--case", "run", "--to-flow", "21 L/s", "--to-pressure", "70 kPa", "--points", "3")
    data = json.loads(run(*words, "--json").output)["cases"]["run"]
    assert data["flow_m3_s"] is None
    assert data["pressure_Pa"] is None
    assert data["flow"]["status"] == "no limit found"
    assert data["flow"]["searched_to_m3_s"] == pytest.approx(0.021)
    assert data["flow"]["intervals"][0]["to_m3_s"] is None
    text = " ".join(run(*words, "--width", "120").output.split())
    assert "run 20 0 over 21 end of the search" in text
    assert "End of the search: 21 L/s" in text
    assert "0 to over 21 (end of the search)" in text
    assert "no limit" not in text


def test_the_end_of_the_search_is_named_without_being_asked(file):
    """100 times the case's own 20 L/s, which runs at 10 m/s already, and the 1000 bar that no flange holds."""
    text = " ".join(run(file, "--case", "run", "--points", "3").output.split())
    assert "End of the search: 2,000 L/s" in text
    assert "End of the search: 100,000 kPa" in text


def test_own_values_stand_as_they_were_given(tmp_path):
    path = tmp_path / "us.yaml"
    path.write_text(ELBOW.replace("20 L/s, pressure: 60 kPa", "250 gal/min, pressure: 6.5 psi") + "units: us\n")
    rows = [line.split() for line in run(path, "--case", "run", "--points", "3").output.splitlines()]
    assert [row[1] for row in rows if row[:1] == ["run"]] == ["250", "6.5"]


def test_what_stops_is_told_with_bolt_demand_and_allowable(file):
    """At a limit the demand is what is allowed; the bolt is the one that the assessment names there."""
    data = json.loads(run(file, "--case", "run", "--points", "5", "--json").output)["cases"]["run"]
    made = [line for line in data["pressure_at_flow"] for line in line["intervals"]] + data["flow"]["intervals"]
    made += [each for check in data["checks"] for each in check["flow"]["intervals"]]
    stops = [each["to_by"] for each in made if each["to_by"] is not None]
    assert len(stops) >= 8
    for stop in stops:
        assert stop["demand"] == pytest.approx(stop["allowable"], rel=EXACT)
        assert stop["unit"] in ("Pa", "1")
    stop = data["flow_stopped_by"]
    study = parse_case(ELBOW, "e", overrides={"cases/run/inlet/flow_in": np.array([data["flow_m3_s"]])})
    rows = judge_rows(replace(study, cases={"run": study.cases["run"]}), (1,))
    check = rows.checks[rows.keys.index(("run", stop["check"], stop["where"]))]
    assert stop["bolt"] == int(np.ravel(check.bolt)[0])
    text = " ".join(run(file, "--case", "run", "--points", "5").output.split())
    assert re.search(rf"{stop['check']}, bolt {stop['bolt']}: [\d.]+( MPa)? of [\d.]+", text)


def test_how_many_points_of_the_boundary_are_shown_is_said(file):
    text = " ".join(run(file, "--case", "run", "--points", "21").output.split())
    assert "every check together (9 of 21 points; --json and --csv give all)" in text


# A fitting on a push-only rest, held sideways by struts: the jet lifts it off when it is stronger than the weight.
LIFTED = """\
case_file: 1
title: lifted
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 40 kg, mass_center: [0, 0, 0 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [0, -1, 0], bore: 100 mm}
  outlet: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 50 mm}
cases:
  run: {inlet: {flow_in: 10 L/s, pressure: 20 kPa}, outlet: free_jet}
supports:
  rest:
    - {kind: rest, name: R, at: [0, 0, 0 m], stiffness: 40 MN/m, allow: {force: 10 kN}}
    - {kind: strut, name: X, at: [0, 0, 0 m], toward: [1, 0, 0], stiffness: 15 MN/m, allow: {force: 90 kN}}
    - {kind: strut, name: Y, at: [0, 0, 0 m], toward: [0, 1, 0], stiffness: 15 MN/m, allow: {force: 90 kN}}
    - {kind: strut, name: A, at: [0, 0, 1 m], toward: [1, 0, 0], stiffness: 15 MN/m, allow: {force: 90 kN}}
    - {kind: strut, name: B, at: [0, 0, 1 m], toward: [0, 1, 0], stiffness: 15 MN/m, allow: {force: 90 kN}}
    - {kind: strut, name: C, at: [1, 0, 0 m], toward: [0, 1, 0], stiffness: 15 MN/m, allow: {force: 90 kN}}
"""


def test_loss_of_equilibrium_stops_the_flow():
    """By hand: the rest lets go where the jet ρ Q²/A2 is the weight."""
    case = asked(LIFTED, points=0).cases["run"]
    assert case.flow.greatest == pytest.approx(math.sqrt(40 * G * OUTLET_AREA / 1000), rel=EXACT)
    assert case.flow.intervals[0].high_by.check is None
    assert case.flow.intervals[0].high_by.refusal


def test_a_stopped_case_has_a_pressure_limit_only():
    case = asked(ELBOW, points=0).cases["stopped"]
    assert case.flow is None
    assert case.pressure.greatest > 0
    assert case.boundary is None


def test_other_opening_names_the_same_state():
    text = ELBOW.replace("outlet: free_jet", "outlet: {pressure: 30 kPa}", 1)
    inlet, outlet = (asked(text, at=at, points=0, cases=("run",)).cases["run"] for at in ("inlet", "outlet"))
    assert inlet.pressure.greatest == pytest.approx(2 * outlet.pressure.greatest, rel=1e-8)


# the command


def test_exit_codes(tmp_path, file):
    assert run(file, "--points", "3").exit_code == 0
    failing = tmp_path / "failing.yaml"
    failing.write_text(ELBOW.replace("160 MPa", "0.1 MPa"))
    assert run(failing, "--points", "3").exit_code == 1
    bare = tmp_path / "bare.yaml"
    bare.write_text(ELBOW.replace("bolt_tension: 160 MPa, ", ""))
    result = run(bare, "--points", "3")
    assert result.exit_code == 3
    assert "NOT COMPLETE" in result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--at", "side"), "no opening 'side'; the file has inlet, outlet"),
        (("--at", "outlet"), "no pressure"),
        (("--case", "walk"), "no case 'walk'"),
        (("--to-flow", "30 m"), "--to-flow '30 m'"),
        (("--to-flow", "30"), "--to-flow '30'"),
        (("--to-pressure", "30 L/s"), "--to-pressure '30 L/s'"),
        (("--to-pressure", "0 kPa"), "above it"),
        (("--json", "--csv"), "choose one"),
        (("--picture", "x.bmp"), ".svg or .png"),
        (("--picture", "plane"), ".svg or .png"),
        (("--option", "rope"), "no support option 'rope'"),
        (("--case", "stopped", "--to-flow", "30 L/s"), "no case has a flow"),
        (("--case", "stopped", "--picture", "x.svg"), "no plane to draw"),
    ],
)
def test_bad_input_is_said_and_ends_with_two(file, words, said):
    result = run(file, "--points", "3", *words)
    if words == ("--at", "outlet"):
        # the flow still has a limit there; it is the pressure that is left out, in words
        assert result.exit_code == 0
    else:
        assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_nothing_to_change_is_said(tmp_path):
    path = tmp_path / "drained.yaml"
    path.write_text(BLANK_FLANGE.replace("10 bar", "0 bar"))
    result = run(path)
    assert result.exit_code == 2
    assert "no flow to change" in result.output
    with pytest.raises(StudyError, match="no case has a flow or a pressure"):
        asked(path.read_text())


def test_json_csv_and_text_show_the_same(file):
    data = json.loads(run(file, "--points", "5", "--json").output)
    case = data["cases"]["run"]
    assert case["flow_m3_s"] == case["flow"]["intervals"][-1]["to_m3_s"]
    assert case["flow_stopped_by"]["check"]
    assert len(case["pressure_at_flow"]) == len(case["flow_at_pressure"]) == 5
    rows = list(csv.DictReader(io.StringIO(run(file, "--points", "5", "--csv").output)))
    assert tuple(rows[0]) == CSV_KEYS
    whole = [
        row for row in rows if row["case"] == "run" and row["check"] == "every check" and row["sought"] == "pressure"
    ]
    said = [
        each["to_Pa"] for line in case["pressure_at_flow"] for each in line["intervals"] if each["to_Pa"] is not None
    ]
    assert [float(row["pressure_Pa"]) for row in whole] == said
    assert {row["check"] for row in rows} >= {"bolt tension", "tension with shear"}
    text = run(file, "--points", "5").output
    assert f"{case['flow_m3_s'] * 1e3:.2f}" in text or f"{case['flow_m3_s'] * 1e3:.3f}" in text
    assert "review by a licensed engineer" in " ".join(text.split())
    assert "Assumptions" in text


@pytest.mark.parametrize(
    ("name", "case"), [("terrace_elbow.yaml", "pump start"), ("wye_missing_bolt.yaml", "both branches")]
)
def test_text_keeps_within_the_width(name, case):
    found = limits(read_case(EXAMPLES / name), Ask(points=3, cases=(case, "drained")))
    for width in (80, 100):
        assert max(map(len, limits_text(found, width).splitlines())) <= width


@pytest.mark.parametrize(("name", "head"), [("c.svg", b"<?xml"), ("c.png", b"\x89PNG")])
def test_picture_is_written_whole_and_not_over_another(file, tmp_path, name, head):
    path = tmp_path / name
    words = (file, "--points", "5", "--picture", path)
    assert run(*words).exit_code == 0
    assert path.read_bytes().startswith(head)
    path.write_bytes(b"mine")
    assert run(*words).exit_code == 2
    assert path.read_bytes() == b"mine"
    assert run(*words, "--force").exit_code == 0
    assert path.read_bytes().startswith(head)


def test_picture_names_what_it_shows_in_grey_and_twice_the_same():
    found = asked(REVERSAL, points=9)
    one, other = limits_picture(found, "svg"), limits_picture(found, "svg")
    assert one == other
    text = one.decode()
    for word in (
        "flow into the fitting [L/s]",
        "gauge pressure at 'inlet' [kPa]",
        "bolt shear",
        "'run'",
        "centered",
    ):
        assert word in text
    colors = re.findall(r"(?:fill|stroke): #([0-9a-f]{6})", text)
    assert colors
    assert all(color[0:2] == color[2:4] == color[4:6] for color in colors)


def test_alt_text_says_point_and_intervals():
    alt = limits_alt(asked(REVERSAL, points=3))
    least, greatest = reversal_by_hand(10e3)
    assert f"from {least * 1e3:.1f} L/s to {greatest * 1e3:.1f} L/s" in alt
    assert "20.00 L/s" in alt


def test_a_post_that_lifts_somewhere_on_the_way_is_judged_all_along():
    """Whether a check is made must not depend on the rows of a batch: a rest that is lifted in one row is pressed in another."""
    study = read_case(EXAMPLES / "supported_arm.yaml")
    made = limits(study, Ask(points=3, cases=("full flow",)), "rest on a post").cases["full flow"]
    assert made.flow is not None
    assert made.flow.intervals


def test_the_flow_above_which_head_would_be_gained_is_told_by_hand():
    """By hand: 60 kPa and the velocity head that enters, less that of the jet and 0.2 m of rise, is nothing at this flow."""
    areas = math.pi * 0.1**2 / 4, math.pi * 0.05**2 / 4
    flow = math.sqrt(2 * G * (60e3 / (1000 * G) - 0.2) / (areas[1] ** -2 - areas[0] ** -2))
    found = asked(ELBOW, points=0, cases=("run",))
    assert found.cases["run"].gains_above == pytest.approx(flow, rel=1e-9)
    text = " ".join(limits_text(found, 100).split())
    assert f"than it brings in: 'run' {flow * 1e3:.3f} L/s" in text
    losses = asked(ELBOW, rule="from losses", points=0, cases=("run",))
    assert losses.cases["run"].gains_above is None
    assert "brings in" not in limits_text(losses, 100)
    # with the square of the flow only the rise stays: it weighs less the faster it runs
    assert asked(ELBOW, rule="square", points=0, cases=("run",)).cases["run"].gains_above is None


@pytest.mark.parametrize("rule", ["held", "square", "from losses"])
def test_a_case_at_rest_after_a_stop_is_limited_by_the_flow_stopped(rule):
    """As the same file with that stopped_flow written into it: its worst check is just used up. The static pressure stays."""
    surge = ", surge: {stopped_flow: 20 L/s, wave_speed: 400 m/s, closing_time: 3 s, pipe_length: 900 m}"
    text = ELBOW.replace("flow_in: 0 L/s, pressure: 60 kPa", "flow_in: 0 L/s, pressure: 60 kPa" + surge)
    made = asked(text, rule=rule, points=0, cases=("stopped",)).cases["stopped"]
    assert made.own_flow == pytest.approx(0.02)
    greatest = made.flow.greatest
    there = parse_case(text.replace("stopped_flow: 20 L/s", f"stopped_flow: {greatest * 1e3!r} L/s"), "f")
    worst = max(float(check.utilization) for check in assess(there).cases["stopped"].checks)
    assert worst == pytest.approx(1.0, rel=1e-3)
    assert "its flow is the one that its surge has stopped (stopped_flow)" in made.notes[-1]


def test_head_gained_at_any_flow_is_told():
    """1 kPa is 0.1 m of water, under the 0.2 m of rise, and the jet is faster than the inlet: no flow loses head."""
    found = asked(
        ELBOW.replace("flow_in: 20 L/s, pressure: 60 kPa", "flow_in: 20 L/s, pressure: 1 kPa"), points=0, cases=("run",)
    )
    assert found.cases["run"].gains_above == 0.0
    assert "than it brings in: 'run' 0 (at any flow)." in " ".join(limits_text(found, 100).split())


def test_nothing_is_said_to_hold_where_a_check_fails_whatever_the_flow():
    """Bolts 113 mm apart where 200 mm are wanted: no flow mends that, so no span of the other checks is offered."""
    text = ELBOW.replace("bolt_shear: 95 MPa}", "bolt_shear: 95 MPa, bolt_spacing_least: 200 mm}")
    told = limits_text(asked(text, points=5, cases=("run",)), 100)
    rows = [line.split() for line in told.splitlines() if line.split()[:1] == ["run"]]
    assert [row[2] for row in rows] == ["nowhere", "nowhere"]
    assert "the others alone" not in told
    assert "every check together" not in told


def test_a_check_that_changes_but_never_holds_is_named_with_those_that_nothing_mends():
    """Bolts of 1 N each: every flow and pressure pulls harder, by the jet's momentum or the shut line's p A, and the weight alone shears them."""
    text = ELBOW.replace("bolt_tension: 160 MPa, bolt_shear: 95 MPa", "bolt_tension: 160 MPa, bolt_shear: 1 N")
    found = asked(text, points=5, cases=("run",))
    shear = next(each for each in found.cases["run"].checks if each.check == "bolt shear")
    assert shear.moves
    assert shear.nowhere
    head = " ".join(limits_text(found, 100).split("Greatest flow")[0].split())
    assert "No flow or pressure mends these" in head
    assert "bolt shear of 'main' fails at every flow and pressure" in head
    whole = asked(ELBOW, points=5, cases=("run",))
    assert not any(each.nowhere for each in whole.cases["run"].checks)


def test_doubtful_input_stands_under_the_headline():
    """Water that would leave the elbow into a pipe with 1 bar, having come with 0.6."""
    found = asked(ELBOW.replace("outlet: free_jet", "outlet: {pressure: 1 bar}", 1), points=0)
    told = limits_text(found, 80).split("Greatest flow")[0]
    assert "Doubtful input: in 'run': The data contradict themselves" in " ".join(told.split())
    assert found.verdict == "holds"
    assert "HOLDS ON DOUBTFUL INPUT: at its own" in told
    assert ("energy gained", True) in {(w["kind"], w["doubtful"]) for w in limits_dict(found)["findings_as_given"]}
    assert "Doubtful" not in limits_text(asked(ELBOW, points=0), 80)
