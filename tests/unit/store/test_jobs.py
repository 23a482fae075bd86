"""Jobs in the store, on each database: the stage follows from the events, and everything stays in the history."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from poisoned import let_in
from sqlalchemy import text

from valuation import manual, service
from valuation.errors import VisitError
from valuation.service import due as service_due
from valuation.service import jobs as service_jobs
from valuation.service.known import known_of
from valuation.service.visits import Shop

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA, BO = {"who": "Anna", "device": "tablet"}, {"who": "Bo", "device": "phone"}


def enter(shop: Shop, visit: str, name: str, stage: str, day: str, minutes: int = 0, **more) -> None:
    value = {"stage": stage, "day": day, **more}
    shop.put(visit, f"job.event.{name}", value, **ANNA, now=NOW + timedelta(minutes=minutes))


def line_of(shop: Shop, tables, visit: str):
    lines, _ = service_jobs.list_jobs(shop, tables)
    return next(line for line in lines if line.visit == visit)


def test_a_visit_without_events_has_no_stage_and_nothing_due(shop, visit, tables):
    line = line_of(shop, tables, visit)
    assert (line.stage, line.since, line.due_on, line.next_what) == ("", None, None, "")


def test_the_card_shows_the_stage_of_the_latest_event_by_its_day_not_by_when_it_was_entered(shop, visit, tables):
    enter(shop, visit, "b", "evaluated", "2026-11-20")
    enter(shop, visit, "a", "visited", "2026-11-10", minutes=1)
    line = line_of(shop, tables, visit)
    assert (line.stage, line.since) == ("evaluated", date(2026, 11, 20))
    assert shop.list_visits()[0][0].stage == "evaluated"


def test_a_correction_moves_the_stage_and_both_stay_in_the_history(shop, visit, tables):
    enter(shop, visit, "a", "visited", "2026-11-10")
    enter(shop, visit, "b", "declined", "2026-11-12", minutes=1, reason="no_money")
    enter(shop, visit, "b", "discussed", "2026-11-13", minutes=2)
    assert line_of(shop, tables, visit).stage == "discussed"
    history = shop.history(visit, "job.event.b")
    assert [entry.value["stage"] for entry in history] == ["declined", "discussed"]
    assert history[1].follows == (history[0].id,)


def test_undo_brings_the_stage_before_back_and_stays_in_the_history_itself(shop, visit, tables):
    enter(shop, visit, "a", "visited", "2026-11-10")
    enter(shop, visit, "b", "evaluated", "2026-11-12", minutes=1)
    undone = shop.undo(visit, **ANNA, now=NOW + timedelta(minutes=2))
    assert (undone.field, undone.value) == ("job.event.b", None)
    assert line_of(shop, tables, visit).stage == "visited"
    shop.undo(visit, **ANNA, now=NOW + timedelta(minutes=3), entry_id=undone.id)
    assert line_of(shop, tables, visit).stage == "evaluated"
    assert len(shop.history(visit, "job.event.b")) == 3


def test_an_event_that_was_taken_away_counts_no_more(shop, visit, tables):
    enter(shop, visit, "a", "visited", "2026-11-10")
    shop.put(visit, "job.event.a", None, **ANNA, now=NOW + timedelta(minutes=1))
    assert line_of(shop, tables, visit).stage == ""


def test_two_devices_that_merge_agree_on_the_stage(shop, visit, tables, tmp_path):
    other = service_visits_shop(tmp_path / "other")
    shop.export_zip(tmp_path / "a.zip", now=NOW)
    other.import_zip(tmp_path / "a.zip", now=NOW)
    enter(shop, visit, "a", "visited", "2026-11-10")
    enter(other, visit, "b", "evaluated", "2026-11-20", minutes=1)
    shop.export_zip(tmp_path / "a.zip", now=NOW)
    other.export_zip(tmp_path / "b.zip", now=NOW)
    shop.import_zip(tmp_path / "b.zip", now=NOW)
    other.import_zip(tmp_path / "a.zip", now=NOW)
    assert line_of(shop, tables, visit) == line_of(other, tables, visit)
    assert line_of(shop, tables, visit).stage == "evaluated"
    other.close()


def service_visits_shop(folder) -> Shop:
    from valuation.service.visits import open_shop

    return open_shop({"VALUATION_DATA": str(folder), "DATABASE_URL": ""}, TODAY, with_demo=False)


def test_what_no_stage_has_for_a_name_or_a_day_is_set_aside_and_stops_nothing(shop, visit, tables):
    enter(shop, visit, "a", "visited", "2026-11-10")
    shop.put(visit, "job.event.b", {"stage": "Nowhere!", "day": "2026-11-11"}, **ANNA, now=NOW)
    let_in(shop, visit, "job.event.c", {"stage": "evaluated", "day": "soon"})
    let_in(shop, visit, "job.event.d", ["evaluated"])
    shop.put(visit, "job.event.e", {"stage": "of_long_ago", "day": "2026-11-01"}, **ANNA, now=NOW)
    assert line_of(shop, tables, visit).stage == "visited"
    job = service_jobs.open_job(shop, visit, tables, on=TODAY)
    assert [event.stage for event in job.events] == ["visited"]
    assert set(job.set_aside) == {f"job.event.{name}" for name in "bcde"}


@pytest.mark.parametrize(
    ("stage", "since", "today", "due"),
    [
        ("evaluated", "2026-11-20", date(2026, 11, 22), None),
        ("evaluated", "2026-11-20", date(2026, 11, 23), "ask_if_clear"),
        ("silent", "2026-01-01", date(2026, 12, 1), None),
    ],
)
def test_a_follow_up_of_the_table_is_due_so_many_days_after_its_stage_began(
    shop, visit, tables, stage, since, today, due
):
    enter(shop, visit, "a", stage, since)
    lines, count = service_jobs.list_jobs(shop, tables, due_by=today)
    assert [line.due for line in lines] == ([due] if due else [])
    assert count == len(lines)


def test_a_follow_up_that_was_made_gives_way_to_the_next_one(shop, visit, tables):
    enter(shop, visit, "a", "evaluated", "2026-11-20")
    shop.put(visit, "job.followed.ask_if_clear", {"day": "2026-11-23"}, **ANNA, now=NOW)
    line = line_of(shop, tables, visit)
    assert (line.due, line.due_on) == ("ask_how_it_stands", date(2026, 12, 4))
    shop.undo(visit, **ANNA, now=NOW + timedelta(minutes=1))
    assert line_of(shop, tables, visit).due == "ask_if_clear"


def test_a_step_set_by_hand_stands_in_the_place_of_the_table_s_until_it_is_done(shop, visit, tables):
    enter(shop, visit, "a", "evaluated", "2026-11-20")
    shop.put(visit, "job.next", {"what": "ring after Christmas", "day": "2026-12-28"}, **ANNA, now=NOW)
    line = line_of(shop, tables, visit)
    assert (line.due, line.next_what, line.due_on) == ("", "ring after Christmas", date(2026, 12, 28))
    assert service_jobs.list_jobs(shop, tables, due_by=TODAY)[1] == 0
    shop.put(visit, "job.next", None, **ANNA, now=NOW + timedelta(minutes=1))
    assert line_of(shop, tables, visit).due == "ask_if_clear"


def test_a_stage_that_begins_again_has_its_follow_ups_again(shop, visit, tables):
    enter(shop, visit, "a", "evaluated", "2026-10-01")
    shop.put(visit, "job.followed.ask_if_clear", {"day": "2026-10-04"}, **ANNA, now=NOW)
    enter(shop, visit, "b", "silent", "2026-11-01", minutes=1)
    enter(shop, visit, "c", "evaluated", "2026-11-20", minutes=2)
    assert line_of(shop, tables, visit).due == "ask_if_clear"
    shop.put(visit, "job.followed.ask_if_clear-2", {"day": "2026-11-23"}, **ANNA, now=NOW)
    assert line_of(shop, tables, visit).due == "ask_how_it_stands"


def test_what_the_list_says_is_due_is_what_the_follow_ups_say(shop, tables):
    """The list asks the database, the calendar works it out from the events: both must agree."""
    stages = [row.id for row in tables.stages]
    for number in range(40):
        name = shop.start_visit({"piano.kind": "grand", "title": f"No {number}"}, **ANNA, now=NOW)
        for step in range(number % 4):
            stage = stages[(number * 7 + step * 3) % len(stages)]
            enter(shop, name, f"e{step}", stage, f"2026-{3 + (number + 2 * step) % 9:02d}-{1 + number % 27:02d}", step)
        card_times = {0: "", 1: "", 2: "-2"}[number % 3]
        shop.put(name, f"job.followed.ask_if_clear{card_times}", {"day": "2026-11-23"}, **ANNA, now=NOW)
        if number % 5 == 0:
            shop.put(name, "job.next", {"what": "ring", "day": "2026-12-24"}, **ANNA, now=NOW)
    first: dict[str, tuple] = {}
    for step in service_due.due_steps(shop, tables, known_of(shop, tables, on=TODAY)):
        first.setdefault(step.visit, (step.day, step.what))
    whats = {row.id: row.what for row in tables.follow_ups}
    lines, _ = service_jobs.list_jobs(shop, tables, limit=None)
    listed = {
        line.visit: (line.due_on, whats[line.due] if line.due else line.next_what) for line in lines if line.due_on
    }
    assert listed == first
    assert [line.due_on for line in lines if line.due_on] == sorted(line.due_on for line in lines if line.due_on)


def test_lists_are_searched_filtered_sorted_and_paged(shop, tables):
    for number, (kind, client) in enumerate([("grand", "Ole"), ("upright", "Ada"), ("grand", "")]):
        name = shop.start_visit({"piano.kind": kind, "title": f"No {number}", "client.name": client}, **ANNA, now=NOW)
        enter(shop, name, "a", ["asked", "visited", "asked"][number], f"2026-11-{20 - number}")
    titles = lambda **asked: [line.title for line in service_jobs.list_jobs(shop, tables, **asked)[0]]  # noqa: E731
    assert titles(search="ole no") == ["No 0"]
    assert titles(kind="grand", sort="title") == ["No 0", "No 2"]
    assert titles(stages=["asked"], sort="since") == ["No 2", "No 0"]
    assert titles(sort="client") == ["No 1", "No 0", "No 2"]
    assert titles(sort="title", limit=1, offset=1) == ["No 1"]
    assert service_jobs.list_jobs(shop, tables, limit=1)[1] == 3
    assert service_jobs.stage_counts(shop) == {"asked": 2, "visited": 1}
    assert service_jobs.stage_counts(shop, search="ada") == {"visited": 1}


@pytest.fixture
def looked_at(shop, tables) -> str:
    """Id of a demo piano of one's own: it has findings."""
    path = service.demo_visits()[0][1]
    return shop.import_visit(service.read_visit_file(path, tables, TODAY), **ANNA, now=NOW)


