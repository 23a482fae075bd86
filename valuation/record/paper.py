"""One paper that a client got: what it was made from, and by what it can be known again. Never changed."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from valuation.record.entry import MOST_NAME

MOST_IN_A_PAPER = 5_000_000
"""A paper made from more is a mistake [characters of JSON]."""

_ID, _HASH, _WORD = re.compile(r"[0-9a-f]{32}"), re.compile(r"[0-9a-f]{64}"), re.compile(r"[a-z][a-z0-9_-]{0,39}")
_SHORT = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper about a visit, with all that is needed to make it again; its file is kept beside it.

    Attributes
    ----------
    id : str
        UUID in hexadecimal, given by whoever asks for it: asking twice is asking once.
    visit : str
        UUID of the visit in hexadecimal.
    number : int
        Counts up for each visit, from 1; none is used again.
    what, option : str
        Which paper; for a quotation, the option that it is for.
    language, size, units : str
        Language, size of paper, units of measures.
    made_at : datetime
        When, in UTC.
    made_by, made_with : str
        Name of the person, and version of the tool.
    written_on, priced_on : date
        Day of the paper; day whose prices count.
    seed, draws : int
        As of the appraisal.
    tables_hash, sales_hash : str
        The shop's tables, and its own sales where the prices come from them; else empty.
    visit_text : str
        The visit as it was, as JSON of its fields.
    given : mapping
        What else went into it, as JSON: the shop, levels set by hand (under ``pins``) and reasons, wishes, photos with
        captions, prices by sales.
    figures : mapping
        Verdict and prices as they were, as JSON: to be compared without working them out again.
    appraisal_hash : str
        SHA-256 of the appraisal's JSON.
    photos : tuple of str
        Hashes of the photos in it, in order.
    pdf_hash : str
        SHA-256 of the file.
    """

    id: str
    visit: str
    number: int
    what: str
    option: str = ""
    language: str
    size: str
    units: str
    made_at: datetime
    made_by: str = ""
    made_with: str
    written_on: date
    priced_on: date
    seed: int
    draws: int
    tables_hash: str
    sales_hash: str = ""
    visit_text: str = field(repr=False)
    given: dict[str, Any] = field(repr=False)
    figures: dict[str, Any] = field(repr=False)
    appraisal_hash: str
    photos: tuple[str, ...] = ()
    pdf_hash: str

    def __post_init__(self) -> None:
        if self.made_at.tzinfo is None:
            raise ValueError("a paper's time must know its zone")
        object.__setattr__(self, "made_at", self.made_at.astimezone(UTC))
        object.__setattr__(self, "photos", tuple(self.photos))

    @property
    def printed_number(self) -> str:
        """The number as it stands on the paper: the visit's short mark, then the paper's own."""
        return printed_number(self.visit, self.number)


def printed_number(visit: str, number: int) -> str:
    """Return the number that a paper bears; two visits of a shop hardly ever share the first six letters.

    Examples
    --------
    >>> printed_number("7c1e04aa00000000000000000000beef", 2)
    '7c1e04-2'
    """
    return f"{visit[:_SHORT]}-{number}"


def why_not_paper(paper: Paper) -> str:
    """Return what is wrong with the names, numbers and hashes of a paper, empty if nothing."""
    if not all(map(_ID.fullmatch, (paper.id, paper.visit))):
        return "an id is not 32 hexadecimal digits"
    sales = [paper.sales_hash] if paper.sales_hash else []
    if not all(map(_HASH.fullmatch, (paper.tables_hash, *sales, paper.appraisal_hash, paper.pdf_hash, *paper.photos))):
        return "a hash is not 64 hexadecimal digits"
    option = [paper.option] if paper.option else []
    if not all(map(_WORD.fullmatch, (paper.what, *option, paper.language, paper.size, paper.units))):
        return "what it is, its language, size or units are not a plain word"
    if not 1 <= paper.number < 1_000_000:
        return f"{paper.number} is not a number of a paper"
    if min(paper.seed, paper.draws) < 0 or max(paper.seed, paper.draws) > 2**63 - 1:
        return "seed and number of draws are not whole numbers from 0"
    if any(len(name) > MOST_NAME or not name.isprintable() for name in (paper.made_by, paper.made_with)):
        return f"a name has more than {MOST_NAME} letters, or a line break in it"
    return ""
