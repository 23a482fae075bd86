"""People's data: found, handed out, corrected, restricted, forgotten; and nothing of it comes back. All invented."""

from __future__ import annotations

import json
import os
import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zipfile import ZipFile

import numpy as np
import psycopg
import pytest
from declared_values import STAFF, Ids, fields, value_of
from made_photos import made_photo
from own_tables import WORKSHOP, type_in
from simulated_shop import believed_tables, simulate
from simulated_store import believed_texts, put_in
from sqlalchemy import text

from valuation.errors import StoreError
from valuation.facts.kinds import Day, Flag, Number, OneOf, Whole, Words
from valuation.files.recorded_visit import finding_value
from valuation.jobs.recorded_job import done_value, event_value
from valuation.service import demo_visits, load_shop, people, read_visit_file
from valuation.service.backups import list_copies, restore
from valuation.service.handed_out import hand_out
from valuation.service.lessons import lessons
from valuation.service.outcomes import happened
from valuation.service.shop_tables import write_folder
from valuation.service.visits import Shop, open_shop
from valuation.service.written import Wanted, list_papers, make_paper
from valuation.store import entries, forgetting
from valuation.store.people import kept_as
from valuation.store.walk_links import WalkLinks

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
BY = {"who": "Bo", "device": "tablet of the workshop"}

PLANTED = {
    "title": "Quillfeather parlour",
    "place": "Mossbank Lane 7",
    "story": "Great-aunt Hyldemoer played it",
    "client.name": "Zarathea Vinterquist",
    "client.purpose": "because Oberonlight moves house",
    "client.wishes": "the Thimblerigg candles stay",
    "piano.maker": "Wobblestone and Sons",
    "piano.serial": "SN-90210-XQ",
    "piano.finish": "varnished by Grandfather Plumtree",
    "wish.questions": "may Cousin Fennimore watch",
    "job.source": "recommended by Madame Jabberwick",
    "client.telephone": "+00 555 0142 777",
}
"""Twelve strings that name somebody or lead to one, each in a field of its own; more stand in notes and photos."""

NOTES = ("Mister Snickelway opened", "Lodger Crumpethorn said", "Uncle Bartlequick beside it", "Frau Dingelstaub rang",
         "because Doctor Hobbledown says so")  # fmt: skip
IDS = Ids(load_shop())
OWN_WORDS = {
    field: f"Whisperwind{number:03d}"
    for number, (field, _, kind) in enumerate(fields(IDS))
    if not isinstance(kind, Day | Flag | Number | Whole | OneOf) and field not in (*PLANTED, "job.stage")
}
"""By field, of all that are declared: a word of its own, that stands wherever a word may in its value."""

STRINGS = (*PLANTED.values(), *NOTES, *OWN_WORDS.values())

TOLD = {"on": "2026-03-12", "verdict": "partial", "clarity": "clear", "technician": "Bo", "premium": 1500.0,
        "tables": "a" * 64, "price_low": 2000.0, "price_likely": 2500.0, "price_high": 3100.0, "hours_low": 20.0,
        "hours_likely": 25.0, "hours_high": 33.0, "value_after": 3000.0}  # fmt: skip

FACTS = {
    "date": "2026-03-10",
    "piano.kind": "upright",
    "piano.year": 1911,
    "piano.size_mm": 1280,
    "piano.tier": "good",
    "client.premium": 1500.0,
    "humidity": 44.0,
    "finding.plate_crack": {"grade": "good", "note": NOTES[0]},
    "finding.hammer_moth": {"grade": "fair", "note": NOTES[1]},
    "job.event.a": event_value("visited", date(2026, 3, 10)),
    "job.event.b": event_value("evaluated", date(2026, 3, 12), told=TOLD, note="rang Lodger Crumpethorn"),
    "job.event.c": event_value("declined", date(2026, 4, 1), reason="no_money"),
    "job.truth.pinblock": {"state": "worn", "note": NOTES[3]},
    "reason.hammers": NOTES[4],
}


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    """Tables in which every check is answered in words, as the simulated workshop has them."""
    folder = tmp_path_factory.mktemp("believed")
    for name, content in write_folder(believed_texts(believed_tables())).items():
        (folder / name).write_bytes(content)
    return load_shop(folder)


