"""What a shop's jobs teach its tables, from the store to the shop's own folder of tables and back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from own_tables import put_files, with_rate
from simulated_shop import TODAY, believed_tables, simulate
from simulated_store import believed_texts, put_in

from valuation.errors import StoreError, UserError
from valuation.learn import LEARNED
from valuation.service.lesson_effects import effects
from valuation.service.lessons import NEWEST, lessons, take_chosen
from valuation.service.shop_tables import go_back, history, put_in_force
from valuation.service.visits import Shop, open_shop

NOW = datetime(2026, 6, 1, 10, tzinfo=UTC)
EARLIER = date(2026, 1, 5)
ANNA = {"on": TODAY, "who": "Anna", "why": "learned", "now": NOW}


def simulated_in(place: Path) -> Shop:
    shop = open_shop({"VALUATION_DATA": str(place), "DATABASE_URL": ""}, TODAY, with_demo=False)
    put_files(shop, believed_texts(believed_tables()), EARLIER)
    return shop


@pytest.fixture(scope="module")
def simulated(tmp_path_factory) -> Iterator[Shop]:
    """A store with a simulated shop of 90 evaluations, and its own tables; nothing is put in force there."""
    shop = simulated_in(tmp_path_factory.mktemp("lessons"))
    put_in(shop, simulate(np.random.default_rng(5), believed=shop.tables(TODAY), n=90))
    yield shop
    shop.close()


@pytest.fixture(scope="module")
def lesson(simulated):
    """What the shop teaches its tables."""
    return lessons(simulated, simulated.tables(TODAY), on=TODAY)


@pytest.fixture
def empty(tmp_path) -> Iterator[Shop]:
    """A shop with the same tables and no visits, whose tables may be changed at will."""
    shop = simulated_in(tmp_path / "empty")
    yield shop
    shop.close()


def take(shop: Shop, lesson, chosen):
    return take_chosen(shop, shop.tables_in_force(TODAY), lesson, chosen, **ANNA)


def test_all_visits_teach_opened_or_not(lesson):
    assert lesson.visits == 90
    assert 20 < lesson.opened < 60
    assert lesson.finished == lesson.opened
    assert {proposal.subject for proposal in lesson.proposals} >= {"hours", "reading", "odds"}


def test_what_would_change_is_worked_out_before_anything_is_taken_in(simulated, lesson):
    found = effects(lesson, lesson.proposals, on=TODAY)
    assert 10 < len(found) < NEWEST  # those on which enough was looked at for a verdict
    turned = [effect.turns for effect in found]
    assert turned == sorted(turned, reverse=True)
    assert any(effect.is_open for effect in found)
    assert any(not effect.is_open for effect in found)
    assert any(effect.price_then != effect.price for effect in found)
    assert any(effect.price_then != effect.price for effect in found if effect.verdict in ("keep", "retire"))
    assert len(history(simulated.store)) == 2


def test_no_proposal_means_no_effect(lesson):
    assert all(not e.turns and e.price == e.price_then for e in effects(lesson, (), on=TODAY))


def test_what_is_taken_in_is_a_new_version_and_what_was_in_force_is_kept(lesson, empty):
    chosen = [proposal for proposal in lesson.proposals if proposal.subject == "hours"]
    change = take(empty, lesson, chosen)
    now = empty.tables(TODAY)
    learned = [row for row in now.operations if row.source == LEARNED]
    assert learned
    assert all("learned from" in row.note for row in learned)
    assert (change.hash, change.instead_of) == (now.hash, lesson.now.hash)
    assert [c.hash for c in history(empty.store)[1:]] == [lesson.now.hash, now.hash]


def test_from_the_same_jobs_nothing_more_is_proposed_once_it_is_taken_in(tmp_path, lesson):
    shop = simulated_in(tmp_path / "again")
    put_in(shop, simulate(np.random.default_rng(5), believed=shop.tables(TODAY), n=90))
    take(shop, lesson, lesson.proposals)
    assert lessons(shop, shop.tables(TODAY), on=TODAY).proposals == ()
    shop.close()


def test_the_owner_can_go_back_and_forth(lesson, empty):
    learned = take(empty, lesson, lesson.proposals[:1])
    for wanted in (history(empty.store)[1], learned):
        seen = empty.tables_in_force(TODAY)
        go_back(empty.store, wanted, seen=seen, today=TODAY, who="Anna", why="back", now=NOW + timedelta(minutes=1))
        assert empty.tables(TODAY).hash == wanted.hash
    assert len(history(empty.store)) == 5


def test_tables_that_were_changed_meanwhile_are_not_written_over(lesson, empty):
    seen = empty.tables_in_force(TODAY)
    put_in_force(
        empty.store, with_rate(seen.texts, 75), seen=seen, from_day=TODAY, today=TODAY, who="Bo", why="rate", now=NOW
    )
    with pytest.raises(StoreError, match="Bo put other tables in force meanwhile"):
        take_chosen(empty, seen, lesson, lesson.proposals[:1], **ANNA)
    assert "75" in {f"{row.per_hour:g}" for row in empty.tables(TODAY).rates}


def test_nothing_chosen_changes_nothing(lesson, empty):
    with pytest.raises(UserError, match="nothing is chosen; choose what is to be taken in"):
        take(empty, lesson, ())


def test_an_empty_shop_learns_nothing_and_proposes_nothing(shop, tables):
    lesson = lessons(shop, tables, on=TODAY)
    assert (lesson.visits, lesson.opened, lesson.finished, lesson.proposals) == (0, 0, 0, ())


def test_nothing_is_learned_from_invented_evaluations_unless_asked_to_see_it(shop, tables):
    shop.load_demo()
    assert lessons(shop, tables, on=TODAY).visits == 0
    shown = lessons(shop, tables, on=datetime(2026, 12, 1, tzinfo=UTC).date(), demo=True)
    assert (shown.visits, shown.opened, shown.finished) == (8, 1, 1)
