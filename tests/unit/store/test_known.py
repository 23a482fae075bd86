"""What is held of all jobs is what a fresh reading finds, whatever was entered, restricted, forgotten or removed."""

from __future__ import annotations

from datetime import UTC, date, datetime

from valuation.service.known import booked_in, known_of, let_go
from valuation.service.people import erase, restrict
from valuation.service.visits import Shop

TODAY = date(2026, 12, 1)
ANNA = {"who": "Anna", "device": "desk", "now": datetime(2026, 12, 1, 9, tzinfo=UTC)}


def seen(shop: Shop, tables) -> tuple:
    """All that is known, in plain values."""
    known = known_of(shop, tables, on=TODAY)
    courses = {v: [(e.day, e.stage, e.reason) for e in course.events] for v, course in known.courses.items()}
    stages = [row.id for row in tables.stages]
    jobs = [
        (b.title, b.job.visit, b.job.hours_by_operation, b.ledger.price, b.source)
        for b in booked_in(shop, tables, stages, on=TODAY)
    ]
    return known.evaluations, courses, list(known.titles.items()), known.unread, jobs


def same_as_fresh(shop: Shop, tables) -> tuple:
    held = seen(shop, tables)
    let_go()
    assert held == seen(shop, tables)
    return held


def test_every_change_is_seen_and_nothing_else_moves(shop, tables):
    shop.load_demo()
    visits = [card.id for card in shop.list_visits(limit=99)[0]]
    before = same_as_fresh(shop, tables)
    shop.put(visits[0], "job.event.x", {"stage": "declined", "day": "2026-11-30", "reason": "no_money"}, **ANNA)
    shop.put(visits[1], "job.done.tune.x", {"hours": 2.5, "day": "2026-11-30", "who": "Jo"}, **ANNA)
    shop.put(visits[2], "title", "another name", **ANNA)
    after = same_as_fresh(shop, tables)
    assert after != before
    assert after[1][visits[0]][-1] == (date(2026, 11, 30), "declined", "no_money")
    new = shop.start_visit({"piano.kind": "grand", "job.event.a": {"stage": "asked", "day": "2026-11-30"}}, **ANNA)
    assert new in same_as_fresh(shop, tables)[1]
    shop.undo(visits[1], **ANNA)
    same_as_fresh(shop, tables)


def test_who_is_restricted_or_forgotten_is_no_longer_known_and_a_demo_that_is_removed_is_gone(shop, tables):
    shop.load_demo()
    asked = {"piano.kind": "grand", "job.event.a": {"stage": "asked", "day": "2026-11-30"}, "client.name": "A."}
    one, other = (shop.start_visit(asked, **ANNA) for _ in range(2))
    assert {one, other} <= same_as_fresh(shop, tables)[1].keys()
    restrict(shop, [one])
    assert one not in same_as_fresh(shop, tables)[1]
    erase(shop, [other], tables, TODAY)
    same_as_fresh(shop, tables)
    invented = {card.id for card in shop.list_visits(demo=True, limit=99)[0]}
    assert invented & same_as_fresh(shop, tables)[1].keys()
    shop.remove_demo()
    assert not invented & same_as_fresh(shop, tables)[1].keys()
