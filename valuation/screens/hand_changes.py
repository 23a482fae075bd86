"""Why a person set the level of a part by hand: asked for at each change, stored with the visit, shown where it counts.

A reason is a field ``reason.PART`` with a text.
"""

from __future__ import annotations

from valuation.screens.state import Draft


def reason_for(draft: Draft, part: str) -> str:
    """Return why the level of a part was set by hand; empty where nobody has said."""
    return str(draft.stored(f"reason.{part}") or "")


def give_reason(draft: Draft, part: str, reason: str) -> None:
    """Store why the level of a part was set by hand."""
    draft.keep(f"reason.{part}", " ".join(reason.split()) or None)


def by_hand(draft: Draft) -> dict[str, tuple[str, str]]:
    """Return each part whose level was set by hand, with the level and the reason."""
    return {part: (level, reason_for(draft, part)) for part, level in draft.set_levels.items()}
