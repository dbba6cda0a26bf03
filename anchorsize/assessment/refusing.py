"""Rows that cannot be judged: an error where one study is asked about, remembered where many are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.assessment.results import StudyError
from anchorsize.study import Array

Why: TypeAlias = str | Callable[..., str]
"""Words that say what to change, or what makes them of the figures of one row."""


class Refuse(Protocol):
    """Called with the rows (...) that cannot be judged and why; ``figures`` (...) are what the words of each row are made of."""

    def __call__(self, rows: ArrayLike, why: Why, *figures: ArrayLike) -> None: ...


def raise_at_once(rows: ArrayLike, why: Why, *figures: ArrayLike) -> None:
    """Raise :class:`StudyError` if any row cannot be judged, in the words of the first."""
    lost = np.asarray(rows, dtype=np.bool_)
    if np.any(lost):
        spread = tuple(np.broadcast_to(each, lost.shape) for each in figures)
        raise StudyError(_worded(why, spread, int(np.argmax(lost))))


@dataclass
class Refused:
    """Remembers the rows of a batch that cannot be judged, so that the others still are. Call it as :class:`Refuse`.

    ``reasons`` holds rows and words, those of the first of the rows where each has its own. The results of a refused row are
    without meaning (often NaN).
    """

    shape: tuple[int, ...]
    reasons: list[tuple[NDArray[np.bool_], str]] = field(default_factory=list)
    _own: list[tuple[Why, tuple[Array, ...]]] = field(default_factory=list)

    def __call__(self, rows: ArrayLike, why: Why, *figures: ArrayLike) -> None:
        """Remember the rows for which ``rows`` (broadcast to the batch shape) is True."""
        if np.any(rows):
            lost = np.broadcast_to(np.asarray(rows, dtype=np.bool_), self.shape)
            spread = tuple(np.broadcast_to(np.asarray(each, dtype=float), self.shape) for each in figures)
            self.reasons.append((lost, _worded(why, spread, int(np.argmax(lost)))))
            self._own.append((why, spread))

    @property
    def rows(self) -> NDArray[np.bool_]:
        """True for each row of the batch that was refused."""
        refused = np.zeros(self.shape, dtype=np.bool_)
        for rows, _ in self.reasons:
            refused |= rows
        return refused

    def of_row(self, reason: int, row: int) -> str | None:
        """The words of a reason for one row, counted through the batch; None where they may hold figures of other rows."""
        why, figures = self._own[reason]
        return _worded(why, figures, row) if figures else None


def _worded(why: Why, figures: tuple[Array, ...], row: int) -> str:
    return why if isinstance(why, str) else why(*(float(each.flat[row]) for each in figures))
