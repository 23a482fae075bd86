"""Across tables: states, causes, parts, faults and their odds."""

from __future__ import annotations

import pytest
import small_rules
from rule_changes import assert_told, named, problems_of

_SPLIT = "block_split"
# what, changed table, row, cells, table where it is told, row where it is told, column, part of the message
CASES = [
    ("states out of order", "states", "worn", {"id": "failed"}, "states", None, "id",
     "in this order: sound, serviceable"),
    ("gap in the score", "states", "worn", {"score_high": "45"}, "states", "worn", "score_high", "it must end at 50"),
    ("score from above 0", "states", "failed", {"score_low": "5"}, "states", "failed", "score_low",
     "must begin at 0, not at 5"),
    ("worse gate, higher score", "states", "failed", {"whole_at_most": "70"}, "states", "failed", "whole_at_most",
     "that is worn"),
    ("level that is missing", "hidden", "air harsh", {"id": "wet"}, "hidden", None, "id",
     "air needs exactly these rows"),
    ("causes not of one", "hidden", "air harsh", {"odds": "0.3"}, "hidden", None, "odds", "odds of air add to 1.1"),
    ("tilt that is missing", "tilts", "air weak", {"cause": "use", "id": "weak2"}, "tilts", "air weak", "id",
     "is not a choice"),
    ("stronger tilt, less far", "tilts", "use strong", {"hard": "0.2"}, "tilts", "use strong", "hard",
     "it is less than medium"),
    ("component without parts", "parts", "hammers", {"component": "block"}, "components", "action", "id",
     "no part belongs to"),
    ("shares of worth", "parts", "hammers", {"value_weight": "0.2"}, "parts", None, "value_weight",
     "adds to 0.9 over"),
    ("gate nobody must see", "checks", "pin_torque", {"must": "quote"}, "parts", "pinblock", "gate",
     "for uprights and grands must"),
    ("gate unseen on grands", "checks", "pin_torque", {"kinds": "upright"}, "parts", "pinblock", "gate",
     "its faults for grands must"),
    ("part of two systems", "systems", "action", {"parts": "hammers;strings"}, "systems", "action", "parts",
     "belongs to 'block' already"),
    ("no odds for a fault", "fault_odds", "wire_rusty  15", {"build": "grand"}, "fault_odds", "wire_rusty  75", "age",
     "no row for all pianos at 15"),
    ("gap in a build", "fault_odds", "pins_loose tier:plain 75", {"fault": "wire_rusty"}, "fault_odds",
     "pins_loose tier:plain 15", "age", "'tier:plain' at 75 years; add it"),
    ("odds of a kind without it", "faults", _SPLIT, {"kinds": "upright"}, "checks", "block_crack", "kinds",
     "no fault of grands"),
    ("fault nobody sees", "checks", "block_crack", {"kinds": "upright"}, "faults", _SPLIT, "seen_at",
     "no check of grands reads"),
    ("fault seen by nothing open", "faults", "glue_in_holes", {"seen_at": "closed"}, "faults", "glue_in_holes",
     "seen_at", "opens nothing"),
    ("fault seen at no step", "openings", "strings_off", {"kinds": "upright"}, "faults", "glue_in_holes", "seen_at",
     "no step 'strings_off' for grands"),
    ("fault without remedy", "cures", "restring wire_rusty", {"severe": "severe"}, "faults", "wire_rusty", "id",
     "no remedy of uprights and grands cures 'wire_rusty' where it is severe"),
    ("remedy after all", "faults", "wire_rusty", {"note": "No remedy: wire is wire."}, "faults", "wire_rusty", "note",
     "'restring' cures it"),
    ("stop that nobody says", "cautions", "flaking_wire", {"since": "severe"}, "faults", "wire_rusty", "stop_raise",
     "from marked on; add one"),
    ("stop that is but a note", "cautions", "flaking_wire", {"rank": "note"}, "faults", "wire_rusty", "stop_tune",
     "from severe on; add one"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "row", "cells", "at", "at_row", "where", "fragment"), named(CASES))
def test_what_does_not_fit_together_is_told(table, row, cells, at, at_row, where, fragment):
    changed = small_rules.changed(table, *row.split(" "), **cells)
    assert_told(problems_of(**{table: changed}), at, at_row, where, fragment)


def test_a_part_with_which_nothing_can_be_wrong_is_told():
    row = small_rules.PARTS.splitlines()[2]
    more = small_rules.PARTS + row.replace("strings,", "bridges,", 1).replace(",0.2,0.3,", ",0,0.3,") + "\n"
    problems = problems_of(parts=more)
    assert [(problem.line, problem.where) for problem in problems] == [(5, "id")]
    assert "nothing can be wrong with 'bridges'" in problems[0].message


