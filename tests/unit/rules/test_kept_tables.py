"""The files of the shop's tables, kept and read back."""

from __future__ import annotations

import pytest
from table_changes import change

from valuation.errors import TableError
from valuation.rules import PACKAGED, load_tables
from valuation.rules.kept_tables import FILES, files_of, tables_of


def test_tables_come_back_as_they_were_with_the_line_of_every_row(small_tables_folder):
    tables = load_tables(small_tables_folder)
    back = tables_of(files_of(small_tables_folder, tables), tables.hash)
    assert (back.hash, back.lines, back.operations) == (tables.hash, tables.lines, tables.operations)
    assert (back.settings, back.setting_sources) == (tables.settings, tables.setting_sources)


def test_no_folder_means_the_packaged_tables_and_every_file_is_kept():
    files = files_of(None, load_tables(PACKAGED))
    assert set(files) == set(FILES) == {path.name for path in PACKAGED.iterdir()}


def test_line_endings_and_comments_are_kept_as_they_stand(small_tables_folder):
    path = small_tables_folder / "rates.csv"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    files = files_of(small_tables_folder, load_tables(small_tables_folder))
    assert files["rates.csv"].encode() == path.read_bytes()


def test_files_that_were_changed_after_they_were_loaded_are_not_kept(small_tables_folder):
    tables = load_tables(small_tables_folder)
    change(small_tables_folder, "settings.toml", "value = ", "value =  ")
    assert files_of(small_tables_folder, tables)  # it says the same
    (small_tables_folder / "rates.csv").unlink()
    with pytest.raises(TableError, match="changed while they were in use; do it once more"):
        files_of(small_tables_folder, tables)


def test_files_of_another_version_are_told_by_their_hash_and_the_first_fault(small_tables_folder):
    files = files_of(small_tables_folder, load_tables(small_tables_folder))
    files["rates.csv"] = files["rates.csv"].replace("per_hour", "per_day")
    files["unheard_of.csv"] = "x"
    with pytest.raises(TableError, match=r"the tables kept as abcdef12 can't be read by this version.*rates\.csv"):
        tables_of(files, "abcdef1234")


def test_a_name_that_leads_elsewhere_is_never_written(small_tables_folder, tmp_path):
    files = files_of(small_tables_folder, load_tables(small_tables_folder))
    tables_of(files | {"../elsewhere.csv": "x"}, "a" * 64)
    assert list(tmp_path.parent.rglob("elsewhere.csv")) == []
