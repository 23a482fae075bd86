"""From a figure back to the table rows behind it: which file, which line, what stands there, and its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import date

from valuation.engine.rows import Quantity, Settings, SourceRow, Tables
from valuation.engine.rows.row_keys import DATED, KEYS
from valuation.facts.columns import columns_of
from valuation.language import say

_KEYS = KEYS | DATED
"""Columns that name a row, where its id alone does not; a reference parts them by '/', and may leave out the last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedRow:
    """One row of a table, as it stands in its file; only its source is told in the language spoken.

    Attributes
    ----------
    line : int
        Line as an editor shows it; 0 where it isn't known.
    name : str
        What names the row in its file.
    cells : dict of str to str
        Column to content, empty cells left out.
    units : dict of str to str
        Column to unit, for the columns that have one.
    source : str
        Where its figures come from: title of the source, and what kind of source that is.
    """

    file: str
    line: int
    name: str
    cells: dict[str, str]
    units: dict[str, str]
    source: str


def rows_behind(references: tuple[str, ...], tables: Tables, kind: str, on: date) -> tuple[TracedRow, ...]:
    """Return the rows that an appraisal names, in its order, each once.

    Parameters
    ----------
    references : tuple of str
        As in the `rows` of an `Appraisal`: ``checks:pin_torque``, ``bands:grand/…``, ``bands.csv:12`` for a line,
        or a table's name for the whole of it, which is then named and not listed, as is ``sale ID``, one of the
        shop's own sales.
    tables : Tables
        The tables that the appraisal was made with.
    kind : str
        Kind of piano, for rows that stand once for uprights and once for grands.
    on : date
        Day whose rates and bands count.
    """
    found: dict[tuple[str, int], TracedRow] = {}
    for reference in dict.fromkeys(references):
        table, _, key = reference.partition(":")
        if is_sale(reference):
            continue
        if table.endswith(".csv"):
            table = table.removesuffix(".csv")
            rows = getattr(tables, table)
            index = next(i for i in range(len(rows)) if tables.lines.get((table, i)) == int(key))
            found[table, index] = _traced(tables, table, index, rows[index])
            continue
        if table == "settings":
            index = next(i for i, f in enumerate(fields(Settings)) if f.name == key)
            found[table, index] = _setting(tables, index, key)
            continue
        for index, row in _named(tables, table, key, kind, on):
            found[table, index] = _traced(tables, table, index, row)
    return tuple(found.values())


def is_sale(reference: str) -> bool:
    """Return whether a reference names one of the shop's own sales, which stand in no table."""
    return reference.startswith("sale ")


def _named(tables: Tables, table: str, key: str, kind: str, on: date) -> Iterator[tuple[int, object]]:
    for index, row in enumerate(getattr(tables, table)):
        columns = _KEYS.get(table, ("id",))
        named = "/".join(str(getattr(row, column)) for column in columns)
        fits = getattr(row, "kinds", kind) in (kind, "both")
        last = getattr(row, "valid_to", None)
        in_force = getattr(row, "valid_from", on) <= on and (last is None or on <= last)
        if key and (named == key or named.startswith(f"{key}/")) and fits and in_force:
            yield index, row


def row_name(table: str, row: object) -> str:
    """Return what names a row in its file; rows of other days, or of one set, may share it."""
    return " / ".join(str(getattr(row, column)) for column in _KEYS.get(table, ("id",)))


def _traced(tables: Tables, table: str, index: int, row: object) -> TracedRow:
    columns = columns_of(type(row))
    cells = {name: text for name in columns if (text := cell_text(getattr(row, name)))}
    source = next((s for s in tables.sources if s.id == getattr(row, "source", "")), None)
    return TracedRow(
        file=f"{table}.csv",
        line=tables.lines.get((table, index), 0),
        name=row_name(table, row),
        cells=cells,
        units={name: column.unit for name, (_, column) in columns.items() if column.unit and name in cells},
        source=_source_words(source),
    )


def _setting(tables: Tables, index: int, name: str) -> TracedRow:
    source = next((s for s in tables.sources if s.id == tables.setting_sources.get(name)), None)
    unit = columns_of(Settings)[name][1].unit
    return TracedRow(
        file="settings.toml",
        line=tables.lines.get(("settings", index), 0),
        name=name,
        cells={"value": cell_text(getattr(tables.settings, name))},
        units={"value": unit} if unit else {},
        source=_source_words(source),
    )


def _source_words(source: SourceRow | None) -> str:
    return f"{say(source.title)} ({say(source.kind)})" if source else ""


def cell_text(value: object) -> str:
    """Return a cell as the file has it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, tuple):
        return "; ".join(f"{v.material}:{v.amount:g}" if isinstance(v, Quantity) else str(v) for v in value)
    return str(value)
