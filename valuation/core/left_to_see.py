"""What is left to see: the checks worth making in order, and whether one may stop looking."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.core.condition import Net
from valuation.core.decide import Decision, Study
from valuation.core.explain import all_actions
from valuation.core.next_checks import Joint, Worth, share_out, worth_of_checks, worth_of_the_unseen
from valuation.core.options import OPTIONS, Action

_SOME_DRAWS = 128
"""Draws on which the worth of the unseen is reckoned: it only says whether to go on looking."""


@dataclass(frozen=True, eq=False)
class Left:
    """What is left to see, and what it would be decided on.

    Attributes
    ----------
    actions : list of Action
        The options, and every plan that one more piece of knowledge could make best.
    joint : Joint
        Their expected nets, shared out over what is hidden.
    ranked : tuple of Worth
        The unmade checks, the one most worth its minutes first.
    worth_of_the_unseen : float
        What knowing all parts that were not looked at would be worth, in money.
    stop_looking : bool
        Nothing left is worth its minutes.
    """

    actions: list[Action]
    joint: Joint
    ranked: tuple[Worth, ...]
    worth_of_the_unseen: float
    stop_looking: bool


def what_is_left(study: Study, decision: Decision) -> Left:
    """Return what is left to see after a decision."""
    actions = all_actions(study, decision)
    joint = share_out(decision.expected, actions)
    made = frozenset(finding.check for finding in study.visit.findings)
    options = [action.option for action in actions]
    worths, perfect = worth_of_checks(decision.expected, joint, options, decision.next_option, made)
    unseen = _worth_of_the_unseen(study, decision, actions, joint.nets)
    return Left(
        actions=actions,
        joint=joint,
        ranked=tuple(sorted(worths, key=_order)),
        worth_of_the_unseen=unseen,
        stop_looking=_may_stop(study, worths, perfect, unseen),
    )


def tells_about(net: Net, check: str) -> str:
    """Return the part that a check tells about, or 'history'."""
    part = net.family_part[net.check_family[check]]
    return net.parts[part].id if part >= 0 else "history"


def _order(worth: Worth) -> tuple:
    """Most gain a minute first; where none gains anything, the one that swings the lead most a minute."""
    minutes = worth.check.minutes
    return -round(worth.gain_per_minute, 2), -worth.swing / minutes, minutes, worth.check.id


def _worth_of_the_unseen(study: Study, decision: Decision, actions: list[Action], nets: np.ndarray) -> float:
    """Return what the parts nobody looked at could still tell, together, on some of the draws."""
    net = study.net
    looked_at = set(net.family_part[study.condition.seen.families].tolist())
    unseen = np.array([p for p in range(len(net.parts)) if p not in looked_at], dtype=int)
    if not len(unseen):
        return 0.0
    by_net = np.argsort(-nets, kind="stable").tolist()
    best_of_each = [next((k for k in by_net if actions[k].option == option), None) for option in OPTIONS]
    few = dict.fromkeys([*by_net[:5], *(k for k in best_of_each if k is not None)])
    states = study.draws.some_states(_SOME_DRAWS)
    return worth_of_the_unseen(decision.expected, [actions[k] for k in few], unseen, states)


def _may_stop(study: Study, worths: list[Worth], perfect: np.ndarray, unseen_worth: float) -> bool:
    """Tell whether nothing left is worth its minutes: no check, no part, nor all unseen parts together."""
    minute = study.minute_costs
    least: dict[str, float] = {}
    for worth in worths:
        part = tells_about(study.net, worth.check.id)
        least[part] = min(least.get(part, worth.check.minutes), worth.check.minutes)
    for p, part in enumerate(study.net.parts):
        if part.id in least and perfect[p] > least[part.id] * minute:
            return False
    quick = sum(worth.check.minutes for worth in worths if worth.check.quick)
    if unseen_worth > minute * max(quick, 1.0):
        return False
    return all(worth.gain <= worth.check.minutes * minute for worth in worths)
