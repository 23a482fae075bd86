"""A year of a workshop of three, put into a store: evaluations, agreements, hours, money, returns. All invented."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import numpy as np

from valuation.engine.rows import Tables
from valuation.jobs.recorded_job import done_value, event_value
from valuation.service.visits import Shop

LAST = date(2026, 12, 1)
PEOPLE = {"Ada": 68.0, "Jo": 74.0, "Mel": 76.0}
SOURCES = ("a teacher", "found us", "another client")
TAX = 0.19
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
            "date": on.isoformat(),
            "minutes": float(rng.integers(40, 120)),
            "job.source": str(rng.choice(SOURCES)),
            "job.event.a": event_value("visited", on),
        }
        if rng.random() < 0.7:
            facts["job.fee"] = 90.0
        if rng.random() < 0.55:
            facts |= _job(rng, rows, on + timedelta(days=10))
        shop.start_visit(facts, who="Ada", device="desk", now=datetime(2026, 12, 1, 8, tzinfo=UTC))


def _job(rng: np.random.Generator, rows: list[str], on: date) -> dict[str, Any]:
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
        "job.event.b": event_value("accepted", on),
    }  # fmt: skip
    for name in other:
        answer = str(rng.choice(["yes", "no", "not_needed"], p=[0.25, 0.05, 0.7]))
        facts[f"job.found.{name}"] = {"answer": answer, "day": (on + timedelta(days=9)).isoformat()}
    end = on + timedelta(days=int(rng.integers(20, 90)))
    if end > LAST:
        return facts
    for name, h in likely.items():
        hours = h * math.exp(SPREAD * rng.standard_normal())
        for place, (who, share) in enumerate(zip(rng.permutation(list(PEOPLE)), (0.7, 0.3), strict=False)):
            facts[f"job.done.{name}.{place}"] = done_value(round(hours * share, 2), day=end, who=str(who))
    facts["job.done.tune.x"] = done_value(2.0, day=end, who="Mel")
    if rng.random() < 0.5:
        used = {"material": "wood_glue", "amount": 1.0, "cost": float(rng.uniform(100, 900))}
        facts[f"job.done.{plan[0]}.m"] = {"hours": 0.0, "materials": [used], "day": end.isoformat(), "who": "Ada"}
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
    return facts | {"job.event.c": event_value("delivered", end)}
