"""How good the engine is on pianos drawn from its own tables; each measure has a bar that a broken engine misses.

This tests the arithmetic and the calibration, not whether the tables are true: that only teardowns can show.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np
import pytest
from random_pianos import ON, Lived, in_words, live, random_client
from random_workshops import brought, rows_of
from scipy import stats

from valuation.engine.condition import Condition, assess, band, net_for, see, weighted_band
from valuation.engine.decision import PARTIAL, REBUILD
from valuation.engine.rows import EXPOSURES, GRADES, HISTORY, STATES, Tables
from valuation.engine.study import Study
from valuation.facts.visit import Finding, Piano, Visit
from valuation.rules import load_tables

PIANOS = [
    Piano(kind="upright", size_mm=1320, year=1905, tier="good"),
    Piano(kind="grand", size_mm=1900, year=1925, tier="high", features=("separate_tenor_bridge",)),
    Piano(kind="upright", size_mm=1150, year=1968, tier="ordinary", renewed=(("hammers", 1995),)),
    Piano(kind="grand", size_mm=2100, year=1890, tier="finest"),
]
EACH = 1000


@pytest.fixture(scope="module")
def words() -> Tables:
    return in_words(load_tables())


@pytest.fixture(scope="module")
def seen(words) -> list[tuple[Lived, list[Condition]]]:
    """Pianos with the truth behind them, and what the engine makes of six in ten of the checks."""
    rng = np.random.default_rng(20)
    lots = [live(words, piano, EACH, rng) for piano in PIANOS]
    return [(lived, [lived.condition(i) for i in range(EACH)]) for lived in lots]


def log_loss(odds: np.ndarray, states: np.ndarray) -> float:
    return float(-np.log(np.take_along_axis(odds, states[..., None], axis=-1)).mean())


def test_the_log_score_of_a_part_beats_the_odds_before_looking_by_four_tenths(seen):
    before, after = [], []
    for lived, conditions in seen:
        nothing = assess(lived.net, see(lived.net, Visit(title="", on=ON, piano=lived.piano)), lived.ages)
        before.append(log_loss(np.broadcast_to(nothing.states, (EACH, *nothing.states.shape)), lived.states))
        after.append(log_loss(np.array([condition.states for condition in conditions]), lived.states))
    assert np.mean(before) - np.mean(after) >= 0.4


def test_all_parts_together_tell_how_it_has_lived_beyond_what_is_told_of_it(seen):
    told, known = [], []
    for lived, conditions in seen:
        about_history = lived.net.family_part < 0
        alone = np.array([c.family_seen[about_history, :3].prod(axis=0) for c in conditions]) * lived.net.exposure_prior
        told.append(log_loss(alone / alone.sum(axis=1, keepdims=True), lived.exposure))
        known.append(log_loss(np.array([condition.exposure for condition in conditions]), lived.exposure))
    assert np.mean(told) - np.mean(known) >= 0.04


def test_the_band_of_a_parts_score_covers_the_truth_in_eight_of_ten(seen):
    rng = np.random.default_rng(21)
    inside = []
    for lived, conditions in seen:
        low, high = lived.net.stretches.T
        for condition, states in zip(conditions, lived.states, strict=True):
            truth = rng.uniform(low[states], high[states])
            bands = np.array([band(odds, lived.net.stretches) for odds in condition.states])
            inside.append((bands[:, 0] <= truth) & (truth <= bands[:, 1]))
    assert 0.77 <= np.concatenate(inside).mean() <= 0.87


def test_parts_called_worn_or_failed_in_so_many_of_100_are_so_in_as_many(seen):
    said = np.concatenate([[c.states[:, 2:].sum(axis=1) for c in conditions] for _, conditions in seen], axis=None)
    true = np.concatenate([lived.states >= 2 for lived, _ in seen], axis=None)
    tenth = np.minimum((said * 10).astype(int), 9)
    gaps = [abs(said[tenth == t].mean() - true[tenth == t].mean()) * (tenth == t).mean() for t in np.unique(tenth)]
    assert sum(gaps) <= 0.02


def number_of_bad(condition: Condition) -> tuple[float, float]:
    """Return mean and variance of how many parts are worn or failed; the history that they share widens it."""
    bad = condition.given[:, :, 2:].sum(axis=2)
    mean = bad.sum(axis=0)
    within = (bad * (1 - bad)).sum(axis=0)
    overall = condition.exposure @ mean
    return float(overall), float(condition.exposure @ (within + (mean - overall) ** 2))


def test_the_number_of_bad_parts_is_as_uncertain_as_it_is_said_to_be(seen):
    scaled = []
    for lived, conditions in seen:
        for condition, states in zip(conditions, lived.states, strict=True):
            mean, variance = number_of_bad(condition)
            scaled.append(((states >= 2).sum() - mean) / np.sqrt(variance))
    assert 0.95 <= np.std(scaled) <= 1.05
    assert abs(np.mean(scaled)) <= 4 / np.sqrt(len(scaled))


def test_before_looking_the_number_of_bad_parts_is_as_uncertain_as_it_is_said_to_be(words):
    # Here nothing but the shared history makes the parts go together.
    lived = live(words, PIANOS[0], 4000, np.random.default_rng(22), made=0)
    mean, variance = number_of_bad(lived.condition(0))
    assert 0.95 <= np.std(((lived.states >= 2).sum(axis=1) - mean) / np.sqrt(variance)) <= 1.05


def test_the_band_of_the_whole_piano_covers_the_truth_in_eight_of_ten(seen):
    rng = np.random.default_rng(23)
    inside = []
    for lived, conditions in seen:
        low, high = lived.net.stretches.T
        weights = np.array([part.value_weight for part in lived.net.parts])
        for condition, states in zip(conditions, lived.states, strict=True):
            truth = rng.uniform(low[states], high[states]) @ weights / weights.sum()
            _, least, most = weighted_band(condition, weights)
            inside.append(least <= truth <= most)
    assert 0.77 <= np.mean(inside) <= 0.87


def looks_alike(words: Tables, kind: str) -> Iterator[tuple[str, str, str]]:
    """Go through every two checks of one family, and every grade that both read alike."""
    features = ("separate_tenor_bridge",)
    net = net_for(words, kind, features)
    about_part = {row.id for row in words.families if row.part != HISTORY}
    for one, other in combinations(net.checks.values(), 2):
        if one.family == other.family and one.family in about_part:
            yield from ((one.id, other.id, grade) for grade in GRADES)


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_a_second_look_that_agrees_never_lowers_what_both_speak_for(words, kind):
    piano = Piano(kind=kind, features=("separate_tenor_bridge",))
    net = net_for(words, kind, piano.features)
    compared = 0
    for one, other, grade in looks_alike(words, kind):
        # What a look speaks for is the state that makes its grade likeliest.
        speaks = [net.view[net.check_family[c]] @ net.strength[c][:, GRADES.index(grade)] for c in (one, other)]
        state = int(speaks[0].argmax())
        if state != int(speaks[1].argmax()):
            continue
        part = net.family_part[net.check_family[one]]
        for age in range(len(words.ages)):
            once, twice = (
                assess(net, see(net, visit_of(piano, checks, grade)), np.full(len(net.parts), age)).states[part, state]
                for checks in ((one,), (one, other))
            )
            assert twice >= once - 1e-12, (one, other, grade)
            compared += 1
    assert compared >= 100


def visit_of(piano: Piano, checks: tuple[str, ...], grade: str) -> Visit:
    return Visit(title="", on=ON, piano=piano, findings=tuple(Finding(check=c, grade=grade) for c in checks))


@pytest.mark.parametrize("kind", ["upright", "grand"])
def test_ten_looks_at_one_thing_tell_no_more_than_the_thing_itself(words, kind):
    net = net_for(words, kind, ())
    for family in {net.check_family[check] for check in net.checks}:
        part = net.family_part[family]
        checks = tuple(check for check in net.checks if net.check_family[check] == family)
        if part < 0 or len(checks) < 2:
            continue
        states = assess(net, see(net, visit_of(Piano(kind=kind), checks, "failed")), np.full(len(net.parts), 3)).states
        nothing = assess(net, see(net, visit_of(Piano(kind=kind), (), "failed")), np.full(len(net.parts), 3)).states
        # Odds of failed against sound rise by no more than a clear view of the thing would raise them.
        rise = states[part, 3] / states[part, 0] / (nothing[part, 3] / nothing[part, 0])
        ceiling = net.view[family][3] / net.view[family][0]
        assert rise <= ceiling.max() * (1 + 1e-9)


def test_every_table_rises_from_good_to_failed_with_the_truth():
    # Totally positive of order 2: then a worse finding can never speak for a better state.
    tables = load_tables()
    rows = {}
    for row in tables.strengths:
        rows.setdefault(row.id, {})[row.given] = [getattr(row, grade) for grade in GRADES]
    for name, table in rows.items():
        order = EXPOSURES if set(table) == set(EXPOSURES) else STATES
        rises([table[given] for given in order], name)
    odds = {(row.part, row.age, row.exposure): [getattr(row, state) for state in STATES] for row in tables.priors}
    for part in tables.parts:
        for age in tables.ages:
            rises([odds[part.id, age.id, exposure] for exposure in EXPOSURES], f"{part.id} {age.id}")
        for exposure in EXPOSURES:
            rises([odds[part.id, age.id, exposure] for age in tables.ages], f"{part.id} {exposure}")


def rises(table: list[list[float]], name: str) -> None:
    for better, worse in pairwise(np.array(table)):
        assert (better[:-1] * worse[1:] - better[1:] * worse[:-1] >= -1e-12).all(), name


# --- the whole chain: findings, plan, teardown, hours, price


def true_price(study: Study, plan: np.ndarray, states: np.ndarray, rng: np.random.Generator) -> float:
    """Return what the job comes to in the end: written down apart from the engine, with plain random numbers."""
    shop, prices, tables = study.shop, study.prices, study.tables
    rows = rows_of(shop)
    names = {shop.operations[o].id for o in np.flatnonzero(study.rules.base)}
    for part, choice in enumerate(plan):
        if shop.choices[choice].operation >= 0:
            planned = actual = shop.operations[shop.choices[choice].operation].id
            while STATES.index(rows[actual].holds_to) < states[part]:
                actual = rows[actual].instead
            names |= brought(rows, [actual]) | needed(rows, planned)
    names -= {other for name in names for other in rows[name].covers}
    # Hours share how the job runs over; materials and bought-in work share how dear things are.
    job, dear = rng.standard_normal(2)
    labour = bought = 0.0
    for name in sorted(names):
        o = shop.index[name]
        spread = prices.job_spread * job + prices.own_spread[o] * rng.standard_normal()
        labour += prices.hours[o] * prices.rate[o] * np.exp(spread)
        for amount, wide in (
            (prices.material[o], prices.material_spread[o]),
            (prices.outside[o], prices.outside_spread[o]),
        ):
            bought += amount * np.exp(wide * dear - wide**2 / 2)
    return (labour + bought) * (1 + tables.settings.tax)


def needed(rows: dict, name: str) -> set[str]:
    found = set(rows[name].needs)
    for other in rows[name].needs:
        found |= needed(rows, other)
    return found


def test_the_true_price_falls_anywhere_in_its_band_as_often_as_it_should(words):
    # Simulation-based calibration: Talts and others, "Validating Bayesian inference algorithms with simulation-based
    # calibration", 2018. The rank of the truth among the draws is uniform if all steps of the chain are right.
    rng = np.random.default_rng(24)
    ranks = []
    for piano in PIANOS:
        lived = live(words, piano, 150, rng)
        for i in range(150):
            study = Study(lived.visit(i, random_client(rng)), words, on=ON, draws=1024, seed=i)
            decision = study.decide()
            option = REBUILD if i % 2 and REBUILD in decision.actions else PARTIAL
            price = true_price(study, decision.actions[option].plan, lived.states[i], rng)
            drawn = decision.outcomes[option].price
            below, same = (drawn < price - 1e-2).mean(), (abs(drawn - price) <= 1e-2).mean()
            ranks.append(below + rng.random() * same)
    counts = np.histogram(ranks, bins=12, range=(0, 1))[0]
    assert stats.chisquare(counts).pvalue > 0.01, counts
    assert 0.75 <= np.mean((np.array(ranks) > 0.1) & (np.array(ranks) < 0.9)) <= 0.85
