"""The picture of a comparison: how much of its allowables each option uses, and what each support carries over the cases."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Literal

import numpy as np
from matplotlib.figure import Figure

from anchorsize.mechanics.restraint import SupportState
from anchorsize.present.pictures.style import ACCENT, FAINT, GREY, INK, NOTE_SIZE, PALE, TITLE_SIZE, clean, look, render
from anchorsize.present.support_words import kind_words
from anchorsize.present.words import figure as figures
from anchorsize.studies.supports import Carried, Comparison
from anchorsize.units import convert

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SHOWN_MOST = 3.0
"""Utilization at which a bar is cut, so that one hopeless option does not flatten the others."""

PATCH = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}


def comparison_picture(compared: Comparison, kind: Literal["svg", "png"]) -> bytes:
    """The picture as a file of its kind."""
    return render(comparison_figure(compared), kind)


def comparison_figure(compared: Comparison) -> Figure:
    """Two drawings, one above the other, so that a narrow screen shows them large; without any support judged the lower one is left out."""
    carried = [(option.name, each) for option in compared.options for each in option.carried]
    with look():
        heights = [0.9 + 0.62 * max(len(compared.options), 1)]
        heights += [0.9 + 0.42 * max(len(carried), 1)] if carried else []
        figure = Figure(figsize=(5.2, 0.4 + sum(heights)), facecolor="white", layout="constrained")
        axes = figure.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
        _options(axes[0], compared)
        if carried:
            _supports(axes[1], compared, carried)
        figure.suptitle(clean(compared.study.title or "untitled", 70), fontsize=TITLE_SIZE)
    return figure


def _options(axes: Axes, compared: Comparison) -> None:
    """Bars of utilization: the check that decides, and that of the bolts below it; the line at 1 is where the allowable is used up."""
    names = []
    for place, option in enumerate(compared.options):
        names.append(_label(option.name))
        if option.assessment is None:
            axes.text(0.02, place, "not judged", va="center", color=GREY)
            continue
        decides = option.deciding(compared.common) or option.governing
        upper = (ACCENT, "") if option.holds else (PALE, "////")
        for pair, offset, (face, hatch) in ((decides, -0.2, upper), (option.governing_bolt, 0.2, (FAINT, ""))):
            if pair is None:
                continue
            used = float(pair[1].utilization)
            axes.barh(
                place + offset, min(used, SHOWN_MOST), 0.36, facecolor=face, hatch=hatch, edgecolor=INK, linewidth=0.6
            )
            over = " (cut)" if used > SHOWN_MOST else ""
            words = f"{figures(used, 3)}{over} {pair[1].check}"
            beside = min(used, SHOWN_MOST)
            axes.text(_clear_of_limit(beside), place + offset, words, va="center", fontsize=NOTE_SIZE, bbox=PATCH)
    most = [min(float(o.governing[1].utilization), SHOWN_MOST) for o in compared.options if o.governing is not None]
    axes.axvline(1.0, color=INK, linewidth=1.0, linestyle="--")
    axes.set_xlim(0.0, max([1.3, *most]) * 1.7)
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.set_xlabel(
        "utilization [-]; upper bar: the check that decides (hatched: does not hold),\nlower bar: bolts; dashed: allowable used up"
    )
    _quiet(axes)


def _clear_of_limit(end: float) -> float:
    """Where the word of a bar begins: behind the bar, and behind the line at 1, which it would lie on."""
    return max(end, 1.0) + 0.03


def _supports(axes: Axes, compared: Comparison, carried: list[tuple[str, Carried]]) -> None:
    """Range of the force along each support, with a mark for every case; an open mark where it carries nothing."""
    unit = convert(0.0, "force", compared.study.units)[1]
    for place, (_, each) in enumerate(carried):
        pushes = {name: np.asarray(result.push) for name, result in each.results.items()}
        values = np.array([float(convert(float(push), "force", compared.study.units)[0]) for push in pushes.values()])
        axes.plot([values.min(), values.max()], [place, place], color=GREY, linewidth=2.0, solid_capstyle="butt")
        for value, result in zip(values, each.results.values(), strict=True):
            idle = int(np.asarray(result.state)) == SupportState.OPEN
            axes.plot([value], [place], marker="o", color=INK, markerfacecolor="white" if idle else INK, markersize=5)
        most = max(each.results, key=lambda name: abs(float(pushes[name])))
        axes.annotate(clean(most, 24), (values[list(pushes).index(most)], place), (0, -9), textcoords="offset points",
                      ha="center", va="top", fontsize=NOTE_SIZE, color=GREY)  # fmt: skip
    axes.axvline(0.0, color=FAINT, linewidth=0.8, zorder=0)
    labels = [_label(f"{name}: {kind_words(each.support)} {each.support.name}") for name, each in carried]
    axes.set_yticks(range(len(carried)), labels)
    axes.set_ylim(len(carried) - 0.4, -0.6)
    axes.margins(x=0.15)
    axes.set_xlabel(f"force along the support on the fitting [{unit}], a mark per case;\nopen mark: slack or lifted")
    _quiet(axes)


def _label(text: str) -> str:
    return "\n".join(textwrap.wrap(clean(text, 48), 18)) or "-"


def _quiet(axes: Axes) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.tick_params(labelsize=NOTE_SIZE)
    axes.xaxis.label.set_fontsize(NOTE_SIZE)


def comparison_alt(compared: Comparison) -> str:
    """What the picture shows, in words."""
    used = [
        f"{option.name} {figures(float(option.governing[1].utilization), 3)}"
        for option in compared.options
        if option.governing is not None
    ]
    best = "none holds" if compared.best is None else f"greatest margin: {compared.best.name}"
    return f"Greatest utilization of each support option: {'; '.join(used)}; {best}. Below it, the range of force in each support."
