"""One picture as a file: it is the same as the picture of the report, and says in words what it shows."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from anchorsize import assess, read_case
from anchorsize.cli import main
from anchorsize.present.pictures import bolt_view, render

WYE = Path(__file__).parents[1] / "examples" / "wye_missing_bolt.yaml"
TERRACE = WYE.parent / "terrace_elbow.yaml"


def run(*words: object):
    return CliRunner().invoke(main, ["picture", *(str(word) for word in words)])


@pytest.mark.parametrize("view", ["side", "flange", "bolts", "face"])
def test_every_view_is_drawn_in_both_kinds_and_told_in_words(tmp_path: Path, view: str):
    for suffix in ("svg", "png"):
        result = run(WYE, "--view", view, "-o", tmp_path / f"p.{suffix}")
        assert result.exit_code == 1, result.output  # the example's widest gap fails
        assert len(result.output) > 40
    assert (tmp_path / "p.png").read_bytes().startswith(b"\x89PNG")
    assert ElementTree.parse(tmp_path / "p.svg").getroot().tag.endswith("svg")


def test_the_picture_is_that_of_the_case_asked_for(tmp_path: Path):
    assert run(TERRACE, "--case", "corked", "--view", "bolts", "-o", tmp_path / "p.svg").exit_code == 0
    made = render(bolt_view(assess(read_case(TERRACE)), "corked", "main"), "svg")
    assert (tmp_path / "p.svg").read_bytes() == made


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-o", "p.gif"), "a picture is .svg or .png"),
        (("-o", "p.svg", "--case", "flood"), "no case 'flood'; the file has full flow"),
        (("-o", "p.svg", "--view", "bolts", "--joint", "x"), "no joint 'x'; the file has main"),
        (("-o", "p.svg", "--view", "face"), "its face pressure is not known"),
        (("-o", "p.svg", "--option", "x"), "no support option 'x'"),
    ],
)
def test_what_cannot_be_drawn_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
):
    monkeypatch.chdir(tmp_path)
    result = run(TERRACE, *words)
    assert result.exit_code == 2
    assert said in result.output
    assert not list(tmp_path.iterdir())
