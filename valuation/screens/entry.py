"""The fields of one check, and what happens when one of them is changed: it is stored at once.

A field is filled from the store when it is first drawn, and is another one when somebody else changed it; what could
not be read stays in it as it was typed, with what is wrong beside it, and the finding before it keeps counting.
"""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import CheckRow, Tables
from valuation.facts.visit import Finding
from valuation.language import later, say, say_many
from valuation.report.format import number, unit_words
from valuation.report.labels import choice_looks, choice_word, cut_words, finding_words, in_sentence, severity_words
from valuation.screens import answers, clashes
from valuation.screens.photos import photo_fields
from valuation.screens.safe import md
from valuation.screens.state import Draft, held

NOT_LOOKED_AT, CANNOT_SEE = later("not looked at"), later("can't be seen")
_ROW_NAMES = {
    "bass": later("Bass"),
    "tenor": later("Tenor"),
    "treble": later("Treble"),
    answers.ANYWHERE: later("Anywhere"),
}


def check_fields(draft: Draft, check: CheckRow, part: str, results: list[FindingResult], book: Tables) -> None:
    """Draw one check: what is asked, the fields, how it reads; how to do it, photos and a note one tap away.

    Parameters
    ----------
    part : str
        Name of the part that it tells about.
    results : list of FindingResult
        What its finding came to, the check's own first, then those taken from its readings.
    """
    with st.container(border=True, key=draft.key(f"check_{check.id}")):
        quick = f" · {say('quick look')}" if check.quick else ""
        st.text(f"{part} · {number(check.minutes)} min{quick}")  # plain text and no box: quicker to draw
        {"choice": _choice, "number": _number, "readings": _rows}[check.answer](draft, check, book)
        for index, fault in enumerate(draft.faults.get(check.id, ())):
            with st.container(key=draft.key(f"fault_{check.id}_{index}")):
                st.markdown(f"**{say('Not taken down:')}** {md(fault)}.{_still(draft, check)}")
        clashes.settle(draft, _field(check), book)
        finding = draft.finding(check.id)
        if finding and not finding.cannot_see:
            _reads(draft, check, results, book)
        if finding and finding.note:
            st.text(f"{say('Note:')} {finding.note}")
        _more(draft, check, book)


def _still(draft: Draft, check: CheckRow) -> str:
    return "" if draft.finding(check.id) is None else " " + say("What was entered before still counts.")


def _choice(draft: Draft, check: CheckRow, book: Tables) -> None:
    key = draft.field_key(f"answer_{check.id}", _field(check))
    finding = draft.finding(check.id)
    draft.watch(key, _said(finding), _take_choice, draft, check, book, key)
    words = {NOT_LOOKED_AT: say(NOT_LOOKED_AT), **_choice_words(check), CANNOT_SEE: say(CANNOT_SEE)}
    st.pills(
        md(say(check.name)), list(words), format_func=lambda said: md(words[said]), key=key, required=True,
    )  # fmt: skip
    if finding and finding.grade:
        st.text(f"{words[finding.grade]}: {choice_looks(check, finding.grade)}")


def _number(draft: Draft, check: CheckRow, book: Tables) -> None:
    key = draft.field_key(f"answer_{check.id}_{draft.system}", _field(check))
    stored = answers.typed_number(draft.finding(check.id), check, draft.system)
    draft.watch(key, draft.typed.get(key, stored), _take_number, draft, check, book, key)
    unit = unit_words(check.unit, draft.system)
    name = say(check.name)
    st.text_input(
        md(say("{name}, in {unit}", name=name, unit=unit) if unit else say("{name}, how many", name=name)), key=key,
        placeholder=_example(check),
    )  # fmt: skip
    _without_number(draft, check)


def _rows(draft: Draft, check: CheckRow, book: Tables) -> None:
    keys = {row: draft.field_key(f"answer_{check.id}_{row}_{draft.system}", _field(check)) for row in answers.ROWS}
    unit = unit_words(check.unit, draft.system)
    st.markdown(f"**{md(say(check.name))}**")
    for row, key in keys.items():
        stored = answers.typed_row(draft.finding(check.id), check, row, draft.system)
        draft.watch(key, draft.typed.get(key, stored), _take_rows, draft, check, book, keys)
        st.text_input(
            md(say("{name}, in {unit}", name=say(_ROW_NAMES[row]), unit=unit)), key=key, placeholder=_example(check),
        )  # fmt: skip
    _without_number(draft, check)


