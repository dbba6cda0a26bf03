"""What a person should notice in how the bolts are tightened: one far looser than the others, a friction that its lubricant has not."""

from __future__ import annotations

import re

import numpy as np

from anchorsize.assessment.results import Finding
from anchorsize.reference import load
from anchorsize.reference.tables import Row, figure_or_none
from anchorsize.study import Joint, Study
from anchorsize.units import figures

FAR_LOOSER = 0.8  # of the median of the others, under which a bolt is called far looser: common practice, no source
OFF = 0.15  # share beyond the tabled nut factors of a lubricant from which one is doubted: common practice, no source
NUT_FACTORS = "nut_factors"
_ANTI_SEIZE = ("anti-seize", "anti-seize paste", "nickel or copper anti-seize on B7/L7 flange studs")
_DRY = ("dry plain steel", "plain steel dry", "bare steel", "not lubricated", "zinc plated, dry")
LUBRICANTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (r"\bmoly|\bmolybd|\bmos2\b", ("molybdenum lubricated flange stud", "molybdenum disulfide anti-seize")),
    (r"\bptfe\b|\bfluoropolymer", ("PTFE coated B7 flange studs", "PTFE coated studs")),
    (r"\bgraphite", ("graphite and oil",)),
    (r"\bcopper\b|\bnickel\b|\banti-? ?seiz", _ANTI_SEIZE),
    (r"\bwax", ("waxed",)),
    (r"\bextreme[ -]pressure\b", ("extreme-pressure lubricant",)),
    (r"\bphosphat", ("phosphate and oil", "phosphate coated")),
    (r"\bstainless\b.*\bdry\b|\bdry\b.*\bstainless\b", ("stainless 302, dry",)),
    (r"\bun-?lubricated\b|\bnot lubricated\b|\bno lubri|\bdry\b", _DRY),
    (r"\boil(ed|y)?\b", ("machine oil", "lubricated")),
    (r"\bgreased?\b|\blubricated\b", ("lubricated", "extreme-pressure lubricant")),
)
"""Words of a lubricant, as a pattern, and the conditions of table nut_factors that they name; the first that is found counts."""


def notice_tightening(study: Study) -> tuple[Finding, ...]:
    """Findings about torque, preload and friction of every joint."""
    joints = study.joints.values()
    return (
        *(finding for joint in joints for finding in _far_looser(joint)),
        *(finding for joint in joints for finding in _other_friction(joint)),
    )


def far_looser(joint: Joint) -> dict[int, float]:
    """The bolts tightened to under :data:`FAR_LOOSER` of the median of the others of their size, with that share; 0 is told elsewhere."""
    given = joint.tightening
    values = None if given is None else given.preload if given.torque is None else given.torque
    if values is None:
        return {}
    each = np.broadcast_to(values, len(joint.bolts.numbers))
    found = {}
    for i in np.flatnonzero(joint.bolts.present & (each > 0.0)):
        others = [
            float(each[k])
            for k in np.flatnonzero(joint.bolts.present)
            if k != i and joint.bolts.sizes[k] == joint.bolts.sizes[i]
        ]
        middle = float(np.median(others)) if others else 0.0
        if each[i] < FAR_LOOSER * middle:
            found[joint.bolts.numbers[i]] = float(each[i]) / middle
    return found


def _far_looser(joint: Joint) -> list[Finding]:
    loose = far_looser(joint)
    if not loose:
        return []
    told = ", ".join(f"bolt {bolt} at {share:.0%}" for bolt, share in loose.items())
    them, they_are = ("it", "it is") if len(loose) == 1 else ("them", "they are")
    return [
        Finding(
            "bolt far looser",
            None,
            f"Joint '{joint.name}', FAR LOOSER than the others: {told} of their median. Find out why before {they_are} tightened again: bolt "
            f"stretched, nut or thread damaged, gasket crushed there? Inspect {them}, or replace {them}.",
        )
    ]


def lubricant_rows(lubricant: str) -> list[Row]:
    """The rows of table nut_factors for the lubricant that these words name; empty where they name none clearly."""
    named = next((conditions for words, conditions in LUBRICANTS if re.search(words, lubricant, re.IGNORECASE)), ())
    return [row for row in load(NUT_FACTORS).rows if row["condition"] in named]


def _other_friction(joint: Joint) -> list[Finding]:
    """A nut factor that the lubricant named beside it has not, as far as the table knows."""
    given = joint.tightening
    if given is None or given.lubricant is None or given.nut_factor is None:
        return []
    rows, factor = lubricant_rows(given.lubricant), float(np.asarray(given.nut_factor))
    tabled = [
        value
        for row in rows
        for column in ("low", "typical", "high")
        if (value := figure_or_none(row, column)) is not None
    ]
    if not tabled or (1.0 - OFF) * min(tabled) <= factor <= (1.0 + OFF) * max(tabled):
        return []
    nearest = max(tabled) if factor > max(tabled) else min(tabled)
    farthest = min(tabled) if factor > max(tabled) else max(tabled)
    shares = sorted({round(abs(factor / value - 1.0), 2) for value in (nearest, farthest)})
    by = " to ".join(f"{share:.0%}" for share in shares)
    does = f"pulls {by} harder than judged here" if factor > nearest else f"pulls {by} less than judged here"
    told = "; ".join(
        dict.fromkeys(f"'{row['condition']}' {_factors(row)} ({row['source']}, {row['status']})" for row in rows)
    )
    return [
        Finding(
            "nut factor is not the lubricant's",
            None,
            f"Joint '{joint.name}': nut_factor {figures(factor, 3)} does not go with lubricant '{given.lubricant}'. Table {NUT_FACTORS} "
            f"has {told}: with these the same torque {does}. Give the nut_factor of the lubricant in use.",
            doubtful=True,
        )
    ]


def _factors(row: Row) -> str:
    """The nut factor of a row as it is printed."""
    return row["typical"] or " to ".join(filter(None, (row["low"], row["high"])))
