"""A hose, or a line that is not anchored, pulls the fitting with p·A + ρ·Q·v: it is no bellows, with flow as little as without."""

from __future__ import annotations

import importlib.resources
import math
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from anchorsize import assess, parse_case
from anchorsize.assessment.findings_unanchored import pulls_if_loose, then_with
from anchorsize.cli import main
from anchorsize.present.boltup import sheet_dict, sheet_html
from anchorsize.present.boltup_short import in_short
from anchorsize.present.limits_machine import limits_dict
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.studies.boltup import boltup
from anchorsize.studies.limits import Ask, limits
from anchorsize.studies.supports import compare
from anchorsize.study import Study

ELBOW = """\
case_file: 1
title: elbow before a hose (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  outlet: {center: [0.3, 0, 0.2 m], outward: [0, 0, 1], bore: 80 mm}
joints:
  main: {at: inlet, bolts: {count: 8, size: M16, circle: 180 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {inlet: {flow_in: 20 L/s, pressure: 900 kPa}, outlet: {pressure: 880 kPa}}
"""
STRAIGHT = ELBOW.replace(
    "[0.3, 0, 0.2 m], outward: [0, 0, 1], bore: 80 mm", "[0.4, 0, 0 m], outward: [1, 0, 0], bore: 100 mm"
)
A100, A80 = math.pi / 4 * 0.1**2, math.pi / 4 * 0.08**2
PULL = 880e3 * A80 + 1000 * 0.02 * 0.02 / A80  # p A + rho Q v [N]


def judged(text):
    return assess(parse_case(text, "t.yaml"))


def told(text, kind="line not anchored"):
    return [each for each in judged(text).warnings if each.kind == kind]


def newtons(text: str) -> list[float]:
    """Forces told in newtons or kilonewtons, in their order."""
    found = re.findall(r"([\d,.]+) (k?)N(?!·)", text)
    return [float(number.replace(",", "")) * (1000.0 if kilo else 1.0) for number, kilo in found]


def test_the_pull_of_a_hose_under_flow_is_told_in_numbers():
    """4423 N of pressure and 79.58 N of flow; off the joint goes the whole thrust of the outlet, its shear and bending with it."""
    (finding,) = told(ELBOW)
    assert finding.case == "run"
    assert not finding.doubtful
    assert newtons(finding.message.split("p·A + ρ·Q·v = ")[1])[0] == pytest.approx(PULL, rel=5e-4)
    # pressed down with 4503 N at 0.3 m, and nothing of it with the hose
    assert f"the shear 0 N in place of {PULL:.0f} N" in finding.message
    assert f"the bending 0 N·m in place of {0.3 * PULL:.0f} N·m" in finding.message
    assert "axial" not in finding.message.split("in place of")[0]


def test_a_straight_piece_on_a_hose_is_pulled_off_the_pipe_with_all_of_the_end_load():
    """By the equilibrium of the inlet alone, p A + rho Q v there pulls at the joint; as given, only the loss of pressure does."""
    (finding,) = told(STRAIGHT)
    momentum = 1000 * 0.02**2 / A100
    # outward of the joint is away from the fitting, so that the inlet's thrust on the fitting opens it
    assert f"the axial demand {900e3 * A100 + momentum:.0f} N in place of {20e3 * A100:.1f} N" in finding.message


def test_the_load_told_is_one_to_be_written_as_it_stands():
    (finding,) = told(ELBOW)
    entry = re.search(r"\{name: .*?\}", finding.message)
    assert entry
    written = ELBOW + f"external:\n  - {entry[0]}\n"
    assert told(written) == []
    joint = judged(written).cases["run"].joints["main"]
    assert float(joint.shear) == pytest.approx(0.0, abs=1e-3 * PULL)
    assert float(joint.axial_demand) == pytest.approx(900e3 * A100 + 1000 * 0.02**2 / A100, rel=1e-9)
    assert boltup(judged(written)).ends == ()
    # neither another case, nor another place, nor half of it is that pull
    for wrong in (
        ('cases: ["run"]', "cases: [wash]"),
        ("at: [300, 0, 200 mm]", "at: [0, 0, 200 mm]"),
        ("4502", "2200"),
    ):
        other = ELBOW + "  wash: {inlet: {flow_in: 0 L/s, pressure: 0 kPa}, outlet: free_jet}\n"
        changed = entry[0].replace(*wrong)
        assert changed != entry[0]
        assert len(told(f"{other}external:\n  - {changed}\n")) == 1


