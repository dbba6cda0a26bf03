"""Many joints at once: every row against a case file of its own, in any order, company and engine; and lists that are wrong."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from anchorsize.assessment import StudyError, assess, with_option
from anchorsize.casefile import CaseFileError, numeric_paths, parse_case
from anchorsize.casefile.inputs import complaints
from anchorsize.casefile.parse import CaseText
from anchorsize.cli.many import many
from anchorsize.studies import many as studies_many
from anchorsize.studies import many_columns, many_reading
from anchorsize.studies.many import COLUMNS, judge_frame, meta
from anchorsize.studies.many_columns import ListError
from anchorsize.studies.many_reading import read_list
from anchorsize.studies.many_search import Order, search
from anchorsize.studies.rows import judge_rows
from tests.cases import BLANK_FLANGE, ELBOW

EXAMPLES = Path(__file__).parents[1] / "examples"
BASE = (EXAMPLES / "many_base.yaml").read_text()
PRESSURE, BORE = "cases/washing/inlet/pressure [kPa]", "openings/outlet/bore [mm]"


def listed(seed, rows=40):
    """An invented list from hardly loaded to far over what the bolts hold, indexed as a file would be."""
    draw = np.random.default_rng(seed)
    size = draw.choice(["M12", "M16", "M20"], rows)
    return pd.DataFrame(
        {
            "id": [f"joint {i}" for i in range(rows)],
            "washing/inlet/flow_in [L/s]": draw.uniform(0.0, 40.0, rows).round(2),
            PRESSURE: draw.uniform(0.0, 900.0, rows).round(1),
            "plugged/inlet/pressure [bar]": (10.0 ** draw.uniform(-1.0, 1.7, rows)).round(3),
            BORE: draw.uniform(45.0, 80.0, rows).round(1),
            "size": size,
            "count": draw.choice(["4", "8", "12"], rows),
            "class": draw.choice(["5.6", "8.8"], rows),
            "torque [N*m]": np.select([size == "M12", size == "M16"], [25.0, 60.0], 110.0),
        },
        index=pd.RangeIndex(2, rows + 2, name="row"),
    )


def written_out(row):
    """The case file of one row of :func:`listed`, made by replacing texts."""
    text = BASE
    for old, new in (
        (
            "flow_in: 15 L/s, pressure: 60 kPa",
            f"flow_in: {row['washing/inlet/flow_in [L/s]']} L/s, pressure: {row[PRESSURE]} kPa",
        ),
        ("pressure: 300 kPa", f"pressure: {row['plugged/inlet/pressure [bar]']} bar"),
        ("bore: 60 mm", f"bore: {row[BORE]} mm"),
        ("count: 8, size: M16", f"count: {row['count']}, size: {row['size']}"),
        ('class: "8.8"', f'class: "{row["class"]}"'),
        ("torque: 90 N*m", f"torque: {row['torque [N*m]']} N*m"),
    ):
        assert old in text
        text = text.replace(old, new)
    return text


def run(*words):
    return CliRunner().invoke(many, [str(word) for word in words])


@pytest.fixture
def base(tmp_path):
    path = tmp_path / "base.yaml"
    path.write_text(BASE)
    return path


@pytest.fixture
def rows(tmp_path):
    def write(*lines, name="rows.csv"):
        path = tmp_path / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


@pytest.mark.parametrize("seed", [1, 2])
def test_every_row_is_what_its_own_case_file_gives(seed):
    frame = listed(seed)
    told = judge_frame(frame, BASE)
    assert {"holds", "fails"} <= set(told["verdict"])
    for row, made in told.iterrows():
        text = written_out(frame.loc[row])
        try:
            alone = assess(parse_case(text, "row.yaml"))
        except (StudyError, CaseFileError):
            assert made["verdict"] == "not judged"
            continue
        assert made["verdict"] == alone.verdict
        _, greatest = alone.governing
        assert made["utilization"] == pytest.approx(float(greatest.utilization), rel=1e-9)
        # the check named is one that governs: two cases may press alike to the last digits
        named = next(
            check
            for check in alone.cases[made["case"]].checks
            if (check.check, check.where) == (made["check"], made["where"])
        )
        assert float(named.utilization) == pytest.approx(float(greatest.utilization), rel=1e-9)
        assert made["margin"] == pytest.approx(float(named.margin), rel=1e-9, abs=1e-12)
        assert made["demand"] == pytest.approx(float(named.demand), rel=1e-9)
        assert made["allowable"] == pytest.approx(float(named.allowable), rel=1e-9)
        assert made["unit"] == named.unit
        assert pd.isna(made["bolt"]) == (named.bolt is None)


def test_the_example_list_is_what_its_rows_give_one_by_one(tmp_path):
    out = tmp_path / "out.csv"
    result = run(EXAMPLES / "many_joints.csv", "--base", EXAMPLES / "many_base.yaml", "-o", out)
    assert result.exit_code == 1
    with open(EXAMPLES / "many_joints.csv", newline="") as file:
        given_rows = list(csv.DictReader(file))
    with open(out, newline="") as file:
        made = list(csv.DictReader(file))
    assert [each["id"] for each in made] == [each["id"] for each in given_rows]
    assert [int(each["row"]) for each in made] == list(range(2, len(made) + 2))
    for each, judged in zip(given_rows, made, strict=True):
        text = BASE.replace("mass: 9 kg", f"mass: {each['fitting/mass [kg]']} kg")
        text = text.replace(
            "flow_in: 15 L/s, pressure: 60 kPa",
            f"flow_in: {each['washing/inlet/flow_in [L/s]']} L/s, pressure: {each['washing/inlet/pressure [kPa]']} kPa",
        )
        text = text.replace("pressure: 300 kPa", f"pressure: {each['plugged/inlet/pressure [kPa]']} kPa")
        text = text.replace("bore: 60 mm", f"bore: {each['outlet/bore [mm]']} mm")
        text = text.replace("count: 8, size: M16", f"count: {each['count']}, size: {each['size']}")
        text = text.replace('class: "8.8"', f'class: "{each["class"]}"')
        text = text.replace("torque: 90 N*m", f"torque: {each['torque [N*m]']} N*m")
        alone = assess(parse_case(text, "row.yaml"))
        assert judged["verdict"] == alone.verdict
        assert float(judged["utilization"]) == pytest.approx(float(alone.governing[1].utilization), rel=1e-9)


@pytest.mark.parametrize("scheduler", ["synchronous", "threads"])
def test_dask_gives_the_same(scheduler):
    dd = pytest.importorskip("dask.dataframe")
    frame = pd.concat([SHORT, SHORT]).reset_index(drop=True)
    frame.loc[7, BORE] = "-3.0"
    alone = judge_frame(frame, BASE)
    parts = dd.from_pandas(frame, npartitions=5)
    dealt = parts.map_partitions(judge_frame, base=BASE, meta=meta()).compute(scheduler=scheduler)
    assert_frame_equal(dealt, alone, check_dtype=False, rtol=1e-11, atol=0.0)


def test_meta_is_the_frame_without_rows():
    assert_frame_equal(meta(), judge_frame(listed(1, 3), BASE).iloc[:0], check_index_type=False, check_names=False)
    assert list(meta().columns) == list(COLUMNS)


SHORT = listed(4, 12).assign(**{"class": "8.8", "count": "8"}).astype(str)  # few groups: quick


@cache
def short_told():
    return judge_frame(SHORT, BASE)


@settings(max_examples=15)
@given(st.permutations(range(len(SHORT))))
def test_shuffled_rows_give_shuffled_results(order):
    shuffled = judge_frame(SHORT.iloc[list(order)], BASE)
    assert_frame_equal(shuffled, short_told().iloc[list(order)], rtol=1e-11, atol=0.0)


BAD = st.sampled_from(
    [
        (BORE, "wide"),
        (BORE, "-62"),
        (BORE, "6e7"),
        (BORE, ""),
        (BORE, "1,5"),
        (BORE, "62 or so"),
        (BORE, "0x3E"),
        ("torque [N*m]", "1e6"),
        ("torque [N*m]", "inf"),
        (PRESSURE, "-2000"),
        ("size", "M17"),
        ("count", "eight"),
        ("count", "2"),
        ("count", "60"),
        ("class", "9.9.9"),
        ("plugged/inlet/pressure [bar]", "5000"),
    ]
)


@settings(max_examples=25)
@given(BAD, st.integers(0, len(SHORT) - 1))
def test_one_bad_row_changes_no_other_row(bad, place):
    column, cell = bad
    frame = SHORT.copy()
    frame.iloc[place, frame.columns.get_loc(column)] = cell
    told = judge_frame(frame, BASE)
    others = np.arange(len(frame)) != place
    assert_frame_equal(told[others], short_told()[others], rtol=1e-11, atol=0.0)
    assert told["verdict"].iloc[place] in ("fails", "not judged")
    assert (told["verdict"].iloc[place] == "not judged") == bool(told["problem"].iloc[place])


def test_parquet_gives_what_csv_gives(tmp_path, base):
    pytest.importorskip("pyarrow")
    frame = listed(6).reset_index(drop=True)
    frame.to_csv(tmp_path / "rows.csv", index=False)
    frame.assign(count=frame["count"].astype(int)).to_parquet(tmp_path / "rows.parquet")
    printed = [run(tmp_path / name, "--base", base, "--csv").stdout for name in ("rows.csv", "rows.parquet")]
    assert printed[0] == printed[1]
    assert len(printed[0].splitlines()) == 41


def test_parquet_without_its_reader_is_said(tmp_path, base, monkeypatch):
    (tmp_path / "rows.parquet").write_bytes(b"PAR1")
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    result = run(tmp_path / "rows.parquet", "--base", base)
    assert (result.exit_code, "pyarrow" in result.stderr) == (2, True)


def test_what_is_no_parquet_is_said(tmp_path, base):
    pytest.importorskip("pyarrow")
    (tmp_path / "rows.parquet").write_bytes(b"no such thing")
    result = run(tmp_path / "rows.parquet", "--base", base)
    assert (result.exit_code, "no Parquet file" in result.stderr) == (2, True)


def test_chunks_give_what_the_whole_gives(tmp_path):
    pd.concat([SHORT] * 4).to_csv(tmp_path / "rows.csv", index=False)
    whole = judge_frame(next(read_list(tmp_path / "rows.csv")), BASE)
    parts = [judge_frame(part, BASE) for part in read_list(tmp_path / "rows.csv", chunk=10)]
    assert len(parts) == 5
    assert_frame_equal(pd.concat(parts), whole, rtol=1e-11, atol=0.0)


def test_units_of_the_header_are_those_of_the_figures():
    frame = pd.DataFrame({PRESSURE: [100.0], "fluid/temperature [degF]": [59.0]})
    other = pd.DataFrame({"washing/inlet/pressure [bar]": [1.0], "fluid/temperature [degC]": [15.0]})
    assert_frame_equal(judge_frame(frame, BASE), judge_frame(other, BASE), rtol=1e-12)


def test_columns_that_the_tables_are_asked_with_stay_apart_by_row():
    """The density of water is looked up by temperature: each row must get its own, whatever stands beside it."""
    frame = pd.DataFrame(
        {"fluid/temperature [degC]": [5.0, 80.0, 5.0], "washing/inlet/flow_in [L/s]": [40.0, 40.0, 30.0]}
    )
    together = judge_frame(frame, BASE)
    alone = pd.concat([judge_frame(frame.iloc[[i]], BASE) for i in range(3)])
    assert_frame_equal(together, alone, rtol=1e-12)


@pytest.fixture
def batches(monkeypatch):
    """The shape of every batch that is judged."""
    shapes = []
    monkeypatch.setattr(
        studies_many,
        "judge_rows",
        lambda study, shape, option: shapes.append(shape) or judge_rows(study, shape, option),
    )
    return shapes


@pytest.mark.parametrize("fluid", ["water", "ethylene glycol 30 %"])
def test_rows_of_many_temperatures_are_one_batch_and_each_what_check_gives(fluid, batches):
    text = BASE.replace("name: water", f'name: "{fluid}"')
    assert text.count(fluid)
    warm = np.random.default_rng(5).uniform(1.0, 59.0, 40).round(3)
    frame = pd.DataFrame({"fluid/temperature [degC]": warm, "washing/inlet/flow_in [L/s]": np.linspace(10.0, 45.0, 40)})
    told = judge_frame(frame, text)
    assert batches == [(40,)]
    for celsius, flow, (_, row) in zip(warm, frame["washing/inlet/flow_in [L/s]"], told.iterrows(), strict=True):
        study = CaseText(text, "row.yaml").study(
            {"fluid/temperature": celsius + 273.15, "cases/washing/inlet/flow_in": flow * 1e-3}
        )
        alone = assess(study)
        assert row["verdict"] == alone.verdict
        assert row["utilization"] == pytest.approx(float(alone.governing[1].utilization), rel=1e-12)


def test_a_temperature_that_is_not_listed_stops_its_row_only():
    warm = [15.0, 120.5, 60.0, -3.0, 99.0]
    told = judge_frame(pd.DataFrame({"fluid/temperature [degC]": warm}), BASE)
    assert np.flatnonzero(told["verdict"] == "not judged").tolist() == [1, 3]
    assert "not at 120.5 °C" in told["problem"][1]
    assert "not at -3 °C" in told["problem"][3]


def test_a_rating_from_the_table_follows_the_temperature_of_each_row():
    text = BLANK_FLANGE.replace("density: 1000 kg/m^3", "density: 1000 kg/m^3, temperature: 20 degC").replace(
        "    gasket:", "    flange: {designation: class 150 NPS 4, rating: from table}\n    gasket:"
    )
    warm = [20.0, 80.0, 130.0, 180.0, 240.0]
    told = judge_frame(pd.DataFrame({"fluid/temperature [degC]": warm}), text)
    for celsius, (_, row) in zip(warm, told.iterrows(), strict=True):
        alone = assess(parse_case(text.replace("20 degC", f"{celsius} degC"), "row.yaml"))
        assert (row["verdict"], row["check"]) == (alone.verdict, alone.governing[1].check)
        assert row["utilization"] == pytest.approx(float(alone.governing[1].utilization), rel=1e-12)
    assert told["utilization"].nunique() > 1


def test_bolts_in_one_line_stop_their_rows_only_each_with_its_own_figures(batches):
    """The third bolt moves onto the line of the others; a study of its own says the same of such a row."""
    text = ELBOW.replace(
        "{count: 4, size: M16, circle: 160 mm, first_at: 45 deg}",
        "{size: M16, places: [{x: 0 mm, y: 80 mm}, {x: 0 mm, y: -80 mm}, {x: 80 mm, y: 0 mm}]}",
    )
    place = "joints/main/bolts/places/3/x [mm]"
    frame = pd.DataFrame(
        {place: [80.0, 0.0, 60.0, 0.0, 70.0], "run/inlet/flow_in [L/s]": [20.0, 18.0, 20.0, 22.0, 24.0]}
    )
    told = judge_frame(frame, text)
    assert batches == [(5,)]
    for (x, flow), (_, row) in zip(frame.to_numpy(), told.iterrows(), strict=True):
        study = CaseText(text, "row").study({place.split(" ")[0]: x * 1e-3, "cases/run/inlet/flow_in": flow * 1e-3})
        if x:
            assert row["utilization"] == pytest.approx(float(assess(study).governing[1].utilization), rel=1e-12)
            continue
        with pytest.raises(StudyError, match="bolts in one line") as caught:
            assess(study)
        assert (row["verdict"], row["problem"]) == ("not judged", str(caught.value))
    assert told["problem"][1] != told["problem"][3]
    assert told["reason"][1] == told["reason"][3]


def test_a_row_that_turns_the_joint_up_leaves_the_bolt_angles_of_the_others():
    """Where the axis of the joint is up, bolt angles are counted from +x; the rows beside it count from up."""
    text = ELBOW.replace("first_at: 45 deg", "first_at: 10 deg")
    frame = pd.DataFrame(
        {"inlet/outward/x": [-1.0, 0.0, -0.8], "inlet/outward/y": [0.0, 0.0, 0.6], "inlet/outward/z": [0.0, -1.0, 0.0]}
    )
    alone = pd.concat([judge_frame(frame.iloc[[i]], text) for i in range(3)])
    assert_frame_equal(judge_frame(frame, text), alone, rtol=1e-12)


def test_bolts_in_short_form_and_missing_bolts():
    text = BLANK_FLANGE.replace("{count: 8, size: M16, circle: 180 mm, first_at: 22.5 deg}", "8 x M16 on 180 mm")
    told = judge_frame(pd.DataFrame({"size": ["M16", "M12", "M16"], "missing": ["", "3 4", "[3, 9]"]}), text)
    # a gap at a gasket must be judged, and no greatest spacing is given
    assert told["verdict"].tolist() == ["holds", "incomplete", "not judged"]
    by_hand = BLANK_FLANGE.replace("M16", "M12").replace("deg}", "deg, missing: [3, 4]}")
    assert told["utilization"][1] == pytest.approx(float(assess(parse_case(by_hand, "h")).governing[1].utilization))
    assert "there is no bolt 9" in told["problem"][2]


def test_a_preload_that_breaks_the_bolts_is_the_row_s_own(base, rows):
    path = rows("torque [N*m],class", "60,8.8", "900,8.8", "60,8.8")
    data = json.loads(run(path, "--base", base, "--json").stdout)
    assert [row["verdict"] for row in data["rows"]] == ["holds", "not judged", "holds"]
    assert "it would break while being tightened" in data["rows"][1]["problem"]
    counts = {"rows": 3, "holds": 2, "fails": 0, "incomplete": 0, "not_judged": 1}
    assert data["counts"] == {**counts, "doubtful": 0, "doubtful_looked_for": 2}


def test_numbers_that_contradict_each_other_are_found_among_many():
    frame = pd.DataFrame({"gasket/outside [mm]": np.where(np.arange(200) % 50 == 7, 190.0, 158.0)})
    told = judge_frame(frame, BASE)
    assert np.flatnonzero(told["verdict"] == "not judged").tolist() == [7, 57, 107, 157]
    assert "190 mm" in told["problem"][57]


CLEAN = "size,washing/inlet/pressure [kPa]"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ((CLEAN.replace(" [kPa]", ""), "M16,60"), "no unit"),
        ((CLEAN.replace("kPa", "kPaa"), "M16,60"), "kPa"),
        ((CLEAN.replace("kPa", "mm"), "M16,60"), "is a length"),
        ((CLEAN.replace("size", "size [mm]"), "16,60"), "take the unit out"),
        ((CLEAN, "M16,60 psi"), "row 2, column 'washing/inlet/pressure [kPa]': '60 psi' has a unit of its own"),
        (("washing/inlt/pressure [kPa]", "60"), "did you mean 'washing/inlet/pressure'?"),
        (("pressure [kPa]", "60"), "write more of the path"),
        ((CLEAN + ",joints/main/bolts/size", "M16,60,M16"), "both give joints/main/bolts/size"),
        (("id", "a"), "no column gives an input"),
        ((CLEAN,), "no row below the header"),
        ((), "the list is empty"),
        (("", "M16,60"), "no header"),
        (("pump,size", "A,M16"), "column 'pump'"),
        ((CLEAN + ",", "M16,60,"), "name the input that the column gives"),
    ],
)
def test_a_list_that_is_wrong_as_a_whole_is_refused(base, rows, lines, said):
    result = run(rows(*lines), "--base", base)
    assert result.exit_code == 2
    assert said in result.stderr
    assert "Nothing was computed" in result.stderr
    assert result.stdout == ""


@pytest.mark.parametrize("content", [b"", b"size\xff,count\nM16,8\n", b"size\nM\xff16\n"])
def test_a_file_that_is_no_list_is_refused(tmp_path, base, content):
    (tmp_path / "rows.csv").write_bytes(content)
    result = run(tmp_path / "rows.csv", "--base", base)
    assert (result.exit_code, "Traceback" in result.stderr) == (2, False)


def test_no_such_list_base_or_option_is_refused(tmp_path, base, rows):
    path = rows(CLEAN, "M16,60")
    assert "no such file" in run(tmp_path / "none.csv", "--base", base).stderr
    for words in ((path, "--base", tmp_path / "none.yaml"), (path, "--base", base, "--option", "stilts")):
        result = run(*words)
        assert (result.exit_code, result.stdout) == (2, "")
    assert run(path).exit_code == 2
    assert "save it as CSV" in run(tmp_path / "rows.xlsx", "--base", base).stderr
    assert run(path, "--base", base, "--json", "--csv").exit_code == 2


def test_a_base_that_is_wrong_is_named(tmp_path, rows):
    broken = tmp_path / "broken.yaml"
    broken.write_text(BASE.replace("60 kPa", "60 kPaa"))
    result = run(rows(CLEAN, "M16,60"), "--base", broken)
    assert result.exit_code == 2
    assert "broken.yaml" in result.stderr


def test_mixed_units_far_down_print_nothing(base, rows, tmp_path):
    path = rows(CLEAN, *["M16,60"] * 500, "M16,8 psi")
    assert run(path, "--base", base, "--csv").stdout == ""
    result = run(path, "--base", base, "-o", tmp_path / "out.csv")
    assert "row 502" in result.stderr
    assert not (tmp_path / "out.csv").exists()


def test_rows_are_counted_as_the_file_has_them(base, rows):
    """Blank lines count; short and long rows and odd cells are each row's own trouble."""
    path = rows(
        "id," + CLEAN, "a,M16,60", "", "b,M16", "c,M16,60,7", "d,M16,sixty", 'e,"M16", 60 ', "f,M16,60,,", "g,M99,60"
    )
    result = run(path, "--base", base, "--csv")
    made = {row["id"]: row for row in csv.DictReader(io.StringIO(result.stdout))}
    assert {key: int(row["row"]) for key, row in made.items()} == {
        "a": 2,
        "b": 4,
        "c": 5,
        "d": 6,
        "e": 7,
        "f": 8,
        "g": 9,
    }
    assert [key for key, row in made.items() if row["verdict"] == "not judged"] == ["b", "c", "d", "g"]
    assert "empty" in made["b"]["problem"]
    assert "more cells" in made["c"]["problem"]
    assert "washing/inlet/pressure [kPa]: 'sixty' is not a number" in made["d"]["problem"]
    assert "M99" in made["g"]["problem"]
    assert result.exit_code == 1
    assert "row 6 (d)" in result.stderr


