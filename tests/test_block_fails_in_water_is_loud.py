"""A block that fails once water stands around it is told with the verdict of check, and on the sheet that goes out with it."""

from __future__ import annotations

import html
import re

from click.testing import CliRunner

from anchorsize.cli import main
from anchorsize.units import over_one
from tests.test_block_in_water import BLOCK

WORDS = "Block sliding FAILS then in 'shut': utilization"
JOINT = """\
joints:
  main:
    at: inlet
    reference: [0, 0, 1]
    bolts: {count: 8, size: M20, circle: 295 mm, first_at: 22.5 deg, class: "8.8"}
    stiffness: {axial: 1 kN/m, shear: 1 MN/m, bending: 1 MN*m, torsion: 1 MN*m}
"""
WITH_BOLTS = BLOCK.split("    - {kind: anchor")[0] + JOINT


def ran(tmp_path, text, *words):
    path = tmp_path / "main.yaml"
    path.write_text(text, encoding="utf-8")
    return " ".join(CliRunner().invoke(main, [words[0], str(path), *words[1:]]).output.split())


def test_it_stands_with_the_verdict_of_check_and_its_short_form(tmp_path):
    for form in ((), ("--brief",)):
        told = ran(tmp_path, BLOCK, "check", *form)
        assert told.index(WORDS) < told.index("Rests on the allowables given")


def test_it_stands_on_the_sheet(tmp_path):
    page = tmp_path / "sheet.html"
    screen = ran(tmp_path, WITH_BOLTS, "boltup", "--option", "block", "-o", str(page))
    assert WORDS in screen
    assert WORDS in html.unescape(" ".join(re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8")).split()))


def test_a_block_that_stands_it_is_not_told_of_there(tmp_path):
    heavy = BLOCK.replace("length: 2 m", "length: 6 m")
    told = ran(tmp_path, heavy, "check")
    assert told.index("counts clear of groundwater") > told.index("Rests on the allowables given")


def test_more_than_any_strength_bears_has_no_figure():
    assert over_one(float("inf")) == "beyond any"
