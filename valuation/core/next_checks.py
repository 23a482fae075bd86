"""What to check next: what each unmade check is worth to the decision, per minute.

The worth of a check is how much better one expects to decide after seeing it (expected value of sample information).
It is exact: the checks' grades have known chances, and for each the best action is looked up among those that
would be best if a part turned out to be in one state or another. It is never negative and never above what
knowing the part's true state would be worth.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from valuation.core.condition import Net
from valuation.core.expect import Expectations, Payoff
from valuation.core.options import PARTIAL, REBUILD, Action, Rules
from valuation.core.rows import CheckRow
from valuation.core.search import are_of, net_of_changes
from valuation.core.work import Workshop, distinct

_CASES = np.concatenate([np.eye(4), *(np.eye(4)[:-1] * (1 - x) + np.eye(4)[1:] * x for x in (0.25, 0.75))])
"""What may be learned of a part: its state, or that it is more likely one state than the next; odds of the states."""

_ROUNDING = 1e-12
"""Sums of the same figures in another order differ by less than this [-]."""


@dataclass(frozen=True, eq=False)
class Joint:
    """Expected net of each action, shared out over what is hidden. K actions.

    Attributes
    ----------
    by_state : ndarray, shape (K, P, 4)
        ``E[net; part in state]``: sums over the states to the action's expected net.
    by_exposure : ndarray, shape (K, 3)
    """

    by_state: np.ndarray
    by_exposure: np.ndarray

    @cached_property
    def nets(self) -> np.ndarray:
        """Expected net of each action, shape (K,)."""
        return self.by_exposure.sum(axis=1)


def share_out(expected: Expectations, actions: list[Action]) -> Joint:
    """Return the expected net of each action by the true state of each part, and by exposure."""
    plans = np.array([action.plan for action in actions])
    coefficients = np.array([action.payoff.coefficients for action in actions])
    constant = np.array([action.payoff.constant for action in actions])
    exposure, given, shop = expected.condition.exposure, expected.condition.given, expected.shop
    rest = expected.rest(plans)
    rest *= coefficients[:, :, None] * exposure
    open_part = np.matmul(expected.outcome[plans.T].transpose(0, 1, 3, 2), rest)
    by_state = np.einsum("pksh,phs->kps", open_part, given) + constant[:, None, None] * expected.condition.states
    whole = expected.factor[plans].prod(axis=1)
    by_exposure = (np.einsum("kt,kth->kh", coefficients, whole) + constant[:, None]) * exposure
    assert by_state.shape == (len(actions), len(shop.parts), 4)
    return Joint(by_state, by_exposure)


def plans_worth_having(
    expected: Expectations, work: Payoff, plans: np.ndarray, rules: Rules, elsewhere: tuple[Payoff, ...] = ()
) -> np.ndarray:
    """Return the plans that would be best if one part were known better, or with other figures.

    Parameters
    ----------
    work : Payoff
        Net worth of a plan of work.
    plans : ndarray of int, shape (B, P)
        Plans to start from; each part's choice is varied in each.
    elsewhere : tuple of Payoff
        Net worth of a plan of work with other figures, such as dearer hours.

    Returns
    -------
    ndarray of int, shape (K, P)
        Without the plan that keeps everything.
    """
    shop = expected.shop
    changed = _each_changed(shop, plans, rules)
    is_open = rules.are_open(shop, changed.reshape(-1, len(shop.parts))).reshape(changed.shape[:2])
    rest = expected.rest(plans)[shop.part_of] * expected.condition.exposure
    start, choice = _best_if_known(expected, work, plans, rest, is_open)
    learned = changed[start, choice]
    found = [plans, learned, *_followed_up(expected, work, learned, shop.part_of[choice], rules)]
    if elsewhere:
        terms = np.einsum("cth,cbth->bct", expected.factor, rest)
        for payoff in elsewhere:
            best = np.where(is_open, payoff.of(terms), -np.inf).argmax(axis=1)
            found.append(changed[np.arange(len(plans)), best])
    unique = distinct(np.concatenate(found))
    return unique[rules.are_open(shop, unique)]


def _best_if_known(
    expected: Expectations, work: Payoff, plans: np.ndarray, rest: np.ndarray, is_open: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return which plan and which choice in it would be better than all the plans if a part's state were known better.

    Parameters
    ----------
    plans : ndarray of int, shape (B, P)
    rest : ndarray, shape (C, B, T, 3)
        Terms of each plan without the part of each choice, times the odds of the exposures.
    is_open : ndarray of bool, shape (B, C)

    Returns
    -------
    start, choice : ndarray of int, shape (K,)
    """
    shop, condition = expected.shop, expected.condition
    open_part = np.matmul(expected.outcome.transpose(0, 2, 1)[:, None], rest * work.coefficients[:, None])
    by_choice = np.einsum("cbsh,chs->cbs", open_part, condition.given[shop.part_of])
    by_choice += (work.constant * condition.states[shop.part_of])[:, None]
    odds = condition.states[shop.part_of][:, None]
    by_choice = np.divide(by_choice, odds, out=np.zeros_like(by_choice), where=odds > 0) @ _CASES.T
    best_so_far = by_choice[plans, np.arange(len(plans))[:, None]].max(axis=0)
    by_choice = np.where(is_open.T[:, :, None], by_choice, -np.inf)
    start, choice = [], []
    for p in range(len(shop.parts)):
        first, end = shop.first[p], shop.first[p + 1]
        best = first + by_choice[first:end].argmax(axis=0)
        b, s = np.nonzero(by_choice[first:end].max(axis=0) > best_so_far[p] + 1e-9)
        start.append(b)
        choice.append(best[b, s])
    return np.concatenate(start), np.concatenate(choice)


