"""Packs of countries: every country is whole, the figures are those of the law, and faults are told with their mend."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from small_rules import LAWS, changed, tables, texts, without

from valuation.engine.pack import (
    OWN_DECISION,
    PURPOSES,
    barred,
    cited,
    law_words,
    local,
    not_for,
    over_a_border,
    pack_of,
    said_country,
)
from valuation.engine.rows.country import EVALUATION, INVOICE, KEPT, MEMORY, ORDER, TOPICS
from valuation.errors import TableError
from valuation.language import LANGUAGES, numeral, say, speaking
from valuation.report.format import typed_numeral
from valuation.report.labels import plain_day
from valuation.report.paper_words import PAPER_NAMES
from valuation.report.tax_words import tax_label
from valuation.rules import tables_of
from valuation.service import load_shop

COUNTRIES = ("de", "at", "ch", "uk", "us")


@pytest.fixture(scope="module")
def book():
    return load_shop()


@pytest.mark.parametrize("country", COUNTRIES)
def test_every_country_says_something_of_every_topic_it_must(book, country):
    pack = pack_of(book, country)
    topics = {row.topic for row in pack.laws}
    assert topics >= set(TOPICS) - {"trade"}
    assert {"market", "replacement", "salvage"} <= pack.kinds.keys()
    assert set(KEPT) == pack.retentions.keys()
    assert any(row.topic == "offer" for row in pack.on_paper("quotation"))
    assert any(row.topic == "cancelling" for row in pack.on_paper("quotation"))
    assert any(row.topic == "disposal" for row in pack.on_paper("letter"))
    for material in ("ivory_tops", "rosewood_veneer"):
        there = {row.topic for row in pack.on_paper("letter", [material]) if row.feature}
        assert there >= {"species", "border"}, material


RATES = {
    "de": 0.19,  # Umsatzsteuergesetz § 12(1)
    "at": 0.20,  # Umsatzsteuergesetz 1994 § 10(1)
    "ch": 0.081,  # Mehrwertsteuergesetz Art. 25(1), since 1 January 2024
    "uk": 0.20,  # Value Added Tax Act 1994, section 2
}


@pytest.mark.parametrize(("name", "rate"), RATES.items())
def test_the_rates_are_those_of_the_law(book, name, rate):
    [row] = [row for row in book.taxes if row.id == name]
    assert (row.labour, row.material, row.outside, row.resale) == (rate,) * 4


def test_repair_labour_is_taxed_by_the_law_of_the_state(book):
    by_state = {row.id: row for row in book.taxes if row.country == "us"}
    # New York Tax Law § 1105(c)(3), Texas Tax Code § 151.0101(a)(5); California, 18 CCR 1546: parts only
    assert by_state["us_ny"].labour == by_state["us_ny"].material > 0
    assert by_state["us_tx"].labour == by_state["us_tx"].material > 0
    assert by_state["us_ca"].labour == 0 < by_state["us_ca"].material


@pytest.mark.parametrize("name", ["de_small", "at_small", "ch_small", "uk_small"])
def test_who_owes_no_tax_shows_none(book, name):
    [row] = [row for row in book.taxes if row.id == name]
    assert not row.shown
    assert row.on(100, 100, 100) == 0


YEARS = {
    ("de", INVOICE): 8,  # Abgabenordnung § 147(3), Umsatzsteuergesetz § 14b(1), as in force since 2025
    ("de", ORDER): 6,  # Abgabenordnung § 147(1) no. 2, 3, (3); Handelsgesetzbuch § 257
    ("at", ORDER): 7,  # Bundesabgabenordnung § 132(1), Unternehmensgesetzbuch § 212
    ("ch", ORDER): 10,  # Obligationenrecht Art. 958f
    ("uk", ORDER): 6,  # Value Added Tax Act 1994, Schedule 11, paragraph 6
}


@pytest.mark.parametrize(("row", "years"), YEARS.items())
def test_the_years_of_keeping_are_those_of_the_law(book, row, years):
    country, what = row
    kept = pack_of(book, country).retentions[what]
    assert (kept.years, kept.demanded) == (years, True)
    assert not pack_of(book, country).retentions[EVALUATION].demanded


CANCELLING = {
    "de": (14, "days"),  # Bürgerliches Gesetzbuch § 355(2)
    "at": (14, "days"),  # Fern- und Auswärtsgeschäfte-Gesetz § 11(1)
    "ch": (14, "days"),  # Obligationenrecht Art. 40e
    "uk": (14, "days"),  # SI 2013/3134 reg. 30
    "us": (3, "business days"),  # 16 CFR 429.0
}


@pytest.mark.parametrize(("country", "days"), CANCELLING.items())
def test_the_days_to_cancel_are_those_of_the_law(book, country, days):
    rows = [row for row in pack_of(book, country).on_paper("quotation") if row.topic == "cancelling"]
    assert [(row.figure, row.unit) for row in rows] == [days]
    assert f" {days[0]} " in law_words(rows[0])


def test_a_value_is_called_what_the_country_calls_it(book):
    kind = pack_of(book, "us").kinds["market"]
    # 26 CFR 1.170A-1(c)(2)
    assert kind.definition == (
        "the price at which the property would change hands between a willing buyer and a willing seller, neither "
        "being under any compulsion to buy or sell and both having reasonable knowledge of relevant facts"
    )
    assert (kind.quoted, kind.source) == (True, "26 CFR 1.170A-1(c)(2)")
    # Inheritance Tax Act 1984, section 160
    assert pack_of(book, "uk").kinds["market"].name == "open market value"
    assert {pack_of(book, country).kinds["market"].id for country in COUNTRIES} == {
        "ordinary_value_de", "ordinary_value_at", "market_value_ch", "open_market_uk", "fair_market",
    }  # fmt: skip


def test_nobody_is_called_licensed_who_is_not(book):
    for country in COUNTRIES:
        # 12 USC 3331: states license appraisers of land only; nobody is licensed for pianos elsewhere either
        assert "licensed" not in pack_of(book, country).country.appraiser
    assert pack_of(book, "us").country.appraiser == "a qualified appraiser"  # 26 CFR 1.170A-17(b)


@pytest.mark.parametrize("purpose", PURPOSES)
def test_whoever_certifies_in_the_country_is_named(book, purpose):
    note = not_for(purpose, book)
    assert (note == "") == (purpose in OWN_DECISION)
    if note:
        assert "a publicly appointed and sworn expert" in note


def test_a_purpose_that_is_not_known_is_refused(book):
    with pytest.raises(ValueError, match="'fun' is not a purpose; write one of decision, sale, insurance"):
        not_for("fun", book)


def test_both_sides_of_a_border_are_told_the_own_side_first():
    found = over_a_border(tables(), "there", ["drop_action"])
    assert [(country.id, row.id) for country, row in found] == [("here", "felt"), ("there", "felt_there")]
    assert over_a_border(tables(), "there", []) == ()


def test_every_row_says_where_it_comes_from_and_who_looked(book):
    for country in COUNTRIES:
        pack = pack_of(book, country)
        for row in (pack.country, *pack.laws, *pack.kinds.values(), *pack.retentions.values(), *pack.trade_words):
            assert row.source
            assert row.checked_by
            assert 2020 <= row.checked_on.year <= 2100
        assert pack.unread > 0  # nobody qualified has read what comes with the tool


def test_a_law_from_memory_is_not_cited_as_if_it_were_published(book):
    rows = {row.id: row for row in book.laws}
    assert rows["repair_border"].basis == MEMORY
    assert cited(rows["repair_border"]) == law_words(rows["repair_border"])
    assert cited(rows["de_offer"]).endswith("(BGB §§ 145, 148)")


def test_nobody_has_said_the_country_of_the_tables_that_come_with_the_tool(book):
    assert said_country(book) == ""
    said = replace(book, setting_sources=book.setting_sources | {"country": "own_estimate"})
    assert said_country(said) == "de"


def test_a_line_of_tax_bears_the_word_of_the_law_and_its_exact_rate(book):
    rows = {row.id: row for row in book.taxes}
    assert tax_label(rows["ch"]) == "MWST, 8.1%"
    assert tax_label(rows["us_ca"]) == "California sales tax: 0% on labour, 7.25% on materials, 0% on work bought in"
    with speaking("de"):
        assert tax_label(rows["ch"]) == "MWST, 8,1\N{NO-BREAK SPACE}%"


@pytest.mark.parametrize("country", COUNTRIES)
def test_no_paper_is_called_what_none_may_be_and_the_shops_own_words_are_looked_at(book, country):
    there = replace(book, settings=replace(book.settings, country=country))
    barred_words = pack_of(there).country.not_called
    assert barred_words
    for language in LANGUAGES:
        with speaking(language):
            for name in PAPER_NAMES.values():
                assert barred(say(name), there) == ()
    for word in barred_words:
        assert barred(f"Master craftsman, {word.upper()} since 1999", there) == (word,)
    assert barred("Master craftsman since 1999", there) == ()


WRITTEN = {
    "de": ("1.234,5", "2. Januar 2026"),
    "at": ("1.234,5", "2. Jänner 2026"),
    "ch": ("1’234.5", "2. Januar 2026"),
    "uk": ("1,234.5", "2 January 2026"),
    "us": ("1,234.5", "January 2, 2026"),
}
"""From CLDR (Unicode Common Locale Data Repository), as Babel has it."""


@pytest.mark.parametrize(("country", "told"), WRITTEN.items())
def test_numbers_and_days_are_written_as_in_the_country_in_its_own_language(book, country, told):
    sources = book.setting_sources | {"country": "own_estimate"}
    there = replace(book, settings=replace(book.settings, country=country), setting_sources=sources)
    chosen = pack_of(there).country.language
    with speaking(chosen, local(there, chosen)):
        assert (numeral("1,234.5"), plain_day(date(2026, 1, 2))) == told
        assert typed_numeral("3,5" if chosen == "de" else "3.5") == "3.5"
    other = "en" if chosen == "de" else "de"
    assert local(there, other).writes == ""
    assert local(replace(there, setting_sources=book.setting_sources), chosen).writes == "", "nobody has said it"


FAULTS = {
    "no row for a topic's figure": (
        {"laws": changed("laws", "away", figure="")},
        "laws.csv:3: figure: the sentence has {figure} just where there is a figure",
    ),
    "braces": ({"laws": LAWS.replace("{figure}", "{days}")}, "laws.csv:3: says: only {figure} may stand in braces"),
    "a paper that is none": (
        {"laws": changed("laws", "offer", papers="leaflet")},
        "laws.csv:2: papers: there is no paper 'leaflet'; write some of evaluation, quotation",
    ),
    "a country that is none": (
        {"laws": changed("laws", "offer", countries="here;atlantis")},
        "laws.csv:2: countries: 'atlantis' is not in countries.csv",
    ),
    "tax of another country": (
        {"settings": texts()["settings"].replace("'usual'", "'parts'")},
        "tax.value: 'parts' is of 'there', the shop's country is 'here'; write one of: usual, small",
    ),
    "hidden tax": (
        {"taxes": changed("taxes", "usual", shown="no")},
        "taxes.csv:2: shown: a paper without a line of tax can't have tax in it",
    ),
    "a rate like 19": (
        {"taxes": changed("taxes", "usual", labour="19")},
        "labour: 19 is too large; the greatest is 0.5",
    ),
    "no years": (
        {"retentions": without("retentions", "there", "order")},
        "retentions.csv: what: nothing says how long 'there' keeps 'order'; add a row",
    ),
    "two markets": (
        {"value_kinds": changed("value_kinds", "replacement", role="market")},
        "value_kinds.csv: role: 'here' must have one kind of value for 'market'",
    ),
    "a law that is none": (
        {"laws": changed("laws", "away", source="from memory")},
        "laws.csv:3: source: 'from memory' is no law; name it, or write 'memory' as the basis",
    ),
    "quoted from nowhere": (
        {"value_kinds": changed("value_kinds", "market", quoted="yes")},
        "value_kinds.csv:2: quoted: a definition that is quoted word for word names where it is published",
    ),
    "money": (
        {"countries": changed("countries", "there", currency="dollar")},
        "countries.csv:3: currency: 'dollar' is not a currency code; write three capital letters",
    ),
    "a gap of days": (
        {"taxes": changed("taxes", "usual", valid_from="2026-01-01")},
        "taxes.csv:2: valid_from: usual: this begins on 2026-01-01, but the table on 2025-01-01",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_told_with_file_row_column_and_mend(fault):
    changes, told = FAULTS[fault]
    with pytest.raises(TableError) as raised:
        tables_of(texts(**changes))
    assert told in str(raised.value)
