"""What the repair would come to, in one line and as machine output."""

from __future__ import annotations

from typing import Any

import numpy as np

from anchorsize.assessment import Assessment
from anchorsize.assessment.findings_target import new_threads
from anchorsize.present.boltup_words import both, numbered, short
from anchorsize.present.machine import check_dict
from anchorsize.present.verdict import holds_word
from anchorsize.present.windows import windows_dict
from anchorsize.present.words import joined, number, use_words, when
from anchorsize.studies.repaired import Repair, repair, windows_after
from anchorsize.study import Array, Joint
from anchorsize.units import System

VERDICTS = {"holds": "HOLDS", "fails": "DOES NOT HOLD", "incomplete": "NOT COMPLETE"}
OTHERS = "all others "
AS_TIGHT = "as tight as the engineer says"
NO_RELEASE = (
    ", but that is NO RELEASE: how tight {} and whether the joint seals or lifts off is NOT JUDGED, for the file says nothing of the "
    "tightening"
)


def repair_words(assessment: Assessment) -> str:
    """Whether it would hold once repaired, with the check that then governs; empty where nothing wants repair."""
    found = repair(assessment)
    return "" if found is None else _words(found, assessment)


def _words(found: Repair, assessment: Assessment) -> str:
    lead = f"With {_changes(found, assessment)}"
    after = found.assessment
    if after is None:
        return f"{lead}: not judged: {found.reason}."
    word = holds_word(after.warnings) if after.verdict == "holds" else VERDICTS[after.verdict]
    return f"{lead}: {word} ({after_words(after)}){no_release(found)}."


def no_release(found: Repair) -> str:
    """How the sentence ends that a repaired joint holds, where the file says nothing of its tightening; empty elsewhere."""
    untold = _untold(found)
    if found.assessment is None or found.assessment.verdict != "holds" or not untold:
        return ""
    of = f" of {joined([repr(short(name)) for name in untold])}" if len(found.assessment.study.joints) > 1 else ""
    return NO_RELEASE.format(f"the bolts{of} are")


def _untold(found: Repair) -> tuple[str, ...]:
    """The joints of which the file does not say how they are tightened."""
    after = found.assessment
    return () if after is None else tuple(name for name in found.torque if after.study.joints[name].tightening is None)


def after_words(after: Assessment) -> str:
    """What decides the verdict after the repair."""
    if after.verdict == "incomplete":
        wanting = next(item for item in after.not_checked if item.needed)
        return f"{wanting.words} of '{wanting.where}' could not be judged"
    if after.governing is None:
        return "nothing was checked"
    case, check = after.governing
    of = f" of '{check.where}'" if len(after.study.joints) > 1 else ""
    return f"{check.words}{of} {when(check.check, case)}, {use_words(check.check, check.utilization)}"


def _changes(found: Repair, assessment: Assessment) -> str:
    """What the repair does, such as `bolt 3 fitted and all at 90 N·m`."""
    several = len(assessment.study.joints) > 1
    parts = [
        numbered(bolts) + (f" of '{name}'" if several else "") + " fitted"
        for name, bolts in found.fitted.items()
        if bolts
    ]
    parts += _replaced(found, several, "replaced") + _by_the_engineer(found, several)
    if tightened := _tightened(found, assessment.study.units):
        parts.append(tightened)
    if found.new_gaskets:
        parts.append("a new gasket" if len(found.new_gaskets) == 1 else "new gaskets")
    if found.gaskets_not_said and found.may_hold:
        parts.append("the gasket as good as new (the file does not say)")
    return joined(parts)


