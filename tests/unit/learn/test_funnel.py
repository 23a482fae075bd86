"""How far evaluations get, and which become jobs."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.facts.visit import Range
from valuation.jobs.records import Evaluation, JobEvent
from valuation.jobs.stages import courses
from valuation.learn.decisions import waits_of
from valuation.learn.funnel import (
    by_month,
    by_price,
    by_source,
    by_technician,
    by_verdict,
    conversion,
    funnel,
    thirds,
)

DAY = date(2026, 1, 10)
TODAY = date(2026, 12, 31)


def after(days: int) -> date:
    return DAY + timedelta(days=days)


def evaluation(visit: str, days: int = 0, **known) -> Evaluation:
    return Evaluation(visit=visit, on=after(days), kind="upright", verdict="rebuild", **known)


def ways(small_tables, *events: tuple[str, str, int]):
    made = [JobEvent(id=f"e{i}", visit=v, day=after(d), stage=stage) for i, (v, stage, d) in enumerate(events)]
    return courses(made, small_tables.stages, on=TODAY)


def became(evaluations, way, by):
    return conversion(evaluations, waits_of(evaluations, way, on=TODAY), by, on=TODAY)


def price(likely: float) -> Range:
    return Range(low=likely / 2, likely=likely, high=likely * 2)


def test_a_stage_further_on_implies_those_before_it(small_tables):
    way = ways(small_tables, ("a", "delivered", 90), ("b", "evaluated", 3), ("b", "declined", 20), ("c", "silent", 9))
    found = {r.stage: (r.reached, r.of_before.of) for r in funnel(way.values(), small_tables.stages)}
    assert found == {"asked": (2, 3), "evaluated": (2, 0), "accepted": (1, 1), "delivered": (1, 0)}


def test_who_skipped_the_stage_before_is_not_counted_there(small_tables):
    way = ways(
        small_tables, ("a", "asked", 0), ("a", "accepted", 20), ("b", "evaluated", 3), ("b", "accepted", 20),
        ("c", "evaluated", 3), ("d", "evaluated", 4),
    )  # fmt: skip
    accepted = next(r for r in funnel(way.values(), small_tables.stages) if r.stage == "accepted")
    assert (accepted.reached, accepted.of_before.count, accepted.of_before.of) == (2, 1, 3)


def test_the_funnel_of_nothing_is_empty_and_no_error(small_tables):
    assert {r.reached for r in funnel([], small_tables.stages)} == {0}


def test_each_group_is_counted_whole(small_tables):
    way = ways(small_tables, ("a", "accepted", 20), ("b", "declined", 30), ("c", "silent", 30))
    evaluations = [evaluation(v, source="friends") for v in "abc"] + [evaluation("d", 40)]
    found = {c.group: (c.evaluations, c.yes, c.no, c.open) for c in became(evaluations, way, by_source)}
    assert found == {"": (1, 0, 0, 1), "friends": (3, 1, 1, 1)}


def test_the_young_are_not_held_against_the_old(small_tables):
    way = ways(small_tables, ("a", "accepted", 20), ("b", "accepted", 350))
    evaluations = [evaluation("a"), evaluation("old"), evaluation("b", 345), evaluation("young", 340)]
    (all_,) = became(evaluations, way, by_verdict)
    assert (all_.yes, all_.settled.count, all_.settled.of) == (2, 1, 2)


def test_a_job_that_came_late_did_not_come_within_the_time_given(small_tables):
    way = ways(small_tables, ("a", "accepted", 200))
    (all_,) = became([evaluation("a")], way, by_verdict)
    assert (all_.yes, all_.settled.count, all_.settled.of) == (1, 0, 1)


def test_groups_are_months_technicians_and_bands_of_price():
    evaluations = [evaluation("a", 0, technician="Ada", price=price(900)), evaluation("b", 40)]
    assert [by_month(e) for e in evaluations] == ["2026-01", "2026-02"]
    assert [by_technician(e) for e in evaluations] == ["Ada", ""]
    band = by_price([900, 5000])
    assert [band(e) for e in evaluations] == ["2", ""]
    assert band(evaluation("c", price=price(899))) == "1"
    assert band(evaluation("d", price=price(7000))) == "3"


def test_thirds_part_the_prices_there_are():
    evaluations = [evaluation(str(p), price=price(p)) for p in (100, 200, 300, 400, 500, 600, 700)] + [evaluation("x")]
    assert thirds(evaluations) == (300, 500)
    assert thirds(evaluations[:2]) == ()


@settings(max_examples=50)
@given(
    st.lists(
        st.tuples(st.integers(0, 300), st.sampled_from(["", "accepted", "declined", "silent"]), st.integers(0, 90)),
        max_size=20,
    )
)
def test_however_they_are_grouped_the_counts_add_up(small_tables, made):
    evaluations = [evaluation(str(i), start) for i, (start, _, _) in enumerate(made)]
    way = ways(small_tables, *((str(i), stage, start + d) for i, (start, stage, d) in enumerate(made) if stage))
    for by in (by_month, by_source, by_verdict):
        found = became(evaluations, way, by)
        assert sum(c.evaluations for c in found) == len([e for e in evaluations if e.on <= TODAY])
        assert all(c.yes + c.no + c.open == c.evaluations for c in found)
        assert all(c.settled.count <= c.yes and c.settled.of <= c.evaluations for c in found)
