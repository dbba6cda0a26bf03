"""Hints that say what to write: written as they say, the file is read. And hints that point to the table that has the figure."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize import parse_case
from anchorsize.casefile import CaseFileError, schema, starter
from anchorsize.casefile.problems import Problem
from anchorsize.cli import main

TEXT = starter()
NAMED = TEXT.replace(
    "flange: {outside: 220 mm, thickness: 20 mm, hole: 18 mm}",
    "flange: {designation: EN 1092-1 PN 16 DN 100, thickness: 20 mm}",
)


def problems(text: str) -> list[Problem]:
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, "f")
    return caught.value.problems


def replaced(old: str, new: str, text: str = TEXT) -> str:
    assert old in text
    return text.replace(old, new)


# -- bolts that are missing -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "bolts"),
    [
        ("3-4", (3, 4)),
        ("3 4", (3, 4)),
        ("[3 4]", (3, 4)),
        ("[3-4]", (3, 4)),
        ("3 to 5", (3, 4, 5)),
        ("1–3, 6", (1, 2, 3, 6)),
        ("3 & 4", (3, 4)),
        ("3 and 4", (3, 4)),
        ("3, 4", (3, 4)),
        ("bolt 3", (3,)),
        ("3", (3,)),
    ],
)
def test_the_hint_of_missing_bolts_is_read_as_it_stands(written, bolts):
    (problem,) = problems(
        replaced("missing: []", f'missing: "{written}"' if "[" not in written else f"missing: {written}")
    )
    said = re.fullmatch(r"write (\[.*\])", problem.hint)
    assert said, problem.hint
    study = parse_case(replaced("missing: []", f"missing: {said[1]}"), "f")
    assert study.joints["main"].bolts.missing == bolts


@pytest.mark.parametrize("written", ["2 of 8", "[2 of 8]", "two", "[4-3]", "[1-9999]"])
def test_what_names_no_bolts_is_asked_for_their_numbers(written):
    (problem,) = problems(replaced("missing: []", f"missing: {written}"))
    assert problem.hint == "write the numbers of the bolts that are missing, as in [3, 4]"


# -- lists without commas ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "written"),
    [
        ("torque: 90 N*m, nut", "torque: [40 45 0 0 90 90 90 90], nut"),
        ("torque: 90 N*m, nut", "torque: [40 45 0 0 90 90 90 90 N*m], nut"),
        ("torque: 90 N*m, nut", "torque: 40 45.5 0 0 90 90 90 90 N*m, nut"),
        ("mass_center: [0.10, 0, -0.03 m]", "mass_center: [0.10 0 -0.03 m]"),
        ("mass_center: [0.10, 0, -0.03 m]", "mass_center: 0.10 0 -0.03 m"),
        ("outward: [-1, 0, 0]", "outward: [-1 0 0]"),
    ],
)
def test_a_list_without_commas_is_shown_with_them(old, written):
    (problem,) = problems(replaced(old, written))
    said = re.search(r"commas between the values.*: (\[.*\])$", problem.hint)
    assert said, problem.hint
    key = written.partition(":")[0]
    assert parse_case(replaced(old, f"{key}: {said[1]}{', nut' if 'nut' in old else ''}"), "f")


def test_a_mixed_number_is_no_list():
    torque = (
        parse_case(replaced("torque: 90 N*m, nut", "torque: 66 1/2 ft*lbf, nut"), "f").joints["main"].tightening.torque
    )
    assert float(torque.max()) == pytest.approx(66.5 * 1.3558179, rel=1e-6)  # 1 ft·lbf, NIST SP 811


# -- figures that stand in a table ------------------------------------------------------------------------------------


def test_a_lubricant_in_place_of_the_nut_factor_is_sent_to_the_table():
    (problem,) = problems(replaced("nut_factor: 0.2, scatter: 30 %}   #", "nut_factor: oil, scatter: 30 %}   #"))
    assert "write a number such as 0.2; `anchorsize table nut_factors`" in problem.hint


def test_a_gasket_without_diameters_is_sent_to_the_table_of_rings():
    for problem in problems(replaced("inside: 115 mm, outside: 160 mm, ", "")):
        assert problem.message.endswith("is missing")
        assert "`anchorsize table gasket_rings`" in problem.hint


def test_a_gasket_without_diameters_on_a_flange_of_the_tables_is_told_its_ring():
    """EN 1514-1, form IBC, PN 16 DN 100: 115 mm and 162 mm."""
    found = {each.path[-1]: each.hint for each in problems(replaced("inside: 115 mm, outside: 160 mm, ", "", NAMED))}
    assert "has 115 mm" in found["inside"]
    assert "has 162 mm" in found["outside"]
    (short,) = problems(replaced("inside: 115 mm, ", "", NAMED))
    assert short.path[-1] == "inside"


# -- names of files ---------------------------------------------------------------------------------------------------


def test_a_file_that_is_not_there_is_taken_for_one_like_it(tmp_path: Path):
    (tmp_path / "hydrant.yaml").write_text(TEXT)
    (tmp_path / "hydrants.html").write_text("")
    for name in ("hydrnt.yaml", "hydrant.yml", "hydrant", "hydrant.yam"):
        result = CliRunner().invoke(main, ["check", str(tmp_path / name)])
        assert result.exit_code == 2
        assert "no such file (did you mean hydrant.yaml?)" in result.output
    for name in ("valve.yaml", "no_folder/hydrant.yaml"):
        assert "anchorsize start" in CliRunner().invoke(main, ["check", str(tmp_path / name)]).output


@pytest.mark.parametrize("command", ["boltup", "report"])
def test_a_page_without_an_ending_is_not_written(command, tmp_path: Path):
    (tmp_path / "case.yaml").write_text(TEXT)
    out = tmp_path / "sheet"
    result = CliRunner().invoke(main, [command, str(tmp_path / "case.yaml"), "-o", str(out)])
    assert result.exit_code == 2
    assert f"name it {out}.html" in result.output
    assert not out.exists()


# -- words of the schema ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("entry", "key", "word"),
    [
        ("CaseEntry", "dynamic_factor", "thrusts"),
        ("StateEntry", "pressure", "`from losses`"),
        ("StateEntry", "loss_coefficient", "`from table`"),
        ("StateEntry", "loss_of", "table"),
        ("StateEntry", "velocity_at", "velocity"),
    ],
)
def test_the_schema_says_what_the_keys_of_losses_and_sudden_loads_are(entry, key, word):
    described = schema()["$defs"][entry]
    described = next((each for each in described.get("anyOf", []) if "properties" in each), described)
    assert word in described["properties"][key]["description"]
