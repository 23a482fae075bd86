"""Across tables: how sure checks are, what they read, in which order, and how pieces read."""

from __future__ import annotations

import pytest
import small_rules
from rule_changes import assert_told, named, problems_of

# what, changed table, row, cells, table where it is told, row where it is told, column, part of the message
CASES = [
    ("ratio that falls", "readings", "clear slight", {"none": "0.05", "slight": "0.91"}, "readings", "clear marked",
     "slight", "clear: slight to none is 18.2 before and 9 here, given slight and then marked; it may not fall"),
    ("truth unknown", "readings", "clear none", {"given": "nothing"}, "readings", "clear", "given",
     "'clear' needs one row for each of none, slight"),
    ("truths of two sorts", "readings", "told_air harsh", {"given": "heavy"}, "readings", "told_air stable", "given",
     "or of stable, seasonal, harsh"),
    ("sureness of a cause", "checks", "pin_feel", {"sureness": "told_air"}, "checks", "pin_feel", "sureness",
     "tells of air, but the check reads a fault"),
    ("sureness of a fault", "checks", "room", {"sureness": "clear"}, "checks", "room", "sureness",
     "tells of a fault, but the check reads air"),
    ("sureness of the other cause", "checks", "room", {"sureness": "told_use"}, "checks", "room", "sureness",
     "tells of use"),
    ("kind without the fault", "faults", "wire_rusty", {"kinds": "upright"}, "checks", "string_rust", "kinds",
     "'wire_rusty' is no fault of grands"),
    ("kind without the check before", "checks", "groove_depth", {"kinds": "upright"}, "checks", "heads_click",
     "asked_after", "no check 'groove_depth' for grands"),
    ("checks that wait for each other", "checks", "groove_depth",
     {"asked_after": "heads_click", "asked_from": "slight"}, "checks", "groove_depth", "asked_after",
     "so that none is asked"),
    ("readings in another unit", "checks", "groove_depth", {"readings_of": "pitch_fall"}, "checks", "groove_depth",
     "readings_of", "told in mm but the readings of 'pitch_fall' are in cents"),
    ("readings of a choice", "checks", "groove_depth", {"readings_of": "pin_feel"}, "checks", "groove_depth",
     "readings_of", "has no number of its own"),
    ("count of nothing", "checks", "string_rust", {"extent": "count"}, "checks", "string_rust", "extent",
     "'wire_rusty' says not what is counted"),
    ("pieces without rows", "pieces", "", {}, "checks", "pin_torque", "summary",
     "pieces.csv has no rows for 'pin_torque'"),
    ("pieces of another summary", "checks", "pin_torque", {"summary": "median"}, "pieces", "pin_torque", "check",
     "the summary of 'pin_torque' is not 'pieces'"),
    ("pieces that don't add up", "pieces", "pin_torque slight 5", {"share": "0.2"}, "pieces", "pin_torque slight 2",
     "share", "given slight the shares add to 0.95"),
    ("pieces that aren't alike", "pieces", "pin_torque slight 5", {"alike": "0.2"}, "pieces", "pin_torque slight 5",
     "alike", "it is 0.2 here and 0.3 before"),
    ("step that is missing", "pieces", "pin_torque slight 5", {"middle": "6"}, "pieces", "pin_torque none 2",
     "middle", "given slight there is no row at 5"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "row", "cells", "at", "at_row", "where", "fragment"), named(CASES))
def test_evidence_that_does_not_fit_is_told(table, row, cells, at, at_row, where, fragment):
    header = small_rules.PIECES.splitlines()[0] + "\n"
    changed = small_rules.changed(table, *row.split(" "), **cells) if cells else header
    assert_told(problems_of(**{table: changed}), at, at_row, where, fragment)


def test_a_level_of_a_cause_that_is_missing_is_told():
    problems = problems_of(readings=small_rules.without("readings", "told_use", "ordinary"))
    assert any("'told_use' needs one row for each" in problem.message for problem in problems)


def test_pieces_that_read_better_the_worse_it_is_are_told():
    changed = small_rules.PIECES.replace("marked,2,0.15", "marked,2,0.01").replace("marked,11,0.1,", "marked,11,0.24,")
    problems = problems_of(pieces=changed)
    assert_told(problems, "pieces", "pin_torque marked 2", "share", "given slight and then marked; it may not fall")


def test_one_step_tells_nothing():
    header = small_rules.PIECES.splitlines()[0] + "\n"
    rows = "".join(f"pin_torque,{given},5,1,0.3,invented,\n" for given in ("none", "slight", "marked", "severe"))
    problems = problems_of(pieces=header + rows)
    assert ["one step tells nothing" in problem.message for problem in problems] == [True]


def test_readings_of_a_check_that_the_other_kind_has_not_are_told():
    checks = small_rules.changed("checks", "pitch_fall", kinds="upright")
    row = small_rules.CHECKS.splitlines()[small_rules.line_of("checks", "pitch_fall") - 1]
    sharp = row.replace("pitch_fall", "pitch_rise", 1).replace(",count,", ",count,")
    cells = dict(zip(small_rules.CHECKS.splitlines()[0].split(","), sharp.split(","), strict=True)) | {
        "readings_of": "pitch_fall"
    }
    problems = problems_of(checks=checks + ",".join(cells.values()) + "\n")
    assert any("there is no check 'pitch_fall' for grands, as there is of this one" in p.message for p in problems)


def test_two_checks_may_use_the_same_number():
    row = small_rules.CHECKS.splitlines()[small_rules.line_of("checks", "pitch_fall") - 1]
    cells = dict(zip(small_rules.CHECKS.splitlines()[0].split(","), row.split(","), strict=True))
    cells |= {"id": "pitch_again", "readings_of": "pitch_fall"}
    book = small_rules.tables(checks=small_rules.CHECKS + ",".join(cells.values()) + "\n")
    assert book.checks[-1].readings_of == "pitch_fall"


def test_a_share_has_a_limit_and_needs_no_doubt_of_its_own():
    share = small_rules.changed(
        "checks", "pin_torque", id="pins_below", summary="share_below", limit="4", of_all="220", unit="%", better="low",
        cut_slight="2", cut_marked="8", cut_severe="25", repeats_within="", readings_of="pin_torque",
    )  # fmt: skip
    row = share.splitlines()[small_rules.line_of("checks", "pin_torque") - 1]
    book = small_rules.tables(checks=small_rules.CHECKS + row + "\n")
    assert (book.checks[-1].limit, book.checks[-1].of_all) == (4.0, 220)
