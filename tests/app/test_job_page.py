"""The page of one job, as Streamlit's own test runner sees it: what is entered is in the store at once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from demo_shop import draft, go, opened, start, told
from made_photos import made_photo
from streamlit.testing.v1 import AppTest

from valuation.jobs.people import Person
from valuation.jobs.recorded_job import truth_value
from valuation.report.format import cents
from valuation.screens import shop
from valuation.service.jobs import event_id
from valuation.service.people_at_work import keep_people


@pytest.fixture
def page(demo_without_jobs) -> AppTest:
    """The job of the first demo piano, nothing having become of it yet."""
    return go(opened(start(), 1), "job")


def show(page: AppTest, part: str) -> AppTest:
    page.pills(key=draft(page).key("job_part")).set_value(part).run()
    assert not page.exception
    return page


def stored(page: AppTest, prefix: str) -> dict[str, object]:
    """What stands in the fields that begin so, by the store's own history."""
    found = {}
    for entry in shop.store().history(draft(page).visit_id):
        if entry.field.startswith(prefix):
            found[entry.field] = entry.value
    return found


def begin(page: AppTest, stage: str, **fields: str) -> AppTest:
    page.pills(key=draft(page).key("stage")).set_value(stage).run()
    for name, text in fields.items():
        page.text_input(key=draft(page).key(name)).set_value(text).run()
    page.button(key=draft(page).key("stage_enter")).click().run()
    assert not page.exception
    return page


@pytest.mark.parametrize("number", [1, 3, 5])
def test_every_part_of_the_page_draws(number):
    page = go(opened(start(), number), "job")
    for part in ("agreement", "work", "opened", "photos", "check", "way"):
        show(page, part)


def test_a_step_is_entered_with_its_day_and_note_and_keeps_what_was_told(page):
    day = (shop.today() - timedelta(days=4)).isoformat()
    begin(page, "evaluated", stage_day=day, stage_note="by post")
    [event] = [value for value in stored(page, "job.event.").values() if value]
    assert (event["stage"], event["day"], event["note"]) == ("evaluated", day, "by post")
    assert event["told"]["on"] == day
    assert "evaluated, since" in told(page)
    assert "Told on" in told(page)
    assert "Saved" in told(page)


def test_a_yes_keeps_one_agreement_with_its_lines_at_the_price_really_agreed_on(page):
    begin(page, "accepted", agreed_price="12000")
    agreement = stored(page, "job.agreement")["job.agreement"]
    assert (agreement["price"], agreement["day"]) == (12000, shop.today().isoformat())
    assert agreement["quoted"] > 12000
    lines = sum(row["labour"] + row["materials"] + row["outside"] for row in agreement["lines"])
    assert lines * (1 + agreement["tax"]) == pytest.approx(agreement["quoted"], rel=1e-3)
    show(page, "agreement")
    assert "Agreed on" in told(page)
    assert "12,000.00" in told(page)
    show(page, "work")
    assert "Expected, as priced" in told(page)
    names = {row.id: row.name for row in shop.tables().operations}
    worked = next(row for row in agreement["lines"] if row["hours"])
    assert names[worked["operation"]].lower() in told(page).lower()


def test_a_no_that_is_corrected_to_a_yes_gets_its_agreement_and_a_yes_that_never_was_loses_it(page):
    begin(page, "declined")
    assert not stored(page, "job.agreement")
    [field] = [field for field, value in stored(page, "job.event.").items() if value]
    event = field.removeprefix("job.event.")
    page.selectbox(key=draft(page).key(f"correct_stage_{event}")).set_value("accepted").run()
    page.button(key=draft(page).key(f"correct_enter_{event}")).click().run()
    assert not page.exception
    assert stored(page, "job.agreement")["job.agreement"]["lines"]
    page.button(key=draft(page).key(f"correct_gone_{event}")).click().run()
    assert stored(page, "job.agreement")["job.agreement"] is None


