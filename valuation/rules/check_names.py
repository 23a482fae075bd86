"""Across tables: every id is given once, every name that is used exists."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from valuation.engine.rows.row_keys import BY_KIND, DATED, KEYS
from valuation.engine.rows.tables import Settings, Tables
from valuation.engine.rows.words import AT_VISIT, CAUSES, KINDS
from valuation.engine.rows.work import Quantity
from valuation.errors import Problem, quoted
from valuation.facts.columns import columns_of
from valuation.files.faults import did_you_mean, file_of
from valuation.rules.places import kinds_of, problem_at, problem_in_setting, rows_of

TIER = "tier:"
PART = "part:"

NAMES_ELSEWHERE: dict[tuple[str, str], tuple[str, tuple[str, ...]]] = {
    ("faults", "seen_at"): ("openings", (AT_VISIT,)),
    ("checks", "reads"): ("faults", CAUSES),
    ("checks", "asked_after"): ("checks", ()),
    ("checks", "readings_of"): ("checks", ()),
    ("operations", "strings"): ("openings", ()),
    ("operations", "action"): ("openings", ()),
    ("openings", "operations"): ("operations", ()),
    ("choices", "operation"): ("operations", ()),
}
"""Columns that name rows of a table beside their `refers_to`: the table, and the words allowed besides."""


def check_ids(book: Tables) -> Iterator[Problem]:
    """Each row is there once; a check, operation, fault or step may be there once for uprights and once for grands."""
    first: dict[tuple[Any, ...], int] = {}
    for table, index, row in rows_of(book):
        if table in DATED:
            continue
        columns = KEYS.get(table, ("id",))
        names = tuple(getattr(row, column) for column in columns)
        keys = [(table, kind, *names) for kind in (kinds_of(row.kinds) if table in BY_KIND else ("",))]
        earlier = [first[key] for key in keys if key in first]
        if earlier:
            line = book.lines[table, earlier[0]]
            hint = "; it may stand again only for the other kind of piano" if table in BY_KIND else ""
            told = ", ".join(f"{name:g}" if isinstance(name, float) else name for name in names if name != "")
            message = f"{quoted(told)} stands already in line {line}{hint}; rename or delete one"
            yield problem_at(book, table, index, columns[0], message)
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
                    yield problem_at(book, table, index, name, message)


def check_builds(book: Tables) -> Iterator[Problem]:
    """The build that odds are for is a feature, 'tier:' and a tier, or a kind."""
    known = (*_ids(book.features), *(TIER + tier for tier in _ids(book.tiers)), *KINDS)
    for index, row in enumerate(book.fault_odds):
        if row.build and row.build not in known:
            message = f"{quoted(row.build)} is no feature, '{TIER}' and a tier, or kind{did_you_mean(row.build, known)}"
            yield problem_at(book, "fault_odds", index, "build", message)


def check_what_features_apply_to(book: Tables) -> Iterator[Problem]:
    """A feature makes the work of an operation or of a part longer or shorter."""
    known = (*_ids(book.operations), *(PART + part for part in _ids(book.parts)))
    for index, row in enumerate(book.feature_hours):
        if row.applies_to not in known:
            hint = did_you_mean(row.applies_to, known)
            message = f"{quoted(row.applies_to)} is no operation, nor '{PART}' and a part{hint}"
            yield problem_at(book, "feature_hours", index, "applies_to", message)


def check_setting_references(book: Tables) -> Iterator[Problem]:
    """Every name in the settings, and the source of each, stands in its table."""
    for name, (_, column) in columns_of(Settings).items():
        used = [("source", "sources", book.setting_sources[name])]
        if column.refers_to:
            used += [("value", column.refers_to, word) for word in _names_in(getattr(book.settings, name))]
        for key, target, word in used:
            known = _ids(getattr(book, target))
            if word not in known:
                message = f"{quoted(word)} is not in {file_of(target)}{did_you_mean(word, known)}"
                yield problem_in_setting(book, name, key, message)


def _references(table: str, row_class: type) -> dict[str, tuple[str, tuple[str, ...]]]:
    declared: dict[str, tuple[str, tuple[str, ...]]] = {
        name: (column.refers_to, ()) for name, (_, column) in columns_of(row_class).items() if column.refers_to
    }
    return declared | {name: to for (of, name), to in NAMES_ELSEWHERE.items() if of == table}


def _ids(rows: tuple[Any, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row.id for row in rows if hasattr(row, "id")))


def _names_in(value: Any) -> tuple[str, ...]:
    if isinstance(value, tuple):
        return tuple(item.material if isinstance(item, Quantity) else item for item in value)
    return (value,) if value else ()


NAME_CHECKS = (check_ids, check_references, check_builds, check_what_features_apply_to, check_setting_references)
