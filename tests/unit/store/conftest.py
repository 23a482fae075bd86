"""A shop of one's own, on each database."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest

from valuation import service
from valuation.engine.rows import Tables
from valuation.service.visits import Shop, open_shop

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)


@pytest.fixture(scope="session")
def tables() -> Tables:
    return service.load_shop()


@pytest.fixture
def shop(environ: dict[str, str]) -> Iterator[Shop]:
    """Empty."""
    shop = open_shop(environ, TODAY, with_demo=False)
    yield shop
    shop.close()


@pytest.fixture
def visit(shop: Shop) -> str:
    """Id of a visit just started by Anna on the tablet."""
    return shop.start_visit({"piano.kind": "upright", "title": "Parlour"}, who="Anna", device="tablet", now=NOW)
