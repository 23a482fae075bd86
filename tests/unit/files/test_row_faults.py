"""Within a row: columns that must agree with one another."""

from __future__ import annotations

import pytest
from table_changes import assert_told, change, faults_of, line_of, named

from valuation.errors import TableError
from valuation.rules import load_tables

# what, file, old text, new text, line, column, part of the message
ROWS = [
    ("hours that don't rise", "operations.csv", "3,4,6", "3,2,6",
     3, "hours_likely", "low, likely and high must rise: 3, 2, 6"),
    ("low of nothing", "operations.csv", "3,4,6", "0,4,6", 3, "hours_low", "low must be above 0"),
    ("outside cost that doesn't rise", "operations.csv", "200,300,500", "200,300,250",
     6, "outside_likely", "must rise"),
    ("price that doesn't rise", "materials.csv", "20,28,40", "20,48,40", 2, "price_likely", "must rise"),
    ("replacement that doesn't rise", "replacements.csv", "1500,2500", "2600,2500", 2, "price_likely", "must rise"),
    ("prior that adds to more", "priors.csv", "0.50,0.30", "0.60,0.30", 2, "sound", "add to 1.1; they must add to 1"),
    ("strength that adds to less", "strengths.csv", "0.60,0.25", "0.50,0.25",
     2, "good", "add to 0.9; they must add to 1"),
    ("playing better when worse", "parts.csv", "1,0.97", "0.9,0.97",
     2, "play_serviceable", "it is more than play_sound"),
    ("living longer when worse", "parts.csv", "40,20,8", "40,20,28",
     2, "years_worn", "it is more than years_serviceable"),
    ("price falling with state", "bands.csv", "20,100,400", "120,100,400", 2, "failed", "it is more than worn"),
    ("failing for less than the weight", "parts.csv", "0.5,0.8", "0.5,0.4",
     2, "value_failed", "less than value_weight"),
    ("state of no width", "states.csv", "80,100", "80,80",
     2, "score_high", "score_high must be greater than score_low"),
    ("age band of no width", "ages.csv", "0,60", "60,60", 2, "to_years", "to_years must be greater than from_years"),
    ("size of no width", "sizes.csv", "800,1200", "1300,1200", 2, "to_mm", "to_mm must be greater than from_mm"),
    ("era that ends before it begins", "eras.csv", "1700,1945", "1700,1699", 2, "to_year", "before it begins in 1700"),
    ("rate that ends before it begins", "rates.csv", "2025-12-31", "2024-12-31", 2, "valid_to", "before it begins"),
    ("repair of no part", "operations.csv", "both,pinblock,repair", "both,,repair",
     4, "part", "a repair needs its part"),
    ("repair that leaves nothing", "operations.csv", "new_block,serviceable,20", "new_block,,20",
     4, "leaves", "needs its leaves"),
    ("repair of no duration", "operations.csv", "serviceable,20", "serviceable,",
     4, "lasts_years", "needs its lasts_years"),
    ("access to a part", "operations.csv", "both,,access", "both,hammers,access",
     2, "part", "only repair and replace have a part"),
    ("follow that leaves a state", "operations.csv", "the tone,,,,", "the tone,,,sound,",
     10, "leaves", "have a leaves"),
    ("service that holds", "operations.csv", "tune the piano,,", "tune the piano,worn,",
     11, "holds_to", "hold to a state"),
    ("nothing instead", "operations.csv", "worn,new_block", "worn,",
     4, "instead", "it mends no more than worn: say what teardown"),
    ("instead of what mends all", "operations.csv", "worn,new_block", ",new_block",
     4, "instead", "nothing is needed instead"),
    ("caution for nothing", "cautions.csv", "note,yes", "note,no", 2, "always", "exactly one of always, check"),
    ("caution for two things", "cautions.csv", "warn,no", "warn,yes", 4, "always", "given: always and operation"),
    ("caution of no grade", "cautions.csv", "string_rust,failed", "string_rust,",
     3, "from_grade", "say from which grade"),
    ("caution of a grade alone", "cautions.csv", "warn,no,,", "warn,no,,poor",
     4, "from_grade", "only a check has a grade"),
    ("free work", "choices.csv", "voice,,no", "voice,,yes", 4, "free", "so there is work in it"),
    ("standard that asks nothing", "handover.csv", ",,,0.25,", ",,,,", 5, "low", "the standard asks for nothing"),
    ("standard no key can meet", "handover.csv", "9.5,11", "11.5,11", 3, "high", "so nothing could be within"),
    ("standard of no key", "handover.csv", "1,66", "67,66", 5, "to_key", "before they begin at 67"),
]  # fmt: skip

