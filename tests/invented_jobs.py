"""Invented evaluations and what became of them, put into a store by the thousand. Nothing here is real."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any
from uuid import UUID

from sqlalchemy import insert

from valuation.jobs.recorded_job import event_value
from valuation.record import Entry, by_field, first_id, value_text
from valuation.record.card import card_text
from valuation.record.job_card import card_columns, job_card, job_columns
from valuation.service.visits import Shop
from valuation.store import entries, schema

AT_ONCE = 1000
DAYS = 1500
"""They are spread over so many days before today."""

NEWEST = 5
"""So many were visited today, so that every lane of the board is as full whatever their number."""

_NAMES = ("Lindner", "Auerwald", "Tannhof", "Rehlau", "Osterkamp", "Velten", "Brandis", "Halm", "Sorge", "Wiebe")
_ROOMS = ("parlour", "school", "chapel", "hall", "attic", "studio", "nursery", "inn")
_SOURCES = ("a teacher", "a client of ours", "the tuner", "found us", "")
_REASONS = ("cost_over_value", "no_money", "bought_another", "too_long", "nobody_plays")
_OPERATIONS = (("restring", 16.0, 22.0, 32.0), ("new_hammers", 10.0, 14.0, 20.0), ("regulate", 8.0, 12.0, 18.0))


def told(chance: Random, kind: str, day: date) -> dict[str, Any]:
    """Return what one client was told."""
    hours = math.exp(chance.gauss(4.0, 0.6))
    price = 95 * hours
    return {
        "on": day.isoformat(),
        "verdict": chance.choice(["rebuild", "partial_repair", "partial_repair", "keep", "retire"]),
        "technician": chance.choice(["Edda", "Jo", "Ole"]),
        "premium": chance.choice([0, 0, 1500]),
        "value_after": math.exp(chance.gauss(8.9 if kind == "grand" else 8.0, 0.6)),
        **{f"price_{end}": price * by for end, by in (("low", 0.8), ("likely", 1), ("high", 1.3))},
        **{f"hours_{end}": hours * by for end, by in (("low", 0.8), ("likely", 1), ("high", 1.3))},
    }


def way(chance: Random, kind: str, on: date, today: date) -> list[dict[str, Any]]:
    """Return the events of one evaluation whose visit was on a day."""
    events = [event_value("asked", on - timedelta(days=9)), event_value("visited", on)]
    day = on + timedelta(days=chance.randint(0, 6) if on < today else 3)
    said = told(chance, kind, day)
    events.append(event_value("evaluated", day, told=said))
    dear = said["price_likely"] / said["value_after"]
    comes = chance.random() < 1 / (1 + math.exp(0.4 + 0.9 * math.log(dear) - 1.2 * bool(said["premium"])))
    after = math.exp(chance.gauss(3.4, 0.9))
    if comes:
        day += timedelta(days=int(after))
        operations = [list(row) for row in _OPERATIONS[: chance.randint(1, 3)]]
        agreed = {"option": "partial_repair", "operations": operations}
        events.append(event_value("accepted", day, agreed=agreed, reason="keeping_it"))
        day += timedelta(days=chance.randint(5, 60))
        events.append(event_value("in_workshop", day))
        day += timedelta(days=chance.randint(20, 80))
        events.append(event_value("delivered", day))
    elif chance.random() < 0.5:
        stage = chance.choice(["declined", "declined", "retired"])
        events.append(event_value(stage, day + timedelta(days=int(after)), reason=chance.choice(_REASONS)))
    elif chance.random() < 0.6:
        events.append(event_value("silent", day + timedelta(days=60)))
    return [event for event in events if event["day"] <= today.isoformat()]


def made_up(number: int, chance: Random, today: date) -> tuple[dict[str, Any], dict[str, Any], list[Entry]]:
    """Return one visit: the row of its card, that of its job, and its entries."""
    ago = chance.randint(0, DAYS)
    on = today - timedelta(days=0 if number < NEWEST else ago)
    at = datetime.combine(on, time(), UTC) - timedelta(days=1)  # whatever a test enters comes later, also at night
    name, kind = UUID(int=chance.getrandbits(128)).hex, chance.choice(["upright", "upright", "grand"])
    client = chance.choice(_NAMES)
    values: dict[str, Any] = {
        "title": f"{client}, {chance.choice(_ROOMS)} ({number})",
        "date": on.isoformat(),
        "piano.kind": kind,
        "piano.maker": chance.choice(["Halvorsen (invented)", "Brandis (invented)", ""]),
        "piano.year": chance.randint(1870, 1975),
        "client.name": f"{client} (invented)",
        "job.source": chance.choice(_SOURCES) or None,
        "job.referred": chance.choice([True, False, None]),
    }
    values |= {f"job.event.e{i}": event for i, event in enumerate(way(chance, kind, on, today))}
    made = [
        Entry(id=first_id(name, key), visit=name, at=at + timedelta(minutes=i), field=key, value=value, who="Edda")
        for i, (key, value) in enumerate(values.items())
        if value is not None
    ]
    fields = by_field(made)
    card = job_card(fields)
    row = {"id": name, "demo": False, "created_at": entries.moment(at), "created_by": "Edda"}
    row |= {"changed_at": entries.moment(made[-1].at), **card_text(values), **card_columns(card)}
    return row, {"visit": name, **job_columns(card, fields)}, made


def fill(shop: Shop, count: int, today: date, seed: int = 0) -> None:
    """Put so many into an empty shop, all at once."""
    chance = Random(seed)
    with shop.store.writing() as connection:
        for first in range(0, count, AT_ONCE):
            made = [made_up(number, chance, today) for number in range(first, min(count, first + AT_ONCE))]
            connection.execute(insert(schema.visit), [visit for visit, _, _ in made])
            connection.execute(insert(schema.job), [job for _, job, _ in made])
            connection.execute(insert(schema.entry), [_row(entry) for _, _, own in made for entry in own])
    with shop.store.engine.connect() as connection:
        connection.exec_driver_sql("ANALYZE")
        connection.commit()


def _row(entry: Entry) -> dict[str, Any]:
    return {
        "id": entry.id,
        "visit": entry.visit,
        "at": entries.moment(entry.at),
        "who": entry.who,
        "device": "",
        "field": entry.field,
        "value": value_text(entry.value),
        "follows": "",
        "undoes": "",
    }
