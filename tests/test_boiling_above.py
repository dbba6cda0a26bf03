"""Boiling where no pressure is given: at capped openings, and at the top of a siphon.

By hand, with g = 9.80665 m/s²: absolute pressure = ambient + p + ρ v²/2 − ρ g h. Water of 1000 kg/m³ that boils at 2 kPa, 100 kPa
outside, bores of 100 mm (7.853982e-3 m²), so that 4 m/s are 31.41593 L/s and ρ v²/2 is 8 kPa. Over 3 m of height ρ g h is 29.420 kPa,
over 20 m it is 196.133 kPa.
"""

from __future__ import annotations

import pytest

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.present.limits import limits_text
from anchorsize.present.limits_machine import limits_dict
from anchorsize.studies.limits import Ask, limits

# Invented: both ends open downward at one height, and a capped air vent over them.
VENT = """
case_file: 1
title: Return bend with a vent (invented)
units: metric
ambient: 100 kPa
fluid: {name: brine, density: 1000 kg/m^3, vapor_pressure: 2 kPa}
fitting: {mass: 20 kg, mass_center: [0.2, 0, 0 m], contents: 2 L, contents_center: [0.2, 0, 0 m]}
openings:
  rise: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 100 mm}
  fall: {center: [0.4, 0, 0 m], outward: [0, 0, -1], bore: 100 mm}
  vent: {center: [0.2, 0, 3 m], outward: [0, 0, 1], bore: 50 mm}
joints:
  foot:
    at: rise
    reference: [1, 0, 0]
    bolts: {count: 8, size: M20, circle: 210 mm, first_at: 22.5 deg, class: "8.8"}
    gasket: {inside: 110 mm, outside: 160 mm, thickness: 2 mm, modulus: 800 MPa}
    tightening: {torque: 200 N*m, nut_factor: 0.16, scatter: 25 %, relaxation: 10 %}
    grip: 50 mm
    bolt_modulus: 200 GPa
allow: {bolt_tension: 500 MPa, bolt_shear: 300 MPa, tension_with_shear: circular}
cases:
  run:
    rise: {flow_in: 31.41593 L/s, pressure: -77 kPa}
    fall: {pressure: from losses, loss_coefficient: 0.2}
    vent: capped
"""
RUN = VENT[VENT.index("    rise: {flow_in") :]
HIGH = VENT.replace("0, 3 m]", "0, 20 m]")
STILL = "    rise: {flow_in: 0 L/s, pressure: P}\n    fall: {flow_out: 0 L/s, pressure: P}\n    vent: capped\n"

# Invented: 2 m up, over the top with a radius of 1 m, 2 m down, so that the top of the centerline is 3 m over both ends.
CROWN = (
    VENT[: VENT.index("fitting:")]
    + """fitting:
  shape:
    start: [0, 0, 0 m]
    direction: [0, 0, 1]
    bore: 100 mm
    parts:
      - {kind: elbow, turn: 90 deg, toward: [1, 0, 0], radius: 1 m, before: 2 m}
      - {kind: elbow, turn: 90 deg, toward: [0, 0, -1], radius: 1 m, after: 2 m}
  mass: 60 kg
  mass_center: [1, 0, 1.5 m]
"""
    + VENT[VENT.index("joints:") :].replace("at: rise", "at: inlet")
).replace(RUN, RUN.replace("rise:", "inlet:").replace("fall:", "outlet:").replace("    vent: capped\n", ""))


def boiling(text):
    return [each for each in assess(parse_case(text, "t")).warnings if each.kind == "cavitation"]


def run(states, text=VENT):
    assert RUN in text
    return text.replace(RUN, states)


def still(pressure):
    return run(STILL.replace("P}", pressure + "}"))


def limited(text, rule="held"):
    return limits(parse_case(text, "t"), Ask(points=0, rule=rule))


def made(text, rule="held"):
    return limits_dict(limited(text, rule))["cases"]["run"]


