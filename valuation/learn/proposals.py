"""What was learned as proposals: which cell, from what, to what, on what evidence. Nothing changes until one is taken.

A proposal stands or falls as a whole: the rows of one table of odds rise in ratio only together.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from valuation.engine.rows import SEVERITIES, CureRow, OperationRow, SourceRow, Tables
from valuation.learn.condition_tables import ConditionLearned, LearnedTable, ages_of
from valuation.learn.hours import FamilyRatio, HoursLearned, family_of
from valuation.learn.rising import percent_written, written

HOURS, READING, ODDS, SETTING = "hours", "reading", "odds", "setting"

LEARNED = "shop_own"
"""Source of every row that learning has changed."""

LEARNED_SOURCE = SourceRow(
    id=LEARNED, kind="shop's own estimate", title="Learned from the shop's own jobs and taken in by its owner"
)

LEAST_JOBS = 3
"""A ratio of hours is proposed from so many jobs on; before that it is hardly more than the prior."""

LEAST_MOVE = 0.01
"""What moves by less is not worth a proposal: share of the hours, or of the odds of one row [-]."""

BEYOND = 1.5
"""A proposal has a cell whose old figure lies so many times as far from the new one as the limit of 9 in 10 does [-].

Tables that are right then get hardly one in fifty, and of rows that are off about nine in ten move towards the truth:
`tests/benchmark/proposals.py`, by which it was chosen.
"""

_HOURS = ("hours_low", "hours_likely", "hours_high")
_PIECE = ("piece_low", "piece_likely", "piece_high")
KEYS = {
    "operations": ("id", "kinds"),
    "cures": ("operation", "fault"),
    "readings": ("id", "given"),
    "fault_odds": ("fault", "build", "age"),
}
"""Columns that tell the rows of a table apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One cell.

    Attributes
    ----------
    table : str
        Such as ``operations``; ``settings`` for the file of single figures.
    key : tuple of (column, value)
        Which row; for a setting ``(("name", NAME),)``.
    old : float
        As it stands today.
    new : str
        As it is to be written.
    low, high : float
        In 9 of 10 cases the true figure lies between them.
    """

    table: str
    key: tuple[tuple[str, str], ...]
    column: str
    old: float
    new: str
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A change that the shop's own jobs speak for.

    Attributes
    ----------
    id : str
        Such as ``hours-block``, ``reading-blunt``, ``odds-holes_worn-grand``; ``odds-holes_worn`` for all builds.
    subject : str
        ``hours``, ``reading``, ``odds`` or ``setting``.
    changes : tuple of Change
        All of them, or none.
    jobs : int
        Finished jobs, or pianos opened, behind it.
    observations : int
        Operations done, findings made, or pianos seen.
    shown : int
        Those of the findings or pianos whose true severity teardown showed; for hours the same as `observations`.
    moved : float
        How far the furthest row moves: share of its hours, or of its odds [-].
    ratio, low, high : float or None
        Of hours: learned over the prior, which is what held before any job, with the limits of 9 in 10 [-].
    """

    id: str
    subject: str
    changes: tuple[Change, ...]
    jobs: int
    observations: int
    shown: int
    moved: float
    ratio: float | None = None
    low: float | None = None
    high: float | None = None

    @property
    def beyond(self) -> float:
        """How far the furthest cell moves, in distances of its limit on the side of the old figure [-]."""
        return max(map(_beyond, self.changes), default=0.0)

    @property
    def is_made(self) -> bool:
        """Whether it is worth a word, and more than what chance alone would move."""
        return self.moved >= LEAST_MOVE and self.beyond > BEYOND

    @property
    def note(self) -> str:
        """What the evidence was, in a few words."""
        if self.subject in (HOURS, SETTING):
            return f"learned from {self.jobs} jobs"
        return f"learned from {self.jobs} jobs, {self.observations} observations"


def _beyond(change: Change) -> float:
    new = float(change.new)
    reach = new - change.low if change.old < new else change.high - new
    return abs(new - change.old) / reach if reach > 0 else 0.0


def propose_hours(learned: HoursLearned, start: Tables, now: Tables) -> tuple[Proposal, ...]:
    """Return a proposal for each family of operations whose hours should change, and one for how whole jobs run over.

    Set-up and pieces of an operation move by the same factor: jobs tell their sum.

    Parameters
    ----------
    learned : HoursLearned
        Learned from `start`.
    start : Tables
        As from `before_learning`.
    now : Tables
        Those in force, which would be changed.
    """
    before = {
        table: {key_of(row, KEYS[table]): row for row in getattr(start, table)} for table in ("operations", "cures")
    }
    found = []
    for family in learned.families:
        if family.jobs < LEAST_JOBS:
            continue
        operations = [row for row in now.operations if family_of(row, now) == family.family]
        ids = {row.id for row in operations}
        cures = [row for row in now.cures if row.operation in ids]
        changes = [c for row in operations for c in _moved("operations", row, _HOURS, before, family)]
        changes += [c for row in cures for c in _moved("cures", row, _PIECE, before, family)]
        moved = max((abs(float(c.new) / c.old - 1) for c in changes if c.old), default=0.0)
        found.append(
            Proposal(
                id=f"hours-{family.family}",
                subject=HOURS,
                changes=tuple(changes),
                jobs=family.jobs,
                observations=family.observations,
                shown=family.observations,
                moved=moved,
                ratio=family.ratio,
                low=family.low,
                high=family.high,
            )
        )
    found += _job_spread(learned, now)
    return tuple(proposal for proposal in found if proposal.is_made)


