"""Bring in the past: clients and old jobs from a spreadsheet, columns said to be what they are, every fault told."""

from __future__ import annotations

import streamlit as st

from valuation.errors import UserError
from valuation.files.past_rows import NEEDED, TARGETS, guessed, past_rows
from valuation.language import say, say_many
from valuation.screens import frame, marks, page_list, shop
from valuation.screens.safe import md
from valuation.screens.state import device, fill, held, session_catching, who
from valuation.service.past import bring_in, read_past
from valuation.service.visits import Shop

_SHOWN, _TOLD = 6, 40
_NONE = -1
_SAID = "past_said"


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.PAST)
    store = frame.open_store()
    st.title(say("Bring in the past"), anchor=False)
    st.markdown(
        say("Clients and old jobs from a CSV or XLSX file, one row each. Nothing is entered before you have seen it; "
            "a row that is brought in twice stands once.")
    )  # fmt: skip
    file = st.file_uploader(say("A file with one row for each piano"), type=["csv", "xlsx"], key="past_file",
                            max_upload_size=5)  # fmt: skip
    if file is not None:
        try:
            head, rows = read_past(file.getvalue(), file.name)
        except UserError as error:
            frame.tell(error)
        else:
            _map(store, file.name, head, rows)
    frame.end(book)


def _map(store: Shop, name: str, head: list[str], rows: list[tuple[int, list[str]]]) -> None:
    st.header(say("Which column is what"), anchor=False)
    likely = guessed(head)
    columns: dict[str, int] = {}
    names = [say("not in the file"), *head]
    left, right = st.columns(2)
    for number, (target, label) in enumerate(TARGETS.items()):
        needed = say("{what} (needed)", what=say(label)) if target in NEEDED else say(label)
        chosen = (left if number < len(TARGETS) / 2 else right).selectbox(
            md(needed), range(_NONE, len(head)), index=likely.get(target, _NONE) + 1,
            format_func=lambda place: names[place + 1], key=f"past_{target}_{len(head)}_{name}",
        )  # fmt: skip
        if chosen != _NONE:
            columns[target] = chosen
    found, faults = past_rows(rows, head, columns, name, today=shop.today())
    good = [row for row in found if row.facts]
    st.header(say("As it would be entered"), anchor=False)
    shown = [target for target in TARGETS if target in columns][:_SHOWN]
    if good and shown:
        by_line = dict(rows)
        cells = [[f"{row.line}", *(by_line[row.line][columns[t]] for t in shown)] for row in good[:_SHOWN]]
        caption = say("The first rows without a fault, by their row in the file")
        st.html(marks.table(caption, [say("Row"), *(say(TARGETS[t]) for t in shown)], cells))
    if faults:
        words = say_many("{count} fault; rows with one are left out.", "{count} faults; rows with one are left out.",
                         len(faults))  # fmt: skip
        with st.container(border=True, key="fault_past"):
            st.markdown(f"**{words}**")
            for fault in faults[:_TOLD]:
                st.text(str(fault))
            if faults[_TOLD:]:
                st.text(say("{count} more", count=len(faults) - _TOLD))
    label = say_many("Bring in {count} row", "Bring in {count} rows", len(good))
    st.button(label, key="past_enter", type="primary", disabled=not good, on_click=session_catching().press,
              args=(_enter, store, good, name))  # fmt: skip
    if said := held(f"{_SAID}_{name}"):  # below what was pressed: above the long list nobody would see it
        st.markdown(f"**{md(said)}**")


def _enter(store: Shop, good: list, name: str) -> None:
    try:
        new, there = bring_in(store, good, who=who(), device=device(), now=shop.now())
    except UserError as error:
        fill(f"{_SAID}_{name}", "; ".join(map(str, error.problems)))
        return
    fill(f"{_SAID}_{name}", say("{new} brought in; {there} were here already.", new=new, there=there))


if __name__ == "__main__":
    page()
