"""Bolts to choose from as machine output."""

from __future__ import annotations

from typing import Any

import numpy as np

from anchorsize.assessment.statements import DEFERRAL, assumptions
from anchorsize.present.machine import FORMAT, findings_list, not_checked_list, provenance_dict
from anchorsize.present.size import findings_of, no_torque_words
from anchorsize.present.size_figures import figures_dict
from anchorsize.present.windows import windows_dict
from anchorsize.present.words import number
from anchorsize.studies.size import Judged, Sized
from anchorsize.studies.size_tightening import Candidate


def size_dict(found: Sized) -> dict[str, Any]:
    """The machine output of ``size --json``."""
    shown = found.shown
    lines = assumptions(found.study, found.option) if shown is None else shown.assumptions
    return {
        "format": FORMAT,
        "title": found.study.title,
        "joint": found.joint,
        "option": found.option,
        "rank": found.rank,
        "one_bolt_missing": found.robust,
        "verdict": found.verdict,
        "ranked": [_judged_dict(each) for each in found.holding],
        "misses": [_judged_dict(each) for each in found.failing],
        "impossible": [{**_candidate_dict(candidate), "reason": reason} for candidate, reason in found.impossible],
        "no_torque": no_torque_words(found) or None,
        "first_choice": None if shown is None or not found.holding else figures_dict(found, shown),
        "tightening": windows_dict([] if found.window is None else [found.window]),
        "not_checked": not_checked_list(found.not_checked),
        "common_causes": list(found.common),
        "notes": list(found.notes),
        "warnings": findings_list(findings_of(found)),
        "assumptions": list(lines),
        "from_tables": [] if shown is None else [provenance_dict(row) for row in shown.study.provenance],
        "rests_on": DEFERRAL,
    }


def _candidate_dict(candidate: Candidate) -> dict[str, Any]:
    return {
        "count": candidate.count,
        "size": candidate.size,
        "circle_m": candidate.circle,
        "class": candidate.bolt_class,
        "preload_share": candidate.preload_share,
        "flange": candidate.flange,
    }


def _judged_dict(each: Judged) -> dict[str, Any]:
    decides, loaded = each.decides, each.loaded
    uses = {
        "utilization": decides,
        "utilization_all_there": each.governing,
        "utilization_under_load": loaded,
        "utilization_one_lost": each.lost,
        "utilization_under_load_one_lost": each.lost_loaded,
    }
    return {
        **_candidate_dict(each.candidate),
        "infinite": [key for key, value in uses.items() if value is not None and np.isinf(value.utilization)],
        "utilization": number(decides.utilization),
        "margin": number(1.0 / decides.utilization - 1.0) if decides.utilization > 0.0 else None,
        "governing_check": decides.check,
        "governing_case": decides.case,
        "governing_where": decides.where,
        "checks_failing": len(each.failing),
        "utilization_all_there": number(each.governing.utilization),
        "utilization_under_load": None if loaded is None else number(loaded.utilization),
        "governing_check_under_load": None if loaded is None else loaded.check,
        "utilization_one_lost": None if each.lost is None else number(each.lost.utilization),
        "utilization_under_load_one_lost": None if each.lost_loaded is None else number(each.lost_loaded.utilization),
        "governing_check_one_lost": None if each.lost is None else each.lost.check,
        "worst_lost_bolt": each.lost_bolt,
        "held": list(each.held),
        "torque_Nm": each.torque,
        "preload_N": each.preload,
        "bolts_mass_kg": each.mass,
        "shank_area_m2": each.shank_area,
    }
