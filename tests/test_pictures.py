"""Pictures: what is drawn stands where geometry and statics put it, to the scale that the picture itself states."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg

from anchorsize.assessment import assess
from anchorsize.assessment.results import SupportResult
from anchorsize.casefile import parse_case, read_case
from anchorsize.mechanics import contact
from anchorsize.present.pictures import bolt_alt, bolt_view, face_alt, face_view, fitting_alt, fitting_view, render
from anchorsize.present.pictures.face import pressure_plane
from anchorsize.present.pictures.labels import spread
from anchorsize.present.pictures.style import SETTINGS, clean, nice
from anchorsize.study import Support
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parents[1] / "examples"
ODD = "$x_1$ <b>& \U0001f525 \\frac{1}{2}"
KINDS = ("hanger", "rest", "guide", "strut", "tie", "thrust_block", "spring_hanger", "anchor")
POUND = 0.45359237 * 9.80665  # N per lbf, exact by definition


def assessed(name):
    return assess(read_case(EXAMPLES / f"{name}.yaml"))


@pytest.fixture(scope="module")
def terrace():
    return assessed("terrace_elbow")


@pytest.fixture(scope="module")
def wye():
    return assessed("wye_missing_bolt")


@pytest.fixture(scope="module")
def monitor():
    return assessed("monitor_head")


@pytest.fixture(scope="module")
def lifted():
    """The wye with bolts hardly tightened: part of its face lifts off in the hydrostatic test."""
    text = (EXAMPLES / "wye_missing_bolt.yaml").read_text()
    return assess(parse_case(text.replace("torque: 210 N*m", "torque: 30 N*m"), "lifted"))


# --- reading a picture --------------------------------------------------------------------------------------------------------


def named(figure, label):
    """What is drawn under a name."""
    return [each for each in figure.artists if each.get_label() == label]


def labels_of(figure, start):
    return [each.get_label() for each in figure.artists if each.get_label().startswith(start)]


def texts(figure):
    return [each.get_text() for each in figure.texts]


def arrow_of(figure, name):
    """Tail and tip of an arrow, in the picture's lengths."""
    (shaft,), (head,) = named(figure, f"{name}: shaft"), named(figure, f"{name}: head")
    return shaft.get_xydata()[0], head.get_xy()[0]


def per_force(figure, unit=1.0):
    """Length that the picture's own bar gives to one newton; ``unit`` [N] is what its label counts in."""
    (bar,) = named(figure, "scale of forces")
    length = bar.get_xydata()[1, 0] - bar.get_xydata()[0, 0]
    (label,) = [t for t in texts(figure) if re.fullmatch(r"[\d.]+ (N|kN|lbf)", t)]
    number, word = label.split()
    return length / (float(number) * {"N": 1.0, "kN": 1e3, "lbf": unit}[word])


def area_of(patch):
    """Area of a compound path by the shoelace formula, holes taken off."""
    total, path = 0.0, patch.get_path()
    for ring in path.to_polygons(closed_only=True):
        x, y = ring[:-1].T
        total += 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return total


# --- the fitting --------------------------------------------------------------------------------------------------------------


def test_side_view_draws_forces_to_the_scale_of_its_bar(terrace):
    figure, result = fitting_view(terrace, "full flow", "side"), terrace.cases["full flow"]
    page = [0, 2]  # x to the right, z upward
    scale = per_force(figure)
    inlet, outlet = (float(result.openings[name].thrust) for name in ("inlet", "outlet"))
    reaction = result.joints["main"].reaction_force[page]
    expected = {
        "thrust of inlet": np.array([inlet, 0.0]),
        "thrust of outlet": outlet * np.array([-0.5, 0.866]) / math.hypot(0.5, 0.866),
        "weight": np.array([0.0, -(9.4 + 2.1e-3 * float(terrace.study.fluid.density)) * 9.80665]),
        "reaction at main": reaction,
    }
    for name, force in expected.items():
        tail, tip = arrow_of(figure, name)
        # the bar is drawn between two places kept in floating point: no rounding of figures enters
        assert tip - tail == pytest.approx(scale * force, abs=1e-9 * scale * inlet), name
    assert arrow_of(figure, "thrust of inlet")[0] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert arrow_of(figure, "thrust of outlet")[1] == pytest.approx([210.0, -120.0])  # comes from outside, in mm
    assert arrow_of(figure, "reaction at main")[0] == pytest.approx([0.0, 0.0], abs=1e-9)


def test_forces_of_a_closed_picture_add_up_to_nothing(monitor):
    figure = fitting_view(monitor, "full throw", "flange")
    names = ["thrust of nozzle", "reaction at base"]  # thrust of the riser and weight stand on the page
    total = sum(tip - tail for tail, tip in (arrow_of(figure, name) for name in names))
    assert total == pytest.approx([0.0, 0.0], abs=1e-9)
    tail, tip = arrow_of(figure, "thrust of nozzle")
    thrust = float(monitor.cases["full throw"].openings["nozzle"].thrust)
    seen = thrust * math.hypot(0.62, 0.35) / math.hypot(0.62, 0.35, 0.70)
    assert math.hypot(*(tip - tail)) / per_force(figure, POUND) == pytest.approx(seen, rel=1e-12)


