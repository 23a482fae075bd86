"""One change to the small tables of the engine, and what must then be told."""

from __future__ import annotations

from typing import Any

import pytest
import small_rules

from valuation.errors import Problem, TableError
from valuation.files.faults import file_of


def problems_of(**changes: small_rules.Change) -> list[Problem]:
    with pytest.raises(TableError) as caught:
        small_rules.tables(**changes)
    return list(caught.value.problems)


def assert_told(problems: list[Problem], table: str, key: str | None, where: str, fragment: str) -> None:
    """Hold that a problem stands at the row that begins with the key's words; None means the whole file."""
    line = 0 if key is None else small_rules.line_of(table, *key.split(" "))
    place = (file_of(table), line, where)
    found = [p for p in problems if (p.file, p.line, p.where) == place and fragment in p.message]
    assert found, f"not told at {place}:\n" + "\n".join(map(str, problems))


def named(cases: list[tuple[Any, ...]]) -> list[Any]:
    return [pytest.param(*case[1:], id=case[0]) for case in cases]
