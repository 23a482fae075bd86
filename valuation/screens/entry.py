"""The fields of one check, and what happens when one of them is changed: it is taken down at once.

A field is filled from the draft each time it is drawn anew; what could not be read stays in it as it was typed,
with what is wrong beside it, and the finding before it keeps counting.
"""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from valuation.core.appraisal import FindingResult
from valuation.core.rows import CheckRow, Tables
from valuation.core.visit import Finding
from valuation.report.format import number, unit_words
from valuation.report.labels import cut_words, finding_words, in_sentence
from valuation.screens import answers
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held

NOT_LOOKED_AT, CANNOT_SEE = "not looked at", "can't be seen"
_ROW_NAMES = {"bass": "Bass", "tenor": "Tenor", "treble": "Treble", answers.ANYWHERE: "Anywhere"}


def check_fields(draft: Draft, check: CheckRow, part: str, results: list[FindingResult], book: Tables) -> None:
    """Draw one check: what is asked, the fields, how it reads, and how to do it.

    Parameters
    ----------
    part : str
        Name of the part that it tells about.
    results : list of FindingResult
        What its finding came to, the check's own first, then those taken from its readings.
    """
    with st.container(border=True, key=draft.key(f"check_{check.id}")):
        quick = " · quick look" if check.quick else ""
        with st.container(key=draft.key(f"eyebrow_{check.id}")):
            st.markdown(f"{md(part)} · {number(check.minutes)} min{quick}")
        {"choice": _choice, "number": _number, "readings": _rows}[check.answer](draft, check, book)
        for fault in draft.faults.get(check.id, ()):
            with st.container(key=draft.key(f"fault_{check.id}_{abs(hash(fault))}")):
                st.markdown(f"**Not taken down:** {md(fault)}.{_still(draft, check)}")
        finding = draft.finding(check.id)
        if finding and not finding.cannot_see:
            _reads(draft, check, results, book)
        if finding and finding.note:
            st.text(f"Note: {finding.note}")
        with st.expander("How, why, and a note"):
            _how(draft, check, book)


def _still(draft: Draft, check: CheckRow) -> str:
    finding = draft.finding(check.id)
    return "" if finding is None else " What was entered before still counts."


def _choice(draft: Draft, check: CheckRow, book: Tables) -> None:
    key = draft.key(f"answer_{check.id}")
    finding = draft.finding(check.id)
    fill_once(key, _said(finding, check))
    looks = "\n".join(f"- **{md(word)}**: {md(_looks(check, grade))}" for grade, word in check.choices.items())
    st.pills(
        md(check.name), [NOT_LOOKED_AT, *check.choices.values(), CANNOT_SEE], format_func=md, key=key, required=True,
        help=looks, on_change=_take_choice, args=(draft, check, book, key),
    )  # fmt: skip
    if finding and finding.grade:
        st.markdown(f"{md(check.choices[finding.grade])}: {md(_looks(check, finding.grade))}")


def _number(draft: Draft, check: CheckRow, book: Tables) -> None:
    key = draft.key(f"answer_{check.id}_{draft.system}")
    fill_once(key, draft.typed.get(key, answers.typed_number(draft.finding(check.id), check, draft.system)))
    unit = unit_words(check.unit, draft.system)
    st.text_input(
        md(f"{check.name}, in {unit}" if unit else f"{check.name}, how many"), key=key,
        placeholder=_example(check),
        on_change=_take_number, args=(draft, check, book, key),
    )  # fmt: skip
    _without_number(draft, check, [key])


def _rows(draft: Draft, check: CheckRow, book: Tables) -> None:
    keys = {row: draft.key(f"answer_{check.id}_{row}_{draft.system}") for row in answers.ROWS}
    unit = unit_words(check.unit, draft.system)
    st.markdown(f"**{md(check.name)}**")
    for row, key in keys.items():
        fill_once(key, draft.typed.get(key, answers.typed_row(draft.finding(check.id), check, row, draft.system)))
        st.text_input(
            md(f"{_ROW_NAMES[row]}, in {unit}"), key=key, placeholder=_example(check),
            on_change=_take_rows, args=(draft, check, book, keys),
        )  # fmt: skip
    _without_number(draft, check, list(keys.values()))


def _without_number(draft: Draft, check: CheckRow, fields: list[str]) -> None:
    key = draft.key(f"without_{check.id}")
    finding = draft.finding(check.id)
    fill(key, CANNOT_SEE if finding and finding.cannot_see else NOT_LOOKED_AT if finding is None else None)
    st.pills(
        md(f"{check.name}: or"), [NOT_LOOKED_AT, CANNOT_SEE], format_func=md, key=key, label_visibility="collapsed",
        on_change=_take_without, args=(draft, check, key, fields),
    )  # fmt: skip


def _reads(draft: Draft, check: CheckRow, results: list[FindingResult], book: Tables) -> None:
    rows = book.of_kind("checks", draft.visit.piano.kind)
    for result in results if check.answer != "choice" else []:
        words = finding_words(result, rows[result.check], draft.system, draft.tried(rows[result.check]))
        name = "Comes to" if result.check == check.id else f"From these readings, {md(in_sentence(result.name))}"
        st.markdown(f"{name}: **{md(words)}**")


