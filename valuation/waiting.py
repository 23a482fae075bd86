"""How far something long has come, told to whoever waits for it."""

from __future__ import annotations

from collections.abc import Callable

Heard = Callable[[float], object]
"""Is told again and again how far it is, from 0 to 1."""


def nobody(share: float) -> None:
    """Hear nothing: nobody waits."""


def between(heard: Heard, low: float, high: float) -> Heard:
    """Return what hears a part that goes from `low` to `high` of the whole."""
    return lambda share: heard(low + (high - low) * share)
