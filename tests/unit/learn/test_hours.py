"""What finished jobs teach of hours."""

from __future__ import annotations

import pytest

from valuation.jobs.records import Job, WorkDone
from valuation.learn.hours import family_of, learn_hours


def jobs(n: int, **factor: float) -> list[Job]:
    likely = {"new_block": 28, "restring": 20, "new_hammers": 15, "voice": 5, "tune": 2.5}
    work = tuple(WorkDone(operation=name, hours=likely[name] * f) for name, f in factor.items())
    return [Job(visit=f"v{i}", kind="grand", work=work) for i in range(n)]


def one(learned, family: str):
    return next(f for f in learned.families if f.family == family)


def test_a_family_is_the_component_treated_or_the_sort_of_work(small_tables):
    rows = small_tables.of_kind("operations", "grand")
    assert [family_of(rows[name], small_tables) for name in ("restring", "new_hammers", "voice", "action_out")] == [
        "block",
        "action",
        "follow",
        "access",
    ]


def test_one_job_moves_the_ratio_a_little_and_many_move_it_all_the_way(small_tables):
    ratios = [one(learn_hours(jobs(n, restring=1.5), small_tables), "block").ratio for n in (1, 3, 10, 100)]
    assert 1 < ratios[0] < ratios[1] < ratios[2] < ratios[3]
    assert ratios[0] < 1.3
    assert ratios[3] == pytest.approx(1.5, abs=0.03)


def test_a_family_with_few_jobs_leans_on_the_shop(small_tables):
    alone = one(learn_hours(jobs(1, voice=1.0), small_tables), "follow")
    among = one(learn_hours([*jobs(30, restring=1.5, new_hammers=1.5), *jobs(1, voice=1.0)], small_tables), "follow")
    assert alone.ratio == pytest.approx(1, abs=1e-9)
    assert among.ratio > 1.05


def test_jobs_as_in_the_tables_leave_them_as_they_are(small_tables):
    learned = learn_hours(jobs(20, restring=1.0, new_hammers=1.0), small_tables)
    assert all(f.ratio == pytest.approx(1) and f.low < 1 < f.high for f in learned.families)


def test_hours_and_entries_of_one_operation_count_once(small_tables):
    split = Job(
        visit="v0",
        kind="grand",
        work=(WorkDone(operation="restring", hours=12), WorkDone(operation="restring", hours=18)),
    )
    assert learn_hours([split], small_tables) == learn_hours(jobs(1, restring=1.5), small_tables)


def test_an_operation_the_tables_do_not_have_is_named_and_left_out(small_tables):
    odd = Job(visit="v0", kind="grand", work=(WorkDone(operation="gilding", hours=3),))
    learned = learn_hours([odd, *jobs(2, voice=1.2)], small_tables)
    assert (learned.unknown, learned.jobs, [f.family for f in learned.families]) == (("gilding",), 2, ["follow"])


def test_no_time_is_no_observation(small_tables):
    none = Job(visit="v0", kind="grand", work=(WorkDone(operation="restring", hours=0),))
    assert learn_hours([none], small_tables).families == ()


def test_without_jobs_the_prior_still_stands(small_tables):
    learned = learn_hours([], small_tables)
    assert (learned.families, learned.jobs) == ((), 0)
    assert learned.job_spread == pytest.approx(small_tables.settings.job_spread, rel=0.1)
