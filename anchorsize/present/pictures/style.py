"""The look that all pictures share: ink on white, two greys and one blue; hatches and line styles carry the meaning.

A picture is laid out in inches on a sheet: :class:`Sheet` keeps the scale, so that lengths, arrows and letters are placed in
one system and nothing has to be measured by drawing it first. Texts of the user are shown as they are, never read as formulas.
"""

from __future__ import annotations

import io
import math
import re
import textwrap
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_svg import RendererSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path
from matplotlib.textpath import text_to_path
from matplotlib.transforms import Affine2D, Transform

from anchorsize.study import Array
from anchorsize.units import System, convert, show

INK, GREY, FAINT, PALE, ACCENT = "0.1", "0.45", "0.7", "0.92", "#1f5a9c"
TITLE_SIZE, TEXT_SIZE, NOTE_SIZE = (
    10.0,
    8.2,
    7.8,
)  # points; a page as wide as A4 less its margins shows them at this size
LINE_HEIGHT = 1.3  # of the letter size
LONGEST_NAME = 32  # letters of a name that are shown

SETTINGS: Any = {
    "svg.fonttype": "none",  # letters stay letters: they can be searched, read aloud and shaped by the reader's own fonts
    "svg.hashsalt": "anchorsize",
    "text.parse_math": False,
    "text.usetex": False,
    "font.family": ["sans-serif"],
    "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial", "Helvetica"],
    "font.size": TEXT_SIZE,
    "hatch.linewidth": 0.6,
    "axes.titley": 1.0,  # where it would go anyway; else every axis is measured to find out
    "path.simplify": False,
    "savefig.bbox": "standard",
    "savefig.transparent": False,
}
NUMBERED = re.compile(rb'<g id="[a-z0-9]+_[0-9]+">')
"""Groups that a picture numbers from 1: names that two pictures in one page would share."""
_LACKING = r"Glyph .* missing from"
"""How a warning begins that the drawing font lacks a letter."""
DOCTYPE = re.compile(rb"<!DOCTYPE[^>]*>\s*")
"""Names a file of the web, which nothing needs to read the picture."""


@contextmanager
def look() -> Iterator[None]:
    """The settings under which pictures are made and written; what they were before comes back."""
    with mpl.rc_context(SETTINGS):
        yield


def render(figure: Figure, kind: Literal["svg", "png"]) -> bytes:
    """A picture as bytes: the same picture gives the same bytes. Several SVG pictures may stand in one page.

    Letters that the drawing font lacks (emoji, some scripts) stay letters in SVG, for the reader's fonts; PNG shows a box.
    """
    with look(), warnings.catch_warnings():
        warnings.filterwarnings("ignore", _LACKING, UserWarning)
        if kind == "svg":
            return DOCTYPE.sub(b"", NUMBERED.sub(b"<g>", _svg(figure).encode()))
        target = io.BytesIO()
        figure.savefig(target, format="png", dpi=160, metadata={"Software": None})
        return target.getvalue()


class _Writer(RendererSVG):
    """Writes SVG; letters are measured once, whatever the number of pictures they stand in."""

    def get_text_width_height_descent(
        self, s: str, prop: FontProperties, ismath: bool | Literal["TeX"]
    ) -> tuple[float, float, float]:
        """Size [points] of a line of text."""
        return _measured(s, prop, ismath)


@lru_cache(4096)
def _measured(text: str, font: FontProperties, ismath: bool | Literal["TeX"]) -> tuple[float, float, float]:
    width, height, descent = text_to_path.get_text_width_height_descent(text, font, ismath)
    return width, height, descent


def _svg(figure: Figure) -> str:
    """A figure as SVG text. As saving it does, without the detour for parts that are pixels, of which there are none."""
    target = io.StringIO()
    figure.set_dpi(72.0)
    width, height = figure.get_size_inches() * 72.0
    kind: Any = _Writer  # its library states no types
    writer = kind(width, height, target, metadata=dict.fromkeys(("Date", "Creator", "Format", "Type")))
    figure.draw(writer)
    writer.finalize()
    return target.getvalue()


def clean(text: str, longest: int = LONGEST_NAME) -> str:
    """A text of the user on one line, without letters that no picture can hold, cut where it is very long.

    Joiners stay, since emoji and several scripts need them; marks that turn the reading direction go.
    """
    spaced = " ".join(text.split())
    kept = "".join(letter for letter in spaced if letter.isprintable() or letter in "\u200c\u200d")
    return kept if len(kept) <= longest else f"{kept[: longest - 1]}…"


def text_width(text: str, size: float = TEXT_SIZE) -> float:
    """Width [in] that a text is given: a safe guess from its letters, wide letters counted double."""
    letters = sum(1.15 if ord(letter) > 0x2E80 else 0.6 for letter in text)
    return letters * size / 72.0


