"""What lists and questions to the database show of a visit on its way to a finished job: a function of its entries.

An event is the present value of a field ``job.event.ID``. Correcting it puts another value into the same field, taking
it back puts None there; both stay in the history. The stage follows from the events that stand, whatever order the
entries came in, so two devices that merge agree.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeGuard

from valuation.facts.kinds import day_of, plain_number
from valuation.record.card import line
from valuation.record.entry import Entry, value_text
from valuation.record.history import present, unfit

EVENT, FOLLOWED, DONE, TRUTH = "job.event.", "job.followed.", "job.done.", "job.truth."
NEXT, SOURCE, REFERRED = "job.next", "job.source", "job.referred"
AGREEMENT, PROMISED, FEE, MINUTES = "job.agreement", "job.promised", "job.fee", "minutes"
PERSON = "job.person"
FOUND, CHANGE, MONEY, RETURN, FINISHED = "job.found.", "job.change.", "job.money.", "job.return.", "job.finished."
STAGE = "job.stage"
"""A stage without its day, which counts as long as there is no event."""

ON_THE_CARD = (
    EVENT, FOLLOWED, DONE, TRUTH, NEXT, SOURCE, REFERRED, STAGE, AGREEMENT, FOUND, CHANGE, MONEY, RETURN, PROMISED, FEE,
    MINUTES,
)  # fmt: skip
"""Fields, or beginnings of fields, that a job's card is made of."""

_STAGE = re.compile(r"[a-z][a-z0-9_]{0,59}")