def enter(shop: Shop, tables, more: dict | None = None, visit: str = "c" * 32) -> str:
    """A visit of the client, with a photo, a paper, an undo and what was corrected."""
    at = datetime(2026, 3, 10, 9, tzinfo=UTC)
    shop.start_visit(FACTS | PLANTED | (more or {}), **BY, now=at, visit_id=visit)
    shop.put(visit, "place", "Mossbank Lane 77", **BY, now=at + timedelta(minutes=1))
    shop.put(visit, "humidity", 45.0, **BY, now=at + timedelta(minutes=2))
    shop.undo(visit, **BY, now=at + timedelta(minutes=3))
    shop.add_photo(visit, made_photo(seed=7), name="x.jpg", caption=NOTES[2], **BY, now=at)
    wanted = Wanted(what="evaluation")
    make_paper(shop, visit, wanted, load_shop(), request="e" * 32, who="Bo", now=at, today=date(2026, 3, 11))
    return visit


def others(shop: Shop, tables) -> None:
    """Some years of a simulated workshop, so that there is something to learn."""
    put_in(shop, simulate(np.random.default_rng(5), believed=tables, n=40))


@pytest.fixture
def environ_here(environ) -> dict[str, str]:
    return environ


@pytest.fixture
def shop(environ) -> Iterator[Shop]:
    shop = open_shop(environ, TODAY, with_demo=False)
    yield shop
    shop.close()


def bytes_of(shop: Shop, environ: dict[str, str], postgres_folder: Path | None) -> dict[str, bytes]:
    """Every file of the store's folder but its copies, and every file of the database's."""
    folder = Path(environ["VALUATION_DATA"])
    found = {p.name: p.read_bytes() for p in folder.rglob("*") if p.is_file() and "backups" not in p.parts}
    if postgres_folder is not None:
        with psycopg.connect(environ["DATABASE_URL"], autocommit=True) as connection:
            connection.execute("CHECKPOINT")  # files of before are removed with it
            number = connection.execute("SELECT oid FROM pg_database WHERE datname = current_database()").fetchone()[0]
        base = postgres_folder / "data" / "base" / str(number)
        found |= {f"base/{p.name}": p.read_bytes() for p in base.rglob("*") if p.is_file()}
    return found


def told_in(content: bytes) -> list[str]:
    """The strings that stand in some bytes, plain or as JSON writes them, in large or small letters."""
    small = content.lower()
    return [text for text in STRINGS if text.lower().encode() in small or text[-12:].lower().encode() in small]


def told_in_zip(path: Path) -> list[str]:
    with ZipFile(path) as file:
        return [text for name in file.namelist() for text in told_in(name.encode() + file.read(name))]


@pytest.fixture
def postgres_folder(environ, request) -> Path | None:
    return request.getfixturevalue("postgres").folder if environ["DATABASE_URL"] else None


def learned(shop: Shop, tables) -> tuple:
    """What the shop has learned, in figures, without who it is about."""
    lesson, found = lessons(shop, tables, on=TODAY), happened(shop, tables, on=TODAY)
    figures = [
        lesson.visits, lesson.opened, lesson.finished, lesson.hours, lesson.proposals, lesson.condition,
        found.evaluations, found.way, found.by["month"], found.by["verdict"], found.by["price"], found.by["technician"],
        found.undecided, found.yes, found.no, found.in_hand,
    ]  # fmt: skip
    return tuple(map(rounded, figures))


