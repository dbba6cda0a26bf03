"""A surge whose valve closes its area evenly may rise more than judged, and after it the column may part: both are told, with what to do."""

from __future__ import annotations

import html
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_surge_closing import COLUMN_PARTS, STOPS_LATE
from anchorsize.cli import main
from anchorsize.present.boltup import sheet_html
from anchorsize.present.limits import limits_text
from anchorsize.present.limits_machine import limits_dict
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.present.text import verdict_text
from anchorsize.studies.boltup import boltup
from anchorsize.studies.limits import Ask, limits
from anchorsize.studies.supports import compare

SURGE = "surge: {stopped_flow: 60 L/s, wave_speed: 1100 m/s, closing_time: 2.5 s, pipe_length: 250 m}"
HEAD = f"""\
case_file: 1
title: jet head at the end of a line (invented)
units: metric
ambient: 100 kPa
fluid: {{name: water, density: 1000 kg/m^3, vapor_pressure: 2 kPa}}
openings:
  riser: {{center: [0, 0, 0 m], outward: [0, 0, -1], bore: 160 mm}}
  jet: {{center: [0.45, 0, 0.40 m], outward: [0.8, 0, 0.6], bore: 75 mm}}
joints:
  foot: {{at: riser, bolts: {{count: 8, size: M16, circle: 240 mm}}, flange: {{rating: 0.9 MPa}}}}
allow: {{bolt_tension: 150 MPa, bolt_shear: 90 MPa}}
cases:
  stopped: {{riser: {{flow_in: 0 L/s, pressure: 1.1 bar, {SURGE}}}, jet: capped}}
"""
VELOCITY = 0.06 / (math.pi / 4 * 0.16**2)
EVEN = 2 * 1000 * 250 * VELOCITY / 2.5  # 2 ρ L v/t, Michaud: 596.8 kPa
# the rigid column slows as evenly as the area falls, p/p0 = h²: h² − 1 = K h with K = ρ L v/(t p0); its root, by numpy
K = EVEN / 2 / 110e3
LATE = 110e3 * (max(np.roots([1.0, -K, -1.0]).real) ** 2 - 1)  # 907.7 kPa

ABOVE = 1000 * 9.80665 * 0.4  # Pa, of the jet, the highest point, over the riser


def judged(text):
    return assess(parse_case(text, "t.yaml"))


def told(text, kind):
    return [each for each in judged(text).warnings if each.kind == kind]


def changed(old, new, text=HEAD):
    assert old in text
    return text.replace(old, new)


def printed(tmp_path, text):
    path = tmp_path / "t.yaml"
    path.write_text(text)
    return " ".join(CliRunner().invoke(main, ["check", str(path)]).stdout.split())


# --- a valve that stops the flow late --------------------------------------------------------------------------------


def test_a_rise_that_an_even_area_exceeds_is_doubted_with_both_figures_and_what_fails():
    assessment = judged(HEAD)
    assert assessment.verdict == "holds"  # as judged, by the rise of a flow that falls evenly
    assert float(assessment.cases["stopped"].openings["riser"].surge_rise) == pytest.approx(EVEN, rel=1e-9)
    (finding,) = told(HEAD, STOPS_LATE)
    assert finding.doubtful
    assert finding.case == "stopped"
    assert f"rise at 'riser' by {LATE / 1e3:.1f} kPa instead of the {EVEN / 1e3:.1f} kPa judged" in finding.message
    assert "(Michaud) of a flow that falls evenly" in finding.message
    assert "(from memory)" in finding.message
    assert "a check that holds as judged FAILS: flange rating of 'foot'" in finding.message


def by_area(text=HEAD):
    return changed("closing_time: 2.5 s", "closing_time: 2.5 s, falls_evenly: valve_area", text)


