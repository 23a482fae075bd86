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
from valuation.core.work import distinct

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
    """Return the plans that would be best if one part were known to be in one state, or with other figures.

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
    rebuilds = shop.are_rebuilds(plans)
    found = [
        _changed(expected, work, plans[those], *rules.within(option), elsewhere)
        for option, those in ((REBUILD, rebuilds), (PARTIAL, ~rebuilds))
        if those.any()
    ]
    unique = distinct(np.concatenate(found))
    return unique[rules.are_open(shop, unique)]


def _changed(
    expected: Expectations,
    work: Payoff,
    plans: np.ndarray,
    allowed: np.ndarray,
    forced: np.ndarray,
    elsewhere: tuple[Payoff, ...],
) -> np.ndarray:
    """Return plans of one class, and each with the one change that would be best in some case."""
    shop, condition = expected.shop, expected.condition
    part = shop.part_of
    rest = expected.rest(plans)[part] * condition.exposure
    open_part = np.matmul(expected.outcome.transpose(0, 2, 1)[:, None], rest * work.coefficients[:, None])
    by_choice = np.einsum("cbsh,chs->bcs", open_part, condition.given[part])
    by_choice = np.where(allowed[:, None], by_choice + work.constant * condition.states[part], -np.inf)
    best_so_far = by_choice[np.arange(len(plans))[:, None], plans].max(axis=0)
    found = [plans]
    for p in range(len(shop.parts)):
        first, end = shop.first[p], shop.first[p + 1]
        best = by_choice[:, first:end].argmax(axis=1)
        better = by_choice[:, first:end].max(axis=1) > best_so_far[p] + 1e-9
        for b, s in zip(*np.nonzero(better), strict=True):
            changed = plans[b].copy()
            changed[p] = first + best[b, s]
            found.append(changed[None])
    if elsewhere:
        terms = np.einsum("cth,cbth->bct", expected.factor, rest)
        for payoff in elsewhere:
            net = np.where(allowed, payoff.of(terms), -np.inf)
            best = net.argmax(axis=1)
            changed = plans.copy()
            changed[np.arange(len(plans)), part[best]] = best
            found.append(changed)
    return shop.complete(np.concatenate(found), forced)


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