def rounded(figure) -> object:
    """A figure, or whatever holds figures, to nine digits: sums are taken in the order of the ids, which change."""
    if isinstance(figure, float):
        return float(f"{figure:.9g}")
    if hasattr(figure, "tolist"):
        return rounded(figure.tolist())
    if hasattr(figure, "__dataclass_fields__"):
        names = [name for name in figure.__dataclass_fields__ if name != "visit"]
        return type(figure).__name__, *(rounded(getattr(figure, name)) for name in names)
    if isinstance(figure, dict):
        return tuple((rounded(key), rounded(value)) for key, value in figure.items())
    if isinstance(figure, list | tuple | set | frozenset):
        return tuple(map(rounded, figure))
    return figure if isinstance(figure, str | int | None) else repr(type(figure))


def test_nothing_of_a_person_is_left_anywhere_and_what_was_learned_is_the_same(
    shop, environ, tables, tmp_path, postgres_folder
):
    others(shop, tables)
    visit = enter(shop, tables)
    before = learned(shop, tables)
    shop.export_zip(tmp_path / "old.zip", now=NOW)
    shop.back_up_now(TODAY)
    with shop.store.writing() as connection:
        connection.execute(text("ANALYZE"))  # as a server does by itself: it keeps samples of what is in the cells
    there = bytes_of(shop, environ, postgres_folder)
    assert {*PLANTED.values(), *NOTES} <= {text for c in there.values() for text in told_in(c)}, "all could be found"
    photo = shop.open_visit(visit, tables).photos[0].hash

    people.erase(shop, [visit], tables, TODAY)
    assert shop.traces == ""
    for name, content in bytes_of(shop, environ, postgres_folder).items():
        assert told_in(content) == [], name
    assert learned(shop, tables) == before
    shop.export_zip(tmp_path / "new.zip", now=NOW)
    assert told_in_zip(tmp_path / "new.zip") == []
    made = shop.back_up_now(TODAY + timedelta(days=1))
    for path in made.place.rglob("*"):
        assert not path.is_file() or told_in(path.read_bytes()) == [], path
    assert shop.photo_path(photo) is None
    assert people.find(shop, "vinterquist") == []
    with pytest.raises(StoreError, match="there is no visit"):
        shop.history(visit)

    # an old export, what a device that was away still sends, and an old copy bring nobody back
    told = shop.import_zip(tmp_path / "old.zip", now=NOW)
    assert (told.visits_forgotten, told.visits_new, told.photos_new, told.papers_new) == (1, 0, 0, 0)
    with pytest.raises(StoreError, match="was forgotten here, and may not come back"):
        shop.start_visit(FACTS | PLANTED, **BY, now=NOW, visit_id=visit)
    with pytest.raises(StoreError, match="there is no visit"):
        shop.put(visit, "place", PLANTED["place"], **BY, now=NOW)
    assert [text for c in bytes_of(shop, environ, postgres_folder).values() for text in told_in(c)] == []
    shop.close()
    old = next(copy for copy in list_copies(Path(environ["VALUATION_DATA"])) if copy.day == TODAY)
    assert restore(environ, old.number, TODAY).forgotten == 1
    shop = open_shop(environ, TODAY)
    shutil.rmtree(Path(environ["VALUATION_DATA"]) / "replaced", ignore_errors=True)
    assert [text for c in bytes_of(shop, environ, postgres_folder).values() for text in told_in(c)] == []
    assert learned(shop, tables) == before
    assert shop.photo_path(photo) is None
    shop.close()


