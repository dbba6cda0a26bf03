"""What comes of losing any one bolt stands with the verdict where it was asked for, on the screen and on the signed page."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.cli import main
from anchorsize.present.boltup_head import unmade_words
from anchorsize.present.supports import loaded_rows
from anchorsize.present.supports_picture import comparison_figure
from anchorsize.present.supports_verdict import verdict_lines
from anchorsize.present.words import figure
from anchorsize.studies.supports import compare
from anchorsize.units import convert

WYE = (Path(__file__).parent.parent / "examples" / "wye_missing_bolt.yaml").read_text(encoding="utf-8")
WHOLE = WYE.replace("missing: [3], ", "")
LOST = "With any one bolt lost: DOES NOT HOLD, whichever it is (widest bolt gap fails then)."


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "wye.yaml"
    path.write_text(WHOLE, encoding="utf-8")
    return str(path)


def run(*words):
    found = CliRunner().invoke(main, list(words))
    return found.exit_code, " ".join(found.output.split())


@pytest.mark.parametrize("brief", [(), ("--brief",)])
def test_on_the_screen_it_is_the_second_sentence(file, brief):
    code, said = run("check", file, "--one-lost", *brief)
    assert code == 1
    head = said.split("Governs:")[0]
    assert "HOLDS: all" in head
    assert LOST in head
    if not brief:
        assert LOST in said.rsplit("HOLDS: all", 1)[1]  # and of what is told last
    assert "With any one bolt lost" not in run("check", file, *brief)[1]


def test_on_the_signed_page_it_stands_above_the_signatures(file, tmp_path):
    page = tmp_path / "r.md"
    code, _ = run("report", file, "--one-lost", "--no-limits", "-o", str(page))
    assert code == 1
    result = page.read_text(encoding="utf-8").split("## 1 Result")[1].split("Signatures")[0]
    assert f"**{LOST}**" in result


def test_the_sheet_names_a_check_not_made_as_the_others_do():
    """A strut has no post: its buckling is told as that of a strut by `check` and report."""
    strut = "supports:\n  strut:\n    - {kind: strut, name: S1, at: [0.3, 0, 0 m], toward: [0, 0, 1], stiffness: 60 MN/m, length: 0.8 m, allow: 15 kN}\n"
    giving = WHOLE.replace(
        "    grip: 54 mm",
        "    pipe_behind: {outside: 219.1 mm, wall: 6 mm, length: 1 m, modulus: 205 GPa, poisson: 0.3}\n    grip: 54 mm",
    )
    assessment = assess(parse_case(giving + strut, "t"))
    told = unmade_words(assessment)
    assert "strut buckling" in told
    assert "post" not in told


def test_checks_of_layout_count_among_all_in_the_comparison():
    """The lost bolt leaves a gap of 208.6 mm where 130 mm is allowed, in all six cases: 1.60, as `check` has it."""
    study = parse_case(WYE, "t")
    (option,) = compare(study).options
    failing = [c for case in assess(study).cases.values() for c in case.checks if not c.holds]
    assert {c.check for c in failing} == {"widest bolt gap"}
    (row,) = loaded_rows(compare(study))
    assert row[3] == f"{208.6 / 130:.2f}"
    assert row[-1] == str(len(failing)) == "6"
    assert float(option.most_used[1].utilization) == pytest.approx(295 * math.sin(math.pi / 4) / 130, rel=1e-9)
    assert "FAILS 6 checks; worst: widest bolt gap" in " ".join(verdict_lines(compare(study)))


def test_an_anchor_is_pictured_with_what_it_carries_across():
    anchor = (
        "supports:\n  anchor:\n    - {kind: anchor, name: A1, at: [0.3, 0, 0 m], toward: [0, 0, 1], six_way: rigid, "
        "allow: {force: 60 kN, moment: 10 kN*m}}\n"
    )
    giving = WHOLE.replace(
        "    grip: 54 mm",
        "    pipe_behind: {outside: 219.1 mm, wall: 6 mm, length: 1 m, modulus: 205 GPa, poisson: 0.3}\n    grip: 54 mm",
    )
    compared = compare(parse_case(giving + anchor, "t"))
    (carried,) = [each for option in compared.options for each in option.carried]
    assert carried.greatest_across > 10 * abs(carried.greatest_size[1])
    words = [text.get_text() for axes in comparison_figure(compared).axes for text in axes.texts]
    across, unit = convert(carried.greatest_across, "force", "metric")
    assert any(f"; greatest across {figure(float(across), 3)} {unit}" in each for each in words)
