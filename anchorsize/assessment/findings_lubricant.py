"""What a person should notice in a nut factor: that the lubricant named beside it has another."""

from __future__ import annotations

import re

import numpy as np

from anchorsize.assessment.results import Finding
from anchorsize.reference import load
from anchorsize.reference.tables import Row, figure_or_none
from anchorsize.study import Joint, Study, Tightening
from anchorsize.units import figures

OFF = 0.15  # share beyond the tabled nut factors of a lubricant from which one is doubted: common practice, no source
NUT_FACTORS = "nut_factors"
_ANTI_SEIZE = ("anti-seize", "anti-seize paste", "nickel or copper anti-seize on B7/L7 flange studs")
_STAINLESS_DRY = ("stainless 302, dry",)
_DRY = ("dry plain steel", "plain steel dry", "bare steel", "not lubricated", "zinc plated, dry")
_NO_RUST = r"(?<!\bno )(?<!\bnot )(?<!\bnon[ -])(?<!\banti[ -])"  # words before rust that take it back
LUBRICANTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        rf"{_NO_RUST}\b(?:rust(?:y|ed|ing)?|corroded|grit(?:ty)?|scaled)\b(?![ -]*(?:free|prevent|inhibit|proof|protect|remov))",
        ("gritty or rusty",),
    ),
    (r"\bmoly|\bmolybd|\bmos2\b", ("molybdenum lubricated flange stud", "molybdenum disulfide anti-seize")),
    (r"\bptfe\b|\bfluoropolymer", ("PTFE coated B7 flange studs", "PTFE coated studs")),
    (r"\bgraphite", ("graphite and oil",)),
    (r"\bcopper\b|\bnickel\b|\banti-? ?seiz", _ANTI_SEIZE),
    (r"\bwax", ("waxed",)),
    (r"\bextreme[ -]pressure\b", ("extreme-pressure lubricant",)),
    (r"\bphosphat", ("phosphate and oil", "phosphate coated")),
    (r"\bstainless\b.*\bdry\b|\bdry\b.*\bstainless\b", _STAINLESS_DRY),
    (r"\bun-?lubricated\b|\bnot lubricated\b|\bno lubri|\bdry\b|^\W*(?:none|nothing)\W*$", _DRY),
    (r"\boil(ed|y)?\b", ("machine oil", "lubricated")),
    (r"\bgreas(?:e|ed|y)\b|\blubricated\b", ("lubricated", "extreme-pressure lubricant")),
    (r"\bzinc[ -]flake", ("zinc flake coating", "zinc flake coating, dry")),
    (r"\bcadmium", ("cadmium plated", "cadmium plated, dry")),
    (r"\bblack oxide", ("black oxide, dry",)),
    (r"\b(?:black|as-received) steel\b", ("as-received or black steel, not plated",)),
    (r"\bgalvani[sz]ed\b", ("hot-dip galvanized",)),
    (r"\bzinc\b", ("zinc plated", "zinc plated, dry")),
)
"""Words of a lubricant, as a pattern, and the conditions of table nut_factors that they name; the first that is found counts."""


STAINLESS = re.compile(r"\bA[1-5]-\d{2,3}\b|\bB8", re.IGNORECASE)
"""Classes of stainless bolts: ISO 3506-1, and grades B8 of ASTM A193 and A320."""


def notice_lubricant(study: Study) -> tuple[Finding, ...]:
    """Nut factors of every joint that do not go with the lubricant named beside them, and bolts that gall where they are dry."""
    return tuple(
        finding for joint in study.joints.values() for made in (_other_friction, _galls) for finding in made(joint)
    )


def is_stainless(joint: Joint) -> bool:
    """Whether the bolts of a joint are of a class of stainless steel."""
    return joint.bolts.property_class is not None and STAINLESS.search(joint.bolts.property_class) is not None


