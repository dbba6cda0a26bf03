"""Bolts, holes, gasket and flange of a joint must have room: against the drillings of the standards, and what is said if not."""

from __future__ import annotations

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli import main
from anchorsize.reference import NotInTable, thread
from anchorsize.reference.tables import load
from tests.cases import BLANK_FLANGE, ELBOW

WITHOUT_CASE = {"start", "schema", "table", "many"}  # the last takes a list and a base file
BOLTS = "{count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg}"


def file(flange: str, bolts: str = BOLTS) -> str:
    return BLANK_FLANGE.replace(BOLTS, bolts).replace("    gasket", f"    flange: {flange}\n    gasket")


def problems(text: str, overrides: dict | None = None) -> list[str]:
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f.yaml", overrides)
    assert {problem.kind for problem in caught.value.problems} == {"contradiction"}
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("flange", "bolts", "said"),
    [
        (
            "{hole: 22 mm}",
            "8 x M24 on 190 mm",
            "10: joints / main / flange / hole: '22 mm' does not let bolts M24 (24 mm thick) through (a hole is larger than its "
            "bolt; is this unit right?)",
        ),
        (
            "{hole: 3/4 in}",
            "8 x 3/4 in on 7.5 in",
            "10: joints / main / flange / hole: '3/4 in' does not let bolts 3/4 in (19.05 mm thick) through (a hole is larger than its "
            "bolt; is this unit right?)",
        ),
        (
            "EN 1092-1 PN 16 DN 100",
            "{size: M24, circle: 190 mm, count: 8}",
            "9: joints / main / bolts / size: bolts M24 (24 mm thick) do not go through the holes, 18 mm of flange 'EN 1092-1 "
            "PN 16 DN 100' (choose bolts that go through, or write flange / hole as it is drilled)",
        ),
        (
            "{hole: 18 mm}",
            "[{x: 90 mm, y: 0 mm, size: M16}, {x: -90 mm, y: 0 mm, size: M20}]",
            "10: joints / main / flange / hole: '18 mm' does not let bolts M20 (20 mm thick) through (a hole is larger than its "
            "bolt; is this unit right?)",
        ),
        (
            "{hole: 16 mm}",
            "{count: 8, circle: 180 mm, diameter: 16 mm, tensile_area: 157 mm2}",
            "10: joints / main / flange / hole: '16 mm' does not let bolts as given (16 mm thick) through (a hole is larger than "
            "its bolt; is this unit right?)",
        ),
        (
            "{outside: 196 mm}",
            BOLTS,
            "9: joints / main / bolts / circle: the bolt circle '180 mm' puts the bolts over the rim of the flange, '196 mm' (is this "
            "unit right?)",
        ),
        (
            "{outside: 198 mm, hole: 18 mm}",
            BOLTS,
            "9: joints / main / bolts / circle: the bolt circle '180 mm' puts the bolts over the rim of the flange, '198 mm' (is this "
            "unit right?)",
        ),
        (
            "EN 1092-1 PN 16 DN 100",
            "{circle: 230 mm}",
            "9: joints / main / bolts / circle: the bolt circle '230 mm' puts the bolts over the rim of the flange, 220 mm of "
            "flange 'EN 1092-1 PN 16 DN 100' (is this unit right?)",
        ),
        (
            "{outside: 180 mm}",
            "[{x: 80 mm, y: 0 mm, size: M16}, {x: -80 mm, y: 20 mm, size: M16}]",
            "9: joints / main / bolts / places: bolts lie over the rim of the flange, '180 mm' (is this unit right?)",
        ),
    ],
)
def test_what_has_no_room_is_said_with_its_line(flange: str, bolts: str, said: str):
    assert problems(file(flange, bolts)) == [f"f.yaml:{said}"]


@pytest.mark.parametrize(
    ("flange", "bolts"),
    [
        ("{hole: 16.1 mm}", BOLTS),
        ("{outside: 196.1 mm}", BOLTS),
        ("{outside: 198.1 mm, hole: 18 mm}", BOLTS),
        ("{hole: 26 mm}", "{size: M24, circle: 190 mm, count: 8}"),
        ("{designation: EN 1092-1 PN 16 DN 100, hole: 26 mm, outside: 230 mm}", "{size: M24, circle: 190 mm}"),
    ],
)
def test_what_has_just_room_is_taken(flange: str, bolts: str):
    assert parse_case(file(flange, bolts), "f").joints


