"""What can be done with the tool, for the command line and the screens: they call this and nothing below it.

Reads files, never the clock: `today` comes in as an argument. Every function raises `UserError` for what a person
can mend, and `NotInForce` where the tables hold nothing for the day.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from pathlib import Path

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import appraise, report
from valuation.engine.condition_told import findings_of
from valuation.engine.draws import LARGEST, SMALLEST
from valuation.engine.headline import headline
from valuation.engine.results import stops_of
from valuation.engine.rows import LEVELS, Tables
from valuation.engine.study import Answer, Study, decide_at, study_of, what_if
from valuation.errors import Problem, UserError, VisitError, quoted
from valuation.facts.errors import NotInForce
from valuation.facts.visit import Visit
from valuation.files.faults import did_you_mean, one_of
from valuation.files.plain_text import decode_text
from valuation.files.set_levels import offered_levels
from valuation.files.visit_file import MOST_BYTES, parse_visit, read_visit
from valuation.files.visit_writer import write_visit
from valuation.report.contract import to_json
from valuation.report.one_page import one_page
from valuation.rules.load import PACKAGED, load_tables

__all__ = [
    "DRAWS",
    "MOST_BYTES",
    "PACKAGED",
    "Answer",
    "Appraisal",
    "NotInForce",
    "Study",
    "UserError",
    "appraise",
    "decide_at",
    "demo_visits",
    "findings_of",
    "headline",
    "load_shop",
    "one_page",
    "read_levels",
    "read_visit_bytes",
    "read_visit_file",
    "read_visit_text",
    "report",
    "stops_of",
    "study_of",
    "to_json",
    "what_if",
    "write_visit_text",
]

DRAWS = tuple(2**k for k in range(SMALLEST.bit_length() - 1, LARGEST.bit_length()))
"""Numbers of draws to choose from."""

DEMO = Path(__file__).resolve().parents[2] / "data_demo" / "visits"
"""The visit files of the invented workshop."""


def load_shop(folder: Path | None = None) -> Tables:
    """Return the shop's tables; the same object as long as nothing in the folder changes.

    Parameters
    ----------
    folder : Path, optional
        The shop's own copy of the tables; the packaged ones if left out.

    Returns
    -------
    Tables
        Read and checked.

    Raises
    ------
    UserError
        If anything in the folder is wrong.
    """
    folder = (PACKAGED if folder is None else folder).resolve()
    return _load(folder, _stamp(folder))


@lru_cache(maxsize=4)
def _load(folder: Path, stamp: tuple) -> Tables:  # noqa: ARG001  (a changed file makes another key)
    return load_tables(folder)


def _stamp(folder: Path) -> tuple:
    """Return what shows that a file was changed: name, size and time of each; the loader tells what can't be read."""
    try:
        stats = [(path.name, path.stat()) for path in sorted(folder.iterdir())]
    except OSError:
        return ()
    return tuple((name, stat.st_size, stat.st_mtime_ns) for name, stat in stats)


def read_visit_file(path: Path, tables: Tables, today: date) -> Visit:
    """Return the visit of a file, or raise `UserError` with every fault in it."""
    if path.is_dir():
        raise VisitError([Problem(path.name, 0, "", "this is a folder; give one visit file in it")])
    return read_visit(path, tables, today=today)


def read_visit_text(text: str, name: str, tables: Tables, today: date) -> Visit:
    """Return the visit that a text holds; `name` is what its faults are told under."""
    return parse_visit(text, name, tables, today=today)


def read_visit_bytes(data: bytes, name: str, tables: Tables, today: date) -> Visit:
    """Return the visit of an upload or of standard input; as `read_visit_text`."""
    if len(data) > MOST_BYTES:
        raise VisitError([Problem(name, 0, "", f"there are more than {MOST_BYTES:,} bytes; is it the right one?")])
    text, problems = decode_text(data, name)
    if problems:
        raise VisitError(problems)
    return parse_visit(text, name, tables, today=today)


def write_visit_text(visit: Visit, tables: Tables) -> str:
    """Return the text of a visit file that reads back equal."""
    return write_visit(visit, tables)


def read_levels(pairs: Iterable[str], visit: Visit, tables: Tables) -> dict[str, str]:
    """Return the level that a person has set for each of some parts.

    Parameters
    ----------
    pairs : iterable of str
        Each as ``part=level``, such as ``hammers=replace``.
    visit : Visit
        Says which parts there are, and by its kind what can be done to them.
    tables : Tables
        The shop's tables.

    Returns
    -------
    dict of str to str
        For `appraise`.

    Raises
    ------
    UserError
        If a part or level is not known, is given twice, or no operation brings the part to that level.
    """
    offered = offered_levels(visit, tables)
    levels: dict[str, str] = {}
    problems = []
    for pair in pairs:
        part, equals, word = (piece.strip() for piece in pair.partition("="))
        possible = offered.get(part, ())
        if not equals:
            message = f"{quoted(pair)} sets no level; write it like hammers=replace"
        elif part not in offered:
            message = f"{quoted(part)} is not a part of this piano{did_you_mean(part, offered)}"
        elif word not in LEVELS:
            message = f"{quoted(word)} is not a level{did_you_mean(word, LEVELS)}"
        elif word not in possible:
            message = f"no operation can {word} {quoted(part)} on this {visit.piano.kind}; write {one_of(possible)}"
        elif part in levels:
            message = f"{quoted(part)} is set twice; set it once"
        else:
            levels[part] = word
            continue
        problems.append(Problem("--level", 0, "", message))
    if problems:
        raise UserError(problems)
    return levels


def demo_visits() -> list[tuple[str, Path]]:
    """Return the invented pianos: a short name, and the visit file."""
    return [(path.stem.partition("_")[2].replace("_", " "), path) for path in sorted(DEMO.glob("*.toml"))]
