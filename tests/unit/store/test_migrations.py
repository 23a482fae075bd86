"""From every older form of the tables to today's, with rows in them; and what is refused."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import MetaData, create_engine, insert, text

from valuation import service
from valuation.errors import StoreError, TableError
from valuation.service.visits import Shop, open_shop
from valuation.service.written import Wanted, fetch_paper, list_papers, make_paper, paper_again
from valuation.store import copies, migrate, schema
from valuation.store.connect import open_store

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
NEWEST = schema.REVISIONS[-1]
FIRST_WITH_PAPERS = "0003"
OLD_ROWS = Path(__file__).with_name("old_rows")
ANNA = {"who": "Anna", "device": "tablet", "now": NOW}


def store_of(environ: dict[str, str], revision: str) -> None:
    """Make a store as the version of the tool with that form of the tables left it, with rows."""
    folder = Path(environ["VALUATION_DATA"])
    folder.mkdir(parents=True)
    url = environ["DATABASE_URL"].replace("postgresql://", "postgresql+psycopg://")
    engine = create_engine(url or f"sqlite:///{folder / 'valuation.sqlite'}")
    with engine.begin() as connection:
        migrate.upgrade(connection, revision)
        tables = MetaData()
        tables.reflect(connection)
        rows = json.loads((OLD_ROWS / f"{revision}.json").read_text(encoding="utf-8"))
        for table in (table for table in tables.sorted_tables if table.name in rows):
            connection.execute(insert(table), [_with_bytes(row) for row in rows[table.name]])
    engine.dispose()


def _with_bytes(row: dict) -> dict:
    """What is no text stands in the files of rows as hexadecimal digits."""
    return row | {name: bytes.fromhex(row[name]) for name in ("files", "pdf", "content") if name in row}


def assert_all_is_there(shop: Shop, tables) -> None:
    """The rows of the oldest form, as today's tool shows them."""
    cards, total = shop.list_visits(sort="title")
    assert (total, [card.title for card in cards], [card.demo for card in cards]) == (
        2,
        ["Invented", "Parlour"],
        [True, False],
    )
    recorded = shop.open_visit("0" * 31 + "1", tables)
    assert (recorded.visit.title, recorded.visit.piano.year) == ("Parlour", 1912)
    assert recorded.visit.findings[0].note == "café"
    assert [entry.who for entry in shop.history(recorded.id, "piano.year")] == ["Anna", "Bo"]
    assert shop.setting("units") == "imperial"
    with shop.store.reading() as connection:
        assert connection.execute(text("SELECT width FROM photo")).scalar() == 400


@pytest.mark.parametrize("revision", schema.REVISIONS)
def test_every_older_store_opens_with_all_that_is_in_it_and_goes_on(environ, revision, tables):
    store_of(environ, revision)
    shop = open_shop(environ, TODAY)
    assert_all_is_there(shop, tables)
    assert shop.put("0" * 31 + "1", "piano.year", 1913, **ANNA).seq == 8
    if revision >= FIRST_WITH_PAPERS:
        assert_the_paper_is_there(shop)
    shop.remove_demo()
    shop.close()


def assert_the_paper_is_there(shop: Shop) -> None:
    """The paper of an older form, as today's tool lists and gives it."""
    paper = list_papers(shop, "0" * 31 + "1")[0]
    assert (paper.number, paper.what, paper.made_by, paper.photos) == (1, "evaluation", "Anna", ("a" * 64,))
    assert (paper.given, paper.figures) == ({"pins": {"hammers": "replace"}}, {"verdict": "keep"})
    assert json.loads(paper.visit_text)["title"] == "café"
    assert fetch_paper(shop, paper.id) == b"%PDF-1.7 of long ago"
    with pytest.raises(TableError, match="can't be read by this version of the program"):
        paper_again(shop, paper.id)


@pytest.mark.parametrize("revision", [name for name in schema.REVISIONS if name < FIRST_WITH_PAPERS])
def test_a_store_without_papers_gets_room_for_them_and_a_backup_first(environ, revision, tables):
    store_of(environ, revision)
    shop = open_shop(environ, TODAY)
    visit = "0" * 31 + "1"
    assert list_papers(shop, visit) == []
    made = make_paper(shop, visit, Wanted(what="summary"), tables, request="a" * 32, who="Anna", now=NOW, today=TODAY)
    assert (made.number, list_papers(shop, visit)) == (1, [made])
    shop.close()
    if not environ["DATABASE_URL"]:
        first = copies.copies(Path(environ["VALUATION_DATA"]))[0]
        assert (first.why, first.revision, first.rows["entry"]) == (f"before {NEWEST}", revision, 7)


def test_the_steps_are_one_line_and_all_are_known():
    steps = ScriptDirectory(str(migrate.MIGRATIONS))
    assert steps.get_current_head() == schema.REVISIONS[-1]
    assert [step.revision for step in reversed(list(steps.walk_revisions()))] == list(schema.REVISIONS)
    assert {path.stem for path in OLD_ROWS.glob("*.json")} >= set(schema.REVISIONS), "write rows for the new form"