@pytest.mark.parametrize(
    ("key", "values"), [("flange/hole", [0.018, 0.015, 0.02]), ("bolts/circle", [0.18, 0.19, 0.21])]
)
def test_one_row_of_a_batch_without_room_is_told(key: str, values: list[float]):
    text = file("{hole: 18 mm, outside: 220 mm}")
    assert len(problems(text, {f"joints/main/{key}": np.array(values)})) == 1
    kept = np.delete(np.array(values), int(np.argmax(np.abs(np.array(values) - values[0]))))
    assert parse_case(text, "f", {f"joints/main/{key}": kept}).joints


@settings(deadline=None, max_examples=60)
@given(
    hole=st.floats(10.0, 30.0).filter(lambda hole: abs(hole - 16.0) > 1e-3),
    outside=st.floats(185.0, 230.0),
)
def test_room_by_plain_arithmetic(hole: float, outside: float):
    """M16 goes through what is over 16 mm, and bolt or hole, whichever is wider, must end inside the rim."""
    room = hole > 16.0 and outside > 180.0 + max(hole, 16.0)
    if abs(outside - 180.0 - max(hole, 16.0)) < 1e-3:
        return
    text = file(f"{{hole: {hole!r} mm, outside: {outside!r} mm}}")
    if room:
        assert parse_case(text, "f").joints
    else:
        assert problems(text)


def designations() -> list[str]:
    rows = [f"EN 1092-1 PN {row['pn']} DN {row['dn']}" for row in load("flange_en1092_1").rows]
    rows += [f"ASME B16.5 class {row['rating_class']} NPS {row['nps']}" for row in load("flange_b16_5").rows]
    return rows + [f"AWWA C207 class D {row['nps']} in" for row in load("flange_awwa_c207").rows]


def test_every_standard_flange_takes_its_own_bolts():
    """Holes and rims of EN 1092-1, ASME B16.5 and AWWA C207 as tabled, with the bolts that these standards give to them."""
    text = BLANK_FLANGE.replace(
        f"    bolts: {BOLTS}\n    gasket: {{inside: 115 mm, outside: 162 mm}}\n", "    flange: NAME\n"
    )
    text = text.replace("bore: 100 mm", "bore: 5 mm")
    taken = 0
    for name in designations():
        try:
            assert parse_case(text.replace("NAME", name), name).joints["main"].flange.hole
            taken += 1
        except CaseFileError as error:
            assert [each.kind for each in error.problems] == ["not_in_table"], error
            with pytest.raises(NotInTable):
                thread(error.problems[0].found)
    assert taken > 150


@pytest.mark.parametrize("command", sorted(set(main.commands) - WITHOUT_CASE))
def test_every_command_refuses_a_bolt_that_does_not_go_through(command: str, tmp_path):
    path = tmp_path / "case.yaml"
    text = ELBOW.replace("45 deg}\n", "45 deg}\n    flange: {hole: 16 mm}\n")
    path.write_text(text)
    written = {"boltup": "out.html", "report": "out.html", "picture": "out.png"}
    out = ["-o", str(tmp_path / written[command])] if command in written else []
    result = CliRunner().invoke(main, [command, str(path), *out])
    assert result.exit_code == 2, result.output
    assert f"{path}:12: joints / main / flange / hole: '16 mm' does not let bolts M16" in result.output


def with_anchor(x: str, y: str) -> str:
    plate = (
        "{length: 300 mm, width: 200 mm, foundation_modulus: 9 MN/m^3, anchor_length: 1 m, anchor_modulus: 200 GPa, "
        f"anchors: [{{x: {x}, y: {y}, size: M16}}]}}"
    )
    post = f"{{kind: rest, name: R, at: [0.2, 0, 0 m], stiffness: 1 MN/m, base_plate: {plate}}}"
    return f"{ELBOW}supports:\n  post:\n    - {post}\n"


@pytest.mark.parametrize(
    ("x", "y", "said"),
    [
        ("142 mm", "0 mm", "x: '142 mm' puts the anchor M16 over the edge of the plate, '300 mm'"),
        ("0 mm", "-92 mm", "y: '-92 mm' puts the anchor M16 over the edge of the plate, '200 mm'"),
        ("150 mm", "0 mm", "x: '150 mm' is not on the plate"),
    ],
)
def test_anchors_lie_on_their_plate_with_all_of_their_thickness(x: str, y: str, said: str):
    (found,) = problems(with_anchor(x, y))
    assert f"base_plate / anchors / 1 / {said} (x and y are from its middle)" in found


def test_an_anchor_near_the_edge_of_its_plate_is_taken():
    assert parse_case(with_anchor("141.9 mm", "91.9 mm"), "f").supports["post"][0].base_plate
