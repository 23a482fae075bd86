"""Bring the documents up to date with the code: what their commands print, and the columns of the tables.

    .venv/bin/python -m tests.documents

Read what it changes before it is committed: a worked example that moved tells what a change of tables has done.
A block that ends in a line of three dots shows the beginning of what the command prints.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import MISSING, Field
from datetime import date
from pathlib import Path
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

from valuation import manual
from valuation.engine.rows import Settings, Tables
from valuation.facts.columns import Column, columns_of

ROOT = Path(__file__).parents[1]
MANUAL = Path(manual.__file__).parent
README, DEVELOPERS = ROOT / "README.md", ROOT / "DEVELOPERS.md"
EXAMPLE = re.compile(r"```\n\.venv/bin/(python -m valuation [^\n]+)\n```\n\n```text\n(.*?)```", re.DOTALL)
MORE = "...\n"
"""Last line of a block that shows only the beginning."""

_HASH = re.compile(r"\b(tables|hash) [0-9a-f]{8}\b")
_KINDS = {bool: "yes or no", date: "a day", int: "whole number"}


def documents() -> list[Path]:
    """Return every document: README, DEVELOPERS, and the chapters of the manual."""
    return [README, DEVELOPERS, *sorted(MANUAL.glob("*.md"))]


def run(command: str) -> str:
    """Return what a command of a document prints; it must end well."""
    words = shlex.split(command)
    if words[0] != "python":
        raise ValueError(f"'{command}' is no command of the tool")
    done = subprocess.run([sys.executable, *words[1:]], cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout


def without_hash(text: str) -> str:
    """Return the text with the hash of the tables left out, which any change of any row moves."""
    return _HASH.sub(r"\1 ...", text)


def columns_chapter() -> str:
    """Return the chapter that lists every column of every table, told from the classes of their rows."""
    parts = [
        "# The tables, column by column\n",
        "How to change them stands in [tables](tables.md). A list in a cell is separated by `;`. An id is a short name",
        "of a-z, 0-9 and _. Severities are `none`, `slight`, `marked` and `severe`, states `sound`, `serviceable`,",
        "`worn` and `failed`.",
    ]
    for table, hint in get_type_hints(Tables).items():
        if get_origin(hint) is tuple:
            row = get_args(hint)[0]
            parts += [f"\n## {table}.csv\n", f"{_first_line(row)}\n", *_rows(row, "column")]
    return "\n".join(parts) + "\n"


def settings_chapter() -> str:
    """Return the chapter that lists every setting."""
    parts = [
        "# The shop's settings\n",
        "Single figures stand in `settings.toml` among the tables. Each has its `value`, `unit`, `source` and `note`.",
        "What the program itself is told when it starts stands in [environment](environment.md).\n",
        *_rows(Settings, "setting"),
    ]
    return "\n".join(parts) + "\n"


def _first_line(row: type) -> str:
    return " ".join((row.__doc__ or "").partition("\n\n")[0].split())


def _rows(row: type, head: str) -> Iterator[str]:
    yield f"| {head} | what it says | what may stand there |"
    yield "| --- | --- | --- |"
    hints = get_type_hints(row)
    for name, (field, column) in columns_of(row).items():
        yield f"| `{name}` | {column.says.replace('|', '/')} | {'; '.join(_allowed(hints[name], field, column))} |"


def _allowed(hint: Any, field: Field, column: Column) -> Iterator[str]:
    """Yield what may stand in a cell, in a few words each."""
    plain = next((kind for kind in get_args(hint) if kind is not NoneType), hint) if get_origin(hint) else hint
    if get_origin(hint) is tuple:
        yield "a list"
    elif plain in _KINDS:
        yield _KINDS[plain]
    if column.choices:
        yield ", ".join(f"`{choice}`" for choice in column.choices)
    if column.refers_to:
        yield f"id of `{column.refers_to}`"
    if column.unit:
        yield f"in {column.unit}"
    yield from _limits(column)
    if field.default is not MISSING:
        yield "may be empty"


def _limits(column: Column) -> Iterator[str]:
    least = f"more than {column.above:g}" if column.above is not None else ""
    if column.low is not None:
        least = f"from {column.low:g}"
    most = f"to {column.high:g}" if column.high is not None else ""
    if least or most:
        yield f"{least} {most}".strip()


GENERATED = {"columns": columns_chapter, "settings": settings_chapter}
"""Chapters that come whole from the code."""


def updated(text: str) -> str:
    """Return a document with what its commands print today."""

    def shown_anew(found: re.Match[str]) -> str:
        command, shown = found.groups()
        printed = run(command)
        if shown.endswith(MORE):
            lines = shown.count("\n") - 1
            printed = "".join(printed.splitlines(keepends=True)[:lines]) + MORE
        return found[0].replace(f"```text\n{shown}```", f"```text\n{printed}```")

    return EXAMPLE.sub(shown_anew, text)


def main() -> None:
    """Write every document that differs, and name it."""
    for name, chapter in GENERATED.items():
        (MANUAL / f"{name}.md").write_text(chapter(), encoding="utf-8")
    for path in documents():
        text = path.read_text(encoding="utf-8")
        if (now := updated(text)) != text:
            path.write_text(now, encoding="utf-8")
            print(f"changed: {path.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
