"""What knowing a fault is worth: against the posterior with that fault pinned, and against planning everything anew."""

from __future__ import annotations

from dataclasses import replace

import demo_pianos
import numpy as np
import pytest
import small_rules
from random_visits import ON, in_words, random_visit

from valuation.engine.choices import Weighed
from valuation.engine.condition import Condition, infer
from valuation.engine.decision import OPTIONS
from valuation.engine.knowing import Candidate, Known, worth_of_checks
from valuation.engine.next_looks import candidates_of, known_of
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.facts.visit import Client, Finding, Visit
from valuation.rules import load_tables


@pytest.fixture(scope="module")
def tables() -> Tables:
    return in_words(load_tables())


@pytest.fixture(scope="module")
def small() -> Tables:
    return in_words(small_rules.tables())


# --- a fault pinned


def pinned(condition: Condition, fault: int, severity: int) -> Condition:
    """Return the posterior once it is certain how severe a fault is: one finding more, that can't err."""
    evidence, certain = condition.evidence, np.eye(4)[severity]
    more = replace(
        evidence,
        checks=(*evidence.checks, "certain"),
        weights=np.vstack([evidence.weights, certain]),
        numbers=(*evidence.numbers, None),
        faults=np.append(evidence.faults, fault),
        columns=(*evidence.columns, certain),
        family=(*evidence.family, "certain"),
    )
    return infer(condition.network, condition.prior, more, condition.view)