def moved(shop: Shop, tables, visit: str, stage: str, minutes: int = 0):
    recorded = shop.open_visit(visit, tables)
    found = service.appraise(recorded.visit, tables, on=recorded.visit.on, draws=1024)
    now = NOW + timedelta(minutes=minutes)
    return service_jobs.move(shop, line_of(shop, tables, visit), stage, book=tables, found=found, **ANNA, now=now)


def test_the_step_to_evaluated_keeps_what_the_client_was_told(shop, tables, looked_at):
    entry = moved(shop, tables, looked_at, "evaluated")
    assert entry.value["told"]["on"] == "2026-12-01"
    known = known_of(shop, tables, on=TODAY)
    [evaluation] = known.evaluations
    assert (evaluation.visit, evaluation.on, evaluation.kind) == (looked_at, TODAY, "grand")
    assert evaluation.verdict == entry.value["told"]["verdict"]
    assert evaluation.price.low < evaluation.price.likely < evaluation.price.high
    assert known.courses[looked_at].stage.id == "evaluated"


def test_a_step_taken_twice_from_one_list_is_one_event(shop, tables, looked_at):
    line = line_of(shop, tables, looked_at)
    for _ in range(2):
        service_jobs.move(shop, line, "visited", book=tables, found=None, **ANNA, now=NOW)
    assert len([e for e in shop.history(looked_at) if e.field.startswith("job.event.")]) == 1


