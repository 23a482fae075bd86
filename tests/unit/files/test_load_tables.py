"""A whole folder of tables becomes one checked object."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from small_tables import TABLES

from valuation.engine.rows import Quantity, Tables
from valuation.rules import load_tables
from valuation.rules.load import ROW_CLASSES


def rewrite(path, change) -> None:
    path.write_bytes(change(path.read_bytes().decode()).encode())


def test_the_small_tables_are_whole(small_tables):
    assert isinstance(small_tables, Tables)
    assert [part.id for part in small_tables.parts] == ["pinblock", "strings", "hammers"]
    assert small_tables.settings.horizon_years == 15.0
    assert small_tables.setting_sources["tax"] == "own_estimate"


def test_every_table_of_the_contract_has_a_file():
    assert tuple(ROW_CLASSES) == TABLES


def test_a_cell_becomes_a_value_of_its_columns_type(small_tables):
    rate, block = small_tables.rates[0], small_tables.of_kind("operations", "grand")["new_block"]
    assert (rate.per_hour, rate.valid_from, small_tables.rates[1].valid_to) == (64.0, date(2025, 1, 1), None)
    assert (block.materials, block.needs) == ((Quantity(material="pins", amount=1.0),), ("strings_off",))
    assert [size.usual for size in small_tables.sizes] == [False, True, True]
    assert [type(tier.rank) for tier in small_tables.tiers] == [int, int]


def test_an_empty_cell_takes_the_default(small_tables):
    tune = small_tables.of_kind("operations", "upright")["tune"]
    assert (tune.holds_to, tune.part, tune.lasts_years, tune.outside_low, tune.covers) == ("failed", "", None, 0.0, ())


def test_each_row_knows_its_line(small_tables):
    assert small_tables.lines["sources", 0] == 2
    assert small_tables.lines["operations", 9] == 11
    assert small_tables.lines["settings", 1] == 7


def test_a_row_of_several_lines_stands_where_it_begins(small_tables_folder):
    rewrite(
        small_tables_folder / "tiers.csv", lambda text: text.replace("2,no,", '2,no,"one\ntwo"') + "\nrare,rare,3,no,\n"
    )
    with pytest.raises(Exception, match=r"bands.csv: kind: there is no row for upright, small_upright, rare, old"):
        load_tables(small_tables_folder)
    rewrite(small_tables_folder / "tiers.csv", lambda text: text.replace("rare,rare,3,no,\n", "rare,rare,2,no,\n"))
    with pytest.raises(Exception, match=r"tiers.csv:6: rank: rank 2 is that of 'fine' already"):
        load_tables(small_tables_folder)


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda text: text.replace("\n", "\r\n"), id="line endings"),
        pytest.param(lambda text: text.replace("\n", "\n\n"), id="blank lines"),
        pytest.param(lambda text: text.replace("64", "64.00"), id="zeros at the end"),
        pytest.param(lambda text: text.replace(",", " , "), id="spaces around cells"),
    ],
)
def test_the_hash_does_not_depend_on_how_the_tables_are_written(small_tables, small_tables_folder, change):
    rewrite(small_tables_folder / "rates.csv", change)
    assert load_tables(small_tables_folder).hash == small_tables.hash


def test_the_hash_does_not_depend_on_the_order_of_columns(small_tables, small_tables_folder):
    for path in small_tables_folder.glob("*.csv"):
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(row[::-1] for row in rows)
    assert load_tables(small_tables_folder).hash == small_tables.hash


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("rates.csv", "64", "64.01"),
        ("rates.csv", "work in the shop", "shop work"),
        ("settings.toml", "value = 0.2\n", "value = 0.21\n"),
        ("settings.toml", "source = 'own_estimate'", "source = 'invented'"),
    ],
)
def test_the_hash_depends_on_every_figure_and_word(small_tables, small_tables_folder, file, old, new):
    rewrite(small_tables_folder / file, lambda text: text.replace(old, new, 1))
    assert load_tables(small_tables_folder).hash != small_tables.hash


def test_the_hash_depends_on_the_order_of_the_walk(small_tables, small_tables_folder):
    def swap(text: str) -> str:
        *lines, last_but_one, last = text.splitlines()
        return "\n".join([*lines, last, last_but_one])

    rewrite(small_tables_folder / "checks.csv", swap)
    assert load_tables(small_tables_folder).hash != small_tables.hash


def test_a_table_may_have_no_rows_where_nothing_needs_them(small_tables_folder):
    rewrite(small_tables_folder / "cautions.csv", lambda text: text.splitlines()[0])
    assert load_tables(small_tables_folder).cautions == ()


def test_the_same_id_may_stand_once_for_each_kind(small_tables):
    hours = {kind: small_tables.of_kind("operations", kind)["new_block"].hours_likely for kind in ("upright", "grand")}
    assert hours == {"upright": 45.0, "grand": 28.0}


def test_the_packaged_tables_are_whole():
    tables = load_tables()
    assert tables.parts
    assert len(tables.hash) == 64
