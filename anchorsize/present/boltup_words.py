"""The sentences of the installer's sheet: verdict, what belongs to the joint, how it is taken apart."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from anchorsize import units
from anchorsize.assessment import Assessment
from anchorsize.assessment.findings_target import (
    ELSE_USED,
    OF_TABLE,
    OWN_KEYS,
    THEIR_KEYS,
    held_back,
    new_threads,
    other_threads,
)
from anchorsize.assessment.findings_tightening import OUT_OF_SERVICE_FIRST, SAY_CONDITION
from anchorsize.mechanics.momentum import STANDARD_GRAVITY
from anchorsize.present.boltup_passes import off
from anchorsize.present.preload_words import beside_allowable, proof_share
from anchorsize.present.verdict import ask_words, holds_word
from anchorsize.present.words import OF_A_BOUND, demand_words, is_bound, joined, size_words, used_by, when
from anchorsize.studies.boltup import BoltUp
from anchorsize.study import Array, Joint, Number, Tightening
from anchorsize.units import System

SYSTEMS: tuple[System, System] = ("metric", "us")
LONGEST = 150  # characters of a text of the user's on the sheet; the case file has the rest
STAYS, REPLACED = "If the gasket STAYS:", "If REPLACED:"
NO_LUBRICANT = "lubricant not stated: ask before tightening"
FIT_ONLY = "FIT ONLY when the engineer says so"
LOOSENED = "line drained, fitting held; loosen the nuts in the order below, in two rounds (first a half turn each, then free; stop if anything flows)"
FOR_THIS_FRICTION = "The torque is right for this friction only: "
K_LOWER = f"{FOR_THIS_FRICTION}with threads and nut faces so slick that K is a quarter lower, the same torque pulls a third harder."


def systems(first: System) -> tuple[System, ...]:
    """Both systems of units, that of the file first."""
    return tuple(sorted(SYSTEMS, key=lambda each: each != first))


def short(text: str, longest: int = LONGEST) -> str:
    """A text of the user's, cut where it is too long for the sheet."""
    return text if len(text) <= longest else text[: longest - 1] + "…"


def fitters(text: str) -> str:
    """A text as the head of the sheet tells it.

    Without the keys of the case file that belong to a gasket and to new threads, for who bolts up has no case file, nor its tables, and without what
    the danger box below says once for all.
    """
    for unwanted in (
        " (condition: reused)",
        f": {SAY_CONDITION}",
        f": {ELSE_USED}",
        OWN_KEYS,
        THEIR_KEYS,
        OF_TABLE,
        f" {OUT_OF_SERVICE_FIRST}",
    ):
        text = text.replace(unwanted, "")
    return text


def plain(value: float) -> str:
    """A setting without the zeros it does not need."""
    return f"{value:,.3f}".rstrip("0").rstrip(".")


def listed(bolts: Sequence[int]) -> str:
    """Bolt numbers as a list."""
    return ", ".join(map(str, bolts))


def numbered(bolts: Sequence[int]) -> str:
    """Bolt numbers as a list with the word before."""
    return f"bolt{'s' if len(bolts) > 1 else ''} {joined([str(bolt) for bolt in bolts])}"


