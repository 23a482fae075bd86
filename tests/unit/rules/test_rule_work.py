"""Across tables: remedies, openings, scopes and prices."""

from __future__ import annotations

import pytest
import small_rules
from rule_changes import assert_told, named, problems_of

# what, changed table, row, cells, table where it is told, row where it is told, column, part of the message
CASES = [
    ("remedy of nothing", "cures", "head_glued", {"slight": "slight", "marked": "marked", "severe": "severe"},
     "operations", "head_glued", "id", "'head_glued' betters no fault"),
    ("large remedy, fault left out", "cures", "new_block glue_in_holes", {"operation": "block_glued"}, "operations",
     "new_block", "id", "what it leaves of 'glue_in_holes'"),
    ("two on one rung", "operations", "new_block", {"rung": "1"}, "operations", "new_block", "rung",
     "'oversize_pins' stands on rung 1"),
    ("cure by access", "cures", "head_glued", {"operation": "action_out"}, "cures", "head_glued", "operation",
     "'action_out' is access, which cures nothing"),
    ("access forbidden", "forbidden", "reshape", {"operation": "action_out"}, "forbidden", "reshape", "operation",
     "which nothing forbids"),
    ("follower of one kind", "operations", "voice", {"kinds": "upright"}, "operations", "reshape", "followed_by",
     "there is no 'voice' for grands"),
    ("covered of one kind", "operations", "pins_driven", {"kinds": "upright"}, "operations", "oversize_pins",
     "covers", "there is no 'pins_driven' for grands"),
    ("step of another axis", "operations", "restring", {"strings": "action_home"}, "operations", "restring",
     "strings", "a step of action, not of strings; write one of closed"),
    ("work in a circle", "operations", "tune", {"followed_by": "restring"}, "operations", "restring", "followed_by",
     "must each come before the next"),
    ("covers in a circle", "operations", "pins_driven", {"covers": "new_block"}, "operations", "pins_driven",
     "covers", "make one another needless"),
    ("steps with a gap", "openings", "action_home", {"step": "3"}, "openings", "action_rebuilt", "step",
     "here 1 should stand, not 2"),
    ("no step 0", "openings", "board_kept", {"axis": "finish", "step": "1"}, "openings", None, "axis",
     "board has no step for uprights"),
    ("step that takes a remedy", "openings", "action_home", {"operations": "reshape"}, "openings", "action_home",
     "operations", "'reshape' is a remedy; name it in forces"),
    ("step's work of one kind", "operations", "action_out", {"kinds": "grand"}, "openings", "action_home",
     "operations", "no 'action_out' for uprights"),
    ("step that needs its own axis", "openings", "strings_off", {"needs": "tension_down"}, "openings", "strings_off",
     "needs", "a step of strings itself"),
    ("needed step of one kind", "openings", "action_home", {"kinds": "grand"}, "openings", "strings_off", "needs",
     "no step 'action_home' for uprights"),
    ("forces without a remedy", "openings", "action_rebuilt", {"forces": "hammers"}, "openings", "action_rebuilt",
     "forces", "must be 'part:operation'"),
    ("forces a part unknown", "openings", "action_rebuilt", {"forces": "hammer:new_hammers"}, "openings",
     "action_rebuilt", "forces", "'hammer' is not in parts.csv; did you mean 'hammers'?"),
    ("forces another part's remedy", "openings", "action_rebuilt", {"forces": "hammers:restring"}, "openings",
     "action_rebuilt", "forces", "'restring' is no remedy of 'hammers'"),
    ("forces work of one kind", "operations", "new_hammers", {"kinds": "grand"}, "openings", "action_rebuilt",
     "forces", "none of 'new_hammers' is for uprights"),
    ("verdict without scope", "scopes", "put_right", {"verdict": "keep"}, "scopes", None, "verdict",
     "no scope stands for 'partial_repair'"),
    ("scope that holds less", "scopes", "rebuild", {"holds": "stops"}, "scopes", "rebuild", "holds",
     "stops is less than the broken of 'put_right'"),
    ("verdicts out of order", "scopes", "safe", {"verdict": "rebuild"}, "scopes", "put_right", "verdict",
     "put the rows in order"),
    ("repair that is a rebuild", "scopes", "put_right", {"systems_most": "2"}, "scopes", "rebuild", "systems_least",
     "both a rebuild and a repair"),
    ("scope of fewer systems", "scopes", "safe", {"systems_most": "2"}, "scopes", "put_right", "systems_most",
     "less than the 2 of 'safe'"),
    ("more systems than there are", "scopes", "rebuild", {"systems_least": "3", "systems_most": "3"}, "scopes",
     "rebuild", "systems_least", "there are only 2 systems"),
    ("sizes with a gap", "sizes", "full_upright", {"from_mm": "1250"}, "sizes", "full_upright", "from_mm",
     "must begin at 1200 mm"),
    ("two usual tiers", "tiers", "fine", {"usual": "yes"}, "tiers", None, "usual", "there are 2"),
    ("eras with a gap", "eras", "new", {"from_year": "1950"}, "eras", "new", "from_year", "must begin in 1946"),
    ("band that is missing", "bands", "grand", {"tier": "fine"}, "bands", None, "kind",
     "no row for grand, any_grand, plain, old"),
    ("finer but cheaper", "bands", "grand any_grand fine", {"sound": "6000", "serviceable": "5900"}, "bands",
     "grand any_grand fine", "sound", "raise it"),
    ("stage that unsays a yes", "stages", "delivered", {"outcome": "no"}, "stages", "delivered", "outcome",
     "a yes stays a yes"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "row", "cells", "at", "at_row", "where", "fragment"), named(CASES))
