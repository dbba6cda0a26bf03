"""The search for the bad rows of a batch that fails as a whole though most of its rows would not."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from anchorsize.studies.many_columns import Rows as Places
from anchorsize.study import Array

_LEAST_VARIANCE = 1e-4  # of a standing, so that one bad row does not weigh endlessly
FASTER = 4  # how much larger the next try is after one that went well


@dataclass
class Order:
    """In which order rows are searched for bad ones: first where the bad ones found so far lie.

    What makes rows contradict themselves is mostly a number or two that are too large or too small. Sorted by these the bad rows stand
    side by side, so that each costs about one try. The order bears on the time alone.
    """

    numbers: Mapping[str, Array]
    bad: list[int] = field(default_factory=list)
    score: Array | None = None  # of every row of the list; the highest first
    learned: int = 0  # bad rows that it is made from

    def sorted(self, rows: Places) -> Places:
        """The rows in the order."""
        return rows if self.score is None else rows[np.argsort(-self.score[rows], kind="stable")]

    def learn(self, row: int) -> bool:
        """Remember a bad row; whether the order is another one now, each time that twice as many are known."""
        self.bad.append(row)
        if not self.numbers or len(self.bad) < 2 * self.learned:
            return False
        self.learned = len(self.bad)
        # Far from the middle and close together: the weights that part two heaps best (Fisher), each column for itself.
        of_bad = self._standings[:, self.bad]
        weights = np.mean(of_bad, axis=1) / (np.var(of_bad, axis=1) + _LEAST_VARIANCE)
        self.score = weights @ self._standings
        return True

    @cached_property
    def _standings(self) -> Array:
        """Standing of every row in every column (d, n)."""
        return np.array([_standing(values) for values in self.numbers.values()])


def _standing(values: Array) -> Array:
    """Where each of some values (n) stands among all: -1 at the least, 0 in the middle, 1 at the greatest."""
    every = np.sort(values)
    standing: Array = (
        np.searchsorted(every, values, "left") + np.searchsorted(every, values, "right")
    ) / every.size - 1.0
    return standing


def search(
    rows: Places,
    attempt: Callable[[Places], object],
    trouble: Callable[[Places, ValueError], None],
    bad_if: type[ValueError],
    order: Order,
) -> Places:
    """The rows that ``attempt`` takes, given that it does not take them all together; tells ``trouble`` of each other one.

    A try that fails with ``bad_if`` is made smaller by half until one row alone fails; one that goes well makes the next larger.
    """
    left, sound = order.sorted(rows), [rows[:0]]
    size = 1 if order.score is not None else left.size // 2
    while left.size:
        size = max(1, min(size, left.size))
        tried = left[:size]
        try:
            attempt(tried)
        except bad_if as error:
            if size > 1:
                size //= 2
                continue
            trouble(tried, error)
            left = left[1:]
            if order.learn(int(tried[0])):
                left = order.sorted(left)
            continue
        sound.append(tried)
        left, size = left[size:], size * FASTER
    return np.sort(np.concatenate(sound))
