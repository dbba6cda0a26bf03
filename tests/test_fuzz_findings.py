"""What attack has found: every input that once broke a promise, as small as it goes; and a little of the attack itself.

``python -m tests.fuzz`` is the attack; tests/fuzz/record.md tells of its last long run.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from random import Random

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.cli import main
from anchorsize.studies.many import judge_frame
from anchorsize.studies.many_columns import LONGEST_HEADER, MOST_WRONG, ListError
from anchorsize.studies.many_reading import LONGEST_LINE, read_list
from anchorsize.units import UnitError, parse_quantity
from tests.cases import ELBOW
from tests.fuzz import fuzz_case_file, fuzz_lists
from tests.fuzz.judging import judge_case_file, judge_list, require_printable, strict

EXAMPLES = Path(__file__).parents[1] / "examples"

LONGEST = 5.0  # seconds of computing for any input


def complaint(text):
    """Everything that a text is refused for, as printed."""
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "case.yaml")
    return str(caught.value)


@pytest.mark.parametrize("number", range(250))
def test_a_case_file_of_any_sort_keeps_the_promises(number, tmp_path):
    draw = Random(number)
    with strict():
        assert judge_case_file(fuzz_case_file.make(draw), tmp_path / "case.yaml", draw, 0.5, 0.0)


@pytest.mark.parametrize("number", range(40))
def test_a_list_of_any_sort_keeps_the_promises(number, tmp_path):
    draw = Random(number)
    with strict():
        assert judge_list(fuzz_lists.written(draw, tmp_path), draw)


@pytest.mark.parametrize(("escape", "sign"), [("\\e[31m", "1b"), ("\\a", "07"), ("\\0", "00"), ("\\x9b", "9b")])
def test_a_control_character_is_refused_and_never_printed(escape, sign):
    # YAML lets them in as escapes; they went to the terminal, or could not be written at all.
    for text in (ELBOW.replace("title: elbow", f'title: "a{escape}"'), ELBOW.replace("  stopped:", f'  "s{escape}":')):
        said = complaint(text)
        assert f"holds the control character 0x{sign}" in said
        require_printable(said)


def test_signs_that_turn_the_reading_direction_are_left_out_of_names():
    study = parse_case(ELBOW.replace("  stopped:", "  st\u202eop\u2066ped:"), "case.yaml")
    assert list(study.cases) == ["run", "stopped"]


@pytest.mark.parametrize("key", ["a\tb", "a\x85b", "k" * 5000])
def test_an_odd_key_is_quoted_in_one_short_line(key):
    said = complaint(ELBOW.replace("title: elbow", f'"{key}": elbow').replace("  stopped:", f'  "{key}": {{}}\n  s:'))
    require_printable(said)
    assert max(map(len, said.splitlines())) < 700


def test_an_endless_word_is_cut_in_a_message():
    said = complaint(ELBOW.replace("circle: 160 mm", f"circle: 160 mm, class: {'8' * 5000}"))
    assert "not in table property_classes" in said
    assert len(said) < 500


def test_many_unknown_flows_are_named_in_few_words():
    openings = "".join(f"  o{n}: {{center: [0, 0, 0 m], outward: [1, 0, 0], bore: 1 mm}}\n" for n in range(300))
    said = complaint(ELBOW.replace("openings:\n", "openings:\n" + openings))
    assert " more are unknown" in said
    assert max(map(len, said.splitlines())) < 700


@pytest.mark.parametrize(
    "text", ["1" + " " * 300_000 + "x mm", "1" + " -" * 200_000, "1 " + "bar " * 50_000 + "g", "9" * 10**6]
)
def test_a_quantity_of_a_megabyte_is_refused_at_once(text):
    # Looking for a fraction in blanks took time that grew with their square.
    began = time.process_time()
    with pytest.raises(UnitError):
        parse_quantity(text, "pressure")
    assert time.process_time() - began < LONGEST


@pytest.mark.parametrize("key", ["scatter", "relaxation"])
def test_a_preload_that_may_be_lost_altogether_is_refused(key):
    # 100 % went through to the mechanics, which refuse it: a traceback.
    other = ", scatter: 20 %" if key == "relaxation" else ""
    text = ELBOW.replace(
        "at: inlet", f"at: inlet\n    tightening: {{torque: 90 N*m, nut_factor: 0.2, {key}: 100 %{other}}}"
    )
    assert f"{key}: '100 %' must be less than 100 %" in complaint(text)


@pytest.mark.parametrize("small", ["1e-308 MPa", "1e-40 MPa"])
def test_what_is_closer_to_zero_than_any_allowable_is_zero(small):
    # Dividing by it overflowed, with numpy's warning on stderr.
    assert "must be more than 0" in complaint(ELBOW.replace("160 MPa", small))


@pytest.mark.parametrize("kind", ["stiffness", "rotational_stiffness", "subgrade_modulus"])
def test_stiffnesses_have_believable_limits(kind):
    entry = {
        "stiffness": "{kind: hanger, at: [0, 0, 0 m], stiffness: 1e300 N/m}",
        "rotational_stiffness": "{kind: anchor, at: [0, 0, 0 m], six_way: {axial: 1 N/m, shear: 1 N/m, bending: 1e300 N*m/rad, torsion: 1 N*m/rad}}",
        "subgrade_modulus": "{kind: thrust_block, at: [0, 0, 0 m], toward: [1, 0, 0], block: {subgrade_modulus: 1e300 N/m^3}}",
    }[kind]
    assert "is this unit right?" in complaint(f"{ELBOW}supports:\n  s: [{entry}]\n")


def test_of_thousands_of_problems_some_are_printed_and_all_are_counted(tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text(ELBOW + "".join(f"key{n}: 1\n" for n in range(5000)))
    done = CliRunner().invoke(main, ["check", str(path)])
    assert done.exit_code == 2
    assert "5000 problems found" in done.stderr
    assert "… and 4800 more" in done.stderr
    assert len(done.stderr.splitlines()) == 202


def refused(path):
    """What a list is refused for, and how long that took."""
    began = time.process_time()
    with pytest.raises(ListError) as caught:
        [judge_frame(frame, fuzz_lists.BASE) for frame in read_list(path)]
    assert time.process_time() - began < LONGEST
    return caught.value.problems


def test_a_list_with_thousands_of_columns_is_refused_at_once(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(",".join(f"column {n}" for n in range(40_000)) + "\n" + "1," * 39_999 + "1\n")
    assert "40,000 columns, more than a case file has inputs" in refused(path)[0]


def test_of_hundreds_of_wrong_headers_some_are_named(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(",".join(f"column {n}" for n in range(900)) + "\n" + "1," * 899 + "1\n")
    problems = refused(path)
    assert len(problems) == MOST_WRONG + 1
    assert problems[-1] == "the 800 columns after these were not looked at"


@pytest.mark.parametrize(
    "header", ["[" * 100_000, "outlet/bore" + " " * 100_000 + "x [mm]", "x" * (LONGEST_HEADER + 1)]
)
def test_an_endless_header_is_refused_at_once(header, tmp_path):
    # Looking for the unit took time that grew with the square of its length.
    path = tmp_path / "list.csv"
    path.write_text(f"id,{header}\n1,2\n")
    assert len(refused(path)[0]) < 400


@pytest.mark.parametrize("row", ["1," * LONGEST_LINE, "9" * (LONGEST_LINE + 1)], ids=["cells", "one cell"])
@pytest.mark.parametrize("first", [True, False])
def test_a_line_without_end_does_not_fill_the_memory(row, first, tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(f"{row}\n1\n" if first else f"id,size\n{row}\n")
    assert "a line of more than 1,000,000 letters" in refused(path)[0]


def test_a_list_of_nothing_but_empty_rows_is_refused_before_they_are_read(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("id,size\n" + "\n" * 1_000_000)
    assert "the list is empty" in refused(path)[0]


def test_control_characters_of_a_list_are_shown_as_escapes(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("id,\x1b[2Jbore [mm]\n1,2\n")
    assert "\\u001b[2Jbore" in refused(path)[0]
    path.write_text("id,outlet/bore [mm]\n1,\x1b[2J\n")
    told = judge_frame(next(read_list(path)), fuzz_lists.BASE)
    require_printable(told["problem"].iloc[0])
    assert np.array_equal(told["verdict"], ["not judged"])


def test_a_number_that_overflows_in_si_is_out_of_range_of_its_row(tmp_path):
    # -1e308 kPa is more than a float holds in Pa; numpy's warning went to stderr
    text = (EXAMPLES / "many_joints.csv").read_text().splitlines()
    cells = text[1].split(",")
    cells[text[0].split(",").index("washing/inlet/pressure [kPa]")] = "-1e308"
    path = tmp_path / "list.csv"
    path.write_text("\n".join([text[0], ",".join(cells), *text[2:]]) + "\n")
    result = CliRunner().invoke(main, ["many", str(path), "--base", str(EXAMPLES / "many_base.yaml"), "--json"])
    first = json.loads(result.stdout)["rows"][0]
    assert "washing/inlet/pressure [kPa]" in first["problem"]
    assert result.exit_code == 1