def test_what_it_says_to_write_judges_that_rise_and_keeps_what_follows_it():
    (finding,) = told(HEAD, STOPS_LATE)
    assert "Write in its surge falls_evenly: valve_area" in finding.message
    assessment = judged(by_area())
    assert assessment.verdict == "fails"
    assert float(assessment.cases["stopped"].openings["riser"].surge_rise) == pytest.approx(LATE, rel=1e-9)
    rating = next(each for each in assessment.cases["stopped"].checks if each.check == "flange rating")
    used = re.search(r"flange rating of 'foot' \(utilization (\S+)\)", finding.message)
    assert float(rating.utilization) == pytest.approx(float(used[1]), rel=0.005)  # told to three figures
    kinds = {each.kind for each in assessment.warnings}
    assert COLUMN_PARTS in kinds  # a greater rise comes before a deeper fall
    assert not {STOPS_LATE, "no surge judged"} & kinds


def test_a_user_who_says_that_the_flow_falls_evenly_is_taken_at_that():
    text = changed("closing_time: 2.5 s", "closing_time: 2.5 s, falls_evenly: flow")
    assert told(text, STOPS_LATE) == []
    assert float(judged(text).cases["stopped"].openings["riser"].surge_rise) == pytest.approx(EVEN, rel=1e-9)


@pytest.mark.parametrize(
    ("pressure", "wanted"),
    [
        (
            "4 bar",
            EVEN,
        ),  # K = 0.75, where the rigid column rises by 2 p0 K (…)/4 < 2 p0 K: never less than by an even flow
        ("0.1 bar", 1000 * 1100 * VELOCITY),  # rigid column 35 MPa: no more than a sudden stop
        ("0 bar", 1000 * 1100 * VELOCITY),
        ("-0.2 bar", 1000 * 1100 * VELOCITY),
    ],
)
def test_the_rise_by_valve_area_stays_between_an_even_flow_and_a_sudden_stop(pressure, wanted):
    rise = judged(changed("1.1 bar", pressure, by_area())).cases["stopped"].openings["riser"].surge_rise
    assert float(rise) == pytest.approx(wanted, rel=1e-9)


def test_within_the_echo_and_without_a_stopped_flow_it_makes_no_difference_what_falls():
    for old, new, wanted in (
        ("closing_time: 2.5 s", "closing_time: 0.4 s", 1000 * 1100 * VELOCITY),
        ("closing_time: 2.5 s", "closing_time: 0 s", 1000 * 1100 * VELOCITY),
        ("stopped_flow: 60", "stopped_flow: 0", 0.0),
    ):
        rise = judged(changed(old, new, by_area())).cases["stopped"].openings["riser"].surge_rise
        assert float(rise) == pytest.approx(wanted, rel=1e-9)


def test_the_words_say_what_falls_and_that_the_theory_is_from_memory(tmp_path):
    text = printed(tmp_path, by_area())
    assert f"valve area falling evenly, rise {LATE / 1e3:.1f} kPa" in text
    assert "rigid column theory (from memory), letting out to the air" in text.split("Assumptions")[1]
    assert "flow falling evenly during closing (in" not in text


def test_what_falls_evenly_needs_the_time_in_which_it_does(tmp_path):
    path = tmp_path / "t.yaml"
    path.write_text(changed(", closing_time: 2.5 s", ", falls_evenly: flow"))
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 2
    assert "cases / stopped / riser / surge / closing_time" in result.output
    assert "the time within which it falls evenly" in " ".join(result.output.split())
    path.write_text(changed("closing_time: 2.5 s", "closing_time: 2.5 s, falls_evenly: valve"))
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 2
    assert "valve_area" in result.output


# --- limits ----------------------------------------------------------------------------------------------------------


def holds(text, flow):
    return judged(changed("stopped_flow: 60 L/s", f"stopped_flow: {flow} m^3/s", text)).verdict == "holds"


