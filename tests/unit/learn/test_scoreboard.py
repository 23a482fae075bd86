"""The scoreboard: which promises count, what keeps one, and when the cases tell."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from valuation.jobs.ledger import Change, IfFoundLine, Ledger
from valuation.jobs.records import Job, WorkDone
from valuation.learn.earned import Booked
from valuation.learn.scoreboard import DAY, HOURS, PRICE, Promise, month_of, promises_of, scores, who_of

GONE = date(2026, 5, 4)
TOLD = {
    "verdict": "rebuild", "technician": "Ada", "price_low": 4000, "price_high": 6000, "hours_low": 30, "hours_high": 50
}  # fmt: skip
NOTHING: dict[str, Any] = {
    "agreed_on": date(2026, 3, 1), "option": "rebuild", "price": 5000.0, "quoted": None, "tax": None, "lines": (),
    "if_found": (), "changes": (), "money": (), "returns": (), "finished": frozenset(), "promised": None,
    "person": "", "fee": None,
}  # fmt: skip


def booked(hours: float = 40.0, told: dict[str, Any] = TOLD, gone: date | None = GONE, **ledger: Any) -> Booked:
    job = Job(visit="v", kind="grand", delivered=gone, work=(WorkDone(operation="restring", hours=hours),))
    return Booked(title="one", job=job, ledger=Ledger(**NOTHING | ledger), told=told)


def kept(one: Booked) -> dict[str, bool]:
    return {promise.kind: promise.kept for promise in promises_of(one)}


def found(price: float, answer: str) -> IfFoundLine:
    return IfFoundLine(
        key="a", operation="a", part="", chance=0.3, price=price, hours=None, answer=answer, on=date(2026, 4, 1)
    )


def test_a_price_and_hours_within_what_was_told_are_kept():
    assert kept(booked()) == {PRICE: True, HOURS: True}
    assert kept(booked(hours=51)) == {PRICE: True, HOURS: False}
    assert kept(booked(price=6001.0)) == {PRICE: False, HOURS: True}


def test_what_was_found_and_done_is_in_the_price_and_what_the_client_added_is_not():
    assert kept(booked(if_found=(found(1001.0, "yes"),)))[PRICE] is False
    assert kept(booked(if_found=(found(1001.0, "no"),)))[PRICE] is True
    added = Change(field="c", what="casters", day=GONE, price=2000.0, hours=0.0)
    assert kept(booked(changes=(added,)))[PRICE] is True


def test_another_way_than_was_told_counts_for_nothing_and_neither_does_what_is_not_known():
    assert kept(booked(option="partial_repair")) == {}
    assert kept(booked(told={})) == {}
    assert kept(booked(price=None)) == {HOURS: True}
    assert kept(booked(gone=None, promised=GONE)) == {}


@pytest.mark.parametrize(("late", "is_kept"), [(0, True), (-3, True), (1, False)])
def test_a_day_is_kept_up_to_its_end(late, is_kept):
    assert kept(booked(promised=GONE - timedelta(days=late)))[DAY] is is_kept


def test_they_are_added_up_by_month_and_by_person():
    made = [
        Promise(kind=PRICE, kept=n % 5 > 0, on=GONE + timedelta(days=20 * n), who="Ada" if n < 10 else "Jo")
        for n in range(20)
    ]
    [whole] = scores(made)
    assert (whole.kept.count, whole.kept.of, whole.said, whole.says) == (16, 20, 0.8, False)
    assert [(one.of, one.kept.of) for one in scores(made, who_of)] == [("Ada", 10), ("Jo", 10)]
    months = scores(made, month_of)
    assert [one.of for one in months] == sorted({f"{one.on:%Y-%m}" for one in made})
    assert sum(one.kept.count for one in months) == 16


def test_it_says_so_where_far_fewer_hold_than_was_said():
    [whole] = scores([Promise(kind=DAY, kept=n < 10, on=GONE, who="") for n in range(20)])
    assert whole.says
