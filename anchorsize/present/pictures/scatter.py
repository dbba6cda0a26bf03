"""The histogram of a scatter."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Literal

import numpy as np

from anchorsize.present.pictures.style import TITLE_SIZE, clean, look, render
from anchorsize.present.scatter import share_words, under_load
from anchorsize.studies.counting import PERCENTILES
from anchorsize.studies.scatter_results import Scatter

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FAR = 1.5  # distance of the limit from all samples, in widths of their range, beyond which it is not drawn to scale
NARROWEST = 1e-3  # range that is drawn at least, as a share of the utilization
WORD_ROOM, WORD_DROP = 0.03, 0.12  # width and height of a word of the picture, in shares of its axes


def scatter_picture(found: Scatter, suffix: Literal["svg", "png"]) -> bytes:
    """A picture as ``svg`` or ``png``: how often each greatest utilization came up, with its limit and percentiles."""
    from matplotlib.figure import Figure

    with look():
        sheet = Figure(figsize=(7.5, 4.2), layout="constrained")
        _draw(sheet.subplots(), found)
        title = f"{clean(found.study.title or 'untitled', 60)}: scatter of the greatest utilization{under_load(found)}"
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
    axes.set_ylim(0.0, 1.15 * max(counts.max(), 1) / found.samples)  # room for the words over the bars
    _marks(axes, found)
    axes.set_xlabel(f"greatest utilization over all cases and checks{under_load(found)} [-]")
    axes.set_ylabel("share of the samples [-]")
    spread, _ = found.shown
    note = f"{share_words(spread.fails)} of {found.samples:,} samples fail"
    if spread.beyond > 0.0:
        note += f"; {share_words(spread.beyond)} are beyond any limit and not drawn"
    axes.set_title(note, fontsize=9)
    if np.any(counts):
        axes.legend(loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False)


def _marks(axes: Axes, found: Scatter) -> None:
    """Lines at the limit and the percentiles; a word that would run into the one before it stands lower.

    A limit far from all samples stands outside, where an arrow points: in the picture it would squeeze the bars into one line.
    """
    spread, _ = found.shown
    percentiles = zip(PERCENTILES, spread.percentiles, strict=True)
    marks = [(value, f"{share}%") for share, value in percentiles if math.isfinite(value)]
    edges, counts = found.bars
    places = [*(value for value, _ in marks), *(edges[[0, -1]] if np.any(counts) else [])] or [1.0]
    low, high = float(min(places)), float(max(places))
    wide = max(high - low, NARROWEST * abs(high))
    left, right = low - 0.08 * wide, high + 0.08 * wide
    if low - FAR * wide <= 1.0 <= high + FAR * wide:
        left, right = min(left, 1.0 - 0.08 * wide), max(right, 1.0 + 0.08 * wide)
        marks.append((1.0, "limit"))
    else:
        _point_at_limit(axes, above=low > 1.0)
    axes.set_xlim(left, right)
    axes.ticklabel_format(axis="x", useOffset=False)
    before, level = -math.inf, 0
    for value, word in sorted(marks):
        look_of = ("0.0", 1.4, "-") if word == "limit" else ("0.35", 0.9, ":")
        axes.axvline(value, color=look_of[0], linewidth=look_of[1], linestyle=look_of[2])
        level = level + 1 if value - before < WORD_ROOM * (right - left) else 0
        before = value
        axes.annotate(
            word,
            (value, 0.99 - WORD_DROP * level),
            xycoords=("data", "axes fraction"),
            rotation=90,
            ha="right",
            va="top",
            fontsize=8,
        )


def _point_at_limit(axes: Axes, above: bool) -> None:
    """An arrow at the edge of the picture toward a limit that lies beyond it; ``above``: all samples are over it."""
    edge, start, side = (0.004, 0.07, "left") if above else (0.996, 0.93, "right")
    line = {"arrowstyle": "-|>", "color": "0.0", "linewidth": 1.4}
    axes.annotate("", (edge, 0.5), (start, 0.5), xycoords="axes fraction", arrowprops=line)
    axes.text(edge, 0.53, "limit at 1,\nfar off", transform=axes.transAxes, ha=side, va="bottom", fontsize=8)
