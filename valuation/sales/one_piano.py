"""What the sales say of one piano: prices by state, the nearest sales, the odd ones, and its values by their kinds."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.rows import STATES, Tables
from valuation.engine.study import Study
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Piano, Range
from valuation.sales.fit_sales import CurveOffer
from valuation.sales.grid import Grid, compare
from valuation.sales.model import SalesModel
from valuation.sales.odd_sales import SaleCheck, check_fit
from valuation.sales.values import ValueStatement, read_value_kinds, state_values


@dataclass(frozen=True, eq=False, kw_only=True)
class Fit:
    """The price model of one kind of piano on one day, and whether a curved one would do better.

    Attributes
    ----------
    model : SalesModel
        The one in use.
    offer : CurveOffer or None
        The curved model; None where there are too few sales to ask.
    """

    model: SalesModel
    offer: CurveOffer | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Market:
    """What the sales say of one piano.

    Attributes
    ----------
    fit : Fit
    sold : PricesByState
        Before the piano's features of build.
    by_state : dict of str to Range
        Price in each state with its features; 8 in 10 lie between low and high [money].
    state : str
        State in which it is compared.
    grid : Grid
    checks : tuple of SaleCheck
        How each sale sits among the others.
    values : tuple of ValueStatement
    """

    fit: Fit
    sold: PricesByState
    by_state: dict[str, Range]
    state: str
    grid: Grid
    checks: tuple[SaleCheck, ...]
    values: tuple[ValueStatement, ...]


def look_at_market(fit: Fit, study: Study, appraisal: Appraisal | None = None, *, state: str = "") -> Market:
    """Return what the sales say of one piano.

    Parameters
    ----------
    fit : Fit
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
    sold = fit.model.prices_by_state(piano)
    by_state = _with_features(sold, piano, study.tables)
    state = state or nearest_state(by_state, appraisal.value_now.likely)
    replacement = study.market.replacement
    return Market(
        fit=fit,
        sold=sold,
        by_state=by_state,
        state=state,
        grid=compare(fit.model, piano, state),
        checks=check_fit(fit.model),
        values=state_values(
            appraisal.value_now,
            {option.option: option.value_after for option in appraisal.options if option.treatments},
            Range(low=replacement.price_low, likely=replacement.price_likely, high=replacement.price_high),
            replacement.haul_away,
            on=study.on,
            prices=sold,
            kinds=read_value_kinds(),
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


def _with_features(sold: PricesByState, piano: Piano, tables: Tables) -> dict[str, Range]:
    factors = {row.id: row.value_factor for row in tables.features}
    scale = math.prod(factors[name] for name in sorted(piano.features))
    return {
        state: Range(low=scale * price / sold.spread, likely=scale * price, high=scale * price * sold.spread)
        for state, price in zip(STATES, sold.prices, strict=True)
    }