def test_a_yes_and_a_no_entered_on_two_devices_are_shown_as_a_clash(page):
    visit = draft(page).visit_id
    from_here = {"stage": "accepted", "day": shop.today().isoformat()}
    from_there = {"stage": "declined", "day": shop.today().isoformat()}
    field = f"job.event.{event_id(visit, 0)}"
    for value, who in ((from_here, "Anna"), (from_there, "Bo")):
        shop.store().put(visit, field, value, follows=(), who=who, device=who, now=shop.now())
    page.run()
    assert "Two people entered different things here. Which holds?" in told(page)
    words = [button.label for button in page.button if str(button.key).startswith(draft(page).key("settle")[:6])]
    assert any("accepted" in label for label in words)
    assert any("declined" in label for label in words)


def clash_on(page: AppTest, field: str, *values: object) -> list[str]:
    """Enter a value from each of some devices, none of which saw the others', and return how each is offered."""
    for place, value in enumerate(values):
        who = ("Anna", "Bo")[place]
        shop.store().put(draft(page).visit_id, field, value, follows=(), who=who, device=who, now=shop.now())
    draft(page).read(draft(page).book)
    page.run()
    assert not page.exception
    assert "Two people entered different things here. Which holds?" in told(page)
    return [button.label for button in page.button if f"settle_{field.replace('.', '_')}_" in str(button.key)]


def test_what_two_devices_entered_in_the_ledger_is_shown_and_settled_by_one_tap(page):
    begin(page, "accepted", agreed_price="12000")
    keep_people(shop.store(), [Person(name="Ada", hours_a_week=30), Person(name="Jo", hours_a_week=20)])
    show(page, "agreement")
    today = shop.today().isoformat()
    line = stored(page, "job.agreement")["job.agreement"]["if_found"][0]["key"]
    paid = {"what": "payment", "day": today}
    entered = {
        f"job.found.{line}": ({"answer": "yes", "day": today}, {"answer": "no", "day": today}),
        "job.promised": ({"day": "2026-12-24"}, {"day": "2027-01-31"}),
        "job.person": ("Ada", "Jo"),
        "job.money.a1": (paid | {"amount": 500.0}, paid | {"amount": 900.0}),
        "job.change.a1": ({"what": "casters", "day": today, "price": 100.0}, {"what": "casters", "day": today}),
    }
    for field, values in entered.items():
        labels = clash_on(page, field, *values)
        assert [any(name in label for label in labels) for name in ("Anna", "Bo")] == [True, True], field
        page.button(key=next(b.key for b in page.button if "settle_" in str(b.key) and "Anna" in b.label)).click().run()
        assert not page.exception
        assert "Which holds?" not in told(page)
        assert stored(page, field)[field] == values[0]
    show(page, "work")
    operation = stored(page, "job.agreement")["job.agreement"]["lines"][0]["operation"]
    hours = ({"hours": 3.0, "day": today, "who": "Ada"}, {"hours": 5.0, "day": today, "who": "Ada"})
    assert len(clash_on(page, f"job.done.{operation}.a1", *hours)) == 2


def test_who_alone_works_on_a_job_is_chosen_where_two_work_at_the_bench(page):
    begin(page, "accepted", agreed_price="12000")
    show(page, "agreement")
    assert "Who works on it" not in [box.label for box in page.selectbox]
    keep_people(shop.store(), [Person(name="Ada", hours_a_week=30), Person(name="Jo", hours_a_week=20)])
    page.run()
    box = next(box for box in page.selectbox if box.label == "Who works on it")
    box.set_value("Jo").run()
    assert stored(page, "job.person") == {"job.person": "Jo"}
    next(box for box in page.selectbox if box.label == "Who works on it").set_value("").run()
    assert not page.exception
    assert stored(page, "job.person") == {"job.person": None}


