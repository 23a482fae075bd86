"""The network of one sort of piano: hidden causes -> severity of each fault -> what a check gets to read.

In: the tables, a kind, features, a tier. Out: a `Network` of arrays, made once and kept. The formula:

    chance of severity s of fault f, cause h  ~  odds of f at its age [s] * exp(s * tilt of f under h)

Tilting keeps likelihood ratios in order, so that a worse finding never makes anything else look better. Each fault
is tilted by its stronger cause alone: with both, one could explain the other away.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.rows.condition import FaultRow, OddsRow, PartRow
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import CAUSES, LEVELS_OF_CAUSE, SEVERITIES, STATES

OLDEST = 200
"""Odds are laid out for each year of age up to this one [years]."""

AIR_OF = np.repeat(np.arange(3), 3)
USE_OF = np.tile(np.arange(3), 3)
"""Level of the air, and of the use, in each of the nine joint causes."""


@dataclass(frozen=True, eq=False)
class Pieces:
    """How the pieces of a thing read, by severity: at the middle of each step, as logarithms."""

    middles: Floats
    log_shares: Floats
    alike: float


@dataclass(frozen=True, eq=False)
class Network:
    """One sort of piano as arrays. P parts, F faults ordered by part, 9 joint causes, 4 severities or states.

    Attributes
    ----------
    part_of : ndarray of int, shape (F,)
    first : ndarray of int, shape (P + 1,)
        Faults of part p are ``first[p]:first[p + 1]``.
    makes : ndarray of int, shape (F, 4)
        State that each severity makes of its part.
    makes_at_most : ndarray, shape (F, 4, 4)
        1 where severity s makes state t or better, ``[f, s, t]``.
    log_odds : ndarray, shape (F, OLDEST + 1, 4)
    tilt : ndarray, shape (F, 9)
    hidden : ndarray, shape (9,)
        Odds of the joint causes before anything is known.
    sureness : dict of str to ndarray
        Chance of each reading, given the severity, shape (4, 4); or given the joint cause, shape (9, 4).
    middles : ndarray, shape (4,)
        Middle of each state's stretch of the score.
    """

    kind: str
    parts: tuple[PartRow, ...]
    faults: tuple[FaultRow, ...]
    index: dict[str, int]
    part_index: dict[str, int]
    part_of: Ints
    first: Ints
    makes: Ints
    makes_at_most: Floats
    log_odds: Floats
    tilt: Floats
    hidden: Floats
    checks: dict[str, CheckRow]
    sureness: dict[str, Floats]
    pieces: dict[str, Pieces]
    stretches: Floats
    middles: Floats


def fits(row: FaultRow | CheckRow | PartRow | object, kind: str, features: tuple[str, ...]) -> bool:
    """Tell whether a row is for pianos of this kind with these features."""
    kinds = getattr(row, "kinds", "both")
    only_with: tuple[str, ...] = getattr(row, "only_with", ())
    not_with: tuple[str, ...] = getattr(row, "not_with", ())
    return (
        kinds in (kind, "both")
        and (not only_with or any(name in features for name in only_with))
        and not any(name in features for name in not_with)
    )


@lru_cache(maxsize=32)
def network_of(tables: Tables, kind: str, features: tuple[str, ...], tier: str) -> Network:
    """Return the network of pianos of one kind, with these features and of this tier."""
    with_faults = {row.part for row in tables.faults if fits(row, kind, features)}
    parts = tuple(row for row in tables.parts if fits(row, kind, features) and row.id in with_faults)
    part_index = {row.id: p for p, row in enumerate(parts)}
    faults = tuple(
        sorted(
            (row for row in tables.faults if row.part in part_index and fits(row, kind, features)),
            key=lambda row: part_index[row.part],
        )
    )
    index = {row.id: f for f, row in enumerate(faults)}
    part_of = np.array([part_index[row.part] for row in faults], dtype=np.intp)
    makes = np.array([[0, *(STATES.index(getattr(row, f"makes_{s}")) for s in SEVERITIES[1:])] for row in faults])
    stretches = np.array([(row.score_low, row.score_high) for row in tables.states])
    checks = {
        row.id: row
        for row in tables.checks
        if fits(row, kind, features) and (row.reads in index or row.reads in CAUSES)
    }
    return Network(
        kind=kind,
        parts=parts,
        faults=faults,
        index=index,
        part_index=part_index,
        part_of=part_of,
        first=np.searchsorted(part_of, np.arange(len(parts) + 1)),
        makes=makes,
        makes_at_most=(makes[:, :, None] <= np.arange(4)).astype(float),
        log_odds=np.stack([_log_odds(tables, row, builds_of(kind, features, tier)) for row in faults]),
        tilt=_tilts(tables, faults),
        hidden=_hidden(tables),
        checks=checks,
        sureness={row.id: _sureness(tables, row) for row in checks.values()},
        pieces={row.id: _pieces(tables, row.id) for row in checks.values() if row.summary == "pieces"},
        stretches=stretches,
        middles=stretches.mean(axis=1),
    )


@lru_cache(maxsize=8)
def _odds_by_build(tables: Tables) -> dict[tuple[str, str], list[OddsRow]]:
    found: dict[tuple[str, str], list[OddsRow]] = {}
    for row in tables.fault_odds:
        found.setdefault((row.fault, row.build), []).append(row)
    return found


def odds_rows(tables: Tables, fault: str, builds: tuple[str, ...]) -> list[OddsRow]:
    """Return the odds of a fault by age for the first of these builds that has any."""
    by_build = _odds_by_build(tables)
    rows = next(by_build[fault, build] for build in builds if (fault, build) in by_build)
    return sorted(rows, key=lambda row: row.age)


def builds_of(kind: str, features: tuple[str, ...], tier: str) -> tuple[str, ...]:
    """Return the builds that fit a piano, the narrowest first."""
    return (*features, f"tier:{tier}", kind, "")


def _log_odds(tables: Tables, fault: FaultRow, builds: tuple[str, ...]) -> Floats:
    """Return the logarithm of the odds for each year of age, straight between those of the narrowest build."""
    rows = odds_rows(tables, fault.id, builds)
    logs = np.log([[row.none, row.slight, row.marked, row.severe] for row in rows])
    ages = [row.age for row in rows]
    return np.stack([np.interp(np.arange(OLDEST + 1), ages, logs[:, s]) for s in range(4)], axis=1)


def _tilts(tables: Tables, faults: tuple[FaultRow, ...]) -> Floats:
    by_name = {(row.cause, row.id): np.array([row.mild, row.usual, row.hard]) for row in tables.tilts}
    level_of = {"air": AIR_OF, "use": USE_OF}
    return np.stack(
        [by_name[row.cause, row.tilt][level_of[row.cause]] if row.cause and row.tilt else np.zeros(9) for row in faults]
    )


def _hidden(tables: Tables) -> Floats:
    odds = {(row.cause, row.id): row.odds for row in tables.hidden}
    air, use = (np.array([odds[cause, level] for level in LEVELS_OF_CAUSE[cause]]) for cause in CAUSES)
    return np.outer(air / air.sum(), use / use.sum()).ravel()


def _sureness(tables: Tables, check: CheckRow) -> Floats:
    given = {
        row.given: [row.none, row.slight, row.marked, row.severe] for row in tables.readings if row.id == check.sureness
    }
    if check.reads in CAUSES:
        level = AIR_OF if check.reads == "air" else USE_OF
        return np.array([given[name] for name in LEVELS_OF_CAUSE[check.reads]])[level]
    return np.array([given[severity] for severity in SEVERITIES])


def _pieces(tables: Tables, check: str) -> Pieces:
    rows = [row for row in tables.pieces if row.check == check]
    middles = sorted({row.middle for row in rows})
    share = {(row.given, row.middle): row.share for row in rows}
    return Pieces(
        middles=np.array(middles),
        log_shares=np.log([[share[severity, middle] for middle in middles] for severity in SEVERITIES]),
        alike=rows[0].alike,
    )
