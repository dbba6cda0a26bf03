"""Fittings from their shape: against hand geometry, closed surfaces, and what an impossible one says."""

from __future__ import annotations

import math

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.assessment import StudyError, assess, evaluate
from anchorsize.casefile import CaseFileError, parse_case, starter
from anchorsize.cli import main

SHAPES = ["straight", "reducer", "nozzle", "elbow", "reducing elbow", "mitered elbow", "tee", "lateral", "cap", "chain"]
ELBOW_KEYS = "kind: elbow, turn: 90 deg, radius: 150 mm, toward: [0, 0, -1]"


def file(shape, cases="run: {inlet: {flow_in: 0 L/s, pressure: 100 kPa}, outlet: capped}", more=""):
    return f"""\
case_file: 1
title: shape
fluid: {{name: water, density: 1000 kg/m^3}}
fitting:
  shape: {{bore: 100 mm, {shape}}}
{more}
cases:
  {cases}
"""


def problems(text):
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    return [str(problem) for problem in caught.value.problems]


def test_elbow_by_hand():
    study = parse_case(file(ELBOW_KEYS + ", before: 50 mm, after: 30 mm"), "f")
    inlet, outlet = study.openings["inlet"], study.openings["outlet"]
    assert inlet.center == pytest.approx([0, 0, 0])
    assert inlet.outward == pytest.approx([-1, 0, 0])
    assert outlet.center == pytest.approx([0.2, 0, -0.18])
    assert outlet.outward == pytest.approx([0, 0, -1], abs=1e-15)
    # Pappus: the volume of a bend is its bore times its centerline
    assert study.fitting.contents == pytest.approx(math.pi / 4 * 0.1**2 * (0.05 + 0.03 + 0.15 * math.pi / 2))
    assert study.fitting.mass is None


def test_mass_of_a_straight_pipe_agrees_with_its_published_weight():
    # ASME B36.10M, NPS 4 schedule 40: 114.3 mm x 6.02 mm, 16.07 kg/m (from memory); the printed figure has two decimals
    text = file("kind: straight, length: 1 m, wall: 6.02 mm, material_density: 7850 kg/m^3").replace(
        "bore: 100 mm", "bore: 102.26 mm"
    )
    fitting = parse_case(text, "f").fitting
    assert fitting.mass == pytest.approx(16.07, abs=0.01)
    assert fitting.mass_center == pytest.approx([0.5, 0, 0])


def test_reducer_contents_are_those_of_a_frustum():
    fitting = parse_case(file("kind: reducer, length: 200 mm, end_bore: 60 mm"), "f").fitting
    big, small = 0.05, 0.03
    assert fitting.contents == pytest.approx(math.pi * 0.2 / 3 * (big**2 + big * small + small**2))


def test_a_start_and_a_direction_move_and_turn_the_whole_shape():
    here = parse_case(file(ELBOW_KEYS), "f")
    there = parse_case(
        file("kind: elbow, turn: 90 deg, radius: 150 mm, toward: [0, 0, -1], start: [1, 2, 3 m], direction: [0, 5, 0]"),
        "f",
    )
    assert there.openings["outlet"].center == pytest.approx([1, 2.15, 2.85])
    assert there.fitting.contents == pytest.approx(here.fitting.contents)


@pytest.mark.parametrize("shape", SHAPES)
def test_every_starter_can_be_checked_and_shows_what_was_built(shape, tmp_path):
    path = tmp_path / "start.yaml"
    path.write_text(starter(shape))
    result = CliRunner().invoke(main, ["check", str(path), "--width", "80"])
    assert result.exit_code in (0, 1, 3), result.output
    assert "was built from" in result.output
    assert "bore 100 mm, wall 4 mm" in result.output
    assert max(map(len, result.output.splitlines())) <= 80
    assert "gain head" not in result.output
    assert "gains head" not in result.output
    assert "#" in starter(shape)


@pytest.mark.parametrize("shape", SHAPES)
def test_uniform_pressure_on_every_capped_opening_gives_nothing_but_weight(shape):
    """Capping every opening closes the surface, on which a uniform pressure has neither force nor moment."""
    text = starter(shape)
    head = text[: text.index("joints:")]
    names = list(parse_case(text, "s").openings)
    capped = ", ".join(f"{name}: capped" for name in names)
    case = evaluate(parse_case(f"{head}\ncases:\n  shut: {{contents: empty, {capped}}}\n", "s"))["shut"]
    assert [load.source for load in case.loads] == ["fitting weight"]
    assert case.reaction_force[:2] == pytest.approx([0, 0], abs=1e-12)


@settings(deadline=None, max_examples=40)
@given(
    turn=st.floats(1.0, 180.0),
    end=st.floats(20.0, 100.0),
    up=st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: math.hypot(v[1], v[2]) > 0.1),
)
def test_equal_pressure_and_no_flow_pulls_along_the_area_vectors(turn, end, up):
    """Hand statics: at uniform pressure the joint and the outlet carry p times the outward areas, whatever the shape."""
    toward = f"[{', '.join(f'{part:.9f}' for part in up)}]"
    text = file(
        f"kind: reducing_elbow, turn: {turn!r} deg, radius: 150 mm, toward: {toward}, end_bore: {end!r} mm",
        "run: {contents: empty, inlet: {flow_in: 0 L/s, pressure: 100 kPa}, outlet: {pressure: 100 kPa}}",
    )
    study = parse_case(text, "f")
    by_hand = sum(1e5 * o.area * o.outward for o in study.openings.values())
    assert evaluate(study)["run"].reaction_force == pytest.approx(by_hand, abs=1e-9)
    assert np.linalg.norm(study.openings["outlet"].outward) == pytest.approx(1.0)


