"""Across tables: names that must exist, odds and prices that must be whole."""

from __future__ import annotations

import csv
import io

import pytest
from table_changes import assert_told, change, faults_of, line_of, named

from valuation.facts.columns import columns_of
from valuation.rules import load_tables
from valuation.files.check_names import NAMES_ELSEWHERE
from valuation.files.faults import file_of
from valuation.rules.load import ROW_CLASSES

# what, file, old text, new text, line, column, part of the message
NAMES = [
    ("unknown source", "rates.csv", "invented", "inventd",
     2, "source", "is not in sources.csv; did you mean 'invented'?"),
    ("unknown component", "parts.csv", "hammers,action", "hammers,actoin",
     4, "component", "is not in components.csv; did you mean 'action'"),
    ("unknown part of a prior", "priors.csv", "hammers,young", "hammer,young", 14, "part", "did you mean 'hammers'?"),
    ("unknown part of a family", "families.csv", "felt,hammers", "felt,hammer",
     5, "part", "is not in parts.csv; did you mean 'hammers'?"),
    ("unknown view", "families.csv", "the wire,view", "the wire,views",
     4, "view", "is not in strengths.csv; did you mean 'view'?"),
    ("unknown feature of a part", "parts.csv", "strings,always", "strings,drop",
     3, "present", "is not in features.csv"),
    ("unknown family", "checks.csv", "both,wire", "both,wires",
     5, "family", "is not in families.csv; did you mean 'wire'?"),
    ("unknown strength", "checks.csv", "2,medium,choice", "2,middle,choice", 5, "strength", "is not in strengths.csv"),
    ("unknown readings", "checks.csv", "share_below,pin_torque", "share_below,torque",
     4, "readings_of", "'pin_torque'"),
    ("unknown rate", "operations.csv", "0.8,home", "0.8,house",
     2, "where", "'house' is not in rates.csv; did you mean 'home'?"),
    ("unknown material", "operations.csv", "wire:2.5", "wires:2.5",
     7, "materials", "is not in materials.csv; did you mean 'wire'?"),
    ("unknown need", "operations.csv", ",,,strings_off", ",,,string_off",
     4, "needs", "did you mean 'strings_off' or 'restring'?"),
    ("unknown follower", "operations.csv", "restring,,own", "restrung,,own",
     4, "followed_by", "did you mean 'restring'?"),
    ("unknown cover", "operations.csv", "oversize_pins,own", "oversize_pin,own",
     5, "covers", "did you mean 'oversize_pins'?"),
    ("unknown instead", "operations.csv", "worn,new_block", "worn,new_blok", 4, "instead", "did you mean 'new_block'?"),
    ("unknown check of a caution", "cautions.csv", "string_rust", "string_dust",
     3, "check", "did you mean 'string_rust'?"),
    ("unknown blocked work", "cautions.csv", ",tune,", ",tuning,",
     3, "blocks", "is not in operations.csv; did you mean 'tune'?"),
    ("unknown required work", "cautions.csv", ",action_out,", ",action,", 5, "requires", "did you mean 'action_out'?"),
    ("unknown work of a caution", "cautions.csv", ",strings_off,", ",string_off,", 4, "operation", "'strings_off'"),
    ("unknown feature of a caution", "cautions.csv", ",,,drop_action", ",,,drop",
     5, "feature", "is not in features.csv"),
    ("unknown first treatment", "cautions.csv", ",strings,Fl", ",string,Fl",
     3, "treat_first", "did you mean 'strings'"),
    ("unknown size of a band", "bands.csv", "upright,small_upright", "upright,small", 2, "size", "is not in sizes.csv"),
    ("unknown source of a setting", "settings.toml", "'own_estimate'", "'estimate'",
     line_of("currency"), "currency.source", "'own_estimate'"),
    ("unknown rate of a setting", "settings.toml", "'home'", "'house'",
     line_of("visit_rate"), "visit_rate.value", "is not in rates.csv"),
    ("unknown work of a setting", "settings.toml", "'tune'", "'tuning'",
     line_of("keep_operations"), "keep_operations.value", "did you mean 'tune'?"),
    ("id given twice", "materials.csv", "pins,", "wire,", 3, "id", "'wire' stands already in line 2"),
    ("prior given twice", "priors.csv", "young,seasonal", "young,stable", 3, "part", "stands already in line 2"),
    ("check twice for one kind", "checks.csv", "hammer_swings", "string_rust",
     7, "id", "only for the other kind of piano"),
    ("work twice for one kind", "operations.csv", "new_block,grand", "new_block,upright",
     6, "id", "only for the other kind"),
    ("work for both and one kind", "operations.csv", "new_block,grand", "new_block,both",
     6, "id", "only for the other kind"),
]  # fmt: skip

