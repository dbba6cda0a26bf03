"""After the rise of a surge the line may be under suction with its column whole: that is told, with the case to add."""

from __future__ import annotations

import math
import re

import pytest

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_surge_closing import COLUMN_PARTS, SUCTION_AFTER
from anchorsize.present.boltup_push import surge_words
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.present.text import check_report
from anchorsize.studies.supports import compare

# 30 L/s in a line of 155 mm, ρ = 1000 kg/m³: v = 0.03/(π 0.155²/4) = 1.5899 m/s. Michaud, 400 m in 4 s: 2 ρ L v/t = 317.98 kPa
VELOCITY = 0.03 / (math.pi / 4 * 0.155**2)
RISE = 2 * 1000 * 400 * VELOCITY / 4
SUDDEN = 1000 * 1200 * VELOCITY  # Joukowsky, ρ a v: 1907.9 kPa
# with 101 kPa outside and a vapor pressure of 3 kPa the column parts at -98 kPa gauge
PARTS = -98e3
SURGE = "stopped_flow: 30 L/s, wave_speed: 1200 m/s, closing_time: 4 s, falls_evenly: flow, pipe_length: 400 m"
HEAD = f"""\
case_file: 1
title: level bend at the end of a line (invented)
units: metric
ambient: 101 kPa
fluid: {{name: water, density: 1000 kg/m^3, vapor_pressure: 3 kPa}}
openings:
  near: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 155 mm}}
  far: {{center: [0.4, 0.4, 0 m], outward: [0, 1, 0], bore: 155 mm}}
joints:
  flange: {{at: near, bolts: {{count: 8, size: M20, circle: 240 mm}}}}
allow: {{bolt_tension: 150 MPa, bolt_shear: 90 MPa}}
cases:
  stopped: {{near: {{flow_in: 0 L/s, pressure: 280 kPa, surge: {{{SURGE}}}}}, far: capped}}
"""
CASE = HEAD.splitlines(keepends=True)[-1]


def judged(text):
    return assess(parse_case(text, "t.yaml"))


def told(text, kind=SUCTION_AFTER):
    return [each for each in judged(text).warnings if each.kind == kind]


def changed(old, new, text=HEAD):
    assert old in text
    return text.replace(old, new)


def at(pressure, text=HEAD):
    """The file with another pressure [Pa] before the stop."""
    return changed("pressure: 280 kPa", f"pressure: {pressure!r} Pa", text)


def sucked(pressure):
    """A case with that pressure [Pa] at the near opening and nothing else."""
    return f"  sucked: {{near: {{flow_in: 0 L/s, pressure: {pressure!r} Pa}}, far: capped}}\n"


def test_the_suction_is_told_with_the_case_to_add_and_what_must_stand_it():
    """280 kPa less 317.98 kPa."""
    (finding,) = told(HEAD)
    assert pytest.approx(317.98e3, rel=1e-4) == RISE
    assert finding.case == "stopped"
    assert not finding.doubtful
    assert finding.message == (
        "After the rise the wave comes back, and the pressure may fall about as far below that before the stop as it rose above: at 'near' "
        "by these figures to -37.98 kPa gauge, below the pressure outside. There the line is under suction, and no case has that: add one, "
        "which pulls the fitting toward the pipe: no flow, no surge, pressure: -37.98 kPa at 'near'. Supports that only push, gaskets and "
        "liners must stand it."
    )


def test_it_is_told_in_the_file_s_units_and_in_the_text():
    """1900 gal/min in 7.981 in: v = 0.119871/0.0322756 = 3.7140 m/s; 2·1000·914.4·3.7140/10 = 679.21 kPa = 98.51 psi; 90 - 98.51."""
    us = (
        "flow_in: 0 gal/min, pressure: 90 psi, surge: {stopped_flow: 1900 gal/min, wave_speed: 3900 ft/s, closing_time: 10 s, "
        "falls_evenly: flow, pipe_length: 3000 ft, pipe: {inside: 7.981 in}}"
    )
    text = changed(f"flow_in: 0 L/s, pressure: 280 kPa, surge: {{{SURGE}}}", us).replace("units: metric", "units: us")
    (finding,) = told(text)
    written = re.search(r"pressure: (-\S+) psi at 'near'", finding.message)
    assert float(written[1]) == pytest.approx(-8.51, abs=0.006)
    assert finding.message in " ".join(check_report(judged(text), 100).split())


@pytest.mark.parametrize(("fall", "wanted"), [(50.0, False), (-50.0, True)])
def test_it_is_told_from_the_pressure_outside_on(fall, wanted):
    assert bool(told(at(RISE + fall))) is wanted
    sudden = changed(", closing_time: 4 s, falls_evenly: flow, pipe_length: 400 m", "")
    assert bool(told(at(SUDDEN + fall, sudden))) is wanted


def test_rounding_alone_is_no_suction():
    assert told(at(RISE - 0.5)) == []


