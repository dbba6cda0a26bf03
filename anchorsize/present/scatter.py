"""A scatter as text, machine output, comma-separated values and picture."""

from __future__ import annotations

import csv
import io
import math
import textwrap
from collections.abc import Iterable
from typing import Any

import numpy as np

from anchorsize.assessment import findings_as_given
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.checks_supports import called
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.machine import FORMAT, findings_list, not_checked_list
from anchorsize.present.verdict import bolts_first, doubts, holds_word
from anchorsize.present.words import figure, number, paragraph, table
from anchorsize.studies.counting import CONFIDENCE, PERCENTILES
from anchorsize.studies.sampling import Scattered
from anchorsize.studies.scatter_results import CheckSpread, Scatter, Spread

WAYS = {"latin": "stratified in each input (Latin hypercube)", "random": "drawn plainly at random"}
NAME_WIDTH = 17
MOST, CLOSEST = 10, 5  # checks whose drivers are shown: that fail most often, or where none fails
DRIVERS = 3  # inputs named with a check
EVERY_CASE = "every case"  # in which a check of geometry is the same
BEYOND = "beyond any"  # limit: a utilization that is infinite
_NONE = "-"


def scatter_text(found: Scatter, width: int) -> str:
    """The whole report: what scattered, how often each check fails, what drives it, and what that rests on."""
    sections = [
        textwrap.fill(f"{found.study.title or 'untitled'}: scatter of the checks with their inputs", width),
        _verdict(found, width),
        *(textwrap.fill(f"Warning: {line}", width) for line in found.warnings),
        _inputs(found, width),
        *_unjudged(found, width),
        *_cases(found, width),
        _drivers(found, width),
        *_not_checked(found, width),
        "\n".join(["Assumptions", *(paragraph(line, width) for line in found.assumptions)]),
        textwrap.fill(DEFERRAL, width),
    ]
    return "\n\n".join(sections) + "\n"


def _verdict(found: Scatter, width: int) -> str:
    spread, as_given = found.greatest, findings_as_given(found.study, found.option)
    drawn = f"{found.samples:,} samples, seed {found.seed}, {WAYS[found.way]}; option '{found.option}'."
    if found.verdict == "fails":
        words = f"FAILS in {share_words(spread.fails)} of the samples ({_interval(spread)} with {CONFIDENCE:.0%} confidence): "
        words += "in these at least one check of one case does not hold."
    else:
        words = "NOT COMPLETE: no check fails, but one that the job needs could not be made. "
        words = words if found.verdict == "incomplete" else f"{holds_word(as_given)}: no check fails in any sample. "
        words += f"With {CONFIDENCE:.0%} confidence the share that fails is under {share_words(spread.interval[1])}."
    lines = [drawn, words, *bolts_first(as_given), *doubts(as_given)]
    if spread.beyond > 0.0:
        lines.append(
            f"Beyond any limit in {share_words(spread.beyond)} of the samples: in these a clamp is lost or they could not be judged, and no number tells "
            f"how far; a percentile that falls among them reads '{BEYOND}'."
        )
    return "\n".join(textwrap.fill(line, width) for line in lines)


def _inputs(found: Scatter, width: int) -> str:
    headers = ["", "input", "as given", "shape", *(["cut off"] if found.truncated else [])]
    rest = [[each.given, each.shape, *([_cut(each)] if found.truncated else [])] for each in found.inputs]
    spare = width - 6 - sum(2 + max(map(len, column)) for column in zip(headers[2:], *rest, strict=True))
    rows = [
        [str(i), "\n".join(textwrap.wrap(each.path, max(spare, 12))), *others]
        for i, (each, others) in enumerate(zip(found.inputs, rest, strict=True), start=1)
    ]
    lines = ["What scatters", table(rows, headers, left=4)]
    if found.truncated:
        lines.append(
            paragraph(
                "Cut off: share of the distribution beyond what the input can be; drawn inside it instead.", width
            )
        )
    return "\n".join(lines)


def _cut(each: Scattered) -> str:
    return share_words(each.outside) if each.outside > 0.0 else _NONE


def _unjudged(found: Scatter, width: int) -> list[str]:
    if not found.unjudged:
        return []
    share = found.unjudged_samples / found.samples
    lines = [
        textwrap.fill(f"Not to be judged: {share_words(share)} of the samples, counted as failing every check", width)
    ]
    lines += [
        paragraph(f"{each.samples:,} samples, the first of them number {each.first + 1:,}: {each.why}", width)
        for each in found.unjudged
    ]
    return ["\n".join(lines)]


