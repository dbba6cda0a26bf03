"""How large the installer's sheet is set so that it fills one printed page, A4 or Letter, however much stands on it.

A page without a script cannot measure itself, so its height is worked out from what is put on it: texts are broken into lines by the
widths of the letters, and the rest follows the rules for print of ``boltup.css`` (a length in em below is one of that file). What is
worked with has type of one size, the fine print at the foot a smaller one.
"""

from __future__ import annotations

import math
import unicodedata
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

LARGEST, READABLE, SMALLEST, STEP = 9.5, 7.5, 4.0, 0.05  # size of the working type [pt]
FINE, FINEST = (
    0.72,
    5.5,
)  # size of the fine print, as a share of the working type, and not less than [pt] where that is not smaller itself
PAPERS = ((194.0, 283.0), (199.9, 265.4))  # A4 and Letter less their margins: width and height [mm]
LEFT = (0.33, 0.31, 0.3, 0.29, 0.28, 0.27)  # shares of the width that the left one of the two columns may have
SPARE = 0.99  # of a page's height, what is filled
# Room kept for letters of a font other than Arial, over those of Arial; the lesser where the greater would make the sheet hard to read.
WIDER, HARDLY_WIDER = 1.06, 1.02
POINT = 25.4 / 72.0  # [mm]
LINE, FINE_LINE = 1.17, 1.15  # height of a line [em]
BOLD = 1.07  # width of bold letters over that of plain ones
FULL, OTHER = 1.0, 0.6  # width of an East Asian letter, and of one that is not listed [em]
# widths of letters [em] in Arial, from its metrics; those of its metric twins agree
WIDTHS = {
    **dict.fromkeys("'ijl", 0.222),
    **dict.fromkeys(" !,./:;I[\\]ft·|", 0.278),
    **dict.fromkeys('()-`r{}"*', 0.34),
    **dict.fromkeys("Jcksvxyz^", 0.5),
    **dict.fromkeys("#$0123456789?L_abdeghnopqu–±√", 0.556),
    **dict.fromkeys("+<=>~×", 0.584),
    **dict.fromkeys("FTZ", 0.611),
    **dict.fromkeys("&ABEKPSVXY", 0.667),
    **dict.fromkeys("CDHNRUw", 0.722),
    **dict.fromkeys("GOQMm%", 0.84),
    **dict.fromkeys("W@→…", 1.0),
}


@cache
def _letter(letter: str) -> float:
    known = WIDTHS.get(letter)
    if known is not None:
        return known
    if unicodedata.combining(letter):
        return 0.0
    return FULL if unicodedata.east_asian_width(letter) in "WF" else OTHER


def _long(text: str) -> float:
    """Width of a text on one line [em]."""
    return sum(map(_letter, text))


def lines(text: str, width: float) -> int:
    """How many lines a text takes that is broken at ``width`` [em], words longer than a line within themselves."""
    count, at, space = 1, 0.0, WIDTHS[" "]
    for word in text.split():
        long = _long(word)
        if at and at + space + long <= width:
            at += space + long
            continue
        count += at > 0.0
        count += (whole := int(long / width))
        at = long - whole * width
    return count


