"""What was entered or pressed is done once, however often Streamlit breaks runs off."""

from __future__ import annotations

import pytest
from streamlit.runtime.scriptrunner_utils.exceptions import StopException

from valuation.screens import catching_up
from valuation.screens.catching_up import CatchingUp


@pytest.fixture
def session(monkeypatch) -> dict[str, object]:
    """What the widgets hold."""
    held: dict[str, object] = {}
    monkeypatch.setattr(catching_up.st, "session_state", held)
    return held


def test_what_a_broken_off_run_had_no_time_for_is_taken_over_by_the_next_one(session):
    catching, taken, breaks = CatchingUp(), [], [StopException(), None]

    def take() -> None:
        if fault := breaks.pop(0):
            raise fault
        taken.append(session["a"])

    catching.watch("a", "", take)
    session["a"] = "typed"
    with pytest.raises(StopException):
        catching.catch_up()
    catching.catch_up()
    catching.catch_up()
    assert taken == ["typed"]


def test_a_press_that_was_broken_off_is_done_by_the_next_run_after_those_before_it(session):
    catching, done, breaks = CatchingUp(), [], [StopException(), None, None]

    def act(name: str) -> None:
        if fault := breaks.pop(0):
            raise fault
        done.append(name)

    catching.press(act, "first")
    catching.press(act, "second")
    with pytest.raises(StopException):
        catching.catch_up()
    catching.catch_up()
    catching.catch_up()
    assert done == ["first", "second"]


def test_a_fault_is_raised_once_and_does_not_hold_up_what_comes_after(session):
    catching, done = CatchingUp(), []

    def fail() -> None:
        raise ValueError("on purpose")

    catching.press(fail)
    catching.press(done.append, "after")
    with pytest.raises(ValueError, match="on purpose"):
        catching.catch_up()
    catching.catch_up()
    assert done == ["after"]


def test_a_field_is_emptied_without_that_being_taken_for_an_entry(session):
    catching, taken = CatchingUp(), []

    def take() -> None:
        taken.append(session["hours"])
        catching.empty("hours")

    catching.watch("hours", "", take)
    for text in ("2.5", "2.5"):
        session["hours"] = text
        catching.catch_up()
        assert session["hours"] == ""
    assert taken == ["2.5", "2.5"]


def test_what_changed_elsewhere_is_put_into_a_widget_that_follows_the_store(session):
    catching, taken = CatchingUp(), []
    catching.follow("sum", "100", taken.append, "again")
    catching.follow("sum", "200", taken.append, "again")
    catching.catch_up()
    assert (session["sum"], taken) == ("200", [])
