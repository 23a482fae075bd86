"""Whatever stands in the fields of an export: it is taken in, and every page of the shop still has its answer.

The page's own answers are asked of the services below them; two pages are drawn at the end. Poison is drawn by a seed,
so that a failure comes again; the seed and the entries stand in its message.
"""

from __future__ import annotations

import os
import random
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from demo_shop import go, start
from poison import poisoned_entries, poisoned_settings
from poisoned import write_export

from valuation.engine.study import study_of
from valuation.errors import UserError
from valuation.facts.errors import NotInForce
from valuation.report.one_page import one_page
from valuation.screens import shop as screens_shop
from valuation.screens.recorded import field_words, value_words
from valuation.service import appraise, findings_of, load_shop, stops_of
from valuation.service import jobs as service_jobs
from valuation.service.due import calendar, due_steps
from valuation.service.job_files import ENDINGS, file_of
from valuation.service.known import known_of
from valuation.service.lessons import lessons
from valuation.service.outcomes import happened, work_coming
from valuation.service.visits import Shop, open_shop
from valuation.service.written import Wanted, make_paper

FIRST, LAST = int(os.environ.get("POISON_FIRST", "0")), int(os.environ.get("POISON_LAST", "40"))
"""Seeds; `tests.endurance.poisoned_imports` takes more."""

OF_ONE_SHOP = 100
TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)


@pytest.mark.parametrize("first", range(FIRST, LAST, OF_ONE_SHOP))
def test_every_page_still_answers_after_any_import(tmp_path, first):
    shop = open_shop({"VALUATION_DATA": str(tmp_path / "store"), "DATABASE_URL": ""}, TODAY, with_demo=False)
    tables = load_shop()
    try:
        for seed in range(first, last := min(first + OF_ONE_SHOP, LAST)):
            chance = random.Random(seed)
            visit = f"{seed:032x}"
            own = poisoned_entries(chance, tables)
            file = write_export(tmp_path / "poisoned.zip", {visit: own}, poisoned_settings(chance))
            try:
                report = shop.import_zip(file, now=NOW)
                assert report.entries_new == len(own)
                answers_for_one(shop, visit, tables, deep=seed % 25 == 0)
            except Exception as error:
                raise AssertionError(f"seed {seed}: {[(e['field'], e['value']) for e in own]!r:.3000}") from error
        answers_for_all(shop, tables, last - first)
    finally:
        shop.close()


def answers_for_one(shop: Shop, visit: str, tables, *, deep: bool) -> None:
    """What the pages of one visit ask: all that can be shown is, in letters that a browser takes."""
    recorded = shop.open_visit(visit, tables)
    job = service_jobs.open_job(shop, visit, tables, on=TODAY)
    for entry in shop.history(visit):
        field_words(recorded.visit, entry.field, tables).encode()
        value_words(recorded.visit, entry.field, entry.value, tables, "metric").encode()
    for why in (*recorded.why_set_aside.values(), *job.set_aside.values()):
        assert why
        why.encode()
    shown = [(photo.check, photo.part, photo.caption) for photo in recorded.photos]
    assert "\\ud" not in repr((recorded.visit, shown, job.events, job.work, job.teardown, job.source, job.next_what))
    if not recorded.can_be_drawn:
        return
    try:
        study = study_of(recorded.visit, tables, on=recorded.visit.on, draws=1024)
        findings_of(study)
        stops_of(study)
        if deep:
            found = appraise(recorded.visit, tables, on=recorded.visit.on, draws=1024)
            one_page(found, recorded.visit, tables, "").encode()
            wanted = Wanted(what="summary")
            make_paper(shop, visit, wanted, tables, request=visit, who="", now=NOW, today=TODAY)
    except NotInForce:
        pass
    except UserError as told:
        assert str(told)  # noqa: PT017  (a page tells it; anything else would be a page that fails)


def answers_for_all(shop: Shop, tables, count: int) -> None:
    """What the pages of all visits and of all jobs ask."""
    for name in ("language", "units", "shop.name", "shop.hours_a_month"):
        str(shop.setting(name, "")).encode()
    for sort in ("changed", "day", "title", "year", "kind"):
        cards, total = shop.list_visits(sort=sort, limit=1000)
        assert len(cards) == total == count
        repr(cards).encode()
    for sort in service_jobs.SORTS:
        lines, total = service_jobs.list_jobs(shop, tables, sort=sort, limit=1000)
        assert len(lines) == total == count
        assert all(line.due_on is None or line.due_on.year < 2060 for line in lines)
    for stage in service_jobs.stage_counts(shop):
        service_jobs.lane(shop, tables, stage, limit=4)
    service_jobs.due_count(shop, tables, on=TODAY, most=1000)
    due_steps(shop, tables, known_of(shop, tables, on=TODAY))
    assert calendar(shop, tables, now=NOW, name="Jobs", words={}).endswith(b"END:VCALENDAR\r\n")
    assert all(file_of(shop, ending) for ending in ENDINGS)
    found = happened(shop, tables, on=TODAY)
    work_coming(found, capacity=100.0)
    lessons(shop, tables, on=TODAY, demo=False)
    shop.photo_report()


@pytest.mark.parametrize("seed", range(0, 40, 8))
def test_the_lists_are_drawn_with_whatever_was_taken_in(tmp_path: Path, seed):
    page = start()
    tables = load_shop()
    store = screens_shop.store()
    for number in range(seed, seed + 8):
        chance = random.Random(number)
        at = datetime.now(UTC) - timedelta(days=1)
        file = write_export(
            tmp_path / "poisoned.zip",
            {f"{number:032x}": poisoned_entries(chance, tables, at)},
            poisoned_settings(chance),
        )
        store.import_zip(file, now=NOW)
    page.run()
    assert not page.exception
    for view in ("board", "rows", "due"):
        page = go(page, "jobs")
        page.pills(key="jobs_view").set_value(view).run()
        assert not page.exception