@dataclass(frozen=True)
class Room:
    """What stands on a sheet, by the place it takes: texts, and counts of rows and bolts.

    ``bold`` are the bold lines above the steps of tightening, ``outside`` the loud one below them, ``as_it_is`` stands under the picture, ``caption``
    that of the table of passes where it is printed;
    ``rows`` holds the first cell of each row of the table of passes, ``fine`` the fine print, one text for each paragraph, and ``headings``
    how many stand above its parts.
    """

    title: str
    under_title: str
    loud: Sequence[str]
    head: Sequence[str]
    danger: Sequence[str]
    view: str
    facts: Sequence[str]
    notes: Sequence[str]
    as_it_is: str
    first: Sequence[str]
    steps: Sequence[str]
    bold: Sequence[str]
    outside: str
    caption: str
    fine: Sequence[str]
    headings: int
    bolts: int
    rows: Sequence[str]
    bands: int
    record_rows: float

    def parts(self, size: float, page: float, wider: float = 1.0, share: float = LEFT[0]) -> dict[str, float]:
        """Heights [mm] of the parts of the sheet from head to foot, in working type of a size [pt] on paper ``page`` [mm] wide.

        Letters are ``wider`` than those of Arial by that factor, which is as if the page were narrower. ``share`` is that of the left column.
        """
        em = size * POINT
        wide = page / em / wider
        gap = 1.6
        left, right = share * (wide - gap), (1.0 - share) * (wide - gap)
        return {
            "loud": em * self._loud(self.loud, wide),
            "header": em * (self._title(wide) + self._head(wide)),
            "danger": em * (0.75 + _block(self.danger, wide - 4.7, 0.06) + 0.06) + 1.06,
            "two": max(self._left(left, em), em * self._right(right)) + 0.6,
            "record": em * (2.85 + self.bands * (1.6 + 1.55 * self.record_rows)) + 1.0 + 0.5 * self.bands,
            "fine": self._fine(size, page / wider),
        }  # fmt: skip

    def _title(self, width: float) -> float:
        """Height [em] of the title and what stands beside it, or below it where there is no room."""
        above = lines(self.title, width / 1.4 / BOLD)
        if above == 1 and 1.4 * BOLD * _long(self.title) + 1.0 + 0.9 * _long(self.under_title) <= width:
            return 2.1
        return 0.2 + 1.68 * above + 1.3 * lines(self.under_title, width / 0.9)

    def _loud(self, texts: Iterable[str], width: float) -> float:
        return sum(0.65 + LINE * lines(text, (width - 1.2) / BOLD) for text in texts if text)

    def _head(self, width: float) -> float:
        first, *others = self.head
        height = 0.12 + LINE * lines(first, (width - 1.2) / BOLD)
        return height + sum(0.9 * (0.12 + LINE * lines(text, (width / 0.9 - 1.2) / BOLD)) for text in others)

    def _left(self, width: float, em: float) -> float:
        """Height [mm] of the picture with its caption and of the facts, in a column of a width [em]."""
        picture = min(14.0, width * 158.0 / 178.0)
        facts = 2.0 + _block(self.facts, width / 0.9, 0.04)
        notes = 1.5 + _block(self.notes, width / 0.9 - 1.3, 0.15) if self.notes else 0.0
        facts += (0.15 + LINE * lines(self.as_it_is, width)) / 0.9 if self.as_it_is else 0.0
        return em * (1.9 + picture + 0.85 * 1.15 * lines(self.view, width / 0.85) + 0.9 * (facts + notes)) + 0.6

    def _right(self, width: float) -> float:
        """Height [em] of what is ticked off, of the steps and of the passes, in a column of a width [em]."""
        height = 1.7 + _block(self.first, width - 1.6, 0.04) + 1.7
        height += sum(0.15 + LINE * lines(text, width / BOLD) for text in self.bold if text)
        height += 0.3 + _block(self.steps, width - 1.3, 0.15)
        order = 1.25 * self.bolts * (0.55 * BOLD * len(str(self.bolts)) + 1.556)
        height += 0.2 + 1.25 * 1.3 * math.ceil(order / (width - 4.0))
        height += self._loud([self.outside], width)
        if self.rows:
            height += 1.8 + (1.3 if not self.rows[0].isdigit() else 0.0) + _block(self.rows, 0.25 * width, 0.15)
        if self.caption:
            height += 0.25 + LINE * lines(self.caption, width / BOLD)
        return height

    def _fine(self, size: float, page: float) -> float:
        """Height [mm] of the fine print in its two columns."""
        em = POINT * fine_size(size)
        column = (page / em - 2.0) / 2.0
        whole = _block([text for text in self.fine if text], column, 0.0, FINE_LINE) + 2.1 * self.headings
        return em * (0.5 * whole + 0.2 * FINE_LINE) + 0.5 * POINT * size

    def set_out(self) -> tuple[float, float]:
        """The greatest size of working type [pt] with which the sheet fills no more than its page, whichever paper, and the left column's share.

        The right column is the longer one where two ways are told apart: where the type would be hard to read, it gets of the width
        beside the picture, which makes it shorter.
        """
        share, *others = LEFT
        size = self._type_size(share)
        for each in others:
            if size < READABLE and self._fits(size + STEP, HARDLY_WIDER, each):
                size, share = self._greatest(READABLE, HARDLY_WIDER, each), each
        return size, share

    def _type_size(self, share: float) -> float:
        size = self._greatest(LARGEST, WIDER, share)
        return size if size >= READABLE else self._greatest(READABLE, HARDLY_WIDER, share)

    def _fits(self, size: float, wider: float, share: float) -> bool:
        """Whether both papers hold the sheet in type of this size, with letters ``wider`` than those of Arial."""
        return all(sum(self.parts(size, page, wider, share).values()) <= SPARE * high for page, high in PAPERS)

    def _greatest(self, size: float, wider: float, share: float) -> float:
        """The greatest size [pt] up to ``size`` that fits both papers with letters ``wider`` than those of Arial."""

        # the larger the type the more of it stands everywhere, so that the first step that fits is found by halves
        steps = bisect_left(
            range(math.ceil((size - SMALLEST) / STEP)), True, key=lambda k: self._fits(size - k * STEP, wider, share)
        )
        return round(size - steps * STEP, 2)


def fine_size(size: float) -> float:
    """The size of the fine print [pt] beside working type of a size [pt]."""
    return round(min(size, max(FINEST, FINE * size)), 2)


def _block(texts: Iterable[str], width: float, between: float, line: float = LINE) -> float:
    """Height [em] of paragraphs in a column of a width [em], with what stands between two of them."""
    return sum(between + line * lines(text, width) for text in texts)
