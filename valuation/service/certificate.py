"""The last check in words, and the leaf that a client gets with the finished piano: what was done and measured.

The screens call this. What is printed is a function of the job, the visit and the tables; the day comes in.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from valuation.engine.rows import HandoverRow, Tables
from valuation.facts.visit import Visit
from valuation.jobs.handover import (
    ABOVE,
    BELOW,
    MISSED,
    NOT_IN_FULL,
    Checked,
    Miss,
    Place,
)
from valuation.jobs.last_check import last_check
from valuation.jobs.recorded_job import ABSENT, AFTER, BEFORE, RecordedJob, readings_value
from valuation.jobs.stages import gone_home
from valuation.language import language, say, say_many
from valuation.paper.document import document_pdf
from valuation.report.document import Block, Document, Grid, Points, Section, Signatures, Words
from valuation.report.format import apart, low_to_high, measure, plain_measure, unit_words
from valuation.report.labels import day_words, in_sentence, listed, size_words, with_capital, year_words
from valuation.report.occasion import Shop
from valuation.report.own_words import in_one_line, kept_apart

__all__ = [
    "ABSENT",
    "AFTER",
    "BEFORE",
    "Checked",
    "Place",
    "certificate",
    "last_check",
    "miss_words",
    "print_certificate",
    "readings_value",
    "result_words",
    "standard_words",
]

_MOST_NOTES = 4
"""So many notes are named one by one: all of it is one leaf."""

_MOST_IN_FULL = 24
"""Of more operations only the parts are named that they treated."""

_MOST_LETTERS = 90


def standard_words(row: HandoverRow, system: str) -> str:
    """Return the standard in words: its limits, and how even it has to be."""
    low, high = row.low, row.high
    unit = unit_words(row.unit, system)
    said = []
    if low is not None and high is not None:
        said.append(
            f"{low_to_high(plain_measure(low, row.unit, system), plain_measure(high, row.unit, system))} {unit}"
        )
    elif low is not None:
        said.append(say("at least {amount}", amount=measure(low, row.unit, system)))
    elif high is not None:
        said.append(say("at most {amount}", amount=measure(high, row.unit, system)))
    if row.even_within is not None:
        said.append(say("even within {amount}", amount=measure(row.even_within, row.unit, system)))
    return ", ".join(said)


def result_words(checked: Checked) -> str:
    """Return how the piano meets one standard, in a few words."""
    if checked.result == MISSED:
        notes = len({miss.place for miss in checked.misses})
        return say_many("{count} of {all} outside", "{count} of {all} outside", notes, all=checked.measured)
    if checked.result == NOT_IN_FULL:
        if not checked.measured:
            return say("not measured")
        left = len({place.key for place in checked.not_measured})
        return say_many(
            "all {measured} within; {count} note not measured", "all {measured} within; {count} notes not measured",
            left, measured=checked.measured,
        )  # fmt: skip
    return say("all {count} within", count=checked.measured)


def miss_words(miss: Miss, row: HandoverRow, system: str) -> str:
    """Return one miss: what was read, which limit it passed, and by how much."""
    value, by = measure(miss.value, row.unit, system), apart(miss.by, miss.value, row.unit, system)
    limit = measure(miss.limit, row.unit, system)
    if miss.way == BELOW:
        return say("{value}, {by} below {limit}", value=value, by=by, limit=limit)
    if miss.way == ABOVE:
        return say("{value}, {by} above {limit}", value=value, by=by, limit=limit)
    return say(
        "{value}; its neighbours lie at {limit}, that is {by} more than allowed", value=value, limit=limit, by=by
    )


def certificate(
    job: RecordedJob, visit: Visit, tables: Tables, *, shop: Shop, written_on: date, system: str = "metric"
) -> Document:
    """Return the paper for the client: one leaf.

    Parameters
    ----------
    shop : Shop
        The workshop as its papers name it.
    system : str
        Units shown: 'metric' or 'imperial'.
    """
    visit, shop = kept_apart(visit), kept_apart(shop)
    title = say("What was done to this piano")
    sections = (
        Section(title=say("Made new, and repaired"), blocks=_done(job, visit, tables), compact=True),
        Section(title=say("Stayed original"), blocks=(_original(job, tables),), compact=True),
        Section(
            title=say("Measured on the finished piano"), blocks=_measured(job, visit, tables, system), compact=True
        ),
        Section(
            title=say("What this paper is, and what it isn't"),
            compact=True,
            blocks=(
                Points(
                    items=(
                        say("It says what was done, and what was measured on the day of the check. It promises nothing "
                            "beyond: what holds besides stands in the contract, and in the law."),
                        say("Wood and felt move with the seasons, and new strings stretch: what was measured will not "
                            "stay as it is without care and tuning."),
                        say("It is written by those who did the work. It says nothing of what the piano is worth, and "
                            "is not a certified appraisal."),
                    )
                ),
                Signatures(places=((say("For the workshop"), shop.name), (say("Day"), ""))),
            ),
        ),
    )  # fmt: skip
    return Document(
        language=language(),
        shop=tuple(line for line in (shop.name, *shop.address, *shop.reach) if line),
        title=title,
        subtitle=in_one_line(visit.title, _MOST_LETTERS),
        running=in_one_line(f"{title} · {visit.title}", _MOST_LETTERS),
        facts=_facts(job, visit, tables, written_on),
        sections=sections,
        foot=" · ".join(filter(None, (in_one_line(shop.name, _MOST_LETTERS), day_words(written_on)))),
        page=say("Page {page} of {pages}", page="{page}", pages="{pages}"),
    )


def print_certificate(content: Document, *, made_on: date, paper: str = "a4") -> bytes:
    """Return it as PDF; the same bytes for the same content and day."""
    return document_pdf(content, paper=paper, made_on=made_on)


def _facts(job: RecordedJob, visit: Visit, tables: Tables, written_on: date) -> tuple[tuple[str, str], ...]:
    piano = visit.piano
    what = [
        say("upright piano") if piano.kind == "upright" else say("grand piano"),
        piano.maker,
        say("serial number {serial}", serial=piano.serial) if piano.serial else "",
        year_words(piano),
        size_words(piano),
    ]
    home = set(gone_home(tables.stages))
    delivered = next((event.day for event in reversed(job.events) if event.stage in home), None)
    rows = [
        (say("For"), in_one_line(visit.client.name, _MOST_LETTERS)),
        (say("Piano"), in_one_line(listed(part for part in what if part), 2 * _MOST_LETTERS)),
        (say("Delivered on"), day_words(delivered) if delivered else say("not yet delivered")),
        (say("Written on"), day_words(written_on)),
    ]
    return tuple(row for row in rows if row[1])


def _done(job: RecordedJob, visit: Visit, tables: Tables) -> tuple[Block, ...]:
    """Return what was done to each part, and what else; only what hours or materials were entered for."""
    rows = tables.of_kind("operations", visit.piano.kind)
    done = [rows[name] for name in dict.fromkeys(work.operation for _, work in job.work) if name in rows]
    parts = {row.id: say(row.name) for row in tables.parts}
    in_full = len(done) <= _MOST_IN_FULL
    told = []
    for level, words in (("large", say("Made new: {parts}.")), ("small", say("Repaired: {parts}."))):
        treated = []
        for part, name in parts.items():
            here = [in_sentence(say(row.name)) for row in done if row.part == part and row.level == level]
            if here:
                treated.append(say("{part} ({work})", part=name, work=listed(here)) if in_full else name)
        if treated:
            told.append(words.format(parts="; ".join(treated)))
    also = [in_sentence(say(row.name)) for row in done if not row.part and row.level in ("follow", "service")]
    if also:
        told.append(say("Also done: {work}.", work=listed(also)))
    buyer = " ".join(dict.fromkeys(say(row.told) for row in done if row.told))
    if buyer:
        told.append(say("If you sell it one day, the buyer has to be told: {what}", what=buyer))
    return (Points(items=tuple(told)),) if told else (Words(text=say("No work was written down.")),)


def _original(job: RecordedJob, tables: Tables) -> Words:
    if job.kept_original is None:
        return Words(text=say("What stayed original was not written down."))
    names = [say(row.name) for row in tables.parts if row.id in job.kept_original]
    if not names:
        return Words(text=say("None of the parts that we list stayed original."))
    return Words(text=f"{with_capital(listed(names))}.")


def _measured(job: RecordedJob, visit: Visit, tables: Tables, system: str) -> tuple[Block, ...]:
    checks = last_check(job, visit, tables)
    if not any(checked.measured for checked in checks):
        return (Words(text=say("Nothing was measured on the finished piano.")),)
    rows = []
    for checked in checks:
        row = checked.standard
        after = [pair.after for pair in checked.beside if pair.after is not None]
        before = [pair.before for pair in checked.beside if pair.before is not None]
        rows.append(
            (
                with_capital(say(row.name)),
                standard_words(row, system),
                _from_to(before, row, system),
                _from_to(after, row, system),
                _result(checked),
            )
        )
    return (
        Grid(
            caption=say("What was measured, what the workshop wants of it, and how it was met"),
            head=(say("What"), say("Our own standard"), say("Before"), say("Finished"), say("Result")),
            rows=tuple(rows),
            align="lllll",
            widths=(1.3, 1.5, 0.8, 0.9, 1.8),
        ),
        Words(
            text=say("Our standard is our own, for finished work. Published figures differ, and evenness and feel go "
                     "before any single figure."),
            style="small",
        ),
    )  # fmt: skip


def _from_to(values: Sequence[float], row: HandoverRow, system: str) -> str:
    if not values:
        return "–"
    return low_to_high(plain_measure(min(values), row.unit, system), plain_measure(max(values), row.unit, system))


def _result(checked: Checked) -> str:
    """Return the result, with the notes that miss by name as far as there is room."""
    words = result_words(checked)
    if checked.result != MISSED:
        return words
    notes = list(dict.fromkeys(miss.place.note for miss in checked.misses))
    named = listed(notes[:_MOST_NOTES])
    more = len(notes) - _MOST_NOTES
    if more > 0:
        named = say("{notes} and {count} more", notes=named, count=more)
    return f"{words}: {named}"
