"""Made-up pianos for the tests: any findings at all, or findings that their own hidden truth gives rise to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from valuation.engine.condition import Condition, Net, age_bands, assess, net_for, see
from valuation.engine.rows import EXPOSURES, GRADES, HISTORY, CheckRow, Tables
from valuation.facts.visit import Client, Finding, Piano, Reading, Visit

ON = date(2026, 5, 4)


def number_of_grade(check: CheckRow, grade: int, rng: np.random.Generator) -> float:
    """Return a number well within the stretch that a check's cut points give to a grade."""
    cuts = np.array([check.cut_fair, check.cut_poor, check.cut_failed])
    if check.better == "near":
        edges = np.array([0.0, *cuts, 2 * cuts[2] - cuts[1]])
    else:
        edges = np.array([2 * cuts[0] - cuts[1], *cuts, 2 * cuts[2] - cuts[1]])
    number = float(edges[grade] + rng.uniform(0.2, 0.8) * (edges[grade + 1] - edges[grade]))
    if check.better == "near":
        number = check.target + number * float(rng.choice([-1, 1]))
    return float(np.clip(number, check.lowest, check.highest))


def finding_of_grade(check: CheckRow, grade: int, rng: np.random.Generator) -> Finding:
    """Return a finding that reads about so."""
    if check.answer == "choice":
        there = [g for g in range(4) if getattr(check, GRADES[g])]
        return Finding(check=check.id, grade=GRADES[min(there, key=lambda g: abs(g - grade))])
    number = number_of_grade(check, grade, rng)
    if check.answer == "number":
        return Finding(check=check.id, readings=(Reading(value=number),))
    around = number + check.repeats_within * rng.standard_normal(int(rng.integers(3, 25)))
    values = np.clip(around, check.lowest, check.highest)
    return Finding(check=check.id, readings=tuple(Reading(value=float(value)) for value in values))


def random_piano(tables: Tables, rng: np.random.Generator, kind: str = "") -> Piano:
    """Return any piano that the tables can tell of."""
    kind = kind or str(rng.choice(["upright", "grand"]))
    brings = [row.present for row in tables.parts if row.present != "always"]
    sizes = [row for row in tables.sizes if row.kind == kind]
    size = sizes[int(rng.integers(len(sizes)))]
    renewed = [row.id for row in tables.parts if row.present == "always" and rng.random() < 0.1]
    year = int(rng.integers(1870, 1990))
    return Piano(
        kind=kind,
        size_mm=float(rng.uniform(max(size.from_mm, 900), size.to_mm)),
        year=year,
        tier=str(rng.choice([row.id for row in tables.tiers])),
        features=tuple(feature for feature in brings if rng.random() < 0.2),
        renewed=tuple((part, int(rng.integers(year, 2020))) for part in renewed),
    )


def random_client(rng: np.random.Generator) -> Client:
    """Return a client with any wishes, without a budget."""
    return Client(
        wants_to_play=bool(rng.random() < 0.8),
        premium=float(rng.choice([0, 0, 500, 2000, 6000])),
        horizon_years=float(rng.choice([8, 15, 25])),
    )


def random_visit(tables: Tables, rng: np.random.Generator, *, kind: str = "", made: float = 0.5) -> Visit:
    """Return a visit with findings that need not make sense together."""
    piano = random_piano(tables, rng, kind)
    net = net_for(tables, piano.kind, tuple(sorted(piano.features)))
    findings = tuple(
        finding_of_grade(check, int(rng.integers(4)), rng)
        for check in net.checks.values()
        if not check.readings_of and rng.random() < made
    )
    return Visit(title="made up", on=ON, piano=piano, client=random_client(rng), findings=findings)


def condition_of(tables: Tables, visit: Visit) -> Condition:
    """Return what the engine makes of a visit's findings."""
    net = net_for(tables, visit.piano.kind, tuple(sorted(visit.piano.features)))
    return assess(net, see(net, visit), age_bands(tables, net, visit.piano, visit.on.year))


def in_words(tables: Tables) -> Tables:
    """Return the tables with every check answered by one of four words, so that a grade is found as it is drawn."""
    checks = tuple(
        replace(row, answer="choice", summary="", readings_of="", good="a: a", fair="b: b", poor="c: c", failed="d: d")
        for row in tables.checks
    )
    return replace(tables, checks=checks)


@dataclass(frozen=True, eq=False)
class Lived:
    """Pianos with the truth behind them, n of each. P parts, C checks.

    Attributes
    ----------
    exposure : ndarray of int, shape (n,)
    states : ndarray of int, shape (n, P)
    grades : ndarray of int, shape (n, C)
        What each check reads; -1 where it was not made.
    """

    net: Net
    piano: Piano
    ages: np.ndarray
    exposure: np.ndarray
    states: np.ndarray
    grades: np.ndarray

    def visit(self, i: int, client: Client = Client()) -> Visit:  # noqa: B008
        """Return the visit to piano i; the tables must be `in_words`."""
        found = zip(self.net.checks, self.grades[i], strict=True)
        findings = tuple(Finding(check=check, grade=GRADES[grade]) for check, grade in found if grade >= 0)
        return Visit(title=f"piano {i}", on=ON, piano=self.piano, client=client, findings=findings)

    def condition(self, i: int) -> Condition:
        """Return what the engine makes of the findings on piano i."""
        return assess(self.net, see(self.net, self.visit(i)), self.ages)


def live(tables: Tables, piano: Piano, n: int, rng: np.random.Generator, *, made: float = 0.6) -> Lived:
    """Draw pianos from the tables themselves: history, states, views, and what the checks made would read.

    Parameters
    ----------
    tables : Tables
        As from `in_words`.
    made : float
        Share of the checks that is made.
    """
    net = net_for(tables, piano.kind, tuple(sorted(piano.features)))
    ages = age_bands(tables, net, piano, ON.year)
    rows = {(row.part, row.age, row.exposure): row for row in tables.priors}
    strengths = {(row.id, row.given): [getattr(row, grade) for grade in GRADES] for row in tables.strengths}
    exposure = _drawn(np.tile([row.odds for row in tables.exposures], (n, 1)), rng)
    states = np.empty((n, len(net.parts)), dtype=int)
    for p, part in enumerate(net.parts):
        age = tables.ages[ages[p]].id
        odds = [[getattr(rows[part.id, age, e], s.id) for s in tables.states] for e in EXPOSURES]
        states[:, p] = _drawn(np.array(odds)[exposure], rng)
    given = [row.id for row in tables.states]
    place = {part.id: p for p, part in enumerate(net.parts)}
    views = {}
    for row in tables.families:
        if row.part in place:
            view = np.array([strengths[row.view, s] for s in given])
            views[row.id] = _drawn(view[states[:, place[row.part]]], rng)
    about_history = {row.id for row in tables.families if row.part == HISTORY}
    grades = np.empty((n, len(net.checks)), dtype=int)
    for c, check in enumerate(net.checks.values()):
        if check.family in about_history:
            chance = np.array([strengths[check.strength, e] for e in EXPOSURES])[exposure]
        else:
            chance = np.array([strengths[check.strength, s] for s in given])[views[check.family]]
        grades[:, c] = _drawn(chance, rng)
    grades[rng.random(grades.shape) >= made] = -1
    return Lived(net=net, piano=piano, ages=ages, exposure=exposure, states=states, grades=grades)


def _drawn(chance: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Draw one column of each row by its chances."""
    marks = np.cumsum(chance, axis=1)
    return (rng.random((len(chance), 1)) * marks[:, -1:] > marks[:, :-1]).sum(axis=1)
