"""Work done: hours on the operation that is open, by day and person, what is left, and the materials used."""

from __future__ import annotations

from uuid import uuid4

import streamlit as st

from valuation.engine.rows import Quantity, Tables
from valuation.jobs.people import Person
from valuation.jobs.recorded_job import done_value
from valuation.jobs.records import Job
from valuation.jobs.remaining import expected_of, hours_left, left_of
from valuation.language import say
from valuation.record.job_card import DONE, FINISHED
from valuation.report.format import number, typed_numeral
from valuation.report.job_words import job_value_words
from valuation.report.labels import with_capital
from valuation.report.typed import read_hours, read_money
from valuation.screens import clashes, marks, shop
from valuation.screens.day_field import day_field, read_day
from valuation.screens.safe import md
from valuation.screens.state import Draft, held, who
from valuation.service.jobs import RecordedJob, gone_home
from valuation.service.people_at_work import own_people, people_of

_USUAL = (0.5, 1, 2, 3, 4, 6, 8)
"""Hours that one tap enters [h]."""

_FEW = 6
"""So many people are shown at once; more are chosen from a list."""


def work(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw the way to enter hours, what each operation has taken and still takes, and each entry."""
    plain = job.job(draft.visit.piano.kind, gone_home(book.stages))
    rows = book.of_kind("operations", draft.visit.piano.kind)
    planned = [line.operation for line in plain.estimate if line.operation in rows and line.high > 0]
    others = [name for name in rows if name not in planned]
    _enter(draft, plain, planned + others, book)
    _sums(plain, book)
    if planned or plain.work:
        _operations(draft, plain, book)
    if not planned:
        st.markdown(say("Nothing is agreed on yet, so there is no estimate to stand beside the hours."))
    _materials(draft, planned + others, book)
    _entries(draft, job, book)


def open_operation(job: Job) -> str:
    """Return the operation that hours most likely belong to: the last worked on, else the first that isn't finished."""
    for entry in reversed(job.work):
        if entry.operation not in job.finished:
            return entry.operation
    return next((line.operation for line in job.estimate if line.operation not in job.finished and line.high > 0), "")


def _enter(draft: Draft, job: Job, operations: list[str], book: Tables) -> None:
    names = {row.id: with_capital(say(row.name)) for row in book.operations}
    usual = open_operation(job)
    place = operations.index(usual) if usual in operations else None
    operation = st.selectbox(
        say("Operation"), operations, index=place, format_func=lambda one: names.get(one, ""),
        key=draft.key(f"work_on_{usual}"),
        placeholder=say("choose one"),
    )  # fmt: skip
    st.pills(say("Hours"), _USUAL, format_func=number, key=draft.key("hours_usual"))
    people = list(dict.fromkeys(filter(None, [who(), *(one.name for one in _crew(draft))])))
    if people and len(people) <= _FEW:
        st.pills(say("Who"), people, format_func=md, key=draft.key("hours_who"), default=who() or None)
    else:
        st.selectbox(say("Who"), people, key=draft.key("hours_who"), accept_new_options=True,
                     placeholder=say("write a name"))  # fmt: skip
    hours, day = st.columns(2)
    with hours:
        st.text_input(say("Other hours"), key=draft.key("hours"), live="0.5s", placeholder=say("such as 2.5 or 1:30"))
    with day:
        day_field(say("On which day"), draft.key("hours_day"), shop.today())
    with st.container(horizontal=True):
        st.button(
            say("Enter the hours"), key=draft.key("hours_enter"), type="primary", disabled=not operation,
            on_click=draft.press, args=(_add_hours, draft, operation),
        )  # fmt: skip
        finished = operation in job.finished
        st.button(
            say("It goes on after all") if finished else say("This operation is finished"),
            key=draft.key("finish"), disabled=not operation, on_click=draft.press,
            args=(draft.keep, f"{FINISHED}{operation}", None if finished else {"day": shop.today().isoformat()}),
        )  # fmt: skip
    _faults(draft, "hours")


def _crew(draft: Draft) -> tuple[Person, ...]:
    """Return who may have done it: at an invented piano the invented people too."""
    return people_of(draft.store) if draft.demo else own_people(draft.store)


def _faults(draft: Draft, name: str) -> None:
    for fault in draft.faults.get(name, ()):
        with st.container(key=draft.key(f"fault_{name}")):
            st.text(fault)


def _add_hours(draft: Draft, operation: str) -> None:
    draft.faults.pop("hours", None)
    typed, usual = (held(draft.key("hours")) or "").strip(), held(draft.key("hours_usual"))
    hours, fault = (float(usual), "") if usual and not typed else read_hours(typed)
    day = read_day(held(draft.key("hours_day")) or "")
    if day is None or day > shop.today():
        fault = fault or say("Write the day on which it was done, today or earlier.")
    person = " ".join((held(draft.key("hours_who")) or "").split())
    if not person and own_people(draft.store):
        fault = fault or say("Say who did it.")
    if fault:
        draft.faults["hours"] = (fault,)
        return
    value = done_value(hours, day=day, who=person)
    draft.keep(f"{DONE}{operation}.{uuid4().hex[:12]}", value)
    draft.catching.empty(draft.key("hours"))
    draft.catching.empty(draft.key("hours_usual"), None)


def _sums(job: Job, book: Tables) -> None:
    done = sum(entry.hours for entry in job.work)
    if not job.estimate and not done:
        return
    spread = book.settings.job_spread
    priced = sum(expected_of(line, spread) for line in job.estimate)
    left = hours_left(job, spread)
    rows = [
        [say("Expected, as priced"), number(round(priced, 1))],
        [say("Done so far"), number(round(done, 1))],
        [say("Still to do, expected"), number(round(left, 1))],
        [say("In all, as it looks now"), number(round(done + left, 1))],
    ]
    st.html(marks.table(say("Hours in all"), ["", say("Hours")], rows))


def _operations(draft: Draft, job: Job, book: Tables) -> None:
    names = {row.id: with_capital(say(row.name)) for row in book.operations}
    spread, done = book.settings.job_spread, job.hours_by_operation
    estimate: dict[str, list[float]] = {}
    for line in job.estimate:
        sums = estimate.setdefault(line.operation, [0.0, 0.0])
        sums[0] += expected_of(line, spread)
        sums[1] += left_of(line, done.get(line.operation, 0.0), spread)
    rows = []
    for operation in dict.fromkeys([*estimate, *done]):
        priced, left = estimate.get(operation, (0.0, 0.0))
        finished = job.delivered is not None or operation in job.finished
        cells = [number(round(priced, 1)) if operation in estimate else say("not planned")]
        cells += [number(round(done.get(operation, 0.0), 2)), say("finished") if finished else number(round(left, 1))]
        if priced or done.get(operation):
            rows.append([names.get(operation, operation), *cells])
    headers = [say("Operation"), say("Expected, h"), say("Done, h"), say("Still to do, h")]
    caption = say("Hours booked on an operation leave less to do, but never nothing until it is finished.")
    st.html(marks.table(caption, headers, rows, dense=True))
    for operation in estimate:
        clashes.settle(draft, f"{FINISHED}{operation}", book)


def _materials(draft: Draft, operations: list[str], book: Tables) -> None:
    with st.expander(say("Materials used"), key=draft.key("materials")):
        names = {row.id: with_capital(say(row.name)) for row in book.operations}
        stuff = {row.id: row for row in book.materials}
        operation = st.selectbox(
            say("For which operation"), operations, format_func=lambda one: names.get(one, ""),
            key=draft.key("material_for")
        )  # fmt: skip
        chosen = st.selectbox(
            say("Material"), list(stuff), format_func=lambda id_: with_capital(say(stuff[id_].name)),
            key=draft.key("material"),
        )  # fmt: skip
        st.text_input(say("How much, in: {unit}", unit=say(stuff[chosen].unit)), key=draft.key("material_amount"))
        label = say("What it cost, in {currency}", currency=book.settings.currency)
        st.text_input(label, key=draft.key("material_cost"), placeholder=say("may stay empty"))
        st.button(
            say("Enter the material"), key=draft.key("material_enter"),
            on_click=draft.press, args=(_add_material, draft, operation, chosen),
        )  # fmt: skip
        _faults(draft, "material")


def _add_material(draft: Draft, operation: str, material: str) -> None:
    draft.faults.pop("material", None)
    text = (held(draft.key("material_amount")) or "").strip()
    cost, fault = read_money(held(draft.key("material_cost")) or "")
    try:
        amount = float(typed_numeral(text))
        if not 0 < amount < 1e6:
            raise ValueError
    except ValueError:
        fault = say("'{text}' is not an amount; write a number such as 2 or 0.5", text=text[:20])
    if fault:
        draft.faults["material"] = (fault,)
        return
    used = Quantity(material=material, amount=amount)
    value = done_value(0.0, materials=[used], costs=[cost], day=shop.today(), who=who())
    draft.keep(f"{DONE}{operation}.{uuid4().hex[:12]}", value)
    for name in ("material_amount", "material_cost"):
        draft.catching.empty(draft.key(name))


def _entries(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw each entry, the latest first, to be taken away if it was wrong; the history keeps it."""
    if not job.work:
        return
    with st.expander(say("Each entry, the latest first"), key=draft.key("work_entries")):
        names = {row.id: with_capital(say(row.name)) for row in book.operations}
        for field, entry in sorted(job.work, key=lambda item: draft.recorded.heads[item[0]].order, reverse=True):
            clashes.settle(draft, field, book)
            with st.container(key=draft.key(f"jobrow_{field.replace('.', '_')}")):
                said, act = st.columns([5, 2], vertical_alignment="center")
                words = job_value_words(field, draft.stored(field), book)
                said.text(" · ".join(filter(None, (names.get(entry.operation, ""), words, entry.who))))
                act.button(
                    say("Take it away"), key=draft.key(f"gone_{field}"), help=names.get(entry.operation),
                    on_click=draft.press, args=(draft.keep, field, None),
                )  # fmt: skip
