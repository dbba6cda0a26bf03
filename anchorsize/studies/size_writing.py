"""A choice of bolts put into the text of the case file, and held against what the choice was judged by."""

from __future__ import annotations

import re

import numpy as np

from anchorsize.assessment import StudyError, evaluate
from anchorsize.casefile import CaseFileError, parse_case
from anchorsize.casefile.rewriting import RewriteError, change, has_key, scalar, written_at
from anchorsize.studies.size_candidates import fit, same_size
from anchorsize.studies.size_notes import masses_held
from anchorsize.studies.size_tightening import Candidate
from anchorsize.study import Array, Gasket, Number, Study
from anchorsize.units import System, UnitError, split_quantity, to_si

SAME = 1e-9  # relative difference of utilizations that counts as none
EXACT = 1e-12  # relative difference of a value read again that counts as none
ONE_LOST = (
    r"bolts (as )?chosen [^;]*any one of them missing( \(size --robust\))?"  # notes of this and of earlier writers
)
CHANGED, MATING = "changed by size --write: ", "the mating flange must be the same"
SHORT = 6  # figures up to which a value reads as one that somebody chose
UNITS: dict[System, dict[str, tuple[str, ...]]] = {
    "metric": {"length": ("mm", "in"), "moment": ("N*m", "ft*lbf"), "force": ("kN", "lbf"), "pressure": ("bar", "psi")},
    "us": {"length": ("in", "mm"), "moment": ("ft*lbf", "N*m"), "force": ("lbf", "kN"), "pressure": ("psi", "bar")},
}
"""Units to write a value in: those of the file's system first, the other's where it is short only in that."""


def written(
    text: str, name: str, study: Study, joint: str, candidate: Candidate, option: str, robust: bool = False
) -> str:
    """The text of a case file with a candidate's bolts, flange and tightening; ``study`` is what the text gave, ``name`` the new file.

    A note of the joint says what changed of flange, ring and grip, and where it is ``robust`` that the choice, with the bolts and the
    tightening that it names, held with any one bolt missing, so that report and sheet tell it also after somebody changed the file.
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
        new = _flange(new, study, fitted, joint, candidate)
        new = _gasket(new, study, fitted, joint)
        new = _grip(new, study, fitted, joint)
        new = _tightening(new, joint, study, fitted)
        record = chosen_words(study, fitted, joint) if robust else ""
        new = _note(new, joint, record, changed_words(study, fitted, joint))
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
        "circle": quantity_text(candidate.circle, "length", study.units, written_at(text, (*path, "circle"))),
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


def _flange(text: str, study: Study, fitted: Study, joint: str, candidate: Candidate) -> str:
    """Write the standard flange chosen, whose dimensions follow from its name, or a hole that was made larger for the bolt."""
    path = ("joints", joint, "flange")
    old, new = study.joints[joint].flange, fitted.joints[joint].flange
    if candidate.flange is not None:
        designation = scalar(candidate.flange)
        values: dict[str, str | None] = {"designation": designation}
        values |= dict.fromkeys(("outside", "thickness", "hole", *(() if new.flat else ("raised_face",))))
        before = written_at(text, (*path, "rating"))
        if new.rating is not None and new.rating != old.rating and old.rating_row is None:
            values["rating"] = quantity_text(float(np.max(new.rating)), "pressure", study.units, before)
        return change(text, path, values, designation)
    if new.hole is None or new.hole == old.hole:
        return text
    hole = quantity_text(float(np.max(new.hole)), "length", study.units, written_at(text, (*path, "hole")))
    named = {} if old.designation is None else {"designation": scalar(old.designation)}
    return change(text, path, {"hole": hole}, {**named, "hole": hole})


def _gasket(text: str, study: Study, fitted: Study, joint: str) -> str:
    """Write the ring of a standard flange where it took the place of the file's."""
    path = ("joints", joint, "gasket")
    old, new = study.joints[joint].gasket, fitted.joints[joint].gasket
    if old is None or new is None or (old.inside, old.rim) == (new.inside, new.rim):
        return text
    values: dict[str, str | None] = {
        key: quantity_text(float(np.max(value)), "length", study.units, written_at(text, (*path, key)))
        for key, value in (("inside", new.inside), ("outside", new.rim))
    }
    return change(text, path, {**values, "reaction_diameter": None}, {})


def _grip(text: str, study: Study, fitted: Study, joint: str) -> str:
    """Write the grip where it followed the thickness of a standard flange."""
    path, new = ("joints", joint), fitted.joints[joint].grip
    if new is None or new == study.joints[joint].grip:
        return text
    before = written_at(text, (*path, "grip"))
    return change(text, path, {"grip": quantity_text(float(np.max(new)), "length", study.units, before)}, {})


