"""What a person should notice in how the bolts are tightened: a loose one, a gasket that may stay, a friction that its lubricant has not."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.clamping import clamping
from anchorsize.assessment.findings_flow import listed
from anchorsize.assessment.refusing import Refused
from anchorsize.assessment.results import CaseResult, Finding, StudyError
from anchorsize.reference import load
from anchorsize.reference.tables import Row, figure_or_none
from anchorsize.study import Array, Joint, Study, Tightening
from anchorsize.units import System, figures, show

GASKET_NOT_CHECKED = "gasket not checked"
GASKET_OF_THE_FILE = "gasket of the file only"
TARGET_NOT_REACHED = "target not reached"
ABOUT_THE_GASKET = (GASKET_NOT_CHECKED, GASKET_OF_THE_FILE)  # kinds that stand beside the verdict
OUT_OF_SERVICE_FIRST = "In service: take it out of service first (pressure off, locked out)."
SEAL = ("joint lift-off", "gasket seating", "gasket in service")
CRUSHING = ("gasket crushing",)
ALIKE = 1e-9  # relative difference of tightenings up to which it is rounding
FAR_LOOSER = 0.8  # of the median of the others, under which a bolt is called far looser: common practice, no source
OFF = 0.15  # share beyond the tabled nut factors of a lubricant from which one is doubted: common practice, no source
NUT_FACTORS = "nut_factors"
_ANTI_SEIZE = ("anti-seize", "anti-seize paste", "nickel or copper anti-seize on B7/L7 flange studs")
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
    (r"\bstainless\b.*\bdry\b|\bdry\b.*\bstainless\b", ("stainless 302, dry",)),
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


def notice_tightening(study: Study, cases: Mapping[str, CaseResult]) -> tuple[Finding, ...]:
    """Findings about torque, preload, friction and what they do to the gasket of every joint."""
    joints = study.joints.values()
    return (
        *(finding for joint in joints for finding in _loose(joint, study.units)),
        *(finding for joint in joints for finding in _gasket_not_checked(joint, cases)),
        *(finding for joint in joints for finding in _of_its_gasket_only(joint, study)),
        *(finding for joint in joints for finding in _far_looser(joint)),
        *(finding for joint in joints for finding in _target_not_reached(joint)),
        *(finding for joint in joints for finding in _other_friction(joint)),
    )


def _gasket_not_checked(joint: Joint, cases: Mapping[str, CaseResult]) -> list[Finding]:
    """A torque judged without its gasket. A gasket used before is told by the verdict: its seal is needed, and nothing gives it."""
    if joint.tightening is None or not all(joint.name in case.joints for case in cases.values()):
        return []
    unmade: dict[str, list[str]] = {}
    supply: list[str] = []
    for name, case in cases.items():
        for item in case.not_checked:
            if item.where == joint.name and item.check in (*SEAL, *CRUSHING) and not item.needed:
                unmade.setdefault(item.check, []).append(name)
                supply.append(item.supply)
    if not unmade:
        return []
    seal, crushing = [check for check in SEAL if check in unmade], "gasket crushing" in unmade
    some = sorted({name for names in unmade.values() for name in names}, key=list(cases).index)
    within = "" if len(some) == len(cases) else f" in {listed(some)}"
    of_seal = f"for its seal ({', '.join(seal)})"
    if seal and crushing:
        what, harm = f", neither {of_seal} nor for crushing,", "too little torque leaks, too much crushes it"
    elif seal:
        what, harm = f" {of_seal}", "too little torque leaks"
    else:
        what, harm = " for crushing", "too much torque crushes it"
    wanted = _wanted_of_gasket(joint, seal, crushing, supply)
    return [
        Finding(
            GASKET_NOT_CHECKED,
            None,
            f"THE GASKET IS NOT CHECKED{what} at joint '{joint.name}'{within}: {harm}. Supply {wanted}.",
        )
    ]


def _wanted_of_gasket(joint: Joint, seal: Sequence[str], crushing: bool, supply: Sequence[str]) -> str:
    """What the checks of the gasket lack, by the file's keys."""
    if joint.gasket is not None:
        return ", ".join(dict.fromkeys(supply))
    wanted = ["gasket with inside, outside, m and y"] if seal else ["gasket"]
    return " and ".join([*wanted, *(["allow / gasket_pressure_greatest"] if crushing else [])])


