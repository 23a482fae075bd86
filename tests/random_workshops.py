"""Made-up tables of operations, and plain second implementations of what a plan comes to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import product

import numpy as np

from valuation.core.work import Workshop, workshop_for
from valuation.engine.rows import TREATMENTS, OperationRow, PartRow, Tables


def random_workshop(tables: Tables, rng: np.random.Generator, *, parts: int = 5) -> Workshop:
    """Return a workshop with any needs, followers and covers that make no circle.

    Later operations need earlier ones and bring still later ones along; some of these are treatments of other
    parts. Covers go any way, also between parts.
    """
    rows = [replace(tables.parts[0], id=f"part_{p}", core="", present="always") for p in range(parts)]
    for p in rng.choice(parts, int(rng.integers(1, 4)), replace=False):
        rows[p] = replace(rows[p], core=str(rng.choice(TREATMENTS)))
    ids: list[tuple[str, str, str]] = [(f"way_in_{i}", "access", "") for i in range(int(rng.integers(2, 6)))]
    for p in range(parts):
        ids += [
            (f"treat_{p}_{i}", "replace" if i == 0 else str(rng.choice(TREATMENTS)), f"part_{p}")
            for i in range(int(rng.integers(1, 4)))
        ]
    ids += [(f"follow_{i}", "follow", "") for i in range(int(rng.integers(1, 4)))]
    names = [id_ for id_, _, _ in ids]
    operations = []
    for n, (id_, level, part) in enumerate(ids):
        few = [int(k) for k in rng.choice(len(ids), int(rng.integers(0, 5)), replace=False)]
        covers = [int(k) for k in rng.choice(len(ids), int(rng.integers(0, 3)), replace=False)]
        operations.append(
            OperationRow(
                id=id_,
                kinds="both",
                part=part,
                level=level,
                name=id_,
                plain=id_,
                leaves="sound" if part else "",
                lasts_years=30.0 if part else None,
                hours_low=1.0,
                hours_likely=2.0,
                hours_high=3.0,
                where="workshop",
                needs=tuple(names[k] for k in few if k < n and not ids[k][2]),
                followed_by=tuple(names[k] for k in few if k > n and (not part or ids[k][2] != part)),
                covers=tuple(names[k] for k in covers if k != n and n not in few),
                source="invented",
            )
        )
    book = replace(tables, operations=_without_circles(operations), parts=tuple(rows))
    return workshop_for(book, "upright", tuple(rows))


def _without_circles(operations: list[OperationRow]) -> tuple[OperationRow, ...]:
    """Let nothing cover what it brings along itself, nor two operations each other."""
    rows = {row.id: row for row in operations}
    kept = []
    for row in operations:
        own = brought(rows, [row.id])
        fine = [c for c in row.covers if c not in own and row.id not in rows[c].covers]
        kept.append(replace(row, covers=tuple(fine)))
    return tuple(kept)


def brought(rows: dict[str, OperationRow], chosen: Iterable[str]) -> set[str]:
    """Return all that these operations bring with them, by plain recursion."""
    found: set[str] = set()

    def bring(name: str) -> None:
        if name in rows and name not in found:
            found.add(name)
            for other in (*rows[name].needs, *rows[name].followed_by):
                bring(other)

    for name in chosen:
        bring(name)
    return found


def charged(rows: dict[str, OperationRow], chosen: Iterable[str]) -> set[str]:
    """Return the operations that are done and charged: all that is brought, less what others of it cover."""
    names = brought(rows, chosen)
    return names - {other for name in names for other in rows[name].covers}


def rows_of(shop: Workshop) -> dict[str, OperationRow]:
    """Return the operations by id."""
    return {row.id: row for row in shop.operations}


def treatments(shop: Workshop, plan: Iterable[int]) -> list[str]:
    """Return the operations that a plan chooses itself."""
    return [shop.operations[shop.choices[c].operation].id for c in plan if shop.choices[c].operation >= 0]


def class_of(shop: Workshop, plan: Iterable[int]) -> str:
    """Return 'rebuild', 'partial_repair' or 'keep', worked out from the rows."""
    rows = rows_of(shop)
    names = brought(rows, treatments(shop, plan))
    if not names:
        return "keep"
    missing = [part for part in shop.parts if part.core and not gives_core(rows, part, names)]
    return "partial_repair" if missing else "rebuild"


def gives_core(rows: dict[str, OperationRow], part: PartRow, names: set[str]) -> bool:
    """Tell whether one of the operations gives a part what a rebuild asks for it."""
    enough = ("repair", "replace") if part.core == "repair" else ("replace",)
    return any(rows[name].part == part.id and rows[name].level in enough for name in names)


def all_plans(shop: Workshop) -> list[tuple[int, ...]]:
    """Return every combination of choices."""
    return list(product(*(range(shop.first[p], shop.first[p + 1]) for p in range(len(shop.parts)))))


def cost_of(shop: Workshop, plan: Iterable[int], cost: np.ndarray) -> float:
    """Return what a plan's operations cost, each once."""
    return sum(float(cost[shop.index[name]]) for name in charged(rows_of(shop), treatments(shop, plan)))
