"""How long the owner's pages take to work out, and the exports, with many jobs.

    python -m tests.benchmark.bench_books [--jobs 50000] [--years 25] [--database sqlite postgresql]

prints two Markdown tables. Of what each page shows: the first time after a start, again after hours were entered, and
again after a client said no, which changes what is known of all. Of each export: time, size, and by how much the
process grew. Processor seconds of this process beside the clock's, since the machine may be busy with other things.
The jobs are made up (seed 0), each with its ledger, over so many years. The goals: 1 s for a page beyond the first,
30 s for an export at flat memory.
"""

from __future__ import annotations

import argparse
import gc
import sys
import threading
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from invented_jobs import fill

from tests.endurance.databases import KINDS, empty_place
from valuation import service
from valuation.engine.rows import Tables
from valuation.jobs.people import Person
from valuation.service import bench, books, due, front, jobs, lessons, outcomes, ringing
from valuation.service.job_files import ENDINGS, file_of
from valuation.service.people_at_work import keep_people
from valuation.service.visits import Shop, open_shop

PEOPLE = tuple(Person(name=f"Invented {n}", hours_a_week=32, cost_an_hour=40.0) for n in range(12))


def pages(shop: Shop, book: Tables) -> dict[str, Callable[[], object]]:
    """Return what each page has worked out."""
    today = datetime.now(UTC).date()

    def of_the_books(span: str) -> object:
        first, last = books.period(span, today)
        return books.books(shop, book, first=first, last=last)

    def ring() -> object:
        return ringing.whom_to_ring(shop, book, outcomes.happened(shop, book, on=today), on=today)

    return {
        "What happened": lambda: outcomes.happened(shop, book, on=today),
        "Today, Bench: whom to ring": ring,
        "Bench: dates": lambda: (bench.bench_plan(shop, book, on=today), bench.hours_ahead(shop, book, on=today)),
        "Today: a new piano": lambda: front.new_piano(shop, book, on=today),
        "The books, last quarter": lambda: of_the_books(books.QUARTER),
        "The books, last year": lambda: of_the_books(books.YEAR),
        "The books, all": lambda: of_the_books(books.EVER),
        "Learning": lambda: lessons.lessons(shop, book, on=today),
        "Jobs: rows": lambda: jobs.list_jobs(shop, book, limit=20),
        "Jobs: due": lambda: jobs.list_jobs(shop, book, due_by=today, limit=20),
    }


def entered(number: int) -> dict[str, dict[str, object]]:
    """Return what is entered before a page is opened again."""
    day = datetime.now(UTC).date().isoformat()
    stage = "declined" if number % 2 else "discussed"
    return {
        "job.done.tune.x": {"hours": 1.0 + number, "day": day},
        f"job.event.n{number}": {"stage": stage, "day": day},
    }


def timed(act: Callable[[], object]) -> tuple[float, float]:
    """Return how long it takes by the processor and by the clock [s]."""
    cpu, clock = time.process_time(), time.perf_counter()
    act()
    return time.process_time() - cpu, time.perf_counter() - clock


class Grown:
    """By how much this process grows while something is done [MB]."""

    def __enter__(self) -> Grown:
        self.most = self.start = _resident()
        self._done = threading.Event()
        self._watch = threading.Thread(target=self._look, daemon=True)
        self._watch.start()
        return self

    def _look(self) -> None:
        while not self._done.wait(0.02):
            self.most = max(self.most, _resident())

    def __exit__(self, *_: object) -> None:
        self._done.set()
        self._watch.join()

    @property
    def by(self) -> float:
        """Megabytes."""
        return self.most - self.start


def _resident() -> float:
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096 / 1e6


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=50_000)
    parser.add_argument("--years", type=int, default=25)
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    given = parser.parse_args()
    for kind in given.database:
        with empty_place(kind) as (environ, _), closing(open_shop(environ, datetime.now(UTC).date())) as shop:
            measure(shop, kind, given.jobs, given.years)


def measure(shop: Shop, kind: str, count: int, years: int) -> None:
    """Fill a store and print both tables of it."""
    fill(shop, count, datetime.now(UTC).date(), days=365 * years, ledgers=True)
    keep_people(shop, PEOPLE)
    print(f"\n{count:,} jobs on {kind}")
    tell(shop)


def tell(shop: Shop) -> None:
    """Print both tables of a store."""
    book = service.load_shop()
    visit = shop.list_visits(limit=1, demo=False)[0][0].id
    print("\n| what | first, s (clock) | after hours, s (clock) | after a no, s (clock) |\n| --- | --- | --- | --- |")
    for number, (name, act) in enumerate(pages(shop, book).items()):
        took = [timed(act)]
        for field, value in entered(number).items():
            shop.put(visit, field, value, who="", device="", now=datetime.now(UTC))
            gc.collect()  # what came before is not to be paid for here
            took.append(timed(act))
        print(f"| {name} | {' | '.join(f'{cpu:.2f} ({clock:.2f})' for cpu, clock in took)} |", flush=True)
    print("\n| export | s (clock) | MB | grew by, MB |\n| --- | --- | --- | --- |")
    made: dict[str, Callable[[], bytes]] = {ending: lambda ending=ending: file_of(shop, ending) for ending in ENDINGS}
    made[".ics"] = lambda: due.calendar(shop, book, now=datetime.now(UTC), name="Jobs", words={})
    for ending, make in made.items():
        sizes: list[int] = []
        with Grown() as grown:
            took = timed(lambda make=make, sizes=sizes: sizes.append(len(make())))
        print(f"| {ending} | {took[0]:.1f} ({took[1]:.1f}) | {sizes[0] / 1e6:.1f} | {grown.by:.0f} |", flush=True)


if __name__ == "__main__":
    main()
