"""A shop in one file: out of one store and into another, and what is refused."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import pytest
from made_photos import made_photo, telling
from poisoned import let_in

from valuation import service
from valuation.errors import StoreError, UserError
from valuation.service.visits import ImportReport, Shop, open_shop
from valuation.service.written import Paper, Wanted, fetch_paper, list_papers, make_paper, paper_again
from valuation.store import zip_format as form

NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA, BO = {"who": "Anna", "device": "tablet"}, {"who": "Bo", "device": "phone"}


def later(minutes: int) -> datetime:
    return NOW + timedelta(minutes=minutes)


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Shop]:
    """Another shop, empty, on SQLite."""
    shop = open_shop({"VALUATION_DATA": str(tmp_path / "other")}, NOW.date(), with_demo=False)
    yield shop
    shop.close()


@pytest.fixture
def full(shop: Shop, visit: str) -> Shop:
    """A shop with the demo and a visit with all sorts of entries, two photos, two papers and a setting."""
    shop.load_demo()
    shop.put(visit, "piano.year", 1911, **ANNA, now=later(1))
    shop.put(visit, "piano.year", 1912, **BO, now=later(2))
    shop.undo(visit, **BO, now=later(3))
    let_in(shop, visit, "place", "\ud800 half a letter, and ✓", later(4), **ANNA)
    shop.put(visit, "humidity", 41.25, follows=(), **ANNA, now=later(5))
    shop.put(visit, "humidity", 43, follows=(), **BO, now=later(6))
    for seed in range(2):
        shop.add_photo(visit, made_photo(seed=seed, exif=telling()), name="x.jpg", **ANNA, now=later(7))
    shop.set_setting("wire", {"gauge": "mm"})
    for what in ("evaluation", "summary"):
        a_paper(shop, visit, what, who="Dana")
    return shop


def a_paper(shop: Shop, visit: str, what: str = "summary", who: str = "Anna") -> Paper:
    request = hashlib.sha256(f"{visit} {what} {who}".encode()).hexdigest()[:32]
    return make_paper(
        shop, visit, Wanted(what=what), service.load_shop(), request=request, who=who, now=later(8), today=NOW.date()
    )


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An export of the demo, of a visit of one's own, of a photo and of a paper."""
    folder = tmp_path_factory.mktemp("exported")
    shop = open_shop({"VALUATION_DATA": str(folder / "store")}, NOW.date())
    visit = shop.start_visit({"piano.kind": "grand"}, **ANNA, now=NOW, visit_id="0" * 32)
    shop.put(visit, "humidity", 41.25, **ANNA, now=NOW)
    shop.add_photo(visit, made_photo(), name="x.jpg", **ANNA, now=NOW)
    a_paper(shop, visit)
    shop.export_zip(folder / "shop.zip", now=NOW)
    shop.close()
    return folder / "shop.zip"


def everything(shop: Shop, tables) -> dict:
    """All that a shop holds, without the order in one store."""
    cards, total = shop.list_visits(limit=1000, sort="title")
    assert len(cards) == total
    histories = {card.id: shop.history(card.id) for card in cards}
    photos = [photo.hash for card in cards for photo in shop.open_visit(card.id, tables).photos]
    files = {name: shop.photo_path(name).read_bytes() for name in photos}
    papers = {card.id: list_papers(shop, card.id) for card in cards}
    pdfs = {paper.id: fetch_paper(shop, paper.id) for of_visit in papers.values() for paper in of_visit}
    kept = {"cards": cards, "histories": histories, "photos": files, "papers": papers, "pdfs": pdfs}
    return kept | {"wire": shop.setting("wire")}


def test_all_of_a_shop_goes_into_an_empty_store(full, other, tables, tmp_path):
    file = tmp_path / "shop.zip"
    out = full.export_zip(file, now=NOW)
    assert (out.visits, out.photos, out.papers, out.lost_photos) == (9, 2, 2, ())
    told = other.import_zip(file, now=NOW)
    assert told == ImportReport(
        visits_new=9, entries_new=out.entries, photos_new=2, papers_new=2, settings_new=1, set_aside=1
    )
    assert everything(other, tables) == everything(full, tables)
    assert other.photo_report().checked == 2


