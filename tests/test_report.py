"""The report as a page, as Markdown and as tables: what stands in it, where it goes, and that text of the file stays text."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize import assess, parse_case
from anchorsize.casefile.inputs import read_inputs
from anchorsize.cli.report import report
from anchorsize.present.report.blocks import Grid, Prose, Section
from anchorsize.present.report.document import Source, document
from anchorsize.present.report.html import report_html
from anchorsize.present.report.markdown import report_markdown
from anchorsize.present.report.pictures import NoCurve, follow
from anchorsize.present.report.row_figures import row_figures
from anchorsize.present.report.sheets import sheets
from anchorsize.present.report.worked import worked
from tests.browser import load
from tests.cases import BLANK_FLANGE, ELBOW
from tests.test_worked_steps import BENT, CASES, lines_of

EXAMPLES = Path(__file__).parents[1] / "examples"
DAY = date(2026, 3, 9)
LARGEST = 2_000_000  # bytes of a page
HOSTILE = '<script>alert(1)</script> & <b>"x"</b> `code` | *a* ' + "W" * 300 + " مرحبا بالعالم 🚰"
VOID = {"meta", "link", "br", "img", "hr", "input"}


class Outline(HTMLParser):
    """What a page is made of: its elements with attributes, its headings and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[tuple[int, str]] = []
        self.texts: list[str] = []
        self._open: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append((int(tag[1]), ""))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag):
        if tag in self._open:
            while self._open.pop() != tag:
                pass

    def handle_data(self, data):
        if "style" in self._open:
            return
        self.texts.append(data)
        if any(re.fullmatch("h[1-6]", tag) for tag in self._open):
            level, text = self.headings[-1]
            self.headings[-1] = (level, text + data)

    def named(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def text(self):
        return "".join(self.texts)


def run(*words):
    return CliRunner().invoke(report, [str(word) for word in words])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("report")


@pytest.fixture(scope="module")
def page(folder):
    """The page of a tightened elbow, made by the command."""
    (folder / "bent.yaml").write_text(BENT)
    result = run(folder / "bent.yaml", "-o", folder / "bent.html", "--csv", folder / "tables")
    assert result.exit_code in (0, 1, 3), result.output
    return (folder / "bent.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def outline(page):
    return Outline(page)


def undrawn(text, further=(), option=None, name="t.yaml"):
    """The report of a text without pictures."""
    study = parse_case(text, name)
    made = assess(study, option)
    return document(
        made, Source(name, text, "0" * 64, read_inputs(text, name)), follow(made), further, drawing=None, day=DAY
    ), study


def test_sections_stand_in_the_order_a_reviewer_follows(outline):
    second = [text for level, text in outline.headings if level == 2]
    assert second == [
        "1 Result",
        "2 Tightening window",
        "3 On site",
        "4 Inputs",
        "5 Worked lines that every case shares",
        "6 Case 'run'",
        "7 Case 'stopped'",
        "8 How the checks were made",
        "9 Reaction against flow, and balance flow",
        "10 How far flow and pressure may go",
        "11 Not checked",
        "12 Assumptions",
        "13 Warnings: what stands out",
        "14 Cautions",
        "15 Values from tables",
        "16 Tool and input file",
    ]
    third = [text for level, text in outline.headings if level == 3]
    assert third[0] == "Signatures"  # under the result, on the first pages


def test_every_line_of_a_whole_page_is_read_and_numbered_once(page):
    numbers = [line.name.split()[0] for line in lines_of(page)]
    assert len(numbers) == len(set(numbers)) == page.count('class="line"')


def test_the_verdict_rests_on_something_beside_it(outline):
    after = outline.text.split("1 Result")[-1]
    assert re.search("HOLDS|DOES NOT HOLD|NOT COMPLETE", after)
    assert "review by a licensed engineer decide" in after.split("2 On site")[0]


def test_on_site_says_bolts_torque_and_push(outline):
    site = outline.text.split("On site")[-1].split("Inputs, in the order")[0]
    for word in ("8 × M16", "90 N·m", "the fitting wants to move", "lbf"):
        assert word in site


def test_page_is_self_contained(page, outline):
    assert not outline.named("script")
    assert not outline.named("img")
    assert "src=" not in page
    assert "@import" not in page
    links = [attributes.get("href", "") for tag, attributes in outline.elements if "href" in attributes]
    assert links
    assert all(link.startswith(("#", "data:")) for link in links)


def test_links_of_the_contents_lead_to_sections(outline):
    names = {attributes["id"] for _, attributes in outline.elements if "id" in attributes}
    wanted = {attributes["href"][1:] for attributes in outline.named("a")}
    assert len(wanted) == 16
    assert wanted <= names


def test_names_of_elements_are_used_once(outline):
    names = [attributes["id"] for _, attributes in outline.elements if "id" in attributes]
    assert len(names) == len(set(names))


def test_headings_go_down_one_level_at_a_time(outline):
    levels = [level for level, _ in outline.headings]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_tables_have_heads_and_pictures_words(outline):
    assert all(attributes.get("scope") in ("col", "row") for attributes in outline.named("th"))
    pictures = [attributes for attributes in outline.named("svg") if attributes.get("role") == "img"]
    assert len(pictures) >= 6
    names = {attributes["id"] for attributes in outline.named("title") if "id" in attributes}
    assert {attributes["aria-labelledby"] for attributes in pictures} == names


def test_alternative_texts_say_what_the_picture_shows(outline):
    titles = outline.text
    for words in (
        "in case 'run', side view",
        "to scale: thrust of inlet",
        "Pressure over the gasket",
        "reaction runs between",
    ):
        assert words in titles


def test_digest_and_file_are_those_of_the_input(folder, outline):
    digest = hashlib.sha256((folder / "bent.yaml").read_bytes()).hexdigest()
    assert digest in outline.text
    assert "case_file: 1" in outline.text


def test_signature_block_is_empty(page):
    block = page.split("Signatures")[-1].split("</section>")[0]
    for role in ("Prepared by", "Checked by", "Reviewed by (licensed engineer)"):
        assert role in block
    assert block.count("<td></td>") == 12


def test_tables_as_comma_separated_values_hold_the_assessment(folder, page):
    assert page
    made = assess(parse_case(BENT, "t.yaml"))
    rows = list(csv.DictReader(io.StringIO((folder / "tables" / "bolts.csv").read_text(encoding="utf-8"))))
    assert len(rows) == 16
    for row in rows:
        joint = made.cases[row["case"]].joints[row["joint"]]
        known = joint.external_tension[int(row["bolt"]) - 1]
        # four figures are printed: half a unit in the fourth
        assert float(row["external tension N"]) == pytest.approx(known, rel=5e-4)
    names = {path.name for path in (folder / "tables").iterdir()}
    assert names == {
        "inputs.csv", "words.csv", "utilization.csv", "openings.csv", "loads.csv", "joint_actions.csv", "bolts.csv", "checks.csv", "how_checked.csv",
        "tables_used.csv", "not_checked.csv", "greatest_flow.csv", "greatest_pressure.csv",
    } - ({"not_checked.csv"} if not made.not_checked else set())  # fmt: skip


def test_inputs_are_shown_as_given_and_as_used():
    made, _ = undrawn(ELBOW)
    grid = next(
        b for section in made.sections if section.heading == "Inputs" for b in section.blocks if isinstance(b, Grid)
    )
    rows = {row[0]: row for row in grid.rows}
    assert rows["cases / run / inlet / flow_in"][2:] == ["20 L/s", "0.02 m³/s", "20 L/s"]
    assert rows["fitting / mass_center"][2:4] == ["[0.1, 0, 0] m", "[0.1, 0, 0] m"]
    assert len(rows) == len(grid.rows)
    made, _ = undrawn(BENT)
    grid = next(
        b for section in made.sections if section.heading == "Inputs" for b in section.blocks if isinstance(b, Grid)
    )
    (row,) = [
        row for row in grid.rows if row[0] == "joints / main / gasket / y"
    ]  # a key of its own, no part of a vector
    assert row[2] == "11 MPa"


def test_words_of_the_file_are_shown_and_no_quantity_is_shown_twice():
    for text in [BENT, *CASES.values()]:
        made, _ = undrawn(text)
        section = next(each for each in made.sections if each.heading == "Inputs")
        inputs, words = (block for block in section.blocks if isinstance(block, Grid))
        assert not {row[0] for row in inputs.rows} & {row[0] for row in words.rows}
    made, _ = undrawn(BENT)
    section = next(each for each in made.sections if each.heading == "Inputs")
    (rows,) = [block.rows for block in section.blocks if isinstance(block, Grid) and block.name == "words"]
    shown = {row[0]: row[2] for row in rows}
    assert shown["joints / main / bolts / size"] == "M16"
    assert shown["joints / main / bolts / class"] == "8.8"
    assert shown["cases / run / outlet"] == "free_jet"
    assert shown["joints / main / cycles_between"] == "[stopped, run]"
    for path, line, given in rows:
        assert path.rpartition(" / ")[2] in BENT.splitlines()[int(line) - 1] or given[0] == "["


def test_further_sections_stand_behind_the_curves():
    grid = Grid("limits", ["case", "flow"], [["run", "3"]], "Limits")
    made, study = undrawn(ELBOW, [Section("Limits of flow and pressure", [grid])])
    headings = [text for level, text in Outline(report_html(made, study.units)).headings if level == 2]
    assert (
        headings.index("9 Limits of flow and pressure")
        == headings.index("8 Reaction against flow, and balance flow") + 1
    )


def test_option_named_is_the_one_reported(tmp_path):
    text = CASES["supported"].replace("supports:\n", "supports:\n  bolts alone: []\n")
    made, study = undrawn(text, option="post")
    shown = report_html(made, study.units)
    assert "support option: post" in shown
    assert "Joints and supports together give the reaction" in shown
    path = tmp_path / "f.yaml"
    path.write_text(text)
    result = run(path, "-o", tmp_path / "o.html", "--option", "crane")
    assert result.exit_code == 2
    assert "no support option 'crane'" in result.output


def test_curve_of_a_case_follows_the_option_reported():
    text = CASES["supported"].replace("supports:\n", "supports:\n  bolts alone: []\n")
    study = parse_case(text, "t.yaml")
    for option in ("bolts alone", "post"):
        made = assess(study, option)
        (curve,) = follow(made).curves
        assert not isinstance(curve, NoCurve)
        at = np.argmin(np.abs(curve.x - 0.02))
        assert curve.x[at] == pytest.approx(0.02)
        assert float(curve.result.joints["main"].axial[at]) == pytest.approx(
            float(made.cases["run"].joints["main"].axial)
        )


def test_gas_has_no_curve_and_is_reported():
    made, study = undrawn(CASES["gas, choked"])
    shown = report_html(made, study.units)
    assert "balance flow" not in shown
    assert "Pressure at which the flow fills the exit" in shown


def test_from_memory_rows_are_marked():
    made, study = undrawn(BENT)
    shown = report_html(made, study.units)
    rows = re.findall(r"<tr>.*?</tr>", shown.split("Values taken from tables")[-1])
    assert all("CONFIRM" in row for row in rows if "from-memory" in row)


@pytest.mark.parametrize("place", ["title", "case", "note"])
def test_text_of_the_file_stays_text(place):
    quoted = json.dumps(HOSTILE, ensure_ascii=False)
    text = {
        "title": BLANK_FLANGE.replace("title: blank flange", f"title: {quoted}"),
        "case": BLANK_FLANGE.replace("  test: {", f"  {quoted}: {{"),
        "note": BLANK_FLANGE + f"note: {quoted}\n",
    }[place]
    made, study = undrawn(text)
    shown = Outline(report_html(made, study.units))
    assert not shown.named("script")
    assert not shown.named("b")
    assert HOSTILE in shown.text
    told = report_markdown(made, study.units)
    outside = re.sub(r"(?s)`{3,}.*?`{3,}", "", told)  # the listing of the file stands in a fence
    assert "<script" not in outside.replace("\\<script", "")
    assert "🚰" in outside


def test_markdown_holds_the_same_lines(folder, page):
    result = run(folder / "bent.yaml", "-o", folder / "bent.md", "--markdown")
    assert result.exit_code in (0, 1, 3)
    told = (folder / "bent.md").read_text(encoding="utf-8")
    assert len(re.findall(r"(?m)^  - \d+\.\d+ ", told)) == page.count('class="line"')
    assert "# elbow" in told
    assert "A = π·d²/4" in told
    for heading in ("## 1 Result", "### Signatures"):
        assert heading in told


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (ELBOW, 0),
        (ELBOW.replace("bolt_tension: 160 MPa", "bolt_tension: 1 kPa"), 1),
        (ELBOW.replace("bolt_shear: 95 MPa", ""), 3),
        (ELBOW.replace("60 kPa", "60 kPaa"), 2),
    ],
    ids=["holds", "fails", "incomplete", "unusable"],
)
def test_exit_codes_are_those_of_check(tmp_path, text, code):
    (tmp_path / "f.yaml").write_text(text)
    result = run(tmp_path / "f.yaml", "-o", tmp_path / "f.md", "--markdown")
    assert result.exit_code == code
    assert (tmp_path / "f.md").exists() == (code != 2)
    assert "Traceback" not in result.output


