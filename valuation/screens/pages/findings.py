"""What was found, in the order of the walk. The verdict stays hidden until asked for: the client may look over."""

from __future__ import annotations

import streamlit as st

from valuation.core.appraisal import Appraisal, FindingResult
from valuation.core.rows import HISTORY, CheckRow, Tables
from valuation.report.labels import PLACE_NAMES
from valuation.report.words import clarity_sentence, settle_sentence, verdict_sentence
from valuation.screens import frame
from valuation.screens.entry import check_fields
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.service import write_visit_text


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(frame.FINDINGS)
    found = frame.appraised(draft, book)
    st.title("Findings", anchor=False)
    _peek(draft, found)
    checks = _checks(draft, book)
    done = {f.check for f in draft.visit.findings}
    _where(draft, checks, done)
    _units(draft)
    here = [check for check in checks if check.place == draft.place]
    seen = sum(check.id in done for check in here)
    st.header(PLACE_NAMES[draft.place], anchor=False)
    st.markdown(f"{seen} of {len(here)} checks entered here, {len(done)} of {len(checks)} in all.")
    results = _results(found)
    parts = _part_names(book)
    for check in here:
        taken_from = [
            c.id for c in book.checks if c.readings_of == check.id and c.kinds in (draft.visit.piano.kind, "both")
        ]
        own = [results[c] for c in (check.id, *taken_from) if c in results]
        check_fields(draft, check, parts[check.family], own, book)
    _onward(draft, book)
    frame.end(book)


def _peek(draft: Draft, found: Appraisal) -> None:
    for caution in found.cautions:
        if caution.rank == "stop":
            with st.container(key=f"stop_{caution.caution}"):
                st.markdown(f"**STOP.** {md(caution.text)}")
    if st.toggle("Show the verdict", key=draft.key("peek")):
        with st.container(border=True, key="peeked"):
            st.markdown(f"**{md(verdict_sentence(found))}**")
            st.markdown(md(clarity_sentence(found)))
            st.markdown(md(settle_sentence(found)))


def _checks(draft: Draft, book: Tables) -> list[CheckRow]:
    """Return the checks that can be made on this piano, in the order of the walk."""
    present = {row.id for row in book.parts if row.present in ("always", *draft.visit.piano.features)} | {HISTORY}
    family_part = {row.id: row.part for row in book.families}
    rows = book.of_kind("checks", draft.visit.piano.kind).values()
    return [row for row in rows if not row.readings_of and family_part[row.family] in present]


def _part_names(book: Tables) -> dict[str, str]:
    names = {row.id: row.name for row in book.parts} | {HISTORY: "how it has lived"}
    return {row.id: names[row.part] for row in book.families}


def _results(found: Appraisal) -> dict[str, FindingResult]:
    return {finding.check: finding for part in found.parts for finding in part.findings}


def _where(draft: Draft, checks: list[CheckRow], done: set[str]) -> None:
    key = draft.key("place")
    fill(key, draft.place)

    def name(place: str) -> str:
        here = [check.id for check in checks if check.place == place]
        return f"{PLACE_NAMES[place]} ({sum(c in done for c in here)} of {len(here)})"

    def go() -> None:
        draft.place = held(key) or draft.place

    st.pills("Where you are on the walk", list(PLACE_NAMES), format_func=name, key=key, required=True, on_change=go)


def _units(draft: Draft) -> None:
    key = draft.key("system")
    fill(key, draft.system)

    def turn() -> None:
        draft.turn_units(held(key) or draft.system)

    names = {"metric": "mm and N·m", "imperial": "inches and in-lb"}
    st.pills("Show measures in", list(names), format_func=names.get, key=key, required=True, on_change=turn)


def _onward(draft: Draft, book: Tables) -> None:
    places = list(PLACE_NAMES)
    after = places[(places.index(draft.place) + 1) % len(places)]

    def go() -> None:
        draft.place = after

    with st.container(horizontal=True):
        st.button(f"On to: {PLACE_NAMES[after].lower()}", key="onward", type="primary", on_click=go)
        st.download_button(
            "Download the visit file", write_visit_text(draft.visit, book), f"{draft.name.removesuffix('.toml')}.toml",
            "application/toml", key="keep_visit", on_click="ignore",
        )  # fmt: skip


if __name__ == "__main__":
    page()