def test_weight_acts_at_the_common_center_of_fitting_and_contents(terrace):
    figure = fitting_view(terrace, "full flow", "side")
    water = 2.1e-3 * float(terrace.study.fluid.density)
    center = (9.4 * np.array([90.0, -30.0]) + water * np.array([80.0, -20.0])) / (9.4 + water)
    assert arrow_of(figure, "weight")[0] == pytest.approx(center, rel=1e-12)
    drained = fitting_view(terrace, "drained", "side")
    assert arrow_of(drained, "weight")[0] == pytest.approx([90.0, -30.0])
    assert "weight of fitting\n92.18 N" in texts(drained)  # 9.4 kg × 9.80665 m/s²


@pytest.mark.parametrize(("force", "words"), [("[0, 40, 0 N]", "away from you"), ("[0, -40, 0 N]", "toward you")])
def test_a_force_along_the_line_of_sight_is_a_mark_and_words(force, words):
    text = (EXAMPLES / "terrace_elbow.yaml").read_text().replace("[0, 40, 0 N]", force)
    figure = fitting_view(assess(parse_case(text, "t")), "full flow", "side")
    assert f"hose pull\n40 N {words}" in texts(figure)
    assert named(figure, "hose pull: end on")
    assert not named(figure, "hose pull: shaft")
    assert any("seen from\u00a0−y" in text for text in texts(figure))


def test_marks_of_two_forces_at_one_place_stand_side_by_side():
    text = ELBOW.replace("[0.2, 0, 0.2 m], outward: [0, 0, 1]", "[0.2, 0, 0 m], outward: [1, 0, 0]")
    figure = fitting_view(assess(parse_case(text, "t")), "run", "flange")  # a straight piece seen along its axis
    middles = []
    for name, words in (("inlet", "toward you"), ("outlet", "away from you")):
        (mark,) = named(figure, f"thrust of {name}: end on")
        middles.append(mark.get_xy()[:-1].mean(axis=0))
        assert any(text.startswith(f"thrust of {name}\n") and text.endswith(words) for text in texts(figure))
    wide = np.ptp(mark.get_xy()[:, 0])
    assert np.hypot(*np.subtract(*middles)) > wide


def test_moments_turn_on_the_page_as_the_right_hand_rule_says(terrace, wye):
    # seen from −y the eye looks along +y, so a moment along −y turns counter-clockwise; from above, one along +z does
    for assessment, case, eye in ((terrace, "full flow", [0, -1, 0]), (wye, "both branches", [0, 0, 1])):
        (joint,) = assessment.cases[case].joints
        moment = assessment.cases[case].joints[joint].reaction_moment @ np.array(eye)
        (arc,) = named(fitting_view(assessment, case, "side"), f"reaction at {joint}: turning")
        steps = np.diff(arc.get_xydata(), axis=0)
        turning = np.sum(steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0])
        assert np.sign(turning) == np.sign(moment)


def test_openings_are_lines_across_their_bore(terrace):
    (outlet,) = named(fitting_view(terrace, "full flow", "side"), "opening outlet")
    rim = outlet.get_xydata()
    assert np.max(np.hypot(*(rim - [210.0, -120.0]).T)) == pytest.approx(31.0, rel=1e-3)
    along = np.array([0.5, -0.866]) / math.hypot(0.5, 0.866)
    assert (rim - [210.0, -120.0]) @ along == pytest.approx(np.zeros(len(rim)), abs=1e-6)


def test_the_view_follows_the_fitting(terrace, wye, monitor):
    assert {"x [mm]", "z [mm]"} <= set(texts(fitting_view(terrace, "full flow", "side")))
    flat = texts(fitting_view(wye, "both branches", "side"))
    assert {"x [mm]", "y [mm]"} <= set(flat)
    assert any("plan view, from above" in text for text in flat)
    upright = texts(fitting_view(monitor, "full throw", "side"))
    assert "z [in]" in upright
    assert "along (0.89, 0.45, 0.00) [in]" in upright  # the nozzle stands off by 10 and 5 in
    assert {"−y [in]", "x [in]"} <= set(texts(fitting_view(monitor, "full throw", "flange")))


def test_a_case_without_loads_says_so_and_draws_no_arrow():
    idle = assess(parse_case(BLANK_FLANGE.replace("10 bar", "0 bar"), "idle"))
    figure = fitting_view(idle, "test", "side")
    assert not [each for each in figure.artists if each.get_label().endswith((": shaft", "scale of forces"))]
    assert any("No force acts on the fitting" in text for text in texts(figure))
    assert "No force acts" in fitting_alt(idle, "test", "side")
    assert "no load acts" in "\n".join(texts(bolt_view(idle, "test", "main"))).lower()


def test_what_has_no_single_place_is_named_instead_of_drawn():
    text = ELBOW.replace(
        "pressure: 60 kPa}, outlet: free_jet",
        "pressure: 60 kPa, flow_change: -5 L/s**2}, outlet: {exit: free_jet, flow_change: 5 L/s**2}",
    )
    said = "\n".join(texts(fitting_view(assess(parse_case(text, "t")), "run", "side")))
    # ρ Σ (dQ/dt) r = 1000 · 0.005 · (0.2, 0, 0.2): 1.414 N
    assert "Not drawn, for it has no single place: flow change, 1.414 N." in said


# --- a fitting of a shape -----------------------------------------------------------------------------------------------------