def _followed_up(
    expected: Expectations, work: Payoff, plans: np.ndarray, because: np.ndarray, rules: Rules
) -> list[np.ndarray]:
    """Return plans in which a change to one part has led to one in another: they may have shared an access.

    Parameters
    ----------
    plans : ndarray of int, shape (K, P)
    because : ndarray of int, shape (K,)
        The part that was changed, and stays so.

    Returns
    -------
    list of ndarray of int, each of shape (n, P)
    """
    shop = expected.shop
    found = []
    for option in (REBUILD, PARTIAL):
        those = are_of(shop, plans, rules, option)
        if not those.any():
            continue
        some, (_, forced) = plans[those], rules.within(option)
        nets = net_of_changes(expected, work, some, rules, option)
        nets[because[those, None] == shop.part_of] = -np.inf
        step = nets.argmax(axis=1)
        each = np.arange(len(some))
        better = nets[each, step] > work.of(expected.means(some)) + 1e-9
        found.append(shop.complete(shop.with_choices(some, step, forced)[each, each][better], forced))
    return found


def _each_changed(shop: Workshop, plans: np.ndarray, rules: Rules) -> np.ndarray:
    """Return each plan with each choice taken in turn, and all that it brings along, shape (B, C, P)."""
    every = np.arange(len(shop.choices))
    changed = np.empty((len(plans), len(every), len(shop.parts)), dtype=int)
    for b, rebuild in enumerate(shop.are_rebuilds(plans)):
        _, forced = rules.within(REBUILD if rebuild else PARTIAL)
        changed[b] = shop.complete(shop.with_choices(plans[b : b + 1], every, forced)[0], forced)
    return changed


@dataclass(frozen=True, slots=True)
class Worth:
    """What one unmade check is worth. Money in the shop's currency.

    Attributes
    ----------
    check : CheckRow
    gain : float
        Expected gain from deciding after it.
    chance_to_turn : float
        Chance that it turns the verdict [-].
    swing : float
        By how much it is expected to move the lead of the verdict over the next option, either way. Where no check
        alone can turn the verdict, several may together: then the one that swings it most comes first.
    """

    check: CheckRow
    gain: float
    chance_to_turn: float
    swing: float

    @property
    def gain_per_minute(self) -> float:
        """Gain over the minutes the check takes [money/min]."""
        return self.gain / self.check.minutes


