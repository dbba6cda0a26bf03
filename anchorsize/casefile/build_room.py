"""Whether bolts, holes, gasket and flange of a joint can be side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from anchorsize.casefile.building import Building, Path
from anchorsize.casefile.format_joint import JointEntry
from anchorsize.casefile.quantities import Quantity
from anchorsize.reference import RING_ROUNDING, FlangeDrilling
from anchorsize.study import Array, BoltPattern, Number, Opening
from anchorsize.units import System, show

_ROUNDING = 1e-9  # share by which lengths that mean the same may differ


@dataclass(frozen=True)
class _Length:
    """A length [m] as messages name it, and the key path that a problem with it stands at."""

    value: Number
    words: str
    given: str
    path: Path


@dataclass(frozen=True)
class _Room:
    """A joint whose dimensions are judged together."""

    building: Building
    path: Path
    entry: JointEntry
    bolts: BoltPattern
    drilling: FlangeDrilling | None
    opening: Opening

    def of_flange(self, key: str) -> _Length | None:
        """A length of the flange: the user's, else the table's."""
        flange = self.entry.flange
        given = None if flange is None else getattr(flange, key)
        if given is not None:
            return _Length(given.si, f"'{given.given}'", given.given, given.path)
        if self.drilling is None:
            return None
        value = getattr(self.drilling, key)
        words = f"{show(value, 'length', self._system)} of flange '{self.drilling.designation}'"
        return _Length(value, words, "", (*self.path, "flange"))

    @property
    def _system(self) -> System:
        return "us" if self.building.file.units == "us" else "metric"

    @property
    def circle_words(self) -> str:
        """The bolt circle as messages name it."""
        bolts = self.entry.bolts
        return "the bolt circle" if bolts is None or bolts.circle is None else f"the bolt circle '{bolts.circle.given}'"

    @property
    def size_words(self) -> str:
        """The largest bolt by its size and how thick it is."""
        largest = int(np.argmax(np.max(self.bolts.diameter.reshape(-1, len(self.bolts.sizes)), axis=0)))
        thick = show(float(np.max(self.bolts.diameter)), "length", self._system)
        return f"bolts {self.bolts.sizes[largest]} ({thick} thick)"

    def complain(self, key: str, message: str, hint: str) -> None:
        """Record a problem at a key of the bolts, at the quantity there where it is one."""
        found = None if self.entry.bolts is None else getattr(self.entry.bolts, key)
        self.building.problem((*self.path, "bolts", key), message, hint, found=getattr(found, "given", ""))


def judge_room(
    building: Building,
    path: Path,
    entry: JointEntry,
    bolts: BoltPattern,
    drilling: FlangeDrilling | None,
    opening: Opening,
) -> None:
    """Record what cannot be about the joint's dimensions together."""
    room = _Room(building, path, entry, bolts, drilling, opening)
    _gasket_on_flange(room)
    _holes(room)
    _rim(room)
    if bolts.circle is not None:
        _circle(room, np.asarray(bolts.circle))


def _gasket_on_flange(room: _Room) -> None:
    edge, ring = room.of_flange("outside"), room.entry.gasket
    if edge is not None and ring is not None and np.any(np.asarray(ring.outside.si) > edge.value):
        message = f"'{ring.outside.given}' reaches past the flange, {edge.words}"
        room.building.at_quantity(ring.outside, message, "is this unit right?")
    face = None if room.entry.flange is None else room.entry.flange.raised_face
    if edge is not None and isinstance(face, Quantity) and np.any(np.asarray(face.si) > edge.value):
        message = f"'{face.given}' reaches past the flange, {edge.words}"
        room.building.at_quantity(face, message, "raised_face is a diameter; is this unit right?")


def _holes(room: _Room) -> None:
    """The holes must let the bolts through."""
    hole = room.of_flange("hole")
    if hole is None:
        return
    thick = np.max(room.bolts.diameter, axis=-1)
    if not np.any(np.asarray(hole.value) <= thick * (1.0 + _ROUNDING)):
        return
    hint = "a hole is larger than its bolt; is this unit right?"
    if hole.given:
        room.building.problem(hole.path, f"{hole.words} does not let {room.size_words} through", hint, found=hole.given)
    else:
        hint = "choose bolts that go through, or write flange / hole as it is drilled"
        room.complain("size", f"{room.size_words} do not go through the holes, {hole.words}", hint)


def _rim(room: _Room) -> None:
    """Bolts and their holes must lie inside the flange."""
    edge, hole, bolts = room.of_flange("outside"), room.of_flange("hole"), room.bolts
    if edge is None:
        return
    wide = np.maximum(bolts.diameter, -np.inf if hole is None else np.asarray(hole.value)[..., None])
    reach = np.max(2.0 * np.hypot(bolts.xy[..., 0], bolts.xy[..., 1]) + wide, axis=-1)
    if not np.any(reach * (1.0 + _ROUNDING) >= edge.value):
        return
    hint = "is this unit right?"
    if bolts.circle is not None:
        room.complain("circle", f"{room.circle_words} puts the bolts over the rim of the flange, {edge.words}", hint)
    else:
        room.complain("places", f"bolts lie over the rim of the flange, {edge.words}", hint)


def _circle(room: _Room, circle: Array) -> None:
    """Bolts on a circle must clear gasket, bore and one another."""
    bolts, ring, given = room.bolts, room.entry.gasket, room.circle_words
    bore = 2 * np.sqrt(np.asarray(room.opening.area) / np.pi)
    inner_edge = circle - np.max(bolts.diameter, axis=-1)
    if ring is not None and np.any(inner_edge < ring.outside.si - RING_ROUNDING):
        hint = "give the contact ring inside the bolts; a gasket that reaches past them is not covered"
        room.complain("circle", f"{given} puts the bolts on the gasket, '{ring.outside.given}'", hint)
    elif np.any(circle <= bore):
        message = f"{given} is not outside the bore of opening '{room.opening.name}'"
        room.complain("circle", message, "is this unit right?")
    chord = circle * np.sin(np.pi / len(bolts.numbers))
    if len(bolts.numbers) > 1 and np.any(chord[..., None] <= bolts.diameter):
        message = f"{len(bolts.numbers)} bolts do not fit on {given.removeprefix('the ')}"
        room.complain("circle", message, "they would overlap")