def test_output_that_is_there_is_kept_without_force(tmp_path):
    (tmp_path / "f.yaml").write_text(ELBOW)
    (tmp_path / "f.md").write_text("mine")
    words = (tmp_path / "f.yaml", "-o", tmp_path / "f.md", "--markdown")
    result = run(*words)
    assert result.exit_code == 2
    assert "--force" in result.output
    assert (tmp_path / "f.md").read_text() == "mine"
    assert run(*words, "--force").exit_code == 0
    assert (tmp_path / "f.md").read_text().startswith("# elbow")


def test_a_table_that_is_there_stops_everything(tmp_path):
    (tmp_path / "f.yaml").write_text(ELBOW)
    (tmp_path / "t").mkdir()
    (tmp_path / "t" / "loads.csv").write_text("mine")
    result = run(tmp_path / "f.yaml", "-o", tmp_path / "f.md", "--markdown", "--csv", tmp_path / "t")
    assert result.exit_code == 2
    assert [path.name for path in (tmp_path / "t").iterdir()] == ["loads.csv"]
    assert not (tmp_path / "f.md").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-o", "{}/none/f.md", "--markdown"), "there is no folder"),
        (("-o", "{}/f.yaml/f.md", "--markdown"), "is not a folder"),
        (("-o", "{}", "--markdown"), "is there already"),
        (("-o", "{}/f.md", "--markdown", "--csv", "{}/none/t"), "Nothing was written"),
        (("-o", "{}/f.md", "--markdown", "--csv", "{}/f.yaml"), "Nothing was written"),
        (("-o", "{}/f.md", "--markdown", "--open"), "choose one"),
        (("-o", "{}/f.html", "--option", "crane"), "no support option 'crane'"),
    ],
)
def test_bad_places_are_said_and_leave_nothing_behind(tmp_path, words, said):
    (tmp_path / "f.yaml").write_text(ELBOW)
    result = run(tmp_path / "f.yaml", *(word.format(tmp_path) for word in words))
    assert result.exit_code == 2
    assert said in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["f.yaml"]