def test_no_word_of_any_declared_field_is_left_once_the_law_keeps_nothing(
    shop, environ, tables, tmp_path, postgres_folder
):
    chance, tables = random.Random(11), said(tables, "de")
    facts = {}
    for field, _, kind in fields(IDS):

        def word(key: str, _: Words, own: str = OWN_WORDS.get(field, "plain")) -> str:
            return "delivered" if key in ("stage", "job.stage") else "Bo" if key in STAFF else own

        facts[field] = value_of(kind, chance, word, field)
    for number, stage in (("1", "accepted"), ("2", "delivered")):
        facts[f"job.event.{number}"] = event_value(stage, date(2026, 3, 10), agreed=AGREED)
    at = datetime(2026, 3, 10, 9, tzinfo=UTC)
    visit = shop.start_visit(facts | PLANTED, **BY, now=at, visit_id="c" * 32)
    token, _ = WalkLinks(shop.store.folder).make(visit, who="Bo", now=NOW)
    shown = shop.add_photo(visit, made_photo(seed=9), name="walk.jpg", caption=NOTES[2], **BY, now=NOW)
    type_in(shop, "rates", WORKSHOP, {"per_hour": "68"}, {"per_hour": "74"})
    there = bytes_of(shop, environ, postgres_folder)
    written = {word for field, word in OWN_WORDS.items() if word in repr(facts[field])}
    assert len(written) > 20
    found = {text for content in there.values() for text in told_in(content)}
    assert found == {*PLANTED.values(), NOTES[2], *written}
    assert people.erase(shop, [visit], tables, TODAY) == 1
    assert WalkLinks(shop.store.folder).find(token) is None
    assert shop.photo_path(shown.field.removeprefix("photo.")) is None
    people.clean(shop, datetime(2033, 1, 1, 12, tzinfo=UTC))
    shop.export_zip(tmp_path / "new.zip", now=NOW)
    assert told_in_zip(tmp_path / "new.zip") == []
    made = shop.back_up_now(TODAY)
    copied = [path.read_bytes() for path in made.place.rglob("*") if path.is_file()]
    for content in (*bytes_of(shop, environ, postgres_folder).values(), *copied):
        assert told_in(content) == []
        assert visit.encode() not in content


def test_an_old_file_put_in_place_by_hand_is_made_to_forget_again(environ, tables):
    if environ["DATABASE_URL"]:
        pytest.skip("a server's files are not put in place by hand")
    shop = open_shop(environ, TODAY, with_demo=False)
    visit = enter(shop, tables)
    copy = shop.back_up_now(TODAY)
    people.erase(shop, [visit], tables, TODAY)
    shop.close()
    folder = Path(environ["VALUATION_DATA"])
    shutil.copy(copy.path, folder / "valuation.sqlite")
    shop = open_shop(environ, TODAY, with_demo=False)
    assert people.find(shop, "Vinterquist") == []
    assert told_in((folder / "valuation.sqlite").read_bytes()) == []
    shop.close()


def test_a_file_of_marks_that_cant_be_read_stops_the_store_and_says_how_to_go_on(shop, environ, tables):
    people.erase(shop, [enter(shop, tables)], tables, TODAY)
    shop.close()
    (Path(environ["VALUATION_DATA"]) / "forgotten.jsonl").write_text("{half")
    with pytest.raises(StoreError, match=r"^forgotten.jsonl:1: this line can't be read"):
        open_shop(environ, TODAY)


def test_who_is_forgotten_on_one_device_is_forgotten_on_the_other_by_an_export(shop, tables, tmp_path):
    there = open_shop({"VALUATION_DATA": str(tmp_path / "phone")}, TODAY, with_demo=False)
    visit = enter(shop, tables)
    shop.export_zip(tmp_path / "to_phone.zip", now=NOW)
    there.import_zip(tmp_path / "to_phone.zip", now=NOW)
    there.put(visit, "story", STRINGS[2], **BY, now=NOW)
    people.erase(shop, [visit], tables, TODAY)
    there.export_zip(tmp_path / "late.zip", now=NOW)
    assert shop.import_zip(tmp_path / "late.zip", now=NOW).visits_forgotten == 1
    assert people.find(shop, "hyldemoer") == []
    shop.export_zip(tmp_path / "to_phone.zip", now=NOW)
    assert there.import_zip(tmp_path / "to_phone.zip", now=NOW).visits_forgotten == 1
    assert people.find(there, "hyldemoer") == []
    assert list((tmp_path / "phone" / "photos").rglob("*.jpg")) == []
    assert [told_in(path.read_bytes()) for path in (tmp_path / "phone").glob("valuation.sqlite*")] == [[]] * 3
    assert there.import_zip(tmp_path / "to_phone.zip", now=NOW).visits_new == 0
    there.close()


