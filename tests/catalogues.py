"""Bring the catalogues up to date with every message of the code and of the packaged tables.

    .venv/bin/python -m tests.catalogues

What is new stands there untranslated, in the order of the code; what nobody says any more goes. Where a merge left a
catalogue in pieces, both sides are put together first.
"""

from __future__ import annotations

import ast
import itertools
import re
import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

from valuation.engine.rows import CAUSES, KINDS, LEVELS, SECTIONS, SEVERITIES, STATES
from valuation.engine.rows.words import LEVELS_OF_CAUSE
from valuation.language import CATALOGUES, ENGLISH, LANGUAGES
from valuation.sales.sale import PRICE_KINDS, RESTORED, SALE_KINDS
from valuation.service import load_shop

CODE = CATALOGUES.parent
HEADER = """\
# Words of this tool in another language. One message, one translation; DEVELOPERS.md says how to bring it up to date.
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Language: {language}\\n"
"Plural-Forms: nplurals={plurals}; plural={rule};\\n"
"""

SHOWN = {
    "sources": ("kind", "title"),
    "states": ("name", "meaning"),
    "hidden": ("name", "meaning"),
    "components": ("name",),
    "systems": ("name",),
    "parts": ("name", "called", "what", "felt"),
    "features": ("name", "note"),
    "faults": ("name", "plain", "slight", "marked", "severe"),
    "conflicts": ("says",),
    "accesses": ("name",),
    "checks": ("name", "how", "why", "tool", *SEVERITIES, "note"),
    "operations": ("name", "plain", "told"),
    "openings": ("name",),
    "scopes": ("name", "plain"),
    "materials": ("name", "unit"),
    "rates": ("name",),
    "sizes": ("name",),
    "tiers": ("id", "name"),
    "eras": ("name",),
    "replacements": ("name",),
    "cautions": ("text", "plain"),
    "choices": ("name", "plain"),
    "stages": ("name",),
    "reasons": ("name",),
    "follow_ups": ("what",),
    "handover": ("name", "how"),
    "countries": ("name", "appraiser"),
    "taxes": ("name", "says"),
    "laws": ("says",),
    "value_kinds": ("name", "definition", "market", "used_for"),
}
"""Columns of the packaged tables whose cells people are shown in words."""

UNSAID = {
    *("id", "kinds", "kind", "source", "note", "part", "view", "check", "operation", "feature", "treat_first"),
    *(
        "readings_of",
        "reads",
        "asked_after",
        "family",
        "piece",
        "given",
        "build",
        "old_check",
        "old_word",
        "applies_to",
    ),
    *("strings", "action", "seen_at", "told", "why"),
    *("country", "currency", "language", "writes", "word", "here", "checked_by", "of"),
}
"""Columns that hold keys, and notes that stand beside a row for whoever changes it."""

WORDS = (
    *(*KINDS, *STATES, *SEVERITIES, *SECTIONS, *LEVELS, *CAUSES, *itertools.chain(*LEVELS_OF_CAUSE.values())),
    *(*RESTORED, *SALE_KINDS, *PRICE_KINDS),
    *("not looked at", "can't be seen", "clear", "leaning", "close"),
)
"""Words that files and results hold and that are shown as they are."""

NAMED = re.compile(r"{(\w+)}")

Message = str | tuple[str, str]


def messages() -> dict[Message, list[str]]:
    """Return every message, one and many as a pair, with the files that say it."""
    found: dict[Message, list[str]] = {}
    for path in (CODE.parent / "app.py", *sorted(CODE.rglob("*.py"))):
        for message in _said(ast.parse(path.read_text(encoding="utf-8")), path):
            found.setdefault(message, []).append(path.relative_to(CODE.parent).as_posix())
    for table, text in _cells():
        found.setdefault(text, []).append(table)
    for word in WORDS:
        found.setdefault(word, []).append("valuation/engine/rows/words.py")
    # one message, one translation: what is counted somewhere has its single form there
    pairs = {message[0]: message for message in found if isinstance(message, tuple)}
    for one in [message for message in found if message in pairs]:
        found[pairs[one]] += found.pop(one)
    return found


