"""Which torque would do: the windows of tightening of the check report."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from anchorsize.present.window_words import counted_words, given_words, threads_dict, threads_words, twist_words
from anchorsize.present.words import (
    joined,
    number,
    paragraph,
    quantity,
)
from anchorsize.studies.torque import TighteningWindow
from anchorsize.units import System


def windows_text(
    windows: Sequence[TighteningWindow],
    width: int,
    system: System,
    after: Sequence[TighteningWindow] = (),
    one_lost: Sequence[TighteningWindow] = (),
    bolts: str = "",
) -> list[str]:
    """One section on the tightening that makes every check decided by preload hold, or on why none does.

    ``after`` are the windows once the joints are repaired; those of ``one_lost`` hold with any one bolt missing too. ``bolts``
    says for which bolts, where the file's are not those.
    """
    told = window_sentences(windows, system, after, one_lost, bolts)
    if not told:
        return []
    lines = (paragraph(sentence, width, bullet) for bullet, sentence in told)
    return ["\n".join(["Tightening that would do", *lines])]


def window_sentences(
    windows: Sequence[TighteningWindow],
    system: System,
    after: Sequence[TighteningWindow] = (),
    one_lost: Sequence[TighteningWindow] = (),
    bolts: str = "",
) -> list[tuple[str, str]]:
    """The sentences of :func:`windows_text`, each with what it is led by: a dash, or an exclamation mark where it warns."""
    of_state = ((windows, ""), (one_lost, ", also with any one bolt missing"), (after, ", once repaired"))
    told: list[tuple[str, str]] = []
    as_found = {each.joint: each for each in windows}
    for found, state in ((each, state) for group, state in of_state for each in group):
        before = as_found.get(found.joint)
        if found.held_back and before is not None and before is not found:
            continue  # told of the joint already
        told.append(("- ", f"joint '{found.joint}'{bolts}{state}: {_window(found, before or found, system)}"))
        if found.not_counted and not found.unsealed:
            told.append(("! ", f"{not_counted_words(found)}: more may be wanted."))
    if not told:
        return []
    if not all(each.held_back for group, _ in of_state for each in group):
        told.append(
            ("- ", "It counts the checks that preload decides, over the whole ring; no torque mends the others.")
        )
    return told


def _window(found: TighteningWindow, as_found: TighteningWindow, system: System) -> str:
    """Both ends of a window with what sets them, or why there is none; ``as_found`` is that of the joint before any repair."""
    value, kind = (found.preload, "force") if found.torque is None else (found.torque, "moment")
    what = "preload" if found.torque is None else "torque"
    given, on_threads = given_words(found, as_found, system), threads_words(found, as_found)
    if found.refused:
        return f"no {what} {'is given' if found.held_back else 'serves'}: {found.refused} ({given})"
    if not found.exists:
        return (
            f"no {what} makes every check hold{on_threads}: {found.least_by or 'nothing'} wants more than "
            f"{found.greatest_by or 'the strength of the bolts'} allows{bound_words(found)} ({given})"
        )
    on = f"the same {what} on every bolt" if found.evened else what
    on += " of its size" if found.evened and found.sizes > 1 else ""
    if found.frictions > 1 or found.uneven:
        on = what
    least, greatest = (quantity(value * end, kind, system) for end in (found.least, found.greatest))
    above = (
        no_upper_end(found, greatest)
        if found.not_bounded
        else f"to {greatest} ({found.greatest_by or 'tensile strength of the bolts'})"
    )
    if found.unsealed:
        text = f"{no_lower_end(found)}; {f'{on} up ' if above.startswith('to ') else ''}{above}"
    else:
        text = f"{on} from {least} ({found.least_by or 'nothing asks for more'})"
        text += f"{' ' if above.startswith('to ') else '; '}{above}"
    text += f"{twist_words(found, quantity, system)}{on_threads}; {counted_words(found, 'included')}; {given}"
    if found.not_for:
        text += f"; NOT for bolt{'s' if len(found.not_for) > 1 else ''} {joined([str(bolt) for bolt in found.not_for])}, of new or cleaned threads"
    if found.gasket_stays:
        text += "; for nuts turned UP to it only: the gasket stays, so a bolt that is tighter, or tight on other friction, keeps what it has"
    if found.if_it_stays and found is as_found:
        text += f"; for a joint taken apart: if the gasket STAYS, the target is not reached on bolt{'s' if len(found.if_it_stays) > 1 else ''} {joined([str(bolt) for bolt in found.if_it_stays])}, and no torque is given"
    if found.in_proportion:
        text += f"; the {what}s are those of the bolts with the greatest, the others in proportion"
    return text


def no_upper_end(found: TighteningWindow, greatest: str) -> str:
    """That the checks made give no permission to tighten up to where they end, and from where on one of them fails all the same.

    Not where crushing is what is not checked: a gasket gives way long before its bolts, and their end would be taken for leave.
    """
    told = found.greatest_by is not None and "gasket crushing" not in found.not_bounded
    known = f"; over {greatest} {found.greatest_by} fails in any case" if told else ""
    return f"upper end not known: {joined(found.not_bounded)} not checked{known}"


def no_lower_end(found: TighteningWindow) -> str:
    """That the checks made do not tell how little is enough to seal."""
    return f"LOWER END NOT KNOWN: {_wanting(found)}"


def not_counted_words(found: TighteningWindow) -> str:
    """Which checks that ask for tightening are not in the lower end, and what they want."""
    return f"NOT COUNTED in the lower end: {_wanting(found)}"


def _wanting(found: TighteningWindow) -> str:
    """The checks that could not be made, with what each wants."""
    alike: dict[str, list[str]] = {}
    for item in found.not_counted:
        alike.setdefault(item.supply, []).append(item.check)
    return "; ".join(f"{joined(checks)} not checked (wants {supply})" for supply, checks in alike.items())


def bound_words(found: TighteningWindow) -> str:
    """That the ends of a window are only those of a bound, and what to supply for the answer itself; empty where they are not."""
    if not found.bound_only:
        return ""
    return f", in the bound without stiffness; with {joined(found.stiffness_wanting)} given the answer may differ"


def windows_dict(windows: Sequence[TighteningWindow]) -> dict[str, Any]:
    """The same by joint: torque in N·m or preload in N, null where that end does not exist or is not known."""
    return {
        found.joint: {
            "exists": found.exists,
            "torque_least_Nm": None if found.unsealed or found.refused else _end(found.torque, found.least),
            "torque_greatest_Nm": None if found.not_bounded or found.refused else _end(found.torque, found.greatest),
            "preload_least_N": None if found.unsealed or found.refused else _end(found.preload, found.least),
            "preload_greatest_N": None if found.not_bounded or found.refused else _end(found.preload, found.greatest),
            "not_for": list(found.not_for),
            "torque_twisted_Nm": None if found.twisted is None else _end(found.torque, found.twisted),
            "preload_twisted_N": None if found.twisted is None else _end(found.preload, found.twisted),
            "least_by": found.least_by,
            "greatest_by": found.greatest_by,
            "greatest_not_known_for": list(found.not_bounded),
            "least_not_known_for": list(found.unsealed),
            "stiffness_wanting": list(found.stiffness_wanting) if found.bound_only else [],
            "not_counted": [{"check": item.check, "supply": item.supply} for item in found.not_counted],
            "refused": found.refused or None,
            **threads_dict(found),
        }
        for found in windows
    }


def _end(value: float | None, multiple: float) -> float | None:
    return None if value is None or math.isinf(multiple) else number(value * multiple)