AGREED = {"option": "partial", "price": 2500.0, "plan": {"hammers": "replace"}, "operations": [], "tables": "a" * 64}


def said(tables, country):
    """Return the tables of a shop that has said where it works."""
    settings = replace(tables.settings, country=country, tax=country)
    return replace(tables, settings=settings, setting_sources=tables.setting_sources | {"country": "own_estimate"})


def agreed_job(shop: Shop, tables, last: str = "delivered") -> str:
    """A job as `enter` enters it, quoted, agreed on and come so far."""
    steps = {"job.event.c": None, "job.done.restring.x": done_value(11.5, day=date(2026, 5, 2), note=NOTES[3])}
    school = read_visit_file(demo_visits()[2][1], load_shop(), date(2026, 12, 31))
    steps |= {f"finding.{found.check}": finding_value(found) for found in school.findings}
    visit = enter(shop, tables, steps)
    wanted, by = Wanted(what="quotation", option="rebuild"), {"who": "Bo", "now": NOW, "today": date(2026, 3, 12)}
    made = make_paper(shop, visit, wanted, load_shop(), request="f" * 32, **by)
    agreed = event_value("accepted", date(2026, 4, 1), agreed=AGREED | {"option": made.option})
    shop.put(visit, "job.event.c", agreed, **BY, now=NOW)
    shop.put(visit, "job.event.d", event_value(last, date(2026, 6, 1)), **BY, now=NOW)
    return visit


def test_of_an_agreed_job_stays_apart_what_tax_law_demands_until_its_day(
    shop, environ, tables, tmp_path, postgres_folder
):
    visit = agreed_job(shop, tables)
    with pytest.raises(StoreError, match="say first in the shop's tables in which country"):
        people.erase(shop, [visit], tables, TODAY)
    tables = said(tables, "de")
    before = learned(shop, tables)
    old = shop.back_up_now(TODAY)
    assert people.erase(shop, [visit], tables, TODAY) == 1
    (kept,) = people.kept_by_law(shop)
    assert (kept.name, kept.until, kept.day) == (PLANTED["client.name"], "2032-12-31", "2026-12-01")
    (tmp_path / "law.zip").write_bytes(kept.content)
    with ZipFile(tmp_path / "law.zip") as file:
        assert file.namelist() == ["agreed.json", f"quotation-{visit[:6]}-2.pdf"]
        told = json.loads(file.read("agreed.json"))
        assert file.read(file.namelist()[1]).startswith(b"%PDF-")
    assert told["client.name"] == PLANTED["client.name"]
    assert [(step["day"], step["stage"]) for step in told["steps"]][-2:] == [
        ("2026-04-01", "accepted"), ("2026-06-01", "delivered"),
    ]  # fmt: skip
    assert told["steps"][-2]["agreed"]["price"] == 2500.0
    assert "story" not in told
    assert learned(shop, tables) == before
    assert people.find(shop, "Vinterquist") == []
    # it goes along to another store, and is there once, however often it comes
    other = open_shop({"VALUATION_DATA": str(tmp_path / "other")}, TODAY, with_demo=False)
    for _ in range(2):
        shop.export_zip(tmp_path / "shop.zip", now=NOW)
        other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert people.kept_by_law(other) == [kept]
    other.close()
    assert people.clean(shop, datetime(2032, 12, 31, 12, tzinfo=UTC))[0] == 0
    assert people.clean(shop, datetime(2033, 1, 1, 12, tzinfo=UTC))[0] == 1
    assert people.kept_by_law(shop) == []
    assert [text for c in bytes_of(shop, environ, postgres_folder).values() for text in told_in(c)] == []
    # an old copy: what the law demanded then is set apart again, or not any more
    shop.close()
    assert restore(environ, old.number, date(2032, 12, 31)).forgotten == 1
    shop = open_shop(environ, TODAY)
    assert [replace(one, id="", content=b"") for one in people.kept_by_law(shop)] == [replace(kept, id="", content=b"")]
    shop.close()
    assert restore(environ, old.number, date(2033, 1, 1)).forgotten == 1
    shop = open_shop(environ, TODAY)
    assert people.kept_by_law(shop) == []
    shop.close()


