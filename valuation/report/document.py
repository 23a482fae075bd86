"""A paper as data: sections of sentences, tables and charts, before anybody lays them out. Pure.

What is printed, and what the tests hold on to, is this; the layout adds no word and no figure.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The answer in one sentence, and how sure it is."""

    sentence: str
    how_sure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A paragraph; `style` is '', 'small', 'quote' for somebody's own words, or 'stop' for what comes before all."""

    text: str
    style: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """A list of sentences."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading within a section."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Facts with their labels."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A table.

    Attributes
    ----------
    align : str
        'l' or 'r' for each column.
    widths : tuple of float
        Shares of the width; 0 for as wide as it needs.
    strong : tuple of int
        Rows that are sums or chosen.
    held : int
        So many rows at the end are sums that are never parted from each other.
    style : str
        'side' where the first column names the row, 'lines' for lines of work, 'answers' where the last column is
        signed, 'ticks' where it is ticked, else ''.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str
    widths: tuple[float, ...]
    strong: tuple[int, ...] = ()
    held: int = 0
    style: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A range on an axis: `low` to `high` with a mark `at`; `said` is the same in words."""

    name: str
    low: float
    at: float
    high: float
    said: str
    chosen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranges:
    """Ranges on one axis. `ticks` and `zones` are places on it with their words; `alt` is the chart in words."""

    title: str
    bars: tuple[Bar, ...]
    start: float
    end: float
    ticks: tuple[tuple[float, str], ...]
    zones: tuple[tuple[float, float, str], ...]
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hundreds:
    """Counts out of the same hundred, each with its name and in words."""

    title: str
    counts: tuple[tuple[str, int, str], ...]
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Single readings by section on one axis, with the limits they are held against."""

    title: str
    rows: tuple[tuple[str, tuple[float, ...]], ...]
    start: float
    end: float
    ticks: tuple[tuple[float, str], ...]
    limits: tuple[tuple[float, str], ...]
    alt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictures:
    """Photos: name of the picture (empty where it can't be shown), caption, and what it shows in words."""

    items: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signatures:
    """Places to sign, each with what is signed and by whom."""

    places: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """The drawing of the piano, and beside it the sentences with the numbers that they have on it.

    Attributes
    ----------
    svg, alt : str
        The picture, and what it shows in words.
    items : tuple of (number, sentence, photo, what the photo shows)
        The name of the photo is empty where there is none.
    rest : tuple of str
        What else is told of it.
    """

    svg: str
    alt: str
    items: tuple[tuple[int, str, str, str], ...]
    rest: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WayBar:
    """One way as a row of a picture: what is paid, what it is worth then, how many good years, in words and figures."""

    name: str
    pays: str
    pays_from: float
    pays_to: float
    worth: str
    worth_from: float
    worth_to: float
    years: str
    years_from: float
    years_to: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WayPicture:
    """The ways as one picture: `heads` are what the three bars of each tell."""

    heads: tuple[str, str, str]
    ways: tuple[WayBar, ...]


Block = (
    Verdict | Words | Points | Heading | Facts | Grid | Ranges | Hundreds | Readings | Pictures | Signatures | Drawing
    | WayPicture
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section with its heading, which may be empty.

    `compact` is for what is looked up rather than read; `across` lies across a page of its own, for many columns.
    """

    title: str
    blocks: tuple[Block, ...]
    compact: bool = False
    across: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole paper.

    Attributes
    ----------
    shop : tuple of str
        Name of the workshop, then its address and how to reach it.
    address : tuple of str
        To whom a letter goes; empty for other papers.
    place_and_day : str
        For a letter.
    running : str
        At the head of the pages that follow the first.
    facts : tuple of (label, fact)
        At the head of the paper.
    foot : str
        At the foot of each page.
    page : str
        'Page {page} of {pages}' in the language spoken.
    """

    language: str
    shop: tuple[str, ...]
    address: tuple[str, ...] = ()
    place_and_day: str = ""
    title: str
    subtitle: str
    running: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    foot: str
    page: str


def to_plain(document: Document) -> dict[str, Any]:
    """Return a paper as plain dicts, lists, numbers and texts; each block says under 'block' what it is."""
    plain = asdict(document)
    for section, content in zip(document.sections, plain["sections"], strict=True):
        for block, made in zip(section.blocks, content["blocks"], strict=True):
            made["block"] = type(block).__name__.lower()
    return plain


def as_text(document: Document) -> str:
    """Return all that a paper says as plain text: content without layout."""
    lines = ["\n".join(document.shop), "\n".join(document.address), document.place_and_day]
    lines += [f"# {document.title}", document.subtitle, _facts(document.facts)]
    for section in document.sections:
        lines.append(f"## {section.title}")
        lines += [_block_text(block) for block in section.blocks]
    text = "\n\n".join(line for line in [*lines, document.foot] if line) + "\n"
    return text.replace("\u00a0", " ")


def _facts(rows: tuple[tuple[str, str], ...]) -> str:
    return "\n".join(f"{label}: {fact}" for label, fact in rows)


def _block_text(block: Block) -> str:
    match block:
        case Verdict():
            return f"**{block.sentence}**\n{block.how_sure}"
        case Words():
            return block.text
        case Heading():
            return f"### {block.text}"
        case Points():
            return "\n".join(f"- {item}" for item in block.items)
        case Facts():
            return _facts(block.rows)
        case Grid():
            rows = [" | ".join(row) for row in (block.head, *block.rows)]
            return "\n".join([f"[{block.caption}]", *rows])
        case Ranges() | Hundreds() | Readings():
            return f"[{block.title}]\n{block.alt}"
        case Pictures():
            return "\n".join(f"[photo] {caption}" for _, caption, _ in block.items)
        case Drawing():
            sentences = (f"{number} {text}" for number, text, _, _ in block.items)
            return "\n".join([f"[drawing] {block.alt}", *sentences, *block.rest])
        case WayPicture():
            pays, worth, years = block.heads
            told = [f"{w.name}. {pays}: {w.pays}. {worth}: {w.worth}. {years}: {w.years}." for w in block.ways]
            return "\n".join(told)
        case Signatures():
            return "\n".join(f"{what}: ____ {who}" for what, who in block.places)
