"""Hanger rods thinner than the least that the table gives for the pipe they carry: said in words, never a verdict."""

from __future__ import annotations

from anchorsize.assessment.distance import bore_of
from anchorsize.assessment.results import Finding
from anchorsize.reference.fasteners import thread
from anchorsize.reference.hangers import LeastRod, least_hanger_rod
from anchorsize.reference.tables import NotInTable
from anchorsize.study import Opening, Study, Support
from anchorsize.units import show

THIN_ROD = "thin hanger rod"
SLIGHTLY = 0.98
"""Share of the table's diameter down to which a rod counts as that thick: M12 beside 1/2 in is not, M16 beside 5/8 in is."""

HUNG = ("hanger", "spring_hanger")


def thin_rods(study: Study, supports: tuple[Support, ...]) -> tuple[Finding, ...]:
    """The hangers whose rod is thinner than the table's for the pipe."""
    return tuple(
        Finding(THIN_ROD, None, f"{each.kind.replace('_', ' ').capitalize()} '{each.name}': its rod {said}.")
        for each in supports
        if each.rod is not None and (said := thinner(study, each, each.rod))
    )


def thinner(study: Study, support: Support, rod: str) -> str:
    """What to say of a rod of a hanger that is thinner than the table's least; nothing of any other, or where no row fits."""
    found = _of_pipe(study) if support.kind in HUNG else None
    if found is None:
        return ""
    opening, least = found
    try:
        diameter = thread(rod).diameter
    except NotInTable:
        return ""
    if diameter >= SLIGHTLY * least.diameter:
        return ""
    origin = least.provenance
    return (
        f"{rod} is thinner than {least.rod}, the least single rod that {origin.source} lists for NPS {least.nps} pipe (table "
        f"{origin.table}, {origin.status}; the size taken is the one nearest to the bore of '{opening.name}', "
        f"{show(bore_of(opening), 'length', study.units)})"
    )


def _of_pipe(study: Study) -> tuple[Opening, LeastRod] | None:
    """The connected opening with the greatest bore and the table's rod for its pipe; None where no row fits."""
    connected = [study.openings[joint.at] for joint in study.joints.values()] or list(study.openings.values())
    opening = max(connected, key=bore_of)
    least = least_hanger_rod(bore_of(opening))
    return None if least is None else (opening, least)
