"""What must hold for every piano, whatever the shop's figures: worse is worse, dearer is dearer, and all adds up."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_pianos import (
    ON,
    finding_of_grade,
    in_words,
    live,
    number_of_grade,
    random_client,
    random_piano,
    random_visit,
)

from valuation.core.appraise import appraise
from valuation.core.condition import Condition, age_bands, assess, band, net_for, see
from valuation.core.decide import Study
from valuation.core.explain import all_actions
from valuation.core.next_checks import share_out, worth_of_checks
from valuation.core.options import KEEP, OPTIONS, PARTIAL, REBUILD, RETIRE
from valuation.core.rows import CheckRow, Tables
from valuation.core.units import IN_LB_NM
from valuation.core.visit import Finding, Range, Reading, Visit
from valuation.files import load_tables, parse_visit, read_visit
from valuation.report.contract import to_json

TABLES = load_tables()
WORDS = in_words(TABLES)
ROOT = Path(__file__).parents[2]
DEMO = sorted((ROOT / "data_demo" / "visits").glob("*.toml"))
WORK = (REBUILD, PARTIAL)

seeds = st.integers(0, 2**32 - 1)
few = settings(max_examples=20, deadline=None)
some = settings(max_examples=30, deadline=None)


def condition_of(visit: Visit, tables: Tables = TABLES) -> Condition:
    net = net_for(tables, visit.piano.kind, tuple(sorted(visit.piano.features)))
    return assess(net, see(net, visit), age_bands(tables, net, visit.piano, visit.on.year))


def found_also(visit: Visit, finding: Finding) -> Visit:
    """Return the visit with this finding instead of any other by the same check."""
    others = tuple(f for f in visit.findings if f.check != finding.check)
    return replace(visit, findings=(*others, finding))


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


# --- condition


def worse(check: CheckRow, rng: np.random.Generator) -> tuple[Finding, Finding]:
    """Return a finding and a worse one by the same check: a grade further, or any step of a number."""
    grade = int(rng.integers(3))
    if check.answer == "choice":
        one, two = (finding_of_grade(check, g, rng) for g in (grade, int(rng.integers(grade + 1, 4))))
        return one, two
    number = number_of_grade(check, int(rng.integers(4)), rng)
    step = float(rng.exponential(3 * (check.repeats_within or 1)))
    if check.better == "near":
        down = number - step if number < check.target else number + step
    else:
        down = number - step if check.better == "high" else number + step
    return tuple(Finding(check=check.id, readings=(Reading(value=value),)) for value in (number, down))


@some
@given(seed=seeds)
def test_a_worse_finding_never_raises_the_score_of_any_part(seed):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng, made=rng.uniform(0, 0.8))
    net = condition_of(visit).net
    own = [check for check in net.checks.values() if not check.readings_of]
    for check in own:
        better, bad = (condition_of(found_also(visit, finding)) for finding in worse(check, rng))
        assert (bad.scores <= better.scores + 1e-9).all(), check.id
        # Harsher lives are no less likely either.
        assert bad.exposure[2] >= better.exposure[2] - 1e-9


@some
@given(seed=seeds, bad=st.integers(0, 11), tried=st.integers(12, 40))
def test_one_more_loose_pin_never_raises_the_score_of_any_part(seed, bad, tried):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng)
    torques = np.sort(rng.uniform(4, 14, tried))
    torques[:bad] = 2.5
    before = condition_of(found_also(visit, readings_of("pin_torque", torques)))
    torques[bad] = 2.5
    after = condition_of(found_also(visit, readings_of("pin_torque", torques)))
    assert (after.scores <= before.scores + 1e-9).all()


def readings_of(check: str, values) -> Finding:
    return Finding(check=check, readings=tuple(Reading(value=float(value)) for value in values))


@some
@given(seed=seeds)
def test_not_looked_at_never_counts_as_good(seed):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng, made=rng.uniform(0, 0.6))
    now = condition_of(visit)
    made = {finding.check for finding in visit.findings}
    for check in now.net.checks.values():
        if check.readings_of or check.id in made:
            continue
        finding = finding_of_grade(check, 0, rng)
        # One reading alone: several would also tell of their spread.
        good = condition_of(found_also(visit, replace(finding, readings=finding.readings[:1])))
        part = now.net.family_part[now.net.check_family[check.id]]
        assert (good.scores >= now.scores - 1e-9).all()
        if part >= 0:
            assert good.scores[part] > now.scores[part]
            assert good.states[part, 0] > now.states[part, 0]


def test_one_reading_tells_nothing_of_the_spread_between_sections():
    rng = np.random.default_rng(0)
    visit = random_visit(TABLES, rng, made=0)
    one = condition_of(found_also(visit, readings_of("pitch_level", [-20])))
    two = condition_of(found_also(visit, readings_of("pitch_level", [-20, -22])))
    assert "pitch_spread" not in one.seen.checks
    assert "pitch_spread" in two.seen.checks


@some
@given(seed=seeds)
def test_a_part_nobody_looked_at_keeps_the_odds_of_its_age_and_history(seed):
    rng = np.random.default_rng(seed)
    now = condition_of(random_visit(TABLES, rng, made=0.1))
    looked_at = set(now.net.family_part[now.seen.families].tolist())
    for p in set(range(len(now.net.parts))) - looked_at:
        assert now.given[p] == pytest.approx(now.prior[p], abs=1e-12)
        low, high = band(now.states[p], now.net.stretches)
        assert low <= now.scores[p] <= high


@few
@given(seed=seeds)
def test_chances_of_states_sum_to_one(seed):
    now = condition_of(random_visit(TABLES, np.random.default_rng(seed), made=0.9))
    assert now.states.sum(axis=1) == pytest.approx(1, abs=1e-12)
    assert now.given.sum(axis=2) == pytest.approx(1, abs=1e-12)
    assert now.exposure.sum() == pytest.approx(1, abs=1e-12)
    assert (now.states >= 0).all()


PINS = """
title = "pins in two units"
date = 2026-05-04
[piano]
kind = "{kind}"
year = 1908
[findings]
pin_torque = {{ value = [{values}], unit = "{unit}" }}
"""


def in_both_units(in_lb: list[int], kind: str) -> tuple[Study, Study]:
    """Return the study of pins told in whole in-lb, and in N.m with one decimal."""
    one = PINS.format(kind=kind, unit="in-lb", values=", ".join(map(str, in_lb)))
    other = PINS.format(kind=kind, unit="N.m", values=", ".join(f"{value * IN_LB_NM:.1f}" for value in in_lb))
    return tuple(study(parse_visit(text, "pins.toml", TABLES, today=ON)) for text in (one, other))


@some
@given(
    st.lists(st.integers(10, 130).filter(lambda value: value != 30), min_size=6, max_size=24),
    st.sampled_from(["upright", "grand"]),
)
def test_torque_in_either_unit_comes_to_the_same(in_lb, kind):
    first, second = in_both_units(in_lb, kind)
    block = first.net.part_index("pinblock")
    assert abs(first.condition.scores[block] - second.condition.scores[block]) <= 1.5
    assert first.decide().verdict == second.decide().verdict


@pytest.mark.xfail(strict=True, reason="the limit of loose_pins, 3.39 N.m, lies between 30 in-lb and its 3.4 N.m")
def test_thirty_inch_pounds_come_to_the_same_in_either_unit():
    first, second = in_both_units([30, 30, 30, *[45] * 9], "upright")
    block = first.net.part_index("pinblock")
    assert abs(first.condition.scores[block] - second.condition.scores[block]) <= 1.5


# --- the same facts, the same answer


@few
@given(seed=seeds)
def test_the_order_of_entry_changes_no_byte(seed):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng, made=0.7)
    hidden = tuple(Finding(check=check, cannot_see=True) for check in ("pin_hold", "board_ribs", "keys_up"))
    features = ("straight_strung", "ivory_tops", "rosewood_veneer", "painted_case", "eighty_five_notes")
    findings = (*(f for f in visit.findings if f.check not in ("pin_hold", "board_ribs", "keys_up")), *hidden)
    renewed = (("hammers", 1970), ("strings", 1980), ("keys", 1960))
    piano = replace(visit.piano, features=features, renewed=renewed, year=1900)
    visit = replace(visit, findings=findings, piano=piano)
    shuffled = replace(
        visit,
        findings=tuple(findings[i] for i in rng.permutation(len(findings))),
        piano=replace(piano, features=tuple(rng.permutation(features).tolist()), renewed=renewed[::-1]),
    )
    one, two = (to_json(appraise(v, TABLES, on=ON, draws=1024)) for v in (visit, shuffled))
    assert one == two


def test_the_same_input_gives_the_same_bytes_in_another_process():
    path = DEMO[0]
    code = (
        "import sys; from datetime import date; from pathlib import Path\n"
        "from valuation.core.appraise import appraise; from valuation.files import load_tables, read_visit\n"
        "from valuation.report.contract import to_json\n"
        "tables = load_tables(); visit = read_visit(Path(sys.argv[1]), tables, today=date(2026, 12, 31))\n"
        "sys.stdout.buffer.write(to_json(appraise(visit, tables, on=visit.on)).encode())\n"
    )
    visit = read_visit(path, TABLES, today=date(2026, 12, 31))
    here = to_json(appraise(visit, TABLES, on=visit.on)).encode()
    assert to_json(appraise(visit, TABLES, on=visit.on)).encode() == here
    for hash_seed in ("1", "2"):
        there = subprocess.run(
            [sys.executable, "-c", code, str(path)],
            capture_output=True,
            check=True,
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": hash_seed},
        )
        assert there.stdout == here


def test_a_check_that_was_not_made_changes_nothing(demo):
    path = next(p for p in DEMO if f'"{demo.title}"' in p.read_text(encoding="utf-8"))
    text = path.read_text(encoding="utf-8")
    made = {finding.check for finding in demo.findings}
    net = net_for(TABLES, demo.piano.kind, tuple(sorted(demo.piano.features)))
    unmade = next(c for c in net.checks.values() if c.id not in made and not c.readings_of)
    said = parse_visit(text + f'\n{unmade.id} = "not looked at"\n', path.name, TABLES, today=date(2026, 12, 31))
    one, two = (to_json(appraise(v, TABLES, on=demo.on, draws=1024)) for v in (demo, said))
    assert one == two


def test_a_new_row_of_checks_changes_nothing_until_the_check_is_made(demo):
    row = replace(TABLES.checks[-1], id="never_made", kinds="both")
    more = replace(TABLES, checks=(*TABLES.checks, row))
    one, two = (appraise(demo, tables, on=demo.on, draws=1024) for tables in (TABLES, more))
    assert one.parts == two.parts
    assert one.options == two.options
    assert (one.verdict, one.clarity, one.reasons) == (two.verdict, two.clarity, two.reasons)
    assert {check.check for check in two.next_checks} - {check.check for check in one.next_checks} == {"never_made"}


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