def verdict_words(assessment: Assessment) -> str:
    """The verdict in a line or two; what it rests on stands at the foot of the sheet."""
    made = [(name, check) for name, case in assessment.cases.items() for check in case.checks]
    if assessment.verdict == "fails":
        failing = [(name, check) for name, check in made if not check.holds]
        name, worst = max(failing, key=lambda item: float(item[1].utilization))
        demand, allowable = demand_words(worst, assessment.study.units)
        how = f"{demand} where {allowable} is allowed{', ' + OF_A_BOUND if is_bound(worst) else ''}"
        if not np.isfinite(worst.utilization):
            how = (
                "it " + used_by(worst.check, worst.utilization)
                if worst.check == "joint lift-off"
                else "a bolt without clamp"
                if worst.check == "slip at the bolts"
                else "beyond any strength"
            )
        return (
            f"DOES NOT HOLD: {len(failing)} of {len(made)} checks fail; the worst is {worst.words} at '{short(worst.where)}' "
            f"{when(worst.check, short(name))}, {how}."
        )
    if assessment.verdict == "incomplete":
        needed = next(item for item in assessment.not_checked if item.needed)
        so_far = f"nothing failed in {len(made)} checks, but" if made else "nothing could be judged, for"
        return (
            f"NOT COMPLETE: {so_far} {needed.words} of '{short(needed.where)}' could not be judged: supply {needed.supply}."
            f"{ask_words(assessment)}"
        )
    cases = len(assessment.cases)
    return f"{holds_word(assessment.warnings)}: all {len(made)} checks made hold in {cases} operating case{'s' if cases > 1 else ''}."


def order_source(plan: BoltUp) -> str:
    """Where order and passes come from."""
    order = (
        "cross pattern of the legacy table of ASME PCC-1 (from memory; 12 bolts seen in print)"
        if plan.published
        else "this tool's own cross pattern, made after those of ASME PCC-1 for 4 to 24 bolts"
    )
    without = "; without a missing bolt the others keep theirs" if plan.joint.bolts.missing else ""
    return f"Order: {order}{without}. Passes: public flange-assembly guides; ASME PCC-1 is alike (from memory)."


def facts(assessment: Assessment, plan: BoltUp) -> list[tuple[str, str]]:
    """What the sheet knows of bolts, lubrication, preload, gasket and flange, as names and words."""
    joint, system = plan.joint, assessment.study.units
    rows = [("Bolts", _bolts(joint, system)), ("Lubrication", _lubrication(assessment, plan))]
    if plan.preload is not None:
        rows.append(("Preload aimed at", _preload(plan, plan.preload, system)))
        rows += beside_allowable(assessment.study, joint, plan.preload)
    rows.append(("Gasket", _gasket(plan, system)))
    flange = [
        f"{word} {units.show(float(value), kind, system)}"
        for word, value, kind in (
            ("outside", joint.flange.outside, "length"),
            ("thickness", joint.flange.thickness, "length"),
            ("holes", joint.flange.hole, "length"),
            ("rating", joint.flange.rating, "pressure"),
        )
        if value is not None
    ]
    named = [] if joint.flange.designation is None else [short(joint.flange.designation)]
    if named or flange:
        rows.append(("Flange", ", ".join([*named, *flange])))
    return rows


def _bolts(joint: Joint, system: System) -> str:
    bolts = joint.bolts
    sizes = " and ".join(f"{bolts.sizes.count(size)} × {size_words(size)}" for size in dict.fromkeys(bolts.sizes))
    parts = [sizes, f"class {bolts.property_class}" if bolts.property_class else "class not given in the file"]
    if bolts.circle is not None:
        parts.append(f"on a {units.show(float(bolts.circle), 'length', system)} circle")
    if joint.grip is not None:
        parts.append(f"grip {units.show(float(joint.grip), 'length', system)}")
    if gone := bolts.missing:
        parts.append(f"{len(bolts.numbers) - len(gone)} present, {numbered(gone)} MISSING")
    return ", ".join(parts)


def _lubrication(assessment: Assessment, plan: BoltUp) -> str:
    """What the threads are lubricated with, and the friction that the torque counts on: that of the target, where it has its own."""
    joint = plan.joint
    given = None if joint.tightening is None else joint.tightening.at_target
    lead = "NOT under tight nuts; the target counts on " if held_back(joint) else ""
    factors = [] if given is None else _by_factor(plan, given)
    if len(factors) > 1:
        each = "; ".join(f"{numbered(bolts)}: {words}" for bolts, words in factors)
        only = " The torques are right for these frictions only: with K a quarter lower, the same torque pulls a third harder."
        return f"{lead}{each}.{only if plan.groups else ''}"
    if factors and _all_left(plan):
        bolts, words = factors[0]
        return f"{f'{numbered(bolts)}: ' if plan.not_for else ''}{words}. {K_LOWER}"
    named = NO_LUBRICANT if given is None or given.lubricant is None else short(given.lubricant)
    return f"{lead}{_put_on(plan, named)}; {_friction(assessment, plan)}{_found_friction(joint)}"


