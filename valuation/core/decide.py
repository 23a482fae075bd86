"""The decision: which option is best on average, how sure that is, and what being wrong would cost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from valuation.core.condition import Condition, Net, age_bands, assess, net_for, see
from valuation.core.cost import Prices, price_operations, rate_on
from valuation.core.draws import BaseNumbers
from valuation.core.expect import Expectations, at_other_stakes, expect
from valuation.core.market import Market, look_up
from valuation.core.options import KEEP, OPTIONS, RETIRE, Action, Rules, Ways, standing_rules, ways
from valuation.core.outcomes import Draws, Outcome, draw_outcome
from valuation.core.prices import PricesByState
from valuation.core.rows import Level, Settings, Tables
from valuation.core.search import Found, best_plans
from valuation.core.stakes import Stakes, stakes_of, with_playing_year
from valuation.core.visit import Visit
from valuation.core.work import Workshop, workshop_for

CLEAR, LEANING, CLOSE = "clear", "leaning", "close"


@dataclass(frozen=True, eq=False)
class Decision:
    """The options for one set of stakes, best plan of each, exact nets and draws.

    Attributes
    ----------
    near : ndarray of int, shape (K, P)
        The plans of work that came close, and the one that keeps all.
    actions : dict of str to Action
        Each option with its plan.
    means : dict of str to ndarray
        Exact means of the terms under each option's plan.
    nets, prices : dict of str to float
        Exact expected net worth, and price with tax less what the old piano brings in.
    outcomes : dict of str to Outcome
    affordable : dict of str to bool
    verdict, next_option : str
    beats_next : float
    chance_best : dict of str to float
    expected_loss : float
    clarity : str
    """

    expected: Expectations
    ways: Ways
    near: np.ndarray
    actions: dict[str, Action]
    means: dict[str, np.ndarray]
    nets: dict[str, float]
    prices: dict[str, float]
    outcomes: dict[str, Outcome]
    affordable: dict[str, bool]
    verdict: str
    next_option: str
    beats_next: float
    chance_best: dict[str, float]
    expected_loss: float
    clarity: str


class Study:
    """One visit under one set of tables, made ready once so that 'what if' answers at once.

    Parameters
    ----------
    visit : Visit
    tables : Tables
    on : date
        Day whose rates and bands count.
    draws : int
        How many draws, a power of two.
    seed : int
    pinned : dict of str to Level, optional
        Parts whose level a person has set.
    sold : PricesByState, optional
        Prices from the shop's own sales, instead of those of the band table.
    """

    def __init__(
        self,
        visit: Visit,
        tables: Tables,
        *,
        on: date,
        draws: int = 8192,
        seed: int = 0,
        pinned: dict[str, Level] | None = None,
        sold: PricesByState | None = None,
    ) -> None:
        self.visit, self.tables, self.on, self.seed = visit, tables, on, seed
        features = tuple(sorted(visit.piano.features))
        self.net: Net = net_for(tables, visit.piano.kind, features)
        seen = see(self.net, visit)
        self.ages = age_bands(tables, self.net, visit.piano, visit.on.year)
        self.condition: Condition = assess(self.net, seen, self.ages)
        self.shop: Workshop = workshop_for(tables, visit.piano.kind, self.net.parts)
        self.prices: Prices = price_operations(tables, self.shop, on)
        self.market: Market = look_up(tables, visit.piano, self.net.parts, on, visit.finished_value, sold)
        graded = {check: int(weights.argmax()) for check, weights in zip(seen.checks, seen.grades, strict=True)}
        rules = standing_rules(tables, self.shop, features, graded)
        rules = _pin(_sensible(rules, self.shop, self.condition), self.shop, pinned or {})
        self.rules: Rules = _built_to_last(rules, self.shop, self.condition, tables.settings.rebuild_lasts_years)
        self.stakes: Stakes = stakes_of(tables.settings, visit.client, self.market)
        self.expected = expect(self.shop, self.condition, self.prices, self.market, self.stakes)
        self.minute_costs = rate_on(tables, tables.settings.visit_rate, on).per_hour / 60
        self._base = BaseNumbers(draws, seed)
        self._draws: Draws | None = None

    @property
    def draws(self) -> Draws:
        """The draws, made when first asked for."""
        if self._draws is None:
            self._draws = Draws(self.expected, self._base)
        return self._draws

    def what_if(self, stakes: Stakes | None = None, **changes: float | None) -> Stakes:
        """Return the stakes with some figures changed; the worth of a year of playing follows the horizon."""
        stakes = replace(stakes or self.stakes, **changes)
        if "horizon" in changes and "playing_year" not in changes:
            stakes = with_playing_year(stakes, self.tables.settings, self.visit.client, self.market)
        return stakes

    def decide(self, stakes: Stakes | None = None) -> Decision:
        """Return the decision for these stakes, the visit's own if none are given."""
        expected = at_other_stakes(self.expected, stakes or self.stakes)
        way = ways(expected, self.rules)
        found = best_plans(expected, way.work, way.price, self.rules)
        known = {action.option: (action, *figures) for action, *figures in self._known(expected, way, found)}
        known = {option: known[option] for option in OPTIONS if option in known}
        actions = {option: action for option, (action, *_) in known.items()}
        drawn = {option: draw_outcome(expected, self.rules, action, self.draws) for option, action in actions.items()}
        near = np.concatenate([*(best.near for best in found.values()), self.shop.keep_all[None]])
        return _judge(expected, way, known, near, drawn, self.tables.settings)

    def _known(
        self, expected: Expectations, way: Ways, found: dict[str, Found]
    ) -> Iterator[tuple[Action, np.ndarray, float, float]]:
        """Yield each option's action, the means of its terms, its net and its price; of two ways to retire the better.

        What can't be paid for comes after what can.
        """
        keep_all, budget = self.shop.keep_all, expected.stakes.budget
        actions = [Action(option, best.plan, way.work) for option, best in found.items()]
        actions += [Action(KEEP, keep_all, way.keep), Action(RETIRE, keep_all, way.sell)]
        if expected.stakes.wants_to_play:
            actions.append(Action(RETIRE, keep_all, way.exchange, exchange=True))
        means = expected.means(np.array([action.plan for action in actions]))
        nets = [float(action.payoff.of(row)) for action, row in zip(actions, means, strict=True)]
        prices = expected_prices(expected, way, actions, means).tolist()
        rows = list(zip(actions, means, nets, prices, strict=True))
        yield from sorted(rows, key=lambda row: (is_within(budget, row[0], row[3]), row[2]))


