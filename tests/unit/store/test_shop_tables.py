"""The shop's tables in its store: in force from a day, kept, set aside, put back, taken over, exported."""

from __future__ import annotations

import shutil
import zlib
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from own_tables import NOW, TODAY, put, with_rate
from sqlalchemy import text

from valuation import service
from valuation.engine.money import tax_of
from valuation.errors import StoreError, TableError, UserError
from valuation.record import value_text
from valuation.service import shop_tables
from valuation.service.shop_tables import BROUGHT, PACKAGED_WHY, go_back, history, in_force, tables_of_change, take_back
from valuation.service.store import TAKEN_OVER
from valuation.service.tables_effect import of_brought
from valuation.service.visits import Shop, open_shop
from valuation.service.written import Wanted, make_paper, paper_again

LATER = TODAY + timedelta(days=14)


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Shop]:
    """Another shop, empty, on SQLite."""
    shop = open_shop({"VALUATION_DATA": str(tmp_path / "other")}, TODAY, with_demo=False)
    yield shop
    shop.close()


def texts_of(shop: Shop) -> dict[str, str]:
    return dict(shop.tables_in_force(TODAY).texts)


def rate_of(shop: Shop, on: date = TODAY) -> float:
    rows = [row for row in shop.tables(on).rates if row.id == "workshop"]
    return rows[-1].per_hour


def test_a_shop_that_never_changed_anything_has_the_packaged_tables(shop, tables):
    held = shop.tables_in_force(TODAY)
    assert (held.tables, held.change, held.set_aside, history(shop.store)) == (tables, None, (), [])


def test_tables_are_in_force_at_once_and_those_before_are_kept_with_who_and_why(shop, tables):
    change = put(shop, with_rate(texts_of(shop), 74), why="wages went up")
    assert (rate_of(shop), shop.tables(TODAY).hash) == (74, change.hash)
    first, second = history(shop.store)
    assert (first.why, first.hash, first.from_day) == (PACKAGED_WHY, tables.hash, date.min)
    assert (second.who, second.why, second.at, second.instead_of) == ("Anna", "wages went up", NOW, tables.hash)
    assert rate_of(shop, TODAY - timedelta(days=1)) == 68


def test_tables_of_a_later_day_wait_and_can_be_taken_back_before_it(shop):
    change = put(shop, with_rate(texts_of(shop), 74), from_day=LATER)
    held = shop.tables_in_force(TODAY)
    assert (rate_of(shop), held.waiting, rate_of(shop, LATER)) == (68, change, 74)
    with pytest.raises(StoreError, match=f"others are to be in force from {LATER}"):
        put(shop, with_rate(texts_of(shop), 70))
    take_back(shop.store, change, today=TODAY)
    assert (rate_of(shop, LATER), shop.tables_in_force(TODAY).waiting) == (68, None)
    assert [c.state for c in history(shop.store)] == ["counts", "taken_back"]
    put(shop, with_rate(texts_of(shop), 70))
    assert rate_of(shop, LATER) == 70


def test_what_is_in_force_by_now_is_not_taken_back_but_put_back(shop):
    put(shop, with_rate(texts_of(shop), 74))
    first, second = history(shop.store)
    with pytest.raises(StoreError, match="they are in force by now"):
        take_back(shop.store, second, today=TODAY)
    go_back(shop.store, first, seen=shop.tables_in_force(TODAY), today=TODAY, who="Bo", why="too much", now=NOW)
    assert rate_of(shop) == 68
    assert [c.who for c in history(shop.store)] == ["", "Anna", "Bo"]


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"from_day": TODAY - timedelta(days=1)}, "2026-11-30 is past; choose today or a later day"),
        ({"why": " \n "}, "say why, in a few words"),
        ({"request": "x"}, "an id is not 32 hexadecimal digits"),
    ],
)
def test_what_cant_be_put_in_force_is_refused_in_words(shop, wrong, told):
    with pytest.raises(UserError, match=told):
        put(shop, with_rate(texts_of(shop), 74), **wrong)
    assert history(shop.store) == []


