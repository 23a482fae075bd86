"""The last check before a piano goes home: readings against the shop's standard, each miss by its note."""

from __future__ import annotations

import re
from collections.abc import Mapping

import streamlit as st

from valuation.engine.pack import pack_of
from valuation.engine.rows import HandoverRow, Tables
from valuation.facts.keys import KEYS, key_name
from valuation.files.reading_place import read_place
from valuation.files.visit_values import AnswerError
from valuation.jobs.recorded_job import YEAR
from valuation.language import say, say_many
from valuation.readings.typed import place_name, read_run, run_text
from valuation.report.format import plain_measure, unit_words
from valuation.report.labels import with_capital
from valuation.report.paper_words import SIZE_NAMES
from valuation.screens import marks, shop
from valuation.screens.safe import md
from valuation.screens.state import Draft, held
from valuation.service.certificate import (
    ABSENT,
    AFTER,
    BEFORE,
    Checked,
    Place,
    certificate,
    last_check,
    miss_words,
    print_certificate,
    readings_value,
    result_words,
    standard_words,
)
from valuation.service.jobs import RecordedJob
from valuation.service.papers import PAPERS

_MOST_MISSES = 40


def check(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw each standard that holds for this job, with its fields, its misses, and before beside after."""
    st.markdown(
        say("Type numbers from the lowest key up, a space between: C4: begins at C4, - leaves a key out. Tuning pins: "
            "one number for each string, a / before the next key.")
    )  # fmt: skip
    for checked in last_check(job, draft.visit, book):
        _standard(draft, job, checked)
    _page_for_the_client(draft, job, book)


def _standard(draft: Draft, job: RecordedJob, checked: Checked) -> None:
    row = checked.standard
    with st.container(border=True, key=draft.key(f"standard_{row.id}")):
        st.header(md(with_capital(say(row.name))), anchor=False)
        st.markdown(md(standard_words(row, draft.system)))
        st.markdown(f"**{md(result_words(checked))}**")
        _field(draft, row, AFTER, job.after.get(row.id, {}), say("On the finished piano"))
        _misses(draft, checked)
        with st.expander(say("How, before the work, and keys without it"), key=draft.key(f"more_{row.id}")):
            st.markdown(f"**{say('How.')}** {md(say(row.how))}")
            before = {pair.place: pair.before for pair in checked.beside if pair.before is not None}
            _field(draft, row, BEFORE, before, say("Before the work"))
            _absent(draft, job, row)
            if job.after:
                _field(draft, row, YEAR, job.year.get(row.id, {}), say("A year after delivery"))
                st.markdown(md(_held_up(row, job)))
        _beside(draft, checked)


def _held_up(row: HandoverRow, job: RecordedJob) -> str:
    """Return how many places moved from within the standard to outside it in the year."""
    then, now = job.after.get(row.id, {}), job.year.get(row.id, {})
    both = [place for place in now if place in then]
    if not both:
        return ""

    def outside(value: float) -> bool:
        return (row.low is not None and value < row.low) or (row.high is not None and value > row.high)

    gone = sum(outside(now[place]) and not outside(then[place]) for place in both)
    return say("{count} of {all} went outside the standard in the year.", count=gone, all=len(both))


def _field(draft: Draft, row: HandoverRow, prefix: str, readings: Mapping[Place, float], label: str) -> None:
    field = f"{prefix}{row.id}"
    key = draft.field_key(f"run_{field.replace('.', '_')}_{draft.system}", field)
    content = draft.typed.get(key, run_text(readings, row, draft.system))
    draft.watch(key, content, _take, draft, row, field, readings, key)
    st.text_area(
        md(say("{what}, in {unit}", what=label, unit=unit_words(row.unit, draft.system))), key=key, height="content",
        placeholder=_example(row),
    )  # fmt: skip
    for fault in draft.faults.get(field, ()):
        with st.container(key=draft.key(f"fault_{field.replace('.', '_')}")):
            st.text(say("Not taken down: {fault}", fault=fault))


def _example(row: HandoverRow) -> str:
    return say("A0: 110 112 / 108 111") if row.taken == "pin" else say("A0: 10.1 10 9.9")


def _take(draft: Draft, row: HandoverRow, field: str, before: Mapping[Place, float], key: str) -> None:
    text = held(key) or ""
    draft.faults.pop(field, None)
    draft.typed.pop(key, None)
    readings, faults = read_run(text, row, draft.system)
    if faults:
        draft.faults[field], draft.typed[key] = faults, text
        return
    draft.keep(field, readings_value(_as_exact_as_before(readings, before, row, draft.system)))


def _as_exact_as_before(
    readings: Mapping[Place, float], before: Mapping[Place, float], row: HandoverRow, system: str
) -> dict[Place, float]:
    """Put back the readings that were not touched: what is shown is rounded."""
    return {
        place: before[place]
        if place in before and plain_measure(before[place], row.unit, system) == plain_measure(value, row.unit, system)
        else value
        for place, value in readings.items()
    }


def _misses(draft: Draft, checked: Checked) -> None:
    if not checked.misses:
        return
    rows = [[place_name(miss.place), miss_words(miss, checked.standard, draft.system)] for miss in checked.misses]
    st.html(marks.table(say("What is outside"), [say("Where"), say("What")], rows[:_MOST_MISSES]))
    if len(rows) > _MOST_MISSES:
        left = len(rows) - _MOST_MISSES
        with st.expander(
            say_many("{count} more", "{count} more", left), key=draft.key(f"misses_{checked.standard.id}")
        ):
            st.html(marks.table(say("What is outside"), [say("Where"), say("What")], rows[_MOST_MISSES:]))


def _beside(draft: Draft, checked: Checked) -> None:
    pairs = [pair for pair in checked.beside if pair.before is not None]
    if not pairs:
        return
    with st.expander(say("Before and after, note by note"), key=draft.key(f"beside_{checked.standard.id}")):
        unit = checked.standard.unit

        def shown(value: float | None) -> str:
            return "–" if value is None else plain_measure(value, unit, draft.system)

        rows = [[place_name(p.place), shown(p.before), shown(p.after)] for p in checked.beside]
        caption = say("In {unit}", unit=unit_words(unit, draft.system))
        st.html(marks.table(caption, [say("Where"), say("Before"), say("Finished")], rows, dense=True))


def _absent(draft: Draft, job: RecordedJob, row: HandoverRow) -> None:
    key = draft.field_key(f"absent_{row.id}", ABSENT)
    draft.watch(key, _spans(job.absent.get(row.id, ())), _take_absent, draft, job, row.id, key)
    st.text_input(
        say("Keys with nothing to measure"), key=key, live=False, placeholder=say("such as G6-C8"),
    )  # fmt: skip
    for fault in draft.faults.get(f"absent.{row.id}", ()):
        with st.container(key=draft.key(f"fault_absent_{row.id}")):
            st.text(fault)


def _take_absent(draft: Draft, job: RecordedJob, standard: str, key: str) -> None:
    draft.faults.pop(f"absent.{standard}", None)
    keys, fault = read_spans(held(key) or "")
    if fault:
        draft.faults[f"absent.{standard}"] = (fault,)
        return
    told = {name: list(own) for name, own in job.absent.items() if name != standard}
    draft.keep(ABSENT, told | ({standard: keys} if keys else {}) or None)


def read_spans(text: str) -> tuple[list[int], str]:
    """Return the keys of spans such as ``G6-C8 A0``, and what is wrong with them, empty if nothing.

    Examples
    --------
    >>> read_spans("C8 1-3")
    ([1, 2, 3, 88], '')
    """
    found: set[int] = set()
    for piece in re.split(r"[\s,;]+", re.sub(r"\s*[-–]\s*", "-", text.strip())):
        if not piece:
            continue
        try:
            first, _, last = piece.partition("-")
            low, _ = read_place(first)
            high, _ = read_place(last) if last else (low, 0)
        except AnswerError as fault:
            return [], str(fault)
        found |= set(range(low, high + 1))
    return sorted(found), ""


def _spans(keys: tuple[int, ...]) -> str:
    """Return keys as `read_spans` takes them."""
    spans: list[list[int]] = []
    for key in sorted(key for key in keys if key in KEYS):
        if spans and key == spans[-1][1] + 1:
            spans[-1][1] = key
        else:
            spans.append([key, key])
    return " ".join(key_name(a) if a == b else f"{key_name(a)}-{key_name(b)}" for a, b in spans)


def _page_for_the_client(draft: Draft, job: RecordedJob, book: Tables) -> None:
    st.header(say("The paper for the client"), anchor=False)
    st.markdown(
        say("One leaf to go home with the piano: what was made new, what stayed original, what was measured. It "
            "promises nothing beyond.")
    )  # fmt: skip
    lacking = []
    if not job.work:
        lacking.append(say("no work has been entered"))
    if job.kept_original is None:
        lacking.append(say("nobody has said what stays original"))
    if not job.after:
        lacking.append(say("nothing has been measured on the finished piano"))
    if lacking:
        st.markdown(md(say("It will say that this is not known yet: {what}.", what="; ".join(lacking))))
    usual = pack_of(book).country.paper
    size = st.pills(
        say("Size of paper"), list(PAPERS), format_func=lambda paper: say(SIZE_NAMES[paper]), key=draft.key("paper"),
        default=usual, required=True,
    )  # fmt: skip
    st.download_button(
        say("The page as PDF"), lambda: _printed(draft, job, book, size or usual), f"{draft.name}_work.pdf",
        "application/pdf", key=draft.key("certificate"), on_click="ignore",
    )  # fmt: skip


def _printed(draft: Draft, job: RecordedJob, book: Tables, size: str) -> bytes:
    shop.speak_as_chosen()  # it is made after the page, in a thread that has chosen no language
    from valuation.service.paper_parts import shop_facts  # here, not above: only the page as PDF needs it

    facts = shop_facts(draft.store, demo=draft.demo, spoken=shop.language_chosen())
    content = certificate(job, draft.visit, book, shop=facts, written_on=shop.today(), system=draft.system)
    return print_certificate(content, made_on=shop.today(), paper=size)
