"""From a history to the visit that is appraised: what fits, what is set aside, what is kept all the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from valuation import service
from valuation.engine.rows import Tables
from valuation.errors import VisitError
from valuation.facts.visit import Visit
from valuation.files.recorded_visit import RecordedVisit, check_value, from_visit, to_visit
from valuation.record import Entry, first_id, plain_value

VISIT = "0" * 31 + "1"
AT = datetime(2026, 5, 4, 9, tzinfo=UTC)
FACTS = {"title": "Parlour", "date": "2026-05-04", "piano.kind": "upright", "piano.year": 1912}


@pytest.fixture(scope="module")
def tables() -> Tables:
    return service.load_shop()


def history(values: dict) -> list[Entry]:
    return [
        Entry(id=first_id(VISIT, name), visit=VISIT, at=AT + timedelta(seconds=i), field=name, value=plain_value(value))
        for i, (name, value) in enumerate(values.items())
    ]


def opened(tables: Tables, **values: object) -> RecordedVisit:
    """The visit of `FACTS` and some values more; ``__`` stands for the point in a field's name."""
    return to_visit(history(FACTS | {name.replace("__", "."): value for name, value in values.items()}), tables)


def in_order_of_the_walk(visit: Visit, tables: Tables) -> Visit:
    walk = [row.id for row in tables.checks]
    parts = [row.id for row in tables.parts]
    renewed = tuple(sorted(visit.piano.renewed, key=lambda pair: parts.index(pair[0])))
    findings = tuple(sorted(visit.findings, key=lambda finding: walk.index(finding.check)))
    return replace(visit, findings=findings, piano=replace(visit.piano, renewed=renewed))


@pytest.mark.parametrize("path", [path for _, path in service.demo_visits()], ids=lambda path: path.stem)
def test_every_demo_visit_goes_through_its_fields_unchanged(path, tables):
    visit = service.read_visit_file(path, tables, date.max)
    recorded = to_visit(history(from_visit(visit)), tables)
    assert recorded.visit == in_order_of_the_walk(visit, tables)
    assert recorded.set_aside == ()
    assert from_visit(recorded.visit) == from_visit(visit)


def test_how_the_client_is_reached_is_neither_told_as_unknown_nor_refused(tables):
    recorded = opened(tables, client__phone="0123 456-78")
    assert recorded.why_set_aside == {}
    assert recorded.counted["client.phone"].value == "0123 456-78"
    check_value(FACTS, "client.phone", "0123 456-78", tables)


def test_nothing_entered_is_no_more_than_title_day_and_kind(tables):
    visit = to_visit(history({"title": "x", "date": "2026-05-04", "piano.kind": "grand"}), tables).visit
    assert from_visit(visit) == {"title": "x", "date": "2026-05-04", "piano.kind": "grand"}


def test_a_zero_is_not_nothing(tables):
    recorded = opened(tables, humidity=0, temperature=0.0, finding__strings_broken={"readings": [{"value": 0}]})
    assert recorded.visit.humidity == recorded.visit.temperature == 0
    assert from_visit(recorded.visit)["humidity"] == 0
    assert recorded.visit.findings[0].readings[0].value == 0


def test_findings_stand_in_the_order_of_the_walk_whoever_was_first(tables):
    one = opened(tables, finding__string_rust={"grade": "poor"}, finding__plate_crack={"grade": "good"})
    other = opened(tables, finding__plate_crack={"grade": "good"}, finding__string_rust={"grade": "poor"})
    assert one.visit == other.visit


def test_readings_keep_their_order_across_sections_and_what_else_stands_with_them(tables):
    value = {
        "readings": [
            {"value": 7.5, "section": "bass", "pin": "A1 left"},
            {"value": 6, "section": ""},
            {"value": 7, "section": "bass"},
        ]
    }
    recorded = opened(tables, finding__pin_torque=value)
    assert [(r.value, r.section) for r in recorded.visit.findings[0].readings] == [(7.5, "bass"), (6, ""), (7, "bass")]
    assert recorded.heads["finding.pin_torque"].value["readings"][0]["pin"] == "A1 left"


