"""Tables in several files, until each is one: a folder of fragments, and what still stands in valuation/tables.

Once every table is one file of the packaged folder this module goes; the loader then reads
``folder / file_of(table)``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from valuation.files.faults import file_of

_EARLIER = Path(__file__).resolve().parents[1] / "tables"
_ALSO_EARLIER = ("sources", "features", "materials")
_STILL_EARLIER = (
    *("components", "rates", "sizes", "tiers", "eras", "bands", "replacements", "choices"),
    *("stages", "reasons", "follow_ups", "handover"),
)
_WALK = ("structure", "strings", "action")


def find_fragments(folder: Path, table: str, *, packaged: bool) -> list[tuple[str, Path]]:
    """Return the files of a table as (name for problems, path); one that should be there is named though missing."""
    file = file_of(table)
    earlier = [(file, _EARLIER / file)] if packaged and table in _ALSO_EARLIER else []
    here = folder / table
    order = {name: place for place, name in enumerate(_WALK)}
    found = sorted(here.glob("*.csv"), key=lambda path: (order.get(path.stem, len(_WALK)), path.name))
    if found:
        return earlier + [(f"{table}/{path.name}", path) for path in found]
    if packaged and table in (*_STILL_EARLIER, *_ALSO_EARLIER) and not (folder / file).exists():
        return [(file, _EARLIER / file)]
    return [*earlier, (file, folder / file)]


def in_order_of_parts(rows: dict[str, list[tuple[str, int, Any]]]) -> None:
    """Put the rows of a table of several files into the order of their parts, in place; rows of no part come first."""
    place = {part.id: index for index, (_, _, part) in enumerate(rows["parts"])}
    for found in rows.values():
        if len({file for file, _, _ in found}) > 1 and hasattr(found[0][2], "part"):
            found.sort(key=lambda item: place.get(item[2].part, -1))
