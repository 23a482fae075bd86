"""One component of the piano: the score and odds of its parts, their faults, and what was not looked at."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_condition import ComponentResult, FindingResult, PartResult
from valuation.engine.rows import HISTORY, Tables
from valuation.language import say
from valuation.report.format import of_100
from valuation.report.labels import finding_words, in_sentence, pull_sentence, with_capital
from valuation.screens import marks
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft


def component(
    component: ComponentResult, parts: list[PartResult], draft: Draft, book: Tables, open_checks: dict
) -> None:  # fmt: skip
    """Draw a component with its parts."""
    if len(parts) > 1:
        st.html(marks.score(component.low, component.score, component.high))
        worst = next(part.name for part in parts if part.part == component.worst_part)
        st.markdown(say("Worst part: {part}.", part=md(say(worst))))
    for part in parts:
        _part(part, draft, book, open_checks, alone=len(parts) == 1)


def _part(part: PartResult, draft: Draft, book: Tables, open_checks: dict, *, alone: bool) -> None:
    if not alone:
        st.header(md(with_capital(say(part.name))), anchor=False)
    st.html(marks.score(part.low, part.score, part.high))
    st.html(marks.odds(part.states))
    _faults(part)
    if not part.looked_at:
        st.markdown(say("**Nobody has looked at it.** These odds come from its age and from how the piano has lived."))
    _findings(part, draft, book)
    _not_made(part.part, open_checks)


def _faults(part: PartResult) -> None:
    """Tell which faults the part has, as far as they are likelier there than not."""
    said = [
        say("{fault}: **{severity}**. {looks}", fault=md(say(fault.name)), severity=say(fault.severity),
            looks=md(with_capital(say(fault.looks))))
        for fault in part.faults
    ]  # fmt: skip
    if said:
        st.markdown(bullets(said))


def _findings(part: PartResult, draft: Draft, book: Tables) -> None:
    checks = book.of_kind("checks", draft.visit.piano.kind)

    def line(finding: FindingResult) -> str:
        row = checks[finding.check]
        words = finding_words(finding, row, draft.system, draft.tried(row))
        return f"{md(say(finding.name))}: **{md(words)}**; {md(pull_sentence(finding))}."

    if part.findings:
        st.markdown(bullets(map(line, part.findings)))
    for finding in part.findings:
        if finding.note and not checks[finding.check].readings_of:
            name = in_sentence(say(finding.name))
            st.text(say("Note on {check}: {note}", check=name, note=finding.note))


def _not_made(part: str, open_checks: dict) -> None:
    not_made, unseen = open_checks.get(part, ([], []))
    if unseen:
        st.markdown(say("Could not be seen: {checks}", checks=md("; ".join(map(in_sentence, unseen)))))
    if not_made:
        st.markdown(say("Not looked at: {checks}", checks=md("; ".join(map(in_sentence, not_made)))))


def history(found: Appraisal, draft: Draft, book: Tables, open_checks: dict) -> None:
    """Draw how the piano has lived."""
    odds = found.exposure | found.use
    said = ", ".join(f"{say(row.name)} {of_100(odds[row.id])}" for row in book.hidden)
    st.markdown(say("Odds: {odds}. What is told and seen of its life moves the odds of every part.", odds=md(said)))
    for part in found.parts:
        if part.part == HISTORY:
            _findings(part, draft, book)
    _not_made(HISTORY, open_checks)