def _of_its_gasket_only(joint: Joint, study: Study) -> list[Finding]:
    """A new gasket in the place of one used before: that of the file is judged, whatever is at hand."""
    ring = joint.gasket
    if ring is None or not ring.renewed or joint.tightening is None:
        return []
    return [
        Finding(
            GASKET_OF_THE_FILE,
            None,
            f"Joint '{joint.name}': the torque holds ONLY for a new gasket of the figures in the file ({gasket_figures(joint, study)}). "
            "Another kind or size wants its own calculation.",
        )
    ]


def gasket_figures(joint: Joint, study: Study) -> str:
    """The gasket that a torque is judged for: size, m, y and what crushes it."""
    ring, system = joint.gasket, study.units
    if ring is None:
        return ""
    parts = [f"ring {show(float(ring.inside), 'length', system)} to {show(float(ring.rim), 'length', system)}"]
    if ring.thickness is not None:
        parts.append(f"{show(float(ring.thickness), 'length', system)} thick")
    if ring.m is not None:
        parts.append(f"m {figures(float(ring.m), 3)}")
    if ring.y is not None:
        parts.append(f"y {show(float(ring.y), 'stress', system)}")
    limits = {
        float(allowed.value)
        for case in study.cases.values()
        if (allowed := in_force(study, joint, case).gasket_pressure_greatest) is not None
    }
    if limits:
        parts.append(f"crushed over {show(min(limits), 'stress', system)}")
    return ", ".join(parts)


def gasket_of_unknown_age(study: Study) -> list[Finding]:
    """Joints found in service of which nobody says whether the gasket stays."""
    return [
        Finding(
            "gasket taken as new",
            None,
            f"Joint '{name}': NOT SAID whether the gasket stays; gasket taken as new: write gasket / condition: new, reused (a new one "
            "goes in) or in_place (it stays, not opened).",
        )
        for name, joint in study.joints.items()
        if gasket_not_said(joint)
    ]


def gasket_not_said(joint: Joint) -> bool:
    """Whether a joint was found in service, with bolts gone or torques as found, and nothing is said of the gasket in it."""
    ring = joint.gasket
    return ring is not None and ring.condition is None and (bool(joint.bolts.missing) or _as_found(joint))


def _as_found(joint: Joint) -> bool:
    """Whether the tightening was found rather than wanted: a target beside it, or bolts of one size that differ."""
    each, there, sizes = _given(joint), joint.bolts.present, np.array(joint.bolts.sizes)
    if joint.tightening is not None and joint.tightening.target_torque is not None:
        return True
    if each is None:
        return False
    alike = [each[there & (sizes == size)] for size in dict.fromkeys(joint.bolts.sizes)]
    return any(same.size > 0 and np.ptp(same) > ALIKE * np.max(same) for same in alike)


def _given(joint: Joint) -> Array | None:
    """What each bolt is tightened to (n,) [N·m or N], None where the file says nothing of it."""
    values = None if joint.tightening is None else joint.tightening.values
    return None if values is None else np.broadcast_to(values, len(joint.bolts.numbers))


def numbered(bolts: tuple[int, ...]) -> str:
    """`bolt 3`, `bolts 3 and 4`, `bolts 3, 4 and 5`."""
    if len(bolts) == 1:
        return f"bolt {bolts[0]}"
    return f"bolts {', '.join(map(str, bolts[:-1]))} and {bolts[-1]}"


