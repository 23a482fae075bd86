"""What the report says in German: figures, days and counts by the language's own ways, and whole sentences."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from stop_words import english_left

from valuation.cli import main
from valuation.facts.visit import Range
from valuation.language import say, speaking
from valuation.report.format import (
    measure,
    money,
    money_range,
    number,
    of_100,
    percent,
    plain_measure,
    typed_numeral,
    unit_words,
    years_range,
)
from valuation.report.labels import day_words, in_sentence, listed, place_name, plain_day, short_day, with_capital
from valuation.report.words import sales_of_kind, weight_sentence
from valuation.sales.words import coefficient_name, left_out_reason, signed
from valuation.service import demo_visits, load_shop, read_visit_file

HERE = Path(__file__).parent
SNAPSHOT = HERE / "german_page.txt"
EXAMPLE = "appraise data_demo/visits/2_parlour_upright.toml --on 2026-03-01 --language de"


@pytest.fixture
def german():
    with speaking("de"):
        yield


def run(command: str, **environment: str) -> str:
    done = CliRunner().invoke(main, command.split(), env=environment)
    assert done.exit_code == 0, done.output
    return done.output


def own_words(visit) -> list[str]:
    return [visit.title]


def test_money_and_ranges_have_points_between_thousands(german):
    assert money(14639, "EUR") == "14.500 EUR"
    assert money_range(Range(low=13_000, likely=17_000, high=22_000)) == "13.000 bis 22.000"
    assert years_range(Range(low=9.6, likely=12, high=17.2)) == "10 bis 17"
    assert signed(-1200) == "-1.200"


def test_measures_have_commas_before_decimals(german):
    assert number(12.4283) == "12,43"
    assert measure(3.5, "N.m") == "3,5 N·m"
    assert plain_measure(-0.25, "mm") == "-0,25"
    assert measure(25.4, "mm", "imperial") == "1 Zoll"
    assert unit_words("deg") == "Grad"
    assert listed(["3,1", "2,5"]) == "3,1; 2,5"


def test_shares_and_chances_are_told(german):
    assert percent(0.19) == "19\u00a0%"
    assert [of_100(share) for share in (0.876, 0.0001, 0.9999)] == [
        "88 von 100",
        "weniger als 1 von 100",
        "mehr als 99 von 100",
    ]


def test_days_are_written_out(german):
    assert plain_day(date(2026, 2, 12)) == "12. Februar 2026"
    assert day_words(date(2026, 3, 1)) == "1.\u00a0März\u00a02026"
    assert short_day(date(2026, 2, 12)) == "12.02.2026"


def test_one_is_told_from_many(german):
    assert [sales_of_kind("grand", count) for count in (0, 1, 2)] == [
        "0 Verkäufe von Flügeln",
        "1 Verkauf eines Flügels",
        "2 Verkäufe von Flügeln",
    ]
    said = weight_sentence("upright", sales=1, sales_wanted=10, table_counts_as=6.5, basis="blend")
    assert said.startswith("Ihre Tabelle zählt wie 6,5 Verkäufe, Sie haben 1 Verkauf eines Klaviers: ")


def test_a_noun_keeps_its_capital_within_a_sentence(german):
    assert in_sentence("Stimmstock mit Stimmwirbeln") == "Stimmstock mit Stimmwirbeln"
    assert in_sentence(place_name("outside")) == "Von außen"
    assert with_capital("neue Saiten") == "Neue Saiten"


@pytest.mark.parametrize(
    ("typed", "written"),
    [
        ("3,5 mm", "3.5 mm"),
        ("-0,25", "-0.25"),
        ("0.975 mm", "0.975 mm"),
        ("1 7/8 in", "1 7/8 in"),
        ("12500", "12500"),
        ("3.5", "3.5"),
    ],
)
def test_a_typed_number_is_taken_with_its_comma(german, typed, written):
    assert typed_numeral(typed) == written


@pytest.mark.parametrize("typed", ["1.250", "12.500 mm", "1.250,5"])
def test_a_point_that_could_part_thousands_is_refused(german, typed):
    with pytest.raises(ValueError, match="ohne Zeichen zwischen den Tausendern"):
        typed_numeral(typed)


def test_in_english_what_is_typed_stays_as_it_is():
    assert typed_numeral("1.250") == "1.250"
    assert typed_numeral("3,5") == "3,5"


def test_the_names_of_coefficients_are_told_from_their_figures_again(german):
    assert coefficient_name("size, 962.5 to 1057.5 mm") == "Größe, 962,5 bis 1057,5 mm"
    assert coefficient_name("state, failed to worn, more so for higher tiers").startswith("Zustand, defekt bis")
    assert coefficient_name("restored, no to part") == "restauriert, nein bis in Teilen"
    assert coefficient_name("price_index.csv:12") == "price_index.csv:12"
    assert left_out_reason("sold more than 15 years before") == "mehr als 15 Jahre vorher verkauft"


def test_a_word_that_the_shop_changed_is_shown_as_written(german):
    assert say("pinblock, our own word {so} 100 %") == "pinblock, our own word {so} 100 %"


def test_the_worked_example_in_german():
    """To bring the snapshot up to date: .venv/bin/python -m valuation, then EXAMPLE, into german_page.txt."""
    tables = re.compile(r"Tabellen \w{8}")
    shown = SNAPSHOT.read_text(encoding="utf-8")
    assert tables.sub("Tabellen", run(EXAMPLE)) == tables.sub("Tabellen", shown)


def test_the_environment_names_the_language_of_the_command_line():
    assert run(EXAMPLE.replace(" --language de", ""), VALUATION_LANGUAGE="de") == run(EXAMPLE)


def test_english_that_is_left_would_be_found():
    assert set(english_left(run("appraise data_demo/visits/3_school_upright.toml --draws 1024"))) > {"the", "of", "is"}
    assert english_left("Das steht in bands.csv, so_wie_es ist: 9 in 100") == []


@pytest.mark.parametrize("path", [path for _, path in demo_visits()], ids=lambda path: path.stem)
def test_no_english_is_left_on_the_page_of_the_command_line(path):
    visit = read_visit_file(path, load_shop(), date(2026, 12, 31))
    for command in (f"appraise {path}", f"appraise {path} --sales data_demo/sales/sales.csv"):
        assert not english_left(run(f"{command} --draws 1024 --language de"), own_words(visit))
    assert not english_left(run(f"sales show data_demo/sales/sales.csv --piano {path} --language de"), own_words(visit))


@pytest.mark.parametrize(
    "command",
    [
        "measure pins --bass 31,26,22,21,19,25 --tenor 18,15,12,44 --treble 44,40,55,60 --unit in-lb",
        "measure bearing --bass 1.1,0.9 --treble 0.4,0.3,0.5 --crown 0",
        "measure climate --winter 5 --summer 95 --temperature 20 --now 5 --crack 2.3 --panel 150 --hold 40 50",
        "measure climate --winter 25 --summer 70 --temperature 20 --now 45 --crown 3 --rib-length 1200 "
        "--rib-height 25 --board 9 --pin 7 --block 230",
    ],
)
def test_no_english_is_left_in_a_measurement(command):
    told = run(f"{command} --language de").partition("[findings]")[0]
    assert not english_left(told)
    assert "\nDas sagt es:\n" in told


def test_json_is_for_machines_and_says_the_same_in_any_language():
    for command in ("appraise data_demo/visits/3_school_upright.toml --draws 1024", "measure pins 60 55 --unit in-lb"):
        assert run(f"{command} --json --language de") == run(f"{command} --json")
