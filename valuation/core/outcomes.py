"""What may come of each option: the spread about the exact expectations, drawn on shared base numbers.

All options stand on the same draws: the same hidden states, the same market, the same job. So a difference between
two options is drawn as such, and turning a figure moves every draw smoothly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from valuation.core.draws import BaseNumbers
from valuation.core.expect import LN2, Expectations, survival
from valuation.core.options import KEEP, RETIRE, Action, Rules
from valuation.core.work import FAILED

# Dimensions of the base numbers, in order of weight; states and operations follow.
HISTORY, JOB, MARKET, OWN, REPLACEMENT, LIFE, MATERIAL = range(7)
FIRST_STATE = 7
_STILL_PLAYS = 0.6
"""A piano that still plays this well with a part failed has not come to the end of its good years [-]."""
_AT_A_TIME = 5
"""Operations whose effort is drawn together: few enough for the processor's cache."""
_YEARS = 10.0
"""Wear is counted over so many years; only keeps the numbers in range [years]."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """One option on the draws, n of each. Money in the shop's currency, with tax.

    Attributes
    ----------
    price, value, net, per_year : ndarray, shape (n,)
        What is paid; what the piano (or the replacement) is worth afterwards; net worth to the client; cost of a year.
    years : ndarray, shape (n,)
        Years until the first part that matters to playing gives out [years].
    """

    price: np.ndarray
    value: np.ndarray
    net: np.ndarray
    years: np.ndarray
    per_year: np.ndarray


def tenths(values: np.ndarray) -> tuple[float, float, float]:
    """Return the 10, 50 and 90 % points of draws, exactly."""
    n, ordered = len(values), np.sort(values)
    return tuple(ordered[[n // 10, n // 2, n - 1 - n // 10]].tolist())


class Draws:
    """The draws of one piano: hidden states and noises, made once, used for every option and what-if."""

    def __init__(self, expected: Expectations, base: BaseNumbers) -> None:
        self.base = base
        parts = len(expected.shop.parts)
        self._ends = np.rint(np.cumsum(expected.condition.exposure) * base.n).astype(int)
        self._ends[-1] = base.n
        ranks = base.ranks(np.arange(FIRST_STATE, FIRST_STATE + parts))
        self._states = _draw_states(expected, ranks, self._ends)
        job, market, own, replacement, _, material = base.normals(np.arange(1, FIRST_STATE))
        self.job, self.material = job, material
        self.market, self.own, self.replacement = market, own, replacement
        rank = base.ranks(np.array([LIFE]))[0]
        self.wear = -np.log1p(-(rank + np.float32(0.5)) / np.float32(base.n)).astype(np.float32)
        self._first_operation = FIRST_STATE + parts
        operations = len(expected.shop.operations)
        self._effort = np.empty((operations, base.n), dtype=np.float32)
        self._filled = np.zeros(operations, dtype=bool)
        self._after: dict[tuple[bytes, float], tuple[np.ndarray, np.ndarray, np.ndarray]] = {}
        self.luck = np.exp(
            np.float32(expected.market.market_spread) * self.market + np.float32(expected.market.own_spread) * self.own
        )

    def states(self, part: int) -> np.ndarray:
        """Return the true state of a part in each draw, shape (n,)."""
        return self._states[part]

    def states_together(self, parts: np.ndarray) -> np.ndarray:
        """Return the true states of up to four parts as the digits of one number, base 4, shape (n,)."""
        number = self._states[parts[0]]
        for p in parts[1:]:
            number = 4 * number + self._states[p]
        return number.astype(np.intp)

    @property
    def quantities(self) -> int:
        """How many uncertain quantities have been drawn."""
        return self._first_operation + int(self._filled.sum())

    def some_states(self, n: int) -> np.ndarray:
        """Return `n` of the draws of every part's state, and in the last row of the exposure, shape (P + 1, n)."""
        some = np.arange(0, self.base.n, self.base.n // n)
        exposure = np.searchsorted(self._ends, some, side="right").astype(np.uint8)
        return np.concatenate([self._states[:, some], exposure[None]])

    def piano_after(self, expected: Expectations, plan: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return what becomes of the piano under a plan, see `_piano_after`; kept for the next question."""
        key = (plan.tobytes(), expected.stakes.horizon)
        if key not in self._after:
            self._after[key] = _piano_after(expected, plan, self)
        return self._after[key]

    def effort(self, expected: Expectations, operations: np.ndarray) -> np.ndarray:
        """Return the factor on the likely hours, shape (O, n); only the rows of `operations` are sure to be filled."""
        missing = operations[~self._filled[operations]]
        if not len(missing):
            return self._effort
        own_spread = expected.prices.own_spread.astype(np.float32)
        shared = np.float32(expected.prices.job_spread) * self.job
        for few in np.array_split(missing, range(_AT_A_TIME, len(missing), _AT_A_TIME)):
            noise = self.base.normals(self._first_operation + few)
            noise *= own_spread[few, None]
            noise += shared
            self._effort[few] = np.exp(noise, out=noise)
        self._filled[missing] = True
        return self._effort


def _draw_states(expected: Expectations, ranks: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Draw every part's state: first how the piano has lived, in blocks, then the parts given that."""
    n = ranks.shape[1]
    states = np.zeros(ranks.shape, dtype=np.uint8)
    # The first rank beyond each state: as a whole number it is compared far faster.
    beyond = np.floor(np.cumsum(expected.condition.given[:, :, :3], axis=2) * n + 0.5).astype(np.uint32)
    start = 0
    for h, end in enumerate(ends):
        for k in range(3):
            states[:, start:end] += ranks[:, start:end] >= beyond[:, h, k, None]
        start = end
    return states


def draw_outcome(expected: Expectations, rules: Rules, action: Action, draws: Draws) -> Outcome:
    """Return one option on the draws."""
    stakes, market = expected.stakes, expected.market
    worth, service, rate = draws.piano_after(expected, action.plan)
    now = np.float32(market.sound) * worth * draws.luck
    if action.option == RETIRE:
        return _retired(expected, action, draws, now)
    price = _price(expected, rules, action, draws)
    value = now if action.option == KEEP else now * np.float32(stakes.finished_scale)
    # Not `@`: a library of linear algebra would start threads for it, which cost more than they bring.
    played = np.einsum("nt,t->n", service, stakes.year_weights.astype(np.float32))
    heart = stakes.premium * (
        stakes.premium_unplayed + (1 - stakes.premium_unplayed) * played / np.float32(stakes.year_weights.sum())
    )
    net = value * np.float32(stakes.kept_at_end) + played * np.float32(stakes.playing_year) + heart - price
    with np.errstate(divide="ignore"):
        years = np.float32(_YEARS) * (draws.wear / rate) ** np.float32(1 / stakes.wear_shape)
    as_it_stands = np.float32(market.sound) * draws.piano_after(expected, expected.shop.keep_all)[0] * draws.luck
    outlay = price + _proceeds(expected, as_it_stands)
    return Outcome(price=price, value=value, net=net, years=years, per_year=_per_year(expected, outlay, value, years))


def _proceeds(expected: Expectations, now: np.ndarray) -> np.ndarray:
    """Return what the piano brings if it is sold as it stands, less selling and carting away."""
    return now * np.float32(1 - expected.stakes.selling_cost) - np.float32(expected.market.replacement.haul_away)


def _retired(expected: Expectations, action: Action, draws: Draws, now: np.ndarray) -> Outcome:
    stakes, market = expected.stakes, expected.market
    proceeds = _proceeds(expected, now)
    if not action.exchange:
        zero = np.zeros_like(now)
        return Outcome(price=-proceeds, value=zero, net=proceeds, years=zero, per_year=zero)
    price = np.float32(market.replacement.price_likely) * np.exp(
        np.float32(market.replacement_spread) * draws.replacement
    )
    serves = survival(stakes.times, np.array(market.replacement.years), stakes.wear_shape)
    plays = market.replacement.plays * stakes.year_weights @ serves
    net = proceeds + price * np.float32(stakes.kept_at_end - 1) + np.float32(stakes.playing_year * plays)
    years = np.float32(market.replacement.years) * (draws.wear / np.float32(LN2)) ** np.float32(1 / stakes.wear_shape)
    return Outcome(
        price=price - proceeds,
        value=price,
        net=net,
        years=years,
        per_year=_per_year(expected, price, price, years),
    )


def _per_year(expected: Expectations, outlay: np.ndarray, value: np.ndarray, years: np.ndarray) -> np.ndarray:
    """Return the equivalent annual cost over the years of service, at least one.

    Parameters
    ----------
    outlay : ndarray
        What is put in today: what is paid, and what the piano would have brought if sold.
    value : ndarray
        What it is worth after the work; it loses value from then on.
    years : ndarray
    """
    stakes = expected.stakes
    served = np.maximum(years, np.float32(1.0))
    growth = np.float32(math.log1p(stakes.discount))
    left = np.exp(-growth * served)
    kept = np.exp(np.float32(math.log1p(-stakes.value_loss)) * served) * left * np.float32(1 - stakes.selling_cost)
    recovery = np.float32(stakes.discount) / (1 - left) if stakes.discount else 1 / served
    return (outlay - value * kept) * recovery


def _piano_after(expected: Expectations, plan: np.ndarray, draws: Draws) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return worth (share of a sound one), playing at points in time, and wear over `_YEARS`, in each draw.

    All three multiply over the parts, so parts are taken four at a time and looked up together.
    """
    shop = expected.shop
    outcome = expected.outcome[plan]
    times = len(expected.stakes.times)
    tables = np.ones((len(plan), 4, times + 2), dtype=np.float32)
    tables[:, :, 0] = outcome[:, expected.value_term]
    tables[:, :, 1:-1] = outcome[:, expected.service_terms].transpose(0, 2, 1)
    # A part ends good service as far as the piano can't be played without it; half-way playable is good enough.
    matters = np.clip(1 - shop.plays[:, FAILED, None] / _STILL_PLAYS, 0, 1)
    with np.errstate(divide="ignore"):
        wear = LN2 * (_YEARS / shop.lasts[plan]) ** expected.stakes.wear_shape
    tables[:, :, -1] = np.exp(-np.multiply(wear, matters, where=matters > 0, out=np.zeros_like(wear)))
    fixed = (tables == tables[:, :1]).all(axis=(1, 2))
    varied = np.flatnonzero(~fixed)
    product = np.tile(tables[fixed, 0].prod(axis=0), (draws.base.n, 1))
    for i in range(0, len(varied), 4):
        group = varied[i : i + 4]
        table = tables[group[0]]
        for p in group[1:]:
            table = (table[:, None] * tables[p]).reshape(-1, times + 2)
        product *= np.take(table, draws.states_together(group), axis=0)
    with np.errstate(divide="ignore"):
        return product[:, 0], product[:, 1:-1], -np.log(product[:, -1])


def _price(expected: Expectations, rules: Rules, action: Action, draws: Draws) -> np.ndarray:
    """Return the price of the work in each draw, with what teardown adds in that draw."""
    prices, stakes = expected.prices, expected.stakes
    if action.option == KEEP:
        charged = rules.kept[None]
        code = None
    else:
        charged, code = _charged(expected, rules, action.plan, draws)
    always = charged.all(axis=0)
    needed = np.flatnonzero(charged.any(axis=0))
    hourly = (prices.hours * prices.rate * stakes.hours_scale * stakes.rate_scale).astype(np.float32)
    other = (prices.material + prices.outside).astype(np.float32)
    effort = draws.effort(expected, needed)
    total, bought = np.zeros(draws.base.n, dtype=np.float32), other[always].sum()
    for o in needed:
        if always[o]:
            total += hourly[o] * effort[o]
        else:
            on = charged[:, o].astype(np.float32)
            total += (on * hourly[o])[code] * effort[o]
            bought = bought + on * other[o]
    if not always[needed].all():
        bought = bought[code]
    spread = _amount_weighted(
        np.concatenate([prices.material_spread, prices.outside_spread]),
        np.concatenate([prices.material * always, prices.outside * always]),
    )
    swing = np.exp(np.float32(spread) * draws.material - np.float32(spread**2 / 2))
    return (total + bought * swing) * np.float32(1 + prices.tax)


def _amount_weighted(spread: np.ndarray, amount: np.ndarray) -> float:
    return float(spread @ amount / amount.sum()) if amount.sum() else 0.0


def _charged(
    expected: Expectations, rules: Rules, plan: np.ndarray, draws: Draws
) -> tuple[np.ndarray, np.ndarray | None]:
    """Return every set of operations that teardown may come to, and which of them each draw is."""
    shop = expected.shop
    demanded = shop.demanded[plan]
    sets = rules.base[None] | demanded[shop.kinds[plan, -1] == 0, 0].any(axis=0)
    code: np.ndarray | None = None
    for p in np.flatnonzero(shop.kinds[plan, -1]):
        kinds, first = np.unique(shop.kinds[plan[p]], return_index=True)
        sets = (sets[:, None] | demanded[p, first]).reshape(-1, sets.shape[1])
        this = shop.kinds[plan[p]].astype(np.uint16)[draws.states(p)]
        code = this if code is None else code * np.uint16(len(kinds)) + this
    return shop.uncovered(sets), None if code is None else code.astype(np.intp)
