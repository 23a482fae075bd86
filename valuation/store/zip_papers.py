"""A paper into the JSON of an export and back, the latter with suspicion; and the values that any such JSON holds."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import date, datetime
from typing import Any

from valuation.record import Paper, value_text, why_not_paper
from valuation.record.paper import MOST_IN_A_PAPER
from valuation.store.entries import moment, read_moment


def paper_to_plain(paper: Paper) -> dict[str, Any]:
    """Return a paper as the export has it."""
    plain = {field.name: getattr(paper, field.name) for field in fields(paper)}
    return plain | {
        "made_at": moment(paper.made_at),
        "written_on": paper.written_on.isoformat(),
        "priced_on": paper.priced_on.isoformat(),
        "photos": list(paper.photos),
        "visit_text": json.loads(paper.visit_text),
    }


def paper_from_plain(content: dict[str, Any]) -> Paper:
    """Return the paper that an export holds; `KeyError`, `ValueError` or `TypeError` where it is none."""
    told = {field.name: content[field.name] for field in fields(Paper)}
    whole = {name: told[name] for name in ("number", "seed", "draws")}
    if not all(type(number) is int for number in whole.values()):
        raise TypeError("its number, its seed and its draws must be whole numbers")
    tables = {name: told[name] for name in ("visit_text", "given", "figures")}
    if not all(isinstance(table, dict) for table in tables.values()):
        raise TypeError("'visit_text', 'given' and 'figures' must be tables")
    texts = {name: value_text(table) for name, table in tables.items()}
    if max(map(len, texts.values())) > MOST_IN_A_PAPER:
        raise ValueError(f"what it was made from has more than {MOST_IN_A_PAPER:,} letters")
    days = {name: date.fromisoformat(text_of(told[name])) for name in ("written_on", "priced_on")}
    words = {name: text_of(value) for name, value in told.items() if name not in {*whole, *tables, *days, "photos"}}
    paper = Paper(
        **words | whole | days | {"made_at": moment_of(words["made_at"]), "visit_text": texts["visit_text"]},
        given=tables["given"],
        figures=tables["figures"],
        photos=tuple(map(text_of, told["photos"])),
    )
    if fault := why_not_paper(paper):
        raise ValueError(fault)
    return paper


def text_of(value: Any) -> str:
    """Return a value that must be text."""
    if not isinstance(value, str):
        raise TypeError(f"{value!r:.40} is not text")
    return value


def moment_of(value: Any) -> datetime:
    """Return the time that a value must be, as `moment` writes it."""
    at = read_moment(text_of(value))
    if at.tzinfo is None or moment(at) != value:
        raise ValueError(f"{value!r:.40} is not a time; write it like 2026-05-04T09:00:00.000000Z")
    return at
