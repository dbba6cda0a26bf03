"""Sections of the check report that answer a further question: which torque would do, and which bolt is missed most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from anchorsize.assessment.checks import LAYOUT
from anchorsize.present.words import number, paragraph, quantity, table, used, wrapped
from anchorsize.studies.lost_bolt import LostBolt
from anchorsize.studies.torque import TighteningWindow
from anchorsize.units import System


def windows_text(windows: Sequence[TighteningWindow], width: int, system: System) -> list[str]:
    """One section on the tightening that makes every check decided by preload hold, or on why none does."""
    if not windows:
        return []
    lines = ["Tightening that would do"]
    for found in windows:
        value, kind = (found.preload, "force") if found.torque is None else (found.torque, "moment")
        what = "preload" if found.torque is None else "torque"
        given = quantity(value, kind, system)
        if not found.exists:
            reason = found.least_by or "nothing"
            text = f"joint '{found.joint}': no {what} makes every check hold: {reason} wants more than "
            text += f"{found.greatest_by or 'the strength of the bolts'} allows (given: {given})"
        else:
            least, greatest = (quantity(value * end, kind, system) for end in (found.least, found.greatest))
            text = f"joint '{found.joint}': {what} from {least} ({found.least_by or 'nothing asks for more'}) to {greatest} "
            text += (
                f"({found.greatest_by or 'tensile strength of the bolts'}), scatter and loss included; given: {given}"
            )
        lines.append(paragraph(text, width))
    lines.append(
        paragraph("It counts the checks that preload decides, over the whole ring; no torque mends the others.", width)
    )
    return ["\n".join(lines)]


def windows_dict(windows: Sequence[TighteningWindow]) -> dict[str, Any]:
    """The same by joint: torque in N·m or preload in N, null where that end does not exist."""
    return {
        found.joint: {
            "exists": found.exists,
            "torque_least_Nm": _end(found.torque, found.least),
            "torque_greatest_Nm": _end(found.torque, found.greatest),
            "preload_least_N": _end(found.preload, found.least),
            "preload_greatest_N": _end(found.preload, found.greatest),
            "least_by": found.least_by,
            "greatest_by": found.greatest_by,
        }
        for found in windows
    }


def _end(value: float | None, multiple: float) -> float | None:
    return None if value is None or math.isinf(multiple) else number(value * multiple)


def losses_text(losses: Sequence[LostBolt]) -> list[str]:
    """A table of the joint with each bolt lost, worst first; what the loads do stands beside where spacing governs."""
    if not losses:
        return []
    rows = [
        [str(row.bolt), row.check, wrapped(row.case, 24), used(row.utilization), "holds" if row.holds else "FAILS"]
        for row in losses
    ]
    text = table(rows, ["lost bolt", "check that governs", "case", "utilized", ""], left=3)
    parts = [f"One bolt lost, worst first\n{text}"]
    beside = [(row.bolt, row.under_load) for row in losses if row.under_load is not None]
    if any(row.check in LAYOUT for row in losses) and beside:
        beside.sort(key=lambda pair: (-pair[1].utilization, pair[0]))
        rows = [[str(bolt), top.check, wrapped(top.case, 24), used(top.utilization)] for bolt, top in beside]
        text = table(rows, ["lost bolt", "check that governs", "case", "utilized"], left=3)
        parts.append(f"One bolt lost, of the checks under load\n{text}")
    return parts


def losses_dict(losses: Sequence[LostBolt]) -> list[dict[str, Any]]:
    """The same as rows."""
    return [
        {
            "joint": row.joint,
            "bolt": row.bolt,
            "case": row.case,
            "check": row.check,
            "utilization": number(row.utilization),
            "holds": row.holds,
            "under_load": None
            if row.under_load is None
            else {
                "case": row.under_load.case,
                "check": row.under_load.check,
                "utilization": number(row.under_load.utilization),
            },
        }
        for row in losses
    ]
