"""A folder of tables into one checked `Tables`, or every fault in it at once.

Three steps, each only if the one before passed for the whole folder: cells, then rows, then across tables.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, fields
from hashlib import sha256
from pathlib import Path
from typing import Any, get_args, get_type_hints

from valuation.engine.rows.tables import Settings, Tables
from valuation.errors import Problem, TableError
from valuation.files.check_jobs import check_stages
from valuation.files.check_money import PRICE_CHECKS
from valuation.files.faults import file_of
from valuation.files.plain_text import read_text
from valuation.files.read_csv import read_table
from valuation.files.read_toml import SettingsRead, read_settings
from valuation.rules.check_condition import CONDITION_CHECKS
from valuation.rules.check_country import COUNTRY_CHECKS
from valuation.rules.check_evidence import EVIDENCE_CHECKS
from valuation.rules.check_faults import FAULT_CHECKS
from valuation.rules.check_names import NAME_CHECKS
from valuation.rules.check_openings import OPENING_CHECKS
from valuation.rules.check_pieces import PIECE_CHECKS
from valuation.rules.check_work import WORK_CHECKS
from valuation.rules.row_checks import check_row

PACKAGED = Path(__file__).resolve().parents[1] / "tables"
"""The tables that come with the tool."""

MOST_BYTES = 5_000_000
"""A larger table is not read [bytes]."""

ROW_CLASSES: dict[str, type] = {
    name: get_args(hint)[0] for name, hint in get_type_hints(Tables).items() if get_args(hint)[1:] == (...,)
}
"""Table -> class of its rows, as `Tables` says."""

CROSS_CHECKS: tuple[Callable[[Tables], Iterator[Problem]], ...] = (
    *NAME_CHECKS,
    *CONDITION_CHECKS,
    *FAULT_CHECKS,
    *EVIDENCE_CHECKS,
    *PIECE_CHECKS,
    *WORK_CHECKS,
    *OPENING_CHECKS,
    *PRICE_CHECKS,
    *COUNTRY_CHECKS,
    check_stages,
)


def load_tables(folder: Path | None = None) -> Tables:
    """Read and check a folder of tables.

    Parameters
    ----------
    folder : Path, optional
        Folder with one ``NAME.csv`` for each table and ``settings.toml``; the packaged tables if left out.

    Returns
    -------
    Tables
        All rows, with the line of each and the hash of all.

    Raises
    ------
    TableError
        If anything is wrong; carries every fault that could be found.
    """
    folder = PACKAGED if folder is None else folder
    if not folder.is_dir():
        raise TableError([Problem(folder.name, 0, "", "there is no such folder")])
    problems: list[Problem] = []
    texts: dict[str, str] = {}
    for table in (*ROW_CLASSES, "settings"):
        texts[table], faults = read_text(folder / file_of(table), most_bytes=MOST_BYTES)
        problems += faults
    return tables_of(texts, problems)


def tables_of(texts: Mapping[str, str], found: Sequence[Problem] = ()) -> Tables:
    """Read and check the texts of all tables.

    Parameters
    ----------
    texts : mapping of table to text
        The text of each table of `Tables`, and of 'settings'.
    found : sequence of Problem
        What was already found wrong with the files as files.

    Returns
    -------
    Tables
        All rows, with the line of each and the hash of all.

    Raises
    ------
    TableError
        If anything is wrong; carries every fault that could be found.
    """
    book = _read_cells(texts, list(found))
    problems = [
        Problem(file_of(table), book.lines[table, index], where, message)
        for table in ROW_CLASSES
        for index, row in enumerate(getattr(book, table))
        for where, message in check_row(row)
    ]
    if problems:
        raise TableError(problems)
    problems = [problem for check in CROSS_CHECKS for problem in check(book)]
    if problems:
        raise TableError(problems)
    return book


def _read_cells(texts: Mapping[str, str], problems: list[Problem]) -> Tables:
    tables: dict[str, tuple[Any, ...]] = {}
    lines: dict[tuple[str, int], int] = {}
    for table, row_class in ROW_CLASSES.items():
        read, faults = read_table(texts[table], file_of(table), row_class)
        problems += faults
        tables[table] = tuple(row for _, row in read)
        lines |= {(table, index): line for index, (line, _) in enumerate(read)}
    text = texts["settings"]
    settings = read_settings(text, file_of("settings"), Settings) if text.strip() else SettingsRead()
    problems += settings.problems
    if problems:
        raise TableError(problems)
    lines |= {("settings", index): settings.lines.get(field.name, 0) for index, field in enumerate(fields(Settings))}
    return Tables(
        **tables,
        settings=settings.settings,
        hash=_hash(tables, settings),
        lines=lines,
        setting_sources=settings.sources,
    )


def _hash(tables: dict[str, tuple[Any, ...]], settings: SettingsRead) -> str:
    """Return the SHA-256 of all that was read, whatever the line endings and the order of columns."""
    content: dict[str, Any] = {table: [asdict(row) for row in rows] for table, rows in tables.items()}
    content |= {"settings": asdict(settings.settings), "setting_sources": settings.sources}
    canonical = json.dumps(content, sort_keys=True, ensure_ascii=True, separators=(",", ":"), default=str)
    return sha256(canonical.encode("ascii")).hexdigest()