def test_the_steps_lead_to_the_tables_that_the_code_knows(environ):
    shop = open_shop(environ, TODAY, with_demo=False)
    with shop.store.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), schema.metadata) == []
    shop.close()


STEP = """
import sqlalchemy as sa
from alembic import op
revision, down_revision = "9999", "{newest}"
def upgrade():
    with op.batch_alter_table("visit") as table:
        table.add_column(sa.Column("colour", sa.Text, nullable=False, server_default="black"))
    {more}
"""


@pytest.fixture
def next_form(tmp_path, monkeypatch):
    """Make tomorrow's tool: one step more, with whatever else it does."""

    def make(more: str = "pass") -> None:
        steps = tmp_path / "steps"
        shutil.rmtree(steps, ignore_errors=True)
        shutil.copytree(migrate.MIGRATIONS, steps)
        (steps / "versions" / "9999_colour.py").write_text(STEP.format(more=more, newest=NEWEST))
        monkeypatch.setattr(migrate, "MIGRATIONS", steps)
        monkeypatch.setattr(migrate, "REVISIONS", (*schema.REVISIONS, "9999"))

    return make


def test_a_later_form_of_the_tables_is_reached_with_a_backup_first(environ, next_form, tables):
    store_of(environ, NEWEST)
    next_form()
    shop = open_shop(environ, TODAY)
    assert_all_is_there(shop, tables)
    with shop.store.reading() as connection:
        assert connection.execute(text("SELECT DISTINCT colour FROM visit")).all() == [("black",)]
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == "9999"
    shop.close()
    if not environ["DATABASE_URL"]:
        first = copies.copies(Path(environ["VALUATION_DATA"]))[0]
        assert first.why == "before 9999"
        with closing(sqlite3.connect(first.path)) as copy:
            assert copy.execute("SELECT version_num FROM alembic_version").fetchone() == (NEWEST,)
            assert copy.execute("SELECT count(*) FROM entry").fetchone() == (7,)


def test_a_step_that_fails_changes_nothing(environ, next_form, tables, monkeypatch):
    store_of(environ, NEWEST)
    next_form("op.execute('UPDATE visit SET title = upper(title)'); raise RuntimeError('half way')")
    with pytest.raises(RuntimeError, match="half way"):
        open_shop(environ, TODAY)
    monkeypatch.undo()
    shop = open_shop(environ, TODAY)
    assert_all_is_there(shop, tables)
    with shop.store.reading() as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == NEWEST
    shop.close()


def test_a_store_of_a_newer_version_is_left_as_it_is(environ, next_form, monkeypatch):
    store_of(environ, NEWEST)
    next_form()
    open_shop(environ, TODAY).close()
    monkeypatch.undo()
    with pytest.raises(StoreError, match="it was made by a newer version of this program, and is left as it is"):
        open_shop(environ, TODAY)


def test_a_database_of_another_program_is_refused(environ):
    store_of(environ, NEWEST)
    url = environ["DATABASE_URL"].replace("postgresql://", "postgresql+psycopg://")
    engine = create_engine(url or f"sqlite:///{Path(environ['VALUATION_DATA']) / 'valuation.sqlite'}")
    with engine.begin() as connection:
        connection.execute(text("DROP TABLE alembic_version"))
    engine.dispose()
    with pytest.raises(StoreError, match="holds tables of another program"):
        open_shop(environ, TODAY)


def test_a_store_that_has_vanished_is_not_silently_begun_anew(tmp_path):
    environ = {"VALUATION_DATA": str(tmp_path)}
    open_shop(environ, TODAY).close()
    for path in tmp_path.glob("valuation.sqlite*"):
        path.unlink()
    for made in (lambda: None, lambda: (tmp_path / "valuation.sqlite").touch()):
        made()
        with pytest.raises(StoreError, match="the database is missing or empty, but there are backups of it"):
            open_shop(environ, TODAY)
    (tmp_path / "backups").rename(tmp_path / "old")
    open_shop(environ, TODAY).close()


def test_eight_that_start_a_new_store_at_once_make_one_with_one_demo(environ):
    start, faults, counts = threading.Barrier(8), [], []

    def begin() -> None:
        start.wait()
        try:
            shop = open_shop(environ, TODAY)
            counts.append(shop.list_visits()[1])
            shop.close()
        except Exception as fault:  # noqa: BLE001  (whatever it is, it is shown below)
            faults.append(fault)

    threads = [threading.Thread(target=begin) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    assert counts == [len(service.demo_visits())] * 8


def test_a_store_of_today_is_opened_without_what_changes_tables(tmp_path):
    open_store(folder=tmp_path).close()
    code = f"""
import sys
from pathlib import Path
from valuation.store import open_store
open_store(folder=Path({str(tmp_path)!r}))
print('alembic' in sys.modules)
"""
    root = Path(schema.__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"
