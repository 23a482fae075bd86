"""What must hold of the engine's answers: worse is worse, good news stays where it is, every fault can be read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import small_rules
from hypothesis import given, settings
from hypothesis import strategies as st
from random_visits import ON, finding_of, network_for, random_client, random_piano, random_visit

from valuation.engine.condition import Condition, assess, prior_of, states_of, weighted_band
from valuation.engine.condition_told import whole_score
from valuation.engine.network import Network
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import STATES
from valuation.engine.study import decide_at, study_of
from valuation.facts.visit import Finding, Piano, Visit
from valuation.rules import load_tables

TABLES = load_tables()
SMALL = small_rules.tables()
CLOSE = 1e-9

seeds = st.integers(0, 2**32 - 1)
some = settings(max_examples=40, deadline=None, derandomize=True)
few = settings(max_examples=25, deadline=None, derandomize=True)


def also(visit: Visit, *findings: Finding) -> Visit:
    """Return the visit with these findings instead of any other by the same checks."""
    names = {finding.check for finding in findings}
    return replace(visit, findings=(*(f for f in visit.findings if f.check not in names), *findings))


def without(visit: Visit, check: str) -> Visit:
    return replace(visit, findings=tuple(f for f in visit.findings if f.check != check))


def base_checks(network: Network) -> list[CheckRow]:
    return [row for row in network.checks.values() if not row.readings_of]


def worse(tables: Tables, network: Network, rng: np.random.Generator) -> tuple[CheckRow, Finding, Finding]:
    """Return a check, a finding by it, and a worse one."""
    while True:
        check = base_checks(network)[int(rng.integers(len(base_checks(network))))]
        low = int(rng.integers(3))
        one, two = (finding_of(tables, check, s, rng) for s in (low, int(rng.integers(low + 1, 4))))
        if one.grade != two.grade or (one.readings and one.readings != two.readings):
            return check, one, two


def whole(tables: Tables, visit: Visit) -> float:
    return whole_score(study_of(visit, tables, on=ON))[0]


def component_scores(tables: Tables, condition: Condition) -> np.ndarray:
    parts = condition.network.parts
    weights = [np.array([p.score_weight * (p.component == row.id) for p in parts]) for row in tables.components]
    return np.array([weighted_band(condition, w)[0] if w.any() else 0.0 for w in weights])


# --- worse is worse


@some
@given(seeds, st.sampled_from(["small", "shop"]))
def test_no_worse_finding_raises_a_part_a_component_or_the_whole(seed, book):
    rng, tables = np.random.default_rng(seed), SMALL if book == "small" else TABLES
    visit = random_visit(tables, rng)
    check, one, two = worse(tables, network_for(tables, visit.piano), rng)
    if check.summary in ("pieces", "worst_section") or check.summary.startswith("share"):
        one, two = (finding_of(tables, check, s, rng) for s in (0, 3))
    better, bad = (assess(tables, also(visit, finding), ON) for finding in (one, two))
    assert (bad.scores <= better.scores + CLOSE).all(), (check.id, bad.scores - better.scores)
    at_most = np.cumsum(bad.states, axis=1) <= np.cumsum(better.states, axis=1) + CLOSE
    assert at_most.all(), check.id
    assert (component_scores(tables, bad) <= component_scores(tables, better) + CLOSE).all()
    assert whole(tables, also(visit, two)) <= whole(tables, also(visit, one)) + CLOSE


@some
@given(seeds, st.sampled_from(["small", "shop"]))
def test_no_worse_finding_raises_the_net_of_keeping(seed, book):
    rng, tables = np.random.default_rng(seed), SMALL if book == "small" else TABLES
    visit = random_visit(tables, rng, client=replace(random_client(rng), budget=None))
    check, one, two = worse(tables, network_for(tables, visit.piano), rng)
    if check.summary in ("pieces", "worst_section") or check.summary.startswith("share"):
        one, two = (finding_of(tables, check, s, rng) for s in (0, 3))
    nets = []
    for finding in (one, two):
        study = study_of(also(visit, finding), tables, on=ON)
        nets.append(decide_at(study).decision.nets["keep"])
    assert nets[1] <= nets[0] + 0.001 * study.market.sound, (check.id, check.reads, nets)


# --- good news stays where it is


@few
@given(seeds)
def test_a_good_finding_about_one_fault_changes_another_only_through_the_cause(seed):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng)
    network = network_for(TABLES, visit.piano)
    check = base_checks(network)[int(rng.integers(len(base_checks(network))))]
    before = assess(TABLES, without(visit, check.id), ON)
    after = assess(TABLES, also(visit, finding_of(TABLES, check, 0, rng)), ON)
    read = {row.reads for row in network.checks.values() if check.id in (row.id, row.readings_of)}
    others = [f for f, row in enumerate(network.faults) if row.id not in read]
    assert np.abs(after.faults_given[others] - before.faults_given[others]).max() < 1e-12
    # What moves the cause moves every other fault by it alone.
    alone = np.tensordot(after.causes, before.faults_given, axes=(0, 1))[others]
    assert np.abs(after.severities[others] - alone).max() < 1e-12
    # No good news of one fault makes another likelier to be bad.
    assert (np.cumsum(after.severities, axis=1)[others] >= np.cumsum(before.severities, axis=1)[others] - 1e-12).all()


# --- every fatal fault can be read


def fatal(network: Network) -> list[str]:
    return [row.id for row in network.faults if row.makes_severe == "failed"]


READ_LESS_SURELY = {
    ("upright", "board_no_tone"): (0.55, 0.93),
    ("upright", "block_wet"): (0.33, 0.81),
    ("upright", "hammers_felt_thin"): (0.69, 0.97),
    ("grand", "board_no_tone"): (0.55, 0.93),
    ("grand", "block_wet"): (0.33, 0.81),
    ("grand", "hammers_felt_thin"): (0.69, 0.97),
}
"""Faults that are rare, or told by a blunt check: (kind, fault) to the odds of failed, and of worn or failed."""


def read_at_worst(kind: str) -> dict[str, tuple[float, float]]:
    """Return for each fatal fault how surely its part reads failed, and worn or failed, with all else good."""
    rng = np.random.default_rng(1)
    piano = Piano(kind=kind, year=1925)
    network = network_for(TABLES, piano)
    found = {}
    for fault in fatal(network):
        good = [finding_of(TABLES, row, 0, rng) for row in base_checks(network) if row.reads != fault]
        reads = []
        for check in base_checks(network):
            if check.reads == fault:
                worst = finding_of(TABLES, check, 3, rng)
                visit = Visit(title="one fault", on=ON, piano=piano, findings=(*good, worst))
                states = assess(TABLES, visit, ON).states[network.part_of[network.index[fault]]]
                reads.append((float(states[3]), float(states[2:].sum())))
        if reads:
            found[fault] = max(reads)
    return found


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_a_fatal_fault_alone_read_at_its_worst_by_its_best_check_makes_its_part_failed(kind):
    found = read_at_worst(kind)
    assert len(found) > 40
    short = {fault: both for fault, both in found.items() if both[0] < 0.8 or both[1] < 0.95}
    listed = {fault: both for (of, fault), both in READ_LESS_SURELY.items() if of == kind}
    assert short.keys() == listed.keys(), short
    for fault, both in short.items():
        assert both == pytest.approx(listed[fault], abs=0.03), fault


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_all_good_reads_as_failed_nowhere(kind):
    rng = np.random.default_rng(2)
    piano = Piano(kind=kind, year=1925)
    findings = tuple(finding_of(TABLES, row, 0, rng) for row in base_checks(network_for(TABLES, piano)))
    condition = assess(TABLES, Visit(title="all good", on=ON, piano=piano, findings=findings), ON)
    assert condition.states[:, STATES.index("failed")].max() < 0.005


# --- unseen


@few
@given(seeds)
def test_an_unseen_part_reads_near_what_the_tables_say(seed):
    rng = np.random.default_rng(seed)
    visit = replace(random_visit(TABLES, rng), findings=())
    condition = assess(TABLES, visit, ON)
    network = condition.network
    # The tables' own odds: each fault by itself, in ordinary air and use, nothing tilted.
    prior = prior_of(TABLES, network, visit.piano, ON.year)
    ordinary = np.repeat(prior[:, 4:5], 9, axis=1)
    expected = states_of(network, ordinary)[:, 0]
    assert np.abs(condition.states - expected).max() < 0.06


@few
@given(seeds)
def test_good_news_of_one_part_hardly_moves_an_unseen_one(seed):
    rng = np.random.default_rng(seed)
    piano = replace(random_piano(TABLES, rng), renewed=())
    network = network_for(TABLES, piano)
    part = int(rng.integers(len(network.parts)))
    findings = tuple(
        finding_of(TABLES, row, 0, rng)
        for row in base_checks(network)
        if row.reads in network.index and network.part_of[network.index[row.reads]] == part
    )
    unseen, seen = (
        assess(TABLES, Visit(title="unseen", on=ON, piano=piano, findings=found), ON) for found in ((), findings)
    )
    moved = np.abs(np.delete(seen.states - unseen.states, part, axis=0))
    assert moved.max() < 0.06
