"""A reading as text for a terminal, and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator
from typing import Any

from valuation.language import say
from valuation.readings.result import Found, Listing, Reading
from valuation.report.labels import severity_words

WIDTH = 100


def to_text(reading: Reading) -> str:
    """Return the reading on a page; its last lines go below ``[findings]`` of a visit file."""
    return "\n".join(_lines(reading)) + "\n"


def _lines(reading: Reading) -> Iterator[str]:
    yield reading.title
    yield ""
    for figure in reading.figures:
        yield from _wrapped(f"{figure.name}: {figure.text}", "  ")
    for listing in reading.listings:
        yield ""
        yield from _table(listing)
    for heading, sentences in ((say("It says:"), reading.says), (say("It doesn't say:"), reading.does_not_say)):
        yield ""
        yield heading
        for sentence in sentences:
            yield from _wrapped(sentence, "- ")
    yield ""
    if not reading.found:
        yield say("The tables have no check for this, so there is nothing to put into a visit file.")
        return
    yield "[findings]"
    for found in reading.found:
        yield f"{found.line}{'; ' if '  # ' in found.line else '  # '}{grade_words(found)}"


def grade_words(found: Found) -> str:
    """Return how a finding reads: its own grade, then those of the checks taken from its readings."""
    own, *taken = [
        say("reads {grade}", grade=severity_words(grade.grade))
        if grade.check.id == found.finding.check
        else say("{check} reads {grade}", check=grade.check.id, grade=severity_words(grade.grade))
        for grade in found.grades
    ]
    return ", ".join([own, *taken])


def _wrapped(text: str, start: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=start, subsequent_indent=" " * len(start))


def _table(listing: Listing) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(listing.headers, *listing.rows, strict=True)]
    yield f"  {listing.caption}"
    for row in (listing.headers, *listing.rows):
        first, *rest = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        yield f"  {row[0].ljust(len(first))}  {'  '.join(rest)}".rstrip()


def to_json(reading: Reading) -> str:
    """Return the whole reading as JSON."""
    content: dict[str, Any] = {
        "title": reading.title,
        "figures": [
            {"name": f.name, "value": f.value, "unit": f.unit, "low": f.low, "high": f.high, "within": f.within}
            for f in reading.figures
        ],
        "says": reading.says,
        "does_not_say": reading.does_not_say,
        "listings": [{"caption": t.caption, "headers": t.headers, "rows": t.rows} for t in reading.listings],
        "findings": [
            {
                "check": found.finding.check,
                "line": found.line,
                "grades": [
                    {
                        "check": g.check.id,
                        "number": g.number,
                        "unit": g.check.unit,
                        "grade": g.grade,
                        "weights": g.weights,
                    }
                    for g in found.grades
                ],
            }
            for found in reading.found
        ],
        "refused": [str(problem) for problem in reading.refused],
    }
    return json.dumps(content, ensure_ascii=False, indent=2) + "\n"