def _galls(joint: Joint) -> list[Finding]:
    """Stainless threads that are tightened: dry ones seize before they are tight (common practice, no source)."""
    given = joint.tightening
    if given is None or not is_stainless(joint):
        return []
    (row,) = (each for each in load(NUT_FACTORS).rows if each["condition"] in _STAINLESS_DRY)
    return [
        Finding(
            "stainless bolts gall",
            None,
            f"Joint '{joint.name}': bolts of {joint.bolts.property_class} are stainless: dry they gall, and seize before they are tight. Paste "
            f"for stainless steel on threads and nut faces. Table {NUT_FACTORS} has '{row['condition']}' {_factors(row)} ({row['source']}, "
            f"{row['status']}).",
        )
    ]


def least_tabled() -> tuple[float, str]:
    """The least nut factor of the table, and its condition."""
    each = [(value, row["condition"]) for row in load(NUT_FACTORS).rows for value in _range(row)]
    return min(each)


def lubricant_rows(lubricant: str, stainless: bool = False) -> list[Row]:
    """The rows of table nut_factors for the lubricant that these words name; empty where they name none clearly.

    Dry ``stainless`` bolts have rows of their own.
    """
    named = next((conditions for words, conditions in LUBRICANTS if re.search(words, lubricant, re.IGNORECASE)), ())
    if stainless and named == _DRY:
        named = _STAINLESS_DRY
    return [row for row in load(NUT_FACTORS).rows if row["condition"] in named]


def _other_friction(joint: Joint) -> list[Finding]:
    """Nut factors that the lubricant named beside them has not, as far as the table knows: of what was found, and of the target."""
    given = joint.tightening
    if given is None:
        return []
    found = _doubted(joint, given, "target_" if given.of_target else "")
    if given.target_nut_factor is not None or given.target_lubricant is not None:
        found += _doubted(joint, given.with_target_friction, "target_")
    return found


def _doubted(joint: Joint, given: Tightening, lead: str) -> list[Finding]:
    """Those of the nut factors of the bolts that the lubricant is put on; their keys start with ``lead``."""
    if given.lubricant is None or given.nut_factor is None:
        return []
    put_on = np.ones(len(joint.bolts.numbers), dtype=np.bool_) if given.kept is None else ~given.kept
    factors = np.unique(given.factors(len(put_on))[put_on])
    found = [_doubt(joint, given.lubricant, float(factor), lead) for factor in factors]
    return [each for each in found if each is not None]


def _doubt(joint: Joint, lubricant: str, factor: float, lead: str) -> Finding | None:
    """That a nut factor lies beyond what the table has for its lubricant."""
    rows = lubricant_rows(lubricant, is_stainless(joint))
    tabled = [value for row in rows for value in _range(row)]
    if not tabled or (1.0 - OFF) * min(tabled) <= factor <= (1.0 + OFF) * max(tabled):
        return None
    nearest, farthest = (max(tabled), min(tabled)) if factor > max(tabled) else (min(tabled), max(tabled))
    shares = [f"{abs(factor / value - 1.0):.0%}" for value in (nearest, farthest) if np.isfinite(value)]
    by = " to ".join(dict.fromkeys(shares)) if np.isfinite(farthest) else f"at least {shares[0]}"
    does = f"pulls {by} {'harder' if factor > nearest else 'less'} than judged here"
    told = "; ".join(
        dict.fromkeys(f"'{row['condition']}' {_factors(row)} ({row['source']}, {row['status']})" for row in rows)
    )
    return Finding(
        "nut factor is not the lubricant's",
        None,
        f"Joint '{joint.name}': {lead}nut_factor {figures(factor, 3)} does not go with {lead}lubricant '{lubricant}': by table "
        f"{NUT_FACTORS} the same torque {does}. Give the {lead}nut_factor of the lubricant in use. The table has {told}.",
        doubtful=True,
    )


def _range(row: Row) -> list[float]:
    """The nut factors of a row; one that prints a lower bound alone has no upper one."""
    values = [value for column in ("low", "typical", "high") if (value := figure_or_none(row, column)) is not None]
    return [*values, np.inf] if _is_lower_bound(row) else values


def _is_lower_bound(row: Row) -> bool:
    return bool(row["low"]) and not row["typical"] and not row["high"]


def _factors(row: Row) -> str:
    """The nut factor of a row as it is printed."""
    if _is_lower_bound(row):
        return f"{row['low']} or more"
    return row["typical"] or " to ".join(filter(None, (row["low"], row["high"])))
