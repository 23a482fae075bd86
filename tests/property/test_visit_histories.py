"""What must hold of any history: merges commute, undo goes back, visits go through their fields unchanged."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_visits import random_visit

from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.files.recorded_visit import from_visit, to_visit, visit_as_text, visit_of_text
from valuation.files.visit_file import parse_visit
from valuation.files.visit_writer import write_visit
from valuation.record import (
    Entry,
    by_field,
    clash,
    first_id,
    heads,
    may_undo,
    merge,
    next_to_undo,
    plain_value,
    present,
    value_without,
)
from valuation.rules import load_tables
from valuation.rules.load import PACKAGED

VISIT = "0" * 31 + "1"
AT = datetime(2026, 5, 4, 9, tzinfo=UTC)
FIELDS = ("place", "humidity", "finding.plate_crack")
few = settings(max_examples=60, deadline=None)
many = settings(max_examples=200, deadline=None)

json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["grade", "readings", "value", "note", "section", "low", "check"]), inner, max_size=3
        )
    ),
    max_leaves=8,
)


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables(PACKAGED)


class Device:
    """Enters what it likes over what it has seen; its clock may be wrong."""

    def __init__(self, name: str, wrong: int, ids: list[int]) -> None:
        self.name, self.wrong, self.ids = name, wrong, ids
        self.seen: tuple[Entry, ...] = ()

    def put(self, field: str, value: object, undoes: str = "") -> None:
        there = [entry for entry in self.seen if entry.field == field]
        self.ids.append(len(self.ids))
        entry = Entry(
            id=UUID(int=hash((self.name, len(self.ids))) % 2**128).hex,
            visit=VISIT,
            at=AT + timedelta(seconds=len(self.ids) + self.wrong),
            device=self.name,
            field=field,
            value=value,
            follows=tuple(head.id for head in heads(there)),
            undoes=undoes,
        )
        self.seen = (*self.seen, entry)

    def undo(self) -> None:
        if (target := next_to_undo(self.seen, self.name)) is not None:
            there = [entry for entry in self.seen if entry.field == target.field]
            self.put(target.field, value_without(there, target.id), undoes=target.id)


acts = st.lists(
    st.tuples(
        st.sampled_from("ab"),
        st.sampled_from(["put", "put", "put", "undo", "meet"]),
        st.sampled_from(FIELDS),
        st.integers(0, 3),
    ),
    max_size=25,
)


def play(acts: list[tuple[str, str, str, int]], wrong: int) -> tuple[Device, Device]:
    """Return two devices after some acts on either; to meet is to learn all that the other knows."""
    ids: list[int] = []
    a, b = Device("a", 0, ids), Device("b", wrong, ids)
    for name, act, field, value in acts:
        device = a if name == "a" else b
        if act == "put":
            device.put(field, value)
        elif act == "undo":
            device.undo()
        else:
            a.seen = b.seen = merge(a.seen, b.seen)
    return a, b


@many
@given(acts=acts, wrong=st.integers(-40, 40), data=st.data())
def test_two_histories_come_to_the_same_in_whatever_order_they_meet(tables, acts, wrong, data):
    a, b = play(acts, wrong)
    whole = merge(a.seen, b.seen)
    assert merge(b.seen, a.seen) == whole == merge(whole, a.seen)
    shuffled = data.draw(st.permutations(whole))
    for field, entries in by_field(whole).items():
        others = [entry for entry in shuffled if entry.field == field]
        assert heads(others) == heads(entries)
        assert clash(others) == clash(entries)
        for entry in entries:
            assert value_without(others, entry.id) == value_without(entries, entry.id)
            assert may_undo(others, entry) == may_undo(entries, entry)
    if whole:
        assert to_visit(shuffled, tables) == to_visit(whole, tables)


@many
@given(acts=acts, wrong=st.integers(-40, 40))
def test_no_entry_that_somebody_has_not_replaced_is_out_of_sight(acts, wrong):
    a, b = play(acts, wrong)
    whole = merge(a.seen, b.seen)
    for entries in by_field(whole).values():
        followed = {name for entry in entries for name in entry.follows}
        assert {entry.id for entry in heads(entries)} | followed == {entry.id for entry in entries}
        assert present(entries) in heads(entries)


@many
@given(steps=st.lists(st.sampled_from([1, 2, 3, None, "undo"]), max_size=20))
def test_one_device_s_undo_goes_back_as_on_a_stack(steps):
    device = Device("a", 0, [])
    stack: list = [None]
    for step in steps:
        if step == "undo":
            device.undo()
            stack = stack[:-1] or [None]
        elif step != stack[-1]:
            device.put("place", step)
            stack.append(step)
        now = present(device.seen)
        assert (now.value if now else None) == stack[-1]


@many
@given(values=st.lists(st.integers(0, 5), min_size=1, max_size=5), turns=st.integers(1, 6))
def test_undo_and_its_undo_alternate_for_ever(values, turns):
    device = Device("a", 0, [])
    for value in values:
        device.put("place", value)
    before = present(device.seen[:-1])
    pair = [before.value if before else None, values[-1]]
    target = device.seen[-1].id
    for turn in range(turns):
        value = value_without(device.seen, target)
        device.put("place", value, undoes=target)
        target = device.seen[-1].id
        assert value == pair[turn % 2]


@few
@given(seed=st.integers(0, 2**32 - 1))
def test_any_visit_goes_through_its_fields_unchanged(tables, seed):
    visit = random_visit(tables, np.random.default_rng(seed))
    assert to_visit(entered(from_visit(visit)), tables).visit == in_order_of_the_walk(visit, tables)


@few
@given(seed=st.integers(0, 2**32 - 1))
def test_any_visit_goes_through_the_text_that_is_kept_with_a_paper(tables, seed):
    visit = to_visit(entered(from_visit(random_visit(tables, np.random.default_rng(seed)))), tables).visit
    text = visit_as_text(visit)
    assert text.isascii()
    assert visit_of_text(text, tables) == (visit, {})
    assert visit_as_text(visit_of_text(text, tables)[0]) == text


@many
@given(data=st.data())
def test_any_values_at_all_open_as_a_visit_that_a_visit_file_could_hold(tables, data):
    names = ["date", "title", "piano.kind", "piano.year", "piano.size_mm", "piano.features", "piano.renewed.hammers"]
    names += ["finding.plate_crack", "finding.pin_torque", "finding.hammer_groove", "finding.loose_pins", "finding.x"]
    names += ["humidity", "client.budget", "client.wants_to_play", "finished_value", "photo.ab", "minutes", "wish.any"]
    values = data.draw(st.dictionaries(st.sampled_from(names), json_values, min_size=1))
    values |= data.draw(st.sampled_from([{}, {"title": "x", "date": "2026-05-04", "piano.kind": "grand"}]))
    recorded = to_visit(entered(values), tables)
    assert set(recorded.heads) == set(values)
    assert {entry.field for entry in recorded.set_aside} == set(recorded.why_set_aside) <= set(values)
    visit = recorded.visit
    if visit.title and visit.piano.kind:
        assert parse_visit(write_visit(visit, tables), "again.toml", tables, today=date.max) == visit


def entered(values: dict) -> list[Entry]:
    return [
        Entry(id=first_id(VISIT, name), visit=VISIT, at=AT, field=name, value=plain_value(value))
        for name, value in values.items()
    ]


def in_order_of_the_walk(visit: Visit, tables: Tables) -> Visit:
    walk = [row.id for row in tables.checks]
    parts = [row.id for row in tables.parts]
    renewed = tuple(sorted(visit.piano.renewed, key=lambda pair: parts.index(pair[0])))
    findings = tuple(sorted(visit.findings, key=lambda finding: walk.index(finding.check)))
    return replace(visit, findings=findings, piano=replace(visit.piano, renewed=renewed))
