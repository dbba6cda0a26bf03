"""What an option takes off the joint and the pipe behind it, beside the margin: the sentence of the headline and a table."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from anchorsize.assessment.findings_arms import LIMBER_ARM, NOT_AS_BEAM
from anchorsize.assessment.findings_friction import FRICTION_RELIEVES
from anchorsize.present.words import column, joined, quantity
from anchorsize.studies.supports import Comparison, Option, Peak, as_good
from anchorsize.units import System, convert

RISES = 1.1
"""Ratio of moments over which one counts as risen: common practice, no source."""

FALLS = 0.9
"""Ratio of moments under which one counts as fallen: common practice, no source."""

ALIKE = 1.02
"""Ratio up to which two options relieve joint and pipe alike, so that one not doubtful, then the one with fewer supports is named: common practice, no source."""

PRELOAD = 0.9
"""Share of a bolt's stress from which preload is said to decide: common practice, no source."""

TOGETHER = "Moments: bending and torsion together, √(bending² + torsion²)."
"""What every moment on a joint or at a pipe's end is."""

ARM_COUNTS_AS_RIGID = "These count the arm as rigid; the notes on the option say what a bending one makes of them."
ARMS_COUNT_AS_RIGID = "These count the arm as rigid; the notes on {} say what a bending one makes of them."
NONE_BENDING = "These count the arm as rigid; with a bending one no figure was worked out for {}."
THESE_TOO = "These too count the arm as rigid."

JOINT, PIPE = "the moment on the joint", "the moment in the pipe behind"

COUNTS_ON_FRICTION = (
    "That counts on friction at the supports of '{}', which may be lost: what comes without it stands with that option."
)
NOT_JUDGED = "The pipe is not judged, for no allowable of it is asked here: judge it by the piping code that applies."


def relief_lines(compared: Comparison, told: Sequence[Option] = ()) -> list[str]:
    """What the option that relieves joint and pipe most does to their moments, that the pipe is not judged; that margins tie and why.

    And which of those that hold raise a moment over that with bolts alone. Of those ``told`` the line before these says how their
    arms count.
    """
    best = compared.best
    supported = [option for option in compared.options if option.holds and option.supports]
    alone = next((o for o in compared.options if not o.supports and o.assessment is not None), None)
    if best is None or alone is None:
        return []
    chosen = _least(alone, supported)
    raising = [
        option for option in supported if option is not chosen and max(_ratios(alone, option), default=1.0) > RISES
    ]
    relieved = [] if chosen is None else [_relieved(compared, best, alone, chosen, told)]
    return [*relieved, *(_raised(compared, alone, option) for option in raising)]


def _raised(compared: Comparison, alone: Option, option: Option) -> str:
    """What an option does to the moments, one of which it raises."""
    said = f"NOT a relief: with '{option.name}' in place of '{alone.name}' {_changes(compared, alone, option)}."
    return f"{said} {NOT_JUDGED}" if option.pipe_moment is not None else said


def arm_words(options: Sequence[Option]) -> list[str]:
    """That the moments told of some options count an arm as rigid that bends, and of which what it then gives is worked out."""
    noted = [f"'{option.name}'" for option in options if _limber(option) and not _unworked(option)]
    without = [f"'{option.name}'" for option in options if _limber(option) and _unworked(option)]
    if noted and without:
        return [
            f"{ARMS_COUNT_AS_RIGID.format(joined(noted))[:-1]}, and for {joined(without)} no figure was worked out."
        ]
    if noted:
        return [ARM_COUNTS_AS_RIGID if len(options) == 1 else ARMS_COUNT_AS_RIGID.format(joined(noted))]
    return [NONE_BENDING.format(joined(without))] if without else []


def _limber(option: Option) -> bool:
    return option.assessment is not None and any(each.kind == LIMBER_ARM for each in option.assessment.warnings)


def _unworked(option: Option) -> bool:
    """Whether a note on a bending arm gives no figure."""
    return option.assessment is not None and any(
        each.kind == LIMBER_ARM and NOT_AS_BEAM in each.message for each in option.assessment.warnings
    )


def _moments(option: Option) -> dict[str, Peak | None]:
    return {JOINT: option.joint_moment, PIPE: option.pipe_moment}


def _changes(compared: Comparison, alone: Option, option: Option) -> str:
    then = _moments(option)
    changes = [
        f"{what}{', at its fixed end,' if what == PIPE else ''} {_change(before, after, compared)}"
        for what, before in _moments(alone).items()
        if before is not None and (after := then[what]) is not None
    ]
    return " and ".join(changes)


def _relieved(compared: Comparison, best: Option, alone: Option, chosen: Option, told: Sequence[Option]) -> str:
    """What the option that relieves them most does to the moments."""
    doubt = " (on doubtful input)" if chosen.doubtful and not best.doubtful else ""
    said = f"{_lead(compared, best, alone, chosen)}with '{chosen.name}'{doubt} in place of '{alone.name}' "
    parts = [f"{said[0].upper()}{said[1:]}{_changes(compared, alone, chosen)}.", *_as_low(compared, alone, chosen)]
    if _limber(chosen):
        parts += [THESE_TOO] if any(each is chosen for each in told) else arm_words([chosen])
    if chosen.assessment is not None and any(each.kind == FRICTION_RELIEVES for each in chosen.assessment.warnings):
        parts.append(COUNTS_ON_FRICTION.format(chosen.name))
    return " ".join([*parts, NOT_JUDGED] if chosen.pipe_moment is not None else parts)


