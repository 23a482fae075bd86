"""What the draft would do to open quotations, the last year's evaluations and three known pianos; then: in force."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.report.labels import day_words
from valuation.screens import kit, shop
from valuation.screens.day_field import day_field
from valuation.screens.our_tables import words
from valuation.screens.our_tables.versions import SAID
from valuation.screens.safe import md
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.shop_tables import go_back, history, take_back
from valuation.service.tables_draft import Drafted, put_draft_in_force
from valuation.service.tables_effect import Effect, Looked, effects_of, known, look
from valuation.service.tables_prices import first_day
from valuation.service.visits import Shop

_SHOWN, _ASKED, _REQUEST, _LAST = "tables_effect", "tables_effect_asked", "tables_request", "tables_last"


def effect(store: Shop, drafted: Drafted) -> None:
    """Draw what the draft would do, once it is asked for, and the button that puts it in force."""
    then = drafted.tables
    if then is None or not drafted.draft.changes:
        return
    st.header(say("What it does"), anchor=False)
    day = day_field(say("In force from"), "tables_from", shop.today())
    if day is None:
        return
    on = first_day([change.row for change in drafted.draft.changes], day)
    key = f"{then.hash} {drafted.seen.mark} {on}"
    if held(_ASKED) == key and (held(_SHOWN) or {}).get("key") != key:
        fill(_SHOWN, {"key": key} | _worked_out(store, drafted.seen.tables, then, on))
    shown = held(_SHOWN) or {}
    if shown.get("key") != key:
        st.markdown(say("Worked out anew on all open quotations, the evaluations of the last year and three known "
                        "pianos; it takes some seconds."))  # fmt: skip
        kit.action(session_catching(), "tables_look", say("Show what it does"), _ask, key, primary=True)
        return
    _shown(shown["looked"], shown["found"], shown["known"], drafted, then, on)
    _in_force(store, drafted, day)


def taken_back(store: Shop) -> None:
    """Offer the way back right after tables were put in force."""
    last = held(_LAST)
    changes = history(store.store)
    if last and changes and changes[-1].id == last and len(changes) > 1:
        kit.action(session_catching(), "tables_undo", say("Take it back"), _undo, store, last)


def _ask(key: str) -> None:
    fill(_ASKED, key)
    fill(SAID, "")


def _worked_out(store: Shop, now: Tables, then: Tables, on: date) -> dict[str, Any]:
    looked = look(store, now, on)
    found = []
    with kit.working() as heard:
        for number, one in enumerate(effects_of(looked, now, then, on), 1):
            found += [one] if one else []
            heard(number / (len(looked.visits) + 1))
        three = known(now, then, on)
    return {"looked": looked, "found": tuple(found), "known": three}


def _shown(
    looked: Looked,
    found: tuple[Effect, ...],
    three: tuple[Effect, ...],
    drafted: Drafted,
    then: Tables,
    on: date,
) -> None:
    currency = drafted.seen.tables.settings.currency
    if looked.invented:
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('so you can see how it looks.')}")
    quoted = [one for one in found if one.quoted]
    found = tuple(sorted(found, key=lambda one: (not one.turns, -one.moved)))
    with st.container(border=True, key="tables_summary"):
        st.markdown(f"**{md(words.summary(found, len(quoted)))}**")
        st.markdown(md(say("By the prices of {day}, and by the table of price bands.", day=day_words(on))))
    names = {row.id: row.name for row in (*drafted.seen.tables.operations, *then.operations)}
    for table in (words.quotations_table(quoted, currency), words.evaluations_table(found, currency, names)):
        if table:
            st.html(table)
    if quoted:
        st.markdown(say("A quotation that a client holds stays as it is printed, until its last day."))
    if looked.left_out:
        st.markdown(say_many("{count} older evaluation was not looked at.", "{count} older evaluations were not looked "
                             "at.", looked.left_out))  # fmt: skip
    st.html(words.known_table(three, currency))


def _in_force(store: Shop, drafted: Drafted, day: date) -> None:
    st.header(say("Put it in force"), anchor=False)
    leaps = drafted.draft.leaps()
    meant = [
        st.checkbox(
            md(words.leap_words(*leap, drafted.draft)), key=f"leap_{leap[0].edits[-1][:12]}_{leap[1]}_{leap[3]}"
        )
        for leap in leaps
    ]
    if leaps:
        st.markdown(say("A figure that moves to three times as much, or to a third, may be a slip. Tick it if it is "
                        "meant."))  # fmt: skip
    why = st.text_input(say("Why"), key="tables_why", placeholder=say("kept with the tables, such as: wages went up"),
                        live="0.5s", max_chars=300)  # fmt: skip
    if not held(_REQUEST):
        fill(_REQUEST, secrets.token_hex(16))
    label = say("Put in force from {day}", day=day_words(day))
    kit.action(session_catching(), "tables_force", label, _put, store, drafted, day, held(_REQUEST), primary=True,
               disabled=not (why.strip() and all(meant)))  # fmt: skip


def _put(store: Shop, drafted: Drafted, day: date, request: str) -> None:
    try:
        change = put_draft_in_force(
            store.store, drafted, from_day=day, today=shop.today(), who=who(), why=str(held("tables_why") or ""),
            now=shop.now(), request=request,
        )  # fmt: skip
    except UserError as error:
        fill(SAID, str(error))
        return
    for name in (_REQUEST, _SHOWN, _ASKED):
        fill(name, None)
    fill("tables_why", "")
    fill(_LAST, change.id)
    fill(SAID, say("In force from {day}: {tables}. Those before are kept.", day=day_words(day), tables=change.hash[:8]))


def _undo(store: Shop, last: str) -> None:
    seen = shop.tables_in_force()
    changes = history(store.store)
    change = next(one for one in changes if one.id == last)
    try:
        if change == seen.waiting:
            take_back(store.store, change, today=shop.today())
        else:
            before = next(one for one in reversed(changes) if one.hash == change.instead_of)
            why = say("Taken back: {why}", why=change.why)
            go_back(store.store, before, seen=seen, today=shop.today(), who=who(), why=why, now=shop.now())
        fill(SAID, say("Taken back: the tables of before are in force again. What was taken back is kept below."))
    except UserError as error:
        fill(SAID, str(error))
    fill(_LAST, None)