def test_the_dynamic_factor_and_a_flux_factor_stand_in_formula_and_number():
    hard = ELBOW.replace("run: {", "run: {dynamic_factor: 1.5, ").replace("880 kPa}", "880 kPa, beta: 1.2}")
    (finding,) = told(hard)
    pull = 1.5 * (880e3 * A80 + 1.2 * 1000 * 0.02**2 / A80)
    assert f"(p·A + β·ρ·Q·v) × the dynamic factor 1.5 = {pull:.0f} N" in finding.message


def test_an_inlet_without_a_joint_counts_alike():
    """The joint at the outlet: at the inlet the stream pushes inward as well, and its hose pulls outward with p A + rho Q v."""
    (finding,) = told(ELBOW.replace("at: inlet", "at: outlet"))
    assert "at 'inlet'" in finding.message
    pull = 900e3 * A100 + 1000 * 0.02**2 / A100
    assert f"p·A + ρ·Q·v = {pull:.0f} N" in finding.message
    assert f"force: [-{pull:.1f}, 0, 0 N]" in finding.message


def test_all_flowing_cases_are_told_in_one_sentence_and_those_without_flow_each():
    more = "  less: {inlet: {flow_in: 5 L/s, pressure: 300 kPa}, outlet: {pressure: 299 kPa}}\n"
    shut = "  SHUT: {inlet: {flow_in: 0 L/s, pressure: 600 kPa}, outlet: {pressure: 598.04 kPa}}\n"
    text = ELBOW + more + shut + shut.replace("SHUT", "night")
    (finding,) = told(text)
    assert finding.case is None
    assert f"= {PULL:.0f} N at most, in 'run'" in finding.message
    still = told(text, "closed end not anchored")
    assert [each.case for each in still] == ["SHUT", "night"]
    assert all("is a hose or ends in a closed valve" in each.message for each in still)
    assert all("judge it as capped too" in each.message for each in still)
    assert told(ELBOW, "closed end not anchored") == []


def test_no_pull_is_told_of_jets_caps_and_openings_without_pressure():
    for outlet in ("outlet: free_jet", "outlet: {pressure: -20 kPa}"):
        assert told(ELBOW.replace("outlet: {pressure: 880 kPa}", outlet)) == []
    shut = ELBOW.replace("flow_in: 20 L/s", "flow_in: 0 L/s").replace("outlet: {pressure: 880 kPa}", "outlet: capped")
    assert told(shut) == []
    joined = ELBOW.replace("allow:", "  far: {at: outlet, bolts: {count: 8, size: M16, circle: 180 mm}}\nallow:")
    assert told(joined) == []


ANGLE = st.floats(0.0, 2.0 * math.pi)


@st.composite
def fittings(draw, flows):
    """An elbow with its outlet anywhere, in any direction; the flow goes in or out there."""
    flow = f"{draw(st.sampled_from(('flow_in', 'flow_out')))}: {draw(st.floats(1.0, 60.0)) if flows else 0.0:.6f} L/s"
    along, round_it = math.acos(draw(st.floats(-1.0, 1.0))), draw(ANGLE)
    way = [math.sin(along) * math.cos(round_it), math.sin(along) * math.sin(round_it), math.cos(along)]
    place = [draw(st.floats(-0.5, 0.5)) for _ in range(3)]
    text = ELBOW.replace("flow_in: 20 L/s", flow).replace("0.3, 0, 0.2 m", f"{', '.join(f'{x:.4f}' for x in place)} m")
    text = text.replace(
        "outward: [0, 0, 1], bore: 80 mm",
        f"outward: [{', '.join(f'{x:.9f}' for x in way)}], bore: {draw(st.floats(40, 160)):.2f} mm",
    )
    text = text.replace("pressure: 900 kPa", f"pressure: {draw(st.floats(50, 3000)):.2f} kPa")
    text = text.replace("run: {", f"run: {{dynamic_factor: {draw(st.floats(1.0, 3.0)):.3f}, ")
    return text.replace(
        "pressure: 880 kPa", f"pressure: {draw(st.floats(50, 3000)):.2f} kPa, beta: {draw(st.floats(1.0, 1.3)):.3f}"
    )