def test_a_paper_is_made_again_byte_for_byte_in_the_store_that_took_it_in(full, other, visit, tmp_path):
    full.export_zip(tmp_path / "shop.zip", now=NOW)
    other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert [paper_again(other, paper.id).same for paper in list_papers(other, visit)] == [True, True]


def test_papers_made_apart_under_one_number_are_both_kept_and_told(full, other, visit, tables, tmp_path):
    full.export_zip(tmp_path / "one.zip", now=NOW)
    other.import_zip(tmp_path / "one.zip", now=NOW)
    here, there = a_paper(full, visit, who="Anna"), a_paper(other, visit, who="Bo")
    assert here.number == there.number == 3
    other.export_zip(tmp_path / "two.zip", now=NOW)
    told = full.import_zip(tmp_path / "two.zip", now=NOW)
    assert (told.papers_new, told.papers_there, told.papers_alike) == (1, 2, 1)
    assert [paper.number for paper in list_papers(full, visit)] == [1, 2, 3, 3]
    assert a_paper(full, visit, who="Cleo").number == 4


def test_an_export_of_the_first_version_without_papers_is_still_taken_in(exported, other, tables, tmp_path):

    def as_it_was(files: dict[str, bytes]) -> None:
        for path in [path for path in files if path.startswith(("papers/", "tables", "forgotten"))]:
            del files[path]
        in_json("manifest", version=1, papers=..., tables=...)(files)

    told = other.import_zip(remade(exported, tmp_path / "old.zip", as_it_was), now=NOW)
    assert (told.visits_new, told.photos_new, told.papers_new) == (9, 1, 0)
    assert other.open_visit("0" * 32, tables).visit.humidity == 41.25


def test_taken_in_twice_nothing_is_new_the_second_time(full, tables, tmp_path):
    before = everything(full, tables)
    out = full.export_zip(tmp_path / "shop.zip", now=NOW)
    told = full.import_zip(tmp_path / "shop.zip", now=NOW)
    assert told == ImportReport(
        visits_there=9, entries_there=out.entries, photos_there=2, papers_there=2, settings_there=1
    )
    assert everything(full, tables) == before


def test_the_same_visit_in_a_used_store_merges_entry_by_entry(full, other, visit, tables, tmp_path):
    full.export_zip(tmp_path / "one.zip", now=NOW)
    other.import_zip(tmp_path / "one.zip", now=NOW)
    other.put(visit, "finding.plate_crack", {"grade": "good"}, **ANNA, now=later(20))
    other.put(visit, "story", "here", **ANNA, now=later(20))
    full.put(visit, "finding.plate_crack", {"grade": "poor"}, **BO, now=later(21))
    full.put(visit, "piano.maker", "Nobody", **BO, now=later(22))
    full.export_zip(tmp_path / "two.zip", now=NOW)
    told = other.import_zip(tmp_path / "two.zip", now=NOW)
    assert (told.visits_new, told.visits_merged, told.visits_there) == (0, 1, 8)
    assert (told.entries_new, told.clashes) == (2, 1)
    other.export_zip(tmp_path / "three.zip", now=NOW)
    assert full.import_zip(tmp_path / "three.zip", now=NOW).entries_new == 2
    ours, theirs = (shop.open_visit(visit, tables) for shop in (other, full))
    assert ours == theirs
    assert [entry.value["grade"] for entry in ours.clashes["finding.plate_crack"]] == ["good", "poor"]
    assert other.list_visits(search="nobody")[0][0].id == visit


def test_an_export_goes_into_an_empty_store_on_either_database(exported, shop, tmp_path, tables):
    told = shop.import_zip(exported, now=NOW)
    assert (told.visits_new, told.photos_new) == (9, 1)
    shop.export_zip(tmp_path / "again.zip", now=NOW)
    with ZipFile(exported) as one, ZipFile(tmp_path / "again.zip") as again:
        assert {name: one.read(name) for name in one.namelist()} == {
            name: again.read(name) for name in again.namelist()
        }


def test_settings_that_are_set_here_stay(full, other, tmp_path):
    other.set_setting("wire", "mine")
    full.export_zip(tmp_path / "shop.zip", now=NOW)
    assert other.import_zip(tmp_path / "shop.zip", now=NOW).settings_there == 1
    assert other.setting("wire") == "mine"


