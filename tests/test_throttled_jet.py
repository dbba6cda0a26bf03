"""A throttle at the mouth of a free jet takes no head: it leaves a narrow, fast jet, whose thrust no full bore has."""

from __future__ import annotations

import importlib.resources
import math
import re
from dataclasses import replace

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_throttled import narrow_jets
from anchorsize.casefile import CaseFileError
from anchorsize.cli import main
from anchorsize.mechanics import gas
from anchorsize.present.boltup import sheet_html
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.studies.boltup import boltup
from anchorsize.studies.supports import compare

KIND = "throttled jet may be narrow"
RELIEF = """\
case_file: 1
title: relief elbow, vent sideways (invented)
units: us
fluid: {name: water, density: 62.3 lb/ft^3}
openings:
  inlet: {center: [0, 0, 0 in], outward: [0, 0, -1], bore: 6.065 in}
  outlet: {center: [15, 0, 0 in], outward: [1, 0, 0], bore: 6.065 in}
joints:
  j: {at: inlet, reference: [1, 0, 0], bolts: {count: 8, size: 3/4 in, circle: 9.5 in, first_at: 22.5 deg}}
allow: {bolt_tension: 25 ksi, bolt_shear: 14 ksi, tension_with_shear: linear}
cases:
  relief: {throttled: true, inlet: {flow_in: 1400 gal/min, pressure: 165 psi}, outlet: free_jet}
"""

# By hand, Bernoulli and momentum (any textbook of fluid mechanics), in feet, pounds and seconds; g_c = 32.174 lb·ft/(lbf·s²).
RHO, GC = 62.3, 32.174
FLOW = 1400 * 231 / 1728 / 60  # ft³/s
FULL = math.pi / 4 * (6.065 / 12) ** 2  # ft²
SPEED = math.sqrt(2 * 165 * 144 * GC / RHO + (FLOW / FULL) ** 2)  # 157.4 ft/s
THRUST = RHO * FLOW * SPEED / GC  # 950.8 lbf
FT, LBF = 0.3048, 4.4482216


def judged(text):
    return assess(parse_case(text, "t.yaml"))


def told(text):
    return [each for each in judged(text).warnings if each.kind == KIND]


def jets(text, case="relief"):
    made = judged(text)
    return narrow_jets(made.study, made.cases[case])


def test_hand_figures_are_those_of_the_engineer():
    assert pytest.approx(157.4, abs=0.05) == SPEED
    assert pytest.approx(950.8, rel=5e-4) == THRUST
    assert pytest.approx(2.853, rel=5e-4) == FLOW / SPEED * 144


def test_the_whole_head_turned_into_velocity_gives_the_greatest_thrust():
    jet = jets(RELIEF)["outlet"]
    assert jet.velocity == pytest.approx(SPEED * FT, rel=1e-5)
    assert jet.area == pytest.approx(FLOW / SPEED * FT**2, rel=1e-5)
    assert jet.thrust == pytest.approx(THRUST * LBF, rel=1e-5)


def test_a_jet_above_its_supply_has_the_height_less():
    raised = RELIEF.replace("[15, 0, 0 in]", "[15, 0, 120 in]")
    assert jets(raised)["outlet"].velocity == pytest.approx(math.sqrt(SPEED**2 - 2 * 32.174 * 10) * FT, rel=1e-5)
    moved = raised.replace("[15, 0, 120 in]", "[15, 0, 1120 in]").replace("[0, 0, 0 in]", "[0, 0, 1000 in]")
    assert jets(moved)["outlet"].velocity == pytest.approx(jets(raised)["outlet"].velocity, rel=1e-9)


def test_the_finding_says_what_the_full_bore_hides():
    (found,) = told(RELIEF)
    assert not found.doubtful
    assert found.case == "relief"
    for words in (
        "only if the stream fills the bore again behind the throttle",
        "up to 950.8 lbf at 'outlet' in place of 93.9 lbf (v = 157.4 ft/s, A_j = 2.853 in²)",
        "the shear 950.8 lbf in place of 93.9 lbf",
        "write the jet's own bore at 'outlet', or a nozzle as the last part of the shape, and take throttled out",
        "where full-bore pipe follows the throttle, write throttled: full_bore_after.",
    ):
        assert words in found.message, found.message
    assert "FAILS" not in found.message


