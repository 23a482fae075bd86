"""Several devices enter at once, on one visit and on their own: nothing is lost or doubled, and how long it takes.

    python -m tests.endurance.many_devices [--devices 8] [--seconds 120] [--pause 0.5] [--database sqlite postgresql]

Each device is a thread of one process, as in the app, or with --apart a process of its own, as on several servers. It
enters with a pause like a person's (on average --pause seconds; 0 is as fast as it goes), half on a visit that all
share, half on its own; each time it looks at the visit first and says what it had before it, as the page does. Then
the store is looked through: every entry acknowledged is there once, no other is, every one is in sight or was replaced
by one that had seen it. Told is the time from entry to 'saved', alone and with all, and the ratio, from the same run.
"""

from __future__ import annotations

import argparse
import random
import statistics
import threading
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from multiprocessing import get_context
from typing import Any
from uuid import uuid4

from tests.endurance.databases import KINDS, empty_place
from valuation.record import by_field, heads
from valuation.service.visits import Shop, open_shop

FIELDS = tuple(f"wish.field_{number}" for number in range(20))


@dataclass
class Work:
    """What one device did: ids of its entries, how long each took to be saved [s], and how often it clashed."""

    saved: list[str] = field(default_factory=list)
    took: list[float] = field(default_factory=list)


def enter(shop: Shop, name: str, shared: str, own: str, more: Callable[[int], bool], pause: float) -> Work:
    """Enter as long as `more`, asked with the number of entries made, says so."""
    chance, work = random.Random(name), Work()
    while more(len(work.saved)):
        visit, where = chance.choice([shared, own]), chance.choice(FIELDS)
        seen = tuple(head.id for head in heads(shop.history(visit, where)))
        now, entry_id = datetime.now(UTC), uuid4().hex
        begun = time.perf_counter()
        entry = shop.put(visit, where, uuid4().hex, follows=seen, who=name, device=name, now=now, entry_id=entry_id)
        work.took.append(time.perf_counter() - begun)
        if entry.id != entry_id:
            raise RuntimeError("another entry was given back than the one that was put")
        work.saved.append(entry_id)
        if pause:
            time.sleep(chance.uniform(0, 2 * pause))
    return work


def together(
    environ: dict[str, str], devices: int, more: Callable[[int], bool], pause: float, *, apart: bool
) -> list[Work]:
    """Let so many devices enter at once; return what each did. Raises what any of them raised."""
    with closing(open_shop(environ, datetime.now(UTC).date(), with_demo=False)) as shop:
        begin = {"who": "", "device": "", "now": datetime.now(UTC)}
        shared, *own = (shop.start_visit({"piano.kind": "grand"}, **begin) for _ in range(devices + 1))
        tasks = [(f"device {number}", shared, own[number]) for number in range(devices)]
        if apart:
            spawn = get_context("spawn")
            with spawn.Manager() as manager, spawn.Pool(devices) as pool:
                start = manager.Barrier(devices)
                works = pool.starmap(_enter_apart, [(environ, start, *task, more, pause) for task in tasks])
        else:
            works = _in_threads(shop, tasks, more, pause)
        check(shop, [shared, *own], works)
    return works


def _in_threads(shop: Shop, tasks: list[tuple[str, str, str]], more: Callable[[int], bool], pause: float) -> list[Work]:
    works: list[Work] = []
    faults: list[BaseException] = []

    def run(task: tuple[str, str, str]) -> None:
        try:
            works.append(enter(shop, *task, more, pause))
        except BaseException as fault:  # noqa: BLE001  (raised again below)
            faults.append(fault)

    threads = [threading.Thread(target=run, args=(task,)) for task in tasks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if faults:
        raise faults[0]
    return works


def _enter_apart(
    environ: dict[str, str], start: Any, name: str, shared: str, own: str, more: Callable[[int], bool], pause: float
) -> Work:
    with closing(open_shop(environ, datetime.now(UTC).date())) as shop:
        start.wait()  # all are open; processes take their time to start
        return enter(shop, name, shared, own, more, pause)


def check(shop: Shop, visits: list[str], works: list[Work]) -> None:
    """Raise where an entry is lost or doubled, or is out of sight though nobody who saw it has replaced it."""
    acknowledged = [name for work in works for name in work.saved]
    histories = [shop.history(visit) for visit in visits]
    there = [entry.id for history in histories for entry in history if entry.field in FIELDS]
    if sorted(there) != sorted(acknowledged):
        lost, doubled = set(acknowledged) - set(there), len(there) - len(set(there))
        raise RuntimeError(f"{len(lost)} entries lost, {doubled} doubled")
    for history in histories:
        for entries in by_field(history).values():
            followed = {name for entry in entries for name in entry.follows}
            if {head.id for head in heads(entries)} | followed != {entry.id for entry in entries}:
                raise RuntimeError("an entry is out of sight though nobody replaced it")


@dataclass
class During:
    """Go on for so long from the first entry on [s]."""

    seconds: float
    end: float = 0.0

    def __call__(self, _: int) -> bool:
        """Tell whether there is time left."""
        self.end = self.end or time.monotonic() + self.seconds
        return time.monotonic() < self.end


@dataclass(frozen=True)
class Count:
    """Go on until so many entries are made."""

    count: int

    def __call__(self, made: int) -> bool:
        """Tell whether there are more to make."""
        return made < self.count


def times(works: list[Work]) -> tuple[int, float, float]:
    """Return how many entries were made, and median and 95th percentile of the time to 'saved' [ms]."""
    took = sorted(1000 * seconds for work in works for seconds in work.took)
    return len(took), statistics.median(took), took[int(0.95 * len(took))]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--devices", type=int, default=8)
    parser.add_argument("--seconds", type=float, default=120)
    parser.add_argument("--pause", type=float, nargs="+", default=[0.5, 0])
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--apart", action="store_true", help="each device in a process of its own")
    given = parser.parse_args()
    print("| database | pause s | devices | entries | median ms | p95 ms | median / alone | p95 / alone |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for kind in given.database:
        for pause in given.pause:
            alone = None
            for devices, seconds in ((1, min(given.seconds, 30)), (given.devices, given.seconds)):
                with empty_place(kind) as (environ, _):
                    more = During(seconds)
                    count, median, p95 = times(together(environ, devices, more, pause, apart=given.apart))
                alone = alone or (median, p95)
                ratios = f"{median / alone[0]:.1f} | {p95 / alone[1]:.1f}"
                print(
                    f"| {kind} | {pause:g} | {devices} | {count:,} | {median:.1f} | {p95:.1f} | {ratios} |", flush=True
                )


if __name__ == "__main__":
    main()
