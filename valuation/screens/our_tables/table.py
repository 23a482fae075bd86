"""A whole table as a grid: looked through by words, its cells changed, rows added and taken out, CSV out and in.

Streamlit's editor loses what is typed when its table changes under it, and tells all edits since it was drawn. So the
table is kept as it was first drawn, only edits not seen before are entered, and what others entered meanwhile comes in
when it is asked for. Each edit says what was seen: where another wrote first, both stand side by side.
"""

from __future__ import annotations

from hashlib import sha256

import pandas as pd
import streamlit as st

from valuation.engine.rows import Settings
from valuation.engine.rows.row_keys import key_columns
from valuation.files.faults import file_of
from valuation.language import say, say_many
from valuation.report.table_names import TABLE_NAMES, table_name
from valuation.rules.load import MOST_BYTES, ROW_CLASSES
from valuation.rules.table_rows import SETTINGS, Cells, columns_of_table, key_of, rows_of_text
from valuation.screens import kit, shop
from valuation.screens.our_tables import words
from valuation.screens.our_tables.new_row import TABLE, goes_on, new_row
from valuation.screens.our_tables.versions import SAID
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.tables_draft import Drafted, enter_files, enter_row, faults_by_row
from valuation.service.visits import Shop

_ROW_HEIGHT, _ROWS_SHOWN = 44, 12
_TURN, _SEEN, _START = "tables_turn", "seen", "start"
_OUT, _FAULT = "out", "fault"


def whole_table(store: Shop, drafted: Drafted) -> None:
    """Draw one table."""
    names = {table: table_name(table) for table in (*TABLE_NAMES, *ROW_CLASSES) if table in drafted.texts}
    with st.container(horizontal=True, vertical_alignment="bottom", key="tables_choose"):
        table = st.selectbox(say("Table"), list(names), format_func=lambda one: names.get(one, ""), key=TABLE)
        found = st.text_input(say("Look for words"), key="tables_search", live="0.5s", max_chars=100)
    rows = _found(rows_of_text(table, drafted.texts[table]), found)
    columns = columns_of_table(table, ROW_CLASSES.get(table, Settings))
    st.markdown(say_many("{count} row. Each entry goes into the draft at once.",
                         "{count} rows. Each entry goes into the draft at once.", len(rows)))  # fmt: skip
    if rows:
        _grid(store, drafted, table, rows, columns, found)
    with st.expander(say("What the columns mean"), key="tables_columns"):
        heads = [say("In the file"), say("What it means"), say("Unit")]
        st.dataframe(pd.DataFrame(words.meanings(table), columns=heads), hide_index=True)
    if table != SETTINGS:
        new_row(store, drafted, table, rows)
        goes_on(store, drafted, table)
    _files(store, drafted, table)


def _found(rows: list[Cells], asked: str) -> list[Cells]:
    wanted = asked.casefold().split()
    return [cells for cells in rows if all(any(w in cell.casefold() for cell in cells.values()) for w in wanted)]


def _grid(store: Shop, drafted: Drafted, table: str, rows: list[Cells], columns: tuple[str, ...], found: str) -> None:
    faults = faults_by_row(drafted, table)
    stamp = sha256(repr((table, found, drafted.seen.mark, faults)).encode("utf-8", "replace")).hexdigest()[:16]
    name = f"tables_grid_{stamp}_{held(_TURN) or 0}"  # another table under one key would lose what is typed
    if held(f"{name}_{_START}") is None:
        fill(f"{name}_{_START}", rows)
    start: list[Cells] = held(f"{name}_{_START}")
    if _is_behind(start, rows, table, _edited(name)):
        kit.action(session_catching(), "tables_newer", say("Something else was entered here: show it"), _turn_over)
    shown = pd.DataFrame(
        [
            {_OUT: False, _FAULT: faults.get(key_of(table, cells), "")} | {c: cells.get(c, "") for c in columns}
            for cells in start
        ]
    ).astype({_OUT: "bool"} | dict.fromkeys((_FAULT, *columns), "string"))
    if not faults:
        shown = shown.drop(columns=_FAULT)
    if table == SETTINGS:
        shown = shown.drop(columns=_OUT)
    fixed = {*key_columns(table), "unit"} if table == SETTINGS else set(key_columns(table))
    config = {
        c: st.column_config.TextColumn(
            words.column_name(c, table), help=f"{c}: {words.meaning(table, c)}", disabled=c in fixed, pinned=c in fixed
        )
        for c in columns
    }
    config[_OUT] = st.column_config.CheckboxColumn(say("take out"), pinned=True)
    config[_FAULT] = st.column_config.TextColumn(say("to mend"), disabled=True, pinned=True, width="large")
    st.data_editor(
        shown, key=name, hide_index=True, num_rows="fixed", row_height=_ROW_HEIGHT, placeholder="",
        height=_ROW_HEIGHT * (min(len(start), _ROWS_SHOWN) + 1) + 2, column_config=config,
        alt=say("The table {name}", name=table_name(table)),
    )  # fmt: skip
    session_catching().watch_files(name, None, _take_grid, store, table, name)


