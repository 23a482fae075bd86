"""What the page 'Our tables' says of changes and of what they do. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from valuation.engine.rows import Settings
from valuation.engine.rows.row_keys import DATED
from valuation.facts.columns import columns_of
from valuation.language import later, numeral, say, say_many
from valuation.report.client_words import listed as in_a_sentence
from valuation.report.effect_words import SHOWN_FROM, effect_sentences, signed_percent
from valuation.report.format import exact, unit_words
from valuation.report.labels import listed, option_name, short_day
from valuation.report.table_names import row_name, table_name
from valuation.rules.draft import CHANGED, GONE, NEW, Draft, RowChange
from valuation.rules.load import ROW_CLASSES
from valuation.screens import marks
from valuation.service.tables_effect import Effect

_OPTIONS = ("rebuild", "partial_repair", "keep", "retire")
_FIGURE = re.compile(r"-?\d+(\.\d+)?")
_QUIET = ("note", "source")
"""Columns that move no figure: told after the others."""


_COLUMNS = {
    "per_hour": later("an hour"),
    "valid_from": later("from"),
    "valid_to": later("until"),
    "price_low": later("low"),
    "price_likely": later("likely"),
    "price_high": later("high"),
    "value": later("value"),
    "name": later("name"),
    "note": later("note"),
    "source": later("source"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Changes that belong together, told in one line: a row, or a price that takes another's place on a day."""

    words: str
    by: str
    edits: tuple[str, ...]


def lines(draft: Draft) -> list[Line]:
    """Return what the draft changes, one line for each row, and one for each price that takes another's place."""
    groups: dict[tuple, list[RowChange]] = {}
    for change in draft.changes:
        dated = DATED.get(change.table)
        key = tuple(pair for pair in change.row if dated is None or pair[0] in dated)
        groups.setdefault((change.table, key), []).append(change)
    found = []
    for changes in groups.values():
        new = [change for change in changes if change.how == NEW]
        ended = [c for c in changes if c.how == CHANGED and {cell[0] for cell in c.cells} == {"valid_to"}]
        if len(changes) == 2 and new and ended:
            found.append(_line(_price_line(new[0], ended[0], draft), *changes))
        else:
            found += [_line(change_line(change, draft), change) for change in changes]
    return found


def _line(words: str, *changes: RowChange) -> Line:
    who = dict.fromkeys(name or say("somebody") for change in changes for name in change.who)
    return Line(words=words, by=listed(who), edits=tuple(e for change in changes for e in change.edits))


def change_line(change: RowChange, draft: Draft) -> str:
    """Return what a change does, in one line: the row, then each cell as it is and as it would be."""
    where = _where(change, draft)
    if change.how == GONE:
        return say("{where}: taken out", where=where)
    told = sorted(change.cells, key=lambda cell: cell[0] in _QUIET)
    if change.how == CHANGED:
        return f"{where}: " + "; ".join(
            f"{column_name(c, change.table)} {_cell(was)} → {_cell(new)}" for c, was, new in told
        )
    keys = {column for column, _ in change.row} | {"name", *_QUIET}
    filled = ", ".join(f"{column_name(c, change.table)} {_cell(new)}" for c, _, new in told if c not in keys and new)
    return say("{where}: new, {cells}", where=where, cells=filled) if filled else say("{where}: new", where=where)


def _price_line(new: RowChange, ended: RowChange, draft: Draft) -> str:
    before, after = (draft.rows[new.table][change.row] for change in (ended, new))
    keys = {"valid_from", "valid_to"}
    moved = [(c, before.get(c, ""), words) for c, words in after.items() if c not in keys and before.get(c) != words]
    cells = "; ".join(f"{column_name(c, new.table)} {_cell(was)} → {_cell(now)}" for c, was, now in moved)
    day = short_day(date.fromisoformat(dict(new.row)["valid_from"]))
    where = f"{table_name(new.table)} · {say(after.get('name', ''))}"
    return say("{where}: {cells}, from {day}", where=where, cells=cells or say("the same"), day=day)


def _where(change: RowChange, draft: Draft) -> str:
    cells = draft.rows[change.table].get(change.row, {})
    return f"{table_name(change.table)} · {row_name(change.row, cells)}"


def column_name(column: str, table: str = "") -> str:
    """Return a column in people's words: in few where it has any, else by what it means in its table."""
    return say(_COLUMNS[column]) if column in _COLUMNS else meaning(table, column)


def meaning(table: str, column: str) -> str:
    """Return what a column of a table means, or a single figure of the table of them; itself where that isn't told."""
    described = columns_of(ROW_CLASSES.get(table, Settings))
    return say(described[column][1].says) if column in described else column


