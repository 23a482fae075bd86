"""The search for plans against trying all of them, against all changes of up to three parts, and its budgets."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import small_rules
from all_plans import Book, Search, best_by_changes, cut, net_of, searches
from random_visits import ON, random_client, random_visit

from valuation.engine.decision import RETIRE, aims_of
from valuation.engine.plans import Plan
from valuation.engine.rows.tables import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of, what_if
from valuation.rules import load_tables

MOST = 200_000
"""So many partial plans are carried on at once."""
PIANOS = 12
"""In the normal run; `tests/endurance/all_plans_of_many.py` tries those of 1,500."""


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="module")
def small() -> Tables:
    return small_rules.tables()


def studied(tables: Tables, rng: np.random.Generator) -> tuple[Study, Answer]:
    study = study_of(random_visit(tables, rng), tables, on=ON)
    return study, decide_at(study)


def of_search(answer: Answer, search: Search) -> Plan:
    return next(plan for plan in answer.found[search.aim] if plan.opening == search.opening)


# --- that the twin tries all


@pytest.mark.parametrize("seed", range(4))
def test_the_twin_finds_the_best_of_all_plans_of_the_small_tables(small, seed):
    _, answer = studied(small, np.random.default_rng(seed))
    tried = 0
    for search in searches(answer.bench, aims_of(small.scopes)):
        nets = [net_of(answer.bench, answer.payoff, search.opening, choices) for choices in product(*search.choices)]
        tried += len(nets)
        theirs = Book(answer.bench, answer.payoff, search).best(-np.inf, MOST)
        assert theirs == pytest.approx(max(nets), abs=1e-6)
        assert of_search(answer, search).net == pytest.approx(max(nets), abs=1e-6)
    assert tried > 300


def test_the_twin_finds_the_best_of_all_plans_of_the_shop_cut_to_two_choices(tables):
    rng = np.random.default_rng(8)
    _, answer = studied(tables, rng)
    found = list(searches(answer.bench, aims_of(tables.scopes)))
    for i in rng.permutation(len(found))[:6].tolist():
        few = cut(found[i], of_search(answer, found[i]), 2, rng)
        book = Book(answer.bench, answer.payoff, few)
        terms, prices = np.ones((1, len(book.weight))), np.zeros(1)
        for part, price in zip(book.terms, book.prices, strict=True):
            terms = (terms[:, None, :] * part).reshape(-1, len(book.weight))
            prices = (prices[:, None] + price).ravel()
        every = book.constant + terms @ book.weight - prices
        assert book.best(-np.inf, MOST) == pytest.approx(every.max(), abs=1e-6)


# --- the search


def test_no_plan_is_missed_of_all_with_four_choices_for_each_part(tables):
    rng = np.random.default_rng(21)
    tried = 0
    for _ in range(PIANOS):
        study, answer = studied(tables, rng)
        for search in searches(answer.bench, aims_of(tables.scopes)):
            plan = of_search(answer, search)
            assert net_of(answer.bench, answer.payoff, plan.opening, plan.choices) == pytest.approx(plan.net, abs=1e-6)
            best = Book(answer.bench, answer.payoff, cut(search, plan, 4, rng)).best(plan.net, MOST)
            assert best is not None
            assert best <= plan.net + 1e-6 + 0.001 * study.market.sound, (study.visit, search.aim)
            tried += 1
    assert tried > 40 * PIANOS


def test_the_best_plan_of_each_scope_is_the_best_of_all_there_are(tables):
    rng = np.random.default_rng(22)
    missed, proved = 0, 0
    for _ in range(PIANOS):
        study, answer = studied(tables, rng)
        for search in searches(answer.bench, aims_of(tables.scopes)):
            first = answer.found[search.aim][0].net
            best = Book(answer.bench, answer.payoff, search).best(first, MOST // 10)
            if best is None:
                continue
            proved += 1
            missed += best > first + 1e-6
            assert best <= first + 0.001 * study.market.sound, (study.visit, search.aim)
    assert proved > 40 * PIANOS
    assert missed <= proved / 500


def test_no_change_of_up_to_three_parts_betters_the_best_plan_of_a_scope(tables):
    rng = np.random.default_rng(23)
    for _ in range(3):
        _, answer = studied(tables, rng)
        for search in searches(answer.bench, aims_of(tables.scopes)):
            plan = answer.found[search.aim][0]
            if plan.opening == search.opening:
                best = best_by_changes(answer.bench, answer.payoff, search, plan, 3)
                assert best == pytest.approx(plan.net, abs=1e-6), (search.aim, plan)


# --- budgets


def test_a_budget_leaves_the_best_way_within_it_and_changes_no_price_that_it_allows(small):
    rng = np.random.default_rng(24)
    turned = 0
    for _ in range(15):
        visit = random_visit(small, rng, client=replace(random_client(rng), budget=None))
        study = study_of(visit, small, on=ON)
        free = decide_at(study).decision
        for share in (0.5, 0.99, 1.01):
            budget = share * max(scope.price for scope in free.best.values())
            held = decide_at(study, what_if(study, budget=budget)).decision
            for option, scope in held.best.items():
                fits = option in free.best and free.best[option].price <= budget
                # What does not fit gives way to the best of its kind that does, if there is one.
                assert not fits or scope.price == free.best[option].price
                assert fits or scope.price <= budget or scope.price == free.best[option].price
            within = [o for o in held.nets if o == RETIRE or held.best[o].price <= budget]
            if held.furniture and visit.client.to_have <= 0 and "keep" in within:
                within.remove("keep")
            assert held.verdict == max(within, key=lambda option: held.nets[option])
            turned += held.verdict != free.verdict
    assert turned > 0
