"""Between which torques a joint holds with every bolt there and also with any one of them lost. All losses are one batch."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from anchorsize.assessment import Assessment, evaluate
from anchorsize.assessment.findings_target import held_back
from anchorsize.assessment.refusing import Refused
from anchorsize.studies.evened import with_even_tightening
from anchorsize.studies.lost_bolt import with_present
from anchorsize.studies.torque import TighteningWindow, found_window, no_window, window


def lost_windows(assessment: Assessment, joints: Iterable[str]) -> list[TighteningWindow]:
    """The windows with any one bolt lost of those of the joints named that can be judged and are tightened."""
    judged = [name for name in joints if name in assessment.judged_joints]
    return [each for name in judged if (each := lost_window(assessment, name)) is not None]


def lost_window(assessment: Assessment, joint: str) -> TighteningWindow | None:
    """What the tightening windows of a joint with every bolt there and with any one of them lost share; None where there is none.

    The check that sets an end is told with the bolt whose loss makes it do so. A bolt without which the joint cannot be judged at
    all leaves no window.
    """
    study = assessment.study
    given = study.joints[joint]
    if held_back(given):
        return no_window(given)
    even = with_even_tightening(study, joint)
    there = np.array(given.bolts.present, dtype=np.bool_)
    lost = np.flatnonzero(there)
    if given.tightening is None or len(lost) < 2:
        whole = window(study, joint, assessment.cases, assessment.option)
        return whole if whole is None else replace(whole, refused=f"joint '{joint}' would have no bolt left")
    present = np.array([there, *(there & (np.arange(len(there)) != i) for i in lost)])
    refused = Refused((len(present),))
    known = evaluate(with_present(even, joint, present), assessment.option, refused)
    if refused.reasons:
        rows, why = refused.reasons[0]
        bolt = given.bolts.numbers[lost[int(np.argmax(rows)) - 1]]
        whole = window(study, joint, assessment.cases, assessment.option)
        return whole if whole is None else replace(whole, refused=f"with bolt {bolt} lost it cannot be judged, {why}")
    words = ["", *(f", bolt {given.bolts.numbers[i]} lost" for i in lost)]
    return found_window(given, even, known, list(zip(words, present, strict=True)))
