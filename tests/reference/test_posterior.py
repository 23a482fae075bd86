"""The odds of the parts' states against two other programs: naive Bayes of scikit-learn, exact inference of pyAgrum.

Both are given the shop's own tables; the tree for pyAgrum is written down from the rows, apart from the engine's own.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from random_pianos import in_words, live, random_piano, random_visit
from sklearn.naive_bayes import CategoricalNB

from valuation.engine.condition import Condition, age_bands, assess, net_for, see
from valuation.engine.evidence import grade_weights
from valuation.engine.rows import EXPOSURES, GRADES, HISTORY, STATES, Tables
from valuation.facts.visit import Visit
from valuation.rules import load_tables

with warnings.catch_warnings():
    # Its compiled half warns of its own deprecations while it loads, and crashes where warnings are errors.
    warnings.simplefilter("ignore", DeprecationWarning)
    import pyagrum


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


def condition_of(tables: Tables, visit: Visit) -> Condition:
    net = net_for(tables, visit.piano.kind, tuple(sorted(visit.piano.features)))
    return assess(net, see(net, visit), age_bands(tables, net, visit.piano, visit.on.year))


def strength(tables: Tables, name: str, given: tuple[str, ...]) -> np.ndarray:
    rows = {row.given: [getattr(row, grade) for grade in GRADES] for row in tables.strengths if row.id == name}
    return np.array([rows[g] for g in given])


def prior(tables: Tables, part: str, age: str, exposure: str) -> list[float]:
    row = next(r for r in tables.priors if (r.part, r.age, r.exposure) == (part, age, exposure))
    return [getattr(row, state) for state in STATES]


def naive_bayes(odds: list[float], looks: list[np.ndarray]) -> CategoricalNB:
    """Return scikit-learn's classifier with the given odds and tables instead of fitted ones."""
    model = CategoricalNB(min_categories=4).fit(np.zeros((4, len(looks)), dtype=int), np.arange(4))
    model.class_log_prior_ = np.log(odds)
    model.feature_log_prob_ = [np.log(table) for table in looks]
    return model


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_a_part_agrees_with_naive_bayes_of_scikit_learn_once_the_exposure_is_known(tables, kind):
    rng = np.random.default_rng(1)
    words = in_words(tables)
    families = {row.id: row for row in tables.families}
    compared = 0
    for _ in range(10):
        lived = live(words, random_piano(tables, rng, kind), 1, rng)
        # One look at each thing: then a view and its check are one table between state and grade.
        checks = list(lived.net.checks.values())
        seen = [row.family for row in checks]
        first = np.array([seen.index(family) == c for c, family in enumerate(seen)])
        lived.grades[:, ~first] = -1
        condition = lived.condition(0)
        for p, part in enumerate(lived.net.parts):
            made = [
                c for c, row in enumerate(checks) if lived.grades[0, c] >= 0 and families[row.family].part == part.id
            ]
            if not made:
                continue
            looks = [
                strength(tables, families[checks[c].family].view, STATES) @ strength(tables, checks[c].strength, STATES)
                for c in made
            ]
            for h, exposure in enumerate(EXPOSURES):
                odds = prior(tables, part.id, tables.ages[lived.ages[p]].id, exposure)
                theirs = naive_bayes(odds, looks).predict_proba(lived.grades[:, made])[0]
                assert condition.given[p, h] == pytest.approx(theirs, abs=1e-12)
                compared += 1
    assert compared > 200


def tree(tables: Tables, visit: Visit) -> pyagrum.BayesNet:
    """Return the whole tree as pyAgrum's: history, parts, one view for each family, one node for each check."""
    net = pyagrum.BayesNet()
    net.add(pyagrum.LabelizedVariable("exposure", "", 3))
    net.cpt("exposure")[:] = [row.odds for row in tables.exposures]
    edges = [row.from_years for row in tables.ages]
    renewed = dict(visit.piano.renewed)

    def hang(name: str, below: str, table: list) -> None:
        net.add(pyagrum.LabelizedVariable(name, "", 4))
        net.addArc(below, name)
        for i, row in enumerate(table):
            net.cpt(name)[{below: i}] = list(row)

    for part in tables.parts:
        if part.present == "always" or part.present in visit.piano.features:
            years = visit.on.year - renewed.get(part.id, visit.piano.year)
            age = tables.ages[max(i for i, edge in enumerate(edges) if edge <= years)].id
            hang(f"part {part.id}", "exposure", [prior(tables, part.id, age, e) for e in EXPOSURES])
    families = {row.id: row for row in tables.families}
    for check in tables.of_kind("checks", visit.piano.kind).values():
        family = families[check.family]
        if family.part == HISTORY:
            hang(f"check {check.id}", "exposure", strength(tables, check.strength, EXPOSURES))
        elif f"part {family.part}" in net.names():
            if f"view {family.id}" not in net.names():
                hang(f"view {family.id}", f"part {family.part}", strength(tables, family.view, STATES))
            hang(f"check {check.id}", f"view {family.id}", strength(tables, check.strength, STATES))
    return net


@pytest.mark.parametrize("kind", ["upright", "grand"])
@pytest.mark.parametrize("seed", range(10))
def test_the_whole_tree_agrees_with_exact_inference_of_pyagrum(tables, kind, seed):
    rng = np.random.default_rng([seed, len(kind)])
    visit = random_visit(tables, rng, kind=kind, made=rng.uniform(0.1, 1))
    net = tree(tables, visit)
    inference = pyagrum.LazyPropagation(net)
    found = {finding.check: finding for finding in visit.findings}
    for check in tables.of_kind("checks", kind).values():
        finding = found.get(check.readings_of or check.id)
        if finding:
            inference.addEvidence(f"check {check.id}", grade_weights(check, finding, finding.readings).tolist())
    inference.makeInference()
    condition = condition_of(tables, visit)
    assert condition.exposure == pytest.approx(inference.posterior("exposure").toarray(), abs=1e-12)
    for p, part in enumerate(condition.net.parts):
        assert condition.states[p] == pytest.approx(inference.posterior(f"part {part.id}").toarray(), abs=1e-12)