@given(fittings(flows=True))
def test_with_a_hose_the_joint_gets_no_thrust_of_its_opening_at_all(text):
    """Whatever the direction, place, flow and factors: what is left is the inlet's own thrust, along the axis of the joint."""
    study = parse_case(text, "t.yaml")
    result = assess(study).cases["run"]
    pulls = pulls_if_loose(study, result)
    assert list(pulls) == ["outlet"]
    after = then_with(study, next(iter(study.supports), "bolts alone"), "run", pulls)
    size = float(result.openings["inlet"].thrust) + float(result.openings["outlet"].thrust)
    own = float(result.openings["inlet"].thrust) * study.openings["inlet"].outward
    assert np.allclose(after.reaction_force, own, rtol=0.0, atol=1e-9 * size)
    assert np.allclose(after.reaction_moment, 0.0, rtol=0.0, atol=1e-9 * size)
    # by hand, p A + beta rho Q v times the factor
    out, case = result.openings["outlet"], study.cases["run"]
    area = float(study.openings["outlet"].area)
    stream = float(case.states["outlet"].beta) * 1000.0 * float(out.flow) ** 2 / area
    hand = (float(case.states["outlet"].pressure) * area + stream) * float(case.dynamic_factor)
    assert pulls["outlet"] == pytest.approx(hand, rel=1e-9)


@given(fittings(flows=False))
def test_where_nothing_flows_the_pull_does_what_a_cap_does(text):
    study = parse_case(text, "t.yaml")
    after = then_with(
        study, next(iter(study.supports), "bolts alone"), "run", pulls_if_loose(study, assess(study).cases["run"])
    )
    capped = judged(re.sub(r"outlet: \{pressure: [^}]*\}", "outlet: capped", text)).cases["run"]
    size = float(np.linalg.norm(capped.reaction_force))
    for what in ("reaction_force", "reaction_moment"):
        assert np.allclose(getattr(after, what), getattr(capped, what), rtol=0.0, atol=1e-8 * size)
    for what in ("axial_demand", "shear", "bending", "torsion", "external_tension", "bolt_shear"):
        now, there = getattr(after.joints["main"], what), getattr(capped.joints["main"], what)
        assert np.allclose(now, there, rtol=0.0, atol=1e-8 * size)


# -- the words ---------------------------------------------------------------------------------------------------------


def test_a_hose_is_not_said_to_hold_nothing():
    result = judged(ELBOW)
    (line,) = [each for each in result.assumptions if each.startswith("The pipe that goes on")]
    holds_nothing, _, belongs = line.partition("supports of this file take all")
    assert "a hose" not in holds_nothing
    assert "untied bellows" in holds_nothing
    assert "a hose" in belongs
    assert "hose" not in in_short(result.assumptions)
    assert "behind an untied bellows" in in_short(result.assumptions)


def test_the_starters_tell_all_alike_what_a_hose_does():
    folder = Path(str(importlib.resources.files("anchorsize"))) / "casefile" / "starters"
    told_by = {
        re.search(r"# The pipe beyond a connected[\s\S]*?capped\.", each.read_text())[0]
        for each in folder.glob("*.yaml")
    }
    assert len(told_by) == 1
    assert "untied bellows; a hose" in " ".join(told_by.pop().replace("#", "").split())


def test_the_sheet_tells_the_worst_case_of_an_opening_with_flow_or_without(tmp_path):
    """880 kPa and the stream push harder than 600 kPa at rest: with the hose the inlet's thrust alone is left."""
    shut = "  shut: {inlet: {flow_in: 0 L/s, pressure: 600 kPa}, outlet: {pressure: 598.04 kPa}}\n"
    result = judged(ELBOW + shut)
    plan = boltup(result)
    (end,) = plan.ends
    left = 900e3 * A100 + 1000 * 0.02**2 / A100
    assert end.then.case == "run"
    assert end.then.size == pytest.approx(left, rel=1e-9)
    assert end.pull.size == pytest.approx(PULL, rel=1e-9)
    (item,) = sheet_dict(result, plan)["ends_not_anchored"]
    words = item["words"]
    assert words.startswith("If the line beyond 'outlet' is a hose or not anchored")
    assert f"AWAY from the pipe, {left:.0f} N" in words
    page = " ".join(re.sub("<[^>]*>", " ", sheet_html(result, plan)).split())
    assert page.count("is a hose or not anchored") == 1
    path = tmp_path / "f.yaml"
    path.write_text(ELBOW + shut)
    brief = " ".join(CliRunner().invoke(main, ["check", "--brief", str(path)]).stdout.split())
    assert "Not in it: If the line beyond 'outlet' is a hose or not anchored" in brief
    # the other way round, the still case is the worst
    high = boltup(judged(ELBOW + shut.replace("600 kPa", "2 MPa").replace("598.04", "1998.04")))
    assert [each.then.case for each in high.ends] == ["shut"]