def test_tables_that_are_not_sound_or_not_others_are_refused(shop):
    with pytest.raises(TableError, match=r"rates.csv:3: per_hour: 'seventy' is not a number"):
        put(shop, dict(texts_of(shop), rates=texts_of(shop)["rates"].replace(",68,", ",seventy,")))
    with pytest.raises(StoreError, match="they are in force already"):
        put(shop, texts_of(shop))


def test_who_decided_on_what_is_no_longer_in_force_is_told_by_whom_it_was_changed(shop):
    seen = shop.tables_in_force(TODAY)
    put(shop, with_rate(texts_of(shop), 74), who="Bo")
    with pytest.raises(StoreError, match="Bo put other tables in force meanwhile"):
        shop_tables.put_in_force(
            shop.store, with_rate(seen.texts, 70), seen=seen, from_day=TODAY, today=TODAY, who="Anna", why="x", now=NOW
        )
    assert rate_of(shop) == 74


def test_asked_for_twice_under_one_id_it_is_done_once(shop):
    seen, given = shop.tables_in_force(TODAY), {"from_day": TODAY, "today": TODAY, "who": "", "why": "x", "now": NOW}
    new = with_rate(texts_of(shop), 74)
    one, two = (shop_tables.put_in_force(shop.store, new, seen=seen, request="a" * 32, **given) for _ in range(2))
    assert one == two
    assert len(history(shop.store)) == 2


def test_tables_that_cant_be_read_are_set_aside_and_the_last_good_ones_hold(shop):
    put(shop, with_rate(texts_of(shop), 74))
    bad = put(shop, _with(texts_of(shop), "rates", ",74,", ",70,"))
    spoilt = {"rates.csv": "id\nx\n"}
    with shop.store.writing() as connection:
        packed = zlib.compress(value_text(spoilt).encode())
        connection.execute(
            text("UPDATE tables_version SET files = :files WHERE hash = :hash"), {"files": packed, "hash": bad.hash}
        )
    shop_tables._read.cache_clear()
    held = shop.tables_in_force(TODAY)
    assert rate_of(shop) == 74
    assert [aside.change for aside in held.set_aside] == [bad]
    assert "rates.csv:1: name: the column is missing" in held.set_aside[0].why
    put(shop, _with(texts_of(shop), "rates", ",74,", ",71,"))
    assert (rate_of(shop), shop.tables_in_force(TODAY).set_aside) == (71, ())


def _with(texts: dict[str, str], table: str, old: str, new: str) -> dict[str, str]:
    assert old in texts[table]
    return texts | {table: texts[table].replace(old, new, 1)}


def test_tables_of_an_older_version_get_what_is_new_from_the_packaged_ones_and_it_is_told(shop, tables):
    texts = with_rate(texts_of(shop), 74)
    change = put(shop, texts)
    old = {f"{name}.csv": text for name, text in texts.items() if name not in ("settings", "handover")}
    old["settings.toml"] = texts["settings"].partition("[quote_days]")[0]
    old["rates.csv"] = "\n".join(line.rpartition(",")[0] for line in texts["rates"].splitlines())
    with shop.store.writing() as connection:
        packed = zlib.compress(value_text(old).encode())
        connection.execute(
            text("UPDATE tables_version SET files = :files WHERE hash = :hash"), {"files": packed, "hash": change.hash}
        )
    shop_tables._read.cache_clear()
    held = shop.tables_in_force(TODAY)
    assert (rate_of(shop), held.set_aside, held.tables.hash) == (74, (), change.hash)
    assert held.tables.handover == tables.handover
    assert held.tables.settings.quote_days == tables.settings.quote_days
    assert held.added[:2] == ("handover.csv", "rates.csv: note")
    assert "settings.toml: quote_days" in held.added


