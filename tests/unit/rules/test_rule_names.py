"""Across tables: names that are used exist, and no row is there twice."""

from __future__ import annotations

import pytest
import small_rules
from rule_changes import assert_told, named, problems_of

# what, table, row, cells, column, part of the message
REFERENCES = [
    ("component", "parts", "strings", {"component": "blok"}, "component",
     "not in components.csv; did you mean 'block'?"),
    ("feature", "parts", "strings", {"only_with": "dropaction"}, "only_with", "did you mean 'drop_action'?"),
    ("part", "faults", "pins_loose", {"part": "block"}, "part", "'block' is not in parts.csv"),
    ("step", "faults", "heads_loose", {"seen_at": "home"}, "seen_at", "'home' is not in openings.csv"),
    ("fault of odds", "fault_odds", "pins_loose", {"fault": "pins_lose"}, "fault", "did you mean 'pins_loose' or"),
    ("build", "fault_odds", "pins_loose", {"build": "tier:plane"}, "build", "did you mean 'tier:plain' or"),
    ("fault of a check", "checks", "pin_feel", {"reads": "pins_lose"}, "reads", "did you mean 'pins_loose' or"),
    ("sureness", "checks", "pin_feel", {"sureness": "blunted"}, "sureness",
     "not in readings.csv; did you mean 'blunt'?"),
    ("check before", "checks", "heads_click", {"asked_after": "groove"}, "asked_after",
     "'groove' is not in checks.csv"),
    ("check of readings", "checks", "groove_depth", {"readings_of": "depth"}, "readings_of",
     "'depth' is not in checks.csv"),
    ("rate", "operations", "tune", {"where": "hom"}, "where", "did you mean 'home'?"),
    ("material", "operations", "restring", {"materials": "wires:2"}, "materials", "did you mean 'wire'?"),
    ("step of strings", "operations", "restring", {"strings": "string_off"}, "strings",
     "did you mean 'strings_off'?"),
    ("follower", "operations", "restring", {"followed_by": "tuning"}, "followed_by", "did you mean 'tune'?"),
    ("system", "operations", "new_block", {"renews": "blocks"}, "renews", "did you mean 'block'?"),
    ("remedy", "cures", "restring", {"operation": "restringing"}, "operation", "did you mean 'restring'?"),
    ("fault that forbids", "forbidden", "oversize_pins", {"fault": "split"}, "fault", "'split' is not in faults.csv"),
    ("work of a step", "openings", "action_home", {"operations": "action"}, "operations",
     "did you mean 'action_out'"),
    ("part of a system", "systems", "action", {"parts": "hammer"}, "parts", "did you mean 'hammers'?"),
    ("what takes longer", "feature_hours", "drop_action", {"applies_to": "part:hammer"}, "applies_to",
     "'part:hammers'"),
    ("fault of a caution", "cautions", "flaking_wire", {"fault": "rust"}, "fault", "'rust' is not in faults.csv"),
    ("work of a choice", "choices", "key_tops_new", {"operation": "voicing"}, "operation", "did you mean 'voice'?"),
    ("source", "tilts", "air weak", {"source": "invent"}, "source", "did you mean 'invented'?"),
]  # fmt: skip

TWICE = [
    ("part", "parts", "hammers", {"id": "strings"}, "id", "'strings' stands already in line 3; rename or delete one"),
    ("check", "checks", "pin_feel", {"id": "pin_torque"}, "id", "only for the other kind of piano"),
    ("odds", "fault_odds", "pins_loose  75", {"age": "15"}, "fault", "'pins_loose, 15' stands already"),
    ("sureness", "readings", "clear slight", {"given": "none"}, "id", "'clear, none' stands already"),
    ("cure", "cures", "new_block block_split", {"fault": "pins_loose"}, "operation",
     "'new_block, pins_loose' stands"),
    ("level", "hidden", "use light", {"cause": "air", "id": "harsh"}, "cause", "'air, harsh' stands already"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "row", "cells", "where", "fragment"), named(REFERENCES))
def test_a_name_that_stands_nowhere_is_told(table, row, cells, where, fragment):
    changed = small_rules.changed(table, *row.split(), **cells)
    assert_told(problems_of(**{table: changed}), table, row, where, fragment)


@pytest.mark.parametrize(("table", "row", "cells", "where", "fragment"), named(TWICE))
def test_a_row_that_is_there_twice_is_told(table, row, cells, where, fragment):
    changed = small_rules.changed(table, *row.split(" "), **cells)
    assert_told(problems_of(**{table: changed}), table, row, where, fragment)


def test_a_check_may_be_there_for_each_kind():
    texts = small_rules.texts()
    row = texts["checks"].splitlines()[small_rules.line_of("checks", "pin_feel") - 1]
    apart = row.replace(",both,", ",upright,", 1) + "\n" + row.replace(",both,", ",grand,", 1)
    book = small_rules.tables(checks=texts["checks"].replace(row, apart))
    assert [check.kinds for check in book.checks if check.id == "pin_feel"] == ["upright", "grand"]


@pytest.mark.parametrize(
    ("setting", "value", "key", "fragment"),
    [
        ("visit_rate", "'hom'", "value", "did you mean 'home'?"),
        ("keep_operations", "['tuna']", "value", "did you mean 'tune'?"),
        ("raise_fault", "'pitch'", "value", "'pitch' is not in faults.csv"),
    ],
)
def test_a_setting_that_names_nothing_is_told(setting, value, key, fragment):
    old = f"[{setting}]\nvalue = {small_rules.SETTINGS[setting][0]}"
    problems = problems_of(settings=(old, f"[{setting}]\nvalue = {value}"))
    assert [(problem.where, fragment in problem.message) for problem in problems] == [(f"{setting}.{key}", True)]


def test_the_source_of_a_setting_stands_in_its_table():
    old = "[tax]\nvalue = 'usual'\nunit = ''\nsource = 'own_estimate'"
    problems = problems_of(settings=(old, old.replace("own_estimate", "estimate")))
    assert [problem.where for problem in problems] == ["tax.source"]
