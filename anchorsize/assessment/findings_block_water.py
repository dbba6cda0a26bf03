"""What water around a thrust block takes of its weight: it is counted clear of groundwater, and slides and lifts easier in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from anchorsize.assessment.checks_supports import judge_supports
from anchorsize.assessment.findings_support_data import BLOCK_CLEAR_OF_WATER, BLOCK_FAILS_IN_WATER
from anchorsize.assessment.results import CaseResult, Check, Finding
from anchorsize.study import Block, Study, Support
from anchorsize.units import over_one, show

WATER = 1000.0  # kg/m³, of the water in the ground


def blocks_in_water(study: Study, supports: tuple[Support, ...], cases: Mapping[str, CaseResult]) -> list[Finding]:
    """One finding for each block that is heavier than water."""
    return [
        _in_water(study, each, each.block, cases)
        for each in supports
        if each.block is not None and float(np.min(each.block.density)) > WATER
    ]


def _in_water(study: Study, support: Support, block: Block, cases: Mapping[str, CaseResult]) -> Finding:
    clear, wet = (show(float(block.density) - less, "density", study.units) for less in (0.0, WATER))
    lost = _lost(study, replace(support, block=replace(block, density=block.density - WATER)), cases)
    fails = ""
    if lost is not None:
        case, check, before = lost
        fails = (
            f" {check.words[:1].upper()}{check.words[1:]} FAILS then in '{case}': utilization {over_one(float(check.utilization))} in place of "
            f"{before:.3g}."
        )
    return Finding(
        BLOCK_FAILS_IN_WATER if fails else BLOCK_CLEAR_OF_WATER,
        None,
        f"The weight of block '{support.name}' counts clear of groundwater. With water up to its top, in the ground or from a burst, {clear} "
        f"counts as {wet}.{fails} Where water can stand there, write its density less {show(WATER, 'density', study.units)}.",
    )


def _lost(study: Study, wet: Support, cases: Mapping[str, CaseResult]) -> tuple[str, Check, float] | None:
    """The worst check of the block that holds clear of water and fails in it, with its case and its utilization before; None where none does."""
    found = []
    for name, result in cases.items():
        if wet.name not in result.supports:
            continue
        checks, _ = judge_supports(study, {wet.name: replace(result.supports[wet.name], support=wet)})
        before = {(c.check, c.where): c for c in result.checks}
        found += [
            (name, c, float(before[c.check, c.where].utilization))
            for c in checks
            if not c.holds and (c.check, c.where) in before and before[c.check, c.where].holds
        ]
    return max(found, key=lambda each: float(each[1].utilization), default=None)