GOOSENECK = """\
case_file: 1
title: tank-filling gooseneck (invented)
fluid: {name: water}
fitting:
  shape:
    direction: [0, 0, 1]
    bore: 159.3 mm
    wall: 4.5 mm
    material_density: 7850 kg/m^3
    parts:
      - {kind: elbow, turn: 90 deg, toward: [1, 0, 0], radius: 229 mm, before: 171 mm, after: 571 mm}
      - {kind: reducer, length: 140 mm, end_bore: 125 mm, after: 470 mm}
      - {kind: elbow, turn: 90 deg, toward: [0, 0, -1], radius: 190 mm, after: 110 mm}
joints:
  riser:
    at: inlet
    reference: [1, 0, 0]
    bolts: {count: 8, size: M20, circle: 240 mm}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {inlet: {flow_in: 70 L/s, pressure: 22 kPa}, outlet: free_jet}
external:
  - {name: wind, force: [0, 300, 0 N], at: [0.8, 0, 0.4 m]}
  - {name: rope, force: [0, 100, 300 N], at: [1.4, 0, 0.4 m]}
"""
MANIFOLD = """\
case_file: 1
title: mitered manifold (invented)
fluid: {name: water}
fitting:
  shape:
    bore: 100 mm
    wall: 5 mm
    material_density: 7850 kg/m^3
    parts:
      - {kind: mitered_elbow, turn: 90 deg, toward: [0, 0, 1], radius: 150 mm, cuts: 1, before: 100 mm, after: 100 mm}
      - {kind: tee, length: 300 mm, branch_bore: 60 mm, branch_length: 200 mm, toward: [1, 0, 0]}
      - {kind: cap, thickness: 12 mm}
joints:
  main: {at: inlet, reference: [0, 0, 1], bolts: {count: 8, size: M16, circle: 180 mm}}
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  run: {inlet: {flow_in: 20 L/s, pressure: 100 kPa}, branch: free_jet}
"""


@pytest.fixture(scope="module")
def gooseneck():
    return assess(parse_case(GOOSENECK, "gooseneck"))


def within_body(figure, points):
    """Whether places (n, 2) lie in the body that is drawn, in the picture's lengths."""
    (patch,) = named(figure, "body")
    rings = [mpl.path.Path(ring) for ring in patch.get_path().to_polygons(closed_only=True)]
    return np.any([ring.contains_points(points) for ring in rings], axis=0)


def gooseneck_outside(off):
    """Places [mm] ``off`` the outside of the gooseneck, by hand: legs, quarter circles and a cone, both sides."""
    turn = np.radians(np.arange(0.0, 91.0, 3.0))[:, None]
    places = []
    for side in (-1.0, 1.0):
        large, small = side * (0.5 * 168.3 + off), side * (0.5 * 134.0 + off)
        places.append([[large, z] for z in (20.0, 80.0, 171.0)])
        places.append([229.0, 171.0] + (229.0 - large) * np.concatenate([-np.cos(turn), np.sin(turn)], axis=1))
        places.append([[x, 400.0 + large] for x in (229.0, 500.0, 800.0)])
        places.append([[870.0, 400.0 + 0.5 * (large + small)]])  # half way along the reducer
        places.append([[x, 400.0 + small] for x in (940.0, 1200.0, 1410.0)])
        places.append([1410.0, 210.0] + (190.0 + small) * np.concatenate([np.sin(turn), np.cos(turn)], axis=1))
        places.append([[1600.0 + small, z] for z in (210.0, 150.0, 110.0)])
    return np.concatenate([np.array(each) for each in places])


def test_a_fitting_of_a_shape_is_drawn_along_its_centerline_to_its_outside(gooseneck):
    figure = fitting_view(gooseneck, "run", "side")
    # chords of an arc of 16 stand off by up to (229 + 84) mm · (1/cos 2.8° − 1) = 0.4 mm
    assert np.all(within_body(figure, gooseneck_outside(-0.5)))
    assert not np.any(within_body(figure, gooseneck_outside(0.5)))
    said = " ".join(texts(figure))
    assert "sketch" not in said
    assert "Pipe, places and forces are to scale" in said


def test_without_a_shape_the_outline_is_said_to_be_a_sketch(terrace):
    assert "The outline between the openings is a sketch" in " ".join(texts(fitting_view(terrace, "full flow", "side")))


def test_miters_branches_and_caps_of_a_shape_are_drawn_where_they_are():
    figure = fitting_view(assess(parse_case(MANIFOLD, "manifold")), "run", "side")
    # the miter's axes meet 100 + 150 tan 45° from the inlet, its corner is a bore and a wall beyond; the tee's axes meet at
    # 150 + 100 + 150 above it, and the plate ends at 150 + 100 + 300 + 12
    inside = [
        (304.0, -54.0),
        (196.0, 54.0),
        (440.0, 434.0),
        (440.0, 366.0),
        (449.0, 400.0),
        (250.0, 561.0),
        (196.0, 561.0),
    ]
    beyond = [
        (306.0, -56.0),
        (194.0, 56.0),
        (440.0, 436.0),
        (440.0, 364.0),
        (451.0, 400.0),
        (250.0, 563.0),
        (194.0, 561.0),
    ]
    assert np.all(within_body(figure, np.array(inside)))
    assert not np.any(within_body(figure, np.array(beyond)))