def room_for(text: str, size: float = NOTE_SIZE) -> float:
    """Width [in] that a text surely fits into: as its letters guess or as the drawing font has it, with room for a wider font."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", _LACKING, UserWarning)
        width, _, _ = _measured(text, FontProperties(family=SETTINGS["font.sans-serif"][0], size=size), False)
    return max(text_width(text, size), 1.08 * width / 72.0)


def block_size(lines: Sequence[str], size: float = TEXT_SIZE) -> tuple[float, float]:
    """Width and height [in] of some lines of text."""
    return max(text_width(line, size) for line in lines), len(lines) * LINE_HEIGHT * size / 72.0


def nice(value: float) -> float:
    """The greatest of 1, 2, 5 times a power of ten that is not over ``value``."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= value * (1.0 + 1e-12))


def nice_amount(most_si: float, kind: str, system: System) -> float:
    """The greatest amount [SI], not over ``most_si``, that is 1, 2 or 5 times a power of ten in the unit shown."""
    per_unit = float(convert(1.0, kind, system)[0])
    return nice(most_si * per_unit) / per_unit


def shown_force(value: float, system: System) -> str:
    """A force with its unit."""
    return show(float(value), "force", system).replace("-", "−")


@dataclass(frozen=True)
class Sheet:
    """A drawing area to scale on a figure: ``scale`` inches of paper per display length (mm or in).

    What is drawn stands in display lengths; a sheet is a transform and a frame, which costs a fraction of a full plot.
    """

    figure: Figure
    transform: Transform  # display lengths → figure
    low: Array  # lower left corner, display lengths
    scale: float
    size: Array  # width and height [in]
    to_shown: float  # display lengths per metre

    def inches(self, points: Any) -> Array:
        """Places [m] in the drawing plane (..., 2) as inches from the lower left corner."""
        return np.asarray((np.asarray(points, dtype=float) * self.to_shown - self.low) * self.scale)

    def metres(self, inches: Any) -> Array:
        """The way back, from inches to places [m]."""
        return np.asarray((np.asarray(inches, dtype=float) / self.scale + self.low) / self.to_shown)

    def line(self, points: Any, **options: Any) -> None:
        """A line through places [m] (n, 2)."""
        xy = np.asarray(points, dtype=float) * self.to_shown
        given = {"color": INK, "linewidth": 1.0, "solid_capstyle": "butt", **options}
        self.figure.add_artist(Line2D(xy[:, 0], xy[:, 1], transform=self.transform, **given))

    def area(self, points: Any, **options: Any) -> None:
        """A closed area with corners at places [m] (n, 2)."""
        corners = np.asarray(points, dtype=float) * self.to_shown
        self.figure.add_artist(Polygon(corners, closed=True, transform=self.transform, **options))

    def pieces(self, rings: Sequence[Array], **options: Any) -> None:
        """One area made of closed rings [m] (n, 2); a ring that runs clockwise inside another is a hole in it."""
        corners = self.to_shown * np.concatenate([part for ring in rings for part in (ring, ring[:1])])
        ends = np.cumsum([len(ring) + 1 for ring in rings])
        codes = np.full(len(corners), Path.LINETO)
        codes[np.concatenate([[0], ends[:-1]])] = Path.MOVETO
        codes[ends - 1] = Path.CLOSEPOLY
        self.figure.add_artist(PathPatch(Path(corners, codes), transform=self.transform, **options))

    def text(self, place: Any, text: str, **options: Any) -> None:
        """Letters at a place [m]."""
        x, y = np.asarray(place, dtype=float) * self.to_shown
        given = {"fontsize": TEXT_SIZE, "color": INK, "ha": "center", "va": "center", **options}
        self.figure.text(x, y, text, transform=self.transform, **given)


@dataclass(frozen=True)
class Frame:
    """What stands around a drawing: its title, what its two directions are called, and the notes below."""

    title: str
    across: str
    upward: str
    notes: tuple[str, ...]


LEFT, RIGHT = 0.62, 0.12  # of the drawing area [in]
ROW = LINE_HEIGHT / 72.0  # height of a line of text per point of its size [in]


def sheet(
    bounds: Array, margins: tuple[float, float], size: tuple[float, float, float], frame: Frame, system: System
) -> Sheet:
    """A framed drawing area that shows ``bounds`` ((2, 2): least and greatest places [m]) to one scale both ways.

    ``margins`` [in] are left free at both sides, and above and below, for letters; ``size`` [in] is the width of the area and
    its least and greatest height.
    """
    to_shown, unit = convert(1.0, "length", system)
    low, high = bounds * to_shown
    span = np.maximum(high - low, 1e-9 * float(to_shown))
    scale = float(np.min((np.array([size[0], size[2]]) - 2.0 * np.array(margins)) / span))
    area = np.array([size[0], min(size[2], max(float(span[1]) * scale + 2.0 * margins[1], size[1]))])
    corner = 0.5 * (low + high) - 0.5 * area / scale
    title = _wrapped(frame.title, TITLE_SIZE, size[0])
    notes = [line for note in frame.notes for line in _wrapped(note, NOTE_SIZE, size[0])]
    below, above = 0.54 + ROW * NOTE_SIZE * len(notes), 0.24 + ROW * TITLE_SIZE * len(title)
    figure = Figure(figsize=(size[0] + LEFT + RIGHT, float(area[1]) + below + above), facecolor="white")
    to_inches = Affine2D().translate(*(-corner)).scale(scale).translate(LEFT, below)
    paper = Sheet(figure, to_inches + figure.dpi_scale_trans, corner, scale, area, float(to_shown))
    _axes(paper, f"{frame.across} [{unit}]", f"{frame.upward} [{unit}]")
    at = 0.14 - LEFT
    top = float(area[1]) + above - 0.12
    _letters(paper, (at, top), "\n".join(title), fontsize=TITLE_SIZE, color=INK, va="top", linespacing=1.1)
    _letters(paper, (at, -0.46), "\n".join(notes), va="top", linespacing=1.1)
    return paper