WORK = [
    ("work that is there for uprights only", "operations.csv", "new_block,grand", "grand_block,grand",
     4, "instead", "there is no 'new_block' for grands"),
    ("cycle of needs", "operations.csv", "6,workshop,,,,,,,,own", "6,workshop,,,,,restring,,,own",
     3, "needs", "strings_off > oversize_pins > restring > strings_off"),
    ("cycle through a follower", "operations.csv", "12,home,,,,,,,,own", "12,home,,,,,,action_out,,own",
     2, "needs", "action_out > "),
    ("work that needs itself", "operations.csv", "4,home,,,,,,,,own", "4,home,,,,,tune,,,own",
     11, "needs", "tune > tune"),
    ("two that cover each other", "operations.csv", "restring,,own", "restring,new_block,own",
     4, "covers", "oversize_pins > new_block > oversize_pins"),
    ("instead of another part", "operations.csv", "worn,new_block", "worn,new_hammers",
     4, "instead", "treats 'hammers', not the pinblock"),
    ("instead that holds no worse", "operations.csv", "worn,new_hammers", "worn,reshape_hammers",
     8, "instead", "holds to worn, no worse than worn"),
    ("core that nothing treats", "operations.csv", "restring,both", "restring,upright",
     3, "core", "a rebuild must replace the strings, but no operation of grands does"),
    ("nothing to keep a grand", "operations.csv", "tune,both", "tune,upright",
     line_of("keep_operations"), "keep_operations.value", "there is no 'tune' for grands"),
    ("keeping by a treatment", "settings.toml", "['tune']", "['restring']",
     line_of("keep_operations"), "keep_operations.value", "treats a part, which is not 'keep'"),
    ("readings for uprights only", "checks.csv", "pin_torque,both", "pin_torque,upright",
     4, "readings_of", "there is no check 'pin_torque' for grands"),
    ("readings in another unit", "checks.csv", "%,low,,2,8,25,,0,100,share_below,pin_torque,3.4,225",
     "mm,low,,2,8,25,1,0,100,spread,pin_torque,,",
     4, "readings_of", "told in mm but the readings of 'pin_torque' are in N.m"),
    ("readings of a choice", "checks.csv", "share_below,pin_torque", "share_below,string_rust",
     4, "readings_of", "has no readings of its own"),
]  # fmt: skip

ODDS = [
    ("state missing", "states.csv", "worn,worn,20,50,does its work badly,own_estimate,\n", "",
     0, "id", "exactly these rows, in this order"),
    ("states in disorder", "states.csv", "sound,sound,80,100", "failed,sound,80,100",
     0, "id", "in this order: sound, serviceable"),
    ("gap in the score", "states.csv", "50,80", "50,75", 3, "score_high", "ends at 75; it must end at 80"),
    ("score that doesn't reach 0", "states.csv", "0,20", "5,20", 5, "score_low", "the score must begin at 0, not at 5"),
    ("exposure missing", "exposures.csv", "harsh,harsh,0.2,damp or very dry for years,invented,\n", "",
     0, "id", "exactly these rows"),
    ("odds that don't add", "exposures.csv", "0.5", "0.6", 0, "odds", "the odds add to 1.1; they must add to 1"),
    ("component without parts", "components.csv", "action,action,\n", "action,action,\ncase,case,\n",
     4, "id", "no part belongs to 'case'"),
    ("worth that doesn't add", "parts.csv", "2,0.5,", "2,0.6,", 0, "value_weight", "adds to 1.1; it must add to 1"),
    ("ages that begin late", "ages.csv", "0,60", "1,60", 2, "from_years", "the band must begin at 0"),
    ("gap between ages", "ages.csv", "60,400", "70,400",
     3, "from_years", "must begin at 60, where the one before ends; it begins at 70"),
    ("ages that end early", "ages.csv", "60,400", "60,100",
     0, "to_years", "the last band must reach 400 years; it ends at 100"),
    ("prior missing", "priors.csv", "strings,old,seasonal,0.20,0.30,0.30,0.20,invented,\n", "",
     0, "part", "there is no row for strings, old, seasonal"),
    ("prior that falls in ratio", "priors.csv", "0.15,0.30,0.30,0.25", "0.25,0.45,0.20,0.10",
     4, "worn", "pinblock, young: worn to serviceable is 0.5714 for seasonal and 0.4444 for harsh"),
    ("strength that falls in ratio", "strengths.csv", "0.10,0.20,0.45,0.25", "0.10,0.40,0.40,0.10",
     4, "failed", "medium: failed to poor is 0.5 for serviceable and 0.25 for worn"),
    ("strength that lacks a state", "strengths.csv", "medium,worn,0.10,0.20,0.45,0.25,invented,\n", "",
     2, "given", "'medium' needs one row for each of sound"),
    ("strength that mixes states and exposures", "strengths.csv", "history,harsh", "history,worn",
     10, "given", "'history' needs one row"),
    ("history with a view", "families.csv", "of its life,none", "of its life,view",
     2, "view", "a history family has no view; write 'none'"),
    ("part without a view", "families.csv", "the wire,view", "the wire,none",
     4, "view", "a family of a part needs a view"),
    ("part seen through history", "families.csv", "the wire,view", "the wire,history",
     4, "view", "the view of a part needs one given states"),
    ("history check given states", "checks.csv", "2,history,choice", "2,medium,choice",
     2, "strength", "'medium' does not fit family 'told', which needs one given exposures"),
    ("part check given exposures", "checks.csv", "2,medium,choice", "2,history,choice",
     5, "strength", "needs one given states"),
]  # fmt: skip

