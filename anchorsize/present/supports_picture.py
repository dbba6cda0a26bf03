"""The picture of a comparison: how much of its allowables each option uses, and what each support carries over the cases."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Literal

import numpy as np
from matplotlib.figure import Figure

from anchorsize.mechanics.restraint import SupportState
from anchorsize.present.pictures.style import (
    ACCENT,
    FAINT,
    GREY,
    INK,
    NOTE_SIZE,
    PALE,
    ROW,
    TITLE_SIZE,
    clean,
    look,
    render,
    room_for,
)
from anchorsize.present.support_words import kind_words
from anchorsize.present.words import figure as figures
from anchorsize.studies.supports import Carried, Comparison
from anchorsize.units import convert

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SHOWN_MOST = 3.0
"""Utilization at which a bar is cut, so that one hopeless option does not flatten the others."""

ACROSS = 0.1
"""Share of the force along a support from which the one across it is told beside it: common practice, no source."""

WIDTH, RIGHT, BELOW, TITLE = 7.0, 0.12, 0.62, 0.4  # of the picture, beside, below and above its drawings [in]
LABEL_WIDTH, LONGEST_LABEL = 24, 72  # letters of a line beside a drawing, and of all its lines

PATCH = {"facecolor": "white", "edgecolor": "none", "pad": 0.6}


def comparison_picture(compared: Comparison, kind: Literal["svg", "png"]) -> bytes:
    """The picture as a file of its kind."""
    return render(comparison_figure(compared), kind)


def comparison_figure(compared: Comparison) -> Figure:
    """Two drawings, one above the other, so that a narrow screen shows them large; without any support judged the lower one is left out."""
    carried = [(option.name, each) for option in compared.options for each in option.carried]
    options = [_label(option.name) for option in compared.options]
    supports = [_label(f"{name}: {kind_words(each.support)} {each.support.name}") for name, each in carried]
    left = 0.2 + max(room_for(line) for label in [*options, *supports] for line in label.split("\n"))
    heights = [_height(labels, row) for labels, row in ((options, 0.5), (supports, 0.38)) if labels]
    whole = TITLE + sum(heights) + BELOW * len(heights)
    with look():
        # Places in inches: letting the figure measure its letters would draw it twice, and by the letters of this machine.
        figure = Figure(figsize=(WIDTH, whole), facecolor="white")
        floor, drawn = whole - TITLE, []
        for height in heights:
            floor -= height
            wide = WIDTH - left - RIGHT
            drawn.append(figure.add_axes((left / WIDTH, floor / whole, wide / WIDTH, height / whole)))
            floor -= BELOW
        _options(drawn[0], compared, options, WIDTH - left - RIGHT)
        if carried:
            _supports(drawn[1], compared, carried, supports)
        for axes, height in zip(drawn, heights, strict=True):
            axes.xaxis.set_label_coords(
                1.0, -0.24 / height
            )  # where long names leave it little room it grows to the left
            axes.xaxis.label.set_horizontalalignment("right")
        title = clean(compared.study.title or "untitled", 70)
        figure.suptitle(title, fontsize=TITLE_SIZE, y=1.0 - 0.1 / whole, va="top")
    return figure


def _height(labels: list[str], row: float) -> float:
    """Height of a drawing [in] with a ``row`` for each label, or more where one has many lines."""
    return len(labels) * max(row, *(0.08 + ROW * NOTE_SIZE * (1 + label.count("\n")) for label in labels))


def _options(axes: Axes, compared: Comparison, names: list[str], wide: float) -> None:
    """Bars of utilization: the check that decides, and that of the bolts below it; the line at 1 is where the allowable is used up."""
    reach = 1.3
    for place, option in enumerate(compared.options):
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
            words = f"{figures(used, 3)}{over} {pair[1].words}"
            start = _clear_of_limit(min(used, SHOWN_MOST))
            axes.text(start, place + offset, words, va="center", fontsize=NOTE_SIZE, bbox=PATCH)
            reach = max(reach, start / max(1.0 - (room_for(words) + 0.05) / wide, 0.2))
    axes.axvline(1.0, color=INK, linewidth=1.0, linestyle="--")
    axes.set_xlim(0.0, reach)
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.set_xlabel(
        "utilization [-]; upper bar: the check that decides (hatched: does not hold),\nlower bar: bolts; dashed: allowable used up"
    )
    _quiet(axes)


def _clear_of_limit(end: float) -> float:
    """Where the word of a bar begins: behind the bar, and behind the line at 1, which it would lie on."""
    return max(end, 1.0) + 0.03


def _supports(axes: Axes, compared: Comparison, carried: list[tuple[str, Carried]], labels: list[str]) -> None:
    """Range of the force along each support, with a mark for every case; an open mark where it carries nothing."""
    unit = convert(0.0, "force", compared.study.units)[1]
    told: list[tuple[float, int, str]] = []
    for place, (_, each) in enumerate(carried):
        pushes = {name: np.asarray(result.push) for name, result in each.results.items()}
        values = np.array([float(convert(float(push), "force", compared.study.units)[0]) for push in pushes.values()])
        axes.plot([values.min(), values.max()], [place, place], color=GREY, linewidth=2.0, solid_capstyle="butt")
        for value, result in zip(values, each.results.values(), strict=True):
            idle = int(np.asarray(result.state)) == SupportState.OPEN
            # an open mark stands over a filled one at the same place, whichever case comes first
            fill, over = ("white", 4.0) if idle else (INK, 3.0)
            axes.plot([value], [place], marker="o", color=INK, markerfacecolor=fill, markersize=5, zorder=over)
        most = max(each.results, key=lambda name: abs(float(pushes[name])))
        at = float(values[list(pushes).index(most)])
        said = clean(most, 24) if each.carries else "never carries"
        across = each.greatest_across
        if across > ACROSS * abs(each.greatest_size[1]):
            said += f"; greatest across {figures(float(convert(across, 'force', compared.study.units)[0]), 3)} {unit}"
        told.append((at, place, said))
    axes.axvline(0.0, color=FAINT, linewidth=0.8, zorder=0)
    axes.set_yticks(range(len(carried)), labels)
    axes.set_ylim(len(carried) - 0.4, -0.6)
    axes.margins(x=0.15)
    least, most_right = axes.get_xlim()
    for at, place, said in told:
        # toward the middle of the drawing, so that a long name stays in it
        side: Literal["left", "right"] = "right" if at > 0.5 * (least + most_right) else "left"
        axes.annotate(
            said, (at, place), (0, -4), textcoords="offset points", ha=side, va="top", fontsize=NOTE_SIZE, color=GREY
        )
    axes.set_xlabel(f"force along the support on the fitting [{unit}], a mark per case;\nopen mark: slack or lifted")
    _quiet(axes)


def _label(text: str) -> str:
    return "\n".join(textwrap.wrap(clean(text, LONGEST_LABEL), LABEL_WIDTH)) or "-"


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