@dataclass(frozen=True, slots=True, kw_only=True)
class EventEntered:
    """One event as it stands in the record.

    Attributes
    ----------
    id : str
        Last part of its field's name.
    day : date
        When it happened.
    who : str
        Who entered what stands.
    told : dict or None
        What the client was told of the evaluation, as `told_columns` reads it.
    agreed : dict or None
        What was agreed on, in older records; today's have `AGREEMENT`.
    first : tuple
        Order in which it was first entered, which parts events of one day.
    """

    id: str
    day: date
    stage: str
    reason: str
    note: str
    who: str
    told: dict[str, Any] | None
    agreed: dict[str, Any] | None
    first: tuple[datetime, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCard:
    """What the events and next steps of one visit come to.

    Attributes
    ----------
    stage : str
        Empty where there is no event.
    since : date or None
        When the present stage began.
    times : int
        How often it has begun, this time included.
    next_what, next_on : str, date or None
        The next step that somebody set.
    followed : tuple of str
        Follow-ups of the present stage that were made or dropped, by the ids of the table.
    events : tuple of EventEntered
        By day.
    """

    stage: str
    since: date | None
    times: int
    next_what: str
    next_on: date | None
    followed: tuple[str, ...]
    events: tuple[EventEntered, ...]


def events_entered(fields: Mapping[str, Sequence[Entry]]) -> tuple[tuple[EventEntered, ...], dict[str, str]]:
    """Return the events that stand, by day, and why each other one can't be read.

    Parameters
    ----------
    fields : mapping of field to its entries
        May hold other fields too.
    """
    events, faults = [], {}
    for name, entries in fields.items():
        head = present(entries) if name.startswith(EVENT) else None
        if head is None or head.value is None:
            continue
        value = head.value
        if fault := unfit(head):
            faults[name] = fault
        elif not _STAGE.fullmatch(value["stage"]):
            faults[name] = "an event needs a stage"
        else:
            events.append(
                EventEntered(
                    id=name.removeprefix(EVENT),
                    day=date.fromisoformat(value["day"]),
                    stage=value["stage"],
                    reason=line(value.get("reason")),
                    note=value.get("note") or "",
                    who=head.who,
                    told=value.get("told"),
                    agreed=value.get("agreed"),
                    first=min(entry.order for entry in entries),
                )
            )
    return tuple(sorted(events, key=lambda event: (event.day, event.first))), faults


def job_card(fields: Mapping[str, Sequence[Entry]]) -> JobCard:
    """Return the card of a job from the entries of its fields; what doesn't fit is left out."""
    events, _ = events_entered(fields)
    stages = [event.stage for event in events]
    began = len(stages)
    while began and stages[began - 1] == stages[-1]:
        began -= 1
    times = sum(stage == stages[-1] and before != stage for before, stage in zip(["", *stages], stages, strict=False))
    what, on = next_step(_value(fields, NEXT))
    return JobCard(
        stage=stages[-1] if stages else line(_value(fields, STAGE)),
        since=events[began].day if events else None,
        times=times,
        next_what=what,
        next_on=on,
        followed=_followed(fields, times),
        events=events,
    )


def _followed(fields: Mapping[str, Sequence[Entry]], times: int) -> tuple[str, ...]:
    """Return the follow-ups made in the present run of the stage: those of an earlier run bear another number."""
    again = f"-{times}" if times > 1 else ""
    made = (name.removeprefix(FOLLOWED) for name in fields if name.startswith(FOLLOWED) and _value(fields, name))
    return tuple(
        sorted(name.removesuffix(again) for name in made if ("-" in name) == bool(again) and name.endswith(again))
    )


def card_columns(card: JobCard) -> dict[str, Any]:
    """Return what the list of visits holds of a job; days as numbers, so that any database can reckon with them."""
    return {
        "stage": card.stage,
        "since": card.since.toordinal() if card.since else None,
        "next_on": card.next_on.toordinal() if card.next_on else None,
        "next_what": card.next_what,
        "followed": "".join(f" {name} " for name in card.followed),
    }


def job_columns(card: JobCard, fields: Mapping[str, Sequence[Entry]]) -> dict[str, Any]:
    """Return what is kept of a job for questions over all of them, beside the list's columns.

    Parameters
    ----------
    fields : mapping of field to its entries
        Those of `ON_THE_CARD`.

    Returns
    -------
    dict
        Text, numbers and truth values; None for what is not known.
    """
    agreed = agreed_of(fields, card.events)
    referred = _value(fields, REFERRED)
    return {
        "stage": card.stage,
        "stage_since": card.since.isoformat() if card.since else None,
        "reason": next((e.reason for e in reversed(_run(card)) if e.reason), "") or None,
        "source": line(_value(fields, SOURCE)) or None,
        "referred": referred if isinstance(referred, bool) else None,
        "next_step": card.next_what or None,
        "next_day": card.next_on.isoformat() if card.next_on else None,
        **told_columns(told_of(card.events)),
        "agreed_option": line(agreed.get("option")) or None,
        "agreed_scope": line(agreed.get("scope")) or None,
        "agreed_on": agreed.get("day"),
        "price_agreed": plain_number(agreed.get("price")),
        "tax": plain_number(agreed.get("tax")),
        "price_quoted": plain_number(agreed.get("quoted")),
        "promised_on": _dict(_value(fields, PROMISED)).get("day"),
        "minutes": plain_number(_value(fields, MINUTES)),
        "fee": plain_number(_value(fields, FEE)),
        "hours_estimated": _sum(hours[1] for hours in operations_of(agreed).values()) if agreed else None,
        "hours_priced": _sum(plain_number(_dict(row).get("hours")) for row in agreed.get("lines") or ()),
        "hours_done": _sum(plain_number(_dict(value).get("hours")) for value in _values(fields, DONE)),
        "parts_opened": len(_parts_opened(fields)),
        "events": value_text([[e.id, e.day.isoformat(), e.stage, e.reason, e.who] for e in card.events]),
    }


def told_of(events: Sequence[EventEntered]) -> dict[str, Any]:
    """Return what the client was told last, with its day; empty where nothing was."""
    last = next((event for event in reversed(events) if event.told), None)
    if last is None or not last.told:
        return {}
    day = day_of(last.told.get("on"))
    return {**last.told, "on": min(day or last.day, last.day).isoformat()}


def agreed_of(fields: Mapping[str, Sequence[Entry]], events: Sequence[EventEntered]) -> dict[str, Any]:
    """Return what was agreed on, with its ``day``; empty where nothing was. Older records have it with their step."""
    own = _value(fields, AGREEMENT)
    if own is not None:
        return dict(own)
    last = next((event for event in reversed(events) if event.agreed), None)
    return {**last.agreed, "day": last.day.isoformat()} if last and last.agreed else {}


TOLD_FIGURES = ("price_low", "price_likely", "price_high", "value_after", "hours_low", "hours_likely", "hours_high")


def told_columns(told: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the client was told, as columns: text and finite numbers, None for what is not known."""
    figures = {name: plain_number(told.get(name)) for name in (*TOLD_FIGURES, "premium")}
    for name in ("price", "hours"):
        if not _is_band([figures[f"{name}_{end}"] for end in ("low", "likely", "high")]):
            figures |= {f"{name}_{end}": None for end in ("low", "likely", "high")}
    words = {name: line(told.get(name)) or None for name in ("verdict", "technician")}
    return {"evaluated_on": told.get("on"), **words, **figures}


def operations_of(agreed: Mapping[str, Any]) -> dict[str, tuple[float, float, float]]:
    """Return the hours that were estimated for each operation: low, likely, high [h]; what doesn't fit is left out."""
    found = {}
    rows = agreed.get("operations")
    for row in rows if isinstance(rows, list) else ():
        if isinstance(row, list) and len(row) == 4 and isinstance(row[0], str):
            hours = [plain_number(cell) for cell in row[1:]]
            if _is_band(hours):
                found[row[0]] = (hours[0], hours[1], hours[2])
    return found


def _is_band(ends: list[float | None]) -> TypeGuard[list[float]]:
    """Tell whether all ends are known, not below 0, and rise."""
    known = [end for end in ends if end is not None]
    return len(known) == len(ends) and known == sorted(known) and known[0] >= 0


def next_step(value: Any) -> tuple[str, date | None]:
    """Return what is to be done next and on which day; nothing where either is missing."""
    what, on = line(_dict(value).get("what")), day_of(_dict(value).get("day"))
    return (what, on) if what and on else ("", None)


def _run(card: JobCard) -> list[EventEntered]:
    """Return the events of the present stage, in whichever of its runs."""
    return [event for event in card.events if event.stage == card.stage]


def _value(fields: Mapping[str, Sequence[Entry]], name: str) -> Any:
    head = present(fields.get(name, ()))
    return head.value if head and not unfit(head) else None


def _values(fields: Mapping[str, Sequence[Entry]], prefix: str) -> Iterable[Any]:
    values = (_value(fields, name) for name in fields if name.startswith(prefix))
    return (value for value in values if value is not None)


def _parts_opened(fields: Mapping[str, Sequence[Entry]]) -> set[str]:
    """Return the parts of which teardown showed anything: of a fault its part, in older records the part itself."""
    told = {name.removeprefix(TRUTH): _value(fields, name) for name in fields if name.startswith(TRUTH)}
    return {line(_dict(value).get("part")) or name for name, value in told.items() if value is not None}


def _dict(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _sum(numbers: Iterable[float | None]) -> float | None:
    known = [number for number in numbers if number is not None]
    return math.fsum(known) if known else None