def _put_on(plan: BoltUp, named: str) -> str:
    """What is named, and on which bolts it is put where others stay tight beside a gasket that stays; on all without a word."""
    given, out = plan.joint.tightening, sorted(off(plan))
    if given is None or given.at_target.lubricant is None or not (plan.gasket_stays and plan.groups):
        return named
    if _all_left(plan):
        left = tuple(bolt for bolt in plan.joint.bolts.numbers if bolt not in plan.not_for)
        return f"{f'{numbered(left)}: ' if plan.not_for else ''}threads left as found ({named}), nothing put on"
    own = [bolt for bolt in out if bolt not in plan.not_for]
    return (
        f"{named} on {numbered(own)}, nothing put on the others" if len(out) < len(plan.joint.bolts.numbers) else named
    )


def _all_left(plan: BoltUp) -> bool:
    """Whether every bolt that the torque of the sheet is for stays tight beside a gasket that stays, on the threads that it was found with."""
    return plan.gasket_stays and bool(plan.groups) and set(off(plan)) <= set(plan.not_for)


def _by_factor(plan: BoltUp, given: Tightening) -> list[tuple[tuple[int, ...], str]]:
    """Bolts of one nut factor, with that factor and what is on their threads; those that keep what was found are told so.

    None where the file gives no nut factor: what it gives is then the same for every bolt.
    """
    if given.nut_factor is None:
        return []
    joint, left = plan.joint, _all_left(plan)
    count = len(joint.bolts.numbers)
    kept = np.broadcast_to(left if given.kept is None else given.kept, count)
    found: dict[tuple[float, bool], list[int]] = {}
    unknown = new_threads(joint)  # of which no friction is known
    for number, factor, as_found in zip(joint.bolts.numbers, given.factors(count), kept, strict=True):
        if number not in unknown:
            found.setdefault((float(factor), bool(as_found)), []).append(number)
    on = NO_LUBRICANT if given.lubricant is None else short(given.lubricant)
    # of a joint that is repaired already, the kept one alone is what was found: its own is that of the target
    found_with = given.kept_lubricant
    if left and given.kept is None and plan.was.tightening is not None:
        found_with = plan.was.tightening.lubricant
    was = "" if found_with is None else f" ({short(found_with)})"
    return [
        (
            tuple(bolts),
            f"K = {units.figures(factor, 3)}, {f'threads left as found{was}, nothing put on' if as_found else on}",
        )
        for (factor, as_found), bolts in found.items()
    ]


def _friction(assessment: Assessment, plan: BoltUp) -> str:
    """The friction of the tightening aimed at, and, where the sheet gives a torque, that it is right for no other."""
    given = None if plan.joint.tightening is None else plan.joint.tightening.at_target
    if given is not None and given.nut_factor is not None:
        tabled = [row.row for row in assessment.study.provenance if row.table == "nut_factors"]
        named = f" ({tabled[0]})" if len(tabled) == 1 else ""
        return f"nut factor K = {_factor_words(given.nut_factor)}{named}.{f' {K_LOWER}' if plan.groups else ''}"
    if given is not None and given.thread_friction is not None and given.bearing_friction is not None:
        only = (
            f" {FOR_THIS_FRICTION}slicker threads and nut faces pull harder at the same torque." if plan.groups else ""
        )
        return (
            f"friction {units.figures(float(given.thread_friction), 3)} in the thread and {units.figures(float(given.bearing_friction), 3)} under the "
            f"nut.{only}"
        )
    return "friction not given in the file"