def test_money_changes_and_if_found_lines_move_what_is_owed(page):
    begin(page, "accepted", agreed_price="12000")
    show(page, "agreement")
    key = draft(page).key
    page.text_input(key=key("change_what")).set_value("new casters").run()
    page.text_input(key=key("change_price")).set_value("-200").run()
    page.button(key=key("change_enter")).click().run()
    page.text_input(key=key("money_amount")).set_value("3000").run()
    page.button(key=key("money_enter")).click().run()
    assert not page.exception
    lines = stored(page, "job.agreement")["job.agreement"]["if_found"]
    lines.sort(key=lambda row: -row["chance"])
    line = lines[0]
    page.button(key=key(f"found_{line['key']}_yes")).click().run()  # one tap for those likeliest needed
    assert not page.exception
    page.selectbox(key=key("found_line")).set_value(lines[-1]["key"]).run()
    page.button(key=key("found_no")).click().run()
    assert not page.exception
    assert stored(page, "job.found.")[f"job.found.{lines[-1]['key']}"]["answer"] == "no"
    assert page.pills(key=key("money_what")).value == "payment"  # the deposit has come
    assert stored(page, "job.found.")[f"job.found.{line['key']}"]["answer"] == "yes"
    assert cents(12000 - 200 + line["price"] - 3000) in told(page)  # still owed
    page.text_input(key=key("money_amount")).set_value("a lot").run()
    page.button(key=key("money_enter")).click().run()
    assert "'a lot' is not a sum" in told(page)


def test_a_no_asks_for_the_reason(page):
    page.pills(key=draft(page).key("stage")).set_value("declined").run()
    page.pills(key=draft(page).key("reason_declined")).set_value("bought_another").run()
    page.button(key=draft(page).key("stage_enter")).click().run()
    assert not page.exception
    assert "bought another piano" in told(page)


def test_a_day_ahead_or_none_at_all_is_refused_and_stays_typed(page):
    page.pills(key=draft(page).key("stage")).set_value("visited").run()
    ahead = (shop.today() + timedelta(days=3)).isoformat()
    page.text_input(key=draft(page).key("stage_day")).set_value(ahead).run()
    page.button(key=draft(page).key("stage_enter")).click().run()
    assert "lies ahead; enter what has happened" in told(page)
    page.text_input(key=draft(page).key("stage_day")).set_value("soon").run()
    assert "'soon' is not a day" in told(page)
    assert page.button(key=draft(page).key("stage_enter")).disabled
    assert not [value for value in stored(page, "job.event.").values() if value]


def test_a_step_is_corrected_and_undone_and_the_history_keeps_it_all(page):
    begin(page, "visited")
    [field] = [field for field, value in stored(page, "job.event.").items() if value]
    event = field.removeprefix("job.event.")
    page.selectbox(key=draft(page).key(f"correct_stage_{event}")).set_value("asked").run()
    page.button(key=draft(page).key(f"correct_enter_{event}")).click().run()
    assert not page.exception
    assert stored(page, field)[field]["stage"] == "asked"
    page.button(key="undo").click().run()
    assert stored(page, field)[field]["stage"] == "visited"
    page.button(key=draft(page).key(f"correct_gone_{event}")).click().run()
    assert stored(page, field)[field] is None
    history = shop.store().history(draft(page).visit_id, field)
    assert [entry.value and entry.value["stage"] for entry in history] == ["visited", "asked", "visited", None]
    go(page, "history")
    assert "Stage: asked" in told(page)


def test_a_next_step_is_set_and_done(page):
    page.text_input(key=draft(page).key("next_what")).set_value("ring the school").run()
    page.button(key=draft(page).key("next_set")).click().run()
    assert stored(page, "job.next")["job.next"] == {"what": "ring the school", "day": shop.today().isoformat()}
    assert "ring the school" in told(page)
    page.button(key=draft(page).key("next_done")).click().run()
    assert stored(page, "job.next")["job.next"] is None


def test_a_follow_up_of_the_table_is_marked_as_done(page):
    begin(page, "evaluated")
    page.button(key=draft(page).key("followed_ask_if_clear")).click().run()
    assert not page.exception
    assert stored(page, "job.followed.")["job.followed.ask_if_clear"] == {"day": shop.today().isoformat()}