def test_a_line_that_disagrees_is_a_fault_said_in_words(tmp_path, monkeypatch):
    monkeypatch.setattr("anchorsize.present.report.steps.AGREEMENT", -1.0)
    (tmp_path / "f.yaml").write_text(ELBOW)
    result = run(tmp_path / "f.yaml", "-o", tmp_path / "f.html")
    assert result.exit_code == 2
    assert "fault of the tool" in result.output
    assert not (tmp_path / "f.html").exists()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["terrace_elbow", "wye_missing_bolt"])
def test_pages_of_the_examples_are_not_too_large(tmp_path, name):
    assert run(EXAMPLES / f"{name}.yaml", "-o", tmp_path / "r.html").exit_code in (0, 1)
    assert (tmp_path / "r.html").stat().st_size <= LARGEST


@pytest.mark.slow
def test_page_in_a_browser(browser, folder, page):
    assert page
    shown = load(browser, folder / "bent.html")
    assert shown.complaints == []
    assert shown.requests == []
    assert shown.overflow(375) == 0
    assert shown.overflow(1200) == 0
    assert "Reviewed by (licensed engineer)" in shown.text()
    assert shown.value("[...document.querySelectorAll('math')].every(m => m.getBoundingClientRect().width > 0)")


@pytest.mark.slow
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_page_prints(browser, folder, page, paper):
    """A short report: verdict, worked lines and signatures, on some sheets and not on dozens."""
    assert page
    made, study = undrawn(BLANK_FLANGE)
    path = folder / "blank.html"
    path.write_text(report_html(made, study.units), encoding="utf-8")
    assert 4 <= load(browser, path).printed_pages(paper) <= 12


