"""A list names the doubtful input of its rows as a check of each would; a surge is counted at every opening, or doubted."""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from pandas.testing import assert_frame_equal

from anchorsize.assessment import assess
from anchorsize.casefile import parse_case
from anchorsize.cli import main
from anchorsize.studies.many import judge_frame
from anchorsize.studies.many_doubts import MOST_CASES, NOT_LOOKED_FOR, Doubts

BASE = (Path(__file__).parents[1] / "examples" / "many_base.yaml").read_text()
# holes drilled for M20: an M16 bolt takes 18.5 mm at most (ISO 273, coarse series)
WIDE = BASE.replace("    grip: 44 mm\n", "    grip: 44 mm\n    flange: {hole: 22 mm}\n").replace(
    "size: M16", "size: M20"
)
PRESSURE = "washing/inlet/pressure [kPa]"
LIST = pd.DataFrame(
    {
        "id": ["wide", "right", "driven", "fails"],
        "size": ["M16", "M20", "M20", "M20"],
        # 15 L/s out of 60 mm leave with ρ/2 (v₂² − v₁²) = 12.2 kPa less 1.2 kPa of height, which 2 kPa cannot drive
        PRESSURE: [60.0, 60.0, 2.0, 60.0],
        "plugged/inlet/pressure [bar]": [3.0, 3.0, 3.0, 400.0],
    },
    index=pd.RangeIndex(2, 6, name="row"),
)


def alone(row):
    """The doubtful findings of a check of one row, its case file made by replacing texts."""
    text = WIDE.replace("size: M20", f"size: {row['size']}")
    text = text.replace("pressure: 60 kPa", f"pressure: {row[PRESSURE]} kPa")
    judged = assess(parse_case(text.replace("300 kPa", f"{row['plugged/inlet/pressure [bar]']} bar"), "row.yaml"))
    return judged.verdict, [each.message for each in judged.warnings if each.doubtful]


def flat(text):
    return " ".join(text.split())


@pytest.fixture
def many(tmp_path):
    """Run ``many`` over a frame and a base."""

    def run(frame, base, *words):
        frame.to_csv(tmp_path / "rows.csv", index=False)
        (tmp_path / "base.yaml").write_text(base)
        return CliRunner().invoke(
            main, ["many", str(tmp_path / "rows.csv"), "--base", str(tmp_path / "base.yaml"), *map(str, words)]
        )

    return run


def test_each_row_that_holds_is_doubted_as_its_own_check_doubts_it():
    told = Doubts(WIDE).add(LIST, judge_frame(LIST, WIDE))
    seen = []
    for row, made in told.iterrows():
        verdict, messages = alone(LIST.loc[row])
        assert made["verdict"] == verdict
        if verdict == "fails":
            assert made["doubtful"] == NOT_LOOKED_FOR
        else:
            assert bool(made["doubtful"]) == bool(messages)
            assert all(message in made["doubtful"] for message in messages)
        seen.append(made["doubtful"])
    assert "22 mm" in seen[0]
    assert seen[1] == ""
    assert "contradict themselves" in seen[2]
    assert "in 'washing'" in seen[2]


def test_rows_in_parts_are_doubted_as_rows_at_once():
    whole, parts = Doubts(WIDE), Doubts(WIDE)
    at_once = whole.add(LIST, judge_frame(LIST, WIDE))
    one_by_one = [parts.add(part, judge_frame(part, WIDE)) for part in (LIST.iloc[[i]] for i in range(len(LIST)))]
    assert_frame_equal(pd.concat(one_by_one)[["doubtful"]], at_once[["doubtful"]])
    assert (parts.found, parts.looked, parts.candidates) == (whole.found, whole.looked, whole.candidates)
    assert (whole.looked, whole.candidates) == (3, 3)


