"""What the comparison of support options says first: which hold, which has the greatest margin and why, what idles or is turned wrong."""

from __future__ import annotations

import math

from anchorsize.assessment.buckling import BUCKLING
from anchorsize.assessment.findings_support_data import (
    HEAT,
    HOLDS_DOWN,
    NEEDS_BRACKET,
    SHORTENED,
    label,
)
from anchorsize.assessment.findings_supports import TURNED, why_idle
from anchorsize.assessment.statements import DEFERRAL
from anchorsize.present.support_words import state_word
from anchorsize.present.supports_beside import doubted, loud
from anchorsize.present.supports_not_counted import not_counted
from anchorsize.present.supports_relief import arm_words, relief_lines
from anchorsize.present.words import figure, joined, margin, place_words, quantity, used
from anchorsize.studies.supports import SAME, Carried, Case, Comparison, Option, as_good
from anchorsize.study import Study

CASES_NAMED = 2
"""Cases that are named one by one; more are counted."""

CHANGES_OF_LENGTH = {HEAT: "heat in the pipe behind", SHORTENED: "pressure that shortens the pipe behind"}
"""Kinds of finding on the length of that pipe, in a few words."""

ALIKE = 1.05
"""Ratio of utilizations up to which margins are told as alike: common practice, no source."""

ROUNDING = 1e-3
"""Relative difference of utilizations that three figures do not show."""

SUPPORTS_NAMED = 3
"""Supports that are named one by one; more are counted."""


def verdict_lines(compared: Comparison) -> list[str]:
    """Which options hold, which has the greatest margin and why, and what that rests on."""
    study, best = compared.study, compared.best
    holding = [f"'{option.name}'{_marks(option)}" for option in compared.options if option.holds]
    others = [option for option in compared.options if not option.holds]
    lines = [f"HOLDS: {', '.join(holding)}." if holding else "NO OPTION HOLDS, or can be said to hold."]
    lines += [f"'{option.name}' {_why_not(study, option)}{_bracketed(_slack(option))}." for option in others]
    lines += [
        *loud(compared),
        *doubted(compared),
        *not_counted(compared),
        *_idle_lines(compared),
        *_turned(compared),
    ]
    told: list[Option] = []  # of which one line tells the moments beside each other
    if best is not None and (decides := best.deciding(compared.common)) is not None:
        told = _differing(compared, best)
        lines += [
            _best_words(compared, best, decides),
            *_not_in_margin(best),
            *_others(compared, best, decides),
            *_alike(compared, told),
        ]
    if compared.gains_nothing and best is not None:
        lines.append(f"No option with supports gains margin over '{best.name}'.")
    lines += relief_lines(compared, told)
    if holding and best is not None and best.deciding(compared.common) is None:
        lines.append("No choice of support changes any check that was made.")
    alike = _never_ranking(compared)
    if len(holding) > 1 and alike and best is not None and best.deciding(compared.common) is not None:
        lines.append(f"No choice of support changes these, so they do not rank the options: {', '.join(alike)}.")
    if compared.cheapest is not None:
        lines.append(_least_cost(compared, compared.cheapest))
    lines += _not_made(compared)
    lines.append("Rests on the allowables given and the assumptions below. " + DEFERRAL)
    return lines


def _best_words(compared: Comparison, best: Option, decides: Case) -> str:
    """The best option with its margin over all checks, the check that sets it and, where another ranks, that one."""
    study, governs = compared.study, best.governing or decides
    lead = f"{_first(compared, best)}{_as_written(compared, best)}: '{best.name}'{_bracketed(_slack(best))}, {margin(float(governs[1].margin))}"
    if governs[1] is decides[1]:
        return f"{lead}; {check_words(study, decides)} decides."
    return (
        f"{lead} over all its checks, set by {check_words(study, governs)}, which no choice of support changes; of the checks that "
        f"it changes {check_words(study, decides)} decides."
    )


def _not_in_margin(best: Option) -> list[str]:
    """Which changes of length the margin does not count, where they change what the supports of the best option do."""
    kinds = () if best.assessment is None else {finding.kind for finding in best.assessment.warnings}
    told = [words for kind, words in CHANGES_OF_LENGTH.items() if kind in kinds]
    if not told or not best.supports:
        return []
    return [
        f"Not in that margin: {joined(told)}, which changes the forces or lets supports go: see the notes on '{best.name}' below."
    ]


def _first(compared: Comparison, best: Option) -> str:
    """That the best has the greatest margin, or is named before others with practically as much."""

    def use(option: Option) -> float:
        decides = option.deciding(compared.common)
        return math.inf if decides is None else float(decides[1].utilization)

    least = min(use(option) for option in compared.options if option.holds)
    return "Greatest margin" if use(best) <= (1.0 + ROUNDING) * least else "Named first of practically the same margin"


