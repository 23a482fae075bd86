"""What must hold of every decision: dearer is dearer, all adds up, sliders don't jump back, no budget is overrun."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_pianos import ON, in_words, live, random_client, random_piano, random_visit

from valuation.core.expect import at_other_stakes
from valuation.core.explain import all_actions, flips
from valuation.core.next_checks import share_out, worth_of_checks
from valuation.engine.appraise import appraise
from valuation.engine.decision import KEEP, OPTIONS, PARTIAL, REBUILD, RETIRE, Action, ways
from valuation.engine.rows import Tables
from valuation.engine.study import Study, net_of
from valuation.facts.visit import Range, Visit
from valuation.rules import load_tables
from valuation.files.visit_file import read_visit

TABLES = load_tables()
WORDS = in_words(TABLES)
DEMO = sorted((Path(__file__).parents[2] / "data_demo" / "visits").glob("*.toml"))
WORK = (REBUILD, PARTIAL)

seeds = st.integers(0, 2**32 - 1)
few = settings(max_examples=20, deadline=None)
some = settings(max_examples=30, deadline=None)


def study(visit: Visit, tables: Tables = TABLES, **more) -> Study:
    return Study(visit, tables, on=visit.on, **{"draws": 1024} | more)


def any_study(seed: int, **more) -> Study:
    """Return a study of a piano that could be, seen by a technician who makes most checks or hardly any."""
    rng = np.random.default_rng(seed)
    lived = live(WORDS, random_piano(TABLES, rng), 1, rng, made=rng.uniform(0, 1))
    return study(lived.visit(0, random_client(rng)), WORDS, **more)


@pytest.fixture(params=DEMO, ids=lambda path: path.stem)
def demo(request) -> Visit:
    return read_visit(request.param, TABLES, today=date(2026, 12, 31))


# --- money


@few
@given(seed=seeds)
def test_all_that_is_shown_adds_up(seed):
    rng = np.random.default_rng(seed)
    result = appraise(random_visit(TABLES, rng, made=rng.uniform(0, 1)), TABLES, on=ON, draws=1024)
    assert sum(result.chance_best.values()) == pytest.approx(1, abs=1e-12)
    tax = TABLES.settings.tax
    for option in result.options:
        assert option.expected_net == pytest.approx(sum(option.breakdown.values()), abs=1e-6)
        if option.lines:
            held_back = sum(a.expected for a in result.allowances if a.option == option.option)
            lines = sum(line.amount for line in option.lines)
            assert lines * (1 + tax) + held_back == pytest.approx(option.expected_price, abs=1e-6)
            assert option.before_tax + option.tax == pytest.approx(option.expected_price, abs=1e-6)
        for line in option.lines:
            assert line.labour + line.materials + line.outside == pytest.approx(line.amount, abs=1e-9)
            assert line.hours * line.rate == pytest.approx(line.labour, abs=1e-9)
        for shown in (option.price, option.value_after, option.net, option.cost_per_year, option.years):
            assert shown.low <= shown.likely <= shown.high


def leads(decision, over: str) -> dict[str, np.ndarray]:
    """Return by how much each class of work leads over another option, in each draw and on average."""
    drawn = decision.outcomes
    return {
        option: np.append(drawn[option].net - drawn[over].net, decision.nets[option] - decision.nets[over])
        for option in WORK
        if option in drawn
    }


def same_plans(one, two, option: str) -> bool:
    return bool((one.actions[option].plan == two.actions[option].plan).all())


@few
@given(seed=seeds, driver=st.sampled_from(["hours_scale", "rate_scale"]), more=st.floats(1.01, 3))
def test_dearer_work_never_favours_work_in_any_draw(seed, driver, more):
    here = any_study(seed)
    now, then = here.decide(), here.decide(here.what_if(**{driver: more}))
    before, after = leads(now, RETIRE), leads(then, RETIRE)
    for option in before:
        # Not even the plan that is best at the higher price is as good as today's was on average.
        assert after[option][-1] <= before[option][-1] + 1e-6
        if same_plans(now, then, option):
            assert (after[option] <= before[option] + 1e-2).all()


@few
@given(seed=seeds, more=st.floats(1.01, 3))
def test_a_higher_finished_value_never_favours_retiring_or_keeping_in_any_draw(seed, more):
    here = any_study(seed)
    now, then = here.decide(), here.decide(here.what_if(finished_scale=more))
    for over in (RETIRE, KEEP):
        before, after = leads(now, over), leads(then, over)
        for option in before:
            assert after[option][-1] >= before[option][-1] - 1e-6
            if same_plans(now, then, option):
                assert (after[option] >= before[option] - 1e-2).all()
    if now.verdict in WORK:
        assert then.verdict in WORK


@few
@given(seed=seeds, premium=st.floats(1, 20_000))
def test_a_higher_premium_never_favours_retiring(seed, premium):
    here = any_study(seed)
    now = here.decide()
    then = here.decide(here.what_if(premium=here.stakes.premium + premium))
    if now.verdict != RETIRE:
        assert then.verdict != RETIRE
    for option in (*WORK, KEEP):
        if option in now.nets:
            assert then.nets[option] - then.nets[RETIRE] >= now.nets[option] - now.nets[RETIRE] - 1e-6


SLIDERS = {
    "finished_scale": np.linspace(0.5, 2.5, 41),
    "rate_scale": np.linspace(0.4, 2.4, 41),
    "premium": np.linspace(0, 20_000, 41),
}


@pytest.mark.parametrize("slider", SLIDERS)
def test_a_slider_in_41_steps_takes_no_step_back(demo, slider):
    here = study(demo)
    steps = [here.decide(here.what_if(**{slider: float(x)})) for x in SLIDERS[slider]]
    rising = slider != "rate_scale"
    for one, two in pairwise(steps):
        for option in one.nets:
            # Whichever plan is best: the net moves one way only, and so does what the client sees of it in bands.
            change = two.nets[option] - one.nets[option]
            assert change >= -1e-6 if rising else change <= 1e-6
            if option in (*WORK, KEEP) and same_plans(one, two, option):
                moved = two.outcomes[option].net - one.outcomes[option].net
                assert (moved >= -1e-2).all() if rising else (moved <= 1e-2).all()
    in_work = [step.verdict in WORK for step in steps]
    order = in_work if rising else in_work[::-1]
    if slider != "premium":
        assert order == sorted(order)
    else:
        kept = [step.verdict != RETIRE for step in steps]
        assert kept == sorted(kept)


@few
@given(seed=seeds, budget=st.sampled_from([0, 50, 300, 1000, 4000, 12_000, 40_000]))
def test_whatever_the_budget_there_is_a_verdict_and_it_is_kept_to(seed, budget):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng, made=rng.uniform(0, 1))
    visit = replace(visit, client=replace(visit.client, budget=float(budget)))
    result = appraise(visit, TABLES, on=ON, draws=1024)
    assert result.verdict == KEEP or result.best.expected_price <= budget
    retired = result.option(RETIRE)
    if not retired.affordable:
        assert -retired.breakdown["proceeds"] > budget


@some
@given(seed=seeds)
def test_no_plan_holds_what_is_not_allowed_or_leaves_out_what_it_brings_along(seed):
    here = any_study(seed)
    for option, action in here.decide().actions.items():
        if option in WORK:
            assert here.rules.allowed[action.plan].all()
            assert (here.shop.complete(action.plan[None], here.rules.forced)[0] == action.plan).all()


# --- what to check next, and the verdict


@few
@given(seed=seeds)
def test_no_check_is_worth_less_than_nothing_or_more_than_knowing_all(seed):
    here = any_study(seed)
    decision = here.decide()
    actions = all_actions(here, decision)
    joint = share_out(decision.expected, actions)
    options = [action.option for action in actions]
    made = frozenset(finding.check for finding in here.visit.findings)
    worths, perfect = worth_of_checks(decision.expected, joint, options, decision.next_option, made)
    about_history = joint.by_exposure.max(axis=0).sum() - joint.nets.max()
    slack = 1e-9 * (1 + np.abs(joint.by_state).max())
    for worth in worths:
        part = here.net.family_part[here.net.check_family[worth.check.id]]
        assert 0 <= worth.gain <= (perfect[part] if part >= 0 else about_history) + slack
        assert 0 <= worth.chance_to_turn <= 1 + 1e-12
        assert worth.swing >= 0
    assert len({worth.check.id for worth in worths} & made) == 0


# Driver: the stake that it turns, and whether that is told as a share of today's figure.
DRIVERS = {
    "finished_value": ("finished_scale", True),
    "hours": ("hours_scale", False),
    "hourly_rate": ("rate_scale", True),
    "premium": ("premium", False),
}


def best_of(here: Study, actions: list[Action], changes: dict[str, float]) -> str:
    """Return the option of the best of these actions once some stakes are changed."""
    expected = at_other_stakes(here.expected, here.what_if(**changes))
    way = ways(expected, here.rules)
    read = {REBUILD: way.work, PARTIAL: way.work, KEEP: way.keep}
    payoffs = [read.get(a.option, way.exchange if a.exchange else way.sell) for a in actions]
    nets = [net_of(expected, replace(a, payoff=payoff)) for a, payoff in zip(actions, payoffs, strict=True)]
    return actions[int(np.argmax(nets))].option


def test_the_verdict_turns_where_it_is_said_to_turn(demo):
    here = study(demo)
    decision = here.decide()
    actions = all_actions(here, decision)
    turns = 0
    for flip in flips(here, decision, share_out(decision.expected, actions), actions):
        for at, then in ((flip.below, flip.then_below), (flip.above, flip.then_above)):
            if at is None or flip.driver not in DRIVERS:
                continue
            stake, as_share = DRIVERS[flip.driver]
            unit = flip.today if as_share else 1.0
            near, beyond = at + 1e-4 * (flip.today - at), at + 1e-4 * (at - flip.today)
            assert best_of(here, actions, {stake: near / unit}) == decision.verdict
            assert best_of(here, actions, {stake: beyond / unit}) == then
            turns += 1
    assert turns >= 1


def test_every_verdict_is_reached_by_some_pianos():
    rng = np.random.default_rng(11)
    counts = dict.fromkeys(OPTIONS, 0)
    for _ in range(200):
        piano = random_piano(TABLES, rng)
        visit = live(WORDS, piano, 1, rng, made=0.6).visit(0, random_client(rng))
        worth = float(np.exp(rng.uniform(np.log(500), np.log(60_000))))
        visit = replace(visit, finished_value=Range(low=0.8 * worth, likely=worth, high=1.3 * worth))
        counts[study(visit, WORDS).decide().verdict] += 1
    assert all(count >= 6 for count in counts.values()), counts


def test_a_twin_of_a_treatment_leaves_the_verdict_and_its_clarity(demo):
    twins = tuple(replace(row, id=f"{row.id}_twin") for row in TABLES.operations if row.level in ("repair", "replace"))
    doubled = replace(TABLES, operations=(*TABLES.operations, *twins))
    one, two = (study(demo, tables, draws=8192).decide() for tables in (TABLES, doubled))
    assert (two.verdict, two.clarity) == (one.verdict, one.clarity)
    assert two.nets == pytest.approx(one.nets, abs=1e-6)
    assert two.beats_next == pytest.approx(one.beats_next, abs=0.02)
