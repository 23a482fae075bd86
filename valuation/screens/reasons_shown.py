"""Reasons for and against, the heaviest first; each leads to its findings, their photos and its table rows."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Reason
from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.labels import finding_words, in_sentence, option_name, place_name
from valuation.report.trace import is_sale, rows_behind
from valuation.report.words import reason_sentence
from valuation.screens import frame, page_list
from valuation.screens.photos_shown import show_photos
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft

_MOST = 6
_FINDINGS_EACH = 3


def reasons(found: Appraisal, draft: Draft, book: Tables) -> None:
    """Draw both sides, for the verdict and against it."""
    weighed = [reason for reason in found.reasons if reason.code != "stop_rule"]
    if not weighed:
        st.markdown(md(say("There is nothing to weigh it against.")))
        return
    verdict = in_sentence(option_name(found.verdict))
    sides = (
        (say("For: {option}", option=verdict), [r for r in weighed if r.speaks_for == found.verdict]),
        (say("Against it"), [r for r in weighed if r.speaks_for != found.verdict]),
    )
    for column, (title, side) in zip(st.columns(2, gap="medium"), sides, strict=True):
        with column:
            st.subheader(md(title), anchor=False)
            if not side:
                st.markdown(md(say("Nothing that weighs anything.")))
            for reason in side[:_MOST]:
                _reason(reason, found, draft, book)
            if lighter := side[_MOST:]:
                with st.expander(md(say("Lighter ones"))):
                    st.markdown(bullets(md(reason_sentence(reason, found)) for reason in lighter))


def _reason(reason: Reason, found: Appraisal, draft: Draft, book: Tables) -> None:
    name = f"{reason.code}_{reason.subject}"
    seen = {f.check: f for part in found.parts for f in part.findings}
    with st.container(key=f"reason_{name}", gap="small"):
        st.markdown(md(reason_sentence(reason, found)))
        with st.container(horizontal=True, gap="small", key=f"seen_{name}"):
            for check in [check for check in reason.findings if check in seen][:_FINDINGS_EACH]:
                _finding(seen[check], name, draft, book)
        with st.container(key=f"eyebrow_{name}"):
            st.markdown(md(say("Rows: {rows}", rows="; ".join(_rows(reason, found, draft, book)))))


def _finding(finding: FindingResult, name: str, draft: Draft, book: Tables) -> None:
    checks = book.of_kind("checks", draft.visit.piano.kind)
    row = checks[finding.check]
    # readings are entered with the check that they were taken for
    at = checks[row.readings_of or row.id]
    words = finding_words(finding, row, draft.system, draft.tried(row))
    label = say("{check}: {finding}", check=say(finding.name), finding=words)
    place = in_sentence(place_name(at.access))
    if st.button(md(label), key=f"to_{name}_{finding.check}", help=md(say("Go to it: {place}", place=place))):
        draft.stand_at(at.access)
        frame.go(page_list.INSPECT)
    show_photos(draft, at.id)


def _rows(reason: Reason, found: Appraisal, draft: Draft, book: Tables) -> list[str]:
    traced = rows_behind(reason.rows, book, draft.visit.piano.kind, found.on)
    said = [say("{file}, line {line} ({row})", file=row.file, line=row.line, row=row.name) for row in traced]
    whole = [reference for reference in reason.rows if ":" not in reference and not is_sale(reference)]
    said += [say("{file}, all that the plan takes from it", file=f"{table}.csv") for table in whole]
    if sales := sum(map(is_sale, reason.rows)):
        said.append(say("{count} of the shop's own sales", count=sales))
    return said
