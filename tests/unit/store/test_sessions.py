import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from valuation.errors import StoreError
from valuation.store.sessions import Sessions

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)


@pytest.fixture
def sessions(tmp_path: Path) -> Sessions:
    return Sessions.of({"VALUATION_DATA": str(tmp_path / "store")})


def test_a_browser_is_in_by_its_secret_until_its_time_is_over(sessions):
    secret, begun = sessions.begin(now=NOW, days=2, email="anna@shop.example", name="Anna", browser="a tablet")
    assert sessions.find(secret, NOW + timedelta(days=1)) == begun
    assert (begun.name, begun.email, begun.browser) == ("Anna", "anna@shop.example", "a tablet")
    assert sessions.find(secret, NOW + timedelta(days=2)) is None


@pytest.mark.parametrize("made_up", ["", "A" * 43, "../" * 14 + "x", "A" * 10_000, "ä" * 43])
def test_what_is_made_up_lets_nobody_in(sessions, made_up):
    sessions.begin(now=NOW, days=2)
    assert sessions.find(made_up, NOW) is None


def test_who_reads_the_folder_can_not_come_in_by_it(sessions):
    secret, begun = sessions.begin(now=NOW, days=2)
    (kept,) = sessions.folder.iterdir()
    assert secret not in kept.name + kept.read_text(encoding="utf-8")
    assert sessions.find(begun.id, NOW) is None
    assert (kept.stat().st_mode & 0o777, sessions.folder.stat().st_mode & 0o777) == (0o600, 0o700)


def test_an_ended_session_is_over_for_good_and_no_other(sessions):
    (first, one), (second, _) = sessions.begin(now=NOW, days=2), sessions.begin(now=NOW, days=2)
    sessions.end(one.id)
    sessions.end(one.id)
    sessions.end("../../etc/passwd")
    assert sessions.find(first, NOW) is None
    assert sessions.find(second, NOW) is not None


def test_those_whose_time_is_over_are_forgotten_and_the_newest_come_first(sessions):
    sessions.begin(now=NOW, days=1, name="gone")
    sessions.begin(now=NOW + timedelta(hours=5), days=9, name="earlier")
    sessions.begin(now=NOW + timedelta(days=3), days=9, name="later")
    assert [one.name for one in sessions.all(NOW + timedelta(days=3))] == ["later", "earlier"]
    assert len(list(sessions.folder.iterdir())) == 2


@pytest.mark.parametrize("damage", ["", "{", "[]", "null", '{"id": "x"}', json.dumps({"began": 3, "until": "never"})])
def test_a_damaged_session_is_none_and_stops_no_other(sessions, damage):
    secret, begun = sessions.begin(now=NOW, days=2)
    other, _ = sessions.begin(now=NOW, days=2)
    (sessions.folder / f"{begun.id}.json").write_text(damage, encoding="utf-8")
    assert sessions.find(secret, NOW) is None
    assert len(sessions.all(NOW)) == 1
    assert sessions.find(other, NOW) is not None


def test_a_store_that_can_not_be_written_is_told(tmp_path):
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    with pytest.raises(StoreError, match="see that the folder is there and that this user may write it"):
        Sessions.of({"VALUATION_DATA": str(tmp_path / "taken")}).begin(now=NOW, days=1)
