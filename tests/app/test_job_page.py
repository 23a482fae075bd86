"""The page of one job, as Streamlit's own test runner sees it: what is entered is in the store at once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from demo_shop import draft, go, opened, start, told
from made_photos import made_photo
from streamlit.testing.v1 import AppTest

from valuation.jobs.recorded_job import truth_value
from valuation.screens import shop


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
    for part in ("work", "opened", "photos", "check", "way"):
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


def test_a_yes_keeps_what_was_agreed_on_and_lists_its_operations_with_their_estimates(page):
    begin(page, "accepted")
    assert "Agreed on:" in told(page)
    show(page, "work")
    row = shop.tables().of_kind("operations", "grand")["restring"]
    assert f"estimate {row.hours_low:g} to {row.hours_high:g} h, likely {row.hours_likely:g} h" in told(page)


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


def test_hours_add_up_and_an_entry_is_taken_away(page):
    begin(page, "accepted")
    show(page, "work")
    for text in ("9.5", "1:30"):
        page.text_input(key=draft(page).key("hours_restring")).set_value(text).run()
        assert not page.exception
    assert "done 11 h" in told(page)
    [first, second] = sorted(value["hours"] for value in stored(page, "job.done.restring.").values())
    assert (first, second) == (1.5, 9.5)
    gone = next(iter(stored(page, "job.done.restring.")))
    page.button(key=draft(page).key(f"gone_{gone}")).click().run()
    assert len([value for value in stored(page, "job.done.restring.").values() if value]) == 1


def test_hours_that_are_none_are_told_and_not_stored(page):
    begin(page, "accepted")
    show(page, "work")
    page.text_input(key=draft(page).key("hours_restring")).set_value("all day").run()
    assert "'all day' is not a time; write hours such as 2.5, or 1:30" in told(page)
    assert not stored(page, "job.done.")


def test_work_that_was_not_planned_and_materials_are_entered(page):
    show(page, "work")
    page.selectbox(key=draft(page).key("unplanned_which")).set_value("tune").run()
    page.text_input(key=draft(page).key("hours_tune")).set_value("2").run()
    assert "not planned" in told(page)
    page.selectbox(key=draft(page).key("material_for")).set_value("tune").run()
    page.text_input(key=draft(page).key("material_amount")).set_value("0.5").run()
    page.button(key=draft(page).key("material_enter")).click().run()
    assert not page.exception
    amounts = [value.get("materials") for value in stored(page, "job.done.tune.").values()]
    assert [m[0]["amount"] for m in amounts if m] == [0.5]


def test_what_teardown_showed_is_said_fault_by_fault_and_taken_back(page):
    show(page, "opened")
    page.pills(key=draft(page).key("opened_part")).set_value("pinblock").run()
    assert "What was thought of it" not in told(page)  # told before, it would be copied
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
