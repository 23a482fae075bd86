"""Between the history of a visit and the records of its job. What today's tables don't know is set aside and told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import zip_longest
from typing import Any

from valuation.engine.rows import FaultRow, Quantity, StageRow, Tables
from valuation.facts.kinds import day_of
from valuation.jobs.handover import Place
from valuation.jobs.ledger import DONE_AS_FOUND, Ledger, to_ledger
from valuation.jobs.records import EstimatedHours, Job, JobEvent, Teardown, WorkDone
from valuation.jobs.renamed import divided_estimate, divided_work, today_of
from valuation.jobs.stages import Course, courses
from valuation.jobs.told import estimate_agreed
from valuation.record import Entry, by_field, counted
from valuation.record import job_card as card
from valuation.record.card import line
from valuation.record.job_card import EventEntered, agreed_of, events_entered, job_card

ORIGINAL, ABSENT = "job.original", "job.absent"
BEFORE, AFTER, YEAR = "job.before.", "job.after.", "job.year."
JOB = "job."


@dataclass(frozen=True, eq=False)
class RecordedJob:
    """The job of one visit, as it stands.

    Attributes
    ----------
    events : tuple of EventEntered
        By day; those whose stage today's table has.
    course : Course or None
        None where there is no event.
    next_what, next_on : str, date or None
        The step that somebody set.
    followed : tuple of str
        Follow-ups of the present stage that were made or dropped.
    agreed : dict
        What was agreed on; empty where nothing was.
    estimate : tuple of EstimatedHours
        Hours estimated for each operation when the work was agreed on, by today's names, with those of if-found lines
        that are done.
    work : tuple of (field, WorkDone)
        By operation, then as entered; what was entered under an older name that has been divided stands as entered.
    teardown : tuple of Teardown
        In the order of the faults.
    states_told : dict of part to state
        What older records tell of a part as a whole. Nothing is said of its single faults, so odds don't learn from it.
    kept_original : tuple of str or None
        None where nobody said; nothing where nothing was kept.
    before, after, year : dict of standard to readings
        What was measured before the work, at the last check and a year later, by the standard's id and the place.
    absent : dict of standard to keys
        Where there is nothing to measure.
    set_aside : dict of field to str
        What counts for nothing, and why.
    """

    visit: str
    events: tuple[EventEntered, ...]
    course: Course | None
    next_what: str
    next_on: date | None
    followed: tuple[str, ...]
    agreed: dict[str, Any]
    ledger: Ledger
    estimate: tuple[EstimatedHours, ...]
    work: tuple[tuple[str, WorkDone], ...]
    teardown: tuple[Teardown, ...]
    states_told: dict[str, str]
    kept_original: tuple[str, ...] | None
    source: str
    referred: bool | None
    before: dict[str, dict[Place, float]]
    after: dict[str, dict[Place, float]]
    year: dict[str, dict[Place, float]]
    absent: dict[str, tuple[int, ...]]
    set_aside: dict[str, str]

    @cached_property
    def told(self) -> dict[str, Any]:
        """What the client was told last; empty where nothing was."""
        return card.told_of(self.events)

    def job(self, kind: str, delivered: Iterable[str], features: Iterable[str] = ()) -> Job:
        """Return it as a job of such a piano; `delivered` are the stages in which the piano has gone home."""
        gone = [event.day for event in self.events if event.stage in set(delivered)]
        at_home = self.course is not None and self.course.stage.id in set(delivered)
        return Job(
            visit=self.visit,
            kind=kind,
            delivered=gone[-1] if gone and at_home else None,
            features=tuple(features),
            estimate=self.estimate,
            pieces=_pieces(self.agreed.get("pieces")),
            work=tuple(part for _, done in self.work for part in divided_work(done)),
            finished=self.ledger.finished,
            teardown=self.teardown,
            kept_original=self.kept_original or (),
        )


def to_recorded_job(entries: Sequence[Entry], tables: Tables, *, on: date) -> RecordedJob:
    """Return the job that a history comes to.

    Parameters
    ----------
    entries : sequence of Entry
        All of one visit, or those of its job.
    tables : Tables
        The shop's tables of today.
    on : date
        What happened later is left out of the course.
    """
    fields = by_field(entries)
    visit = entries[0].visit if entries else ""
    entered, faults = events_entered(fields)
    stages = {row.id for row in tables.stages}
    for event in entered:
        if event.stage not in stages:
            faults[f"{card.EVENT}{event.id}"] = f"today's tables have no stage '{event.stage}'"
    known = tuple(event for event in entered if event.stage in stages)
    fit, unfitting = counted(fields)
    faults |= {name: fault for name, fault in unfitting.items() if name.startswith(JOB)}
    values = {name: head.value for name, head in fit.items() if head.value is not None}
    made = job_card(fields)
    agreed = agreed_of(fields, known)
    ledger = to_ledger(fields, agreed)
    estimate = (*estimate_agreed(agreed), *_as_found(ledger))
    return RecordedJob(
        visit=visit,
        events=known,
        course=course_of(visit, known, tables.stages, on),
        next_what=made.next_what,
        next_on=made.next_on,
        followed=made.followed,
        agreed=agreed,
        ledger=ledger,
        estimate=divided_estimate(estimate, {row.id for row in tables.operations}),
        work=_work(values, fields, tables, faults),
        teardown=_teardown(values, tables, faults),
        states_told=_states_told(values, tables, faults),
        kept_original=_original(values.get(ORIGINAL)),
        source=line(values.get(card.SOURCE)),
        referred=values.get(card.REFERRED),
        before=_measured(values, BEFORE),
        after=_measured(values, AFTER),
        year=_measured(values, YEAR),
        absent=_absent(values.get(ABSENT)),
        set_aside=dict(sorted(faults.items())),
    )


def course_of(visit: str, events: Iterable[EventEntered], stages: Sequence[StageRow], on: date) -> Course | None:
    """Return the course of one visit from its events; None where there is none by that day."""
    plain = [
        JobEvent(id=e.id, visit=visit, day=e.day, stage=e.stage, who=e.who, reason=e.reason, note=e.note)
        for e in sorted(events, key=lambda event: event.first)
    ]
    return courses(plain, stages, on=on).get(visit)


def event_value(
    stage: str,
    day: date,
    *,
    reason: str = "",
    note: str = "",
    told: Mapping[str, Any] | None = None,
    agreed: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Return an event as it is kept; what is empty is left out."""
    more = {"reason": reason.strip(), "note": note.strip(), "told": told, "agreed": agreed}
    return {"stage": stage, "day": day.isoformat()} | {name: value for name, value in more.items() if value}