def test_the_headline_and_the_rows_say_on_doubtful_input(many):
    result = many(LIST.iloc[[0]], WIDE)
    assert result.exit_code == 0  # as check has it
    text = flat(result.stdout)
    assert (
        "HOLDS ON DOUBTFUL INPUT: of 1 row, 1 holds in every case and check. 1 of the rows that hold rests on" in text
    )
    assert "Doubtful input, row 2 (wide): Joint 'main': the hole, 22 mm, is too wide for bolts M16" in text
    assert "was looked for" not in text
    assert "base case file by itself" not in text
    mixed = many(LIST, WIDE)
    assert mixed.exit_code == 1
    assert "DOES NOT HOLD: of 4 rows, 3 hold in every case and check, 1 does not. 2 of the rows that hold rest" in flat(
        mixed.stdout
    )
    assert "Doubtful input, row 4 (driven): in 'washing': The data contradict themselves" in flat(mixed.stdout)
    right = many(LIST.iloc[[1]], WIDE)
    assert "HOLDS: of 1 row" in flat(right.stdout)
    assert "oubtful input" not in right.stdout


def test_machine_output_names_the_doubts_and_what_was_not_looked_at(many):
    data = json.loads(many(LIST, WIDE, "--json").stdout)
    assert data["verdict"] == "fails"
    assert data["doubtful_in_base"] == []
    assert (data["counts"]["doubtful"], data["counts"]["doubtful_looked_for"]) == (2, 3)
    table = list(csv.DictReader(io.StringIO(many(LIST, WIDE, "--csv").stdout)))
    assert [row["doubtful"] for row in table] == [row["doubtful"] for row in data["rows"]]
    assert "22 mm" in table[0]["doubtful"]
    assert table[1]["doubtful"] == ""
    assert table[3]["doubtful"] == NOT_LOOKED_FOR


def test_a_base_that_is_doubtful_itself_is_named(many):
    doubtful = WIDE.replace("size: M20", "size: M16")
    text = flat(many(LIST.iloc[[1]], doubtful).stdout)
    assert "HOLDS: of 1 row" in text  # the column gives the bolts that fit
    assert "Doubtful input, base case file by itself: Joint 'main': the hole, 22 mm, is too wide for bolts M16" in text
    # what a row has in common with the base is said once
    same = flat(many(LIST.iloc[[0]], doubtful).stdout)
    assert same.count("is too wide for bolts M16") == 1


def test_beyond_the_bound_it_is_said_of_how_many_rows_it_was_looked_for(many, tmp_path):
    bound = MOST_CASES // 2  # the base has two operating cases
    frame = pd.concat([LIST.iloc[[1]]] * (bound + 9) + [LIST.iloc[[0]]])  # sorted: the wide hole is in the last row
    result = many(frame, WIDE, "-o", tmp_path / "out.csv")
    head = flat(result.stdout.split("Rows with")[0])
    assert f"looked for in {bound} of {bound + 10} rows that hold, first in one of each bolt size" in head
    assert "HOLDS ON DOUBTFUL INPUT: of" in head
    with open(tmp_path / "out.csv", newline="") as file:
        made = [row["doubtful"] for row in csv.DictReader(file)]
    assert made[:-1] == [""] * (bound - 1) + [NOT_LOOKED_FOR] * 10
    assert "22 mm" in made[-1]
    # with a base that is doubtful, rows that nobody looked at are not said to hold without it
    few = Doubts(WIDE.replace("size: M20", "size: M16"), most=1)
    few.add(LIST.iloc[[1, 1]], judge_frame(LIST.iloc[[1, 1]], WIDE))
    assert few.cut_off
    assert few.doubtful
    assert not few.found


def test_the_same_doubt_of_many_rows_is_said_once_and_other_rows_are_counted(many):
    wide = pd.concat([LIST.iloc[[0]]] * 7)
    assert "Doubtful input, rows 2 (wide), 3 (wide), 4 (wide), 5 (wide), 6 (wide) and 2 more: Joint" in flat(
        many(wide, WIDE).stdout
    )
    driven = pd.concat([LIST.iloc[[2]]] * 5).assign(**{PRESSURE: [1.0, 1.5, 2.0, 2.5, 3.0]})
    text = flat(many(driven, WIDE).stdout)
    assert "Doubtful input, row 4 (driven)" in text
    assert "Doubtful input, row 5" not in text
    assert "Doubtful input, 2 more rows: -o FILE writes of each what it is." in text


# --- a surge beside a flow -------------------------------------------------------------------------------------------

