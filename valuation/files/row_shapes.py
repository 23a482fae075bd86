"""What rows of many tables must hold alike: ranges that rise, shares that add up, dates that run forward."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any

from valuation.facts.columns import columns_of

Fault = tuple[str, str]
"""(column, message)."""

SUM_WITHIN = 1e-6
"""How far shares may add up to something other than 1."""


def ranges_rise(row: Any) -> Iterator[Fault]:
    """Low, likely and high of each range of the row rise."""
    for name in columns_of(type(row)):
        if not name.endswith("_likely"):
            continue
        stem = name.removesuffix("_likely")
        low, likely, high = (getattr(row, f"{stem}_{end}") for end in ("low", "likely", "high"))
        if not low <= likely <= high:
            yield name, f"low, likely and high must rise: {low:g}, {likely:g}, {high:g}"
        elif low == 0 < high:
            yield f"{stem}_low", "where anything is to pay or do, low must be above 0; otherwise write 0 in all three"


def shares_add_up(*names: str) -> Callable[[Any], Iterator[Fault]]:
    """Return the check that the shares add to 1."""

    def check(row: Any) -> Iterator[Fault]:
        total = sum(getattr(row, name) for name in names)
        if abs(total - 1) > SUM_WITHIN:
            yield names[0], f"the shares {', '.join(names)} add to {total:.6g}; they must add to 1"

    return check


def falls(stem: str, states: tuple[str, ...]) -> Callable[[Any], Iterator[Fault]]:
    """Return the check that a figure never rises from the better state to the worse."""

    def check(row: Any) -> Iterator[Fault]:
        for better, worse in pairwise(states):
            if getattr(row, stem + worse) > getattr(row, stem + better):
                yield stem + worse, f"it is more than {stem}{better}; a worse state can't have more"

    return check


def below(low: str, high: str) -> Callable[[Any], Iterator[Fault]]:
    """Return the check that one figure is less than another."""

    def check(row: Any) -> Iterator[Fault]:
        if not getattr(row, low) < getattr(row, high):
            yield high, f"{high} must be greater than {low}: {getattr(row, high):g} is not above {getattr(row, low):g}"

    return check


def dates_run_forward(row: Any) -> Iterator[Fault]:
    """The last day is not before the first."""
    if row.valid_to is not None and row.valid_to < row.valid_from:
        yield "valid_to", f"the row ends on {row.valid_to}, before it begins on {row.valid_from}"


def cycle_in(before: dict[str, set[str]]) -> list[str]:
    """Return the names of one cycle, each before the next; empty where there is none."""
    try:
        TopologicalSorter({name: sorted(earlier) for name, earlier in before.items()}).prepare()
    except CycleError as error:
        return error.args[1]
    return []
