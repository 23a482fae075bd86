"""What can go wrong in the core when tables and visit are sound by themselves."""

from __future__ import annotations

from datetime import date


class NotInForce(LookupError):
    """The tables hold nothing for that day."""

    def __init__(self, what: str, on: date, first: date | None) -> None:
        since = f"; the first day in the tables is {first}" if first else "; the tables have no such row"
        super().__init__(f"no {what} is in force on {on}{since}")
