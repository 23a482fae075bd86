"""Across tables: every id is given once, every name that is used exists."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from valuation.core.columns import columns_of
from valuation.core.rows import HISTORY, KINDS, Quantity, Settings, Tables
from valuation.errors import Problem
from valuation.files.faults import did_you_mean, fault_at, fault_in_setting, file_of, quoted

NO_VIEW = "none"
ALWAYS = "always"

_KEYS = {"priors": ("part", "age", "exposure"), "strengths": ("id", "given")}
_DATED = ("rates", "bands", "replacements")
_BY_KIND = ("checks", "operations", "handover")

NAMES_ELSEWHERE: dict[tuple[str, str], tuple[str, tuple[str, ...]]] = {
    ("parts", "present"): ("features", (ALWAYS,)),
    ("families", "part"): ("parts", (HISTORY,)),
    ("families", "view"): ("strengths", (NO_VIEW,)),
    ("checks", "readings_of"): ("checks", ()),
    ("operations", "instead"): ("operations", ()),
    ("cautions", "check"): ("checks", ()),
    ("cautions", "operation"): ("operations", ()),
    ("cautions", "feature"): ("features", ()),
    ("cautions", "blocks"): ("operations", ()),
    ("cautions", "requires"): ("operations", ()),
    ("cautions", "treat_first"): ("parts", ()),
    ("choices", "operation"): ("operations", ()),
}
"""Columns that name rows of a table beside their `refers_to`: the table, and the words allowed besides."""


def kinds_of(kinds: str) -> tuple[str, ...]:
    """Return the kinds of piano that a row's `kinds` column stands for."""
    return KINDS if kinds == "both" else (kinds,)


def rows_of(book: Tables) -> Iterator[tuple[str, int, Any]]:
    """Yield (table, index, row) for every row of every table, without the settings."""
    for field in fields(book):
        rows = getattr(book, field.name)
        if isinstance(rows, tuple):
            for index, row in enumerate(rows):
                yield field.name, index, row


def check_ids(book: Tables) -> Iterator[Problem]:
    """Each id stands once; that of a check or operation may stand once for uprights and once for grands."""
    first: dict[tuple, int] = {}
    for table, index, row in rows_of(book):
        if table in _DATED:
            continue
        names = tuple(getattr(row, column) for column in _KEYS.get(table, ("id",)))
        keys = [(table, kind, *names) for kind in (kinds_of(row.kinds) if table in _BY_KIND else ("",))]
        earlier = [first[key] for key in keys if key in first]
        if earlier:
            line = book.lines[table, earlier[0]]
            where = _KEYS.get(table, ("id",))[0]
            hint = "; it may stand again only for the other kind of piano" if table in _BY_KIND else ""
            message = f"{quoted(', '.join(names))} stands already in line {line}{hint}; rename or delete one"
            yield fault_at(book, table, index, where, message)
        for key in keys:
            first.setdefault(key, index)


def check_references(book: Tables) -> Iterator[Problem]:
    """Every name in a column that refers to a table stands in that table."""
    ids = {f.name: _ids(getattr(book, f.name)) for f in fields(book) if isinstance(getattr(book, f.name), tuple)}
    for table, index, row in rows_of(book):
        for name, (target, besides) in _references(table, type(row)).items():
            allowed = (*besides, *ids[target])
            for used in _names_in(getattr(row, name)):
                if used not in allowed:
                    message = f"{quoted(used)} is not in {file_of(target)}{did_you_mean(used, allowed)}"
                    yield fault_at(book, table, index, name, message)


def check_setting_references(book: Tables) -> Iterator[Problem]:
    """Every name in the settings, and the source of each, stands in its table."""
    for name, (_, column) in columns_of(Settings).items():
        used = [("source", "sources", book.setting_sources[name])]
        if column.refers_to:
            used += (("value", column.refers_to, word) for word in _names_in(getattr(book.settings, name)))
        for key, target, word in used:
            known = _ids(getattr(book, target))
            if word not in known:
                message = f"{quoted(word)} is not in {file_of(target)}{did_you_mean(word, known)}"
                yield fault_in_setting(book, name, key, message)


def _references(table: str, row_class: type) -> dict[str, tuple[str, tuple[str, ...]]]:
    declared = {name: (c.refers_to, ()) for name, (_, c) in columns_of(row_class).items() if c.refers_to}
    return declared | {name: to for (of, name), to in NAMES_ELSEWHERE.items() if of == table}


def _ids(rows: tuple) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row.id for row in rows if hasattr(row, "id")))


def _names_in(value: Any) -> tuple[str, ...]:
    if isinstance(value, tuple):
        return tuple(item.material if isinstance(item, Quantity) else item for item in value)
    return (value,) if value else ()


NAME_CHECKS = (check_ids, check_references, check_setting_references)
