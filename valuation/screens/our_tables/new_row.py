"""A new row by form: a field for each column, what it asks for first, begun from a row that is there.

A new check, fault or remedy is none without rows of other tables. So after it is in the draft, a form for each of those
is offered, with the new one filled in; what is still missing the draft says in the reader's words.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import MISSING, Field
from typing import Any, get_args, get_origin, get_type_hints

import streamlit as st

from valuation.engine.rows import Quantity
from valuation.engine.rows.row_keys import key_columns
from valuation.facts.columns import Column, columns_of
from valuation.language import numeral, say, say_many
from valuation.report.format import typed_numeral, unit_words
from valuation.report.table_names import row_name, table_name
from valuation.rules.load import ROW_CLASSES
from valuation.rules.table_rows import Cells, key_of, rows_of_text
from valuation.screens import kit, shop
from valuation.screens.our_tables import words
from valuation.screens.our_tables.versions import SAID
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.tables_draft import Drafted, enter, enter_row, new_edit
from valuation.service.visits import Shop

ALSO = {
    "faults": {"fault_odds": "fault", "checks": "reads", "cures": "fault"},
    "operations": {"cures": "operation", "forbidden": "operation"},
    "checks": {"pieces": "check"},
}
"""Table -> tables of which a new row needs rows too, each with the column that names the new one."""

TABLE, _GOES_ON = "tables_table", "tables_goes_on"
_YES_OR_NO = ("yes", "no")


def new_row(store: Shop, drafted: Drafted, table: str, rows: Sequence[Cells]) -> None:
    """Draw the form of a new row, folded until it is wanted."""
    box = kit.folded(f"tables_new_{table}", say("A new row"))
    if box is None:
        return
    with box:
        by_name: dict[str, Cells] = {"": {}}
        by_name |= {row_name(key_of(table, cells), cells): cells for cells in rows}
        like = st.selectbox(
            say("Begin with"), list(by_name), key=f"tables_like_{table}",
            format_func=lambda name: name or say("empty fields"),
        )  # fmt: skip
        turn = f"tables_form_{table}_{like}_{held(f'tables_form_turn_{table}') or 0}"
        cells = dict(by_name[like]) | (held(_GOES_ON) or {}).get(table, {})
        described = columns_of(ROW_CLASSES[table])
        asked = [name for name, (field, _) in described.items() if field.default is MISSING]
        for name in asked:
            _field(drafted, table, name, cells, turn)
        if more := [name for name in described if name not in asked]:
            with st.expander(say("What may stay empty"), key=f"tables_more_{table}", expanded=bool(like)):
                for name in more:
                    _field(drafted, table, name, cells, turn)
        kit.action(session_catching(), f"tables_add_{table}", say("Into the draft"), _take, store, table, cells, turn,
                   primary=True)  # fmt: skip


def goes_on(store: Shop, drafted: Drafted, table: str) -> None:
    """Offer what a row that has just gone into the draft needs beside it: each by form, or as another's rows are."""
    begun = held(_GOES_ON) or {}
    if begun.get("after") != table:
        return
    with st.container(border=True, key="tables_goes_on_box"):
        st.markdown(say("It goes with rows of other tables. The draft tells what is still missing."))
        for other in ALSO[table]:
            with st.container(horizontal=True, key=f"tables_go_box_{other}"):
                kit.action(session_catching(), f"tables_go_{other}", table_name(other), _go, other)
                if alike := _alike(drafted, other, begun):
                    label = say_many("as with {name}: {count} row", "as with {name}: {count} rows", len(alike),
                                     name=begun["like"])  # fmt: skip
                    kit.action(session_catching(), f"tables_alike_{other}", label, _take_over, store, other, alike,
                               about=table_name(other))  # fmt: skip


def _go(table: str) -> None:
    fill(TABLE, table)
    fill(f"tables_new_{table}", True)