@pytest.mark.parametrize(
    ("above", "kind", "other"), [(50.0, SUCTION_AFTER, COLUMN_PARTS), (-50.0, COLUMN_PARTS, SUCTION_AFTER)]
)
def test_where_the_column_parts_only_that_is_told(above, kind, other):
    text = at(RISE + PARTS + above)
    assert len(told(text, kind)) == 1
    assert told(text, other) == []


def test_the_case_that_it_asks_for_ends_the_telling_and_pulls_toward_the_pipe():
    written = re.search(r"pressure: (-\S+) kPa at 'near'", told(HEAD)[0].message)
    text = HEAD + sucked(float(written[1]) * 1e3)
    assert told(text) == []
    axial = float(judged(text).cases["sucked"].joints["flange"].axial_demand)
    assert axial == pytest.approx(
        -37.98e3 * math.pi / 4 * 0.155**2, rel=1e-3
    )  # p A: -716.7 N; it has no weight along the level axis


@pytest.mark.parametrize(("suction", "silent"), [(-60e3, True), (-37e3, False), (0.0, False)])
def test_a_deeper_suction_of_the_file_will_do_and_a_lesser_one_will_not(suction, silent):
    assert (told(HEAD + sucked(suction)) == []) is silent


def test_suction_at_another_opening_does_not_count():
    far = "  sucked: {near: {flow_in: 0 L/s, pressure: 0 kPa}, far: {pressure: -60 kPa}}\n"
    assert len(told(HEAD + far)) == 1


def test_several_cases_are_told_once_by_the_deepest():
    """In 3.9 s: 2·1000·400·1.5899/3.9 = 326.13 kPa; 280 - 326.13 = -46.13 kPa."""
    text = HEAD + CASE.replace("stopped:", "faster:").replace("closing_time: 4 s", "closing_time: 3.9 s")
    (finding,) = told(text)
    assert finding.case is None
    assert "at 'near' in 'faster' by these figures to -46.13 kPa gauge" in finding.message
    assert "(and so in 'stopped')" in finding.message
    assert told(text + sucked(-46.13e3)) == []
    assert told(text + sucked(-38e3))[0].case == "faster"


def test_each_opening_that_a_surge_sucks_is_in_the_case_to_add():
    both = changed("far: capped", f"far: {{pressure: 290 kPa, surge: {{{SURGE}}}}}")
    (finding,) = told(both)
    assert "to -37.98 kPa gauge and at 'far' by these figures to -27.98 kPa gauge" in finding.message
    assert "pressure: -37.98 kPa at 'near' and pressure: -27.98 kPa at 'far'" in finding.message


def test_the_column_that_parts_in_one_case_says_it_for_that_opening_in_all():
    text = HEAD + CASE.replace("stopped:", "low:").replace("280 kPa", "150 kPa")  # 150 - 317.98 kPa is below vacuum
    assert len(told(text, COLUMN_PARTS)) == 1
    assert told(text) == []


def test_what_boils_at_the_highest_point_parts_there():
    """The far end 1 m higher boils at -98 + 9.807 = -88.19 kPa at the near one; the fall goes to -90 kPa there."""
    high = at(RISE - 90e3, changed("center: [0.4, 0.4, 0 m]", "center: [0.4, 0.4, 1 m]"))
    assert told(high) == []
    (finding,) = told(high, COLUMN_PARTS)
    assert "to -90 kPa, which is, 1000 mm higher at the top of the fitting, below the vapor pressure" in finding.message
    written = re.search(r"pressure: (-\S+) kPa at 'near'", finding.message)
    assert -98.0 + 9.80665 <= float(written[1]) == pytest.approx(-98.0 + 9.80665, rel=0.002)
    own = judged(high + sucked(float(written[1]) * 1e3)).warnings
    assert not {"cavitation", SUCTION_AFTER} & {each.kind for each in own}


def test_no_case_is_asked_for_that_would_boil_at_any_suction():
    """Vapor at 96 kPa: it parts at -5 kPa, and 1 m higher at 4.8 kPa over the pressure outside."""
    hot = changed("vapor_pressure: 3 kPa", "vapor_pressure: 96 kPa", at(RISE - 3e3))
    high = changed("center: [0.4, 0.4, 0 m]", "center: [0.4, 0.4, 1 m]", hot)
    assert told(high) == []
    (finding,) = told(high, COLUMN_PARTS)
    assert "to -3 kPa, which is" in finding.message
    assert "have the surge calculated." in finding.message
    assert "add a case" not in finding.message


def test_nothing_stopped_and_no_liquid_say_nothing():
    assert told(changed("stopped_flow: 30", "stopped_flow: 0")) == []
    light = changed("name: water, density: 1000 kg/m^3, vapor_pressure: 3 kPa", "name: air, density: 8 kg/m^3")
    assert told(changed("280 kPa", "1 kPa", light)) == []


def test_it_stands_beside_the_verdict_in_the_comparison_and_on_the_sheet():
    assessment = judged(HEAD)
    head = " ".join(check_report(assessment, 80).split()).split("Rests on")[0]
    assert "under suction, and no case has that" in head
    assert any("under suction, and no case has that" in line for line in verdict_lines(compare(parse_case(HEAD, "t"))))
    assert "after a surge the line can be under suction" in surge_words(assessment)
