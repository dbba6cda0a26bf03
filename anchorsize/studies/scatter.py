"""How a judgment scatters with its inputs: a case file judged for many samples of every quantity that carries a ±."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import NotChecked, StudyError
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.holding import chosen_option
from anchorsize.assessment.statements import assumptions
from anchorsize.assessment.states import opening_states
from anchorsize.casefile import CaseFileError
from anchorsize.casefile.parse import CaseText
from anchorsize.studies.counting import (
    CONFIDENCE,
    PERCENTILES,
    RESOLUTION,
    UNLIMITED,
    Tally,
    rank_correlation,
    share_interval,
    variance_shares,
)
from anchorsize.studies.rows import Rows, judge_rows
from anchorsize.studies.sampling import BLOCK, Scattered, Way, block, require_range, scattered_inputs
from anchorsize.studies.scatter_results import CheckSpread, Scatter, Spread, Unjudged
from anchorsize.study import Array, Study
from anchorsize.units import show

SEED: Final = 20

BLOCKS_AT_ONCE: Final = 1
"""Blocks judged together: enough rows to make building the study cheap, few enough to keep the arrays of a joint in cache."""

BARS: Final = 60

_SAME = 1e-12  # relative difference of utilizations that is rounding
_MAKES_PRELOAD = ("torque", "preload", "nut_factor", "thread_friction", "bearing_friction")
_PRESSURES = ("pressure", "absolute_pressure")
_SAID = 6  # inputs named with an impossible sample
_FIGURES = re.compile(r"\d[\d.,eE+-]*")


@dataclass
class _Reason:
    samples: int
    first: int
    values: dict[str, Array]


@dataclass
class _Gathered:
    """What is kept while the samples go by: counts, and the first block itself, from which the drivers are told."""

    tally: Tally
    loaded: NDArray[np.bool_]  # keys of checks under load
    bolts: list[NDArray[np.int64]]  # how often each bolt governs, for each line of the tally
    inputs: Array
    utilization: Array
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
    lines = len(given.keys) + 2  # and the greatest of all, and of those under load
    gathered = _Gathered(
        Tally(lines),
        np.array([check not in LAYOUT for _, check, _ in given.keys]),
        [np.zeros(1, dtype=np.int64) for _ in range(lines)],
        np.empty((len(inputs), 0)),
        np.empty((0, 0)),
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
    every = np.vstack(
        [rows.utilization, _greatest(rows.utilization, slice(None)), _greatest(rows.utilization, gathered.loaded)]
    )
    lost = rows.refused.rows
    for start in range(0, rows.shape[0], BLOCK):  # one by one, so that sums do not hang on how many there are
        gathered.tally.add(every[:, start : start + BLOCK])
    for counts, bolts in zip(gathered.bolts, _bolts(rows, gathered.loaded), strict=True):
        found = np.bincount(bolts[~lost])
        counts.resize(max(counts.size, found.size), refcheck=False)
        counts[: found.size] += found
    if first == 0:
        gathered.inputs = np.array([each[:BLOCK] for each in values.values()])
        gathered.utilization = every[:, :BLOCK].copy()
    gathered.unjudged += int(np.count_nonzero(lost))
    for key, mask in _by_reason(rows).items():
        place = int(np.argmax(mask))
        known = gathered.reasons.setdefault(
            key, _Reason(0, first + place, {path: each[place : place + 1] for path, each in values.items()})
        )
        known.samples += int(np.count_nonzero(mask))


def _greatest(utilization: Array, lines: slice | NDArray[np.bool_]) -> Array:
    """The greatest utilization (n) of some lines; of none it is 0."""
    greatest: Array = np.max(utilization[lines], axis=0, initial=0.0)
    return greatest


def _bolts(rows: Rows, loaded: NDArray[np.bool_]) -> Iterator[NDArray[np.int64]]:
    """The bolt (n) that governs each check, the greatest of all and the greatest under load; 0 where none does."""
    of_check = np.zeros(rows.utilization.shape, dtype=np.int64)
    for place, check in enumerate(rows.checks):
        if check.bolt is not None:
            of_check[place] = check.bolt
    yield from of_check
    for lines in (np.ones_like(loaded), loaded):
        if not np.any(lines):
            yield np.zeros(rows.shape, dtype=np.int64)
            continue
        governs = np.argmax(rows.utilization[lines], axis=0)
        yield np.take_along_axis(of_check[lines], governs[None], axis=0)[0]


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
    given_loaded = float(_greatest(given.utilization, gathered.loaded))
    as_given = [*given.utilization.tolist(), float(given.greatest), given_loaded]
    spreads = _spreads(gathered, as_given, samples)
    variance, loaded_variance = (_variance(gathered, line) for line in (-2, -1))
    apart = bool(np.any(gathered.loaded)) and not np.all(gathered.loaded)
    drawn_line = len(spreads) - (1 if apart else 2)
    return Scatter(
        study=study,
        option=option,
        samples=samples,
        seed=seed,
        way=way,
        truncated=truncated and any(each.outside > 0.0 for each in inputs),
        inputs=inputs,
        checks=tuple(CheckSpread(*key, spread) for key, spread in zip(given.keys, spreads[:-2], strict=True)),
        greatest=spreads[-2],
        variance=variance,
        bars=_bars(gathered.tally, drawn_line),
        unjudged=tuple(_unjudged(case, option, gathered.reasons)),
        unjudged_samples=gathered.unjudged,
        not_checked=given.not_checked,
        assumptions=(*_assumed(study, way, samples), *assumptions(study, option)),
        loaded=spreads[-1] if apart else None,
        loaded_variance=loaded_variance if apart else (),
        warnings=(*_counted_twice(study, inputs), *_two_heads(study, inputs)),
    )


def _spreads(gathered: _Gathered, as_given: list[float], samples: int) -> list[Spread]:
    tally = gathered.tally
    percentiles = np.array([tally.percentile(share / 100.0) for share in PERCENTILES]).T
    correlation = rank_correlation(gathered.inputs, gathered.utilization).T
    spreads = []
    for line, given in enumerate(as_given):
        bolts, finite = gathered.bolts[line], int(tally.finite[line])
        bolt = int(np.argmax(bolts))
        spreads.append(
            Spread(
                as_given=given,
                fails=int(tally.failed[line]) / samples,
                interval=share_interval(int(tally.failed[line]), samples),
                percentiles=tuple(percentiles[line].tolist()),
                correlation=tuple(correlation[line].tolist()),
                moved=bool(tally.least[line] < tally.greatest[line] * (1.0 - _SAME)),
                beyond=(samples - finite) / samples,
                mean=float(tally.mean[line]) if finite else math.nan,
                deviation=float(tally.deviation[line]),
                bolt=bolt or None,
                bolt_share=float(bolts[bolt] / bolts.sum()) if bolt else 0.0,
            )
        )
    return spreads


def _variance(gathered: _Gathered, line: int) -> tuple[float, ...]:
    """Share of the variance of a line that each input explains, over the samples in which it is finite."""
    result = gathered.utilization[line]
    finite = result < UNLIMITED
    return tuple(variance_shares(gathered.inputs[:, finite], result[finite]).tolist())


def _bars(tally: Tally, line: int) -> tuple[Array, NDArray[np.int64]]:
    """The histogram of the finite samples of a line; one empty bar where there are none."""
    if not tally.finite[line]:
        return np.array([0.0, 1.0]), np.zeros(1, dtype=np.int64)
    return tally.histogram(line, float(tally.least[line]), float(tally.highest[line]), BARS)


def _counted_twice(study: Study, inputs: tuple[Scattered, ...]) -> Iterator[str]:
    """Joints whose tightening scatters by its own figure and by a ± on what makes the preload."""
    for name, joint in study.joints.items():
        given = joint.tightening
        if given is None or given.scatter is None or not np.any(np.asarray(given.scatter) > 0.0):
            continue
        start = f"joints/{name}/tightening/"
        drawn = [
            each.path.removeprefix(start).partition("/")[0]
            for each in inputs
            if each.path.startswith(start) and each.half_width > 0.0
        ]
        twice = [word for word in dict.fromkeys(drawn) if word in _MAKES_PRELOAD]
        if twice:
            yield (
                f"Joint '{name}': {' and '.join(twice)} of the tightening scatter{'s' if len(twice) == 1 else ''} by ± and the "
                f"preload once more by tightening / scatter {float(np.max(given.scatter)):.3g}: what both hold, such as friction, "
                "is counted twice. Write scatter: 0 %, or take the ± away."
            )


def _two_heads(study: Study, inputs: tuple[Scattered, ...]) -> Iterator[str]:
    """Cases of still water in which the pressures of its openings are drawn each by itself, so that samples have several heads."""
    drawn = {each.path for each in inputs if each.half_width > 0.0}
    for name, case in study.cases.items():
        openings = {each: o for each, o in opening_states(study, case).items() if o.exit != "capped"}
        if not case.contents_full or any(np.any(np.asarray(o.mass_flow) != 0.0) for o in openings.values()):
            continue
        stated = [each for each in openings if case.states[each].losses is None]
        varied = [each for each in stated if {f"cases/{name}/{each}/{key}" for key in _PRESSURES} & drawn]
        if len(stated) > 1 and varied:
            yield (
                f"Case '{name}': nothing flows, yet the pressure at {' and '.join(varied)} is drawn by itself, so that the samples contradict "
                "themselves: still water has one head. State the pressure at one opening and write pressure: from losses, "
                "loss_coefficient: 0 at the others."
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