DRAGGED = """\
case_file: 1
title: tee with a hose valve
fluid: {name: water, density: 1000 kg/m^3}
openings:
  pump: {center: [0, 0, 0 mm], outward: [-1, 0, 0], bore: 82.5 mm}
  hose: {center: [350, 100, 500 mm], outward: [0, 1, 0], bore: 65 mm}
joints:
  flange:
    at: pump
    reference: [0, 0, 1]
    bolts: {count: 8, size: M16, circle: 160 mm, first_at: 22.5 deg}
    stiffness: {axial: 60 MN/m, shear: 20 MN/m, bending: 0.4 MN*m/rad, torsion: 0.6 MN*m/rad}
    allow: {bending: 400 N*m}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {pump: {flow_in: 12 L/s, pressure: 4.1 bar}, hose: {pressure: 4 bar}}
external: [{name: crew drags, force: [0, DRAG, 0 N], at: [350, 100, 500 mm]}]
supports:
  none: []
  strut: [{kind: strut, name: S, at: [350, 0, 400 mm], toward: [0, 1, 0], stiffness: 20 MN/m, allow: {force: 5 kN}}]
"""

HOSE_AREA = math.pi / 4 * 0.065**2
HOSE_PULL = 4e5 * HOSE_AREA + 1000.0 * 0.012**2 / HOSE_AREA
"""p·A + ρ·Q·v [N]."""


def dragged(drag: float) -> Study:
    return parse_case(DRAGGED.replace("DRAG", f"{drag}"), "f")


def test_the_comparison_says_which_options_stand_a_hose():
    """The file that writes the pull out is the reference for what the comparison says of the one without."""
    without, whole = dragged(1200.0), dragged(1200.0 + HOSE_PULL)
    (said,) = [
        line for line in verdict_lines(compare(without)) if line.startswith("NOT COUNTED: if the line beyond 'hose'")
    ]
    holding = [option.name for option in compare(whole).options if option.holds]
    assert holding == ["strut"]
    assert [option.name for option in compare(without).options if option.holds] == ["none", "strut"]
    assert f"up to {HOSE_PULL:,.0f} N, in 'run'; with that 'none' FAILS, 'strut' holds." in said
    assert not [line for line in verdict_lines(compare(whole)) if line.startswith("NOT COUNTED")]


def test_a_finding_says_what_fails_with_the_pull_and_what_stands_there_already():
    (told,) = [each.message for each in assess(dragged(1200.0), "none").warnings if each.kind == "line not anchored"]
    assert (
        f"p·A + ρ·Q·v = {HOSE_PULL:.0f} N (beside the 1200 N outward that external has there; where those are part of it"
        in told
    )
    whole = assess(dragged(1200.0 + HOSE_PULL), "none").cases["run"]
    (bending,) = [float(check.utilization) for check in whole.checks if check.check == "joint bending"]
    assert f"With it joint bending of 'flange' FAILS in 'run': utilization {bending:.3g} in place of " in told
    (told,) = [each.message for each in assess(dragged(0.0), "strut").warnings if each.kind == "line not anchored"]
    assert "FAILS" not in told
    assert "beside the" not in told


@pytest.mark.parametrize(
    ("place", "counted"), [("[350, 100, 500 mm]", True), ("[350, 400, 500 mm]", True), ("[350, 400, 560 mm]", False)]
)
def test_a_pull_in_line_with_the_opening_counts_wherever_it_is_written(place: str, counted: bool):
    """A force moves along its line of action; one 60 mm beside it, out of the 65 mm bore, is another load."""
    study = parse_case(DRAGGED.replace("DRAG", f"{HOSE_PULL}").replace("at: [350, 100, 500 mm]", f"at: {place}"), "f")
    kinds = {each.kind for each in assess(study, "strut").warnings}
    assert ("line not anchored" in kinds) != counted


# --- a pull that stays as given while flow and pressure change -------------------------------------------------------

HELD = f"external: [{{name: hose, force: [0, 0, {PULL} N], at: [0.3, 0, 0.2 m], cases: [run]}}]\n"


@pytest.mark.parametrize(
    "asked",
    [
        ["limits"],
        ["curve", "--case", "run", "--to", "30 L/s"],
        ["curve", "--case", "run", "--to", "30 L/s", "--pressure", "square"],
    ],
)
def test_limits_and_a_curve_tell_of_a_hose_whose_pull_they_hold(tmp_path, asked):
    path = tmp_path / "t.yaml"
    for text, says in (
        (ELBOW + HELD, True),
        (ELBOW, False),
        (ELBOW + HELD.replace("0.2 m]", "0.2 m], note: a rest").replace("[0, 0, ", "[0, 0, -"), False),
    ):
        path.write_text(text)
        ended = CliRunner().invoke(main, [asked[0], str(path), *asked[1:]])
        words = " ".join(ended.stdout.split())
        assert ended.exit_code == 0, words
        assert ("held as given, whatever flow and pressure" in words) is says
        if says:
            told = words[words.index("Loads from outside are held") :]
            assert newtons(told[: told.index("outward")])[0] == pytest.approx(PULL, rel=5e-4)  # to four figures
            assert "outward at 'outlet' in 'run'" in told


