"""What a shop's jobs teach its tables, from the store to the shop's own folder of tables and back."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from simulated_shop import TODAY, believed_tables, simulate
from simulated_store import put_in, write_believed

from valuation.errors import TableError, UserError
from valuation.learn import LEARNED
from valuation.rules.table_versions import finish
from valuation.service import load_shop
from valuation.service.lesson_effects import effects
from valuation.service.lessons import NEWEST, go_back, lessons, make_own_copy, own_tables, take_chosen, versions
from valuation.service.visits import Shop, open_shop

NOW = datetime(2026, 6, 1, 10, tzinfo=UTC)


@pytest.fixture(scope="module")
def simulated(tmp_path_factory) -> tuple[Shop, Path]:
    """A store with a simulated shop of 90 evaluations, and its own tables; the tests copy the latter."""
    place = tmp_path_factory.mktemp("lessons")
    write_believed(place / "tables", believed_tables())
    shop = open_shop({"VALUATION_DATA": str(place), "DATABASE_URL": ""}, TODAY, with_demo=False)
    put_in(shop, simulate(np.random.default_rng(5), believed=load_shop(place / "tables"), n=90))
    yield shop, place / "tables"
    shop.close()


@pytest.fixture(scope="module")
def lesson(simulated):
    """What the shop teaches its tables."""
    shop, folder = simulated
    return lessons(shop, load_shop(folder), folder, on=TODAY)


@pytest.fixture
def folder(simulated, tmp_path) -> Path:
    """A copy of the shop's own tables, to be changed at will."""
    return Path(shutil.copytree(simulated[1], tmp_path / "tables"))


def test_all_visits_teach_opened_or_not(lesson):
    assert lesson.visits == 90
    assert 20 < lesson.opened < 60
    assert lesson.finished == lesson.opened
    assert {proposal.subject for proposal in lesson.proposals} >= {"hours", "reading", "odds"}


def test_what_would_change_is_worked_out_before_anything_is_taken_in(simulated, lesson):
    _, folder = simulated
    before = load_shop(folder).hash
    found = effects(lesson, lesson.proposals, on=TODAY)
    assert 10 < len(found) < NEWEST  # those on which enough was looked at for a verdict
    turned = [effect.turns for effect in found]
    assert turned == sorted(turned, reverse=True)
    assert any(effect.is_open for effect in found)
    assert any(not effect.is_open for effect in found)
    assert any(effect.price_then != effect.price for effect in found)
    assert any(effect.price_then != effect.price for effect in found if effect.verdict in ("keep", "retire"))
    assert load_shop(folder).hash == before
    assert not versions(folder)


def test_no_proposal_means_no_effect(lesson):
    assert all(not e.turns and e.price == e.price_then for e in effects(lesson, (), on=TODAY))


def test_what_is_taken_in_is_a_new_version_and_what_was_in_force_is_kept(lesson, folder):
    chosen = [proposal for proposal in lesson.proposals if proposal.subject == "hours"]
    kept = take_chosen(folder, lesson, chosen, on=TODAY, now=NOW)
    now = load_shop(folder)
    learned = [row for row in now.operations if row.source == LEARNED]
    assert learned
    assert all("learned from" in row.note for row in learned)
    assert now.hash != lesson.now.hash
    assert [version.name for version in versions(folder)] == [kept.name]
    assert kept.name == f"2026-06-01T100000Z_{lesson.now.hash[:8]}"
    assert load_shop(folder / "versions" / kept.name).hash == lesson.now.hash


def test_from_the_same_jobs_nothing_more_is_proposed_once_it_is_taken_in(simulated, lesson, folder):
    shop, _ = simulated
    take_chosen(folder, lesson, lesson.proposals, on=TODAY, now=NOW)
    again = lessons(shop, load_shop(folder), folder, on=TODAY)
    assert again.proposals == ()
    assert again.unread == ()


def test_the_owner_can_go_back_and_forth(lesson, folder):
    first = take_chosen(folder, lesson, lesson.proposals[:1], on=TODAY, now=NOW)
    learned = load_shop(folder)
    second = go_back(folder, first, instead_of=learned, now=NOW + timedelta(minutes=1))
    assert load_shop(folder).hash == lesson.now.hash
    go_back(folder, second, instead_of=load_shop(folder), now=NOW + timedelta(minutes=2))
    assert load_shop(folder).hash == learned.hash
    assert len(versions(folder)) == 3


