"""Every fact by the name of its field, as histories and exports have it. A new fact is one entry here.

Whether today's tables know a check, a part or a stage is no matter of this list; nor is how facts hang together.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, TypeVar

from valuation.facts.keys import KEYS
from valuation.facts.kinds import (
    LINE,
    TEXT,
    Day,
    Either,
    Flag,
    Kind,
    Listed,
    Number,
    OneOf,
    Row,
    Table,
    Whole,
    Words,
)
from valuation.facts.words import (
    IF_FOUND_ANSWERS,
    KINDS,
    LEVELS,
    MONEY_KINDS,
    QUESTIONS,
    RETURN_CAUSES,
    SECTIONS,
    SEVERITIES,
    STATES,
    WAYS,
)
from valuation.language import later

FIRST_YEAR, LAST_YEAR = 1700, 2100
"""Years in which a piano can have been built or a part renewed."""

FIRST_VISIT = date(1990, 1, 1)
"""A visit before this day is taken for a slip of the pen."""

MOST_READINGS = 1000
"""More readings than any piano has strings or keys are a mistake, where the tables don't say how many there are."""

MOST_WORTH = 1e7
"""More than this, said at the table, is taken for a slip of the finger [money]."""

MOST_MINUTES = 1e6
"""[min]"""

MOST_HOURS = 10_000.0
"""No entry of work has more [h]."""

MOST_PIECES = 1000
"""More pieces than any piano has of anything."""

HORIZON_YEARS = Number(1, 60, unit=later(" years"))
"""Over how many years ways can be compared."""

line, text, day, anything = Words(LINE), Words(TEXT, lines=True), Day(), Kind()
money = Number(0, 1e9)
figure = Number()
price = Number(0, 1e9, above=0)

FINDING = Table(
    {
        "cannot_see": Flag(),
        "grade": line,
        "note": text,
        "count": Number(0, MOST_PIECES),
        "sections": Listed(OneOf(SECTIONS, "section")),
        "readings": Listed(
            Table(
                {"value": Number(), "section": line, "key": Whole(0, KEYS[-1]), "string": Whole(0, 9)},
                needed=("value",),
            ),
            MOST_READINGS,
            what="list of readings",
        ),
    }
)
finding = Either((Number(), FINDING))

_band = {f"{name}_{end}": Number() for name in ("price", "hours") for end in ("low", "likely", "high")}
told = Table(
    {"on": day, **dict.fromkeys(("verdict", "clarity", "technician", "tables"), line), "premium": figure}
    | {"value_after": figure}
    | _band
)
hours = Number(0, MOST_HOURS)
agreed = Table(
    {
        "option": line,
        "price": figure,
        "plan": Table(rest=line),
        "operations": Listed(Row((line, Number(0), Number(0), Number(0))), what="list of operations"),
        "pieces": Table(rest=Table(rest=Number(0, 1e6))),
        "tables": line,
    }
)
"""What was agreed on, as older records keep it with the step of that day: read, and never written."""

_expected = {name: Number(0, 1e7) for name in ("hours", "labour", "materials", "outside")}
agreement = Table(
    {
        **agreed.keys,
        "day": day,
        "scope": line,
        "price": price,
        "quoted": price,
        "tax": Number(0, 1),
        "lines": Listed(
            Table({"operation": line, "part": line, "with_it": Listed(line), **_expected}, needed=("operation",)),
            what="list of lines",
        ),
        "if_found": Listed(
            Table(
                {"key": line, "operation": line, "part": line, "faults": Listed(line), "chance": Number(0, 1)}
                | {"price": money, "hours": Row((Number(0), Number(0), Number(0)))},
                needed=("key", "operation", "price"),
            ),
            what="list of if-found lines",
            once="key",
        ),
        "note": text,
    },
    needed=("day", "price"),
)
"""What was agreed on: one a job, by day. Prices with tax; amounts of the lines before tax."""

_truth: dict[str, Kind] = {
    "state": OneOf(STATES, "state"),
    "severity": OneOf(SEVERITIES, "severity"),
    "part": line,
    "note": text,
}
truth = Either((Table(_truth, needed=("state",)), Table(_truth, needed=("severity",))))
"""Of a fault how severe it was; older records have the state of a whole part, which is read and never written."""

event = Table(
    {"stage": line, "day": day, "reason": line, "note": text, "told": told, "agreed": agreed}, needed=("stage", "day")
)
materials = Listed(
    Table({"material": line, "amount": Number(0, 1e6, above=0), "cost": money}, needed=("material", "amount")),
    what="list of materials",
)
key = Whole(KEYS[0], KEYS[-1])
measured = Listed(Row((key, Whole(0, 4), figure)), what="list of readings")