def test_a_yes_keeps_the_hours_estimated_for_each_operation(shop, tables, looked_at):
    moved(shop, tables, looked_at, "evaluated")
    moved(shop, tables, looked_at, "accepted", minutes=1)
    job = service_jobs.open_job(shop, looked_at, tables, on=TODAY)
    assert job.agreed["option"] == job.told["verdict"]
    assert len(job.estimate) > 5
    rows = tables.of_kind("operations", "grand")
    assert all(line.likely == rows[line.operation].hours_likely for line in job.estimate)


def test_who_says_yes_or_no_before_an_evaluation_was_entered_counts_from_the_day_of_the_visit(shop, tables, looked_at):
    moved(shop, tables, looked_at, "declined")
    [evaluation] = known_of(shop, tables, on=TODAY).evaluations
    assert evaluation.on == shop.open_visit(looked_at, tables).visit.on


def test_nothing_is_told_of_a_piano_that_nobody_looked_at(shop, visit, tables):
    entry = moved(shop, tables, visit, "evaluated")
    assert "told" not in entry.value
    assert known_of(shop, tables, on=TODAY).evaluations == ()


def test_a_day_ahead_and_a_stage_that_there_is_not_are_refused_and_nothing_is_stored(shop, visit, tables):
    job = service_jobs.open_job(shop, visit, tables, on=TODAY)
    held = {"book": tables, "today": TODAY, "visit": shop.open_visit(visit, tables).visit}
    with pytest.raises(VisitError, match="2026-12-02 lies ahead; enter what has happened"):
        service_jobs.event_for(job, "visited", date(2026, 12, 2), **held)
    with pytest.raises(VisitError, match="'gone' is not a stage; write one of asked, visited"):
        service_jobs.event_for(job, "gone", TODAY, **held)
    assert not [e for e in shop.history(visit) if e.field.startswith("job.")]


