"""What the sales say of one piano: prices by state, the nearest sales, the odd ones, and its values by their kinds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.pack import pack_of
from valuation.engine.rows import STATES, Tables
from valuation.engine.study import Study
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Piano, Range
from valuation.sales.check_sales import pairs_alike
from valuation.sales.grid import Grid, compare
from valuation.sales.model import SalesModel
from valuation.sales.odd_sales import SaleCheck, check_fit
from valuation.sales.values import ValueStatement, state_values


@dataclass(frozen=True, eq=False, kw_only=True)
class Market:
    """What the sales say of one piano.

    Attributes
    ----------
    sold : PricesByState
        Before the piano's features of build.
    by_state : dict of str to Range
        Price in each state with its features; 8 in 10 lie between low and high [money].
    state : str
        State in which it is compared.
    checks : tuple of SaleCheck
        How each sale sits among the others.
    twice : tuple of (str, str)
        Sales used that look like one piano told twice.
    """

    model: SalesModel
    sold: PricesByState
    by_state: dict[str, Range]
    state: str
    grid: Grid
    checks: tuple[SaleCheck, ...]
    twice: tuple[tuple[str, str], ...]
    values: tuple[ValueStatement, ...]


def look_at_market(model: SalesModel, study: Study, appraisal: Appraisal | None = None, *, state: str = "") -> Market:
    """Return what the sales say of one piano.

    Parameters
    ----------
    model : SalesModel
        Of the piano's kind.
    study : Study
        The piano's visit made ready with these prices.
    appraisal : Appraisal, optional
        The report of `study`; made here if left out.
    state : str
        State in which the piano is compared; if left out, the one whose price comes nearest to what it is worth as it
        stands.

    Returns
    -------
    Market
        Prices by state, the grid, odd sales, and the values.
    """
    appraisal = report(study) if appraisal is None else appraisal
    piano = study.visit.piano
    sold = model.prices_by_state(piano)
    by_state = with_features(sold, piano, study.tables)
    state = state or nearest_state(by_state, appraisal.value_now.likely)
    return Market(
        model=model,
        sold=sold,
        by_state=by_state,
        state=state,
        grid=compare(model, piano, state),
        checks=check_fit(model),
        twice=pairs_alike(model.sales, model.settings),
        values=state_values(
            appraisal.value_now,
            {option.option: option.value_after for option in appraisal.options if option.treatments},
            study.market.replacement_range,
            study.market.replacement.haul_away,
            on=study.on,
            prices=sold,
            kinds=pack_of(study.tables).kinds,
        ),
    )


def nearest_state(by_state: Mapping[str, Range], amount: float) -> str:
    """Return the state whose likely price comes nearest to an amount.

    Examples
    --------
    >>> prices = {"sound": 4000, "serviceable": 2500, "worn": 900, "failed": 300}
    >>> nearest_state({s: Range(low=p, likely=p, high=p) for s, p in prices.items()}, 1400)
    'worn'
    """
    amount = max(amount, 1.0)
    return min(by_state, key=lambda state: abs(math.log(by_state[state].likely / amount)))


def with_features(sold: PricesByState, piano: Piano, tables: Tables) -> dict[str, Range]:
    """Return the price in each state with the piano's features of build; 8 in 10 lie between low and high [money]."""
    factors = {row.id: row.value_factor for row in tables.features}
    scale = math.prod(factors[name] for name in sorted(piano.features))
    spreads = sold.spreads or (sold.spread,) * len(STATES)
    return {
        state: Range(low=scale * price / spread, likely=scale * price, high=scale * price * spread)
        for state, price, spread in zip(STATES, sold.prices, spreads, strict=True)
    }
