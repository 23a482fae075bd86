"""Few fixtures, shared by all tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import small_rules

from valuation.engine.rows import Tables

if TYPE_CHECKING:
    from postgres_server import PostgresServer

ROOT = Path(__file__).parents[1]
UNIT, REFERENCE = ROOT / "tests" / "unit", ROOT / "tests" / "reference"
PURE = ("access", "drawing", "engine", "files", "jobs", "learn", "record", "rules", "sales")
FIGURES = ("bearing", "decisions", "money", "pin_runs", "rising_tables", "strings", "trade_figures", "wood")
FAST = (ROOT / "valuation", *(UNIT / room for room in PURE), *(REFERENCE / f"test_{name}.py" for name in FIGURES))
"""Where the tests stand that are done first, and by `-m fast` alone: examples, the pure rooms, and their figures."""

LONG = ("app", "reference", "property")
"""Folders of which a file may take long, so that none of them is left to the end."""


def _is_fast(path: Path) -> bool:
    return any(path == place or place in path.parents for place in FAST)


def pytest_configure(config: pytest.Config) -> None:
    """Have each worker and server calculate on one core: they are as many as there are cores."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Start no worker for a single file: it would take longer to start than the file."""
    files = {argument.partition("::")[0] for argument in config.args}
    return 0 if len(files) == 1 and files.pop().endswith(".py") else None


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave files unread that hold nothing fast, where only the fast ones are asked for."""
    asked = config.option.markexpr == "fast" and collection_path.suffix == ".py"
    return True if asked and not _is_fast(collection_path) else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the fast ones and put their files first, then files in a browser and others by turns.

    A browser is waited for as much as it works, so that beside it another worker has something better to do.
    """
    for item in items:
        if _is_fast(item.path):
            item.add_marker("fast")
    files = list(dict.fromkeys(item.path for item in items))
    fast = [path for path in files if _is_fast(path)]
    browser = [path for path in files if _is_in(path, "browser")]
    long = [path for path in files if _is_in(path, *LONG) and path not in fast]
    others = [path for path in files if path not in {*fast, *browser, *long}]
    by_turns = (path for both in zip_longest(browser, [*long, *others]) for path in both if path)
    turn = {path: number for number, path in enumerate([*fast, *by_turns])}
    items.sort(key=lambda item: turn[item.path])


def _is_in(path: Path, *folders: str) -> bool:
    return any(ROOT / "tests" / folder in path.parents for folder in folders)


@pytest.fixture(autouse=True)
def _a_store_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep every test away from the store of whoever runs it."""
    monkeypatch.setenv("VALUATION_DATA", str(tmp_path / "store"))
    monkeypatch.delenv("DATABASE_URL", raising=False)


@pytest.fixture
def small_tables_folder(tmp_path: Path) -> Path:
    """A fresh copy of the smallest whole folder of tables, to be changed at will."""
    return small_rules.write(tmp_path / "small")


@pytest.fixture(scope="session")
def small_tables() -> Tables:
    """The smallest whole tables, read once."""
    return small_rules.tables()


@pytest.fixture
def demo_without_jobs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the invented evaluations come in as if nothing had become of them yet."""
    nothing = tmp_path / "nothing_yet.json"
    nothing.write_text("{}", encoding="utf-8")
    monkeypatch.setattr("valuation.service.store._DEMO_JOBS", nothing)


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    """A PostgreSQL server; where it is missing the tests are skipped, but in CI they fail."""
    from postgres_server import PostgresServer, find_binaries

    binaries = find_binaries()
    if binaries is None:
        reason = "PostgreSQL is missing; install it (on Debian 12: apt-get install postgresql-15)"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    server = PostgresServer(binaries)
    try:
        server.start()
        yield server
    finally:
        server.remove()


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> Iterator[str]:
    """Address of an empty database, of each sort in turn; empty means the SQLite file in the store's folder."""
    if request.param == "sqlite":
        yield ""
        return
    server = request.getfixturevalue("postgres")
    address = server.new_database()
    yield address
    server.drop_database(address)


@pytest.fixture
def environ(database: str, tmp_path: Path) -> dict[str, str]:
    """Where a store may be opened: an empty folder and an empty database."""
    return {"VALUATION_DATA": str(tmp_path / "store"), "DATABASE_URL": database}