def test_branch_and_what_goes_on_from_it():
    tee = "kind: tee, length: 300 mm, toward: [0, 0, 1], branch_bore: 60 mm, branch_length: 180 mm, name: side"
    beyond = ", beyond: [{kind: elbow, turn: 90 deg, radius: 90 mm, toward: [1, 0, 0]}]"
    study = parse_case(
        file(tee + beyond, "run: {inlet: {flow_in: 0 L/s, pressure: 1 kPa}, side: capped, outlet: capped}"), "f"
    )
    assert list(study.openings) == ["inlet", "side", "outlet"]
    assert study.openings["side"].center == pytest.approx([0.15 + 0.09, 0, 0.18 + 0.09])
    assert study.openings["side"].outward == pytest.approx([1, 0, 0], abs=1e-15)


def test_an_override_of_the_turn_gives_a_batch():
    turns = np.radians([30.0, 60.0, 90.0])
    study = parse_case(file(ELBOW_KEYS), "f", overrides={"fitting/shape/turn": turns})
    assert study.openings["outlet"].center[:, 0] == pytest.approx(0.15 * np.sin(turns))
    assert evaluate(study)["run"].reaction_force.shape == (3, 3)


def test_changing_flow_in_a_straight_pipe_has_the_force_and_moment_of_its_column():
    """Hand statics: the column's mass times its deceleration, along the pipe, through the pipe's axis."""
    text = file(
        "kind: straight, length: 2 m, start: [0, 3, 0 m]",
        "run: {contents: empty, inlet: {flow_in: 1 L/s, pressure: 0 kPa, flow_change: 5 L/s^2}, "
        "outlet: {pressure: 0 kPa, flow_change: -5 L/s^2}}",
    )
    study = parse_case(text, "f")
    load = next(load for load in evaluate(study)["run"].loads if load.source == "flow change")
    assert load.force == pytest.approx([1000 * 2 * 0.005, 0, 0])
    assert load.moment == pytest.approx([0, 0, -3 * 1000 * 2 * 0.005])
    assert "flow change without moment" not in [found.kind for found in assess(study).warnings]


def test_flow_changes_that_do_not_close_are_refused():
    text = file(
        "kind: straight, length: 2 m",
        "run: {inlet: {flow_in: 1 L/s, pressure: 0 kPa, flow_change: 5 L/s^2}, outlet: free_jet}",
    )
    with pytest.raises(StudyError, match="flow_change"):
        evaluate(parse_case(text, "f"))


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        (
            "kind: elbow, turn: 90 deg, radius: 40 mm, toward: [0, 0, 1]",
            "5: fitting / shape / radius: radius is under half the bore",
        ),
        ("kind: reducer, length: 300 mm, end_bore: 50 mm, leg: 200 mm", "5: fitting / shape / leg: the taper"),
        (
            "kind: elbow, turn: 90 deg, radius: 150 mm, toward: [1, 0, 0]",
            "5: fitting / shape / toward: 'toward' must have a part across",
        ),
        (
            "kind: elbow, turn: 90 deg, radius: 150 mm",
            "fitting / shape / toward: 'toward' is missing (an elbow needs it)",
        ),
        ("kind: elbow, turn: 400 deg, radius: 150 mm, toward: [0, 0, 1]", "turn must not be over a full turn"),
        ("kind: straight, length: 1 m, radius: 3 m", "'radius' does not belong to a straight"),
        ("kind: bend", "'bend' is not one of the words known here"),
        ("turn: 90 deg", "fitting / shape / kind: 'kind' is missing"),
        ("kind: straight, length: 1 m, parts: [{kind: cap}]", "a kind and a chain of parts at once"),
        (
            "parts: [{kind: cap}, {kind: straight, length: 1 m}]",
            "fitting / shape / parts / 1: nothing can follow a cap",
        ),
        (
            "kind: tee, length: 300 mm, toward: [0, 0, 1], branch_bore: 60 mm, branch_length: 180 mm, beyond: [{kind: tee}]",
            "a branch on a branch is not built",
        ),
        ("kind: straight, length: 1 m, direction: [0, 0, 0]", "no length"),
        ("kind: straight, length: 1 m, wall: 4 mm", "'material_density' is missing"),
        ("kind: straight, length: 1 m, material_density: 7850 kg/m^3", "'wall' is missing"),
        ("kind: straight, lenght: 1 m", "unknown key 'lenght' (did you mean 'length'?)"),
        ("kind: tee, length: 300 mm, toward: [0, 0, 1], branch_bore: 150 mm, branch_length: 1 m", "wider than the run"),
        (
            "kind: tee, length: 300 mm, toward: [0, 0, 1], branch_bore: 50 mm, branch_length: 1 m, name: outlet",
            "have the name 'outlet'",
        ),
    ],
)
def test_impossible_shapes_are_said_with_their_line(shape, said):
    found = problems(file(shape))
    assert any(said in line for line in found), found


def test_an_opening_given_twice_is_said():
    more = "openings: {outlet: {center: [0, 0, 0 m], outward: [1, 0, 0], bore: 50 mm}}"
    assert any("the shape has an opening 'outlet' already" in line for line in problems(file(ELBOW_KEYS, more=more)))


def test_contents_beside_a_shape_are_said():
    text = file(ELBOW_KEYS).replace("fitting:\n", "fitting:\n  contents: 2 L\n  contents_center: [0, 0, 0 m]\n")
    assert any("contents and contents_center beside shape" in line for line in problems(text))


def test_a_broken_shape_names_only_what_is_wrong_with_it():
    text = file(
        "kind: elbow, turn: 90 deg, radius: 40 mm, toward: [0, 0, 1]",
        more="joints: {main: {at: inlet, bolts: 4 x M16 on 160 mm}}",
    )
    assert len(problems(text)) == 1
