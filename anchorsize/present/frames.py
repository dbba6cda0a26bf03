"""Pandas frames of an assessment (SI, unit in the column name) and how it shows itself in a notebook."""

from __future__ import annotations

from html import escape

import numpy as np
import pandas as pd

from anchorsize.assessment.results import Assessment
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.machine import check_dict


def bolts_frame(assessment: Assessment) -> pd.DataFrame:
    """One row per case, joint and bolt that is there."""
    columns = ["case", "joint", "bolt", "angle_deg", "external_tension_N", "shear_N"]
    rows = [
        (
            case.name,
            name,
            number,
            np.degrees(bolts.angle[i]),
            float(joint.external_tension[i]),
            float(joint.bolt_shear[i]),
        )
        for case in assessment.cases.values()
        for name, joint in case.joints.items()
        for bolts in (assessment.study.joints[name].bolts,)
        for i, number in enumerate(bolts.numbers)
        if bolts.present[i]
    ]
    return pd.DataFrame(rows, columns=columns)


def checks_frame(assessment: Assessment) -> pd.DataFrame:
    """One row per case and check, with the keys of the machine output."""
    rows = [{"case": case.name, **check_dict(check)} for case in assessment.cases.values() for check in case.checks]
    return pd.DataFrame(rows)


def loads_frame(assessment: Assessment) -> pd.DataFrame:
    """One row per case and source, with the reaction as the last row of each case."""
    columns = [
        "case",
        "source",
        *(f"{kind}{axis}_{unit}" for kind, unit in (("F", "N"), ("M", "Nm")) for axis in "xyz"),
    ]
    rows = []
    for case in assessment.cases.values():
        rows += [(case.name, load.source, *load.force, *load.moment) for load in case.loads]
        rows.append((case.name, "reaction", *case.reaction_force, *case.reaction_moment))
    return pd.DataFrame(rows, columns=columns)


def notebook_html(assessment: Assessment) -> str:
    """A short page for a notebook: title, verdict with what it rests on, the checks."""
    checks = assessment.checks()
    shown = checks[["case", "check", "where", "bolt", "utilization", "margin", "holds"]] if len(checks) else checks
    return (
        f"<h3>{escape(assessment.study.title)}</h3>"
        f"<p>Verdict: <b>{assessment.verdict}</b> for option '{escape(assessment.option)}'. {escape(DEFERRAL)}</p>"
        + shown.to_html(index=False, escape=True)
    )
