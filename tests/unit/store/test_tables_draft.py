"""The draft of the shop's next tables: two owners, faults at the cell, files in, and what it would do."""

from __future__ import annotations

import random
from contextlib import suppress
from datetime import date, timedelta

import pytest
from own_tables import NOW, TODAY, WORKSHOP, drafted, put, type_in, with_rate

from valuation.errors import StoreError, TableError, UserError
from valuation.rules.draft import GONE, NEW
from valuation.rules.table_rows import key_of, rows_of_text
from valuation.service.shop_tables import history, write_folder
from valuation.service.tables_draft import choose, drop, enter_files, faults_by_row, put_draft_in_force
from valuation.service.tables_effect import effects_of, known, look
from valuation.service.tables_prices import new_price, priced
from valuation.service.visits import Shop

MONDAY = TODAY + timedelta(days=6)


def rate(shop: Shop, new: str, *, seen: str = "68", who: str = "Anna") -> None:
    type_in(shop, "rates", WORKSHOP, {"per_hour": seen}, {"per_hour": new}, who=who)


def force(shop: Shop, *, request: str = "a" * 32, day: date = TODAY, seen=None):
    return put_draft_in_force(
        shop.store, seen or drafted(shop), from_day=day, today=TODAY, who="Anna", why="a test", now=NOW, request=request
    )


def per_hour(shop: Shop) -> str:
    row = drafted(shop).draft.rows["rates"][WORKSHOP]
    return row["per_hour"]


def test_an_empty_draft_changes_nothing(shop):
    assert drafted(shop).tables is shop.tables(TODAY)
    with pytest.raises(StoreError, match="the draft is empty"):
        force(shop)


def test_what_is_entered_is_kept_and_counts_only_once_it_is_in_force(shop):
    rate(shop, "74")
    assert shop.tables(TODAY).rates[1].per_hour == 68
    [change] = drafted(shop).draft.changes
    assert (change.row, change.cells, change.who) == (WORKSHOP, (("per_hour", "68", "74"),), ("Anna",))
    done = force(shop)
    assert shop.tables(TODAY).rates[1].per_hour == 74
    assert drafted(shop).draft.edits == ()
    assert force(shop, seen=_any_draft(shop)) == done


def _any_draft(shop: Shop):
    """A draft that is not empty, whatever it says: asked for under the old id it is not looked at."""
    rate(shop, "75", seen="74")
    return drafted(shop)


def test_two_owners_in_one_table_are_both_in_the_draft(shop):
    rate(shop, "74", who="Anna")
    type_in(shop, "rates", WORKSHOP, {"note": ""}, {"note": "since the new lease"}, who="Bo")
    home = (("id", "home"), ("valid_from", "2026-01-01"))
    type_in(shop, "rates", home, {"per_hour": "74"}, {"per_hour": "79"}, who="Bo")
    found = drafted(shop)
    assert found.draft.clashes == ()
    assert [change.who for change in found.draft.changes] == [("Anna", "Bo"), ("Bo",)]
    force(shop)
    row = shop.tables(TODAY).rates[1]
    assert (row.per_hour, row.note) == (74, "since the new lease")


@pytest.mark.parametrize(("wanted", "then"), [(True, "76"), (False, "74")])
def test_two_owners_in_one_cell_stand_side_by_side_until_one_is_chosen(shop, wanted, then):
    rate(shop, "74", who="Anna")
    rate(shop, "76", who="Bo")
    found = drafted(shop)
    [clash] = found.draft.clashes
    assert (clash.stands, clash.by, clash.wanted, clash.edit.who) == ("74", "Anna", "76", "Bo")
    assert found.tables is None
    with pytest.raises(TableError, match="two people differ: '74' stands there, Bo wants '76'; choose one"):
        force(shop)
    choose(shop.store, found, clash, wanted=wanted, who="Cleo", now=NOW)
    assert (drafted(shop).draft.clashes, per_hour(shop)) == ((), then)


def test_the_same_from_both_is_no_clash_and_ones_own_word_may_be_changed(shop):
    rate(shop, "74", who="Anna")
    rate(shop, "74", who="Bo")
    rate(shop, "75", seen="74", who="Bo")
    assert (drafted(shop).draft.clashes, per_hour(shop)) == ((), "75")


