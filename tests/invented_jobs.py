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
from valuation.record.ledger import ledger_rows
from valuation.service.visits import Shop
from valuation.store import entries, schema

AT_ONCE = 1000
DAYS = 1500
"""They are spread over so many days before today, unless another number is asked for."""

Made = tuple[dict[str, Any], dict[str, Any], list[Entry], list[dict[str, Any]]]
"""The row of a visit's card, that of its job, its entries, and the rows of its ledger."""

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


def ledger(chance: Random, events: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the ledger of one evaluation whose events are these: agreement, hours of two people, materials, money."""
    days = {event["stage"]: event["day"] for event in events}
    if "accepted" not in days:
        return {}
    agreed = next(event["agreed"] for event in events if event["stage"] == "accepted")
    lines = [
        {"operation": name, "hours": likely, "labour": 90 * likely, "materials": 60.0, "outside": 0.0}
        for name, _, likely, _ in agreed["operations"]
    ]
    quoted = round(1.19 * sum(row["labour"] + row["materials"] for row in lines), 2)
    row = {"key": "scale_recalculated", "operation": "scale_recalculated", "chance": 0.3, "price": 400.0}
    values: dict[str, Any] = {
        "job.agreement": agreed
        | {"day": days["accepted"], "price": quoted * chance.uniform(0.85, 1), "quoted": quoted, "tax": 0.19}
        | {"lines": lines, "if_found": [row]},
        "job.fee": 90.0,
        "minutes": float(chance.randint(40, 120)),
    }
    if "in_workshop" in days:
        promised = date.fromisoformat(days["in_workshop"]) + timedelta(days=chance.randint(20, 90))
        values["job.promised"] = {"day": promised.isoformat()}
        answer = chance.choice(["yes", "not_needed"])
        values["job.found.scale_recalculated"] = {"answer": answer, "day": days["in_workshop"]}
        values["job.money.a"] = {"what": "deposit", "amount": quoted / 3, "day": days["in_workshop"]}
    if "delivered" in days:
        for name, _, likely, _ in agreed["operations"]:
            hours = likely * math.exp(chance.gauss(0.1, 0.25))
            for place, (who, share) in enumerate((("Edda", 0.7), ("Jo", 0.3))):
                used = [{"material": "wood_glue", "amount": 1.0, "cost": 55.0}] if place else []
                values[f"job.done.{name}.{place}"] = {
                    "hours": hours * share, "day": days["delivered"], "who": who, "materials": used
                }  # fmt: skip
        values["job.money.b"] = {"what": "payment", "amount": quoted * 2 / 3, "day": days["delivered"]}
    return values


def made_up(number: int, chance: Random, today: date, *, days: int = DAYS, ledgers: bool = False) -> Made:
    """Return one visit with all its rows."""
    ago = chance.randint(0, days)
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
    events = way(chance, kind, on, today)
    values |= {f"job.event.e{i}": event for i, event in enumerate(events)}
    values |= ledger(Random(number), events) if ledgers else {}
    made = [
        Entry(id=first_id(name, key), visit=name, at=at + timedelta(minutes=i), field=key, value=value, who="Edda")
        for i, (key, value) in enumerate(values.items())
        if value is not None
    ]
    fields = by_field(made)
    card = job_card(fields)
    row = {"id": name, "demo": False, "created_at": entries.moment(at), "created_by": "Edda"}
    empty = dict.fromkeys(column.name for column in schema.ledger.columns)
    row |= {"changed_at": entries.moment(made[-1].at), **card_text(values), **card_columns(card)}
    rows = [empty | {"visit": name} | own for own in ledger_rows(fields, card.events)]
    return row, {"visit": name, **job_columns(card, fields)}, made, rows


def fill(shop: Shop, count: int, today: date, seed: int = 0, *, days: int = DAYS, ledgers: bool = False) -> None:
    """Put so many into an empty shop, all at once; with ledgers those that were accepted have one."""
    chance = Random(seed)
    with shop.store.writing() as connection:
        for first in range(0, count, AT_ONCE):
            made = [
                made_up(number, chance, today, days=days, ledgers=ledgers)
                for number in range(first, min(count, first + AT_ONCE))
            ]
            connection.execute(insert(schema.visit), [visit for visit, *_ in made])
            connection.execute(insert(schema.job), [job for _, job, *_ in made])
            connection.execute(insert(schema.entry), [_row(entry) for _, _, own, _ in made for entry in own])
            if rows := [row for *_, own in made for row in own]:
                connection.execute(insert(schema.ledger), rows)
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
