"""A paper held against today's tables: worked out anew from what it was made from. Nothing of it is stored."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.rows import Tables
from valuation.errors import StoreError, TableError
from valuation.files.recorded_visit import visit_as_text, visit_of_text
from valuation.files.set_levels import allowed_levels
from valuation.report.changed_rows import ChangedRow, changed_rows
from valuation.report.moved import Moved, MovedFigure, figures_of, what_moved
from valuation.rules.kept_tables import tables_of
from valuation.service.paper_parts import study_of_paper
from valuation.service.visits import Shop
from valuation.service.written import no_paper
from valuation.store import papers

__all__ = ["ChangedRow", "Compared", "Moved", "MovedFigure", "paper_today"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What moved since a paper was made.

    Attributes
    ----------
    moved : Moved
        The verdict and the figures.
    same_tables : bool
        The tables are those of the paper.
    rows : tuple of ChangedRow
        Rows that differ, those that bear on this piano first.
    fault : str
        Why the rows can't be compared; empty if they can.
    set_aside : dict of field to str
        What the visit held and today's tables don't allow, with the reason.
    levels_gone : tuple of str
        Parts set by hand then, in a way that today's tables don't allow.
    prices_kept : bool
        The prices by the shop's sales are those of the paper.
    changed_since : tuple of str
        Fields of the visit that say something else by now; they are not in the comparison.
    """

    moved: Moved
    same_tables: bool
    rows: tuple[ChangedRow, ...]
    fault: str
    set_aside: dict[str, str]
    levels_gone: tuple[str, ...]
    prices_kept: bool
    changed_since: tuple[str, ...]


def paper_today(store: Shop, paper: str, tables: Tables, *, today: date) -> Compared:
    """Work out what a paper was made from with today's tables and prices, and return what moved.

    Parameters
    ----------
    store : Shop
        The open store.
    paper : str
        Id of the paper.
    tables : Tables
        The shop's tables of today.
    today : date
        Day whose prices count.

    Raises
    ------
    StoreError
        If there is no such paper.
    NotInForce
        If the tables hold nothing for today.
    """
    with store.store.reading() as connection:
        made = papers.with_id(connection, paper)
        if made is None:
            raise no_paper()
    visit, aside = visit_of_text(made.visit_text, tables)
    found = report(study_of_paper(replace(made, priced_on=today), visit, tables))
    rows: tuple[ChangedRow, ...] = ()
    fault = ""
    if tables.hash != made.tables_hash:
        try:
            with store.store.reading() as connection:
                then = tables_of(papers.files_of_tables(connection, made.tables_hash), made.tables_hash)
            rows = changed_rows(then, tables, _rests_on(found))
        except (StoreError, TableError) as error:
            fault = error.problems[0].message
    now = store.open_visit(made.visit, tables).visit
    levels = made.given.get("pins", {})
    return Compared(
        moved=what_moved(made.figures, figures_of(found)),
        same_tables=tables.hash == made.tables_hash,
        rows=rows,
        fault=fault,
        set_aside=aside,
        levels_gone=tuple(part for part in levels if part not in allowed_levels(levels, visit, tables)),
        prices_kept=made.given.get("sold") is not None,
        changed_since=_differing(visit_as_text(visit), visit_as_text(now)),
    )


def _differing(then: str, now: str) -> tuple[str, ...]:
    before, after = json.loads(then), json.loads(now)
    return tuple(name for name in dict.fromkeys([*before, *after]) if before.get(name) != after.get(name))


def _rests_on(found: Appraisal) -> frozenset[str]:
    """Return the rows that an appraisal rests on, as its results name them."""
    parts = [row for part in found.parts for row in (*part.rows, *(r for f in part.findings for r in f.rows))]
    lines = [row for option in found.options for line in option.lines for row in line.rows]
    named = [x.rows for x in found.allowances] + [x.rows for x in found.reasons]
    return frozenset([*parts, *lines, *(row for rows in named for row in rows)])