ANSWERS = [
    ("number without a unit", "number,mm", "number,", 6, "unit", "a check answered by a number needs its unit"),
    ("number without a cut", ",0.8,1.6,2.5", ",0.8,,2.5", 6, "cut_poor", "needs its cut_poor"),
    ("number without a range", "0.2,0,12", "0.2,0,", 6, "highest", "needs its highest"),
    ("number that repeats by nothing", "0.2,0,12", ",0,12", 6, "repeats_within", "needs its repeats_within"),
    ("number without direction", "mm,low", "mm,", 6, "better", "needs its better"),
    ("number with a summary", "0,12,,", "0,12,median,", 6, "summary", "answered by one number has no use for summary"),
    ("number with words", "0,12,,,,,,", "0,12,,,,,good: fine,", 6, "good", "answered by a number has no use for good"),
    ("readings without a summary", "0,30,median", "0,30,", 3, "summary", "answered by readings needs its summary"),
    ("cuts that rise where high is better", ",9,5.6,3.4", ",9,9.6,3.4",
     3, "cut_fair", "must fall from fair to failed: 9, 9.6, 3.4"),
    ("cuts that fall where low is better", ",0.8,1.6,2.5", ",0.8,0.6,2.5",
     6, "cut_fair", "must rise from fair to failed"),
    ("cuts that stand still", ",0.8,1.6,2.5", ",0.8,0.8,2.5", 6, "cut_fair", "must rise from fair to failed"),
    ("near to nothing", "near,5", "near,", 7, "target", "a check where nearer is better needs its target"),
    ("near to something impossible", "near,5", "near,50", 7, "target", "the target 50 lies outside 0 to 30"),
    ("nearer than at the target", "near,5,2", "near,5,-2", 7, "cut_fair", "distances from the target"),
    ("target where low is better", "low,,0.8", "low,3,0.8", 6, "target", "has no use for target"),
    ("range the wrong way round", "0.2,0,12", "0.2,12,0", 6, "highest", "highest must be greater than lowest"),
    ("share of nothing", "3.4,225", "3.4,", 4, "of_all", "a share needs its of_all"),
    ("share without a limit", "3.4,225", ",225", 4, "limit", "a share needs its limit"),
    ("share of its own readings", "share_below,pin_torque", "share_below,",
     4, "readings_of", "a share needs its readings_of"),
    ("share that repeats", "25,,0,100", "25,3,0,100",
     4, "repeats_within", "a share, whose doubt follows from how many"),
    ("share in other units", "readings,%", "readings,g", 4, "unit", "a share is told in %, not in g"),
    ("median of all", "median,,,", "median,,,225", 3, "of_all", "a check that is not a share has no use for of_all"),
    ("choice with a number", "2,history,choice,", "2,history,choice,mm", 2, "unit", "by a choice has no use for unit"),
    ("choice with nothing good", "bright: bright wire", "",
     5, "good", "a check answered by a choice needs words for good"),
    ("choice with nothing bad", "dull: dull wire,,flakes: rust comes off", ",,",
     5, "poor", "at least one of fair, poor and failed"),
    ("word without a picture", "bright: bright wire", "bright", 5, "good", "must be 'word: what it looks like'"),
    ("word with capitals", "bright: bright wire", "Bright: bright wire",
     5, "good", "the word of a-z, 0-9, _ and spaces"),
    ("word given twice", "dull: dull wire", "bright: dull wire",
     5, "fair", "the word 'bright' stands under good already"),
    ("word of another grade", "dull: dull wire", "poor: dull wire", 5, "fair", "is the name of another grade"),
    ("word for no answer", "dull: dull wire", "cannot be seen: hidden",
     5, "fair", "is kept for a check that was not made"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line", "where", "fragment"), named(ROWS))
def test_columns_that_disagree_are_told(small_tables_folder, file, old, new, line, where, fragment):
    change(small_tables_folder, file, old, new)
    assert_told(faults_of(small_tables_folder), file, line, where, fragment)


@pytest.mark.parametrize(("old", "new", "line", "where", "fragment"), named(ANSWERS))
def test_an_answer_that_can_not_be_graded_is_told(small_tables_folder, old, new, line, where, fragment):
    change(small_tables_folder, "checks.csv", old, new)
    assert_told(faults_of(small_tables_folder), "checks.csv", line, where, fragment)


def test_rows_are_not_checked_before_all_cells_are_sound(small_tables_folder):
    change(small_tables_folder, "ages.csv", "0,60", "60,60")
    change(small_tables_folder, "tiers.csv", "fine,fine,2", "fine,fine,two")
    with pytest.raises(TableError) as caught:
        load_tables(small_tables_folder)
    assert [problem.file for problem in caught.value.problems] == ["tiers.csv"]


def test_all_faults_of_one_step_are_told_at_once(small_tables_folder):
    change(small_tables_folder, "tiers.csv", "fine,fine,2", "fine,fine,two")
    change(small_tables_folder, "tiers.csv", "plain,plain,1,yes", "plain,,1,perhaps")
    change(small_tables_folder, "rates.csv", "64", "many")
    change(small_tables_folder, "settings.toml", "value = 0.2", "value = 2")
    places = [(p.file, p.line, p.where) for p in faults_of(small_tables_folder)]
    assert places == [
        ("rates.csv", 2, "per_hour"),
        ("settings.toml", line_of("tax") + 1, "tax.value"),
        ("tiers.csv", 2, "name"),
        ("tiers.csv", 2, "usual"),
        ("tiers.csv", 3, "rank"),
    ]
