"""The two small files of the shop behind the sales model."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path

import pytest

from valuation.errors import UserError
from valuation.files.toml_text import parse_toml
from valuation.rules import load_tables
from valuation.sales import PriceIndex, load_sales_settings, read_price_index
from valuation.sales.settings import PACKAGED

INDEX = """\
on,upright,grand,source,note
2020-01-01,1.0,2.0,invented,
2021-01-01,1.1,2.0,invented,
2022-01-01,1.1,1.0,invented,
"""


def write_index(folder: Path, text: str = INDEX) -> Path:
    path = folder / "price_index.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return path


def change_settings(folder: Path, old: str, new: str) -> Path:
    text = PACKAGED.read_text(encoding="utf-8")
    assert old in text, "the test no longer changes anything"
    path = folder / "sales.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("kind", "since", "until", "factor"),
    [
        ("upright", date(2020, 1, 1), date(2021, 1, 1), 1.1),
        ("upright", date(2021, 1, 1), date(2020, 1, 1), 1 / 1.1),
        ("upright", date(2020, 1, 1), date(2020, 7, 2), 1.1**0.5),  # day 183 of 366
        ("upright", date(2021, 3, 1), date(2021, 9, 1), 1.0),
        ("grand", date(2020, 5, 1), date(2022, 1, 1), 0.5),
        ("grand", date(1990, 1, 1), date(2030, 1, 1), 0.5),  # before the first and after the last day nothing moves
    ],
)
def test_prices_move_evenly_between_the_days_of_the_index(tmp_path, kind, since, until, factor):
    assert read_price_index(write_index(tmp_path)).factor(kind, since, until) == pytest.approx(factor, rel=1e-12)


def test_the_index_names_the_rows_it_reads(tmp_path):
    index = read_price_index(write_index(tmp_path))
    assert index.places_of(date(2020, 3, 1), date(2023, 1, 1)) == (
        "price_index.csv:2",
        "price_index.csv:3",
        "price_index.csv:4",
    )
    assert index.places_of(date(2023, 3, 1), date(2023, 1, 1)) == ("price_index.csv:4",)


def test_without_an_index_prices_do_not_move():
    assert PriceIndex().factor("grand", date(2000, 1, 1), date(2026, 1, 1)) == 1
    assert PriceIndex().places_of(date(2000, 1, 1), date(2026, 1, 1)) == ()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("2021-01-01", "2019-01-01", "price_index.csv:3: on: 2019-01-01 does not come after 2020-01-01"),
        ("1.1", "0", "price_index.csv:3: upright: 0 is too small; it must be above 0"),
        ("2020-01-01", "1.1.2020", "price_index.csv:2: on: '1.1.2020' is not a day"),
    ],
)
def test_a_fault_in_the_index_is_told(tmp_path, old, new, told):
    with pytest.raises(UserError) as caught:
        read_price_index(write_index(tmp_path, INDEX.replace(old, new, 1)))
    assert told in str(caught.value)


def test_an_index_without_a_row_says_so(tmp_path):
    with pytest.raises(UserError, match="there is no row; add at least one day"):
        read_price_index(write_index(tmp_path, INDEX.splitlines()[0] + "\n"))


def test_every_packaged_setting_names_a_source_of_the_packaged_tables():
    settings, problems = parse_toml(PACKAGED.read_text(encoding="utf-8"), PACKAGED.name)
    assert not problems
    assert {one["source"] for one in settings.values()} <= {row.id for row in load_tables().sources}


def test_a_stated_spread_becomes_a_standard_deviation():
    # 8 in 10 within 1.25 over and times: 1.2816 standard deviations reach to log 1.25
    log, doubt = load_sales_settings().prior("dealer")
    assert log == pytest.approx(math.log(1.3))
    assert 1.2816 * doubt == pytest.approx(math.log(1.25), rel=1e-4)


@pytest.mark.parametrize(
    ("old", "new", "where", "fragment"),
    [
        ("[asked]", "[ask]", "ask", "'ask' is not a setting; did you mean 'asked'?"),
        ("[asked]", "[ask]", "asked", "the setting is missing; add [asked] with value, unit, source and note"),
        ("[asked]\nvalue = 1.15", "[asked]\nvalue = 0.9", "asked.value", "0.9 is too small; the least is 1"),
        ("value = 10\n", "value = 10.5\n", "held_from.value", "is not a whole number"),
        ("value = 1.8\n", "value = true\n", "level_within.value", "'true' is not a number"),
        ("[asked]\nvalue = 1.15", "[asked]\nworth = 1.15", "asked.worth", "'worth' does not belong here"),
        ('unit = "years"', 'unit = "months"', "oldest_years.unit", "'months' is not the unit of this setting"),
        ('source = "own_estimate"', 'source = ""', "level_within.source", "the source is missing"),
        ("[asked]", "[asked", "", "this is not TOML"),
    ],
)
def test_a_fault_in_the_settings_is_told(tmp_path, old, new, where, fragment):
    with pytest.raises(UserError) as caught:
        load_sales_settings(change_settings(tmp_path, old, new))
    assert [p for p in caught.value.problems if p.where == where and fragment in p.message], str(caught.value)
