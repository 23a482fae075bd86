"""Who works at the bench: a row of fields for each person, kept together or not at all."""

from __future__ import annotations

from datetime import date

import streamlit as st

from valuation.errors import UserError
from valuation.jobs.people import Person
from valuation.language import say
from valuation.report.format import number
from valuation.report.labels import short_day
from valuation.report.typed import read_hours, read_money
from valuation.screens.day_field import read_day
from valuation.screens.state import fill, held, session_catching
from valuation.service.people_at_work import keep_people, own_people
from valuation.service.visits import Shop

_FAULT = "people_fault"
_TURN = "people_turn"


def people(store: Shop, currency: str) -> None:
    """Draw the people with their hours, what an hour costs the shop, and leave; an empty row for one more."""
    there = own_people(store)
    turn = held(_TURN) or 0
    rows: list[Person | None] = [*there, None]
    for place, person in enumerate(rows):
        with st.container(border=True, key=f"person_{place}"):
            _row(place, turn, person, currency)
    st.button(
        say("Keep the people"), key="people_keep", type="primary", on_click=session_catching().press,
        args=(_keep, store, len(rows), turn),
    )  # fmt: skip
    for fault in held(_FAULT) or ():
        with st.container(key="fault_people"):
            st.text(fault)


def _row(place: int, turn: int, person: Person | None, currency: str) -> None:
    name, hours, cost = st.columns([3, 2, 2])
    name.text_input(
        say("Name"), value=person.name if person else "", key=_key("name", place, turn), max_chars=100,
        placeholder=say("one more"),
    )  # fmt: skip
    hours.text_input(
        say("Hours a week at the bench"), value=number(person.hours_a_week) if person else "",
        key=_key("hours", place, turn), placeholder=say("such as 30"),
    )  # fmt: skip
    known = person is not None and person.cost_an_hour is not None
    cost.text_input(
        say("Costs the shop an hour, in {currency}", currency=currency),
        value=number(person.cost_an_hour) if person and known and person.cost_an_hour is not None else "",
        key=_key("cost", place, turn), placeholder=say("may stay empty"),
    )  # fmt: skip
    leave = ", ".join(f"{short_day(a)} – {short_day(b)}" for a, b in person.leave) if person else ""
    st.text_input(
        say("Leave"), value=leave, key=_key("leave", place, turn),
        placeholder=say("such as {first} – {last}, the next after a comma", first=short_day(date(2026, 8, 3)),
                        last=short_day(date(2026, 8, 21))),
    )  # fmt: skip


def _key(name: str, place: int, turn: int) -> str:
    return f"person_{name}_{place}_{turn}"


def _keep(store: Shop, count: int, turn: int) -> None:
    made, faults = [], []
    for place in range(count):
        typed = {name: (held(_key(name, place, turn)) or "").strip() for name in ("name", "hours", "cost", "leave")}
        if typed["name"]:
            person, wrong = read_person(typed)
            faults += wrong
            made.append(person)
    if not faults:
        try:
            keep_people(store, made)
        except UserError as error:
            faults = [problem.message for problem in error.problems]
    fill(_FAULT, tuple(faults))
    if not faults:
        fill(_TURN, turn + 1)


def read_person(typed: dict[str, str]) -> tuple[Person, list[str]]:
    """Return a person as typed, and what is wrong with it.

    Examples
    --------
    >>> read_person({"name": "Jo", "hours": "30", "cost": "", "leave": "2026-08-03 – 2026-08-21"})[1]
    []
    >>> read_person({"name": "Jo", "hours": "30", "cost": "", "leave": "August"})[1]
    ["Jo: 'August' is no leave; write its first and last day with a dash between"]
    """
    name = " ".join(typed["name"].split())
    hours, fault = read_hours(typed["hours"]) if typed["hours"] else (0.0, "")
    cost, wrong = read_money(typed["cost"])
    leave, bad = _leave(typed["leave"])
    faults = [f"{name}: {one}" for one in (fault, wrong, bad) if one]
    return Person(name=name, hours_a_week=hours, cost_an_hour=cost, leave=leave), faults


def _leave(text: str) -> tuple[tuple[tuple[date, date], ...], str]:
    found = []
    for piece in filter(None, (one.strip() for one in text.replace("\u2014", "\u2013").split(","))):
        first, dash, last = piece.partition("\u2013") if "\u2013" in piece else piece.partition(" - ")
        days = read_day(first), read_day(last if dash else first)
        if days[0] is None or days[1] is None:
            wrong = say("'{text}' is no leave; write its first and last day with a dash between", text=piece[:30])
            return (), wrong
        found.append((days[0], days[1]))
    return tuple(found), ""
