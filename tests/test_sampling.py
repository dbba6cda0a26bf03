"""Samples and what is told from them, against scipy.stats and numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.special import ndtri

from anchorsize.casefile.parse import CaseText
from anchorsize.studies import counting, sampling
from tests.cases import ELBOW

TWO = ELBOW.replace("flow_in: 20 L/s, pressure: 60 kPa", "flow_in: 20 L/s ± 10 %, pressure: 60 kPa ± 30 %")


# --- statistics against scipy ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("samples", [10, 137, 10_000, 10_000_000])
@pytest.mark.parametrize("share", [0.0, 1e-7, 0.003, 0.5, 0.97, 1.0])
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_interval_is_that_of_scipy(samples, share, confidence):
    found = min(samples, math.ceil(samples * share))
    expected = stats.binomtest(found, samples).proportion_ci(confidence, method="wilsoncc")
    assert counting.share_interval(found, samples, confidence) == pytest.approx(tuple(expected), rel=1e-12, abs=1e-15)


@pytest.mark.parametrize("samples", [10, 100, 1000])
def test_interval_keeps_its_confidence_for_any_share(samples):
    """The exact chance, by the binomial distribution, that it covers the truth: 95 % but for a tenth of a percent."""
    counts = np.arange(samples + 1)
    low, high = np.array([counting.share_interval(int(k), samples) for k in counts]).T
    for truth in np.geomspace(1e-3 / samples, 0.5, 400):
        covered = stats.binom.pmf(counts, samples, truth)[(low <= truth) & (truth <= high)].sum()
        assert covered >= 0.949


def test_interval_narrows_as_one_over_the_root_of_the_samples():
    def width(samples):
        low, high = counting.share_interval(samples // 5, samples)
        return high - low

    assert width(10_000) / width(1_000_000) == pytest.approx(10, rel=0.03)  # the correction adds 1/n to it


def test_normal_quantile_is_that_of_scipy():
    shares = np.concatenate([np.linspace(0.0, 1.0, 20_001), 10.0 ** -np.arange(1.0, 300.0)])
    np.testing.assert_allclose(sampling.normal_quantile(shares), ndtri(shares), rtol=4e-15, atol=1e-16)


def test_ranks_and_rank_correlation_are_those_of_scipy():
    random = np.random.default_rng(3)
    values = np.round(random.normal(size=(3, 400)), 1)  # many ties
    result = np.vstack([values[0] + values[1], values[2] ** 2])
    np.testing.assert_array_equal(counting.ranks(values[0]), stats.rankdata(values[0]))
    found = counting.rank_correlation(values, result)
    for i in range(3):
        for j in range(2):
            assert found[i, j] == pytest.approx(stats.spearmanr(values[i], result[j]).statistic, abs=1e-12)


def test_variance_share_sees_what_turns_round():
    """y = x² + z with x, z standard normal: Var(x²) = 2, Var(z) = 1; the rank correlation with x is nothing.

    Between m slices of x, E[x²] is 1 + m (a φ(a) − b φ(b)) in that from a to b: of the 2/3 this is what slices can show.
    """
    count = 40_000
    x, z = np.random.default_rng(5).normal(size=(2, count))
    inputs, result = np.vstack([x, z]), x**2 + z
    slices = math.isqrt(count)
    ends = stats.norm.ppf(np.linspace(0, 1, slices + 1)[1:-1])
    weighted = np.concatenate([[0.0], ends * stats.norm.pdf(ends), [0.0]])
    shown = slices * np.square(np.diff(weighted)).sum() / 3
    assert shown == pytest.approx(2 / 3, abs=0.03)
    # the variance of x², itself a mean of fourth powers, wanders by √(E x⁸/n) ~ 2.5 %
    assert counting.variance_shares(inputs, result) == pytest.approx([shown, 1 / 3], abs=0.03)
    assert abs(counting.rank_correlation(inputs, result[None])[0, 0]) < 0.03


def test_variance_shares_of_chance_are_nothing():
    inputs, result = np.random.default_rng(6).normal(size=(20, 5_000)), np.random.default_rng(7).normal(size=5_000)
    assert counting.variance_shares(inputs, result).max() < 0.02


@given(st.lists(st.floats(0.0, 5e5), min_size=1, max_size=300), st.sampled_from([0.05, 0.5, 0.95, 0.99, 1.0]))
def test_percentiles_of_a_tally_are_those_of_numpy(values, share):
    tally = counting.Tally(1)
    for part in np.array_split(np.array(values), min(3, len(values))):
        tally.add(part[None])
    exact = np.percentile(values, 100 * share, method="inverted_cdf")
    assert tally.percentile(share)[0] == pytest.approx(exact, rel=counting.RESOLUTION, abs=2.0**-14)
    assert tally.failed[0] == sum(value > 1.0 for value in values)
    assert tally.counts.sum() == len(values)


def test_histogram_parts_at_the_limit_and_loses_nothing():
    values = np.random.default_rng(8).normal(0.95, 0.05, 20_000)
    tally = counting.Tally(1)
    tally.add(values[None])
    edges, counts = tally.histogram(0, values.min(), values.max(), 60)
    assert counts.sum() == 20_000
    assert 55 <= counts.size <= 65
    assert counts[edges[:-1] >= 1.0].sum() == np.sum(values > 1.0)
    narrow = counting.Tally(1)
    narrow.add(np.full((1, 10), 0.5))
    assert narrow.histogram(0, 0.5, 0.5, 60)[1].sum() == 10


def test_tally_keeps_what_is_unlimited_at_the_end():
    tally = counting.Tally(1)
    tally.add(np.array([[0.5, np.inf, 0.7, np.inf]]))
    assert tally.failed[0] == 2
    assert tally.percentile(0.5)[0] == pytest.approx(0.7, rel=counting.RESOLUTION)
    assert tally.percentile(0.95)[0] == np.inf


@given(st.lists(st.floats(0.0, 1e5) | st.sampled_from([np.inf, 5e6]), min_size=2, max_size=200), st.integers(1, 5))
def test_moments_of_a_tally_are_those_of_numpy_without_the_unlimited(values, parts):
    tally = counting.Tally(1)
    for part in np.array_split(np.array(values), min(parts, len(values))):
        tally.add(part[None])
    kept = np.array([value for value in values if value < counting.UNLIMITED])
    assert tally.finite[0] == kept.size
    if kept.size:
        assert tally.mean[0] == pytest.approx(kept.mean(), rel=1e-12)
        assert tally.highest[0] == kept.max()
    if kept.size > 1:
        assert tally.deviation[0] == pytest.approx(kept.std(ddof=1), rel=1e-9, abs=1e-9 * kept.max())


# --- samples ------------------------------------------------------------------------------------------------------------


def test_latin_samples_fill_every_stratum_once():
    inputs = sampling.scattered_inputs(CaseText(TWO, "t"))
    values = sampling.block(inputs, 0, 1000, 1, "latin")
    for each in inputs:
        shares = stats.norm.cdf(values[each.path], each.center, 0.5 * each.half_width)
        assert np.array_equal(np.sort((shares * 1000).astype(int)), np.arange(1000))


@pytest.mark.parametrize("way", ["latin", "random"])
def test_samples_follow_their_distribution_and_not_each_other(way):
    text = TWO.replace("mass: 10 kg", "mass: {value: 10 kg, plus_minus: 1 kg, shape: uniform}")
    inputs = sampling.scattered_inputs(CaseText(text, "t"))
    values = sampling.block(inputs, 3, 10_000, 1, way)
    for each in inputs:
        exact = stats.norm(each.center, each.half_width / 2)
        if each.shape == "uniform":
            exact = stats.uniform(each.center - each.half_width, 2 * each.half_width)
        assert stats.kstest(values[each.path], exact.cdf).pvalue > 1e-3
    together = np.corrcoef([values[each.path] for each in inputs]) - np.eye(len(inputs))
    assert np.abs(together).max() < 4 / math.sqrt(10_000)


def test_every_block_is_its_own_draw():
    inputs = sampling.scattered_inputs(CaseText(TWO, "t"))
    first, second = (sampling.block(inputs, number, 100, 1, "latin") for number in (0, 1))
    assert all(not np.any(first[path] == second[path]) for path in first)
