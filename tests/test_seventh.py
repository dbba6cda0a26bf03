"""What a seventh round of new users stumbled on: no friction, a flange drilled otherwise, limits of every bolt, parts of a vector. Invented."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.cli import main
from anchorsize.present.report.worked import worked
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMED = BLANK_FLANGE.replace("22.5 deg}", "22.5 deg}\n    flange: EN 1092-1 PN 16 DN 100")


def run(folder: Path, text: str, *words: str) -> str:
    (folder / "case.yaml").write_text(text)
    return " ".join(CliRunner().invoke(main, [words[0], str(folder / "case.yaml"), *words[1:]]).output.split())


def test_a_rest_without_friction_is_worked_out_as_one_that_gives_none():
    text = (EXAMPLES / "supported_arm.yaml").read_text()
    smooth, rough = (
        [
            step.name
            for parts in worked(assess(parse_case(each, "arm.yaml"), "rest on a post")).cases.values()
            for part in parts
            for step in part.steps
        ]
        for each in (text.replace("friction: 0.3", "friction: 0"), text)
    )
    assert "Friction at most" in rough
    assert "Friction at most" not in smooth


@pytest.mark.parametrize(
    ("bolts", "told"),
    [
        ("count: 8, size: M16, circle: 180 mm", False),  # EN 1092-1, PN 16, DN 100: 8 × M16 on 180 mm
        ("count: 8, size: M16, circle: 181 mm", False),  # within the play of a bolt in its hole
        ("count: 6, size: M16, circle: 180 mm", True),
        ("count: 8, size: M16, circle: 185 mm", True),
        ("missing: [3], count: 8, size: M16, circle: 180 mm", False),
    ],
)
def test_bolts_for_which_a_named_flange_has_no_holes_are_told(bolts: str, told: bool):
    text = NAMED.replace("count: 8, size: M16, circle: 180 mm", bolts)
    found = [each for each in assess(parse_case(text, "t.yaml")).warnings if each.kind == "no holes for these bolts"]
    assert [each.doubtful for each in found] == [True] * told
    assert not told or "has 8 holes on a circle of 180 mm" in found[0].message


def test_size_does_not_choose_bolts_that_a_named_flange_has_no_holes_for(tmp_path: Path):
    out = run(tmp_path, NAMED, "size", "--counts", "4,8,12")
    assert "HOLDS: 1 of 3 candidates" in out
    assert "First choice - 8 x M16" in out
    assert "has 8 holes on 180 mm" in out


def test_limits_say_that_they_are_those_of_every_bolt(tmp_path: Path):
    said = run(tmp_path, ELBOW, "limits")
    assert "limits are those of the joint with every bolt there and tightened as given" in said
    gone = run(tmp_path, ELBOW.replace("45 deg}", "45 deg, missing: [2]}"), "limits")
    assert "without the bolts that are missing or taken as lost" in gone


def test_a_column_of_a_whole_vector_is_told_its_parts(tmp_path: Path):
    (tmp_path / "rows.csv").write_text('id,outlet/outward\na,"[1, 0, 0]"\n')
    (tmp_path / "base.yaml").write_text(ELBOW)
    ended = CliRunner().invoke(main, ["many", str(tmp_path / "rows.csv"), "--base", str(tmp_path / "base.yaml")])
    assert ended.exit_code == 2
    parts = ", ".join(f"openings/outlet/outward/{axis}" for axis in "xyz")
    assert f"a column gives one number: write {parts}" in " ".join(ended.output.split())