def _wrapped(text: str, size: float, width: float) -> list[str]:
    return textwrap.wrap(text, int((width + LEFT) * 72.0 / (0.6 * size)))


def _axes(paper: Sheet, across: str, upward: str) -> None:
    """The frame, its ticks and the names of its axes."""
    high = paper.low + paper.size / paper.scale
    corners = np.array([paper.low, (high[0], paper.low[1]), high, (paper.low[0], high[1])])
    paper.area(corners / paper.to_shown, facecolor="none", edgecolor=FAINT, linewidth=0.5, zorder=0.5)
    for axis in (0, 1):
        for value in _ticks(float(paper.low[axis]), float(high[axis])):
            _tick(paper, axis, value)
    _letters(paper, (0.5 * paper.size[0], -0.22), across, ha="center", va="top")
    _letters(paper, (-0.42, 0.5 * paper.size[1]), upward, ha="right", va="center", rotation=90)


def _ticks(low: float, high: float) -> list[float]:
    """Round values between two, about five of them."""
    step = nice((high - low) / 4.0)
    return [step * i for i in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _tick(paper: Sheet, axis: int, value: float) -> None:
    place = (value - paper.low[axis]) * paper.scale
    if not 0.05 < place < paper.size[axis] - 0.05:
        return
    across = np.array([0.0, 1.0]) if axis == 0 else np.array([1.0, 0.0])
    start = place * (1.0 - across)
    paper.line(paper.metres([start, start - 0.04 * across]), color=FAINT, linewidth=0.5)
    look_of = {"ha": "center", "va": "top"} if axis == 0 else {"ha": "right", "va": "center"}
    _letters(paper, start - 0.07 * across, f"{value:g}".replace("-", "−"), **look_of)


def _letters(paper: Sheet, inches: Any, text: str, **options: Any) -> None:
    """Quiet letters at a place in inches."""
    paper.text(paper.metres(inches), text, **{"fontsize": NOTE_SIZE, "color": GREY, "ha": "left", **options})


def arrow(paper: Sheet, tail: Array, tip: Array, name: str, **options: Any) -> None:
    """An arrow from ``tail`` to ``tip`` [m], drawn to scale: its head ends at the tip. ``hollow`` leaves the head white."""
    hollow, color = options.pop("hollow", False), options.get("color", INK)
    along = (tip - tail) * paper.to_shown * paper.scale
    length = float(np.hypot(*along))
    head = min(0.11, 0.7 * length)
    unit = along / length
    across = np.array([-unit[1], unit[0]])
    base = paper.inches(tip) - head * unit
    paper.line([tail, paper.metres(base)], label=f"{name}: shaft", zorder=5, **{"linewidth": 1.6, **options})
    corners = [tip, paper.metres(base + 0.36 * head * across), paper.metres(base - 0.36 * head * across)]
    face = "white" if hollow else color
    paper.area(
        corners, facecolor=face, edgecolor=color, linewidth=0.9, label=f"{name}: head", zorder=6, joinstyle="miter"
    )


def scale_bar(paper: Sheet, per_newton: float, greatest: float, system: System) -> str:
    """A bar at the lower right that says how long a round force is; returns its label. ``per_newton`` in m/N."""
    longest = 1.1 / (per_newton * paper.to_shown * paper.scale)
    force = nice_amount(min(longest, greatest), "force", system)
    length = force * per_newton
    end = paper.metres([paper.size[0] - 0.12, 0.14])
    start = end - np.array([length, 0.0])
    tick = 0.04 / paper.scale / paper.to_shown
    for x in (start[0], end[0]):
        paper.line([(x, end[1] - tick), (x, end[1] + tick)], color=GREY, linewidth=1.0)
    paper.line([start, end], color=GREY, linewidth=1.4, label="scale of forces")
    label = shown_force(force, system)
    above = paper.metres(paper.inches(end) + np.array([0.0, 0.07]))
    paper.text(above, label, fontsize=NOTE_SIZE, color=GREY, ha="right", va="bottom")
    return label
