"""Photos of a visit: kept, shown, and told of where they are lost."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

import pytest
from made_photos import made_photo, telling

from valuation.errors import StoreError, VisitError
from valuation.service.visits import LostPhoto, Shop, open_shop

NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet", "now": NOW}


def added(shop: Shop, visit: str, seed: int = 0, **shows: str) -> str:
    """Add a photo and return its hash."""
    taken = ANNA | {"now": NOW + timedelta(minutes=seed)}
    entry = shop.add_photo(visit, made_photo(seed=seed, exif=telling()), name="IMG_1.jpg", **shows, **taken)
    return entry.field.removeprefix("photo.")


def test_a_photo_belongs_to_its_visit_and_shows_what_it_says(shop, visit, tables):
    name = added(shop, visit, check="plate_crack", caption="second strut")
    (photo,) = shop.open_visit(visit, tables).photos
    assert (photo.hash, photo.check, photo.part, photo.caption) == (name, "plate_crack", "", "second strut")
    assert hashlib.sha256(shop.photo_path(name).read_bytes()).hexdigest() == name
    assert shop.photo_path(name, thumbnail=True).stat().st_size < shop.photo_path(name).stat().st_size


def test_the_same_photo_twice_is_one_and_several_may_show_one_thing(shop, visit, tables):
    assert added(shop, visit, check="plate_crack") == added(shop, visit, check="plate_crack")
    other = added(shop, visit, seed=1, check="plate_crack")
    assert [photo.hash for photo in shop.open_visit(visit, tables).photos][1] == other
    assert len(shop.history(visit)) == 5


def test_one_photo_of_two_checks_stays_with_both_and_goes_from_each_alone(shop, visit, tables):
    name = added(shop, visit, check="plate_crack")
    second = added(shop, visit, check="plate_repair", caption="the same crack")
    assert second == f"{name}.plate_repair"
    assert added(shop, visit, check="plate_repair", caption="the same crack") == second
    shown = sorted(shop.open_visit(visit, tables).photos, key=lambda photo: photo.check)  # both came at one moment
    assert [(photo.hash, photo.check) for photo in shown] == [(name, "plate_crack"), (name, "plate_repair")]
    assert shop.photo_report().checked == 1
    shop.put(visit, shown[0].entry.field, None, **ANNA)
    assert [photo.check for photo in shop.open_visit(visit, tables).photos] == ["plate_repair"]
    assert added(shop, visit, check="plate_repair", caption="the same crack") == second
    assert added(shop, visit, check="plate_crack") == name
    assert len(shop.open_visit(visit, tables).photos) == 2


def test_two_stores_that_put_one_photo_on_two_checks_show_it_on_both_once_they_are_merged(tmp_path, tables):
    folders = [{"VALUATION_DATA": str(tmp_path / name)} for name in ("ours", "theirs")]
    ours, theirs = (open_shop(folder, NOW.date(), with_demo=False) for folder in folders)
    visit = ours.start_visit({"piano.kind": "grand"}, **ANNA)
    ours.export_zip(tmp_path / "begun.zip", now=NOW)
    theirs.import_zip(tmp_path / "begun.zip", now=NOW)
    added(ours, visit, check="plate_crack")
    added(theirs, visit, check="plate_repair")
    theirs.export_zip(tmp_path / "theirs.zip", now=NOW)
    ours.import_zip(tmp_path / "theirs.zip", now=NOW)
    assert sorted(photo.check for photo in ours.open_visit(visit, tables).photos) == ["plate_crack", "plate_repair"]
    for shop in (ours, theirs):
        shop.close()


def test_a_photo_can_be_taken_away_and_brought_back(shop, visit, tables):
    name = added(shop, visit)
    shop.put(visit, f"photo.{name}", None, **ANNA)
    assert shop.open_visit(visit, tables).photos == ()
    assert shop.undo(visit, **ANNA).value == {"check": "", "part": "", "caption": ""}
    assert shop.open_visit(visit, tables).photos[0].hash == name


def test_what_is_no_photo_is_refused_under_its_name_and_nothing_is_kept(shop, visit):
    with pytest.raises(VisitError, match=r"^letter.pdf: it is no photo that can be read"):
        shop.add_photo(visit, b"%PDF", name="letter.pdf", **ANNA)
    assert len(shop.history(visit)) == 3
    assert not (shop.store.folder / "photos").exists()


def test_a_photo_for_a_visit_that_is_not_there_is_refused(shop):
    with pytest.raises(StoreError, match="there is no visit"):
        shop.add_photo("1" * 32, made_photo(), name="x.jpg", **ANNA)


def test_a_lost_photo_is_told_and_stops_nothing(shop, visit, tables):
    missing, damaged, whole = (added(shop, visit, seed=seed) for seed in range(3))
    shop.photo_path(missing).unlink()
    shop.photo_path(damaged).write_bytes(b"worms")
    report = shop.photo_report()
    where = ((visit, "Parlour"),)
    assert report.checked == 3
    assert set(report.lost) == {
        LostPhoto(hash=missing, damaged=False, visits=where),
        LostPhoto(hash=damaged, damaged=True, visits=where),
    }
    assert shop.photo_path(missing) is None
    assert len(shop.open_visit(visit, tables).photos) == 3
    assert shop.photo_path(whole) is not None


def test_a_lost_photo_that_is_added_again_is_whole_again(shop, visit):
    name = added(shop, visit)
    shop.photo_path(name).write_bytes(b"worms")
    assert added(shop, visit) == name
    assert shop.photo_report().lost == ()


def test_a_thumbnail_is_made_anew_where_it_is_missing(shop, visit):
    name = added(shop, visit)
    thumbnail = shop.photo_path(name, thumbnail=True)
    thumbnail.unlink()
    assert shop.photo_path(name, thumbnail=True) == thumbnail
    assert thumbnail.exists()
    thumbnail.unlink()
    shop.photo_path(name).write_bytes(b"worms")
    assert shop.photo_path(name, thumbnail=True) is None
    shop.photo_path(name).unlink()
    assert shop.photo_path(name, thumbnail=True) is None


@pytest.mark.parametrize("name", ["", "../../etc/passwd", "A" * 64, "a" * 63])
def test_what_is_no_name_of_a_photo_leads_nowhere(shop, name):
    assert shop.photo_path(name) is None


def test_photos_are_remembered_with_their_size(shop, visit):
    name = added(shop, visit)
    with shop.store.reading() as connection:
        row = connection.exec_driver_sql("SELECT hash, size, width, height, added_at FROM photo").one()
    size = shop.photo_path(name).stat().st_size
    assert tuple(row) == (name, size, 400, 300, "2026-12-01T10:00:00.000000Z")