BORE, RADIUS, CIRCLE = 0.25, 0.375, 0.35
AREA = math.pi / 4 * BORE**2
FLOW, STOPPED, SPEED, GIVEN = 0.12, 0.06, 1050.0, 400e3
RISE = 1000 * SPEED * STOPPED / AREA  # Joukowsky, ρ a Δv
MOMENTUM = 1000 * FLOW**2 / AREA
SURGE = f"surge: {{stopped_flow: {STOPPED} m^3/s, wave_speed: {SPEED} m/s}}"
NONE = "surge: {stopped_flow: 0 L/s, wave_speed: 1000 m/s}"
KIND = "surge not at every opening"


def bend(outlet, inlet=SURGE, more=""):
    """A bend that lies flat and weighs nothing, 12 bolts at its inlet, the first 15° from the direction of the outlet."""
    return f"""\
case_file: 1
title: flat bend
fluid: {{name: water, density: 1000 kg/m^3}}
openings:
  inlet: {{center: [0, 0, 0 m], outward: [-1, 0, 0], bore: {BORE} m}}
  outlet: {{center: [{RADIUS}, {RADIUS}, 0 m], outward: [0, 1, 0], bore: {BORE} m}}
joints:
  main: {{at: inlet, reference: [0, 1, 0], bolts: {{count: 12, size: M20, circle: {CIRCLE} m, first_at: 15 deg}}}}
allow: {{bolt_tension: 400 MPa, bolt_shear: 240 MPa}}
cases:
  slam: {{inlet: {{flow_in: {FLOW} m^3/s, pressure: {GIVEN} Pa{", " * bool(inlet)}{inlet}}}, outlet: {{{outlet}}}{more}}}
"""


def judged(text):
    return assess(parse_case(text, "bend.yaml"))


def kinds(assessment):
    return {each.kind: each for each in assessment.warnings}


def printed(tmp_path, text, *command):
    path = tmp_path / "bend.yaml"
    path.write_text(text)
    return flat(CliRunner().invoke(main, [*(command or ("check",)), str(path)]).stdout)


def test_a_pressure_from_losses_rises_with_the_surge_beside_a_flow():
    """Statics by hand: the thrusts of both ends, their moment at the joint, and Σt = N, Σ t y = M on a circle of bolts."""
    assessment = judged(bend("pressure: from losses, loss_coefficient: 0.3"))
    case = assessment.cases["slam"]
    loss = 0.3 * 1000 / 2 * (FLOW / AREA) ** 2
    far = (GIVEN - loss + RISE) * AREA + MOMENTUM
    near = (GIVEN + RISE) * AREA + MOMENTUM
    assert float(case.openings["outlet"].thrust) == pytest.approx(far, rel=1e-9)
    assert float(case.openings["inlet"].thrust) == pytest.approx(near, rel=1e-9)
    arm = CIRCLE / 2
    bolt = near / 12 + far * RADIUS * math.cos(math.radians(15)) / (12 / 2 * arm)
    assert max(case.joints["main"].external_tension.ravel()) == pytest.approx(bolt, rel=1e-9)
    # the head lost is that of the pressures before the surge
    assert float(case.energy.head_loss) == pytest.approx(loss / 1000 / 9.80665, rel=1e-9)
    assert KIND not in kinds(assessment)


def test_what_follows_the_surge_is_what_a_surge_at_both_openings_gives():
    loss = 0.3 * 1000 / 2 * (FLOW / AREA) ** 2
    follows = judged(bend("pressure: from losses, loss_coefficient: 0.3")).cases["slam"]
    written = judged(bend(f"pressure: {GIVEN - loss} Pa, {SURGE}")).cases["slam"]
    both = [case.joints["main"].external_tension.ravel().tolist() for case in (follows, written)]
    assert both[0] == pytest.approx(both[1], rel=1e-9)


def test_the_reference_of_the_losses_may_be_downstream():
    text = bend("pressure: 390 kPa, " + SURGE, inlet="").replace(
        f"pressure: {GIVEN} Pa", "pressure: from losses, loss_coefficient: 0.3"
    )
    assessment = judged(text)
    assert float(assessment.cases["slam"].openings["inlet"].surge_rise) == pytest.approx(RISE, rel=1e-12)
    assert KIND not in kinds(assessment)


