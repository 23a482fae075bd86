"""What was found to forbid a remedy keeps it out of every rung, and a tuning that may not be done is not charged."""

from __future__ import annotations

import small_rules
from random_visits import ON

from valuation.engine.rows.tables import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of, what_if
from valuation.facts.visit import Finding, Piano, Reading, Visit

SPLIT = Finding(check="block_crack", grade="severe")
DEEP = Finding(check="groove_depth", readings=(Reading(value=2.0),))


def decided(tables: Tables, *findings: Finding, **figures: float) -> tuple[Study, Answer]:
    visit = Visit(title="split", on=ON, piano=Piano(kind="upright", year=1925), findings=findings)
    study = study_of(visit, tables, on=ON)
    return study, decide_at(study, what_if(study, **figures))


def rungs(study: Study, answer: Answer) -> set[str]:
    """Return every larger remedy of every rung of every plan that was found."""
    return {
        rung.operation
        for plans in answer.found.values()
        for plan in plans
        for menu, n in zip(answer.bench.weighed, plan.choices, strict=True)
        for rung in menu.menu.ladders[n].rungs
    } - {""}


def test_what_a_fault_of_the_part_forbids_is_on_no_rung():
    rule = ("reshape,,,straight", "reshape,hammer_groove,marked,,The felt is too thin.,invented,\nreshape,,,straight")
    assert "reshape" in rungs(*decided(small_rules.tables(), DEEP))
    assert "reshape" not in rungs(*decided(small_rules.tables(forbidden=rule), DEEP))


def test_what_a_fault_of_another_part_forbids_is_on_no_rung():
    rule = ("reshape,,,straight", "reshape,wire_rusty,severe,,Rust falls on the felt.,invented,\nreshape,,,straight")
    rusty = Finding(check="string_rust", grade="severe")
    tables = small_rules.tables(forbidden=rule)
    study, answer = decided(tables, DEEP, rusty)
    openings = study.catalogue.access.openings
    for plans in answer.found.values():
        for plan in plans:
            menu = answer.bench.weighed[study.condition.network.part_index["hammers"]]
            ladder = menu.menu.ladders[plan.choices[study.condition.network.part_index["hammers"]]]
            if "reshape" in {rung.operation for rung in ladder.rungs}:
                assert openings[plan.opening].forced("strings"), "new wire goes on, or the hammers stay as they are"
    assert "reshape" in rungs(*decided(tables, DEEP))


def test_a_tuning_that_may_not_be_done_is_taken_off_once_and_at_the_price_of_its_hours():
    own_tuning = small_rules.changed("operations", "strings_away", covers="tune")
    seen = set()
    for tables in (small_rules.tables(), small_rules.tables(operations=own_tuning)):
        for hours in (1.0, 2.0):
            study, answer = decided(tables, SPLIT, hours_scale=hours)
            for scope in answer.decision.scopes:
                lines = hours * study.prices.labour(scope.operations) + study.prices.other(scope.operations)
                choices = zip(answer.bench.price, scope.plan.choices, strict=True)
                assert abs(scope.price - lines - sum(float(price[n]) for price, n in choices)) < 1e-9
                assert scope.tuned or not {"tune", "pitch_raise"} & scope.operations
                seen.add((scope.name, scope.tuned))
    assert ("safe", False) in seen


def test_a_piano_that_may_not_be_pulled_up_is_no_better_to_keep_for_it():
    low = Finding(check="pitch_fall", readings=(Reading(value=-140.0),))
    rust = [Finding(check="string_rust", grade=grade) for grade in ("slight", "marked", "severe")]
    keeps = [decided(small_rules.tables(), low, finding)[1].decision.best["keep"] for finding in rust]
    assert "pitch_raise" in keeps[0].operations
    assert "pitch_raise" not in keeps[2].operations
    assert keeps[2].price < keeps[0].price, "it is tuned where it stands"
    assert keeps[0].net > keeps[1].net > keeps[2].net
