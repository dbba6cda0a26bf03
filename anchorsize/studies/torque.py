"""Between which torques every check that the preload decides holds, or that no torque would do."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment import evaluate
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.results import Check
from anchorsize.studies.roots import bisect
from anchorsize.study import Array, Study

WANT_MORE = {"joint lift-off", "joint slip", "slip at the bolts", "gasket seating", "gasket in service"}
WANT_LESS = {"bolt proof", "gasket crushing", "thread stripping"}
LEAST_SHARE = 1e-6  # of the greatest tightening looked at
WAYS = 64  # parts of a bracket judged in one batch
TOLERANCE = 1e-10  # relative width at which an end of the window counts as found


@dataclass(frozen=True)
class TighteningWindow:
    """Tightening of one joint as multiples of what the file gives: at least ``least``, at most ``greatest``.

    ``torque`` [N·m] is the greatest torque the file gives, None where it gives a preload; ``preload`` [N] likewise the mean.
    ``least_by`` and ``greatest_by`` name the check (with its case) that sets each end, None where none does. Where
    ``least`` is over ``greatest``, no tightening serves.
    """

    joint: str
    least: float
    greatest: float
    least_by: str | None
    greatest_by: str | None
    torque: float | None
    preload: float

    @property
    def exists(self) -> bool:
        """Whether any tightening makes all of these checks hold."""
        return self.least <= self.greatest


def window(study: Study, joint: str) -> TighteningWindow | None:
    """The tightening window of a joint; None where its tightening is not given.

    The ends are solved to 1e-10 on the batched evaluation, up to the tightening at which the greatest preload
    reaches the bolts' tensile strength (or thirty times the given one where no class is given).
    """
    clamped = clamping(study.joints[joint])
    if clamped is None or not np.any(clamped.greatest > 0.0):
        return None
    top = _most(study, joint, clamped.greatest)

    def uses(multiples: Array) -> tuple[_Worst, _Worst]:
        cases = evaluate(_scaled(study, joint, multiples))
        made = [(name, check) for name, case in cases.items() for check in case.checks]
        return _worst(made, WANT_MORE, multiples), _worst(made, WANT_LESS, multiples)

    def over(multiples: Array) -> Array:
        """What the least end and, in the second half, the greatest end must bring to zero."""
        half = len(multiples) // 2
        more, less = uses(multiples)
        return np.concatenate([more.use[:half] - 1.0, less.use[half:] - 1.0])

    bottom = top * LEAST_SHARE
    more, less = uses(np.array([bottom, top]))
    found = bisect(over, np.full(2, bottom), np.full(2, top), WAYS, TOLERANCE)
    more_there, less_there = uses(found)
    least, least_by = float(found[0]), more_there.by[0]
    if more.use[1] > 1.0:
        least, least_by = np.inf, more.by[1]
    elif more.use[0] <= 1.0:
        least, least_by = bottom, None
    greatest, greatest_by = float(found[1]), less_there.by[1]
    if less.use[0] > 1.0:
        greatest, greatest_by = 0.0, less.by[0]
    elif less.use[1] <= 1.0:
        greatest, greatest_by = top, None
    torque = None if clamped.torque is None else float(np.max(clamped.torque))
    return TighteningWindow(joint, least, greatest, least_by, greatest_by, torque, float(np.max(clamped.mean)))


@dataclass(frozen=True)
class _Worst:
    """The greatest utilization of some checks per row, and the check and case it belongs to."""

    use: Array
    by: list[str | None]


def _worst(made: list[tuple[str, Check]], names: set[str], multiples: Array) -> _Worst:
    chosen = [(name, check) for name, check in made if check.check in names]
    if not chosen:
        return _Worst(np.zeros_like(multiples), [None] * len(multiples))
    use = np.array([np.broadcast_to(check.utilization, multiples.shape) for _, check in chosen])
    governs = [chosen[i] for i in np.argmax(use, axis=0)]
    return _Worst(use.max(axis=0), [f"{check.check} in '{name}'" for name, check in governs])


def _most(study: Study, joint: str, greatest: Array) -> float:
    """The multiple at which the greatest preload reaches the tensile strength of a bolt."""
    bolts = study.joints[joint].bolts
    if bolts.tensile_strength is None:
        return 30.0
    strength = np.asarray(bolts.tensile_strength)[..., None] * bolts.tensile_area
    return float(np.min(strength[greatest > 0.0] / greatest[greatest > 0.0])) * (1.0 - 1e-12)


def _scaled(study: Study, joint: str, multiples: Array) -> Study:
    given = study.joints[joint].tightening
    if given is None:
        return study
    column = multiples[:, None]
    tightened = replace(
        given,
        torque=None if given.torque is None else given.torque * column,
        preload=None if given.preload is None else given.preload * column,
    )
    return replace(study, joints={**study.joints, joint: replace(study.joints[joint], tightening=tightened)})
