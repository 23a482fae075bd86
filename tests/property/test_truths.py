"""What must hold of the condition of every piano: worse is worse, unseen is unseen, and the order doesn't matter."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_pianos import ON, condition_of, finding_of_grade, number_of_grade, random_visit

from valuation.engine.appraise import appraise
from valuation.engine.condition import Seen, assess, band, net_for, scores_without
from valuation.engine.rows import CheckRow
from valuation.engine.study import Study
from valuation.facts.units import IN_LB_NM
from valuation.facts.visit import Finding, Reading, Visit
from valuation.rules import load_tables
from valuation.files.visit_file import parse_visit, read_visit
from valuation.report.contract import to_json

TABLES = load_tables()
ROOT = Path(__file__).parents[2]
DEMO = sorted((ROOT / "data_demo" / "visits").glob("*.toml"))

seeds = st.integers(0, 2**32 - 1)
few = settings(max_examples=20, deadline=None)
some = settings(max_examples=30, deadline=None)


def found_also(visit: Visit, finding: Finding) -> Visit:
    """Return the visit with this finding instead of any other by the same check."""
    others = tuple(f for f in visit.findings if f.check != finding.check)
    return replace(visit, findings=(*others, finding))


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
    net = condition_of(TABLES, visit).net
    own = [check for check in net.checks.values() if not check.readings_of]
    for check in own:
        better, bad = (condition_of(TABLES, found_also(visit, finding)) for finding in worse(check, rng))
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
    before = condition_of(TABLES, found_also(visit, readings_of("pin_torque", torques)))
    torques[bad] = 2.5
    after = condition_of(TABLES, found_also(visit, readings_of("pin_torque", torques)))
    assert (after.scores <= before.scores + 1e-9).all()


def readings_of(check: str, values) -> Finding:
    return Finding(check=check, readings=tuple(Reading(value=float(value)) for value in values))


@some
@given(seed=seeds)
def test_not_looked_at_never_counts_as_good(seed):
    rng = np.random.default_rng(seed)
    visit = random_visit(TABLES, rng, made=rng.uniform(0, 0.6))
    now = condition_of(TABLES, visit)
    made = {finding.check for finding in visit.findings}
    for check in now.net.checks.values():
        if check.readings_of or check.id in made:
            continue
        finding = finding_of_grade(check, 0, rng)
        # One reading alone: several would also tell of their spread.
        good = condition_of(TABLES, found_also(visit, replace(finding, readings=finding.readings[:1])))
        part = now.net.family_part[now.net.check_family[check.id]]
        assert (good.scores >= now.scores - 1e-9).all()
        if part >= 0:
            assert good.scores[part] > now.scores[part]
            assert good.states[part, 0] > now.states[part, 0]


def test_one_reading_tells_nothing_of_the_spread_between_sections():
    rng = np.random.default_rng(0)
    visit = random_visit(TABLES, rng, made=0)
    one = condition_of(TABLES, found_also(visit, readings_of("pitch_level", [-20])))
    two = condition_of(TABLES, found_also(visit, readings_of("pitch_level", [-20, -22])))
    assert "pitch_spread" not in one.seen.checks
    assert "pitch_spread" in two.seen.checks


@some
@given(seed=seeds)
def test_a_part_nobody_looked_at_keeps_the_odds_of_its_age_and_history(seed):
    rng = np.random.default_rng(seed)
    now = condition_of(TABLES, random_visit(TABLES, rng, made=0.1))
    looked_at = set(now.net.family_part[now.seen.families].tolist())
    for p in set(range(len(now.net.parts))) - looked_at:
        assert now.given[p] == pytest.approx(now.prior[p], abs=1e-12)
        low, high = band(now.states[p], now.net.stretches)
        assert low <= now.scores[p] <= high


@few
@given(seed=seeds)
def test_chances_of_states_sum_to_one(seed):
    now = condition_of(TABLES, random_visit(TABLES, np.random.default_rng(seed), made=0.9))
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
    visits = (parse_visit(text, "pins.toml", TABLES, today=ON) for text in (one, other))
    return tuple(Study(visit, TABLES, on=ON, draws=1024) for visit in visits)


@some
@given(
    st.lists(st.integers(10, 130), min_size=6, max_size=24),
    st.sampled_from(["upright", "grand"]),
)
def test_torque_in_either_unit_comes_to_the_same(in_lb, kind):
    first, second = in_both_units(in_lb, kind)
    block = first.net.part_index("pinblock")
    assert abs(first.condition.scores[block] - second.condition.scores[block]) <= 1.5
    assert first.decide().verdict == second.decide().verdict


def test_thirty_inch_pounds_come_to_the_same_in_either_unit():
    first, second = in_both_units([30, 30, 30, *[45] * 9], "upright")
    block = first.net.part_index("pinblock")
    assert abs(first.condition.scores[block] - second.condition.scores[block]) <= 1.5


@few
@given(seed=seeds)
def test_the_score_without_a_finding_is_that_of_a_visit_without_it(seed):
    now = condition_of(TABLES, random_visit(TABLES, np.random.default_rng(seed), made=0.7))
    net, seen, middle = now.net, now.seen, now.net.stretches.mean(axis=1)
    ages = np.array([int((now.net.prior[p] == now.prior[p]).all(axis=(1, 2)).argmax()) for p in range(len(net.parts))])
    for i, score in enumerate(scores_without(now)):
        rest = np.arange(len(seen.checks)) != i
        checks = tuple(check for check, stays in zip(seen.checks, rest, strict=True) if stays)
        less = Seen(checks=checks, grades=seen.grades[rest], columns=seen.columns[rest], families=seen.families[rest])
        scores = assess(net, less, ages).states @ middle
        part = net.family_part[seen.families[i]]
        assert score == pytest.approx(scores[part] if part >= 0 else scores.mean(), abs=1e-7)


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
        "from valuation.engine.appraise import appraise; from valuation.files import load_tables, read_visit\n"
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
