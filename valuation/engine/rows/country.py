"""A country's pack as rows: money, paper, tax, kinds of value, what its law says, how long things are kept, its words.

All of it is orientation, never legal advice: laws change, and courts differ. Each row says where it comes from, how
sure that is, on which day it was checked and by whom, so that somebody qualified in the country can go through them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from valuation.engine.rows import words
from valuation.facts.columns import column
from valuation.language import later

MAKERS = "the makers of this tool"
"""Stands under `checked_by` until somebody qualified in the country has read the row."""

LAW_SEEN, LAW_CITED, MEMORY = "law seen", "law cited", "memory"
"""The text was read for this row; the text is named; nobody looked it up."""

BASES = (LAW_SEEN, LAW_CITED, MEMORY)

TOPICS = {
    "offer": later("Offers"),
    "cancelling": later("Withdrawing from a contract"),
    "warranty": later("Faults of the work, and of a piano sold"),
    "tax": later("Tax"),
    "value": later("Words for a value, and who certifies one"),
    "species": later("Protected materials: selling and giving"),
    "border": later("Taking a piano over a border"),
    "trade": later("Who may do the work"),
    "hazards": later("Hazards at work"),
    "disposal": later("Disposal"),
    "data": later("Data about people"),
}
"""What a row of law is about, in the order in which it is told."""

PAPERS = ("evaluation", "quotation", "letter", "certificate")
"""Papers on which a row of law may stand."""

ROLES = ("market", "estate", "replacement", "insurance", "dealer", "trade", "salvage")
"""What a kind of value is for."""

INVOICE, ORDER, EVALUATION = "invoice", "order", "evaluation"
KEPT = (INVOICE, ORDER, EVALUATION)
"""What is kept: an invoice; a quotation that became a job, with its letters; an evaluation that never did."""

LINES = ("labour", "material", "outside", "resale")
"""Kinds of line that tax tells apart: hours, materials, work bought in, and a piano that is sold again."""


def _source() -> Any:
    return column("where it is published, as it is cited in the country; else 'common practice' or 'from memory'")


def _basis() -> Any:
    return column("how sure that is: the text was read, it is only named, or nobody looked it up", choices=BASES)


def _checked_on() -> Any:
    return column("day on which the row was last checked")


def _checked_by() -> Any:
    return column("who checked it; 'the makers of this tool' until somebody qualified in the country has")


@dataclass(frozen=True, slots=True, kw_only=True)
class CountryRow:
    """A country, and how its shops write money, days and measures."""

    id: str = column("country")
    name: str = column("name shown to people")
    currency: str = column("ISO 4217 code of its money")
    language: str = column("language to begin with")
    writes: str = column("ISO 3166 code by which numbers and days are written")
    paper: str = column("size of paper", choices=("a4", "letter"))
    units: str = column("units to begin with", choices=("metric", "imperial"))
    appraiser: str = column("who may certify a value there")
    not_called: tuple[str, ...] = column("words that no paper of a workshop may bear there", default=())
    source: str = _source()
    basis: str = _basis()
    checked_on: date = _checked_on()
    checked_by: str = _checked_by()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxRow:
    """How a shop is taxed at a place, by kind of line, and from when to when."""

    id: str = column("way of being taxed")
    country: str = column("country", refers_to="countries")
    name: str = column("name shown to people: which shops, and where")
    word: str = column("what the tax is called on a paper")
    labour: float = column("tax on hours", unit="share", low=0, high=0.5)
    material: float = column("tax on materials", unit="share", low=0, high=0.5)
    outside: float = column("tax on work that is bought in", unit="share", low=0, high=0.5)
    resale: float = column("tax on a piano that is sold", unit="share", low=0, high=0.5)
    shown: bool = column("papers have a line of tax; without one, none may stand there")
    says: str = column("sentence that must stand on a paper", default="")
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = _source()
    basis: str = _basis()
    checked_on: date = _checked_on()
    checked_by: str = _checked_by()
    note: str = words.note()

    def on(self, labour: float, material: float, outside: float) -> float:
        """Return the tax on amounts of a quote [money]."""
        return self.labour * labour + self.material * material + self.outside * outside

    def gross(self, labour: float, material: float, outside: float) -> float:
        """Return what amounts of a quote come to with tax [money]."""
        return labour + material + outside + self.on(labour, material, outside)


@dataclass(frozen=True, slots=True, kw_only=True)
class LawRow:
    """One thing that the law of a country asks or allows, in one or two sentences."""

    id: str = column("name of the row")
    countries: tuple[str, ...] = column("where it holds", refers_to="countries")
    topic: str = column("what it is about", choices=tuple(TOPICS))
    papers: tuple[str, ...] = column("papers on which it stands; empty: only the shop reads it", default=())
    feature: str = column("only for pianos with this feature", refers_to="features", default="")
    says: str = column("what is said; '{figure}' stands for the figure")
    figure: float | None = column("the figure in it", default=None, low=0)
    unit: str = column(
        "what the figure counts", choices=("days", "business days", "months", "years", "%", "money"), default=""
    )
    source: str = _source()
    basis: str = _basis()
    checked_on: date = _checked_on()
    checked_by: str = _checked_by()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueKindRow:
    """A kind of value: what the word means, in whose words, and in which market."""

    id: str = column("kind of value")
    countries: tuple[str, ...] = column("where it is spoken of; empty: anywhere", refers_to="countries", default=())
    role: str = column("what it is for", choices=ROLES)
    name: str = column("name shown to people")
    definition: str = column("what it means")
    quoted: bool = column("the definition stands word for word in its source")
    market: str = column("the market in which it is formed")
    used_for: str = column("what it is used for")
    source: str = _source()
    basis: str = _basis()
    checked_on: date = _checked_on()
    checked_by: str = _checked_by()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class RetentionRow:
    """How long what about a person is kept, from the end of the year of its last step."""

    country: str = column("country", refers_to="countries")
    what: str = column("what is kept", choices=KEPT)
    years: int = column("for how long", unit="years", low=0, high=30)
    demanded: bool = column("law demands it; else law only says no longer than needed, and this is a suggestion")
    source: str = _source()
    basis: str = _basis()
    checked_on: date = _checked_on()
    checked_by: str = _checked_by()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeWordRow:
    """A word of the tool's own sentences, and what the trade says in a country.

    It is put in as it stands, so it must fit the sentence: same number, and same gender where the language has one.
    """

    country: str = column("country", refers_to="countries")
    language: str = column("language of the sentence, such as 'en'")
    word: str = column("as the tool says it")
    here: str = column("as the trade says it there")
    source: str = _source()
    basis: str = _basis()
    checked_on: date = _checked_on()
    checked_by: str = _checked_by()
    note: str = words.note()