def test_a_capped_opening_boils_where_even_all_the_velocity_head_leaves_too_little():
    """100 − 77 + 8 − 29.420 = 1.580 kPa, under 2; the ends themselves have 21 kPa and more."""
    (found,) = boiling(VENT)
    assert (found.case, found.doubtful) == ("run", True)
    assert "capped 'vent'" in found.message
    assert "1.58 kPa" in found.message
    assert "velocity head" in found.message
    assert "not to be trusted" in found.message


def test_it_is_not_told_of_what_may_just_hold():
    """100 − 76 + 8 − 29.420 = 2.580 kPa: over 2."""
    assert not boiling(VENT.replace("-77 kPa", "-76 kPa"))


def test_still_water_in_a_vent():
    """100 − 69 − 29.420 = 1.580 kPa; with −68 kPa 2.580. Nothing moves, so nothing is said of velocity."""
    (found,) = boiling(still("-69 kPa"))
    assert "1.58 kPa" in found.message
    assert "velocity" not in found.message
    assert not boiling(still("-68 kPa"))


def test_the_ambient_that_is_taken_is_told():
    """101.325 − 71 − 29.420 = 0.905 kPa."""
    (found,) = boiling(still("-71 kPa").replace("ambient: 100 kPa\n", ""))
    assert "101.3 kPa outside, since no ambient is given" in found.message
    assert "905 Pa" in found.message or "0.905" in found.message


def test_the_richest_open_end_decides():
    """One end at −60 kPa could still bring 100 − 60 − 29.420 = 10.58 kPa, whatever the other has."""
    states = STILL.replace("0 L/s, pressure: P", "0 L/s, pressure: -69 kPa", 1).replace("P}", "-60 kPa}")
    assert not boiling(run(states))


def test_a_lighter_stream_may_fill_the_way_up():
    """Of 600 kg/m³ only 17.652 kPa are lost over 3 m: 100 − 69 − 17.652 = 13.35 kPa; of 990 kg/m³ 29.126 kPa, so 1.87 kPa."""
    light = still("-69 kPa").replace(
        "pressure: -69 kPa}\n    vent", "pressure: -69 kPa, density: 600 kg/m^3}\n    vent"
    )
    assert not boiling(light)
    (found,) = boiling(light.replace("600 kg", "990 kg"))
    assert "1.87" in found.message


@pytest.mark.parametrize(
    "states",
    [
        "    contents: empty\n" + STILL.replace("P}", "-80 kPa}"),
        # of a flow that changes, inertia takes or gives head
        "    rise: {flow_in: 1 L/s, pressure: -80 kPa, flow_change: 10 L/s^2}\n"
        "    fall: {flow_out: 1 L/s, pressure: -80 kPa, flow_change: -10 L/s^2}\n    vent: capped\n",
    ],
)
def test_nothing_is_said_where_the_energy_equation_tells_nothing(states):
    assert not boiling(run(states))


def test_a_vent_that_is_capped_below_or_open_is_not_judged_so():
    assert not boiling(VENT.replace("0, 3 m]", "0, -3 m]"))
    assert not boiling(run(STILL.replace("vent: capped", "vent: {pressure: -97 kPa}").replace("P}", "-69 kPa}")))


def test_before_a_surge_the_velocity_that_it_stops_counts():
    """Before 4 m/s are stopped the vent has at most 100 − 77 + 8 − 29.420 = 1.580 kPa, or 2.580 with −76 kPa."""
    surge = "surge: {stopped_flow: 31.41593 L/s, wave_speed: 1000 m/s}}"
    states = STILL.replace("0 L/s, pressure: P}", f"0 L/s, pressure: P, {surge}", 1).replace("flow_out: 0 L/s, ", "")
    states = states.replace("    fall: {pressure: P}", "    fall: {pressure: from losses, loss_coefficient: 0}")
    (found,) = boiling(run(states.replace("pressure: P", "pressure: -77 kPa")))
    assert "1.58 kPa" in found.message
    assert not boiling(run(states.replace("pressure: P", "pressure: -76 kPa")))


