"""The facts of a workshop for its papers (plain TOML), or every fault in them at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from valuation.errors import Problem, UserError, quoted
from valuation.facts.kinds import LINE, why_not_words
from valuation.files.plain_text import read_text
from valuation.files.toml_text import line_of, lines_of_keys, parse_toml
from valuation.files.visit_values import Section

MOST_BYTES = 100_000
"""A larger file is not read [bytes]."""

LINES = ("name", "town", "fee", "warranty", "qualification")
LISTS = ("address", "reach", "second_opinion", "terms", "takers")


def read_shop_facts(path: Path) -> dict[str, Any]:
    """Read the facts of a workshop.

    Parameters
    ----------
    path : Path
        A TOML file; everything in it is optional. The keys are those of `valuation.report.occasion.Shop`.

    Returns
    -------
    dict
        Key to text, or to a tuple of texts.

    Raises
    ------
    UserError
        With every fault of the file.
    """
    text, problems = read_text(path, most_bytes=MOST_BYTES)
    if not problems:
        content, problems = parse_toml(text, path.name)
    if problems:
        raise UserError(problems)
    lines = lines_of_keys(text)
    faults: list[Problem] = []

    def tell(key: str, message: str) -> None:
        faults.append(Problem(path.name, line_of(key, lines), key, message))

    section = Section(content, "", tell)
    facts: dict[str, Any] = {key: section.words(key) for key in LINES}
    facts |= {key: _lines(section, key) for key in LISTS}
    section.tell_unknown_keys()
    if faults:
        raise UserError(faults)
    return facts


def _lines(section: Section, key: str) -> tuple[str, ...]:
    value = section.ask(key)
    if value is None:
        return ()
    if not isinstance(value, list) or not all(isinstance(line, str) for line in value):
        section.tell(key, f"{quoted(value)} is not a list of texts; write it like ['Mill Lane 4', 'Auerwald']")
        return ()
    for line in value:
        if fault := why_not_words(line, LINE, lines=False):
            section.tell(key, fault)
    return tuple(value)