def _cases(found: Scatter, width: int) -> list[str]:
    several = len({each.where for each in found.checks}) > 1
    headers = ["", "fails", f"{CONFIDENCE:.0%}\ninterval", "as\ngiven", *(f"{p}%" for p in PERCENTILES)]
    sections = []
    for case in sorted(dict.fromkeys(_case(each) for each in found.checks), key=EVERY_CASE.__eq__):  # that last
        of_case = [each for each in found.checks if _case(each) == case]
        here = list({(each.check, each.where): each for each in reversed(of_case)}.values())[::-1]
        title = case.capitalize() if case == EVERY_CASE else f"Case {case}"
        lines = [textwrap.fill(f"{title}: share that fails, percentiles of utilization", width)]
        moved = [(_name(found, each, several), each.spread) for each in here if each.spread.moved]
        if moved:
            lines.append(table([_row(name, spread) for name, spread in moved], headers))
            lines.append(_moments(moved))
        beyond = [f"{name} in {share_words(spread.beyond)}" for name, spread in moved if spread.beyond > 0.0]
        if beyond:
            lines.append(paragraph(f"beyond any limit: {', '.join(beyond)} of the samples", width))
        same = [f"{_name(found, each, several)} {_same(each.spread)}" for each in here if not each.spread.moved]
        if same:
            lines.append(paragraph(f"the same in every sample: {', '.join(same)}", width))
        sections.append("\n".join(lines))
    whole = [("greatest of all", found.greatest), *([("greatest under load", found.loaded)] if found.loaded else [])]
    rows = table([_row(name, spread) for name, spread in whole], headers)
    sections.append(f"All cases and checks together\n{rows}\n{_moments(whole)}")
    return sections


def _case(each: CheckSpread) -> str:
    """The case of a check in words."""
    return EVERY_CASE if each.check in LAYOUT else f"'{each.case}'"


def _moments(spreads: list[tuple[str, Spread]]) -> str:
    """Mean and deviation of each utilization, and the bolt that governs most often."""
    rows = [
        [
            _broken(name),
            _NONE if math.isnan(spread.mean) else _use(spread.mean),
            _NONE if math.isnan(spread.deviation) else figure(spread.deviation, 2, 1e-9 * spread.mean),
            _NONE if spread.bolt is None else str(spread.bolt),
            _NONE if spread.bolt is None else f"in {share_words(spread.bolt_share)}",
        ]
        for name, spread in spreads
    ]
    return table(rows, ["", "mean", "standard\ndeviation", "bolt most\noften", ""])


def _name(found: Scatter, each: CheckSpread, several: bool) -> str:
    name = called(found.study, found.option, each.check, each.where)
    return f"{name}, {each.where}" if several else name


def _same(spread: Spread) -> str:
    return f"{_use(spread.percentiles[0])}{' FAILS' if spread.fails > 0.0 else ''}"


def _broken(name: str) -> str:
    return "\n".join(textwrap.wrap(name, NAME_WIDTH))


def _row(name: str, spread: Spread) -> list[str]:
    uses = (spread.as_given, *spread.percentiles)
    return [
        _broken(name),
        share_words(spread.fails),
        _interval(spread),
        *(_use(value).replace(" ", "\n") for value in uses),
    ]


def _use(value: float) -> str:
    if math.isinf(value):
        return BEYOND
    return f"{value:.3f}" if value < 10.0 else figure(value, 3)


def under_load(found: Scatter) -> str:
    """What is added where a check of geometry stands apart from those whose greatest is shown."""
    return " under load" if found.loaded else ""


def share_words(share: float) -> str:
    """A share in percent with as many figures as it is worth; 0 and 100% only where it is none or all."""
    return f"{_percent(share)}%"


def _percent(share: float) -> str:
    digits = 2 if share < 0.1 else 3 if share < 0.99 else 4
    text = f"{100.0 * share:.{digits}g}"
    return (
        "over 99.99" if text == "100" and share < 1.0 else f"{100.0 * share:.5f}".rstrip("0") if "e" in text else text
    )


def _interval(spread: Spread) -> str:
    low, high = spread.interval
    return f"over {share_words(low)}" if high == 1.0 and low > 0.0 else f"{_percent(low)} to {share_words(high)}"


def _drivers(found: Scatter, width: int) -> str:
    spread, variance = found.shown
    lines = [f"What drives the greatest utilization{under_load(found)}"]
    if spread.moved:
        order = sorted(range(len(found.inputs)), key=lambda i: -_weight(found, i))
        rows = [
            [
                str(i + 1),
                "\n".join(textwrap.wrap(found.inputs[i].path, max(16, width - 36))),
                _correlation(spread.correlation[i]),
                _NONE if math.isnan(variance[i]) else f"{variance[i]:.0%}",
            ]
            for i in order
        ]
        lines.append(table(rows, ["", "input", "rank\ncorrelation", "share of\nvariance"], left=2))
    else:
        lines.append(paragraph("Nothing: it is the same in every sample.", width))
    moved = [each for each in found.checks if each.spread.moved]
    several = len({each.where for each in found.checks}) > 1
    failing = sorted((e for e in moved if e.spread.fails > 0.0), key=lambda each: -each.spread.fails)[:MOST]
    shown = failing or sorted(moved, key=lambda each: -each.spread.percentiles[-1])[:CLOSEST]
    if shown:
        which = "the checks that fail most often" if failing else "the checks nearest to failing"
        lines.append(textwrap.fill(f"What drives {which}: inputs by number, rank correlation", width))
        lines += [
            paragraph(f"{_name(found, each, several)} in {_case(each)}: {_strongest(each.spread)}", width)
            for each in shown
        ]
    return "\n".join(lines)


