"""What people write at their first try: taken where it can mean one thing only, else answered with what to write."""

from __future__ import annotations

import math

import pytest
from click.testing import CliRunner

from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.casefile.problems import KINDS
from anchorsize.cli import main
from anchorsize.reference import NotInTable, flange
from anchorsize.units import UnitError, parse_quantity
from tests.casefile.test_broken_files import BASE
from tests.cases import ELBOW

US = ("units: metric", "units: us")
GASKET = "    gasket: {inside: 115 mm, outside: 162 mm}"
LOOSE = "write - for a bolt that is missing, 0 with its unit for one that is loose"
PIPE = "a nominal size is no length: write the inside diameter, with its unit; `anchorsize table pipe_sizes`: "


def edited(*edits: tuple[str, str]) -> str:
    text = BASE
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def said(*edits: tuple[str, str]) -> list[str]:
    with pytest.raises(CaseFileError) as caught:
        parse_case(edited(*edits), "f")
    assert {problem.kind for problem in caught.value.problems} <= set(KINDS)
    return [str(problem).removeprefix("f:") for problem in caught.value.problems]


def tightened(torque: str) -> tuple[str, str]:
    return GASKET, f"{GASKET}\n    tightening: {{nut_factor: 0.2, torque: {torque}}}"


@pytest.mark.parametrize(
    ("edits", "lines"),
    [
        # Nominal sizes: ASME B36.10M, NPS 6 is 6.625 in outside, 0.280 in wall of schedule 40, so 6.065 in inside.
        ([("bore: 100 mm", "bore: DN 100")], [f"13: openings / inlet / bore: 'DN 100' is not a length ({PIPE}DN 100 (NPS 4) is 114.3 mm outside; its bore is that less twice the wall)"]),
        ([("bore: 100 mm", "bore: NPS 6"), US], [f"13: openings / inlet / bore: 'NPS 6' is not a length ({PIPE}DN 150 (NPS 6) is 6.625 in outside; its bore is that less twice the wall)"]),
        ([("bore: 100 mm", 'bore: 6" sch 40'), US], [f"13: openings / inlet / bore: '6\" sch 40' is not a length ({PIPE}DN 150 (NPS 6) is 6.625 in outside, and 6.065 in inside with the 0.28 in wall of schedule 40)"]),
        ([("bore: 100 mm", "bore: NPS 7")], ["13: openings / inlet / bore: 'NPS 7' is not a length (a nominal size is no length: write the inside diameter, with its unit; `anchorsize table pipe_sizes` lists pipes)"]),
        # Bolts by grade, fine thread, decimal comma, bare number
        ([('class: "8.8"', "grade: B7")], ["19: joints / main / bolts / grade: unknown key 'grade' (did you mean 'class'?)"]),
        ([("size: M16", "size: 3/4-16 UNF")], ["19: joints / main / bolts / size: '3/4-16 UNF' is a fine thread, and fine inch threads are not tabled (give diameter, tensile_area and root_area beside size, which is a name then)"]),
        ([("size: M16", "size: M16x2,0")], ["19: joints / main / bolts / size: 'M16x2,0' has a comma in a number (write 'M16x2.0', with a decimal point)"]),
        ([("size: M16", "size: 16")], ["19: joints / main / bolts / size: '16' says neither M nor inches (write M16)"]),
        ([("size: M16", "size: 16"), US], ["19: joints / main / bolts / size: '16' says neither M nor inches (write M16 or 5/8 in, which is 15.88 mm)"]),
        # Pounds as #
        ([("mass: 10 kg", "mass: 160 #")], ["7: fitting / mass: '160' is not a mass (a # after a blank starts a comment: write lb if it stands for pounds)"]),
        ([("mass: 10 kg", "mass: 160#")], ["7: fitting / mass: '160#' is not a mass (unknown unit '#'; write 'lb')"]),
        # Directions in words
        ([("reference: [0, 0, 1]", "reference: down")], ["18: joints / main / reference: 'down' is not three numbers (write [0, 0, -1], which is down in this file)"]),
        ([("up: [0, 0, 1]", "up: [0, 1, 0]"), ("reference: [0, 0, 1]", "reference: Up")], ["18: joints / main / reference: 'Up' is not three numbers (write [0, 1, 0], which is up in this file)"]),
        ([("outward: [1, 0, 0]", "outward: -y")], ["14: openings / outlet / outward: '-y' is not three numbers (write [0, -1, 0])"]),
        ([("outward: [1, 0, 0]", "outward: east")], ["14: openings / outlet / outward: 'east' is not three numbers (write [x, y, z])"]),
        # Bolts by their place, and bolts without a torque
        ([('class: "8.8"', "missing: [\"7 o'clock\", B5]")], ["19: joints / main / bolts / missing / 1: '7 o'clock' is not a whole number from 1 to 400 (clock positions are not read: write the number of the bolt; check prints the clock position of every bolt beside its number)", "19: joints / main / bolts / missing / 2: 'B5' is not a whole number from 1 to 400 (write 5)"]),
        ([tightened('[110 N*m, null, "", 9 N*m, 5]')], [f"21: joints / main / tightening / torque / 2: 'null' stands where a moment is expected ({LOOSE})", f"21: joints / main / tightening / torque / 3: nothing is given where a moment is expected ({LOOSE})", "21: joints / main / tightening / torque / 5: '5' is not a moment (no unit; write one such as 'N·m' or 'kN·m' after the number)"]),
        ([tightened("{all: 90 N*m, 3: missing}")], [f"21: joints / main / tightening / torque / 3: 'missing' stands where a moment is expected ({LOOSE})"]),
        # Units in doubt
        ([(GASKET, f"{GASKET}\n    pipe_behind: {{outside: 114.3 mm, wall: 4 mm, length: 1 m, modulus: 205 MPa, poisson: 0.3}}")], ["21: joints / main / pipe_behind / modulus: '205 MPa' is less than 500 MPa (is this unit right?)"]),
        ([(GASKET, f"{GASKET}\n    members: {{modulus: 205 MPa, face_diameter: 160 mm}}")], ["21: joints / main / members / modulus: '205 MPa' is less than 1 GPa (is this unit right?)"]),
        ([("external:", "supports:\n  one: [{kind: rest, name: R, at: [0.1, 0, 0 m], stiffness: 40 MN/m, gap: 2 m}]\nexternal:")], ["32: supports / one / 1 / gap: '2 m' is more than 200 mm (a gap is what closes before it carries, 0 to 200 mm: is its unit right? A support set against the fitting has a set_load instead; where the joint sinks onto the support by so much, write settles, with a minus)"]),
        # Still water, and flows in the file's own unit: 10 L/s less 20 gal/min (1.2618 L/s) is 8.7382 L/s or 138.5 gal/min
        ([("inlet: {flow_in: 0 L/s, pressure: 100 kPa}\n    outlet: capped", "inlet: {pressure: 100 kPa}\n    outlet: {pressure: 100 kPa}")], ["28: cases / stop: the flows of 'inlet', 'outlet' are unknown, and one can be solved (write flow_in or flow_out at all of them but one, such as flow_in: 0 L/s where nothing flows)"]),
        ([US, ("outlet: free_jet", "outlet: {pressure: 9 psi, flow_out: 20 gpm}")], ["25: cases / run: the flows of 'inlet', 'outlet' do not balance: 8.73 kg/s (138.5 gal/min) more in than out (leave out the flow that is least certain; it is solved)"]),
        # A capital in the name of an opening
        ([("    outlet: capped", "    Outlet: capped")], ["30: cases / stop / Outlet: 'Outlet' is neither an opening nor a key of a case (did you mean 'outlet'?)"]),
    ],
)  # fmt: skip
def test_the_answer(edits, lines):
    assert said(*edits) == lines


