"""The figures that the installer's sheet sets in rows: the settings of the wrench, pass by pass, and the record to fill in."""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup

from anchorsize import units
from anchorsize.present.boltup_passes import first_for_tight, off, passes_made, passes_of
from anchorsize.present.boltup_stays import not_for_words
from anchorsize.present.boltup_words import listed, numbered, plain, systems
from anchorsize.present.pages.page import table_html
from anchorsize.present.words import column, figure
from anchorsize.studies.boltup import BoltUp, wrench_setting
from anchorsize.units import System

UNIT = {"metric": ("N·m", "Nm"), "us": ("ft·lbf", "ftlbf")}  # of a torque, as shown and in keys
# most bolts of a flange, and how many of them stand side by side in the record
BANDS = ((24, 12), (48, 16), (math.inf, 24))


def settings(torque: float) -> dict[str, float]:
    """A torque as it is, and as a wrench in either unit is set."""
    in_us = float(units.convert(torque, "moment", "us")[0])
    return {
        "torque_Nm": torque,
        "set_Nm": wrench_setting(torque),
        "torque_ftlbf": in_us,
        "set_ftlbf": wrench_setting(in_us),
    }


def _for_it(plan: BoltUp, bolts: Sequence[int]) -> list[int]:
    """Those of the bolts that a torque is for: not those whose new or cleaned threads nobody gives a friction of."""
    return [bolt for bolt in bolts if bolt not in plan.not_for]


def _bold(setting: float) -> Markup:
    return Markup("<b>{}</b>").format(plain(setting))


def _only(plan: BoltUp, share: int) -> str:
    """Of which bolts a pass is that turns no nut found tight; empty where it is of all."""
    return f", {numbered(off(plan))} only" if share < first_for_tight(plan) else ""


def pass_rows(plan: BoltUp, system: System) -> tuple[list[str], list[list[str]]]:
    """Headers and rows of the passes: one row for each where all bolts get the same torque, else one for each group of bolts.

    The units of the file come first.
    """
    labels = [UNIT[each] for each in systems(system)]
    each = [[settings(float(torque)) for torque in group.passes] for group in plan.groups]
    made = passes_made(plan)
    if len(each) > 1:
        headers = [
            "bolts",
            *(f"pass {i}\n{plan.shares[k]:.0%}" for i, k in enumerate(made, 1)),
            f"exact\n{labels[0][0]}",
        ]
        rows = [
            [
                listed(_for_it(plan, group.bolts))
                + (f" (K {units.figures(group.nut_factor, 3)})" if plan.frictions and group.nut_factor else ""),
                *(
                    Markup(" / ").join(_bold(passes[k][f"set_{key}"]) for _, key in labels)
                    if k in passes_of(plan, group)
                    else "–"
                    for k in made
                ),
                figure(passes[-1][f"torque_{labels[0][1]}"]),
            ]
            for group, passes in zip(plan.groups, each, strict=True)
            if _for_it(plan, group.bolts)
        ]
        return headers, rows
    headers = ["pass", "share", *(f"{what} {unit}" for what in ("set to", "exact") for unit, _ in labels)]
    rows = [
        [
            str(i),
            f"{plan.shares[k]:.0%}{_only(plan, k)}",
            *(_bold(passes[k][f"set_{key}"]) for _, key in labels),
            *(figure(passes[k][f"torque_{key}"]) for _, key in labels),
        ]
        for passes in each
        for i, k in enumerate(made, 1)
    ]
    return headers, rows


def passes_caption(plan: BoltUp, system: System) -> str:
    """What stands above the passes; empty where the sheet gives no torque."""
    if not plan.groups:
        return ""
    units_said = " / ".join(UNIT[each][0] for each in systems(system)) if len(plan.groups) > 1 else ""
    return ", ".join(filter(None, ["Torque of each pass", units_said, not_for_words(plan)]))


def passes_html(plan: BoltUp, table: tuple[list[str], list[list[str]]], system: System) -> Markup:
    """The table of the passes; nothing where the sheet gives no torque."""
    if not plan.groups:
        return Markup()
    return table_html(*table, passes_caption(plan, system), left=int(len(plan.groups) > 1))


def record_bands(plan: BoltUp) -> list[list[tuple[int, bool]]]:
    """Bolts side by side in the record, with whether they are there; the bands as even as can be."""
    bolts = plan.joint.bolts
    each = list(zip(bolts.numbers, (bool(there) for there in bolts.present), strict=True))
    bands = math.ceil(len(each) / next(width for most, width in BANDS if len(each) <= most))
    size = math.ceil(len(each) / bands)
    return [each[start : start + size] for start in range(0, len(each), size)]


def record_rows(plan: BoltUp, system: System) -> list[tuple[str, dict[int, str]]]:
    """What is recorded for each bolt, with what is known of it already, by bolt.

    On a very large flange only the torques, so that the sheet stays one page.
    """
    rows: list[tuple[str, dict[int, str]]] = [("Torque as found", {}), ("Final torque", {})]
    if plan.recorded is not None:
        figures, unit = column(plan.recorded, "moment", system)
        known = {n: shown for n, shown in zip(plan.joint.bolts.numbers, figures, strict=True) if shown != "-"}
        rows[0] = (f"Torque as found, {unit}", known)
    return [*rows, ("Washers in place", {})] if len(plan.joint.bolts.numbers) <= BANDS[1][0] else rows