def done_value(
    hours: float,
    *,
    materials: Sequence[Quantity] = (),
    costs: Sequence[float | None] = (),
    day: date | None = None,
    who: str = "",
    note: str = "",
) -> dict[str, Any]:
    """Return hours and materials as they are kept, `costs` being what each material cost; what is empty is left out."""
    value: dict[str, Any] = {"hours": hours}
    if materials:
        each = zip_longest(materials, costs)
        value["materials"] = [
            {"material": item.material, "amount": item.amount} | ({} if cost is None else {"cost": cost})
            for item, cost in each
        ]
    if day:
        value["day"] = day.isoformat()
    if who:
        value["who"] = who
    return value | ({"note": note.strip()} if note.strip() else {})


def truth_value(fault: FaultRow, severity: str) -> dict[str, Any]:
    """Return how badly a fault truly was there as it is kept, under `valuation.record.job_card.TRUTH` and its id."""
    return {"severity": severity, "part": fault.part}


def readings_value(readings: Mapping[Place, float]) -> list[list[float]] | None:
    """Return readings as they are kept: key, string (0 where there is one for a note) and value; None for none."""
    rows = sorted((place.key, place.string, value) for place, value in readings.items())
    return [list(row) for row in rows] or None


def _work(values: Mapping[str, Any], fields, tables: Tables, faults: dict[str, str]):
    known = {row.id for row in tables.operations}
    materials = {row.id for row in tables.materials}
    found = []
    for name, value in values.items():
        if not name.startswith(card.DONE):
            continue
        operation = name.removeprefix(card.DONE).rpartition(".")[0]
        today = today_of(operation, known)
        if not today:
            faults[name] = f"today's tables have no operation '{operation}'"
        else:
            used = [
                Quantity(material=item["material"], amount=float(item["amount"]))
                for item in value.get("materials") or ()
                if item["material"] in materials
            ]
            first = min(fields[name], key=lambda entry: entry.order)
            done = WorkDone(
                operation=today[0] if len(today) == 1 else operation,
                hours=float(value["hours"]),
                materials=tuple(used),
                cost=sum(item.get("cost") or 0.0 for item in value.get("materials") or ()),
                day=day_of(value.get("day")),
                who=line(value.get("who")) or first.who,
                note=value.get("note") or "",
            )
            found.append((first.order, name, done))
    return tuple((name, done) for _, name, done in sorted(found, key=lambda item: item[0]))


