"""What stands beside the verdict of a comparison of support options: findings of the options, each once."""

from __future__ import annotations

from collections.abc import Callable

from anchorsize.assessment.findings_salt import IN_SALT_WATER
from anchorsize.assessment.findings_states import FAILS_BEYOND_A_VALVE, GAS_UNDER_PRESSURE
from anchorsize.assessment.findings_support_data import (
    BLOCK_CLEAR_OF_WATER,
    BLOCK_FAILS_IN_WATER,
    COLUMN_PARTS,
    HOLDS_BY_FRICTION,
    LEANS_ON_JOINTS,
    LEANS_ON_STIFFNESS,
    NARROW_JET,
    SUCTION_AFTER,
    WORSE_WITHOUT_FACTOR,
)
from anchorsize.assessment.findings_surge import NO_SURGE
from anchorsize.assessment.movement import TOO_FAR, farthest
from anchorsize.assessment.results import Assessment
from anchorsize.present.verdict import doubts
from anchorsize.present.words import joined, quantity
from anchorsize.studies.supports import Comparison

BESIDE_VERDICT = (
    BLOCK_CLEAR_OF_WATER,
    BLOCK_FAILS_IN_WATER,
    HOLDS_BY_FRICTION,
    "post over its Euler load",
    "rests on a rigid joint",
    LEANS_ON_STIFFNESS,
    LEANS_ON_JOINTS,
    NO_SURGE,
    COLUMN_PARTS,
    SUCTION_AFTER,
    WORSE_WITHOUT_FACTOR,
    IN_SALT_WATER,
    FAILS_BEYOND_A_VALVE,
    GAS_UNDER_PRESSURE,
)


def loud(compared: Comparison) -> list[str]:
    """Findings that belong beside the verdict, each once, with the options that it is about where not all have it."""
    return _each_once(
        compared, lambda made: [finding.message for finding in made.warnings if finding.kind in BESIDE_VERDICT]
    )


def doubted(compared: Comparison) -> list[str]:
    """What cannot be right in the input, likewise."""
    apart = _each_once(compared, lambda made: doubts(w for w in made.warnings if w.kind not in (TOO_FAR, NARROW_JET)))
    return [*_too_far(compared), *apart]


def _each_once(compared: Comparison, said_of: Callable[[Assessment], list[str]]) -> list[str]:
    """What is said of the options, each sentence once, with the options that it is about where that is not said of all."""
    about: dict[str, list[str]] = {}
    judged = [option for option in compared.options if option.assessment is not None]
    for option in judged:
        for said in said_of(option.assessment) if option.assessment is not None else ():
            about.setdefault(said, []).append(f"'{option.name}'")
    leads = {said: "" if len(names) == len(judged) else f"In {', '.join(names)}: " for said, names in about.items()}
    return [f"{lead}{said}" for said, lead in leads.items()]


def _too_far(compared: Comparison) -> list[str]:
    """Options under which the fitting moves too far for statics of small movements, in one sentence."""
    moved = [
        f"'{option.name}' ({quantity(found.value, 'length', compared.study.units)} in '{found.case}')"
        for option in compared.options
        if (made := option.assessment) is not None
        and any(finding.kind == TOO_FAR for finding in made.warnings)
        and (found := farthest(made.study, made.cases)) is not None
    ]
    if not moved:
        return []
    return [
        f"Doubtful input: the fitting moves too far for this calculation with {joined(moved)}: it holds for small movements only, so "
        "forces, moments and margins there are in doubt. Are the modulus, lengths and stiffnesses of joint, pipe and supports right?"
    ]
