"""One fault at a time in a folder that is otherwise whole: each is told with its place and what to do."""

from __future__ import annotations

import pytest
from table_changes import assert_told, change, faults_of, line_of, named

NOT_A_NUMBER = "is not a number; write it like 4 or 4.5"


# what, file, old text, new text, line, column, part of the message
HEADER = [
    ("semicolons", "tiers.csv", "id,name,rank,usual,note", "id;name;rank;usual;note", 1, "", "separated by semicolons"),
    ("tabs", "tiers.csv", "id,name,rank,usual,note", "id\tname\trank\tusual\tnote", 1, "", "separated by tabs"),
    ("no separator at all", "tiers.csv", "id,name,rank,usual,note", "tiers",
     1, "tiers", "is not a column of this table"),
    ("unknown column", "tiers.csv", "rank,", "rankk,",
     1, "rankk", "is not a column of this table; did you mean 'rank'?"),
    ("missing column", "tiers.csv", "rank,", "rankk,", 1, "rank", "the column is missing"),
    ("missing column that may be empty", "tiers.csv", ",note", ",usual", 1, "note", "the column is missing"),
    ("repeated column", "tiers.csv", ",note", ",name", 1, "name", "stands twice"),
    ("short row", "tiers.csv", "fine,fine,2,no,", "fine,fine,2,no", 3, "", "has 4 cells, fewer than the 5 columns"),
    ("long row", "tiers.csv", "fine,fine,2,no,", "fine,fine,2,no,,", 3, "", "has 6 cells, more than the 5 columns"),
    ("empty row", "tiers.csv", "fine,fine,2,no,", ",,,,", 3, "", "the row is empty; delete it"),
    ("quotation mark inside a cell", "tiers.csv", "fine,fine", '"fine"x,fine', 3, "", "check its quotation marks"),
    ("quotation mark never closed", "tiers.csv", "fine,fine", '"fine,fine', 3, "", "check its quotation marks"),
]  # fmt: skip

CELLS = [
    ("no number", "rates.csv", "64", "abc", 2, "per_hour", f"'abc' {NOT_A_NUMBER}"),
    ("decimal comma", "rates.csv", "64", '"64,5"', 2, "per_hour", "has a comma; write decimals with a point"),
    ("not a number at all", "rates.csv", "64", "nan", 2, "per_hour", NOT_A_NUMBER),
    ("infinite", "rates.csv", "64", "1e999", 2, "per_hour", NOT_A_NUMBER),
    ("digits of another script", "rates.csv", "64", "٦٤", 2, "per_hour", NOT_A_NUMBER),
    ("underscore between digits", "rates.csv", "64", "6_4", 2, "per_hour", NOT_A_NUMBER),
    ("thousands of digits", "tiers.csv", ",1,", f",{'1' * 5000},", 2, "rank", "is not a whole number"),
    ("fraction for a whole number", "tiers.csv", ",1,", ",1.5,", 2, "rank", "is not a whole number; write it like 4"),
    ("neither yes nor no", "tiers.csv", "yes", "TRUE", 2, "usual", "'TRUE' is neither yes nor no"),
    ("no day", "rates.csv", "2025-01-01", "1.1.2025", 2, "valid_from", "is not a day; write it like 2026-05-04"),
    ("a day that doesn't exist", "rates.csv", "2025-01-01", "2025-02-30", 2, "valid_from", "is not a day"),
    ("too small", "rates.csv", "64", "-1", 2, "per_hour", "-1 is too small; the least is 0 money/h"),
    ("not above", "parts.csv", "always,2,", "always,0,", 2, "score_weight", "it must be above 0"),
    ("too large", "parts.csv", "0.05,40", "1.05,40", 2, "play_failed", "1.05 is too large; the greatest is 1"),
    ("not a choice", "sources.csv", "invented,invented", "invented,invention", 2, "kind", "did you mean 'invented'?"),
    ("empty", "tiers.csv", "fine,fine,2", "fine,,2", 3, "name", "may not be empty: name shown to people"),
    ("id with capitals", "tiers.csv", "fine,fine", "Fine,fine", 3, "id", "use only a-z, 0-9 and _"),
    ("empty place in a list", "operations.csv", "oversize_pins,own", "oversize_pins;,own", 5, "covers", "empty place"),
    ("twice in a list", "operations.csv", ",tune,,own", ",tune;tune,,own", 7, "followed_by", "'tune' stands twice"),
    ("no amount", "operations.csv", "wire:2.5", "wire",
     7, "materials", "has no amount; write it like 'wire:2.5; felt:1'"),
    ("amount of nothing", "operations.csv", "wire:2.5", "wire:0", 7, "materials", "it must be above 0"),
    ("amount that is no number", "operations.csv", "wire:2.5", "wire:much", 7, "materials", NOT_A_NUMBER),
    ("material twice", "operations.csv", "wire:2.5", "wire:2;wire:1", 7, "materials", "'wire' stands twice"),
    ("strength of nothing", "strengths.csv", "0.60,0.25,0.10,0.05", "0.65,0.25,0.10,0", 2, "failed", "must be above 0"),
    ("prior too small", "priors.csv", "0.50,0.30,0.15,0.05", "0.55,0.30,0.15,0.00", 2, "failed", "the least is 0.005"),
]  # fmt: skip