def test_a_piano_of_which_no_part_counts_is_told():
    text = small_rules.PARTS.replace(",no,yes,yes,2,", ",,yes,yes,0,")
    for part in ("pinblock", "strings", "hammers"):
        old = small_rules.PARTS.splitlines()[small_rules.line_of("parts", part) - 1]
        text = text.replace(
            old, old.replace(",2,0.5,", ",0,0.5,").replace(",1,0.2,", ",0,0.2,").replace(",1,0.3,", ",0,0.3,")
        )
    assert_told(problems_of(parts=text), "parts", None, "score_weight", "at least one part of every piano must count")


def test_a_tilt_that_is_missing_is_told():
    problems = problems_of(tilts=small_rules.without("tilts", "air", "medium"))
    assert_told(problems, "tilts", None, "id", "there is no row for air, medium; add it")


def test_a_fault_without_any_odds_is_told():
    problems = problems_of(fault_odds=small_rules.without("fault_odds", "wire_rusty"))
    assert_told(problems, "faults", "wire_rusty", "id", "'wire_rusty' has no odds for uprights and grands")


def test_a_narrow_build_may_end_early():
    book = small_rules.tables(fault_odds=small_rules.without("fault_odds", "pins_loose", "tier:plain", "130"))
    assert sum(odds.build == "tier:plain" for odds in book.fault_odds) == 2


def test_odds_for_a_kind_that_never_has_the_fault_are_told():
    problems = problems_of(
        faults=small_rules.changed("faults", "block_split", kinds="upright"),
        checks=small_rules.changed("checks", "block_crack", kinds="upright"),
        fault_odds=small_rules.FAULT_ODDS.replace("block_split,,", "block_split,grand,"),
    )
    row = small_rules.line_of("fault_odds", "block_split")
    told = [problem for problem in problems if (problem.file, problem.line) == ("fault_odds.csv", row)]
    assert ["is no fault of grands" in problem.message for problem in told] == [True]


def test_a_fault_of_which_the_note_says_that_nothing_cures_it_needs_no_remedy():
    book = small_rules.tables(
        faults=small_rules.changed("faults", "pitch_low", note="No remedy: it shows what else is the matter."),
        cures=small_rules.CURES.replace(
            "restring,pitch_low,none,none,none", "restring,pitch_low,slight,marked,severe"
        ).replace("pitch_raise,pitch_low,none,none,none", "pitch_raise,pitch_low,slight,marked,severe"),
    )
    assert book.faults[5].note.startswith("No remedy:")


def test_a_conflict_of_faults_that_never_meet_is_told():
    problems = problems_of(
        faults=[
            (
                small_rules.FAULTS.splitlines()[1] + "\n" + small_rules.FAULTS.splitlines()[2],
                small_rules.FAULTS.splitlines()[1].replace(",both,", ",upright,")
                + "\n"
                + small_rules.FAULTS.splitlines()[2],
            ),
            ("pitch_low,strings,both,", "pitch_low,strings,grand,"),
        ]
    )
    assert_told(problems, "conflicts", "pins_loose", "with_fault", "are never on one piano")


def test_a_fault_that_nobody_sees_on_pianos_with_a_feature_is_told():
    problems = problems_of(checks=small_rules.changed("checks", "block_crack", not_with="drop_action"))
    assert_told(problems, "faults", "block_split", "seen_at", "no check of uprights with drop_action reads")
    assert len(problems) == 1


def test_a_fault_of_a_feature_needs_its_check_only_there():
    book = small_rules.tables(
        faults=small_rules.changed("faults", "block_split", only_with="drop_action"),
        checks=small_rules.changed("checks", "block_crack", only_with="drop_action"),
    )
    assert book.checks[4].only_with == ("drop_action",)


def test_two_checks_may_share_the_pianos_between_them():
    row = small_rules.changed("checks", "block_crack", id="block_crack_drop", only_with="drop_action")
    more = row.splitlines()[small_rules.line_of("checks", "block_crack") - 1] + "\n"
    book = small_rules.tables(checks=small_rules.changed("checks", "block_crack", not_with="drop_action") + more)
    assert book.checks[-1].id == "block_crack_drop"


def test_a_fault_without_remedy_on_pianos_with_a_feature_is_told():
    problems = problems_of(operations=small_rules.changed("operations", "restring", not_with="straight_strung"))
    assert_told(problems, "faults", "wire_rusty", "id", "no remedy of uprights with straight_strung and")


def test_a_must_that_waits_for_another_check_does_not_open_a_gate():
    problems = problems_of(
        checks=small_rules.changed("checks", "pin_torque", asked_after="pin_feel", asked_from="slight")
    )
    assert_told(problems, "parts", "pinblock", "gate", "no check of its faults for uprights and grands must be made")


def test_odds_may_be_told_for_each_kind_alone():
    grand = small_rules.FAULT_ODDS.replace("wire_rusty,,", "wire_rusty,grand,")
    upright = [line for line in small_rules.FAULT_ODDS.splitlines(keepends=True) if line.startswith("wire_rusty,,")]
    book = small_rules.tables(fault_odds=grand + "".join(upright).replace("wire_rusty,,", "wire_rusty,upright,"))
    assert {odds.build for odds in book.fault_odds if odds.fault == "wire_rusty"} == {"upright", "grand"}
