"""Rows of a list from before this tool, each into the facts of a visit; every fault is told with its row and column.

What for: clients and old jobs from a spreadsheet. Columns may be called anything: whoever brings them in says which is
which, `guessed` helps. Days and sums are read as spreadsheets write them where that can mean only one thing.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from valuation.errors import Problem, quoted
from valuation.facts import why_unfit
from valuation.language import later

TARGETS = {
    "piano.kind": later("Upright or grand"),
    "title": later("Name of the visit"),
    "client.name": later("Who asks"),
    "client.phone": later("Telephone"),
    "place": later("Where it stands"),
    "piano.maker": later("Maker, as written on it"),
    "piano.serial": later("Serial number"),
    "piano.year": later("Year built"),
    "date": later("Day of the visit"),
    "technician": later("Technician"),
    "job.source": later("Where the client comes from"),
    "accepted_on": later("Day of the yes"),
    "price": later("Price agreed on, with tax"),
    "delivered_on": later("Day of delivery"),
    "declined_on": later("Day of the no"),
    "story": later("Note"),
}
"""What a column can be, and what that is called."""

NEEDED = ("piano.kind", "date")

_NAMES = {
    "piano.kind": ("kind", "type", "art", "instrument"),
    "title": ("title", "titel", "bezeichnung"),
    "client.name": ("client", "customer", "name", "kunde", "kundin", "auftraggeber"),
    "client.phone": ("phone", "telephone", "telefon", "tel", "mobil", "handy"),
    "place": ("place", "address", "city", "ort", "adresse", "standort"),
    "piano.maker": ("maker", "make", "hersteller", "fabrikat", "marke"),
    "piano.serial": ("serial", "serialnumber", "seriennummer", "nummer", "nr"),
    "piano.year": ("year", "built", "baujahr", "jahr"),
    "date": ("date", "visited", "visit", "datum", "besuch", "besichtigt"),
    "technician": ("technician", "techniker"),
    "job.source": ("source", "quelle", "empfehlung", "herkunft"),
    "accepted_on": ("accepted", "order", "agreed", "auftrag", "beauftragt"),
    "price": ("price", "amount", "total", "preis", "betrag", "summe"),
    "delivered_on": ("delivered", "delivery", "finished", "geliefert", "ausgeliefert", "fertig"),
    "declined_on": ("declined", "refused", "abgelehnt", "absage"),
    "story": ("note", "notes", "remark", "notiz", "bemerkung"),
}

_KINDS = {
    **dict.fromkeys(("upright", "piano", "klavier", "pianino", "u"), "upright"),
    **dict.fromkeys(("grand", "flügel", "fluegel", "g"), "grand"),
}
_DAYS = ("accepted_on", "delivered_on", "declined_on", "date")
_GERMAN_DAY = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_SUM = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class PastRow:
    """One row as it was written, and what it comes to.

    Attributes
    ----------
    line : int
        Row of the file.
    facts : dict of field to value
        Empty where anything is wrong with the row.
    """

    line: int
    facts: dict[str, Any]


def cells_of_text(text: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    r"""Return the head and the rows of a CSV text with the row of the file, cells parted by comma, semicolon or tab.

    Examples
    --------
    >>> cells_of_text("a;b\n1;2\n\n")
    (['a', 'b'], [(2, ['1', '2'])])
    """
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows = [(reader.line_num, [" ".join(cell.split()) for cell in row]) for row in reader]
    head = rows[0][1] if rows else []
    return head, [(line, row) for line, row in rows[1:] if any(row)]


def guessed(head: Sequence[str]) -> dict[str, int]:
    """Return which column is likely what, by the words in its name; what can't be told is missing.

    Examples
    --------
    >>> guessed(["Kunde", "Art", "Besuch am"])
    {'piano.kind': 1, 'client.name': 0, 'date': 2}
    """
    found: dict[str, int] = {}
    taken: set[int] = set()
    words = [set(re.findall(r"\w+", name.casefold())) for name in head]
    for target, names in _NAMES.items():
        place = next((i for i, own in enumerate(words) if i not in taken and own & set(names)), None)
        if place is not None:
            found[target] = place
            taken.add(place)
    return found


def past_rows(
    rows: Sequence[tuple[int, Sequence[str]]],
    head: Sequence[str],
    columns: Mapping[str, int],
    file: str,
    *,
    today: date,
) -> tuple[list[PastRow], list[Problem]]:
    """Return what each row comes to, and every fault.

    Parameters
    ----------
    rows : sequence of (line, cells)
    head : sequence of str
        Names of the columns, under which faults are told.
    columns : mapping of target to place
        Which column is what; see `TARGETS`.
    file : str
        Name of the file, under which faults are told.
    today : date
        Nothing of the past lies ahead of it.
    """
    faults = [Problem(file, 1, "", f"say which column is '{TARGETS[name]}'") for name in NEEDED if name not in columns]
    if faults:
        return [], faults
    found = []
    for line, cells in rows:
        told = {
            target: cells[place] for target, place in columns.items() if place < len(cells) and cells[place].strip()
        }
        wrong: list[tuple[str, str]] = []
        facts = _facts(told, wrong, today)
        faults += [Problem(file, line, head[columns[target]], message) for target, message in wrong]
        found.append(PastRow(line=line, facts={} if wrong else facts))
    return found, faults


def _facts(told: Mapping[str, str], wrong: list[tuple[str, str]], today: date) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for target, text in told.items():
        try:
            values[target] = _read(target, text)
        except ValueError as fault:
            wrong.append((target, str(fault)))
    wrong += [(target, "the cell is empty; fill it in") for target in NEEDED if target not in told]
    if wrong:
        return {}
    days = {target: values.pop(target) for target in _DAYS if target in values}
    price = values.pop("price", None)
    wrong += _order(days, price, today)
    if wrong:
        return {}
    values["date"] = days["date"].isoformat()
    values |= {f"job.event.past{n}": event for n, event in enumerate(_events(days))}
    if price is not None:
        values["job.agreement"] = {"day": days["accepted_on"].isoformat(), "price": price}
    for field, value in values.items():
        if why := why_unfit(field, value, today):
            wrong.append((field if field in told else "date", why))
    return values


def _order(days: Mapping[str, date], price: float | None, today: date) -> list[tuple[str, str]]:
    wrong = [(target, f"{day} lies ahead; the past has happened") for target, day in days.items() if day > today]
    if price is not None and "accepted_on" not in days:
        wrong.append(("price", "a price agreed on needs the day of the yes; fill that in, or leave the price out"))
    if "delivered_on" in days and "accepted_on" not in days:
        wrong.append(("delivered_on", "a delivery needs the day of the yes before it; fill that in"))
    if "declined_on" in days and "accepted_on" in days:
        wrong.append(("declined_on", "it has a yes and a no; leave the one out that came first"))
    for before, after in (("date", "accepted_on"), ("accepted_on", "delivered_on"), ("date", "declined_on")):
        if before in days and after in days and days[after] < days[before]:
            wrong.append((after, f"{days[after]} is before {days[before]}; check both days"))
    return wrong


def _events(days: Mapping[str, date]) -> list[dict[str, str]]:
    stages = {"date": "visited", "accepted_on": "accepted", "delivered_on": "delivered", "declined_on": "declined"}
    return [{"stage": stage, "day": days[name].isoformat()} for name, stage in stages.items() if name in days]


def _read(target: str, text: str) -> Any:
    if target == "piano.kind":
        kind = _KINDS.get(text.casefold())
        if kind is None:
            raise ValueError(f"{quoted(text)} is no kind of piano; write upright or grand")
        return kind
    if target in _DAYS:
        return read_past_day(text)
    if target == "piano.year":
        if not re.fullmatch(r"\d{4}", text):
            raise ValueError(f"{quoted(text)} is not a year; write it like 1912")
        return int(text)
    return read_sum(text) if target == "price" else text


def read_past_day(text: str) -> date:
    """Return a day as lists write it, where it can mean only one.

    Examples
    --------
    >>> read_past_day("2019-04-01"), read_past_day("1.4.2019")
    (datetime.date(2019, 4, 1), datetime.date(2019, 4, 1))
    """
    german = _GERMAN_DAY.fullmatch(text)
    try:
        if german:
            day, month, year = map(int, german.groups())
            return date(year, month, day)
        if _ISO_DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{quoted(text)}: there is no such day; check it") from None
    raise ValueError(f"{quoted(text)} is not a day that can mean only one; write it like 2026-05-04 or 4.5.2026")


def read_sum(text: str) -> float:
    """Return a sum as lists write it, where it can mean only one.

    Examples
    --------
    >>> read_sum("1.250,50 €"), read_sum("1,250.50"), read_sum("4200"), read_sum("99,5")
    (1250.5, 1250.5, 4200.0, 99.5)
    """
    plain = re.sub(r"[^\d.,\-]", "", text)
    signs = [sign for sign in plain if sign in ".,"]
    if len(set(signs)) == 2:
        decimal = signs[-1]
        plain = plain.replace("," if decimal == "." else ".", "").replace(decimal, ".")
    elif signs and (len(signs) > 1 or re.search(r"[.,]\d{3}$", plain)):
        raise ValueError(f"{quoted(text)} can mean two sums; write it without a sign between thousands")
    else:
        plain = plain.replace(",", ".")
    if not _SUM.fullmatch(plain):
        raise ValueError(f"{quoted(text)} is not a sum; write a number such as 4200")
    return float(plain)