def meanings(table: str) -> list[tuple[str, str, str]]:
    """Return each column of a table, or each of the single figures: its name, what it means, its unit."""
    described = columns_of(ROW_CLASSES.get(table, Settings))
    return [
        (name, say(column.says), unit_words(column.unit) if column.unit else "")
        for name, (_, column) in described.items()
    ]


def _cell(words: str) -> str:
    return numeral(words) if _FIGURE.fullmatch(words) else words or "–"


def quotations_table(effects: Sequence[Effect], currency: str) -> str:
    """Return the open quotations: what was told, and what the work would cost by the tables in force and the draft."""
    rows = [
        [
            effect.title,
            f"{effect.quoted}, {short_day(effect.quoted_on)}" if effect.quoted_on else effect.quoted,
            option_name(effect.work) if effect.work else "–",
            _price(effect.price),
            _price(effect.price_then),
            _by(effect),
        ]
        for effect in effects
        if effect.quoted
    ]
    headers = [
        say("Piano"),
        say("Quotation"),
        say("Work"),
        say("By today's tables"),
        say("By the draft"),
        say("Change"),
    ]
    caption = say("Open quotations; expected price with tax, in {currency}.", currency=currency)
    return marks.table(caption, headers, rows, dense=True) if rows else ""


def evaluations_table(effects: Sequence[Effect], currency: str, operations: Mapping[str, str], then: str = "") -> str:
    """Return the evaluations that move: verdict, plan and price, as they are and would be; `then` heads the latter."""
    rows = [
        [
            effect.title,
            _verdict(effect),
            option_name(effect.work) if effect.work else "–",
            _price(effect.price),
            _price(effect.price_then),
            _by(effect),
            _plan(effect, operations),
        ]
        for effect in effects
        if effect.turns or _moves(effect) or effect.gone or effect.come
    ]
    headers = [
        say("Piano"), say("Verdict"), say("Work"), say("By today's tables"), then or say("By the draft"), say("Change"),
        say("Plan"),
    ]  # fmt: skip
    caption = say("Evaluations that move, those whose verdict turns first; expected price with tax, in {currency}.",
                  currency=currency)  # fmt: skip
    return marks.table(caption, headers, rows, dense=True) if rows else ""


def summary(effects: Sequence[Effect], quotations: int) -> str:
    """Return the effect in three sentences."""
    told = effect_sentences(len(effects), sum(one.turns for one in effects), [one.share for one in effects])
    return f"{told} {say_many('{count} quotation is open.', '{count} quotations are open.', quotations)}"


def known_table(effects: Sequence[Effect], currency: str) -> str:
    """Return three known pianos: verdict and price as they are and as they would be."""
    rows = [[e.title, _verdict(e), _price(e.price), _price(e.price_then), _by(e)] for e in effects]
    headers = [say("Piano"), say("Verdict"), say("By today's tables"), say("By the draft"), say("Change")]
    caption = say("Three known pianos, invented: the price of the better way with work, in {currency}.",
                  currency=currency)  # fmt: skip
    return marks.table(caption, headers, rows, dense=True) if rows else ""


def _verdict(effect: Effect) -> str:
    is_now, then = (option_name(v) if v in _OPTIONS else v for v in (effect.verdict, effect.verdict_then))
    return is_now if is_now == then else say("{now}, then {then}", now=is_now, then=then)


def _plan(effect: Effect, operations: Mapping[str, str]) -> str:
    gone, come = ([say(operations.get(name, name)) for name in names] for names in (effect.gone, effect.come))
    told = [say("without {work}", work=in_a_sentence(gone))] if gone else []
    told += [say("with {work}", work=in_a_sentence(come))] if come else []
    return "; ".join(told) or say("the same")


def _by(effect: Effect) -> str:
    if not effect.price or effect.price_then is None:
        return "–"
    more = effect.price_then - effect.price
    sign = "+" if more > 0 else "−" if more < 0 else ""
    return f"{sign}{exact(abs(more))} ({signed_percent(effect.share)})"


def _moves(effect: Effect) -> bool:
    return abs(effect.share) >= SHOWN_FROM


def _price(price: float | None) -> str:
    return "–" if price is None else exact(price)


def leap_words(change: RowChange, column: str, was: str, new: str, draft: Draft) -> str:
    """Return the question that is asked of a figure that moves by more than a factor."""
    return say("{where}: {column} from {was} to {new}. That is meant.", where=_where(change, draft),
               column=column_name(column, change.table), was=_cell(was), new=_cell(new))  # fmt: skip