def _found_friction(joint: Joint) -> str:
    """What the bolts as found are judged with, where a target stands beside their torques."""
    given = joint.tightening
    if given is None or given.target_torque is None or given.torque is None:
        return ""
    if given.target_nut_factor is None:
        return " The same friction is taken for the bolts as found."
    lubricant = "" if given.lubricant is None else f", {short(given.lubricant)}"
    if given.nut_factor is None:
        return f" As found: the frictions of the file{lubricant}."
    return f" As found: K = {_factor_words(given.nut_factor)}{lubricant}."


def _factor_words(factor: Number) -> str:
    """A nut factor, or the range of those of the bolts."""
    ends = [units.figures(float(end), 3) for end in (np.min(factor), np.max(factor))]
    return " to ".join(dict.fromkeys(ends))


def _preload(plan: BoltUp, preload: tuple[Array, Array, Array], system: System) -> str:
    """Mean preload of a bolt with its range, over all bolts where they differ, and how near the greatest comes to proof."""
    joint = plan.joint
    least, mean, greatest = (values[preload[1] > 0.0] for values in preload)
    ends = [both(float(np.min(mean)), "force", system), both(float(np.max(mean)), "force", system)]
    aimed = " to ".join(dict.fromkeys(ends))
    given, causes = None if joint.tightening is None else joint.tightening.at_target, []
    if given is not None and given.scatter is not None:
        causes.append(f"scatter ±{float(given.scatter):.0%}")
    if given is not None and given.relaxation is not None:
        causes.append(f"relaxation {float(given.relaxation):.0%}")
    why = ", ".join(causes) or "NO SCATTER and NO LOSS given"
    low, high = both(float(np.min(least)), "force", system), both(float(np.max(greatest)), "force", system)
    share = proof_share(joint, preload)
    proof = "" if share is None else f"; the greatest is {share[0]:.0%} of {share[1]}"
    return f"{aimed} in each bolt; from {low} to {high} ({why}){proof}"


def both(value: float, kind: str, system: System) -> str:
    """A quantity in the units of the file and, in brackets, in the other ones."""
    first, other = (units.show(value, kind, each) for each in systems(system))
    return f"{first} ({other})"


def spent_words(plan: BoltUp) -> str:
    """Why the gasket found in the joint is replaced."""
    ring = plan.was.gasket
    return "squeezed already" if ring is not None and ring.condition == "new" else "used before"


def _gasket(plan: BoltUp, system: System) -> str:
    ring = plan.joint.gasket
    if ring is None:
        return "none in the file: ask which belongs here before closing the joint"
    parts = [
        f"ring {units.show(float(ring.inside), 'length', system)} to {units.show(float(ring.rim), 'length', system)}"
    ]
    if ring.outside != ring.rim:
        parts.append(f"pressed out to the raised face, {units.show(float(ring.outside), 'length', system)}")
    if ring.thickness is not None:
        parts.append(f"{units.show(float(ring.thickness), 'length', system)} thick")
    if ring.m is not None and ring.y is not None:
        parts.append(f"m {units.figures(float(ring.m), 3)}, y {units.show(float(ring.y), 'stress', system)}")
    if plan.new_gasket:
        parts.append(f"{spent_words(plan)}: FIT A NEW ONE of these figures (another kind wants its own calculation)")
    if plan.gasket_stays:
        return ", ".join([*parts, "in service, not opened: it STAYS; nothing here tells whether it still seals"])
    if plan.gasket_not_said:
        parts.append("NOT SAID whether it stays: judged as if new")
    return ", ".join(parts) + "; kind and batch: write them below"