def test_support_options_stand_side_by_side_with_what_each_carries(tmp_path):
    """The figures are those of the comparison itself, which tests/test_supports_command.py holds against single checks."""
    from anchorsize.casefile import read_case
    from anchorsize.studies.supports import compare

    file = EXAMPLES / "supported_arm.yaml"
    out = tmp_path / "arm.md"
    assert run(file, "-o", out, "--markdown", "--no-limits", "--csv", tmp_path / "tables").exit_code == 0
    told = out.read_text(encoding="utf-8")
    assert "Support options side by side" in told
    compared = compare(read_case(file))
    rows = list(csv.DictReader(io.StringIO((tmp_path / "tables" / "support_options.csv").read_text(encoding="utf-8"))))
    assert [row["option"] for row in rows] == [option.name for option in compared.options]
    forces = list(csv.DictReader(io.StringIO((tmp_path / "tables" / "support_forces.csv").read_text(encoding="utf-8"))))
    carried = [(option, each) for option in compared.options for each in option.carried]
    assert len(forces) == len(carried)
    for row, (option, each) in zip(forces, carried, strict=True):
        assert (row["option"], row["support"]) == (option.name, each.support.name)
        both_ways = each.support.kind in ("strut", "guide", "anchor")
        for key, where, (case, force), sign in (
            ("least or most pulled", "least in", each.least, -1),
            ("greatest or most pushed", "greatest in", each.greatest, 1),
        ):
            if both_ways and force * sign < 0:  # never pulled, or never pushed
                assert (row[key], row[where]) == ("-", "-")
                continue
            assert float(row[key].split()[0].replace(",", "")) == pytest.approx(force, rel=5e-4)
            assert row[where] == case
    built = list(
        csv.DictReader(io.StringIO((tmp_path / "tables" / "support_materials.csv").read_text(encoding="utf-8")))
    )
    assert [row["idle in"] for row in built if row["option"] == "rod hanger"] == ["H1: full flow"]
    assert {row["its checks not made"] for row in built} == {"-"}
    assert "judges option 'bolts alone': the one asked for with --option, or else the first in the file" in " ".join(
        told.split()
    )
    states = (tmp_path / "tables" / "support_states.csv").read_text(encoding="utf-8")
    assert re.search(r"shut.*carrying: 1,417 N, 0.258", " ".join(states.split()))
    assert "How far flow and pressure may go" not in told


