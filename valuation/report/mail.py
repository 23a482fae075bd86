"""A paper as the text of an e-mail, ready to be sent: the same sentences and figures, as plain lines. Pure."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from valuation.language import say
from valuation.report.document import (
    Block,
    Document,
    Drawing,
    Facts,
    Grid,
    Heading,
    Hundreds,
    Pictures,
    Points,
    Ranges,
    Readings,
    Signatures,
    Verdict,
    WayPicture,
    Words,
)
from valuation.report.own_words import in_one_line

WIDTH = 72
"""Letters in a line: what any program for mail shows whole."""

_INDENT = "  "


@dataclass(frozen=True, slots=True, kw_only=True)
class Mail:
    """What is sent: the line that names it, and the text."""

    subject: str
    text: str


def as_mail(document: Document, *, to: str = "", by: str = "") -> Mail:
    """Return a paper as an e-mail.

    Parameters
    ----------
    document : Document
    to, by : str
        Name of the client; of whoever sends it.
    """
    lines = [
        say("Dear {name},", name=in_one_line(to)) if to else say("Good day,"),
        "",
        *_wrap(say("Here is a copy of this paper as text: {title}.", title=document.title)),
        *_wrap(say("What counts is the paper itself. Nothing is signed or ordered by this mail.")),
        "",
        *(line for label, fact in document.facts for line in _wrap(f"{label}: {' '.join(fact.split())}")),
    ]
    for section in document.sections:
        blocks = [told for block in section.blocks if (told := list(_told(block)))]
        if not blocks:
            continue
        if section.title:
            lines += ["", "", section.title.upper()]
        for told in blocks:
            lines += ["", *told]
    lines += ["", "", say("With kind regards"), *filter(None, (in_one_line(by), *document.shop))]
    subject = " · ".join(part for part in (document.title, in_one_line(document.subtitle)) if part)
    return Mail(subject=subject, text="\n".join(lines).replace("\u00a0", " ") + "\n")


def _told(block: Block) -> Iterator[str]:
    match block:
        case Verdict():
            yield from _wrap(f"{block.sentence} {block.how_sure}")
        case Words():
            yield from _wrap(block.text)
        case Heading():
            yield block.text
        case Points():
            for item in block.items:
                yield from _wrap(item, "- ")
        case Facts():
            for label, fact in block.rows:
                yield from _wrap(f"{label}: {fact}")
        case Grid():
            yield from _rows(block)
        case Ranges() | Hundreds() | Readings():
            yield from _wrap(f"{block.title}. {block.alt}")
        case Drawing():
            for number, text, _, _ in block.items:
                yield from _wrap(text, f"{number}. ")
            for text in block.rest:
                yield from _wrap(text)
        case WayPicture():
            for way in block.ways:
                yield way.name
                for head, words in zip(block.heads, (way.pays, way.worth, way.years), strict=True):
                    yield from _wrap(f"{head}: {words}", _INDENT)
        case Pictures() | Signatures():
            return  # a text has no pictures, and nobody signs it


def _rows(grid: Grid) -> Iterator[str]:
    """Yield a table row by row: what the row is about, and below it each of its cells by the head of its column."""
    yield f"{grid.caption}:"
    answered = len(grid.head) - 1 if grid.style in ("answers", "ticks") else len(grid.head)
    for row in grid.rows:
        cells = [(head, cell) for head, cell in zip(grid.head[:answered], row[:answered], strict=True) if cell]
        (_, first), *rest = cells
        if len(rest) == 1 and "\n" not in first:
            yield from _wrap(f"{first}: {rest[0][1]}")
            continue
        yield ""
        for line in first.split("\n"):
            yield from _wrap(line)
        for head, cell in rest:
            for line in cell.split("\n"):
                yield from _wrap(f"{head}: {line}", _INDENT)


def _wrap(text: str, first: str = "") -> list[str]:
    return [
        line
        for part in text.split("\n")
        for line in textwrap.wrap(
            part, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_on_hyphens=False
        )
    ]
