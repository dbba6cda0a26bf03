"""How small the installer's sheet is set so that it stays one printed page, A4 or Letter, however much stands on it.

A page without a script cannot measure itself, so its height is estimated from what is put on it: lines by their length, the rest
in millimeters. Everything on the sheet grows and shrinks with its type; the estimates are taken from sheets set and measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

USUAL, SMALLEST, STEP = 8.4, 5.0, 0.05  # size of type [pt]
LETTER = 262.0  # height of the lower paper less its margins [mm]; the estimates run some percent high, which is the room for wider letters
# At the usual size of type: characters (of the order: bolts) on a line, and heights [mm].
WIDE, TITLE, DANGER, LEFT, RIGHT, FOOT, ORDER = 118, 68, 105, 60, 72, 157, 10
LINE, FOOT_LINE = 3.7, 3.4


@dataclass(frozen=True)
class Room:
    """What stands on a sheet, by the place it takes: texts, and counts of rows and bolts."""

    title: str
    loud: tuple[str, ...]
    head: tuple[str, ...]
    danger: tuple[str, ...]
    left: tuple[str, ...]
    right: tuple[str, ...]
    foot: tuple[str, ...]
    bolts: int
    table_rows: int
    bands: int
    record_rows: int

    def height(self, size: float) -> float:
        """Height of the sheet [mm] in type of a size [pt]."""
        share = size / USUAL

        def lines(texts: Iterable[str], per_line: int) -> int:
            return sum(max(1, math.ceil(len(text) * share / per_line)) + long_words(text, per_line) for text in texts)

        def long_words(text: str, per_line: int) -> int:
            # each begins a line of its own and leaves the one before it short
            return sum(len(word) * share > 0.5 * per_line for word in text.split())

        head = 6.0 * lines([self.title], TITLE) + LINE + LINE * lines(self.loud, WIDE - 4) + 2.6 * len(self.loud)
        head += LINE * lines(self.head, WIDE) + 1.0 * len(self.head)
        danger = 5.0 + LINE * lines(self.danger, DANGER)
        left = 82.0 + LINE * lines(self.left, LEFT) + 0.9 * len(self.left)
        right = 12.0 + LINE * lines(self.right, RIGHT) + 0.4 * len(self.right)
        right += 5.4 * math.ceil(self.bolts * share / ORDER) + (
            12.0 + 4.2 * self.table_rows if self.table_rows else 0.0
        )
        record = 28.0 + self.bands * (6.5 + 5.8 * self.record_rows)
        foot = 5.5 + FOOT_LINE * lines([" – ".join(self.foot)], FOOT)
        return share * (head + danger + max(left, right) + record + foot)

    def type_size(self) -> float:
        """The greatest size of type [pt] with which the sheet fills no more than its page."""
        size = USUAL
        while size > SMALLEST and self.height(size) > LETTER:
            size -= STEP
        return round(size, 2)