def test_limits_find_the_stopped_flow_that_holds_by_valve_area_too():
    """HEAD holds at its own flow only as judged, and well beyond it; by valve area it fails from less on."""
    text = changed("0.9 MPa", "1.6 MPa")
    found = limits(parse_case(text, "t.yaml"), Ask(points=0))
    made = limits_dict(found)["cases"]["stopped"]
    low = made["by_valve_area"]["flow"]["intervals"][-1]["to_m3_s"]
    even = made["flow_m3_s"]
    assert low < 0.8 * even
    for share, wanted in ((0.9999, True), (1.0001, False)):
        assert holds(by_area(text), low * share) is wanted
        assert holds(text, even * share) is wanted
    words = " ".join(limits_text(found, 100).split())
    assert f"'stopped' flow to {low * 1e3:.2f} L/s (flange rating)" in words
    assert "falls_evenly: valve_area, or flow" in words
    for said in ("flow", "valve_area"):
        answered = changed("closing_time: 2.5 s", f"closing_time: 2.5 s, falls_evenly: {said}", text)
        then = limits(parse_case(answered, "t.yaml"), Ask(points=0))
        assert limits_dict(then)["cases"]["stopped"]["by_valve_area"] is None
        assert "Doubtful limits" not in limits_text(then, 100)


def test_limits_say_from_which_stopped_flow_on_the_column_parts():
    """Before less the rise, 2ρLv/t, at 2 kPa absolute 0.4 m up: v = (110 + 98 kPa − ρg·0.4 m) t/(2ρL)."""
    text = changed("0.9 MPa", "1.6 MPa")
    found = limits(parse_case(text, "t.yaml"), Ask(points=0))
    flow = limits_dict(found)["cases"]["stopped"]["column_parts_above_m3_s"]
    assert flow == pytest.approx((208e3 - ABOVE) * 2.5 / (2 * 1000 * 250) * math.pi / 4 * 0.16**2, rel=1e-6)
    assert f"at a stopped flow of: 'stopped' above {flow * 1e3:.1f} L/s" in " ".join(limits_text(found, 100).split())
    for share, parts in ((0.999, False), (1.001, True)):
        assert bool(told(changed("60 L/s", f"{flow * share} m^3/s", text), COLUMN_PARTS)) is parts


def test_limits_within_which_the_fall_leaves_the_column_whole_say_nothing_of_it():
    high = changed("1.1 bar", "30 bar", changed("0.9 MPa", "8 MPa"))
    found = limits(parse_case(high, "t.yaml"), Ask(points=0, to_flow=0.061))
    assert limits_dict(found)["cases"]["stopped"]["column_parts_above_m3_s"] is None
    assert "column" not in limits_text(found, 100)


def test_the_closing_time_that_it_gives_ends_the_telling_and_a_shorter_one_does_not():
    (finding,) = told(HEAD, STOPS_LATE)
    slow = float(re.search(r"close slower: from (\S+) s on", finding.message)[1])
    assert slow == pytest.approx(1000 * 250 * VELOCITY / (1.5 * 110e3), rel=0.005)  # K = 3/2, to three figures
    assert told(changed("closing_time: 2.5 s", f"closing_time: {slow} s"), STOPS_LATE) == []
    assert len(told(changed("closing_time: 2.5 s", f"closing_time: {0.9 * slow} s"), STOPS_LATE)) == 1


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("pressure: 1.1 bar", "pressure: 4 bar"),  # K = 0.75: there an even flow rises more
        (", closing_time: 2.5 s, pipe_length: 250 m", ""),  # sudden: the whole rise is judged
        ("closing_time: 2.5 s", "closing_time: 0.4 s"),  # within 2L/a = 0.45 s: so it is here
        ("stopped_flow: 60", "stopped_flow: 0"),
    ],
)
def test_nothing_is_told_where_the_rise_judged_is_the_greater(old, new):
    assert told(changed(old, new), STOPS_LATE) == []


def test_next_to_no_pressure_tells_the_whole_rise_and_no_closing_time():
    sudden = 1000 * 1100 * VELOCITY
    for pressure in ("0.1 bar", "0 bar", "-0.2 bar"):
        (finding,) = told(changed("1.1 bar", pressure), STOPS_LATE)
        assert f"by {sudden / 1e6:.3f} MPa (the whole ρ·a·v) instead of the" in finding.message
        assert ("close slower: from" in finding.message) is (pressure == "0.1 bar")


