"""The table of price bands moved to where the shop's own sales lie, when the owner says so: beside `valuation.service`.

Raises `UserError` for what a person can mend.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from valuation.engine.rows import STATES, BandRow
from valuation.errors import Problem, UserError
from valuation.rules.kept_tables import files_of
from valuation.rules.table_versions import Version, put_in_force
from valuation.rules.table_writer import rewrite_cells
from valuation.sales import SalesModel

__all__ = ["BANDS", "put_rescaled", "rescaled_bands"]

BANDS = "bands.csv"


def rescaled_bands(folder: Path | None, model: SalesModel) -> str:
    """Return the text of the band table with the prices of one kind of piano moved to the level of its sales.

    Parameters
    ----------
    folder : Path or None
        The shop's own tables, None for the packaged ones: those that the model was fitted beside.
    model : SalesModel
        With at least one sale.

    Returns
    -------
    str
        The rows in force on the model's day have new prices, to three digits, and a note that says so; all else stays.

    Raises
    ------
    UserError
        If there is no sale, or the tables have changed meanwhile.
    """
    return _rescaled(folder, model)[BANDS]


def put_rescaled(folder: Path, model: SalesModel, *, now: datetime) -> Version:
    """Put the band table so moved in force; what was in force is kept beside it.

    Parameters
    ----------
    folder : Path
        The shop's own tables.
    model : SalesModel
        As for `rescaled_bands`.
    now : datetime
        With its zone.

    Raises
    ------
    UserError
        As `rescaled_bands`, and if the folder can't be written.
    """
    return put_in_force(folder, _rescaled(folder, model), instead_of=model.tables, now=now)


def _rescaled(folder: Path | None, model: SalesModel) -> dict[str, str]:
    if model.level is None:
        raise UserError([Problem(BANDS, 0, "", f"there is no sale of {model.kind}s to tell the level of prices by")])
    factor = model.level.factor
    files = files_of(folder, model.tables)
    told = f"(times {factor:.2f} by {len(model.sales)} sales, {model.on})"
    changes = {}
    for row in model.tables.bands:
        if row.kind == model.kind and row.valid_from <= model.on and not (row.valid_to and row.valid_to < model.on):
            prices = {state: f"{_to_three_digits(getattr(row, state) * factor):g}" for state in STATES}
            changes[_key(row)] = prices | {"note": f"{row.note.partition('(times ')[0].strip()} {told}".strip()}
    return files | {BANDS: rewrite_cells(files[BANDS], BANDS, changes)}


def _key(row: BandRow) -> tuple[tuple[str, str], ...]:
    return tuple((name, str(getattr(row, name))) for name in ("kind", "size", "tier", "era", "valid_from"))


def _to_three_digits(amount: float) -> float:
    return float(f"{amount:.3g}")