def _strongest(spread: Spread) -> str:
    known = [(i, value) for i, value in enumerate(spread.correlation, start=1) if not math.isnan(value)]
    strongest = sorted(known, key=lambda each: -abs(each[1]))[:DRIVERS]
    return ", ".join(f"{i} ({_correlation(value)})" for i, value in strongest) or "nothing in the samples kept"


def _weight(found: Scatter, place: int) -> float:
    """What the drivers are ordered by: the share of variance, the rank correlation where that is not known."""
    spread, variance = found.shown
    share, correlation = variance[place], spread.correlation[place]
    return abs(float(np.nan_to_num(correlation))) if math.isnan(share) else share


def _correlation(value: float) -> str:
    return _NONE if math.isnan(value) else f"{value:+.2f}"


def _not_checked(found: Scatter, width: int) -> list[str]:
    missing = [item for item in found.not_checked if item.needed]
    if not missing:
        return []
    lines = [paragraph(f"{item.words} of '{item.where}': supply {item.supply}", width) for item in missing]
    return ["\n".join(["Not checked though the job needs it", *lines])]


def scatter_dict(found: Scatter) -> dict[str, Any]:
    """The machine output of ``scatter --json``."""
    paths = [each.path for each in found.inputs]
    return {
        "format": FORMAT,
        "title": found.study.title,
        "option": found.option,
        "verdict": found.verdict,
        "samples": found.samples,
        "seed": found.seed,
        "sampling": found.way,
        "truncated": found.truncated,
        "confidence": CONFIDENCE,
        "warnings": list(found.warnings),
        "findings_as_given": findings_list(findings_as_given(found.study, found.option)),
        "inputs": [
            {
                "path": each.path,
                "given": each.given,
                "shape": each.shape,
                "value_si": number(each.center),
                "plus_minus_si": number(each.half_width),
                "outside": number(each.outside),
            }
            for each in found.inputs
        ],
        "checks": [
            {"case": each.case, "check": each.check, "where": each.where, **_spread_dict(each.spread, paths)}
            for each in found.checks
        ],
        "greatest": _greatest_dict(found.greatest, found.variance, paths),
        "greatest_under_load": None
        if found.loaded is None
        else _greatest_dict(found.loaded, found.loaded_variance, paths),
        "unjudged": {
            "share": found.unjudged_samples / found.samples,
            "reasons": [
                {"samples": each.samples, "first_sample": each.first + 1, "why": each.why} for each in found.unjudged
            ],
        },
        "not_checked": not_checked_list(found.not_checked),
        "assumptions": [*found.assumptions, DEFERRAL],
    }


def _greatest_dict(spread: Spread, variance: Iterable[float], paths: list[str]) -> dict[str, Any]:
    shares = {path: number(share) for path, share in zip(paths, variance, strict=True)}
    return {**_spread_dict(spread, paths), "share_of_variance": shares}


def _spread_dict(spread: Spread, paths: Iterable[str]) -> dict[str, Any]:
    uses = _uses(spread)
    return {
        "fails": spread.fails,
        "fails_least": spread.interval[0],
        "fails_greatest": spread.interval[1],
        "utilization": {
            **{name: number(value) for name, value in uses.items()},
            "mean": number(spread.mean),
            "standard_deviation": number(spread.deviation),
        },
        "beyond_any_limit": spread.beyond,
        "null_because_beyond_any_limit": [name for name, value in uses.items() if math.isinf(value)],
        "bolt_most_often": spread.bolt,
        "bolt_most_often_share": spread.bolt_share if spread.bolt is not None else None,
        "rank_correlation": {path: number(value) for path, value in zip(paths, spread.correlation, strict=True)},
    }


def _uses(spread: Spread) -> dict[str, float]:
    """Utilization as given and its percentiles, by the key of the machine output."""
    percentiles = zip(PERCENTILES, spread.percentiles, strict=True)
    return {"as_given": spread.as_given, **{f"p{share}": value for share, value in percentiles}}


def scatter_csv(found: Scatter) -> str:
    """One row per check, the greatest of all and of those under load last; empty where a number is not finite."""
    paths = [each.path for each in found.inputs]
    uses = [*_uses(found.greatest), "mean", "standard_deviation"]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(
        ["case", "check", "where", "fails", "fails_least", "fails_greatest", *(f"utilization_{use}" for use in uses)]
        + ["beyond_any_limit", "bolt_most_often"]
        + [f"rank_correlation {path}" for path in paths]
    )
    lines = [((each.case, each.check, each.where), each.spread) for each in found.checks]
    lines.append((("", "greatest of all", ""), found.greatest))
    if found.loaded is not None:
        lines.append((("", "greatest under load", ""), found.loaded))
    for names, spread in lines:
        told = _spread_dict(spread, paths)
        values = [told["fails"], told["fails_least"], told["fails_greatest"]]
        values += [
            *told["utilization"].values(),
            told["beyond_any_limit"],
            told["bolt_most_often"],
            *told["rank_correlation"].values(),
        ]
        writer.writerow([*names, *("" if value is None else repr(value) for value in values)])
    return text.getvalue()