def test_a_lost_photo_is_told_by_both_and_stops_neither(full, other, visit, tables, tmp_path):
    lost, kept = (photo.hash for photo in full.open_visit(visit, tables).photos)
    full.photo_path(lost).unlink()
    assert full.export_zip(tmp_path / "shop.zip", now=NOW).lost_photos == (lost,)
    told = other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert (told.photos_new, told.photos_lost) == (1, 1)
    assert [photo.hash for photo in other.photo_report().lost] == [lost]
    assert other.photo_path(kept).exists()


def test_a_lost_photo_comes_back_with_an_import(full, visit, tables, tmp_path):
    full.export_zip(tmp_path / "shop.zip", now=NOW)
    name = full.open_visit(visit, tables).photos[0].hash
    full.photo_path(name).write_bytes(b"worms")
    assert full.import_zip(tmp_path / "shop.zip", now=NOW).photos_new == 1
    assert full.photo_report().lost == ()


def test_the_file_can_be_checked_by_anybody(full, tmp_path):
    full.export_zip(tmp_path / "shop.zip", now=NOW)
    with ZipFile(tmp_path / "shop.zip") as file:
        lines = file.read("checksums.sha256").decode().splitlines()
        assert {line.split("  ")[1] for line in lines} == set(file.namelist()) - {"checksums.sha256"}
        for line in lines:
            checksum, name = line.split("  ")
            assert hashlib.sha256(file.read(name)).hexdigest() == checksum
        assert json.loads(file.read("manifest.json"))["version"] == form.VERSION
        assert "store.started" not in json.loads(file.read("settings.json"))


def test_an_export_replaces_a_file_whole_or_leaves_it(full, tmp_path, monkeypatch):
    file = tmp_path / "shop.zip"
    file.write_text("older")
    with monkeypatch.context() as broken:
        broken.setattr("valuation.store.zip_out._Writer._json", _no_space)
        with pytest.raises(UserError, match=r"^shop.zip: it can't be written, .* the disk is full"):
            full.export_zip(file, now=NOW)
    assert file.read_text() == "older"
    assert [path.name for path in tmp_path.iterdir() if "unfinished" in path.name] == []
    full.export_zip(file, now=NOW)
    assert ZipFile(file).testzip() is None


def _no_space(*_: object) -> None:
    import errno

    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_folder_is_no_file_for_an_export(shop, tmp_path):
    with pytest.raises(UserError, match="this is a folder"):
        shop.export_zip(tmp_path, now=NOW)


Change = Callable[[dict[str, bytes]], None]


def remade(source: Path, changed: Path, change: Change, *, checksums: bool = True) -> Path:
    """Write an export anew with its files changed, and right checksums if wanted."""
    with ZipFile(source) as file:
        files = {name: file.read(name) for name in file.namelist()}
    change(files)
    if checksums and form.CHECKSUMS in files:
        del files[form.CHECKSUMS]
        lines = (f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in files.items())
        files[form.CHECKSUMS] = "".join(lines).encode()
    with ZipFile(changed, "w", ZIP_DEFLATED) as file:
        for name, content in files.items():
            file.writestr(name, content)
    return changed


def in_json(name: str, **new: object) -> Change:
    """A change of one file: keys set anew; ... takes one away."""

    def change(files: dict[str, bytes]) -> None:
        path = next(path for path in files if path.startswith(name))
        content = json.loads(files[path]) | new
        files[path] = json.dumps({key: value for key, value in content.items() if value is not ...}).encode()

    return change


def in_entry(**new: object) -> Change:
    """A change of the first entry of the first visit."""

    def change(files: dict[str, bytes]) -> None:
        path = next(path for path in files if path.startswith("visits/"))
        content = json.loads(files[path])
        content["entries"][0] |= new
        files[path] = json.dumps(content).encode()

    return change


def put_in(name: str, content: bytes) -> Change:
    return lambda files: files.__setitem__(name, content)


def in_paper(**new: object) -> Change:
    """A change of what the paper was made from; ... takes a key away."""
    return in_json("papers/", **new)


def without(start: str, *, ending: str = "") -> Change:
    """Take files away, and nothing of the rest."""

    def change(files: dict[str, bytes]) -> None:
        for path in [path for path in files if path.startswith(start) and path.endswith(ending)]:
            del files[path]

    return change