def test_the_top_of_a_siphon_boils_likewise():
    (found,) = boiling(CROWN)
    assert "the top of the fitting's centerline, 3000 mm over its highest opening" in found.message
    assert "1.58 kPa" in found.message
    assert found.doubtful
    assert not boiling(CROWN.replace("-77 kPa", "-76 kPa"))


def test_a_pipe_whose_end_is_its_top_has_no_crown():
    """Upright, the end of the pipe is as high as its centerline, and is judged by its own pressure: here 100 − 77 kPa."""
    elbow = CROWN.replace("      - {kind: elbow, turn: 90 deg, toward: [0, 0, -1], radius: 1 m, after: 2 m}\n", "")
    elbow = elbow.replace("pressure: from losses, loss_coefficient: 0.2", "pressure: -97 kPa")
    assert not boiling(elbow)


def test_limits_say_below_which_pressure_a_vent_boils():
    """2 − 100 + 196.133 − 8 = 90.133 kPa at the rise, while at the ends it takes far less."""
    found = made(HIGH.replace("-77 kPa", "150 kPa"))["boils_below"]
    assert found == {"pressure_Pa": pytest.approx(90.133e3, abs=1.0), "opening": "vent"}


def test_limits_say_up_to_which_flow_a_vent_boils():
    """80 kPa lack 196.133 + 2 − 100 − 80 = 18.133 kPa = ρ v²/2: v = 6.02213 m/s, 47.2977 L/s. Up from there it may not boil."""
    low = HIGH.replace("-77 kPa", "80 kPa")
    found = made(low)
    assert found["boils_up_to"] == {"flow_m3_s": pytest.approx(47.2977e-3, rel=1e-5), "opening": "vent"}
    words = " ".join(limits_text(limited(low), 80).split())
    assert "'run' up to 47.30 L/s (at 'vent')" in words
    for share, boils in ((0.999, True), (1.001, False)):
        flow = found["boils_up_to"]["flow_m3_s"] * share
        assert bool(boiling(low.replace("31.41593 L/s", f"{flow} m^3/s"))) is boils
        pressure = made(HIGH.replace("-77 kPa", "150 kPa"))["boils_below"]["pressure_Pa"] * share
        assert bool(boiling(HIGH.replace("-77 kPa", f"{pressure} Pa"))) is boils


def test_limits_say_above_which_flow_a_vent_boils_where_pressures_fall_with_it():
    """Along the square rule −40 + 8 kPa go with the square: 100 − 2 − 29.420 = 68.580 kPa is 2.14313 of 32, so √ of it times the flow.

    The ends, whose pressure falls by 40 + 0.2 × 8 kPa, boil later: 98 / 41.6 = 2.3558.
    """
    found = made(VENT.replace("-77 kPa", "-40 kPa"), "square")
    assert found["boils_above"] == {"flow_m3_s": pytest.approx(31.41593e-3 * 2.14313**0.5, rel=1e-5), "opening": "vent"}
    assert found["boils_up_to"] is None


def test_limits_name_the_top_of_a_siphon():
    """100 − 80 − 29.420 lacks 11.420 kPa to 2: v = 4.77912 m/s, 37.5351 L/s."""
    text = CROWN.replace("-77 kPa", "-80 kPa")
    assert made(text)["boils_up_to"] == {"flow_m3_s": pytest.approx(37.5351e-3, rel=1e-4), "opening": None}
    assert "(at the top of the fitting's centerline)" in " ".join(limits_text(limited(text), 80).split())


def test_limits_of_a_vent_that_boils_at_every_flow_say_so():
    """An end wide open into −99 kPa has 1 kPa whatever flows."""
    text = run(RUN.replace("-77 kPa", "-99 kPa"))
    found = made(text)["boils_up_to"]
    assert (found["flow_m3_s"], found["opening"]) == (None, "rise")
    assert "'run' at every flow (at 'rise')" in " ".join(limits_text(limited(text), 80).split())


def test_limits_say_nothing_of_a_vent_that_does_not_boil():
    found = made(HIGH.replace("-77 kPa", "150 kPa").replace("0, 20 m]", "0, 3 m]"))
    assert (found["boils_below"], found["boils_up_to"]) == (None, None)
