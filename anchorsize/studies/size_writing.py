"""A choice of bolts put into the text of the case file, and held against what the choice was judged by."""

from __future__ import annotations

import numpy as np

from anchorsize.assessment import StudyError, evaluate
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.casefile.rewriting import RewriteError, change, has_key, scalar
from anchorsize.studies.size_candidates import Candidate, fit, same_size
from anchorsize.study import Array, Study, Tightening
from anchorsize.units import System

SAME = 1e-9  # relative difference of utilizations that counts as none
INCH = 0.0254


def written(text: str, name: str, study: Study, joint: str, candidate: Candidate, option: str) -> str:
    """The text of a case file with a candidate's bolts and tightening; ``study`` is what the text gave, ``name`` the new file.

    The new text is read again and must give the same utilization of every check as the candidate did.

    Raises
    ------
    StudyError
        The bolts cannot be changed in place, or the new text does not give the same.
    """
    fitted = fit(study, joint, candidate)
    if study.joints[joint].bolts.circle is None:
        raise StudyError(
            f"joint '{joint}' has bolts at places of their own, which are not rewritten; write them by hand"
        )
    try:
        new = _bolts(text, study, fitted, joint, candidate)
        new = _tightening(new, joint, study.joints[joint].tightening, fitted.joints[joint].tightening)
        read = parse_case(new, name)
    except (RewriteError, CaseFileError) as error:
        raise StudyError(f"the choice cannot be written into this file in place: {error}") from error
    ours, theirs = _utilizations(fitted, option), _utilizations(read, option)
    if ours.keys() != theirs.keys() or not np.allclose(
        list(ours.values()), list(theirs.values()), rtol=SAME, atol=SAME
    ):
        raise StudyError(
            "the file with the choice written in gives other utilizations than the choice; it was not written"
        )
    return new


def _utilizations(study: Study, option: str) -> dict[tuple[str, str, str], float]:
    cases = evaluate(study, option)
    return {(name, c.check, c.where): float(c.utilization) for name, case in cases.items() for c in case.checks}


def _bolts(text: str, study: Study, fitted: Study, joint: str, candidate: Candidate) -> str:
    """Write what differs of count, size, circle, class and first angle; what only the old size had goes."""
    path = ("joints", joint, "bolts")
    old, new = study.joints[joint].bolts, fitted.joints[joint].bolts
    first = f"{np.degrees(float(new.angle[0])):.12g} deg"
    whole = {
        "count": str(candidate.count),
        "size": scalar(candidate.size),
        "circle": length_text(candidate.circle, study.units),
    }
    if abs(float(new.angle[0]) - np.pi / candidate.count) > SAME:
        whole["first_at"] = first
    if candidate.bolt_class is not None:
        whole["class"] = f'"{candidate.bolt_class}"'
    values: dict[str, str | None] = {}
    if candidate.count != len(old.numbers):
        values["count"] = whole["count"]
        if has_key(text, (*path, "first_at")):
            values["first_at"] = first
    if not same_size(old, candidate.size):
        values["size"] = whole["size"]
        values.update(dict.fromkeys(("diameter", "tensile_area", "root_area")))
    if old.circle is None or not np.isclose(float(np.max(old.circle)), candidate.circle, rtol=1e-12, atol=0.0):
        values["circle"] = whole["circle"]
    if candidate.bolt_class != old.property_class:
        values["class"] = whole["class"]
    if not np.all(old.present):
        values["missing"] = None
    return change(text, path, values, whole) if values else text


def _tightening(text: str, joint: str, old: Tightening | None, new: Tightening | None) -> str:
    if new is None:
        return text
    torque, preload = _one(new.torque), _one(new.preload)
    if old is not None and (_one(old.torque), _one(old.preload)) == (torque, preload):
        return text
    key, other, value = (
        ("preload", "torque", f"{preload!r} N") if torque is None else ("torque", "preload", f"{torque!r} N*m")
    )
    return change(text, ("joints", joint, "tightening"), {key: value, other: None}, {key: value})


def _one(values: Array | None) -> float | None:
    """The value of all bolts; NaN where they differ, which is like no other."""
    if values is None:
        return None
    return float(values[0]) if np.ptp(values) == 0.0 else float("nan")


def length_text(value: float, system: System) -> str:
    """A length [m] as a case file has it, in full."""
    return f"{value / INCH:.12g} in" if system == "us" else f"{value * 1e3:.12g} mm"
