"""How figures, names and reports read: widths, units, words for what is beyond any figure."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

import anchorsize
from anchorsize import assess, parse_case, reference
from anchorsize.casefile import read_case
from anchorsize.cli import main
from anchorsize.present.on_site import on_site_text
from anchorsize.present.tables import show_table
from anchorsize.present.verdict import headline
from anchorsize.present.windows import windows_text
from anchorsize.present.words import margin, paragraph, used
from anchorsize.studies.lost_bolt import one_lost
from anchorsize.studies.torque import window
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parent.parent / "examples"
TIGHT = BLANK_FLANGE.replace(
    "    gasket:", "    tightening: {torque: 90 N*m, nut_factor: 0.2, scatter: 30 %, relaxation: 10 %}\n    gasket:"
)
SOFT = "    stiffness: {axial: 30 MN/m, shear: 30 MN/m, bending: 1 MN*m, torsion: 1 MN*m}\n"
TWO = (
    ELBOW.replace("main:", "near:")
    .replace("45 deg}\n", "45 deg}\n    stiffness: rigid\n")
    .replace("allow:", f"  far:\n    at: outlet\n    bolts: {{count: 4, size: M12, circle: 100 mm}}\n{SOFT}allow:")
    .replace("outlet: free_jet", "outlet: {pressure: 0 kPa}")
    .replace("outlet: capped", "outlet: {flow_out: 0 L/s, pressure: 60 kPa}")
)
LONG = "whose name says much more than it needs to"


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_an_infinite_utilization_is_no_freedom():
    assert [used(value) for value in (math.inf, 0.4714, 1.6)] == ["beyond any", "0.471", "1.60"]


@pytest.mark.parametrize(
    ("value", "words"),
    [(math.inf, "unlimited"), (-0.375, "-38%"), (9.99, "+999%"), (10.0, "over 10×"), (1e6, "over 10×")],
)
def test_margins(value, words):
    assert margin(value) == words


@given(st.integers(20, 60))
def test_words_with_a_hyphen_stay_whole(width):
    text = "a value from-memory, not from-a-page; read-twice and seen-once, then kept"
    assert set(paragraph(text, width).replace("  - ", "").split()) == set(text.split())


def test_a_check_that_nothing_bears_reads_beyond_any(tmp_path):
    """A gasket in service where pressure has taken all clamp away."""
    text = TIGHT.replace("outside: 162 mm}", "outside: 162 mm, m: 2, y: 11 MPa}").replace("10 bar", "400 bar")
    (tmp_path / "t.yaml").write_text(text)
    output = run("check", tmp_path / "t.yaml").output
    utilizations = [check.utilization for check in assess(parse_case(text, "t")).cases["test"].checks]
    assert math.inf in utilizations
    assert "beyond any" in output
    assert "utilization unlimited" not in output


# units


def test_on_site_puts_the_units_of_the_file_first():
    """T = 90 N·m = 66.38 ft·lbf; mean preload 90 / (0.2 × 0.016) = 28.125 kN = 6323 lbf."""
    metric = " ".join(on_site_text(assess(parse_case(TIGHT, "t")), 80).split())
    us = " ".join(on_site_text(assess(parse_case(TIGHT + "units: us\n", "t")), 80).split())
    assert "Torque: 90 N·m (66.38 ft·lbf)" in metric
    assert "28.12 kN (6323 lbf) in each bolt" in metric
    assert "Torque: 66.38 ft·lbf (90 N·m)" in us
    assert "6323 lbf (28.12 kN) in each bolt" in us


def test_on_site_gives_the_weight_as_a_mass_too():
    assert "weighs 10 kg (22.05 lb), a force of 98.07 N (22.05 lbf)" in " ".join(
        on_site_text(assess(parse_case(ELBOW, "t")), 80).split()
    )


# widths


def test_less_than_80_columns_is_refused():
    ended = run("check", EXAMPLES / "terrace_elbow.yaml", "--width", "79")
    assert ended.exit_code == 2
    assert "80<=x<=240" in ended.output


@pytest.mark.parametrize("name", reference.table_names())
@pytest.mark.parametrize("width", [80, 120, 240])
def test_tables_keep_within_the_width_and_lose_nothing(name, width):
    table = reference.load(name)
    text = show_table(table, width)
    assert max(map(len, text.splitlines())) <= width
    letters = re.sub(r"\s", "", text)
    words = {word for row in table.rows for cell in row.values() for word in cell.split()}
    assert [word for word in words if word not in letters] == []


@pytest.mark.parametrize("name", reference.table_names())
def test_every_part_of_a_table_has_every_row(name):
    table = reference.load(name)
    # the rule below a part's header is its one line of dashes alone; every part has a line or more for each row
    parts = re.split(r"(?m)^-[- ]+$", show_table(table, 80))[1:]
    assert parts
    for part in parts:
        assert len(part.strip().split("\n\n")[0].splitlines()) >= len(table.rows)


@pytest.mark.parametrize("command", ["check", "reactions", "supports", "limits", "curve"])
@pytest.mark.parametrize("tightened", [True, False])
def test_long_names_keep_within_80_columns(command, tightened, tmp_path):
    text = (TIGHT if tightened else ELBOW).replace("  main:", f"  main {LONG}:")
    text = text.replace("  test:", f"  test {LONG}:").replace("  run:", f"  run {LONG}:")
    text = text.replace("inlet:", "inlet of the upper header:").replace("at: inlet", "at: inlet of the upper header")
    (tmp_path / "long.yaml").write_text(text)
    case = f"{'test' if tightened else 'run'} {LONG}"
    words = {
        "limits": ("--points", "3"),
        "curve": (
            "--case",
            case,
            "--vary",
            "fluid/density",
            "--from",
            "900 kg/m^3",
            "--to",
            "1100 kg/m^3",
            "--points",
            "3",
        ),
        "check": ("--one-lost",),
    }.get(command, ())
    ended = run(command, tmp_path / "long.yaml", *words, "--width", "80")
    assert ended.exit_code in (0, 1, 3), ended.output
    # the path of the file is one word, which is not broken
    assert [line for line in ended.output.splitlines() if len(line) > 80 and "long.yaml" not in line] == []


def test_bounds_without_stiffness_are_wrapped(tmp_path):
    (tmp_path / "t.yaml").write_text(TIGHT)
    output = run("check", tmp_path / "t.yaml", "--width", "80").output
    assert "Bounds, for want of bolt and gasket stiffness: clamp at least" in " ".join(output.split())
    assert max(map(len, output.splitlines())) <= 80


# the rest


def test_curve_says_at_which_preload_the_service_tension_is():
    ended = run(
        "curve", EXAMPLES / "wye_missing_bolt.yaml", "--case", "both branches", "--to", "95 L/s", "--points", "3"
    )
    assert "service tension at the mean preload" in " ".join(ended.output.split())
    ended = run("curve", EXAMPLES / "terrace_elbow.yaml", "--case", "full flow", "--to", "20 L/s", "--points", "3")
    assert "service tension" not in ended.output


def test_lost_bolts_that_are_alike_stand_by_their_numbers():
    """A blank flange under pressure alone: every bolt lost is the same up to the turn of the circle."""
    losses = one_lost(parse_case(BLANK_FLANGE, "t"), "main")
    assert [loss.bolt for loss in losses] == [1, 2, 3, 4, 5, 6, 7, 8]
    losses = one_lost(read_case(EXAMPLES / "wye_missing_bolt.yaml"), "header flange")
    grown = [(loss.worsened.holds, loss.worsened.growth) for loss in losses]
    assert all(one[0] < other[0] or one[1] >= other[1] * (1 - 1e-9) for one, other in pairwise(grown))
    assert [loss.bolt for loss in losses[:2]] == [2, 4]  # on either side of the gap, alike but for rounding


def test_start_help_lists_every_starter():
    text = " ".join(run("start", "--help").output.split())
    listed = re.search(r"SHAPE is one of: ([^.]+)\.", text)
    assert listed is not None
    names = set(re.findall(r"\w+", listed[1])) - {"or"}
    folder = Path(anchorsize.__file__).parent / "casefile" / "starters"
    assert names - {"wye"} == {path.stem for path in folder.glob("*.yaml")}
    assert run("start", "wye").output == run("start", "lateral").output


def test_no_command_shows_the_help_and_ends_with_zero():
    ended = run()
    assert ended.exit_code == 0
    assert "Exit codes" in ended.output
    assert ended.output == run("--help").output


def test_help_waits_for_no_heavy_library():
    code = (
        "import sys; from click.testing import CliRunner; from anchorsize.cli import main; "
        "CliRunner().invoke(main, []); CliRunner().invoke(main, ['start', '--help']); "
        "print([m for m in ('numpy', 'pint', 'pandas') if m in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout == "[]\n"


UNEVEN = TIGHT.replace("torque: 90 N*m", "torque: {all: 90 N*m, 6: 40 N*m}").replace(
    "outside: 162 mm", "outside: 162 mm, m: 2, y: 11 MPa"
)


def test_given_says_which_bolt_has_which_torque(tmp_path):
    (tmp_path / "t.yaml").write_text(UNEVEN)
    said = " ".join(run("check", tmp_path / "t.yaml").output.split())
    assert "torque 90.00 N·m; bolt 6: 40.00 N·m; nut factor 0.200" in said


def test_uneven_torques_have_the_window_of_the_even_one():
    """Both ends are those of a file in which every bolt has the same torque; what was found is told by both of its ends."""
    study = parse_case(UNEVEN, "t")
    found, even = window(study, "main"), window(parse_case(UNEVEN.replace(", 6: 40 N*m", ""), "t"), "main")
    assert found.torque * found.least == pytest.approx(even.torque * even.least, rel=1e-9)
    assert found.torque * found.greatest == pytest.approx(even.torque * even.greatest, rel=1e-9)
    said = " ".join(windows_text([found], 80, "metric")[0].split())
    assert "the same torque on every bolt from" in said
    assert "given: 40.00 N·m to 90.00 N·m" in said
    assert "the same" not in windows_text([even], 80, "metric")[0]


CASES = "cases:\n  test: {pipe: {flow_in: 0 L/s, pressure: 10 bar}}\n"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("", "bolt tension in 'test', utilization"),
        ("  again: {pipe: {flow_in: 0 L/s, pressure: 9 bar}}\n", "bolt tension in both cases, utilization"),
        (
            "  again: {pipe: {flow_in: 0 L/s, pressure: 9 bar}}\n  third: {pipe: {flow_in: 0 L/s, pressure: 8 bar}}\n",
            "bolt tension in every case (3), utilization",
        ),
        (
            "  again: {pipe: {flow_in: 0 L/s, pressure: 9 bar}}\n  third: {pipe: {flow_in: 0 L/s, pressure: 0 bar}}\n",
            "bolt tension in 'test' and 'again', utilization",
        ),
    ],
)
def test_a_check_that_fails_is_named_once_with_its_cases(more, words):
    text = BLANK_FLANGE.replace("bolt_tension: 160", "bolt_tension: 1").replace(CASES, CASES + more)
    assert words in headline(assess(parse_case(text, "t")))


def test_the_headline_names_the_joint_where_there_are_several_and_what_is_wanting():
    judged = assess(parse_case(TWO.replace("bolt_tension: 160 MPa", "bolt_tension: 1 MPa"), "t"))
    assert "bolt tension of 'near' in both cases, utilization" in headline(judged)
    unknown = assess(parse_case(TWO.replace("    stiffness: rigid\n", "").replace(SOFT, ""), "t"))
    said = headline(unknown)
    assert said.startswith(
        "NOT COMPLETE: nothing could be judged, but what the job needs was not checked: what it carries of"
    )
    assert "(supply" in said
    nothing = headline(
        assess(parse_case(BLANK_FLANGE.replace("{bolt_tension: 160 MPa, bolt_shear: 95 MPa}", "{}"), "t"))
    )
    assert "bolt tension of 'main' (supply allow / bolt_tension" in nothing
    assert "come from the engineer or the code that applies: ask for bolt_tension and bolt_shear." in nothing


def test_every_bolt_of_every_joint_is_lost_in_turn(tmp_path):
    (tmp_path / "t.yaml").write_text(TWO)
    data = json.loads(run("check", tmp_path / "t.yaml", "--one-lost", "--json").output)["one_bolt_lost"]
    assert {(row["joint"], row["bolt"]) for row in data} == {(j, b) for j in ("near", "far") for b in (1, 2, 3, 4)}
    text = run("check", tmp_path / "t.yaml", "--one-lost", "--width", "80").output
    table = text.split("One bolt lost")[1].split("\n\n")[0]
    assert table.split("\n")[1].split()[0] == "joint"
    assert sum(line.startswith(("  near", "  far")) for line in table.splitlines()) == 8
    unknown = TWO.replace("    stiffness: rigid\n", "").replace(SOFT, "")
    (tmp_path / "t.yaml").write_text(unknown)
    said = " ".join(run("check", tmp_path / "t.yaml", "--one-lost").output.split())
    assert "One bolt lost: not judged, no check could be made: supply" in said


def test_brief_is_short_and_the_whole_report_ends_with_the_verdict():
    file = EXAMPLES / "wye_missing_bolt.yaml"
    brief, whole = (run("check", file, *words, "--width", "80").output for words in (["--brief"], []))
    assert 3 * len(brief.splitlines()) < len(whole.splitlines())
    # what it rests on is told in full, in the same words
    assert brief[brief.index("\nAssumptions\n") :].strip() in whole
    said = " ".join(brief.split())
    for words in (
        "DOES NOT HOLD: 6 of 84",
        "On site",
        "widest bolt gap 208.6 mm 130.0 mm 1.60 FAILS",
        "Not checked, for want of an input: thread stripping",
        "lock the source out",
        "review by a licensed engineer decide",
    ):
        assert words in said
    last = " ".join(whole.split("\n\n")[-1].split())
    assert last.startswith("DOES NOT HOLD: 6 of 84 checks fail: widest bolt gap in every case (6), utilization 1.60.")
    assert "Rests on the allowables given and the assumptions above." in last
    assert "not made for want of input (listed above)." in last
    assert "not made for want of input (listed below)." in " ".join(whole.split("\n\n")[1].split())
    assert run("check", file, "--brief", "--json").exit_code == 2


@pytest.mark.parametrize(
    "words", [["limits", "--points", "3"], ["check"], ["picture", "--view", "bolts"], ["report", "--no-limits"]]
)
def test_without_takes_several_bolts_and_says_which_were_gone(words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("t.yaml").write_text(BLANK_FLANGE)
    gone = BLANK_FLANGE.replace("22.5 deg}", "22.5 deg, missing: [3, 4]}")
    titled = gone.replace("title: blank flange", "title: 'blank flange, AS IF LOST: bolts 3, 4'")
    assert titled != gone
    Path("gone.yaml").write_text(titled)
    command, *more = words

    def said(file, *without):
        ending = {"picture": "svg", "report": "md"}.get(command)
        out = [] if ending is None else ["-o", f"{len(list(tmp_path.iterdir()))}.{ending}"]
        return run(command, file, *more, *out, *without)

    asked, given = said("t.yaml", "--without", "3,4"), said("gone.yaml")
    assert asked.stdout.replace("t.yaml", "gone.yaml") == given.stdout
    assert asked.exit_code == given.exit_code
    again = said("gone.yaml", "--without", "3")
    assert "bolt 3 of joint 'main' is missing already" in again.stderr
    assert said("t.yaml", "--without", "3,x").exit_code == 2
