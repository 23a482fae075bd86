"""How long a list, a search, a visit and an entry take in a store of many visits, held against a small one.

    python -m tests.benchmark.bench_store [--visits 50000] [--database sqlite postgresql]

prints a Markdown table: the median of 30 times in a store of 50 visits and in the large one, and their ratio, from the
same run. The visits are made up (seed 0), each with ten entries, the one that is opened with 80. The goal: a list of 50
and an opened visit take milliseconds, whatever the number of visits.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID, uuid4

from sqlalchemy import insert

from tests.endurance.databases import KINDS, empty_place
from valuation import service
from valuation.record import Entry, first_id, value_text
from valuation.record.card import card_text
from valuation.service.visits import Shop, open_shop
from valuation.store import entries, schema

START = datetime(2020, 1, 1, tzinfo=UTC)
WORDS = ("Lindner", "Auerwald", "Mühlgasse", "Tannhof", "Köhler", "Parlour", "School", "Chapel", "Villa", "Attic")
AT_ONCE = 1000


def made_up(number: int, chance: Random) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Return the rows of one visit: its own, and those of its entries."""
    name, at = UUID(int=chance.getrandbits(128)).hex, START + timedelta(minutes=number)
    some = [chance.choice(WORDS) for _ in range(4)]
    values: dict[str, Any] = {
        "title": f"{some[0]} {some[1]} {number}",
        "date": at.date().isoformat(),
        "piano.kind": chance.choice(["upright", "grand"]),
        "piano.maker": some[2] if number % 3 else "",
        "piano.year": chance.randint(1860, 1990),
        "place": some[3],
        "client.name": chance.choice(WORDS),
        **{f"wish.w{i}": chance.random() for i in range(3)},
    }
    card = {
        "id": name,
        "demo": False,
        "stage": "",
        "created_at": entries.moment(at),
        "created_by": "",
        "changed_at": entries.moment(at),
    }
    row = {"visit": name, "at": entries.moment(at), "who": "", "device": "", "follows": "", "undoes": ""}
    history = [row | {"id": first_id(name, key), "field": key, "value": value_text(values[key])} for key in values]
    return card | card_text(values), history


def fill(shop: Shop, count: int) -> None:
    """Put made-up visits into an empty shop, all at once."""
    chance = Random(0)
    with shop.store.writing() as connection:
        for first in range(0, count, AT_ONCE):
            made = [made_up(number, chance) for number in range(first, min(count, first + AT_ONCE))]
            connection.execute(insert(schema.visit), [card for card, _ in made])
            connection.execute(insert(schema.entry), [row for _, history in made for row in history])
    with shop.store.engine.connect() as connection:
        connection.exec_driver_sql("ANALYZE")
        connection.commit()


def median_ms(act: Callable[[], object]) -> float:
    """Return the median of 30 times [ms]."""
    took = []
    for _ in range(30):
        begun = time.perf_counter()
        act()
        took.append(time.perf_counter() - begun)
    return 1000 * statistics.median(took)


def measure(kind: str, count: int) -> dict[str, float]:
    """Return the median time of each thing that is done [ms], in a store of so many visits."""
    tables = service.load_shop()
    with empty_place(kind) as (environ, _), closing(open_shop(environ, START.date(), with_demo=False)) as shop:
        fill(shop, count)
        who = {"who": "", "device": "", "now": datetime.now(UTC)}
        path = service.demo_visits()[5][1]
        visit = shop.import_visit(service.read_visit_file(path, tables, datetime.now(UTC).date()), **who)
        while len(shop.history(visit)) < 80:
            shop.put(visit, "story", uuid4().hex, **who)

        def enter() -> Entry | None:
            return shop.put(visit, "story", uuid4().hex, **who)

        return {
            "list, newest first": median_ms(shop.list_visits),
            "list, page 10": median_ms(lambda: shop.list_visits(offset=450)),
            "list, uprights only": median_ms(lambda: shop.list_visits(kind="upright")),
            "list, by title": median_ms(lambda: shop.list_visits(sort="title")),
            "list, by maker": median_ms(lambda: shop.list_visits(sort="maker")),
            "search for two words": median_ms(lambda: shop.list_visits(search="lindner attic")),
            "search for nothing that is there": median_ms(lambda: shop.list_visits(search="zzz")),
            "open a visit of 80 entries": median_ms(lambda: shop.open_visit(visit, tables)),
            "enter": median_ms(enter),
        }


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--visits", type=int, default=50_000)
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    given = parser.parse_args()
    print(f"| database | what | of 50 ms | of {given.visits:,} ms | ratio |\n| --- | --- | --- | --- | --- |")
    for kind in given.database:
        small, large = measure(kind, 50), measure(kind, given.visits)
        for what, took in large.items():
            print(f"| {kind} | {what} | {small[what]:.1f} | {took:.1f} | {took / small[what]:.1f} |", flush=True)


if __name__ == "__main__":
    main()
