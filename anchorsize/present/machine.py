"""The machine output: plain dicts in SI with the unit in the key. Keys are stable; new ones may be added."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from anchorsize.assessment.audit import leg_audit
from anchorsize.assessment.clamping import Service
from anchorsize.assessment.results import Assessment, CaseResult, Check, Finding, JointResult, NotChecked
from anchorsize.present.support_words import supports_dict
from anchorsize.present.words import number
from anchorsize.study import Array, Joint, Provenance

FORMAT = "anchorsize/1"


def assessment_dict(assessment: Assessment) -> dict[str, Any]:
    """The whole of an assessment as ``check --json`` prints it."""
    governing = assessment.governing
    return {
        "format": FORMAT,
        "title": assessment.study.title,
        "option": assessment.option,
        "verdict": assessment.verdict,
        "doubtful": assessment.doubtful,
        "cases": {name: case_dict(assessment, case) for name, case in assessment.cases.items()},
        "governing": None if governing is None else {"case": governing[0], **check_dict(governing[1])},
        "not_checked": not_checked_list(assessment.not_checked),
        "warnings": findings_list(assessment.warnings),
        "assumptions": list(assessment.assumptions),
        "from_tables": [provenance_dict(p) for p in assessment.study.provenance],
    }


def reactions_dict(assessment: Assessment) -> dict[str, Any]:
    """What ``reactions --json`` prints: the same, without checks."""
    whole = assessment_dict(assessment)
    for key in ("verdict", "doubtful", "governing", "not_checked"):
        del whole[key]
    for case in whole["cases"].values():
        del case["checks"]
    return whole


def case_dict(assessment: Assessment, case: CaseResult) -> dict[str, Any]:
    """One operating case."""
    return {
        "openings": {
            name: {
                "exit": o.exit,
                "flow_m3_s": number(o.flow),
                "mass_flow_kg_s": number(o.mass_flow),
                "velocity_m_s": number(o.velocity),
                "pressure_Pa": number(o.pressure),
                "effective_area_m2": number(area)
                if (area := assessment.study.openings[name].effective_area) is not None
                else None,
                "thrust_N": number(o.thrust),
            }
            for name, o in case.openings.items()
        },
        "loads": [
            {"source": load.source, "force_N": _vector(load.force), "moment_Nm": _vector(load.moment)}
            for load in case.loads
        ],
        "reaction": {"force_N": _vector(case.reaction_force), "moment_Nm": _vector(case.reaction_moment)},
        "vertical_reaction_N": number(case.vertical_reaction),
        "energy": None
        if case.energy is None
        else {
            "head_loss_m": number(case.energy.head_loss),
            "loss_coefficient": number(case.energy.loss_coefficient),
            "velocity_at": case.energy.velocity_at,
            "legs": {
                name: {"head_loss_m": number(leg.head_loss), "loss_coefficient": number(leg.loss_coefficient)}
                for name, leg in leg_audit(assessment.study, assessment.study.cases[case.name], case.openings).items()
            },
        },
        "joints": {name: joint_dict(assessment.study.joints[name], result) for name, result in case.joints.items()},
        "supports": supports_dict(case),
        "checks": [check_dict(check) for check in case.checks],
    }


def joint_dict(joint: Joint, result: JointResult) -> dict[str, Any]:
    """Actions, bolts and face of one joint."""
    service, clamped = result.service, result.clamping
    return {
        "reaction_force_N": _vector(result.reaction_force),
        "reaction_moment_Nm": _vector(result.reaction_moment),
        "axial_N": number(result.axial),
        "pressure_annulus_N": number(result.pressure_annulus),
        "shear_N": number(result.shear),
        "shear_e1_N": number(result.shear1),
        "shear_e2_N": number(result.shear2),
        "bending_Nm": number(result.bending),
        "bending_e1_Nm": number(result.bending1),
        "bending_e2_Nm": number(result.bending2),
        "torsion_Nm": number(result.torsion),
        "gasket_reaction_diameter_m": number(result.reaction_diameter),
        "loose": list(joint.loose),
        "bolts": [
            {
                "number": bolt,
                "angle_deg": number(np.degrees(joint.bolts.angle[index])),
                "x_m": number(joint.bolts.xy[index, 0]),
                "y_m": number(joint.bolts.xy[index, 1]),
                "external_tension_N": number(result.external_tension[index]),
                "shear_N": number(result.bolt_shear[index]),
                "service_tension_N": _of_bolt(None if service is None else service.tension, index),
                "service_tension_greatest_N": _of_bolt(None if service is None else service.tension_greatest, index),
                "torque_Nm": _of_bolt(None if clamped is None else clamped.torque_wanted, index),
                "preload_least_N": _of_bolt(None if clamped is None else clamped.least, index),
                "preload_N": _of_bolt(None if clamped is None else clamped.mean, index),
                "preload_greatest_N": _of_bolt(None if clamped is None else clamped.greatest, index),
            }
            for index, bolt in enumerate(joint.bolts.numbers)
            if joint.bolts.present[index]
        ],
        "face": _face(service),
        "load_factor": None if clamped is None or clamped.stiff is None else number(clamped.stiff.load_factor),
    }


def _of_bolt(values: Array | None, index: int) -> float | None:
    return None if values is None else number(values[index])


def _face(service: Service | None) -> dict[str, float | None] | None:
    """The face at the mean preload, and its worst at the least and greatest; None without the stiffnesses."""
    if service is None or service.clamp is None:
        return None
    parts = {
        "clamp_N": service.clamp,
        "pressure_min_Pa": service.pressure_min,
        "pressure_max_Pa": service.pressure_max,
        "lift_off": service.lift_off,
        "clamp_least_N": service.clamp_least,
        "pressure_least_Pa": service.pressure_min_least,
        "pressure_greatest_Pa": service.pressure_max_greatest,
        "lift_off_greatest": service.lift_off_least,
        "opens_toward_deg": None if service.opens_toward is None else np.degrees(service.opens_toward),
    }
    return {key: None if value is None else number(value) for key, value in parts.items()}


def check_dict(check: Check) -> dict[str, Any]:
    """One check."""
    return {
        "check": check.check,
        "where": check.where,
        "bolt": None if check.bolt is None else int(check.bolt),
        "demand": number(check.demand),
        "allowable": number(check.allowable),
        "unit": check.unit,
        "utilization": number(check.utilization),
        "margin": number(check.margin),
        "holds": bool(check.holds),
        "source": check.source,
        "allowable_from": check.allowable_from,
    }


def findings_list(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """What stands out; ``doubtful`` where the data cannot be right."""
    return [{"kind": w.kind, "case": w.case, "message": w.message, "doubtful": w.doubtful} for w in findings]


def not_checked_list(items: Iterable[NotChecked]) -> list[dict[str, Any]]:
    """What was not checked, and what to supply."""
    return [{"check": i.check, "where": i.where, "supply": i.supply, "needed": i.needed} for i in items]


def provenance_dict(row: Provenance) -> dict[str, str]:
    """A table row that the result uses."""
    return {"what": row.what, "table": row.table, "row": row.row, "source": row.source, "status": row.status}


def _vector(vector: Array) -> list[float | None]:
    return [number(component) for component in vector]
