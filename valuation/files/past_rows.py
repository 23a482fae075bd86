"""Clients and old jobs from a spreadsheet: each row into the facts of a visit."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from valuation.errors import Problem, quoted
from valuation.facts import why_unfit
from valuation.files.old_lists import OldList, PastRow, Row, Wrong, read_cells, read_past_day, read_rows, read_sum
from valuation.language import later, say

_TARGETS = {
    "piano.kind": later("Upright or grand"),
    "title": later("Name of the visit"),
    "client.name": later("Who asks"),
    "client.phone": later("Telephone"),
    "place": later("Where it stands"),
    "piano.maker": later("Maker, as written on it"),
    "piano.serial": later("Serial number"),
    "piano.year": later("Year built"),
    "date": later("Day of the visit"),
    "technician": later("Technician"),
    "job.source": later("Where the client comes from"),
    "accepted_on": later("Day of the yes"),
    "price": later("Price agreed on, with tax"),
    "delivered_on": later("Day of delivery"),
    "declined_on": later("Day of the no"),
    "story": later("Remark"),
}
_NAMES = {
    "piano.kind": ("kind", "type", "art", "instrument"),
    "title": ("title", "titel", "bezeichnung"),
    "client.name": ("client", "customer", "name", "kunde", "kundin", "auftraggeber"),
    "client.phone": ("phone", "telephone", "telefon", "tel", "mobil", "handy"),
    "place": ("place", "address", "city", "ort", "adresse", "standort"),
    "piano.maker": ("maker", "make", "hersteller", "fabrikat", "marke"),
    "piano.serial": ("serial", "serialnumber", "seriennummer", "nummer", "nr"),
    "piano.year": ("year", "built", "baujahr", "jahr"),
    "date": ("date", "visited", "visit", "datum", "besuch", "besichtigt"),
    "technician": ("technician", "techniker"),
    "job.source": ("source", "quelle", "empfehlung", "herkunft"),
    "accepted_on": ("accepted", "order", "agreed", "auftrag", "beauftragt"),
    "price": ("price", "amount", "total", "preis", "betrag", "summe"),
    "delivered_on": ("delivered", "delivery", "finished", "geliefert", "ausgeliefert", "fertig"),
    "declined_on": ("declined", "refused", "abgelehnt", "absage"),
    "story": ("note", "notes", "remark", "notiz", "bemerkung"),
}

_KINDS = {
    **dict.fromkeys(("upright", "piano", "klavier", "pianino", "u"), "upright"),
    **dict.fromkeys(("grand", "flügel", "fluegel", "g"), "grand"),
}
_DAYS = ("accepted_on", "delivered_on", "declined_on", "date")
PIANOS = OldList(targets=_TARGETS, needed=("piano.kind", "date"), names=_NAMES)
"""A list of pianos, one row each, with who asked and what became of it."""


def past_rows(
    rows: Sequence[Row], head: Sequence[str], columns: Mapping[str, int], file: str, *, today: date
) -> tuple[list[PastRow], list[Problem]]:
    """Return the facts of a visit that each row comes to, and every fault; arguments as for `read_rows`.

    Nothing of the past lies ahead of today.
    """
    return read_rows(rows, head, columns, file, PIANOS, lambda told, wrong: _facts(told, wrong, today))


def _facts(told: Mapping[str, str], wrong: Wrong, today: date) -> dict[str, Any]:
    values = read_cells(told, wrong, _read)
    if wrong:
        return {}
    days = {target: values.pop(target) for target in _DAYS if target in values}
    price = values.pop("price", None)
    wrong += _order(days, price, today)
    if wrong:
        return {}
    values["date"] = days["date"].isoformat()
    values |= {f"job.event.past{n}": event for n, event in enumerate(_events(days))}
    if price is not None:
        values["job.agreement"] = {"day": days["accepted_on"].isoformat(), "price": price}
    for field, value in values.items():
        if why := why_unfit(field, value, today):
            wrong.append((field if field in told else "date", why))
    return values


def _order(days: Mapping[str, date], price: float | None, today: date) -> list[tuple[str, str]]:
    wrong = [
        (target, say("{day} lies ahead; the past has happened", day=day)) for target, day in days.items() if day > today
    ]
    if price is not None and "accepted_on" not in days:
        wrong.append(("price", say("a price agreed on needs the day of the yes; fill that in, or leave the price out")))
    if "delivered_on" in days and "accepted_on" not in days:
        wrong.append(("delivered_on", say("a delivery needs the day of the yes before it; fill that in")))
    if "declined_on" in days and "accepted_on" in days:
        wrong.append(("declined_on", say("it has a yes and a no; leave the one out that came first")))
    for before, after in (("date", "accepted_on"), ("accepted_on", "delivered_on"), ("date", "declined_on")):
        if before in days and after in days and days[after] < days[before]:
            wrong.append(
                (after, say("{later} is before {before}; check both days", later=days[after], before=days[before]))
            )
    return wrong


def _events(days: Mapping[str, date]) -> list[dict[str, str]]:
    stages = {"date": "visited", "accepted_on": "accepted", "delivered_on": "delivered", "declined_on": "declined"}
    return [{"stage": stage, "day": days[name].isoformat()} for name, stage in stages.items() if name in days]


def _read(target: str, text: str) -> Any:
    if target == "piano.kind":
        kind = _KINDS.get(text.casefold())
        if kind is None:
            raise ValueError(say("{text} is no kind of piano; write upright or grand", text=quoted(text)))
        return kind
    if target in _DAYS:
        return read_past_day(text)
    if target == "piano.year":
        if not re.fullmatch(r"\d{4}", text):
            raise ValueError(say("{text} is not a year; write it like 1912", text=quoted(text)))
        return int(text)
    return read_sum(text) if target == "price" else text
