"""What was agreed on, by the line, what became of if-found lines, changes, money, and a piano that came back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import streamlit as st

from valuation.engine.rows import Tables
from valuation.facts.words import IF_FOUND_ANSWERS, MONEY_KINDS, RETURN_CAUSES
from valuation.jobs.ledger import IfFoundLine
from valuation.language import later, say
from valuation.record.job_card import AGREEMENT, CHANGE, FEE, FOUND, MONEY, PERSON, PROMISED, RETURN
from valuation.report.format import cents, number
from valuation.report.job_words import CAUSES, MONEY_WORDS, job_value_words
from valuation.report.labels import day_words, option_name, with_capital
from valuation.report.typed import read_hours, read_money
from valuation.screens import clashes, marks, shop
from valuation.screens.day_field import day_field, read_day
from valuation.screens.safe import md
from valuation.screens.state import Draft, held, who
from valuation.service.jobs import RecordedJob, gone_home
from valuation.service.people_at_work import people_of

_ANSWERS = {"yes": later("needed: done"), "no": later("needed: not wanted"),
            "not_needed": later("not needed")}  # fmt: skip
_AT_ONCE = 6
"""So many unanswered lines stand with their answers at once."""

_OPTIONS = ("rebuild", "partial_repair", "keep", "retire")


def agreement(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw the agreement and what has become of it."""
    currency = book.settings.currency
    clashes.settle(draft, AGREEMENT, book)
    if job.ledger.agreed_on is None:
        st.markdown(say("Nothing is agreed on yet: that is entered with the stage that is a yes, under 'Its way'."))
    else:
        _agreed(draft, job, book)
        _if_found(draft, job, book)
        _balance(job, currency)
    _money(draft, job, currency)
    if job.ledger.agreed_on is not None:
        _changes(draft, job, currency)
        _promised(draft, job)
        _person(draft, job)
    _returns(draft, job, book)


def _agreed(draft: Draft, job: RecordedJob, book: Tables) -> None:
    ledger, option = job.ledger, str(job.agreed.get("option", ""))
    assert ledger.agreed_on is not None
    what = option_name(option) if option in _OPTIONS else option
    words = say("Agreed on {day}: {option}", day=day_words(ledger.agreed_on), option=what)
    st.markdown(f"**{md(words)}**")
    names = {row.id: with_capital(say(row.name)) for row in book.operations}
    if ledger.lines:
        rows = [
            [names.get(row.operation, row.operation), number(round(row.hours, 1)),
             cents(row.labour), cents(row.materials + row.outside)]
            for row in ledger.lines
        ]  # fmt: skip
        headers = [say("Fixed line"), say("Hours, expected"), say("Labour"), say("Materials and bought-in work")]
        caption = say("As agreed on, before tax, in {currency}", currency=book.settings.currency)
        with st.expander(say("The lines"), key=draft.key("agreed_lines")):
            st.html(marks.table(caption, headers, rows, dense=True))


def _balance(job: RecordedJob, currency: str) -> None:
    ledger = job.ledger
    if ledger.price is None or ledger.price_now is None or ledger.still_owed is None:
        return
    paid = ledger.in_all("deposit", "payment")
    rows = [[say("Fixed lines, as agreed"), cents(ledger.price)]]
    if ledger.quoted is not None and abs(ledger.quoted - ledger.price) >= 1:
        rows.insert(0, [say("Fixed lines, as quoted"), cents(ledger.quoted)])
    found = sum(row.price for row in ledger.if_found if row.answer == "yes")
    rows += [
        [say("If-found lines that were done"), cents(found)],
        [say("Changes"), cents(sum(change.price for change in ledger.changes))],
        [say("In all"), cents(ledger.price_now)],
        [say("Paid"), cents(paid)],
        [say("Still owed"), cents(ledger.still_owed)],
    ]
    st.html(marks.table(say("With tax, in {currency}", currency=currency), ["", currency], rows))


