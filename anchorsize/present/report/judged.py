"""A check with what its worked lines need, and the lines that every check ends with: utilization and margin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.asking import Ask
from anchorsize.assessment.results import CaseResult, Check
from anchorsize.present.report.steps import Of, Quantity, Workings, quantity
from anchorsize.present.report.worked_joint import Pattern
from anchorsize.present.words import KIND_OF_UNIT

DIRECT = frozenset({"tension with shear", "joint slip", "slip at the bolts"})  # the demand is the utilization


@dataclass(frozen=True)
class Judged:
    """A check with what its worked lines need; ``planes`` are the face planes at rest and their change under the loads."""

    work: Workings
    check: Check
    ask: Ask
    group: Pattern
    shown: dict[str, Quantity]  # results of lines above: b, G, A, N, V, M_b, M_T, D_o
    rest: dict[str, Quantity]
    change: dict[str, Quantity]
    previous: CaseResult | None  # the other case of a fatigue cycle

    @property
    def at(self) -> int:
        """Place of the bolt that governs."""
        return 0 if self.check.bolt is None else self.ask.joint.bolts.numbers.index(int(self.check.bolt))

    @property
    def label(self) -> str:
        bolt = "" if self.check.bolt is None else f", bolt {int(self.check.bolt)}"
        return f"{self.check.check}{bolt}"

    def of_bolt(self, values: object, kind: str) -> Quantity:
        """A value of the bolt that governs."""
        count = len(self.ask.joint.bolts.numbers)
        return quantity(np.broadcast_to(np.asarray(values, dtype=float), (count,))[self.at], kind)

    def step(self, name: str, symbol: str, formula: str, source: str, of: Of, /, **values: Quantity) -> Quantity:
        """A line of this check."""
        return self.work.step(name, symbol, formula, source, replace(of, label=self.label), **values)

    def demand(self, formula: str, /, **values: Quantity) -> Quantity:
        """The line of the demand, which must meet the check's."""
        check = self.check
        of = Of(KIND_OF_UNIT[check.unit], agrees=check.demand)
        return self.step(f"Demand: {check.formula}", "D", formula, check.source, of, **values)


def finish(work: Workings, demands: Sequence[tuple[Check, str, Quantity]]) -> None:
    """Utilization and margin of checks, each with its label and its demand."""
    used = [(check, label, _utilization(work, check, label, demand)) for check, label, demand in demands]
    for check, label, share in used:
        if share is not None and share.number > 0.0:
            work.step(
                "Margin", "margin", "1/U - 1", "definition", Of("number", label=label, agrees=check.margin), U=share
            )


def _utilization(work: Workings, check: Check, label: str, demand: Quantity) -> Quantity | None:
    """Demand over allowable, or the other way for an "at least"; None where that is no number."""
    allowable = quantity(check.allowable, KIND_OF_UNIT[check.unit])
    if not np.all(np.isfinite([float(check.utilization), demand.number, allowable.number])):
        return None
    if check.check in DIRECT:
        return demand
    below = demand if check.least else allowable
    if not below.number > 0.0:
        return None
    what, formula = ("allowable over demand", "A_l/D") if check.least else ("demand over allowable", "D/A_l")
    return work.step(
        f"Utilization: {what}",
        "U",
        formula,
        "definition",
        Of("number", label=label, agrees=check.utilization),
        D=demand,
        A_l=allowable,
    )