def test_that_no_check_fails_is_said_too():
    (finding,) = told(changed("0.9 MPa", "1.6 MPa"), STOPS_LATE)
    assert finding.doubtful
    assert "No check that holds as judged fails with that." in finding.message


def test_several_cases_are_told_in_one_finding_the_worst_first_and_their_checks_by_case():
    other = changed("closing_time: 2.5", "closing_time: 2.6", HEAD.splitlines(keepends=True)[-1])
    (finding,) = told(HEAD + other.replace("stopped:", "slower:"), STOPS_LATE)
    assert finding.case is None
    assert finding.message.index("at 'riser' in 'stopped' by") < finding.message.index("at 'riser' in 'slower' by")
    assert "2 checks that hold as judged FAIL: flange rating of 'foot' in 'stopped'" in finding.message


def test_the_verdict_and_the_assumptions_say_so(tmp_path):
    text = printed(tmp_path, HEAD)
    assert "HOLDS ON DOUBTFUL INPUT" in text or "Doubtful input: in 'stopped': The rise judged" in text
    assert "flow falling evenly during closing (in 'stopped')" in text.split("Assumptions")[1]
    assert "flow falling evenly" not in printed(tmp_path, changed("closing_time: 2.5 s", "closing_time: 0.4 s"))


# --- the fall that follows -------------------------------------------------------------------------------------------


def test_the_column_that_parts_is_told_with_the_fall_and_the_suction_to_judge():
    (finding,) = told(HEAD, COLUMN_PARTS)
    assert not finding.doubtful
    assert finding.case == "stopped"
    assert f"at 'riser' by these figures to {(110e3 - EVEN) / 1e3:.1f} kPa" in finding.message
    assert "below the vapor pressure, 2 kPa absolute" in finding.message
    suction = re.search(r"no flow, no surge, pressure: (\S+) kPa at 'riser'", finding.message)
    assert suction
    # 2 kPa absolute are -98 kPa gauge with 100 kPa outside, at the jet, 0.4 m of water higher; told so that nothing boils by rounding
    least = -98.0 + 1000 * 9.80665 * 0.4 / 1e3
    assert least <= float(suction[1]) == pytest.approx(least, rel=0.002)
    own = f"  sucked: {{riser: {{flow_in: 0 L/s, pressure: {suction[1]} kPa}}, jet: capped}}\n"
    assessment = judged(HEAD + own)
    assert not [each for each in assessment.warnings if each.kind == "cavitation"]
    joint = assessment.cases["sucked"].joints["foot"]
    assert float(joint.axial_demand) < 0.0  # it pulls the fitting toward the pipe
    (then,) = [each for each in assessment.warnings if each.kind == COLUMN_PARTS]
    assert "have the surge calculated." in then.message
    assert "add a case" not in then.message


def test_the_suction_leaves_the_top_of_a_centerline_at_the_vapor_pressure():
    study = parse_case(HEAD, "t.yaml")
    siphon = np.array([[[0.0, 0, 0], [0.2, 0, 1.0]], [[0.2, 0, 1.0], [0.45, 0, 0.4]]])
    found = assess(replace(study, fitting=replace(study.fitting, centerline=siphon))).warnings
    (finding,) = [each for each in found if each.kind == COLUMN_PARTS]
    suction = re.search(r"pressure: (\S+) kPa at 'riser'", finding.message)
    assert float(suction[1]) == pytest.approx(-98.0 + 9.80665 * 1.0, rel=0.002)  # 1 m of water below the top


def test_a_fall_that_boils_at_the_top_alone_parts_there():
    (finding,) = told(changed("1.1 bar", f"{EVEN - 98e3 + 0.5 * ABOVE} Pa"), COLUMN_PARTS)
    assert (
        "to -96.04 kPa, which is, 400 mm higher at the top of the fitting, below the vapor pressure" in finding.message
    )
    assert "higher at the top" not in told(HEAD, COLUMN_PARTS)[0].message


