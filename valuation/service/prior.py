"""What this workshop did on a piano before a visit, as its own store knows it: told apart by maker and number."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from valuation.engine.rows import Tables
from valuation.files.recorded_visit import RecordedVisit
from valuation.jobs.recorded_job import to_recorded_job
from valuation.language import say
from valuation.report.labels import day_words, in_sentence, listed
from valuation.service.visits import Shop as Store

_MOST = 50
"""So many visits are looked through at most: those whose words hold the number of the piano."""


def prior_of(store: Store, recorded: RecordedVisit, tables: Tables) -> list[dict[str, Any]] | None:
    """Return the earlier visits to the same piano, the last one first, each with what was then done to it.

    Returns
    -------
    list of dict or None
        ``day`` of the visit, and ``done``: the operations that hours or materials were entered for. None where the
        piano can't be told from others, since its number is not known.
    """
    piano = recorded.visit.piano
    if not piano.serial.strip():
        return None
    found = []
    cards, _ = store.list_visits(piano.serial, piano.kind, limit=_MOST, demo=store.is_demo(recorded.id))
    for card in cards:
        if card.id == recorded.id:
            continue
        earlier = store.open_visit(card.id, tables).visit
        there = earlier.piano
        same = (there.serial.strip(), there.maker.strip()) == (piano.serial.strip(), piano.maker.strip())
        if same and earlier.on < recorded.visit.on:
            job = to_recorded_job(store.history(card.id), tables, on=recorded.visit.on)
            done = dict.fromkeys(work.operation for _, work in job.work)
            found.append({"day": earlier.on.isoformat(), "done": list(done)})
    return sorted(found, key=lambda visit: visit["day"], reverse=True)


def prior_words(prior: Iterable[Mapping[str, Any]] | None, tables: Tables, kind: str) -> tuple[str, ...]:
    """Return what `prior_of` found in sentences, in the language spoken."""
    if prior is None:
        return (say("its books could not be searched, since the number of the piano is not known."),)
    names = {row.id: in_sentence(say(row.name)) for row in tables.of_kind("operations", kind).values()}
    said = []
    for visit in prior:
        day = day_words(date.fromisoformat(visit["day"]))
        work = listed(names[operation] for operation in visit["done"] if operation in names)
        said.append(
            say("looked at on {day}, then done: {work}.", day=day, work=work)
            if work
            else say("looked at on {day}, no work noted.", day=day)
        )
    return tuple(said) or (say("none that its books know of. They were searched for this number."),)
