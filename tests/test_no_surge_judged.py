"""A file with a flow and nothing sudden in it: that stopping the flow raises the pressure is told, and by how much it may."""

from __future__ import annotations

import html
import math
import re

import numpy as np
import pytest

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_surge import NO_SURGE, unjudged_surge
from anchorsize.present.boltup import sheet_html
from anchorsize.studies.boltup import boltup

LINE = """\
case_file: 1
title: elbow in a line (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 107 mm}
  outlet: {center: [0.3, 0, 0.2 m], outward: [0, 0, 1], bore: 107 mm}
joints:
  main: {at: inlet, bolts: {count: 8, size: M16, circle: 180 mm}, flange: {rating: 1.6 MPa}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {inlet: {flow_in: 20 L/s, pressure: 900 kPa}, outlet: {pressure: 880 kPa}}
  shut: {inlet: {flow_in: 0 L/s, pressure: 900 kPa}, outlet: capped}
"""
VELOCITY = 0.02 / (math.pi / 4 * 0.107**2)  # m/s in the bore at the joint
RISE = 1000 * 1200 * VELOCITY  # Joukowsky: rho a v [Pa], 2.67 MPa


def judged(text):
    return assess(parse_case(text, "t.yaml"))


def told(text):
    return [each for each in judged(text).warnings if each.kind == NO_SURGE]


def test_a_flow_that_may_be_stopped_is_told_with_the_rise_and_the_rating():
    (finding,) = told(LINE)
    assert finding.case is None
    assert not finding.doubtful
    message = finding.message
    assert (
        f"ρ·a·v = {RISE / 1e6:.3f} MPa, to {(RISE + 900e3) / 1e6:.3f} MPa, over the flange rating of 1600 kPa"
        in message
    )
    assert f"{VELOCITY:.3f} m/s at joint 'main'" in message
    assert "a = 1200 m/s taken" in message
    assert "from memory" in message
    assert "over the flange rating" not in told(LINE.replace("1.6 MPa", "10 MPa"))[0].message
    assert "over the flange rating" not in told(LINE.replace(", flange: {rating: 1.6 MPa}", ""))[0].message


def test_what_it_says_to_write_is_judged_and_ends_the_telling():
    (finding,) = told(LINE)
    entry = re.search(
        r"surge: \{stopped_flow: 20 L/s, wave_speed: …, closing_time: …, pipe_length: …\}", finding.message
    )
    assert entry
    surge = entry[0].replace(
        "wave_speed: …, closing_time: …, pipe_length: …",
        "wave_speed: 1200 m/s, closing_time: 0.1 s, pipe_length: 300 m",
    )
    case = f"  slam: {{inlet: {{flow_in: 0 L/s, pressure: 900 kPa, {surge}}}, outlet: capped}}\n"
    result = judged(LINE + case)
    assert not [each for each in result.warnings if each.kind == NO_SURGE]
    assert float(result.cases["slam"].openings["inlet"].surge_rise) == pytest.approx(RISE, rel=1e-9)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("shut: {", "shut: {dynamic_factor: 4, "),  # 3.6 MPa, over 0.9 + 2.67 MPa
        ("pressure: 900 kPa}, outlet: capped", "pressure: 900 kPa, surge: {stopped_flow: 0 L/s, wave_speed: 1000 m/s}}, outlet: capped"),
        ("pressure: 900 kPa}, outlet: {pressure: 880 kPa}", "pressure: 900 kPa, flow_change: -1 L/s^2}, outlet: {pressure: 880 kPa, flow_change: 1 L/s^2}"),
    ],
)  # fmt: skip
def test_nothing_is_told_where_something_sudden_is_judged_in_any_case(old, new):
    assert old in LINE
    assert told(LINE.replace(old, new)) == []


def test_a_dynamic_factor_that_makes_less_of_the_pressure_does_not_silence_it():
    (finding,) = told(LINE.replace("shut: {", "shut: {dynamic_factor: 3.9, "))
    assert "no case has a surge or a flow_change, and no dynamic_factor makes as much. A valve" in finding.message
    assert "no dynamic_factor" not in told(LINE)[0].message


def test_nothing_is_told_without_flow_without_pressure_of_a_gas_or_of_a_jet_that_nothing_stops():
    assert told(LINE.replace("20 L/s", "0 L/s").replace("880 kPa", "898.04 kPa")) == []
    assert told(LINE.replace("density: 1000", "density: 8").replace("name: water", "name: air")) == []
    jet = LINE.replace("outlet: {pressure: 880 kPa}", "outlet: free_jet").replace(
        "900 kPa}, outlet: free_jet", "25 kPa}, outlet: free_jet"
    )
    assert len(told(jet)) == 1  # its other case is shut under pressure: something stops it
    assert told(jet.split("  shut:")[0]) == []
    sucked = LINE.split("  shut:")[0].replace("900 kPa", "-20 kPa").replace("880 kPa", "-40 kPa")
    assert told(sucked) == []


