"""What stands out in a flange: no holes for the bolts, another grip, wide holes, nuts over the rim, a rating over its class or of another material, a spacing rule not for it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from anchorsize.assessment.asking import in_force
from anchorsize.assessment.findings_lubricant import is_stainless
from anchorsize.assessment.results import CaseResult, Finding
from anchorsize.assessment.statements import SPACING_RULE, rated_group
from anchorsize.reference import FlangeDrilling, FlangeRating, NotInTable, flange_rating, is_rated
from anchorsize.reference import flange as tabled_flange
from anchorsize.reference.fasteners import wrench_edge
from anchorsize.reference.flanges import nearest_rim
from anchorsize.reference.holes import widest_hole
from anchorsize.reference.nuts import narrowest_flats
from anchorsize.study import BoltPattern, Flange, Joint, Provenance, Study
from anchorsize.units import figures, show

OTHER_GRIP = (
    0.1  # share beyond which a grip is not that of two flanges and the gasket: washers, older editions; no source
)
ROUNDED = 0.01  # share by which a grip may be rounded
MEASURED = 0.5e-3  # m: to what a hole is measured, and what prints of the series differ by; common practice, no source

STAINLESS_KEEPS = (
    0.65  # least share of the rating of group 1.1 that 304L or 316L (group 2.3) has in ASME B16.5; from memory
)

COLD = 293.15  # K: at which every class has the greatest rating of the table, for ratings only fall with temperature
OTHER_MATERIALS = (
    0.025  # share by which a rating may pass that of the tabled carbon steel: other materials of ASME B16.5 have up to 20.0 bar (290 psi) beside
    # 19.6 bar in class 150, from memory; of EN 1092-1 none has more than the PN
)

RING_NOT_JUDGED = "flange itself not judged"

HEXAGON_STEP = 1e-5  # m: to what the widths of inch nuts are rounded in the table


def notice_flange(study: Study, cases: dict[str, CaseResult]) -> tuple[Finding, ...]:
    """Findings about the flange of every joint."""
    return (
        *_other_drilling(study),
        *_grip(study),
        *_wide_holes(study),
        *_near_rim(study),
        *_over_its_class(study),
        *_other_material(study, cases),
        *_spacing_rule(study, cases),
        *_ring_not_judged(study, cases),
    )


def _ring_not_judged(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """That nothing judges a flange of no standard as its bolts are tightened, with the moment that tilts it: ASME BPVC VIII-1 App. 2, eq. (6)."""
    found = []
    for name, joint in study.joints.items():
        made = next((case.joints[name] for case in cases.values() if name in case.joints), None)
        circle, own = joint.bolts.circle, joint.flange.thickness is not None and joint.flange.designation is None
        if not own or made is None or made.clamping is None or joint.gasket is None or circle is None:
            continue
        moment = (
            float(np.sum(made.clamping.greatest))
            * (float(np.max(circle)) - float(np.max(made.reaction_diameter)))
            / 2.0
        )
        found.append(
            Finding(
                RING_NOT_JUDGED,
                None,
                f"Joint '{name}': its flange is of no standard, and THE FLANGE ITSELF IS NOT JUDGED: at the greatest preload its bolts tilt it "
                f"with W (C - G)/2 = {show(moment, 'moment', study.units)} (ASME BPVC VIII-1 App. 2). Have it calculated for that.",
            )
        )
    return found


def drilled_otherwise(flange: Flange, bolts: BoltPattern) -> FlangeDrilling | None:
    """The drilling of a standard flange that has no holes where the bolts are; None where it has, or the flange is none of a table.

    How the flange is turned about its axis is the file's own; a circle is the same within the play of a bolt in its hole.
    """
    if flange.designation is None:
        return None
    drilled = tabled_flange(flange.designation)
    hole = drilled.hole if flange.hole is None else float(np.max(flange.hole))  # it may have been drilled wider
    play = 0.5 * max(hole - float(np.min(bolts.diameter)), 0.0) + MEASURED
    other_circle = bolts.circle is not None and abs(float(np.max(bolts.circle)) - drilled.bolt_circle) > 2.0 * play
    return drilled if len(bolts.numbers) != drilled.count or other_circle else None


def _other_drilling(study: Study) -> list[Finding]:
    """Bolts for which the standard flange that the file names has no holes."""
    return [
        Finding(
            "no holes for these bolts",
            None,
            f"Joint '{name}': flange '{drilled.designation}' has {drilled.count} holes on a circle of "
            f"{show(drilled.bolt_circle, 'length', study.units)}, and the file has {_bolts(joint.bolts, study)}: it is drilled for other bolts, and "
            "its rating with them is not known. Where holes stay empty, write all bolts and name those under missing; where the flange is "
            "another, give its dimensions in place of its name.",
            doubtful=True,
        )
        for name, joint in study.joints.items()
        if (drilled := drilled_otherwise(joint.flange, joint.bolts)) is not None
    ]


def _bolts(bolts: BoltPattern, study: Study) -> str:
    circle = "" if bolts.circle is None else f" on {show(float(np.max(bolts.circle)), 'length', study.units)}"
    return f"{len(bolts.numbers)} bolts{circle}"


def widest(hole: float, diameter: float) -> tuple[float, str] | None:
    """The widest hole [m] drilled for a bolt of ``diameter`` [m], and whose figure it is, where ``hole`` [m] is wider still.

    None where it is not wider, or where no hole is tabled for the bolt.
    """
    try:
        most, origin = widest_hole(diameter)
    except NotInTable:
        return None
    if hole <= most + MEASURED * (1.0 + ROUNDED):
        return None
    coarse = origin.source.endswith("coarse series")
    return most, "ISO 273, coarse series" if coarse else "bolt + 1/8 in, as ASME B16.5 drills"


def _grip(study: Study) -> list[Finding]:
    """Grips that cannot be, and those that fit only a mating part unlike the flange."""
    found = []
    for name, joint in study.joints.items():
        flange, ring = joint.flange, joint.gasket
        if joint.grip is None or flange.thickness is None or flange.height is None:
            continue
        grip, own = float(joint.grip), float(flange.height)
        thick = 0.0 if ring is None or ring.thickness is None else float(ring.thickness)
        least, both = float(flange.thickness) + thick, 2.0 * own + thick

        def words(length: float) -> str:
            return show(length, "length", study.units)

        if grip < least * (1.0 - ROUNDED):
            found.append(
                Finding(
                    "grip too short",
                    None,
                    f"Joint '{name}': the grip, {words(grip)}, is less than the flange and the gasket alone are thick, {words(least)}: it is that "
                    f"of another flange. Two such flanges and the gasket make {words(both)}. Bolts ordered by this grip are too short, and "
                    "their stiffness is wrong.",
                    doubtful=True,
                )
            )
        elif abs(grip - both) > OTHER_GRIP * both:
            rest = grip - own - thick
            mate = f"a mating part {words(rest)} thick" if rest > ROUNDED * grip else "a mating part with tapped holes"
            found.append(
                Finding(
                    "grip of another flange",
                    None,
                    f"Joint '{name}': the grip, {words(grip)}, fits only {mate}; with a flange like this one on both sides it is {words(both)}, "
                    "gasket included. In a tapped hole it ends where the thread begins. Measure before ordering bolts.",
                )
            )
    return found


def _wide_holes(study: Study) -> list[Finding]:
    """Holes wider than any that is drilled for the bolts in them; doubtful where head and nut do not reach over them."""
    return [
        finding
        for joint in study.joints.values()
        for size, diameter in dict(zip(joint.bolts.sizes, joint.bolts.diameter.tolist(), strict=True)).items()
        if (finding := _wide_hole(study, joint, size, diameter)) is not None
    ]


def _wide_hole(study: Study, joint: Joint, size: str, diameter: float) -> Finding | None:
    """What is wrong with the holes of a joint for bolts of one size and ``diameter`` [m]."""
    hole = 0.0 if joint.flange.hole is None else float(np.max(joint.flange.hole))
    known = widest(hole, diameter)
    if known is None:
        return None
    most, whose = known
    seat = bearing_flats(diameter)
    flats = np.inf if seat is None else seat[0]

    def words(length: float) -> str:
        return show(length, "length", study.units)

    lead = f"Joint '{joint.name}': the hole, {words(hole)}, is too wide for bolts {size}, for which at most {words(most)} is drilled ({whose})."
    if hole >= flats:
        bears = (
            f"A head or nut {words(flats)} across flats finds no seat around it and can pull through, so no preload and no check of this joint "
            "is to be trusted."
        )
    elif 2.0 * hole - diameter > flats:
        bears = (
            f"With the bolt at one side of its hole, a head or nut {words(flats)} across flats does not reach over the other side: it tips, and "
            "no preload and no check of this joint is to be trusted. Choose bolts that fit the holes."
        )
    else:
        bears = (
            f"The bolts can lie {words(0.5 * (hole - diameter))} off their place, and head and nut bear on less: fit thick hardened washers, "
            "or bolts that suit."
        )
    return Finding("hole too wide for the bolt", None, f"{lead} {bears}", doubtful=2.0 * hole - diameter > flats)


def bearing_flats(diameter: float) -> tuple[float, Provenance] | None:
    """The width across flats [m] of the narrowest head or nut for a bolt of ``diameter`` [m], and its origin; None where none is tabled."""
    try:
        return narrowest_flats(diameter)
    except NotInTable:
        return None


def over_rim(radius: float, flats: float, outside: float) -> bool:
    """Whether a nut of some width across ``flats`` [m] on a bolt at ``radius`` [m] bears over the rim of a flange of diameter ``outside`` [m].

    The face on which a hexagon bears is about the circle in its flats; its corners are chamfered.
    """
    return radius + 0.5 * flats > 0.5 * outside + HEXAGON_STEP


def _near_rim(study: Study) -> list[Finding]:
    """Bolts whose nuts bear over the rim, which is doubtful, and bolts nearer to it than a table and the standard flanges have them."""
    return [
        finding
        for joint in study.joints.values()
        if joint.flange.outside is not None
        for size, diameter in dict(zip(joint.bolts.sizes, joint.bolts.diameter.tolist(), strict=True)).items()
        if (finding := _rim(study, joint, size, diameter)) is not None
    ]


def _rim(study: Study, joint: Joint, size: str, diameter: float) -> Finding | None:
    """What is wrong with the way from the bolts of one size and ``diameter`` [m] to the rim."""
    known = bearing_flats(diameter)
    edges = _edges(joint, size)
    if known is None or not edges:
        return None
    flats, origin = known
    edge, radius = min(edges.values())

    def words(length: float) -> str:
        return show(length, "length", study.units)

    if over_rim(radius, flats, 2.0 * (radius + edge)):
        up_to = "up to " if np.ptp([at for _, at in edges.values()]) > MEASURED else ""
        over = [number for number, (own, at) in edges.items() if over_rim(at, flats, 2.0 * (at + own))]
        return Finding(
            "nut over the rim",
            None,
            f"Joint '{joint.name}': a head or nut {words(flats)} across flats ({origin.source}, {origin.row}) on {_which(over, joint)}, "
            f"{up_to}{words(radius)} from the center, reaches to {words(radius + 0.5 * flats)}, and the flange ends at {words(radius + edge)}: it "
            f"bears {words(0.5 * flats - edge)} over the rim and tips, and no preload and no check of this joint is to be trusted. Choose a "
            "smaller bolt circle or smaller bolts, or correct the outside of the flange.",
            doubtful=True,
        )
    return _scant_edge(joint, size, diameter, edges, words)


def _edges(joint: Joint, size: str) -> dict[int, tuple[float, float]]:
    """The way [m] from each bolt of a size that is there to the rim, and its distance [m] from the center, where it is shortest."""
    bolts = joint.bolts
    radius = np.hypot(bolts.xy[..., 0], bolts.xy[..., 1])
    rim = 0.5 * np.asarray(joint.flange.outside, dtype=float)[..., np.newaxis]
    edge, radius, there = np.broadcast_arrays(rim - radius, radius, bolts.present)
    rows = (edge.reshape(-1, edge.shape[-1]), radius.reshape(-1, edge.shape[-1]), there.reshape(-1, edge.shape[-1]))
    found = {}
    for place, number in enumerate(bolts.numbers):
        own = [(float(e[place]), float(r[place])) for e, r, t in zip(*rows, strict=True) if t[place]]
        if own and bolts.sizes[place] == size:
            found[number] = min(own)
    return found


def _which(numbers: list[int], joint: Joint) -> str:
    """Bolts in words: every one, or their numbers."""
    if len(numbers) == len(joint.bolts.numbers):
        return "every bolt"
    return f"bolt{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def _scant_edge(
    joint: Joint, size: str, diameter: float, edges: dict[int, tuple[float, float]], words: Callable[[float], str]
) -> Finding | None:
    """Bolts that are nearer to the rim than the table wants, and than any standard flange has such bolts, or than the one named has its own."""
    try:
        least, origin = wrench_edge(diameter)
    except NotInTable:
        return None
    standard = nearest_rim(diameter)
    allowed = least if standard is None else min(least, standard[0])
    if joint.flange.designation is not None:
        named = tabled_flange(joint.flange.designation)
        allowed = min(allowed, 0.5 * (named.outside - named.bolt_circle))
    near = [number for number, (edge, _) in edges.items() if edge < allowed - MEASURED]
    if not near:
        return None
    has = (
        f"no tabled standard flange has bolts {size}"
        if standard is None
        else f"of the tabled standard flanges with bolts {size}, none has less than {words(standard[0])} ({standard[1]})"
    )
    return Finding(
        "bolts near the rim",
        None,
        f"Joint '{joint.name}': from the center of {_which(near, joint)} to the rim it is {words(min(edges.values())[0])}; least edge distance "
        f"{words(least)} (table {origin.table}, row {origin.row}), and {has}. Head and nut bear wholly; see that the outside of the flange "
        "is right and that it has steel enough outside the holes.",
    )


def greatest_rating(designation: str) -> FlangeRating | None:
    """The greatest rating that the table has for a flange at any temperature; None where it has none."""
    return flange_rating(designation, COLD) if is_rated(designation) else None


def _over_its_class(study: Study) -> list[Finding]:
    """Ratings given that no flange of the designation beside them has: a slip, or a test pressure."""
    found = []
    for name, joint in study.joints.items():
        rating, designation = joint.flange.rating, joint.flange.designation
        if rating is None or designation is None or (tabled := greatest_rating(designation)) is None:
            continue
        given, most = float(np.max(rating)), float(np.max(tabled.pressure))
        if given <= most * (1.0 + OTHER_MATERIALS):
            continue
        found.append(
            Finding(
                "rating over its class",
                None,
                f"Joint '{name}': the rating given, {show(given, 'pressure', study.units)}, is more than a flange '{designation}' has at any "
                f"temperature, {show(most, 'pressure', study.units)} (table {tabled.provenance.table}, row {tabled.provenance.row}): is the figure wrong, or the "
                "designation? A test pressure belongs into rating_factor of its case, not into flange / rating.",
                doubtful=True,
            )
        )
    return found


def _other_material(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Stainless bolts, which go with stainless flanges, beside a rating of carbon steel; doubtful where a stainless one's could fail."""
    found = []
    for name, joint in study.joints.items():
        row = joint.flange.rating_row
        if row is None or not is_stainless(joint):
            continue
        used, case, holds = max(
            (
                (float(np.max(check.utilization)), each.name, bool(np.all(check.holds)))
                for each in cases.values()
                for check in each.checks
                if check.check == "flange rating" and check.where == name
            ),
            default=(0.0, "", False),
        )
        lowest = show(float(np.min(np.asarray(joint.flange.rating))), "pressure", study.units)
        told = (
            f" Its check holds at {figures(used, 3)} (case '{case}'): a rating lower by more than {figures(100.0 * (1.0 - used), 2)} % fails it."
            if holds
            else ""
        )
        found.append(
            Finding(
                "rating of another material",
                None,
                f"Joint '{name}': bolts of {joint.bolts.property_class} are stainless, and the rating from the table, {lowest}, is of flanges of "
                f"carbon steel ({rated_group(row)}). Stainless flanges stand less, in ASME B16.5 those of 304L or 316L some two thirds to four "
                f"fifths of it (from memory).{told} Write the rating of the flanges' material as flange / rating; where they are of carbon "
                "steel, that figure.",
                doubtful=holds and used > STAINLESS_KEEPS,
            )
        )
    return found


def _spacing_rule(study: Study, cases: dict[str, CaseResult]) -> list[Finding]:
    """Where the formula of the greatest bolt spacing fails: whose rule that is."""
    failing = {
        check.where: None
        for case in cases.values()
        for check in case.checks
        if check.check == "widest bolt gap"
        and not np.all(check.holds)
        and in_force(study, study.joints[check.where], study.cases[case.name]).bolt_spacing_greatest == "from formula"
    }
    if not failing:
        return []
    names = ", ".join(f"'{name}'" for name in failing)
    return [Finding("spacing rule of new flanges", None, f"Widest bolt gap of joint {names}: {SPACING_RULE}")]