def another_pdf(files: dict[str, bytes]) -> None:
    files[next(path for path in files if path.endswith(".pdf"))] = b"%PDF-another"


def flip(files: dict[str, bytes]) -> None:
    path = next(path for path in files if path.startswith("visits/"))
    files[path] = files[path].replace(b"41.25", b"41.26")[:-1] + b" }"


NEXT = form.VERSION + 1
GOOD_PHOTO_NAME = f"photos/{hashlib.sha256(b'worms').hexdigest()}.jpg"
TELLING = made_photo(exif=telling())


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda files: files.pop("manifest.json"), "no export of this program: there is no manifest.json"),
        (in_json("manifest", format="something else"), "manifest.json: it is no export of this program"),
        (
            in_json("manifest", version=NEXT),
            f"in version {NEXT} of the format, this program knows up to {NEXT - 1}; update it",
        ),
        (in_json("manifest", version="new"), "doesn't say in which version"),
        (put_in("manifest.json", b"[]"), "manifest.json: it holds no table"),
        (put_in("manifest.json", b"{"), "manifest.json: "),
        (put_in("../../evil.txt", b"x"), r"../../evil.txt: no export holds a file of this name"),
        (put_in("/etc/passwd", b"x"), "no export holds a file of this name"),
        (put_in("visits/../../x.json", b"{}"), "no export holds a file of this name"),
        (put_in("photos/x.exe", b"x"), "no export holds a file of this name"),
        (put_in("valuation.sqlite", b"x"), "no export holds a file of this name"),
        (put_in(f"visits/{'a' * 32}.json", b"{}"), "'id' is missing"),
        (put_in(f"visits/{'a' * 32}.json", b'{"id": "b"}'), "another than its name says"),
        (put_in(GOOD_PHOTO_NAME, b"worms"), "it is no photo that can be read"),
        (put_in(f"photos/{'a' * 64}.jpg", b"worms"), "its name is not the checksum"),
        (put_in(f"photos/{hashlib.sha256(TELLING).hexdigest()}.jpg", TELLING), "data beside the picture"),
        (put_in("settings.json", b'{"x": NaN}'), "settings.json: NaN is no number"),
        (put_in("settings.json", b"[" * 100_000), "settings.json: "),
        (in_json("visits", demo="no"), "'demo' must be true or false"),
        (in_json("visits", entries={}), "'entries' a list"),
        (in_json("visits", entries=[7]), "entry 1: "),
        (in_json("visits", created_at=...), "'created_at' is missing"),
        (in_json("visits", created_at="yesterday"), "yesterday"),
        (in_entry(id="x"), "entry 1: an id is not 32 hexadecimal digits"),
        (in_entry(field="a b"), "entry 1: 'a b' is not a name of a field"),
        (in_entry(at="2026-05-04 09:00"), "write it like 2026-05-04T09:00:00.000000Z"),
        (in_entry(value="x" * 300_000), "entry 1: this is too long"),
        (in_entry(follows=[1]), "entry 1: 1 is not text"),
        (in_entry(who=None), "entry 1: None is not text"),
        (in_json("manifest", version=1), "no export holds a file of this name"),
        (in_paper(id="0" * 32), "the id in it is another than its name says"),
        (in_paper(number=0), "0 is not a number of a paper"),
        (in_paper(number=True), "must be whole numbers"),
        (in_paper(draws=1e3), "must be whole numbers"),
        (in_paper(what=...), "'what' is missing"),
        (in_paper(what="An Order"), "not a plain word"),
        (in_paper(given=[]), "must be tables"),
        (in_paper(visit_text="{}"), "must be tables"),
        (in_paper(given={"x": "x" * 6_000_000}), "has more than 5,000,000 letters"),
        (in_paper(made_at="2026-05-04"), "is not a time"),
        (in_paper(written_on="4 May"), "Invalid isoformat string"),
        (in_paper(made_by="a\nb"), "or a line break in it"),
        (in_paper(pdf_hash="f" * 64), "it is not the file that was made"),
        (in_paper(tables_hash="x"), "a hash is not 64 hexadecimal digits"),
        (in_paper(photos=[7]), "7 is not text"),
        (in_paper(visit="f" * 32), "its visit is neither in the file nor here"),
        (in_paper(tables_hash="f" * 64), "the tables that it was made with are neither in the file nor here"),
        (another_pdf, "it is not the file that was made"),
        (without("papers/", ending=".pdf"), r"\.pdf: it is missing"),
        (without("papers/", ending=".json"), r"\.pdf: what it was made from is missing"),
        (without("tables/"), "the tables that it was made with are neither in the file nor here"),
        (put_in(f"tables/{'a' * 64}/parts.csv", b"\xff"), "parts.csv: 'utf-8' codec can't decode"),
        (put_in(f"tables/{'a' * 64}/../x.csv", b"x"), "no export holds a file of this name"),
    ],
)
def test_what_is_no_sound_export_is_refused_whole(exported, other, tmp_path, change, told):
    with pytest.raises(StoreError, match=told) as refused:
        other.import_zip(remade(exported, tmp_path / "changed.zip", change), now=NOW)
    assert str(refused.value).startswith("changed.zip: ")
    assert other.list_visits() == ([], 0)
    assert not (other.store.folder / "photos").exists()
    assert [path.name for path in tmp_path.parent.rglob("evil.txt")] == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (flip, "its checksum is wrong: it was changed or damaged"),
        (lambda files: files.pop("checksums.sha256"), "there is no checksums.sha256"),
        (lambda files: files.pop("README.txt"), "README.txt: it is missing; it was changed or damaged"),
        (put_in(f"visits/{'a' * 32}.json", b"{}"), "it has no checksum"),
        (in_json("manifest", visits=1), "manifest.json: its checksum is wrong"),
        (put_in("README.txt", b"buy this"), "README.txt: its checksum is wrong"),
        (put_in("settings.json", b'{"a": 1}'), "settings.json: its checksum is wrong"),
    ],
)
def test_what_was_changed_after_it_was_made_is_refused_whole(exported, other, tmp_path, change, told):
    with pytest.raises(StoreError, match=told):
        other.import_zip(remade(exported, tmp_path / "changed.zip", change, checksums=False), now=NOW)
    assert other.list_visits() == ([], 0)


