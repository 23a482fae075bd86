"""The table of price bands moved to where the shop's own sales lie, when the owner says so: beside `valuation.service`.

Raises `UserError` for what a person can mend.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from valuation.engine.rows import STATES, BandRow
from valuation.errors import Problem, UserError
from valuation.files.faults import file_of
from valuation.rules.table_writer import rewrite_cells
from valuation.sales import SalesModel
from valuation.sales.level import Level
from valuation.service.shop_tables import InForce, TablesChange, put_in_force
from valuation.store import Store

__all__ = ["BANDS", "put_rescaled", "rescaled_bands"]

TABLE = "bands"
BANDS = file_of(TABLE)


def rescaled_bands(texts: Mapping[str, str], model: SalesModel) -> str:
    """Return the text of the band table with the prices of one kind of piano moved to the level of its sales.

    Parameters
    ----------
    texts : mapping of table to text
        The shop's tables in force: those that the model was fitted beside.
    model : SalesModel
        With at least one sale.

    Returns
    -------
    str
        The rows in force on the model's day have new prices, to three digits, and a note that says so; all else stays.

    Raises
    ------
    UserError
        If there is no sale.
    """
    factor = level_of(model).factor
    told = f"(times {factor:.2f} by {len(model.sales)} sales, {model.on})"
    changes = {}
    for row in model.tables.bands:
        if row.kind == model.kind and row.valid_from <= model.on and not (row.valid_to and row.valid_to < model.on):
            prices = {state: f"{_to_three_digits(getattr(row, state) * factor):g}" for state in STATES}
            changes[_key(row)] = prices | {"note": f"{row.note.partition('(times ')[0].strip()} {told}".strip()}
    return rewrite_cells(texts[TABLE], BANDS, changes)


def level_of(model: SalesModel) -> Level:
    """Return how far the bands look off.

    Raises
    ------
    UserError
        If there is no sale.
    """
    if model.level is None:
        raise UserError([Problem(BANDS, 0, "", f"there is no sale of {model.kind}s to tell the level of prices by")])
    return model.level


def put_rescaled(
    store: Store, seen: InForce, model: SalesModel, *, today: date, who: str, why: str, now: datetime
) -> TablesChange:
    """Put the band table so moved in force; what was in force is kept.

    Parameters
    ----------
    seen : InForce
        The tables in force.
    model : SalesModel
        As for `rescaled_bands`.
    today, now : date, datetime
        Day and time.
    who, why : str
        Kept with them.

    Raises
    ------
    UserError
        As `rescaled_bands`; if other tables are in force by now, or they can't be stored.
    """
    texts = dict(seen.texts) | {TABLE: rescaled_bands(seen.texts, model)}
    return put_in_force(store, texts, seen=seen, from_day=today, today=today, who=who, why=why, now=now)


def _key(row: BandRow) -> tuple[tuple[str, str], ...]:
    return tuple((name, str(getattr(row, name))) for name in ("kind", "size", "tier", "era", "valid_from"))


def _to_three_digits(amount: float) -> float:
    return float(f"{amount:.3g}")
