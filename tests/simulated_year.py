"""A year of a workshop of three, put into a store: evaluations, agreements, hours, money, returns. All invented."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import uuid4

import numpy as np

from valuation.engine.rows import Tables
from valuation.jobs.recorded_job import done_value, event_value
from valuation.service.visits import Shop

LAST = date(2026, 12, 1)
PEOPLE = {"Ada": 68.0, "Jo": 74.0, "Mel": 76.0}
HOURS_A_WEEK = 30.0
SOURCES = ("a teacher", "found us", "another client")
REASONS = ("no_money", "bought_another", "too_long")
TAX = 0.19
BAND = {"low": 0.8, "likely": 1.0, "high": 1.25}
WITHIN = math.log(1.25) / 1.2815515655446004
"""Spread of what comes about what was told, by which 8 of 10 lie in the band."""

SPREAD = math.log(1.5**2) / (2 * 1.2815515655446004)
"""Of the logarithm, where low and high lie a half under and over: all jobs of this year."""


def fill_year(shop: Shop, tables: Tables, *, seed: int, visits: int = 90) -> None:
    """Enter a year of evaluations, of which about half become jobs; the shop estimates without fault."""
    rng = np.random.default_rng(seed)
    rows = [row.id for row in tables.of_kind("operations", "grand").values() if row.hours_likely > 1]
    for i in range(visits):
        on = LAST - timedelta(days=int(rng.integers(1, 500)))
        facts: dict[str, Any] = {
            "piano.kind": "grand",
            "title": f"Invented grand {i}",
            "client.name": f"Client {i} (invented)",
            "client.phone": f"0123 {i}",
            "date": on.isoformat(),
            "minutes": float(rng.integers(40, 120)),
            "job.source": str(rng.choice(SOURCES)),
            "job.event.a": event_value("visited", on),
        }
        if rng.random() < 0.7:
            facts["job.fee"] = 90.0
        told = on + timedelta(days=int(rng.integers(1, 6)))
        job = _job(rng, rows, on + timedelta(days=10)) if rng.random() < 0.55 else {}
        if told <= LAST:
            facts["job.event.told"] = event_value("evaluated", told, told=_told(rng, told, job))
        if not job and rng.random() < 0.6:
            said_no = told + timedelta(days=int(rng.integers(2, 90)))
            if said_no <= LAST:
                facts["job.event.no"] = event_value("declined", said_no, reason=str(rng.choice(REASONS)))
        shop.start_visit(facts | job, who="Ada", device="desk", now=datetime.combine(LAST, time(8), UTC))


def _told(rng: np.random.Generator, on: date, job: dict[str, Any]) -> dict[str, Any]:
    """Return what a client was told: bands that hold in 8 of 10, where it became a job of that way in 3 of 4."""
    price, hours = float(rng.uniform(2000, 12000)), float(rng.uniform(20, 90))
    if agreed := job.get("job.agreement"):
        found = sum(r["price"] for r in agreed["if_found"] if job[f"job.found.{r['key']}"]["answer"] == "yes")
        price = (agreed["price"] + found) * math.exp(WITHIN * rng.standard_normal())
        worked = sum(value["hours"] for name, value in job.items() if name.startswith("job.done."))
        hours = worked * math.exp(WITHIN * rng.standard_normal())
    ways = ["rebuild"] * 3 + ["partial_repair"] if job else ["rebuild", "partial_repair", "keep"]
    return {
        "on": on.isoformat(),
        "verdict": str(rng.choice(ways)),
        "technician": str(rng.choice(["Ada", "Jo"])),
        "premium": 0.0,
        "value_after": float(rng.uniform(2000, 20000)),
        **{f"price_{end}": round(price * by, 2) for end, by in BAND.items()},
        **{f"hours_{end}": round(hours * by, 2) for end, by in BAND.items()},
    }


def _job(rng: np.random.Generator, rows: list[str], on: date) -> dict[str, Any]:
    if on > LAST:
        return {}
    plan = [str(name) for name in rng.choice(rows, 6, replace=False)]
    likely = {name: float(rng.uniform(3, 20)) for name in plan}
    over = math.exp(SPREAD**2 / 2)
    rate = float(rng.choice([68, 72, 76]))
    lines = [
        {"operation": name, "hours": h * over, "labour": h * over * rate, "materials": float(rng.uniform(20, 200)),
         "outside": 0.0}
        for name, h in likely.items()
    ]  # fmt: skip
    quoted = sum(row["labour"] + row["materials"] for row in lines) * (1 + TAX)
    other = [str(name) for name in rng.choice([r for r in rows if r not in plan], 3, replace=False)]
    facts: dict[str, Any] = {
        "job.agreement": {
            "day": on.isoformat(), "option": "rebuild", "price": round(quoted * rng.uniform(0.85, 1), 2),
            "quoted": round(quoted, 2), "tax": TAX, "lines": lines,
            "operations": [[name, h / 1.5, h, h * 1.5] for name, h in likely.items()],
            "if_found": [{"key": name, "operation": name, "chance": 0.3, "price": float(rng.uniform(200, 900))}
                         for name in other],
        },
        "job.event.yes": event_value("accepted", on),
    }  # fmt: skip
    for name in other:
        answer = str(rng.choice(["yes", "no", "not_needed"], p=[0.25, 0.05, 0.7]))
        answered = min(on + timedelta(days=9), LAST)
        facts[f"job.found.{name}"] = {"answer": answer, "day": answered.isoformat()}
    end = on + timedelta(days=int(rng.integers(20, 90)))
    if rng.random() < 0.7:
        facts["job.promised"] = {"day": (end + timedelta(days=int(rng.integers(-2, 18)))).isoformat()}
    return facts | (_finished(rng, likely, end) if end <= LAST else _in_hand(rng, likely, on))


def _in_hand(rng: np.random.Generator, likely: dict[str, float], on: date) -> dict[str, Any]:
    """Return what is booked on a job in hand, some of it far beyond what was expected, and the day promised."""
    facts: dict[str, Any] = {"job.promised": {"day": (LAST + timedelta(days=int(rng.integers(5, 80)))).isoformat()}}
    for name, h in list(likely.items())[:3]:
        facts[f"job.done.{name}.x"] = done_value(round(h * rng.uniform(0.3, 1.6), 2), day=LAST, who="Mel")
    if on + timedelta(days=12) <= LAST:
        facts["job.event.w"] = event_value("in_workshop", on + timedelta(days=12))
    return facts


def _finished(rng: np.random.Generator, likely: dict[str, float], end: date) -> dict[str, Any]:
    facts: dict[str, Any] = {}
    for name, h in likely.items():
        hours = h * math.exp(SPREAD * rng.standard_normal())
        for place, (who, share) in enumerate(zip(rng.permutation(list(PEOPLE)), (0.7, 0.3), strict=False)):
            facts[f"job.done.{name}.{place}"] = done_value(round(hours * share, 2), day=end, who=str(who))
    facts["job.done.tune.x"] = done_value(2.0, day=end, who="Mel")
    if rng.random() < 0.5:
        used = {"material": "wood_glue", "amount": 1.0, "cost": float(rng.uniform(100, 900))}
        facts[f"job.done.{next(iter(likely))}.m"] = {
            "hours": 0.0, "materials": [used], "day": end.isoformat(), "who": "Ada"
        }  # fmt: skip
    if rng.random() < 0.3:
        change = {"what": "casters", "day": end.isoformat(), "price": float(rng.uniform(-300, 500))}
        facts[f"job.change.{uuid4().hex[:8]}"] = change
    if rng.random() < 0.3:
        bought = {"what": "bought_in", "amount": float(rng.uniform(100, 400)), "day": end.isoformat()}
        facts[f"job.money.{uuid4().hex[:8]}"] = bought
    if rng.random() < 0.3 and end + timedelta(days=60) <= LAST:
        facts[f"job.return.{uuid4().hex[:8]}"] = {
            "day": (end + timedelta(days=60)).isoformat(), "delivered": end.isoformat(),
            "cause": str(rng.choice(["work", "climate"])), "hours": 1.5, "cost": 40.0, "who": "Jo",
        }  # fmt: skip
    return facts | {"job.event.z": event_value("delivered", end)}
