"""The engine's odds of faults, states and causes against exact inference of pyAgrum, and against all that can be.

Both are given the tables' own rows: odds, tilts, readings and views are looked up here anew, apart from the engine. The
worst-of rule is written out as nodes: each part has a chain of nodes, each the worse of the one before and one fault.
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import small_rules
from random_visits import ON, random_visit

from valuation.engine.condition import Condition, assess
from valuation.engine.rows.condition import FaultRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import CAUSES, LEVELS_OF_CAUSE, SEVERITIES, STATES
from valuation.facts.visit import Piano, Visit
from valuation.rules import load_tables

with warnings.catch_warnings():
    # Its compiled half warns of its own deprecations while it loads, and crashes where warnings are errors.
    warnings.simplefilter("ignore", DeprecationWarning)
    import pyagrum


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="module")
def small() -> Tables:
    return small_rules.tables()


# --- the tables' rows, looked up anew


def odds_at(tables: Tables, fault: str, piano: Piano, age: float) -> np.ndarray:
    """Return the odds of a fault's severities at an age: straight in the logarithm, in the narrowest build's rows."""
    tier = piano.tier or next(row.id for row in tables.tiers if row.usual)
    of_fault = [row for row in tables.fault_odds if row.fault == fault]
    builds = (*sorted(piano.features), f"tier:{tier}", piano.kind, "")
    build = next(build for build in builds if any(row.build == build for row in of_fault))
    rows = sorted((row for row in of_fault if row.build == build), key=lambda row: row.age)
    logs = np.log([[getattr(row, severity) for severity in SEVERITIES] for row in rows])
    odds = np.exp([np.interp(max(age, 0), [row.age for row in rows], logs[:, s]) for s in range(4)])
    return odds / odds.sum()


def prior(tables: Tables, fault: FaultRow, piano: Piano, level: str) -> np.ndarray:
    """Return the odds of a fault's severities where its cause has a level."""
    renewed = dict(piano.renewed).get(fault.part)
    built = piano.year if piano.year is not None else tables.settings.usual_year
    spread = {(True, True): 3, (True, False): 3, (False, True): 1, (False, False): 0}[
        piano.year is None, piano.year_is_about
    ] * tables.settings.about_years
    age = ON.year - max(built, renewed or built)
    if renewed is not None:
        spread = 0.0
    # A normal spread of years in three points: Gauss and Hermite's nodes and weights.
    odds = sum(
        weight * odds_at(tables, fault.id, piano, age + spread * node)
        for node, weight in ((-(3**0.5), 1 / 6), (0.0, 4 / 6), (3**0.5, 1 / 6))
    )
    if not fault.tilt:
        return odds
    row = next(row for row in tables.tilts if (row.cause, row.id) == (fault.cause, fault.tilt))
    step = dict(zip(LEVELS_OF_CAUSE[fault.cause], (row.mild, row.usual, row.hard), strict=True))[level]
    tilted = odds * np.exp(step * np.arange(4))
    return tilted / tilted.sum()


def readings(tables: Tables, name: str, given: tuple[str, ...]) -> np.ndarray:
    rows = {row.given: [getattr(row, s) for s in SEVERITIES] for row in tables.readings if row.id == name}
    return np.array([rows[g] for g in given])


# --- pyAgrum


class Tree:
    """The whole network as pyAgrum's, for one visit."""

    def __init__(self, tables: Tables, visit: Visit, condition: Condition) -> None:
        self.net = pyagrum.BayesNet()
        self.evidence: dict[str, list[float]] = {}
        for cause in CAUSES:
            levels = {row.id: row.odds for row in tables.hidden if row.cause == cause}
            odds = np.array([levels[level] for level in LEVELS_OF_CAUSE[cause]])
            self._node(cause, 3, "", [odds / odds.sum()])
        for fault in condition.network.faults:
            levels = LEVELS_OF_CAUSE[fault.cause] if fault.tilt else ("",)
            odds = [prior(tables, fault, visit.piano, level) for level in levels]
            self._node(f"fault {fault.id}", 4, fault.cause if fault.tilt else "", odds)
        for part in condition.network.parts:
            self._worst(part.id, [row for row in condition.network.faults if row.part == part.id])
        self._checks(tables, condition)

    def _node(self, name: str, size: int, below: str, table: list[np.ndarray]) -> None:
        self.net.add(pyagrum.LabelizedVariable(name, "", size))
        if below:
            self.net.addArc(below, name)
            for i, row in enumerate(table):
                self.net.cpt(name)[{below: i}] = list(row)
        else:
            self.net.cpt(name)[:] = list(table[0])

    def _worst(self, part: str, faults: list[FaultRow]) -> None:
        """Hang the part's state at the end of a chain: the worse of what was before and what one more fault makes."""
        before = ""
        for i, fault in enumerate(faults):
            makes = [0, *(STATES.index(getattr(fault, f"makes_{s}")) for s in SEVERITIES[1:])]
            name = f"part {part}" if i == len(faults) - 1 else f"worst {part} {i}"
            self.net.add(pyagrum.LabelizedVariable(name, "", 4))
            self.net.addArc(f"fault {fault.id}", name)
            if before:
                self.net.addArc(before, name)
            for s, t in product(range(4), range(4) if before else (0,)):
                at = {f"fault {fault.id}": s} | ({before: t} if before else {})
                self.net.cpt(name)[at] = [float(state == max(makes[s], t)) for state in range(4)]
            before = name

    def _checks(self, tables: Tables, condition: Condition) -> None:
        network, evidence = condition.network, condition.evidence
        has_view = any(row.id == "view" for row in tables.readings)
        for i, check in enumerate(evidence.checks):
            row = network.checks[check]
            if row.reads in CAUSES:
                below, given = row.reads, LEVELS_OF_CAUSE[row.reads]
            else:
                below, given = f"fault {row.reads}", SEVERITIES
                alike = [
                    c
                    for c in evidence.checks
                    if (network.checks[c].reads, network.checks[c].family) == (row.reads, row.family)
                ]
                if has_view and row.family and len(alike) > 1:
                    name = f"view {row.reads} {row.family}"
                    if name not in self.net.names():
                        self._node(name, 4, below, list(readings(tables, "view", SEVERITIES)))
                    below = name
            self._node(f"check {check}", 4, below, list(readings(tables, row.sureness, given)))
            self.evidence[f"check {check}"] = evidence.weights[i].tolist()

    def posterior(self, names: list[str]) -> np.ndarray:
        inference = pyagrum.LazyPropagation(self.net)
        inference.setEvidence(self.evidence)
        inference.setTargets(set(names))
        inference.makeInference()
        return np.array([inference.posterior(name).toarray() for name in names])