def test_rows_without_anything_are_passed_over_and_counted(base, rows):
    nothing = ["", "   ", ",", " , \t,"] * 3000
    path = rows("size,washing/inlet/pressure [kPa]", *nothing, "M16,60", *nothing, '""," "', ",61", *nothing)
    made = json.loads(run(path, "--base", base, "--json").stdout)["rows"]
    assert [(row["row"], row["verdict"]) for row in made] == [(12_002, "holds"), (24_004, "not judged")]
    result = run(rows("size,count", *nothing), "--base", base)
    assert (result.exit_code, "no row below the header" in result.stderr) == (2, True)


CELLS = st.text(st.sampled_from('a1 \n",;\t\r'), max_size=6)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.lists(CELLS, min_size=2, max_size=3), min_size=1, max_size=12), st.integers(1, 9), st.integers(1, 30)
)
def test_rows_are_those_of_the_standard_reader_wherever_the_file_is_cut(cells, part, letters):
    """Against Python's csv module over the whole text: cells with line ends and quotes, rows without anything, any block size."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\n")
    writer.writerows([["h1", "h2"], *cells])
    text = written.getvalue().replace("\r\n", "\n").replace("\r", "\n")  # as files are read
    wanted = [
        (number, *row, *[""] * (2 - len(row)))
        for number, row in enumerate(csv.reader(io.StringIO(text)), start=1)
        if number > 1 and any(map(str.strip, row))
    ]
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        path = Path(folder) / "rows.csv"
        path.write_text(text, encoding="utf-8")
        patch.setattr(many_reading, "_PART", part)
        patch.setattr(many_reading, "MOST_LETTERS", letters)
        if not wanted:
            with pytest.raises(ListError, match="no row below the header"):
                list(read_list(path))
            return
        frames = list(read_list(path))
    told = [
        (row, first, second, surplus)
        for frame in frames
        for row, first, second, surplus in frame.reindex(
            columns=["h1", "h2", many_reading.SURPLUS], fill_value=""
        ).itertuples()
    ]
    assert told == [(*row[:3], " ".join(row[3:]).strip()) for row in wanted]


def test_long_rows_come_in_smaller_chunks(tmp_path, monkeypatch):
    SHORT.to_csv(tmp_path / "rows.csv", index=False)
    monkeypatch.setattr(many_reading, "_PART", 50)
    monkeypatch.setattr(many_reading, "MOST_LETTERS", 200)
    assert 3 <= len(list(read_list(tmp_path / "rows.csv"))) <= len(SHORT)


def test_a_column_in_which_every_word_is_another_is_no_choice(base, rows, monkeypatch):
    monkeypatch.setattr(many_columns, "MOST_WORDS", 3)
    result = run(rows("size", "M12", "M16", "M20", "M24"), "--base", base)
    assert (result.exit_code, "4 different words" in result.stderr) == (2, True)
    assert run(rows("size,torque [N*m]", *["M12,25", "M16,60"] * 3), "--base", base).exit_code == 0


def test_ever_so_many_surplus_cells_are_the_row_s_trouble(base, rows):
    result = run(rows("size", "M16", "M16" + "," * 500, "M16" + ",x" * 500), "--base", base, "--json")
    assert [row["verdict"] for row in json.loads(result.stdout)["rows"]] == ["holds", "holds", "not judged"]


def test_what_no_reader_of_lists_can_read_is_said(base, tmp_path):
    (tmp_path / "rows.csv").write_text('size\n"M16\n')
    result = run(tmp_path / "rows.csv", "--base", base)
    assert (result.exit_code, "no list" in result.stderr) == (2, True)


@pytest.mark.parametrize("separator", [";", "\t"])
def test_other_separators_and_fractions(base, rows, separator):
    path = rows(
        separator.join(["size", "outlet/bore [in]"]), separator.join(["M16", "2 3/8"]), separator.join(["M16", "2,5"])
    )
    data = json.loads(run(path, "--base", base, "--json").stdout)
    assert [row["verdict"] for row in data["rows"]] == ["holds", "not judged"]
    assert "2.5" in data["rows"][1]["problem"]


def test_ten_thousand_bad_rows(base, rows):
    path = rows(CLEAN, "M16,60", *["M16,much"] * 6000, *["M16,-200"] * 3000, *["M17,60"] * 1000)
    result = run(path, "--base", base)
    assert result.exit_code == 1
    assert "the first 20 of 10,000" in result.stdout
    assert result.stdout.count("'much' is not a number") == 20
    for count in ("6,000 ×", "3,000 ×", "1,000 ×"):
        assert count in result.stdout
    assert max(map(len, run(path, "--base", base, "--width", "80").stdout.splitlines())) <= 80
    made = list(csv.DictReader(io.StringIO(run(path, "--base", base, "--csv").stdout)))
    assert sum(bool(row["problem"]) for row in made) == 10_000


def test_exit_codes_and_words(base, rows, tmp_path):
    holds = run(rows(CLEAN, "M16,60"), "--base", base)
    assert holds.exit_code == 0
    assert "HOLDS: of 1 row, 1 holds in every case and check." in holds.stdout
    for sentence in ("Assumptions", "licensed engineer"):
        assert sentence in holds.stdout
    lacking = tmp_path / "lacking.yaml"
    lacking.write_text(BASE.replace("  bolt_shear: 95 MPa\n", ""))
    result = run(rows(CLEAN, "M16,60"), "--base", lacking)
    assert result.exit_code == 3
    assert "bolt shear not checked" in result.stdout
    assert run(rows(CLEAN, "M16,60000"), "--base", base).exit_code == 1


def test_writes_are_whole_and_never_over_another(base, rows, tmp_path):
    path, out = rows(CLEAN, "M16,60"), tmp_path / "out.json"
    assert run(path, "--base", base, "-o", out).exit_code == 0
    assert json.loads(out.read_text())["rows"][0]["verdict"] == "holds"
    assert run(path, "--base", base, "-o", out).exit_code == 2
    assert run(path, "--base", base, "-o", out, "--csv", "--force").exit_code == 0
    assert out.read_text().startswith("id,row,verdict,")
    assert run(path, "--base", base, "-o", tmp_path / "no" / "out.csv").exit_code == 2


def test_json_holds_what_csv_holds(base, tmp_path):
    listed(8, 12).to_csv(tmp_path / "rows.csv", index=False)
    data = json.loads(run(tmp_path / "rows.csv", "--base", base, "--json").stdout)
    table = list(csv.DictReader(io.StringIO(run(tmp_path / "rows.csv", "--base", base, "--csv").stdout)))
    assert data["format"] == "anchorsize/1"
    assert data["verdict"] == "fails"
    assert data["deferral"]
    for row, cells in zip(data["rows"], table, strict=True):
        assert list(row) == list(cells)
        assert cells["utilization"] == ("" if row["utilization"] is None else repr(row["utilization"]))


def test_help_loads_nothing_heavy():
    code = (
        "import sys; from anchorsize.cli.many import many\n"
        "try: many(['--help'])\nexcept SystemExit: pass\n"
        "assert not {'numpy', 'pandas', 'pint', 'pydantic'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True).returncode == 0


@given(st.lists(st.floats(-1e12, 1e12) | st.sampled_from([0.0, -0.0, np.nan, np.inf, 20.0]), max_size=30))
def test_complaints_are_those_of_each_value_by_itself(values):
    text = CaseText(BASE, "base.yaml")
    for path in ("openings/outlet/bore", "cases/washing/inlet/pressure", "fitting/mass"):
        quantity = text.quantities[path]
        found = {}
        for places, why in complaints(quantity, np.array(values, dtype=float)):
            found.update(dict.fromkeys(places.tolist(), why))
        for place, value in enumerate(values):
            if not np.isfinite(value):
                assert found[place] == "is not finite"
                continue
            alone = quantity.bounds.complaint(value, quantity.kind)
            assert (found.get(place) is None) == (alone is None)
            assert alone is None or found[place].startswith(alone[0])


def test_every_quantity_of_the_base_can_head_a_column():
    kinds = numeric_paths(BASE, "base.yaml")
    assert {"openings/outlet/bore", "joints/main/tightening/torque", "fluid/temperature"} <= set(kinds)
    with pytest.raises(ListError) as caught:
        judge_frame(
            pd.DataFrame({path: [1.0] for path, kind in kinds.items() if kind not in ("number", "share")}), BASE
        )
    assert len(caught.value.problems) == sum(kind not in ("number", "share") for kind in kinds.values())


ON_RESTS = """\
case_file: 1
title: elbow on three rests, kept in place by three struts (invented)
fluid: {name: water, density: 1000 kg/m^3}
fitting: {mass: 100 kg, mass_center: [0.1, 0, 0 m]}
openings:
  inlet: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
  outlet: {center: [0.1, 0, -0.2 m], outward: [0, 0, -1], bore: 50 mm}