def is_within(budget: float | None, action: Action, price: float) -> bool:
    """Tell whether the client can spend so much; to keep the piano need not cost anything."""
    return budget is None or action.option == KEEP or price <= budget


def _sensible(rules: Rules, shop: Workshop, condition: Condition) -> Rules:
    """Leave out treatments that teardown would more likely overturn than not: they only look cheap."""
    overturned = (condition.states[shop.part_of] * (shop.kinds > 0)).sum(axis=1)
    return replace(rules, allowed=rules.allowed & (overturned <= 0.5))


def _pin(rules: Rules, shop: Workshop, pinned: dict[str, Level]) -> Rules:
    """Allow a pinned part its own level only, and no choice that would force another one on it."""
    allowed = rules.allowed.copy()
    for part, level in pinned.items():
        for c, choice in enumerate(shop.choices):
            if shop.parts[choice.part].id == part:
                allowed[c] = choice.level == level
    allowed, forced = shop.settled(allowed)
    return replace(rules, allowed=allowed, forced=forced)


def _built_to_last(rules: Rules, shop: Workshop, condition: Condition, years: float) -> Rules:
    """Leave to a rebuild the choices after which a part is expected to serve so long, or at least as long as it can."""
    asked = np.array([bool(part.core) for part in shop.parts])[shop.part_of]
    serves = (condition.states[shop.part_of] * shop.lasts).sum(axis=1)
    longest = np.maximum.reduceat(np.where(rules.allowed, serves, 0.0), shop.first[:-1])[shop.part_of]
    lasting, forced = shop.settled(rules.allowed & (~asked | (serves >= np.minimum(years, longest))))
    return replace(rules, lasting=lasting, forced_lasting=forced)


def net_of(expected: Expectations, action: Action) -> float:
    """Return the exact expected net of an action."""
    return float(action.payoff.of(expected.means(action.plan[None]))[0])


def expected_prices(expected: Expectations, way: Ways, actions: list[Action], means: np.ndarray) -> np.ndarray:
    """Return what each action is expected to cost the client, with tax; less what the old piano brings in.

    Parameters
    ----------
    actions : list of Action, length K
    means : ndarray, shape (K, T)
        Means of the terms under their plans.
    """
    options = np.array([action.option for action in actions])
    exchange = np.array([action.exchange for action in actions])
    retired = expected.market.replacement_price * exchange - way.sell.of(means)
    return np.where(options == KEEP, way.keep_price, np.where(options == RETIRE, retired, way.price.of(means)))


def _judge(
    expected: Expectations,
    way: Ways,
    known: dict[str, tuple[Action, np.ndarray, float, float]],
    near: np.ndarray,
    outcomes: dict[str, Outcome],
    settings: Settings,
) -> Decision:
    actions, means, nets, prices = ({option: figures[i] for option, figures in known.items()} for i in range(4))
    affordable = {option: is_within(expected.stakes.budget, actions[option], prices[option]) for option in known}
    ranked = sorted((o for o in known if affordable[o]), key=lambda o: -nets[o])
    verdict, following = ranked[0], ranked[1] if len(ranked) > 1 else ranked[0]
    drawn = np.array([outcomes[o].net for o in ranked])
    best = drawn.max(axis=0)
    beats = float((drawn[0] > drawn[1]).mean()) if len(ranked) > 1 else 1.0
    loss = float((best - drawn[0]).mean(dtype=np.float64))
    clarity = CLEAR if beats >= settings.clear_share else LEANING if beats >= settings.leaning_share else CLOSE
    chance = dict(zip(ranked, _shares(drawn == best), strict=True))
    return Decision(
        expected=expected,
        ways=way,
        near=near,
        actions=actions,
        means=means,
        nets=nets,
        prices=prices,
        outcomes=outcomes,
        affordable=affordable,
        verdict=verdict,
        next_option=following,
        beats_next=beats,
        chance_best={option: chance.get(option, 0.0) for option in known},
        expected_loss=loss,
        clarity=clarity,
    )


def _shares(is_best: np.ndarray) -> list[float]:
    """Return the share of draws in which each option is best, shape (K, n); a tie counts for the one ranked first."""
    left = np.ones(is_best.shape[1], dtype=bool)
    shares = []
    for won in is_best:
        shares.append(float(np.count_nonzero(won & left) / len(left)))
        left &= ~won
    return shares
