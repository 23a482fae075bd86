"""What is said at the table: every way told alike, no way ever hidden, one and the same hundred, nothing left out."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from table_talk import NAMES, figures, said, talk

from valuation.engine.adding import added
from valuation.engine.appraised_work import tax_on
from valuation.engine.money import tax_of
from valuation.engine.prospects import ANOTHER, LET_GO, prospects
from valuation.engine.rows import QUESTIONS, Tables
from valuation.engine.study import decide_at, study_of
from valuation.facts.visit import Finding, Visit
from valuation.facts.words import WAYS
from valuation.language import say
from valuation.report.client_words import of_100, whole_counts
from valuation.report.conversation import Conversation, conversation
from valuation.report.format import exact, money, money_range
from valuation.report.quote import quote_of
from valuation.report.sides import SIDES
from valuation.report.their_version import NoVersion
from valuation.report.ways import ROWS
from valuation.report.wishes import A_LOT, THEMES, Wishes, from_json, to_json, visit_with, with_wish
from valuation.service import appraise, report

any_piano = pytest.mark.parametrize("name", NAMES)
WEIGHTS = st.integers(0, 3)
OWN_WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\n"), max_size=20)
WISHES = st.builds(
    Wishes,
    **dict.fromkeys(THEMES, WEIGHTS),
    to_have=st.sampled_from([None, 0.0, 1500.0]),
    to_hear=st.sampled_from([None, 0.0, 40_000.0]),
    finish=st.sampled_from(["", "finish_kept", "finish_new", "gone"]),
    key_tops=st.sampled_from(["", "key_tops_new"]),
    colour=OWN_WORDS,
    left_original=st.lists(st.sampled_from(["hammers", "cabinet", "harp"]), unique=True).map(tuple),
    questions=OWN_WORDS,
    leaning=st.sampled_from(["", *WAYS]),
)


def conversation_of(visit: Visit, tables: Tables) -> Conversation:
    study = study_of(visit, tables, on=visit.on, draws=1024)
    answer = decide_at(study)
    return conversation(study, answer, report(study, answer), Wishes())


@any_piano
def test_every_way_has_the_same_rows_and_something_in_each(name):
    told = talk(name)
    assert [way.way for way in told.ways] == list(WAYS)
    for way in told.ways:
        assert tuple(way.rows) == ROWS
        assert all(way.rows.values()), way.way


@any_piano
def test_every_way_has_as_many_good_sides_as_bad_ones(name):
    for way in (way for way in talk(name).ways if way.open):
        assert (len(way.good), len(way.bad)) == (SIDES, SIDES), way.way
        assert len({side.text for side in (*way.good, *way.bad)}) == 2 * SIDES


@any_piano
def test_no_way_is_told_at_more_than_three_times_the_length_of_another(name):
    lengths = {
        way.way: sum(len(text.split()) for row in way.rows.values() for text in row)
        + sum(len(side.text.split()) for side in (*way.good, *way.bad))
        for way in talk(name).ways
        if way.open
    }
    assert max(lengths.values()) <= 3 * min(lengths.values()), lengths


def test_the_way_without_work_comes_first_and_the_other_piano_stands_beside_the_others():
    assert WAYS[0] == "keep"
    told = talk(NAMES[1])
    study, answer, _ = figures(NAMES[1])
    alone = prospects(study, answer)[ANOTHER].value_after
    row, size = study.market.replacement, study.market.size_factor
    assert (alone.low, alone.high) == pytest.approx((size * row.price_low, size * row.price_high), rel=0.05)
    assert f"The other piano alone costs {money_range(alone)} EUR." in told.way(ANOTHER).rows["price"]


@settings(deadline=None, max_examples=40)
@given(wishes=WISHES, name=st.sampled_from(NAMES))
def test_whatever_is_wished_no_way_is_hidden_moved_or_told_in_fewer_words(wishes, name):
    told, without = talk(name, wishes), talk(name, Wishes(to_have=wishes.to_have, to_hear=wishes.to_hear))
    assert [way.way for way in told.ways] == list(WAYS)
    for way, plain in zip(told.ways, without.ways, strict=True):
        assert way.rows == plain.rows
        assert set(way.good) == set(plain.good)
        assert set(way.bad) == set(plain.bad)
    assert told.chances == without.chances
    assert told.best == without.best


@any_piano
def test_every_chance_is_out_of_the_same_hundred_and_tells_both_sides(name):
    for chance in talk(name).chances:
        assert [count.way for count in chance.counts] == list(WAYS)
        for count in chance.counts:
            if count.of_100 is None:
                assert count.words
                continue
            assert 0 <= count.of_100 <= 100
            yes, no = count.of_100, 100 - count.of_100
            one = {0: "No in 100 of 100.", 100: "Yes in 100 of 100."}
            assert count.words == one.get(yes, f"Yes in {yes} of 100. No in the other {no}.")


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
    for way in (way for way in talk(name).ways if way.open):
        assert "Good years:" in way.price
        assert any(text.startswith("Good years:") for text in way.rows["price"])


@any_piano
def test_the_figures_are_those_of_the_appraisal(name):
    study, answer, found = figures(name)
    told = prospects(study, answer)
    for option in found.options:
        way = option.option if option.option != "retire" else ANOTHER if option.exchange else LET_GO
        assert told[way].price == option.price
        assert told[way].years == option.years
        assert told[way].expected_price == pytest.approx(option.expected_price)
        assert told[way].expected_value == pytest.approx(option.expected_value, abs=1e-6)
    assert sum(prospect.best for prospect in told.values()) == pytest.approx(1)


@any_piano
def test_what_is_told_to_be_paid_is_what_is_signed_and_the_most_it_can_come_to(name):
    study, _, found = figures(name)
    taxed = tax_of(study.tables, found.on)
    for option in found.options:
        if option.lines:
            quote = quote_of(option, taxed)
            price = talk(name).way(option.option).price
            assert price.startswith(f"You pay {exact(quote.total)} EUR.")
            assert (f"With all that may be found: {exact(quote.most)} EUR at most." in price) == bool(option.allowances)
            assert ("at most" in price) == bool(option.allowances)


def test_what_an_operation_adds_is_its_price_with_what_it_takes_less_what_it_makes_needless():
    study, answer, found = figures(NAMES[0])
    rebuild, keep = found.option("rebuild"), found.option("keep")
    tax = study.prices.tax
    assert added(study, answer, rebuild, "restring").adds == 0.0
    assert added(study, answer, rebuild, "no_such_work") is None
    finish = added(study, answer, rebuild, "refinish")
    assert [line.operation for line in finish.lines] == ["refinish"]
    assert finish.adds == pytest.approx(study.prices.operations["refinish"].taxed(tax).amount)
    # kept where it stands it has to be carried and taken apart first
    moved = added(study, answer, keep, "refinish")
    assert {line.operation for line in moved.lines} == {"refinish", "to_workshop", "case_stripped"}
    assert moved.adds == pytest.approx(sum(line.amount for line in moved.lines) + tax_on(moved.lines, tax))
    assert "case_touched_up" in finish.spared


def test_what_must_not_be_done_is_told_before_all_else_and_in_plain_words():
    first = talk(NAMES[3]).first
    assert "It must not be tuned. The iron frame has a crack." in first
    assert all(text.startswith("It must not be ") for text in first[: len(figures(NAMES[3])[2].stops) - 1])
    assert not any("must not" in text for text in talk(NAMES[6]).first)


def test_a_piano_hardly_looked_at_is_told_as_a_guess_and_never_as_good():
    told = talk(NAMES[4])
    assert "We did not take the action out." in told.unseen
    assert "We do not count it as good." in told.unseen[-1]
    assert not any("In good order: " in text and "soundboard" in text for text in told.found)
    assert told.advice == ("Not evaluated yet.", "We have not seen enough to advise you.")


@any_piano
def test_no_part_with_a_recorded_fault_is_told_to_be_in_good_order(name):
    _, _, found = figures(name)
    good = " ".join(text for text in talk(name).found if text.startswith(("In good order", "Old, but still")))
    names = dict(talk(name).part_names)
    for part in found.parts:
        if part.part in names and any(finding.grade in ("marked", "severe") for finding in part.findings):
            assert names[part.part] not in re.split(r", | and |: |\.", good), part.part


def test_what_was_found_and_outvoted_is_told_to_disagree():
    study, _, _ = figures(NAMES[6])
    frame = Finding(check="plate_crack", grade="severe")
    found = replace(study.visit, findings=(*(f for f in study.visit.findings if f.check != frame.check), frame))
    told = conversation_of(found, study.tables)
    assert not any(text.startswith("In good order") and "iron frame" in text for text in told.found)


@any_piano
def test_what_may_be_found_is_told_for_each_way_with_its_chance_its_price_and_what_would_be_seen(name):
    _, _, found = figures(name)
    for surprise in talk(name).surprises:
        assert surprise.seen.endswith(".")
        assert surprise.done.endswith(".")
        for way, words in surprise.words.items():
            lines = [
                a for a in found.option(way).allowances if (a.part, say(a.plain)) == (surprise.part, surprise.done)
            ]
            chances = {
                f"in {of_100(a.chance)} of 100 cases, then about {money(a.if_needed, 'EUR')} more" for a in lines
            }
            assert words in chances | {"nothing more"}


def test_the_figures_hold_for_the_days_of_the_setting():
    study, _, _ = figures(NAMES[0])
    told = talk(NAMES[0])
    assert (told.holds_until - study.visit.on).days == study.tables.settings.quote_days


def test_every_own_question_is_asked_and_a_price_is_told_only_where_the_tables_have_the_work():
    told = talk(NAMES[0], Wishes(finish="finish_new"))
    assert [question.question for question in told.questions] == list(QUESTIONS)
    answers = {answer.choice: answer for question in told.questions for answer in question.answers}
    assert answers["sheen_gloss"].costs["rebuild"] == "not in this price, to be quoted"
    assert answers["key_tops_new"].costs["rebuild"].endswith("EUR more")
    assert answers["finish_new"].costs["rebuild"].endswith("EUR more")
    assert "key_tops_ivory" in answers
    assert "key_tops_ivory" not in {a.choice for q in talk(NAMES[1]).questions for a in q.answers}
    assert told.questions[0].answer is answers["finish_new"]


def test_a_choice_that_the_tables_no_longer_know_does_no_harm():
    assert talk(NAMES[0], Wishes(finish="varnish")).questions[0].answer is None


def test_a_part_to_be_left_as_it_is_is_planned_around_and_what_stays_wrong_with_it_is_told():
    told = talk(NAMES[0], Wishes(left_original=("hammers",)))
    version = told.versions["rebuild"]
    assert version.left == ("hammers",)
    assert version.option.plan["hammers"] == "keep"
    assert talk(NAMES[0]).versions["rebuild"].option.plan["hammers"] != "keep"
    said = told.of_versions["rebuild"]
    assert said[0] == "At your wish this stays as it is: hammers."
    assert any(text.startswith("It stays with this fault:") for text in said)


def test_a_way_that_cannot_be_had_with_what_is_to_stay_says_why():
    told = talk(NAMES[3], Wishes(left_original=("plate",)))
    for way in ("partial_repair", "rebuild"):
        assert told.versions[way] == NoVersion(way=way, why_not="gate_fails")
        assert "Even then it could not be trusted to hold" in told.of_versions[way][0]
    assert not isinstance(told.versions["keep"], NoVersion)


def test_a_choice_that_would_change_what_is_to_stay_is_not_priced_but_asked_about():
    version = talk(NAMES[5], Wishes(left_original=("cabinet",), finish="finish_new")).versions["partial_repair"]
    assert [row.id for row in version.against_wish] == ["finish_new"]
    assert version.asked == ()
    assert not any(fixed.chosen for fixed in version.quote.lines)


def test_a_way_that_is_not_offered_is_still_told_and_says_why():
    near, safe = talk(NAMES[0]).way("partial_repair"), talk(NAMES[6]).way("partial_repair")
    assert not near.open
    assert near.rows["done"] == ("It would cost nearly as much as to rebuild it, so we do not offer it.",)
    assert safe.rows["done"] == ("There is nothing to repair beyond making it safe.",)
    assert [way.way for way in talk(NAMES[0]).ways] == list(WAYS)


def test_what_cannot_be_paid_for_is_told_as_such_and_stays():
    study, _, _ = figures(NAMES[0])
    poor = replace(study.visit, client=replace(study.visit.client, budget=5000.0))
    told = conversation_of(poor, study.tables)
    assert any("more than the 5,000 EUR" in text for text in told.way("rebuild").rows["price"])
    assert not any("more than the 5,000 EUR" in text for text in told.way("keep").rows["price"])
    assert [way.way for way in told.ways] == list(WAYS)


def test_what_it_is_worth_to_have_and_to_hear_it_enters_the_sums_and_nothing_else_does():
    study, _, found = figures(NAMES[5])
    asked = Wishes(to_hear=60_000.0, family=A_LOT, finish="finish_new")
    richer = visit_with(study.visit, asked)
    assert richer.client.to_hear == 60_000.0
    assert replace(richer, client=replace(richer.client, to_hear=study.visit.client.to_hear)) == study.visit
    dearer = appraise(richer, study.tables, on=study.on, draws=1024)
    # what it means to somebody chooses among the ways, and never changes what they hold or cost
    for mine, theirs in zip(dearer.options, found.options, strict=True):
        assert (mine.fixed_price, mine.lines) == (theirs.fixed_price, theirs.lines)
    assert dearer.option("rebuild").expected_net > found.option("rebuild").expected_net
    assert visit_with(study.visit, Wishes(family=A_LOT)) is study.visit


def test_a_level_set_by_hand_is_told_with_its_reason():
    study, answer, found = figures(NAMES[0])
    changes = {"hammers": ("replace", "she wants a softer tone"), "keys": ("keep", " ")}
    told = conversation(study, answer, found, Wishes(), changes)
    assert told.by_hand == (
        "hammers, replace: changed by hand: she wants a softer tone",
        "keys, keep: changed by hand, no reason given",
    )


@any_piano
def test_who_speaks_says_what_it_earns_and_sends_to_others(name):
    told = talk(name)
    assert any("also sells the work" in text for text in told.who)
    assert any("We earn money" in text for text in told.advice) == figures(name)[2].ready
    assert len(told.ask_others) >= 3


@any_piano
def test_no_placeholder_is_left_in_any_sentence(name):
    for text in said(talk(name)):
        assert "{" not in text
        assert "  " not in text


@given(WISHES)
def test_wishes_come_back_from_json_as_they_were(wishes):
    assert from_json(to_json(wishes)) == wishes


def test_the_one_premium_of_earlier_versions_is_split_into_the_two_figures():
    assert from_json({"premium": 1000.0}) == Wishes(to_have=300.0, to_hear=700.0)
    assert from_json({"premium": True}) == Wishes()


def test_a_wish_of_a_later_version_is_passed_over_and_a_wrong_one_is_named():
    assert from_json({"incense": True, "family": 2}) == Wishes(family=2)
    for name, value in [("family", 4), ("family", True), ("to_hear", -1), ("to_have", float("nan")), ("finish", 3)]:
        with pytest.raises(ValueError, match=f"wish '{name}'"):
            from_json({name: value})
    with pytest.raises(ValueError, match="left_original"):
        with_wish(Wishes(), "left_original", "hammers")
    with pytest.raises(ValueError, match="no wish 'wealth'"):
        with_wish(Wishes(), "wealth", 1)
    assert with_wish(Wishes(family=2), "family", None) == Wishes()