def test_a_reading_may_stand_by_itself_as_a_number(tables):
    (finding,) = opened(tables, finding__pin_torque=0).visit.findings
    assert [reading.value for reading in finding.readings] == [0.0]


def test_cant_be_seen_and_its_note_are_a_finding_of_their_own(tables):
    finding = opened(tables, finding__board_crown={"cannot_see": True, "note": "cloth nailed on"}).visit.findings[0]
    assert (finding.cannot_see, finding.note, finding.grade) == (True, "cloth nailed on", "")


def test_a_note_alone_is_kept_and_is_no_finding(tables):
    recorded = opened(tables, finding__plate_crack={"note": "look again with a mirror"})
    assert recorded.visit.findings == () == recorded.set_aside
    assert recorded.heads["finding.plate_crack"].value == {"note": "look again with a mirror"}


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("finding.no_such_check", {"grade": "good"}, "not a check"),
        ("finding.a.b", {"grade": "good"}, "not a check"),
        ("finding.plate_crack", {"grade": "splendid"}, "not a choice"),
        ("finding.plate_crack", {"readings": [{"value": 3}]}, "answered in words"),
        ("finding.plate_crack", {"grade": 5}, "is not text"),
        ("finding.plate_crack", "good", "not a table with cannot_see, grade"),
        ("finding.hammer_groove", {"grade": "good"}, "is a severity"),
        ("finding.hammer_groove", {"readings": [{"value": 1}, {"value": 2}]}, "missing"),
        ("finding.hammer_groove", {"readings": [{"value": "2 mm"}]}, "not a number"),
        ("finding.hammer_groove", {"readings": "2"}, "not a list of readings"),
        ("finding.hammer_groove", {"readings": []}, ""),
        ("finding.hammer_groove", {"readings": [{"value": 10**400}]}, "not a number"),
        ("finding.pin_torque", {"readings": [{"value": 1e9, "section": "bass"}]}, "out of range"),
        ("finding.pin_torque", {"readings": [7]}, ""),
        ("finding.pin_torque_section", {"readings": [{"value": 3}]}, "worked out from the readings"),
        ("finding.key_dip", {"grade": "good", "note": 7}, ""),
        ("piano.year", 19122, "out of range"),
        ("piano.year", "1912", "not a whole number"),
        ("piano.year", 2027, "out of range"),
        ("piano.tier", "royal", "not a tier"),
        ("piano.features", ["wings"], "not a feature"),
        ("piano.features", "wings", "list of names"),
        ("piano.renewed.hammers", 1890, "out of range"),
        ("piano.renewed.wings", 1990, "not known here"),
        ("piano.size_mm", 12, "out of range"),
        ("humidity", 120, "out of range"),
        ("client.to_hear", -5, "out of range"),
        ("client.wants_to_play", "yes", "neither true nor false"),
        ("finished_value", {"low": 5, "likely": 4, "high": 9}, "must rise"),
        ("finished_value", [1, 2, 3], "not a table with low, likely, high"),
        ("story", 5, "not text"),
        ("story", "half a letter: \ud800", "half a letter"),
        ("client.name", "x" * 301, "the most is 300"),
        ("date", "9999-12-31", "more than 10 years ahead"),
        ("date", "2036-05-05", "more than 10 years ahead"),
        ("date", "1066-10-14", "too long ago"),
        ("minutes", 1e300, "not a number"),
        ("piano.kind", "harpsichord", "not a kind of piano"),
        ("pin.hammers", ["replace"], "not a level"),
        ("reason.hammers", {"why": 1}, "not text"),
        ("wish.family", True, "not a whole number"),
        ("wish.colour", ["black"], "not text"),
        ("wish.left_original", [["hammers"]], "not text"),
        ("wish.unknown", [{"half \udfff": 1}], "half a letter"),
        ("photo." + "a" * 64, "a photo", "not a table with check, part, caption"),
        ("finding.plate_crack", {"grade": "good", "note": "\ud800"}, "half a letter"),
        ("finding.hammer_groove", {"readings": [{"value": 1, "section": ["bass"]}]}, "not text"),
        ("minutes", "ten", "not a number"),
        ("minutes", True, "not a number"),
    ],
)
def test_what_does_not_fit_is_set_aside_with_its_reason_and_the_rest_stands(tables, field, value, told):
    recorded = to_visit(history(FACTS | {"place": "hall", field: value}), tables)
    assert [entry.field for entry in recorded.set_aside] == [field]
    assert told in recorded.why_set_aside[field]
    assert recorded.visit.place == "hall"
    assert recorded.heads[field].value == plain_value(value)


