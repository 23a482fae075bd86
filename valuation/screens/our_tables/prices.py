"""A new price from a day on: of an hour, and of whatever else has prices that hold from days."""

from __future__ import annotations

from datetime import date

import streamlit as st

from valuation.engine.rows.country import TaxRow
from valuation.language import numeral, say
from valuation.report.format import typed_numeral
from valuation.report.labels import short_day
from valuation.report.table_names import table_name
from valuation.rules.load import ROW_CLASSES
from valuation.screens import kit, marks, shop
from valuation.screens.day_field import day_field
from valuation.screens.our_tables import words
from valuation.screens.our_tables.versions import SAID
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.tables_draft import Drafted
from valuation.service.tables_prices import Priced, figure_columns, new_price, priced
from valuation.service.visits import Shop


def prices(store: Shop, drafted: Drafted, table: str) -> None:
    """Draw what has a price in a table, and let a new one hold from a day."""
    found = priced(table, drafted.texts, shop.today())
    columns = figure_columns(ROW_CLASSES[table])
    st.html(_table(table, found, columns, drafted.seen.tables.settings.currency))
    names = {one.key: one.name for one in found}
    st.header(say("A new price"), anchor=False)
    with st.container(horizontal=True, vertical_alignment="bottom", key=f"new_price_{table}"):
        chosen = st.selectbox(say("Of what"), list(names), format_func=lambda key: say(names[key]), key=f"what_{table}")
        one = next(one for one in found if one.key == chosen)
        stamp = f"{table}_{'_'.join(cell for _, cell in chosen)}_{len(drafted.draft.edits)}"
        for column in columns:
            st.text_input(words.column_name(column, table), value=numeral((one.now or {}).get(column, "")),
                          key=f"price_{column}_{stamp}", max_chars=20)  # fmt: skip
        day = day_field(say("From the day"), f"price_day_{table}", shop.today())
        kit.action(session_catching(), f"price_in_{table}", say("Into the draft"), _take, store, drafted, table, one,
                   columns, stamp, day, primary=True, disabled=day is None)  # fmt: skip


def _table(table: str, found: list[Priced], columns: tuple[str, ...], currency: str) -> str:
    rows = []
    for one in found:
        now = one.now or {}
        later = "; ".join(
            say("{price} from {day}", price="/".join(numeral(cells.get(c, "")) for c in columns), day=_day(cells))
            for cells in one.later
        )
        rows.append([say(one.name), *(numeral(now.get(c, "")) or "–" for c in columns), _day(now), later])
    headers = ["", *(words.column_name(c, table) for c in columns), say("since"), say("then")]
    if ROW_CLASSES[table] is TaxRow:
        caption = say("{table}, as shares; what stands in the draft is in it.", table=table_name(table))
    else:
        caption = say("{table}, before tax, in {currency}; what stands in the draft is in it.",
                      table=table_name(table), currency=currency)  # fmt: skip
    return marks.table(caption, headers, rows)


def _day(cells: dict[str, str]) -> str:
    try:
        return short_day(date.fromisoformat(cells.get("valid_from", "")))
    except ValueError:
        return cells.get("valid_from", "")


def _take(
    store: Shop, drafted: Drafted, table: str, one: Priced, columns: tuple[str, ...], stamp: str, day: date
) -> None:
    figures = {}
    for column in columns:
        text = str(held(f"price_{column}_{stamp}") or "").strip()
        try:
            figures[column] = typed_numeral(text)
        except ValueError as fault:
            fill(SAID, f"{words.column_name(column, table)}: {fault}")
            return
    moved = {column: new for column, new in figures.items() if new != (one.now or {}).get(column, "")}
    if not moved:
        fill(SAID, say("The price is the same; nothing went into the draft."))
        return
    try:
        new_price(store.store, drafted, table, one.key, figures, from_day=day, who=who(), now=shop.now())
        fill(SAID, "")
    except UserError as error:
        fill(SAID, str(error))