def test_the_case_with_the_jets_own_bore_has_what_the_finding_tells():
    bore = math.sqrt(4 / math.pi * FLOW / SPEED) * 12
    written = RELIEF.replace("outward: [1, 0, 0], bore: 6.065 in", f"outward: [1, 0, 0], bore: {bore:.6f} in")
    written = written.replace("throttled: true, ", "")
    case = judged(written).cases["relief"]
    assert float(case.openings["outlet"].thrust) == pytest.approx(THRUST * LBF, rel=1e-5)
    assert float(case.joints["j"].shear) == pytest.approx(THRUST * LBF, rel=1e-5)
    # and with throttled left in nothing more is said: there is no head left that a throttle could take
    assert told(written.replace("relief: {", "relief: {throttled: true, ")) == []


def test_a_verdict_that_the_jet_would_turn_is_doubtful():
    # shear by hand: 93.9 lbf over 8 bolts of 0.3345 in² is 35 psi, 950.8 lbf is 355 psi: 100 psi lie between
    weak = RELIEF.replace("bolt_shear: 14 ksi", "bolt_shear: 100 psi")
    (found,) = told(weak)
    assert found.doubtful
    assert "FAILS in 'relief'" in found.message
    said = " ".join(str(judged(weak)).split())
    assert "HOLDS ON DOUBTFUL INPUT" in said
    assert said.count("is throttled, and 'outlet' is a free jet") == 2  # beside the verdict and below


def test_the_dynamic_factor_multiplies_the_jet_as_the_thrust():
    (found,) = told(RELIEF.replace("throttled: true, ", "throttled: true, dynamic_factor: 2, "))
    assert "times the dynamic factor 2 up to 1902 lbf at 'outlet' in place of 187.8 lbf" in found.message
    assert "the shear 1902 lbf in place of 187.8 lbf" in found.message


@pytest.mark.parametrize(
    "text",
    [
        RELIEF.replace("throttled: true, ", ""),
        RELIEF.replace("outlet: free_jet", "outlet: {pressure: 20 psi}"),
        RELIEF.replace("outlet: free_jet", "outlet: capped").replace("flow_in: 1400 gal/min", "flow_in: 0 gal/min"),
        RELIEF.replace("flow_in: 1400 gal/min, pressure: 165 psi", "flow_in: 1400 gal/min, pressure: 0 psi"),
    ],
    ids=["not throttled", "no free jet", "capped", "no head to take"],
)
def test_nothing_is_said_elsewhere(text):
    assert told(text) == []


TEE = """\
case_file: 1
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 100 mm}
  left: {center: [-0.2, 0, 0 m], outward: [-1, 0, 0], bore: 80 mm}
  right: {center: [0.2, 0, 0 m], outward: [1, 0, 0], bore: 80 mm}
joints:
  j: {at: inlet, bolts: {count: 8, size: M16, circle: 180 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 0.2 MPa}
cases:
  relief: {throttled: true, inlet: {flow_in: 20 L/s, pressure: 8 bar}, left: free_jet, right: {exit: free_jet, flow_out: 10 L/s}}
"""


def test_of_two_jets_one_alone_is_worse_than_both_that_balance():
    (found,) = told(TEE)
    # by hand: v = √(2·8e5/1000 + (0.02/0.007854)²) = 40.08 m/s, 1000·0.01·40.08 = 401 N each, 20 N of the full bore. Both balance; one
    # alone leaves 381 N on 8 bolts of 157 mm², 0.30 MPa
    assert "400.8 N at 'left'" in found.message
    assert "400.8 N at 'right'" in found.message
    assert re.search(r"worst with it at '(left|right)' alone", found.message)
    assert found.doubtful


def test_several_cases_are_told_in_one_finding_by_the_worst():
    more = RELIEF + "  less: {throttled: true, inlet: {flow_in: 700 gal/min, pressure: 165 psi}, outlet: free_jet}\n"
    (found,) = told(more)
    assert found.case is None
    assert found.message.startswith("'relief', 'less' are throttled, and 'outlet' is a free jet")
    assert "950.8 lbf at 'outlet' in place of 93.9 lbf" in found.message
    assert "at most, in 'relief'" in found.message