def test_a_pipe_without_a_wall_is_as_wide_as_its_bore():
    text = GOOSENECK.replace("    wall: 4.5 mm\n    material_density: 7850 kg/m^3\n", "")
    figure = fitting_view(assess(parse_case(text, "t")), "run", "side")
    wide = 0.5 * 159.3
    assert np.all(within_body(figure, np.array([(wide - 0.5, 80.0), (0.5 - wide, 80.0), (500.0, 399.5 + wide)])))
    assert not np.any(within_body(figure, np.array([(wide + 0.5, 80.0), (-0.5 - wide, 80.0), (500.0, 400.5 + wide)])))


def struck(box, start, end):
    """Whether a line runs through a box, all in pixels."""
    places = start + np.linspace(0.0, 1.0, 400)[:, None] * (end - start)
    return bool(np.any(np.all((places > [box.x0, box.y0]) & (places < [box.x1, box.y1]), axis=1)))


@pytest.mark.parametrize("name", ["terrace_elbow", "wye_missing_bolt", "monitor_head", "booster_elbow", "gooseneck"])
def test_no_arrow_runs_through_a_label(name, gooseneck):
    judged = gooseneck if name == "gooseneck" else assessed(name)
    for case, view in itertools.product(judged.cases, ("side", "flange")):
        figure = fitting_view(judged, case, view)
        canvas = FigureCanvasAgg(figure)
        boxes = [(each.get_text(), each.get_window_extent(canvas.get_renderer())) for each in figure.texts]
        for shaft in (each for each in figure.artists if each.get_label().endswith(": shaft")):
            ends = shaft.get_transform().transform(shaft.get_xydata())
            for text, box in boxes:
                assert not struck(box, *ends), (case, view, shaft.get_label(), text)


@pytest.mark.parametrize("name", ["terrace_elbow", "wye_missing_bolt", "monitor_head", "gooseneck"])
def test_a_figure_is_the_whole_force_and_its_part_in_view_stands_beside_it(name, gooseneck):
    judged = gooseneck if name == "gooseneck" else assessed(name)
    unit = {"N": 1.0, "kN": 1e3, "lbf": POUND}
    for case, view in itertools.product(judged.cases, ("side", "flange")):
        figure = fitting_view(judged, case, view)
        for joint, result in judged.cases[case].joints.items():
            if not named(figure, f"reaction at {joint}: shaft"):
                continue
            (text,) = [each for each in texts(figure) if each.startswith(f"reaction at {joint}\n")]
            figures = [float(n) * unit[u] for n, u in re.findall(r"([\d.]+) (N|kN|lbf)", text.partition("\n")[2])]
            tail, tip = arrow_of(figure, f"reaction at {joint}")
            seen = math.hypot(*(tip - tail)) / per_force(figure, POUND)
            # four figures are shown
            assert figures[0] == pytest.approx(float(np.linalg.norm(result.reaction_force)), rel=5.1e-4)
            assert figures[-1] == pytest.approx(seen, rel=5.1e-4)
            assert text.endswith(" in view") == (len(figures) == 2)


def test_a_force_that_hardly_leans_has_its_part_in_view(gooseneck):
    # 300 N along z and 100 N out of the page: √(300² + 100²) = 316.2 N
    assert "rope\n316.2 N, 300 N in view" in texts(fitting_view(gooseneck, "run", "side"))


@pytest.mark.parametrize(("moment", "drawn"), [(7.0, True), (1e-2, False)])
def test_a_moment_that_is_next_to_nothing_is_not_drawn(moment, drawn):
    """Under a thousandth of greatest force × size: the thrust of the elbow is over 100 N, its openings are 0.2 m apart."""
    judged = supported("anchor", np.array([0.0, 0.0, 9.0]), np.array([0.0, moment, 0.0]))
    assert max(float(each.thrust) for each in judged.cases["run"].openings.values()) > 100.0
    figure = fitting_view(judged, "run", "side")
    assert bool(named(figure, "force of S_1: turning")) is drawn
    assert any(each.startswith("moment of S_1") for each in texts(figure)) is drawn


# --- supports -----------------------------------------------------------------------------------------------------------------


def supported(kind, force, moment=None):
    """The elbow with one support that was found to push with a force [N]; ``moment`` [N·m] for an anchor."""
    base = assess(parse_case(ELBOW, "t"))
    support = Support(name="S_1", kind=kind, at=np.array([0.15, 0.0, 0.05]), toward=np.array([0.0, 0.0, 1.0]))
    nothing = np.zeros(())
    found = SupportResult(support, force, nothing, np.zeros(3), nothing, nothing, np.zeros((), dtype=np.int8), moment)
    case = dataclasses.replace(base.cases["run"], supports={"S_1": found})
    study = dataclasses.replace(base.study, supports={"one": (support,)})
    return dataclasses.replace(base, study=study, option="one", cases={"run": case})


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("direction", ["side", "flange"])
def test_every_kind_of_support_has_a_sign_a_name_and_its_force(kind, direction):
    force = np.array([20.0, -10.0, 150.0])
    judged = supported(kind, force)
    figure = fitting_view(judged, "run", direction)
    assert f"S_1 ({kind.replace('_', ' ')})" in texts(figure)
    tail, tip = arrow_of(figure, "force of S_1")
    page = [0, 2] if direction == "side" else [1, 2]
    assert tail == pytest.approx(1e3 * judged.study.supports["one"][0].at[page])
    assert tip - tail == pytest.approx(per_force(figure) * force[page], rel=1e-9)
    without = dataclasses.replace(judged, study=dataclasses.replace(judged.study, supports={}))
    assert len(figure.artists) > len(fitting_view(without, "run", direction).artists)
    assert f"S_1 ({kind.replace('_', ' ')})" in fitting_alt(judged, "run", direction)