def _edited(name: str) -> dict[int, dict[str, object]]:
    return (held(name) or {}).get("edited_rows", {})


def _take_grid(store: Shop, table: str, name: str) -> None:
    """Enter what was edited since the grid was last looked at; what could not be stored stays on the screen."""
    start: list[Cells] = held(f"{name}_{_START}") or []
    seen: dict[int, dict[str, object]] = held(f"{name}_{_SEEN}") or {}
    edited = {row: dict(cells) for row, cells in _edited(name).items()}
    for number, cells in edited.items():
        before = start[number] | {c: str(v or "") for c, v in seen.get(number, {}).items() if c != _OUT}
        fresh = {c: v for c, v in cells.items() if seen.get(number, {}).get(c) != v}
        row = key_of(table, start[number])
        after = {c: " ".join(str(v or "").split()) for c, v in fresh.items() if c != _OUT}
        try:
            if fresh.get(_OUT):
                enter_row(store.store, table, row, before, None, who=who(), now=shop.now())
            elif after:
                was = {c: before.get(c, "") for c in after}
                enter_row(store.store, table, row, was, after, who=who(), now=shop.now())
        except UserError as error:
            fill(SAID, str(error))
            return
    fill(f"{name}_{_SEEN}", edited)
    if any(cells.get(_OUT) for cells in edited.values()):
        _turn_over()


def _is_behind(start: list[Cells], rows: list[Cells], table: str, edited: dict[int, dict[str, object]]) -> bool:
    """Tell whether somebody else, or another part of this page, has changed the rows since the grid was drawn."""
    typed = {number: {c: str(v or "") for c, v in cells.items() if c != _OUT} for number, cells in edited.items()}
    on_screen = {key_of(table, cells): cells | typed.get(number, {}) for number, cells in enumerate(start)}
    return on_screen != {key_of(table, cells): cells for cells in rows}


def _turn_over() -> None:
    fill(_TURN, int(held(_TURN) or 0) + 1)


def _files(store: Shop, drafted: Drafted, table: str) -> None:
    st.header(say("As files"), anchor=False)
    with st.container(horizontal=True, key="tables_files"):
        file = file_of(table)
        kind = "text/csv" if file.endswith(".csv") else "text/plain"
        st.download_button(say("This table"), drafted.texts[table].encode(), file, kind, key="tables_out",
                           on_click="ignore")  # fmt: skip
        st.download_button(say("All tables"), lambda: zipped(drafted), "tables.zip", "application/zip",
                           key="tables_all_out", on_click="ignore")  # fmt: skip
    kit.files(session_catching(), f"tables_in_{held(_TURN) or 0}", say("Files of tables, into the draft"), _take_files,
              store, drafted, endings=("csv", "toml"), limit=MOST_BYTES // 1_000_000)  # fmt: skip


def zipped(drafted: Drafted) -> bytes:
    """Return the draft as a zip of the files of a folder of tables."""
    from io import BytesIO
    from zipfile import ZIP_DEFLATED, ZipFile

    from valuation.service.shop_tables import write_folder

    content = BytesIO()
    with ZipFile(content, "w", ZIP_DEFLATED) as file:
        for name, data in write_folder(drafted.texts).items():
            file.writestr(name, data)
    return content.getvalue()


def _take_files(files: list | None, store: Shop, drafted: Drafted) -> None:
    if not files:
        return
    try:
        found = enter_files(store.store, drafted, {f.name: f.getvalue() for f in files}, who=who(), now=shop.now())
        fill(SAID, say_many("{count} row went into the draft.", "{count} rows went into the draft.", len(found)))
        _turn_over()
    except UserError as error:
        fill(SAID, "\n".join(map(str, error.problems)))
