"""The shop behind the pages."""

from __future__ import annotations

from pathlib import Path
from shutil import copytree

import pytest

from valuation.screens import shop
from valuation.service.visits import open_shop


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a store as it is after the very first start."""
    folder = tmp_path_factory.mktemp("demo")
    open_shop({"VALUATION_DATA": str(folder)}, shop.today()).close()
    return folder


@pytest.fixture(autouse=True)
def _after_the_first_start(request: pytest.FixtureRequest, demo_store: Path, tmp_path: Path) -> None:
    """Give each test a copy of that store, which is quicker than a first start; not where the demo is another."""
    if "demo_without_jobs" not in request.fixturenames:
        copytree(demo_store, tmp_path / "store")
