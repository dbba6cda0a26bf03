"""How a judgment scatters with its inputs: a case file judged for many samples of every quantity that carries a ±."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import NotChecked, StudyError
from anchorsize.assessment.holding import chosen_option
from anchorsize.assessment.statements import assumptions
from anchorsize.casefile import CaseFileError
from anchorsize.casefile.parse import CaseText
from anchorsize.studies.counting import (
    CONFIDENCE,
    PERCENTILES,
    RESOLUTION,
    Tally,
    rank_correlation,
    share_interval,
    variance_shares,
)
from anchorsize.studies.rows import Rows, judge_rows
from anchorsize.studies.sampling import BLOCK, Scattered, Way, block, require_range, scattered_inputs
from anchorsize.study import Array, Study
from anchorsize.units import show

SEED: Final = 20

BLOCKS_AT_ONCE: Final = 1
"""Blocks judged together: enough rows to make building the study cheap, few enough to keep the arrays of a joint in cache."""

BARS: Final = 60

_SAME = 1e-12  # relative difference of utilizations that is rounding
_SAID = 6  # inputs named with an impossible sample
_FIGURES = re.compile(r"\d[\d.,eE+-]*")


@dataclass(frozen=True)
class Spread:
    """One utilization over the samples. ``fails`` is a share with its ``interval``, ``percentiles`` those of PERCENTILES [-].

    ``as_given`` is the utilization of the file as it stands, infinite where it cannot be judged. ``correlation`` is the rank
    correlation with each input, NaN where there is none. ``moved`` is False where every sample gives the same.
    """

    as_given: float
    fails: float
    interval: tuple[float, float]
    percentiles: tuple[float, ...]
    correlation: tuple[float, ...]
    moved: bool


@dataclass(frozen=True)
class CheckSpread:
    """A check of a case over the samples."""

    case: str
    check: str
    where: str
    spread: Spread


@dataclass(frozen=True)
class Unjudged:
    """Samples that could not be judged for one reason, in the words of the first of them; counted as failing every check."""

    samples: int
    first: int
    why: str


@dataclass(frozen=True)
class Scatter:
    """A case file over many samples.

    ``checks`` stand in the order of the file; ``greatest`` is the greatest utilization of all checks of a sample, and
    ``variance`` the share of its variance that each input explains by itself (over the samples that could be judged). ``bars``
    are the edges and counts of its histogram.
    """

    study: Study
    option: str
    samples: int
    seed: int
    way: Way
    truncated: bool
    inputs: tuple[Scattered, ...]
    checks: tuple[CheckSpread, ...]
    greatest: Spread
    variance: tuple[float, ...]
    bars: tuple[Array, NDArray[np.int64]]
    unjudged: tuple[Unjudged, ...]
    unjudged_samples: int
    not_checked: tuple[NotChecked, ...]
    assumptions: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """``fails`` if a check fails in any sample, else ``incomplete`` if a needed one was not made, else ``holds``."""
        if self.greatest.fails > 0.0:
            return "fails"
        return "incomplete" if any(item.needed for item in self.not_checked) else "holds"


@dataclass
class _Reason:
    samples: int
    first: int
    values: dict[str, Array]


@dataclass
class _Gathered:
    """What is kept while the samples go by: counts, and the first block itself, from which the drivers are told."""

    tally: Tally
    inputs: Array
    utilization: Array
    judged: NDArray[np.bool_]
    reasons: dict[str, _Reason] = field(default_factory=dict)
    unjudged: int = 0


def scatter(
    text: str,
    name: str,
    samples: int = BLOCK,
    seed: int = SEED,
    option: str | None = None,
    way: Way = "latin",
    truncate: bool = False,
    blocks_at_once: int = BLOCKS_AT_ONCE,
    progress: Callable[[int], object] = lambda _: None,
) -> Scatter:
    """Judge ``samples`` samples of the inputs of a case file's text that carry a ±.

    Parameters
    ----------
    name : the file as shown in messages
    seed : whole number, zero or more; the same seed gives the same samples and the same result
    way : ``latin`` stratifies each input within a block of samples, ``random`` draws plainly
    truncate : draw inside the range in which an input can be, where its distribution leaves it
    blocks_at_once : blocks judged together; it has no bearing on the result
    progress : called with the number of samples judged since it was called last

    Raises
    ------
    CaseFileError
        The text is no usable case file.
    StudyError
        No input carries a ±, a distribution leaves its range, a sample is impossible, or the file cannot be judged at all.
    """
    case = CaseText(text, name)
    study = case.study({})
    inputs = scattered_inputs(case)
    if not truncate:
        require_range(inputs, samples, study.units)
    chosen = chosen_option(study, option)
    given = judge_rows(study, (), chosen)
    if not given.keys:
        raise StudyError("no check can be made of this file, so nothing is counted; " + _supply(given.not_checked))
    gathered = _Gathered(
        Tally(len(given.keys) + 1), np.empty((len(inputs), 0)), np.empty((0, 0)), np.zeros(0, dtype=np.bool_)
    )
    for first, values in _portions(inputs, samples, seed, way, blocks_at_once):
        rows = _judge(case, chosen, values, first, inputs)
        _gather(gathered, rows, values, first)
        progress(rows.shape[0])
    return _summed_up(case, study, chosen, given, inputs, gathered, (samples, seed, way, truncate))


def _supply(not_checked: tuple[NotChecked, ...]) -> str:
    return "; ".join(f"{item.check}: supply {item.supply}" for item in not_checked if item.needed)


def _portions(
    inputs: tuple[Scattered, ...], samples: int, seed: int, way: Way, blocks_at_once: int
) -> Iterator[tuple[int, dict[str, Array]]]:
    """Yield the number of the first sample and the samples, some blocks at a time."""
    size = BLOCK * blocks_at_once
    for first in range(0, samples, size):
        starts = range(first, min(first + size, samples), BLOCK)
        drawn = [block(inputs, start // BLOCK, min(BLOCK, samples - start), seed, way) for start in starts]
        yield first, {path: np.concatenate([each[path] for each in drawn]) for path in drawn[0]}


def _judge(case: CaseText, option: str, values: Mapping[str, Array], first: int, inputs: tuple[Scattered, ...]) -> Rows:
    """Judge some samples; where one of them is impossible, halve them until it is found and named."""
    count = next(iter(values.values())).size
    try:
        return judge_rows(case.study(values), (count,), option)
    except ValueError as error:  # of the file, of the study, or of the mechanics about a value
        if count > 1:
            for part in (slice(0, count // 2), slice(count // 2, count)):
                half = {path: each[part] for path, each in values.items()}
                _judge(case, option, half, first + part.start, inputs)
            raise
        why = str(error.problems[0]) if isinstance(error, CaseFileError) else str(error)
        raise StudyError(
            f"sample {first + 1:,} cannot be, {_said(values, inputs)}: {why}\nThe scatter reaches what is impossible "
            "together; give a narrower ±."
        ) from error


def _said(values: Mapping[str, Array], inputs: tuple[Scattered, ...]) -> str:
    told = [f"{each.path} = {show(float(values[each.path][0]), each.kind, 'metric')}" for each in inputs]
    return "with " + ", ".join(told[:_SAID]) + (", …" if len(told) > _SAID else "")


def _gather(gathered: _Gathered, rows: Rows, values: dict[str, Array], first: int) -> None:
    every = np.vstack([rows.utilization, rows.greatest])
    gathered.tally.add(every)
    lost = rows.refused.rows
    if first == 0:
        gathered.inputs = np.array([each[:BLOCK] for each in values.values()])
        gathered.utilization, gathered.judged = every[:, :BLOCK].copy(), ~lost[:BLOCK]
    gathered.unjudged += int(np.count_nonzero(lost))
    for key, mask in _by_reason(rows).items():
        place = int(np.argmax(mask))
        known = gathered.reasons.setdefault(
            key, _Reason(0, first + place, {path: each[place : place + 1] for path, each in values.items()})
        )
        known.samples += int(np.count_nonzero(mask))


def _by_reason(rows: Rows) -> dict[str, NDArray[np.bool_]]:
    """The rows that could not be judged by their reason, whose words may hold figures that differ from batch to batch."""
    found: dict[str, NDArray[np.bool_]] = {}
    for mask, why in rows.refused.reasons:
        key = _FIGURES.sub("#", why)
        found[key] = mask | found.get(key, False)
    return found


def _summed_up(
    case: CaseText,
    study: Study,
    option: str,
    given: Rows,
    inputs: tuple[Scattered, ...],
    gathered: _Gathered,
    drawn: tuple[int, int, Way, bool],
) -> Scatter:
    samples, seed, way, truncated = drawn
    tally = gathered.tally
    percentiles = np.array([tally.percentile(share / 100.0) for share in PERCENTILES]).T
    correlation = rank_correlation(gathered.inputs, gathered.utilization).T
    as_given = [*given.utilization.tolist(), float(given.greatest)]
    spreads = [
        Spread(
            as_given=as_given[line],
            fails=int(tally.failed[line]) / samples,
            interval=share_interval(int(tally.failed[line]), samples),
            percentiles=tuple(percentiles[line].tolist()),
            correlation=tuple(correlation[line].tolist()),
            moved=bool(tally.least[line] < tally.greatest[line] * (1.0 - _SAME)),
        )
        for line in range(len(as_given))
    ]
    variance = variance_shares(gathered.inputs[:, gathered.judged], gathered.utilization[-1, gathered.judged])
    low, high = (tally.percentile(share)[-1] for share in (0.0, 1.0))
    finite = tally.percentile(1.0 - gathered.unjudged / samples)[-1] if np.isinf(high) else high
    return Scatter(
        study=study,
        option=option,
        samples=samples,
        seed=seed,
        way=way,
        truncated=truncated and any(each.outside > 0.0 for each in inputs),
        inputs=inputs,
        checks=tuple(CheckSpread(*key, spread) for key, spread in zip(given.keys, spreads[:-1], strict=True)),
        greatest=spreads[-1],
        variance=tuple(variance.tolist()),
        bars=tally.histogram(len(spreads) - 1, float(low), float(finite), BARS),
        unjudged=tuple(_unjudged(case, option, gathered.reasons)),
        unjudged_samples=gathered.unjudged,
        not_checked=given.not_checked,
        assumptions=(*_assumed(study, way, samples), *assumptions(study, option)),
    )


def _unjudged(case: CaseText, option: str, reasons: dict[str, _Reason]) -> Iterator[Unjudged]:
    """Each reason in the words of its first sample, judged alone: a batch words its worst row."""
    for key, reason in reasons.items():
        alone = judge_rows(case.study(reason.values), (1,), option)
        words = next(why for _, why in alone.refused.reasons if _FIGURES.sub("#", why) == key)
        yield Unjudged(reason.samples, reason.first, words)


def _assumed(study: Study, way: Way, samples: int) -> Iterator[str]:
    yield (
        "Every quantity with a ± scatters by itself, independent of all others; quantities that go up and down together in truth "
        "make the ends of the distribution more, or less, likely than shown."
    )
    yield (
        "± is two standard deviations of a normal distribution (95 % of it lies within), or the end of a uniform one; what carries no "
        "± does not scatter."
    )
    if any(joint.tightening is not None and joint.tightening.scatter is not None for joint in study.joints.values()):
        yield (
            "The scatter of a tightening is no sample: each sample is judged at the least and greatest preload that it leaves. Give ± "
            "to torque, nut factor or preload instead, and scatter 0 %, to have it drawn."
        )
    confidence = f"The interval of a share is Wilson's with continuity correction, at {CONFIDENCE:.0%} confidence, "
    if way == "random":
        yield confidence + "for independent samples; it is of the sampling only, not of the inputs' truth."
    else:
        yield confidence + (
            "as for independent samples. Stratified samples spread no wider than independent ones (by n/(n - 1) at most, Owen 1997), "
            "so it is rather too wide than too narrow; it is of the sampling only, not of the inputs' truth."
        )
    yield f"Percentiles are right to {RESOLUTION:.3%} of themselves for the samples drawn; failures are counted exactly."
    kept = min(BLOCK, samples)
    yield (
        f"What drives the result is told from the first {kept:,} samples: a rank correlation under about {2.0 / (kept - 1) ** 0.5:.2f} "
        "is chance, and one near 0 may hide an effect that turns round; the share of variance sees it."
    )