def test_a_tax_that_was_one_share_stays_as_high_and_new_tables_find_their_sources(shop):
    texts = texts_of(shop)
    change = put(shop, with_rate(texts, 74))
    new = ("countries", "taxes", "laws", "value_kinds", "retentions", "trade_words", "figures", "settings")
    old = {f"{name}.csv": text for name, text in with_rate(texts, 74).items() if name not in new}
    old["sources.csv"] = "\n".join(line for line in texts["sources"].splitlines() if not line.startswith("ranked,"))
    old["settings.toml"] = texts["settings"].replace('[tax]\nvalue = "de"', "[tax]\nvalue = 0.081")
    assert "0.081" in old["settings.toml"]
    with shop.store.writing() as connection:
        packed = zlib.compress(value_text(old).encode())
        connection.execute(
            text("UPDATE tables_version SET files = :files WHERE hash = :hash"), {"files": packed, "hash": change.hash}
        )
    shop_tables._read.cache_clear()
    held = shop.tables_in_force(TODAY)
    assert (rate_of(shop), held.set_aside) == (74, ())
    assert tax_of(held.tables, TODAY).gross(100, 100, 100) == pytest.approx(324.3)


# --- an older shop's folder


@pytest.fixture
def left(environ) -> Path:
    """The folder of tables that an older version of the tool kept, with one version before, and one in another form."""
    folder = Path(environ["VALUATION_DATA"]) / "tables"
    shutil.copytree(service.PACKAGED, folder)
    for name, rate in (("2026-03-01T080000Z_aaaaaaaa", 61), ("2026-06-01T080000Z_bbbbbbbb", 62), ("", 63)):
        place = folder / "versions" / name if name else folder
        if name:
            shutil.copytree(service.PACKAGED, place)
        path = place / "rates.csv"
        path.write_text(path.read_text(encoding="utf-8").replace(",68,2026", f",{rate},2026"), encoding="utf-8")
    (folder / "versions" / "2026-06-01T080000Z_bbbbbbbb" / "parts.csv").write_text("nothing,at,all\n")
    return folder


def test_a_folder_of_tables_is_taken_over_with_its_versions_once(environ, left):
    shop = open_shop(environ, TODAY, with_demo=False)
    assert rate_of(shop) == 63
    assert [rate_of(shop, date(2026, month, 1)) for month in (2, 4, 7)] == [61, 61, 63]
    assert not left.exists()
    assert (left.with_name(TAKEN_OVER) / "versions").is_dir()
    assert [table.rates[1].per_hour for table in shop_tables.before(shop.store, TODAY)] == [68, 61]
    shop.close()
    shop = open_shop(environ, TODAY, with_demo=False)
    assert len(history(shop.store)) == 4
    shop.close()


def test_a_folder_with_a_fault_is_taken_over_and_its_last_good_version_holds(environ, left):
    (left / "rates.csv").write_bytes(b"id,\xff\n")
    shop = open_shop(environ, TODAY, with_demo=False)
    held = shop.tables_in_force(TODAY)
    assert rate_of(shop) == 61
    assert "rates.csv:1: byte ED (hexadecimal) is not UTF-8" in held.set_aside[0].why
    shop.close()


def test_a_folder_that_the_environment_names_is_taken_over_and_stays(environ, left, tmp_path):
    named = Path(shutil.move(left, tmp_path / "named"))
    shop = open_shop(environ | {"VALUATION_TABLES": str(named)}, TODAY, with_demo=False)
    assert rate_of(shop) == 63
    assert (named / "rates.csv").exists()
    shop.close()


def test_a_folder_written_out_reads_back_as_the_same_tables(shop, tmp_path):
    put(shop, with_rate(texts_of(shop), 74))
    for name, content in shop_tables.write_folder(texts_of(shop)).items():
        (tmp_path / name).write_bytes(content)
    assert shop_tables.read_folder(tmp_path) == texts_of(shop)
    assert service.load_shop(tmp_path).hash == shop.tables(TODAY).hash


# --- the same figures, wherever the store is


def figures_of(shop: Shop, on: date) -> str:
    """Return the whole appraisal of an invented piano as JSON, by the tables of a day."""
    book = in_force(shop.store, on).tables
    visit = service.read_visit_file(dict(service.demo_visits())["school upright"], book, date.max)
    return service.to_json(service.appraise(visit, book, on=visit.on, draws=1024))


@pytest.fixture
def moved(shop, visit) -> tuple[Shop, dict[date, str]]:
    """A shop with three versions of its tables, and the figures of a day of each."""
    days = [TODAY + timedelta(days=number) for number in range(3)]
    for number, day in enumerate(days[1:]):
        put(shop, _rates_at(texts_of(shop), 70 + number), from_day=day, today=day)
    return shop, {day: figures_of(shop, day) for day in days}


