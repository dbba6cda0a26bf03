"""What stands out in a list that was judged: how many rows hold, which are worst, what is wrong with the others."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from anchorsize.studies.many import NOT_JUDGED
from anchorsize.studies.many_columns import ID, MOST_SHOWN

if TYPE_CHECKING:
    import pandas as pd

MOST_USED = 10  # rows that are kept as the worst


@dataclass
class Tally:
    """Counts over all rows added so far.

    ``verdicts`` by verdict, ``reasons`` by reason of what is wrong with a row, ``failing`` by the check that governs where a row fails;
    ``problems`` the first rows that could not be judged as (row, id, words) and ``worst`` those with the greatest utilization,
    ``worst_loaded`` those with the greatest of the checks under load.
    """

    rows: int = 0
    verdicts: Counter[str] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)
    failing: Counter[str] = field(default_factory=Counter)
    problems: list[tuple[int, str, str]] = field(default_factory=list)
    worst: pd.DataFrame | None = None
    worst_loaded: pd.DataFrame | None = None

    def add(self, told: pd.DataFrame) -> None:
        """Count the rows of a frame as :func:`anchorsize.studies.many.judge_frame` returns it."""
        self.rows += len(told)
        for counter, values in (
            (self.verdicts, told["verdict"]),
            (self.reasons, told.loc[told["reason"] != "", "reason"]),
            (self.failing, told.loc[told["verdict"] == "fails", "check"]),
        ):
            counter.update({str(value): int(count) for value, count in values.value_counts().items()})
        lost = told.loc[told["verdict"] == NOT_JUDGED].iloc[: MOST_SHOWN - len(self.problems)]
        self.problems += [
            (int(row), str(key), str(words))
            for row, key, words in zip(lost.index, lost[ID], lost["problem"], strict=True)
        ]
        self.worst = _worst(self.worst, told, "utilization")
        self.worst_loaded = _worst(self.worst_loaded, told, "utilization_under_load")

    @property
    def verdict(self) -> str:
        """Of the list: ``fails`` where any row fails or could not be judged, else ``incomplete`` or ``holds``."""
        if self.verdicts["fails"] or self.verdicts[NOT_JUDGED]:
            return "fails"
        return "incomplete" if self.verdicts["incomplete"] else "holds"


def _worst(known: pd.DataFrame | None, told: pd.DataFrame, column: str) -> pd.DataFrame:
    """The rows with the greatest figures of a column, of those known and those told now."""
    import pandas as pd

    greatest = told.nlargest(MOST_USED, column)
    return greatest if known is None else pd.concat([known, greatest]).nlargest(MOST_USED, column)
