"""A whole folder of tables becomes one checked object for the engine."""

from __future__ import annotations

from datetime import date

import pytest
import small_rules

from valuation.engine.rows.tables import Tables
from valuation.engine.rows.work import Quantity
from valuation.errors import TableError
from valuation.rules import ROW_CLASSES, load_tables


def test_the_small_tables_are_whole():
    book = small_rules.tables()
    assert isinstance(book, Tables)
    assert [part.id for part in book.parts] == ["pinblock", "strings", "hammers"]
    assert book.settings.horizon_years == 15.0
    assert book.setting_sources["tax"] == "own_estimate"


def test_a_folder_reads_as_its_texts_do(tmp_path):
    folder = small_rules.write(tmp_path / "small")
    assert sorted(path.stem for path in folder.iterdir()) == sorted([*ROW_CLASSES, "settings"])
    assert load_tables(folder).hash == small_rules.tables().hash


def test_a_cell_becomes_a_value_of_its_columns_type():
    book = small_rules.tables()
    block = book.of_kind("operations", "grand")["new_block"]
    assert block.materials == (Quantity(material="pins", amount=1.0),)
    assert (block.rung, block.lasts_years, block.covers) == (2, 50.0, ("pins_driven", "block_glued"))
    assert book.rates[0].valid_to == date(2025, 12, 31)
    assert [part.gate for part in book.parts] == [True, False, False]


def test_an_empty_cell_takes_the_default():
    tune = small_rules.tables().of_kind("operations", "upright")["tune"]
    assert (tune.part, tune.rung, tune.strings, tune.action, tune.obtainable) == ("", 0, "closed", "action_in", 1.0)


def test_each_row_knows_its_line():
    book = small_rules.tables()
    assert book.lines["sources", 0] == 2
    assert book.lines["operations", 14] == 16
    assert book.lines["settings", 1] == 7


def test_line_endings_and_the_order_of_columns_do_not_count():
    header, *rows = [line.split(",") for line in small_rules.TIERS.splitlines()]
    turned = "\r\n".join(",".join(reversed(cells)) for cells in [header, *rows]) + "\r\n"
    assert small_rules.tables(tiers=turned).hash == small_rules.tables().hash
    assert small_rules.tables(tiers=("fine,fine", "fine,fine one")).hash != small_rules.tables().hash


def test_a_file_that_is_missing_is_told(tmp_path):
    folder = small_rules.write(tmp_path / "small")
    (folder / "cures.csv").unlink()
    with pytest.raises(TableError, match=r"cures\.csv: the file is missing; check its name and its folder"):
        load_tables(folder)


def test_a_folder_that_is_missing_is_told(tmp_path):
    with pytest.raises(TableError, match=r"nowhere: there is no such folder"):
        load_tables(tmp_path / "nowhere")


def test_faults_of_all_files_are_told_at_once(tmp_path):
    folder = small_rules.write(tmp_path / "small", tiers=("fine,fine,2", "fine,fine,two"))
    (folder / "settings.toml").write_text("", encoding="utf-8")
    (folder / "pieces.csv").write_bytes(b"check,given\xff\n")
    with pytest.raises(TableError) as caught:
        load_tables(folder)
    told = [(problem.file, problem.line, problem.where) for problem in caught.value.problems]
    assert told == [("pieces.csv", 1, ""), ("settings.toml", 0, ""), ("tiers.csv", 3, "rank")]


def test_the_packaged_tables_are_whole():
    book = load_tables()
    assert {fault.part for fault in book.faults} == {part.id for part in book.parts}
    assert len(book.hash) == 64