def worth_of_checks(
    expected: Expectations, joint: Joint, options: list[str], following: str, made: frozenset[str]
) -> tuple[list[Worth], np.ndarray]:
    """Return what each unmade check is worth, and what knowing each part's true state would be, shape (P,).

    Parameters
    ----------
    joint : Joint
    options : list of str, length K
        Option that each action belongs to.
    following : str
        The option next to the verdict.
    made : frozenset of str
        Checks not to be offered: made already, or looked at and not to be seen.
    """
    net: Net = expected.condition.net
    best = joint.nets.max()
    option_number = np.unique(options, return_inverse=True)[1]
    leader = int(joint.nets.argmax())
    second = max((k for k, option in enumerate(options) if option == following), key=lambda k: joint.nets[k])
    deal = _Deal(best, option_number, leader, second)
    perfect = joint.by_state.max(axis=0).sum(axis=1) - best
    open_checks = [row for id_, row in net.checks.items() if (row.readings_of or id_) not in made]
    about_part = [row for row in open_checks if net.family_part[net.check_family[row.id]] >= 0]
    about_history = [row for row in open_checks if net.family_part[net.check_family[row.id]] < 0]
    gains: dict[str, tuple[float, float, float]] = {}
    if about_part:
        family = np.array([net.check_family[row.id] for row in about_part])
        view = net.view[family] * expected.condition.family_seen[family][:, None, :]
        view = view / view.sum(axis=2, keepdims=True)
        chance = np.matmul(view, np.array([net.strength[row.id] for row in about_part]))
        part = net.family_part[family]
        after = np.matmul(joint.by_state[:, part].transpose(1, 0, 2), chance)
        weight = np.einsum("ns,nsg->ng", expected.condition.states[part], chance)
        gains |= _gains(about_part, after, weight, deal)
    if about_history:
        chance = np.array([net.strength[row.id] for row in about_history])
        after = np.matmul(joint.by_exposure, chance)
        weight = np.einsum("h,nhg->ng", expected.condition.exposure, chance)
        gains |= _gains(about_history, after, weight, deal)
    # Readings are graded by every check that uses them; the most telling one counts.
    telling: dict[str, tuple[float, float, float]] = {}
    for row in open_checks:
        source = row.readings_of or row.id
        telling[source] = max(telling.get(source, gains[row.id]), gains[row.id])
    worths = [Worth(row, *telling[row.id]) for row in open_checks if not row.readings_of]
    return worths, np.maximum(perfect, 0.0)


@dataclass(frozen=True, slots=True)
class _Deal:
    """How things stand before a check: best net, option of each action, the leading action and the one behind it."""

    best: float
    option_number: np.ndarray
    leader: int
    second: int


def _gains(rows: list[CheckRow], after: np.ndarray, weight: np.ndarray, deal: _Deal) -> dict[str, tuple]:
    """Return gain, chance to turn and swing of each check.

    Parameters
    ----------
    after : ndarray, shape (n, K, 4)
        Expected net of each action, shared out over the grades.
    weight : ndarray, shape (n, 4)
        Chance of each grade.
    """
    gain = after.max(axis=1).sum(axis=1) - deal.best
    # A gain within rounding is no gain, and must rank nothing.
    gain = np.where(gain > _ROUNDING * (1 + abs(deal.best)), gain, 0.0)
    turned = deal.option_number[after.argmax(axis=1)] != deal.option_number[deal.leader]
    turns = (weight * turned).sum(axis=1)
    lead = after[:, deal.leader] - after[:, deal.second]
    swing = np.abs(lead - weight * lead.sum(axis=1, keepdims=True)).sum(axis=1)
    return {row.id: tuple(map(float, these)) for row, *these in zip(rows, gain, turns, swing, strict=True)}


def worth_of_the_unseen(expected: Expectations, actions: list[Action], unseen: np.ndarray, states: np.ndarray) -> float:
    """Return what knowing the true state of all parts not looked at, and the exposure, would be worth together.

    Parameters
    ----------
    actions : list of Action
        Actions to choose from; kept few.
    unseen : ndarray of int
        Parts of which nothing has been looked at.
    states : ndarray, shape (P + 1, n)
        Draws of every part's state, and in the last row of the exposure.

    Returns
    -------
    float
        Money; never negative.
    """
    plans = np.array([action.plan for action in actions])
    rest = np.delete(np.arange(plans.shape[1]), unseen)
    known = expected.factor[plans[:, rest]].prod(axis=1)
    product = known.transpose(0, 2, 1)[:, states[-1]]
    for p in unseen:
        product = product * expected.outcome[plans[:, p]].transpose(0, 2, 1)[:, states[p]]
    coefficients = np.array([action.payoff.coefficients for action in actions])
    constant = np.array([action.payoff.constant for action in actions])
    nets = np.einsum("knt,kt->kn", product, coefficients) + constant[:, None]
    return max(0.0, float(nets.max(axis=0).mean() - nets.mean(axis=1).max()))
