"""A surge that stops less than flows through the same opening in another case: what all of that comes to, by Michaud and Joukowsky."""

from __future__ import annotations

import math

import pytest

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_surge_partly import SURGE_PARTLY
from anchorsize.present.boltup import sheet_dict
from anchorsize.present.machine import assessment_dict, reactions_dict
from anchorsize.studies.boltup import boltup

# Invented: the end of a line of 160 mm bore, with a valve in it 250 m upstream.
LINE = """\
case_file: 1
title: jet head at the end of a line (invented)
units: metric
fluid: {name: water, density: 1000 kg/m^3}
openings:
  riser: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 160 mm}
  jet: {center: [0.45, 0, 0.40 m], outward: [0.8, 0, 0.6], bore: 75 mm}
joints:
  foot: {at: riser, bolts: {count: 8, size: M16, circle: 240 mm}, flange: {rating: RATING}}
allow: {bolt_tension: 150 MPa, bolt_shear: 90 MPa}
cases:
  running: {riser: {flow_in: 60 L/s, pressure: 95 kPa SAID}, jet: free_jet}
  stopped: {riser: {flow_in: 0 L/s, pressure: 3 bar, surge: {stopped_flow: STOPS, wave_speed: 1100 m/s, falls_evenly: flow CLOSES}}, jet: capped}
"""
AREA = math.pi / 4 * 0.16**2
SLOWLY = ", closing_time: 2.5 s, pipe_length: 250 m"


def line(stops, rating="0.7 MPa", closes=SLOWLY, said=""):
    text = LINE.replace("STOPS", stops).replace("RATING", rating).replace("CLOSES", closes).replace("SAID", said)
    return text if closes else text.replace(", falls_evenly: flow", "")


def told(text):
    return [each for each in assess(parse_case(text, "t.yaml")).warnings if each.kind == SURGE_PARTLY]


@pytest.mark.parametrize(
    ("closes", "rise"),
    [
        (SLOWLY, 2 * 1000 * 250 * (0.06 / AREA) / 2.5),  # 2 ρ L v/t, Michaud
        ("", 1000 * 1100 * (0.06 / AREA)),  # ρ a v, Joukowsky
    ],
    ids=["slow", "at once"],
)
def test_all_of_the_flow_stopped_alike_is_told_and_doubted_where_it_fails(closes, rise):
    """With 597 kPa on 300 the rating of 0.7 MPa, which 6 L/s leave whole, is passed."""
    (finding,) = told(line("6 L/s", closes=closes, rating="0.9 MPa" if closes == "" else "0.7 MPa"))
    share = rise / 10  # in proportion to what is stopped
    assert finding.doubtful
    message = finding.message
    assert "at 'riser' in 'stopped' stops 6 L/s, where 'running' runs 60 L/s through it" in message
    whole, part = (f"{each / 1e3:.4g} kPa" if each < 1e6 else f"{each / 1e6:.4g} MPa" for each in (rise, share))
    assert f"that adds {whole} in place of {part}" in message
    assert "flange rating of 'foot' FAILS in 'stopped'" in message


def test_it_is_told_plainly_where_that_holds():
    (finding,) = told(line("6 L/s", rating="5 MPa"))
    assert not finding.doubtful
    assert "FAILS" not in finding.message


@pytest.mark.parametrize("stops", ["60 L/s", "54.1 L/s", "80 L/s"])
def test_nothing_is_told_where_the_surge_stops_what_flows(stops):
    assert not told(line(stops))


def test_nothing_is_told_of_a_flow_that_nothing_stops_by_the_file():
    assert not told(line("6 L/s", said=", surge: {stopped_flow: 0 L/s}"))
    assert not told(line("0 L/s"))


def test_scripts_see_that_a_verdict_stands_on_doubtful_input():
    for text, doubtful in ((line("6 L/s"), True), (line("6 L/s", rating="5 MPa"), False)):
        judged = assess(parse_case(text, "t.yaml"))
        for made in (assessment_dict(judged), sheet_dict(judged, boltup(judged))):
            assert made["doubtful"] is doubtful
        assert "doubtful" not in reactions_dict(judged)