def test_limits_name_what_stops_them(tmp_path):
    from anchorsize.studies.limits import Ask, limits

    (tmp_path / "f.yaml").write_text(BENT)
    run(tmp_path / "f.yaml", "-o", tmp_path / "f.html", "--csv", tmp_path / "tables")
    page = (tmp_path / "f.html").read_text(encoding="utf-8")
    assert "How far flow and pressure may go" in page
    rows = list(csv.DictReader(io.StringIO((tmp_path / "tables" / "greatest_flow.csv").read_text(encoding="utf-8"))))
    found = limits(parse_case(BENT, "f"), Ask(points=0))
    case = found.cases["run"]
    assert case.flow is not None
    assert float(rows[0]["to"].split()[0]) == pytest.approx(1e3 * case.flow.intervals[0].high, rel=1e-4)
    assert case.flow.intervals[0].high_by.check in rows[0]["stopped by"]


def test_figures_of_table_rows_are_those_of_the_standards():
    """M16: 157 mm² (ISO 898-1); 8.8 up to M16: 800, 640 and 580 MPa (ISO 898-1); DN 100 PN 16: 220, 180, 18 mm (EN 1092-1)."""
    text = BENT.replace("flange: {thickness: 20 mm", "flange: {designation: EN 1092-1 PN 16 DN 100, thickness: 20 mm")
    made, _ = undrawn(text.replace("scatter: 30 %", "method: torque wrench"))
    (grid,) = [
        block for section in made.sections for block in section.blocks if getattr(block, "name", "") == "tables_used"
    ]
    at = list(grid.headers).index("figures of the row")
    figures = {row[1]: row[at] for row in grid.rows}
    for table, words in {
        "threads_metric": ("diameter 16 mm", "pitch 2 mm", "stress area 157 mm²"),
        "property_classes": ("tensile 800 MPa", "yield 640 MPa", "proof 580 MPa"),
        "flange_en1092_1": ("outside 220 mm", "bolt circle 180 mm", "hole 18 mm", "M16 bolts 8"),
        "tightening_scatter": ("to 25 %",),
    }.items():
        for each in words:
            assert each in figures[table], (each, figures[table])


