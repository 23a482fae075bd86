"""An owner who never tires: puts other tables in force again and again until the process is killed.

    python -m tests.endurance.putting_in_force

Says on standard output which tables it is about to put in force and, once the store has said so, that they are.
"""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime
from uuid import uuid4

from valuation.rules.load import tables_of
from valuation.service.tables_draft import draft_of, enter_row, put_draft_in_force
from valuation.service.visits import open_shop

ROW = (("id", "workshop"), ("valid_from", "2026-01-01"))


def say(what: str, **more: object) -> None:
    """Write one line, at once."""
    os.write(1, (json.dumps({"what": what, **more}) + "\n").encode())


def main() -> None:
    """Raise the rate and lower it, for ever."""
    today = datetime.now(UTC).astimezone().date()
    shop = open_shop(os.environ, today, with_demo=False)
    say("opened")
    while True:
        now, request = datetime.now(UTC), uuid4().hex
        drafted = draft_of(shop.store, shop.tables_in_force(today))
        rows = [
            row
            for row in drafted.seen.tables.rates
            if (row.id, row.valid_from.isoformat()) == tuple(dict(ROW).values())
        ]
        was = f"{rows[0].per_hour:g}"
        new = "74" if was == "68" else "68"
        if not drafted.draft.edits:
            enter_row(shop.store, "rates", ROW, {"per_hour": was}, {"per_hour": new}, who="Anna", now=now)
            drafted = draft_of(shop.store, drafted.seen)
        say("tried", id=request, hash=tables_of(drafted.texts).hash)
        done = put_draft_in_force(
            shop.store, drafted, from_day=today, today=today, who="Anna", why="endurance", now=now, request=request
        )
        say("saved", id=done.id, hash=done.hash)


if __name__ == "__main__":
    main()
