"""What the client says at the table, kept with the draft: the one place where a wish is read and written.

A wish is a field ``wish.NAME`` with a JSON value, as a store of visits keeps any field; see `valuation.report.wishes`.
"""

from __future__ import annotations

from typing import Any

from valuation.report.wishes import Wishes, from_json, to_json, visit_with, with_wish
from valuation.screens.state import Draft, fill, held


def wishes_of(draft: Draft) -> Wishes:
    """Return what the client has said so far."""
    return from_json(held(_key(draft)) or {})


def wish(draft: Draft, name: str, value: Any) -> None:
    """Keep one thing that the client has said; None takes it back. The premium goes into the visit: all pages follow.

    Parameters
    ----------
    name : str
        A field of `Wishes`.
    value
        Its JSON value.
    """
    wishes = with_wish(wishes_of(draft), name, value)
    fill(_key(draft), to_json(wishes))
    visit = visit_with(draft.visit, wishes)
    if visit is not draft.visit:
        draft.visit, draft.changed = visit, True


def _key(draft: Draft) -> str:
    return draft.key("wishes")
