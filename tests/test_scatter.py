"""Scatter against closed-form propagation, scipy.stats, and single evaluations; the command's output and its refusals."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from anchorsize.assessment import StudyError, assess
from anchorsize.casefile import parse_case
from anchorsize.casefile.parse import CaseText
from anchorsize.cli.scatter import DEFAULT_SAMPLES, DEFAULT_SEED
from anchorsize.cli.scatter import scatter as command
from anchorsize.present.scatter import scatter_dict, scatter_text
from anchorsize.studies import counting, sampling
from anchorsize.studies.rows import judge_rows
from anchorsize.studies.scatter import SEED, scatter
from tests.cases import BLANK_FLANGE, ELBOW

# The pull of the blank flange grows with the pressure, so that utilization is pressure over the one that just holds.
UNCERTAIN = BLANK_FLANGE.replace("pressure: 10 bar", "pressure: 10 bar ± 20 %")
UNIFORM = BLANK_FLANGE.replace("pressure: 10 bar", "pressure: {value: 10 bar, plus_minus: 2 bar, shape: uniform}")
TWO = ELBOW.replace("flow_in: 20 L/s, pressure: 60 kPa", "flow_in: 20 L/s ± 10 %, pressure: 60 kPa ± 30 %")

# A tightened joint; with more torque, some samples break its bolts in tightening and cannot be judged.
LEVER = """\
case_file: 1
title: lever
fluid: {name: water, density: 1000 kg/m^3}
openings:
  pipe: {center: [0, 0, 0 m], outward: [-1, 0, 0], bore: 100 mm}
joints:
  main:
    at: pipe
    bolts: {count: 8, size: M16, circle: 180 mm, class: "8.8"}
    gasket: {inside: 115 mm, outside: 162 mm, thickness: 2 mm, modulus: 500 MPa}
    tightening: {torque: 90 N*m ± 40 %, nut_factor: 0.2}
    grip: 44 mm
    bolt_modulus: 205 GPa
allow: {bolt_tension: 160 MPa, bolt_shear: 95 MPa}
cases:
  test: {pipe: {flow_in: 0 L/s, pressure: 10 bar}}
