"""Copies of the store: what counts as one, which stay; damage or a wrong clock never takes the last sound one."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from made_photos import made_photo

from valuation.files.table_versions import OWN, make_own_copy
from valuation.service import demo_visits
from valuation.service.visits import Shop, open_shop
from valuation.store import backups, copies

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet"}
PAGE = 4096


def days_of(folder: Path) -> list[date | None]:
    return [copy.day for copy in copies.copies(folder)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "shop"


def opened(folder: Path, day: date = TODAY, *, with_demo: bool = False) -> Shop:
    return open_shop({"VALUATION_DATA": str(folder)}, day, with_demo=with_demo)


def spoil(file: Path, pages: int, seed: int) -> None:
    """Overwrite so many pages, or all but the first few where there are fewer, with whatever comes."""
    drawn = random.Random(seed)
    count = file.stat().st_size // PAGE
    with file.open("r+b") as spoilt:
        for page in drawn.sample(range(count), min(pages, count - 1)):
            spoilt.seek(page * PAGE)
            spoilt.write(drawn.randbytes(PAGE))


@pytest.mark.parametrize("seed", range(3))
def test_after_damage_and_a_clock_wrong_by_a_year_the_last_sound_copy_holds_all(folder, seed):
    """100 pages overwritten, ten days go by, the clock wrong by a year for the first seven."""
    shop = opened(folder, with_demo=True)
    visit = shop.start_visit({"piano.kind": "upright"}, **ANNA, now=NOW)
    shop.add_photo(visit, made_photo(), name="x.jpg", **ANNA, now=NOW)
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
    make_own_copy(folder / OWN)
    visit = shop.start_visit({"piano.kind": "upright"}, **ANNA, now=NOW)
    photo = shop.add_photo(visit, made_photo(), name="x.jpg", **ANNA, now=NOW)
    shop.back_up(TODAY + timedelta(days=1))
    copy = copies.copies(folder)[-1]
    name = photo.field.removeprefix("photo.")
    assert copies.photos_of(copy) == [name]
    assert copies.checksum(copies.photo_place(folder, name)) == name
    assert (copy.place / OWN / "checks.csv").read_bytes() == (folder / OWN / "checks.csv").read_bytes()
    assert backups.TABLES == OWN
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
