"""What presses a post, and its Euler load with pinned ends: said beside a post whose buckling was not checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from anchorsize.assessment.results import CaseResult, NotChecked, SupportResult
from anchorsize.mechanics import support_capacity
from anchorsize.study import Array, Study, Support
from anchorsize.units import System, show

BUCKLING = "post buckling"
POSTS = ("rest", "strut", "guide")
"""Kinds that are pressed along their length, and so may buckle."""


def compression(result: SupportResult) -> Array:
    """What presses a post along its length (...) [N].

    Of a strut or guide either sign counts, since toward may be written either way and nothing else in the file would tell.
    """
    return np.maximum(result.push, 0.0) if result.support.kind == "rest" else np.abs(result.push)


def either_sign(support: Support) -> str:
    """Why a pull counts as well where buckling is judged; empty for what only pushes."""
    return "" if support.kind == "rest" else " (either sign counts, since toward may be written either way)"


def member(support: Support) -> str:
    """What the section of a support makes: the post of a rest, else the strut or guide itself."""
    return "post" if support.kind == "rest" else support.kind


def pinned_load(support: Support) -> Array | None:
    """Euler load of a post with pinned ends, K = 1 [N]; None where its section, length or modulus is not known."""
    if support.section is None or support.length is None or support.modulus is None:
        return None
    return support_capacity.euler_load(support.modulus, support.section.second_moment, support.length, 1.0)


def greatest_compression(name: str, cases: Mapping[str, CaseResult]) -> tuple[str, float]:
    """Case and force [N] in which a post is pressed most; of cases with one row."""
    found = {case: float(compression(result.supports[name])) for case, result in cases.items()}
    most = max(found, key=lambda case: found[case])
    return most, found[most]


def with_euler_loads(study: Study, cases: dict[str, CaseResult]) -> dict[str, CaseResult]:
    """Say beside a post whose buckling was not checked what presses it, and its Euler load with pinned ends; of one row only."""

    def worded(item: NotChecked) -> NotChecked:
        support = next(case.supports[item.where] for case in cases.values()).support
        pinned = pinned_load(support)
        if (
            pinned is None
            or np.size(pinned) > 1
            or any(np.size(c.supports[item.where].push) > 1 for c in cases.values())
        ):
            return item
        return replace(item, supply=f"{item.supply} {_pressed_words(support, cases, float(pinned), study.units)}")

    return {
        name: replace(
            case, not_checked=tuple(worded(item) if item.check == BUCKLING else item for item in case.not_checked)
        )
        for name, case in cases.items()
    }


def _pressed_words(support: Support, cases: Mapping[str, CaseResult], pinned: float, system: System) -> str:
    case, force = greatest_compression(support.name, cases)
    loaded = (
        f"pressed by up to {show(force, 'force', system)} in '{case}'{either_sign(support)}"
        if force > 0.0
        else "pressed in no case"
    )
    return f"({loaded}; Euler load with pinned ends, K = 1: {show(pinned, 'force', system)})"