def test_work_that_does_not_fit_is_told(table, row, cells, at, at_row, where, fragment):
    changed = small_rules.changed(table, *row.split(" "), **cells)
    assert_told(problems_of(**{table: changed}), at, at_row, where, fragment)


def test_a_gap_between_two_rates_is_told():
    problems = problems_of(rates=small_rules.changed("rates", "workshop", valid_to="2025-11-30"))
    assert ["no row holds between 2025-11-30 and 2026-01-01" in problem.message for problem in problems] == [True]


def test_a_cure_for_a_kind_that_never_has_the_fault_is_told():
    problems = problems_of(
        faults=small_rules.changed("faults", "heads_loose", kinds="grand"),
        checks=small_rules.changed("checks", "heads_click", kinds="grand"),
        operations=small_rules.changed("operations", "head_glued", kinds="upright"),
    )
    assert_told(problems, "cures", "head_glued", "fault", "not for the kind of piano that has 'heads_loose'")


def test_a_step_that_one_kind_has_not_is_told():
    openings = small_rules.OPENINGS.replace("tension_down,both", "tension_down,upright").replace(
        "strings_off,both,strings,2", "strings_off,upright,strings,2"
    )
    problems = problems_of(openings=openings)
    assert_told(problems, "operations", "restring", "strings", "there is no step 'strings_off' for grands")


@pytest.mark.parametrize(
    ("setting", "value", "fragment"),
    [
        ("leaning_share", "0.9", "may not ask for more than clear"),
        ("currency", "'euro'", "three capital letters"),
        ("keep_operations", "['restring']", "which is not 'keep'; name a service"),
        ("raise_operation", "'new_block'", "which is not 'keep'; name a service"),
    ],
)
def test_settings_that_do_not_fit_are_told(setting, value, fragment):
    old = f"[{setting}]\nvalue = {small_rules.SETTINGS[setting][0]}"
    problems = problems_of(settings=(old, f"[{setting}]\nvalue = {value}"))
    assert [problem.where for problem in problems if fragment in problem.message] == [f"{setting}.value"]


def test_a_service_that_one_kind_lacks_is_told():
    problems = problems_of(operations=small_rules.changed("operations", "pitch_raise", kinds="grand"))
    assert any("there is no 'pitch_raise' for uprights" in problem.message for problem in problems)
