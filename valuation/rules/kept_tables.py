"""The files of the shop's tables as they stand, and back: so that what was worked out can be worked out again."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import MISSING, fields, replace
from pathlib import Path

from valuation.engine.rows import Settings, Tables
from valuation.errors import Problem, TableError
from valuation.facts.columns import columns_of
from valuation.files.faults import file_of
from valuation.files.plain_text import decode_text
from valuation.rules import load
from valuation.rules.load import PACKAGED, ROW_CLASSES
from valuation.rules.table_rows import SETTINGS, rows_of_text
from valuation.rules.table_writer import add_columns, rewrite_setting, setting_text

FILES = {file_of(table): table for table in (*ROW_CLASSES, SETTINGS)}
"""Name of each file that makes up the shop's tables -> the table in it."""

_SHARE = re.compile(r"\d*\.?\d+")

_OLD_TAX = {
    "id": "as_it_was",
    "name": "As the shop had it",
    "word": "tax",
    "shown": "yes",
    "valid_from": "1990-01-01",
    "source": "from memory",
    "basis": "memory",
    "checked_on": "2026-11-30",
    "checked_by": "nobody",
}
"""Row of a tax that the tables of an older version have as one share."""


def files_of(folder: Path | None, tables: Tables) -> dict[str, str]:
    """Return the files of the shop's tables, by name.

    Parameters
    ----------
    folder : Path or None
        Where they stand; None for the packaged ones.
    tables : Tables
        As they were loaded from there.

    Raises
    ------
    TableError
        If the files are others by now than those that were loaded.
    """
    folder = PACKAGED if folder is None else folder
    try:
        files = {name: (folder / name).read_bytes().decode("utf-8") for name in FILES}
        if load.tables_of(texts_of(files)).hash == tables.hash:
            return files
    except (OSError, UnicodeDecodeError, TableError):
        pass  # whatever is wrong with them: they were right when they were loaded
    told = "the tables were changed while they were in use; do it once more"
    raise TableError([Problem(folder.name, 0, "", told)])


def tables_of(files: Mapping[str, str], name: str) -> Tables:
    """Return the tables that some files hold, under the hash by which they are kept.

    Raises
    ------
    TableError
        If they can't be read: damaged, or in the form of another version of this program.
    """
    try:
        return replace(load.tables_of(brought_up(files)[0]), hash=name)
    except TableError as error:
        told = f"the tables kept as {name[:8]} can't be read by this version of the program: {error.problems[0]}"
        raise TableError([Problem("tables", 0, "", told)]) from None


def texts_of(files: Mapping[str, str]) -> dict[str, str]:
    """Return the text of each table, as the reader takes it; a file of another name is no table."""
    texts, problems = {}, []
    for name, table in FILES.items():
        if name not in files:
            problems.append(Problem(name, 0, "", "the file is missing; add it"))
            continue
        texts[table], faults = decode_text(files[name].encode("utf-8", "surrogatepass"), name)
        problems += faults
    if problems:
        raise TableError(problems)
    return texts


def brought_up(files: Mapping[str, str]) -> tuple[dict[str, str], tuple[str, ...]]:
    """Return the texts of tables that an older version of this program kept, and what they get from the packaged ones.

    A table or a setting that is new in this version is the packaged one; a new column that may be empty is empty.

    Raises
    ------
    TableError
        If a file is damaged.
    """
    added = [name for name in FILES if name not in files]
    texts = texts_of(dict(files) | {name: _packaged(name) for name in added})
    texts |= _with_dated_purchases(texts)
    if added:
        texts["sources"] = _with_sources(texts["sources"])
    for table, row_class in ROW_CLASSES.items():
        there = next(iter(rows_of_text(table, texts[table])), None)
        if there is None:
            continue
        new = [c for c, (field, _) in columns_of(row_class).items() if c not in there and field.default is not MISSING]
        if new:
            texts[table] = add_columns(texts[table], new)
            added += [f"{file_of(table)}: {column}" for column in new]
    known = {row["name"] for row in rows_of_text(SETTINGS, texts[SETTINGS])}
    missing = [field.name for field in fields(Settings) if known and field.name not in known]
    for name in missing:
        texts[SETTINGS] = f"{texts[SETTINGS].rstrip()}\n\n{setting_text(_packaged(file_of(SETTINGS)), name)}"
        added.append(f"{file_of(SETTINGS)}: {name}")
    return _with_tax_as_a_row(texts), tuple(added)


def _with_sources(text: str) -> str:
    """Return the sources with those of the packaged ones that are missing: what is new names them."""
    known = {row["id"] for row in rows_of_text("sources", text)}
    missing = io.StringIO()
    for row in rows_of_text("sources", _packaged(file_of("sources"))):
        if row["id"] not in known:
            csv.writer(missing, lineterminator="\n").writerow(row.values())
    return f"{text.rstrip()}\n{missing.getvalue()}"


def _with_tax_as_a_row(texts: dict[str, str]) -> dict[str, str]:
    """Return texts whose setting of tax names a row: once it was one share for hours, materials and work bought in."""
    settings = {row["name"]: row for row in rows_of_text(SETTINGS, texts[SETTINGS])}
    share, country = settings.get("tax", {}).get("value", ""), settings.get("country", {}).get("value", "")
    rows = rows_of_text("taxes", texts["taxes"])
    if not _SHARE.fullmatch(share) or not rows:
        return texts
    since = min(row["valid_from"] for row in rows)  # all rows of the table begin on one day
    row = (
        _OLD_TAX
        | {"country": country, "valid_from": since}
        | dict.fromkeys(("labour", "material", "outside", "resale"), share)
    )
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow([row.get(name, "") for name in rows[0]])
    rewritten = rewrite_setting(texts[SETTINGS], file_of(SETTINGS), "tax", {"value": f'"{_OLD_TAX["id"]}"'})
    return texts | {"taxes": f"{texts['taxes'].rstrip()}\n{line.getvalue()}", SETTINGS: rewritten}


def _with_dated_purchases(texts: Mapping[str, str]) -> dict[str, str]:
    """Return materials that hold from a day, and operations that name the work that is bought in for them among those.

    Once a price of materials had no day, and what is bought in stood with its operation. From the first day of the
    rates on it is what it was.
    """
    materials, operations = (rows_of_text(table, texts[table]) for table in ("materials", "operations"))
    since = min((row.get("valid_from", "") for row in rows_of_text("rates", texts["rates"])), default="")
    if not materials or "valid_from" in materials[0] or not since:
        return {}
    materials = [row | {"taxed_as": "material", "valid_from": since, "valid_to": ""} for row in materials]
    for row in operations:
        bought = {f"price_{end}": row.pop(f"outside_{end}", "") for end in ("low", "likely", "high")}
        try:
            if not float(bought["price_likely"] or 0) > 0:
                continue
        except ValueError:
            continue  # the reader tells nothing of a column that has gone: no figure stood there
        name = f"bought_{row['id']}" + ("" if row["kinds"] == "both" else f"_{row['kinds']}")
        row["materials"] = ";".join(filter(None, [row["materials"], f"{name}:1"]))
        own = {"id": name, "name": row["name"], "unit": "job", "taxed_as": "outside", "waste": "0", "markup": "0"}
        materials.append(
            dict.fromkeys(materials[0], "") | own | bought | {"valid_from": since, "source": row["source"]}
        )
    return {"materials": _written(materials), "operations": _written(operations)}


def _written(rows: list[dict[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _packaged(name: str) -> str:
    return (PACKAGED / name).read_bytes().decode("utf-8")
