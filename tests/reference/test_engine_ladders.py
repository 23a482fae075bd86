"""Every ladder of every part of at most seven faults against going through all vectors of its faults."""

from __future__ import annotations

import numpy as np
import pytest
import small_rules
from every_vector import Twin
from random_visits import ON, random_visit

from valuation.engine.rows.tables import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.facts.visit import Finding, Piano, Visit
from valuation.rules import load_tables

MOST_FAULTS = 7


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="module")
def small() -> Tables:
    """The small tables, with one more small repair that is thorough and slow beside one that is quick."""
    return small_rules.tables()


def compare(study: Study, answer: Answer) -> dict[str, int]:
    """Compare every ladder with its twin, and count what was among them."""
    seen = {"ladders": 0, "found": 0, "small": 0, "forbidden": 0, "further": 0, "unneeded": 0}
    causes = study.condition.causes
    for menu in answer.bench.weighed:
        network, p = study.condition.network, menu.menu.part
        if network.first[p + 1] - network.first[p] > MOST_FAULTS:
            continue
        twin = Twin(study, menu)
        for n, ladder in enumerate(menu.menu.ladders):
            treated = twin.treat(n)
            name = f"{network.parts[p].id} {n}: {ladder.policy} {[rung.operation for rung in ladder.rungs]}"
            expected = np.zeros((len(ladder.rungs), 9, 4))
            at = treated.rung * 4 + treated.state
            for h in range(9):
                expected[:, h] = np.bincount(at, twin.chances[h], minlength=4 * len(ladder.rungs)).reshape(-1, 4)
            rungs = slice(menu.menu.first[n], menu.menu.first[n + 1])
            assert np.abs(menu.states[rungs] - expected).max() < 1e-12, name
            terms = np.einsum("rht,rtx->hx", expected, menu.weights[menu.kind[rungs]])
            assert np.abs(menu.terms([n])[0] - terms[:, : menu.moved]).max() < 1e-12, name
            assert np.abs(terms[:, menu.moved :] - 1).max(initial=0) < 1e-12, name
            mixed = causes @ twin.chances
            assert menu.labour[n] == pytest.approx(mixed @ treated.labour, rel=1e-12, abs=1e-9), name
            assert menu.other[n] == pytest.approx(mixed @ treated.other, rel=1e-12, abs=1e-9), name
            assert np.abs(menu.undone[n] - treated.undone @ mixed).max() < 1e-12, name
            assert menu.need[n] == pytest.approx(mixed @ treated.needed, abs=1e-12), name
            seen["ladders"] += 1
            seen["found"] += len(ladder.rungs) > 1
            seen["small"] += any(cure >= 0 for rung in ladder.rungs for row in rung.small for cure in row)
            seen["further"] += any(rung.further for rung in ladder.rungs)
            seen["forbidden"] += any(
                row.operation in {rung.operation for rung in ladder.rungs[:-1]} and row.fault
                for row in study.tables.forbidden
            )
            seen["unneeded"] += bool(ladder.fixed) and not treated.needed.all()
    return seen


@pytest.mark.parametrize("seed", range(10))
def test_ladders_of_the_small_tables_agree_with_all_vectors_of_faults(small, seed):
    rng = np.random.default_rng(seed)
    study = study_of(random_visit(small, rng), small, on=ON)
    seen = compare(study, decide_at(study))
    assert all(seen.values()), seen


def test_a_larger_remedy_is_not_spared_by_a_small_one_that_what_was_found_forbids():
    sure = small_rules.changed("checks", "heads_click", sureness="clear")
    rule = ("reshape,,,straight", "head_glued,heads_loose,marked,,The shanks are split.,invented,\nreshape,,,straight")
    visit = Visit(
        title="loose heads",
        on=ON,
        piano=Piano(kind="upright", year=1925),
        findings=(Finding(check="heads_click", grade="severe"),),
    )
    needs = []
    for book in (small_rules.tables(checks=sure), small_rules.tables(checks=sure, forbidden=rule)):
        study = study_of(visit, book, on=ON)
        answer = decide_at(study)
        assert compare(study, answer)["ladders"]
        menu = answer.bench.weighed[study.condition.network.part_index["hammers"]]
        needs.append(
            max(
                need
                for need, ladder in zip(menu.need.tolist(), menu.menu.ladders, strict=True)
                if (ladder.fixed, ladder.policy, ladder.forced) == ("new_hammers", "broken", False)
            )
        )
    assert needs[0] < 0.1
    assert needs[1] > 0.9


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_ladders_of_every_part_of_at_most_seven_faults_agree_with_all_vectors(tables, kind):
    rng = np.random.default_rng(5)
    for made in (0.0, 0.6):
        study = study_of(random_visit(tables, rng, kind=kind, made=made), tables, on=ON)
        seen = compare(study, decide_at(study))
        assert seen["ladders"] > 150
        assert all(seen.values()), seen