def changed_words(study: Study, fitted: Study, joint: str) -> str:
    """What of flange, holes, ring and grip is another than in the file, with what it was; empty where nothing is.

    With another flange also that the masses of the file, in which the old one may be, stay.
    """
    old, new, system = study.joints[joint], fitted.joints[joint], study.units

    def length(value: Number | None) -> str:
        return "none given" if value is None else quantity_text(float(np.max(value)), "length", system)

    def ring(gasket: Gasket | None) -> str:
        return "none" if gasket is None else f"{length(gasket.inside)} to {length(gasket.rim)}"

    told = {
        "flange": [each.flange.designation or "none named" for each in (new, old)],
        "holes": [length(each.flange.hole) for each in (new, old)],
        "gasket": [ring(each.gasket) for each in (new, old)],
        "grip": [length(each.grip) for each in (new, old)],
    }
    other = told["flange"][0] != told["flange"][1]
    if other:
        del told["holes"]  # they are the flange's
    changed = ", ".join(f"{what} {now} (was {before})" for what, (now, before) in told.items() if now != before)
    held = masses_held(study) if other else ""
    if not held:
        return changed
    return f"{changed}; {held} not changed with the flange: where the old flange is among them, write the new one's"


def chosen_words(study: Study, fitted: Study, joint: str) -> str:
    """That the choice stands any one bolt lost, with what was chosen: a record, for the file may be changed after."""
    bolts, given = fitted.joints[joint].bolts, fitted.joints[joint].tightening
    at = f"{len(bolts.numbers)} × {bolts.sizes[0]}"
    torque, preload = (None, None) if given is None else (_one(given.torque), _one(given.preload))
    if torque is not None:
        at += f", {quantity_text(torque, 'moment', study.units)}"
    elif preload is not None:
        at += f", preload {quantity_text(preload, 'force', study.units)}"
    return f"bolts as chosen by size --robust ({at}): every check made held with any one of them missing"


def _note(text: str, joint: str, record: str, changed: str) -> str:
    """Put the note on what changed and the ``record`` of a choice that stands a lost bolt, and take out those of earlier ones; other words stay.

    What an earlier choice changed stays told where this one changes nothing more. A note of several lines stays as it is.
    """
    path = ("joints", joint)
    before = written_at(text, (*path, "note"))
    if "\n" in (before or "") or (before is None and has_key(text, (*path, "note"))):
        return text
    kept = re.sub(ONE_LOST, "", before or "").strip("; ")
    if changed:
        kept = re.sub(f"(; )?{CHANGED}.*?{MATING}", "", kept).strip("; ")
    told = f"{CHANGED}{changed}; {MATING}" if changed else ""
    wanted = "; ".join(part for part in (kept, told, record) if part)
    if wanted == (before or ""):
        return text
    return change(text, path, {"note": scalar(wanted) if wanted else None}, {})


def _tightening(text: str, joint: str, study: Study, fitted: Study) -> str:
    old, new = study.joints[joint].tightening, fitted.joints[joint].tightening
    if new is None:
        return text
    torque, preload = _one(new.torque), _one(new.preload)
    if old is not None and (_one(old.torque), _one(old.preload)) == (torque, preload):
        return text
    path = ("joints", joint, "tightening")
    key, other, kind = ("preload", "torque", "force") if torque is None else ("torque", "preload", "moment")
    value = quantity_text(
        preload or 0.0 if torque is None else torque, kind, study.units, written_at(text, (*path, key))
    )
    return change(text, path, {key: value, other: None}, {key: value})


def _one(values: Array | None) -> float | None:
    """The value of all bolts; NaN where they differ, which is like no other."""
    if values is None:
        return None
    return float(values[0]) if np.ptp(values) == 0.0 else float("nan")


def quantity_text(value: float, kind: str, system: System, before: str | None = None) -> str:
    """An SI value as a case file has it, read back the same: in the unit that stood there, else in one in which it is short.

    ``before`` is the text that the value takes the place of.
    """
    units = [*UNITS[system][kind]]
    if before is not None:
        try:
            given = split_quantity(before)[1]
            to_si(1.0, given, kind)
            units = [given, *units]
        except UnitError:  # a word, or a list
            pass
    figures = {unit: _figures(value / to_si(1.0, unit, kind), value, unit, kind) for unit in units}
    unit = next((unit for unit in units if _digits(figures[unit]) <= SHORT), units[0])
    return f"{figures[unit]} {unit}"


def _figures(number: float, value: float, unit: str, kind: str) -> str:
    """The fewest figures that are read back as the SI value."""
    for digits in range(1, 17):
        text = (
            f"{float(f'{number:.{digits}g}'):.12f}".rstrip("0").rstrip(".")
            if 1e-3 < number < 1e9
            else f"{number:.{digits}g}"
        )
        if np.isclose(to_si(float(text), unit, kind), value, rtol=EXACT, atol=0.0):
            return text
    return repr(number)


def _digits(text: str) -> int:
    return len(text.replace(".", "").strip("0"))
