"""Bring in the past: pianos, hours and prices from a spreadsheet, columns told apart, every fault told."""

from __future__ import annotations

import streamlit as st

from valuation.errors import Problem, UserError
from valuation.files.old_lists import guessed
from valuation.files.past_prices import PRICES
from valuation.language import later, say, say_many
from valuation.screens import frame, kit, marks, page_list, shop
from valuation.screens.past_lists import KINDS, Read
from valuation.screens.safe import md
from valuation.screens.state import device, fill, held, session_catching, who
from valuation.service.past import read_past

_SHOWN, _TOLD = 6, 40
_NONE = -1
_SAID, _ASKED = "past_said", "past_asked"
_NAMES = {
    "pianos": later("Clients and old jobs"),
    "hours": later("Hours of old jobs"),
    "prices": later("A price list"),
}
_WHAT = {
    "pianos": later("Clients and old jobs from a CSV or XLSX file, one row each."),
    "hours": later("Hours worked, one row for an operation, a day and a person; the pianos must be here already."),
    "prices": later("Prices of materials and hours of operations. They go into the draft of our tables, where you see "
                    "what they change before they count."),
}  # fmt: skip


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.PAST)
    store = frame.open_store()
    st.title(say("Bring in the past"), anchor=False)
    kind = st.pills(
        say("What is in the file"), list(_NAMES), format_func=lambda one: say(_NAMES[one]), key="past_kind",
        default="pianos", required=True,
    ) or "pianos"  # fmt: skip
    nothing = say("Nothing is entered before you have seen it; a row that is brought in twice stands once.")
    st.markdown(f"{say(_WHAT[kind])} {nothing}")
    file = st.file_uploader(say("A CSV or XLSX file"), type=["csv", "xlsx"], key=f"past_file_{kind}", max_upload_size=5)
    if file is not None:
        try:
            head, rows = read_past(file.getvalue(), file.name)
        except UserError as error:
            frame.tell(error)
        else:
            _map(KINDS[kind](store, book), f"{kind}_{file.name}", file.name, head, rows)
    frame.end(book)


def _map(kind: Read, key: str, name: str, head: list[str], rows: list[tuple[int, list[str]]]) -> None:
    st.header(say("Which column is what"), anchor=False)
    likely, targets = guessed(head, kind.columns), kind.columns.targets
    columns: dict[str, int] = {}
    names = [say("not in the file"), *head]
    left, right = st.columns(2)
    for number, (target, label) in enumerate(targets.items()):
        needed = say("{what} (needed)", what=say(label)) if target in kind.columns.needed else say(label)
        chosen = (left if number < len(targets) / 2 else right).selectbox(
            md(needed), range(_NONE, len(head)), index=likely.get(target, _NONE) + 1,
            format_func=lambda place: names[place + 1], key=f"past_{target}_{len(head)}_{key}",
        )  # fmt: skip
        if chosen != _NONE:
            columns[target] = chosen
    found, faults = kind.read(rows, head, columns, name, key)
    good = [row for row in found if row.facts]
    st.header(say("As it would be entered"), anchor=False)
    shown = [target for target in targets if target in columns][:_SHOWN]
    if good and shown:
        by_line = dict(rows)
        cells = [[f"{row.line}", *(by_line[row.line][columns[t]] for t in shown)] for row in good[:_SHOWN]]
        caption = say("The first rows without a fault, by their row in the file")
        st.html(marks.table(caption, [say("Row"), *(say(targets[t]) for t in shown)], cells))
    if faults:
        _tell(faults)
    label = say_many("Bring in {count} row", "Bring in {count} rows", len(good))
    asked = f"{_ASKED}_{key}"
    kit.action(session_catching(), "past_enter", label, fill, asked, True, primary=True, disabled=not good)
    if held(asked):
        _enter(kind, good, key)
        fill(asked, False)
    if said := held(f"{_SAID}_{key}"):  # below what was pressed: above the long list nobody would see it
        st.markdown(f"**{md(said)}**")
        if kind.columns is PRICES and st.button(say("Our tables"), key="past_to_tables"):
            frame.go(page_list.TABLES)


def _tell(faults: list[Problem]) -> None:
    words = say_many("{count} fault; rows with one are left out.", "{count} faults; rows with one are left out.",
                     len(faults))  # fmt: skip
    with st.container(border=True, key="fault_past"):
        st.markdown(f"**{words}**")
        for fault in faults[:_TOLD]:
            st.text(str(fault))
        if faults[_TOLD:]:
            st.text(say("{count} more", count=len(faults) - _TOLD))


def _enter(kind: Read, good: list, key: str) -> None:
    try:
        with kit.working() as heard:
            came = kind.enter(good, who=who(), device=device(), now=shop.now(), heard=heard)
    except UserError as error:
        fill(f"{_SAID}_{key}", "; ".join(map(str, error.problems)))
        return
    said = say("{new} brought in; {there} were here already.", new=came.new, there=came.there)
    if came.forgotten:
        more = say_many("{count} was forgotten here, and stays so.", "{count} were forgotten here, and stay so.",
                        came.forgotten)  # fmt: skip
        said = f"{said} {more}"
    fill(f"{_SAID}_{key}", said)


if __name__ == "__main__":
    page()