def _how(draft: Draft, check: CheckRow, book: Tables) -> None:
    st.markdown(f"**How.** {md(check.how)}")
    st.markdown(f"**Why.** {md(check.why)}")
    if check.tool:
        st.markdown(f"**With.** {md(check.tool)}")
    if check.answer == "choice":
        for grade, word in check.choices.items():
            st.markdown(f"- **{md(word)}**: {md(_looks(check, grade))} (reads {grade})")
    else:
        st.markdown(f"**Cut points.** {md(cut_words(check, draft.system))}")
    if check.note:
        st.markdown(f"**Bear in mind.** {md(check.note)}")
    source = next((row for row in book.sources if row.id == check.source), None)
    if source:
        st.markdown(f"**Where the cut points come from.** {md(source.kind)}: {md(source.title)}")
    finding = draft.finding(check.id)
    if finding:
        key = draft.key(f"note_{check.id}")
        fill_once(key, finding.note)
        st.text_input(md(f"Note on {in_sentence(check.name)}"), key=key, on_change=_take_note, args=(draft, check, key))


# What happens on a change.


def _take_choice(draft: Draft, check: CheckRow, book: Tables, key: str) -> None:
    finding, faults = answers.read_choice(check, held(key), _note(draft, check, held(key)), draft.visit, book)
    _take(draft, check, finding, faults)


def _take_number(draft: Draft, check: CheckRow, book: Tables, key: str) -> None:
    text = held(key)
    if not text.strip():
        _take(draft, check, None, ())
    else:
        finding, faults = answers.read_number(check, text, _note(draft, check), draft.visit, book, draft.system)
        _take(draft, check, finding, faults)
    _keep_typed(draft, check, [key])


def _take_rows(draft: Draft, check: CheckRow, book: Tables, keys: dict[str, str]) -> None:
    rows = {row: held(key) or "" for row, key in keys.items()}
    if not "".join(rows.values()).strip():
        _take(draft, check, None, ())
    else:
        finding, faults = answers.read_rows(check, rows, _note(draft, check), draft.visit, book, draft.system)
        _take(draft, check, _with_old_readings(draft, check, rows, finding), faults)
    _keep_typed(draft, check, list(keys.values()))


def _with_old_readings(draft: Draft, check: CheckRow, rows: dict[str, str], finding: Finding | None) -> Finding | None:
    """Leave the rows that were not touched as they are: what is shown is rounded."""
    before = draft.finding(check.id)
    if finding is None or before is None:
        return finding
    readings = []
    for row, text in rows.items():
        section = "" if row == answers.ANYWHERE else row
        untouched = text == answers.typed_row(before, check, row, draft.system)
        readings += [r for r in (before if untouched else finding).readings if r.section == section]
    return replace(finding, readings=tuple(readings))


def _take_without(draft: Draft, check: CheckRow, key: str, fields: list[str]) -> None:
    said = held(key)
    if said is None:  # tapped again what was chosen already: it stays
        return
    _take(draft, check, Finding(check=check.id, cannot_see=True) if said == CANNOT_SEE else None, ())
    for field in fields:
        draft.typed.pop(field, None)
        fill(field, "")


def _take_note(draft: Draft, check: CheckRow, key: str) -> None:
    finding = draft.finding(check.id)
    if finding:
        draft.record(check.id, replace(finding, note=" ".join(held(key).split())))


def _take(draft: Draft, check: CheckRow, finding: Finding | None, faults: tuple[str, ...]) -> None:
    draft.faults = {c: told for c, told in draft.faults.items() if c != check.id}
    if faults:
        draft.faults[check.id] = faults
    else:
        draft.record(check.id, finding)


def _keep_typed(draft: Draft, check: CheckRow, keys: list[str]) -> None:
    """Keep what was typed while something is wrong with it."""
    for key in keys:
        draft.typed.pop(key, None)
        if check.id in draft.faults:
            draft.typed[key] = held(key)


def fill_once(key: str, value: object) -> None:
    """Fill a field that has no content yet; one that is on the screen keeps its own."""
    if held(key) is None:
        fill(key, value)


def _note(draft: Draft, check: CheckRow, said: str = "") -> str:
    finding = draft.finding(check.id)
    return finding.note if finding and said != NOT_LOOKED_AT else ""


def _said(finding: Finding | None, check: CheckRow) -> str:
    if finding is None:
        return NOT_LOOKED_AT
    return CANNOT_SEE if finding.cannot_see else check.choices[finding.grade]


def _looks(check: CheckRow, grade: str) -> str:
    return getattr(check, grade).partition(":")[2].strip()


def _example(check: CheckRow) -> str:
    """Return what stands in an empty field: how to write what is asked."""
    written = {"N.m": "60 55 58 in-lb", "mm": "1/8 in"}.get(check.unit, "")
    how = "readings, a space between each" if check.answer == "readings" else "a number"
    return f"{how}; or {written}" if written else how
