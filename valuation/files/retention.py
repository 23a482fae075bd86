"""How long what about a person is kept, by country: ``retention.csv`` beside this module.

General orientation, never legal advice: laws change, and courts differ. Somebody qualified in the country reads the
rows before a shop relies on them. Each was taken from the law that it names, in the month that it names; years count
from the end of the year.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

COUNTRIES = ("de", "at", "ch", "uk", "us")
INVOICE, ORDER, EVALUATION = "invoice", "order", "evaluation"
BASES = ("law", "suggestion")


@dataclass(frozen=True, slots=True, kw_only=True)
class Retention:
    """One row.

    Attributes
    ----------
    country : str
        One of `COUNTRIES`.
    what : str
        `INVOICE`, `ORDER` (a quotation that became a job), or `EVALUATION` (that never did).
    years : int
        From the end of the year of the last step [a].
    law : str
        Where it says so, as it is cited in the country; empty where no law speaks of it.
    basis : str
        ``law`` demands it; or it is a ``suggestion``, for law only says that it be no longer than needed.
    checked : str
        Year and month.
    note : str
        For whoever looks it up again.
    """

    country: str
    what: str
    years: int
    law: str
    basis: str
    checked: str
    note: str


@cache
def retentions() -> tuple[Retention, ...]:
    """Return all rows."""
    with Path(__file__).with_suffix(".csv").open(encoding="utf-8", newline="") as file:
        return tuple(Retention(**row | {"years": int(row["years"])}) for row in csv.DictReader(file))


def retention(country: str, what: str) -> Retention:
    """Return the row of a country."""
    return next(row for row in retentions() if (row.country, row.what) == (country, what))
