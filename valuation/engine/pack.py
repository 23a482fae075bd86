"""The pack of the shop's country: what its law and its trade say, as the tables have it.

In: the tables. Out: a `Pack`. It is orientation, never legal advice (`ORIENTATION`); who shows any of it says so.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from valuation.engine.rows.country import (
    MAKERS,
    MEMORY,
    TOPICS,
    CountryRow,
    LawRow,
    RetentionRow,
    TradeWordRow,
    ValueKindRow,
)
from valuation.engine.rows.tables import Tables
from valuation.language import Local, later, numeral, say

ORIENTATION = later(
    "This is orientation, never legal advice: laws change, and courts differ. Have somebody qualified in your country "
    "read it."
)

PURPOSES = (
    later("decision"),
    later("sale"),
    later("insurance"),
    later("tax"),
    later("estate"),
    later("donation"),
    later("division"),
    later("court"),
)
"""What a value may be wanted for."""

_UNPUBLISHED = re.compile("memory|practice")
"""What a source says of the part of a row that no publication holds."""

OWN_DECISION = ("decision", "sale")
"""Purposes for which an estimate of the shop's will do; all others need whoever certifies a value in the country."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """What holds in one country.

    Attributes
    ----------
    country : CountryRow
        Its money, paper and units, who certifies a value, and what no paper of a workshop may be called.
    laws : tuple of LawRow
        In the order of `TOPICS`.
    kinds : dict of str to ValueKindRow
        What a value is called there, by what it is for: ``market`` is that of a piano, ``replacement``, ``salvage``.
    retentions : dict of str to RetentionRow
        How long what is kept, by what it is.
    """

    country: CountryRow
    laws: tuple[LawRow, ...]
    kinds: dict[str, ValueKindRow]
    retentions: dict[str, RetentionRow]
    trade_words: tuple[TradeWordRow, ...]

    def on_paper(self, paper: str, features: Collection[str] = ()) -> tuple[LawRow, ...]:
        """Return the rows that stand on a paper about a piano with some features."""
        return tuple(row for row in self.laws if paper in row.papers and (not row.feature or row.feature in features))

    def about(self, topic: str) -> tuple[LawRow, ...]:
        """Return all rows of a topic."""
        return tuple(row for row in self.laws if row.topic == topic)

    @property
    def checked_on(self) -> date:
        """The day on which the row that was longest left alone was checked."""
        return min(row.checked_on for row in self._rows)

    @property
    def unread(self) -> int:
        """How many rows nobody qualified in the country has read."""
        return sum(row.checked_by == MAKERS for row in self._rows)

    @property
    def _rows(self) -> tuple[CountryRow | LawRow | ValueKindRow | RetentionRow, ...]:
        return (self.country, *self.laws, *self.kinds.values(), *self.retentions.values())


def pack_of(tables: Tables, country: str = "") -> Pack:
    """Return the pack of the shop's country, or of another one.

    Parameters
    ----------
    country : str
        Id of a row of countries.csv; that of the shop's settings if left out.
    """
    wanted = country or tables.settings.country
    topics = list(TOPICS)
    laws = sorted((row for row in tables.laws if wanted in row.countries), key=lambda row: topics.index(row.topic))
    # a country's own word goes before that of all
    kinds = [row for row in tables.value_kinds if not row.countries]
    kinds += [row for row in tables.value_kinds if wanted in row.countries]
    return Pack(
        country=next(row for row in tables.countries if row.id == wanted),
        laws=tuple(laws),
        kinds={row.role: row for row in kinds},
        retentions={row.what: row for row in tables.retentions if row.country == wanted},
        trade_words=tuple(row for row in tables.trade_words if row.country == wanted),
    )


def local(tables: Tables, language: str) -> Local:
    """Return how the shop's country says and writes what is told in a language; its own way where it is its language.

    Where nobody has said the country, nothing is written in the way of any.
    """
    pack = pack_of(tables)
    own = language == pack.country.language and said_country(tables)
    words = tuple((row.word, row.here) for row in pack.trade_words if row.language == language)
    return Local(words, pack.country.writes if own else "")


def barred(text: str, tables: Tables) -> tuple[str, ...]:
    """Return the words in a text that no paper of a workshop may bear in the shop's country."""
    found = text.casefold()
    return tuple(w for w in pack_of(tables).country.not_called if re.search(rf"\b{re.escape(w.casefold())}", found))


def said_country(tables: Tables) -> str:
    """Return the shop's country, empty where nobody has said which it is: the tool's own tables only invent it."""
    invented = {row.id for row in tables.sources if row.kind == "invented"}
    return "" if tables.setting_sources["country"] in invented else tables.settings.country


def over_a_border(tables: Tables, other: str, features: Collection[str]) -> tuple[tuple[CountryRow, LawRow], ...]:
    """Return what holds where a piano with some features goes from the shop's country to another one, on both sides.

    Parameters
    ----------
    other : str
        Id of the other country.
    features : collection of str
        Of the piano.

    Returns
    -------
    tuple of (CountryRow, LawRow)
        The shop's own side first.
    """
    packs = (pack_of(tables), pack_of(tables, other))
    return tuple(
        (pack.country, row)
        for pack in packs
        for row in (*pack.about("border"), *pack.about("species"))
        if not row.feature or row.feature in features
    )


def law_words(row: LawRow) -> str:
    """Return what a row of law says, with its figure, in the language spoken."""
    figure = "" if row.figure is None else numeral(f"{row.figure:,.10g}")
    return say(row.says, figure=figure)


def cited(row: LawRow) -> str:
    """Return what a row of law says, with where it stands as far as it is published."""
    published = [part for part in row.source.split("; ") if not _UNPUBLISHED.search(part)]
    if row.basis == MEMORY or not published:
        return law_words(row)
    return say("{text} ({source})", text=law_words(row), source="; ".join(published))


def not_for(purpose: str, tables: Tables) -> str:
    """Return what must be said of a value wanted for a purpose.

    Parameters
    ----------
    purpose : str
        One of `PURPOSES`.

    Returns
    -------
    str
        One or two sentences; empty where an estimate of the shop's will do.

    Raises
    ------
    ValueError
        If the purpose is not one of them.
    """
    if purpose not in PURPOSES:
        raise ValueError(f"'{purpose}' is not a purpose; write one of {', '.join(PURPOSES)}")
    if purpose in OWN_DECISION:
        return ""
    return say(
        "A value for {purpose} can't come from us. Ask for it: {appraiser}, without interest in the work. The figures "
        "here are an estimate by a workshop that offers the work, and may not be used for it.",
        purpose=say(purpose), appraiser=appraiser(tables),
    )  # fmt: skip


def appraiser(tables: Tables) -> str:
    """Return who may certify a value in the shop's country, in the language spoken."""
    return say(pack_of(tables).country.appraiser)