def without_clamp(joint: Joint) -> tuple[int, ...]:
    """The bolts that are there and clamp nothing: the loose ones, or all where nothing in the joint is tightened yet."""
    each, there = _given(joint), joint.bolts.present
    if each is None or np.any(each[there] > 0.0):
        return joint.loose
    return tuple(joint.bolts.numbers[i] for i in np.flatnonzero(there))


def _loose(joint: Joint, system: System) -> list[Finding]:
    """Bolts without clamp: loose for a reason, and judged as carrying nothing, unless nothing in the joint is tightened yet."""
    loose, each = without_clamp(joint), _given(joint)
    if not loose or each is None or joint.tightening is None:
        return []
    one, kind = len(loose) == 1, "moment" if joint.tightening.preload is None else "force"
    found: dict[float, list[int]] = {}
    for bolt in loose:
        found.setdefault(float(each[joint.bolts.numbers.index(bolt)]), []).append(bolt)
    told = {show(value, kind, system) if value > 0.0 else "0": bolts for value, bolts in found.items()}
    at = [value if len(told) == 1 else f"{numbered(tuple(bolts))} at {value}" for value, bolts in told.items()]
    them, has = ("it", "has") if one else ("them", "have")
    lead = (
        f"Joint '{joint.name}': {numbered(loose)} {'is' if one else 'are'} LOOSE (found{' at' if len(told) == 1 else ''} {', '.join(at)}) and "
        f"{has} no clamp{' to speak of' if max(found) > 0.0 else ''}"
    )
    if not joint.loose:
        return [Finding("loose bolts", None, f"{lead}. Tighten {them} before pressure comes on.")]
    missing = "a missing one" if one else "missing ones"
    does = f"judged as carrying nothing, like {missing}. {_find_out_why(them, one)}{'' if joint.bolts.missing else f' {OUT_OF_SERVICE_FIRST}'}"
    return [Finding("loose bolts", None, f"{lead}; {does}")]


def _find_out_why(them: str, one: bool) -> str:
    """What a loose bolt asks for before anyone tightens the reason away. Common practice, no source."""
    return (
        f"Find out why before {'it is' if one else 'they are'} tightened again: bolt stretched, nut or thread damaged, gasket crushed "
        f"there? Inspect {them}, or replace {them}."
    )