"""
TOO_TIGHT = LEVER.replace(
    "torque: 90 N*m ± 40 %", "torque: 330 N*m ± 30 %"
)  # some samples break the bolt in tightening


def tension_per_pressure():
    """Utilization of bolt tension per pressure [1/Pa], of one evaluation."""
    checks = assess(parse_case(BLANK_FLANGE, "b")).cases["test"].checks
    return next(float(check.utilization) for check in checks if check.check == "bolt tension") / 1e6


def spread_of(found, check="bolt tension", case=None):
    return next(each.spread for each in found.checks if each.check == check and case in (None, each.case))


def run(*words):
    return CliRunner().invoke(command, [str(word) for word in words])


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "flange.yaml"
    path.write_text(UNCERTAIN)
    return path


# --- closed-form propagation -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["latin", "random"])
def test_percentiles_of_a_linear_case_are_those_of_the_normal_distribution(way):
    """Utilization = c p with p normal: the error of a percentile is √(q(1 − q)/n)/density, four of these are allowed."""
    samples, c = 40_000, tension_per_pressure()
    found = spread_of(scatter(UNCERTAIN, "u", samples, way=way))
    exact = stats.norm(c * 1e6, c * 1e5)  # ± 20 % are two standard deviations
    for percent, value in zip(counting.PERCENTILES, found.percentiles, strict=True):
        q = percent / 100
        place = exact.ppf(q)
        error = 4 * math.sqrt(q * (1 - q) / samples) / exact.pdf(place)
        assert value == pytest.approx(place, abs=error + counting.RESOLUTION * place)


@pytest.mark.parametrize("way", ["latin", "random"])
def test_share_that_fails_in_a_linear_case_lies_within_its_interval_of_the_exact_one(way):
    c = tension_per_pressure()
    limit = 1.12e6 * c * 160e6  # the stress at 11.2 bar, 1.2 standard deviations up
    text = UNCERTAIN.replace("bolt_tension: 160 MPa", f"bolt_tension: {limit!r} Pa")
    exact = stats.norm.sf(1.2)
    found = spread_of(scatter(text, "u", 20_000, way=way))
    low, high = found.interval
    assert low < exact < high
    assert found.fails == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 20_000))


def test_a_stratified_share_of_one_input_is_exact_to_a_sample():
    """With one input that decides, a stratum each: only the sample of the stratum that holds the limit can go either way."""
    c = tension_per_pressure()
    text = UNIFORM.replace("bolt_tension: 160 MPa", f"bolt_tension: {1.1e6 * c * 160e6!r} Pa")
    found = spread_of(scatter(text, "u", 10_000))
    assert found.fails == pytest.approx(0.25, abs=1.01 / 10_000)  # 8 to 12 bar, failing over 11


def test_uniform_input_gives_uniform_percentiles():
    c = tension_per_pressure()
    found = spread_of(scatter(UNIFORM, "u", 10_000))
    exact = stats.uniform(0.8e6 * c, 0.4e6 * c)
    for percent, value in zip(counting.PERCENTILES, found.percentiles, strict=True):
        stratum = 0.4e6 * c / 10_000
        assert value == pytest.approx(exact.ppf(percent / 100), abs=stratum + counting.RESOLUTION * value)


def test_product_of_two_uniform_inputs():
    """Utilization p/a, both uniform: it fails where p > a; the exact share is an area in their plane."""
    c = tension_per_pressure()
    text = UNIFORM.replace(
        "bolt_tension: 160 MPa",
        f"bolt_tension: {{value: {1e6 * c * 160e6!r} Pa, plus_minus: 30 %, shape: uniform}}",
    )
    found = spread_of(scatter(text, "u", 40_000))
    # p in 1 ± 0.2, limit in 1 ± 0.3: half of the plane by symmetry about (1, 1)
    assert found.fails == pytest.approx(0.5, abs=4 * math.sqrt(0.25 / 40_000))


def test_drivers_of_a_sum_are_its_variance_shares():
    """Bolt tension where two pressures of one opening cannot act: the hose pull adds to p A along the axis, both normal."""
    text = UNCERTAIN.replace(
        "allow:",
        "external:\n  - {name: pull, force: [8 kN ± 4 kN, 0 N, 0 N], moment: [0, 0, 0 N*m], at: [0, 0, 0 m]}\nallow:",
    )
    found = scatter(text, "u", 10_000)
    names = [each.path for each in found.inputs]
    pull, pressure = (next(i for i, name in enumerate(names) if word in name) for word in ("force", "pressure"))
    # tension = (p π G²/4 + F)/8: standard deviations of p π G²/4 and F in newtons
    joint = assess(parse_case(UNCERTAIN, "u")).cases["test"].joints["main"]
    by_pressure, by_pull = 0.1 * float(joint.axial_demand), 2e3
    share = by_pull**2 / (by_pull**2 + by_pressure**2)
    # epsilon squared from 100 slices of 10 000: its error is of the order of √(2/n) and the loss within slices under 1 %
    assert found.variance[pull] == pytest.approx(share, abs=0.03)
    assert found.variance[pressure] == pytest.approx(1 - share, abs=0.03)
    # Spearman's coefficient of two normal variables correlated by r (Pearson 1907): 6/π asin(r/2); error of order 1/√n
    for place, part in ((pull, share), (pressure, 1 - share)):
        expected = 6 / math.pi * math.asin(math.sqrt(part) / 2)
        assert spread_of(found).correlation[place] == pytest.approx(expected, abs=4 / math.sqrt(10_000))


# --- the samples ---


def test_same_seed_same_result_another_seed_another():
    results = [scatter(TWO, "t", 500, seed).greatest for seed in (1, 1, 2)]
    assert results[0] == results[1]
    assert results[0] != results[2]


def test_how_many_are_judged_at_once_does_not_matter():
    one, three = (scatter(TWO, "t", 25_000, blocks_at_once=blocks) for blocks in (1, 3))
    # as text: what does not vary has no correlation, and NaN is not equal to itself
    assert repr(one.checks) == repr(three.checks)
    assert one.greatest == three.greatest
    assert one.variance == three.variance


def test_samples_are_those_of_single_evaluations():
    """The greatest and least of a few samples, each judged by itself from a file with its values written in."""
    found = scatter(TWO, "t", 12, seed=4)
    case = CaseText(TWO, "t")
    values = sampling.block(sampling.scattered_inputs(case), 0, 12, 4, "latin")
    alone = []
    for i in range(12):
        flow, pressure = (float(values[f"cases/run/inlet/{key}"][i]) for key in ("flow_in", "pressure"))
        text = ELBOW.replace("20 L/s, pressure: 60 kPa", f"{flow!r} m^3/s, pressure: {pressure!r} Pa")
        checks = assess(parse_case(text, "e")).cases["run"].checks
        alone.append(next(float(check.utilization) for check in checks if check.check == "bolt tension"))
    spread = spread_of(found, case="run")
    assert spread.percentiles[-1] == pytest.approx(max(alone), rel=1e-9)
    assert spread.percentiles[0] == pytest.approx(min(alone), rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(st.floats(1.0, 80.0), st.floats(10.0, 2000.0), st.sampled_from(["normal", "uniform"]))
def test_plus_minus_nothing_is_the_check_itself(flow, pressure, shape):
    spread = f"flow_in: {{value: {flow!r} L/s, plus_minus: 0 L/s, shape: {shape}}}, pressure: {pressure!r} kPa ± 0 kPa"
    found = scatter(ELBOW.replace("flow_in: 20 L/s, pressure: 60 kPa", spread), "e", 10)
    checks = assess(
        parse_case(ELBOW.replace("20 L/s, pressure: 60 kPa", f"{flow!r} L/s, pressure: {pressure!r} kPa"), "e")
    )
    for each in found.checks:
        alone = next(check for check in checks.cases[each.case].checks if check.check == each.check)
        assert each.spread.as_given == pytest.approx(float(alone.utilization), rel=1e-12, abs=1e-15)
        assert each.spread.percentiles == pytest.approx([float(alone.utilization)] * 4, rel=1e-9, abs=2.0**-14)
        assert each.spread.fails == float(not alone.holds)
        assert all(math.isnan(value) for value in each.spread.correlation)


# --- samples that cannot be ---------------------------------------------------------------------------------------------


def test_samples_that_cannot_be_judged_fail_every_check_and_are_told():
    found = scatter(TOO_TIGHT, "l", 400)
    case = CaseText(TOO_TIGHT, "l")
    values = sampling.block(sampling.scattered_inputs(case), 0, 400, SEED, "latin")
    # torque = nut factor × diameter × preload; the bolt breaks over its tensile strength of 800 MPa (class 8.8, M16: ISO 898-1)
    preload = values["joints/main/tightening/torque"] / (0.2 * 0.016)
    broken = preload / 157e-6 > 800e6  # tensile stress area of M16 and strength as ISO 898-1 prints them
    assert 0 < broken.sum() < 400
    assert found.unjudged_samples == broken.sum()
    assert [each.samples for each in found.unjudged] == [broken.sum()]
    assert found.unjudged[0].first == np.argmax(broken)
    assert "break while being tightened" in found.unjudged[0].why
    assert all(each.spread.fails >= broken.sum() / 400 for each in found.checks)
    assert found.verdict == "fails"
    assert all(0 <= share <= 1 for share in found.variance)


def test_reasons_do_not_hang_on_how_many_are_judged_at_once():
    one, three = (scatter(TOO_TIGHT, "l", 21_000, blocks_at_once=blocks) for blocks in (1, 3))
    assert one.unjudged == three.unjudged


def test_distribution_that_leaves_its_range_is_refused_with_the_share():
    text = ELBOW.replace("bore: 50 mm", "bore: 50 mm ± 60 mm")
    with pytest.raises(StudyError, match="openings/outlet/bore") as error:
        scatter(text, "e", 1000)
    share = float(re.search(r"': (\S+) % of its samples", str(error.value)).group(1))
    assert share / 100 == pytest.approx(stats.norm.cdf(-50 / 30), rel=0.05)  # two figures are printed
    assert "--truncate" in str(error.value)


def test_truncated_samples_follow_the_truncated_distribution():
    text = ELBOW.replace("mass: 10 kg", "mass: 10 kg ± 20 kg")
    inputs = sampling.scattered_inputs(CaseText(text, "e"))
    assert inputs[0].outside == pytest.approx(stats.norm.cdf(-1.0), rel=1e-9)
    values = sampling.block(inputs, 0, 10_000, 1, "random")["fitting/mass"]
    assert values.min() >= 0.0
    assert stats.kstest(values, stats.truncnorm(-1.0, np.inf, 10.0, 10.0).cdf).pvalue > 1e-3
    found = scatter(text, "e", 1000, truncate=True)
    assert found.truncated


def test_truncation_asked_for_and_not_needed_changes_nothing():
    assert scatter(TWO, "t", 100, truncate=True).greatest == scatter(TWO, "t", 100).greatest
    assert not scatter(TWO, "t", 100, truncate=True).truncated


def test_sample_that_is_impossible_together_is_named():
    text = UNCERTAIN.replace("outside: 162 mm", "outside: 162 mm ± 3 mm")
    with pytest.raises(StudyError, match=r"sample [\d,]+ cannot be, with joints/main/gasket/outside = ") as error:
        scatter(text, "u", 5000)
    words = str(error.value)
    outside = float(re.search(r"gasket/outside = (\S+) mm", words).group(1))
    assert outside > 180 - 16  # the gasket reaches under the bolts
    assert "puts the bolts on the gasket" in words
    assert "narrower ±" in words
    # every sample before it is possible
    number = int(re.search(r"sample ([\d,]+)", words).group(1).replace(",", ""))
    drawn = sampling.block(sampling.scattered_inputs(CaseText(text, "u")), 0, 5000, SEED, "latin")
    assert np.all(drawn["joints/main/gasket/outside"][: number - 1] <= outside)


def test_rows_are_judged_as_a_batch_is():
    case = CaseText(TWO, "t")
    values = sampling.block(sampling.scattered_inputs(case), 0, 200, SEED, "latin")
    rows = judge_rows(case.study(values), (200,))
    found = scatter(TWO, "t", 200)
    assert found.greatest.fails == np.mean(~rows.holds)
    assert found.greatest.percentiles[-1] <= rows.greatest.max()


# --- samples beyond any limit -------------------------------------------------------------------------------------------

# A preload that does not always keep the gasket pressed: where the least of it is lost, no number says how far.
LOOSE = (
    LEVER.replace("torque: 90 N*m ± 40 %, nut_factor: 0.2", "preload: 14 kN ± 5 kN, scatter: 25 %")
    .replace("modulus: 500 MPa}", "modulus: 500 MPa, m: 2, y: 11 MPa}")
    .replace("bolt_shear: 95 MPa}", "bolt_shear: 95 MPa, bolt_spacing_least: 66 mm}")
    .replace("10 bar", "150 bar")
)


@pytest.mark.filterwarnings("error")
def test_samples_that_lose_the_clamp_have_a_count_of_their_own():
    found = scatter(LOOSE, "l", 400)
    case = CaseText(LOOSE, "l")
    values = sampling.block(sampling.scattered_inputs(case), 0, 400, SEED, "latin")
    rows = judge_rows(case.study(values), (400,))
    place = next(i for i, key in enumerate(rows.keys) if key[1] == "gasket in service")
    use = rows.utilization[place]
    finite = np.isfinite(use)
    assert 20 < np.sum(~finite) < 380
    spread = spread_of(found, "gasket in service")
    assert spread.beyond == np.mean(~finite)
    assert spread.mean == pytest.approx(np.mean(use[finite]), rel=1e-12)
    assert spread.deviation == pytest.approx(np.std(use[finite], ddof=1), rel=1e-9)
    assert spread.percentiles[-1] == math.inf
    assert found.bars[1].sum() == finite.sum()
    assert np.all(np.isfinite(found.bars[0]))
    assert all(0 <= share <= 1 for share in found.loaded_variance)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("pressure", ["150 bar", "600 bar"])
def test_beyond_any_limit_is_said_in_every_form(tmp_path, pressure):
    path = tmp_path / "f.yaml"
    path.write_text(LOOSE.replace("150 bar", pressure))
    result = run(path, "--samples", "300", "--width", "80", "--picture", tmp_path / "c.svg")
    assert result.exit_code == 1
    assert "Beyond any limit in" in result.output
    assert "beyond" in result.output.split("All cases and checks together")[1]
    assert max(map(len, result.output.splitlines())) <= 80
    assert "beyond any limit and not drawn" in (tmp_path / "c.svg").read_text()
    data = json.loads(run(path, "--samples", "300", "--json").output)
    service = next(each for each in data["checks"] if each["check"] == "gasket in service")
    assert service["beyond_any_limit"] > 0
    assert "p99" in service["null_because_beyond_any_limit"]
    for name in ("as_given", "p5", "p50", "p95", "p99"):
        assert (service["utilization"][name] is None) == (name in service["null_because_beyond_any_limit"])
    rows = list(csv.DictReader(io.StringIO(run(path, "--samples", "300", "--csv").output)))
    of_check = next(row for row in rows if row["check"] == "gasket in service")
    assert float(of_check["beyond_any_limit"]) == service["beyond_any_limit"]
    assert of_check["utilization_p99"] == ""


# --- what a check of geometry would hide, and what is counted twice ---


def test_a_check_of_geometry_hides_no_load():
    """A bolt spacing that hardly holds is greatest in every sample; what drives the load is told all the same."""
    close = UNCERTAIN.replace("bolt_shear: 95 MPa}", "bolt_shear: 95 MPa, bolt_spacing_least: 68.8 mm}")
    plain, found = scatter(UNCERTAIN, "u", 500), scatter(close, "u", 500)
    assert plain.loaded is None
    assert not found.greatest.moved
    # the chord of 8 bolts on 180 mm is 180 sin(π/8) mm
    assert found.greatest.percentiles[1] == pytest.approx(68.8 / (180 * math.sin(math.pi / 8)), rel=1e-9)
    assert found.loaded.percentiles == plain.greatest.percentiles
    assert found.loaded.correlation == plain.greatest.correlation
    assert found.loaded_variance == plain.variance
    np.testing.assert_array_equal(found.bars[0], plain.bars[0])


def test_what_is_under_load_is_in_every_form(tmp_path):
    path = tmp_path / "f.yaml"
    path.write_text(UNCERTAIN.replace("bolt_shear: 95 MPa}", "bolt_shear: 95 MPa, bolt_spacing_least: 68 mm}"))
    text = run(path, "--samples", "200", "--width", "80", "--picture", tmp_path / "c.svg").output
    for words in ("greatest utilization under load", "Every case", "greatest under"):
        assert words in text
    assert text.count("bolt spacing") == 1
    assert "under load" in (tmp_path / "c.svg").read_text()
    data = json.loads(run(path, "--samples", "200", "--json").output)
    assert data["greatest_under_load"]["share_of_variance"]["cases/test/pipe/pressure"] > 0.9
    path.write_text(UNCERTAIN)
    assert json.loads(run(path, "--samples", "200", "--json").output)["greatest_under_load"] is None


def test_bolt_that_governs_most_often_is_that_of_single_evaluations():
    found = scatter(TWO, "t", 60)
    case = CaseText(TWO, "t")
    values = sampling.block(sampling.scattered_inputs(case), 0, 60, SEED, "latin")
    bolts = []
    for i in range(60):
        study = case.study({path: float(each[i]) for path, each in values.items()})
        checks = assess(study).cases["run"].checks
        bolts.append(next(int(check.bolt) for check in checks if check.check == "bolt tension"))
    numbers, counts = np.unique(bolts, return_counts=True)
    spread = spread_of(found, case="run")
    assert spread.bolt == numbers[np.argmax(counts)]
    assert spread.bolt_share == counts.max() / 60


def test_mean_and_deviation_of_a_linear_case():
    """Utilization = c p: mean c p, deviation c σ; a stratified sample of a normal variable is within σ/√n of both."""
    c = tension_per_pressure()
    found = spread_of(scatter(UNCERTAIN, "u", 10_000))
    assert found.mean == pytest.approx(c * 1e6, abs=c * 1e5 / 100)
    assert found.deviation == pytest.approx(c * 1e5, abs=c * 1e5 / 100)


@pytest.mark.parametrize(
    ("tightening", "named"),
    [
        ("torque: 90 N*m, nut_factor: 0.2 ± 0.03, scatter: 25 %", "nut_factor"),
        ("torque: 90 N*m ± 10 %, nut_factor: 0.2 ± 0.03, scatter: 25 %", "torque and nut_factor"),
        ("torque: 90 N*m, nut_factor: 0.2 ± 0.03, scatter: 0 %", None),
        ("torque: 90 N*m, nut_factor: 0.2 ± 0.03", None),
    ],
)
def test_friction_counted_twice_is_warned_of_at_the_top(tmp_path, tightening, named):
    path = tmp_path / "f.yaml"
    path.write_text(LEVER.replace("torque: 90 N*m ± 40 %, nut_factor: 0.2", tightening))
    top = " ".join(run(path, "--samples", "100").output.split("What scatters")[0].split())
    warnings = json.loads(run(path, "--samples", "100", "--json").output)["warnings"]
    if named is None:
        assert (warnings, "Warning" in top) == ([], False)
    else:
        assert f"Warning: {warnings[0]}" in top
        assert f"'main': {named} of the tightening" in warnings[0]
        assert "counted twice" in warnings[0]


# --- the command --------------------------------------------------------------------------------------------------------


def test_defaults_of_the_command_are_those_of_the_study():
    assert (DEFAULT_SAMPLES, DEFAULT_SEED) == (sampling.BLOCK, SEED)


def test_json_csv_and_text_show_the_same(file):
    words = (file, "--samples", "2000", "--seed", "7")
    data = json.loads(run(*words, "--json").output)
    rows = list(csv.DictReader(io.StringIO(run(*words, "--csv").output)))
    text = run(*words).output
    assert (data["samples"], data["seed"]) == (2000, 7)
    assert "2,000 samples, seed 7" in text
    assert [row["check"] for row in rows] == [*(each["check"] for each in data["checks"]), "greatest of all"]
    assert float(rows[0]["utilization_mean"]) == data["checks"][0]["utilization"]["mean"]
    for row, each in zip(rows, data["checks"], strict=False):
        assert float(row["fails"]) == each["fails"]
        assert float(row["utilization_p99"]) == each["utilization"]["p99"]
    assert data["greatest"]["utilization"]["p5"] < data["greatest"]["utilization"]["p95"]
    assert data["greatest"]["rank_correlation"] == {"cases/test/pipe/pressure": pytest.approx(1.0)}
    assert "licensed engineer" in text
    assert "independent of all others" in " ".join(text.split())


@pytest.mark.parametrize(
    ("allowable", "code", "word"), [("160 MPa", 0, "HOLDS"), ("15 MPa", 1, "FAILS"), ("1 MPa", 1, "FAILS in 100%")]
)
def test_exit_code_follows_the_samples(tmp_path, allowable, code, word):
    path = tmp_path / "f.yaml"
    path.write_text(UNCERTAIN.replace("bolt_tension: 160 MPa", f"bolt_tension: {allowable}"))
    result = run(path, "--samples", "500")
    assert result.exit_code == code
    assert word in result.output


def test_missing_allowable_is_incomplete(tmp_path):
    path = tmp_path / "f.yaml"
    path.write_text(UNCERTAIN.replace(", bolt_shear: 95 MPa", ""))
    result = run(path, "--samples", "100")
    assert result.exit_code == 3
    assert "NOT COMPLETE" in result.output
    assert "allow / bolt_shear" in result.output


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("text", [TWO, TOO_TIGHT, ELBOW.replace("mass: 10 kg", "mass: 10 kg ± 20 kg")])
def test_text_keeps_within_the_width(tmp_path, width, text):
    path = tmp_path / "f.yaml"
    path.write_text(text)
    output = run(path, "--samples", "300", "--truncate", "--width", width).output
    assert "Assumptions" in output
    assert max(map(len, output.splitlines())) <= width


def test_unjudged_and_truncated_are_said(tmp_path):
    path = tmp_path / "f.yaml"
    path.write_text(TOO_TIGHT)
    assert "Not to be judged" in run(path, "--samples", "300").output
    path.write_text(ELBOW.replace("mass: 10 kg", "mass: 10 kg ± 20 kg"))
    output = " ".join(run(path, "--samples", "300", "--truncate").output.split())
    assert "drawn inside it instead" in output
    assert "15.9%" in output  # Φ(−1) = 0.159


@pytest.mark.parametrize(
    ("text", "words", "said"),
    [
        (BLANK_FLANGE, (), "45 kPa ± 10 %"),
        (UNCERTAIN, ("--samples", "9"), "9 is not in the range"),
        (UNCERTAIN, ("--samples", "many"), "not a valid integer"),
        (UNCERTAIN, ("--seed", "1.5"), "not a valid integer"),
        (UNCERTAIN, ("--seed", "-1"), "not in the range"),
        (UNCERTAIN, ("--option", "rope"), "no support option 'rope'"),
        (UNCERTAIN, ("--sampling", "sobol"), "'sobol' is not one of"),
        (UNCERTAIN, ("--json", "--csv"), "choose one"),
        (UNCERTAIN, ("--picture", "x.bmp"), ".svg or .png"),
        (UNCERTAIN.replace("10 bar", "10 baar"), (), "baar"),
        (ELBOW.replace("bore: 50 mm", "bore: 50 mm ± 60 mm"), (), "--truncate"),
        (re.sub(r"allow: .*\n", "", UNCERTAIN), (), "no check can be made"),
    ],
)
def test_bad_input_is_said_and_ends_with_two(tmp_path, text, words, said):
    path = tmp_path / "f.yaml"
    path.write_text(text)
    result = run(path, *words)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_file_that_is_not_there(tmp_path):
    assert run(tmp_path / "none.yaml").exit_code == 2


def test_no_progress_where_stderr_is_no_terminal(file):
    assert run(file, "--samples", "100").stderr == ""


@pytest.mark.parametrize(("words", "shown"), [((), True), (("--quiet",), False)])
def test_progress_on_a_terminal_unless_quiet(file, monkeypatch, words, shown):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    written = Terminal()
    monkeypatch.setattr("sys.stderr", written)
    with pytest.raises(SystemExit):
        command.main([str(file), "--samples", "100", "--json", *words])
    assert ("samples" in written.getvalue()) is shown


@pytest.mark.parametrize(("name", "head"), [("c.svg", b"<?xml"), ("c.png", b"\x89PNG")])
def test_picture_is_written_and_not_over_another(file, tmp_path, name, head):
    path = tmp_path / name
    assert run(file, "--samples", "500", "--picture", path).exit_code == 0
    assert path.read_bytes().startswith(head)
    assert run(file, "--samples", "500", "--picture", path).exit_code == 2
    assert run(file, "--samples", "500", "--picture", path, "--force").exit_code == 0


def test_picture_is_grey_and_names_its_marks(tmp_path):
    source, path = tmp_path / "f.yaml", tmp_path / "c.svg"
    source.write_text(UNCERTAIN.replace("bolt_tension: 160 MPa", "bolt_tension: 15 MPa"))
    run(source, "--samples", "2000", "--picture", path)
    drawn = path.read_text()
    for word in ("limit", "95%", "fails", "holds", "share of the samples"):
        assert word in drawn
    colors = re.findall(r"(?:fill|stroke): #([0-9a-f]{6})", drawn)
    assert colors
    assert all(color[0:2] == color[2:4] == color[4:6] for color in colors)


def test_words_of_the_picture_do_not_run_into_each_other():
    from matplotlib.figure import Figure

    from anchorsize.present.pictures.scatter import WORD_DROP, WORD_ROOM, _draw

    found = scatter(UNCERTAIN, "u", 500)
    near = replace(found.greatest, percentiles=(0.3, 0.998, 0.9985, 0.999))
    axes = Figure(figsize=(7.5, 4.2)).subplots()
    _draw(axes, replace(found, greatest=near))
    placed = [text.xy for text in axes.texts]
    left, right = axes.get_xlim()
    assert len(placed) == 5
    for i, (x, y) in enumerate(placed):
        for other_x, other_y in placed[:i]:
            assert abs(x - other_x) >= WORD_ROOM * (right - left) or abs(y - other_y) >= 0.99 * WORD_DROP


def test_doubtful_input_stands_under_the_headline():
    """Water that would leave the elbow into a pipe with 1 bar, having come with 0.6."""
    found = scatter(TWO.replace("outlet: free_jet", "outlet: {pressure: 1 bar}", 1), "t", 50)
    told = scatter_text(found, 80).split("What scatters")[0]
    assert "Doubtful input: in 'run': The data contradict themselves" in " ".join(told.split())
    assert "HOLDS ON DOUBTFUL INPUT: no check" in told
    assert ("energy gained", True) in {(w["kind"], w["doubtful"]) for w in scatter_dict(found)["findings_as_given"]}
    assert "Doubtful" not in scatter_text(scatter(TWO, "t", 50), 80)


def test_pressures_of_still_water_drawn_apart_are_warned_of():
    """Two gauges of one still body of water cannot scatter by themselves; drawn at one of them only, the other follows."""
    apart = ELBOW.replace(
        "stopped: {inlet: {flow_in: 0 L/s, pressure: 60 kPa}, outlet: capped}",
        "stopped: {inlet: {flow_in: 0 L/s, pressure: 60 kPa ± 8 %}, outlet: {pressure: 58.0387 kPa ± 8 %}}",
    )
    (warning,) = scatter(apart, "t", 50).warnings
    assert "the pressure at inlet and outlet is drawn by itself" in warning
    follows = apart.replace("pressure: 58.0387 kPa ± 8 %", "pressure: from losses, loss_coefficient: 0")
    found = scatter(follows, "t", 50)
    assert found.warnings == ()
    assert [each.path for each in found.inputs] == ["cases/stopped/inlet/pressure"]
    assert scatter(ELBOW.replace("20 L/s, pressure: 60 kPa", "20 L/s, pressure: 60 kPa ± 8 %"), "t", 50).warnings == ()