def test_two_commas_with_nothing_between_them_are_answered():
    (line,) = said(tightened("[110, , 110 N*m]"))
    assert line.startswith("21: not YAML: ")
    assert line.endswith("(nothing stands between two commas; in a list by bolts a missing one is -)")


def test_remedies_obeyed_give_a_study():
    for edit in (
        ("size: M16", "size: M16x2.0"),
        ("size: M16", "size: M16x2"),
        ("size: M16", "size: 5/8 in"),
        ("size: M16", "size: 3/4-16 UNF, diameter: 14 mm, tensile_area: 130 mm^2, root_area: 120 mm^2"),
        ("reference: [0, 0, 1]", "reference: [0, 0, -1]"),
        tightened("[90 N*m, 0 N*m, 90, 90, 90, 90, 90, 90 N*m]".replace("90,", "90 N*m,")),
        ("inlet: {flow_in: 0 L/s, pressure: 100 kPa}", "inlet: {pressure: 100 kPa}"),
    ):
        assert parse_case(edited(edit), "f").cases


def test_polyethylene_pipe_is_soft_and_no_slip_of_the_unit():
    """0.69 GPa is the least of the tabled short-time moduli of HDPE."""
    pipe = "pipe_behind: {outside: 110 mm, wall: 10 mm, length: 1 m, modulus: 0.69 GPa, poisson: 0.4}"
    joint = parse_case(edited((GASKET, f"{GASKET}\n    {pipe}")), "f").joints["main"]
    assert joint.pipe_behind.modulus == pytest.approx(0.69e9)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("units: metric", "units: METRIC"),
        ("outlet: free_jet", "outlet: Free Jet"),
        ("outlet: free_jet", "outlet: FREE_JET"),
        ("outlet: free_jet", "outlet: free-jet"),
        ("outlet: capped", "outlet: {exit: Capped}"),
        ("shear_plane: thread", "shear_plane: Thread"),
    ],
)
def test_words_of_the_format_are_taken_in_any_capitals(old, new):
    base = BASE.replace('class: "8.8"', "shear_plane: thread")
    plain, other = (parse_case(text, "f") for text in (base, base.replace(old, new, 1)))
    assert base != base.replace(old, new, 1)
    for name, case in plain.cases.items():
        assert {k: s.exit for k, s in other.cases[name].states.items()} == {k: s.exit for k, s in case.states.items()}
    assert other.units == plain.units == "metric"
    assert other.joints["main"].bolts.shear_plane == "thread"


