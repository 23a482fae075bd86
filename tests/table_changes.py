"""One change to a whole folder of tables, and what must then be told."""

from __future__ import annotations

from pathlib import Path

import pytest

from valuation.errors import Problem, TableError
from valuation.rules import load_tables


def faults_of(folder: Path) -> list[Problem]:
    with pytest.raises(TableError) as caught:
        load_tables(folder)
    return list(caught.value.problems)


def change(folder: Path, file: str, old: str, new: str) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text, f"{old!r} is not in {file}: the test no longer changes anything"
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8", newline="")


def assert_told(problems: list[Problem], file: str, line: int, where: str, fragment: str) -> None:
    found = [p for p in problems if (p.file, p.line, p.where) == (file, line, where) and fragment in p.message]
    assert found, "\n".join(map(str, problems))


def named(cases: list) -> list:
    return [pytest.param(*case[1:], id=case[0]) for case in cases]