def _without_number(draft: Draft, check: CheckRow) -> None:
    """Draw the two answers without a figure, as buttons: what a browser sends late of a button changes nothing."""
    finding = draft.finding(check.id)
    if finding is None or finding.cannot_see:
        st.markdown(f"**{say(NOT_LOOKED_AT if finding is None else CANNOT_SEE)}**")
    with st.container(horizontal=True):
        if finding is None or not finding.cannot_see:
            unseen = Finding(check=check.id, cannot_see=True)
            st.button(say("Can't be seen"), key=draft.key(f"unseen_{check.id}"), on_click=draft.press,
                      args=(_take_without, draft, check, unseen))  # fmt: skip
        if finding is not None:
            st.button(say("Not looked at"), key=draft.key(f"unlooked_{check.id}"), on_click=draft.press,
                      args=(_take_without, draft, check, None))  # fmt: skip


def _reads(draft: Draft, check: CheckRow, results: list[FindingResult], book: Tables) -> None:
    rows = book.of_kind("checks", draft.visit.piano.kind)
    for result in results if check.answer != "choice" else []:
        words = finding_words(result, rows[result.check], draft.system, draft.tried(rows[result.check]))
        if result.check == check.id:
            name = say("Comes to")
        else:
            name = md(say("From these readings, {name}", name=in_sentence(say(result.name))))
        st.markdown(f"{name}: **{md(words)}**")


def _more(draft: Draft, check: CheckRow, book: Tables) -> None:
    """Draw what is one tap away; nothing in it is made before it is opened, so that many checks stay quick."""
    if photos := len(draft.photos(check.id)):
        st.markdown(say_many("{count} photo", "{count} photos", photos))
    # Its label never changes: with another one it would be another expander, and closed.
    more = st.expander(say("How and why, photo, note"), key=draft.key(f"more_{check.id}"), on_change="rerun")
    if more.open:
        with more:
            _how(draft, check, book)
            photo_fields(draft, check.id, say(check.name))
            _note_field(draft, check)


def _how(draft: Draft, check: CheckRow, book: Tables) -> None:
    st.markdown(f"**{say('How.')}** {md(say(check.how))}")
    st.markdown(f"**{say('Why.')}** {md(say(check.why))}")
    if check.tool:
        st.markdown(f"**{say('With.')}** {md(say(check.tool))}")
    if check.answer == "choice":
        for grade, word in _choice_words(check).items():
            reads = say("reads {grade}", grade=severity_words(grade))
            st.markdown(f"- **{md(word)}**: {md(choice_looks(check, grade))} ({reads})")
    else:
        st.markdown(f"**{say('Cut points.')}** {md(cut_words(check, draft.system))}")
    if check.note:
        st.markdown(f"**{say('Bear in mind.')}** {md(say(check.note))}")
    source = next((row for row in book.sources if row.id == check.source), None)
    if source:
        came = say("Where the cut points come from.")
        st.markdown(f"**{came}** {md(say(source.kind))}: {md(say(source.title))}")


def _note_field(draft: Draft, check: CheckRow) -> None:
    finding = draft.finding(check.id)
    if finding is None:
        st.markdown(say("A note goes with an answer: answer the check first, if only with 'can't be seen'."))
        return
    key = draft.field_key(f"note_{check.id}", _field(check))
    draft.watch(key, finding.note, _take_note, draft, check, key)
    st.text_input(
        md(say("Note on {name}", name=in_sentence(say(check.name)))), key=key, live="0.5s",
    )  # fmt: skip


# What happens on a change.


def _take_choice(draft: Draft, check: CheckRow, book: Tables, key: str) -> None:
    said = held(key)
    if said is not None:
        word = check.choices.get(said, said)
        finding, faults = answers.read_choice(check, word, _note(draft, check, said), draft.visit, book)
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
        finding = answers.leave_untouched(draft.finding(check.id), finding, check, rows, draft.system)
        _take(draft, check, finding, faults)
    _keep_typed(draft, check, list(keys.values()))


def _take_without(draft: Draft, check: CheckRow, finding: Finding | None) -> None:
    _take(draft, check, finding, ())
    draft.turn(_field(check))


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


def _field(check: CheckRow) -> str:
    """Return the field of the store in which a check is kept."""
    return f"finding.{check.id}"


def _note(draft: Draft, check: CheckRow, said: str = "") -> str:
    finding = draft.finding(check.id)
    return finding.note if finding and said != NOT_LOOKED_AT else ""


def _said(finding: Finding | None) -> str:
    """Return the option that stands for a finding: its grade, so that no language is stored."""
    if finding is None:
        return NOT_LOOKED_AT
    return CANNOT_SEE if finding.cannot_see else finding.grade


def _choice_words(check: CheckRow) -> dict[str, str]:
    """Return the words of the choices by grade."""
    return {grade: choice_word(check, grade) for grade in check.choices}


def _example(check: CheckRow) -> str:
    """Return what stands in an empty field: how to write what is asked."""
    written = {"N.m": "60 55 58 in-lb", "mm": "1/8 in"}.get(check.unit, "")
    how = say("readings, a space between each") if check.answer == "readings" else say("a number")
    return say("{how}; or {example}", how=how, example=written) if written else how