MONEY = [
    ("gap between sizes", "sizes.csv", "upright,1200", "upright,1300",
     3, "from_mm", "must begin at 1200 mm, where 'small_upright' ends, not at 1300 mm"),
    ("no usual size", "sizes.csv", "full upright,yes", "full upright,no",
     0, "usual", "exactly one size of uprights must be usual; there are 0"),
    ("two usual sizes", "sizes.csv", "small upright,no", "small upright,yes", 0, "usual", "there are 2"),
    ("two usual tiers", "tiers.csv", "fine,2,no", "fine,2,yes",
     0, "usual", "exactly one tier must be usual; there are 2"),
    ("rank given twice", "tiers.csv", "fine,2,no", "fine,1,no", 3, "rank", "rank 1 is that of 'plain' already"),
    ("gap between eras", "eras.csv", "1946,2100", "1947,2100",
     3, "from_year", "must begin in 1946, the year after 'old', not in 1947"),
    ("eras that begin late", "eras.csv", "1700", "1800",
     0, "from_year", "the eras must reach from 1700 or before to 2100"),
    ("eras that end early", "eras.csv", "2100", "2030",
     0, "from_year", "the eras must reach from 1700 or before to 2100"),
    ("year assumed in no era", "settings.toml", "1915", "1650",
     line_of("usual_year") + 1, "usual_year.value", "the least is 1700"),
    ("band missing", "bands.csv", "grand,any_grand,fine,old,500,4000,14000,30000,1.6,2025-01-01,,invented,\n", "",
     0, "kind", "there is no row for grand, any_grand, fine, old"),
    ("replacement missing", "replacements.csv", "grand,fine,a fine", "grand,plain,a fine",
     0, "kind", "there is no row for grand, fine"),
    ("size of the other kind", "bands.csv", "grand,any_grand", "upright,any_grand",
     10, "size", "'any_grand' is a size of grands, not of uprights"),
    ("two rates on one day", "rates.csv", "2025-12-31", "2026-01-31",
     3, "valid_from", "workshop: two rows hold on 2026-01-01"),
    ("two rates without end", "rates.csv", "2025-12-31", "", 3, "valid_from", "the one before has no last day"),
    ("days without a rate", "rates.csv", "2025-12-31", "2025-11-30",
     3, "valid_from", "no row holds between 2025-11-30 and 2026-01-01"),
    ("rate that begins late", "rates.csv", "75,2025-01-01", "75,2025-02-01",
     4, "valid_from", "home: this begins on 2025-02-01, but the table on 2025-01-01"),
    ("rate that ends early", "rates.csv", "75,2025-01-01,", "75,2025-01-01,2026-12-31",
     4, "valid_to", "home: this ends on 2026-12-31, but others stay valid"),
    ("band that ends early", "bands.csv", "45000,1.6,2025-01-01,", "45000,1.6,2025-01-01,2025-12-31",
     13, "valid_to", "others stay valid"),
    ("band that begins twice", "bands.csv", "grand,any_grand,fine,new", "grand,any_grand,fine,old",
     13, "valid_from", "two rows hold"),
    ("finer and cheaper", "bands.csv", "30,200,800,1800", "30,200,800,800",
     4, "sound", "800 is less than the 900 of the lower tier 'plain'"),
    ("leaning surer than clear", "settings.toml", "value = 0.6", "value = 0.9",
     line_of("leaning_share"), "leaning_share.value", "may not ask for more than clear"),
    ("currency in words", "settings.toml", "'EUR'", "'euro'",
     line_of("currency"), "currency.value", "'euro' is not a currency code"),
]  # fmt: skip