def _said(tree: ast.AST, path: Path) -> Iterator[Message]:
    name, columns = path.name, path.parent == CODE / "engine" / "rows"
    calls = (c for c in ast.walk(tree) if isinstance(c, ast.Call) and isinstance(c.func, ast.Name) and c.args)
    for call in sorted(calls, key=lambda call: (call.lineno, call.col_offset)):
        if call.func.id in ("say", "later") or (columns and call.func.id == "column"):
            yield from _literals(call.args[0], name)
        elif call.func.id == "say_many":
            one, many = (next(_literals(argument, name)) for argument in call.args[:2])
            yield one, many


def _literals(argument: ast.expr, name: str) -> Iterator[str]:
    """Yield the texts that an argument can be; a name or a cell is told elsewhere."""
    if isinstance(argument, ast.Constant) and argument.value:
        yield argument.value
    elif isinstance(argument, ast.IfExp):
        yield from _literals(argument.body, name)
        yield from _literals(argument.orelse, name)
    elif isinstance(argument, ast.JoinedStr):
        raise TypeError(f"{name}:{argument.lineno}: figures go into a message by name, say('{{n}} keys', n=n)")


def _cells() -> Iterator[tuple[str, str]]:
    book = load_shop()
    for table, columns in SHOWN.items():
        rows = getattr(book, table)
        where = f"valuation/tables/{table}.csv"
        for row in rows:
            if table == "sources" and row.kind == "published":
                columns = ("kind",)  # a publication keeps its title
            yield from ((where, text) for column in columns if (text := getattr(row, column)))


def path_of(language: str) -> Path:
    """Return the catalogue of a language."""
    return CATALOGUES / language / "LC_MESSAGES" / "valuation.po"


def read_catalogue(language: str) -> Catalog:
    """Return the catalogue of a language as it stands."""
    with path_of(language).open("rb") as file:
        return read_po(file, locale=language, abort_invalid=True)


def settle(language: str) -> None:
    """Put both sides together where a merge left the catalogue in pieces; ours goes before theirs."""
    if b"<<<<<<<" not in path_of(language).read_bytes():
        return
    name = path_of(language).relative_to(CODE.parent).as_posix()
    sides = [subprocess.check_output(["git", "show", f":{stage}:{name}"], cwd=CODE.parent) for stage in (2, 3)]
    ours, theirs = (read_po(BytesIO(side), locale=language) for side in sides)
    for entry in theirs:
        mine = ours.get(entry.id) if entry.id else entry
        if mine is None:
            ours.add(entry.id, entry.string)
        elif not any(mine.string):
            mine.string = entry.string  # `add` leaves the string of one that is there
    text = BytesIO()
    write_po(text, ours, omit_header=True)
    header = HEADER.format(language=language, plurals=ours.num_plurals, rule=ours.plural_expr)
    path_of(language).write_bytes(header.encode() + b"\n" + text.getvalue())


def untranslated(language: str) -> list[Message]:
    """Return the messages that have no translation, or one whose figures are named otherwise."""
    catalogue = read_catalogue(language)
    return [message for message in messages() if not _is_told(message, catalogue)]


def _is_told(message: Message, catalogue: Catalog) -> bool:
    entry = catalogue.get(message)
    if entry is None:
        return False
    told = entry.string if isinstance(entry.string, tuple) else (entry.string,)
    asked = message if isinstance(message, tuple) else (message,)
    figures = [set(NAMED.findall(text)) - {"count"} for text in (*asked, *told)]
    return all(told) and all(named == figures[0] for named in figures)


def up_to_date(language: str) -> bytes:
    """Return the text of a catalogue with every message in it and nothing else."""
    before, after = read_catalogue(language), Catalog(locale=language, fuzzy=False)
    for message, files in messages().items():
        entry = before.get(message)
        several = isinstance(message, tuple)
        if entry and isinstance(entry.id, tuple) is several:
            told = entry.string
        else:  # new, or said in one form till now
            told = ("",) * before.num_plurals if several else ""
        after.add(message, told, locations=[(file, 0) for file in dict.fromkeys(files)])
    text = BytesIO()
    write_po(text, after, width=110, omit_header=True, include_lineno=False)
    header = HEADER.format(language=language, plurals=before.num_plurals, rule=before.plural_expr)
    return header.encode() + b"\n" + text.getvalue()


if __name__ == "__main__":
    for chosen in LANGUAGES:
        if chosen == ENGLISH:
            continue
        settle(chosen)
        path_of(chosen).write_bytes(up_to_date(chosen))
        for missing in untranslated(chosen):
            print(f"{chosen}: {missing}")
