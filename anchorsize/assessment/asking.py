"""What a check is made from, and how a demand per bolt becomes a check of the bolt that governs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np

from anchorsize.assessment.results import Check, JointResult, Unit
from anchorsize.mechanics import checks as formulas
from anchorsize.study import Allowable, Allowables, Array, Case, Joint, Number, Study

ALIKE = 1e-9  # relative difference up to which it is rounding that sets two bolts apart


@dataclass(frozen=True)
class Ask:
    """What a check is made from: the joint, its actions and bolt loads, and the allowables in force for it."""

    joint: Joint
    result: JointResult
    allow: Allowables
    rating_factor: Number | None = None  # on the flange rating, where the case has one

    @property
    def tension(self) -> Array:
        """External tension a bolt must resist (..., n) [N]; pressing counts as none."""
        return np.maximum(self.result.external_tension, 0.0)

    @property
    def shear_area(self) -> Array:
        """Area of each bolt in its shear plane (..., n) [m²]."""
        bolts = self.joint.bolts
        return bolts.shank_area if bolts.shear_plane == "shank" else bolts.tensile_area


@dataclass(frozen=True)
class Rule:
    """A check by name; ``needed`` where the job cannot be called done without it. ``make`` gives None where nobody asks for it."""

    name: str
    needed: bool
    make: Callable[[Ask], Check | str | None]


def lacking(*wanted: tuple[str, object]) -> str:
    """Name what of ``wanted`` (words, value) was not given, for the list of checks not made."""
    return ", ".join(words for words, value in wanted if value is None)


def merged(general: Allowables, own: Allowables | None) -> Allowables:
    """The study's allowables with the joint's own entries in place of the general ones."""
    if own is None:
        return general
    given = {f.name: getattr(own, f.name) for f in fields(own) if getattr(own, f.name) is not None}
    return replace(general, **given)


def in_force(study: Study, joint: Joint, case: Case) -> Allowables:
    """The allowables of a joint in a case: the study's, the joint's own in their place, and the case's in place of both."""
    return merged(merged(study.allow, joint.allow), case.allow)


def first_greatest(values: Array) -> Array:
    """Place along the last axis of the greatest of ``values`` (..., n), of those alike but for rounding the first."""
    greatest = np.max(values, axis=-1, keepdims=True)
    slack = ALIKE * np.abs(np.where(np.isfinite(greatest), greatest, 0.0))
    return np.asarray(np.argmax(values >= greatest - slack, axis=-1))


def worst_bolt(ask: Ask, name: str, demand: Array, allowable: Allowable, source: str, formula: str) -> Check:
    """A check of each bolt's demand (..., n) against one allowable; the bolt with the greatest demand governs."""
    alike = replace(allowable, value=np.asarray(allowable.value)[..., None])
    return bolt_check(ask, name, demand, formulas.utilization(demand, alike.value), alike, source, formula)


def bolt_check(
    ask: Ask,
    name: str,
    demand: Array,
    utilization: Array,
    allowable: Allowable,
    source: str,
    formula: str,
) -> Check:
    """A check of each bolt by its utilization (..., n); the greatest governs, of bolts alike the first.

    The allowable's value carries the bolt axis.
    """
    worst = np.argmax(utilization, axis=-1)

    def at_worst(values: Number) -> Array:
        return np.take_along_axis(np.broadcast_to(values, utilization.shape), worst[..., None], axis=-1)[..., 0]

    picked = at_worst(utilization)
    return Check(
        check=name,
        where=ask.joint.name,
        bolt=np.asarray(ask.joint.bolts.numbers)[first_greatest(utilization)],
        demand=at_worst(demand),
        allowable=at_worst(allowable.value),
        unit=allowable.unit,
        utilization=picked,
        margin=formulas.margin(picked),
        holds=picked <= 1.0,
        source=source,
        allowable_from=allowable.origin,
        formula=formula,
    )


def plain(
    where: Ask | str,
    name: str,
    demand: Number,
    allowable: Number,
    unit: Unit,
    source: str,
    allowable_from: str,
    formula: str,
    least: bool = False,
) -> Check:
    """A check of a joint or a support as a whole, demand at most the allowable, or at least where ``least``."""
    used = formulas.utilization_at_least(demand, allowable) if least else formulas.utilization(demand, allowable)
    return Check(
        check=name,
        where=where if isinstance(where, str) else where.joint.name,
        bolt=None,
        demand=demand,
        allowable=allowable,
        unit=unit,
        utilization=used,
        margin=formulas.margin(used),
        holds=used <= 1.0,
        source=source,
        allowable_from=allowable_from,
        formula=formula,
        least=least,
    )
