"""What belongs to a paper beside the visit and its appraisal: who writes it, for what, and what was agreed. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from valuation.engine.prospects import Prospect
from valuation.facts.visit import Range
from valuation.report.conversation import Conversation
from valuation.report.leaf import Leaf


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """The workshop as its papers name it; whatever is empty is left out.

    Attributes
    ----------
    address, reach : tuple of str
        Lines of the address; telephone, mail and the like.
    town : str
        Stands before the day of a letter.
    fee : str
        What the visit costs and whether it counts towards work: said openly.
    second_opinion : tuple of str
        Who else can be asked.
    terms : tuple of str
        In which steps a job is paid, a sentence each.
    warranty : str
        On the work.
    takers : tuple of str
        Who takes old pianos near the shop.
    qualification : str
        What whoever evaluates has learned.
    """

    name: str = ""
    address: tuple[str, ...] = ()
    reach: tuple[str, ...] = ()
    town: str = ""
    fee: str = ""
    second_opinion: tuple[str, ...] = ()
    terms: tuple[str, ...] = ()
    warranty: str = ""
    takers: tuple[str, ...] = ()
    qualification: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueSaid:
    """One value with all that has to be said with it.

    Attributes
    ----------
    of : str
        ``as it stands``, an option, ``replacement`` or ``disposal``.
    kind, definition, source, market : str
        Kind of value, what it means, where that is published, in which market it is formed.
    quoted : bool
        The definition stands word for word in its source.
    amount : Range
        8 in 10 lie between low and high [money].
    basis : str
        ``band table``, ``blend`` or ``sales``.
    """

    of: str
    kind: str
    definition: str
    source: str
    market: str
    quoted: bool
    amount: Range
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo as a paper knows it: `name` is empty where the picture can't be read.

    Attributes
    ----------
    name : str
        Under which the picture comes with the paper.
    caption : str
        Printed below it.
    alt : str
        What is to be seen, for those who don't see it; the caption where it is empty.
    check : str
        Check whose finding it shows; empty for a view of the whole piano.
    """

    name: str
    caption: str
    alt: str = ""
    check: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """What a paper is written for, and what was said at the table.

    Attributes
    ----------
    written_on : date
        Day of the paper.
    told : Conversation
        Every way as it is told to the client, what they said and chose, what was set by hand.
    prospects : mapping of way to Prospect
        The figures behind the ways.
    chose : tuple of (question, answer)
        What the client has said and chosen.
    number : str
        Number of the paper and its version, as the shop counts them.
    replaces : str
        For a quotation: number of the one that it replaces.
    not_for : str
        What has to be said of the use it is wanted for; empty where an estimate of the shop's will do.
    system : str
        Units: 'metric' or 'imperial'.
    leaf : Leaf, optional
        What stands on the sheet of their piano; None where it is not evaluated yet.
    prior : tuple of str
        What this workshop did on the piano before the visit, a sentence each.
    advice : bool
        They asked what the workshop would do.
    held : (int, int), optional
        How many of the prices told as '8 in 10' held, and of how many; None while that tells too little.
    done_by : date, optional
        Day by which the work is done in 9 of 10, if the client agrees on the day of the paper.
    prices_from : str
        What the prices rest on, where that isn't the band table alone.
    comparables : tuple of rows
        The nearest of the shop's own sales in words: day, what was sold, price, adjusted by, adjusted.
    version : str
        Version of the tool.
    """

    written_on: date
    told: Conversation
    prospects: Mapping[str, Prospect]
    chose: tuple[tuple[str, str], ...] = ()
    shop: Shop = Shop()
    number: str = ""
    replaces: str = ""
    not_for: str = ""
    values: tuple[ValueSaid, ...] = ()
    photos: tuple[Photo, ...] = ()
    system: str = "metric"
    leaf: Leaf | None = None
    prior: tuple[str, ...] = ()
    advice: bool = False
    held: tuple[int, int] | None = None
    done_by: date | None = None
    prices_from: str = ""
    comparables: tuple[tuple[str, ...], ...] = ()
    version: str = ""