def test_other_tables_put_in_force_meanwhile_leave_the_draft_over_them(shop):
    rate(shop, "74")
    materials = rows_of_text("materials", shop.tables_in_force(TODAY).texts["materials"])
    glue = next(cells for cells in materials if cells["id"] == "wood_glue")
    type_in(shop, "materials", key_of("materials", glue), {"price_likely": "15"}, {"price_likely": "16"})
    put(shop, with_rate(shop.tables_in_force(TODAY).texts, 70), who="Bo")
    found = drafted(shop)
    assert [change.table for change in found.draft.changes] == ["materials"]
    [clash] = found.draft.clashes
    assert (clash.stands, clash.by, clash.wanted) == ("70", "", "74")


def test_who_decided_before_another_entered_more_is_told(shop):
    rate(shop, "74")
    seen = drafted(shop)
    rate(shop, "75", seen="74", who="Bo")
    with pytest.raises(StoreError, match="somebody entered more into the draft meanwhile"):
        force(shop, seen=seen)
    assert history(shop.store) == []


def test_a_row_is_taken_out_and_another_comes_in(shop):
    texts = shop.tables_in_force(TODAY).texts
    sizes = rows_of_text("sources", texts["sources"])
    fresh = dict(sizes[0], id="our_ledger", title="Our own ledger")
    type_in(shop, "sources", key_of("sources", fresh), None, fresh)
    reason = rows_of_text("follow_ups", texts["follow_ups"])[-1]
    type_in(shop, "follow_ups", key_of("follow_ups", reason), reason, None)
    assert {change.how for change in drafted(shop).draft.changes} == {NEW, GONE}
    force(shop)
    now = shop.tables(TODAY)
    assert now.sources[-1].title == "Our own ledger"
    assert reason["id"] not in {row.id for row in now.follow_ups}


def test_what_the_reader_says_stands_at_its_cell_and_nothing_can_be_in_force(shop):
    rate(shop, "74,5")
    found = drafted(shop)
    assert faults_by_row(found, "rates") == {
        WORKSHOP: "per_hour: '74,5' has a comma; write decimals with a point, and thousands without a mark"
    }
    with pytest.raises(TableError, match="has a comma"):
        force(shop)
    drop(shop.store, [edit.id for edit in found.draft.edits])
    assert drafted(shop).tables is shop.tables(TODAY)


def test_a_single_figure_is_changed_in_its_text_alone(shop):
    before = shop.tables_in_force(TODAY).texts["settings"]
    assert before.count("value = 1910\n") == 1
    type_in(shop, "settings", (("name", "usual_year"),), {"value": "1910"}, {"value": "1905"})
    force(shop)
    assert shop.tables_in_force(TODAY).texts["settings"] == before.replace("value = 1910", "value = 1905")
    type_in(shop, "settings", (("name", "usual_year"),), {"value": "1905"}, {"value": "long ago"})
    assert "'long ago' is not a whole number" in str(drafted(shop).problems)


@pytest.mark.parametrize(
    ("table", "row", "before", "after", "told"),
    [
        ("rate", WORKSHOP, {}, {}, "'rate' is no table; did you mean 'rates'?"),
        ("rates", WORKSHOP, {"id": "workshop"}, {"id": "bench"}, "'id' tells the row from the others"),
        ("rates", WORKSHOP, None, {"id": "bench"}, "'id' is not what the row is told by"),
        ("settings", (("name", "tax"),), {"value": "0.19"}, None, "a setting is always there"),
        ("rates", WORKSHOP, {"note": ""}, {"note": "\ud800"}, "a control character or half a letter"),
        ("rates", WORKSHOP, None, None, "it neither says what was there nor what is to be"),
    ],
)
def test_what_cant_be_entered_is_refused_in_words(shop, table, row, before, after, told):
    with pytest.raises(UserError, match=told):
        type_in(shop, table, row, before, after)
    assert drafted(shop).draft.edits == ()


@pytest.mark.parametrize(("new", "leaps"), [("760", True), ("75", False), ("20", True), ("-68", True)])
def test_a_figure_that_moves_by_more_than_a_factor_is_asked_about(shop, new, leaps):
    rate(shop, new)
    assert bool(drafted(shop).draft.leaps()) == leaps


