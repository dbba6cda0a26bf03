"""Sizing a support: the least rod, the least section of the user's list, the bearing area and mass of a block.

Rods and sections are tried one by one with the stiffness that each has, since a stiffer support draws more load. How a
block is sized stands in :mod:`anchorsize.studies.block_size`. Every support is sized with the others as given; what all the
least ones come to when taken together is another question, for softer supports leave more to the joint and to each other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize import reference
from anchorsize.assessment import evaluate
from anchorsize.assessment.results import Check
from anchorsize.studies.block_size import BlockNeeds, sharing_only, size_block, with_support
from anchorsize.study import Study, Support, SupportAllow


@dataclass(frozen=True)
class Tried:
    """A size that was tried: its area [m²], whether every check of the support holds, the check that governs it, the support then."""

    size: str
    area: float
    holds: bool
    governing: Check | None
    support: Support


@dataclass(frozen=True)
class Sized:
    """The sizes tried for one support, least first; ``idle`` where it carries nothing in any case, so that no size follows."""

    support: Support
    tried: tuple[Tried, ...]
    block: BlockNeeds | None = None
    idle: bool = False

    @property
    def least(self) -> Tried | None:
        """The least size whose checks all hold."""
        return next((each for each in self.tried if each.holds), None)

    @property
    def least_support(self) -> Support | None:
        """The support with its least size; None where none was found."""
        if self.least is not None:
            return self.least.support
        size, block = None if self.block is None else self.block.size, self.support.block
        if size is None or block is None:
            return None
        return replace(self.support, block=replace(block, length=size.length, width=size.width, height=size.height))


def size_supports(study: Study, option: str) -> list[Sized]:
    """Size every support of an option that has something to choose: a rod, a list of sections, or a block."""
    sized = []
    study = sharing_only(study)
    cases = list(evaluate(study, option).values())
    for support in study.supports.get(option, ()):
        if not all(support.name in case.supports for case in cases):
            continue
        if all(float(np.linalg.norm(case.supports[support.name].force)) == 0.0 for case in cases):
            if support.block is not None or _candidates(support):
                sized.append(Sized(support, (), idle=True))
            continue
        if support.block is not None:
            sized.append(Sized(support, (), size_block(study, option, support, cases)))
            continue
        tried = [_try(study, option, support, size, area, changed) for size, area, changed in _candidates(support)]
        if tried:
            sized.append(Sized(support, tuple(sorted(tried, key=lambda each: each.area))))
    return sized


def _candidates(support: Support) -> list[tuple[str, float, Support]]:
    """Sizes to try with the support that each makes; empty where nothing is checked that a size decides."""
    if support.rod is not None and support.allow is not None:
        return _rods(support, support.allow)
    return [
        (name, float(np.asarray(section.area)), replace(support, section=section)) for name, section in support.sections
    ]


def _rods(support: Support, allow: SupportAllow) -> list[tuple[str, float, Support]]:
    """Coarse threads of the system that the rod as given belongs to; with the table's loads only the rods that it lists."""
    if allow.stress is None and support.rod_series is None:
        return []
    found = []
    for size in reference.coarse_sizes(metric=str(support.rod).strip().casefold().startswith("m")):
        thread = reference.thread(size)
        force, origin = allow.force, allow.force_origin
        if support.rod_series is not None:
            try:
                row = reference.hanger_rod(size, support.rod_series)
            except reference.NotInTable:
                continue
            force, origin = row.load, f"{row.provenance.source}, rod {row.size}, series '{row.series}'"
        changed = replace(
            support,
            rod=size,
            rod_area=thread.tensile_area,
            rod_root_area=thread.root_area,
            allow=replace(allow, force=force, force_origin=origin),
        )
        found.append((size, thread.root_area, changed))
    return found


def _try(study: Study, option: str, support: Support, size: str, area: float, changed: Support) -> Tried:
    cases = evaluate(with_support(study, option, changed), option)
    made = [check for case in cases.values() for check in case.checks if check.where == support.name]
    governing = max(made, key=lambda check: float(np.asarray(check.utilization)), default=None)
    return Tried(size, area, bool(made) and all(bool(check.holds) for check in made), governing, changed)
