"""The server killed while a device sends, a few times; the whole is `tests/endurance/kill_the_walk.py`."""

from __future__ import annotations

import random

import pytest

from tests.endurance.kill_the_walk import run

pytestmark = pytest.mark.browser


def test_what_is_sent_while_the_server_is_killed_is_there_once_and_in_order(browser, tmp_path):
    found = run(browser, {"VALUATION_DATA": str(tmp_path), "DATABASE_URL": ""}, 4, random.Random(7))
    assert found["entries"] >= 8
    assert found["photos"] == 4
    assert (found["lost"], found["doubled"], found["photos lost"]) == (0, 0, 0)