def found_words(plan: BoltUp) -> str:
    """That the verdict is about the tightening as found where the sheet gives a target; empty elsewhere."""
    given = plan.joint.tightening
    if given is None or given.target_torque is None:
        return ""
    what = "torques" if given.torque is not None else "preloads"
    judged = "is not judged" if plan.asks_engineer else "is judged as after a repair"
    return f"The verdict is for the {what} as found, not for the target torque, which {judged}."


def fitted_words(plan: BoltUp, then: str = " Then the steps below.") -> str:
    """What must be in before the first nut is turned, before the order of all bolts, and what comes ``then``; empty where nothing is wanting."""
    gone = plan.joint.bolts.missing or plan.to_fit
    parts = [f"{numbered(gone)} ({', '.join(dict.fromkeys(_size_of(plan, gone)))})"] if gone else []
    if plan.new_gasket:
        parts.append("a NEW gasket")
    if not parts:
        return ""
    torque = ""
    if gone and len(plan.groups) > 1 and plan.torque_of(gone[0]) is None:
        torque = f" {numbered(gone).capitalize()}: torque of the other bolts of the size."
    if plan.asks_engineer:
        return f"{FIT_ONLY}, without pressure: {joined(parts)}."
    return f"FIT FIRST, without pressure: {joined(parts)}.{then}{torque}"


def apart_words(plan: BoltUp) -> str:
    """How a joint is taken apart whose gasket is to be replaced, or its nuts loosened that are told anew; empty elsewhere.

    Common practice, no source.
    """
    if plan.new_gasket:
        return f"{_taken_apart('new gasket')}; all nuts hand-tight."
    if tight := plan.to_loosen:
        whole = len(tight) == len(plan.order)
        lead = f"LOOSEN FIRST, found tight{'' if whole else f' on {numbered(tight)}'}"
        between = _put_on_loosened(plan)
        return f"{lead}: {LOOSENED}; {between}{'; ' if between else ''}all nuts hand-tight."
    return ""


def if_replaced_words(plan: BoltUp) -> str:
    """What is done before the first step if the gasket is replaced; empty where the file says what becomes of it."""
    if not plan.gasket_not_said:
        return ""
    gone = plan.joint.bolts.missing or plan.to_fit
    return f"{REPLACED} {_taken_apart(f'new gasket and {numbered(gone)}' if gone else 'new gasket')}."


def _taken_apart(fitted: str) -> str:
    """How a joint is taken apart for a new gasket, and what is then ``fitted``."""
    return f"TAKE APART FIRST: {LOOSENED}; old gasket out, faces cleaned, {fitted} in"


def _put_on_loosened(plan: BoltUp) -> str:
    """What goes on the threads of loosened bolts by a target of other threads than found; empty where it counts on those found."""
    was = plan.was
    if was.tightening is None or not np.any(anew := other_threads(was, was.tightening)):
        return ""
    own = tuple(was.bolts.numbers[i] for i in np.flatnonzero(anew))
    of = "" if np.all(anew) else f" of {numbered(own)}"
    lubricant = was.tightening.at_target.lubricant
    return (
        f"threads and nut faces{of} cleaned, {NO_LUBRICANT if lubricant is None else f'lubricant: {short(lubricant)}'}"
    )


def _size_of(plan: BoltUp, bolts: Sequence[int]) -> list[str]:
    pattern = plan.joint.bolts
    return [size_words(pattern.sizes[pattern.numbers.index(bolt)]) for bolt in bolts]


def weight_words(plan: BoltUp, system: System) -> str:
    """What the fitting weighs when the line is drained, or that nobody said."""
    if plan.weight is None:
        return "WEIGHT NOT KNOWN, the file does not give it: find out before the fitting is slung or a bolt comes out."
    mass = both(plan.weight / STANDARD_GRAVITY, "mass", system)
    left_out = " (bare wall only, flanges not included)" if plan.bare_wall else ""
    return f"Empty, the fitting weighs {mass}, a force of {both(plan.weight, 'force', system)}{left_out}."
