"""Study: one piano worked out as far as figures that nobody can turn, ready to be decided at any figures.

In: a visit, the tables, a day. Out: a `Study`; `decide_at` then gives the `Answer` at given figures. What a slider
moves is in `Figures`; the condition, the catalogue and the market stay.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache

import numpy as np

from valuation.engine.bench import Bench, bench_of
from valuation.engine.catalogue import Catalogue, catalogue_of
from valuation.engine.choices import Extent, at_moments, extents, weigh
from valuation.engine.condition import Condition, assess
from valuation.engine.decision import KEEP, Decision, Tuning, aims_of, decide, stop_severities
from valuation.engine.ladders import Ladder
from valuation.engine.market import Market, look_up
from valuation.engine.money import Prices, prices_of
from valuation.engine.outlook import Moments
from valuation.engine.payoffs import Parting, moments_of, parting, plays_today, work_payoff, yearly_recourse
from valuation.engine.plans import Payoff, Plan, search
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.stakes import Stakes, stakes_of, with_playing_year
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Visit

Found = dict[str, tuple[Plan, ...]]
"""The best plan of each aim in each opening, the best first."""


@dataclass(frozen=True, kw_only=True)
class Figures:
    """The figures that a person may turn.

    Attributes
    ----------
    hours_scale, rate_scale, finished_scale : float
        Factors on all hours, on the hourly rates, on the value after the work.
    set_levels : mapping of str to str
        Part to 'keep' (nothing larger is done to it), 'repair' (small repairs alone) or 'replace' (a larger remedy is
        done to it whatever is found), as set by hand.
    """

    stakes: Stakes
    hours_scale: float = 1.0
    rate_scale: float = 1.0
    finished_scale: float = 1.0
    set_levels: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Study:
    """One piano, ready to be decided.

    Attributes
    ----------
    usual : frozenset of str
        Operations that come with any work.
    tunings : frozenset of str
        Those of them that may not be done where tuning is forbidden.
    unraised : bool
        It stands far too low and may not be pulled up.
    figures : Figures
        Today's.
    let_be : frozenset of str
        Parts of which the client wants work left out.
    """

    tables: Tables
    visit: Visit
    on: date
    condition: Condition
    catalogue: Catalogue
    prices: Prices
    market: Market
    extent: Extent
    usual: frozenset[str]
    tunings: frozenset[str]
    unraised: bool
    stops: dict[str, tuple[str, ...]]
    figures: Figures
    draws: int
    seed: int
    let_be: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Answer:
    """A study decided at some figures.

    Attributes
    ----------
    found : dict of str to tuple of Plan
        The plans that were chosen among, see `Found`.
    """

    figures: Figures
    recourse: float
    payoff: Payoff
    bench: Bench
    found: Found
    decision: Decision


def study_of(
    visit: Visit,
    tables: Tables,
    *,
    on: date,
    sold: PricesByState | None = None,
    set_levels: Mapping[str, str] | None = None,
    draws: int = 8192,
    seed: int = 0,
) -> Study:
    """Return one piano worked out as far as nobody's figures.

    Parameters
    ----------
    on : date
        Day whose rates and price bands count.
    sold : PricesByState, optional
        Prices from the shop's own sales, instead of those of the band table.
    set_levels : mapping of str to str, optional
        Parts set by hand, see `Figures`.
    draws : int
        Draws behind the bands, a power of two from 1,024 to 65,536.
    seed : int
        Shifts the draws.

    Raises
    ------
    NotInForce
        If the tables hold no rate or price band for that day.
    """
    condition = assess(tables, visit, on)
    network = condition.network
    tier = visit.piano.tier or next(row.id for row in tables.tiers if row.usual)
    catalogue = catalogue_of(tables, visit.piano.kind, tuple(sorted(visit.piano.features)), tier)
    prices = prices_of(tables, catalogue, on)
    market = look_up(tables, visit.piano, network.parts, on, visit.finished_value, sold)
    stops = stop_severities(condition)
    usual, tunings, unraised = _usual(tables, catalogue, condition, stops)
    return Study(
        tables=tables,
        visit=visit,
        on=on,
        condition=condition,
        catalogue=catalogue,
        prices=prices,
        market=market,
        extent=extents(catalogue, condition, counted_pieces(condition, visit)),
        usual=usual,
        tunings=tunings,
        unraised=unraised,
        stops=stops,
        figures=Figures(stakes=stakes_of(tables.settings, visit.client, market), set_levels=dict(set_levels or {})),
        draws=draws,
        seed=seed,
    )


def counted_pieces(condition: Condition, visit: Visit) -> dict[str, float]:
    """Return how many pieces each fault was found to concern, where somebody counted."""
    network = condition.network
    found: dict[str, float] = {}
    for finding in visit.findings:
        check = network.checks.get(finding.check)
        if check is None or check.reads not in network.index:
            continue
        if finding.count:
            found[check.reads] = finding.count
        elif check.answer == "number" and check.sureness == "counted" and finding.readings:
            found.setdefault(check.reads, finding.readings[-1].value)
    return found


def _usual(
    tables: Tables, catalogue: Catalogue, condition: Condition, stops: dict[str, tuple[str, ...]]
) -> tuple[frozenset[str], frozenset[str], bool]:
    """Return what comes with any work, the tunings among it, and whether it stands too low and may not be raised.

    The tuning is a pitch raise where it stands far too low.
    """
    settings = tables.settings
    usual = {name for name in settings.keep_operations if name in catalogue.operations}
    tunings = {name for name in usual if not catalogue.operations[name].part and name == "tune"}
    fault = condition.network.index.get(settings.raise_fault)
    marked = SEVERITIES.index("marked")
    low = fault is not None and float(condition.severities[fault, marked:].sum()) >= settings.fixed_from
    if low and "raise" not in stops:
        usual = (usual - tunings) | {settings.raise_operation}
        tunings = {settings.raise_operation}
    return frozenset(usual), frozenset(tunings), low and "raise" in stops


@lru_cache(maxsize=8)
def _bench(study: Study, moments: Moments, set_levels: tuple[tuple[str, str], ...]) -> Bench:
    today = moments_of(study.figures.stakes)
    if moments != today:
        bench = _bench(study, today, set_levels)
        return replace(bench, weighed=at_moments(study.catalogue, bench.weighed, study.market, moments), told={})
    settings = study.tables.settings
    weighed = weigh(study.catalogue, study.condition, study.prices, study.market, moments, study.extent, settings)
    bench = bench_of(
        study.catalogue, study.condition, weighed, study.prices, settings, study.usual, study.extent.pieces
    )
    if study.let_be:
        index = study.condition.network.part_index
        bench = replace(bench, let_be=frozenset(index[part] for part in study.let_be if part in index))
    return _with_set_levels(study, bench, dict(set_levels)) if set_levels else bench


def bench_at(study: Study, figures: Figures) -> Bench:
    """Return what a search for plans stands on at some figures."""
    bench = _bench(study, moments_of(figures.stakes), tuple(sorted(figures.set_levels.items())))
    scale = figures.hours_scale * figures.rate_scale
    return bench if scale == bench.scale else bench.at(scale)


def decide_at(
    study: Study, figures: Figures | None = None, among: Callable[[Payoff], tuple[Bench, Found]] | None = None
) -> Answer:
    """Return the study decided at some figures; today's if left out.

    Parameters
    ----------
    among : callable, optional
        Gives the plans to choose among; they are searched for if it is left out.
    """
    figures = figures or study.figures
    stakes = figures.stakes
    recourse = yearly_recourse(study.market, stakes, plays_today(study.condition))
    payoff = work_payoff(study.market, stakes, recourse, figures.finished_scale)
    if among:
        bench, found = among(payoff)
    else:
        bench, aims = bench_at(study, figures), aims_of(study.tables.scopes)
        # Left as it is stays a way, whatever is set by hand for the work.
        left = {row.id for row in study.tables.scopes if row.verdict == KEEP} if figures.set_levels else set()
        found = search(bench, payoff, tuple(aim for aim in aims if aim.name not in left))
        if left:
            free = bench_at(study, replace(figures, set_levels={}))
            found |= search(free, payoff, tuple(aim for aim in aims if aim.name in left))
    decision = decide(study.tables, bench, payoff, stakes, part_with(study, stakes), tuning_at(study, figures), found)
    return Answer(figures=figures, recourse=recourse, payoff=payoff, bench=bench, found=found, decision=decision)


def tuning_at(study: Study, figures: Figures) -> Tuning:
    """Return the tunings with their prices at some figures."""
    scale = figures.hours_scale * figures.rate_scale

    def price(name: str) -> float:
        return scale * study.prices.labour([name]) + study.prices.other([name])

    prices = {name: price(name) for name in study.tunings}
    raised = price(study.tables.settings.raise_operation) if study.unraised else 0.0
    return Tuning(prices, max(raised - sum(prices[name] for name in sorted(prices)), 0.0) if study.unraised else 0.0)


def part_with(study: Study, stakes: Stakes) -> Parting:
    """Return what selling or giving the piano away comes to."""
    return parting(study.condition, study.market, stakes)


def what_if(study: Study, **changes: float | None) -> Figures:
    """Return today's figures with some changed.

    Parameters
    ----------
    **changes
        Fields of `Stakes` (horizon, budget, to_have, to_hear, playing_year, ...) and of `Figures` (hours_scale,
        rate_scale, finished_scale).
    """
    scales = {name: value for name, value in changes.items() if name.endswith("_scale")}
    stakes = replace(study.figures.stakes, **{k: v for k, v in changes.items() if k not in scales})  # type: ignore[arg-type]  # the caller names fields of Stakes
    if "horizon" in changes and "playing_year" not in changes:
        stakes = with_playing_year(stakes, study.tables.settings, study.visit.client, study.market)
    return replace(study.figures, stakes=stakes, **scales)  # type: ignore[arg-type]  # and these are scales


def _with_set_levels(study: Study, bench: Bench, set_levels: Mapping[str, str]) -> Bench:
    """Return the bench with the choices of some parts narrowed to what was set by hand.

    What is set by hand can't be had in every opening: old strings don't stay where the block is made new. Such an
    opening is closed, so that no plan goes against it.
    """
    allowed = list(bench.allowed)
    for part, level in set_levels.items():
        p = study.condition.network.part_index.get(part)
        if p is None:
            continue
        menu = bench.weighed[p].menu
        fits = np.array([_is_level(ladder, level) for ladder in menu.ladders])
        here = menu.context_of[:, None] == menu.context
        allowed[p] = here & fits
    return replace(bench, allowed=tuple(allowed))


def _is_level(ladder: Ladder, level: str) -> bool:
    if level == "replace":
        return bool(ladder.fixed)
    if level == "repair":
        return not ladder.fixed and ladder.policy != "nothing" and len(ladder.rungs) == 1
    return not ladder.fixed and ladder.policy == "nothing"
