"""Copies of the store: what counts as one, which stay; damage or a wrong clock never takes the last sound one."""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from made_photos import made_photo
from own_tables import put, with_rate

from valuation.errors import StoreError
from valuation.rules import PACKAGED
from valuation.service import demo_visits, load_shop
from valuation.service.backups import RestoreReport, list_copies, restore, state, verify
from valuation.service.shop_tables import go_back, history
from valuation.service.store import OWN_FOLDER
from valuation.service.visits import Shop, open_shop
from valuation.service.written import Wanted, make_paper
from valuation.store import backups, copies, migrate
from valuation.store.connect import address_of, engine_of

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet"}
PAGE = 4096


def brought_back(environ: dict[str, str], number: int | None = None) -> RestoreReport:
    return restore(environ, number, TODAY).report


def days_of(folder: Path) -> list[date | None]:
    return [copy.day for copy in copies.copies(folder)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "shop"


def opened(folder: Path, day: date = TODAY, *, with_demo: bool = False) -> Shop:
    return open_shop({"VALUATION_DATA": str(folder)}, day, with_demo=with_demo)


def spoil(file: Path, pages: int, seed: int) -> None:
    """Overwrite so many pages with whatever comes."""
    drawn = random.Random(seed)
    count = file.stat().st_size // PAGE
    assert count > 2 * pages
    with file.open("r+b") as spoilt:
        for page in drawn.sample(range(count), pages):
            spoilt.seek(page * PAGE)
            spoilt.write(drawn.randbytes(PAGE))


@pytest.mark.parametrize("seed", range(3))
def test_after_damage_and_a_clock_wrong_by_a_year_the_last_sound_copy_holds_all(folder, seed):
    """100 pages overwritten, ten days go by, the clock wrong by a year for the first seven."""
    shop = opened(folder, with_demo=True)
    visit = shop.start_visit({"piano.kind": "upright"}, **ANNA, now=NOW)
    shop.add_photo(visit, made_photo(), name="x.jpg", **ANNA, now=NOW)
    for number in range(100):
        shop.put(visit, "story", f"{number} " * 2000, **ANNA, now=NOW)
    shop.back_up(TODAY + timedelta(days=1))
    sound = copies.copies(folder)[-1]
    shop.close()
    spoil(folder / "valuation.sqlite", 100, seed)
    for day in range(2, 12):
        wrong = timedelta(days=365 if day < 9 else 0)
        shop.back_up(TODAY + timedelta(days=day) + wrong)
        assert "the database is damaged" in shop.backup_fault
    assert copies.copies(folder)[-1] == sound
    assert (sound.rows["visit"], sound.photos) == (1 + len(demo_visits()), 1)
    shop.close()


def test_a_clock_wrong_by_a_year_takes_no_copy_of_before(folder):
    shop = opened(folder)
    for day in range(1, 7):
        shop.back_up(TODAY + timedelta(days=day))
    before = days_of(folder)
    for day in range(7, 14):
        shop.back_up(TODAY + timedelta(days=day + 365))
    for day in range(14, 16):
        shop.back_up(TODAY + timedelta(days=day))
    assert days_of(folder)[-1] == TODAY + timedelta(days=15), "a right clock goes on, though a later day is there"
    assert before[-1] in days_of(folder), "the last one before the clock went wrong"
    shop.close()


def test_what_stays_are_days_weeks_and_months(folder):
    start = date(2026, 1, 1)
    made = [
        copies.Copy(
            number=n + 1, day=start + timedelta(days=n), why="daily", database="d", revision="", rows={}, photos=0,
            lost_photos=(), files={}, place=folder,
        )
        for n in range(365)
    ]  # fmt: skip
    stay = copies.staying(made)
    days = sorted(copy.day for copy in made if copy.number in stay)
    assert days[-7:] == [date(2026, 12, day) for day in range(25, 32)]
    assert days[:-7] == [
        *(date(2026, month, last) for month, last in ((7, 31), (8, 31), (9, 30), (10, 31))),
        *(date(2026, 11, 30), date(2026, 12, 6), date(2026, 12, 13), date(2026, 12, 20)),
    ]
    assert copies.staying(list(reversed(made))) == stay


def test_a_copy_that_cant_say_what_it_holds_pushes_nothing_out_and_is_left_alone(folder):
    shop = opened(folder)
    (copies.folder_of(folder, 1) / copies.MANIFEST).write_text("{")
    for day in range(1, 12):
        shop.back_up(TODAY + timedelta(days=day))
    assert copies.numbers(folder)[0] == 1
    assert len(copies.copies(folder)) == copies.DAYS_KEPT
    shop.close()


def test_photos_and_the_shops_own_tables_are_in_a_copy_and_go_with_the_last_one(folder):
    shop = opened(folder)
    put(shop, with_rate(shop.tables_in_force(TODAY).texts, 74))
    visit = shop.start_visit({"piano.kind": "upright"}, **ANNA, now=NOW)
    photo = shop.add_photo(visit, made_photo(), name="x.jpg", **ANNA, now=NOW)
    shop.back_up(TODAY + timedelta(days=1))
    copy = copies.copies(folder)[-1]
    name = photo.field.removeprefix("photo.")
    assert copies.photos_of(copy) == [name]
    assert copies.checksum(copies.photo_place(folder, name)) == name
    assert (copy.rows["tables_change"], copy.rows["tables_version"]) == (2, 2)
    with closing(sqlite3.connect(folder / "valuation.sqlite")) as connection:
        connection.execute("DELETE FROM photo")
        connection.commit()
    for day in range(2, 400):
        shop.back_up(TODAY + timedelta(days=day))
    assert not copies.photo_place(folder, name).exists()
    shop.close()


def test_bare_copies_of_earlier_versions_stay_until_there_are_as_many_new_ones(folder):
    shop = opened(folder)
    old = folder / "backups" / "daily-2026-11-30.sqlite"
    old.write_bytes(b"old")
    for day in range(1, 6):
        shop.back_up(TODAY + timedelta(days=day))
    assert old.exists()
    shop.back_up(TODAY + timedelta(days=6))
    assert not old.exists()
    shop.close()


@pytest.fixture
def environ_with_photo(environ, tmp_path) -> dict[str, str]:
    """A shop on each database in turn, with a photo, own tables and a copy, and a later entry."""
    shop = open_shop(environ, TODAY)
    put(shop, with_rate(shop.tables_in_force(TODAY).texts, 74))
    visit = shop.start_visit({"piano.kind": "upright", "title": "Café ☕\t\\."}, **ANNA, now=NOW, visit_id="a" * 32)
    shop.add_photo(visit, made_photo(), name="x.jpg", **ANNA, now=NOW)
    make_paper(shop, visit, Wanted(what="summary"), load_shop(), request="b" * 32, who="Anna", now=NOW, today=TODAY)
    shop.back_up_now(TODAY + timedelta(days=1))
    shop.put(visit, "place", "hall", **ANNA, now=NOW)
    shop.close()
    return environ


def test_what_is_brought_back_is_counted_and_what_was_there_set_aside(environ_with_photo):
    folder = Path(environ_with_photo["VALUATION_DATA"])
    copy = list_copies(folder)[0]
    (proof,) = verify(folder, copy.number)
    assert (proof.faults, proof.photos_lost, copy.photos) == ((), (), 1)
    shutil.rmtree(folder / "photos")
    shop = open_shop(environ_with_photo, TODAY)
    in_force = shop.tables(TODAY).hash
    go_back(shop.store, history(shop.store)[0], seen=shop.tables_in_force(TODAY), today=TODAY, who="", why="x", now=NOW)
    shop.close()
    report = brought_back(environ_with_photo, copy.number)
    assert report.rows == copy.rows
    assert (report.rows["visit"], report.rows["paper"]) == (1 + len(demo_visits()), 1)
    assert (report.photos_there, report.photos_back, report.photos_lost, report.tables_back) == (0, 1, (), False)
    shop = open_shop(environ_with_photo, TODAY)
    assert shop.history("a" * 32, "place") == []
    assert shop.open_visit("a" * 32, load_shop()).visit.title == "Café ☕\t\\."
    assert shop.photo_report().lost == ()
    assert shop.tables(TODAY).hash == in_force
    shop.close()


def test_a_folder_of_tables_that_an_older_version_left_comes_back_with_its_copy_and_is_taken_over(folder):
    shop = opened(folder)
    shutil.copytree(PACKAGED, folder / OWN_FOLDER)
    rates = folder / OWN_FOLDER / "rates.csv"
    rates.write_text(rates.read_text(encoding="utf-8").replace(",68,2026", ",63,2026"), encoding="utf-8")
    shop.back_up(TODAY + timedelta(days=1))
    shop.close()
    shutil.rmtree(folder / OWN_FOLDER)
    assert backups.TABLES == OWN_FOLDER
    assert brought_back({"VALUATION_DATA": str(folder)}).tables_back
    shop = opened(folder)
    assert {row.per_hour for row in shop.tables(TODAY).rates} >= {63}
    assert not (folder / OWN_FOLDER).exists()
    shop.close()


def test_a_copy_that_isnt_sound_is_passed_over_and_told(environ_with_photo):
    folder = Path(environ_with_photo["VALUATION_DATA"])
    shop = open_shop(environ_with_photo, TODAY + timedelta(days=2))
    shop.back_up_now(TODAY + timedelta(days=2))
    shop.close()
    newest, before = list_copies(folder)[:2]
    newest.path.write_bytes(newest.path.read_bytes()[:-500])
    report = brought_back(environ_with_photo)
    assert report.copy == before
    assert [proof.copy for proof in report.passed_over] == [newest]
    with pytest.raises(StoreError, match=f"copy {newest.number}: {newest.database} is missing or damaged"):
        brought_back(environ_with_photo, newest.number)


def test_a_photo_spoilt_among_the_copies_is_told(environ_with_photo):
    folder = Path(environ_with_photo["VALUATION_DATA"])
    name = copies.photos_of(list_copies(folder)[0])[0]
    copies.photo_place(folder, name).write_bytes(b"spoilt")
    assert verify(folder)[0].photos_lost == (name,)
    assert brought_back(environ_with_photo).photos_there == 1
    shop = open_shop(environ_with_photo, TODAY + timedelta(days=1))
    shop.back_up_now(TODAY + timedelta(days=1))
    assert verify(folder)[0].photos_lost == (), "a copy that is asked for mends it"
    shop.close()
    copies.photo_place(folder, name).write_bytes(b"spoilt")
    shutil.rmtree(folder / "photos")
    assert brought_back(environ_with_photo).photos_lost == (name,)


def test_a_store_in_use_is_not_replaced(folder):
    shop = opened(folder)
    with pytest.raises(StoreError, match="it is in use; stop the program first"):
        brought_back({"VALUATION_DATA": str(folder)})
    shop.start_visit({"piano.kind": "upright"}, **ANNA, now=NOW)
    shop.close()
    assert brought_back({"VALUATION_DATA": str(folder)}).rows["visit"] == 0


def test_a_copy_of_an_older_form_is_brought_up_to_date_by_the_next_start(folder):
    opened(folder).close()
    with closing(sqlite3.connect(folder / "valuation.sqlite")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    with pytest.raises(StoreError, match="made by a newer version"):
        opened(folder)
    assert brought_back({"VALUATION_DATA": str(folder)}).copy.number == 1
    opened(folder).close()


def test_the_first_page_learns_that_there_is_no_good_copy_of_late(folder):
    shop = opened(folder)
    assert not state(shop, TODAY + timedelta(days=2)).late
    assert state(shop, TODAY + timedelta(days=3)).late
    assert state(shop, TODAY - timedelta(days=1)).days is None, "a day yet to come says nothing of its age"
    shop.backup_fault = "the disk is full"
    assert state(shop, TODAY).late
    shop.close()


def test_a_postgres_that_has_no_copy_is_told_to_make_one(postgres, tmp_path):
    address = postgres.new_database()
    shop = open_shop({"VALUATION_DATA": str(tmp_path), "DATABASE_URL": address}, TODAY)
    assert state(shop, TODAY).late
    made = shop.back_up_now(TODAY)
    assert not state(shop, TODAY).late
    shop.close()
    with pytest.raises(StoreError, match="is one of PostgreSQL; it can't be brought back into SQLite"):
        brought_back({"VALUATION_DATA": str(tmp_path)}, made.number)
    postgres.drop_database(address)


def test_tools_that_are_missing_or_refuse_are_told(postgres, tmp_path, monkeypatch):
    address = postgres.new_database()
    environ = {"VALUATION_DATA": str(tmp_path), "DATABASE_URL": address}
    shop = open_shop(environ, TODAY)
    shop.back_up_now(TODAY)
    monkeypatch.setenv("PATH", "")
    with pytest.raises(StoreError, match="the program 'pg_dump' is missing"):
        shop.back_up_now(TODAY)
    monkeypatch.undo()
    shop.close()
    postgres.drop_database(address)
    with pytest.raises(StoreError, match=r"'psql' could not do it: .*does not exist"):
        brought_back(environ)


def test_a_copy_from_before_a_change_of_the_tables_is_brought_back_and_changed_anew(environ):
    """An older form had fewer tables: what is there of the newer ones must not stand in the way."""
    folder = Path(environ["VALUATION_DATA"])
    folder.mkdir(parents=True)
    engine = engine_of(address_of(environ["DATABASE_URL"], folder))
    with engine.begin() as connection:
        migrate.upgrade(connection, "0004")
    url = engine.url
    engine.dispose()
    write = (
        backups.postgres_database(url) if environ["DATABASE_URL"] else backups.sqlite_file(folder / "valuation.sqlite")
    )
    old = backups.back_up(write, folder, TODAY, "asked")
    open_shop(environ, TODAY).close()
    report = brought_back(environ, old.number)
    assert report.copy.revision == "0004"
    shop = open_shop(environ, TODAY, with_demo=False)
    assert shop.list_visits() == ([], 0)
    shop.close()
