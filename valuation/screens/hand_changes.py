"""Why a person set the level of a part by hand: asked for at each change, kept with the draft, shown where it counts.

A reason is a field ``reason.PART`` with a text, as a store of visits keeps any field.
"""

from __future__ import annotations

from valuation.screens.state import Draft, fill, held


def reason_for(draft: Draft, part: str) -> str:
    """Return why the level of a part was set by hand; empty where nobody has said."""
    return _reasons(draft).get(part, "")


def give_reason(draft: Draft, part: str, reason: str) -> None:
    """Keep why the level of a part was set by hand."""
    fill(_key(draft), _reasons(draft) | {part: " ".join(reason.split())})


def by_hand(draft: Draft) -> dict[str, tuple[str, str]]:
    """Return each part whose level was set by hand, with the level and the reason."""
    return {part: (level.word, reason_for(draft, part)) for part, level in draft.pinned.items()}


def _reasons(draft: Draft) -> dict[str, str]:
    return held(_key(draft)) or {}


def _key(draft: Draft) -> str:
    return draft.key("reasons")