def test_signs_of_the_kinds_differ():
    pictures = {kind: render(fitting_view(supported(kind, np.zeros(3)), "run", "side"), "svg") for kind in KINDS}
    nameless = {re.sub(rb"<text.*?</text>", b"", each, flags=re.DOTALL) for each in pictures.values()}
    assert len(nameless) == len(KINDS)


def test_moment_of_an_anchor_is_drawn():
    figure = fitting_view(supported("anchor", np.array([0.0, 0.0, 9.0]), np.array([0.0, 7.0, 0.0])), "run", "side")
    assert "moment of S_1\n7 N·m in this plane" in texts(figure)


def test_forces_of_supports_that_were_judged_come_from_the_assessment():
    text = ELBOW + "supports:\n  springy:\n    - {kind: spring_hanger, name: SH, at: [0.1, 0, 0.1 m], set_load: 60 N}\n"
    figure = fitting_view(assess(parse_case(text, "t")), "run", "side")
    tail, tip = arrow_of(figure, "force of SH")
    assert (tip - tail) / per_force(figure) == pytest.approx([0.0, 60.0], abs=1e-9)


# --- bolts --------------------------------------------------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(st.floats(0.0, 359.0), st.integers(3, 16))
def test_a_bolt_stands_at_its_clock_position(angle, count):
    text = ELBOW.replace("count: 4", f"count: {count}").replace("first_at: 45 deg", f"first_at: {angle!r} deg")
    figure = bolt_view(assess(parse_case(text, "t")), "run", "main")
    for i in range(count):
        (marker,) = named(figure, f"bolt {i + 1}")
        turned = math.radians(angle) + 2.0 * math.pi * i / count  # clockwise from the top of the page
        middle = marker.get_xy()[:-1].mean(axis=0)
        assert middle == pytest.approx([80.0 * math.sin(turned), 80.0 * math.cos(turned)], abs=1e-9)


def test_bolts_that_are_there_are_marked_and_the_missing_one_is_said(wye):
    figure = bolt_view(wye, "both branches", "header flange")
    assert sorted(labels_of(figure, "bolt ")) == [f"bolt {n}" for n in (1, 2, 4, 5, 6, 7, 8)]
    (lost,) = named(figure, "missing bolt 3")
    assert lost.get_linestyle() != "-"
    # bolt 3 is at 22.5° + 2 · 45° = 112.5°, which is 3:45 on the clock
    assert "bolt 3 at 3:45 missing" in texts(figure)
    assert "7 bolts, bolt 3 missing" in bolt_alt(wye, "both branches", "header flange")
    assert "3 missing" in texts(face_view(wye, "both branches", "header flange"))


def bar(figure, number):
    """Length of a tension bar, negative where it points to the middle."""
    (patch,) = named(figure, f"tension of bolt {number}")
    corners = patch.get_xy()
    start, end = corners[[0, 3]].mean(axis=0), corners[[1, 2]].mean(axis=0)
    return math.hypot(*(end - start)) * np.sign((end - start) @ start)


@pytest.mark.parametrize(("case", "unit"), [("both branches", 1.0), ("drained", 1.0), ("hydrostatic test", 1.0)])
def test_bars_of_tension_and_arrows_of_shear_are_to_one_scale_and_balance_the_joint(wye, case, unit):
    figure, result = bolt_view(wye, case, "header flange"), wye.cases[case].joints["header flange"]
    scale = per_force(figure, unit)
    present = [1, 2, 4, 5, 6, 7, 8]
    tension = [bar(figure, number) / scale for number in present]
    assert tension == pytest.approx([float(result.external_tension[n - 1]) for n in present], rel=1e-9)
    assert sum(tension) == pytest.approx(float(result.axial_demand), abs=1e-6 * np.max(np.abs(tension)))
    drawn = [n for n in present if named(figure, f"shear of bolt {n}: shaft")]
    shear = {n: (np.subtract(*arrow_of(figure, f"shear of bolt {n}")[::-1]) / scale)[::-1] for n in drawn}  # e1, e2
    assert [np.hypot(*shear[n]) for n in drawn] == pytest.approx([float(result.bolt_shear[n - 1]) for n in drawn])
    if drawn == present:
        total = sum(shear.values())
        assert total == pytest.approx([float(result.shear1), float(result.shear2)], abs=1e-6 * np.hypot(*total))
        xy = wye.study.joints["header flange"].bolts.xy
        turn = sum(xy[n - 1, 0] * shear[n][1] - xy[n - 1, 1] * shear[n][0] for n in present)
        assert turn == pytest.approx(-float(result.torsion), rel=1e-9)


def test_shear_of_every_bolt_is_drawn_where_it_is_not_small(wye):
    assert len(labels_of(bolt_view(wye, "drained", "header flange"), "shear of bolt")) == 2 * 7