def test_the_output_and_the_assumptions_say_that_the_surge_runs_through(tmp_path):
    text = printed(tmp_path, bend("pressure: from losses, loss_coefficient: 0.3"))
    assert "At outlet the pressure from losses rises with the surge, by 1,283 kPa." in text  # 1000 · 1050 · 1.2223 Pa
    # 0.3 · 2.4446² / (2 · 9.80665)
    assert "Head lost between the openings (pressures before the surge) 0.09141 m: K = 0.300" in text
    assert "A surge runs through the fitting" in text.split("Assumptions")[1]
    still = printed(tmp_path, bend("pressure: from losses, loss_coefficient: 0.3", inlet=""))
    assert "before the surge" not in still
    assert "surge runs through" not in still


def test_an_opening_with_a_pressure_of_its_own_and_no_surge_is_doubted(tmp_path):
    text = bend("pressure: 390 kPa")
    found = kinds(judged(text))[KIND]
    assert found.doubtful
    assert found.case == "slam"
    assert "at 'inlet' by 1283 kPa, yet 'outlet' counts without any rise (390 kPa)" in found.message
    assert "pipe: {inside: …}" in found.message
    assert "from losses at 'outlet'" in found.message
    assert "HOLDS ON DOUBTFUL INPUT" in printed(tmp_path, text)


@pytest.mark.parametrize(
    "outlet",
    [f"pressure: 390 kPa, {SURGE}", f"pressure: 390 kPa, {NONE}", "exit: free_jet"],
    ids=["both", "none", "jet"],
)
def test_a_surge_at_both_or_none_by_its_own_word_or_a_free_jet_is_not_doubted(outlet):
    assert KIND not in kinds(judged(bend(outlet)))


def test_an_opening_said_to_have_no_surge_keeps_its_pressure(tmp_path):
    text = bend(f"pressure: from losses, loss_coefficient: 0.3, {NONE}")
    assessment = judged(text)
    assert float(assessment.cases["slam"].openings["outlet"].surge_rise) == 0.0
    waves = [each.message for each in assessment.warnings if each.kind == "wave in a leg"]
    assert len(waves) == 1
    assert "'inlet'" in waves[0]
    assert "Surge at outlet: none, by its stopped_flow of 0." in printed(tmp_path, text)
    # and every printed line of the report agrees with what was judged, or it would not be written
    path = tmp_path / "report.md"
    (tmp_path / "bend.yaml").write_text(text)
    assert CliRunner().invoke(main, ["report", str(tmp_path / "bend.yaml"), "-o", str(path)]).exit_code in (0, 3)
    assert path.exists()


def test_a_smaller_rise_is_doubted_and_a_slight_one_is_told_only():
    less = SURGE.replace(str(STOPPED), "0.03")
    found = kinds(judged(bend(f"pressure: 390 kPa, {less}")))[KIND]
    assert found.doubtful
    assert "'outlet' counts with 641.7 kPa of rise only" in found.message
    # 3 % of the pressure: told, not doubted; half a percent: not told
    slight = [
        f"surge: {{stopped_flow: {share * GIVEN * AREA / SPEED / 1000} m^3/s, wave_speed: {SPEED} m/s}}"
        for share in (0.03, 0.005)
    ]
    assert not kinds(judged(bend("pressure: 399 kPa", inlet=slight[0])))[KIND].doubtful
    assert KIND not in kinds(judged(bend("pressure: 399 kPa", inlet=slight[1])))


def test_a_dead_branch_and_a_third_opening_are_named_too():
    branch = "  branch: {center: [0.2, 0, 0.2 m], outward: [0, 0, 1], bore: 100 mm}\njoints:"
    text = bend("pressure: 390 kPa", more=", branch: {flow_out: 0 L/s, pressure: 398 kPa}").replace(
        "joints:", branch, 1
    )
    assert "'outlet', 'branch'" in kinds(judged(text))[KIND].message
    capped = text.replace("branch: {flow_out: 0 L/s, pressure: 398 kPa}", "branch: capped")
    assert "'branch'" not in kinds(judged(capped))[KIND].message


def test_a_still_fitting_is_compared_by_its_pressures_and_not_told_twice():
    still = bend("pressure: 400 kPa").replace(f"flow_in: {FLOW} m^3/s", "flow_in: 0 L/s")
    assert KIND not in kinds(judged(still))
    assert kinds(judged(still))["still fluid disagrees"].doubtful