@pytest.mark.parametrize("temperature", ["", ", temperature: 31 degC"])
def test_figures_of_the_fluid_are_those_that_the_study_uses(temperature):
    """Also where the file gives no temperature: what the table is read at then is the same in both places."""
    text = re.sub(r"(?m)^fluid: .*$", f"fluid: {{name: water{temperature}}}", ELBOW)
    study = parse_case(text, "t.yaml")
    (row,) = [each for each in study.provenance if each.table == "water"]
    shown = re.search(r"density ([\d.]+) kg", row_figures(row, study, "metric"))
    # four figures are printed: half a unit in the fourth
    assert float(shown[1]) == pytest.approx(float(study.fluid.density), rel=5.1e-4)
    assert ("at 31 °C" if temperature else "at 15 °C") in row_figures(row, study, "metric")


def test_figures_of_another_row_are_never_shown():
    study = parse_case(BENT, "t.yaml")
    for row in study.provenance:
        assert row_figures(row, study, "metric") != "-"
        assert row_figures(replace(row, source="another print"), study, "metric") == "-"
    assert row_figures(replace(study.provenance[0], table="none"), study, "metric") == "-"


def test_two_columns_of_one_name_are_refused():
    with pytest.raises(ValueError, match="table 'forces' has several columns named 'in'"):
        sheets([Grid("forces", ["least", "in", "greatest", "in"], [["1", "a", "2", "b"]], "Forces")])
    with pytest.raises(ValueError, match="'case'"):
        sheets([Grid("forces", ["case"], [["run"]], "Forces", keys=(("case", "run"),))])


def test_a_case_may_be_called_as_a_column_is(tmp_path):
    (tmp_path / "f.yaml").write_text(ELBOW.replace("  run: {", "  check: {"))
    words = (tmp_path / "f.yaml", "-o", tmp_path / "f.md", "--no-limits", "--csv", tmp_path / "t")
    result = run(*words)
    assert result.exit_code == 0, result.output
    with (tmp_path / "t" / "utilization.csv").open(encoding="utf-8", newline="") as file:
        assert next(csv.reader(file)) == ["check", "'check'", "'stopped'"]