def test_the_bolt_that_governs_is_marked_in_words(wye):
    figure = bolt_view(wye, "hydrostatic test", "header flange")
    checks = [c for c in wye.cases["hydrostatic test"].checks if c.bolt is not None]
    worst = max(checks, key=lambda check: float(check.utilization))
    (note,) = [text for text in texts(figure) if text.startswith("Bar outward")]
    assert f"Bolt {int(worst.bolt)} governs: {worst.check}, {float(worst.utilization):.0%} used." in note
    (beside,) = [text for text in texts(figure) if text.startswith(f"bolt {int(worst.bolt)} at ")]
    assert beside.endswith(f"Governs:\n{worst.check}")
    assert bolt_alt(wye, "hydrostatic test", "header flange").endswith(f"{float(worst.utilization):.0%} used.")


def test_service_tension_stands_beside_each_bolt(wye):
    service = wye.cases["drained"].joints["header flange"].service.tension
    said = [text for text in texts(bolt_view(wye, "drained", "header flange")) if "service tension" in text]
    assert len(said) == 7
    assert f"service tension {service[0] / 1e3:.2f} kN" in next(text for text in said if text.startswith("bolt 1 "))


def test_us_units_reach_every_figure(monitor):
    said = "\n".join(texts(bolt_view(monitor, "full throw", "base")))
    tension = monitor.cases["full throw"].joints["base"].external_tension
    assert f"external tension {tension[7] / POUND:.1f} lbf" in said
    assert "[in]" in said
    assert " N\n" not in said


def test_free_positions_and_unequal_bolts():
    bolts = "[{x: 90 mm, y: 60 mm, size: M16}, {x: 90 mm, y: -60 mm, size: M16}, {x: -90 mm, y: -60 mm, size: M20}, {x: -90 mm, y: 60 mm, size: M20}, {x: 0 mm, y: 110 mm, size: M16}]"
    text = ELBOW.replace("{count: 4, size: M16, circle: 160 mm, first_at: 45 deg}", bolts)
    figure = bolt_view(assess(parse_case(text, "t")), "run", "main")
    middles = [named(figure, f"bolt {n}")[0].get_xy()[:-1].mean(axis=0) for n in range(1, 6)]
    # x of the file runs upward, y to the right
    assert np.stack(middles) == pytest.approx(
        np.array([[60, 90], [-60, 90], [-60, -90], [60, -90], [110, 0]], dtype=float), abs=1e-9
    )
    sizes = [np.ptp(named(figure, f"bolt {n}")[0].get_xy()[:, 1]) for n in (1, 3)]
    assert sizes == pytest.approx([16.0, 20.0])


@pytest.mark.parametrize(("count", "beside"), [(12, 12), (24, 24), (60, 5)])
def test_many_bolts_keep_their_marks_and_the_important_figures(count, beside):
    text = ELBOW.replace("count: 4, size: M16, circle: 160 mm", f"count: {count}, size: M24, circle: 1200 mm")
    judged = assess(parse_case(text, "t"))
    figure = bolt_view(judged, "run", "main")
    assert len(labels_of(figure, "bolt ")) == count
    written = [text for text in texts(figure) if re.match(r"(bolt )?\d+(:| at) ", text) and " N" in text]
    assert len(written) <= beside
    most = int(np.argmax(judged.cases["run"].joints["main"].external_tension)) + 1
    assert any(re.match(rf"(bolt )?{most}(:| at) ", text) for text in written)


# --- the face -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("torque", [210.0, 60.0, 30.0, 18.0])
def test_face_pressure_is_that_of_the_contact_solution_at_the_least_preload(torque):
    text = (EXAMPLES / "wye_missing_bolt.yaml").read_text()
    judged = assess(parse_case(text.replace("torque: 210 N*m", f"torque: {torque} N*m"), "t"))
    joint, result = judged.study.joints["header flange"], judged.cases["large branch alone"].joints["header flange"]
    plane = pressure_plane(joint.gasket, result.service)
    stiff = result.clamping.stiff
    solved = contact.solve_preloaded_joint(
        result.axial_demand,
        result.bending1,
        result.bending2,
        joint.bolts.xy,
        stiff.bolts,
        result.clamping.least,
        stiff.face,
        stiff.modulus,
    )
    rim = 0.5 * joint.gasket.outside * plane.pressed
    assert plane.at(rim) == pytest.approx(float(solved.pressure_max), rel=1e-9)
    assert plane.at(-rim) == pytest.approx(float(solved.pressure_min), rel=1e-9, abs=1e-3)


def test_pressure_over_the_ring_adds_up_to_the_clamp(wye, lifted):
    radii = np.linspace(0.5 * 0.219, 0.5 * 0.273, 401)
    radii = 0.5 * (radii[1:] + radii[:-1])
    turns = np.linspace(0.0, 2.0 * np.pi, 721)[:-1]
    places = radii[:, None, None] * np.stack([np.cos(turns), np.sin(turns)], axis=-1)
    piece = radii[:, None] * (0.5 * (0.273 - 0.219) / 400) * (2.0 * np.pi / 720)
    for judged in (wye, lifted):
        service = judged.cases["hydrostatic test"].joints["header flange"].service
        plane = pressure_plane(judged.study.joints["header flange"].gasket, service)
        pressure = plane.at(places)
        # midpoint rule over 400 × 720 pieces: good to 1e-5 across the line where the face opens
        assert np.sum(pressure * piece) == pytest.approx(float(service.clamp_least), rel=1e-5)
        moment = np.sum((pressure * piece)[..., None] * places, axis=(0, 1))
        assert moment @ plane.pressed > 0.0
        assert np.sum((pressure == 0.0) * piece) / (720 * np.sum(piece)) == pytest.approx(
            float(service.lift_off_least), abs=1e-4
        )


