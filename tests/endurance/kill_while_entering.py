"""Kill the tool in the middle of entry, again and again: nothing that was acknowledged may be lost.

    python -m tests.endurance.kill_while_entering [--kills 200] [--database sqlite postgresql] [--seed 0]

Each time a process enters through the service as fast as it can (`entering`) and is killed with SIGKILL at a random
moment; one in ten is killed while it opens the store, on a new one. This process reads what was acknowledged, keeps it
in a ledger that is forced to the disk, and looks in the database after every kill: every acknowledged entry is there,
as it was; what was not acknowledged is there whole or not at all, and never twice; the ledger of every job says what
its history says; the database is sound; nothing was repaired. With PostgreSQL every tenth time the whole server is
killed too, as the power would. Prints a Markdown table.
"""

from __future__ import annotations

import json
import os
import random
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import select

from tests.endurance.databases import empty_place, kill_server
from tests.endurance.killing import ROOT, killed, print_table
from tests.postgres_server import PostgresServer
from valuation.record import Entry, by_field, heads, value_text
from valuation.record.job_card import ON_THE_CARD, job_card
from valuation.record.ledger import ledger_rows
from valuation.service import demo_visits
from valuation.service.visits import Shop, open_shop
from valuation.store.schema import ledger

ONE_IN = 10
"""Of so many kills one meets a new store while it is opened, and one PostgreSQL itself."""


@dataclass
class Ledger:
    """What was acknowledged, and how it went.

    Attributes
    ----------
    saved : dict
        By id of the entry: visit, field and value.
    tried : set of str
        Ids of entries that were begun; they may be there or not.
    """

    path: Path
    saved: dict[str, tuple[str, str, str]] = field(default_factory=dict)
    visits: set[str] = field(default_factory=set)
    tried: set[str] = field(default_factory=set)
    counts: Counter[str] = field(default_factory=Counter)

    def keep(self, lines: list[bytes]) -> None:
        """Take in what a killed process has said, and force it to the disk; a last line cut off says nothing."""
        whole = [json.loads(line) for line in lines if line.endswith(b"\n")]
        for said in whole:
            self.counts[said["what"]] += 1
            if said["what"] == "saved":
                self.saved[said["id"]] = (said["visit"], said["field"], value_text(said["value"]))
            elif said["what"] == "saved visit":
                self.visits.add(said["id"])
            elif said["what"] == "tried":
                self.tried.add(said["id"])
        with self.path.open("ab") as file:
            file.writelines(line for line in lines if line.endswith(b"\n"))
            file.flush()
            os.fsync(file.fileno())


def run(kind: str, kills: int, seed: int) -> dict[str, int]:
    """Kill so many times on one sort of database; return what was counted. Raises where anything is lost."""
    chance = random.Random(seed)
    with empty_place(kind) as (environ, server):
        ledger = Ledger(Path(environ["VALUATION_DATA"]).with_suffix(".ledger"))
        try:
            for number in range(kills):
                new = number % ONE_IN == ONE_IN - 1
                if new:
                    _kill_on_a_new_store(kind, chance, server)
                else:
                    ledger.keep(killed(_entering(chance), environ, chance, after="opened", within=0.4))
                    if server and number % ONE_IN == 0:
                        _kill_the_server_too(environ, ledger, server, chance)
                _check(environ, ledger)
        finally:
            ledger.path.unlink(missing_ok=True)
        unfinished = ledger.counts["tried"] - sum(name in ledger.saved for name in ledger.tried)
        return {
            "kills": kills,
            "acknowledged entries": len(ledger.saved),
            "acknowledged visits": len(ledger.visits),
            "killed within an entry": unfinished,
            "lost": 0,
        }


def _entering(chance: random.Random) -> list[str]:
    return ["tests.endurance.entering", str(chance.getrandbits(32))]


