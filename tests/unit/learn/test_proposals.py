"""What was learned as proposals, and what becomes of those that are taken."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from random_visits import in_words, live
from small_rules import write

from valuation.engine.rows import SEVERITIES, Tables
from valuation.facts.visit import Piano
from valuation.jobs.records import Job, Teardown, WorkDone
from valuation.learn.cases import Case
from valuation.learn.condition_tables import learn_condition
from valuation.learn.hours import learn_hours
from valuation.learn.proposals import BEYOND, LEARNED, LEAST_MOVE, propose_condition, propose_hours
from valuation.learn.taken_in import before_learning, with_proposals
from valuation.rules import load_tables
from valuation.service.learning import take_in

DAY = date(2026, 6, 1)
OLD = Piano(kind="grand", year=1920, tier="fine")


def finished(n: int, **factor: float) -> list[Job]:
    likely = {"new_block": 45, "restring": 20, "oversize_pins": 4, "new_hammers": 15, "voice": 5}
    rng = np.random.default_rng(1)
    return [
        Job(
            visit=f"v{i}",
            kind="grand",
            work=tuple(
                WorkDone(operation=name, hours=likely[name] * f * float(np.exp(0.2 * rng.standard_normal())))
                for name, f in factor.items()
            ),
        )
        for i in range(n)
    ]


@pytest.fixture(scope="module")
def cases(small_tables) -> list[Case]:
    words, rng = in_words(small_tables), np.random.default_rng(2)
    lived = live(words, OLD, 150, rng, made=0.9)
    worse = np.minimum(lived.severities + (rng.random(lived.severities.shape) < 0.7), 3)
    return [
        Case(
            visit=lived.visit(i, rng),
            teardown=tuple(
                Teardown(fault=row.id, severity=SEVERITIES[worse[i, f]])
                for f, row in enumerate(lived.network.faults)
                if i % 2
            ),
        )
        for i in range(150)
    ]


def texts(folder: Path) -> dict[str, str]:
    return {path.name: path.read_bytes().decode() for path in folder.iterdir()}


def written(folder: Path, files: dict[str, str]) -> Tables:
    for name, text in files.items():
        (folder / name).write_bytes(text.encode())
    return load_tables(folder)


def test_a_family_is_proposed_row_by_row_with_its_evidence(small_tables):
    jobs = finished(20, restring=1.4, voice=1.0)
    proposals = {p.id: p for p in propose_hours(learn_hours(jobs, small_tables), small_tables, small_tables)}
    block = proposals["hours-block"]
    assert (block.subject, block.jobs, block.observations) == ("hours", 20, 20)
    assert 1.2 < block.ratio < 1.5
    assert block.low < block.ratio < block.high
    rows = {change.key for change in block.changes}
    assert (("id", "new_block"), ("kinds", "both")) in rows  # the whole family, not only what was done
    assert (("operation", "string_replaced"), ("fault", "string_broken")) in rows  # set-up and pieces together
    piece = {c.column: c for c in block.changes if c.key[0] == ("operation", "string_replaced")}
    assert float(piece["piece_likely"].new) == pytest.approx(0.5 * block.ratio, rel=0.01)
    restring = {c.column: c for c in block.changes if c.key == (("id", "restring"), ("kinds", "both"))}
    assert restring["hours_likely"].old == 20
    assert float(restring["hours_likely"].new) == pytest.approx(20 * block.ratio, rel=0.01)
    assert restring["hours_likely"].low == pytest.approx(20 * block.low)


def test_too_few_jobs_or_too_little_change_is_no_proposal(small_tables):
    few = learn_hours(finished(2, restring=1.5), small_tables)
    assert propose_hours(few, small_tables, small_tables) == ()
    exact = [Job(visit=f"v{i}", kind="grand", work=(WorkDone(operation="restring", hours=20),)) for i in range(8)]
    assert propose_hours(learn_hours(exact, small_tables), small_tables, small_tables) == ()


def test_what_chance_alone_would_move_is_no_proposal(small_tables):
    jobs = finished(20, restring=1.4, voice=1.0)
    learned = learn_hours(jobs, small_tables)
    by_family = {family.family: family for family in learned.families}
    made = {p.id: p for p in propose_hours(learned, small_tables, small_tables)}
    assert abs(by_family["follow"].ratio - 1) > LEAST_MOVE
    assert "hours-follow" not in made
    assert all(proposal.beyond > BEYOND for proposal in made.values())
    block = made["hours-block"]
    assert block.ratio - BEYOND * (block.ratio - block.low) > 1  # the old hours lie beyond the limit


def test_how_whole_jobs_run_over_is_proposed_as_a_setting(small_tables):
    rng = np.random.default_rng(4)
    jobs = []
    for i in range(40):
        whole = float(np.exp(0.4 * rng.standard_normal()))
        work = tuple(
            WorkDone(operation=o, hours=h * whole) for o, h in {"restring": 20, "voice": 5, "tune": 2.5}.items()
        )
        jobs.append(Job(visit=f"v{i}", kind="grand", work=work))
    (proposal,) = [
        p for p in propose_hours(learn_hours(jobs, small_tables), small_tables, small_tables) if p.subject == "setting"
    ]
    (change,) = proposal.changes
    assert (change.old, proposal.jobs) == (0.16, 40)
    assert 0.3 < float(change.new) < 0.45
    assert with_proposals(small_tables, [proposal], on=DAY).settings.job_spread == float(change.new)


def test_odds_and_readings_are_proposed_whole_and_readings_rise(small_tables, cases):
    words = in_words(small_tables)
    proposals = {p.id: p for p in propose_condition(learn_condition(cases, words), words)}
    assert {"reading-clear", "reading-blunt", "odds-pins_loose", "odds-wire_rusty"} <= set(proposals)
    clear = proposals["reading-clear"]
    assert (clear.jobs, clear.shown < clear.observations) == (75, True)
    assert {change.table for change in clear.changes} == {"readings"}
    tables = with_proposals(words, proposals.values(), on=DAY)
    shares = np.array([[getattr(r, s) for s in SEVERITIES] for r in tables.readings if r.id == "clear"])
    assert shares.sum(axis=1) == pytest.approx(1, abs=1e-9)
    assert (shares[:-1, :-1] * shares[1:, 1:] >= shares[:-1, 1:] * shares[1:, :-1]).all()
    loose = [row for row in tables.fault_odds if (row.fault, row.build) == ("pins_loose", "")]
    assert [row.none + row.slight + row.marked + row.severe for row in loose] == pytest.approx([100] * 3)
    changes = proposals["odds-pins_loose"].changes
    assert {dict(change.key)["age"] for change in changes} == {"75", "130"}  # 106 years say nothing of 15
    assert all(change.low < float(change.new) < change.high for change in changes)


def test_what_is_taken_in_loads_and_is_what_was_shown(small_tables, cases, tmp_path):
    folder = write(tmp_path / "shop")
    tables = load_tables(folder)
    learned = replace(
        learn_hours(finished(20, restring=1.4, new_hammers=0.8), tables), job_spread=0.31, job_spread_low=0.25
    )
    hours = propose_hours(learned, tables, tables)
    words = in_words(tables)
    odds = propose_condition(learn_condition(cases, words), words)
    before = texts(folder)
    files = take_in(before, tables, [*hours, *odds], on=DAY)
    new = written(folder, files)
    shown = with_proposals(tables, [*hours, *odds], on=DAY)
    for table in ("operations", "cures", "readings", "fault_odds", "sources"):
        assert getattr(new, table) == getattr(shown, table)
    changed = {name for name in before if before[name] != files[name]}
    assert changed == {"operations.csv", "cures.csv", "readings.csv", "fault_odds.csv", "sources.csv", "settings.toml"}
    assert (new.settings, new.setting_sources) == (shown.settings, shown.setting_sources)
    row = new.of_kind("operations", "grand")["restring"]
    assert (row.id, row.source, row.note) == ("restring", LEARNED, "(learned from 20 jobs, 2026-06-01)")
    untouched = new.of_kind("operations", "grand")["tune"]
    assert untouched == tables.of_kind("operations", "grand")["tune"]


def test_the_packaged_tables_take_hours_in_and_only_the_changed_cells_differ(tmp_path):
    source = Path(load_tables.__code__.co_filename).parents[1] / "tables"
    tables = load_tables()
    jobs = [Job(visit=f"v{i}", kind="grand", work=(WorkDone(operation="restring", hours=30 + i),)) for i in range(12)]
    chosen = propose_hours(learn_hours(jobs, tables), tables, tables)[:1]
    files = take_in(texts(source), tables, chosen, on=DAY)
    folder = tmp_path / "shop"
    folder.mkdir()
    new = written(folder, files)
    assert new.of_kind("operations", "grand")["restring"].hours_likely > 22
    old_lines, new_lines = texts(source)["operations.csv"].splitlines(), files["operations.csv"].splitlines()
    touched = {dict(change.key)["id"] for change in chosen[0].changes if change.table == "operations"}
    for old, now in zip(old_lines, new_lines, strict=True):
        assert (old == now) == (old.split(",")[0] not in touched)


def test_a_setting_is_taken_in_with_its_note_kept(small_tables, tmp_path):
    folder = write(tmp_path / "shop")
    toml = folder / "settings.toml"
    text = toml.read_text()
    at = text.index("[job_spread]")
    toml.write_text(text[:at] + text[at:].replace("note = ''", "note = 'as it was'", 1))
    tables = load_tables(folder)
    learned = replace(
        learn_hours(finished(20, restring=1.0), tables), job_spread=0.31, job_spread_low=0.25, job_spread_high=0.4
    )
    (proposal,) = [p for p in propose_hours(learned, tables, tables) if p.subject == "setting"]
    files = take_in(texts(folder), tables, [proposal], on=DAY)
    assert 'note = "as it was (learned from 20 jobs, 2026-06-01)"' in files["settings.toml"]
    new = written(folder, files)
    assert (new.settings.job_spread, new.setting_sources["job_spread"]) == (0.31, LEARNED)


def test_learning_again_from_the_same_jobs_proposes_nothing_further(small_tables, cases):
    words = in_words(small_tables)
    jobs = finished(12, restring=1.4, new_hammers=0.8)
    hours = propose_hours(learn_hours(jobs, words), words, words)
    odds = propose_condition(learn_condition(cases, words), words)
    assert hours
    assert odds
    now = with_proposals(words, [*hours, *odds], on=DAY)
    start = before_learning([words, now])
    assert start.operations == words.operations
    assert start.readings == words.readings
    assert start.fault_odds == words.fault_odds
    assert start.cures == words.cures
    assert propose_hours(learn_hours(jobs, start), start, now) == ()
    assert propose_condition(learn_condition(cases, start), now) == ()
    # Starting from what was learned would count the same jobs twice.
    assert any(abs(family.ratio - 1) > 0.003 for family in learn_hours(jobs, now).families)


def test_a_row_that_a_person_changed_since_starts_from_what_they_wrote(small_tables):
    jobs = finished(12, restring=1.4)
    learned = with_proposals(
        small_tables, propose_hours(learn_hours(jobs, small_tables), small_tables, small_tables), on=DAY
    )
    by_hand = replace(
        learned,
        operations=tuple(
            replace(row, hours_likely=25.0, source="own_estimate") if row.id == "restring" else row
            for row in learned.operations
        ),
    )
    start = before_learning([small_tables, learned, by_hand])
    rows = start.of_kind("operations", "grand")
    assert rows["restring"].hours_likely == 25
    assert rows["new_block"] == small_tables.of_kind("operations", "grand")["new_block"]


def test_a_proposal_made_from_older_tables_is_refused(small_tables):
    proposals = propose_hours(learn_hours(finished(20, restring=1.4), small_tables), small_tables, small_tables)
    now = with_proposals(small_tables, proposals, on=DAY)
    with pytest.raises(
        ValueError, match=r"hours-block: operations, .* by now, not .*; learn again from today's tables"
    ):
        with_proposals(now, proposals, on=DAY)
    without = replace(now, operations=tuple(row for row in now.operations if row.id != "restring"))
    with pytest.raises(ValueError, match="hours-block"):
        with_proposals(without, proposals, on=DAY)


def test_two_proposals_for_one_cell_are_refused(small_tables):
    (proposal, *_) = propose_hours(learn_hours(finished(20, restring=1.4), small_tables), small_tables, small_tables)
    with pytest.raises(ValueError, match="is changed by another proposal too"):
        with_proposals(small_tables, [proposal, proposal], on=DAY)


def test_taking_nothing_in_changes_nothing(small_tables, tmp_path):
    folder = write(tmp_path / "shop")
    assert take_in(texts(folder), small_tables, [], on=DAY) == texts(folder)
    assert with_proposals(small_tables, [], on=DAY).hash == small_tables.hash


def test_tables_with_a_proposal_have_another_hash(small_tables):
    proposals = propose_hours(learn_hours(finished(20, restring=1.4), small_tables), small_tables, small_tables)
    assert with_proposals(small_tables, proposals, on=DAY).hash != small_tables.hash
