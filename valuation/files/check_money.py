"""Across tables: sizes, tiers, eras, and prices that must be there on every day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise, product
from typing import Any, Protocol

from valuation.engine.rows import KINDS, STATES, BandRow, EraRow, SizeRow, TierRow
from valuation.engine.rows.row_keys import DATED
from valuation.errors import Problem, quoted
from valuation.facts.declared import FIRST_YEAR, LAST_YEAR  # no piano may fall out of the eras
from valuation.files.faults import Book, fault_at


class Priced(Book, Protocol):
    """Tables with what things cost and fetch; `rates`, `bands` and `replacements` are there by their names too."""

    @property
    def sizes(self) -> tuple[SizeRow, ...]:
        """Size classes."""

    @property
    def tiers(self) -> tuple[TierRow, ...]:
        """Tiers of reputation."""

    @property
    def eras(self) -> tuple[EraRow, ...]:
        """Eras of building."""

    @property
    def bands(self) -> tuple[BandRow, ...]:
        """What pianos fetch."""


def check_sizes(book: Priced) -> Iterator[Problem]:
    """The size classes of a kind follow one another without gap, and one of them is the usual one."""
    for kind in KINDS:
        rows = [(index, row) for index, row in enumerate(book.sizes) if row.kind == kind]
        for (_, smaller), (index, larger) in pairwise(rows):
            if larger.from_mm != smaller.to_mm:
                end, begin = f"{smaller.to_mm:g} mm", f"{larger.from_mm:g} mm"
                message = f"the class must begin at {end}, where {quoted(smaller.id)} ends, not at {begin}"
                yield fault_at(book, "sizes", index, "from_mm", message)
        usual = sum(row.usual for _, row in rows)
        if usual != 1:
            yield fault_at(
                book, "sizes", None, "usual", f"exactly one size of {kind}s must be usual; there are {usual}"
            )


def check_tiers(book: Priced) -> Iterator[Problem]:
    """Each tier has a rank of its own, and one of them is the usual one."""
    ranks: dict[int, str] = {}
    for index, row in enumerate(book.tiers):
        if row.rank in ranks:
            message = f"rank {row.rank} is that of {quoted(ranks[row.rank])} already; give each tier its own"
            yield fault_at(book, "tiers", index, "rank", message)
        ranks.setdefault(row.rank, row.id)
    usual = sum(row.usual for row in book.tiers)
    if usual != 1:
        yield fault_at(book, "tiers", None, "usual", f"exactly one tier must be usual; there are {usual}")


def check_eras(book: Priced) -> Iterator[Problem]:
    """The eras follow one another without gap, over every year in which a piano can have been built."""
    for index, (before, after) in enumerate(pairwise(book.eras), start=1):
        if after.from_year != before.to_year + 1:
            year = before.to_year + 1
            message = f"the era must begin in {year}, the year after {quoted(before.id)}, not in {after.from_year}"
            yield fault_at(book, "eras", index, "from_year", message)
    if not book.eras or book.eras[0].from_year > FIRST_YEAR or book.eras[-1].to_year < LAST_YEAR:
        message = f"the eras must reach from {FIRST_YEAR} or before to {LAST_YEAR} or after"
        yield fault_at(book, "eras", None, "from_year", message)


def check_prices_are_complete(book: Priced) -> Iterator[Problem]:
    """Each kind, size, tier and era has a band, each kind and tier a replacement."""
    tiers = [tier.id for tier in book.tiers]
    classes = [(size.kind, size.id) for size in book.sizes]
    wanted: dict[str, list[tuple[str, ...]]] = {
        "bands": [(*size, tier, era.id) for size, tier, era in product(classes, tiers, book.eras)],
        "replacements": list(product(KINDS, tiers)),
    }
    for table, keys in wanted.items():
        found = _rows_by_key(book, table)
        for key in keys:
            if key not in found:
                yield fault_at(book, table, None, DATED[table][0], f"there is no row for {', '.join(key)}; add it")
    kinds = {size.id: size.kind for size in book.sizes}
    for index, band in enumerate(book.bands):
        if kinds.get(band.size, band.kind) != band.kind:
            message = f"{quoted(band.size)} is a size of {kinds[band.size]}s, not of {band.kind}s"
            yield fault_at(book, "bands", index, "size", message)


def check_days(book: Priced) -> Iterator[Problem]:
    """From the first day of a table to its last, each of its rates or prices has exactly one row."""
    for table in DATED:
        by_key = _rows_by_key(book, table)
        if not by_key:
            continue
        first = min(row.valid_from for rows in by_key.values() for _, row in rows)
        last = max(_end(row) for rows in by_key.values() for _, row in rows)
        for key, rows in by_key.items():
            yield from _check_days_of_one(book, table, ", ".join(key), rows, first, last)


def check_tiers_rise(book: Priced) -> Iterator[Problem]:
    """At the same time a piano of higher reputation never fetches less."""
    ranks = {tier.id: tier.rank for tier in book.tiers}
    by_rest: dict[tuple, list[tuple[int, BandRow]]] = defaultdict(list)
    for index, band in enumerate(book.bands):
        if band.tier in ranks:
            by_rest[band.kind, band.size, band.era].append((index, band))
    for rows in by_rest.values():
        for (_, lower), (index, higher) in product(rows, rows):
            together = lower.valid_from <= _end(higher) and higher.valid_from <= _end(lower)
            if not together or ranks[higher.tier] <= ranks[lower.tier]:
                continue
            for state in STATES:
                price, least = getattr(higher, state), getattr(lower, state)
                if price < least:
                    message = f"{price:g} is less than the {least:g} of the lower tier {quoted(lower.tier)}; raise it"
                    yield fault_at(book, "bands", index, state, message)


def _check_days_of_one(
    book: Priced, table: str, key: str, rows: list[tuple[int, Any]], first: date, last: date
) -> Iterator[Problem]:
    if rows[0][1].valid_from > first:
        message = f"{key}: this begins on {rows[0][1].valid_from}, but the table on {first}; fill the days before"
        yield fault_at(book, table, rows[0][0], "valid_from", message)
    for (_, before), (index, after) in pairwise(rows):
        if after.valid_from <= _end(before):
            ends = f"ends on {before.valid_to}" if before.valid_to else "has no last day"
            message = f"{key}: two rows hold on {after.valid_from}, for the one before {ends}; end it the day before"
            yield fault_at(book, table, index, "valid_from", message)
        elif after.valid_from > _end(before) + timedelta(days=1):
            message = f"{key}: no row holds between {before.valid_to} and {after.valid_from}; close the gap"
            yield fault_at(book, table, index, "valid_from", message)
    index, latest = rows[-1]
    if _end(latest) < last:
        until = "stay valid" if last == date.max else f"run to {last}"
        message = f"{key}: this ends on {latest.valid_to}, but others {until}; add a row for the days after"
        yield fault_at(book, table, index, "valid_to", message)


def _rows_by_key(book: Priced, table: str) -> dict[tuple, list[tuple[int, Any]]]:
    by_key: dict[tuple, list[tuple[int, Any]]] = defaultdict(list)
    for index, row in enumerate(getattr(book, table)):
        by_key[tuple(getattr(row, name) for name in DATED[table])].append((index, row))
    for rows in by_key.values():
        rows.sort(key=lambda item: item[1].valid_from)
    return dict(by_key)


def _end(row: Any) -> date:
    return row.valid_to or date.max


PRICE_CHECKS = (check_sizes, check_tiers, check_eras, check_prices_are_complete, check_days, check_tiers_rise)
