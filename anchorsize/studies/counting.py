"""What many samples say: failures with their interval, percentiles in bounded memory, and which input drives a result."""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from anchorsize.study import Array

CONFIDENCE: Final = 0.95

PERCENTILES: Final = (5, 50, 95, 99)

_BITS = 11  # leading bits of the fraction of a float that name its bin
_LEAST, _GREATEST = -14, 20  # binary exponents: below 2^-14 counts as nothing, from 2^20 on as unlimited
_BINS = (_GREATEST - _LEAST << _BITS) + 2

RESOLUTION: Final = 2.0 ** -(_BITS + 1)
"""Greatest relative error of a percentile against the sample of its rank [-]: half the width of a bin."""

UNLIMITED: Final = 2.0**_GREATEST
"""Utilization from which on it is taken for infinite [-]: beyond any limit, such as that of a clamp that is lost."""


class Tally:
    """Counts of the utilizations of ``lines`` checks, each in bins of 2^-11 of its binary order: nothing grows with the samples.

    The bins are cut from the bits of the numbers themselves (sign, exponent, leading bits of the fraction), so that finding one
    costs a shift. Failures, least and greatest are exact; so are ``finite``, the samples under :data:`UNLIMITED`, and of these
    alone ``highest``, ``mean`` and :attr:`deviation`.
    """

    def __init__(self, lines: int) -> None:
        self.counts = np.zeros((lines, _BINS), dtype=np.int64)
        self.failed = np.zeros(lines, dtype=np.int64)
        self.least = np.full(lines, np.inf)
        self.greatest = np.full(lines, -np.inf)
        self.samples = 0
        self.finite = np.zeros(lines, dtype=np.int64)
        self.highest = np.full(lines, -np.inf)
        self.mean = np.zeros(lines)
        self._squares = np.zeros(lines)  # summed squares of what lies off the mean

    def add(self, utilization: Array) -> None:
        """Count utilizations (lines, rows) [-], zero or more, infinite where nothing is known to hold."""
        self.samples += utilization.shape[1]
        self.failed += np.count_nonzero(utilization > 1.0, axis=1)
        finite = utilization < UNLIMITED
        if np.all(finite):
            self._count(utilization, np.full(utilization.shape[0], utilization.shape[1]))
        else:
            self._count(np.where(finite, utilization, np.inf), np.count_nonzero(finite, axis=1))

    def _count(self, values: Array, finite: NDArray[np.int64]) -> None:
        np.minimum(self.least, values.min(axis=1), out=self.least)
        np.maximum(self.greatest, values.max(axis=1), out=self.greatest)
        for counts, line in zip(self.counts, values, strict=True):
            found = np.bincount(_bin_of(line))
            counts[: found.size] += found
        for line in np.flatnonzero(finite):
            kept = values[line] if finite[line] == values.shape[1] else values[line][np.isfinite(values[line])]
            self.highest[line] = max(self.highest[line], kept.max())
            self._merge(line, kept)

    def _merge(self, line: np.intp, kept: Array) -> None:
        """Take finite utilizations into mean and squares (Chan, Golub and LeVeque 1979, from memory: no cancellation)."""
        mean = float(kept.mean())
        before, total = int(self.finite[line]), int(self.finite[line]) + kept.size
        off = mean - self.mean[line]
        self.mean[line] += off * kept.size / total
        self._squares[line] += np.square(kept - mean).sum() + off * off * before * kept.size / total
        self.finite[line] = total

    @property
    def deviation(self) -> Array:
        """Standard deviation (lines) of the finite samples [-], with n - 1; NaN of fewer than two."""
        return np.where(self.finite > 1, np.sqrt(self._squares / np.maximum(self.finite - 1, 1)), np.nan)

    def percentile(self, share: float) -> Array:
        """The sample (lines) of which ``share`` [-] of all are no greater, to :data:`RESOLUTION`."""
        rank = max(1, math.ceil(share * self.samples - 1e-9))
        place = np.argmax(np.cumsum(self.counts, axis=1) >= rank, axis=1)
        return np.asarray(np.clip(_BIN_CENTERS[place], self.least, self.greatest))

    def histogram(self, line: int, low: float, high: float, bars: int) -> tuple[Array, NDArray[np.int64]]:
        """Edges (m + 1) and counts (m) of one line between two finite utilizations: some ``bars`` bars, or as many as the bins allow.

        1 is an edge wherever it lies, so that no bar holds what fails and what does not.
        """
        within = np.flatnonzero(
            (low * (1.0 - RESOLUTION) <= _BIN_CENTERS) & (high * (1.0 + RESOLUTION) >= _BIN_CENTERS)
        )
        bars = max(1, min(bars, within.size // 2))
        width = max((high - low) / bars, 4.0 * RESOLUTION * max(high, 1e-3))
        first, last = math.floor((low - 1.0) / width), math.ceil((high - 1.0) / width)
        edges = 1.0 + width * np.arange(first, max(last, first + 1) + 1)
        centers = np.clip(_BIN_CENTERS[within], edges[0], edges[-1])
        counts, _ = np.histogram(centers, bins=edges, weights=self.counts[line, within])
        return np.asarray(edges, dtype=np.float64), counts.astype(np.int64)


def _bin_of(values: Array) -> NDArray[np.int64]:
    order = np.ascontiguousarray(values, dtype=np.float64).view(np.int64) >> (52 - _BITS)
    first = (1023 + _LEAST) << _BITS
    return np.asarray(np.clip(order - (first - 1), 0, _BINS - 1))


def _bin_centers() -> Array:
    """The middle of each bin: 0 for the first, infinite for the last."""
    place = np.arange(_BINS - 2)
    order, step = place >> _BITS, place & ((1 << _BITS) - 1)
    inner = np.ldexp(1.0 + (step + 0.5) * 2.0**-_BITS, order + _LEAST)
    return np.concatenate([[0.0], inner, [np.inf]])


_BIN_CENTERS = _bin_centers()


def share_interval(found: int, samples: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Bounds of a share of which ``found`` in ``samples`` independent ones were seen [-].

    Wilson's interval with correction for continuity, method 4 of Newcombe, Statistics in Medicine 17, 1998, pages 857-872 (from
    memory): closed form, and its bounds stand off far enough to keep the confidence also for shares near 0 or 1.
    """
    z = NormalDist().inv_cdf(0.5 + 0.5 * confidence)
    n, p = float(samples), found / samples
    width = 2.0 * (n + z * z)
    middle = 2.0 * n * p + z * z

    def spread(sign: float) -> float:
        inner = z * z + 2.0 * sign - 1.0 / n + 4.0 * p * (n * (1.0 - p) - sign)
        return 1.0 + z * math.sqrt(inner)

    low = 0.0 if found == 0 else max(0.0, (middle - spread(-1.0)) / width)
    high = 1.0 if found == samples else min(1.0, (middle + spread(1.0)) / width)
    return low, high


def ranks(values: Array) -> Array:
    """The rank (n) of each of some values (n), from 1, those of equal values shared evenly."""
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    middle: Array = (last - 0.5 * (counts - 1))[place]
    return middle


def rank_correlation(inputs: Array, results: Array) -> Array:
    """Spearman's rank correlation (d, k) [-] of inputs (d, n) with results (k, n); NaN where either does not vary."""
    ranked = [np.apply_along_axis(ranks, 1, each) for each in (inputs, results)]
    x, y = (each - each.mean(axis=1, keepdims=True) for each in ranked)
    sizes = np.sqrt(np.square(x).sum(axis=1)[:, None] * np.square(y).sum(axis=1)[None, :])
    together: Array = np.where(sizes > 0.0, np.einsum("dn,kn->dk", x, y) / np.where(sizes > 0.0, sizes, 1.0), np.nan)
    return together


def variance_shares(inputs: Array, result: Array) -> Array:
    """Share (d) [-] of the variance of a result (n) that each input (d, n) explains by itself; NaN where it does not vary.

    The first-order index of variance-based sensitivity, Var(E[y|x])/Var(y), from the samples at hand: the correlation ratio between
    equally filled slices of the input, less what chance alone puts between so many slices (Kelley's epsilon squared; from memory).
    It sees effects that turn round, which a rank correlation does not.
    """
    count = result.size
    slices = math.isqrt(count)  # as many as samples in each
    shares = np.full(inputs.shape[0], np.nan)
    if slices < 2 or result.min() == result.max():
        return shares
    total = float(np.square(result - result.mean()).sum())
    for place, values in enumerate(inputs):
        if values.min() == values.max():
            continue
        ordered = result[np.argsort(values, kind="stable")]
        parts = np.array_split(ordered, slices)
        within = sum(float(np.square(part - part.mean()).sum()) for part in parts)
        shares[place] = max(0.0, 1.0 - within / (count - slices) * (count - 1) / total)
    return shares
