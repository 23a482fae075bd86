"""What must hold of a sale once its cells are readable, and which sales look like the same piano told twice.

Each check is a function ``check(sale, rules)`` that yields (column, message) for every fault.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from valuation.engine.rows import Tables
from valuation.errors import quoted
from valuation.facts.columns import columns_of
from valuation.files.faults import did_you_mean
from valuation.sales.sale import Sale
from valuation.sales.settings import SalesSettings

Fault = tuple[str, str]

MOST_LETTERS = 1000
"""A longer text in a cell is a mistake."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What sales are checked against: the shop's tables and the day."""

    tables: Tables
    today: date


def _currency_is_the_shops(sale: Sale, rules: Rules) -> Iterator[Fault]:
    shops = rules.tables.settings.currency
    if sale.currency != shops:
        yield (
            "currency",
            f"{quoted(sale.currency)} is not the shop's money; write the price in {shops}, at that day's rate",
        )


def _tier_is_known(sale: Sale, rules: Rules) -> Iterator[Fault]:
    tiers = [row.id for row in rules.tables.tiers]
    if sale.tier not in tiers:
        yield "tier", f"{quoted(sale.tier)} is not in tiers.csv{did_you_mean(sale.tier, tiers)}"


def _day_has_come(sale: Sale, rules: Rules) -> Iterator[Fault]:
    if sale.sold_on > rules.today:
        yield "sold_on", f"{sale.sold_on} is still to come (today is {rules.today}); write the day of the sale"


def _built_before_it_was_sold(sale: Sale, _: Rules) -> Iterator[Fault]:
    if sale.year_built is not None and sale.year_built > sale.sold_on.year:
        yield "year_built", f"{sale.year_built} is after the sale in {sale.sold_on.year}; correct one of the two"


def _size_fits_the_kind(sale: Sale, rules: Rules) -> Iterator[Fault]:
    most = max((row.to_mm for row in rules.tables.sizes if row.kind == sale.kind), default=None)
    if sale.size_mm is not None and most is not None and sale.size_mm >= most:
        yield (
            "size_mm",
            f"{sale.size_mm:g} mm is too much for the kind {quoted(sale.kind)}; sizes.csv ends at {most:g} mm",
        )


def _restorer_only_if_restored(sale: Sale, _: Rules) -> Iterator[Fault]:
    if sale.restored == "no" and sale.restored_by:
        yield "restored_by", "it says by whom, but restored is 'no'; empty the cell, or write 'part' or 'full'"


def _texts_are_short(sale: Sale, _: Rules) -> Iterator[Fault]:
    for name in columns_of(Sale):
        text = getattr(sale, name)
        if isinstance(text, str) and len(text) > MOST_LETTERS:
            yield name, f"the text has {len(text):,} letters; {MOST_LETTERS:,} are the most"


SALE_CHECKS: tuple[Callable[[Sale, Rules], Iterator[Fault]], ...] = (
    _currency_is_the_shops,
    _tier_is_known,
    _day_has_come,
    _built_before_it_was_sold,
    _size_fits_the_kind,
    _restorer_only_if_restored,
    _texts_are_short,
)


def check_sale(sale: Sale, rules: Rules) -> Iterator[Fault]:
    """Yield (column, message) for every fault within one sale."""
    for check in SALE_CHECKS:
        yield from check(sale, rules)


def looks_the_same(one: Sale, other: Sale, settings: SalesSettings) -> bool:
    """Return whether two sales look like one piano told twice: alike in all that is known, near in day and price."""
    alike = all(getattr(one, name) == getattr(other, name) for name in ("kind", "tier", "restored", "state"))
    return (
        alike
        and _same_or_unknown(one.year_built, other.year_built, 0)
        and _same_or_unknown(one.size_mm, other.size_mm, settings.duplicate_mm)
        and (not one.finish or not other.finish or one.finish.casefold() == other.finish.casefold())
        and abs((one.sold_on - other.sold_on).days) <= settings.duplicate_days
        and abs(one.price - other.price) <= settings.duplicate_price * max(one.price, other.price)
    )


def pairs_alike(sales: Iterable[Sale], settings: SalesSettings) -> tuple[tuple[str, str], ...]:
    """Return the pairs of sales, by id, that look like one piano told twice, the earlier sale first."""
    found: list[tuple[str, str]] = []
    near: list[Sale] = []
    for sale in sorted(sales, key=lambda sale: sale.sold_on):
        near = [other for other in near if (sale.sold_on - other.sold_on).days <= settings.duplicate_days]
        found += ((other.id, sale.id) for other in near if looks_the_same(other, sale, settings))
        near.append(sale)
    return tuple(found)


def _same_or_unknown(one: float | None, other: float | None, within: float) -> bool:
    return one is None or other is None or abs(one - other) <= within
