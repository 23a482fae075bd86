"""What the client says at the table, kept with the visit: the one place where a wish is read and written.

A wish is a field ``wish.NAME`` with a JSON value, as the store keeps any field; see `valuation.report.wishes`.
"""

from __future__ import annotations

from typing import Any

from valuation.report.wishes import FIELD, WORTHS, Wishes, to_json, visit_with, wishes_in, with_wish
from valuation.screens.state import Draft


def wishes_of(draft: Draft) -> Wishes:
    """Return what the client has said so far, as far as this version knows what it means."""
    return wishes_in({name: entry.value for name, entry in draft.recorded.counted.items()})


def wish(draft: Draft, name: str, value: Any) -> None:
    """Store one thing that the client has said; None takes it back. What it is worth goes into the visit.

    Parameters
    ----------
    name : str
        A field of `Wishes`.
    value
        Its JSON value.
    """
    wishes = with_wish(wishes_of(draft), name, value)
    draft.keep(FIELD + name, to_json(wishes).get(name))
    visit = visit_with(draft.visit, wishes)
    for worth in WORTHS:
        if getattr(visit.client, worth) != getattr(draft.visit.client, worth):
            draft.keep(f"client.{worth}", getattr(visit.client, worth) or None)
