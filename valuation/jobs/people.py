"""Who works at the bench: hours a week, what an hour costs the shop, and leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """One person at the bench.

    Attributes
    ----------
    hours_a_week : float
        At the bench, Monday to Friday [h].
    cost_an_hour : float or None
        What an hour costs the shop; None where nobody said.
    leave : tuple of (date, date)
        First and last day of each leave.
    """

    name: str
    hours_a_week: float
    cost_an_hour: float | None = None
    leave: tuple[tuple[date, date], ...] = ()

    def hours_on(self, day: date) -> float:
        """Return the hours at the bench on a day [h].

        Examples
        --------
        >>> one = Person(name="Jo", hours_a_week=30, leave=((date(2026, 5, 4), date(2026, 5, 5)),))
        >>> one.hours_on(date(2026, 5, 4)), one.hours_on(date(2026, 5, 6)), one.hours_on(date(2026, 5, 9))
        (0.0, 6.0, 0.0)
        """
        away = any(first <= day <= last for first, last in self.leave)
        return 0.0 if away or day.weekday() > 4 else self.hours_a_week / 5


def read_people(value: Any) -> tuple[Person, ...]:
    """Return the people of the setting, as it was checked when it was kept; nobody where it was never set."""
    return tuple(
        Person(
            name=row["name"],
            hours_a_week=float(row["hours_a_week"]),
            cost_an_hour=None if row.get("cost_an_hour") is None else float(row["cost_an_hour"]),
            leave=tuple((date.fromisoformat(a), date.fromisoformat(b)) for a, b in row.get("leave") or ()),
        )
        for row in value or ()
    )


def people_value(people: Sequence[Person]) -> list[dict[str, Any]]:
    """Return people as the setting keeps them."""
    return [
        {"name": one.name, "hours_a_week": one.hours_a_week}
        | ({} if one.cost_an_hour is None else {"cost_an_hour": one.cost_an_hour})
        | {"leave": [[first.isoformat(), last.isoformat()] for first, last in one.leave]}
        for one in people
    ]