def test_an_open_job_is_not_forgotten_under_the_hands_of_the_shop(shop, tables):
    visit = agreed_job(shop, tables, last="in_workshop")
    tables = said(tables, "at")
    with pytest.raises(StoreError, match="is not finished; finish or cancel it first"):
        people.erase(shop, [visit], tables, TODAY)
    assert shop.open_visit(visit, tables).visit.client.name == PLANTED["client.name"]


def test_of_two_visits_both_are_forgotten_or_none(shop, tables):
    one, two = enter(shop, tables), agreed_job_of_another(shop)
    with pytest.raises(StoreError, match="say first in the shop's tables"):
        people.erase(shop, [one, two], tables, TODAY)
    assert len(people.find(shop, "vinterquist")) == 1


def agreed_job_of_another(shop: Shop) -> str:
    facts = {"piano.kind": "grand", "job.event.c": event_value("accepted", date(2026, 4, 1), agreed=AGREED)}
    return shop.start_visit(facts, **BY, now=NOW, visit_id="d" * 32)


@pytest.mark.parametrize("words", ["Vinterquist", "vinterQUIST zarathea", "mossbank 77", "Hobbledown", "Bartlequick"])
def test_a_person_is_found_by_any_words_anywhere_also_long_corrected(shop, tables, words):
    visit = enter(shop, tables)
    shop.start_visit({"piano.kind": "grand", "client.name": "Nobody Else"}, **BY, now=NOW)
    (found,) = people.find(shop, words)
    assert (found.holding.visit, found.holding.photos, found.holding.papers) == (visit, 1, 1)
    assert people.find(shop, words + " Else") == []
    assert people.find(shop, "  ") == []


@pytest.mark.parametrize(
    ("name", "word"),
    [("Frau Müßiggång", "müssiggång"), ("Élodie", "ÉLOD"), ("Иван", "иван"), ("李", "李"), ('a "b\\', '"b\\')],
)
def test_names_in_any_letters_are_found(shop, name, word):
    shop.start_visit({"piano.kind": "grand", "client.name": name}, **BY, now=NOW)
    assert [found.fields for found in people.find(shop, word)] == [("client.name",)]


def test_all_that_is_kept_is_handed_out_in_one_file(shop, tables, tmp_path):
    visit = enter(shop, tables)
    told = hand_out(shop, [visit], tmp_path / "yours.zip", now=NOW)
    assert (told.visits, told.photos, told.papers) == (1, 1, 1)
    assert told.entries == len(shop.history(visit))
    assert set(told_in_zip(tmp_path / "yours.zip")) == {*PLANTED.values(), *NOTES}
    with ZipFile(tmp_path / "yours.zip") as file:
        assert [name for name in file.namelist() if name.endswith(".pdf")] == [f"papers/{visit[:6]}-1-evaluation.pdf"]
        assert "Zarathea" in file.read("read_me.txt").decode()
    assert [path.name for path in tmp_path.iterdir() if "handed-out" in path.name] == []


def test_a_correction_can_forget_what_was_wrong_and_an_old_export_doesnt_bring_it_back(
    shop, environ, tables, tmp_path, postgres_folder
):
    visit = enter(shop, tables)
    shop.export_zip(tmp_path / "old.zip", now=NOW)
    shop.remove_demo()
    count = people.correct(shop, visit, "client.name", "Zara V.", forget_earlier=True, who="Bo", now=NOW)
    assert count == 1
    assert shop.open_visit(visit, tables).visit.client.name == "Zara V."
    assert len(shop.history(visit, "client.name")) == 1
    assert shop.import_zip(tmp_path / "old.zip", now=NOW).entries_new == 0
    assert [e.value for e in shop.history(visit, "client.name")] == ["Zara V."]
    assert people.correct(shop, visit, "place", "Lane 8", forget_earlier=False, who="Bo", now=NOW) == 0
    assert len(shop.history(visit, "place")) == 3
    with pytest.raises(StoreError, match=r"it is one of client\.name"):
        people.correct(shop, visit, "piano.year", "1900", forget_earlier=True, who="Bo", now=NOW)


