"""Between which torques a choice of bolts holds with every bolt there and also with any one of them missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from anchorsize.assessment import Assessment, distinct, evaluate
from anchorsize.studies.lost_bolt import without
from anchorsize.studies.torque import TighteningWindow, window


def chosen_window(shown: Assessment, joint: str, robust: bool) -> TighteningWindow | None:
    """The tightening window of a joint; with ``robust`` what its windows with every bolt there and with any one missing share.

    The check that sets an end is then told with the bolt whose loss makes it do so. None where the tightening is not given.
    """
    whole = window(shown.study, joint, shown.cases)
    return shared(whole, _lost(shown, joint)) if robust and whole is not None else whole


def _lost(shown: Assessment, joint: str) -> Iterator[tuple[int, TighteningWindow]]:
    """The window with each bolt missing in turn, as multiples of the same tightening."""
    bolts = shown.study.joints[joint].bolts
    for number, there in zip(bolts.numbers, bolts.present, strict=True):
        if there:
            less = without(shown.study, joint, (number,))
            found = window(less, joint, evaluate(less, shown.option))
            if found is not None:
                yield number, found


def shared(whole: TighteningWindow, lost: Iterator[tuple[int, TighteningWindow]]) -> TighteningWindow:
    """What the window of the whole joint and those with a bolt lost share: the greatest of the lower ends to the least of the upper."""
    found = whole
    for number, each in lost:
        if each.least > found.least:
            found = replace(found, least=each.least, least_by=_by(each.least_by, number))
        if each.greatest < found.greatest:
            found = replace(found, greatest=each.greatest, greatest_by=_by(each.greatest_by, number))
        found = replace(
            found,
            not_bounded=tuple(dict.fromkeys((*found.not_bounded, *each.not_bounded))),
            not_counted=distinct((*found.not_counted, *each.not_counted)),
        )
    return found


def _by(check: str | None, number: int) -> str | None:
    return None if check is None else f"{check}, bolt {number} missing"