def test_it_is_told_from_the_vapor_pressure_on():
    """Before the stop p0, after it p0 − rise: the column parts where that is under 2 − 100 = -98 kPa, at the top, 0.4 m higher."""
    for above, parts in ((1e3, False), (-1e3, True)):
        pressure = EVEN - 98e3 + ABOVE + above
        assert bool(told(changed("1.1 bar", f"{pressure} Pa"), COLUMN_PARTS)) is parts


def test_without_a_vapor_pressure_nothing_but_a_full_vacuum_stops_the_fall():
    unknown = changed(", vapor_pressure: 2 kPa", "").replace("name: water", "name: brine")
    assert "below 0 absolute." in told(unknown, COLUMN_PARTS)[0].message
    suction = re.search(r"pressure: (\S+) kPa at", told(unknown, COLUMN_PARTS)[0].message)
    assert float(suction[1]) == pytest.approx(-100 + 9.80665 * 0.4, rel=0.002)
    assert (
        told(changed("1.1 bar", f"{EVEN - 95e3} Pa", unknown), COLUMN_PARTS) == []
    )  # -100 kPa 0.4 m higher is -96.1 here


def test_the_comparison_of_supports_tells_of_it_too():
    """Suction turns the push round, and what holds one way only, a rest or a tie, then lets go or wakes up."""
    options = "supports:\n  none: []\n  stop: [{kind: rest, name: R, at: [0, 0, 0.2 m], toward: [0, 0, 1], stiffness: 60 MN/m, allow: {force: 1 kN}}]\n"
    compared = compare(parse_case(HEAD + options, "t.yaml"))
    (finding,) = told(HEAD, COLUMN_PARTS)
    assert verdict_lines(compared).count(finding.message) == 1


def test_a_liquid_that_boils_over_the_air_outside_parts_without_suction():
    hot = changed("vapor_pressure: 2 kPa", "vapor_pressure: 150 kPa")
    (finding,) = told(hot, COLUMN_PARTS)
    assert "column of liquid parts; as it rejoins" in finding.message
    assert "suction" not in finding.message


def test_several_cases_are_told_in_one_finding_by_the_deepest():
    deeper = HEAD.splitlines(keepends=True)[-1].replace("stopped:", "faster:").replace("2.5 s", "2 s")
    (finding,) = told(HEAD + deeper, COLUMN_PARTS)
    assert finding.case is None
    assert "at 'riser' in 'faster' by these figures" in finding.message
    assert "(and so in 'stopped')" in finding.message


def test_no_surge_none_that_falls_and_none_of_a_gas_is_told():
    assert told(changed("stopped_flow: 60", "stopped_flow: 0"), COLUMN_PARTS) == []
    light = (
        changed("density: 1000", "density: 8")
        .replace("name: water", "name: air")
        .replace(", vapor_pressure: 2 kPa", "")
    )
    light = light.replace("pressure: 1.1 bar", "pressure: -95 kPa")
    assert told(light, COLUMN_PARTS) == told(light, STOPS_LATE) == []


def test_a_surge_that_lowers_the_pressure_is_left_to_the_telling_of_boiling():
    study = parse_case(HEAD, "t.yaml")
    case = study.cases["stopped"]
    state = case.states["riser"]
    falls = replace(state, surge=replace(state.surge, stopped_flow=-state.surge.stopped_flow))
    cases = {"stopped": replace(case, states={**case.states, "riser": falls})}
    kinds = {each.kind for each in assess(replace(study, cases=cases)).warnings}
    assert "cavitation" in kinds
    assert not {STOPS_LATE, COLUMN_PARTS} & kinds


def test_the_number_stands_in_what_the_sheet_has_room_for_and_the_rejoining_in_its_danger_box():
    result = judged(HEAD)
    page = " ".join(html.unescape(re.sub("<[^>]*>", " ", sheet_html(result, boltup(result)))).split())
    assert f"rise at 'riser' by {LATE / 1e3:.1f} kPa instead of the {EVEN / 1e3:.1f} kPa judged" in page
    danger = page.split("Danger")[1].split("The flange")[0]
    assert "Not judged: after a surge the column of liquid can part, and strike harder as it rejoins." in danger
    assert "After the rise the wave comes back" in " ".join(verdict_text(result, 80).split())