@pytest.mark.parametrize("seed", range(12))
def test_odds_agree_with_exact_inference_of_pyagrum_with_the_worst_of_nodes_written_out(tables, small, seed):
    rng = np.random.default_rng(seed)
    book = small if seed % 3 == 0 else tables
    visit = random_visit(book, rng, kind=("upright", "grand")[seed % 2], made=(0.3, 0.7, 1.0)[seed % 3])
    condition = assess(book, visit, ON)
    network, tree = condition.network, Tree(book, visit, condition)
    theirs = tree.posterior([f"fault {row.id}" for row in network.faults])
    assert np.abs(condition.severities - theirs).max() < 1e-12
    theirs = tree.posterior([f"part {row.id}" for row in network.parts])
    assert np.abs(condition.states - theirs).max() < 1e-12
    air, use = tree.posterior(list(CAUSES))
    causes = condition.causes.reshape(3, 3)
    assert np.abs(causes.sum(axis=1) - air).max() < 1e-12
    assert np.abs(causes.sum(axis=0) - use).max() < 1e-12


VIEW = {
    "none": (0.9, 0.08, 0.015, 0.005),
    "slight": (0.1, 0.8, 0.08, 0.02),
    "marked": (0.02, 0.1, 0.8, 0.08),
    "severe": (0.005, 0.02, 0.1, 0.875),
}
"""How one look shows a thing that several checks look at; invented."""


@pytest.mark.parametrize("seed", range(4))
def test_several_looks_at_one_thing_agree_with_exact_inference_of_pyagrum(small, seed):
    views = (
        replace(small.readings[0], id="view", given=given, **dict(zip(SEVERITIES, shares, strict=True)))
        for given, shares in VIEW.items()
    )
    book = replace(
        small,
        checks=tuple(replace(row, family="pins") if row.reads == "pins_loose" else row for row in small.checks),
        readings=(*small.readings, *views),
    )
    visit = random_visit(book, np.random.default_rng(seed), made=1.0)
    condition = assess(book, visit, ON)
    tree = Tree(book, visit, condition)
    assert "view pins_loose pins" in tree.net.names()
    theirs = tree.posterior([f"fault {row.id}" for row in condition.network.faults])
    assert np.abs(condition.severities - theirs).max() < 1e-12
    apart = assess(small, visit, ON)
    assert np.abs(condition.severities - apart.severities).max() > 1e-6


# --- everything that can be


@pytest.mark.parametrize("seed", range(12))
def test_odds_agree_with_the_sum_over_all_causes_and_severities(small, seed):
    rng = np.random.default_rng(100 + seed)
    visit = random_visit(small, rng, made=(0.0, 0.4, 1.0)[seed % 3])
    condition = assess(small, visit, ON)
    network, evidence = condition.network, condition.evidence
    count = len(network.faults)
    vectors = np.stack(np.meshgrid(*[np.arange(4)] * count, indexing="ij")).reshape(count, -1)  # (F, 4 ** F)
    hidden = {(row.cause, row.id): row.odds for row in small.hidden}
    weights = np.empty((9, vectors.shape[1]))
    for h, (air, use) in enumerate(product(LEVELS_OF_CAUSE["air"], LEVELS_OF_CAUSE["use"])):
        chance = hidden["air", air] * hidden["use", use] * np.ones(vectors.shape[1])
        for f, fault in enumerate(network.faults):
            chance = (
                chance * prior(small, fault, visit.piano, {"air": air, "use": use, "": ""}[fault.cause])[vectors[f]]
            )
        for i, check in enumerate(evidence.checks):
            row, speaks = network.checks[check], evidence.weights[i]
            if row.reads in CAUSES:
                told = readings(small, row.sureness, LEVELS_OF_CAUSE[row.reads])
                chance *= told[LEVELS_OF_CAUSE[row.reads].index({"air": air, "use": use}[row.reads])] @ speaks
            else:
                chance *= (readings(small, row.sureness, SEVERITIES) @ speaks)[vectors[network.index[row.reads]]]
        weights[h] = chance
    weights /= weights.sum()
    assert np.abs(condition.causes - weights.sum(axis=1)).max() < 1e-13
    together = weights.sum(axis=0)
    for f in range(count):
        assert np.abs(condition.severities[f] - np.bincount(vectors[f], together, minlength=4)).max() < 1e-13
    for p, part in enumerate(network.parts):
        mine = [f for f, row in enumerate(network.faults) if row.part == part.id]
        makes = np.array(
            [[0, *(STATES.index(getattr(network.faults[f], f"makes_{s}")) for s in SEVERITIES[1:])] for f in mine]
        )
        worst = np.max([makes[i][vectors[f]] for i, f in enumerate(mine)], axis=0)
        assert np.abs(condition.states[p] - np.bincount(worst, together, minlength=4)).max() < 1e-13
