"""The figures that a new shop is asked for first: each has a place, a question in both languages, and can be turned."""

from __future__ import annotations

from datetime import date

import pytest
from figure_sensitivity import figures_of, turned

from valuation.engine.figures import asked_row, factor_to, is_said, places, today, unsaid
from valuation.language import LANGUAGES, speaking
from valuation.report.figure_words import figure_name, question, unit_of, unsaid_words
from valuation.service import load_shop

ON = date(2026, 5, 4)


@pytest.fixture(scope="module")
def book():
    return load_shop()


def test_what_is_ranked_is_there_falls_and_is_thirty_figures(book):
    assert len(book.figures) == 30
    there = set(figures_of(book))
    moves = [row.moves for row in book.figures]
    assert {(row.kind, row.of) for row in book.figures} <= there
    assert moves == sorted(moves, reverse=True)
    assert len({row.kind for row in book.figures}) >= 5  # of many sorts, not all of one


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_figure_has_a_question_that_holds_all_it_depends_on(book, language):
    with speaking(language):
        asked = [question(book, kind, of, ON) for kind, of in figures_of(book)]
        named = [figure_name(book, kind, of, ON) for kind, of in figures_of(book)]
    assert all(text.rstrip().endswith(("?", ".")) and "{" not in text for text in asked)
    assert len(set(named)) == len(named)


def test_odds_are_asked_as_a_count_of_a_hundred_with_the_year_and_what_is_meant(book):
    told = question(book, "odds", "holes_worn", ON)
    assert told.startswith("Of 100 pianos of about 1921 in which nobody has renewed it, in how many do you find this")
    assert "typical grip 3.4 to 5.6 N.m" in told
    assert unit_of(book, "odds") == "of 100"


@pytest.mark.parametrize(("kind", "of"), [
    ("odds", "holes_worn"), ("odds", "plate_crack"), ("rates", "workshop"), ("bands", "grand"), ("hours", "tune"),
    ("replacements", "upright/good"), ("haul_away", "grand"), ("settings", "selling_cost"), ("years", "hammers"),
])  # fmt: skip
def test_a_figure_turned_to_what_is_said_is_what_was_said(book, kind, of):
    for share in (0.6, 1.7):
        wanted = share * today(book, kind, of, ON)
        then = turned(book, kind, of, factor_to(book, kind, of, wanted, ON), ON)
        assert today(then, kind, of, ON) == pytest.approx(wanted, rel=1e-4, abs=0.03)


def test_odds_of_a_hundred_stay_a_hundred_and_all_ages_move_the_same_way(book):
    then = turned(book, "odds", "holes_worn", 2.0, ON)
    for at in places(book, "odds", "holes_worn", ON):
        row, old = then.fault_odds[at], book.fault_odds[at]
        assert row.none + row.slight + row.marked + row.severe == pytest.approx(100)
        assert row.none < old.none
        for worse in (("slight", "marked", "severe"), ("marked", "severe"), ("severe",)):
            then_, was = (sum(getattr(one, name) for name in worse) for one in (row, old))
            assert then_ / (100 - then_) == pytest.approx(2 * was / (100 - was), rel=1e-3)


def test_none_and_all_of_a_hundred_are_never_certain(book):
    for wanted in (0, 100):
        then = turned(book, "odds", "holes_worn", factor_to(book, "odds", "holes_worn", wanted, ON), ON)
        row = asked_row(then, "odds", "holes_worn", ON)
        assert 0 < row.marked + row.severe < 100


@pytest.mark.parametrize(("kind", "of", "wanted", "told"), [
    ("odds", "holes_worn", 101, "write 0 to 100"),
    ("rates", "workshop", 0, "above 0"),
    ("rates", "workshop", -5, "above 0"),
])  # fmt: skip
def test_what_can_not_be_is_refused(book, kind, of, wanted, told):
    with pytest.raises(ValueError, match=told):
        factor_to(book, kind, of, wanted, ON)


def test_what_nobody_has_set_is_named_the_most_important_first(book):
    assert unsaid(book, ON) == book.figures
    assert not is_said(book, "rates", "workshop", ON)
    told = unsaid_words(book, ON)
    first = figure_name(book, book.figures[0].kind, book.figures[0].of, ON)
    assert told.startswith(f"Nobody in this workshop has set yet: {first}; ")
    assert told.endswith("And 25 figures more.")