def _as_found(ledger: Ledger) -> tuple[EstimatedHours, ...]:
    """Return the hours of the if-found lines that are done."""
    return tuple(row.hours for row in ledger.if_found if row.answer == DONE_AS_FOUND and row.hours is not None)


def _teardown(values: Mapping[str, Any], tables: Tables, faults: dict[str, str]) -> tuple[Teardown, ...]:
    found = {}
    order = list(dict.fromkeys(row.id for row in tables.faults))
    for name, told in _truths(values, "severity"):
        fault = name.removeprefix(card.TRUTH)
        if fault in order:
            found[fault] = Teardown(fault=fault, severity=told["severity"], note=told.get("note") or "")
        else:
            faults[name] = f"today's tables have no fault '{fault}'"
    return tuple(found[fault] for fault in order if fault in found)


def _states_told(values: Mapping[str, Any], tables: Tables, faults: dict[str, str]) -> dict[str, str]:
    """Return what older records tell of whole parts."""
    found = {}
    parts = [row.id for row in tables.parts]
    for name, told in _truths(values, "state"):
        part = name.removeprefix(card.TRUTH)
        if part in parts:
            found[part] = told["state"]
        else:
            faults[name] = f"today's tables have no part '{part}'"
    return {part: found[part] for part in parts if part in found}


def _truths(values: Mapping[str, Any], told_by: str) -> list[tuple[str, Mapping[str, Any]]]:
    """Return what teardown showed; the state of a whole part stands before a severity, which only one fault has."""
    truths = [(name, value) for name, value in values.items() if name.startswith(card.TRUTH)]
    return [(n, told) for n, told in truths if ("severity" if told.get("state") is None else "state") == told_by]


def _pieces(value: Mapping[str, Mapping[str, float] | None] | None) -> dict[str, dict[str, float]]:
    """Return the pieces that an estimate counted, by operation and fault."""
    return {
        operation: {fault: float(count) for fault, count in counted.items() if count is not None}
        for operation, counted in (value or {}).items()
        if counted is not None
    }


def _original(value: list[str] | None) -> tuple[str, ...] | None:
    return None if value is None else tuple(value)


def _measured(values: Mapping[str, Any], prefix: str) -> dict[str, dict[Place, float]]:
    return {
        name.removeprefix(prefix): {Place(key=key, string=string): float(number) for key, string, number in rows}
        for name, rows in values.items()
        if name.startswith(prefix)
    }


def _absent(value: Mapping[str, list[int]] | None) -> dict[str, tuple[int, ...]]:
    return {name: tuple(keys) for name, keys in (value or {}).items() if keys is not None}