def test_what_is_restricted_is_kept_and_used_for_nothing(shop, tables, tmp_path):
    others(shop, tables)
    before = learned(shop, tables)
    visit = enter(shop, tables)
    people.restrict(shop, [visit])
    assert learned(shop, tables) == before
    assert shop.list_visits("Quillfeather")[1] == 0
    for use in (
        lambda: shop.put(visit, "place", "x", **BY, now=NOW),
        lambda: shop.open_visit(visit, tables),
        lambda: make_paper(
            shop, visit, Wanted(what="summary"), load_shop(), request="9" * 32, who="", now=NOW, today=TODAY
        ),
    ):
        with pytest.raises(StoreError, match="its data is restricted"):
            use()
    assert [holding.visit for holding in people.restricted(shop)] == [visit]
    assert [found.holding.kept_as for found in people.find(shop, "Quillfeather")] == ["restricted"]
    shop.export_zip(tmp_path / "shop.zip", now=NOW)
    other = open_shop({"VALUATION_DATA": str(tmp_path / "other")}, TODAY, with_demo=False)
    other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert other.list_visits("Quillfeather")[1] == 0, "restricted there, too"
    other.close()
    people.lift(shop, [visit])
    assert shop.list_visits("Quillfeather")[1] == 1
    with pytest.raises(StoreError, match="there is no visit"):
        people.lift(shop, [visit])


def test_a_visit_made_by_mistake_is_thrown_away_and_teaches_nothing(shop, tables, tmp_path):
    others(shop, tables)
    before = learned(shop, tables)
    visit = enter(shop, tables)
    shop.export_zip(tmp_path / "old.zip", now=NOW)
    people.throw_away(shop, visit, tables, TODAY)
    assert learned(shop, tables) == before
    assert shop.import_zip(tmp_path / "old.zip", now=NOW).visits_forgotten == 1
    with shop.store.reading() as connection:
        assert people_kept(connection) == []
    agreed = agreed_job_of_another(shop)
    with pytest.raises(StoreError, match=r"this was no mistake\. Forget the person instead"):
        people.throw_away(shop, agreed, tables, TODAY)


def people_kept(connection) -> list[str]:
    return kept_as(connection, entries.NAMELESS)


def test_what_is_left_is_in_no_list_and_stays_as_it_is(shop, tables):
    visit = enter(shop, tables)
    people.erase(shop, [visit], tables, TODAY)
    assert shop.list_visits() == ([], 0)
    with shop.store.reading() as connection:
        (left,) = people_kept(connection)
        assert entries.setting(connection, forgetting.TO_SWEEP) is None
    recorded = shop.open_visit(left, tables)
    client = recorded.visit.client
    assert (recorded.visit.title, client.name, client.to_have + client.to_hear) == ("-", "", 1500.0)
    assert (recorded.visit.piano.year, recorded.visit.humidity, recorded.photos) == (1911, 44.0, ())
    assert recorded.set_aside == ()
    assert {e.at.time().replace(microsecond=0) for e in shop.history(left)} == {datetime.min.time()}
    with pytest.raises(StoreError, match="its person was forgotten"):
        shop.put(left, "place", "x", **BY, now=NOW)
    with pytest.raises(StoreError, match="there is no visit"):
        people.erase(shop, [left], tables, TODAY)
    assert list_papers(shop, left) == []