def _rates_at(texts: dict[str, str], rate: int) -> dict[str, str]:
    lines = [f"{line.split(',')[0]},bench,{rate},2025-01-01,,invented," for line in texts["rates"].splitlines()[1:]]
    kept = list({line.split(",")[0]: line for line in lines}.values())
    return texts | {"rates": "\n".join(["id,name,per_hour,valid_from,valid_to,source,note", *kept, ""])}


def test_an_old_visit_remade_with_the_tables_of_its_day_gives_the_same_bytes(moved):
    shop, figures = moved
    assert len(set(figures.values())) == 3
    shop_tables._read.cache_clear()
    assert {day: figures_of(shop, day) for day in figures} == figures


def test_an_export_carries_the_tables_their_days_and_the_draft(moved, other, tmp_path):
    shop, figures = moved
    shop.export_zip(tmp_path / "shop.zip", now=NOW)
    told = other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert (told.tables_new, told.tables_brought) == (3, 0)
    assert history(other.store) == history(shop.store)
    assert [other.tables(day).hash for day in figures] == [shop.tables(day).hash for day in figures]
    assert {day: figures_of(other, day) for day in figures} == figures
    assert other.import_zip(tmp_path / "shop.zip", now=NOW).tables_new == 0


def test_a_store_with_tables_of_its_own_keeps_them_and_the_others_can_be_put_in_force(moved, other, tmp_path):
    shop, figures = moved
    put(other, with_rate(texts_of(other), 55))
    shop.export_zip(tmp_path / "shop.zip", now=NOW)
    told = other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert (told.tables_new, told.tables_brought, rate_of(other)) == (0, 2, 55)
    brought = [change for change in history(other.store) if change.state == BROUGHT]
    assert [change.hash for change in brought] == [change.hash for change in history(shop.store)[1:]]
    go_back(other.store, brought[-1], seen=other.tables_in_force(TODAY), today=TODAY, who="B", why="moved", now=NOW)
    assert figures_of(other, TODAY) == figures[max(figures)]
    assert other.import_zip(tmp_path / "shop.zip", now=NOW).tables_brought == 0


def test_an_import_of_other_tables_says_which_evaluations_they_would_move_and_to_what(shop, other, tmp_path):
    put(shop, _rates_at(texts_of(shop), 90))
    other.load_demo()
    assert of_brought(other, TODAY) == ()
    put(other, with_rate(texts_of(other), 55))
    shop.export_zip(tmp_path / "shop.zip", now=NOW)
    assert other.import_zip(tmp_path / "shop.zip", now=NOW).tables_brought == 1
    found = of_brought(other, TODAY)
    then, _ = tables_of_change(other.store, [c for c in history(other.store) if c.state == BROUGHT][-1])
    assert rate_of(other) == 55, "nothing is in force by looking"
    visits = [service.read_visit_file(path, then, date.max) for _, path in service.demo_visits()]
    twins = {visit.title: service.appraise(visit, then, on=TODAY, draws=1024) for visit in visits}
    assert {one.title for one in found} == {title for title, twin in twins.items() if twin.ready}
    assert {one.title: one.verdict_then for one in found} == {one.title: twins[one.title].verdict for one in found}
    assert any(one.moved > 0.05 for one in found)
    assert [one.turns for one in found] == sorted((one.turns for one in found), reverse=True)
    for one in found:
        option = twins[one.title].option(one.work)
        assert one.price_then is None or option is None or one.price_then == pytest.approx(option.expected_price)


def test_papers_are_made_with_the_shops_tables_and_again_after_these_have_changed(shop, visit):
    put(shop, with_rate(texts_of(shop), 74))
    paper = make_paper(
        shop, visit, Wanted(what="summary"), shop.tables(TODAY), request="c" * 32, who="A", now=NOW, today=TODAY
    )
    put(shop, _with(texts_of(shop), "rates", ",74,", ",80,"))
    assert paper.tables_hash == history(shop.store)[1].hash
    assert paper_again(shop, paper.id).same
