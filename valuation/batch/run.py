"""Appraise many pianos in parallel, in order, a few at a time."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice
from multiprocessing import get_context

from valuation import service
from valuation.batch.flat_visit import told_of_row, visit_text
from valuation.batch.pianos import Entry
from valuation.batch.results import Row, row_at_fault, row_of
from valuation.batch.stopping import leave_with_parent, stops_held_back
from valuation.engine.rows import Tables
from valuation.errors import Problem, UserError
from valuation.facts.visit import Visit

_AT_ONCE = 16
"""Pianos handed to a process at a time."""

_AHEAD = 3
"""Handfuls waiting for each process: enough that none is idle, few enough that memory stays flat."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What holds for every piano of a batch.

    Attributes
    ----------
    today : date
        No visit can be later.
    on : date or None
        Day whose rates and bands count; None takes the day of each visit.
    draws, seed : int
        As for `appraise`.
    """

    today: date
    on: date | None = None
    draws: int = 8192
    seed: int = 0


@dataclass(frozen=True, slots=True)
class Result:
    """The row of one piano, and its problems, if any."""

    row: Row
    problems: tuple[Problem, ...] = ()


def appraise_one(entry: Entry, tables: Tables, terms: Terms) -> Result:
    """Return the result of one piano; what a person can mend comes back as its problems."""
    try:
        visit = _read(entry, tables, terms)
        study = service.study_of(visit, tables, on=terms.on or visit.on, draws=terms.draws, seed=terms.seed)
        found = service.headline(study)
    except UserError as error:
        return Result(row_at_fault(entry.shown, error.problems), error.problems)
    except service.NotInForce as error:
        problem = Problem(entry.file, entry.line, "--on" if terms.on else "date", str(error))
        return Result(row_at_fault(entry.shown, [problem]), (problem,))
    return Result(row_of(entry.shown, found))


def _read(entry: Entry, tables: Tables, terms: Terms) -> Visit:
    """Return the visit of an entry; its problems name the file as it was given, and the line of a row."""
    if entry.problems:
        raise UserError(entry.problems)
    try:
        if entry.path is not None:
            return service.read_visit_file(entry.path, tables, terms.today)
        text = visit_text(entry.cells, tables)
        return service.read_visit_text(text, entry.file, tables, terms.today)
    except UserError as error:
        if entry.path is not None:
            raise UserError([replace(problem, file=entry.file) for problem in error.problems]) from None
        told = (told_of_row(problem, entry.file, entry.line, list(entry.cells), tables) for problem in error.problems)
        raise UserError(tuple(told)) from None


def appraise_all(entries: Iterable[Entry], tables: Tables, terms: Terms, jobs: int) -> Iterator[Result]:
    """Yield the result of each piano, in order.

    Parameters
    ----------
    entries : iterable of Entry
        Taken as they are needed, never all at once.
    tables : Tables
        The shop's tables, handed to each process once.
    terms : Terms
        What holds for all of them.
    jobs : int
        How many processes; with 1 the work is done in this one.

    Yields
    ------
    Result
        The same whatever `jobs` is.

    Raises
    ------
    UserError
        If a process was ended from outside.
    """
    if jobs == 1:
        yield from (appraise_one(entry, tables, terms) for entry in entries)
        return
    pool = ProcessPoolExecutor(jobs, get_context("spawn"), initializer=_begin, initargs=(tables, terms))
    waiting: deque[Future[list[Result]]] = deque()
    try:
        for handful in _handfuls(iter(entries)):
            with stops_held_back():
                waiting.append(pool.submit(_appraise_some, handful))
            if len(waiting) > jobs * _AHEAD:
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()
    except BrokenProcessPool:
        message = "a process was ended from outside, perhaps for want of memory; try again with fewer --jobs"
        raise UserError([Problem("batch", 0, "", message)]) from None
    finally:
        pool.shutdown(cancel_futures=True)


def _handfuls(entries: Iterator[Entry]) -> Iterator[tuple[Entry, ...]]:
    while handful := tuple(islice(entries, _AT_ONCE)):
        yield handful


_shop: tuple[Tables, Terms]
"""What a process of the pool works with; set once, when it starts."""


def _begin(tables: Tables, terms: Terms) -> None:
    global _shop  # the pool gives its processes no other place to keep anything
    _shop = (tables, terms)
    leave_with_parent()


def _appraise_some(entries: tuple[Entry, ...]) -> list[Result]:
    tables, terms = _shop
    return [appraise_one(entry, tables, terms) for entry in entries]
