"""The short form of ``check``: what decides, on little more than a screen, with all that it rests on."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from anchorsize.assessment import Assessment
from anchorsize.assessment.checks import LAYOUT
from anchorsize.assessment.findings_surge import NO_SURGE
from anchorsize.assessment.hot import cautions
from anchorsize.present.on_site import on_site_text
from anchorsize.present.plain_words import in_plain_words
from anchorsize.present.text import assumptions_section, from_memory, heading, verdict_text
from anchorsize.present.words import OF_A_BOUND, demand_words, is_bound, joined, paragraph, table, used_cell, wrapped


def brief_report(assessment: Assessment, width: int, further: Sequence[str] = (), asked: str = "") -> str:
    """The short form of ``check``: verdict, on site, what fails or leads in each case, what was not checked, cautions, assumptions.

    ``further`` and ``asked`` as in :func:`~anchorsize.present.text.check_report`.
    """
    unmade: dict[str, list[str]] = {}
    for item in assessment.not_checked:
        unmade.setdefault(item.where, []).append(item.words)
    without = "; ".join(f"{', '.join(checks)} of '{where}'" for where, checks in unmade.items())
    upper = [
        heading(assessment, width),
        verdict_text(assessment, width, asked=asked),
        on_site_text(assessment, width),
        _leading(assessment),
        *_bounds(assessment, width),
        *(
            textwrap.fill(w.message, width)
            for w in assessment.warnings
            if w.kind in ("pipe behind not checked", NO_SURGE)
        ),
        *further,
        textwrap.fill(f"Not checked, for want of an input: {without}.", width) if unmade else "",
    ]
    parts = [
        *upper,
        textwrap.fill(in_plain_words(" ".join(" ".join(upper).split())), width),
        "\n".join(["Cautions", *(paragraph(line, width) for line in cautions(assessment.study))]),
        assumptions_section(assessment, width),
        from_memory(assessment, width),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _bounds(assessment: Assessment, width: int) -> list[str]:
    """That the demand of what fails is a bound, where it is one."""
    found = dict.fromkeys(
        check.words
        for case in assessment.cases.values()
        for check in case.checks
        if not check.holds and is_bound(check)
    )
    return [textwrap.fill(f"{joined(list(found)).capitalize()}: {OF_A_BOUND}.", width)] if found else []


def _leading(assessment: Assessment) -> str:
    """Of every case the checks under load that fail, or the one used most; those of layout, alike in all, once."""
    groups = {name: [c for c in case.checks if c.check not in LAYOUT] for name, case in assessment.cases.items()}
    alike = [check for case in list(assessment.cases.values())[:1] for check in case.checks if check.check in LAYOUT]
    rows = []
    for name, checks in {"every case": alike, **groups}.items():
        failing = [check for check in checks if not check.holds]
        leading = sorted(failing or checks, key=lambda check: -float(check.utilization))
        for check in leading if failing else leading[:1]:
            demand, allowable = demand_words(check, assessment.study.units)
            what = check.words if len(assessment.study.joints) < 2 else f"{check.words} of '{check.where}'"
            result = "holds" if check.holds else "FAILS"
            rows.append(
                [
                    wrapped(name, 18),
                    wrapped(what, 18),
                    demand,
                    allowable,
                    used_cell(check.check, check.utilization),
                    result,
                ]
            )
    if not rows:
        return ""
    headers = ["case", "what fails,\nelse leads", "demand", "allowable", "utilized", ""]
    return table(rows, headers, left=2)
