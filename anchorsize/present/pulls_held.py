"""That a pull from outside stays as given while flow or pressure change, as that of a hose does not."""

from __future__ import annotations

from collections.abc import Iterable

from anchorsize.assessment.findings_unanchored import pulls_given
from anchorsize.present.words import joined, quantity
from anchorsize.study import Study


def pulls_held_words(study: Study, cases: Iterable[str], what: str) -> list[str]:
    """The cases with such a pull, and what it makes of ``what`` is told; empty where there is none."""
    told = [
        f"{quantity(pull, 'force', study.units)} outward at '{end}' in '{name}'"
        for name in cases
        for end, pull in pulls_given(study, name).items()
    ]
    if not told:
        return []
    return [
        f"Loads from outside are held as given, whatever flow and pressure: {joined(told)}. The pull of a hose, or of a line not anchored, "
        f"is p·A + ρ·Q·v and follows both: {what} of such a line are not these, and what holds here may FAIL with it. Check such states in "
        "a file with their own pull."
    ]