FACTS: dict[str, Kind] = {
    # the visit
    "title": line,
    "date": Day(FIRST_VISIT),
    "technician": line,
    "place": line,
    "story": text,
    "humidity": Number(0, 100, unit=later(" % relative humidity")),
    "temperature": Number(-40, 60, unit=" °C"),
    "finished_value": Table({"low": price, "likely": price, "high": price}, needed=("low", "likely", "high")),
    "minutes": Number(0, MOST_MINUTES),
    # the piano
    "piano.kind": OneOf(KINDS, "kind of piano"),
    "piano.size_mm": Number(500, 4000, unit=" mm"),
    "piano.maker": line,
    "piano.serial": line,
    "piano.finish": line,
    "piano.year": Whole(FIRST_YEAR, LAST_YEAR),
    "piano.year_is_about": Flag(),
    "piano.tier": line,
    "piano.features": Listed(line),
    "piano.renewed.": Whole(FIRST_YEAR, LAST_YEAR),
    # the client
    "client.name": line,
    "client.phone": line,
    "client.purpose": text,
    "client.wishes": text,
    "client.wants_to_play": Flag(usual=True),
    "client.to_have": money,
    "client.to_hear": money,
    "client.premium": money,  # of older visits, and so the wish: read and split in two, never written
    "client.budget": money,
    "client.playing_year": money,
    "client.horizon_years": HORIZON_YEARS,
    # what was found, shown and set by hand
    "finding.": finding,
    "photo.": Table({"check": line, "part": line, "caption": text}),
    "pin.": OneOf(LEVELS, "level"),
    "reason.": text,
    # what the client said at the table
    **{f"wish.{theme}": Whole(0, 3) for theme in ("family", "hearing", "playing", "cost", "room")},
    **{f"wish.{name}": Number(0, MOST_WORTH) for name in ("to_have", "to_hear", "premium")},
    **{f"wish.{question}": line for question in QUESTIONS},
    "wish.colour": text,
    "wish.left_original": Listed(line),
    "wish.questions": text,
    "wish.leaning": OneOf(WAYS, "way forward"),
    # the job
    "job.event.": event,
    "job.stage": line,
    "job.next": Table({"what": line, "day": day}, needed=("what", "day")),
    "job.followed.": Table({"day": day}),
    "job.done.": Table(
        {"hours": hours, "materials": materials, "day": day, "who": line, "note": text}, needed=("hours",)
    ),
    "job.finished.": Table({"day": day}),  # an operation that nothing more will be done on
    "job.agreement": agreement,
    "job.found.": Table({"answer": OneOf(IF_FOUND_ANSWERS, "answer"), "day": day}, needed=("answer", "day")),
    "job.change.": Table(
        {"what": line, "day": day, "price": figure, "hours": Number(-MOST_HOURS, MOST_HOURS)}, needed=("what", "day")
    ),
    "job.money.": Table(
        {"what": OneOf(MONEY_KINDS, "kind of money"), "amount": price, "day": day, "note": text},
        needed=("what", "amount", "day"),
    ),
    "job.return.": Table(
        {"day": day, "delivered": day, "cause": OneOf(RETURN_CAUSES, "cause"), "part": line}
        | {"hours": hours, "cost": money, "who": line, "note": text},
        needed=("day", "cause"),
    ),
    "job.promised": Table({"day": day, "share": Number(0, 1)}, needed=("day",)),
    "job.person": line,  # who alone works on it
    "job.fee": money,
    "job.truth.": truth,
    "job.original": Listed(line),
    "job.absent": Table(rest=Listed(key, what="list of keys")),
    "job.before.": measured,
    "job.after.": measured,
    "job.year.": measured,  # a year after the piano went home
    "job.source": line,
    "job.referred": Flag(),
}
"""Field, or its beginning where it ends with a point, -> what it may hold."""

SETTINGS: dict[str, Kind] = {
    "language": line,
    "units": OneOf(("metric", "imperial"), "system of measures"),
    **{
        f"shop.{name}": Words(LINE, lines=True)
        for name in (
            "name",
            "address",
            "contact",
            "town",
            "fee",
            "second_opinion",
            "terms",
            "warranty",
            "takers",
            "qualification",
        )
    },
    "shop.hours_a_month": Number(0, 1e5),
    "shop.people": Listed(
        Table(
            {
                "name": line,
                "hours_a_week": Number(0, 100),
                "cost_an_hour": money,
                "leave": Listed(Row((day, day)), what="list of leaves"),
            },
            needed=("name", "hours_a_week"),
        ),
        100,
        what="list of people",
    ),
}
"""Setting of the shop -> what it may hold."""

K = TypeVar("K", bound=Kind)

_BEGINNINGS = tuple(name for name in FACTS if name.endswith("."))


def fact_of(name: str) -> Kind:
    """Return what a field may hold; anything that can be shown where it isn't declared: a later version may have it."""
    if name in FACTS:
        return FACTS[name]
    return next((FACTS[beginning] for beginning in _BEGINNINGS if name.startswith(beginning)), anything)


def fact(name: str, kind: type[K], among: Mapping[str, Kind] = FACTS) -> K:
    """Return what a declared field may hold, which is of this kind."""
    declared = among[name]
    if not isinstance(declared, kind):
        raise TypeError(f"{name} is declared as {declared}, not as {kind.__name__}")
    return declared


def why_unfit(name: str, value: Any, entered: date) -> str:
    """Return why a field may not hold a value, empty if it may.

    Parameters
    ----------
    name : str
        Of the field, such as ``piano.year``.
    value : object
        As JSON; None, which stands for not known, always fits.
    entered : date
        On which day it was entered; days may lie only so far ahead of it, so what fitted once always fits.

    Examples
    --------
    >>> why_unfit("piano.year", 1912, date(2026, 5, 4))
    ''
    >>> why_unfit("job.next", {"what": "ask", "day": "9999-12-31"}, date(2026, 5, 4))
    "'day': 9999-12-31 lies more than 10 years ahead; write a day up to 2036-05-04"
    """
    return "" if value is None else fact_of(name).why_not(value, entered)


def setting_fault(name: str, value: Any) -> str:
    """Return why a setting may not hold a value, empty if it may."""
    return "" if value is None else SETTINGS.get(name, anything).why_not(value, date.max)