def test_a_new_price_from_a_monday_ends_the_one_before_on_sunday(shop):
    key = (("id", "workshop"),)
    new_price(shop.store, drafted(shop), "rates", key, {"per_hour": "760"}, from_day=MONDAY, who="A", now=NOW)
    found = drafted(shop)
    assert [(column, was, new) for _, column, was, new in found.draft.leaps()] == [("per_hour", "68", "760")]
    rows = [row for row in found.tables.rates if row.id == "workshop"]
    assert [(row.per_hour, row.valid_to) for row in rows[1:]] == [(68, MONDAY - timedelta(days=1)), (760, None)]
    new_price(shop.store, found, "rates", key, {"per_hour": "76"}, from_day=MONDAY, who="A", now=NOW)
    [one] = [one for one in priced("rates", drafted(shop).texts, TODAY) if one.key == key]
    assert (one.now["per_hour"], [row["per_hour"] for row in one.later]) == ("68", ["76"])
    with pytest.raises(StoreError, match="nothing holds on 2001-01-01; choose a day from 2025-01-01 on"):
        new_price(shop.store, found, "rates", key, {"per_hour": "1"}, from_day=date(2001, 1, 1), who="A", now=NOW)


def test_what_it_does_to_evaluations_is_worked_out_before_it_is_in_force(shop):
    shop.load_demo()
    rate(shop, "90")
    now, then = shop.tables(TODAY), drafted(shop).tables
    looked = look(shop, now, TODAY)
    assert looked.invented
    found = [one for one in effects_of(looked, now, then, TODAY) if one]
    assert len(found) >= 5
    assert sum(one.price_then > one.price for one in found if one.price) >= 3
    assert any(one.turns or one.gone or one.come for one in found)
    assert [one.title for one in known(now, now, TODAY) if one.moved or one.turns or one.gone or one.come] == []
    assert len(known(now, then, TODAY)) == 3


# --- files


def files_of(shop: Shop) -> dict[str, bytes]:
    return write_folder(shop.tables_in_force(TODAY).texts)


def test_a_whole_folder_of_files_goes_into_the_draft_as_the_rows_that_differ(shop):
    files = files_of(shop)
    files["rates.csv"] = files["rates.csv"].replace(b",68,", b",74,")
    files["settings.toml"] = files["settings.toml"].replace(b"value = 1910", b"value = 1905")
    found = enter_files(shop.store, drafted(shop), files, who="Anna", now=NOW)
    assert found == [("rates", WORKSHOP), ("settings", (("name", "usual_year"),))]
    force(shop)
    assert shop.tables(TODAY).rates[1].per_hour == 74
    assert enter_files(shop.store, drafted(shop), files, who="Anna", now=NOW) == []


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("rate.csv", b"id\n", r"rate.csv: it is no table; did you mean 'rates.csv'"),
        ("rates.csv", b"id;name\n", "the columns are separated by semicolons"),
        ("rates.csv", b"\xff\xfei", "the file is UTF-16"),
        ("rates.csv", b"", "the file is empty"),
        ("settings.toml", b"tax = [", "this is not TOML"),
        ("rates.csv", b"x" * 5_000_001, "it has more than 5,000,000 bytes"),
    ],
)
def test_a_file_that_is_no_table_is_refused_whole(shop, name, data, told):
    with pytest.raises(UserError, match=told):
        enter_files(shop.store, drafted(shop), {name: data}, who="Anna", now=NOW)
    assert drafted(shop).draft.edits == ()


@pytest.mark.parametrize("seed", range(3))
def test_spoilt_files_bring_the_tools_own_messages_and_nothing_else(shop, seed):
    chance = random.Random(seed)
    files = files_of(shop)
    for _ in range(25):
        name = chance.choice(sorted(files))
        data = bytearray(files[name])
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(len(data))
            piece = chance.choice(
                [b'"', b",", b"\n", b"\x00", b"\xff", b"=", b"[", b";", b"-1e999", b"'", b"\r", b"\xed\xa0\x80"]
            )
            data[place : place + chance.randint(0, 3)] = piece * chance.randint(1, 2)
        with suppress(UserError):  # whatever else is raised is a defect
            enter_files(shop.store, drafted(shop), {name: bytes(data)}, who="Anna", now=NOW)
        assert drafted(shop).tables is not None
        drop(shop.store, [edit.id for edit in drafted(shop).draft.edits])


def test_the_draft_of_a_shop_comes_along_with_an_export(shop, tmp_path):
    rate(shop, "74")
    shop.export_zip(tmp_path / "shop.zip", now=NOW)
    other = Shop.opened({"VALUATION_DATA": str(tmp_path / "other")})
    other.import_zip(tmp_path / "shop.zip", now=NOW)
    assert drafted(other).draft.edits == drafted(shop).draft.edits
    assert per_hour(other) == "74"
    other.close()
