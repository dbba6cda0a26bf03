"""Bolts in service far from room temperature: what of the strength of their class is left when hot, and where cold makes them brittle.

The strengths of a class are those at room temperature, and bolt proof and the torque windows take them. So does the twist of tightening, and
rightly: bolts are tightened cold. In service they are taken to be as hot as the fluid: they may be cooler, not hotter. Where the file gives
a proof strength of its own nothing is said.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.reference import HotShare, hot_share, property_class
from anchorsize.study import Joint, Study
from anchorsize.units import figures, show
from anchorsize.units.kinds import System

HOT_STRENGTH = "strength of hot bolts"
BRITTLE = "brittle bolts"
NOTICED = 0.95  # share of the strength left from which on nothing is told: common practice, no source
HOT = 353.15  # K: up to here nothing is told of a class of which no share is tabled; common practice, no source
NOT_KNOWN = 423.15  # K: over this the verdict is doubted where no share is tabled; common practice, no source
EXACT = 6  # decimals of a kelvin, so that what is converted meets the limit that it is written as
TABLE = "bolt_strength_hot"
PROOF, BREAKING = "bolt proof", "bolt breaking"

# Least temperature [K] at which bolts are commonly used, by the specification and class; both from memory. Others are not judged here.
_COLD = (
    (re.compile(r"^ISO 898-1 "), 223.15),  # -50 °C
    (re.compile(r"^(?:ASTM A193M? B7|ASTM A307 |ASTM (?:F3125|A325 .*) A|SAE J429 )"), 228.15),  # -45 °C
)


@dataclass(frozen=True)
class HotBolts:
    """Bolts of a class whose strength in service is not that at room temperature.

    ``temperature`` [K] is the fluid's, ``share`` [-] what of the yield strength is left then, None where nothing is known of it, and
    ``tabled`` its table row, None where the class has none.
    """

    joint: str
    grade: str
    temperature: float
    share: float | None
    tabled: HotShare | None
    yields: bool  # whether its yield strength is known, else its tensile strength alone

    @property
    def unknown(self) -> bool:
        """Whether so little is known that the verdict is in doubt."""
        return self.share is None and (self.tabled is not None or self.temperature > NOT_KNOWN)

    @property
    def check(self) -> str:
        """The check that holds the pull in these bolts against their class."""
        return PROOF if self.yields else BREAKING


def hot_bolts(study: Study, joint: Joint) -> HotBolts | None:
    """The bolts of a joint where they are weaker in service than at room temperature, or may be; None where that is of no account.

    None also where no strength of a class is asked for: without a tightening, with a proof strength in the file, without a temperature, and
    where every case is a test of its own, which is run cold.
    """
    bolts, hottest = joint.bolts, study.fluid.temperature
    if hottest is None or joint.tightening is None or bolts.property_class is None or bolts.proof_given:
        return None
    if not any(_in_service(study, name) for name in study.cases):
        return None
    temperature = round(float(np.max(hottest)), EXACT)
    tabled = hot_share(bolts.property_class, temperature)
    share = None if tabled is None else tabled.share
    if temperature <= HOT if share is None else share >= NOTICED:
        return None
    return HotBolts(
        joint.name,
        bolts.property_class,
        temperature,
        share,
        tabled,
        bolts.proof_strength is not None or bolts.yield_strength is not None,
    )


def all_hot_bolts(study: Study) -> list[HotBolts]:
    """Those of every joint."""
    return [found for joint in study.joints.values() if (found := hot_bolts(study, joint)) is not None]


def with_hot_rows(study: Study) -> Study:
    """The study with the table rows that tell what strength its hot bolts have left."""
    rows = dict.fromkeys(found.tabled.provenance for found in all_hot_bolts(study) if found.tabled is not None)
    more = tuple(row for row in rows if row not in study.provenance)
    return replace(study, provenance=(*study.provenance, *more)) if more else study


def notice_hot_bolts(study: Study, cases: dict[str, CaseResult]) -> tuple[Finding, ...]:
    """What is left of the strength of hot bolts, doubtful where bolt proof holds without it alone, and bolts that cold makes brittle."""
    return (
        *(_hot(study, found, cases) for found in all_hot_bolts(study)),
        *(finding for joint in study.joints.values() for finding in _brittle(study, joint)),
    )


def holds_only_cold(found: HotBolts, uses: Mapping[str, float]) -> list[str]:
    """The cases in service in which bolt proof, of these utilizations by case, holds at room temperature and not with what is left."""
    share = found.share
    return [] if share is None else [name for name, use in uses.items() if use <= 1.0 < use / share]


def said_of_candidate(study: Study, name: str, uses: Mapping[tuple[str, str, str], float]) -> tuple[str, ...]:
    """What is to be said beside bolts of a joint that are offered as holding with these utilizations by (case, check, where)."""
    joint, told = study.joints[name], []
    found = hot_bolts(study, joint)
    if found is not None:
        at = show(found.temperature, "temperature", study.units)
        if found.share is None:
            told.append(
                f"how strong class {found.grade} is at {at} is not known; {found.check} takes its strength at room temperature"
            )
        elif holds_only_cold(found, in_service(study, uses, name)):
            told.append(
                f"class {found.grade} holds {PROOF} only at room temperature, NOT with the {found.share:.0%} of its strength left at {at}"
            )
    if _too_cold(study, joint) is not None:
        told.append(f"class {joint.bolts.property_class} may be brittle as cold as the fluid is; that is not judged")
    return tuple(told)


def in_service(study: Study, uses: Mapping[tuple[str, str, str], float], joint: str) -> dict[str, float]:
    """Of utilizations by (case, check, where), those of bolt proof of a joint by case, without the cases that are tests, run cold."""
    return {
        name: use
        for (name, check, where), use in uses.items()
        if check == PROOF and where == joint and _in_service(study, name)
    }


def _in_service(study: Study, case: str) -> bool:
    """Whether a case is none of those with a rating factor: tests, which are run cold."""
    return study.cases[case].rating_factor is None


def _hot(study: Study, found: HotBolts, cases: dict[str, CaseResult]) -> Finding:
    made = {
        (name, check.check, check.where): float(check.utilization)
        for name, case in cases.items()
        for check in case.checks
    }
    uses = in_service(study, made, found.joint)
    fails = holds_only_cold(found, uses)
    strengths = "proof and yield strength" if found.yields else "the tensile strength"
    verb = "are those" if found.yields else "is that"
    counts = "bolt proof and the upper end of the torque window do" if found.yields else f"{BREAKING} does"
    return Finding(
        HOT_STRENGTH,
        None,
        f"Joint '{found.joint}': {strengths} of class {found.grade} {verb} at room temperature. {_left(found, study.units)}: {counts} not "
        f"count that, and preload relaxes more when hot.{_then(found, uses, fails)} Write bolts / proof_strength beside class, that at "
        "temperature.",
        doubtful=bool(fails) or found.unknown,
    )


def _left(found: HotBolts, system: System) -> str:
    """What is left of the strength at the temperature of the fluid, or why nobody knows."""
    at = f"{show(found.temperature, 'temperature', system)}, which the bolts have at most,"
    if found.tabled is None:
        return f"What is left at {at} is not known here (no row in table {TABLE})"
    row = found.tabled.provenance
    if found.share is None:
        last = show(found.tabled.last, "temperature", system)
        return f"What is left at {at} is not known here (table {TABLE} ends at {last} for it)"
    return f"At {at} some {found.share:.0%} is left (table {TABLE}, row {row.row}, {row.status.replace('-', ' ')})"


def _then(found: HotBolts, uses: Mapping[str, float], fails: list[str]) -> str:
    """What bolt proof would be with the strength left, in the worst case; empty where it is not made or nothing is known."""
    if found.share is None or not uses:
        return ""
    among = fails or list(uses)
    worst = max(among, key=lambda name: uses[name])
    use = uses[worst]
    fail = ", which FAILS" if fails else ""
    return f" With that {PROOF} in '{worst}' would be {figures(use / found.share)} in place of {figures(use)}{fail}."


def _too_cold(study: Study, joint: Joint) -> float | None:
    """The least temperature [K] at which such bolts are commonly used, where they are colder; None where they are not."""
    coldest, grade = study.fluid.temperature, joint.bolts.property_class
    if coldest is None or grade is None:
        return None
    name = property_class(grade, float(np.ravel(joint.bolts.diameter)[0])).designation
    least = next((least for known, least in _COLD if known.match(name)), None)
    return least if least is not None and round(float(np.min(coldest)), EXACT) < least else None


def _brittle(study: Study, joint: Joint) -> list[Finding]:
    """Bolts colder than such bolts are commonly used, which nothing here judges."""
    least, coldest = _too_cold(study, joint), study.fluid.temperature
    if least is None or coldest is None:
        return []
    return [
        Finding(
            BRITTLE,
            None,
            f"Joint '{joint.name}': at {show(float(np.min(coldest)), 'temperature', study.units)} bolts of class {joint.bolts.property_class} "
            f"may be brittle, and are not judged for that: they are commonly used down to {show(least, 'temperature', study.units)} (from "
            "memory). Take bolts made for the cold, as A320 L7 or stainless ones.",
            doubtful=True,
        )
    ]