def far_looser(joint: Joint) -> dict[int, float]:
    """The bolts tightened to under :data:`FAR_LOOSER` of the median of the others of their size, with that share; loose ones aside."""
    each, carrying = _given(joint), joint.carrying
    if each is None:
        return {}
    found = {}
    for i in np.flatnonzero(carrying & (each > 0.0)):
        others = [
            float(each[k]) for k in np.flatnonzero(carrying) if k != i and joint.bolts.sizes[k] == joint.bolts.sizes[i]
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
    one = len(loose) == 1
    return [
        Finding(
            "bolt far looser",
            None,
            f"Joint '{joint.name}', FAR LOOSER than the others: {told} of their median. {_find_out_why('it' if one else 'them', one)}",
        )
    ]


def only_loosened(joint: Joint) -> tuple[int, ...]:
    """The bolts that get to the target only where their nuts are loosened first.

    A bolt that is tight already keeps what it has where the target pulls it less, and where the target counts on another lubricant or
    friction than was found, for neither gets under a tight nut. Bolts found loose or far looser come out to be inspected in any case.
    """
    given = joint.tightening
    if given is None or given.target_torque is None:
        return ()
    loose = far_looser(joint)
    tight = np.array([number not in loose for number in joint.bolts.numbers]) & joint.carrying
    found, target, each = _mean_preload(joint, given), _mean_preload(joint, given.at_target), _given(joint)
    if other_threads(given) and each is not None:
        held = tight & (each > 0.0)
    elif found is not None and target is not None:
        held = tight & (found > (1.0 + ALIKE) * target)
    else:
        return ()
    return tuple(joint.bolts.numbers[i] for i in np.flatnonzero(held))


def held_back(joint: Joint) -> tuple[int, ...]:
    """Those bolts where the gasket stays, so that no tight nut is loosened: the target cannot be reached on them."""
    stays = joint.gasket is not None and joint.gasket.condition == "in_place"
    return only_loosened(joint) if stays else ()


def other_threads(given: Tightening) -> bool:
    """Whether the target counts on another friction or lubricant than was found."""
    factor, lubricant = given.target_nut_factor, given.target_lubricant
    return (factor is not None and factor != given.nut_factor) or (
        lubricant is not None and lubricant.casefold() != (given.lubricant or "").casefold()
    )


def _mean_preload(joint: Joint, given: Tightening) -> Array | None:
    """Mean preload of each bolt (n,) [N] by a tightening; None where nothing turns its torque into one."""
    try:
        clamped = clamping(replace(joint, gasket=None, tightening=given), Refused(()))
    except StudyError:
        return None
    return None if clamped is None else clamped.mean


def why_held_back(joint: Joint) -> str:
    """Why the target of a joint cannot be reached, and who decides what is done; for :func:`held_back` bolts."""
    given, bolts = joint.tightening, held_back(joint)
    one, other = len(bolts) == 1, given is not None and other_threads(given)
    if other:
        why = (
            "is tight, and the target counts on other friction or lubricant than was found, which does not get under a tight nut"
            if one
            else "are tight, and the target counts on other friction or lubricant than was found, which does not get under tight nuts"
        )
        way = "a target for the threads as found"
    else:
        why = f"{'was' if one else 'were'} found tighter than the target"
        way = "a target that no bolt exceeds"
    return (
        f"joint '{joint.name}': the target cannot be reached without loosening nuts, and the gasket stays: {numbered(bolts)} {why}. The "
        f"engineer decides: one bolt at a time by a written procedure, a new gasket, or {way}"
    )


def _target_not_reached(joint: Joint) -> list[Finding]:
    bolts = held_back(joint)
    if not bolts:
        return []
    return [
        Finding(
            TARGET_NOT_REACHED,
            None,
            f"Joint '{joint.name}': THE TARGET TORQUE CANNOT BE REACHED on {numbered(bolts)} without loosening {'it' if len(bolts) == 1 else 'them'}, "
            "and the gasket stays: no repair is judged, and no torque is given.",
        )
    ]


def lubricant_rows(lubricant: str) -> list[Row]:
    """The rows of table nut_factors for the lubricant that these words name; empty where they name none clearly."""
    named = next((conditions for words, conditions in LUBRICANTS if re.search(words, lubricant, re.IGNORECASE)), ())
    return [row for row in load(NUT_FACTORS).rows if row["condition"] in named]


def _other_friction(joint: Joint) -> list[Finding]:
    """Nut factors that the lubricant named beside them has not, as far as the table knows: of what was found, and of the target."""
    given = joint.tightening
    if given is None:
        return []
    found = [_doubted(joint, given, "")]
    if given.target_nut_factor is not None or given.target_lubricant is not None:
        found.append(_doubted(joint, given.with_target_friction, "target_"))
    return [each for each in found if each is not None]


def _doubted(joint: Joint, given: Tightening, lead: str) -> Finding | None:
    """That a nut factor lies beyond what the table has for its lubricant; their keys start with ``lead``."""
    if given.lubricant is None or given.nut_factor is None:
        return None
    rows, factor = lubricant_rows(given.lubricant), float(np.asarray(given.nut_factor))
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
        f"Joint '{joint.name}': {lead}nut_factor {figures(factor, 3)} does not go with {lead}lubricant '{given.lubricant}'. Table {NUT_FACTORS} "
        f"has {told}: with these the same torque {does}. Give the {lead}nut_factor of the lubricant in use.",
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
