"""The envelope over the operating cases as text and as machine output."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from anchorsize.present.words import number, quantity
from anchorsize.studies.envelope import Extremes
from anchorsize.units import System


def envelope_text(found: Sequence[Extremes], width: int, system: System) -> str:
    """One line for the least and one for the greatest of each action, with the case that gives it."""
    lines = ["Envelope over all cases"]
    joint: str | None = None
    for each in found:
        if each.joint is not None and each.joint != joint:
            joint = each.joint
            lines.append(f"  joint '{joint}'")
        for word, value, case, bolt in (
            ("least", each.least, each.least_case, each.least_bolt),
            ("greatest", each.greatest, each.greatest_case, each.greatest_bolt),
        ):
            where = f"'{case}'" if bolt is None else f"bolt {bolt}, '{case}'"
            lead = each.action if word == "least" else ""
            line = f"  {lead:<18} {word:<8} {_shown(value, each, system):>14}  {where}"
            lines.append(textwrap.fill(line, width, subsequent_indent=" " * 46, drop_whitespace=True))
    return "\n".join(lines) + "\n"


def _shown(value: float, each: Extremes, system: System) -> str:
    """A figure with its unit; rounding noise beside the other end reads 0."""
    noise = 1e-9 * max(abs(each.least), abs(each.greatest))
    return quantity(0.0 if abs(value) <= noise else value, each.kind, system)


def envelope_dict(found: Sequence[Extremes]) -> list[dict[str, Any]]:
    """The list behind the key ``envelope``; the values end in their unit."""
    rows = []
    for each in found:
        unit = "N" if each.kind == "force" else "Nm"
        row: dict[str, Any] = {
            "action": each.action,
            "joint": each.joint,
            f"least_{unit}": number(each.least),
            "least_case": each.least_case,
            f"greatest_{unit}": number(each.greatest),
            "greatest_case": each.greatest_case,
        }
        if each.least_bolt is not None:
            row |= {"least_bolt": each.least_bolt, "greatest_bolt": each.greatest_bolt}
        rows.append(row)
    return rows
