"""Hours of old jobs from a spreadsheet: each row into hours on one operation of one piano, by day and person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from valuation.errors import Problem, quoted
from valuation.files.old_lists import OldList, PastRow, Row, Wrong, read_cells, read_past_day, read_rows, read_sum
from valuation.language import later, say

HOURS = OldList(
    targets={
        "piano": later("Which piano: name, client or serial number"),
        "operation": later("Operation"),
        "hours": later("Hours"),
        "day": later("On which day"),
        "who": later("Who"),
        "note": later("Remark"),
    },
    needed=("piano", "operation", "hours"),
    names={
        "hours": ("hours", "time", "stunden", "std", "zeit"),
        "day": ("day", "date", "tag", "datum"),
        "who": ("who", "person", "technician", "wer", "techniker", "mitarbeiter"),
        "operation": ("operation", "work", "task", "arbeit", "arbeitsgang", "tätigkeit", "taetigkeit"),
        "piano": ("piano", "instrument", "client", "job", "serial", "klavier", "kunde", "kundin", "seriennummer"),
        "note": ("note", "remark", "notiz", "bemerkung"),
    },
)
"""A list of hours worked, one row for an operation, a day and a person."""

_MOST = 1000.0


def past_hours(
    rows: Sequence[Row],
    head: Sequence[str],
    columns: Mapping[str, int],
    file: str,
    *,
    pianos: Mapping[str, Sequence[str]],
    operations: Mapping[str, str],
    today: date,
) -> tuple[list[PastRow], list[Problem]]:
    """Return hours by ``visit`` and ``operation`` as a job keeps them, and every fault; arguments as for `read_rows`.

    Parameters
    ----------
    pianos : mapping of str to sequence of str
        What the shop's pianos go by, without capitals, and which visits that may be.
    operations : mapping of str to str
        What operations go by, without capitals, and their ids; a row whose operation is '' is left out.
    today : date
        Nothing of the past lies ahead of it.
    """

    def read(target: str, text: str) -> Any:
        if target == "piano":
            return _one_piano(text, pianos)
        if target == "operation":
            if text.casefold() not in operations:
                raise ValueError(
                    say("{text} is no operation; say below the columns which one it is", text=quoted(text))
                )
            return operations[text.casefold()]
        if target == "day":
            day = read_past_day(text)
            if day > today:
                raise ValueError(say("{day} lies ahead; the past has happened", day=day))
            return day.isoformat()
        return read_worked(text) if target == "hours" else text

    def facts(told: Mapping[str, str], wrong: Wrong) -> dict[str, Any]:
        values = read_cells(told, wrong, read)
        return {"visit": values.pop("piano")} | values if not wrong and values["operation"] else {}

    return read_rows(rows, head, columns, file, HOURS, facts)


def _one_piano(text: str, pianos: Mapping[str, Sequence[str]]) -> str:
    found = pianos.get(text.casefold(), ())
    if not found:
        raise ValueError(
            say("{text} is no piano here; bring in the list of pianos first, or write it as there", text=quoted(text))
        )
    if len(found) > 1:
        raise ValueError(
            say("{text} may be {count} pianos; write the serial number or the name of the visit", text=quoted(text),
                count=len(found))
        )  # fmt: skip
    return found[0]


def read_worked(text: str) -> float:
    """Return hours as lists write them.

    Examples
    --------
    >>> read_worked("2,5"), read_worked("1:30"), read_worked("4 h")
    (2.5, 1.5, 4.0)
    """
    whole, colon, minutes = text.partition(":")
    if colon and whole.isdecimal() and len(minutes) == 2 and minutes.isdecimal() and int(minutes) < 60:
        hours = int(whole) + int(minutes) / 60
    else:
        hours = read_sum(text)
    if not 0 < hours < _MOST:
        raise ValueError(say("{text}: write more than 0 and fewer than 1000 hours", text=quoted(text)))
    return hours