def test_removing_the_demo_takes_its_jobs_along(shop, tables):
    shop.load_demo()
    demo = shop.list_visits(demo=True)[0][0].id
    enter(shop, demo, "a", "asked", "2026-11-10")
    shop.remove_demo()
    with shop.store.reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM job")).scalar() == 0


def test_the_view_shows_one_row_for_each_visit_and_what_came_of_it(shop, tables, looked_at, visit):
    moved(shop, tables, looked_at, "evaluated")
    moved(shop, tables, looked_at, "accepted", minutes=1)
    shop.put(looked_at, "job.source", "a teacher", **ANNA, now=NOW)
    shop.put(looked_at, "job.done.restring.x1", {"hours": 9.5}, **ANNA, now=NOW)
    shop.put(looked_at, "job.done.restring.x2", {"hours": 2}, **ANNA, now=NOW)
    shop.put(looked_at, "job.truth.pinblock", {"state": "worn"}, **ANNA, now=NOW)
    with shop.store.reading() as connection:
        rows = {row.visit: row for row in connection.execute(text("SELECT * FROM evaluations"))}
    assert len(rows) == 2
    row = rows[looked_at]
    assert (row.stage, row.stage_since, row.source, row.hours_done, row.parts_opened) == (
        "accepted", "2026-12-01", "a teacher", 11.5, 1,
    )  # fmt: skip
    assert row.agreed_option == row.verdict
    assert row.hours_estimated > 0
    assert (rows[visit].stage, rows[visit].parts_opened, rows[visit].evaluated_on) == ("", 0, None)