def _if_found(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw what became of the if-found lines; one tap answers one of those likeliest needed, two any other."""
    lines = job.ledger.if_found
    if not lines:
        return
    st.header(say("If-found lines"), anchor=False)
    for row in lines:
        clashes.settle(draft, f"{FOUND}{row.key}", book)
    needed = [row for row in lines if row.answer in ("yes", "no")]
    left = sorted((row for row in lines if not row.answer), key=lambda row: -(row.chance or 0.0))
    st.markdown(
        md(say("{count} of {all} answered, {needed} needed.", count=len(lines) - len(left), all=len(lines),
               needed=len(needed)))
    )  # fmt: skip
    if needed:
        rows = [[_work(row, book), cents(row.price), say(_ANSWERS[row.answer]), day_words(row.on) if row.on else ""]
                for row in needed]  # fmt: skip
        headers = [say("Work"), say("Price, with tax"), say("Answer"), say("Day")]
        st.html(marks.table(say("What was needed"), headers, rows))
    for row in left[:_AT_ONCE]:
        with st.container(border=True, key=draft.key(f"found_{row.key}"), gap="small"):
            st.text(_told_line(row, book))
            _answers(draft, row.key, f"{row.key}_")
    if rest := {row.key: row for row in [*left[_AT_ONCE:], *(row for row in lines if row.answer)]}:
        key = st.selectbox(
            say("Another line") if left else say("Which line"), list(rest), index=None,
            format_func=lambda key: _told_line(rest[key], book), key=draft.key("found_line"),
            placeholder=say("choose one"),
        )  # fmt: skip
        _answers(draft, key, "")
    if left and len(left) < len(lines):
        st.button(
            say("None of the {count} others was needed", count=len(left)), key=draft.key("found_rest"),
            on_click=draft.press, args=(_answer_rest, draft, [row.key for row in left]),
        )  # fmt: skip


def _answers(draft: Draft, key: str | None, name: str) -> None:
    with st.container(horizontal=True, gap="small"):
        for answer in IF_FOUND_ANSWERS if key else ():
            st.button(
                say(_ANSWERS[answer]), key=draft.key(f"found_{name}{answer}"), on_click=draft.press,
                args=(_answer, draft, key, answer),
            )  # fmt: skip


def _work(row: IfFoundLine, book: Tables) -> str:
    return next((with_capital(say(o.name)) for o in book.operations if o.id == row.operation), row.operation)


def _told_line(row: IfFoundLine, book: Tables) -> str:
    words = say("{work}, {price}", work=_work(row, book), price=cents(row.price))
    return f"{words} · {say(_ANSWERS[row.answer])}" if row.answer else words


def _answer(draft: Draft, key: str, answer: str) -> None:
    draft.keep(f"{FOUND}{key}", {"answer": answer, "day": shop.today().isoformat()})
    draft.catching.empty(draft.key("found_line"), None)


def _answer_rest(draft: Draft, keys: list[str]) -> None:
    for key in keys:
        _answer(draft, key, "not_needed")


def _changes(draft: Draft, job: RecordedJob, currency: str) -> None:
    _listed(draft, [change.field for change in job.ledger.changes])
    with st.expander(say("A change of what was agreed on"), key=draft.key("change")):
        st.text_input(say("What changes"), key=draft.key("change_what"), max_chars=200, live="0.5s")
        st.text_input(
            say("By how much the price moves, with tax, in {currency}", currency=currency),
            key=draft.key("change_price"), placeholder=say("such as 250 or -100"),
        )  # fmt: skip
        day_field(say("On which day"), draft.key("change_day"), shop.today())
        _button(draft, say("Enter the change"), "change", _add_change)


def _add_change(draft: Draft) -> None:
    what = " ".join((held(draft.key("change_what")) or "").split())
    price, fault = read_money(held(draft.key("change_price")) or "", signed=True)
    day = read_day(held(draft.key("change_day")) or "")
    if not what or price is None or day is None:
        fault = fault or say("Say what changes, by how much, and on which day.")
    if _told(draft, "change", fault) or day is None:
        return
    draft.keep(f"{CHANGE}{uuid4().hex[:12]}", {"what": what, "day": day.isoformat(), "price": price})
    for name in ("change_what", "change_price"):
        draft.catching.empty(draft.key(name))


def _promised(draft: Draft, job: RecordedJob) -> None:
    clashes.settle(draft, PROMISED, draft.book)
    promised = job.ledger.promised
    if promised:
        st.markdown(md(say("Promised for {day}.", day=day_words(promised))))
    with st.expander(say("The day that is promised"), key=draft.key("promise")):
        st.markdown(say("The page 'Bench' tells by which day it is done in 9 of 10."))
        day_field(say("Promised for"), draft.key("promise_day"), promised or shop.today())
        _button(draft, say("Promise it"), "promise", _add_promise)


def _add_promise(draft: Draft) -> None:
    day = read_day(held(draft.key("promise_day")) or "")
    if not _told(draft, "promise", "" if day else say("Write the day.")) and day is not None:
        draft.keep(PROMISED, {"day": day.isoformat()})


def _person(draft: Draft, job: RecordedJob) -> None:
    """Draw who alone works on it, once more than one person works at the bench."""
    clashes.settle(draft, PERSON, draft.book)
    names = [one.name for one in people_of(draft.store)]
    if len(names) < 2 and not job.ledger.person:
        return
    key = draft.field_key("person", PERSON)
    draft.watch(key, job.ledger.person, _take_person, draft, key)
    st.selectbox(
        say("Who works on it"), list(dict.fromkeys(["", *names, job.ledger.person])), key=key,
        format_func=lambda one: one or say("whoever has time"),
    )  # fmt: skip


def _take_person(draft: Draft, key: str) -> None:
    draft.keep(PERSON, held(key) or None)


def _money(draft: Draft, job: RecordedJob, currency: str) -> None:
    st.header(say("Money"), anchor=False)
    _listed(draft, [moved.field for moved in sorted(job.ledger.money, key=lambda moved: moved.day)])
    st.pills(
        say("What"), list(MONEY_KINDS), format_func=lambda kind: say(MONEY_WORDS[kind]), key=draft.key("money_what"),
        default="payment" if job.ledger.in_all("deposit") else "deposit", required=True,
        label_visibility="collapsed",
    )  # fmt: skip
    amount, day = st.columns(2)
    with amount:
        st.text_input(say("Amount, with tax, in {currency}", currency=currency), key=draft.key("money_amount"))
    with day:
        day_field(say("On which day"), draft.key("money_day"), shop.today())
    _button(draft, say("Enter the money"), "money", _add_money)
    key = draft.field_key("fee", FEE)
    draft.watch(key, "" if job.ledger.fee is None else number(job.ledger.fee), _take_fee, draft, key)
    st.text_input(
        say("Charged for the evaluation visit, with tax, in {currency}", currency=currency), key=key,
        placeholder=say("may stay empty"),
    )  # fmt: skip
    _fault(draft, "fee")


def _add_money(draft: Draft) -> None:
    amount, fault = read_money(held(draft.key("money_amount")) or "")
    day = read_day(held(draft.key("money_day")) or "")
    if not amount or day is None:
        fault = fault or say("Write the amount and the day.")
    if _told(draft, "money", fault) or day is None:
        return
    value = {"what": held(draft.key("money_what")), "amount": amount, "day": day.isoformat()}
    draft.keep(f"{MONEY}{uuid4().hex[:12]}", value)
    draft.catching.empty(draft.key("money_amount"))
    if value["what"] == "deposit":  # what comes after it is most likely a payment
        draft.catching.empty(draft.key("money_what"), "payment")


def _take_fee(draft: Draft, key: str) -> None:
    fee, fault = read_money(held(key) or "")
    if not _told(draft, "fee", fault):
        draft.keep(FEE, fee)


def _returns(draft: Draft, job: RecordedJob, book: Tables) -> None:
    delivered = job.job(draft.visit.piano.kind, gone_home(book.stages)).delivered
    if delivered is None and not job.ledger.returns:
        return
    st.header(say("Came back after delivery"), anchor=False)
    _listed(draft, [back.field for back in job.ledger.returns])
    with st.expander(say("Something came back"), key=draft.key("return")):
        st.pills(say("Why"), list(RETURN_CAUSES), format_func=lambda cause: say(CAUSES[cause]),
                 key=draft.key("return_cause"), default="work", required=True)  # fmt: skip
        parts = {row.id: with_capital(say(row.name)) for row in book.parts}
        st.selectbox(say("Part"), list(parts), index=None, format_func=lambda one: parts.get(one, ""),
                     key=draft.key("return_part"),
                     placeholder=say("may stay empty"))  # fmt: skip
        st.text_input(say("Hours"), key=draft.key("return_hours"), placeholder=say("such as 2.5 or 1:30"))
        label = say("What it cost, in {currency}", currency=book.settings.currency)
        st.text_input(label, key=draft.key("return_cost"), placeholder=say("may stay empty"))
        day_field(say("On which day"), draft.key("return_day"), shop.today())
        _button(draft, say("Enter it"), "return", lambda draft: _add_return(draft, delivered))


def _add_return(draft: Draft, delivered: date | None) -> None:
    text = (held(draft.key("return_hours")) or "").strip()
    hours, fault = read_hours(text) if text else (0.0, "")
    cost, wrong = read_money(held(draft.key("return_cost")) or "")
    day = read_day(held(draft.key("return_day")) or "")
    fault = fault or wrong or ("" if day else say("Write the day."))
    if _told(draft, "return", fault) or day is None:
        return
    value: dict[str, Any] = {"day": day.isoformat(), "cause": held(draft.key("return_cause")), "who": who() or None}
    value |= {"part": held(draft.key("return_part")), "hours": hours or None, "cost": cost}
    value |= {"delivered": delivered.isoformat() if delivered else None}
    draft.keep(f"{RETURN}{uuid4().hex[:12]}", {name: cell for name, cell in value.items() if cell is not None})
    for name in ("return_hours", "return_cost"):
        draft.catching.empty(draft.key(name))


def _listed(draft: Draft, fields: list[str]) -> None:
    """Draw entries with the way to take each away; the history keeps it."""
    for field in fields:
        clashes.settle(draft, field, draft.book)
        with st.container(key=draft.key(f"jobrow_{field.replace('.', '_')}")):
            said, act = st.columns([5, 2], vertical_alignment="center")
            words = job_value_words(field, draft.stored(field), draft.book)
            said.text(words)
            act.button(
                say("Take it away"), key=draft.key(f"gone_{field}"), help=words, on_click=draft.press,
                args=(draft.keep, field, None),
            )  # fmt: skip


def _button(draft: Draft, label: str, name: str, act: Callable[[Draft], None]) -> None:
    st.button(label, key=draft.key(f"{name}_enter"), on_click=draft.press, args=(act, draft))
    _fault(draft, name)


def _told(draft: Draft, name: str, fault: str) -> bool:
    """Keep what is wrong with what was typed, and tell whether anything is."""
    draft.faults.pop(name, None)
    if fault:
        draft.faults[name] = (fault,)
    return bool(fault)


def _fault(draft: Draft, name: str) -> None:
    for fault in draft.faults.get(name, ()):
        with st.container(key=draft.key(f"fault_{name}")):
            st.text(fault)
