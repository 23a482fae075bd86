"""The use cases of the shop's store, on each database."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from poisoned import let_in

from valuation import service
from valuation.errors import StoreError, UserError, VisitError
from valuation.service.visits import SORTS, open_shop
from valuation.store import copies

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA, BO = {"who": "Anna", "device": "tablet"}, {"who": "Bo", "device": "phone"}


def later(minutes: int) -> datetime:
    return NOW + timedelta(minutes=minutes)


def test_the_very_first_start_brings_the_demo_and_no_later_one_does(environ, tables):
    shop = open_shop(environ, TODAY)
    cards, total = shop.list_visits()
    assert total == len(service.demo_visits())
    assert all(card.demo for card in cards)
    assert shop.has_demo()
    assert shop.open_visit(cards[0].id, tables).visit.title == cards[0].title
    assert shop.remove_demo() == total
    shop.close()
    again = open_shop(environ, TODAY)
    assert again.list_visits() == ([], 0)
    assert not again.has_demo()
    again.close()


def test_removing_the_demo_leaves_ones_own_and_it_can_be_loaded_again(shop, visit, tables):
    assert shop.load_demo() == len(service.demo_visits())
    assert shop.load_demo() == 0
    demo = shop.list_visits(demo=True)[0][0].id
    shop.put(demo, "place", "attic", **ANNA, now=NOW)
    shop.remove_demo()
    assert [card.id for card in shop.list_visits()[0]] == [visit]
    with pytest.raises(StoreError, match="may have been a demo visit that was removed"):
        shop.put(demo, "place", "attic", **ANNA, now=NOW)
    shop.load_demo()
    assert shop.open_visit(demo, tables).visit.place != "attic"


def test_a_visit_starts_with_only_what_is_known(shop, tables):
    name = shop.start_visit({"piano.kind": "grand", "place": "", "piano.year": None}, **ANNA, now=NOW)
    recorded = shop.open_visit(name, tables)
    assert (recorded.visit.title, recorded.visit.on) == ("2026-12-01", TODAY)
    assert set(recorded.heads) == {"title", "date", "piano.kind"}
    assert recorded.heads["title"].who == "Anna"


def test_a_visit_started_twice_under_one_id_is_started_once(shop):
    facts = {"piano.kind": "grand"}
    names = {shop.start_visit(facts, **ANNA, now=later(i), visit_id="7" * 32) for i in range(2)}
    assert names == {"7" * 32}
    assert shop.list_visits()[1] == 1
    assert len(shop.history("7" * 32)) == 3


def test_a_visit_without_a_kind_or_with_a_fault_is_not_started(shop, tables):
    with pytest.raises(VisitError, match="an upright or a grand"):
        shop.start_visit({"title": "x"}, **ANNA, now=NOW)
    with pytest.raises(VisitError, match=r"piano.year: 19122 is out of range"):
        shop.start_visit({"piano.kind": "grand", "piano.year": 19122}, **ANNA, now=NOW, tables=tables)
    assert shop.list_visits() == ([], 0)


def test_a_visit_file_comes_in_whole(shop, tables):
    path = service.demo_visits()[1][1]
    visit = service.read_visit_file(path, tables, TODAY)
    name = shop.import_visit(visit, **ANNA, now=NOW)
    opened = shop.open_visit(name, tables).visit
    assert opened.piano == visit.piano
    assert set(opened.findings) == set(visit.findings)
    assert not shop.list_visits()[0][0].demo


def test_what_is_put_is_there_and_on_the_card(shop, visit, tables):
    for field, value in {
        "piano.maker": "Nobody & Sons",
        "place": "Hall",
        "client.name": "Ö",
        "job.stage": "asked",
    }.items():
        shop.put(visit, field, value, **ANNA, now=later(1))
    shop.put(visit, "piano.year", 1911, **ANNA, now=later(2))
    card = shop.list_visits()[0][0]
    assert (card.maker, card.place, card.client, card.stage, card.year) == ("Nobody & Sons", "Hall", "Ö", "asked", 1911)
    assert (card.changed_at, card.created_at, card.created_by, card.day) == (later(2), NOW, "Anna", TODAY)
    assert shop.open_visit(visit, tables).visit.piano.maker == "Nobody & Sons"


def test_an_entry_tells_who_when_and_over_what(shop, visit):
    first = shop.put(visit, "humidity", 41, **ANNA, now=later(1))
    second = shop.put(visit, "humidity", 43.5, **BO, now=later(2))
    assert (second.who, second.device, second.at, second.follows) == ("Bo", "phone", later(2), (first.id,))
    assert shop.history(visit, "humidity") == [first, second]
    assert second.seq > first.seq > 0


def test_nothing_is_written_where_nothing_changes(shop, visit):
    first = shop.put(visit, "humidity", 41, **ANNA, now=later(1))
    assert shop.put(visit, "humidity", 41, **BO, now=later(2)) == first
    assert shop.put(visit, "temperature", None, **BO, now=later(2)) is None
    assert len(shop.history(visit)) == 4


def test_an_entry_put_twice_under_one_id_is_put_once(shop, visit):
    one = shop.put(visit, "humidity", 41, **ANNA, now=later(1), entry_id="5" * 32)
    shop.put(visit, "humidity", 50, **ANNA, now=later(2))
    assert shop.put(visit, "humidity", 41, **ANNA, now=later(3), entry_id="5" * 32) == one
    assert [entry.value for entry in shop.history(visit, "humidity")] == [41, 50]


def test_two_devices_that_did_not_see_each_other_clash_and_one_tap_settles_it(shop, visit, tables):
    seen = shop.put(visit, "finding.plate_crack", {"grade": "none"}, **ANNA, now=later(1))
    hers = shop.put(visit, "finding.plate_crack", {"grade": "marked"}, follows=(seen.id,), **ANNA, now=later(2))
    his = shop.put(visit, "finding.plate_crack", {"grade": "severe"}, follows=(seen.id,), **BO, now=later(3))
    assert shop.open_visit(visit, tables).clashes == {"finding.plate_crack": (hers, his)}
    settled = shop.settle(visit, "finding.plate_crack", hers.id, **BO, now=later(4))
    recorded = shop.open_visit(visit, tables)
    assert recorded.clashes == {}
    assert recorded.visit.findings[0].grade == "marked"
    assert set(settled.follows) == {hers.id, his.id}
    assert shop.settle(visit, "finding.plate_crack", settled.id, **BO, now=later(5)) == settled
    with pytest.raises(StoreError, match="look again and choose"):
        shop.settle(visit, "finding.plate_crack", "9" * 32, **BO, now=later(5))


def test_entering_what_already_counts_settles_a_clash_too(shop, visit, tables):
    shop.put(visit, "humidity", 41, follows=(), **ANNA, now=later(1))
    shop.put(visit, "humidity", 42, follows=(), **BO, now=later(2))
    shop.put(visit, "humidity", 42, **ANNA, now=later(3))
    assert shop.open_visit(visit, tables).clashes == {}


def test_undo_goes_back_entry_by_entry_of_the_own_device(shop, visit, tables):
    shop.put(visit, "humidity", 41, **ANNA, now=later(1))
    shop.put(visit, "place", "hall", **BO, now=later(2))
    last = shop.put(visit, "humidity", 44, **ANNA, now=later(3))
    undone = shop.undo(visit, **ANNA, now=later(4))
    assert (undone.field, undone.value, undone.undoes) == ("humidity", 41, last.id)
    assert shop.undo(visit, **ANNA, now=later(5)).value is None
    assert shop.undo(visit, **ANNA, now=later(6)) is None
    recorded = shop.open_visit(visit, tables)
    assert (recorded.visit.humidity, recorded.visit.place) == (None, "hall")
    assert len(shop.history(visit, "humidity")) == 4


def test_an_undo_can_be_taken_back(shop, visit, tables):
    entry = shop.put(visit, "humidity", 41, **ANNA, now=later(1))
    undo = shop.undo(visit, **ANNA, now=later(2))
    redo = shop.undo(visit, **BO, now=later(3), entry_id=undo.id)
    assert (redo.value, redo.undoes) == (41, undo.id)
    assert shop.undo(visit, **BO, now=later(4), entry_id=undo.id) is None
    assert shop.undo(visit, **ANNA, now=later(5)).undoes == entry.id


def test_what_a_visit_always_has_is_never_taken_away(shop, visit):
    for field in ("title", "date", "piano.kind"):
        with pytest.raises(VisitError, match="don't leave it empty"):
            shop.put(visit, field, None, **ANNA, now=NOW)
    assert shop.undo(visit, **ANNA, now=NOW) is None
    title = shop.history(visit, "title")[0]
    assert shop.undo(visit, **ANNA, now=NOW, entry_id=title.id) is None


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("humidity", 120, "write 0 to 100 % relative humidity"),
        ("no such field", 1, "not a name of a field"),
        ("wish.x", float("nan"), "can't be stored"),
        ("wish.x", "x" * 300_000, "too long"),
    ],
)
def test_bad_input_is_refused_and_nothing_is_stored(shop, visit, tables, field, value, told):
    before = shop.history(visit)
    with pytest.raises(VisitError, match=told):
        shop.put(visit, field, value, **ANNA, now=later(1), tables=tables)
    assert shop.history(visit) == before
    assert shop.list_visits()[0][0].changed_at == NOW


@pytest.mark.parametrize("text", ["'; DROP TABLE visit; --", "🎹 ÄÖ\u202e", "%_\\"])
def test_any_text_goes_in_and_comes_out(shop, visit, tables, text):
    shop.put(visit, "place", text, **{"who": text, "device": text} if text.isprintable() else ANNA, now=later(1))
    assert shop.history(visit, "place")[0].value == text
    assert shop.list_visits(search="parlour")[1] == 1


@pytest.mark.parametrize("text", ["a\0b", "\ud800", "two\nlines"])
def test_text_that_no_line_can_show_is_refused_and_kept_where_it_is_there_already(shop, visit, tables, text):
    with pytest.raises(VisitError, match=r"visit: place: the text holds (a line break|half a letter)"):
        shop.put(visit, "place", text, **ANNA, now=later(1))
    let_in(shop, visit, "place", text)
    assert shop.history(visit, "place")[0].value == text
    opened = shop.open_visit(visit, tables)
    assert [entry.field for entry in opened.set_aside] == ["place"]
    assert opened.visit.place == ""
    assert shop.list_visits(search="parlour")[0][0].place == ""


def test_lists_search_filter_sort_and_page(shop):
    for i, (title, kind, maker) in enumerate(
        [("Übungsraum 100%", "grand", "Zeh"), ("attic", "upright", ""), ("Chapel", "upright", "Abel")]
    ):
        facts = {"title": title, "piano.kind": kind, "piano.maker": maker, "piano.serial": f"SN{i}"}
        shop.start_visit(facts, **ANNA, now=later(i))

    def titles(**how: object) -> list[str]:
        return [card.title for card in shop.list_visits(**how)[0]]

    assert titles() == ["Chapel", "attic", "Übungsraum 100%"]
    assert titles(sort="title") == ["attic", "Chapel", "Übungsraum 100%"]
    assert titles(sort="maker") == ["Chapel", "Übungsraum 100%", "attic"]
    assert titles(search="ÜBUNG zeh") == ["Übungsraum 100%"]
    assert titles(search="0%") == ["Übungsraum 100%"]
    assert titles(search="%") == ["Übungsraum 100%"]
    assert titles(search="sn1") == ["attic"]
    assert titles(kind="upright") == ["Chapel", "attic"]
    assert shop.list_visits(kind="upright", limit=1, offset=1)[1] == 2
    assert titles(kind="upright", limit=1, offset=1) == ["attic"]
    assert all(sorted(titles(sort=sort)) == sorted(titles()) for sort in SORTS)


def test_settings_are_kept(shop, environ):
    assert shop.setting("units", "metric") == "metric"
    shop.set_setting("units", "imperial")
    shop.set_setting("wire", {"gauge": "mm"})
    shop.close()
    again = open_shop(environ, TODAY)
    assert (again.setting("units"), again.setting("wire")) == ("imperial", {"gauge": "mm"})
    again.close()
    with pytest.raises(StoreError, match="can't be stored"):
        shop.set_setting("units", object())
    with pytest.raises(StoreError, match="settings: units: 'cubits' is not a system of measures"):
        shop.set_setting("units", "cubits")


@pytest.mark.parametrize("name", ["1" * 32, "", "a\0b", "\ud800", "' OR 1=1 --", "1" * 100_000])
def test_a_visit_that_is_not_there_is_told(shop, tables, name):
    for call in (
        lambda: shop.open_visit(name, tables),
        lambda: shop.history(name),
        lambda: shop.put(name, "x", 1, **ANNA, now=NOW),
        lambda: shop.undo(name, **ANNA, now=NOW),
        lambda: shop.settle(name, "x", "2" * 32, **ANNA, now=NOW),
    ):
        with pytest.raises(UserError, match=r"there is no visit|an id is not 32"):
            call()
    assert not shop.is_demo(name)


@pytest.mark.parametrize("search", ["a\0b", "x\ud800", "%%%", "_", "\\", "'; --", "x" * 10_000])
def test_any_search_at_all_is_taken_by_its_letters(shop, visit, search):
    assert shop.list_visits(search=search) == ([], 0)


def test_a_field_without_entries_has_an_empty_history(shop, visit):
    assert shop.history(visit, "humidity") == []


def test_a_backup_is_made_once_a_day_and_the_newest_few_are_kept(tmp_path):
    environ = {"VALUATION_DATA": str(tmp_path)}
    shop = open_shop(environ, TODAY, with_demo=False)
    visit = shop.start_visit({"piano.kind": "grand"}, **ANNA, now=NOW)
    for day in range(10):
        shop.put(visit, "humidity", 30 + day, **ANNA, now=NOW + timedelta(days=day))
        shop.put(visit, "humidity", 50 + day, **ANNA, now=NOW + timedelta(days=day, hours=1))
    kept = copies.copies(tmp_path)
    assert [copy.day.day for copy in kept] == [4, 5, 6, 7, 8, 9, 10]
    with closing(sqlite3.connect(kept[-1].path)) as copy:
        assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert copy.execute("SELECT value FROM entry ORDER BY seq DESC").fetchone() == ("39",)
    shop.close()


def test_a_backup_that_fails_stops_nobody_and_is_told(tmp_path):
    Path(tmp_path / "backups").write_text("in the way")
    shop = open_shop({"VALUATION_DATA": str(tmp_path)}, TODAY)
    assert "backups" in shop.backup_fault
    assert shop.list_visits()[1] == len(service.demo_visits())
    shop.close()


@pytest.mark.parametrize(
    ("url", "told"),
    [
        ("mysql://x@y/z", "must lead to PostgreSQL"),
        ("nonsense", "no address of a database"),
        ("sqlite://", "PostgreSQL"),
    ],
)
def test_another_database_is_refused_by_name(tmp_path, url, told):
    with pytest.raises(UserError, match=told):
        open_shop({"VALUATION_DATA": str(tmp_path), "DATABASE_URL": url}, TODAY)