def test_a_way_that_many_clients_come_by_stays_and_one_that_names_somebody_goes(shop, tables):
    for number in range(3):
        shop.start_visit({"piano.kind": "grand", "job.source": "radio"}, **BY, now=NOW, visit_id=f"{number}" * 32)
    visits = [enter(shop, tables, {"job.source": source}, visit) for source, visit in (("radio", "c" * 32),)]
    people.erase(shop, visits, tables, TODAY)
    with shop.store.reading() as connection:
        (left,) = people_kept(connection)
    assert [e.value for e in shop.history(left, "job.source")] == ["radio"]


def test_what_is_due_follows_the_country_and_the_shops_own_years(shop, tables):
    never = enter(shop, tables)
    assert people.due(shop, tables, date(2040, 1, 1)) == []
    tables = said(tables, "de")
    with shop.store.writing() as connection:  # as if it had been entered long ago
        connection.execute(text("UPDATE visit SET changed_at = '2026-03-10T09:00:00.000000Z'"))
    assert people.due(shop, tables, date(2029, 12, 31)) == []
    assert [d.visit for d in people.due(shop, tables, date(2030, 1, 1))] == [never]
    shop.set_setting(people.YEARS, 1)
    assert [(d.row.years, d.row.source) for d in people.due(shop, tables, date(2028, 1, 1))] == [(1, "")]


def test_files_nobody_speaks_of_are_cleaned_up_and_no_others(shop, environ, tables):
    visit = enter(shop, tables)
    shown = shop.open_visit(visit, tables).photos[0].hash
    folder = Path(environ["VALUATION_DATA"])
    old, young = folder / "photos" / "ab" / f"{'a' * 64}.jpg", folder / "photos" / "ab" / f"{'b' * 64}.jpg"
    aside = folder / "replaced" / "000001"
    aside.mkdir(parents=True)
    for path in (old, young):
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"x")
    later = datetime.fromtimestamp(young.stat().st_mtime, UTC)
    long_ago = (later - timedelta(days=40)).timestamp()
    for path in (old, aside, shop.photo_path(shown), shop.photo_path(shown, thumbnail=True)):
        os.utime(path, (long_ago, long_ago))
    assert people.unspoken_files(shop, later).count == 2
    assert people.clean(shop, later) == (0, 2)
    assert (old.exists(), young.exists(), aside.exists()) == (False, True, False)
    assert shop.photo_report().lost == ()


def test_a_photo_that_another_visit_shows_too_stays(shop, tables):
    one, two = enter(shop, tables), shop.start_visit({"piano.kind": "grand"}, **BY, now=NOW)
    shop.add_photo(two, made_photo(seed=7), name="y.jpg", **BY, now=NOW)
    people.erase(shop, [one], tables, TODAY)
    assert shop.photo_report().checked == 1
    assert shop.photo_report().lost == ()


def test_traces_that_could_not_be_swept_are_told_and_go_at_the_next_start(environ, tables, monkeypatch):
    shop = open_shop(environ, TODAY, with_demo=False)
    visit = enter(shop, tables)

    def busy(store) -> None:
        raise StoreError([])

    monkeypatch.setattr(forgetting, "_write_anew", busy)
    people.erase(shop, [visit], tables, TODAY)
    assert "traces of it may still be in the files" in shop.traces
    shop.close()
    monkeypatch.undo()
    shop = open_shop(environ, TODAY)
    assert shop.traces == ""
    with shop.store.reading() as connection:
        assert entries.setting(connection, forgetting.TO_SWEEP) is None
    shop.close()


def test_a_demo_visit_that_was_forgotten_stays_so_when_the_demo_is_brought_in_again(shop, tables):
    count = shop.load_demo()
    cards, _ = shop.list_visits(limit=1000)
    people.erase(shop, [card.id for card in cards if card.client or card.place][:1], tables, TODAY)
    assert shop.load_demo() == 0
    assert shop.list_visits()[1] == count - 1
    shop.remove_demo()
    assert shop.load_demo() == count - 1
