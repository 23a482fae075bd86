"""A new row by form: each field that its table asks, with what it means, begun from a row that is there."""

from __future__ import annotations

import secrets

import pandas as pd
import streamlit as st

from valuation.engine.rows.row_keys import key_columns
from valuation.facts.columns import columns_of
from valuation.language import say
from valuation.report.table_names import row_name, table_name
from valuation.rules.load import ROW_CLASSES
from valuation.rules.table_rows import Cells, key_of
from valuation.screens import kit, shop
from valuation.screens.our_tables.versions import SAID
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.tables_draft import enter_row
from valuation.service.visits import Shop

ALSO = {
    "faults": ("fault_odds", "checks", "cures"),
    "operations": ("cures", "forbidden"),
    "checks": ("readings", "accesses"),
}
"""Beside a new row of a table there must be rows of these: the draft says so as long as one is missing."""

_EMPTY = ""


def new_row(store: Shop, table: str, columns: tuple[str, ...], rows: list[Cells]) -> None:
    """Draw the form of a new row, folded until it is wanted."""
    box = kit.folded(f"tables_new_{table}", say("A new row"))
    if box is None:
        return
    with box:
        if table in ALSO:
            names = ", ".join(map(table_name, ALSO[table]))
            st.markdown(say("It goes with rows of: {tables}. The draft tells what is still missing.", tables=names))
        by_name: dict[str, Cells] = {_EMPTY: {}} | {row_name(key_of(table, cells), cells): cells for cells in rows}
        like = st.selectbox(
            say("Begin with"), list(by_name), key=f"tables_like_{table}",
            format_func=lambda name: name or say("empty fields"),
        )  # fmt: skip
        cells = by_name[like]
        described = columns_of(ROW_CLASSES[table])
        form = pd.DataFrame(
            {
                "column": list(columns),
                "content": [cells.get(column, "") for column in columns],
                "says": [_says(described[column][1]) for column in columns],
            }
        ).astype("string")
        key = f"tables_form_{table}_{like}_{held(f'tables_form_turn_{table}') or 0}"
        st.data_editor(
            form, key=key, hide_index=True, num_rows="fixed", row_height=44, placeholder="",
            height=44 * (len(columns) + 1) + 2, alt=say("A new row"),
            column_config={
                "column": st.column_config.TextColumn(say("Column"), disabled=True),
                "content": st.column_config.TextColumn(say("Content"), width="large"),
                "says": st.column_config.TextColumn(say("What it means"), disabled=True, width="large"),
            },
        )  # fmt: skip
        st.markdown(say("Told from other rows by: {columns}.", columns=", ".join(key_columns(table))))
        kit.action(session_catching(), f"tables_add_{table}", say("Into the draft"), _take, store, table, columns,
                   dict(cells), key, primary=True)  # fmt: skip


def _says(column) -> str:
    more = [column.unit] if column.unit else []
    more += [" / ".join(column.choices)] if column.choices else []
    more += [say("from {table}", table=table_name(column.refers_to))] if column.refers_to else []
    return f"{column.says} [{'; '.join(more)}]" if more else column.says


def _take(store: Shop, table: str, columns: tuple[str, ...], cells: Cells, key: str) -> None:
    edited = (held(key) or {}).get("edited_rows", {})
    typed = {columns[number]: " ".join(str(row.get("content") or "").split()) for number, row in edited.items()}
    after = {column: cells.get(column, "") for column in columns} | typed
    try:
        enter_row(store.store, table, key_of(table, after), None, after, who=who(), now=shop.now(),
                  edit_id=secrets.token_hex(16))  # fmt: skip
    except UserError as error:
        fill(SAID, str(error))
        return
    fill(SAID, say("The row is in the draft."))
    fill(f"tables_form_turn_{table}", int(held(f"tables_form_turn_{table}") or 0) + 1)