def test_a_flow_that_changes_is_not_worked_out_and_doubtful():
    study = parse_case(RELIEF, "t.yaml")
    case = study.cases["relief"]
    states = {
        "inlet": replace(case.states["inlet"], flow_change=-0.001),
        "outlet": replace(case.states["outlet"], flow_change=0.001),
    }
    made = assess(replace(study, cases={"relief": replace(case, states=states)}))
    (found,) = [each for each in made.warnings if each.kind == KIND]
    assert found.doubtful
    assert "How much is not worked out here" in found.message


def test_a_gas_jet_expands_as_the_tables_say():
    # NACA Report 1135, table II, k = 1.4 at M = 2: p/p0 = 0.1278, T/T0 = 0.5556; v = M √(k R T), R = 287.06 J/(kg·K) of air
    speed = float(gas.greatest_velocity(1e5 / 0.1278, 300.0, 1.4, 0.028964, 1e5))
    assert speed == pytest.approx(2.0 * math.sqrt(1.4 * 287.06 * 0.5556 * 300.0), rel=3e-4)
    # table I at M = 0.5: p/p0 = 0.8430
    sound = math.sqrt(1.4 * 1e5 / 1.2)
    assert float(gas.stagnation_pressure(1e5, 1.2, 0.5 * sound, 1.4)) == pytest.approx(1e5 / 0.8430, rel=1e-4)
    assert float(gas.greatest_velocity(1e5, 300.0, 1.4, 0.028964, 1e5)) == 0.0


def test_no_sonic_jet_thrusts_more_than_the_one_expanded_without_loss():
    # a convergent nozzle that passes 1 kg/s from p0: its own thrust is ṁ v + (p − pa) A, that of the whole expansion is more
    for at_rest in (2.5e5, 6e5, 40e5):
        flux = at_rest * math.sqrt(1.4 / (287.06 * 300.0)) * (2.0 / 2.4) ** 3.0  # choked mass flow per area, NACA 1135
        out = gas.open_discharge(1.0, 1.0 / flux, 300.0, 1.4, 0.028964, 1e5)
        sonic = float(out.velocity) + (float(out.pressure) - 1e5) / flux
        whole = float(gas.greatest_velocity(at_rest, 300.0, 1.4, 0.028964, 1e5))
        assert sonic <= whole <= 1.3 * sonic


VENT = """\
case_file: 1
fluid: {name: air, density: 5 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [0, 0, -1], bore: 150 mm}
  mouth: {center: [0.4, 0, 0 m], outward: [1, 0, 0], bore: 150 mm}
joints:
  j: {at: inlet, bolts: {count: 8, size: M20, circle: 240 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  blow:
    throttled: true
    inlet: {pressure: 3.5 bar, density: 5.37 kg/m^3}
    mouth: {exit: free_jet, gas: {mass_flow: 2 kg/s, stagnation_temperature: 300 K, k: 1.4, molar_mass: 28.97 g/mol, ambient: 1 bar}}
"""


def test_a_gas_at_the_mouth_has_the_thrust_of_the_whole_expansion():
    # by hand: inlet 2/(5.37·0.017671) = 21.08 m/s, M = 0.0615, p0 = 4.5·(1 + 0.2·0.0615²)^3.5 = 4.512 bar;
    # v = √(2·1004.5·300·(1 − (1/4.512)^0.28571)) = 459 m/s, thrust 2·459 = 918 N
    jet = jets(VENT, "blow")["mouth"]
    assert jet.velocity == pytest.approx(459.0, rel=3e-3)
    assert jet.thrust == pytest.approx(918.0, rel=3e-3)
    (found,) = told(VENT)
    assert "A_j" not in found.message
    assert jet.thrust > float(judged(VENT).cases["blow"].openings["mouth"].thrust)