def test_the_part_that_lifted_off_is_hatched_and_has_its_share_of_the_ring(lifted):
    figure = face_view(lifted, "hydrostatic test", "header flange")
    share = float(lifted.cases["hydrostatic test"].joints["header flange"].service.lift_off_least)
    assert share > 0.005
    (hatched,) = named(figure, "lifted off")
    assert hatched.get_hatch()
    ring = 0.25 * math.pi * (273.0**2 - 219.0**2)
    pressed = sum(area_of(each) for each in named(figure, "pressed"))
    # circles of 72 corners lack 1.3e-3 of their area, near the edge of a thin segment more
    assert area_of(hatched) / ring == pytest.approx(share, rel=0.1)
    assert (area_of(hatched) + pressed) / ring == pytest.approx(1.0, abs=2e-3)
    assert "lifted off" in texts(figure)
    assert f"{share:.1%} of the face has lifted off" in face_alt(lifted, "hydrostatic test", "header flange")


def test_bands_of_pressure_have_a_scale_with_its_unit(wye):
    figure = face_view(wye, "both branches", "header flange")
    said = texts(figure)
    assert "pressure [MPa]" in said
    service = wye.cases["both branches"].joints["header flange"].service
    least = float(service.pressure_min_least) / 1e6
    assert any(f"with {least:.4g} MPa" in text.replace("\n", " ") for text in said)
    assert not named(figure, "lifted off")
    fills = [each.get_facecolor()[:3] for each in named(figure, "pressed")]
    assert all(len(set(fill)) == 1 for fill in fills)  # greys only
    assert [fill[0] for fill in fills] == sorted((fill[0] for fill in fills), reverse=True)


def test_a_face_that_is_off_all_round_is_hatched_all_round(lifted):
    case = lifted.cases["hydrostatic test"]
    joint = case.joints["header flange"]
    off = dataclasses.replace(
        joint.service, clamp_least=np.array(0.0), lift_off_least=np.array(1.0), pressure_min_least=np.array(0.0)
    )
    joints = {"header flange": dataclasses.replace(joint, service=off)}
    judged = dataclasses.replace(lifted, cases={"hydrostatic test": dataclasses.replace(case, joints=joints)})
    figure = face_view(judged, "hydrostatic test", "header flange")
    (hatched,) = named(figure, "lifted off")
    assert area_of(hatched) == pytest.approx(0.25 * math.pi * (273.0**2 - 219.0**2), rel=2e-3)
    assert "The whole face has lifted off" in face_alt(judged, "hydrostatic test", "header flange")


def test_no_face_picture_without_a_solution(terrace):
    assert face_view(terrace, "full flow", "main") is None
    assert face_alt(terrace, "full flow", "main") is None


# --- files and letters --------------------------------------------------------------------------------------------------------


def pictures(judged, case):
    made = {direction: fitting_view(judged, case, direction) for direction in ("side", "flange")}
    for joint in judged.cases[case].joints:
        made |= {f"bolts {joint}": bolt_view(judged, case, joint), f"face {joint}": face_view(judged, case, joint)}
    return {name: figure for name, figure in made.items() if figure is not None}


@pytest.mark.parametrize("name", ["terrace_elbow", "wye_missing_bolt", "monitor_head"])
def test_letters_stand_inside_the_picture_and_not_on_each_other(name):
    judged = assessed(name)
    for case in judged.cases:
        for view, figure in pictures(judged, case).items():
            canvas = FigureCanvasAgg(figure)
            sheet = figure.bbox
            boxes = [(t.get_text(), t.get_window_extent(canvas.get_renderer())) for t in figure.texts]
            for text, box in boxes:
                inside = min(box.x0, box.y0, sheet.x1 - box.x1, sheet.y1 - box.y1) >= 0.0
                assert inside, (case, view, text)
            for i, (text, box) in enumerate(boxes):
                for other, beside in boxes[:i]:
                    wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
                    high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
                    # a pixel of air around letters may be shared
                    assert min(wide, high) <= 1.0, (case, view, text, other)


def test_svg_is_whole_by_itself_and_the_same_every_time(wye):
    for figure_of in (
        lambda: fitting_view(wye, "both branches", "side"),
        lambda: bolt_view(wye, "both branches", "header flange"),
        lambda: face_view(wye, "both branches", "header flange"),
    ):
        first, second = (render(figure_of(), "svg") for _ in range(2))
        assert first == second
        root = ElementTree.fromstring(first)
        assert root.tag.endswith("}svg")
        assert "DOCTYPE" not in first.decode()
        for element in root.iter():
            assert not element.tag.endswith(("script", "image", "foreignObject"))
            for key, value in element.attrib.items():
                assert not key.endswith("href") or value.startswith("#")
                assert "url(" not in value or "url(#" in value


def test_pictures_may_share_a_page(wye, lifted):
    """No name inside one picture means another thing in a second one."""
    meaning = {}
    for judged in (wye, lifted):
        for case in ("both branches", "hydrostatic test"):
            for figure in pictures(judged, case).values():
                for element in ElementTree.fromstring(render(figure, "svg")).iter():
                    if "id" in element.attrib:
                        whole = ElementTree.tostring(element)
                        assert meaning.setdefault(element.attrib["id"], whole) == whole


