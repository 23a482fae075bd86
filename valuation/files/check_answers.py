"""Across tables: checks that use the readings of another check."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.core.rows import Tables
from valuation.errors import Problem
from valuation.files.answer_checks import is_share
from valuation.files.check_names import kinds_of
from valuation.files.faults import fault_at, quoted


def check_readings(book: Tables) -> Iterator[Problem]:
    """The check whose readings are used has readings of its own, for the same kinds of piano and in a fitting unit."""
    known = {row.id for row in book.checks}
    for index, row in enumerate(book.checks):
        if row.readings_of not in known:
            continue
        for kind in kinds_of(row.kinds):
            source = book.of_kind("checks", kind).get(row.readings_of)
            if source is None:
                message = f"there is no check {quoted(row.readings_of)} for {kind}s, as there is of this one"
            elif source.answer != "readings" or source.readings_of:
                message = f"{quoted(source.id)} has no readings of its own; name a check answered by readings"
            elif not is_share(row) and row.unit != source.unit:
                message = f"it is told in {row.unit} but the readings of {quoted(source.id)} are in {source.unit}"
            else:
                continue
            yield fault_at(book, "checks", index, "readings_of", message)
            break


ANSWER_CHECKS = (check_readings,)
