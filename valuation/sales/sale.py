"""One comparable sale: its columns, described once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.engine.rows import KINDS, STATES
from valuation.facts.columns import column
from valuation.language import later

RESTORED = ("no", "part", "full")
SALE_KINDS = ("auction", "private", "dealer")
PRICE_KINDS = ("asked", "achieved")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """What one piano fetched, or was offered for: a row of the file of comparable sales.

    Size and year may be unknown; the model then takes the usual ones and says so. Who restored it, the finish, the
    source and the note are shown beside the sale and don't enter the model.
    """

    id: str = column(later("short name of the sale, used wherever it is shown"))
    sold_on: date = column(later("day of the sale, or of the offer"))
    price: float = column(
        later("price as paid or asked on that day, tax included"), unit="money", above=0, high=10_000_000
    )
    currency: str = column(later("ISO 4217 code of the price's money; must be the shop's"))
    kind: str = column(later("upright or grand"), choices=KINDS)
    size_mm: float | None = column(
        later("height of an upright, length of a grand; empty if not known"),
        unit="mm",
        low=600,
        high=3500,
        default=None,
    )
    year_built: int | None = column(later("year built; empty if not known"), low=1700, high=2100, default=None)
    tier: str = column(later("tier of reputation"), refers_to="tiers")
    state: str = column(later("state of the whole piano on that day"), choices=STATES)
    restored: str = column(later("whether it had been restored before the sale"), choices=RESTORED)
    restored_by: str = column(later("by whom, where it was restored; empty if not known"), default="")
    sale_kind: str = column(later("how it was sold"), choices=SALE_KINDS)
    price_kind: str = column(later("a price asked, or one achieved"), choices=PRICE_KINDS)
    finish: str = column(later("wood or colour; empty if not known"), default="")
    source: str = column(later("where the sale is known from: the shop's ledger, a catalogue, a colleague"))
    note: str = column(later("anything the next person should know"), default="")
