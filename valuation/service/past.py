"""Bringing in what a shop had before: clients and old jobs from a spreadsheet.

A row brought in twice is one visit: its id follows from what stands in it. So a file that was broken off is simply
brought in again.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from valuation.files.past_rows import PastRow, cells_of_text
from valuation.sales.sheets import sheet_text
from valuation.service.visits import Shop

_PAST = UUID("0d9f6b52-2a43-4c83-8a0c-6a5cf4a31b90")
"""Drawn once; with it a row is the same visit whenever it is brought in."""


def read_past(data: bytes, name: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return the head and the rows of a CSV or XLSX file; `UserError` if it can't be read, with what to do."""
    return cells_of_text(sheet_text(data, name))


def bring_in(shop: Shop, rows: Sequence[PastRow], *, who: str, device: str, now: datetime) -> tuple[int, int]:
    """Enter rows, each as a visit of its own, and return how many were new and how many were there already.

    Parameters
    ----------
    rows : sequence of PastRow
        Those with faults are left out.
    who, device, now : str, str, datetime
        As for `Shop.put`.
    """
    new = there = 0
    for row in rows:
        if not row.facts:
            continue
        visit = uuid5(_PAST, json.dumps(row.facts, sort_keys=True)).hex
        if shop.has_visit(visit):
            there += 1
            continue
        shop.start_visit(row.facts, who=who, device=device, now=now, visit_id=visit)
        new += 1
    return new, there
