"""Short versions of the endurance runs in `tests/endurance`, and that those would see a loss."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, date, datetime
from uuid import uuid4

import pytest

from tests.endurance import kill_while_entering, kill_while_putting_in_force
from tests.endurance.kill_while_entering import Ledger
from tests.endurance.many_devices import Count, Work, check, together
from valuation.service.visits import open_shop

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet", "now": NOW}


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_nothing_acknowledged_is_lost_when_the_tool_is_killed(kind, request, monkeypatch):
    if kind == "postgresql":
        request.getfixturevalue("postgres")  # skipped where there is none
    monkeypatch.setattr(kill_while_entering, "ONE_IN", 2)  # each second kill meets a new store
    counts = kill_while_entering.run(kind, 4, seed=int(uuid4()) % 2**32)
    assert counts["acknowledged entries"] > 0


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_tables_are_in_force_or_not_whenever_the_tool_is_killed(kind, request):
    if kind == "postgresql":
        request.getfixturevalue("postgres")  # skipped where there is none
    counts = kill_while_putting_in_force.run(kind, 4, seed=int(uuid4()) % 2**32)
    assert counts["put in force"] > 0


@pytest.mark.parametrize("apart", [False, True], ids=["threads", "processes"])
def test_devices_that_enter_at_once_lose_and_double_nothing(environ, apart):
    works = together(environ, 3 if apart else 8, Count(15), 0, apart=apart)
    assert [len(work.saved) for work in works] == [15] * (3 if apart else 8)


def test_a_lost_entry_would_be_seen(environ):
    with closing(open_shop(environ, TODAY, with_demo=False)) as shop:
        visit = shop.start_visit({"piano.kind": "grand"}, **ANNA)
        first = shop.put(visit, "wish.field_1", 1, **ANNA)
        second = shop.put(visit, "wish.field_1", 2, **ANNA)
        check(shop, [visit], [Work(saved=[first.id, second.id])])
        with pytest.raises(RuntimeError, match="1 entries lost, 0 doubled"):
            check(shop, [visit], [Work(saved=[first.id, second.id, "5" * 32])])
        with pytest.raises(RuntimeError, match="0 entries lost"):
            check(shop, [visit], [Work(saved=[first.id])])


def test_an_acknowledged_entry_that_is_changed_or_gone_would_be_seen(environ, tmp_path):
    ledger = Ledger(tmp_path / "ledger")
    with closing(open_shop(environ, TODAY)) as shop:
        visit = shop.start_visit({"piano.kind": "grand"}, **ANNA)
        entry = shop.put(visit, "humidity", 41, **ANNA)
        said = b'{"what": "saved", "id": "%s", "visit": "%s", "field": "humidity", "value": %s}'
        ledger.keep([said % (entry.id.encode(), visit.encode(), b"41") + b"\n", b"{cut off"])
        kill_while_entering._check(environ, ledger)
        ledger.keep([said % (entry.id.encode(), visit.encode(), b"42") + b"\n"])
        with pytest.raises(RuntimeError, match="1 acknowledged entries are lost or changed"):
            kill_while_entering._check(environ, ledger)