def test_the_fastest_stream_at_a_joint_counts_not_that_at_an_opening_without_one():
    """Of two cases the faster one is told; a joint at 80 mm counts its own velocity, not that of the 107 mm at the other end."""
    two = LINE + "  more: {inlet: {flow_in: 25 L/s, pressure: 700 kPa}, outlet: {pressure: 660 kPa}}\n"
    result = judged(two)
    found = unjudged_surge(result.study, result.cases)
    assert found is not None
    assert (found.joint, found.case) == ("main", "more")
    assert found.rise == pytest.approx(1.25 * RISE, rel=1e-9)
    at_outlet = judged(
        re.sub("  shut: .*\n", "", two)
        .replace("at: inlet", "at: outlet")
        .replace("[0, 0, 1], bore: 107", "[0, 0, 1], bore: 80")
    )
    found = unjudged_surge(at_outlet.study, at_outlet.cases)
    assert found is not None
    assert found.rise == pytest.approx(1.25 * RISE * (107 / 80) ** 2, rel=1e-9)


def danger(text):
    result = judged(text)
    page = html.unescape(" ".join(re.sub("<[^>]*>", " ", sheet_html(result, boltup(result))).split()))
    return page.split("Danger")[1].split("The flange")[0]


def test_the_sheet_tells_it_in_one_line_where_people_stand():
    assert f"a valve shut at once may add about {RISE / 1e6:.3f} MPa at joint 'main', OVER its rating" in danger(LINE)
    assert "shut at once" not in danger(LINE.replace("shut: {", "shut: {dynamic_factor: 4, "))


NARROW = LINE.replace("outward: [0, 0, 1], bore: 107 mm", "outward: [0, 0, 1], bore: 80 mm")


def passed_on(areas, speed, density=1000.0, wave=1200.0):
    """Pressure [Pa] behind a short fitting at which a wave arrives in line 0, that stops there a velocity [m/s].

    Pressure alike in all lines, flow out of the one is flow into the others; p = ± ρ a v for a wave going on or back.
    """
    # unknown: reflected wave in line 0 and the pressure at the fitting
    arriving = density * wave * speed
    admittance = np.asarray(areas) / (density * wave)
    # p = arriving + reflected ; (arriving - reflected) Y0 = p ΣY_others
    matrix = [[-1.0, 1.0], [admittance[0], admittance[1:].sum()]]
    return np.linalg.solve(matrix, [arriving, arriving * admittance[0]])[1]


def area(bore):
    return math.pi / 4 * bore**2


def test_a_valve_in_a_narrower_line_sends_more_to_the_joint():
    rise = passed_on([area(0.080), area(0.107)], 0.02 / area(0.080))
    assert rise > 1.2 * RISE
    (finding,) = told(NARROW)
    assert "A valve in the line beyond 'outlet' that stops its flow in 'run'" in finding.message
    assert f"{0.02 / area(0.080):.3f} m/s there" in finding.message
    assert f"2A/ΣA·ρ·a·v, A the area of that line and ΣA of all that go on, = {rise / 1e6:.3f} MPa" in finding.message
    assert f"may add about {rise / 1e6:.3f} MPa at joint 'main', OVER its rating" in danger(NARROW)
    found = unjudged_surge(judged(NARROW).study, judged(NARROW).cases)
    assert found.rise == pytest.approx(rise, rel=1e-9)


def test_the_pipe_that_it_says_to_write_has_that_rise():
    (finding,) = told(NARROW)
    inside = re.search(r"pipe: \{inside: ([\d.]+) mm\}", finding.message).group(1)
    rise = passed_on([area(0.080), area(0.107)], 0.02 / area(0.080))
    surge = f"surge: {{stopped_flow: 20 L/s, wave_speed: 1200 m/s, pipe: {{inside: {inside} mm}}}}"
    mended = NARROW.replace(
        "shut: {inlet: {flow_in: 0 L/s, pressure: 900 kPa}",
        f"shut: {{inlet: {{flow_in: 0 L/s, pressure: 900 kPa, {surge}}}",
    )
    assert not told(mended)
    assert judged(mended).cases["shut"].openings["inlet"].surge_rise == pytest.approx(rise, rel=1e-3)


def test_three_lines_share_a_wave():
    branch = "\n  branch: {center: [0.3, 0.1, 0 m], outward: [0, 1, 0], bore: 60 mm}\njoints:"
    tee = NARROW.replace("\njoints:", branch).replace(
        "outlet: {pressure: 880 kPa}}", "outlet: {flow_out: 15 L/s, pressure: 880 kPa}, branch: {pressure: 870 kPa}}"
    )
    tee = tee.replace("outlet: capped}", "outlet: capped, branch: capped}")
    areas = [area(0.080), area(0.107), area(0.060)]
    by_outlet = passed_on(areas, 0.015 / area(0.080))
    assert by_outlet < RISE  # most of it goes on into the others: a valve at the joint is worse
    assert f"ρ·a·v = {RISE / 1e6:.3f} MPa" in told(tee)[0].message


def test_the_wider_line_does_not_count():
    wider = LINE.replace("outward: [0, 0, 1], bore: 107 mm", "outward: [0, 0, 1], bore: 150 mm")
    assert passed_on([area(0.150), area(0.107)], 0.02 / area(0.150)) < RISE
    assert f"ρ·a·v = {RISE / 1e6:.3f} MPa" in told(wider)[0].message