def test_tables_that_were_changed_meanwhile_are_not_written_over(lesson, folder):
    rates = folder / "rates.csv"
    rates.write_text(rates.read_text(encoding="utf-8").replace("shop", "shop", 1) + "\n", encoding="utf-8")
    text = (folder / "operations.csv").read_text(encoding="utf-8")
    (folder / "operations.csv").write_text(text.replace("restrung throughout", "all new strings", 1), encoding="utf-8")
    with pytest.raises(TableError, match="the tables were changed while they were in use"):
        take_chosen(folder, lesson, lesson.proposals[:1], on=TODAY, now=NOW)
    assert "all new strings" in (folder / "operations.csv").read_text(encoding="utf-8")
    assert not versions(folder)


def test_nothing_chosen_changes_nothing(lesson, folder):
    with pytest.raises(UserError, match="nothing is chosen; choose what is to be taken in"):
        take_chosen(folder, lesson, (), on=TODAY, now=NOW)


def test_a_folder_that_can_not_be_written_is_told_and_stays_as_it_was(lesson, folder, monkeypatch):
    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("valuation.rules.table_versions._write", refuse)
    with pytest.raises(UserError, match=r"the tables can't be written \(Permission denied\)"):
        take_chosen(folder, lesson, lesson.proposals[:1], on=TODAY, now=NOW)
    assert load_shop(folder).hash == lesson.now.hash


@pytest.mark.parametrize("moved", [0, 1, 5])
def test_a_break_off_while_files_are_moved_is_finished_and_never_leaves_a_mixture(lesson, folder, monkeypatch, moved):
    whole = Path(shutil.copytree(folder, folder.with_name("whole")))
    take_chosen(whole, lesson, lesson.proposals, on=TODAY, now=NOW)
    with monkeypatch.context() as killed:
        left, replace = [None] * moved, Path.replace

        def move_until_killed(path, target):
            if not left:
                raise KeyboardInterrupt
            left.pop()
            return replace(path, target)

        killed.setattr(Path, "replace", move_until_killed)
        with pytest.raises(KeyboardInterrupt):
            take_chosen(folder, lesson, lesson.proposals, on=TODAY, now=NOW)
    before = versions(folder)
    finish(folder)
    finish(folder)
    assert load_shop(folder).hash == load_shop(whole).hash
    assert versions(folder) == before == versions(whole)
    assert sorted(path.name for path in (folder / "versions").iterdir()) == [version.name for version in before]


def test_a_version_of_another_program_is_told_and_learning_goes_on(simulated, lesson, folder):
    shop, _ = simulated
    take_chosen(folder, lesson, lesson.proposals[:1], on=TODAY, now=NOW)
    [version] = versions(folder)
    (folder / "versions" / version.name / "parts.csv").write_text("nothing,at,all\n", encoding="utf-8")
    assert lessons(shop, load_shop(folder), folder, on=TODAY).unread == (version.name,)
    (folder / "versions" / "readme").mkdir()
    assert len(versions(folder)) == 1


def test_an_empty_shop_learns_nothing_and_proposes_nothing(shop, tables):
    lesson = lessons(shop, tables, None, on=TODAY)
    assert (lesson.visits, lesson.opened, lesson.finished, lesson.proposals) == (0, 0, 0, ())


def test_nothing_is_learned_from_invented_evaluations_unless_asked_to_see_it(shop, tables):
    shop.load_demo()
    assert lessons(shop, tables, None, on=TODAY).visits == 0
    shown = lessons(shop, tables, None, on=datetime(2026, 12, 1, tzinfo=UTC).date(), demo=True)
    assert (shown.visits, shown.opened, shown.finished) == (8, 1, 1)


def test_a_shop_without_tables_of_its_own_gets_a_copy_that_is_whole_or_not_there(shop, tables):
    folder = own_tables(shop)
    assert not folder.exists()
    make_own_copy(folder)
    assert load_shop(folder).hash == tables.hash
    with pytest.raises(UserError, match="the shop has its own tables already"):
        make_own_copy(folder)
