"""Values that no field may hold, and ways to get them into a store: as an older version or another program would."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4
from zipfile import ZIP_DEFLATED, ZipFile

from valuation.record import Entry, by_field, heads
from valuation.service.visits import Shop
from valuation.store import entries
from valuation.store import zip_format as form

AT = datetime(2026, 12, 1, 9, tzinfo=UTC)


def let_in(shop: Shop, visit: str, field: str, value: Any, at: datetime = AT, **by: str) -> Entry:
    """Put a value into a field of a store past the gate."""
    with shop.store.writing() as connection:
        there = by_field(entries.entries_of(connection, visit)).get(field, [])
        follows = tuple(head.id for head in heads(there)) if there else ()
        put = Entry(id=uuid4().hex, visit=visit, at=at, field=field, value=value, follows=follows, **by)
        return entries.add_entries(connection, [put])[0]


def plain_entry(field: str, value: Any, at: datetime = AT, **more: Any) -> dict[str, Any]:
    """An entry as an export holds it."""
    base = {"id": uuid4().hex, "at": entries.moment(at), "who": "", "device": "", "follows": [], "undoes": ""}
    return base | {"field": field, "value": value} | more


def write_export(
    path: Path,
    visits: dict[str, Iterable[dict[str, Any]]],
    settings: dict[str, Any] | None = None,
    demo: bool = False,
) -> Path:
    """Write a file as 'export' does, with whatever entries and settings are given; its checksums are right."""
    whole = {
        f"visits/{name}.json": {
            "id": name, "demo": demo, "created_at": entries.moment(AT), "created_by": "", "kept_as": "",
            "entries": list(own),
        }
        for name, own in visits.items()
    }  # fmt: skip
    whole[form.SETTINGS] = settings or {}
    whole[form.MANIFEST] = {"format": form.FORMAT, "version": form.VERSION, "lost_photos": []}
    return write_sealed(path, {name: json.dumps(table).encode() for name, table in whole.items()})


def write_sealed(path: Path, content: Mapping[str, bytes]) -> Path:
    """Write a zip of files with their right checksums."""
    sums = "".join(f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(content.items()))
    with ZipFile(path, "w", ZIP_DEFLATED) as file:
        for name, data in {**content, form.CHECKSUMS: sums.encode()}.items():
            file.writestr(name, data)
    return path
