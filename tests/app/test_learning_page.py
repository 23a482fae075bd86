"""The page on which tables learn, as Streamlit's own test runner sees it: nothing changes until the owner says so."""

from __future__ import annotations

import re
from pathlib import Path
from shutil import copytree

import numpy as np
import pytest
from demo_shop import go, start, told
from own_tables import put_files
from simulated_shop import believed_tables, simulate
from simulated_store import believed_texts, put_in
from streamlit.testing.v1 import AppTest

from valuation.screens import shop
from valuation.service.shop_tables import history
from valuation.service.visits import open_shop


@pytest.fixture(scope="module")
def simulated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store's folder of a simulated shop of 60 evaluations with its own tables."""
    folder = tmp_path_factory.mktemp("simulated")
    opened = open_shop({"VALUATION_DATA": str(folder)}, shop.today(), with_demo=False)
    put_files(opened, believed_texts(believed_tables()), shop.today())
    put_in(opened, simulate(np.random.default_rng(3), believed=opened.tables(shop.today()), n=60))
    opened.close()
    return folder


@pytest.fixture
def page(simulated: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AppTest:
    """A copy of the simulated shop, before anything was worked out."""
    monkeypatch.setenv("VALUATION_DATA", str(copytree(simulated, tmp_path / "simulated")))
    return go(start(), "learning")


def work_out(page: AppTest) -> AppTest:
    page.button(key="work_out").click().run(timeout=120)
    assert not page.exception
    return page


def boxes(page: AppTest) -> list:
    return [box for box in page.checkbox if box.key.startswith("take_")]


def choose(page: AppTest, count: int = 1) -> AppTest:
    for key in [box.key for box in boxes(page)[:count]]:
        page.checkbox(key=key).check().run(timeout=120)
    return page


def sort(page: AppTest, about: str) -> AppTest:
    page.pills(key="lessons_sort").set_value(about).run(timeout=120)
    return page


def test_proposals_come_with_evidence_and_nothing_is_taken_in_by_looking(page):
    before = shop.tables().hash
    work_out(page)
    assert "60 visits with findings" in told(page)
    assert "times the tables' hours (9 in 10:" in str([box.label for box in boxes(page)])
    assert len(boxes(page)) == 3
    sort(page, "reading")
    assert "of them on faults whose truth teardown showed" in str([box.label for box in boxes(page)])
    assert page.button(key="take_in").disabled
    assert shop.tables().hash == before


def test_the_effect_on_prices_and_verdicts_is_looked_at_before_anything_can_be_taken_in(page):
    choose(work_out(page), 2)
    assert "First look at the effect" in told(page)
    assert page.button(key="take_in").disabled
    page.button(key="show_effect").click().run(timeout=120)
    assert not page.exception
    assert "newest evaluations" in told(page)
    [table] = [html.value for html in page.html if "Price then" in html.value]
    rows = [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row) for row in re.findall(r"<tr.*?</tr>", table, re.DOTALL)[1:]]
    assert rows
    assert all("the same" not in row[3] or _figure(row[5]) != _figure(row[6]) for row in rows)
    assert not page.button(key="take_in").disabled
    choose(page, 3)
    assert page.button(key="take_in").disabled


def test_what_is_chosen_is_taken_in_as_a_new_version(page):
    before = shop.tables().hash
    choose(work_out(page), 1)
    proposed = len(boxes(page))
    page.button(key="show_effect").click().run(timeout=120)
    page.button(key="take_in").click().run(timeout=120)
    assert not page.exception
    assert "1 proposal was taken into the tables" in told(page)
    assert shop.tables().hash != before
    assert len(boxes(page)) == proposed - 1
    last = history(shop.store().store)[-1]
    assert (last.instead_of, last.why.partition(":")[0]) == (before, "What our jobs teach")


def test_every_cell_that_would_change_is_shown_when_asked_for(page):
    work_out(page)
    page.selectbox(key="lessons_cells").set_value(boxes(page)[0].key.removeprefix("take_")).run(timeout=120)
    assert not page.exception
    assert "hours_likely" in told(page)


def test_what_is_chosen_of_one_sort_stays_chosen_while_another_is_looked_at(page):
    choose(work_out(page), 1)
    sort(page, "reading")
    page.button(key="choose_all").click().run(timeout=120)
    count = 1 + len(boxes(page))
    assert page.button(key="show_effect").label == f"Show the effect of {count} proposals"
    page.button(key="choose_none").click().run(timeout=120)
    assert page.button(key="show_effect").label == "Show the effect of 1 proposal"


def test_from_the_demo_nothing_can_be_taken_in():
    page = work_out(go(start(), "learning"))
    assert "nothing of it can be taken in" in told(page)
    assert "There is nothing to propose" in told(page)  # one finished job is too few
    assert not boxes(page)


def test_a_shop_with_too_little_to_learn_from_is_told_so():
    page = start()
    shop.store().remove_demo()
    work_out(go(page, "learning"))
    assert "0 finished jobs with their hours" in told(page)
    assert "There is nothing to propose. Hours take at least 3 finished jobs" in told(page)
    assert "take_in" not in [button.key for button in page.button]


def _figure(cell: str) -> str:
    return re.sub(r"<[^>]*>|[^0-9]", "", cell)
