"""The first week of a new shop: its country, then the figures that matter most; each answer is a version of its tables.

Beside `valuation.service`. What is said is in force from the day on which it is said; the page 'Our tables' takes it
back. Never reads the clock.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path

from valuation import service
from valuation.engine.figures import factor_to, places, table_of, today, turned_cells
from valuation.engine.rows import Tables
from valuation.engine.rows.country import MEMORY
from valuation.engine.rows.figures import SAID
from valuation.engine.study import decide_at, study_of
from valuation.errors import Problem, UserError
from valuation.language import later, say
from valuation.report.figure_words import figure_name
from valuation.rules.table_rows import change_row, key_of, rows_of_text
from valuation.service.shop_tables import TablesChange, put_in_force
from valuation.service.visits import Shop

_DEMO = Path(__file__).resolve().parents[2] / "data_demo" / "visits"
KNOWN = ("1_fine_old_grand", "3_school_upright", "2_parlour_upright")
"""The three known pianos: a fine grand, an upright that is used, one that hardly holds its tuning. All invented."""

_WHERE = later("First week: where the shop works.")
_SHARES = ("discount_rate", "value_loss_per_year", "selling_cost", "playing_worth")
"""Settings that are asked as so many of 100."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownPiano:
    """What the tables say of a known piano.

    Attributes
    ----------
    verdict : str
        The option that comes out best.
    price : float or None
        Its expected price, with tax; None where it goes.
    lead : float
        By how much it leads the next [money].
    """

    title: str
    verdict: str
    price: float | None
    lead: float


@lru_cache(maxsize=8)
def known_pianos(tables: Tables, on: date) -> tuple[KnownPiano, ...]:
    """Return what the tables say of three known pianos, priced on one day."""
    found = []
    for name in KNOWN:
        visit = service.read_visit_file(_DEMO / f"{name}.toml", tables, on)
        decision = decide_at(study_of(visit, tables, on=on)).decision
        nets = decision.nets
        best = decision.best.get(decision.verdict)
        price = best.price if best else None
        lead = nets[decision.verdict] - max(net for option, net in nets.items() if option != decision.verdict)
        found.append(KnownPiano(title=visit.title, verdict=decision.verdict, price=price, lead=lead))
    return tuple(found)


def asked_as(kind: str, of: str, figure: float) -> float:
    """Return a figure as it is asked for: shares as so many of 100."""
    return 100 * figure if kind == "settings" and of in _SHARES else figure


def figure_now(tables: Tables, kind: str, of: str, on: date) -> float:
    """Return a figure as it stands, as it is asked for."""
    return asked_as(kind, of, today(tables, kind, of, on))


def say_figure(
    shop: Shop, kind: str, of: str, wanted: float | None, *, who: str, on: date, now: datetime
) -> TablesChange:
    """Put a figure in force as the shop says it; None says that what stands there is its own.

    Parameters
    ----------
    kind, of : str
        As a row of figures.csv has them.
    wanted : float or None
        As `figure_now` has it.

    Raises
    ------
    UserError
        If the figure can't be so, or the tables would not be sound with it.
    """
    seen = shop.tables_in_force(on)
    book, table = seen.tables, table_of(kind)
    texts = dict(seen.texts)
    name = figure_name(book, kind, of, on)
    if kind == "settings":
        cells = {"source": SAID}
        if wanted is not None:
            cells["value"] = _plain(wanted / asked_as(kind, of, 1.0))
        texts[table] = change_row(table, texts[table], (("name", of),), cells)
    else:
        try:
            factor = 1.0 if wanted is None else factor_to(book, kind, of, wanted, on)
        except ValueError as fault:
            raise UserError([Problem("first week", 0, name, str(fault))]) from None
        rows = rows_of_text(table, texts[table])
        for at in places(book, kind, of, on):
            row = getattr(book, table)[at]
            cells = {"source": SAID}
            if wanted is not None:
                cells |= {column: _plain(value) for column, value in turned_cells(row, kind, factor).items()}
            texts[table] = change_row(table, texts[table], key_of(table, rows[at]), cells)
    why = say("First week: {figure}", figure=name)
    return put_in_force(shop.store, texts, seen=seen, from_day=on, today=on, who=who, why=why, now=now)


def say_where(
    shop: Shop,
    country: str,
    tax: str,
    rates: Mapping[str, float],
    *,
    who: str,
    on: date,
    now: datetime,
) -> TablesChange:
    """Put the shop's country in force, with its money and its tax by kind of line.

    Parameters
    ----------
    country, tax : str
        Rows of countries.csv and taxes.csv.
    rates : mapping of str to float
        Column of taxes.csv to rate [-]; where they differ from the row's they become the row's, as the shop's own.

    Raises
    ------
    UserError
        If the tables would not be sound with it.
    """
    seen = shop.tables_in_force(on)
    texts = dict(seen.texts)
    row = next(row for row in seen.tables.countries if row.id == country)
    for name, value in (("country", country), ("currency", row.currency), ("tax", tax)):
        texts["settings"] = change_row(
            "settings", texts["settings"], (("name", name),), {"value": value, "source": SAID}
        )
    rows = rows_of_text("taxes", texts["taxes"])
    for at, old in enumerate(seen.tables.taxes):
        own = {column: _plain(rate) for column, rate in rates.items() if rate != getattr(old, column)}
        if old.id == tax and own:
            own |= {"source": "from memory", "basis": MEMORY, "checked_on": on.isoformat(), "checked_by": who or SAID}
            texts["taxes"] = change_row("taxes", texts["taxes"], key_of("taxes", rows[at]), own)
    return put_in_force(shop.store, texts, seen=seen, from_day=on, today=on, who=who, why=say(_WHERE), now=now)


def _plain(number: float) -> str:
    return f"{number:.10g}"
