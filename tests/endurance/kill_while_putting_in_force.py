"""Kill the tool while it puts tables in force, again and again: the old ones are in force or the new, never between.

    python -m tests.endurance.kill_while_putting_in_force [--kills 200] [--database sqlite postgresql] [--seed 0]

Each time a process puts one of two versions in force as fast as it can (`putting_in_force`) and is killed with SIGKILL
at a random moment. Then the store is looked at as the next to open it finds it: what was acknowledged last is in force,
or what was begun after it; the tables read back and have the hash that they are kept under; all that was
acknowledged is in the history, each once; the draft is empty where it was put in force, and whole where not. A table.
"""

from __future__ import annotations

import json
import random
from contextlib import closing
from datetime import UTC, datetime

from tests.endurance.databases import empty_place
from tests.endurance.killing import killed, print_table
from valuation.rules.load import tables_of
from valuation.service.shop_tables import history
from valuation.service.tables_draft import draft_of
from valuation.service.visits import open_shop


def run(kind: str, kills: int, seed: int) -> dict[str, int]:
    """Kill so many times on one sort of database; return what was counted. Raises where anything stands between."""
    chance = random.Random(seed)
    saved: dict[str, str] = {}
    within = 0
    with empty_place(kind) as (environ, _):
        for number in range(kills):
            after = ("saved", "tried")[number % 2]
            lines = killed(["tests.endurance.putting_in_force"], environ, chance, after=after, within=0.3)
            said = [json.loads(line) for line in lines if line.endswith(b"\n")]
            tried = [line for line in said if line["what"] == "tried"]
            saved |= {line["id"]: line["hash"] for line in said if line["what"] == "saved"}
            begun = tried[-1] if tried and tried[-1]["id"] not in saved else None
            within += begun is not None
            if _check(environ, saved, begun):
                saved[begun["id"]] = begun["hash"]  # it was on the disk before the tool could say so
    return {"kills": kills, "put in force": len(saved), "killed within": within, "between": 0}


def _check(environ: dict[str, str], saved: dict[str, str], begun: dict[str, str] | None) -> bool:
    """Look at the store; return whether what was begun is in force. Raises where it is neither old nor new."""
    today = datetime.now(UTC).astimezone().date()
    with closing(open_shop(environ, today, with_demo=False)) as shop:
        held, known = shop.tables_in_force(today), history(shop.store)
        ids = [change.id for change in known]
        if lost := set(saved) - set(ids):
            raise RuntimeError(f"acknowledged tables are lost: {lost}")
        if len(ids) != len(set(ids)) or held.set_aside:
            raise RuntimeError(f"the history is broken: {held.set_aside}")
        if tables_of(held.texts).hash != held.tables.hash:
            raise RuntimeError("the tables in force are not those of their hash")
        done = begun is not None and begun["id"] in ids
        last = begun["hash"] if done else next((saved[name] for name in reversed(ids) if name in saved), None)
        if last is not None and held.tables.hash != last:
            raise RuntimeError(f"in force is {held.tables.hash[:8]}, neither old nor new: {last[:8]}")
        drafted = draft_of(shop.store, held)
        if drafted.problems or len(drafted.draft.edits) > 1 or (done and drafted.draft.edits):
            raise RuntimeError(f"the draft stands between: {drafted.draft.edits}")
        return done


if __name__ == "__main__":
    print_table(__doc__, run)