def part_of_plan(
    study: Study, condition: Condition, menu: Weighed, n: int, scale: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return the terms of one ladder, and its price before tax, given the cause, by its rungs' masks alone."""
    network, ladder, p = condition.network, menu.menu.ladders[n], menu.menu.part
    faults = slice(network.first[p], network.first[p + 1])
    given, makes = condition.faults_given[faults], network.makes[faults]
    terms, price = np.zeros((9, menu.weights.shape[2])), np.zeros(9)
    for k, rung in enumerate(ladder.rungs):
        r = menu.menu.first[n] + k
        states = makes[np.arange(len(makes))[:, None], np.array(rung.left)]
        whole = (rung.operation, *rung.further) if rung.operation else ()
        paid = scale * study.prices.labour(whole) + study.prices.other(whole)
        cure = menu.menu.small[r]
        each = scale * (study.prices.setup_labour[cure] + study.extent.pieces[faults] * study.prices.piece_labour[cure])
        each = each + study.prices.setup_other[cure] + study.extent.pieces[faults] * study.prices.piece_other[cure]
        for mask, sign in ((menu.menu.mask[:, :, r], 1), (menu.menu.before[:, :, r], -1)):
            at_most = [np.einsum("ghs,gs->gh", given, mask * (states <= t)).prod(axis=0) for t in range(4)]
            terms += sign * np.diff(at_most, axis=0, prepend=0).T @ menu.weights[menu.kind[r]]
            mass = np.einsum("ghs,gs->gh", given, mask)
            price += sign * paid * mass.prod(axis=0)
            for g in range(len(given)):
                others = np.delete(mass, g, axis=0).prod(axis=0)
                price += sign * others * (given[g] @ (mask[g] * each[g]))
    return terms, price


def net_of(study: Study, answer: Answer, candidate: Candidate, condition: Condition) -> float:
    """Return what a candidate is worth under a condition."""
    scale = answer.figures.hours_scale * answer.figures.rate_scale
    net = candidate.payoff.constant + candidate.allowance
    terms = np.ones((9, len(candidate.payoff.coefficients)))
    if candidate.plan is None:
        for p in range(len(condition.network.parts)):
            terms[:, 0] *= condition.states_given[p] @ study.market.factor[p]
        return net + float(condition.causes @ terms @ candidate.payoff.coefficients)
    net -= float(answer.bench.opening_price[candidate.plan.opening])
    spent = np.zeros(9)
    for menu, n in zip(answer.bench.weighed, candidate.plan.choices, strict=True):
        one, price = part_of_plan(study, condition, menu, n, scale)
        terms *= one
        spent += price
    return net + float(condition.causes @ (terms @ candidate.payoff.coefficients - spent))


@pytest.mark.parametrize("seed", range(6))
def test_a_share_is_the_net_under_the_posterior_with_the_fault_pinned(tables, small, seed):
    rng = np.random.default_rng(40 + seed)
    book = small if seed % 2 else tables
    study = study_of(random_visit(book, rng), book, on=ON)
    answer = decide_at(study)
    known, candidates = known_of(study, answer), candidates_of(study, answer)
    condition = study.condition
    size = np.abs(known.nets).max() + study.market.sound
    for k in {0, len(candidates) - 1, *rng.integers(len(candidates), size=2).tolist()}:
        assert known.nets[k] == pytest.approx(net_of(study, answer, candidates[k], condition), abs=1e-10 * size)
        assert known.shares[k].sum(axis=1) == pytest.approx(
            np.full(len(condition.network.faults), known.nets[k]), abs=1e-9 * size
        )
        assert known.by_cause[k].sum() == pytest.approx(known.nets[k], abs=1e-10 * size)
        for f in rng.permutation(len(condition.network.faults))[:12].tolist():
            for s in range(4):
                certain = net_of(study, answer, candidates[k], pinned(condition, f, s))
                assert known.shares[k, f, s] == pytest.approx(condition.severities[f, s] * certain, abs=1e-10 * size)
        for h in range(9):
            certain = net_of(study, answer, candidates[k], replace(condition, causes=np.eye(9)[h]))
            assert known.by_cause[k, h] == pytest.approx(condition.causes[h] * certain, abs=1e-10 * size)


def test_what_is_known_of_the_ways_is_what_they_are_worth(tables, small):
    rng = np.random.default_rng(50)
    for i in range(10):
        book = small if i % 2 else tables
        study = study_of(random_visit(book, rng), book, on=ON)
        answer = decide_at(study)
        known = known_of(study, answer)
        ways = [option for option in answer.decision.best if answer.decision.affordable[option]]
        for k, option in enumerate(ways):
            assert known.options[k] == option
            assert known.nets[k] == pytest.approx(answer.decision.nets[option], abs=1e-6)
        assert known.nets[-1] == pytest.approx(answer.decision.nets["retire"], abs=1e-6)


# --- everything planned anew

NO_MATTER = 12.0
"""A worth below this is no reason to look: less than ten minutes of a visit [money]."""


def open_checks(study: Study) -> list[CheckRow]:
    done = {finding.check for finding in study.visit.findings}
    return [row for row in study.condition.network.checks.values() if row.id not in done and not row.family]


def best_net(answer: Answer) -> float:
    decision = answer.decision
    return max(net for option, net in decision.nets.items() if option in OPTIONS and decision.affordable[option])


def full_worth(study: Study, answer: Answer, known: Known, check: CheckRow) -> float:
    """Return what a check is worth with everything planned anew after each reading, or as planned if that is better."""
    network, condition = study.condition.network, study.condition
    sure, held = network.sureness[check.id], int(known.nets.argmax())
    if check.reads in network.index:
        f = network.index[check.reads]
        chance, as_held = condition.severities[f] @ sure, known.shares[held, f] @ sure
    else:
        chance, as_held = condition.causes @ sure, known.by_cause[held] @ sure
    total = 0.0
    for reading, severity in enumerate(SEVERITIES):
        visit = replace(study.visit, findings=(*study.visit.findings, Finding(check=check.id, grade=severity)))
        anew = best_net(decide_at(study_of(visit, study.tables, on=ON)))
        total += max(chance[reading] * anew, as_held[reading])
    return total - float(known.nets[held])


def compared(book: Tables, visit: Visit, rng: np.random.Generator, most: int) -> tuple[np.ndarray, np.ndarray]:
    """Return what checks are worth, by the engine and with all planned anew: those it ranks first, and others."""
    study = study_of(visit, book, on=ON)
    answer = decide_at(study)
    known = known_of(study, answer)
    checks = open_checks(study)
    worths = np.array([worth.gain for worth in worth_of_checks(known, study.condition, checks)])
    assert (worths >= 0).all()
    order = np.argsort(-worths, kind="stable")
    some = order.tolist()
    if len(some) > most:
        some = [*some[: most // 2], *rng.permutation(some[most // 2 :])[: most - most // 2].tolist()]
    return worths[some], np.array([full_worth(study, answer, known, checks[i]) for i in some])


def test_the_checks_picked_in_the_small_tables_are_worth_the_most_within_a_twentieth(small):
    rng = np.random.default_rng(60)
    picked, best, lost = 0.0, 0.0, 0
    for _ in range(40):
        visit = random_visit(small, rng, made=0.3, client=Client(horizon_years=15))
        ours, full = compared(small, visit, rng, 10)
        assert full.min() > -1e-6
        picked, best = picked + full[ours.argmax()], best + full.max()
        lost += full[ours.argmax()] < 0.95 * full.max() - NO_MATTER
    assert best > 5000
    assert picked >= 0.95 * best
    # Where a rule offers a way only once something is found, the candidates of today say too little of it.
    assert lost <= 3


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_the_check_picked_is_worth_the_most_within_a_twentieth(tables, kind):
    rng = np.random.default_rng(61)
    for made in (0.15, 0.5):
        visit = random_visit(tables, rng, kind=kind, made=made, client=Client(horizon_years=15))
        ours, full = compared(tables, visit, rng, 16)
        assert full.min() > -1e-6
        assert full[ours.argmax()] >= 0.95 * full.max() - NO_MATTER, (ours, full)


@pytest.mark.parametrize("name", ["1_fine_old_grand", "8_concert_society_grand"])
def test_nothing_turns_between_a_rebuild_and_a_repair_at_nearly_its_price(name):
    study, answer = demo_pianos.study_of(name), demo_pianos.answer_of(name)
    assert any(scope.why_not == "near_rebuild" for scope in answer.decision.scopes)
    network, row = study.condition.network, study.condition.network.checks["action_felts"]
    chance = study.condition.severities[network.index[row.reads]] @ network.sureness[row.id]
    turns = 0.0
    for share, severity in zip(chance, SEVERITIES, strict=True):
        visit = replace(study.visit, findings=(*study.visit.findings, Finding(check=row.id, grade=severity)))
        anew = decide_at(study_of(visit, study.tables, on=visit.on)).decision
        turns += float(share) * (anew.verdict != answer.decision.verdict)
    (worth,) = worth_of_checks(known_of(study, answer), study.condition, [row])
    assert worth.chance_to_turn == pytest.approx(turns, abs=0.05)
