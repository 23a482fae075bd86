"""Proposals taken in: the tables as they would be, and as they were before anything was learned."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from hashlib import sha256
from typing import Any

from valuation.engine.rows import Tables
from valuation.learn.proposals import KEYS, LEARNED, LEARNED_SOURCE, Change, Proposal, key_of


def before_learning(versions: Sequence[Tables]) -> Tables:
    """Return the newest tables with every learned row as it was before anything was learned of it.

    All learning starts from these and from all that has ever happened. So taking a proposal in and learning again from
    the same jobs proposes nothing further; were it to start from what was learned, the same jobs would count twice.

    Parameters
    ----------
    versions : sequence of Tables
        Every version there was, the oldest first; at least one.
    """
    newest = versions[-1]
    changed: dict[str, Any] = {}
    for table, key in KEYS.items():
        known: dict[tuple, Any] = {}
        for version in versions:
            known |= {key_of(row, key): row for row in getattr(version, table) if row.source != LEARNED}
        changed[table] = tuple(
            known.get(key_of(row, key), row) if row.source == LEARNED else row for row in getattr(newest, table)
        )
    spreads = [v.settings.job_spread for v in versions if v.setting_sources.get("job_spread") != LEARNED]
    settings = replace(newest.settings, job_spread=spreads[-1]) if spreads else newest.settings
    return replace(newest, **changed, settings=settings)


def with_proposals(now: Tables, proposals: Iterable[Proposal], *, on: date) -> Tables:
    """Return the tables as they would be with these proposals taken in: to see their effect before anyone decides.

    Parameters
    ----------
    on : date
        Day on which they are taken in; stands in the note of each row.

    Raises
    ------
    ValueError
        If a cell no longer holds what the proposal was made from, or two proposals change one cell.
    """
    proposals = tuple(proposals)
    touched: dict[str, dict[tuple, dict[str, Any]]] = {}
    for proposal in proposals:
        for change in proposal.changes:
            cells = touched.setdefault(change.table, {}).setdefault(change.key, {})
            if change.column in cells:
                raise ValueError(
                    f"{proposal.id}: {_where(change)} is changed by another proposal too; take one of them"
                )
            cells[change.column] = (change, proposal)
    changed: dict[str, Any] = {
        table: _changed(now, table, rows, on) for table, rows in touched.items() if table != "settings"
    }
    sources = dict(now.setting_sources)
    settings = now.settings
    for key, cells in touched.get("settings", {}).items():
        name = key[0][1]
        change, proposal = cells["value"]
        _require_old(getattr(settings, name), change, proposal)
        learned: dict[str, Any] = {name: float(change.new)}
        settings = replace(settings, **learned)
        sources[name] = LEARNED
    if proposals and LEARNED not in {row.id for row in now.sources}:
        changed["sources"] = (*now.sources, LEARNED_SOURCE)
    marks = repr([(c.table, c.key, c.column, c.new) for p in proposals for c in p.changes])
    hash_ = sha256(f"{now.hash} {on} {marks}".encode()).hexdigest() if proposals else now.hash
    return replace(now, **changed, settings=settings, setting_sources=sources, hash=hash_)


def learned_note(note: str, proposal: Proposal, on: date) -> str:
    """Return the note of a row that a proposal has changed: what stood there, and what it was learned from.

    Examples
    --------
    >>> counts = {"jobs": 12, "observations": 40, "shown": 40}
    >>> proposal = Proposal(id="hours-block", subject="hours", changes=(), moved=0.1, **counts)
    >>> once = learned_note("Heavy.", proposal, date(2026, 5, 4))
    >>> once
    'Heavy. (learned from 12 jobs, 2026-05-04)'
    >>> learned_note(once, proposal, date(2026, 8, 1))
    'Heavy. (learned from 12 jobs, 2026-08-01)'
    """
    kept = note.partition("(learned from ")[0].strip()
    return f"{kept} ({proposal.note}, {on})".strip()


def _changed(now: Tables, table: str, touched: dict[tuple, dict[str, tuple[Change, Proposal]]], on: date) -> tuple:
    left = dict(touched)
    rows = []
    for row in getattr(now, table):
        cells = left.pop(tuple(zip(KEYS[table], key_of(row, KEYS[table]), strict=True)), None)
        if cells:
            for change, proposal in cells.values():
                _require_old(getattr(row, change.column), change, proposal)
            _, proposal = next(iter(cells.values()))
            new = {column: float(change.new) for column, (change, _) in cells.items()}
            row = replace(row, **new, source=LEARNED, note=learned_note(row.note, proposal, on))
        rows.append(row)
    for cells in left.values():
        change, proposal = next(iter(cells.values()))
        raise ValueError(f"{proposal.id}: {_where(change)}: there is no such row any more; learn again")
    return tuple(rows)


def _require_old(stands: float, change: Change, proposal: Proposal) -> None:
    if stands != change.old:
        raise ValueError(
            f"{proposal.id}: {_where(change)} is {stands:g} by now, not {change.old:g}; learn again from today's tables"
        )


def _where(change: Change) -> str:
    return f"{change.table}, {', '.join(value for _, value in change.key if value)}, {change.column}"