def _as_low(compared: Comparison, alone: Option, chosen: Option) -> list[str]:
    """Which option that holds with fewer supports than the most relieving one lowers one of the moments as far."""
    fewer = sorted(
        (o for o in compared.options if o.holds and 0 < len(o.supports) < len(chosen.supports)),
        key=lambda option: (option.doubtful, len(option.supports)),
    )
    said: dict[str, list[str]] = {}
    for what, before in _moments(alone).items():
        after = _moments(chosen)[what]
        if before is None or after is None or after.value >= FALLS * before.value:
            continue
        found = (o for o in fewer if (its := _moments(o)[what]) is not None and its.value <= ALIKE * after.value)
        if (first := next(found, None)) is not None:
            said.setdefault(first.name, []).append(what)
    return [f"'{name}', with fewer supports, brings {joined(moments)} as low." for name, moments in said.items()]


def _lead(compared: Comparison, best: Option, alone: Option, chosen: Option) -> str:
    """Which margins tie, of those named; or that one option gains although its margin is less, or bolts alone do not hold."""
    if chosen is best:
        return ""
    if not alone.holds or not as_good(chosen, best, compared.common):
        return "Beside the margins: "
    why = ", because preload decides" if _preload_decides(best, compared) else ""
    if as_good(alone, best, compared.common):
        return f"Margins tie{why}; but "
    return f"Margins of '{best.name}' and '{chosen.name}' tie{why}; "


def _change(before: Peak, after: Peak, compared: Comparison) -> str:
    was, now = (quantity(peak.value, "moment", compared.study.units) for peak in (before, after))
    if now == was:
        return f"stays at {was}"
    return f"{'falls' if after.value < before.value else 'rises'} from {was} to {now}"


def _least(alone: Option, options: list[Option]) -> Option | None:
    """The option that lowers the moments on joint and in pipe most against bolts alone; None where none lowers one by a tenth."""
    ratios = {option.name: _ratios(alone, option) for option in options}
    falling = [option for option in options if any(ratio < FALLS for ratio in ratios[option.name])]
    if not falling:
        return None

    def left(option: Option) -> float:
        product = 1.0
        for ratio in ratios[option.name]:
            product *= ratio
        return product

    least = min(left(option) for option in falling)
    alike = [option for option in falling if left(option) <= ALIKE * least]
    return min(alike, key=lambda option: (option.doubtful, len(option.supports), left(option)))


def _ratios(alone: Option, option: Option) -> list[float]:
    """Moment on the joint and in the pipe over those with bolts alone."""
    pairs = ((alone.joint_moment, option.joint_moment), (alone.pipe_moment, option.pipe_moment))
    return [
        after.value / before.value
        for before, after in pairs
        if before is not None and after is not None and before.value > 0.0
    ]


def _preload_decides(best: Option, compared: Comparison) -> bool:
    decides = best.deciding(compared.common)
    share = None if decides is None else best.preload_share(decides)
    return share is not None and share >= PRELOAD


def on_joint_headers(system: System) -> tuple[str, ...]:
    """The heads of the table of what acts on the joint, with the units of its figures."""
    force, moment = (convert(0.0, kind, system)[1] for kind in ("force", "moment"))
    axial, shear = f"axial on\nthe joint\n{force}", f"shear\n{force}"
    return ("option", axial, "case", shear, "case", f"bending\n{moment}", "case", f"torsion\n{moment}", "case")


def on_joint_rows(compared: Comparison) -> list[list[str]]:
    """Per option: greatest axial force on a joint with its sign, shear, bending and torsion, each with its case."""
    peaks = [(o.joint_axial, o.joint_shear, o.joint_bending, o.joint_torsion) for o in compared.options]
    return _peak_rows(compared, peaks, ("force", "force", "moment", "moment"))


def on_joint_notes() -> list[str]:
    """What stands under the table of what acts on the joint."""
    return [
        "Axial: the greatest by size; plus opens the joint, minus presses it. It holds",
        "the pressure on the bore, not that on the annulus to the gasket.",
    ]


def relief_headers(system: System) -> tuple[str, ...]:
    """The heads of the table, with the units of its figures."""
    moment, length = (convert(0.0, kind, system)[1] for kind in ("moment", "length"))
    joint, end, moves = (
        f"moment on\nthe joint\n{moment}",
        f"moment at\npipe's end\n{moment}",
        f"fitting\nmoves\n{length}",
    )
    return ("option", joint, "case", end, "case", moves, "case")


def relief_rows(compared: Comparison) -> list[list[str]]:
    """Per option: greatest moment on a joint, at the fixed end of the pipe behind one, and movement of the fitting, each with its case."""
    peaks = [(option.joint_moment, option.pipe_moment, option.movement) for option in compared.options]
    return _peak_rows(compared, peaks, ("moment", "moment", "length"))


def _peak_rows(
    compared: Comparison, peaks: Sequence[tuple[Peak | None, ...]], kinds: tuple[str, ...]
) -> list[list[str]]:
    """Per option some peaks, each with its case."""
    system = compared.study.units
    columns = [
        column([np.nan if peak is None else peak.value for peak in found], kind, system)[0]
        for found, kind in zip(zip(*peaks, strict=True), kinds, strict=True)
    ]
    rows = []
    for place, (option, found) in enumerate(zip(compared.options, peaks, strict=True)):
        cells = [(columns[i][place], "-" if peak is None else peak.case) for i, peak in enumerate(found)]
        rows.append([option.name, *(cell for pair in cells for cell in pair)])
    return rows


def relief_notes(compared: Comparison) -> list[str]:
    """What stands under the table."""
    notes = [TOGETHER]
    moves = [option.movement for option in compared.options if option.movement is not None]
    notes += ["Moves: the opening, mass or load that moves most; no support's own point."] if moves else []
    if any(option.pipe_moment is not None for option in compared.options):
        notes.append("Pipe's end: fixed end of the pipe behind; its own weight left out, not judged.")
    return notes