def straight_pull(pressure):
    return pressure * A100 + 1000 * 0.02**2 / A100


def with_hose(pressure, pull):
    text = STRAIGHT.replace("bolt_tension: 160 MPa", "bolt_tension: 8 MPa").replace(
        "900 kPa", f"{pressure * 900 / 880} Pa"
    )
    return (
        text.replace("880 kPa", f"{pressure} Pa")
        + f"external: [{{name: hose, force: [{pull}, 0, 0 N], at: [0.4, 0, 0 m]}}]\n"
    )


def test_what_holds_with_the_pull_held_fails_with_its_own():
    """What the words warn of, on the straight one: the pull of the hose is all that its joint holds, and it grows with the pressure."""
    study = parse_case(with_hose(880e3, straight_pull(880e3)), "t.yaml")
    top = limits_dict(limits(study, Ask(points=0)))["cases"]["run"]
    assert top["pulls_held_N"] == {"outlet": pytest.approx(straight_pull(880e3), rel=1e-9)}
    within = 0.98 * top["pressure_Pa"] * 880 / 900
    assert within > 880e3
    assert judged(with_hose(within, straight_pull(880e3))).verdict == "holds"
    assert judged(with_hose(within, straight_pull(within))).verdict == "fails"


# --- two lines at once -------------------------------------------------------------------------------------------------

FORK = """\
case_file: 1
title: fork on a header (invented)
fluid: {name: water, density: 1000 kg/m^3}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  left: {center: [0.3, 0.2, 0 m], outward: [0.6, 0.8, 0], bore: 80 mm}
  right: {center: [0.3, -0.2, 0 m], outward: [0.6, -0.8, 0], bore: 80 mm}
joints:
  main: {at: inlet, bolts: {count: 8, size: M16, circle: 180 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  shut: {inlet: {flow_in: 0 L/s, pressure: 600 kPa}, left: {flow_out: 0 L/s, pressure: 600 kPa}, right: {pressure: 600 kPa}}
"""


def test_lines_that_pull_at_once_are_told_where_they_are_worse_than_each():
    """With both lines pulling all that is left is the thrust at the inlet; with one, the other's thrust goes against it."""
    result = judged(FORK)
    plan = boltup(result)
    assert [end.openings for end in plan.ends] == [("left",), ("right",), ("left", "right")]
    one, _, both = plan.ends
    assert one.then.size == pytest.approx(600e3 * math.hypot(A100 - 0.6 * A80, 0.8 * A80), rel=1e-9)
    assert both.then.size == pytest.approx(600e3 * A100, rel=1e-9)
    assert both.pull.size == pytest.approx(600e3 * 1.2 * A80, rel=1e-9)
    words = sheet_dict(result, plan)["ends_not_anchored"][-1]["words"]
    assert words.startswith(
        "If the lines beyond 'left' and 'right' are hoses or not anchored, both at once: AWAY from the pipe, "
    )
    assert newtons(words)[0] == pytest.approx(600e3 * A100, rel=5e-4)


def test_lines_that_take_from_each_other_are_told_alone():
    """Against each other, on a tee whose inlet has no thrust to speak of: both pulling cancel, each alone is the worst."""
    tee = (
        FORK.replace("[0.6, 0.8, 0]", "[0, 1, 0]")
        .replace("[0.6, -0.8, 0]", "[0, -1, 0]")
        .replace("bore: 100 mm", "bore: 20 mm")
    )
    assert [end.openings for end in boltup(judged(tee)).ends] == [("left",), ("right",)]


def test_of_many_lines_each_and_all_are_looked_at():
    names = [f"n{i}" for i in range(8)]
    text = FORK.replace(
        "  left:",
        "".join(f"  {n}: {{center: [0.3, 0, 0.1 m], outward: [1, 0, 0], bore: 10 mm}}\n" for n in names) + "  left:",
    )
    text = text.replace(
        "right: {pressure",
        "".join(f"{n}: {{flow_out: 0 L/s, pressure: 600 kPa}}, " for n in names) + "right: {pressure",
    )
    sets = [end.openings for end in boltup(judged(text)).ends]
    assert len(sets) == 11
    assert set(sets[-1]) == {*names, "left", "right"}
