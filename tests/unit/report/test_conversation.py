"""What is said at the table: every way told alike, no way ever hidden, one and the same hundred, nothing left out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from table_talk import NAMES, figures, said, talk

from valuation.core.prospects import ANOTHER, LET_GO, WAYS, adds, prospects
from valuation.core.rows import QUESTIONS, Level
from valuation.report.client_words import of_100, whole_counts
from valuation.report.conversation import conversation
from valuation.report.format import money
from valuation.report.sides import SIDES
from valuation.report.ways import ROWS
from valuation.report.wishes import A_LOT, THEMES, Wishes, from_json, to_json, visit_with, with_wish
from valuation.service import Study, appraise, report

any_piano = pytest.mark.parametrize("name", NAMES)
WEIGHTS = st.integers(0, 3)
OWN_WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\n"), max_size=20)
WISHES = st.builds(
    Wishes,
    **dict.fromkeys(THEMES, WEIGHTS),
    premium=st.sampled_from([None, 0.0, 1500.0, 40_000.0]),
    finish=st.sampled_from(["", "finish_kept", "finish_new", "gone"]),
    key_tops=st.sampled_from(["", "key_tops_new"]),
    colour=OWN_WORDS,
    left_original=st.lists(st.sampled_from(["hammers", "cabinet", "harp"]), unique=True).map(tuple),
    questions=OWN_WORDS,
    leaning=st.sampled_from(["", *WAYS]),
)


@any_piano
def test_every_way_has_the_same_rows_and_something_in_each(name):
    told = talk(name)
    assert [way.way for way in told.ways] == list(WAYS)
    for way in told.ways:
        assert tuple(way.rows) == ROWS
        assert all(way.rows.values()), way.way


@any_piano
def test_every_way_has_as_many_good_sides_as_bad_ones(name):
    for way in talk(name).ways:
        assert (len(way.good), len(way.bad)) == (SIDES, SIDES), way.way
        assert len({side.text for side in (*way.good, *way.bad)}) == 2 * SIDES


@any_piano
def test_no_way_is_told_at_more_than_three_times_the_length_of_another(name):
    lengths = {
        way.way: sum(len(text.split()) for row in way.rows.values() for text in row)
        + sum(len(side.text.split()) for side in (*way.good, *way.bad))
        for way in talk(name).ways
    }
    assert max(lengths.values()) <= 3 * min(lengths.values()), lengths


def test_the_way_without_work_comes_first_and_the_other_piano_stands_beside_the_others():
    assert WAYS[0] == "keep"
    told = talk(NAMES[1])
    study, _, _ = figures(NAMES[1])
    row = study.market.replacement
    assert f"{money(row.price_low)} to {money(row.price_high)}" in " ".join(told.way(ANOTHER).rows["price"])


@settings(deadline=None, max_examples=40)
@given(wishes=WISHES, name=st.sampled_from(NAMES))
def test_whatever_is_wished_no_way_is_hidden_moved_or_told_in_fewer_words(wishes, name):
    told, without = talk(name, wishes), talk(name, Wishes(premium=wishes.premium))
    assert [way.way for way in told.ways] == list(WAYS)
    assert {matter.theme for matter in told.matters} == set(THEMES)
    for way, plain in zip(told.ways, without.ways, strict=True):
        assert way.rows == plain.rows
        assert set(way.good) == set(plain.good)
        assert set(way.bad) == set(plain.bad)
    assert told.chances == without.chances
    assert told.best == without.best


@settings(deadline=None, max_examples=25)
@given(wishes=WISHES, name=st.sampled_from(NAMES))
def test_what_matters_more_is_told_before_what_matters_less(wishes, name):
    told = talk(name, wishes)
    weights = [matter.weight for matter in told.matters]
    assert weights == sorted(weights, reverse=True)
    for way in told.ways:
        for sides in (way.good, way.bad):
            told_first = [wishes.matters(side.theme) for side in sides]
            assert told_first == sorted(told_first, reverse=True)


@any_piano
def test_every_chance_is_out_of_the_same_hundred_and_tells_both_sides(name):
    for chance in talk(name).chances:
        assert [count.way for count in chance.counts] == list(WAYS)
        for count in chance.counts:
            if count.of_100 is None:
                assert count.words
                continue
            assert 0 <= count.of_100 <= 100
            assert count.words == f"Yes in {count.of_100} of 100. No in the other {100 - count.of_100}."


@any_piano
def test_the_counts_of_which_way_comes_out_best_add_up_to_a_hundred(name):
    assert sum(count.of_100 for count in talk(name).best.counts) == 100


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6).filter(lambda weights: sum(weights) > 1e-6))
def test_whole_counts_add_up_and_lie_within_one_of_the_exact_ones(weights):
    shares = [w / sum(weights) for w in weights]
    counts = whole_counts(shares)
    assert sum(counts) == 100
    assert all(abs(count - 100 * share) < 1 for count, share in zip(counts, shares, strict=True))


@given(st.floats(0, 1))
def test_a_count_is_none_or_all_of_a_hundred_only_where_the_chance_is(share):
    assert (of_100(share) == 0) == (share == 0)
    assert (of_100(share) == 100) == (share == 1)


@any_piano
def test_a_price_never_stands_without_the_good_years_it_buys(name):
    for way in talk(name).ways:
        assert "Good years:" in way.price
        assert any(text.startswith("Good years:") for text in way.rows["price"])


@any_piano
def test_the_figures_are_those_of_the_appraisal(name):
    study, decision, found = figures(name)
    told = prospects(study, decision)
    for option in found.options:
        way = option.option if option.option != "retire" else ANOTHER if option.exchange else LET_GO
        assert told[way].price == option.price
        assert told[way].years == option.years
        assert told[way].expected_price == pytest.approx(option.expected_price)
        assert told[way].expected_value == pytest.approx(option.expected_value, abs=1e-6)
    assert sum(prospect.best for prospect in told.values()) == pytest.approx(1)


@any_piano
def test_playing_is_the_product_over_the_parts_summed_over_how_it_has_lived(name):
    study, decision, _ = figures(name)
    shop, condition = study.shop, study.condition
    plan = decision.actions["keep"].plan
    expected = 0.0
    for h, odds in enumerate(condition.exposure):
        product = 1.0
        for p, part in enumerate(shop.parts):
            plays = [part.play_sound, part.play_serviceable, part.play_worn, part.play_failed]
            product *= sum(condition.given[p, h, s] * plays[shop.after[plan[p], s]] for s in range(4))
        expected += odds * product
    assert prospects(study, decision)["keep"].plays == pytest.approx(expected)


@pytest.mark.parametrize("name", [NAMES[4], NAMES[5]])
def test_the_chance_of_more_work_is_that_of_the_draws(name):
    study, decision, _ = figures(name)
    plan = decision.actions["rebuild"].plan
    worse = np.zeros(study.draws.base.n, dtype=bool)
    for p, choice in enumerate(plan):
        worse |= study.shop.kinds[choice][study.draws.states(p)] > 0
    exact = prospects(study, decision)["rebuild"].surprise
    # 1,024 draws of a lattice, no worse than independent ones: 4 standard errors
    assert abs(worse.mean() - exact) < 4 * np.sqrt(exact * (1 - exact) / 1024)


def test_what_an_operation_adds_is_what_the_plan_that_holds_it_costs_more():
    study, decision, _ = figures(NAMES[0])
    pinned = Study(study.visit, study.tables, on=study.on, draws=1024, pinned={"cabinet": Level.REPLACE})
    other = pinned.decide()
    changed = other.actions["rebuild"].plan != decision.actions["rebuild"].plan
    assert [study.shop.parts[p].id for p in np.flatnonzero(changed)] == ["cabinet"]
    more = other.prices["rebuild"] - decision.prices["rebuild"]
    assert adds(study, decision, "rebuild", "refinish") == pytest.approx(more)
    assert adds(study, decision, "rebuild", "restring") == 0.0
    assert adds(study, decision, "rebuild", "no_such_work") is None
    ivory = study.tables.of_kind("operations", "grand")["ivory_matched"]
    alone = study.prices.expected[study.shop.index[ivory.id]]
    assert adds(study, decision, "rebuild", ivory.id) == pytest.approx(alone)
    assert adds(study, decision, "keep", ivory.id) > alone


def test_a_stop_rule_is_told_before_all_else_and_in_plain_words():
    assert talk(NAMES[3]).first[0] == "The iron frame has a crack. It must not be tuned. It may give way."
    assert talk(NAMES[6]).first == ()


def test_a_piano_hardly_looked_at_is_told_as_a_guess_and_never_as_good():
    told = talk(NAMES[4])
    assert "We did not take the action out." in told.unseen
    assert "We do not count it as good." in told.unseen[-1]
    assert "We have not seen enough to be sure." in " ".join(told.way("keep").rows["living"])
    assert not any("In good order: " in text and "soundboard" in text for text in told.found)


def test_block_and_board_have_their_choices_priced_beforehand():
    named = {opening.part: opening for opening in talk(NAMES[4]).openings}
    assert set(named) == {"soundboard", "pinblock"}
    board = named["soundboard"]
    assert board.words["rebuild"] == "Mended. In 18 of 100 cases that is not enough."
    assert [choice.operation for choice in board.choices] == ["new_soundboard"]
    study, decision, _ = figures(NAMES[4])
    assert board.choices[0].adds["rebuild"] == adds(study, decision, "rebuild", "new_soundboard")
    assert named["pinblock"].words["rebuild"] == "Mended. In 26 of 100 cases that is not enough."
    assert named["pinblock"].choices[0].words["rebuild"] == "about 710 EUR more"


def test_what_opening_may_add_elsewhere_is_told_for_each_way_with_its_chance():
    _, _, found = figures(NAMES[5])
    action = next(surprise for surprise in talk(NAMES[5]).surprises if surprise.name == "action")
    for way, words in action.words.items():
        allowance = next(a for a in found.allowances if (a.option, a.part) == (way, "action_parts"))
        assert words.startswith(f"in {round(100 * allowance.chance)} of 100 cases")


def test_a_part_that_was_seen_to_be_bad_is_no_surprise():
    assert all(opening.part != "pinblock" for opening in talk(NAMES[1]).openings)


def test_the_figures_hold_for_the_days_of_the_setting():
    study, _, _ = figures(NAMES[0])
    told = talk(NAMES[0])
    assert (told.holds_until - study.visit.on).days == study.tables.settings.quote_days


def test_every_own_question_is_asked_and_a_price_is_told_only_where_the_tables_have_the_work():
    told = talk(NAMES[0], Wishes(finish="finish_new"))
    assert [question.question for question in told.questions] == list(QUESTIONS)
    answers = {answer.choice: answer for question in told.questions for answer in question.answers}
    assert answers["hardware_plated"].costs["rebuild"] == "not in this price, to be quoted"
    assert answers["key_tops_new"].costs["rebuild"] == "in this price"
    assert answers["finish_new"].costs["rebuild"].endswith("EUR more")
    assert "key_tops_ivory" in answers
    assert "key_tops_ivory" not in {a.choice for q in talk(NAMES[1]).questions for a in q.answers}
    assert told.questions[0].answer is answers["finish_new"]


def test_a_choice_that_the_tables_no_longer_know_does_no_harm():
    assert talk(NAMES[0], Wishes(finish="varnish")).questions[0].answer is None


def test_a_part_to_be_left_as_it_is_is_held_against_each_plan():
    told = talk(NAMES[0], Wishes(left_original=("hammers", "cabinet")))
    assert any("hammers" in text and "case" not in text for text in told.against)
    assert talk(NAMES[0], Wishes(left_original=("plate",))).against == ()


def test_a_class_without_a_plan_is_still_told_and_says_why():
    told = talk(NAMES[5], pins=(("strings", Level.KEEP),))
    assert not told.way("rebuild").open
    assert all("there is no such plan" in text for row in told.way("rebuild").rows.values() for text in row)
    assert [way.way for way in told.ways] == list(WAYS)


def test_what_cannot_be_paid_for_is_told_as_such_and_stays():
    study, _, _ = figures(NAMES[0])
    poor = replace(study.visit, client=replace(study.visit.client, budget=5000.0))
    study = Study(poor, study.tables, on=poor.on, draws=1024)
    decision = study.decide()
    told = conversation(study, decision, report(study, decision), Wishes())
    assert any("more than the 5,000 EUR" in text for text in told.way("rebuild").rows["price"])
    assert not any("more than the 5,000 EUR" in text for text in told.way("keep").rows["price"])
    assert [way.way for way in told.ways] == list(WAYS)


def test_the_premium_said_at_the_table_enters_the_sums_and_nothing_else_does():
    study, _, found = figures(NAMES[1])
    asked = Wishes(premium=20_000.0, family=A_LOT, finish="finish_new")
    richer = visit_with(study.visit, asked)
    assert richer.client.premium == 20_000.0
    assert replace(richer, client=replace(richer.client, premium=study.visit.client.premium)) == study.visit
    assert appraise(richer, study.tables, on=study.on, draws=1024).verdict == "keep"
    assert found.verdict == "retire"
    assert visit_with(study.visit, Wishes(family=A_LOT)) is study.visit


def test_the_premium_ladder_rises_from_nothing():
    rungs = [rung.premium for rung in talk(NAMES[1]).rungs]
    assert rungs[0] == 0
    assert rungs == sorted(set(rungs))


def test_a_level_set_by_hand_is_told_with_its_reason():
    study, decision, found = figures(NAMES[0])
    changes = {"hammers": ("replace", "she wants a softer tone"), "keys": ("keep", " ")}
    told = conversation(study, decision, found, Wishes(), changes)
    assert told.by_hand == (
        "hammers, replace: changed by hand: she wants a softer tone",
        "keys, keep: changed by hand, no reason given",
    )


@any_piano
def test_who_speaks_says_what_it_earns_and_sends_to_others(name):
    told = talk(name)
    assert any("also sells the work" in text for text in told.who)
    assert any("We earn money" in text for text in told.advice)
    assert len(told.ask_others) >= 3


@any_piano
def test_no_placeholder_is_left_in_any_sentence(name):
    for text in said(talk(name)):
        assert "{" not in text
        assert "  " not in text


@given(WISHES)
def test_wishes_come_back_from_json_as_they_were(wishes):
    assert from_json(to_json(wishes)) == wishes


def test_a_wish_of_a_later_version_is_passed_over_and_a_wrong_one_is_named():
    assert from_json({"incense": True, "family": 2}) == Wishes(family=2)
    for name, value in [("family", 4), ("family", True), ("premium", -1), ("premium", float("nan")), ("finish", 3)]:
        with pytest.raises(ValueError, match=f"wish '{name}'"):
            from_json({name: value})
    with pytest.raises(ValueError, match="left_original"):
        with_wish(Wishes(), "left_original", "hammers")
    with pytest.raises(ValueError, match="no wish 'wealth'"):
        with_wish(Wishes(), "wealth", 1)
    assert with_wish(Wishes(family=2), "family", None) == Wishes()
