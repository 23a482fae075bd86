"""What stands on a card of the board: whose piano it is, how to reach them, what they were told; and a lane's sum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from valuation.service.outcomes import Happened
from valuation.service.visits import Shop
from valuation.store import ledgers


@dataclass(frozen=True, slots=True, kw_only=True)
class CardFacts:
    """Facts of one card.

    Attributes
    ----------
    price : float or None
        What the client was told, tax included; None where nothing was.
    """

    client: str
    phone: str
    price: float | None


def card_facts(shop: Shop, found: Happened, visits: Sequence[str]) -> dict[str, CardFacts]:
    """Return the facts of some cards; not of those whose people may not be shown."""
    told = _told(found)
    with shop.store.reading() as connection:
        called = ledgers.clients(connection, visits)
    return {
        visit: CardFacts(client=who.client, phone=who.phone, price=told.get(visit)) for visit, who in called.items()
    }


def sums_by_stage(found: Happened) -> dict[str, float]:
    """Return what the clients of each stage were told, in all."""
    sums: dict[str, float] = {}
    for visit, price in _told(found).items():
        if visit in found.known.courses:
            stage = found.known.courses[visit].stage.id
            sums[stage] = sums.get(stage, 0.0) + price
    return sums


def _told(found: Happened) -> dict[str, float]:
    return {one.visit: one.price.likely for one in found.known.evaluations if one.price is not None}