def test_names_that_are_one_on_one_line_are_refused_in_words(tmp_path):
    text = ELBOW.replace("  run: {", '  "a b": {').replace("  stopped: {", '  "a\\nb": {')
    assert set(parse_case(text, "t").cases) == {"a b", "a\nb"}
    (tmp_path / "f.yaml").write_text(text)
    result = run(tmp_path / "f.yaml", "-o", tmp_path / "f.md", "--no-limits", "--csv", tmp_path / "t")
    assert result.exit_code == 2
    assert "several columns" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["f.yaml"]


@pytest.mark.parametrize(
    ("name", "words", "start"),
    [
        ("r.md", (), "# elbow"),
        ("r.MARKDOWN", (), "# elbow"),
        ("r.txt", ("--markdown",), "# elbow"),
        ("r.html", (), "<!doctype html>"),
        ("r.HTM", (), "<!doctype html>"),
    ],
)
def test_what_is_written_follows_the_name_of_the_file(tmp_path, name, words, start):
    (tmp_path / "f.yaml").write_text(ELBOW)
    assert run(tmp_path / "f.yaml", "-o", tmp_path / name, "--no-limits", *words).exit_code == 0
    assert (tmp_path / name).read_text(encoding="utf-8").lower().startswith(start)


@pytest.mark.parametrize(("name", "words"), [("r.html", "--markdown"), ("r.HTM", "--markdown"), ("r.md", "--open")])
def test_a_name_that_contradicts_an_option_is_refused(tmp_path, name, words):
    (tmp_path / "f.yaml").write_text(ELBOW)
    result = run(tmp_path / "f.yaml", "-o", tmp_path / name, words)
    assert result.exit_code == 2
    assert "choose one" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["f.yaml"]


def test_a_support_that_slides_is_said_to_where_the_options_are_compared():
    """A friction of next to nothing is used up by any load across the rest."""
    from anchorsize.present.report.further import supports_section
    from anchorsize.present.support_words import slides
    from anchorsize.studies.supports import compare

    compared = compare(parse_case(CASES["supported"].replace("friction: 0.3", "friction: 0.000001"), "t.yaml"))
    option = next(each for each in compared.options if each.carried)
    rest = next(each for each in option.carried if each.support.name == "R1")
    sliding = {case for case, result in rest.results.items() if slides(result)}
    assert sliding
    section = next(
        each for each in supports_section(compared, drawing=None).sections if each.heading == f"Option '{option.name}'"
    )
    (states,) = [block for block in section.blocks if isinstance(block, Grid) and block.name == "support_states"]
    at = list(states.headers).index("'R1'")
    assert {row[0] for row in states.rows if row[at].split(":")[0].endswith(", slides")} == sliding


@pytest.mark.parametrize("name", ["tightened", "friction form", "gas, choked", "sudden surge"])
def test_formulas_from_memory_are_named_beside_the_verdict(name):
    made, _ = undrawn(CASES[name])
    (note,) = [b.text for b in made.sections[0].blocks if isinstance(b, Prose) and b.look == "note"]
    assert note.startswith("From memory, not from a printed page: ")
    lines = worked(assess(parse_case(CASES[name], "t.yaml")))
    parts = [*lines.common, *(part for case in lines.cases.values() for part in case)]
    sources = {step.source for part in parts for step in part.steps}
    for source in sources:
        bare = source.replace(", from memory", "").replace(" (from memory)", "")
        assert note.count(bare) >= (bare != source), source
    # by hand: one source of each of these files that is cited from memory
    by_hand = {
        "tightened": "Equation 8-17",
        "friction form": "ISO 16047, torque equation",
        "gas, choked": "NACA Report 1135",
        "sudden surge": "Wylie and Streeter",
    }
    assert by_hand[name] in note


