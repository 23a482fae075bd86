"""The grid of comparables as a written evaluation shows it: the nearest sales, each brought to the piano."""

from __future__ import annotations

from valuation.engine.study import Study
from valuation.language import say
from valuation.report.format import exact, percent
from valuation.report.labels import short_day
from valuation.sales.grid import compare
from valuation.sales.model import SalesModel
from valuation.sales.one_piano import nearest_state, with_features
from valuation.sales.words import described


def compared_rows(model: SalesModel, study: Study, value_now: float) -> tuple[tuple[str, ...], ...]:
    """Return the nearest sales in words: day, what was sold, its price, by how much it was adjusted, what comes of it.

    Parameters
    ----------
    model : SalesModel
        Of the piano's kind.
    study : Study
        The piano's visit made ready with these prices.
    value_now : float
        What it is likely worth as it stands, which says in what state it is compared [money].

    Returns
    -------
    tuple of rows
        The nearest first; empty where there is no sale.
    """
    piano = study.visit.piano
    by_state = with_features(model.prices_by_state(piano), piano, study.tables)
    grid = compare(model, piano, nearest_state(by_state, value_now))
    return tuple(
        (
            short_day(one.sale.sold_on),
            say("{sold}; weak: much had to be adjusted", sold=described(one)) if one.weak else described(one),
            exact(one.sale.price),
            percent(one.gross_share),
            exact(one.adjusted),
        )
        for one in grid.comparables
    )
