"""Within a row: columns that must agree with one another."""

from __future__ import annotations

import pytest
import small_rules
from rule_changes import assert_told, named, problems_of

# what, table, row, cells, column, part of the message
ROWS = [
    ("odds of less than a hundred", "fault_odds", "pins_loose", {"none": "50"}, "none",
     "add to 59; they must add to 100"),
    ("sureness that adds to less", "readings", "clear none", {"none": "0.5"}, "none", "they must add to 1"),
    ("state of no width", "states", "sound", {"score_high": "80"}, "score_high", "must be greater than score_low"),
    ("playing better when worse", "parts", "pinblock", {"play_worn": "0.98"}, "play_worn",
     "it is more than play_serv"),
    ("living longer when worse", "parts", "pinblock", {"years_worn": "28"}, "years_worn",
     "more than years_serviceable"),
    ("failing for less than its weight", "parts", "pinblock", {"value_failed": "0.4"}, "value_failed",
     "less than value_w"),
    ("tilt that falls", "tilts", "air weak", {"hard": "-0.2"}, "usual", "must rise: -0.1, 0, -0.2"),
    ("fault that betters", "faults", "pins_loose", {"makes_severe": "sound"}, "makes_severe",
     "sound is better than the worn"),
    ("cause without tilt", "faults", "pins_loose", {"tilt": ""}, "tilt", "say how strongly air brings it about"),
    ("tilt without cause", "faults", "pins_loose", {"cause": ""}, "cause", "say what brings it about"),
    ("extent of nothing", "faults", "pins_loose", {"piece": ""}, "piece", "say what is counted"),
    ("fault against itself", "conflicts", "pins_loose", {"with_fault": "pins_loose"}, "with_fault",
     "conflict with itself"),
    ("number without unit", "checks", "groove_depth", {"unit": ""}, "unit", "needs its unit"),
    ("number without side", "checks", "groove_depth", {"better": ""}, "better", "needs its better"),
    ("number without cut", "checks", "groove_depth", {"cut_marked": ""}, "cut_marked", "needs its cut_marked"),
    ("number without doubt", "checks", "groove_depth", {"repeats_within": ""}, "repeats_within",
     "needs its repeats_within"),
    ("number with words", "checks", "groove_depth", {"none": "new: no groove"}, "none", "has no use for none"),
    ("number with summary", "checks", "groove_depth", {"summary": "mean"}, "summary",
     "one number has no use for summary"),
    ("number with limit", "checks", "groove_depth", {"limit": "3"}, "limit", "not a share has no use for limit"),
    ("cuts that don't rise", "checks", "groove_depth", {"cut_marked": "3"}, "cut_slight",
     "must rise from slight to severe"),
    ("cuts that don't fall", "checks", "pitch_fall", {"cut_marked": "-10"}, "cut_slight",
     "must fall from slight to severe"),
    ("bounds that cross", "checks", "groove_depth", {"lowest": "15"}, "highest", "must be greater than lowest"),
    ("readings without summary", "checks", "pin_torque", {"summary": ""}, "summary", "needs its summary"),
    ("share without limit", "checks", "pin_torque", {"summary": "share_below"}, "limit", "a share needs its limit"),
    ("share in a unit", "checks", "pin_torque", {"summary": "share_below", "limit": "3"}, "unit",
     "told in %, not in N.m"),
    ("choice with cuts", "checks", "pin_feel", {"cut_slight": "3"}, "cut_slight", "choice has no use for cut_slight"),
    ("choice with season", "checks", "pin_feel", {"per_ten_humidity": "3"}, "per_ten_humidity",
     "no reading that humidity"),
    ("words without look", "checks", "pin_feel", {"none": "firm"}, "none", "must be 'word: what it looks like'"),
    ("one word twice", "checks", "pin_feel", {"slight": "firm: twice"}, "slight", "stands under none already"),
    ("another severity's word", "checks", "pin_feel", {"slight": "severe: no"}, "slight",
     "the name of another severity"),
    ("word that is kept", "checks", "pin_feel", {"slight": "can't be seen: no"}, "slight",
     "is kept for a check that was not"),
    ("choice without none", "checks", "pin_feel", {"none": ""}, "none", "needs words for none"),
    ("choice of one", "checks", "pin_feel", {"slight": "", "marked": "", "severe": ""}, "marked",
     "at least one of slight"),
    ("after without from", "checks", "heads_click", {"asked_from": ""}, "asked_from",
     "say from which severity of 'groove"),
    ("from without after", "checks", "heads_click", {"asked_after": ""}, "asked_after", "or empty asked_from"),
    ("after itself", "checks", "heads_click", {"asked_after": "heads_click"}, "asked_after",
     "can't be asked after itself"),
    ("quick but later", "checks", "heads_click", {"quick": "yes"}, "quick", "only after another check"),
    ("hours that don't rise", "operations", "restring", {"hours_likely": "10"}, "hours_likely",
     "must rise: 13, 10, 30"),
    ("low of nothing", "operations", "restring", {"hours_low": "0"}, "hours_low", "low must be above 0"),
    ("remedy of no part", "operations", "restring", {"part": ""}, "part", "a large remedy needs its part"),
    ("access of a part", "operations", "action_out", {"part": "hammers"}, "part",
     "only a small or large remedy has it"),
    ("access that renews", "operations", "action_out", {"renews": "action"}, "renews",
     "only a small or large remedy has it"),
    ("access that lasts", "operations", "action_out", {"lasts_years": "3"}, "lasts_years",
     "only a small or large remedy"),
    ("large on no rung", "operations", "restring", {"rung": ""}, "rung", "write 1 for the least"),
    ("small on a rung", "operations", "block_glued", {"rung": "1"}, "rung", "only a large remedy has a rung"),
    ("loss that isn't told", "operations", "block_glued", {"told": ""}, "told", "what a buyer must be told"),
    ("hours a piece that fall", "cures", "pins_driven", {"piece_high": "0.01"}, "piece_likely", "must rise"),
    ("cure that worsens", "cures", "pins_driven", {"slight": "severe"}, "slight", "can't leave more than it found"),
    ("cure of nothing", "cures", "pins_driven", {"slight": "", "marked": ""}, "severe", "of at least one of slight"),
    ("forbidden by two", "forbidden", "oversize_pins", {"feature": "drop_action"}, "fault",
     "exactly one that forbids it"),
    ("forbidden by nothing", "forbidden", "reshape", {"feature": ""}, "fault", "given: neither"),
    ("forbidden from nowhere", "forbidden", "oversize_pins", {"since": ""}, "since",
     "from which severity of the fault"),
    ("forbidden since alone", "forbidden", "reshape", {"since": "slight"}, "since", "only a fault has a severity"),
    ("caution for nothing", "cautions", "not_certified", {"always": "no"}, "always", "given: none"),
    ("caution for two", "cautions", "tension", {"always": "yes"}, "always", "given: always and operation"),
    ("caution from nowhere", "cautions", "flaking_wire", {"since": ""}, "since", "from which severity of the fault"),
    ("caution since alone", "cautions", "tension", {"since": "slight"}, "since", "only a fault has a severity"),
    ("step 0 that takes work", "openings", "closed", {"operations": "let_down"}, "operations",
     "step 0 opens nothing"),
    ("step of a kept name", "openings", "tension_down", {"id": "visit"}, "id", "is kept for what is seen without"),
    ("scope that nothing fills", "scopes", "put_right", {"systems_least": "2"}, "systems_most", "no plan could"),
    ("material that doesn't rise", "materials", "wire", {"price_likely": "50"}, "price_likely", "must rise"),
    ("rate that ends first", "rates", "workshop", {"valid_to": "2024-12-31"}, "valid_to", "before it begins"),
    ("size of no width", "sizes", "small_upright", {"from_mm": "1300"}, "to_mm", "must be greater than from_mm"),
    ("era that ends first", "eras", "old", {"to_year": "1699"}, "to_year", "before it begins in 1700"),
    ("price that falls with state", "bands", "upright", {"failed": "120"}, "failed", "it is more than worn"),
    ("replacement that doesn't rise", "replacements", "upright", {"price_low": "2600"}, "price_likely", "must rise"),
    ("free work", "choices", "key_tops_new", {"free": "yes"}, "free", "so there is work in it"),
    ("standard that asks nothing", "handover", "damper_lift", {"even_within": ""}, "low", "asks for nothing"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "row", "cells", "where", "fragment"), named(ROWS))
def test_a_row_at_odds_with_itself_is_told(table, row, cells, where, fragment):
    changed = small_rules.changed(table, *row.split(), **cells)
    assert_told(problems_of(**{table: changed}), table, row, where, fragment)


def test_rows_are_told_only_once_all_cells_are_readable():
    problems = problems_of(
        rates=small_rules.changed("rates", "home", per_hour="dear"),
        scopes=small_rules.changed("scopes", "put_right", systems_least="2"),
    )
    assert [problem.where for problem in problems] == ["per_hour"]


def test_all_faulty_rows_are_told_at_once():
    problems = problems_of(
        scopes=small_rules.changed("scopes", "put_right", systems_least="2"),
        operations=small_rules.changed("operations", "restring", rung=""),
    )
    assert [problem.file for problem in problems] == ["operations.csv", "scopes.csv"]