def _least_cost(compared: Comparison, cheapest: Option) -> str:
    """The cheapest option that holds, and which of them have no cost to compare."""
    cost = figure(cheapest.cost or 0.0)
    without = [f"'{o.name}'" for o in compared.options if o.holds and o.supports and o.cost is None]
    left_out = f" Left out for want of a cost of every support: {', '.join(without)}." if without else ""
    return f"Least cost of the options that hold with a support that carries, by your figures{_as_written(compared, cheapest)}: '{cheapest.name}', {cost}.{left_out}"


def _marks(option: Option) -> str:
    """What a reader must know of an option beside its verdict: slack or lifted supports, checks not made."""
    buckling = [item.where for item in option.not_made if item.check == BUCKLING]
    rest = len(option.not_made) - len(buckling)
    said = _slack(option)
    if option.doubtful:
        said.append("on doubtful input")
    warnings = () if option.assessment is None else option.assessment.warnings
    reached = [finding.message for finding in warnings if finding.kind == NEEDS_BRACKET]
    if off := [each.name for each in option.supports if any(m.startswith(f"{label(each)} ") for m in reached)]:
        said.append(f"bracket to {', '.join(off)} not judged")
    if buckling:
        named = ", ".join(buckling) if len(buckling) <= SUPPORTS_NAMED else f"{len(buckling)} supports"
        said.append(f"buckling of {named} not checked")
    if rest:
        said.append(f"{rest} {'other ' if buckling else ''}check{'s' if rest > 1 else ''} of its supports not made")
    return _bracketed(said)


def _bracketed(said: list[str]) -> str:
    return f" ({'; '.join(said)})" if said else ""


def _slack(option: Option) -> list[str]:
    """Supports that are slack, lifted or idle, with the cases; why those of no use at all are so is said in a line of its own."""
    return [
        f"{each.support.name} {'carries nothing' if each.idle else _idle_cases(each)}"
        for each in option.carried
        if each.idle_in
    ]


def _idle_cases(each: Carried) -> str:
    words = "/".join(dict.fromkeys(state_word(each.results[case]) for case in each.idle_in))
    return f"{words} in {_cases(each.idle_in, len(each.results))}"


def _idle_lines(compared: Comparison) -> list[str]:
    """Supports that carry nothing in any case, gathered by why."""
    why: dict[str, list[str]] = {}
    for option in compared.options:
        for each in option.carried:
            if each.idle and option.assessment is not None:
                reason = why_idle(compared.study, each.support, option.assessment.cases)
                why.setdefault(reason, []).append(f"{label(each.support)} of '{option.name}'")
    return [
        f"{', '.join(names)} carr{'ies' if len(names) == 1 else 'y'} nothing in any case, as if not there: {reason}."
        for reason, names in why.items()
    ]


def _turned(compared: Comparison) -> list[str]:
    """Supports that a finding calls turned the wrong way, where the line about idle ones has not said so."""
    lines = []
    for option in compared.options:
        for each in option.carried:
            about = _of_turning(option, each)
            if not about or _idles_turned(compared, option, each):
                continue
            do = (
                f"{TURNED}, {HOLDS_DOWN}"
                if any(HOLDS_DOWN in message for message in about)
                else f"{TURNED} (see there)"
            )
            lines.append(f"{label(each.support)} of '{option.name}' seems turned the wrong way: {do}.")
    return lines


def _of_turning(option: Option, each: Carried) -> list[str]:
    """What the findings say of a support that seems turned the wrong way."""
    warnings = () if option.assessment is None else option.assessment.warnings
    about = [warning.message for warning in warnings if warning.message.startswith(f"{label(each.support)} ")]
    return [message for message in about if TURNED in message.casefold()]


def _idles_turned(compared: Comparison, option: Option, each: Carried) -> bool:
    """Whether a support carries nothing in any case because it seems turned the wrong way."""
    made = option.assessment
    return made is not None and each.idle and TURNED in why_idle(compared.study, each.support, made.cases)


def _as_written(compared: Comparison, option: Option) -> str:
    """What to add where an option is put first although a support of it seems turned the wrong way, or its input is in doubt."""
    turned = any(_of_turning(option, each) or _idles_turned(compared, option, each) for each in option.carried)
    return f"{', as written' if turned else ''}{', ON DOUBTFUL INPUT' if option.doubtful else ''}"


def _why_not(study: Study, option: Option) -> str:
    if option.assessment is None:
        return f"cannot be judged: {option.refused}"
    if option.failing:
        worst = option.failing[0]
        count = len(option.failing)
        return f"FAILS {count} check{'s' if count > 1 else ''}; worst: {check_words(study, worst)}"
    needed = ", ".join(f"{i.words} of '{i.where}'" for i in option.assessment.not_checked if i.needed)
    return f"IS NOT COMPLETE: not checked for want of input: {needed}"


