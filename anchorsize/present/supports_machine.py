"""The comparison of support options as machine output and as comma-separated values."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from typing import Any

import numpy as np

from anchorsize.assessment.results import Check, SupportResult
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.machine import FORMAT, check_dict, findings_list, not_checked_list
from anchorsize.present.support_words import slides, state_word, state_words
from anchorsize.present.words import number
from anchorsize.studies.block_size import BlockSize
from anchorsize.studies.support_size import Sized
from anchorsize.studies.support_together import Together, together
from anchorsize.studies.supports import Carried, Case, Comparison, Option, Peak


def comparison_dict(compared: Comparison, sizes: Mapping[str, list[Sized]]) -> dict[str, Any]:
    """The machine output of ``supports --json``."""
    return {
        "format": FORMAT,
        "title": compared.study.title,
        "best": None if compared.best is None else compared.best.name,
        "cheapest": None if compared.cheapest is None else compared.cheapest.name,
        "not_ranking": [
            {"case": case, "check": check, "where": where} for case, check, where in sorted(compared.common)
        ],
        "options": {option.name: _option_dict(option, sizes.get(option.name, [])) for option in compared.options},
        "rests_on": DEFERRAL,
    }


def _option_dict(option: Option, sizes: list[Sized]) -> dict[str, Any]:
    """One option."""
    if option.assessment is None:
        return {"verdict": None, "refused": option.refused}
    moment, pipe, moves, made = option.joint_moment, option.pipe_moment, option.movement, option.materials
    return {
        "verdict": option.assessment.verdict,
        "governing": _pair(option.governing),
        "governing_bolt": _pair(option.governing_bolt),
        "joint_moment_Nm": None if moment is None else number(moment.value),
        "joint_moment_case": None if moment is None else moment.case,
        **_peak_dict("joint_axial", "N", option.joint_axial),
        **_peak_dict("joint_shear", "N", option.joint_shear),
        **_peak_dict("joint_bending", "Nm", option.joint_bending),
        **_peak_dict("joint_torsion", "Nm", option.joint_torsion),
        "pipe_moment_Nm": None if pipe is None else number(pipe.value),
        "pipe_moment_case": None if pipe is None else pipe.case,
        "pipe_judged": None if pipe is None else False,
        "movement_m": None if moves is None else number(moves.value),
        "movement_case": None if moves is None else moves.case,
        "lift_off": option.lift_off,
        "failing": [_pair(pair) for pair in option.failing],
        "supports": {each.support.name: _carried_dict(option, each) for each in option.carried},
        "rod_length_m": made.rod_length,
        "steel_mass_kg": made.steel_mass,
        "concrete_volume_m3": made.concrete_volume,
        "cost": option.cost,
        "sizing": [_sized_dict(each) for each in sizes],
        "least_together": _together_dict(together(option, sizes)),
        "not_checked": not_checked_list(option.assessment.not_checked),
        "warnings": findings_list(option.assessment.warnings),
        "assumptions": list(option.assessment.assumptions),
    }


def _together_dict(found: Together | None) -> dict[str, Any] | None:
    """All the least sizes taken together: which change, the verdict, and what then acts on the joint; as given stands in the option."""
    if found is None:
        return None
    then = found.taken
    return {
        "sizes": {each.support.name: _block_or_size(each) for each in found.changed},
        "verdict": None if then.assessment is None else then.assessment.verdict,
        "governing": _pair(then.governing),
        "failing": [_pair(pair) for pair in then.failing],
        **_peak_dict("joint_moment", "Nm", then.joint_moment),
        **_peak_dict("joint_axial", "N", then.joint_axial),
        **_peak_dict("joint_shear", "N", then.joint_shear),
        **_peak_dict("joint_bending", "Nm", then.joint_bending),
        **_peak_dict("joint_torsion", "Nm", then.joint_torsion),
    }


def _block_or_size(each: Sized) -> str | dict[str, Any] | None:
    """The least size of a support: the name of a rod or section, the dimensions of a block."""
    if each.least is not None:
        return each.least.size
    return None if each.block is None or each.block.size is None else _block_size_dict(each.block.size)


def _peak_dict(what: str, unit: str, peak: Peak | None) -> dict[str, Any]:
    """A peak and its case, under keys of its name and unit."""
    value, case = (None, None) if peak is None else (number(peak.value), peak.case)
    return {f"{what}_{unit}": value, f"{what}_case": case}


def _pair(pair: Case | None) -> dict[str, Any] | None:
    return None if pair is None else {"case": pair[0], **check_dict(pair[1])}


def _carried_dict(option: Option, each: Carried) -> dict[str, Any]:
    return {
        "kind": each.support.kind,
        "least_N": number(each.least[1]),
        "least_case": each.least[0],
        "greatest_N": number(each.greatest[1]),
        "greatest_case": each.greatest[0],
        "greatest_size_N": number(abs(each.greatest_size[1])),
        "greatest_across_N": number(each.greatest_across),
        "states": {case: state_word(result) for case, result in each.results.items()},
        "cases": {case: _in_case(result, option.worst_of(each.support, case)) for case, result in each.results.items()},
        "slides_in": [case for case, result in each.results.items() if slides(result)],
    }


def _in_case(result: SupportResult, worst: Check | None) -> dict[str, Any]:
    """Force and state of a support in one case, and the greatest utilization of its checks."""
    return {
        "along_N": number(result.push),
        "across_N": number(np.linalg.norm(result.friction)),
        "state": state_word(result),
        "utilization": None if worst is None else number(worst.utilization),
        "check": None if worst is None else worst.check,
    }


def _sized_dict(each: Sized) -> dict[str, Any]:
    found: dict[str, Any] = {"support": each.support.name}
    if each.block is not None:
        needs = each.block
        return {
            **found,
            "bearing_area_m2": needs.bearing_area,
            "mass_kg": needs.mass,
            "volume_m3": needs.volume,
            "drawn_N": number(needs.force),
            "holds_at": None if needs.size is None else _block_size_dict(needs.size),
        }
    return {
        **found,
        "least": None if each.least is None else each.least.size,
        "tried": [
            {
                "size": tried.size,
                "area_m2": tried.area,
                "holds": tried.holds,
                "governing_check": None if tried.governing is None else tried.governing.check,
                "utilization": None if tried.governing is None else number(tried.governing.utilization),
            }
            for tried in each.tried
        ],
    }


def _block_size_dict(size: BlockSize) -> dict[str, Any]:
    """A block that holds when entered."""
    return {
        "length_m": size.length,
        "width_m": size.width,
        "height_m": size.height,
        "mass_kg": size.mass,
        "base_pressure_Pa": number(size.base_pressure),
        "governing_check": size.governing.check,
        "utilization": number(size.governing.utilization),
    }


def comparison_csv(compared: Comparison) -> str:
    """One row per option, case and support: force, state, and what the case's worst check is; SI, unit in the key."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(
        ["option", "verdict", "case", "utilization", "check", "where", "support", "kind", "state", "along_N", "Fx_N", "Fy_N", "Fz_N",
         "joint_moment_Nm", "pipe_moment_Nm", "movement_m", "joint_axial_N", "joint_shear_N", "joint_torsion_Nm",
         "joint_bending_Nm"]
    )  # fmt: skip
    for option in compared.options:
        if option.assessment is None:
            writer.writerow([option.name, "not judged", *[""] * 18])
            continue
        for name, case in option.assessment.cases.items():
            worst = max((p for p in option.checks if p[0] == name), key=lambda p: float(p[1].utilization), default=None)
            used = ["", "", ""] if worst is None else [number(worst[1].utilization), worst[1].check, worst[1].where]
            lead = [option.name, option.assessment.verdict, name, *used]
            on_joint = (option.joint_axials, option.joint_shears, option.joint_torsions, option.joint_bendings)
            peaks = (
                each.get(name) for each in (option.joint_moments, option.pipe_moments, option.movements, *on_joint)
            )
            left = ["" if value is None else number(value) for value in peaks]
            for result in case.supports.values():
                force = [number(part) for part in result.force]
                writer.writerow(
                    [
                        *lead,
                        result.support.name,
                        result.support.kind,
                        state_words(result),
                        number(result.push),
                        *force,
                        *left,
                    ]
                )
            if not case.supports:
                writer.writerow([*lead, *[""] * 7, *left])
    return out.getvalue()
