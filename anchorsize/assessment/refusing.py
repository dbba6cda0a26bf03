"""Rows that cannot be judged: an error where one study is asked about, remembered where many are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anchorsize.assessment.results import StudyError

Refuse: TypeAlias = Callable[[ArrayLike, str], None]
"""Called with the rows (...) that cannot be judged and why, in words that say what to change."""


def raise_at_once(rows: ArrayLike, why: str) -> None:
    """Raise :class:`StudyError` if any row cannot be judged."""
    if np.any(rows):
        raise StudyError(why)


@dataclass
class Refused:
    """Remembers the rows of a batch that cannot be judged, so that the others still are. Call it as :data:`Refuse`.

    The results of a refused row are without meaning (often NaN).
    """

    shape: tuple[int, ...]
    reasons: list[tuple[NDArray[np.bool_], str]] = field(default_factory=list)

    def __call__(self, rows: ArrayLike, why: str) -> None:
        """Remember the rows for which ``rows`` (broadcast to the batch shape) is True."""
        if np.any(rows):
            self.reasons.append((np.broadcast_to(np.asarray(rows, dtype=np.bool_), self.shape), why))

    @property
    def rows(self) -> NDArray[np.bool_]:
        """True for each row of the batch that was refused."""
        refused = np.zeros(self.shape, dtype=np.bool_)
        for rows, _ in self.reasons:
            refused |= rows
        return refused
