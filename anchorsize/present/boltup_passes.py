"""Which bolts the passes are for where the gasket stays: those that go in, and of the tight ones only what still turns a nut of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from anchorsize.assessment.findings_target import handled
from anchorsize.assessment.findings_tightening import ALIKE, tightened_to, without_clamp
from anchorsize.studies.boltup import BoltUp, TorqueGroup
from anchorsize.study import Joint


def in_turn(joint: Joint, bolts: Sequence[int]) -> tuple[int, ...]:
    """Bolts in the order in which they are seen to one by one: the missing first, then by what they were found at, least first.

    What carries least takes least from the gasket while it is out. Common practice, no source.
    """
    each = tightened_to(joint)
    found = np.zeros(len(joint.bolts.numbers)) if each is None else each
    at = dict(zip(joint.bolts.numbers, np.where(joint.bolts.present, found, -1.0).tolist(), strict=True))
    return tuple(sorted(bolts, key=lambda bolt: (at[bolt], bolt)))


def off(plan: BoltUp) -> tuple[int, ...]:
    """The bolts that are off, or loose in any case, in the order in which they go in."""
    joint = plan.was
    return in_turn(joint, tuple({*handled(joint), *without_clamp(joint)}))


def own_asked(plan: BoltUp) -> tuple[int, ...]:
    """The bolts that go in beside nuts that stay tight, on a sheet that gives no torque: the engineer gives theirs, not that of the others.

    None where all are off, or nothing is tightened by the sheet.
    """
    if not plan.gasket_stays or plan.groups or plan.asks_engineer:
        return ()
    out = sorted(off(plan))
    return tuple(out) if len(out) < len(plan.joint.bolts.numbers) else ()


def first_for_tight(plan: BoltUp) -> int:
    """The first pass, from 0, that turns a nut found tight beside a gasket that stays; the last at the latest, which is then a check.

    A wrench set to less than a nut has turns nothing. 0 where no nut stays tight, or nothing tells how tight it is.
    """
    joint = plan.was
    given, each = joint.tightening, tightened_to(joint)
    if not plan.gasket_stays or not plan.groups or given is None or each is None or given.torque is None:
        return 0
    out = off(plan)
    tight = np.array([bolt not in out for bolt in joint.bolts.numbers])
    if not out or not np.any(tight):
        return 0
    aimed = each if given.target_torque is None else np.broadcast_to(given.target_torque, each.shape)
    has = float(np.min(each[tight] / aimed[tight]))
    turning = (i for i, share in enumerate(plan.shares) if share > has * (1.0 + ALIKE))
    return next(turning, len(plan.shares) - 1)


def passes_of(plan: BoltUp, group: TorqueGroup) -> tuple[int, ...]:
    """The passes, from 0, in which bolts of a group are tightened by the torque of the sheet."""
    going = [bolt for bolt in off(plan) if bolt not in plan.not_for]
    grouped = {bolt for each in plan.groups for bolt in each.bolts}
    early = any(bolt in group.bolts or bolt not in grouped for bolt in going)
    return tuple(range(0 if early else first_for_tight(plan), len(plan.shares)))


def passes_made(plan: BoltUp) -> tuple[int, ...]:
    """The passes, from 0, that any bolt is tightened in by the torque of the sheet; all where it gives none."""
    made = {i for group in plan.groups for i in passes_of(plan, group)}
    return tuple(sorted(made)) if plan.groups else tuple(range(len(plan.shares)))


def order_made(plan: BoltUp) -> tuple[int, ...]:
    """The order of the passes over all bolts, without those that the torque is not for, or that get one of their own."""
    apart = {*plan.not_for, *own_asked(plan)}
    return tuple(bolt for bolt in plan.main_order if bolt not in apart)
