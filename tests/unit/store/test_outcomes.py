"""What happened, over all evaluations of a store, on each database."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from invented_jobs import fill

from valuation.jobs.remaining import hours_left
from valuation.service import jobs as service_jobs
from valuation.service.known import booked_in
from valuation.service.outcomes import happened, marked, only_invented, work_coming

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "desk", "now": NOW}


@pytest.fixture
def many(shop, tables):
    """A shop of 300 evaluations, and what happened there."""
    fill(shop, 300, TODAY)
    return happened(shop, tables, on=TODAY)


def test_an_empty_shop_says_nothing_and_breaks_nothing(shop, tables):
    found = happened(shop, tables, on=TODAY)
    assert (found.evaluations, found.undecided, found.carry, found.open) == (0, None, None, ())
    assert work_coming(found, capacity=100) == ()


def test_every_evaluation_is_counted_once_in_each_table(many):
    for groups in many.by.values():
        assert sum(group.evaluations for group in groups) == many.evaluations
        assert all(group.yes + group.no + group.open == group.evaluations for group in groups)
    assert {group.group for group in many.by["verdict"]} == {"rebuild", "partial_repair", "keep", "retire"}


def test_the_counts_are_those_of_the_list(shop, many, tables):
    counts = service_jobs.stage_counts(shop)
    yes = sum(counts.get(row.id, 0) for row in tables.stages if row.outcome == "yes")
    no = sum(counts.get(row.id, 0) for row in tables.stages if row.outcome == "no")
    assert sum(group.yes for group in many.by["month"]) == yes
    assert sum(group.no for group in many.by["month"]) == no
    assert sum(count for _, count in many.lost) == no


def test_yes_no_and_undecided_make_one_at_every_day(many):
    for day in (0, 10, 50, 200, 1000):
        shares = [curve.at(day)[0] for curve in (many.undecided, many.yes, many.no)]
        assert sum(shares) == pytest.approx(1, abs=1e-9)


def test_open_evaluations_come_with_their_chance_the_likeliest_first(many):
    shares = [one.share for one in many.open]
    assert shares == sorted(shares, reverse=True)
    assert len(shares) == sum(group.open for group in many.by["month"])


def test_what_is_coming_knows_the_hours_in_hand(shop, many, tables):
    months = work_coming(many, capacity=160)
    assert len(months) == 6
    assert all(m.coming_low <= m.coming <= m.coming_high * 1.5 for m in months)
    hand = [row.id for row in tables.stages if row.in_hand]
    assert many.in_hand == pytest.approx(
        sum(hours_left(b.job, tables.settings.job_spread) for b in booked_in(shop, tables, hand, on=TODAY))
    )


def test_invented_evaluations_count_only_until_there_is_one_of_ones_own(shop, tables, visit):
    shop.load_demo()
    assert only_invented(shop)
    found = happened(shop, tables, on=TODAY)
    assert found.invented
    assert found.evaluations == 7
    shop.put(visit, "job.event.a", {"stage": "asked", "day": "2026-11-01"}, **ANNA)
    assert not only_invented(shop)
    again = happened(shop, tables, on=TODAY)
    assert (again.invented, again.evaluations) == (False, 0)


def test_finished_jobs_come_with_their_work_and_teardown(shop, tables):
    shop.load_demo()
    [booked] = booked_in(shop, tables, service_jobs.gone_home(tables.stages), on=TODAY)
    job = booked.job
    assert job.delivered == date(2026, 8, 21)
    assert len(job.estimate) > 15
    assert job.hours_by_operation["restring"] > 0
    assert {t.fault: t.severity for t in job.teardown}["holes_worn"] == "severe"


def test_the_mark_changes_with_every_entry(shop, visit):
    before = marked(shop)
    shop.put(visit, "place", "attic", **ANNA)
    assert marked(shop) != before