def _others(compared: Comparison, best: Option, decides: Case) -> list[str]:
    """Every other option that holds against the best; those as good as it by the same check in one sentence."""
    others = [option for option in compared.options if option.holds and option is not best]
    alike: dict[str, list[str]] = {}
    for option in others:
        if _same_check(compared, best, decides, option):
            alike.setdefault(_second(best, option), []).append(f"'{option.name}'")
    lines = [
        f"{joined(names)} hold{'s' if len(names) == 1 else ''} with practically the same margin as '{best.name}'{second}: {decides[1].words} "
        f"decides {'it' if len(names) == 1 else 'each'} too."
        for second, names in alike.items()
    ]
    apart = [option for option in others if not _same_check(compared, best, decides, option)]
    return [*lines, *(_against(compared, best, option) for option in apart)]


def _second(best: Option, option: Option) -> str:
    """Why an option with practically the margin of the best comes after it."""
    more = " and more supports" if len(option.supports) > len(best.supports) else ""
    if option.doubtful and not best.doubtful:
        return f"{more}, but on doubtful input"
    return f"{more}, but by friction alone" if option.by_friction and not best.by_friction else more


def _differing(compared: Comparison, best: Option) -> list[Option]:
    """The options whose margins are alike, the best first, where the moment on the joint differs between them."""
    level = [best, *(option for option in compared.options if _nearly(compared, best, option) and option is not best)]
    moments = [option.joint_moment.value for option in level if option.joint_moment is not None]
    if len(moments) < 2 or max(moments) <= ALIKE * min(moments):
        return []
    return [option for option in level if option.joint_moment is not None]


def _alike(compared: Comparison, told: list[Option]) -> list[str]:
    """What differs between options whose margins are alike: the moment on the joint, where it does."""
    if not told:
        return []
    listed = ", ".join(
        f"'{option.name}' {quantity(moment.value, 'moment', compared.study.units)}"
        for option in told
        if (moment := option.joint_moment) is not None
    )
    said = f"Margins within 5 % of each other are alike; what differs is the greatest moment on the joint: {listed}."
    return [" ".join([said, *arm_words(told)])]


def _nearly(compared: Comparison, best: Option, option: Option) -> bool:
    """Whether an option that holds has nearly the margin of the best, by the checks that the choice changes."""
    mine, least = option.deciding(compared.common), best.deciding(compared.common)
    if not option.holds or mine is None or least is None:
        return False
    return float(mine[1].utilization) <= ALIKE * float(least[1].utilization)


def _same_check(compared: Comparison, best: Option, decides: Case, option: Option) -> bool:
    own = option.deciding(compared.common)
    return as_good(option, best, compared.common) and own is not None and own[1].check == decides[1].check


def _against(compared: Comparison, best: Option, option: Option) -> str:
    """Why another option that holds has less margin, and whether that is a check of its own support and not the joint's."""
    decides = option.deciding(compared.common)
    governs = "nothing was checked" if decides is None else f"{check_words(compared.study, decides)} decides it"
    level = as_good(option, best, compared.common)
    margin_words = (
        f"practically the same margin as '{best.name}'{_second(best, option)}"
        if level
        else f"less margin than '{best.name}'"
    )
    if not level and _nearly(compared, best, option):
        margin_words = f"nearly the margin of '{best.name}'"
    own = "" if level or decides is None else _own_cause(compared, best, option, decides)
    return f"'{option.name}' holds with {margin_words}: {governs}{own}."


def _own_cause(compared: Comparison, best: Option, option: Option, decides: Case) -> str:
    """That the support itself sets the margin, where the joint is no worse off with it than with the best option."""
    mine, beside = option.joint_use(compared.common), best.joint_use(compared.common)
    if decides[1].where in compared.study.joints or mine > beside * (1.0 + SAME):
        return ""
    return f", which is the support's own: its joint's checks use at most {used(mine)}, those with '{best.name}' {used(beside)}"


def _never_ranking(compared: Comparison) -> list[str]:
    """The checks that no option changes, each with its cases."""
    where: dict[str, list[str]] = {}
    for case in compared.study.cases:
        for check in sorted({check for name, check, _ in compared.common if name == case}):
            where.setdefault(check, []).append(case)
    return [f"{check} in {_cases(cases, len(compared.study.cases))}" for check, cases in sorted(where.items())]


def _not_made(compared: Comparison) -> list[str]:
    """The checks of the joints that no option has for want of input, by name; those that the verdict wants are told by it."""
    each = [
        {item.words for item in made.not_checked if item.where in compared.study.joints and not item.needed}
        for option in compared.options
        if (made := option.assessment) is not None
    ]
    names = sorted(set.intersection(*each)) if each else []
    if not names:
        return []
    return [f"NOT CHECKED at the joints in any option, for want of input: {joined(names)}; check says what to supply."]


def _cases(named: list[str], count: int) -> str:
    """Cases by name where they are few."""
    if count > 1 and len(named) == count:
        return "every case"
    return ", ".join(repr(case) for case in named) if len(named) <= CASES_NAMED else f"{len(named)} of {count} cases"


def check_words(study: Study, pair: Case) -> str:
    case, check = pair
    bolt = "" if check.bolt is None else f", bolt {int(check.bolt)},"
    return (
        f"{check.words} of {place_words(study, check.where)}{bolt} in '{case}' (utilization {used(check.utilization)})"
    )
