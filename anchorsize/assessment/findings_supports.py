"""What a person should notice about the supports: lifted, slack, reversed, idle, harmful, and what was not looked at.

Each function reads the evaluated cases of a study with one row and returns warnings of a stable kind.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from anchorsize.assessment.checks_supports import presumptive_words
from anchorsize.assessment.findings import NEGLIGIBLE, load_scale
from anchorsize.assessment.holding import stiffness_known
from anchorsize.assessment.results import CaseResult, Finding, SupportResult
from anchorsize.mechanics.restraint import SupportState
from anchorsize.study import Study, Support
from anchorsize.units import show

IDLE = 0.02
"""Share of the reaction under which a support counts as idle: common practice, no source."""

Cases = Mapping[str, CaseResult]

_OPEN = {
    "hanger": ("slack hanger", "is slack", "hangs loose and may drop or swing"),
    "tie": ("slack tie", "is slack", "hangs loose"),
    "rest": ("uplift at a rest", "has lifted", "holds nothing down: the fitting has risen off it"),
    "thrust_block": ("idle thrust block", "does not touch", "takes no thrust"),
    "strut": ("strut in its gap", "moves freely in its gap", "takes no load"),
    "guide": ("guide in its gap", "moves freely in its gap", "takes no load"),
}


def notice_supports(study: Study, supports: tuple[Support, ...], cases: Cases) -> tuple[Finding, ...]:
    """All findings about the supports of the option judged, in the order in which a reader needs them."""
    if not supports or not any(result.supports for result in cases.values()):
        return ()
    return (
        *(finding for each in supports for finding in _open(each, cases)),
        *(finding for each in supports for finding in _reversed(study, each, cases)),
        *(finding for each in supports for finding in _not_single(each, cases)),
        *_rigid_joint(study, supports),
        *_idle(study, supports, cases),
        *(finding for each in supports for finding in _presumptive(each)),
        Finding(
            "thermal growth not considered",
            None,
            "Growth of pipe and supports with temperature, settlement and the order of erection are not considered: a support that "
            "is right when cold may lift or take more when hot. Check them by the code that applies.",
        ),
    )


def worsened(greatest: float, alone: float) -> tuple[Finding, ...]:
    """Whether the option loads the joint more than no support would, by the greatest utilization of the checks it changes."""
    if greatest <= alone * 1.005:
        return ()
    return (
        Finding(
            "supports load the bolts more",
            None,
            f"With these supports the greatest utilization of the joint's checks that they change is {greatest:.3g}; with bolts alone it is "
            f"{alone:.3g}: the supports make the bolts worse. Look at where they stand, their stiffness and set loads.",
        ),
    )


def _of(support: Support, cases: Cases) -> dict[str, SupportResult]:
    return {name: result.supports[support.name] for name, result in cases.items() if support.name in result.supports}


def _open(support: Support, cases: Cases) -> list[Finding]:
    words = _OPEN.get(support.kind)
    where = [name for name, each in _of(support, cases).items() if int(np.asarray(each.state)) == SupportState.OPEN]
    if words is None or not where:
        return []
    kind, does, means = words
    listed = ", ".join(f"'{name}'" for name in where)
    every = " (in every case: it does nothing at all)" if len(where) == len(cases) else ""
    return [Finding(kind, None, f"{label(support)} {does} in {listed}{every}: there it {means}.")]


def _reversed(study: Study, support: Support, cases: Cases) -> list[Finding]:
    """A two-way support that pushes in one case and pulls in another."""
    pushes = {name: float(np.asarray(each.push)) for name, each in _of(support, cases).items()}
    small = NEGLIGIBLE * max((abs(push) for push in pushes.values()), default=0.0)
    up = {name: push for name, push in pushes.items() if push > small}
    down = {name: push for name, push in pushes.items() if push < -small}
    if not (up and down):
        return []
    most, least = max(up, key=lambda name: up[name]), min(down, key=lambda name: down[name])
    return [
        Finding(
            "support reversed",
            None,
            f"{label(support)} pushes with {show(up[most], 'force', study.units)} in '{most}' and pulls with "
            f"{show(-down[least], 'force', study.units)} in '{least}': its ends, pins and anchors must hold both ways without play.",
        )
    ]


def _not_single(support: Support, cases: Cases) -> list[Finding]:
    if not support.friction:
        return []
    where = [name for name, each in _of(support, cases).items() if not np.all(each.single)]
    if not where:
        return []
    return [
        Finding(
            "friction leaves a choice",
            name,
            f"{label(support)}: with this friction other states than the one shown are in balance too; which one comes depends on how "
            "the load came on. Judge it without friction as well.",
        )
        for name in where
    ]


def _rigid_joint(study: Study, supports: tuple[Support, ...]) -> list[Finding]:
    rigid = [name for name, joint in study.joints.items() if not stiffness_known(joint)]
    if not rigid:
        return []
    listed = ", ".join(f"'{name}'" for name in rigid)
    preset = [each.name for each in supports if each.set_load is not None]
    gives = f"only the set loads of {', '.join(preset)} act" if preset else "every support idles"
    return [
        Finding(
            "rigid joint starves the supports",
            None,
            f"Joint {listed} is taken as rigid (no stiffness or pipe_behind given): it lets nothing move, so {gives}, and the bolts "
            "carry the rest. Give the joint's stiffness, or the pipe_behind it, to see what the supports take.",
        )
    ]


def _idle(study: Study, supports: tuple[Support, ...], cases: Cases) -> list[Finding]:
    """Supports that carry next to nothing in every case although they touch: the joint is so stiff that they idle."""
    if not all(stiffness_known(joint) for joint in study.joints.values()):
        return []
    found = []
    for each in supports:
        results = _of(each, cases)
        touches = [name for name, result in results.items() if int(np.asarray(result.state)) != SupportState.OPEN]
        shares = [float(np.linalg.norm(results[name].force)) / max(load_scale(cases[name]), 1e-300) for name in touches]
        if touches and each.set_load is None and max(shares) <= NEGLIGIBLE:
            found.append(
                Finding(
                    "support idles",
                    None,
                    f"{label(each)} carries nothing in any case: nothing moves the fitting along it.",
                )
            )
        elif touches and each.set_load is None and max(shares) < IDLE:
            found.append(
                Finding(
                    "support idles",
                    None,
                    f"{label(each)} carries at most {max(shares):.2%} of the loads in any case: joint and pipe are so much stiffer that it "
                    "idles. A set load, a stiffer support or another place would make it work.",
                )
            )
    return found


def _presumptive(support: Support) -> list[Finding]:
    if support.block is None or not support.block.presumptive:
        return []
    words = presumptive_words(support.block).strip().strip("()")
    return [Finding("presumptive bearing", None, f"{label(support)}: {words}.")]


def label(support: Support) -> str:
    """Kind and name, to begin a sentence with."""
    return f"{support.kind.replace('_', ' ').capitalize()} '{support.name}'"
