"""Few fixtures, shared by all tests."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_tables import write_small_tables

from valuation.core.rows import Tables
from valuation.files import load_tables


@pytest.fixture
def small_tables_folder(tmp_path: Path) -> Path:
    """A fresh copy of the smallest whole folder of tables, to be changed at will."""
    return write_small_tables(tmp_path / "small")


@pytest.fixture(scope="session")
def small_tables(tmp_path_factory: pytest.TempPathFactory) -> Tables:
    """The smallest whole tables, loaded once."""
    return load_tables(write_small_tables(tmp_path_factory.mktemp("tables") / "small"))
