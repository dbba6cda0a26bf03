"""A batch of studies as one table of utilizations: a line for each check in each case, a column for each row of the batch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anchorsize.assessment import distinct, evaluate
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import CaseResult, Check, NotChecked
from anchorsize.study import Array, Study


@dataclass(frozen=True)
class Rows:
    """Every check of every row. ``shape`` is the batch shape (...).

    ``keys`` are (case, check, where); ``utilization`` is (k, ...) [-] and infinite where the row was refused, with ``refused``
    True there; ``checks`` are the checks themselves, in the order of ``keys``; ``not_checked`` what could not be checked in
    any row.
    """

    shape: tuple[int, ...]
    keys: tuple[tuple[str, str, str], ...]
    utilization: Array
    checks: tuple[Check, ...]
    refused: Refused
    not_checked: tuple[NotChecked, ...]
    cases: dict[str, CaseResult]

    @property
    def greatest(self) -> Array:
        """Greatest utilization of each row (...) [-]; infinite where the row was refused, 0 where nothing was checked."""
        greatest: Array = np.max(self.utilization, axis=0, initial=0.0)
        return np.where(self.refused.rows, np.inf, greatest)

    @property
    def governing(self) -> NDArray[np.int64]:
        """Place in ``keys`` of the check with the greatest utilization of each row (...); -1 where nothing was checked."""
        if not self.keys:
            return np.full(self.shape, -1, dtype=np.int64)
        return np.asarray(np.argmax(self.utilization, axis=0), dtype=np.int64)

    @property
    def holds(self) -> NDArray[np.bool_]:
        """Whether every check of a row holds (...); False where it was refused."""
        return self.greatest <= 1.0


def judge_rows(study: Study, shape: tuple[int, ...], option: str | None = None) -> Rows:
    """Evaluate a study whose numbers are arrays of the batch ``shape``, and gather what every check says.

    Raises
    ------
    StudyError
        Where no row can be judged for a reason that is not one of single rows.
    """
    refused = Refused(shape)
    cases = evaluate(study, option, refused)
    made = [(name, check) for name, case in cases.items() for check in case.checks]
    utilization = np.empty((len(made), *shape))
    for place, (_, check) in enumerate(made):
        utilization[place] = check.utilization
    lost = refused.rows
    utilization[:, lost] = np.inf
    utilization[np.isnan(utilization)] = np.inf  # what cannot be said to hold does not
    return Rows(
        shape=shape,
        keys=tuple((name, check.check, check.where) for name, check in made),
        utilization=utilization,
        checks=tuple(check for _, check in made),
        refused=refused,
        not_checked=distinct(item for case in cases.values() for item in case.not_checked),
        cases=cases,
    )