SETTINGS = [
    ("unknown setting", "[tax]", "[taxes]", line_of("tax"), "taxes", "is not a setting; did you mean 'tax'?"),
    ("missing setting", "[tax]", "[taxes]", 0, "tax", "the setting is missing; add [tax] with value, unit, source"),
    ("missing value", "[tax]\nvalue = 0.2", "[tax]", line_of("tax"), "tax.value", "the value is missing; add it"),
    ("missing source", "value = 0.2\nunit = ''\nsource = 'own_estimate'", "value = 0.2",
     line_of("tax"), "tax.source", "the source is missing"),
    ("unknown part", "value = 0.2", "values = 0.2",
     line_of("tax") + 1, "tax.values", "does not belong here; did you mean 'value'?"),
    ("text for a number", "value = 0.2", "value = '0.2'",
     line_of("tax") + 1, "tax.value", "'0.2' is not a number; write it like 4 or 4.5"),
    ("truth for a number", "value = 0.2", "value = true", line_of("tax") + 1, "tax.value", "'true' is not a number"),
    ("no number", "value = 0.2", "value = nan", line_of("tax") + 1, "tax.value", "is not a number"),
    ("infinite", "value = 0.2", "value = -inf", line_of("tax") + 1, "tax.value", "is not a number"),
    ("out of range", "value = 0.2", "value = 20",
     line_of("tax") + 1, "tax.value", "20 is too large; the greatest is 0.5"),
    ("fraction for whole days", "value = 60", "value = 60.5",
     line_of("quote_days") + 1, "quote_days.value", "is not a whole number; write it like 90"),
    ("wrong unit", "unit = 'days'", "unit = 'weeks'",
     line_of("quote_days") + 2, "quote_days.unit", "'weeks' is not the unit of this setting; write 'days'"),
    ("list for text", "value = 'EUR'", "value = ['EUR']",
     line_of("currency") + 1, "currency.value", "is not text; write it in quotation marks"),
    ("text for a list", "['tune']", "'tune'",
     line_of("keep_operations") + 1, "keep_operations.value", "is not a list of names"),
    ("name twice", "['tune']", "['tune', 'tune']",
     line_of("keep_operations") + 1, "keep_operations.value", "stands twice"),
    ("number for a note", "note = ''", "note = 1",
     line_of("currency") + 4, "currency.note", "write it as text, in quotation marks"),
    ("not TOML", "value = 0.2", "value = 0,2", line_of("tax") + 1, "", "this is not TOML"),
    ("number of hundreds of digits", "value = 0.2", f"value = 0x{'f' * 5000}", 0, "", "has more than 18 digits"),
    ("number of thousands of digits", "value = 0.2", f"value = {'1' * 5000}", 0, "", "this is not TOML"),
    ("brackets without end", "value = 0.2", f"value = {'[' * 50_000}", 0, "", "nested too deeply"),
    ("key without end", "value = 0.2", f"{'a.' * 50_000}a = 0.2", line_of("tax") + 1, "", "nested too deeply"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line", "where", "fragment"), named(HEADER + CELLS))
def test_a_fault_in_a_header_or_cell_is_told(small_tables_folder, file, old, new, line, where, fragment):
    change(small_tables_folder, file, old, new)
    assert_told(faults_of(small_tables_folder), file, line, where, fragment)


@pytest.mark.parametrize(("old", "new", "line", "where", "fragment"), named(SETTINGS))
def test_a_fault_in_the_settings_is_told(small_tables_folder, old, new, line, where, fragment):
    change(small_tables_folder, "settings.toml", old, new)
    assert_told(faults_of(small_tables_folder), "settings.toml", line, where, fragment)


def test_a_setting_written_without_its_table_is_told(small_tables_folder):
    change(small_tables_folder, "settings.toml", "[tax]", "[taxes]")
    change(small_tables_folder, "settings.toml", "[currency]", "tax = 0.2\n[currency]")
    assert_told(faults_of(small_tables_folder), "settings.toml", 1, "tax", "write it as a table: [tax] with value")


BYTES = [
    ("byte-order mark", b"\xef\xbb\xbfid,kind,title\n", 1, "save as UTF-8 without byte-order mark"),
    ("UTF-16", "id,kind,title\n".encode("utf-16"), 1, "the file is UTF-16; save it as UTF-8"),
    ("UTF-32", "id,kind,title\n".encode("utf-32"), 1, "the file is UTF-32; save it as UTF-8"),
    ("Latin-1", "id,kind,title\ninvented,invented,für Prüfungen\n".encode("latin-1"),
     2, "byte FC (hexadecimal) is not UTF-8"),
    ("NUL", b"id,kind,title\ninvented,inv\0ented,x\n", 2, "a NUL stands in the text"),
    ("control character", b"id,kind,title\n\ninvented,inv\x1bented,x\n", 3, "the control character U+001B"),
    ("nothing", b"", 0, "the file is empty"),
    ("blank lines only", b"\n\n", 0, "the file is empty"),
    ("too much", b"id,kind,title\n" + b"x" * 5_000_000, 0, "larger than 5,000,000 bytes"),
    ("a cell without end", b"id,kind,title\ninvented,invented," + b"x" * 200_000, 2, "can't be split into cells"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "line", "fragment"), named(BYTES))
def test_a_file_that_is_no_plain_text_is_told(small_tables_folder, data, line, fragment):
    (small_tables_folder / "sources.csv").write_bytes(data)
    assert_told(faults_of(small_tables_folder), "sources.csv", line, "", fragment)


def test_a_missing_file_is_told(small_tables_folder):
    (small_tables_folder / "ages.csv").unlink()
    (small_tables_folder / "settings.toml").unlink()
    problems = faults_of(small_tables_folder)
    assert_told(problems, "ages.csv", 0, "", "the file is missing")
    assert_told(problems, "settings.toml", 0, "", "the file is missing")
    assert len(problems) == 2


def test_a_folder_in_place_of_a_file_is_told(small_tables_folder):
    (small_tables_folder / "ages.csv").unlink()
    (small_tables_folder / "ages.csv").mkdir()
    assert_told(faults_of(small_tables_folder), "ages.csv", 0, "", "this is a folder; name a file in it")


def test_a_missing_folder_is_told(tmp_path):
    assert_told(faults_of(tmp_path / "nowhere"), "nowhere", 0, "", "there is no such folder")
