"""The README shows what the tool really prints, and its test command is the one CI runs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from anchorsize.cli import main
from tests import docs

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_what_the_tool_prints_is_what_the_readme_shows():
    assert docs.written(README) == README, "python -m tests.docs writes it anew"


@pytest.mark.slow
@pytest.mark.parametrize("path", docs.WALK_THROUGHS, ids=lambda path: path.stem)
def test_what_the_tool_prints_is_what_a_walk_through_shows(path):
    text = path.read_text(encoding="utf-8")
    assert docs.walked(text) == text, "python -m tests.docs writes it anew"
    assert text.count("$ anchorsize") >= 5


def test_the_python_lines_of_the_readme_run(monkeypatch):
    monkeypatch.chdir(ROOT)
    scope: dict = {}
    exec(re.search(r"```python\n(.*?)```", README, re.DOTALL)[1], scope)
    assert scope["result"].verdict == "holds"
    assert {"external_tension_N", "shear_N"} <= set(scope["result"].bolts().columns)
    assert len(scope["result"].checks()) == 25
    assert (scope["result"].loads().groupby("case").source.last() == "reaction").all()
    assert "holds" in scope["result"]._repr_html_()


def test_every_command_is_in_the_readme():
    for name in main.commands:
        assert f"`anchorsize {name}" in README


def test_there_is_one_run_command_and_one_test_command():
    assert len(re.findall(r"^python3 -m venv .*anchorsize check", README, re.MULTILINE)) == 1
    assert len(re.findall(r"^python3 -m venv .*pytest", README, re.MULTILINE)) == 1
