"""Threads by what people write for their size: looked up where it is one, else with what to write instead."""

from __future__ import annotations

import re
from typing import cast

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.problems import shorten
from anchorsize.reference import NotInTable, Thread, coarse_sizes, thread
from anchorsize.units import System

_WITH_LENGTH = re.compile(r"\s*([Mm]\s*\d+(?:\.\d+)?)\s*[xX×]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*$")
_INCH_WITH_LENGTH = re.compile(
    r"\s*((?:\d+[\s-])?\d+/\d+|\d+)\s*(?:in|\")?(?:\s*-\s*\d+)?\s*(?:UNC|UN)?\s*[xX×]\s*(\S.*?)\s*", re.ASCII
)
_LONGEST_PITCH = 8.0  # mm; ISO 261 ends at 6
_COMMA = re.compile(r"(\d)\s*,\s*(\d)", re.ASCII)
_FINE = re.compile(r"\bUN(?:J?F|EF)\b|\bNE?F\b", re.IGNORECASE)
_BARE = re.compile(r"\s*\d{1,4}(?:\.\d{1,3})?\s*", re.ASCII)


def look_up_thread(building: Building, where: Path, size: str, by_hand: str) -> Thread | None:
    """Look a thread up. What is none, or not listed, becomes a problem; ``by_hand`` says what stands in for a thread not listed."""
    told = _no_thread(size, cast(System, building.file.units), by_hand)
    if told is None:
        return building.look_up(where, thread, size)
    building.problem(where, *told, "not_in_table", size)
    return None


def _no_thread(size: str, system: System, by_hand: str) -> tuple[str, str] | None:
    """What is wrong with a size that people write for a thread, and what to write; None where the tables decide."""
    longer, inch_longer = _WITH_LENGTH.match(size), _INCH_WITH_LENGTH.fullmatch(size)
    if inch_longer:
        message = f"'{shorten(size)}' names a bolt with its length, {inch_longer[2]}, where its thread is wanted"
        return message, f"write {inch_longer[1]}"
    if longer and float(longer[2]) >= _LONGEST_PITCH:
        return (
            f"'{shorten(size)}' names a bolt with its length, {longer[2]}, where its thread is wanted",
            f"write {longer[1]}",
        )
    if _COMMA.search(size):
        point = _COMMA.sub(r"\1.\2", size)
        return f"'{shorten(size)}' has a comma in a number", f"write '{point}', with a decimal point"
    if _FINE.search(size):
        return f"'{shorten(size)}' is a fine thread, and fine inch threads are not tabled", by_hand
    if _BARE.fullmatch(size) and not _listed(size):
        return f"'{shorten(size)}' says neither M nor inches", _either(float(size), system)
    return None


def _either(millimeters: float, system: System) -> str:
    """How to write the threads that a bare number of millimeters may mean."""
    near = min(coarse_sizes(metric=False), key=lambda each: abs(thread(each).diameter * 1e3 - millimeters))
    ways = [f"M{millimeters:g}"] if _listed(f"M{millimeters:g}") else []
    if system == "us" and ways:
        ways.append(f"{near}, which is {thread(near).diameter * 1e3:.4g} mm")
    return f"write {' or '.join(ways or ['for example M16', '5/8 in'])}"


def _listed(size: str) -> bool:
    try:
        thread(size)
    except NotInTable:
        return False
    return True