def only_when(found: Repair, assessment: Assessment) -> str:
    """What must be so after the repair, such as `bolts 4 and 9 are in, a NEW gasket is fitted and every bolt is at 90 N·m`."""
    several = len(assessment.study.joints) > 1
    parts = [
        f"{numbered(bolts)}{f' of {short(name)!r}' if several else ''} {'are' if len(bolts) > 1 else 'is'} in"
        for name, bolts in found.fitted.items()
        if bolts
    ]
    parts += _replaced(found, several, "REPLACED")
    if found.new_gaskets:
        parts.append("a NEW gasket is fitted" if len(found.new_gaskets) == 1 else "NEW gaskets are fitted")
    parts += _by_the_engineer(found, several, " are", " is")
    if tightened := _tightened(found, assessment.study.units):
        whom = "every other bolt is " if tightened.startswith(OTHERS) else "every bolt is "
        parts.append(tightened.replace(OTHERS, whom, 1).replace("all ", whom, 1).replace(" bolt at", " bolt is at", 1))
    if found.gaskets_not_said and found.may_hold:
        parts.append("the gasket is as good as new (the file does not say)")
    return joined(parts)


def _replaced(found: Repair, several: bool, word: str) -> list[str]:
    """The bolts that the repair replaces for having been stretched."""
    return [
        f"{numbered(bolts)}{f' of {short(name)!r}' if several else ''}{(' are ' if len(bolts) > 1 else ' is ') if word.isupper() else ' '}{word}"
        for name, bolts in found.replaced.items()
    ]


def _own_torque(found: Repair) -> dict[str, tuple[int, ...]]:
    """The bolts that the torque is not for, by the joints that have such: the engineer gives them their own."""
    after = found.assessment
    each = {} if after is None else {name: new_threads(after.study.joints[name]) for name in found.torque}
    return {name: bolts for name, bolts in each.items() if bolts}


def _by_the_engineer(found: Repair, several: bool, are: str = "", one: str = "") -> list[str]:
    """How tight those bolts are to be, and all of a joint that nothing is told of, with the verb ``are`` (``one`` of a single bolt)."""
    of = {name: f" of {short(name)!r}" if several else "" for name in found.torque}
    own = [f"{numbered(bolts)}{of[name]}{are if len(bolts) > 1 else one}" for name, bolts in _own_torque(found).items()]
    every = [f"{'every bolt' if one else 'all'}{of[name]}{one}" for name in _untold(found)]
    return [f"{bolts} {AS_TIGHT}" for bolts in (*own, *every)]


def _tightened(found: Repair, system: System) -> str:
    """To what the bolts are tightened, where the file tells."""
    if found.assessment is None:
        return "all tightened alike"
    own = _own_torque(found)
    others = OTHERS if own or _untold(found) else "all "
    known = [
        np.unique(_of_others(found.assessment.study.joints[name], torque, own.get(name, ())))
        for name, torque in found.torque.items()
        if torque is not None
    ]
    values = np.unique(np.concatenate(known)) if known else np.zeros(0)
    if not values.size:
        given = [found.assessment.study.joints[name].tightening for name in found.torque]
        return f"{others}at the preload given" if any(each is not None for each in given) else ""
    if float(np.ptp(values)) <= 1e-9 * float(np.max(values)):
        return f"{others}at {both(float(values[0]), 'moment', system)}"
    return f"every {'other ' if others == OTHERS else ''}bolt at its torque"


def _of_others(joint: Joint, torque: Array, own: tuple[int, ...]) -> Array:
    """Torques (n,) [N·m] without those of the bolts that they are not for."""
    numbers = joint.bolts.numbers
    return np.broadcast_to(torque, len(numbers))[[number not in own for number in numbers]]


def repair_dict(assessment: Assessment) -> dict[str, Any] | None:
    """The same as machine output; None where nothing wants repair."""
    found = repair(assessment)
    if found is None:
        return None
    after = found.assessment
    governing = None if after is None else after.governing
    return {
        "verdict": None if after is None else after.verdict,
        "governing": None if governing is None else {"case": governing[0], **check_dict(governing[1])},
        "fitted": {name: list(bolts) for name, bolts in found.fitted.items()},
        "replaced": {name: list(bolts) for name, bolts in found.replaced.items()},
        "torque_Nm": {
            name: None if torque is None else [number(each) for each in np.atleast_1d(torque)]
            for name, torque in found.torque.items()
        },
        "new_gaskets": list(found.new_gaskets),
        "gaskets_not_said": list(found.gaskets_not_said),
        "tightening": windows_dict(windows_after(found)),
        "reason": found.reason or None,
        "words": _words(found, assessment),
    }
