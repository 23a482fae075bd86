"""The shop's own tables in a store: changed, and put in force. All figures are invented."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from uuid import uuid4

from valuation.record.shop_tables import TablesChange
from valuation.rules.draft import changes_between
from valuation.service import shop_tables
from valuation.service.tables_draft import Drafted, draft_of, enter_row
from valuation.service.visits import Shop

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
WORKSHOP = (("id", "workshop"), ("valid_from", "2026-01-01"))


def with_rate(texts: Mapping[str, str], rate: float) -> dict[str, str]:
    """Return the tables with another price of an hour in the workshop."""
    assert ",68,2026-01-01" in texts["rates"]
    return dict(texts) | {"rates": texts["rates"].replace(",68,2026-01-01", f",{rate:g},2026-01-01")}


def put(shop: Shop, texts: Mapping[str, str], *, why: str = "a test", **more) -> TablesChange:
    """Put tables in force."""
    given = {"from_day": TODAY, "today": TODAY, "who": "Anna", "why": why, "now": NOW} | more
    return shop_tables.put_in_force(shop.store, texts, seen=shop.tables_in_force(TODAY), **given)


def put_files(shop: Shop, texts: Mapping[str, str], on: date) -> None:
    """Put the tables of a simulated shop in force, as of before all that was entered."""
    put(shop, texts, from_day=on, today=on, now=datetime.combine(on, NOW.time(), UTC))


def drafted(shop: Shop) -> Drafted:
    """Return the draft as it stands."""
    return draft_of(shop.store, shop.tables_in_force(TODAY))


def type_in(shop: Shop, table: str, row, before, after, *, who: str = "Anna") -> None:
    """Enter a row into the draft."""
    enter_row(shop.store, table, row, before, after, who=who, now=NOW, edit_id=uuid4().hex)


def changed_rows(table: str, old: str, new: str) -> int:
    """Return in how many rows two texts differ."""
    return len(changes_between(table, old, new))