def propose_condition(learned: ConditionLearned, now: Tables) -> tuple[Proposal, ...]:
    """Return a proposal for how sure each sort of check is, and for the odds of each fault, that should change.

    Parameters
    ----------
    learned : ConditionLearned
        Learned from the tables that `before_learning` gives.
    now : Tables
        Those in force, which would be changed.
    """
    found = []
    for name, table in learned.readings.items():
        keys: list[tuple[tuple[str, str], ...]] = [(("id", name), ("given", severity)) for severity in SEVERITIES]
        found.append(_shares(f"reading-{name}", READING, "readings", keys, table, now, learned.opened))
    for (fault, build), table in learned.odds.items():
        keys = [(("fault", fault), ("build", build), ("age", f"{age:g}")) for age in ages_of(now, (fault, build))]
        id_ = "-".join(filter(None, ("odds", fault, build)))
        found.append(_shares(id_, ODDS, "fault_odds", keys, table, now, table.opened))
    return tuple(proposal for proposal in found if proposal.is_made)


def key_of(row: Any, columns: Sequence[str]) -> tuple[str, ...]:
    """Return what stands in these columns of a row, as a file has it."""
    cells = (getattr(row, column) for column in columns)
    return tuple(f"{cell:g}" if isinstance(cell, float) else cell for cell in cells)


def _moved(
    table: str, row: OperationRow | CureRow, columns: Sequence[str], before: dict[str, dict], family: FamilyRatio
) -> list[Change]:
    """Return what the ratio of its family changes in a row."""
    key = key_of(row, KEYS[table])
    first = before[table].get(key, row)
    changes = []
    for column in columns:
        old, prior = getattr(row, column), getattr(first, column)
        if prior <= 0:
            continue
        new = _short(prior * family.ratio)
        if float(new) != old:
            changes.append(
                Change(
                    table=table,
                    key=tuple(zip(KEYS[table], key, strict=True)),
                    column=column,
                    old=old,
                    new=new,
                    low=prior * family.low,
                    high=prior * family.high,
                )
            )
    return changes


def _short(hours: float) -> str:
    """Write hours in three figures, without a needless point or an exponent."""
    digits = max(2 - math.floor(math.log10(hours)), 0)
    text = f"{round(hours, digits):.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _job_spread(learned: HoursLearned, now: Tables) -> tuple[Proposal, ...]:
    old, new = now.settings.job_spread, f"{learned.job_spread:.2f}"
    if learned.jobs < 4 * LEAST_JOBS:
        return ()
    change = Change(
        table="settings",
        key=(("name", "job_spread"),),
        column="value",
        old=old,
        new=new,
        low=learned.job_spread_low,
        high=learned.job_spread_high,
    )
    return (
        Proposal(
            id="setting-job_spread",
            subject=SETTING,
            changes=(change,),
            jobs=learned.jobs,
            observations=learned.jobs,
            shown=learned.jobs,
            moved=abs(float(new) - old),
        ),
    )


def _shares(
    id_: str,
    subject: str,
    table: str,
    keys: Sequence[tuple[tuple[str, str], ...]],
    learned: LearnedTable,
    now: Tables,
    jobs: int,
) -> Proposal:
    """Return a proposal for rows of shares; odds of faults are written of 100."""
    rows = {key_of(row, KEYS[table]): row for row in getattr(now, table)}
    whole = 100 if subject == ODDS else 1
    cells = percent_written(learned.shares) if subject == ODDS else written(learned.shares)
    changes, moved = [], 0.0
    for i, key in enumerate(keys):
        row = rows[tuple(value for _, value in key)]
        old = np.array([getattr(row, column) for column in SEVERITIES])
        moved = max(moved, float(np.abs(np.array(cells[i], dtype=float) - old).sum() / 2 / whole))
        changes += [
            Change(
                table=table,
                key=key,
                column=column,
                old=float(old[j]),
                new=cells[i][j],
                low=whole * float(learned.low[i, j]),
                high=whole * float(learned.high[i, j]),
            )
            for j, column in enumerate(SEVERITIES)
            if float(cells[i][j]) != old[j]
        ]
    return Proposal(
        id=id_,
        subject=subject,
        changes=tuple(changes),
        jobs=jobs,
        observations=learned.findings,
        shown=learned.opened,
        moved=moved,
    )