def test_png_is_a_png_and_the_same_every_time(terrace):
    first, second = (render(bolt_view(terrace, "full flow", "main"), "png") for _ in range(2))
    assert first == second
    assert first.startswith(b"\x89PNG\r\n\x1a\n")


def test_colors_are_greys_and_one_blue(wye):
    colors = set()
    for figure in pictures(wye, "drained").values():
        colors |= set(re.findall(rb"#([0-9a-f]{6})", render(figure, "svg")))
    blues = {color for color in colors if not color[0:2] == color[2:4] == color[4:6]}
    assert blues == {b"1f5a9c"}


def odd_elbow(name):
    """The elbow with one name of the user's in every place, quoted as YAML wants it."""
    quoted = "'" + name.replace("'", "''") + "'"
    text = ELBOW.replace("title: elbow", f"title: {quoted}").replace("outlet:", f"{quoted}:")
    return assess(parse_case(text.replace("main:", f"{quoted}:").replace("run:", f"{quoted}:"), "odd"))


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_names_are_shown_as_letters_not_read_as_formulas_or_tags(kind):
    judged = odd_elbow(ODD)
    for figure in pictures(judged, ODD).values():
        picture = render(figure, kind)
        if kind == "svg":
            said = " ".join(" ".join(ElementTree.fromstring(picture).itertext()).split())
            assert ODD in said


def test_very_long_words_are_cut():
    word = "Donaudampfschifffahrtsgesellschaft" * 3
    judged = odd_elbow(word)
    said = "\n".join(texts(fitting_view(judged, word, "side")))
    assert word[:31] + "…" in said
    assert word[:32] not in said


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=60))
def test_a_cleaned_text_can_stand_in_any_picture(text):
    shown = clean(text)
    assert len(shown) <= 32
    ElementTree.fromstring("<text>" + shown.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;") + "</text>")
    shown.encode()
    assert not set(shown) & set("\n\t\x00\x07\u202e\u2066\ufffe")


def test_settings_of_the_user_come_back_and_do_not_reach_the_picture(terrace):
    plain = render(fitting_view(terrace, "full flow", "side"), "svg")
    with mpl.rc_context({"font.size": 30.0, "text.usetex": True, "svg.fonttype": "path", "savefig.bbox": "tight"}):
        before = dict(mpl.rcParams)
        assert render(fitting_view(terrace, "full flow", "side"), "svg") == plain
        assert dict(mpl.rcParams) == before
    assert SETTINGS["text.parse_math"] is False


def test_no_plotting_state_is_opened():
    code = "import sys, anchorsize.present.pictures; assert 'matplotlib.pyplot' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


def test_unknown_case_is_a_key_error(terrace):
    with pytest.raises(KeyError):
        fitting_view(terrace, "no such case", "side")


# --- small parts --------------------------------------------------------------------------------------------------------------


@given(st.floats(1e-6, 1e9))
def test_nice_is_round_and_close_below(value):
    found = nice(value)
    assert found <= value * (1 + 1e-9) < 2.5 * found * (1 + 1e-9)
    assert f"{found:.3e}"[0] in "125"


@given(st.lists(st.tuples(st.floats(0.0, 5.0), st.floats(0.1, 0.5)), min_size=1, max_size=8))
def test_spread_blocks_keep_off_each_other_and_in_order(blocks):
    heights, sizes = zip(*blocks, strict=True)
    placed = spread(heights, sizes, 0.0, 5.0)  # eight blocks of at most 0.5 always fit
    rows = sorted(zip(placed, sizes, heights, strict=True))
    for (low, below, _), (high, above, _) in itertools.pairwise(rows):
        assert high - low >= 0.5 * (below + above) - 1e-9
    for middle, size in zip(placed, sizes, strict=True):
        assert 0.5 * size - 1e-9 <= middle <= 5.0 - 0.5 * size + 1e-9


def test_a_flange_view_looks_along_the_joint_named():
    from tests.test_worked_steps import CASES

    judged = assess(parse_case(CASES["two joints"], "t"))
    first, second = judged.study.joints
    seen = {joint: texts(fitting_view(judged, "run", "flange", joint)) for joint in (first, second)}
    for joint, said in seen.items():
        assert f"flange view of joint '{joint}'" in " ".join(" ".join(said).split())
        assert f"flange view of joint '{joint}'" in fitting_alt(judged, "run", "flange", joint)
    assert render(fitting_view(judged, "run", "flange", first), "svg") != render(
        fitting_view(judged, "run", "flange", second), "svg"
    )


def test_weights_stand_in_a_note_and_a_force_too_small_for_an_arrow_in_a_list(terrace):
    """The label of several weights is short; a thrust of a thousandth of the greatest force has no arrow and no label."""
    said = texts(fitting_view(terrace, "full flow", "side"))
    assert any(each.startswith("all weights\n") for each in said)
    assert "Weights together: fitting 92.18 N" in " ".join(" ".join(said).split())
    text = (EXAMPLES / "terrace_elbow.yaml").read_text().replace("[0, 40, 0 N]", "[0, 0, 0.2 N]")
    figure = fitting_view(assess(parse_case(text, "t")), "full flow", "side")
    assert "Too small to draw to this scale: hose pull 0.2 N." in " ".join(" ".join(texts(figure)).split())
    assert not any(each.startswith("hose pull") for each in texts(figure))
