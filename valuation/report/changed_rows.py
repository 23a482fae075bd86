"""Which rows differ between two versions of the shop's tables, cell by cell. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace

from valuation.engine.rows import Settings, Tables
from valuation.facts.columns import columns_of
from valuation.report.trace import cell_text, row_name

CHANGED, NEW, GONE = "changed", "new", "gone"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedRow:
    """A row of a table that is not what it was.

    Attributes
    ----------
    file, name : str
        Where it stands, and what names it there.
    how : str
        `CHANGED`, `NEW` or `GONE`.
    cells : tuple of (column, then, now)
        Of a changed row: the cells that differ, as the files have them.
    bears : bool
        The appraisal rests on a row of this name.
    """

    file: str
    name: str
    how: str
    cells: tuple[tuple[str, str, str], ...] = ()
    bears: bool = False


def changed_rows(then: Tables, now: Tables, references: frozenset[str] = frozenset()) -> tuple[ChangedRow, ...]:
    """Return the rows that differ between two versions of the tables, those that bear on a piano first.

    Parameters
    ----------
    then, now : Tables
        Moved rows and other columns first are no difference; notes and sources are.
    references : set of str
        What an appraisal rests on, as in the `rows` of its results: ``operations:restring``.
    """
    changed = list(_changed_settings(then, now, references))
    for table in (field.name for field in fields(Tables)):
        rows = getattr(now, table)
        if isinstance(rows, tuple):
            changed += _changed_in(table, getattr(then, table), rows, references)
    return tuple(sorted(changed, key=lambda row: not row.bears))


def _changed_in(
    table: str, then: Sequence[object], now: Sequence[object], references: frozenset[str]
) -> Iterator[ChangedRow]:
    """Pair what is left over on each side by its name, in the order of the file."""
    was, is_now = _by_name(table, then, now), _by_name(table, now, then)
    for name in dict.fromkeys([*was, *is_now]):
        before, after = was.get(name, []), is_now.get(name, [])
        row = ChangedRow(
            file=f"{table}.csv", name=name, how=CHANGED, bears=f"{table}:{name.replace(' / ', '/')}" in references
        )
        for old, new in zip(before, after, strict=False):
            yield replace(row, cells=_cells(old, new))
        yield from (replace(row, how=GONE) for _ in before[len(after) :])
        yield from (replace(row, how=NEW) for _ in after[len(before) :])


def _by_name(table: str, rows: Sequence[object], others: Sequence[object]) -> dict[str, list[object]]:
    """Return the rows that the other side doesn't have, by their names."""
    left: dict[str, list[object]] = {}
    there = set(others)
    for row in rows:
        if row not in there:
            left.setdefault(row_name(table, row), []).append(row)
    return left


def _cells(old: object, new: object) -> tuple[tuple[str, str, str], ...]:
    pairs = ((name, getattr(old, name), getattr(new, name)) for name in columns_of(type(new)))
    return tuple((name, cell_text(was), cell_text(now)) for name, was, now in pairs if was != now)


def _changed_settings(then: Tables, now: Tables, references: frozenset[str]) -> Iterator[ChangedRow]:
    for name in (field.name for field in fields(Settings)):
        pairs = (
            ("value", cell_text(getattr(then.settings, name)), cell_text(getattr(now.settings, name))),
            ("source", then.setting_sources.get(name, ""), now.setting_sources.get(name, "")),
        )
        cells = tuple(pair for pair in pairs if pair[1] != pair[2])
        if cells:
            bears = f"settings:{name}" in references
            yield ChangedRow(file="settings.toml", name=name, how=CHANGED, cells=cells, bears=bears)