@pytest.mark.parametrize("version", range(1, NEXT))
def test_an_export_of_every_older_version_is_taken_in(exported, other, tmp_path, version):
    def change(files: dict[str, bytes]) -> None:
        in_json("manifest", version=version)(files)
        for path in [path for path in files if "/" in path or path in (form.FORGOTTEN, form.SHOP_TABLES)]:
            if not any(sort.fullmatch(path) for sort in form.HOLDS[version]):
                del files[path]  # there was no such thing then

    assert other.import_zip(remade(exported, tmp_path / "older.zip", change), now=NOW).visits_new == 9


def test_an_entry_that_contradicts_one_that_is_here_is_refused_whole(full, tables, tmp_path):
    full.export_zip(tmp_path / "shop.zip", now=NOW)
    before = everything(full, tables)

    def change(files: dict[str, bytes]) -> None:
        in_entry(value="Another title")(files)
        files[f"visits/{'a' * 32}.json"] = json.dumps(
            {
                "id": "a" * 32,
                "demo": False,
                "created_at": "2026-05-04T09:00:00.000000Z",
                "created_by": "",
                "kept_as": "",
                "entries": [],
            }
        ).encode()

    with pytest.raises(StoreError, match="says something else than the one of this id that is here"):
        full.import_zip(remade(tmp_path / "shop.zip", tmp_path / "changed.zip", change), now=NOW)
    assert everything(full, tables) == before


def test_a_paper_that_contradicts_the_one_here_is_refused_whole(full, tables, tmp_path):
    full.export_zip(tmp_path / "shop.zip", now=NOW)
    before = everything(full, tables)
    with pytest.raises(StoreError, match="says something else than the one of this id that is here"):
        full.import_zip(remade(tmp_path / "shop.zip", tmp_path / "changed.zip", in_paper(made_by="Bo")), now=NOW)
    assert everything(full, tables) == before


def test_two_entries_of_one_id_are_refused(exported, other, tmp_path):

    def change(files: dict[str, bytes]) -> None:
        path = next(path for path in files if path.startswith("visits/"))
        content = json.loads(files[path])
        content["entries"].append(content["entries"][0])
        files[path] = json.dumps(content).encode()

    with pytest.raises(StoreError, match="two entries have the same id"):
        other.import_zip(remade(exported, tmp_path / "changed.zip", change), now=NOW)