def test_where_the_client_comes_from_is_stored_as_typed(page):
    key = draft(page).field_key("source", "job.source")
    page.text_input(key=key).set_value(" a  teacher ").run()
    assert stored(page, "job.source")["job.source"] == "a teacher"
    page.pills(key=draft(page).key("referred")).set_value("yes").run()
    assert stored(page, "job.referred")["job.referred"] is True


def enter_hours(page: AppTest, operation: str, hours: str, **more: str) -> None:
    [box] = [box for box in page.selectbox if str(box.key).startswith("work_on_")]
    box.set_value(operation).run()
    page.text_input(key=draft(page).key("hours")).set_value(hours).run()
    for name, text in more.items():
        page.text_input(key=draft(page).key(name)).set_value(text).run()
    page.button(key=draft(page).key("hours_enter")).click().run()
    assert not page.exception


def test_two_hours_by_jo_are_three_taps_on_a_job_that_is_worked_on(page):
    keep_people(shop.store(), [Person(name=name, hours_a_week=30) for name in ("Ada", "Jo")])
    begin(page, "accepted")
    begin(page, "in_workshop")
    key = draft(page).key
    fresh = go(opened(start(), 1), "job")
    assert fresh.pills(key=draft(fresh).key("job_part")).value == "work"  # what is mostly wanted there
    show(page, "work")
    page.pills(key=key("hours_usual")).set_value(2).run()
    page.button(key=key("hours_enter")).click().run()
    assert "Say who did it." in told(page)
    page.pills(key=key("hours_who")).set_value("Jo").run()
    page.button(key=key("hours_enter")).click().run()
    assert not page.exception
    [value] = stored(page, "job.done.").values()
    assert value == {"hours": 2.0, "day": shop.today().isoformat(), "who": "Jo"}


def test_hours_add_up_with_day_and_person_and_an_entry_is_taken_away(page):
    begin(page, "accepted")
    show(page, "work")
    day = (shop.today() - timedelta(days=3)).isoformat()
    enter_hours(page, "restring", "9.5", hours_day=day)
    enter_hours(page, "restring", "1:30")
    entries = list(stored(page, "job.done.restring.").values())
    assert sorted((value["hours"], value["day"]) for value in entries) == [(1.5, day), (9.5, day)]  # the day stays
    [box] = [box for box in page.selectbox if str(box.key).startswith("work_on_")]
    assert box.value == "restring"  # what is open stands ready for the next entry
    page.button(key=draft(page).key("finish")).click().run()
    assert stored(page, "job.finished.")["job.finished.restring"] == {"day": shop.today().isoformat()}
    gone = next(iter(stored(page, "job.done.restring.")))
    page.button(key=draft(page).key(f"gone_{gone}")).click().run()
    assert len([value for value in stored(page, "job.done.restring.").values() if value]) == 1


def test_hours_that_are_none_or_lie_ahead_are_told_and_not_stored(page):
    begin(page, "accepted")
    show(page, "work")
    enter_hours(page, "restring", "all day")
    assert "'all day' is not a time; write hours such as 2.5, or 1:30" in told(page)
    enter_hours(page, "restring", "2", hours_day=(shop.today() + timedelta(days=1)).isoformat())
    assert "today or earlier" in told(page)
    assert not stored(page, "job.done.")


def test_work_that_was_not_planned_and_materials_are_entered(page):
    show(page, "work")
    enter_hours(page, "tune", "2")
    assert "not planned" in told(page)
    page.selectbox(key=draft(page).key("material_for")).set_value("tune").run()
    page.text_input(key=draft(page).key("material_amount")).set_value("0.5").run()
    page.text_input(key=draft(page).key("material_cost")).set_value("12.5").run()
    page.button(key=draft(page).key("material_enter")).click().run()
    assert not page.exception
    used = [value.get("materials") for value in stored(page, "job.done.tune.").values()]
    assert [(m[0]["amount"], m[0]["cost"]) for m in used if m] == [(0.5, 12.5)]