cases:
  run: {inlet: {flow_in: 20 L/s, pressure: 60 kPa}, outlet: free_jet}
supports:
  rests:
    - {kind: rest, name: R1, at: [0.4, 0, 0 m], stiffness: 10 MN/m, allow: {force: 5 kN}}
    - {kind: rest, name: R2, at: [-0.2, 0.3, 0 m], stiffness: 10 MN/m, allow: {force: 5 kN}}
    - {kind: rest, name: R3, at: [-0.2, -0.3, 0 m], stiffness: 10 MN/m, allow: {force: 5 kN}}
    - {kind: strut, name: S1, at: [0, 0, 0 m], toward: [1, 0, 0], stiffness: 10 MN/m, allow: {force: 5 kN}}
    - {kind: strut, name: S2, at: [0.3, 0, 0 m], toward: [0, 1, 0], stiffness: 10 MN/m, allow: {force: 5 kN}}
    - {kind: strut, name: S3, at: [-0.3, 0, 0 m], toward: [0, 1, 0], stiffness: 10 MN/m, allow: {force: 5 kN}}
"""


def test_rows_that_the_jet_lifts_off_their_rests_are_refused_each_with_its_own_figures():
    masses = [100.0, 5.0, 90.0, 8.0]  # the jet lifts rho Q²/A = 204 N, some 20.8 kg
    told = judge_frame(pd.DataFrame({"fitting/mass [kg]": masses}), ON_RESTS)
    for mass, (_, row) in zip(masses, told.iterrows(), strict=True):
        text = ON_RESTS.replace("mass: 100 kg", f"mass: {mass} kg")
        if mass > 21.0:
            alone = assess(parse_case(text, "r"))
            assert row["verdict"] == alone.verdict
            assert row["utilization"] == pytest.approx(float(alone.governing[1].utilization), rel=1e-9)
        else:
            with pytest.raises(StudyError) as caught:
                assess(parse_case(text, "r"))
            assert (row["verdict"], row["problem"]) == ("not judged", str(caught.value))


@pytest.mark.parametrize("option", ["bolts alone", "rod hanger", "block in line"])
def test_a_support_option_is_judged_as_check_judges_it(option):
    text = (EXAMPLES / "supported_arm.yaml").read_text()
    masses = [140.0, 165.0, 190.0]
    told = judge_frame(pd.DataFrame({"fitting/mass [kg]": masses}), text, option)
    for mass, (_, row) in zip(masses, told.iterrows(), strict=True):
        study = parse_case(text.replace("mass: 165 kg", f"mass: {mass} kg"), "r")
        alone = assess(with_option(study, option))
        assert row["verdict"] == alone.verdict
        assert row["utilization"] == pytest.approx(float(alone.governing[1].utilization), rel=1e-9)


def test_every_row_whose_bolts_break_says_so_with_its_own_figures(base, rows):
    torques = [60.0, 900.0, 950.0, 1000.5]
    path = rows("torque [N*m]", *map(str, torques))
    data = json.loads(run(path, "--base", base, "--json").stdout)
    said = []
    for torque, row in zip(torques[1:], data["rows"][1:], strict=True):
        with pytest.raises(StudyError) as caught:
            assess(parse_case(BASE.replace("torque: 90 N*m", f"torque: {torque} N*m"), "r"))
        assert row["problem"] == str(caught.value)
        said.append(row["problem"])
    assert len(set(said)) == 3
    assert list(data["reasons"].values()) == [3]
    assert "…" not in "".join(said)
    assert all(words.split(":")[0] in run(path, "--base", base).stdout for words in said)


CLOSE = BASE.replace("allow:\n", "allow:\n  bolt_spacing_least: 65 mm\n")


def test_a_check_of_geometry_hides_no_load_of_a_row(tmp_path, rows):
    path = tmp_path / "close.yaml"
    path.write_text(CLOSE)
    frame = pd.DataFrame({PRESSURE: [60.0, 200.0, 400.0]})
    plain, told = judge_frame(frame, BASE), judge_frame(frame, CLOSE)
    assert set(told["check"]) == {"bolt spacing"}
    assert set(told["verdict"]) == {"holds"}
    for column in ("check", "case", "where", "bolt", "utilization"):
        assert (
            told[f"{column}_under_load"].tolist() == plain[column].tolist() or told[f"{column}_under_load"].isna().all()
        )
        assert plain[f"{column}_under_load"].equals(plain[column].rename(f"{column}_under_load"))
    listed_rows = rows(PRESSURE, "60", "200", "400")
    for width in (80, 140):
        text = run(listed_rows, "--base", path, "--width", width).stdout
        assert "Rows with the greatest utilization under load" in text
        assert text.count("every case") >= 3
        assert max(map(len, text.splitlines())) <= width
    assert "under load" not in run(listed_rows, "--base", tmp_path / "close.yaml", "--csv").stdout.splitlines()[0]
    data = json.loads(run(listed_rows, "--base", path, "--json").stdout)
    assert data["rows"][0]["check_under_load"] == plain["check"][0]
    (tmp_path / "plain.yaml").write_text(BASE)
    assert "under load" not in run(listed_rows, "--base", tmp_path / "plain.yaml").stdout.split("Assumptions")[0]


def test_that_more_rows_exist_is_said_with_where_they_are(base, tmp_path):
    listed(1, 12).assign(**{"class": "8.8"})[["id", PRESSURE]].to_csv(tmp_path / "rows.csv", index=False)
    text = " ".join(run(tmp_path / "rows.csv", "--base", base).stdout.split())
    assert "10 of 12 judged; -o FILE writes every row" in text
    assert "utilized" in text
    text = " ".join(run(tmp_path / "rows.csv", "--base", base, "-o", tmp_path / "out.csv").stdout.split())
    assert f"every row is in {tmp_path / 'out.csv'}".replace(" ", "") in text.replace(" ", "")
    assert "every row is in" not in run(tmp_path / "rows.csv", "--base", base, "--width", "120").stdout


def test_demand_and_allowable_stand_on_a_wide_screen(base, rows):
    path = rows(CLEAN, "M16,60")
    assert "allowable  utilized" in run(path, "--base", base, "--width", "120").stdout
    assert "allowable  utilized" not in run(path, "--base", base, "--width", "80").stdout


def test_a_list_whose_every_row_is_bad_is_written_and_ends_with_one(base, rows, tmp_path):
    result = run(rows(CLEAN, "M99,60", "M16,much"), "--base", base, "-o", tmp_path / "out.csv")
    assert result.exit_code == 1
    assert "2 could not be judged" in result.stdout
    assert len((tmp_path / "out.csv").read_text().splitlines()) == 3


def test_every_row_is_counted_once_in_the_progress():
    frame = pd.concat([SHORT] * 3).reset_index(drop=True)
    frame.loc[3, BORE] = "wide"
    frame.loc[7, "size"] = "M17"
    frame.loc[9, "count"] = "60"
    frame["joints/main/gasket/outside [mm]"] = np.where(np.arange(len(frame)) % 9 == 5, 190.0, 158.0)
    steps = []
    told = judge_frame(frame, BASE, progress=steps.append)
    assert sum(steps) == len(frame)
    assert {3, 7, 9, 5, 14, 23, 32} <= set(np.flatnonzero(told["verdict"] == "not judged"))


@pytest.mark.parametrize("terminal", [True, False])
def test_progress_stands_on_a_terminal_only(base, rows, monkeypatch, terminal):
    class Stream(io.StringIO):
        def isatty(self):
            return terminal

    written = Stream()
    monkeypatch.setattr("sys.stderr", written)
    with pytest.raises(SystemExit):
        many.main([str(rows(CLEAN, "M16,60")), "--base", str(base)])
    assert ("1 rows judged" in written.getvalue()) is terminal


def test_a_long_run_says_how_it_goes_where_there_is_no_terminal_too(base, rows, monkeypatch):
    path = rows(CLEAN, "M16,60", "M16,61")
    assert "judged" not in run(path, "--base", base).stderr
    monkeypatch.setattr("anchorsize.cli.many.WORD_EVERY", 0.0)
    assert "2 rows judged\n" in run(path, "--base", base).stderr


@settings(max_examples=60, deadline=None)
@given(st.data(), st.integers(1, 300))
def test_a_search_finds_every_bad_row_whatever_makes_it_so(data, size):
    """Rows are bad by a limit on one number, by a sum of two, or anywhere."""
    draw = np.random.default_rng(data.draw(st.integers(0, 2**32 - 1)))
    numbers = {name: draw.normal(size=size) for name in "abc"}
    by_one, by_two = numbers["a"] > 1.5, numbers["b"] - numbers["c"] > 2.0
    bad = data.draw(st.sampled_from([by_one, by_two, by_one | by_two, draw.random(size) < 0.1, np.ones(size, bool)]))
    said = []

    def attempt(rows):
        if np.any(bad[rows]):
            raise StudyError("bad")

    order = Order(numbers)
    for part in np.array_split(np.arange(size), 3):
        if np.any(bad[part]):
            found = search(part, attempt, lambda row, _: said.extend(row.tolist()), StudyError, order)
            assert found.tolist() == part[~bad[part]].tolist()
    assert sorted(said) == np.flatnonzero(bad).tolist()


def test_bad_rows_side_by_side_cost_about_a_try_each():
    draw = np.random.default_rng(3)
    numbers = {name: draw.normal(size=5000) for name in "abcdef"}
    bad, tries = numbers["c"] > np.sort(numbers["c"])[-101], []

    def attempt(rows):
        tries.append(rows.size)
        if np.any(bad[rows]):
            raise StudyError("bad")

    search(np.arange(5000), attempt, lambda *_: None, StudyError, Order(numbers))
    assert bad.sum() == 100
    # one of each, and what it takes to find the first few (log2 of 5000 is 12) and the end
    assert len(tries) < 100 + 12 * 12