JOBS = [
    ("gap in the way", "stages.csv", "delivered,delivered,4", "delivered,delivered,5",
     5, "step", "must be 1, 2, 3 and so on; here 4 should stand, not 5"),
    ("two stages at one step", "stages.csv", "delivered,delivered,4", "delivered,delivered,3",
     5, "step", "here 4 should stand, not 3"),
    ("yes unsaid on the way", "stages.csv", "delivered,4,yes", "delivered,4,open",
     5, "outcome", "it comes after 'accepted', which is a yes"),
    ("no stage of declining", "stages.csv", "declined,0,no,", "declined,0,open,", 0, "outcome", "no stage is 'no'"),
    ("in hand without a yes", "stages.csv", "silent,0,open,no", "silent,0,open,yes",
     7, "in_hand", "only what was accepted is in hand"),
    ("reason for no stage", "reasons.csv", "declined;silent", "declined;silence",
     2, "stages", "is not in stages.csv; did you mean 'silent'?"),
    ("follow-up of no stage", "follow_ups.csv", "stands,evaluated", "stands,valued", 2, "stage", "'evaluated'"),
    ("standard after unknown work", "handover.csv", ",new_block,", ",new_blok,", 2, "after", "'new_block'"),
    ("standard twice for one kind", "handover.csv", "key_dip,grand", "key_dip,upright",
     4, "id", "only for the other kind of piano"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line", "where", "fragment"), named(NAMES + ODDS + MONEY + JOBS))
def test_tables_that_do_not_fit_together_are_told(small_tables_folder, file, old, new, line, where, fragment):
    change(small_tables_folder, file, old, new)
    assert_told(faults_of(small_tables_folder), file, line, where, fragment)


@pytest.mark.parametrize(("file", "old", "new", "line", "where", "fragment"), named(WORK))
def test_work_that_can_not_be_done_is_told(small_tables_folder, file, old, new, line, where, fragment):
    change(small_tables_folder, file, old, new)
    told_in = {"keep_operations.value": "settings.toml", "core": "parts.csv"}.get(where, file)
    assert_told(faults_of(small_tables_folder), told_in, line, where, fragment)


REFERENCES = sorted(
    NAMES_ELSEWHERE.keys()
    | {(table, name) for table, rows in ROW_CLASSES.items() for name, (_, c) in columns_of(rows).items() if c.refers_to}
)


@pytest.mark.parametrize(("table", "column"), REFERENCES)
def test_every_column_that_names_a_row_elsewhere_is_checked(small_tables_folder, table, column):
    path = small_tables_folder / file_of(table)
    header, *rows = csv.reader(io.StringIO(path.read_text(encoding="utf-8")))
    place = header.index(column)
    index = next(i for i, row in enumerate(rows) if row[place])
    rows[index][place] = "no_such_thing:1" if column == "materials" else "no_such_thing"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([header, *rows])
    assert_told(faults_of(small_tables_folder), path.name, index + 2, column, "'no_such_thing' is not in ")


def test_prices_of_different_years_are_not_compared(small_tables_folder):
    old = "upright,small_upright,plain,old,20,100,400,900,1.5,2025-01-01,,invented,"
    fine = "upright,small_upright,fine,old,30,200,800,1800,1.5,2025-01-01,,invented,"
    for row, then in ((old, "20,100,400,500"), (fine, "30,200,800,850")):
        ended = row.replace("2025-01-01,", "2025-01-01,2025-12-31")
        price = row.partition("old,")[2].partition(",1.5")[0]
        later = row.replace(price, then).replace("2025-01-01", "2026-01-01")
        change(small_tables_folder, "bands.csv", row, f"{ended}\n{later}")
    load_tables(small_tables_folder)


def test_prices_that_are_missing_altogether_are_told_once_for_each(small_tables_folder):
    path = small_tables_folder / "replacements.csv"
    path.write_text(path.read_text(encoding="utf-8").splitlines()[0], encoding="utf-8")
    assert [str(problem) for problem in faults_of(small_tables_folder)] == [
        f"replacements.csv: kind: there is no row for {kind}, {tier}; add it"
        for kind in ("grand", "upright")
        for tier in ("fine", "plain")
    ]