def test_each_view_has_the_ledger_of_a_job(shop, tables, looked_at):
    moved(shop, tables, looked_at, "accepted")
    job = service_jobs.open_job(shop, looked_at, tables, on=TODAY)
    line = job.ledger.if_found[0]
    entered = {
        "job.done.restring.x1": {
            "hours": 9.5, "day": "2026-11-30", "who": "Bo",
            "materials": [{"material": "wire_set", "amount": 1, "cost": 210.0}],
        },
        f"job.found.{line.key}": {"answer": "yes", "day": "2026-11-30"},
        "job.change.a": {"what": "new casters", "day": "2026-11-30", "price": 250.0},
        "job.money.a": {"what": "deposit", "amount": 3000.0, "day": "2026-11-29"},
        "job.return.a": {"day": "2026-12-01", "delivered": "2026-11-21", "cause": "work", "hours": 1.5},
        "job.truth.block_split": {"severity": "marked", "part": "pinblock"},
    }  # fmt: skip
    for field, value in entered.items():
        shop.put(looked_at, field, value, **ANNA, now=NOW)

    def rows(view: str) -> list:
        with shop.store.reading() as connection:
            return connection.execute(text(f"SELECT * FROM {view} WHERE visit = '{looked_at}'")).all()

    lines = rows("agreed_lines")
    assert [row.operation for row in sorted(lines, key=lambda r: r.operation)] == sorted(
        row.operation for row in job.ledger.lines
    )
    assert sum(row.amount for row in lines) * (1 + job.ledger.tax) == pytest.approx(job.ledger.quoted, rel=1e-4)
    assert [(row.person, row.day, row.hours) for row in rows("hours_worked")] == [("Bo", "2026-11-30", 9.5)]
    assert [(row.material, row.quantity, row.cost) for row in rows("materials_used")] == [("wire_set", 1, 210)]
    assert {(row.answer, row.price) for row in rows("if_found_lines") if row.answer} == {("yes", line.price)}
    assert [(row.what, row.price) for row in rows("changes")] == [("new casters", 250)]
    assert [(row.what, row.amount) for row in rows("money_moved")] == [("deposit", 3000)]
    assert [(row.cause, row.days_since_delivery, row.hours) for row in rows("returned")] == [("work", 10, 1.5)]
    assert [(row.fault, row.severity) for row in rows("teardown")] == [("block_split", "marked")]
    shop.put(looked_at, "job.money.a", None, **ANNA, now=NOW + timedelta(minutes=9))
    assert rows("money_moved") == []
    assert shop.history(looked_at, "job.money.a")[0].value["amount"] == 3000


def test_two_devices_that_agree_on_different_prices_are_a_clash_and_all_else_merges(shop, tables, looked_at, tmp_path):
    other = service_visits_shop(tmp_path / "other")
    shop.export_zip(tmp_path / "a.zip", now=NOW)
    other.import_zip(tmp_path / "a.zip", now=NOW)
    for place, (one, price) in enumerate(((shop, 4000.0), (other, 3800.0))):
        at = NOW + timedelta(minutes=place)
        one.put(looked_at, "job.agreement", {"day": "2026-12-01", "price": price}, **ANNA, now=at)
        one.put(looked_at, f"job.done.restring.{place}", {"hours": 2.0 + place}, **ANNA, now=at)
    other.export_zip(tmp_path / "b.zip", now=NOW)
    shop.import_zip(tmp_path / "b.zip", now=NOW)
    recorded = shop.open_visit(looked_at, tables)
    assert {entry.value["price"] for entry in recorded.clashes["job.agreement"]} == {4000.0, 3800.0}
    job = service_jobs.open_job(shop, looked_at, tables, on=TODAY)
    assert sorted(entry.hours for _, entry in job.work) == [2.0, 3.0]
    other.close()


def test_the_query_in_the_manual_says_what_it_says(shop, tables, looked_at):
    moved(shop, tables, looked_at, "evaluated")
    moved(shop, tables, looked_at, "accepted", minutes=1)
    query = manual.chapter("jobs").partition("```sql\n")[2].partition("```")[0]
    with shop.store.reading() as connection:
        [row] = connection.execute(text(query))
    assert (row.told, row.agreed, row.hours_ratio) == (1, 1, None)
    shop.put(looked_at, "job.done.restring.x1", {"hours": 9.5}, **ANNA, now=NOW)
    with shop.store.reading() as connection:
        [row] = connection.execute(text(query))
    assert row.hours_ratio is None  # it is still in hand
    enter(shop, looked_at, "home", "delivered", "2026-12-01", minutes=3)
    with shop.store.reading() as connection:
        [row] = connection.execute(text(query))
    assert 0 < row.hours_ratio < 1
