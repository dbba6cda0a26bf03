"""What a tightening window says beside its ends: on which threads it is, where what the file gives lies, where the twist passes its share."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from anchorsize.assessment.findings_preload import OF_YIELD
from anchorsize.present.words import joined, number, quantity
from anchorsize.studies.torque import TighteningWindow
from anchorsize.studies.window_threads import Threads
from anchorsize.units import System, figures

CLOSE = 0.1  # share to an end of the window under which a tightening is called close to it: common practice, no source


def close_words(found: TighteningWindow) -> str:
    """That the tightening given is near an end, where a check that does not grow with the load alike has a margin that looks larger."""
    over = found.aimed / found.least - 1.0 if found.least > 0.0 and not found.unsealed else math.inf
    under = found.greatest / found.aimed - 1.0 if found.greatest_by and not found.not_bounded else math.inf
    told = [
        f"{share:.1%} {way}" for share, way in ((over, "over the least"), (under, "under the most")) if share < CLOSE
    ]
    return f", which is CLOSE, only {' and '.join(told)}" if told else ""


def twist_words(found: TighteningWindow, shown: Callable[[float, str, System], str], system: System) -> str:
    """From where pull and twist together pass what they are kept to, below the upper end; empty where they do not before it."""
    if found.twisted is None:
        return ""
    value, kind = (found.preload, "force") if found.torque is None else (found.torque, "moment")
    return f"; OVER {shown(value * found.twisted, kind, system)} pull and twist pass {OF_YIELD:.0%} of yield"


def counted_words(found: TighteningWindow, verb: str) -> str:
    """Which of scatter and loss a window counts; what the file does not give is named, for it is taken as none; and that heat is not."""
    scatter = None if found.threads is None else found.threads.scatter
    known = {"scatter": scatter is not None, "loss": found.relaxation is not None}
    there = [name for name, given in known.items() if given]
    wanting = [f"NO {name.upper()}" for name, given in known.items() if not given]
    told = [f"{' and '.join(there)} {verb}"] if there else []
    cold = ["strength of the bolts at room temperature, NOT that in service"] if found.as_if_cold else []
    return ", ".join([*told, *([f"{' and '.join(wanting)} given, none {verb}"] if wanting else []), *cold])


def given_words(found: TighteningWindow, as_found: TighteningWindow, system: System) -> str:
    """What the file gives, and where it lies: a target, for which the window is, and what was found, or only what the file gives.

    ``as_found`` is the window of the joint as it is, beside whose words those of another need not say again what was found.
    """
    given = _range(found.given, "force" if found.by_preload else "moment", system)
    if found.target is None:
        lead = "given" if found is as_found or as_found.target is None else "target"
        lies = "" if found.evened or found.refused else _lies(found, within=lead == "target")
        return f"{lead}: {given}{lies}{_no_measure(found)}"
    target = f"target: {_range(found.target, 'moment', system)}{'' if found.refused else _lies(found, within=True)}"
    return target if found is not as_found else f"{target}; found: {given}{_no_measure(found)}"


def _no_measure(found: TighteningWindow) -> str:
    """That a window is none for what was found on other threads; empty where it was found on the same."""
    on, was = found.threads, found.found_threads
    if on is None or was is None:
        return ""
    other = [f"at {_factors(was)}, on other threads"] if _differ(on, was) and not found.by_preload else []
    other += [f"with a scatter of {_scatter(was)}"] if was.scatter != on.scatter else []
    preload = " of preload" if found.by_preload else ""
    return f"{preload}{' ' if other else ''}{' and '.join(other)}: NO MEASURE for this window"


def _lies(found: TighteningWindow, within: bool = False) -> str:
    """On which side of a window what the file aims at lies, or near which end; ``within`` tells too that it lies in it."""
    if not found.exists:
        return ""
    if found.least > found.aimed:
        return ", which is TOO LITTLE"
    if found.greatest < found.aimed:
        return ", which is TOO MUCH"
    if close := close_words(found):
        return close
    return ", which is within" if within and not found.unsealed and not found.not_bounded else ""


def threads_words(found: TighteningWindow, as_found: TighteningWindow) -> str:
    """The friction and the scatter that a window counts on, where they are not those found; empty elsewhere."""
    on, was = found.threads, as_found.found_threads or (None if as_found.target is None else as_found.threads)
    if on is None or was is None:
        return ""
    told = []
    if _differ(on, was):
        told.append(("on the threads of the target", _factors(on), _factors(was)))
    if on.scatter != was.scatter:
        told.append(("with the scatter of the target", _scatter(on), _scatter(was)))
    first = found is as_found
    return "".join(f"; {what}, {own}{f' (found: {other})' if first else ''}" for what, own, other in told)


def _differ(on: Threads, was: Threads) -> bool:
    """Whether bolts have another nut factor than was found, on them or, where they were missing, on any."""
    found = {bolt: factor for factor, bolts in was.factors for bolt in bolts}
    known = {factor for factor, _ in was.factors}
    return any(
        factor != found[bolt] if bolt in found else factor not in known
        for factor, bolts in on.factors
        for bolt in bolts
    )


def _range(ends: tuple[float, float], kind: str, system: System) -> str:
    return " to ".join(dict.fromkeys(quantity(each, kind, system) for each in ends))


def _factors(on: Threads) -> str:
    """The nut factors of threads, with the bolts of each where there are several: those of most bolts last."""
    if on.factors == ((None, on.factors[0][1]),):
        return "no K given"
    fewest = sorted(on.factors, key=lambda each: len(each[1]))
    told = [
        f"{'not given' if factor is None else figures(factor, 3)}{_on_bolts(bolts)}" for factor, bolts in fewest[:-1]
    ]
    most = fewest[-1][0]
    last = f"{'not given' if most is None else figures(most, 3)}{' on the other bolts' if told else ''}"
    return f"K = {', '.join([*told, last])}"


def _on_bolts(bolts: Sequence[int]) -> str:
    return f" on bolt{'s' if len(bolts) > 1 else ''} {joined([str(bolt) for bolt in bolts])}"


def _scatter(on: Threads) -> str:
    """The scatter of threads."""
    return "not given" if on.scatter is None else f"±{on.scatter:.0%}"


def threads_dict(found: TighteningWindow) -> dict[str, Any]:
    """The threads that a window is on, those found where they are others, and where the target lies."""
    on, was = found.threads, found.found_threads
    return {
        "on_target_threads": was is not None,
        "nut_factors": _factors_list(on),
        "scatter": None if on is None or on.scatter is None else number(on.scatter),
        "found_nut_factors": _factors_list(was),
        "found_scatter": None if was is None or was.scatter is None else number(was.scatter),
        "target_torque_Nm": None if found.target is None else [number(end) for end in found.target],
        "target_within": _target_within(found),
    }


def _target_within(found: TighteningWindow) -> bool | None:
    """Whether the target lies in its window; None where there is none, or an end that it does not lie beyond is not known."""
    if found.target is None or found.refused or (found.serves and (found.unsealed or found.not_bounded)):
        return None
    return found.serves


def _factors_list(on: Threads | None) -> list[dict[str, Any]] | None:
    """The nut factors of threads with their bolts; None where they are not told."""
    if on is None:
        return None
    return [{"nut_factor": None if k is None else number(k), "bolts": list(bolts)} for k, bolts in on.factors]
