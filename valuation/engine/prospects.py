"""Prospects: what a client has to choose from, every way told by the same figures.

In: a study, its answer. Out: a `Prospect` for each way, also those that the verdict passes over. Of two ways to let
a piano go, with another in its place or without, the verdict takes the better; a client is shown both. All stand on
the same draws, so their figures can be held against each other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from valuation.engine.arrays import Floats
from valuation.engine.choices import Weighed
from valuation.engine.decision import PARTIAL, REBUILD, RETIRE, Scope
from valuation.engine.outcomes import Draws, Outcome, draw_parting, noise_of, outcomes_of, tenths
from valuation.engine.payoffs import Parting
from valuation.engine.reasons import expected_value
from valuation.engine.study import Answer, Study
from valuation.facts.visit import Range
from valuation.facts.words import WAYS

ANOTHER, LET_GO = "another", "let_go"

LOOKS_AHEAD = (5.0, 15.0)
"""After so many years it is asked which pianos still play well, the same for all ways [years]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prospect:
    """One way, by the figures that are told of every way. Money with tax, in the shop's currency.

    Attributes
    ----------
    way : str
        One of `WAYS`.
    scope : str
        Scope behind it; empty where the piano goes.
    price : Range
        What is paid, less what the old piano brings in where it goes; negative is money received.
    expected_price : float
        Its exact mean.
    proceeds : Range or None
        Where the old piano goes: what it brings in, less selling and carting away.
    value_after, years : Range
        What is owned afterwards is worth; years of good service [years].
    plays : float
        How well the piano plays once the work is done: 1 is as well as it can, 0 not at all.
    parts_played : tuple of (str, float)
        Part, and how well the piano would play if that part alone stood in the way, the worst first.
    still_good : tuple of float
        Share of draws that are still in good service after each of `LOOKS_AHEAD` [-].
    surprise : float
        Chance that at least one larger if-found line is called for [-].
    best : float
        Share of draws in which this way comes out best for the client; adds to 1 over the ways within the budget.
    """

    way: str
    scope: str
    price: Range
    expected_price: float
    proceeds: Range | None
    value_after: Range
    expected_value: float
    years: Range
    plays: float
    parts_played: tuple[tuple[str, float], ...]
    still_good: tuple[float, ...]
    surprise: float
    best: float
    affordable: bool


def prospects(study: Study, answer: Answer) -> dict[str, Prospect]:
    """Return every way that is open, in the order of `WAYS`; a class of work without any plan is left out."""
    decision, stakes, market = answer.decision, answer.figures.stakes, study.market
    outcomes = {name: outcome for name, outcome in outcomes_of(study, answer).items() if name != RETIRE}
    noise = noise_of(study)
    partings = {
        ANOTHER: Parting(sale=decision.parting.sale, another=max(decision.parting.another, 1e-9)),
        LET_GO: Parting(sale=decision.parting.sale, another=0.0),
    }
    for name, parting in partings.items():
        nets = {**decision.nets, RETIRE: parting.sale + (decision.parting.another if name == ANOTHER else 0.0)}
        outcomes[name] = draw_parting(
            answer.bench, market, stakes, replace(decision, parting=parting, nets=nets), noise
        )
    named = [name for name in WAYS if name in outcomes]
    within = {name: decision.affordable.get(name, True) for name in named}
    best = _best_shares({name: outcomes[name] for name in named if within[name]})
    proceeds = _range(-outcomes[LET_GO].price)
    found = {}
    for name in named:
        outcome, scope = outcomes[name], decision.best.get(name)
        bought = market.replacement_price if name == ANOTHER else 0.0
        found[name] = Prospect(
            way=name,
            scope=scope.name if scope else "",
            price=_range(outcome.price),
            expected_price=scope.price if scope else bought - decision.parting.sale,
            proceeds=None if scope else proceeds,
            value_after=_range(outcome.value),
            expected_value=expected_value(study, answer, scope) if scope else bought,
            years=_range(outcome.years),
            plays=_plays(study, answer, scope) if scope else (market.replacement.plays if name == ANOTHER else 0.0),
            parts_played=_parts_played(study, answer, scope) if scope else (),
            still_good=tuple(float((outcome.years > years).mean()) for years in LOOKS_AHEAD),
            surprise=_surprise(study, answer, scope) if name in (PARTIAL, REBUILD) and scope else 0.0,
            best=best.get(name, 0.0),
            affordable=within[name],
        )
    return found


def _best_shares(outcomes: dict[str, Outcome]) -> dict[str, float]:
    nets = np.array([outcome.net for outcome in outcomes.values()])
    counts = np.bincount(nets.argmax(axis=0), minlength=len(nets)) / nets.shape[1]
    return dict(zip(outcomes, counts.tolist(), strict=True))


def _played(study: Study, answer: Answer, scope: Scope) -> Floats:
    """Return how well the piano plays with each part as the scope leaves it, given the cause, shape (P, 9)."""
    rows = []
    for part, menu, n in zip(study.condition.network.parts, answer.bench.weighed, scope.plan.choices, strict=True):
        plays = np.array([part.play_sound, part.play_serviceable, part.play_worn, part.play_failed])
        rows.append(_left(menu, n) @ plays)
    return np.array(rows)


def _left(menu: Weighed, n: int) -> Floats:
    """Return the odds of the state that a choice leaves, given the cause, shape (9, 4)."""
    rungs = slice(menu.menu.first[n], menu.menu.first[n + 1])
    return np.asarray(menu.states[rungs].sum(axis=0), dtype=np.float64)


def _plays(study: Study, answer: Answer, scope: Scope) -> float:
    return float(study.condition.causes @ _played(study, answer, scope).prod(axis=0))


def _parts_played(study: Study, answer: Answer, scope: Scope) -> tuple[tuple[str, float], ...]:
    each = _played(study, answer, scope) @ study.condition.causes
    order = np.argsort(each, kind="stable")
    return tuple((study.condition.network.parts[p].id, float(each[p])) for p in order)


def _surprise(study: Study, answer: Answer, scope: Scope) -> float:
    """Return the chance that at least one part goes beyond the first rung of its ladder."""
    first = np.array(
        [
            menu.states[menu.menu.first[n]].sum(axis=1)
            for menu, n in zip(answer.bench.weighed, scope.plan.choices, strict=True)
        ]
    )
    return float(1.0 - study.condition.causes @ first.prod(axis=0))


def _range(values: Draws) -> Range:
    low, likely, high = tenths(values)
    return Range(low=low, likely=likely, high=high)