def _kill_on_a_new_store(kind: str, chance: random.Random, server: PostgresServer | None) -> None:
    """Kill while a new store is made; the next to come finds it as if nothing had been."""
    with empty_place("sqlite") as (environ, _):
        if server:
            environ["DATABASE_URL"] = server.new_database()
        killed(_entering(chance), environ, chance, after="started", within=0.5)
        with closing(open_shop(environ, datetime.now(UTC).date())) as shop:
            demo = shop.list_visits(demo=True)[1]
        if demo != len(demo_visits()):
            raise RuntimeError(f"a new store on {kind} holds {demo} visits of the demo")
        if server:
            server.drop_database(environ["DATABASE_URL"])


def _kill_the_server_too(
    environ: dict[str, str], ledger: Ledger, server: PostgresServer, chance: random.Random
) -> None:
    command = [sys.executable, "-m", *_entering(chance)]
    quiet = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    process = subprocess.Popen(command, cwd=ROOT, env=os.environ | environ, bufsize=0, **quiet)
    with process:
        lines = []
        while len(lines) < 20:
            lines.append(process.stdout.readline())
        time.sleep(chance.uniform(0, 0.1))
        kill_server(server)
        process.wait()  # it is told that the database can't be reached, and ends
        ledger.keep(lines + process.stdout.read().splitlines(keepends=True))


def _check(environ: dict[str, str], ledger: Ledger) -> None:
    """Look at the store as the next to open it finds it."""
    if not environ["DATABASE_URL"]:
        with closing(sqlite3.connect(Path(environ["VALUATION_DATA"]) / "valuation.sqlite")) as raw:
            sound = raw.execute("PRAGMA integrity_check").fetchone()
            if sound != ("ok",):
                raise RuntimeError(f"the database is not sound: {sound}")
    with closing(open_shop(environ, datetime.now(UTC).date())) as shop:
        there = _all_entries(shop)
        lost = {name: said for name, said in ledger.saved.items() if there.get(name) != said}
        if lost:
            raise RuntimeError(f"{len(lost)} acknowledged entries are lost or changed: {lost}")
        visits = {card.id for card in shop.list_visits(limit=10**6)[0]}
        if ledger.visits - visits:
            raise RuntimeError(f"acknowledged visits are lost: {ledger.visits - visits}")
        if shop.photo_report().lost:
            raise RuntimeError(f"photos are lost: {shop.photo_report().lost}")


def _all_entries(shop: Shop) -> dict[str, tuple[str, str, str]]:
    """Return every entry of a store by its id; raises where one stands twice or a history is broken."""
    found: dict[str, tuple[str, str, str]] = {}
    for card in shop.list_visits(limit=10**6, demo=False)[0]:
        history = shop.history(card.id)
        names = {entry.id for entry in history}
        if len(names) != len(history) or any(set(entry.follows) - names for entry in history):
            raise RuntimeError(f"the history of {card.id} is broken")
        if card.changed_at != max(entry.at for entry in history):
            raise RuntimeError(f"the card of {card.id} is behind its history")
        for name in {entry.field for entry in history}:
            if len(heads([entry for entry in history if entry.field == name])) != 1:
                raise RuntimeError(f"{name} of {card.id} has more than one end")
        _check_ledger(shop, card.id, history)
        found |= {entry.id: (card.id, entry.field, value_text(entry.value)) for entry in history}
    return found


def _check_ledger(shop: Shop, visit: str, history: list[Entry]) -> None:
    """Hold the rows of a job's ledger, which sheets and lists read, to what its history comes to."""
    fields = by_field(entry for entry in history if entry.field.startswith(ON_THE_CARD))
    wanted = ledger_rows(fields, job_card(fields).events)
    with shop.store.reading() as connection:
        rows = connection.execute(select(ledger).where(ledger.c.visit == visit)).mappings().all()
    there = [{name: cell for name, cell in row.items() if name != "visit" and cell is not None} for row in rows]

    def in_order(rows: list[dict]) -> list:
        return sorted(rows, key=lambda row: (row["sheet"], row["name"]))

    if in_order(there) != in_order(wanted):
        raise RuntimeError(f"the ledger of {visit} is behind its history")


if __name__ == "__main__":
    print_table(__doc__, run)
