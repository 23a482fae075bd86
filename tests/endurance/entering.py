"""A shop that never tires: enters, books, corrects, takes back and photographs until the process is killed.

    python -m tests.endurance.entering SEED

Says on standard output what it is about to do and, once the store has said that it is saved, that it was done: one
JSON line each, so that whoever reads them knows what must be there afterwards.
"""

from __future__ import annotations

import json
import os
import random
import sys
from datetime import UTC, datetime
from uuid import uuid4

from tests.made_photos import made_photo
from valuation.service.visits import Shop, open_shop

DEVICE = {"who": "Anna", "device": "tablet"}
FIELDS = ("humidity", "story", "piano.year", "finding.plate_crack", "finding.pin_torque", "client.wishes")
LEDGER = ("agreement", "done", "found", "money", "change", "return", "finished", "promised", "event")


def say(what: str, **more: object) -> None:
    """Write one line, at once."""
    os.write(1, (json.dumps({"what": what, **more}) + "\n").encode())


def value_of(field: str, chance: random.Random) -> object:
    """Return something new for a field."""
    if field == "finding.plate_crack":
        return {"grade": chance.choice(["good", "failed"]), "note": uuid4().hex}
    if field == "finding.pin_torque":
        return {"readings": [{"value": chance.uniform(2, 14), "section": "bass"} for _ in range(20)]}
    if field == "piano.year":
        return chance.randint(1850, 1990)
    return uuid4().hex if field in ("story", "client.wishes") else chance.uniform(0, 100)


def booked(what: str, chance: random.Random) -> tuple[str, object]:
    """Return a field of the job's ledger, often one that is there already, and something new for it."""
    name, day = f"{chance.randrange(3)}", f"2026-0{chance.randint(1, 9)}-1{chance.randrange(10)}"
    money = round(chance.uniform(1, 9000), 2)
    if what == "agreement":
        line = {"operation": "restring", "hours": 22.0, "labour": money, "materials": 60.0, "outside": 0.0}
        found = {"key": "new_hammers", "operation": "new_hammers", "chance": 0.3, "price": money}
        agreed = {"day": day, "price": money, "quoted": money, "tax": 0.19, "lines": [line], "if_found": [found]}
        return "job.agreement", agreed | {"operations": [["restring", 16.0, 22.0, 32.0]]}
    if what == "done":
        used = [{"material": "wood_glue", "amount": 1.0, "cost": money}]
        return f"job.done.restring.{name}", {
            "hours": chance.uniform(0.25, 9),
            "day": day,
            "who": "Jo",
            "materials": used,
        }
    values: dict[str, tuple[str, object]] = {
        "found": ("job.found.new_hammers", {"answer": chance.choice(["yes", "no", "not_needed"]), "day": day}),
        "money": (f"job.money.{name}", {"what": chance.choice(["deposit", "invoice"]), "amount": money, "day": day}),
        "change": (f"job.change.{name}", {"what": uuid4().hex, "price": money, "day": day}),
        "return": (f"job.return.{name}", {"day": day, "cause": "work", "hours": 1.5, "cost": money, "who": "Jo"}),
        "finished": ("job.finished.restring", chance.choice([{"day": day}, None])),
        "promised": ("job.promised", {"day": day}),
        "event": (f"job.event.{name}", {"stage": chance.choice(["accepted", "in_workshop", "delivered"]), "day": day}),
    }
    return values[what]


def enter_one(shop: Shop, visit: str, chance: random.Random) -> None:
    """Do one thing, and say before and after which entry it is."""
    act = chance.choices(["put", "book", "undo", "photo"], [12, 12, 3, 1])[0]
    now = datetime.now(UTC)
    if act == "photo":
        say("photo tried")
        photo = made_photo(size=(64, 48), seed=chance.getrandbits(32))
        entry = shop.add_photo(visit, photo, name="x.jpg", **DEVICE, now=now)
    elif act == "undo":
        say("undo tried")
        entry = shop.undo(visit, **DEVICE, now=now)
    else:
        name = uuid4().hex
        if act == "book":
            field, value = booked(chance.choice(LEDGER), chance)
        else:
            field = chance.choice(FIELDS)
            value = value_of(field, chance)
        say("tried", id=name)
        entry = shop.put(visit, field, value, **DEVICE, now=now, entry_id=name)
    if entry is not None:
        say("saved", id=entry.id, visit=visit, field=entry.field, value=entry.value)


def main() -> None:
    """Enter for ever."""
    chance = random.Random(int(sys.argv[1]))
    say("started")
    shop = open_shop(os.environ, datetime.now(UTC).date())
    say("opened")
    while True:
        name = uuid4().hex
        say("tried visit", id=name)
        shop.start_visit({"piano.kind": "grand"}, **DEVICE, now=datetime.now(UTC), visit_id=name)
        say("saved visit", id=name)
        for _ in range(30):
            enter_one(shop, name, chance)


if __name__ == "__main__":
    main()