def test_us_units_in_capitals_are_offered_like_those_in_small_letters():
    lines = said(("units: metric", "units: US"), ("bolt_tension: 160 MPa", "bolt_tension: 25"))
    assert lines == [
        "22: allow / bolt_tension: '25' is not a stress or a force (no unit; write one such as 'psi', 'ksi')"
    ]
    assert parse_case(edited(("units: metric", "units: US")), "f").units == "us"


@pytest.mark.parametrize("key", ["Joints", "joint", "JOINTS", "Joint"])
def test_a_key_wrong_by_its_form_alone_is_the_only_complaint(key):
    rated = (GASKET, f"{GASKET}\n    flange: {{rating: 16 bar}}")
    factor = ("  run:\n", "  run:\n    rating_factor: 1.2\n")
    assert said(("joints:", f"{key}:"), rated, factor) == [f"15: {key}: unknown key '{key}' (did you mean 'joints'?)"]


def test_what_is_wrong_elsewhere_hides_no_bolt_that_there_cannot_be():
    wrong = [("case_file: 1\n", ""), ("count: 8", "count: 8, shear_plane: tread, missing: [9]")]
    wrong += [("fluid: {name: water, temperature: 15 degC}\n", ""), ("units: metric", "units: imperial")]
    lines = said(*wrong, ("size: M16", "size: M15"))
    for words in ("there is no bolt 9", "'tread'", "'imperial'", "'case_file' is missing", "'fluid' is missing"):
        assert sum(words in line for line in lines) == 1


def test_a_gasket_that_cannot_be_read_hides_no_thread_that_is_not_listed():
    lines = said(("inside: 115 mm, ", ""), ("size: M16", "size: M15"), ("units: metric", "units: imperial"))
    assert [line.split(":")[0] for line in lines] == ["3", "19", "20"]
    assert "thread 'M15' is not in table" in lines[1]
    assert "'inside' is missing" in lines[2]


