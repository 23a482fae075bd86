"""Whatever stands in the fields of an export: it is taken in, and every page of the shop still has its answer.

The page's own answers are asked of the services below them; two pages are drawn at the end. Poison is drawn by a seed,
so that a failure comes again; the seed and the entries stand in its message.
"""

from __future__ import annotations

import csv
import io
import json
import os
import random
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zipfile import ZipFile

import pytest
from declared_values import right_values
from demo_shop import go, start
from made_photos import made_photo
from own_tables import WORKSHOP, put, type_in, with_rate
from poison import POISON, poisoned_entries, poisoned_settings, with_poison
from poisoned import plain_entry, write_export, write_sealed
from starlette.applications import Starlette
from starlette.testclient import TestClient

from valuation.engine.study import study_of
from valuation.errors import UserError
from valuation.facts.errors import NotInForce
from valuation.jobs.recorded_job import event_value
from valuation.report.one_page import one_page
from valuation.screens import shop as screens_shop
from valuation.screens.recorded import field_words, value_words
from valuation.service import appraise, findings_of, load_shop, people, shop_tables, stops_of
from valuation.service import jobs as service_jobs
from valuation.service.due import calendar, due_steps
from valuation.service.job_files import ENDINGS, file_of
from valuation.service.known import known_of
from valuation.service.lessons import lessons
from valuation.service.outcomes import happened, work_coming
from valuation.service.tables_draft import draft_of
from valuation.service.visits import Shop, open_shop
from valuation.service.written import Wanted, list_papers, make_paper
from valuation.store import zip_format as form
from valuation.store.walk_links import WalkLinks
from valuation.walk import Walk
from valuation.walk.sent import API

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


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """An export of all that one may hold: papers, tables of several days, a draft, marks, what law keeps."""
    here = tmp_path_factory.mktemp("whole")
    shop = open_shop({"VALUATION_DATA": str(here / "store"), "DATABASE_URL": ""}, TODAY, with_demo=False)
    tables = load_shop()
    by = {"who": "Anna", "device": "", "now": NOW}
    put(shop, with_rate(shop.tables_in_force(TODAY).texts, 74))
    type_in(shop, "rates", WORKSHOP, {"per_hour": "74"}, {"per_hour": "76"})
    gone = shop.start_visit({"piano.kind": "grand", "client.name": "Gone"}, **by)
    for stage, day in (("accepted", TODAY - timedelta(days=9)), ("delivered", TODAY)):
        shop.put(gone, f"job.event.{stage}", event_value(stage, day), **by)
    settings = replace(tables.settings, country="de", tax="de")
    sources = tables.setting_sources | {"country": "own_estimate"}
    people.erase(shop, [gone], replace(tables, settings=settings, setting_sources=sources), TODAY)
    visit = shop.start_visit(right_values(random.Random(0), tables) | {"piano.kind": "upright"}, **by)
    shop.add_photo(visit, made_photo(), name="x.jpg", **by)
    make_paper(shop, visit, Wanted(what="summary"), tables, request="e" * 32, who="", now=NOW, today=TODAY)
    shop.export_zip(here / "whole.zip", now=NOW)
    shop.close()
    with ZipFile(here / "whole.zip") as file:
        found = {name: file.read(name) for name in file.namelist() if name != form.CHECKSUMS}
    parts = (form.VISIT, form.PHOTO, form.PAPER, form.PDF, form.TABLE, form.LAW, form.LAW_ZIP)
    assert all(any(part.fullmatch(name) for name in found) for part in parts)
    return found


@pytest.mark.parametrize("first", range(FIRST, LAST, OF_ONE_SHOP))
def test_an_export_with_any_part_of_it_poisoned_is_taken_in_or_told_and_the_shop_goes_on(tmp_path, whole, first):
    """Also tables, papers, marks, what law keeps: whatever is JSON in an export, and the files of the tables."""
    tables = load_shop()
    for seed in range(first, min(first + OF_ONE_SHOP, LAST)):
        chance = random.Random(seed)
        name = chance.choice([name for name in whole if name.endswith((".json", ".csv"))])
        if name.endswith(".json"):
            spoilt = json.dumps(with_poison(json.loads(whole[name]), chance)).encode()
        else:
            spoilt = with_a_cell_poisoned(whole[name], chance)
        file = write_sealed(tmp_path / "poisoned.zip", whole | {name: spoilt})
        shop = open_shop({"VALUATION_DATA": str(tmp_path / f"store{seed}"), "DATABASE_URL": ""}, TODAY, with_demo=False)
        try:
            with suppress(UserError):
                shop.import_zip(file, now=NOW)
            held = shop.tables_in_force(TODAY)
            assert held.tables.rates
            draft_of(shop.store, held)
            shop_tables.history(shop.store)
            for card in shop.list_visits()[0]:
                answers_for_one(shop, card.id, tables, deep=False)
                list_papers(shop, card.id)
            answers_for_all(shop, tables, shop.list_visits()[1])
            people.kept_by_law(shop)
        except Exception as error:
            raise AssertionError(f"seed {seed}: {name}: {spoilt[:2000]!r}") from error
        finally:
            shop.close()


def with_a_cell_poisoned(content: bytes, chance: random.Random) -> bytes:
    """A table with one of its cells replaced."""
    rows = list(csv.reader(content.decode().splitlines()))
    row = chance.choice(rows)
    row[chance.randrange(len(row))] = str(chance.choice([poison for poison in POISON if poison != 10**400]))
    csv.writer(out := io.StringIO()).writerows(rows)
    return out.getvalue().encode(errors="surrogatepass")


@pytest.mark.parametrize("first", range(FIRST, LAST, OF_ONE_SHOP))
def test_whatever_a_device_sends_is_stored_or_refused_and_every_page_still_answers(tmp_path, first):
    shop = open_shop({"VALUATION_DATA": str(tmp_path / "store"), "DATABASE_URL": ""}, TODAY, with_demo=False)
    tables = load_shop()
    client = TestClient(Starlette(routes=Walk(store=lambda: shop, tables=lambda: tables, now=lambda: NOW).routes()))
    try:
        for seed in range(first, last := min(first + OF_ONE_SHOP, LAST)):
            chance = random.Random(seed)
            visit = shop.start_visit({"piano.kind": "upright"}, who="", device="", now=NOW)
            token, _ = WalkLinks(shop.store.folder).make(visit, who="Ina", now=NOW)
            own = [plain_entry(field, with_poison(value, chance) if chance.random() < 0.3 else value, NOW)
                   for field, value in right_values(chance, tables).items()]  # fmt: skip
            message = {"api": API, "device": "phone", "now": NOW.isoformat(), "since": 0, "entries": own}
            if chance.random() < 0.3:
                message = with_poison(message, chance)
            body = json.dumps(message).encode()
            headers = {"Authorization": f"Bearer {token}"}
            sent = client.post("/walk/api/entries", headers=headers, content=body)
            assert sent.status_code in (200, 400, 413, 426), (seed, sent.status_code, body[:2000])
            for path in ("visit", "words"):
                assert client.get(f"/walk/api/{path}", headers=headers).status_code == 200, (seed, body[:2000])
            answers_for_one(shop, visit, tables, deep=False)
        answers_for_all(shop, tables, last - first)
    finally:
        shop.close()


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
