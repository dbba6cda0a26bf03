"""The figures behind the first choice of ``size``, so that a reviewer can work it out again."""

from __future__ import annotations

from typing import Any

import numpy as np

from anchorsize.assessment.asking import first_greatest
from anchorsize.assessment.clamping import stiffness_wanting
from anchorsize.assessment.results import Assessment, CaseResult, Check
from anchorsize.present.words import demand_words, figure, joined, number, quantity
from anchorsize.studies.size import Sized
from anchorsize.study import BoltPattern


def _governing(found: Sized, shown: Assessment) -> tuple[CaseResult, Check, int] | None:
    """The check under load that governs with every bolt there, its case, and the place of the bolt it is about.

    A check of the joint as a whole is about the bolt that is pulled most. None where no check depends on load or the one that
    governs is not of this joint.
    """
    loaded = found.holding[0].loaded
    if loaded is None or loaded.where != found.joint:
        return None
    case = shown.cases[loaded.case]
    check = next(each for each in case.checks if (each.check, each.where) == (loaded.check, loaded.where))
    bolts = shown.study.joints[found.joint].bolts
    if check.bolt is None:
        return case, check, int(first_greatest(case.joints[found.joint].external_tension))
    return case, check, bolts.numbers.index(int(check.bolt))


def _load_factor(found: Sized, shown: Assessment) -> float | None:
    clamped = next(iter(shown.cases.values())).joints[found.joint].clamping
    return None if clamped is None or clamped.stiff is None else float(clamped.stiff.load_factor)


def _proof(bolts: BoltPattern) -> float | None:
    return None if bolts.proof_strength is None else float(np.max(bolts.proof_strength))


def figures_words(found: Sized, shown: Assessment) -> list[str]:
    """Sentences with area, proof or yield strength and load factor, and with what the governing bolt carries and may carry."""
    joint, system = shown.study.joints[found.joint], shown.study.units
    proof, share = _proof(joint.bolts), _load_factor(found, shown)
    terms = [f"tensile area {quantity(float(joint.bolts.tensile_area[0]), 'area', system)} per bolt"]
    yields = joint.bolts.yield_strength
    if proof is not None:
        terms.append(f"proof strength {quantity(proof, 'stress', system)}")
    elif yields is not None:
        terms.append(
            f"yield strength {quantity(float(np.max(yields)), 'stress', system)} (bolt proof is checked against it: the class gives no "
            "proof strength)"
        )
    else:
        terms.append(
            "proof strength not known (the class gives none)" if joint.bolts.property_class else "no class given"
        )
    wanting = stiffness_wanting(joint) or ("tightening",)
    terms.append(
        f"load factor C not known (supply {joined(wanting)})"
        if share is None
        else f"load factor C {figure(share)} (share of a centered external load that the bolts take)"
    )
    sentences = ["to work it out again: " + ", ".join(terms)]
    governs = _governing(found, shown)
    if governs is not None:
        case, check, place = governs
        result = case.joints[found.joint]
        demand, allowable = demand_words(check, system)
        most = "pulled most" if result.external_tension[place] > 0.0 else "pressed least"
        which = "" if check.bolt is not None else f", {most} there{_more_elsewhere(found, shown, case)},"
        sentences.append(
            f"in '{case.name}' bolt {joint.bolts.numbers[place]}{which} has external tension "
            f"{quantity(float(result.external_tension[place]), 'force', system)}, shear "
            f"{quantity(float(result.bolt_shear[place]), 'force', system)}; {check.check}: {demand} against {allowable} "
            f"({check.allowable_from}); {check.formula}"
        )
    return sentences


def _more_elsewhere(found: Sized, shown: Assessment, here: CaseResult) -> str:
    """The bolt that another case pulls harder than this one pulls any; empty where none does."""
    pulls = {name: case.joints[found.joint].external_tension for name, case in shown.cases.items()}
    most = max(pulls, key=lambda name: float(np.max(pulls[name])))
    if float(np.max(pulls[most])) <= float(np.max(pulls[here.name])):
        return ""
    bolt = shown.study.joints[found.joint].bolts.numbers[int(first_greatest(pulls[most]))]
    return (
        f" (of all cases bolt {bolt} in '{most}', {quantity(float(np.max(pulls[most])), 'force', shown.study.units)})"
    )


def figures_dict(found: Sized, shown: Assessment) -> dict[str, Any]:
    """The same for machines."""
    bolts, governs, share = shown.study.joints[found.joint].bolts, _governing(found, shown), _load_factor(found, shown)
    figures: dict[str, Any] = {
        "tensile_area_m2": float(bolts.tensile_area[0]),
        "proof_strength_Pa": _proof(bolts),
        "yield_strength_Pa": None if bolts.yield_strength is None else float(np.max(bolts.yield_strength)),
        "load_factor": None if share is None else number(share),
        "governing_under_load": None,
    }
    if governs is not None:
        case, check, place = governs
        figures["governing_under_load"] = {
            "case": case.name,
            "check": check.check,
            "bolt": bolts.numbers[place],
            "external_tension_N": float(case.joints[found.joint].external_tension[place]),
            "shear_N": float(case.joints[found.joint].bolt_shear[place]),
            "demand": number(check.demand),
            "allowable": number(check.allowable),
            "unit": check.unit,
        }
    return figures
