"""Sizing a support: the least rod, the least section of the user's list, the bearing area and mass of a block.

Rods and sections are tried one by one with the stiffness that each has, since a stiffer support draws more load. A block is
judged again with the bearing area that it asks for, until that holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from anchorsize import reference
from anchorsize.assessment import evaluate
from anchorsize.assessment.checks_supports import SupportAsk, on_block, overturning_moment
from anchorsize.assessment.results import CaseResult, Check
from anchorsize.mechanics import support_capacity
from anchorsize.study import Study, Support, SupportAllow

SAME = 1e-9
"""Share by which two results may differ and still count as the same."""


@dataclass(frozen=True)
class Tried:
    """A size that was tried: its area [m²], whether every check of the support holds, the check that governs it."""

    size: str
    area: float
    holds: bool
    governing: Check | None


@dataclass(frozen=True)
class BlockNeeds:
    """What a block must have for the required factors: bearing area [m²], mass [kg] and volume [m³]; None where not asked.

    ``stops`` is False where no mass would do, as without friction at the base. ``settled`` is False where no area was found that
    holds the load that it draws itself.
    """

    bearing_area: float | None
    mass: float | None
    volume: float | None
    stops: bool = True
    settled: bool = True


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


def size_supports(study: Study, option: str) -> list[Sized]:
    """Size every support of an option that has something to choose: a rod, a list of sections, or a block."""
    sized = []
    cases = evaluate(study, option).values()
    for support in study.supports.get(option, ()):
        if not all(support.name in case.supports for case in cases):
            continue
        if all(float(np.linalg.norm(case.supports[support.name].force)) == 0.0 for case in cases):
            if support.block is not None or _candidates(support):
                sized.append(Sized(support, (), idle=True))
            continue
        if support.block is not None:
            sized.append(Sized(support, (), _settled_needs(study, option, support, cases)))
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


def _with(study: Study, option: str, support: Support) -> Study:
    supports = tuple(support if each.name == support.name else each for each in study.supports[option])
    return replace(study, supports={**study.supports, option: supports})


def _try(study: Study, option: str, support: Support, size: str, area: float, changed: Support) -> Tried:
    cases = evaluate(_with(study, option, changed), option)
    made = [check for case in cases.values() for check in case.checks if check.where == support.name]
    governing = max(made, key=lambda check: float(np.asarray(check.utilization)), default=None)
    return Tried(size, area, bool(made) and all(bool(check.holds) for check in made), governing)


TIMES = 20
"""How often a block is judged again with the area that it asks for."""

SPARE = 1.001
"""Share by which the area is taken larger from the second time on, so that a sequence that creeps up arrives."""


def _settled_needs(study: Study, option: str, support: Support, cases: Iterable[CaseResult]) -> BlockNeeds:
    """What a block needs under the forces that it draws at that size: widened (or narrowed) until the area asked for holds."""
    needs = _block_needs([_ask(study, support, case) for case in cases], support)
    block = support.block
    has = None if block is None else block.bearing_area(support.toward, study.up)
    if needs.bearing_area is None or block is None or has is None or needs.bearing_area == 0.0:
        return needs
    area = needs.bearing_area
    for _ in range(TIMES):
        wide = replace(support, block=replace(block, width=np.asarray(block.width) * area / float(np.asarray(has))))
        again = evaluate(_with(study, option, wide), option).values()
        needs = _block_needs([_ask(study, wide, case) for case in again], wide)
        if needs.bearing_area is None or needs.bearing_area <= area * (1.0 + SAME):
            return replace(needs, bearing_area=area)
        area = needs.bearing_area * SPARE
    return replace(needs, bearing_area=area, settled=False)


def _block_needs(asks: list[SupportAsk], support: Support) -> BlockNeeds:
    """Bearing area and mass that the worst case of each needs, for the factors that the user requires."""
    block, allow = support.block, support.allow
    if block is None or allow is None:
        return BlockNeeds(None, None, None)
    area = None
    if allow.bearing is not None and allow.bearing_factor is not None:
        thrust = max(float(np.asarray(ask.result.push)) for ask in asks)
        area = float(support_capacity.bearing_area(max(thrust, 0.0), allow.bearing, allow.bearing_factor))
    uplift_factor, sliding, tipping = allow.uplift_factor, allow.sliding_factor, allow.overturning_factor
    if (
        uplift_factor is None
        or sliding is None
        or tipping is None
        or block.friction is None
        or block.thrust_height is None
    ):
        return BlockNeeds(area, None, None)
    masses = []
    for ask in asks:
        uplift, level, _ = on_block(ask, block)
        moment, arm = overturning_moment(block, uplift, level), np.asarray(block.length) / 2.0
        factors = (uplift_factor, sliding, tipping)
        passive = 0.0 if block.passive is None else block.passive
        masses.append(support_capacity.block_mass(uplift, level, moment, block.friction, arm, factors, passive))
    mass = float(np.max(masses))
    if np.isnan(mass):  # no mass stops a block without friction
        return BlockNeeds(area, None, None, stops=False)
    return BlockNeeds(area, mass, mass / float(np.asarray(block.density)))


def _ask(study: Study, support: Support, case: CaseResult) -> SupportAsk:
    return SupportAsk(support, case.supports[support.name], study.up)