@pytest.mark.parametrize("keep", [0, 10, 0.3, 0.9, 0.999])
def test_a_file_that_is_cut_off_is_refused(exported, other, tmp_path, keep):
    whole = exported.read_bytes()
    (tmp_path / "cut.zip").write_bytes(whole[: int(keep if keep >= 1 else keep * len(whole))])
    with pytest.raises(StoreError, match="it is no zip file, or it is cut off"):
        other.import_zip(tmp_path / "cut.zip", now=NOW)


def test_a_file_with_a_damaged_stretch_is_refused(exported, other, tmp_path):
    whole = bytearray(exported.read_bytes())
    for start in range(40, len(whole) // 2, len(whole) // 10):
        damaged = whole.copy()
        damaged[start : start + 20] = bytes(byte ^ 0x5A for byte in damaged[start : start + 20])
        (tmp_path / "damaged.zip").write_bytes(damaged)
        with pytest.raises(StoreError, match=r"damaged.zip: .*(unpacked|checksum|damaged|cut off)"):
            other.import_zip(tmp_path / "damaged.zip", now=NOW)
    assert other.list_visits() == ([], 0)


def test_a_zip_bomb_is_refused_before_it_is_unpacked(exported, other, tmp_path, monkeypatch):
    monkeypatch.setattr(form, "MOST_JSON", 100_000)
    monkeypatch.setattr(form, "MOST_UNPACKED", 1_000_000)
    bomb = tmp_path / "bomb.zip"
    with ZipFile(exported) as source, ZipFile(bomb, "w", ZIP_DEFLATED) as file:
        for name in source.namelist():
            file.writestr(name, source.read(name))
        file.writestr(f"visits/{'a' * 32}.json", b" " * (form.MOST_JSON + 1))
    with pytest.raises(StoreError, match="bytes, more than any"):
        other.import_zip(bomb, now=NOW)
    with ZipFile(bomb, "w", ZIP_DEFLATED) as file:
        file.writestr("manifest.json", "{}")
        for number in range(20):
            file.writestr(f"visits/{number:032}.json", b" " * form.MOST_JSON)
    with pytest.raises(StoreError, match="unpacked it would have 2,000,002 bytes; no export is packed so tightly"):
        other.import_zip(bomb, now=NOW)


def test_a_file_that_says_it_is_shorter_than_it_is_is_refused(exported, other, tmp_path):
    data = bytearray(exported.read_bytes())
    with ZipFile(exported) as file:
        size = file.getinfo("README.txt").file_size
    needle = size.to_bytes(4, "little")
    place = data.rindex(needle, 0, data.rindex(b"README.txt"))
    data[place : place + 4] = (size - 5).to_bytes(4, "little")
    (tmp_path / "lying.zip").write_bytes(data)
    with pytest.raises(StoreError, match=r"README.txt: it (can't be unpacked|is not as long)"):
        other.import_zip(tmp_path / "lying.zip", now=NOW)


def test_a_name_that_stands_twice_or_a_password_is_refused(exported, other, tmp_path):
    twice = tmp_path / "twice.zip"
    twice.write_bytes(exported.read_bytes())
    with ZipFile(twice, "a") as file, pytest.warns(UserWarning, match="Duplicate name"):
        file.writestr("settings.json", "{}")
    with pytest.raises(StoreError, match=r"settings.json: it stands in the file twice"):
        other.import_zip(twice, now=NOW)
    locked = tmp_path / "locked.zip"
    with ZipFile(locked, "w") as file:
        file.writestr(ZipInfo("manifest.json"), "{}")
    data = locked.read_bytes()
    at = data.index(b"PK\x01\x02") + 8
    locked.write_bytes(data[:at] + b"\x01\x00" + data[at + 2 :])
    with pytest.raises(StoreError, match="locked by a password"):
        other.import_zip(locked, now=NOW)


def test_a_file_that_is_not_there_is_told(other, tmp_path):
    with pytest.raises(StoreError, match=r"^none.zip: the file is missing"):
        other.import_zip(tmp_path / "none.zip", now=NOW)