def test_the_day_is_that_of_the_environment(tmp_path, monkeypatch):
    """1 700 000 000 s after the epoch of Unix is 2023-11-14, 22:13:20 in UTC, as known of that round number."""
    (tmp_path / "f.yaml").write_text(ELBOW)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    for name in ("a.html", "b.html"):
        assert run(tmp_path / "f.yaml", "-o", tmp_path / name, "--no-limits").exit_code == 0
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()
    shown = Outline((tmp_path / "a.html").read_text(encoding="utf-8")).text
    front = shown.split("1 Result")[0]
    for words in ("2023-11-14 (UTC)", "Document number", "Revision"):
        assert words in front
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    result = run(tmp_path / "f.yaml", "-o", tmp_path / "c.html", "--no-limits")
    assert result.exit_code == 2
    assert "SOURCE_DATE_EPOCH is 'yesterday'" in result.output
    assert not (tmp_path / "c.html").exists()


def test_the_day_is_today_where_nothing_else_is_said(tmp_path, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    (tmp_path / "f.yaml").write_text(ELBOW)
    before = datetime.now(UTC).date()
    assert run(tmp_path / "f.yaml", "-o", tmp_path / "f.md", "--no-limits").exit_code == 0
    told = re.search(r"Made on\*\*: (\S+)", (tmp_path / "f.md").read_text(encoding="utf-8"))[1]
    assert before <= date.fromisoformat(told) <= datetime.now(UTC).date()


def test_every_option_has_the_bullets_of_the_supports_command(tmp_path):
    """Failing checks, checks not made with what to supply, sizes and idle words: what `supports` says, the report says."""
    from anchorsize.casefile import read_case
    from anchorsize.present.supports import option_lines
    from anchorsize.studies.support_size import size_supports
    from anchorsize.studies.supports import compare

    text = (EXAMPLES / "supported_arm.yaml").read_text(encoding="utf-8")
    file = tmp_path / "arm.yaml"
    file.write_text(text.replace("buckling_factor: 3", "buckling_factor: 90"), encoding="utf-8")
    out = tmp_path / "arm.md"
    assert run(file, "-o", out, "--no-limits").exit_code in (0, 1, 3)
    told = " ".join(out.read_text(encoding="utf-8").replace("\\", "").replace("&amp;", "&").split())
    compared, said = compare(read_case(file)), 0
    for option in compared.options:
        sizes = size_supports(compared.study, option.name) if option.supports else []
        for line in option_lines(compared, option, sizes):
            assert " ".join(line.split()) in told
            said += 1
    assert said > 3


def test_checks_that_another_option_lacks_are_not_denied():
    two = CASES["supported"] + "  other:\n    - {kind: rest, name: R9, at: [0.2, 0, -0.1 m], stiffness: 40 MN/m}\n"
    made, study = undrawn(two)
    assert "Every check that this tool knows was made." not in report_markdown(made, study.units)


def test_full_writes_every_line_out(tmp_path):
    """In brief a sum leaves its zeros out and a formula stands once; --full has every line of every bolt."""
    file = tmp_path / "bent.yaml"
    file.write_text(BENT, encoding="utf-8")
    sizes = {}
    for flag in ((), ("--full",)):
        out = tmp_path / f"bent{len(flag)}.md"
        run(file, "-o", out, "--no-limits", *flag)
        sizes[flag] = out.read_text(encoding="utf-8")
    assert sizes[()].count("External tension of a bolt") == sizes[("--full",)].count("External tension of a bolt")
    assert "Told in brief" in sizes[()]
    assert "Told in brief" not in sizes[("--full",)]
    assert len(re.findall(r"(?m)^  - ", sizes[()])) < len(re.findall(r"(?m)^  - ", sizes[("--full",)])) - 30


def test_doubtful_input_stands_under_the_headline():
    """Water that would leave the elbow into a pipe with 100 bar, having come with 0.6."""
    text = ELBOW.replace("outlet: free_jet", "outlet: {pressure: 100 bar}", 1)
    made, study = undrawn(text)
    said = report_markdown(made, study.units)
    assert said.index("Doubtful input: in 'run': The data contradict themselves") < said.index("Governs")
