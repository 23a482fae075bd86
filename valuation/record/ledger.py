"""The ledger of one job as its entries have it: what was agreed on, done, used, paid, and brought back.

Each thing is a field of its own, so what two devices enter is all there after a merge, and what they enter differently
in one field is a clash. A later entry in a field corrects it; None takes it away; the history keeps all. There is one
agreement a job: one field. Of older stores, the agreement within the step of that day is read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from valuation.facts.kinds import day_of, plain_number
from valuation.record.card import line
from valuation.record.entry import Entry
from valuation.record.history import present, unfit
from valuation.record.job_card import (
    AGREEMENT,
    CHANGE,
    DONE,
    FOUND,
    MONEY,
    RETURN,
    TRUTH,
    EventEntered,
    agreed_of,
)

LINE, IF_FOUND, HOURS, MATERIAL, PAID, CHANGED, RETURNED, TEARDOWN = (
    "line", "if_found", "hours", "material", "money", "change", "return", "teardown"
)  # fmt: skip
"""What a row of the ledger is about; each is a sheet and a view of its own."""


def ledger_rows(fields: Mapping[str, Sequence[Entry]], events: Sequence[EventEntered]) -> list[dict[str, Any]]:
    """Return the rows that the ledger of a job comes to, for lists and sheets.

    Parameters
    ----------
    fields : mapping of field to its entries
        Those of `valuation.record.job_card.ON_THE_CARD`.
    events : sequence of EventEntered
        Those that stand.

    Returns
    -------
    list of dict
        Each with ``sheet``, ``name`` (its own within the sheet) and the columns that the sheet has; what is not known
        is missing. Hours in h, money in the shop's currency: prices with tax, amounts of lines without.
    """
    agreed = agreed_of(fields, events)
    rows = [*_lines(agreed), *_if_found(agreed, fields)]
    for name, value, first in values_of(fields):
        rows += _rows_of(name, value, first)
    return [{column: cell for column, cell in row.items() if cell not in (None, "")} for row in rows]


def values_of(fields: Mapping[str, Sequence[Entry]]) -> Iterator[tuple[str, Any, Entry]]:
    """Yield each field that holds something fit, its value, and who entered it first, in the order of entry."""
    found = []
    for name, entries in fields.items():
        head = present(entries)
        if head is not None and head.value is not None and not unfit(head):
            found.append((name, head.value, min(entries, key=lambda entry: entry.order)))
    yield from sorted(found, key=lambda item: item[2].order)


def _rows_of(name: str, value: Any, first: Entry) -> list[dict[str, Any]]:
    if name.startswith(DONE):
        return _work(name.removeprefix(DONE), value, first)
    if name.startswith(MONEY):
        own = {"sheet": PAID, "name": name.removeprefix(MONEY), "what": value["what"], "amount": value["amount"]}
        return [own | _common(value, first)]
    if name.startswith(CHANGE):
        own = {"sheet": CHANGED, "name": name.removeprefix(CHANGE), "what": line(value["what"])}
        figures = {"amount": plain_number(value.get("price")), "hours": plain_number(value.get("hours"))}
        return [own | figures | _common(value, first)]
    if name.startswith(RETURN):
        return [_return(name.removeprefix(RETURN), value, first)]
    if name.startswith(TRUTH):
        own = {"sheet": TEARDOWN, "name": name.removeprefix(TRUTH), "part": line(value.get("part"))}
        return [own | {"what": value.get("severity") or value.get("state")} | _common(value, first)]
    return []


def _common(value: Mapping[str, Any], first: Entry) -> dict[str, Any]:
    day = day_of(value.get("day"))
    who = line(value.get("who")) or first.who
    return {"day": day.isoformat() if day else None, "who": who, "note": value.get("note")}


def _work(name: str, value: Mapping[str, Any], first: Entry) -> list[dict[str, Any]]:
    own = {"name": name, "operation": name.rpartition(".")[0]} | _common(value, first)
    rows = [{"sheet": HOURS, "hours": float(value["hours"]), **own}] if value["hours"] else []
    for place, item in enumerate(value.get("materials") or ()):
        used = {"what": item["material"], "count": float(item["amount"]), "amount": plain_number(item.get("cost"))}
        rows.append({"sheet": MATERIAL, **own, "name": f"{name}.{place}", **used})
    return rows


def _return(name: str, value: Mapping[str, Any], first: Entry) -> dict[str, Any]:
    common = _common(value, first)
    delivered, day = day_of(value.get("delivered")), day_of(value["day"])
    return {
        "sheet": RETURNED,
        "name": name,
        "what": line(value["cause"]),
        "part": line(value.get("part")),
        "hours": plain_number(value.get("hours")),
        "amount": plain_number(value.get("cost")),
        "count": days_between(delivered, day),
        **common,
    }


def days_between(first: date | None, last: date | None) -> int | None:
    """Return the days from one day to another; None where either is not known."""
    return (last - first).days if first and last else None


def _lines(agreed: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    for place, row in enumerate(agreed.get("lines") or ()):
        yield {
            "sheet": LINE,
            "name": f"{place:03d}",
            "operation": row["operation"],
            "part": line(row.get("part")),
            "day": agreed.get("day"),
            **{name: plain_number(row.get(name)) for name in ("hours", "labour", "materials", "outside")},
            "amount": sum(plain_number(row.get(name)) or 0.0 for name in ("labour", "materials", "outside")),
        }


def _if_found(agreed: Mapping[str, Any], fields: Mapping[str, Sequence[Entry]]) -> Iterator[dict[str, Any]]:
    answers = answers_of(fields)
    for row in agreed.get("if_found") or ():
        answer, on = answers.get(row["key"], ("", None))
        yield {
            "sheet": IF_FOUND,
            "name": row["key"],
            "operation": row["operation"],
            "part": line(row.get("part")),
            "chance": plain_number(row.get("chance")),
            "amount": plain_number(row["price"]),
            "what": answer,
            "day": on.isoformat() if on else None,
        }


def answers_of(fields: Mapping[str, Sequence[Entry]]) -> dict[str, tuple[str, date | None]]:
    """Return what became of the if-found lines that are answered, with the day, by the key of the line."""
    return {
        name.removeprefix(FOUND): (value["answer"], day_of(value["day"]))
        for name, value, _ in values_of({n: e for n, e in fields.items() if n.startswith(FOUND)})
    }


__all__ = ["AGREEMENT", "answers_of", "days_between", "ledger_rows", "values_of"]
