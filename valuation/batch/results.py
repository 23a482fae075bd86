"""The table of results: what its columns mean, and how it is written to CSV or Parquet."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Protocol, Self

from valuation.disk import new_file, require_place
from valuation.engine.decision import OPTIONS
from valuation.engine.headline import Headline
from valuation.errors import Problem
from valuation.files.plain_cells import guarded

COLUMNS: dict[str, type] = {
    "file": str,  # visit file as given, or the CSV and its line
    "title": str,
    "ready": bool,  # every gate has been looked at; where not, there is no verdict and no price
    "verdict": str,  # rebuild, partial_repair, keep, retire; empty while not ready
    "leans_to": str,  # the same by today's odds alone, ready or not
    "clarity": str,  # clear, leaning, close
    "beats_next": float,  # share of draws in which the verdict beats the next option
    "next_option": str,
    "gap": float,  # expected net of the verdict less that of the next option, in money
    "expected_loss": float,  # what deciding now costs on average against knowing how each way would come out, in money
    "score": float,  # condition, 0 to 100
    **{
        f"{option}_{figure}": float  # in money; empty where there is no such option
        for option in OPTIONS
        for figure in ("expected_price", "price_low", "price_high", "expected_net", "value_after")
    },
    "next_check": str,  # first check worth making; empty where nothing is worth its minutes
    "stop_looking": bool,
    "on": str,  # day whose rates and bands count
    "draws": int,
    "seed": int,
    "tables_hash": str,
    "problems": str,  # every fault of this piano, separated by ' | '; all columns between are then empty
}
"""Column -> type of what stands in it. Money in the shop's currency, tax included; see the manual for each."""

Row = dict[str, Any]
_ROWS_AT_ONCE = 500
_CENTS, _SHARES, _SCORES = 2, 4, 1


def row_of(file: str, found: Headline) -> Row:
    """Return the row of one appraisal; money to the cent, shares to four decimals."""
    row = {
        "file": file,
        "title": found.title,
        "ready": found.ready,
        "verdict": found.verdict if found.ready else None,
        "leans_to": found.verdict,
        "clarity": found.clarity,
        "beats_next": _rounded(found.beats_next, _SHARES),
        "next_option": found.next_option,
        "gap": _rounded(found.gap, _CENTS),
        "expected_loss": _rounded(found.expected_loss, _CENTS),
        "score": _rounded(found.score, _SCORES),
    }
    for option in found.options if found.ready else ():
        row |= {
            f"{option.option}_{figure}": _rounded(getattr(option, figure), _CENTS)
            for figure in ("expected_price", "price_low", "price_high", "expected_net", "value_after")
        }
    return row | {
        "next_check": found.next_check or None,
        "stop_looking": found.stop_looking,
        "on": found.on.isoformat(),
        "draws": found.draws,
        "seed": found.seed,
        "tables_hash": found.tables_hash,
    }


def row_at_fault(file: str, problems: Sequence[Problem]) -> Row:
    """Return the row of a piano that could not be appraised."""
    return {"file": file, "problems": " | ".join(map(str, problems))}


def _rounded(figure: float, decimals: int) -> float:
    return round(float(figure), decimals) + 0.0  # no minus before a zero


class Writer(Protocol):
    """Takes rows one by one; what it holds reaches the file when it is left."""

    def write(self, row: Row) -> None:
        """Take the next row."""

    def __enter__(self) -> Self: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...


class CsvWriter:
    """Rows into CSV: UTF-8, commas, a point for decimals, true and false, empty cells for what there is not.

    A text that a spreadsheet would take for a formula has an apostrophe before it, also in the names of files.
    """

    def __init__(self, path: Path) -> None:
        self._file = path.open("x", encoding="utf-8", newline="")
        self._writer = csv.writer(self._file, lineterminator="\n")
        self._writer.writerow(COLUMNS)

    def write(self, row: Row) -> None:
        """Take the next row."""
        self._writer.writerow(_plain(row.get(column)) for column in COLUMNS)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()


def _plain(value: Any) -> Any:
    """Return a value as a cell of CSV; no text of it is a formula."""
    if isinstance(value, bool):
        return str(value).lower()
    return guarded(value) if isinstance(value, str) else value


class ParquetWriter:
    """Rows into Parquet, each column with its type, empty where there is nothing."""

    def __init__(self, path: Path) -> None:
        import pyarrow as pa
        import pyarrow.parquet as pq

        types = {str: pa.string(), float: pa.float64(), int: pa.int64(), bool: pa.bool_()}
        self._schema = pa.schema([(column, types[kind]) for column, kind in COLUMNS.items()])
        self._to_batch = pa.RecordBatch.from_pylist
        self._writer = pq.ParquetWriter(path, self._schema)
        self._waiting: list[Row] = []

    def write(self, row: Row) -> None:
        """Take the next row."""
        self._waiting.append(row)
        if len(self._waiting) == _ROWS_AT_ONCE:
            self._flush()

    def _flush(self) -> None:
        self._writer.write_batch(self._to_batch(self._waiting, schema=self._schema))
        self._waiting.clear()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        with self._writer:
            if kind is None and self._waiting:
                self._flush()


WRITERS: dict[str, Callable[[Any], Writer]] = {".csv": CsvWriter, ".parquet": ParquetWriter}
"""Ending of the file -> what writes it."""


@contextmanager
def results_file(path: Path, inputs: Iterable[Path] = ()) -> Iterator[Writer]:
    """Give a writer; the file appears, whole, when the work is done, and never if it is not.

    Parameters
    ----------
    path : Path
        Ends in ``.csv`` or ``.parquet``; one that is there is replaced at the end.
    inputs : iterable of Path
        Files and folders that are read; the results replace none of them.

    Yields
    ------
    Writer
        Takes the rows.

    Raises
    ------
    UserError
        If the file can't be written there.
    """
    require_place(path, tuple(WRITERS), "results are", inputs=inputs)
    with new_file(path) as unfinished, WRITERS[path.suffix.lower()](unfinished) as writer:
        yield writer
