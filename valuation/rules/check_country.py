"""Across tables: a country's pack is whole, and the shop's money, tax and country go together."""

from __future__ import annotations

import re
from collections.abc import Iterator

from valuation.engine.rows.country import KEPT, LAW_CITED, LAW_SEEN
from valuation.engine.rows.tables import Tables
from valuation.errors import Problem, quoted
from valuation.language import LANGUAGES
from valuation.rules.places import problem_at, problem_in_setting

_NEEDED = ("market", "replacement", "salvage")
"""Kinds of value that every evaluation states."""

_NO_PUBLICATION = ("common practice", "from memory")
_FIGURE = "{figure}"
_PACK_TABLES = ("countries", "taxes", "laws", "value_kinds", "retentions", "trade_words")


def check_countries(book: Tables) -> Iterator[Problem]:
    """Each country has money as a code, a language that there is, kinds of value, and years for all that is kept."""
    for index, row in enumerate(book.countries):
        if not re.fullmatch(r"[A-Z]{3}", row.currency):
            message = f"{quoted(row.currency)} is not a currency code; write three capital letters, such as 'EUR'"
            yield problem_at(book, "countries", index, "currency", message)
        if row.language not in LANGUAGES:
            message = f"{quoted(row.language)} is no language of this tool; write one of {', '.join(LANGUAGES)}"
            yield problem_at(book, "countries", index, "language", message)
        if not re.fullmatch(r"[A-Z]{2}", row.writes):
            message = f"{quoted(row.writes)} is no code of a country; write two capital letters, such as 'GB'"
            yield problem_at(book, "countries", index, "writes", message)
        for role in _NEEDED:
            there = [kind for kind in book.value_kinds if kind.role == role and _holds_in(row.id, kind.countries)]
            own = [kind for kind in there if kind.countries]
            if not there or len(own) > 1 or len(there) - len(own) > 1:
                told = "none" if not there else f"more than one: {', '.join(kind.id for kind in there)}"
                message = f"{quoted(row.id)} must have one kind of value for {quoted(role)}; there is {told}"
                yield problem_at(book, "value_kinds", None, "role", message)
        kept = [retention.what for retention in book.retentions if retention.country == row.id]
        for what in KEPT:
            if what not in kept:
                message = f"nothing says how long {quoted(row.id)} keeps {quoted(what)}; add a row"
                yield problem_at(book, "retentions", None, "what", message)


def _holds_in(country: str, countries: tuple[str, ...]) -> bool:
    return not countries or country in countries


def check_laws(book: Tables) -> Iterator[Problem]:
    """A row of law has its figure where its sentence has a place for it; a tax that no paper shows is none."""
    for index, row in enumerate(book.laws):
        if (_FIGURE in row.says) != (row.figure is not None):
            message = f"the sentence has {_FIGURE} just where there is a figure; add or remove one of the two"
            yield problem_at(book, "laws", index, "figure", message)
        if re.search(r"[{}]", row.says.replace(_FIGURE, "")):
            yield problem_at(
                book, "laws", index, "says", f"only {_FIGURE} may stand in braces; write the rest as it is"
            )
    for index, tax in enumerate(book.taxes):
        if not tax.shown and any((tax.labour, tax.material, tax.outside, tax.resale)):
            message = "a paper without a line of tax can't have tax in it; write 0 for each, or yes"
            yield problem_at(book, "taxes", index, "shown", message)


def check_where_it_stands(book: Tables) -> Iterator[Problem]:
    """What rests on a law names it, and what rests on none doesn't claim to."""
    for table in _PACK_TABLES:
        for index, row in enumerate(getattr(book, table)):
            if row.basis in (LAW_SEEN, LAW_CITED) and row.source in _NO_PUBLICATION:
                message = f"{quoted(row.source)} is no law; name it, or write 'memory' as the basis"
                yield problem_at(book, table, index, "source", message)
    for index, kind in enumerate(book.value_kinds):
        if kind.quoted and kind.source in _NO_PUBLICATION:
            message = "a definition that is quoted word for word names where it is published"
            yield problem_at(book, "value_kinds", index, "quoted", message)
    for index, word in enumerate(book.trade_words):
        if word.language not in LANGUAGES:
            message = f"{quoted(word.language)} is no language of this tool; write one of {', '.join(LANGUAGES)}"
            yield problem_at(book, "trade_words", index, "language", message)


def check_shop_and_country(book: Tables) -> Iterator[Problem]:
    """The way in which the shop is taxed is one of its country."""
    taxes = {row.id: row.country for row in book.taxes}
    country = taxes.get(book.settings.tax, book.settings.country)
    if country != book.settings.country:
        ways = ", ".join(dict.fromkeys(name for name, of in taxes.items() if of == book.settings.country)) or "none yet"
        message = f"{quoted(book.settings.tax)} is of {quoted(country)}, the shop's country is "
        message += f"{quoted(book.settings.country)}; write one of: {ways}"
        yield problem_in_setting(book, "tax", "value", message)


COUNTRY_CHECKS = (check_countries, check_laws, check_where_it_stands, check_shop_and_country)
