"""What pianos fetch, by size, reputation, era and condition, and what stands in for one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.engine.rows import words
from valuation.engine.rows.words import KINDS
from valuation.facts.columns import column


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRow:
    """A size class, from the height of an upright or the length of a grand."""

    id: str = column("size class")
    kind: str = column("upright or grand", choices=KINDS)
    from_mm: float = column("from this height or length, inclusive", unit="mm", low=0)
    to_mm: float = column("to this height or length, exclusive", unit="mm", above=0)
    name: str = column("name shown to people")
    usual: bool = column("assumed, and said so, where the size is not known (one for each kind)")
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class TierRow:
    """A tier of reputation. Makers are never named in the tables."""

    id: str = column("tier")
    name: str = column("name shown to people")
    rank: int = column("1 is the lowest reputation", low=1)
    usual: bool = column("assumed, and said so, where the reputation is not known (one tier)")
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class EraRow:
    """An era of building."""

    id: str = column("era")
    from_year: int = column("first year, inclusive")
    to_year: int = column("last year, inclusive")
    name: str = column("name shown to people")
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class BandRow:
    """What pianos of one sort fetch, by the state in which all their parts are."""

    kind: str = column("upright or grand", choices=KINDS)
    size: str = column("size class", refers_to="sizes")
    tier: str = column("tier of reputation", refers_to="tiers")
    era: str = column("era of building", refers_to="eras")
    failed: float = column("likely price with every part failed", unit="money", above=0)
    worn: float = column("the same, every part worn", unit="money", above=0)
    serviceable: float = column("the same, every part serviceable", unit="money", above=0)
    sound: float = column("the same, every part sound", unit="money", above=0)
    spread: float = column("8 in 10 prices lie between likely/spread and likely*spread", low=1, high=5)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacementRow:
    """The honest alternative: a sound instrument of like use, delivered and tuned."""

    kind: str = column("upright or grand", choices=KINDS)
    tier: str = column("tier of reputation", refers_to="tiers")
    name: str = column("what it would be")
    price_low: float = column("1 in 10 costs less", unit="money", above=0)
    price_likely: float = column("as often more as less", unit="money", above=0)
    price_high: float = column("1 in 10 costs more", unit="money", above=0)
    years: float = column("median years of good service", unit="years", above=0)
    plays: float = column("how well it plays, 1 is as well as a good piano can", above=0, high=1)
    haul_away: float = column("cost of having the old piano taken away and disposed of", unit="money", low=0)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = words.source()
    note: str = words.note()
