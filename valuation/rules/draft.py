"""The draft of the shop's next tables: what several people entered, put together over the tables in force. Pure.

Each edit says what its writer saw and what is to stand there. Where something else stands there by now, because
another wrote first or other tables came into force, both stand side by side until somebody chooses: nothing is lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from valuation.errors import Problem, quoted
from valuation.files.faults import file_of
from valuation.record.shop_tables import Row, TablesEdit
from valuation.rules.load import ROW_CLASSES
from valuation.rules.table_rows import SETTINGS, Cells, add_row, change_row, key_of, rows_of_text, take_row_out

TABLES = (*ROW_CLASSES, SETTINGS)

CHANGED, NEW, GONE = "changed", "new", "gone"

ASK_FROM = 3.0
"""A figure that moves by more than this factor, up or down, is asked about again: it may be a slip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RowChange:
    """A row of the draft that isn't what is in force.

    Attributes
    ----------
    how : str
        `CHANGED`, `NEW` or `GONE`.
    cells : tuple of (column, text in force, text in the draft)
        Those that differ; of a new row all that are filled, of one that goes none.
    who : tuple of str
        Who had a hand in it, the last one last.
    at : datetime
        When the last of them did.
    edits : tuple of str
        Ids of the edits behind it.
    """

    table: str
    row: Row
    how: str
    cells: tuple[tuple[str, str, str], ...]
    who: tuple[str, ...]
    at: datetime
    edits: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """An edit whose writer saw something else than what stands there.

    Attributes
    ----------
    column : str
        Empty where the whole row is meant.
    stands, wanted : str
        What stands in the draft, and what the edit puts there.
    by : str
        Who put there what stands there; empty where the tables in force have it.
    """

    edit: TablesEdit
    column: str
    stands: str
    wanted: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What the edits come to.

    Attributes
    ----------
    base : dict of table to text
        The tables in force.
    rows : dict of table to (dict of Row to cells)
        The rows of the tables that somebody touched, as they stand in the draft.
    """

    base: Mapping[str, str]
    edits: tuple[TablesEdit, ...]
    rows: Mapping[str, Mapping[Row, Cells]]
    changes: tuple[RowChange, ...]
    clashes: tuple[Clash, ...]

    def texts(self) -> dict[str, str]:
        """Return the text of each table with the changes in it; all that was not touched stays as it stands.

        Raises
        ------
        TableError
            If a change can't be written, since a table lacks the column.
        """
        texts = dict(self.base)
        for change in self.changes:
            text, cells = texts[change.table], {column: new for column, _, new in change.cells}
            if change.how == CHANGED:
                texts[change.table] = change_row(change.table, text, change.row, cells)
            elif change.how == NEW:
                texts[change.table] = add_row(change.table, text, cells)
            else:
                texts[change.table] = take_row_out(change.table, text, change.row)
        return texts

    def leaps(self) -> tuple[tuple[RowChange, str, str, str], ...]:
        """Return the figures that move by more than `ASK_FROM`: the change, the column, what it is and would be."""
        return tuple(
            (change, column, was, new)
            for change in self.changes
            if change.how != GONE
            for column, was, new in self._beside(change)
            if leaps(was, new)
        )

    def _beside(self, change: RowChange) -> Iterable[tuple[str, str, str]]:
        """Return the cells of a change; those of a new dated row beside the row of before."""
        if change.how != NEW or dict(change.row).get("valid_from") is None:
            return change.cells
        same = [column for column, _ in change.row if column != "valid_from"]
        key = dict(change.row)
        before = [
            cells
            for row, cells in self.rows[change.table].items()
            if row != change.row and all(cells.get(column) == key[column] for column in same)
        ]
        latest = max(before, key=lambda cells: cells.get("valid_from", ""), default={})
        return [(column, latest.get(column, ""), new) for column, _, new in change.cells if column not in key]


def leaps(was: str, new: str) -> bool:
    """Tell whether a figure moves by more than `ASK_FROM`, up or down.

    Examples
    --------
    >>> leaps("76", "760"), leaps("76", "80"), leaps("", "80"), leaps("0", "5")
    (True, False, False, False)
    """
    try:
        before, after = float(was), float(new)
    except ValueError:
        return False
    if before == 0 or after == 0:
        return False
    return before * after < 0 or not 1 / ASK_FROM <= after / before <= ASK_FROM


def fold(base: Mapping[str, str], edits: Sequence[TablesEdit]) -> Draft:
    """Put edits together, in the order in which they came, over the texts of the tables in force."""
    before: dict[str, dict[Row, Cells]] = {}
    after: dict[str, dict[Row, Cells]] = {}
    writers: dict[tuple[str, Row], list[TablesEdit]] = {}
    clashes: list[Clash] = []
    for edit in edits:
        if edit.table not in TABLES:
            clashes.append(Clash(edit=edit, column="", stands="", wanted=edit.table, by=""))
            continue
        if edit.table not in after:
            rows = rows_of_text(edit.table, base.get(edit.table, ""))
            before[edit.table] = {key_of(edit.table, cells): cells for cells in rows}
            after[edit.table] = {row: dict(cells) for row, cells in before[edit.table].items()}
        behind = writers.setdefault((edit.table, edit.row), [])
        found, fits = _apply(edit, after[edit.table], behind[-1].who if behind else "")
        clashes += found
        if fits:
            behind.append(edit)
    changes = [change for table in after for change in _changes(table, before[table], after[table], writers)]
    return Draft(base=base, edits=tuple(edits), rows=after, changes=tuple(changes), clashes=tuple(clashes))


def clash_problem(clash: Clash) -> Problem:
    """Return a clash as a problem of its table."""
    stands, wanted = quoted(clash.stands), quoted(clash.wanted)
    message = f"two people differ: {stands} stands there, {clash.edit.who or 'another'} wants {wanted}; choose one"
    return Problem(file_of(clash.edit.table), 0, clash.column, message)


def changes_between(table: str, old: str, new: str) -> list[tuple[Row, Cells | None, Cells | None]]:
    """Return which rows differ between two texts of a table: key, cells of before and of after, as an edit has them."""
    was = {key_of(table, cells): cells for cells in rows_of_text(table, old)}
    is_now = {key_of(table, cells): cells for cells in rows_of_text(table, new)}
    found: list[tuple[Row, Cells | None, Cells | None]] = []
    for row in dict.fromkeys([*was, *is_now]):
        before, after = was.get(row), is_now.get(row)
        if before is None or after is None:
            found.append((row, before, after))
        elif moved := [column for column in after if before.get(column, "") != after[column]]:
            found.append((row, {c: before.get(c, "") for c in moved}, {c: after[c] for c in moved}))
    return found


def _apply(edit: TablesEdit, rows: dict[Row, Cells], by: str) -> tuple[list[Clash], bool]:
    """Put an edit into the rows as far as it fits what stands there; return what doesn't, and whether any of it did."""
    there = rows.get(edit.row)
    if edit.after is None:
        if there is None:
            return [], True
        if any(there.get(column, "") != seen for column, seen in (edit.before or {}).items()):
            return [Clash(edit=edit, column="", stands=_line(there), wanted="", by=by)], False
        del rows[edit.row]
        return [], True
    if edit.before is None and there is None:
        rows[edit.row] = dict(edit.after)
        return [], True
    if there is None or (edit.before is None and any(there.get(c, "") != words for c, words in edit.after.items())):
        return [Clash(edit=edit, column="", stands=_line(there or {}), wanted=_line(edit.after), by=by)], False
    found = []
    for column, words in edit.after.items():
        stands = there.get(column, "")
        if edit.before is not None and stands == edit.before.get(column, ""):
            there[column] = words
        elif stands != words:
            found.append(Clash(edit=edit, column=column, stands=stands, wanted=words, by=by))
    return found, len(found) < len(edit.after)


def _changes(
    table: str,
    before: Mapping[Row, Cells],
    after: Mapping[Row, Cells],
    writers: Mapping[tuple[str, Row], Sequence[TablesEdit]],
) -> list[RowChange]:
    found = []
    for row in dict.fromkeys([*before, *after]):
        was, is_now = before.get(row), after.get(row)
        if was == is_now:
            continue
        how = NEW if was is None else GONE if is_now is None else CHANGED
        columns = [] if is_now is None else list(is_now)
        pairs = ((column, (was or {}).get(column, ""), (is_now or {}).get(column, "")) for column in columns)
        behind = writers.get((table, row), ())
        found.append(
            RowChange(
                table=table,
                row=row,
                how=how,
                cells=tuple(pair for pair in pairs if pair[1] != pair[2]),
                who=tuple(dict.fromkeys(edit.who for edit in behind)),
                at=max(edit.at for edit in behind),
                edits=tuple(edit.id for edit in behind),
            )
        )
    return found


def _line(cells: Mapping[str, str]) -> str:
    return ", ".join(words for words in cells.values() if words)