def _alike(drafted: Drafted, table: str, begun: Mapping[str, Any]) -> list[Cells]:
    """Return the rows of a table that name the row that was begun with, naming the new one; none that are there."""
    [(column, new)] = begun[table].items()
    if column not in key_columns(table) or not begun["like"]:
        return []
    rows = rows_of_text(table, drafted.texts[table])
    there = {key_of(table, cells) for cells in rows}
    alike = [cells | {column: new} for cells in rows if cells[column] == begun["like"]]
    return [cells for cells in alike if key_of(table, cells) not in there]


def _take_over(store: Shop, table: str, alike: list[Cells]) -> None:
    edits = [new_edit(table, key_of(table, cells), None, cells, who=who(), now=shop.now()) for cells in alike]
    try:
        count = enter(store.store, edits)
        fill(SAID, say_many("{count} row went into the draft.", "{count} rows went into the draft.", count))
    except UserError as error:
        fill(SAID, str(error))


def _field(drafted: Drafted, table: str, name: str, cells: Cells, turn: str) -> None:
    """Draw the field of one column: words to choose from where only some may stand there."""
    field, column = columns_of(ROW_CLASSES[table])[name]
    hint = get_type_hints(ROW_CLASSES[table])[name]
    key, stands = f"{turn}_{name}", cells.get(name, "")
    unit = f" [{unit_words(column.unit)}]" if column.unit else ""
    label = f"{words.meaning(table, name)[:1].upper()}{words.meaning(table, name)[1:]}{unit}"
    offered = _offered(drafted, hint, column)
    if not offered:
        shown = numeral(stands) if _is_number(hint) else stands
        st.text_input(label, value=shown, key=key, help=name, max_chars=2000)
    elif get_origin(hint) is tuple:
        chosen = [word for word in stands.split(";") if word in offered]
        st.multiselect(
            label, list(offered), default=chosen, format_func=lambda one: offered.get(one, one), key=key, help=name
        )
    else:
        choices = list(offered) if _must(field) and stands else ["", *offered]
        at = choices.index(stands) if stands in choices else 0
        st.selectbox(label, choices, index=at, format_func=lambda word: offered.get(word, "–"), key=key, help=name)


def _must(field: Field) -> bool:
    return field.default is MISSING


def _is_number(hint: object) -> bool:
    return bool({int, float}.intersection((hint, *get_args(hint))))


def _offered(drafted: Drafted, hint: object, column: Column) -> dict[str, str]:
    """Return the words that may stand in a cell, each as it is told; empty where it may hold anything."""
    if column.choices:
        return {choice: say(choice) for choice in column.choices}
    if hint is bool:
        return {word: say(word) for word in _YES_OR_NO}
    if column.refers_to and Quantity not in get_args(hint):
        rows = rows_of_text(column.refers_to, drafted.texts[column.refers_to])
        named = (cells | {"name": cells.get("name") or cells.get("title", "")} for cells in rows)
        return {cells["id"]: row_name((("id", cells["id"]),), cells) for cells in named}
    return {}


def _typed(table: str, turn: str, cells: Mapping[str, str]) -> Cells:
    """Return the row as the form has it; `ValueError` where a number can't be read."""
    found, hints = {}, get_type_hints(ROW_CLASSES[table])
    for name in columns_of(ROW_CLASSES[table]):
        value = held(f"{turn}_{name}")
        if isinstance(value, list):
            found[name] = ";".join(map(str, value))
        elif value is None:
            found[name] = cells.get(name, "")
        else:
            text = " ".join(str(value).split())
            found[name] = typed_numeral(text) if _is_number(hints[name]) else text
    return found


def _take(store: Shop, table: str, cells: Cells, turn: str) -> None:
    try:
        after = _typed(table, turn, cells)
        row = key_of(table, after)
        enter_row(store.store, table, row, None, after, who=who(), now=shop.now(), edit_id=secrets.token_hex(16))
    except (ValueError, UserError) as error:
        fill(SAID, str(error))
        return
    fill(SAID, say("The row is in the draft."))
    fill(f"tables_form_turn_{table}", int(held(f"tables_form_turn_{table}") or 0) + 1)
    if table in ALSO and "id" in key_columns(table):
        begun = {other: {column: after["id"]} for other, column in ALSO[table].items()}
        fill(_GOES_ON, begun | {"after": table, "like": cells.get("id", "")})
