"""What the shop's jobs teach, taken into its tables when the owner says so: beside `valuation.service`.

Raises `UserError` for what a person can mend.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date

from valuation.engine.rows import Tables
from valuation.learn.proposals import KEYS, LEARNED, LEARNED_SOURCE, Proposal, key_of
from valuation.learn.taken_in import learned_note, with_proposals
from valuation.rules.table_writer import Key, append_row, rewrite_cells, rewrite_setting

__all__ = ["take_in"]


def take_in(files: Mapping[str, str], tables: Tables, proposals: Sequence[Proposal], *, on: date) -> dict[str, str]:
    """Return the files of a new version of the tables, with these proposals taken in.

    Parameters
    ----------
    files : mapping of str to str
        Text of each file of the folder by name, line endings as they are.
    tables : Tables
        The same, loaded.
    proposals : sequence of Proposal
        Those that the owner has chosen.
    on : date
        Day on which they are taken in.

    Returns
    -------
    dict of str to str
        All files; those that don't change are the same text. A changed row keeps its id, has the source `LEARNED`, and
        says in its note what it was learned from. Load them before they are used.

    Raises
    ------
    ValueError
        If a proposal was made from other tables than these, or two change one cell.
    TableError
        If a file doesn't hold the row, the column or the setting.
    """
    with_proposals(tables, proposals, on=on)  # refuses what doesn't fit these tables, before anything is written
    new = dict(files)
    notes = _notes(tables) | _notes_of_settings(files["settings.toml"])
    by_table: dict[str, dict[Key, dict[str, str]]] = {}
    for proposal in proposals:
        for change in proposal.changes:
            cells = by_table.setdefault(change.table, {}).setdefault(change.key, {})
            cells[change.column] = change.new
            note = learned_note(notes.get((change.table, change.key), ""), proposal, on)
            cells |= {"source": LEARNED, "note": note}
    for table, changes in by_table.items():
        if table == "settings":
            for key, cells in changes.items():
                parts = {"value": cells["value"], "source": f'"{LEARNED}"'}
                if (table, key) in notes:
                    parts["note"] = json.dumps(cells["note"], ensure_ascii=False)
                new["settings.toml"] = rewrite_setting(new["settings.toml"], "settings.toml", key[0][1], parts)
        else:
            new[f"{table}.csv"] = rewrite_cells(new[f"{table}.csv"], f"{table}.csv", changes)
    if proposals and LEARNED not in {row.id for row in tables.sources}:
        new["sources.csv"] = append_row(new["sources.csv"], "sources.csv", asdict(LEARNED_SOURCE))
    return new


def _notes(tables: Tables) -> dict[tuple[str, Key], str]:
    return {
        (table, tuple(zip(columns, key_of(row, columns), strict=True))): row.note
        for table, columns in KEYS.items()
        for row in getattr(tables, table)
    }


def _notes_of_settings(text: str) -> dict[tuple[str, Key], str]:
    settings = tomllib.loads(text)
    return {("settings", (("name", name),)): s["note"] for name, s in settings.items() if "note" in s}
