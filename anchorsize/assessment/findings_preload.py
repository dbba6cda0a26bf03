"""What tightening alone pulls the bolts to, beside the allowable of bolt tension, which counts only what the loads add."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import Finding
from anchorsize.study import Allowable, Array, Joint, Study
from anchorsize.units import System, show

PRELOAD_OVER_TENSION = "preload over the bolt tension allowable"


@dataclass(frozen=True)
class Pulled:
    """The greatest preload of any bolt beside the least ``allowed`` bolt tension of any case, both in ``unit``."""

    greatest: float
    allowed: float
    unit: Literal["Pa", "N"]

    @property
    def over(self) -> bool:
        """Whether tightening alone pulls a bolt further than the allowable has for the loads."""
        return self.greatest > self.allowed

    def shown(self, system: System) -> tuple[str, str]:
        """Both as text."""
        kind = "force" if self.unit == "N" else "stress"
        return show(self.greatest, kind, system), show(self.allowed, kind, system)


def pulled(study: Study, joint: Joint, greatest: Array) -> Pulled | None:
    """The ``greatest`` preloads (n,) [N] beside the allowable of bolt tension; None where no case has one."""
    given = [in_force(study, joint, case).bolt_tension for case in study.cases.values()]
    found = [_beside(joint, greatest, allowable) for allowable in given if allowable is not None]
    return max(found, key=lambda each: each.greatest / each.allowed, default=None)


def _beside(joint: Joint, greatest: Array, allowable: Allowable) -> Pulled:
    force = allowable.unit == "N"
    each = greatest if force else greatest / joint.bolts.tensile_area
    return Pulled(float(np.max(each)), float(np.min(allowable.value)), "N" if force else "Pa")


def notice_preload(study: Study) -> tuple[Finding, ...]:
    """Joints whose tightening, as given or as aimed at, pulls a bolt over the allowable of bolt tension: told, not judged.

    Codes set such allowables for loads, and tightening may exceed them (common practice, no source).
    """
    return tuple(finding for joint in study.joints.values() for finding in _of_joint(study, joint))


def _of_joint(study: Study, joint: Joint) -> list[Finding]:
    given = joint.tightening
    if given is None:
        return []
    states = (
        replace(joint, tightening=each) for each in (given, given.at_target) if each.torque is None or each.links_torque
    )
    found = [each for state in states if (each := _pulled_by(study, state)) is not None]
    most = max(found, key=lambda each: each.greatest / each.allowed, default=None)
    if most is None or not most.over:
        return []
    greatest, allowed = most.shown(study.units)
    return [
        Finding(
            PRELOAD_OVER_TENSION,
            None,
            f"Joint '{joint.name}': tightening alone pulls a bolt to {greatest} at the greatest preload, over allow / bolt_tension, "
            f"{allowed}. That allowable is compared with what the loads add, not with the tightening: make sure that it is not meant for both.",
        )
    ]


def _pulled_by(study: Study, joint: Joint) -> Pulled | None:
    """That of a joint as it is tightened; None also where the tightening would break a bolt, which is told elsewhere."""
    refused = Refused(())
    clamped = clamping(joint, refused)
    return None if clamped is None or refused.reasons else pulled(study, joint, clamped.greatest)
