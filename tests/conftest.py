"""Few fixtures, shared by all tests."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import small_rules

from valuation.engine.rows import Tables

if TYPE_CHECKING:
    from postgres_server import PostgresServer


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