def test_what_teardown_showed_is_said_fault_by_fault_and_taken_back(page):
    show(page, "opened")
    page.pills(key=draft(page).key("opened_part")).set_value("pinblock").run()
    assert "What was expected after" not in told(page)  # told before, it would be copied
    row = next(row for row in shop.tables().faults if row.id == "block_split")
    key = draft(page).key("truth_block_split")
    page.pills(key=key).set_value("severe").run()
    assert not page.exception
    assert stored(page, "job.truth.")["job.truth.block_split"] == truth_value(row, "severe")
    assert page.pills(key=draft(page).key("truth_holes_worn")).value == "not opened"
    page.pills(key=key).set_value("none").run()  # not there: that is told too
    assert stored(page, "job.truth.")["job.truth.block_split"]["severity"] == "none"
    page.pills(key=key).set_value("not opened").run()
    assert stored(page, "job.truth.")["job.truth.block_split"] is None


def test_what_stays_original_is_said_or_said_to_be_nothing(page):
    show(page, "opened")
    assert "Nobody has said so far" in told(page)
    page.button(key=draft(page).key("none_original")).click().run()
    assert "None of these parts stays original" in told(page)
    key = draft(page).field_key("original", "job.original")
    page.pills(key=key).set_value(["plate", "cabinet"]).run()
    assert stored(page, "job.original")["job.original"] == ["plate", "cabinet"]


def test_photos_before_and_after_are_kept_apart_and_out_of_the_checks(page):
    show(page, "photos")
    for number, when in enumerate(("job_before", "job_after")):
        photo = made_photo(size=(60, 40), seed=number)
        page.file_uploader(key=draft(page).key(f"photo_{when}_0")).set_value([("x.jpg", photo, "image/jpeg")]).run()
        assert not page.exception
    assert [photo.check for photo in draft(page).recorded.photos] == ["job_before", "job_after"]
    assert "Photo 1 of the piano before the work" in {button.help for button in page.button}


def test_the_list_of_visits_shows_the_stage_by_its_name(page):
    begin(page, "in_workshop")
    go(page, "visits")
    assert "in the workshop" in told(page)


def test_every_miss_of_the_last_check_is_told_by_its_note(page):
    show(page, "check")
    key = draft(page).field_key("run_job_after_key_dip_metric", "job.after.key_dip")
    page.text_area(key=key).set_value("A0: 10 10 10 8.7 10 10").run()
    assert not page.exception
    assert "1 of 6 outside" in told(page)
    assert "C1" in told(page)
    assert "8.7 mm, 0.8 mm below 9.5 mm" in told(page)
    assert stored(page, "job.after.")["job.after.key_dip"][3] == [4, 0, 8.7]


def test_readings_that_can_not_be_read_are_told_stay_typed_and_change_nothing(page):
    show(page, "check")
    key = draft(page).field_key("run_job_after_key_dip_metric", "job.after.key_dip")
    page.text_area(key=key).set_value("A0: 10 deep").run()
    assert "Not taken down:" in told(page)
    assert page.text_area(key=key).value == "A0: 10 deep"
    assert not stored(page, "job.after.")


def test_keys_with_nothing_to_measure_are_not_missed(page):
    show(page, "check")
    page.text_input(key=draft(page).field_key("absent_key_dip", "job.absent")).set_value("A#0-C8").run()
    page.text_area(key=draft(page).field_key("run_job_after_key_dip_metric", "job.after.key_dip")).set_value(
        "A0: 10"
    ).run()
    assert not page.exception
    assert "all 1 within" in told(page)


def test_the_page_for_the_client_says_what_it_lacks(page):
    show(page, "check")
    assert "no work has been entered" in told(page)


def test_a_year_after_delivery_it_is_told_what_went_outside_the_standard(page):
    show(page, "check")
    after = draft(page).field_key("run_job_after_key_dip_metric", "job.after.key_dip")
    page.text_area(key=after).set_value("A0: 10 10 10").run()
    year = draft(page).field_key("run_job_year_key_dip_metric", "job.year.key_dip")
    page.text_area(key=year).set_value("A0: 10 8.7 10").run()
    assert not page.exception
    assert stored(page, "job.year.")["job.year.key_dip"][1] == [2, 0, 8.7]
    assert "1 of 3 went outside the standard in the year." in told(page)