def test_a_flange_in_no_table_is_complained_of_once():
    edits = (
        ("count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg, ", ""),
        (GASKET, f"{GASKET}\n    flange: {{designation: class 150 NPS 99, rating: from table}}"),
    )
    (line,) = said(*edits)
    assert "flange 'class 150 NPS 99' is not in table" in line


@pytest.mark.parametrize(
    "words",
    ['6" class 300', '6" 300#', 'ANSI 300 6"', '6" ANSI 300', "300 lb 6", "NPS 6 300 lb", "6 in 300 lbs", "ASME B16.5 300# NPS 6", "ANSI 6 300", "ANSI 300 DN 150"],
)  # fmt: skip
def test_flanges_by_the_names_of_the_trade(words):
    assert flange(words) == flange("ASME B16.5 class 300 NPS 6")


@pytest.mark.parametrize("words", ['6" 300', "6 300", "ANSI 300 300", "ANSI 6", "300"])
def test_flanges_that_may_mean_two_things_are_not_taken(words):
    with pytest.raises(NotInTable):
        flange(words)


def test_fittings_of_awwa_keep_their_own_class():
    assert flange("AWWA C207 12 in class D") == flange("AWWA C207 class D 12 in")


# Pascals of one unit of water column, conventional: NIST SP 811 (2008), Appendix B.8, recalled; all figures printed there.
@pytest.mark.parametrize(
    ("unit", "pascals", "rounding"),
    [
        *[(unit, 2989.067, 5e-4) for unit in ("ftH2O", "ft H2O", "ft. H2O", "feet of water", "ft of water", "FT H2O")],
        *[(unit, 249.0889, 5e-5) for unit in ("inH2O", "in H2O", "in. H2O", "inches of water")],
        *[(unit, 9.80665, 5e-9) for unit in ("mmH2O", "mm H2O", "mm of water")],
        *[(unit, 98.0665, 5e-8) for unit in ("cmH2O", "cm H2O")],
        *[(unit, 9806.65, 5e-6) for unit in ("mH2O", "m H2O", "m of water", "m H₂O")],
    ],
)
def test_water_columns(unit, pascals, rounding):
    assert parse_quantity(f"1 {unit}", "pressure") == pytest.approx(pascals, abs=rounding)


@pytest.mark.parametrize("marked", ["psig", "PSIG", "psiG", "PSI(G)", "psi G", "psi gauge", "PSI GAUGE"])
def test_gauge_in_any_capitals(marked):
    assert parse_quantity(f"110 {marked}", "pressure") == parse_quantity("110 psi", "pressure")


@pytest.mark.parametrize(
    ("gauge", "plain"), [("BARG", "bar"), ("barG", "bar"), ("kPaG", "kPa"), ("ftH2O gauge", "ftH2O")]
)
def test_other_gauge_pressures(gauge, plain):
    assert parse_quantity(f"3 {gauge}", "pressure") == parse_quantity(f"3 {plain}", "pressure")


@pytest.mark.parametrize("absolute", ["psia", "PSIA", "bara", "BARA", "kPa abs", "PSI ABS"])
def test_absolute_in_any_capitals(absolute):
    with pytest.raises(UnitError, match="is absolute"):
        parse_quantity(f"30 {absolute}", "pressure")
    assert math.isfinite(parse_quantity(f"30 {absolute}", "absolute_pressure"))


@pytest.mark.parametrize(
    ("text", "kind", "unit"),
    [("5 #", "force", "lbf"), ("5 #", "mass", "lb"), ("5 #/in2", "stress", "lbf/in2"), ("5 ft-#", "moment", "ft-lbf"), ("5 #/ft3", "density", "lb/ft3")],
)  # fmt: skip
def test_a_pound_sign_is_answered_with_the_pound_of_the_kind(text, kind, unit):
    with pytest.raises(UnitError, match=f"write '{unit}'"):
        parse_quantity(text, kind)
    assert math.isfinite(parse_quantity(f"5 {unit}", kind))


