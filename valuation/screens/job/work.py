"""Work done: hours and materials of each operation beside its estimate, as they happen or at the end."""

from __future__ import annotations

import re
from uuid import uuid4

import streamlit as st

from valuation.engine.rows import Quantity, Tables
from valuation.jobs.recorded_job import done_value
from valuation.language import say
from valuation.record.job_card import DONE
from valuation.report.format import low_to_high, number, typed_numeral
from valuation.report.labels import with_capital
from valuation.screens import marks, shop
from valuation.screens.job.words import job_value_words
from valuation.screens.safe import md
from valuation.screens.state import Draft, held
from valuation.service.jobs import RecordedJob

_NUMBER = re.compile(r"\d+(\.\d+)?|\.\d+")
_MOST_HOURS = 1000.0


def work(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw the operations agreed on with what went into them, and the way to enter more."""
    st.markdown(
        say("Enter hours of work, such as 2.5, as they happen or all at the end; entries for one operation add up.")
    )  # fmt: skip
    _sums(job)
    rows = book.of_kind("operations", draft.visit.piano.kind)
    planned = [line.operation for line in job.estimate if line.operation in rows and line.high > 0]
    if planned:
        st.header(say("As agreed on"), anchor=False)
    else:
        st.markdown(say("Nothing is agreed on yet, so there is no estimate to stand beside the hours."))
    others = [name for name in job.job(draft.visit.piano.kind, ()).hours_by_operation if name not in planned]
    for operation in [*planned, *others]:
        _operation(draft, job, operation, book)
    _another(draft, [name for name in rows if name not in planned + others], book)
    _materials(draft, [*planned, *others, *(name for name in rows if name not in planned + others)], book)
    _entries(draft, job, book)


def _sums(job: RecordedJob) -> None:
    estimated = sum(line.likely for line in job.estimate)
    done = sum(entry.hours for _, entry in job.work)
    if not estimated and not done:
        return
    rows = [[say("Estimated, likely"), number(round(estimated, 1))], [say("Entered so far"), number(round(done, 1))]]
    begun = {entry.operation for _, entry in job.work}
    left = sum(line.likely for line in job.estimate if line.operation not in begun)
    rows.append([say("Not begun, likely"), number(round(left, 1))])
    st.html(marks.table(say("Hours in all"), ["", say("Hours")], rows))


def _operation(draft: Draft, job: RecordedJob, operation: str, book: Tables) -> None:
    line = next((line for line in job.estimate if line.operation == operation), None)
    done = sum(entry.hours for _, entry in job.work if entry.operation == operation)
    name = next((say(row.name) for row in book.operations if row.id == operation), operation)
    with st.container(key=draft.key(f"jobrow_{operation}")):
        what, estimate, add = st.columns([4, 4, 3], vertical_alignment="center")
        what.text(with_capital(name))
        said = say("done {hours} h", hours=number(round(done, 2))) if done else say("nothing entered")
        if line:
            band = low_to_high(number(line.low), number(line.high))
            likely = number(line.likely)
            words = say("estimate {band} h, likely {likely} h", band=band, likely=likely)
            estimate.markdown(f"{md(words)} · **{md(said)}**")
        else:
            estimate.markdown(f"{md(say('not planned'))} · **{md(said)}**")
        with add:
            _hours_field(draft, operation, name)


def _hours_field(draft: Draft, operation: str, name: str) -> None:
    key = draft.key(f"hours_{operation}")
    draft.watch(key, "", _add_hours, draft, operation, key)
    st.text_input(
        md(say("Hours on {operation}", operation=name)), key=key, placeholder=say("hours to add"),
        label_visibility="collapsed",
    )  # fmt: skip
    _faults(draft, f"hours_{operation}")


def _faults(draft: Draft, name: str) -> None:
    for fault in draft.faults.get(name, ()):
        with st.container(key=draft.key(f"fault_{name}")):
            st.text(fault)


def _add_hours(draft: Draft, operation: str, key: str) -> None:
    name, text = f"hours_{operation}", (held(key) or "").strip()
    draft.faults.pop(name, None)
    if not text:
        return
    hours, fault = read_hours(text)
    if fault:
        draft.faults[name] = (fault,)
        return
    draft.keep(f"{DONE}{operation}.{uuid4().hex[:12]}", done_value(hours, day=shop.today()))
    draft.catching.empty(key)


def read_hours(text: str) -> tuple[float, str]:
    """Return typed hours and what is wrong with them, empty if nothing.

    Examples
    --------
    >>> read_hours("2.5 h"), read_hours("1:30")
    ((2.5, ''), (1.5, ''))
    >>> read_hours("much")[1]
    "'much' is not a time; write hours such as 2.5, or 1:30"
    """
    plain = text.strip().lower().removesuffix("h").strip()
    try:
        plain = typed_numeral(plain)
    except ValueError as fault:
        return 0.0, str(fault)
    whole, colon, minutes = plain.partition(":")
    if colon and whole.isdecimal() and minutes.isdecimal() and len(minutes) == 2 and int(minutes) < 60:
        hours = int(whole) + int(minutes) / 60
    elif _NUMBER.fullmatch(plain):
        hours = float(plain)
    else:
        return 0.0, say("'{text}' is not a time; write hours such as 2.5, or 1:30", text=text.strip()[:20])
    if not 0 < hours < _MOST_HOURS:
        return 0.0, say("'{text}': enter more than 0 and fewer than 1000 hours at once", text=text.strip()[:20])
    return hours, ""


def _another(draft: Draft, left: list[str], book: Tables) -> None:
    """Draw the way to enter hours for what was not planned."""
    with st.expander(say("Hours for something that was not planned"), key=draft.key("unplanned")):
        names = {row.id: with_capital(say(row.name)) for row in book.operations}
        operation = st.selectbox(
            say("Operation"), left, index=None, format_func=names.get, key=draft.key("unplanned_which"),
            placeholder=say("choose one"),
        )  # fmt: skip
        if operation:
            _hours_field(draft, operation, names[operation])


def _materials(draft: Draft, operations: list[str], book: Tables) -> None:
    with st.expander(say("Materials used"), key=draft.key("materials")):
        names = {row.id: with_capital(say(row.name)) for row in book.operations}
        stuff = {row.id: row for row in book.materials}
        operation = st.selectbox(
            say("For which operation"), operations, format_func=names.get, key=draft.key("material_for")
        )  # fmt: skip
        chosen = st.selectbox(
            say("Material"), list(stuff), format_func=lambda id_: with_capital(say(stuff[id_].name)),
            key=draft.key("material"),
        )  # fmt: skip
        key = draft.key("material_amount")
        st.text_input(say("How much, in: {unit}", unit=say(stuff[chosen].unit)), key=key)
        st.button(
            say("Enter the material"), key=draft.key("material_enter"),
            on_click=draft.press, args=(_add_material, draft, operation, chosen, key),
        )  # fmt: skip
        _faults(draft, "material")


def _add_material(draft: Draft, operation: str, material: str, key: str) -> None:
    draft.faults.pop("material", None)
    text = (held(key) or "").strip()
    try:
        amount = float(typed_numeral(text))
        if not 0 < amount < 1e6:
            raise ValueError
    except ValueError:
        draft.faults["material"] = (say("'{text}' is not an amount; write a number such as 2 or 0.5", text=text[:20]),)
        return
    value = done_value(0.0, materials=[Quantity(material=material, amount=amount)], day=shop.today())
    draft.keep(f"{DONE}{operation}.{uuid4().hex[:12]}", value)
    draft.catching.empty(key)


def _entries(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw each entry, the latest first, to be taken away if it was wrong; the history keeps it."""
    if not job.work:
        return
    with st.expander(say("Each entry, the latest first"), key=draft.key("work_entries")):
        names = {row.id: with_capital(say(row.name)) for row in book.operations}
        for field, entry in sorted(job.work, key=lambda item: draft.recorded.heads[item[0]].order, reverse=True):
            with st.container(key=draft.key(f"jobrow_{field.replace('.', '_')}")):
                said, act = st.columns([5, 2], vertical_alignment="center")
                words = job_value_words(field, draft.stored(field), book)
                said.text(" · ".join(filter(None, (names.get(entry.operation, ""), words, entry.who))))
                act.button(
                    say("Take it away"), key=draft.key(f"gone_{field}"), help=names.get(entry.operation),
                    on_click=draft.press, args=(draft.keep, field, None),
                )  # fmt: skip
