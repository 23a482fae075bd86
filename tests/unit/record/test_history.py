"""What a history comes to."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import permutations
from uuid import uuid5

import pytest

from valuation.record import Entry, clash, first_id, heads, merge, next_to_undo, plain_value, present, value_without
from valuation.record.entry import MOST_LETTERS, why_not_entry

VISIT = "0" * 31 + "1"
START = datetime(2026, 5, 4, 9, tzinfo=UTC)


def entry(name: str, value: object, *follows: Entry, at: int = 0, undoes: Entry | None = None, device="a", field="x"):
    """An entry called `name`, `at` minutes after nine."""
    return Entry(
        id=uuid_of(name),
        visit=VISIT,
        at=START + timedelta(minutes=at),
        device=device,
        field=field,
        value=value,
        follows=tuple(one.id for one in follows),
        undoes=undoes.id if undoes else "",
    )


def uuid_of(name: str) -> str:
    from uuid import UUID

    return uuid5(UUID(VISIT), f"test {name}").hex


def test_the_one_that_nobody_follows_counts_whatever_the_clocks_say():
    first = entry("first", 1, at=30)
    second = entry("second", 2, first, at=10)  # this device's clock is behind
    assert present([first, second]) == second
    assert clash([first, second]) == ()


def test_two_who_did_not_see_each_other_clash_and_the_later_counts_meanwhile():
    first = entry("first", 1)
    one, other = entry("one", 2, first, at=1), entry("other", 3, first, at=2, device="b")
    assert clash([first, one, other]) == (one, other)
    assert present([first, one, other]) == other


def test_two_who_say_the_same_do_not_clash():
    assert clash([entry("one", {"grade": "good"}), entry("other", {"grade": "good"}, at=1)]) == ()


def test_one_and_true_are_not_the_same():
    assert clash([entry("one", 1), entry("other", True, at=1)])


def test_an_entry_that_follows_both_settles_a_clash():
    one, other = entry("one", 2), entry("other", 3, at=2, device="b")
    settled = entry("settled", 2, one, other, at=3)
    assert heads([one, other, settled]) == (settled,)


def test_a_forged_ring_of_entries_still_has_a_present_value():
    one = Entry(id="1" * 32, visit=VISIT, at=START, field="x", value=1, follows=("2" * 32,))
    two = Entry(id="2" * 32, visit=VISIT, at=START, field="x", value=2, follows=("1" * 32,))
    for order in permutations([one, two]):
        assert present(order) == two


def test_what_was_before_an_entry_comes_back_without_it():
    first = entry("first", 1)
    second = entry("second", 2, first, at=1)
    assert value_without([first, second], second.id) == 1
    assert value_without([first], first.id) is None


def test_an_undo_taken_back_brings_the_entry_to_life_again():
    first = entry("first", 1)
    second = entry("second", 2, first, at=1)
    undo = entry("undo", 1, second, at=2, undoes=second)
    assert value_without([first, second, undo], undo.id) == 2


def test_undo_goes_back_step_by_step_and_then_has_nothing_left():
    first = entry("first", 1)
    second = entry("second", 2, first, at=1)
    history = [first, second]
    assert next_to_undo(history, "a") == second
    history.append(entry("undo", 1, second, at=2, undoes=second))
    assert next_to_undo(history, "a") == first
    history.append(entry("undo too", None, history[-1], at=3, undoes=first))
    assert next_to_undo(history, "a") is None


def test_undo_leaves_alone_what_another_device_has_replaced():
    mine = entry("mine", 1)
    other_field = entry("earlier", "x", field="y", at=-1)
    theirs = entry("theirs", 2, mine, at=1, device="b")
    assert next_to_undo([other_field, mine, theirs], "a") == other_field
    assert next_to_undo([other_field, mine, theirs], "b") == theirs


def test_undo_in_a_clash_gives_way_to_the_other():
    mine, theirs = entry("mine", 1, at=1), entry("theirs", 2, device="b")
    assert next_to_undo([mine, theirs], "a") == mine
    assert value_without([mine, theirs], mine.id) == 2


def test_undo_never_takes_away_what_a_visit_began_with_or_always_has():
    begun = Entry(id=first_id(VISIT, "place"), visit=VISIT, at=START, device="a", field="place", value="hall")
    title = entry("title", "Anna's", field="title", at=1)
    assert next_to_undo([begun, title], "a") is None


def test_a_merge_holds_every_entry_once_in_the_order_of_time():
    one, two, three = entry("one", 1), entry("two", 2, at=1), entry("three", 3, at=2)
    assert merge([three, one], [two, one]) == (one, two, three)


def test_a_time_without_zone_is_refused():
    with pytest.raises(ValueError, match="must know its zone"):
        Entry(id="1" * 32, visit=VISIT, at=datetime(2026, 5, 4), field="x", value=1)  # noqa: DTZ001


@pytest.mark.parametrize("value", [float("nan"), float("inf"), {1, 2}, object(), b"x"])
def test_what_is_no_json_is_refused(value):
    with pytest.raises(ValueError, match="can't be stored"):
        plain_value(value)


def test_a_value_without_end_is_refused():
    ring: list = []
    ring.append(ring)
    with pytest.raises(ValueError, match="can't be stored"):
        plain_value(ring)
    with pytest.raises(ValueError, match="too long"):
        plain_value("x" * MOST_LETTERS)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"id": "x"}, "32 hexadecimal"),
        ({"visit": "../../etc"}, "32 hexadecimal"),
        ({"follows": ("y",)}, "32 hexadecimal"),
        ({"field": "a b"}, "not a name of a field"),
        ({"field": "a" * 201}, "not a name of a field"),
        ({"who": "x\ny"}, "line break"),
        ({"follows": ("1" * 32,)}, "can't follow itself"),
    ],
)
def test_names_and_ids_at_fault_are_told(change, told):
    usual = {"id": "1" * 32, "visit": VISIT, "at": START, "field": "x", "value": 1}
    assert told in why_not_entry(Entry(**usual | change))
    assert why_not_entry(Entry(**usual)) == ""
