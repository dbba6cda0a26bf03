"""A scatter as text, machine output, comma-separated values and picture."""

from __future__ import annotations

import csv
import io
import math
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.machine import FORMAT
from anchorsize.present.words import figure, number, paragraph, table
from anchorsize.studies.counting import CONFIDENCE, PERCENTILES
from anchorsize.studies.sampling import Scattered
from anchorsize.studies.scatter import CheckSpread, Scatter, Spread

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WAYS = {"latin": "stratified in each input (Latin hypercube)", "random": "drawn plainly at random"}
FULL_WIDTH = 80  # columns under which names break earlier and only the upper percentiles are shown
NAME_WIDTH, NARROW_NAME_WIDTH = 17, 11
MOST, CLOSEST = 10, 5  # checks whose drivers are shown: that fail most often, or where none fails
DRIVERS = 3  # inputs named with a check
_NONE = "-"


def scatter_text(found: Scatter, width: int) -> str:
    """The whole report: what scattered, how often each check fails, what drives it, and what that rests on."""
    sections = [
        textwrap.fill(f"{found.study.title or 'untitled'}: scatter of the checks with their inputs", width),
        _verdict(found, width),
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
    spread = found.greatest
    drawn = f"{found.samples:,} samples, seed {found.seed}, {WAYS[found.way]}; option '{found.option}'."
    if found.verdict == "fails":
        words = (
            f"FAILS in {_share(spread.fails)} of the samples ({_interval(spread)} with {CONFIDENCE:.0%} confidence): "
        )
        words += "in these at least one check of one case does not hold."
    else:
        words = "NOT COMPLETE: no check fails, but one that the job needs could not be made. "
        words = words if found.verdict == "incomplete" else "HOLDS: no check fails in any sample. "
        words += f"With {CONFIDENCE:.0%} confidence the share that fails is under {_share(spread.interval[1])}."
    return "\n".join(textwrap.fill(line, width) for line in (drawn, words))


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
    return _share(each.outside) if each.outside > 0.0 else _NONE


def _unjudged(found: Scatter, width: int) -> list[str]:
    if not found.unjudged:
        return []
    share = found.unjudged_samples / found.samples
    lines = [textwrap.fill(f"Not to be judged: {_share(share)} of the samples, counted as failing every check", width)]
    lines += [
        paragraph(f"{each.samples:,} samples, the first of them number {each.first + 1:,}: {each.why}", width)
        for each in found.unjudged
    ]
    lines.append(paragraph(f"A percentile that falls among them reads {_NONE}.", width))
    return ["\n".join(lines)]


def _cases(found: Scatter, width: int) -> list[str]:
    several = len({each.where for each in found.checks}) > 1
    full = width >= FULL_WIDTH
    shown = PERCENTILES if full else PERCENTILES[1:]
    headers = ["", "fails", f"{CONFIDENCE:.0%}\ninterval", *(["as\ngiven"] if full else []), *(f"{p}%" for p in shown)]
    sections = []
    for case in dict.fromkeys(each.case for each in found.checks):
        here = [each for each in found.checks if each.case == case]
        lines = [textwrap.fill(f"Case '{case}': share that fails, percentiles of utilization", width)]
        rows = [_row(_name(each, several), each.spread, full) for each in here if each.spread.moved]
        if rows:
            lines.append(table(rows, headers))
        same = [f"{_name(each, several)} {_same(each.spread)}" for each in here if not each.spread.moved]
        if same:
            lines.append(paragraph(f"the same in every sample: {', '.join(same)}", width))
        sections.append("\n".join(lines))
    whole = table([_row("greatest of all", found.greatest, full)], headers)
    sections.append(f"All cases and checks together\n{whole}")
    return sections


def _name(each: CheckSpread, several: bool) -> str:
    return f"{each.check}, {each.where}" if several else each.check


def _same(spread: Spread) -> str:
    return f"{_use(spread.percentiles[0])}{' FAILS' if spread.fails > 0.0 else ''}"


def _row(name: str, spread: Spread, full: bool) -> list[str]:
    uses = (spread.as_given, *spread.percentiles) if full else spread.percentiles[1:]
    broken = "\n".join(textwrap.wrap(name, NAME_WIDTH if full else NARROW_NAME_WIDTH))
    return [broken, _share(spread.fails), _interval(spread), *(_use(value) for value in uses)]


def _use(value: float) -> str:
    if math.isinf(value):
        return _NONE
    return f"{value:.3f}" if value < 10.0 else figure(value, 3)


def _share(share: float) -> str:
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
    return f"over {_share(low)}" if high == 1.0 and low > 0.0 else f"{_percent(low)} to {_share(high)}"


def _drivers(found: Scatter, width: int) -> str:
    lines = ["What drives the greatest utilization"]
    if found.greatest.moved:
        order = sorted(range(len(found.inputs)), key=lambda i: -_weight(found, i))
        rows = [
            [
                str(i + 1),
                "\n".join(textwrap.wrap(found.inputs[i].path, max(16, width - 36))),
                _correlation(found.greatest.correlation[i]),
                _NONE if math.isnan(found.variance[i]) else f"{found.variance[i]:.0%}",
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
            paragraph(f"{_name(each, several)} in '{each.case}': {_strongest(each.spread)}", width) for each in shown
        ]
    return "\n".join(lines)


def _strongest(spread: Spread) -> str:
    known = [(i, value) for i, value in enumerate(spread.correlation, start=1) if not math.isnan(value)]
    strongest = sorted(known, key=lambda each: -abs(each[1]))[:DRIVERS]
    return ", ".join(f"{i} ({_correlation(value)})" for i, value in strongest) or "nothing in the samples kept"


def _weight(found: Scatter, place: int) -> float:
    """What the drivers are ordered by: the share of variance, the rank correlation where that is not known."""
    share, correlation = found.variance[place], found.greatest.correlation[place]
    return abs(float(np.nan_to_num(correlation))) if math.isnan(share) else share


def _correlation(value: float) -> str:
    return _NONE if math.isnan(value) else f"{value:+.2f}"


def _not_checked(found: Scatter, width: int) -> list[str]:
    missing = [item for item in found.not_checked if item.needed]
    if not missing:
        return []
    lines = [paragraph(f"{item.check} of '{item.where}': supply {item.supply}", width) for item in missing]
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
        "greatest": {
            **_spread_dict(found.greatest, paths),
            "share_of_variance": {path: number(share) for path, share in zip(paths, found.variance, strict=True)},
        },
        "unjudged": {
            "share": found.unjudged_samples / found.samples,
            "reasons": [
                {"samples": each.samples, "first_sample": each.first + 1, "why": each.why} for each in found.unjudged
            ],
        },
        "not_checked": [
            {"check": item.check, "where": item.where, "supply": item.supply, "needed": item.needed}
            for item in found.not_checked
        ],
        "assumptions": [*found.assumptions, DEFERRAL],
    }


def _spread_dict(spread: Spread, paths: Iterable[str]) -> dict[str, Any]:
    return {
        "fails": spread.fails,
        "fails_least": spread.interval[0],
        "fails_greatest": spread.interval[1],
        "utilization": {
            "as_given": number(spread.as_given),
            **{f"p{share}": number(value) for share, value in zip(PERCENTILES, spread.percentiles, strict=True)},
        },
        "rank_correlation": {path: number(value) for path, value in zip(paths, spread.correlation, strict=True)},
    }


def scatter_csv(found: Scatter) -> str:
    """One row per check, the greatest of all last, as comma-separated values; empty where a number is not finite."""
    paths = [each.path for each in found.inputs]
    uses = ["as_given", *(f"p{share}" for share in PERCENTILES)]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(
        ["case", "check", "where", "fails", "fails_least", "fails_greatest", *(f"utilization_{use}" for use in uses)]
        + [f"rank_correlation {path}" for path in paths]
    )
    lines = [((each.case, each.check, each.where), each.spread) for each in found.checks]
    for names, spread in [*lines, (("", "greatest of all", ""), found.greatest)]:
        told = _spread_dict(spread, paths)
        values = [told["fails"], told["fails_least"], told["fails_greatest"]]
        values += [*told["utilization"].values(), *told["rank_correlation"].values()]
        writer.writerow([*names, *("" if value is None else repr(value) for value in values)])
    return text.getvalue()


def scatter_picture(found: Scatter, suffix: Literal["svg", "png"]) -> bytes:
    """A picture as ``svg`` or ``png``: how often each greatest utilization came up, with its limit and percentiles."""
    from matplotlib.figure import Figure

    from anchorsize.present.pictures.style import TITLE_SIZE, clean, look, render

    with look():
        sheet = Figure(figsize=(7.5, 4.2), layout="constrained")
        _draw(sheet.subplots(), found)
        title = f"{clean(found.study.title or 'untitled', 60)}: scatter of the greatest utilization"
        sheet.suptitle(textwrap.fill(title, 80), fontsize=TITLE_SIZE)
        return render(sheet, suffix)


def _draw(axes: Axes, found: Scatter) -> None:
    """Draw the bars, hatched where they fail: told apart without color."""
    edges, counts = found.bars
    middle, wide = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges)
    for failing, face, hatch, label in ((False, "0.8", "", "holds"), (True, "1.0", "////", "fails")):
        part = (middle > 1.0) == failing
        if not np.any(counts[part]):
            continue
        axes.bar(
            middle[part], counts[part] / found.samples, wide[part],
            color=face, edgecolor="0.2", linewidth=0.5, hatch=hatch, label=label,
        )  # fmt: skip
    axes.set_ylim(0.0, 1.15 * counts.max() / found.samples)  # room for the words over the bars
    marks = [(value, f"{share}%") for share, value in zip(PERCENTILES, found.greatest.percentiles, strict=True)]
    marks = [(value, word) for value, word in marks if math.isfinite(value)]
    for value, word in marks:
        axes.axvline(value, color="0.35", linewidth=0.9, linestyle=":")
        axes.annotate(
            word, (value, 0.99), xycoords=("data", "axes fraction"), rotation=90, ha="right", va="top", fontsize=8
        )
    axes.axvline(1.0, color="0.0", linewidth=1.4)
    axes.annotate("limit", (1.0, 0.99), xycoords=("data", "axes fraction"), rotation=90, ha="right", va="top")
    axes.set_xlabel("greatest utilization over all cases and checks [-]")
    axes.set_ylabel("share of the samples [-]")
    note = f"{_share(found.greatest.fails)} of {found.samples:,} samples fail"
    if found.unjudged_samples:
        note += f"; {_share(found.unjudged_samples / found.samples)} could not be judged and are not drawn"
    axes.set_title(note, fontsize=9)
    axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False)