def run(*words: object) -> tuple[int, str]:
    result = CliRunner().invoke(main, [str(word) for word in words])
    return result.exit_code, " ".join(result.output.split())


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "f.yaml"
    path.write_text(ELBOW, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("command", "name", "remedy"),
    [
        ("boltup", "sheet.pdf", "write .html and print it to PDF from the browser"),
        ("boltup", "sheet.PDF", "write .html and print it to PDF from the browser"),
        ("boltup", "sheet.docx", "name it .html or .htm"),
        ("boltup", "sheet.md", "name it .html or .htm"),
        ("report", "r.pdf", "write .html and print it to PDF from the browser"),
        ("report", "r.docx", "name it .html, .htm, .md or .markdown"),
        ("report --markdown", "r.pdf", "name it .md, .markdown or .txt"),
        ("picture", "p.pdf", "a picture is .svg or .png; write .svg and print it to PDF from the browser"),
    ],
)
def test_a_name_that_promises_another_form_is_refused(file, command, name, remedy):
    code, told = run(*command.split(), file, "-o", file.parent / name)
    assert code == 2
    assert remedy in told
    assert [path.name for path in file.parent.iterdir()] == ["f.yaml"]


def test_a_list_under_the_name_of_a_workbook_is_refused(file):
    (file.parent / "rows.csv").write_text("id\n1\n", encoding="utf-8")
    code, told = run("many", file.parent / "rows.csv", "--base", file, "-o", file.parent / "out.xlsx")
    assert (code, "name it .csv, .json or .txt" in told) == (2, True)


def test_names_of_the_user_are_not_guessed_but_asked_for(file):
    rest = "supports:\n  Side-Strut: []\n  post and strut: []\n"
    file.write_text(f"{ELBOW}\n{rest}", encoding="utf-8")
    for asked, meant in (
        ("side-strut", "Side-Strut"),
        ("side strut", "Side-Strut"),
        ("post-and-strut", "post and strut"),
    ):
        code, told = run("check", file, "--option", asked)
        assert code == 2
        assert f"no support option '{asked}'; the file has" in told
        assert f"did you mean '{meant}'?" in told
    code, told = run("picture", file, "--case", "RUN", "-o", file.parent / "p.svg")
    assert (code, "did you mean 'run'?" in told) == (2, True)
    code, told = run("curve", file, "--case", "Run", "--to", "3 L/s")
    assert (code, "did you mean 'run'?" in told) == (2, True)
    code, told = run("boltup", file, "--joint", "Main", "-o", file.parent / "s.html")
    assert (code, "did you mean 'main'?" in told) == (2, True)


@pytest.mark.parametrize(
    ("lost", "remedy"),
    [
        ("4:30", "clock positions are not read: write the number of the bolt"),
        ("main:4:30", "clock positions are not read: write the number of the bolt"),
        ("7 o'clock", "clock positions are not read: write the number of the bolt"),
        ("bolt 5", "write 5"),
        ("B5", "write 5"),
    ],
)
def test_a_lost_bolt_goes_by_its_number(file, lost, remedy):
    code, told = run("check", file, "--without", lost)
    assert (code, remedy in told) == (2, True)


def test_the_check_tells_the_clock_position_of_every_bolt_as_promised(file):
    """Four bolts, the first 45° from 12:00: half past one, four, seven and ten."""
    code, told = run("check", file)
    assert code in (0, 1, 3)
    for bolt, clock in enumerate(("1:30", "4:30", "7:30", "10:30"), start=1):
        assert f" {bolt} M16 {clock} " in told


def test_a_repair_without_a_target_is_told_how_to_write_one(file):
    torques = "{all: 90 N*m, 3: 0 N*m}"
    file.write_text(edited(tightened(torques)), encoding="utf-8")
    code, told = run("check", file, "--repaired")
    assert code == 2
    assert "target_torque: 90 N*m" in told
    file.write_text(edited(tightened(f"{torques}, target_torque: 90 N*m")), encoding="utf-8")
    assert run("check", file, "--repaired")[0] in (0, 1, 3)