def test_a_surge_at_the_supply_drives_the_jet_as_it_loads_the_rest():
    surged = RELIEF.replace(
        "pressure: 165 psi}", "pressure: 165 psi, surge: {stopped_flow: 50 gal/min, wave_speed: 4000 ft/s}}"
    )
    # Joukowsky (any textbook): ρ a ΔV = 62.3·4000·ΔV/(32.174·144) psi
    rise = RHO * 4000 * (50 * 231 / 1728 / 60 / FULL) / GC / 144
    speed = math.sqrt(2 * (165 + rise) * 144 * GC / RHO + (FLOW / FULL) ** 2)
    assert jets(surged)["outlet"].velocity == pytest.approx(speed * FT, rel=1e-5)


@given(
    st.floats(1.0, 60.0),
    st.floats(0.2, 30.0),
    st.floats(-5.0, 5.0),
    st.floats(1.0, 3.0),
)
def test_the_jet_closes_and_never_thrusts_less_than_the_full_bore(flow, bar, rise, factor):
    """The flow through the jet's area is that of the opening; its thrust is ρ Q v, the factor times it, and more than the full bore's."""
    made = judged(
        f"""\
case_file: 1
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 120 mm}}
  outlet: {{center: [0.3, 0, {rise / 10} m], outward: [0, 0, 1], bore: 100 mm}}
joints:
  j: {{at: inlet, bolts: {{count: 8, size: M16, circle: 200 mm}}}}
allow: {{bolt_tension: 160 MPa, bolt_shear: 95 MPa}}
cases:
  relief: {{throttled: true, dynamic_factor: {factor}, inlet: {{flow_in: {flow} L/s, pressure: {bar} bar}}, outlet: free_jet}}
"""
    )
    full = float(made.cases["relief"].openings["outlet"].thrust)
    found = narrow_jets(made.study, made.cases["relief"])
    # Bernoulli from the inlet: where it gives a noticeably faster stream than that of the full bore, there is a jet to tell
    inlet, outlet = (flow / 1000 / (math.pi / 4 * bore**2) for bore in (0.12, 0.1))
    square = 2 * bar * 1e5 / 1000 + inlet**2 - 2 * 9.80665 * rise / 10
    assert bool(found) or square <= (outlet / 0.99) ** 2 * (1 + 1e-9)
    for jet in found.values():
        assert jet.velocity**2 == pytest.approx(square, rel=1e-9)
        assert jet.area * jet.velocity == pytest.approx(flow / 1000, rel=1e-9)
        assert jet.thrust == pytest.approx(1000 * jet.area * jet.velocity**2 * factor, rel=1e-9)
        assert jet.thrust > full


def test_sheet_and_comparison_tell_it_too():
    made = judged(RELIEF)
    assert "a narrow jet thrusts with up to 950.8 lbf" in " ".join(sheet_html(made, boltup(made, "j")).split())
    assert "a narrow jet thrusts with up to 950.8 lbf" in " ".join(str(made).split())
    (line,) = [each for each in verdict_lines(compare(made.study)) if "narrow jet" in each]
    assert "in place of 93.90 lbf; with that 'bolts alone' holds" in line
    weak = compare(parse_case(RELIEF.replace("bolt_shear: 14 ksi", "bolt_shear: 100 psi"), "t.yaml"))
    (line,) = [each for each in verdict_lines(weak) if "narrow jet" in each]
    assert "with that 'bolts alone' FAILS" in line


def test_no_nozzle_is_offered_as_a_throttle():
    starters = importlib.resources.files("anchorsize.casefile") / "starters"
    lines = [line for each in starters.iterdir() for line in each.read_text().splitlines() if "throttled:" in line]
    assert lines
    assert not any("orifice or a nozzle" in line for line in lines)
    schema = CliRunner().invoke(main, ["schema"]).output
    assert "an orifice or a nozzle inside" not in schema
    assert "at the mouth of a free jet takes no head" in schema
    loss = [
        each.message for each in judged(RELIEF.replace("throttled: true, ", "")).warnings if each.kind == "high loss"
    ]
    assert "A nozzle or an orifice at the mouth of a free jet takes no head" in loss[0]


def test_pipe_of_full_bore_after_the_throttle_can_be_said():
    said = RELIEF.replace("throttled: true", "throttled: full_bore_after")
    assert not told(said)
    assert parse_case(said, "t").cases["relief"].throttled
    with pytest.raises(CaseFileError, match="write true or full_bore_after, or take it out"):
        parse_case(RELIEF.replace("throttled: true", "throttled: somewhat"), "t")
