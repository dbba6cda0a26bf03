"""What new users stumbled on in the report: what it lacked beside the check, and where its printed pages broke."""

from __future__ import annotations

import csv
import io
import re

import numpy as np
import pytest
from click.testing import CliRunner

from anchorsize.assessment import assess
from anchorsize.assessment.asking import first_greatest
from anchorsize.casefile import parse_case
from anchorsize.cli.commands import check
from anchorsize.cli.report import report
from anchorsize.present.pictures import bolt_view
from tests.cases import BLANK_FLANGE
from tests.test_size_stumbles import PUMP
from tests.test_worked_steps import BENT


def made(tmp_path, text, *words):
    """Exit code and Markdown of a report without the limits."""
    path, out = tmp_path / "case.yaml", tmp_path / "case.md"
    path.write_text(text)
    code = CliRunner().invoke(report, [str(path), "-o", str(out), "--force", *words]).exit_code
    return code, out.read_text(encoding="utf-8")


def checked(tmp_path, text, *words):
    path = tmp_path / "case.yaml"
    path.write_text(text)
    found = CliRunner().invoke(check, [str(path), *words])
    return found.exit_code, " ".join(found.output.split())


def section(page, name):
    """What stands under a heading of the second level."""
    return re.split(r"^## ", page.partition(f" {name}\n")[2], maxsplit=1, flags=re.M)[0]


def test_the_report_has_the_torques_that_would_do_as_the_check_has(tmp_path):
    _, page = made(tmp_path, BENT, "--no-limits")
    _, said = checked(tmp_path, BENT)
    told = [
        line.removeprefix("- ") for line in section(page, "Tightening window").splitlines() if line.startswith("- ")
    ]
    assert told[0].startswith("joint 'main': torque from ")
    for sentence in told:
        assert sentence in said


def test_a_joint_that_is_not_tightened_has_no_window(tmp_path):
    _, page = made(tmp_path, BLANK_FLANGE, "--no-limits")
    assert "Tightening window" not in page


@pytest.mark.parametrize("torque", ["220 N*m", "400 N*m"])
def test_the_report_has_the_lost_bolts_where_they_are_asked_for(tmp_path, torque):
    """At 220 N·m the joint holds and slips with a bolt lost; at 400 N·m it holds with any one lost."""
    bolts = 'bolts: {count: 12, size: M24, circle: 355 mm, class: "8.8"}'
    text = PUMP.replace('bolts: {class: "8.8"}', bolts).replace("300 N*m", torque)
    text = text.replace("allow: {", "allow: {bolt_spacing_greatest: 200 mm, ")
    plain, page = made(tmp_path, text, "--no-limits")
    assert "One bolt lost" not in page
    code, page = made(tmp_path, text, "--no-limits", "--one-lost", "--csv", str(tmp_path / torque[:3]))
    expected, said = checked(tmp_path, text, "--one-lost")
    assert code == expected == (0 if torque.startswith("4") else 1)
    assert plain == 0
    rows = list(csv.DictReader(io.StringIO((tmp_path / torque[:3] / "one_bolt_lost.csv").read_text(encoding="utf-8"))))
    assert sorted(int(row["lost bolt"]) for row in rows) == list(range(1, 13))
    assert {row["verdict"] for row in rows} <= {"holds", "FAILS"}
    found = re.search(r"With any one bolt lost: .*?\.", section(page, "One bolt lost"))
    assert found is not None
    assert found[0] in said


def test_a_joint_that_cannot_be_judged_with_a_bolt_lost_says_why(tmp_path):
    text = re.sub(r"joints:\n(  .*\n)+", "", PUMP)
    code, page = made(tmp_path, text, "--no-limits", "--one-lost")
    assert code == checked(tmp_path, text, "--one-lost")[0]
    assert "not judged, the file has no joint" in section(page, "One bolt lost")


def test_a_greatest_pressure_names_its_opening(tmp_path):
    _, page = made(tmp_path, BENT)
    table = section(page, "How far flow and pressure may go").partition("How far the pressure may go: ")[2]
    caption, _, head, _, first, *_ = table.splitlines()
    assert caption == "gauge pressure at the opening named, before any surge"
    assert head.startswith("| case | pressure at |")
    opening = first.split("|")[2].strip().strip("'")
    assert opening in parse_case(BENT, "t").openings


def test_of_bolts_alike_the_first_governs():
    """A shear through the middle loads all bolts alike, whatever the last figure of each says."""
    assert first_greatest(np.array([1.0, 1.0 + 1e-15, 0.5])) == 0
    assert first_greatest(np.array([[0.1, float("inf")], [-2.0, -1.0]])).tolist() == [1, 1]
    text = PUMP.replace('bolts: {class: "8.8"}', 'bolts: {count: 12, size: M24, circle: 355 mm, class: "8.8"}')
    for turn in range(12):
        shear = next(
            each
            for each in assess(parse_case(text.replace("count: 12,", f"count: 12, first_at: {turn * 2.5} deg,"), "t"))
            .cases["shut"]
            .checks
            if each.check == "bolt shear"
        )
        assert int(shear.bolt) == 1


@pytest.mark.parametrize("size", ["M6", "M14", "M20", "M24", "M36"])
def test_numbers_stand_all_in_the_circles_or_all_beside_them(size):
    text = PUMP.replace('bolts: {class: "8.8"}', f"bolts: {{count: 12, size: {size}, circle: 355 mm}}")
    text = re.sub("    (gasket|flange|tightening|grip|bolt_modulus|face_friction).*\n", "", text)
    figure = bolt_view(assess(parse_case(text, "t")), "shut", "nozzle")
    numbers = [each for each in figure.texts if each.get_text() in {str(i) for i in range(1, 13)}]
    assert len(numbers) == 12
    assert len({(each.get_fontsize(), each.get_color()) for each in numbers}) == 1


def test_no_printed_page_ends_with_a_heading(browser, tmp_path):
    """Pages of a report printed by a browser: below no heading is there an end of the page."""
    import pypdf

    from tests.browser import load

    path = tmp_path / "bent.yaml"
    path.write_text(BENT)
    CliRunner().invoke(report, [str(path), "-o", str(tmp_path / "bent.html"), "--no-limits"])
    html = (tmp_path / "bent.html").read_text(encoding="utf-8")
    headings = {"".join(re.sub("<[^>]*>", "", found).split()) for found in re.findall(r"<h[2-4]>.*?</h[2-4]>", html)}
    headings |= {
        "".join(re.sub("<[^>]*>", "", found).split()) for found in re.findall("<p>Utilization is .*?</p>", html)
    }
    assert len(headings) > 10
    page = load(browser, tmp_path / "bent.html")
    for sheet in pypdf.PdfReader(io.BytesIO(page.pdf("A4", "1-12"))).pages:  # the rest is more of the same
        lines = [line for line in sheet.extract_text().splitlines() if line.strip()]
        lines = [line for line in lines if not re.fullmatch(r"\s*\d+ / \d+\s*", line)]
        assert "".join(lines[-1].split()) not in headings