def test_what_hangs_on_a_field_that_is_set_aside_is_set_aside_too(tables):
    recorded = opened(tables, piano__features=["wings", "straight_strung"], piano__tier="ordinary")
    assert recorded.visit.piano.features == ()
    assert recorded.visit.piano.tier == "ordinary"


def test_findings_of_the_other_kind_are_set_aside_and_come_back_with_it(tables):
    grands = {row.id for row in tables.checks if row.kinds == "grand"}
    only = next(row for row in tables.checks if row.id in grands and row.answer == "choice")
    value = {"grade": next(iter(only.choices))}
    facts = FACTS | {f"finding.{only.id}": value}
    assert to_visit(history(facts), tables).why_set_aside
    assert to_visit(history(facts | {"piano.kind": "grand"}), tables).visit.findings[0].check == only.id


def test_fields_that_nobody_knows_yet_are_kept_and_not_complained_of(tables):
    recorded = opened(tables, wish__lacquer={"of": ["black", 1]}, job__stage="quoted", piano__wheels=3, client__age=7)
    assert recorded.set_aside == ()
    assert recorded.heads["wish.lacquer"].value == {"of": ["black", 1]}
    assert recorded.heads["piano.wheels"].value == 3


def test_a_history_from_elsewhere_without_title_day_and_kind_can_be_opened(tables):
    visit = to_visit(history({"place": "hall"}), tables).visit
    assert (visit.title, visit.on, visit.piano.kind, visit.place) == ("", AT.date(), "", "hall")


def test_a_day_that_is_none_is_set_aside_and_the_first_entry_s_day_counts(tables):
    recorded = opened(tables, date="someday")
    assert recorded.visit.on == AT.date()
    assert "not a day" in recorded.why_set_aside["date"]


def test_a_history_of_nothing_is_a_mistake(tables):
    with pytest.raises(ValueError, match="at least one entry"):
        to_visit([], tables)


def test_photos_and_minutes_are_told(tables):
    shown = {"check": "plate_crack", "part": "", "caption": "at the strut"}
    recorded = opened(tables, photo__abc=shown, photo__abd={"caption": 7}, photo__gone=None, minutes=42.5)
    assert [(p.hash, p.check, p.caption) for p in recorded.photos] == [
        ("abc", "plate_crack", "at the strut"),
        ("abd", "", ""),
    ]
    assert recorded.minutes == 42.5


def test_a_clash_is_told_and_the_later_counts(tables):
    both = history(FACTS)
    later = Entry(id="a" * 32, visit=VISIT, at=AT + timedelta(hours=1), field="piano.year", value=1921)
    recorded = to_visit([later, *both], tables)
    assert recorded.visit.piano.year == 1921
    assert [entry.value for entry in recorded.clashes["piano.year"]] == [1912, 1921]


def test_a_value_is_checked_by_the_reader_of_visit_files(tables):
    check_value(FACTS, "piano.size_mm", 1300, tables)
    check_value(FACTS, "wish.colour", "black", tables)
    check_value(FACTS, "humidity", None, tables)
    with pytest.raises(VisitError, match="visit: humidity: 120 is out of range; write 0 to 100 % relative humidity"):
        check_value(FACTS, "humidity", 120, tables)
    with pytest.raises(VisitError, match=r"finding.plate_crack: 'grand' is not a choice"):
        check_value(FACTS, "finding.plate_crack", {"grade": "grand"}, tables)
