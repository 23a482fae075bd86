"""What was found so far, and the way to the walk. The verdict stays hidden until asked for: clients look over."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.drawing import draw, in_words
from valuation.engine.appraised_advice import CautionResult
from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import CheckRow, Tables
from valuation.language import later, say
from valuation.report.checks import by_check, checks_of, is_called_for, part_names, states_seen
from valuation.report.labels import PLACE_NAMES
from valuation.report.not_yet import look_first
from valuation.report.words import clarity_sentence, settle_sentence, verdict_sentence
from valuation.screens import frame, page_list, walk_door
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import QUICK_LOOK, Draft, held
from valuation.screens.what_stands import what_stands
from valuation.service import write_visit_text

STATIONS = {QUICK_LOOK: later("Quick look")} | PLACE_NAMES
"""The quick look, then the walk."""


def page() -> None:
    """Draw the page."""
    draft, book = frame.before_drawing(page_list.INSPECT)
    found, stops = frame.seen_so_far(draft, book)
    frame.head(page_list.INSPECT, draft)
    st.title(say("Inspect"), anchor=False)
    saved_line(draft, book)
    with st.container():  # always there: what comes and goes above a widget would take a tap on it back
        _stops(stops)
    reads = {finding.check: finding for finding in found}
    every = {check.id: check for check in checks_of(draft.visit, book)}
    checks = [check for check in every.values() if is_called_for(check, every, draft.visit, reads)]
    done = {finding.check for finding in draft.visit.findings}
    walk_door.lead(draft)
    _picture(draft, found, book)
    _where(draft, checks, done)
    here = _at(draft.place, checks)
    st.header(say(STATIONS[draft.place]), anchor=False)
    seen = sum(check.id in done for check in here)
    st.markdown(
        say("{seen} of {here} checks entered here, {done} of {all} in all.",
            seen=seen, here=len(here), done=len(done), all=len(checks))
    )  # fmt: skip
    parts, results = part_names(book), by_check(found, book, draft.visit)
    for check in here:
        what_stands(draft, check, parts[check.id], results.get(check.id, []), book)
    _onward(draft, book)
    _units(draft)
    _peek(draft, book)
    frame.end(book)


def _picture(draft: Draft, found: Sequence[FindingResult], book: Tables) -> None:
    """Draw the piano with how each part looks by what was found."""
    kind = draft.visit.piano.kind
    states = states_seen(found, book, draft.visit)
    names = {part.id: say(part.called or part.name) for part in book.parts if part.id in states}
    st.image(draw(kind, states, names=names), alt=in_words(kind, states, names), width=390)


def _at(station: str, checks: list[CheckRow]) -> list[CheckRow]:
    return [check for check in checks if (check.quick if station == QUICK_LOOK else check.access == station)]


def _stops(stops: Sequence[CautionResult]) -> None:
    for caution in stops:
        with st.container(key=f"stop_{caution.caution}"):
            st.markdown(f"**{say('STOP.')}** {md(say(caution.text))}")


def _where(draft: Draft, checks: list[CheckRow], done: set[str]) -> None:
    key = draft.field_key("place", "place")
    draft.watch(key, draft.place, _go, draft, key)

    def name(station: str) -> str:
        here = _at(station, checks)
        return f"{say(STATIONS[station])} ({sum(check.id in done for check in here)}/{len(here)})"

    st.pills(
        say("Where you are on the walk"), list(STATIONS), format_func=name, key=key, required=True, wrap=True
    )  # fmt: skip


def _go(draft: Draft, key: str) -> None:
    draft.place = held(key) or draft.place


def _units(draft: Draft) -> None:
    key = draft.key("system")
    draft.watch(key, draft.system, _turn_units, draft, key)
    names = {"metric": say("mm and N·m"), "imperial": say("inches and in-lb")}
    st.pills(say("Show measures in"), list(names), format_func=lambda one: names.get(one, ""), key=key, required=True)


def _turn_units(draft: Draft, key: str) -> None:
    draft.turn_units(held(key) or draft.system)


def _onward(draft: Draft, book: Tables) -> None:
    stations = list(STATIONS)
    after = stations[(stations.index(draft.place) + 1) % len(stations)]

    with st.container(horizontal=True):
        st.button(say("On to: {station}", station=say(STATIONS[after])), key="onward", type="primary",
                  on_click=draft.press, args=(draft.stand_at, after))  # fmt: skip
        if st.button(say("Check next"), key="to_check_next"):
            frame.go(page_list.NEXT)
        if st.button(say("Type in a form"), key="to_type_in"):
            frame.go(page_list.TYPE_IN)
        st.download_button(
            say("Download the visit file"), lambda: write_visit_text(draft.visit, book), f"{draft.name}.toml",
            "application/toml", key="keep_visit", on_click="ignore",
        )  # fmt: skip


def _peek(draft: Draft, book: Tables) -> None:
    if st.toggle(say("Show the verdict"), key=draft.key("peek")):
        found = frame.appraised(draft, book)
        with st.container(border=True, key="peeked"):
            st.markdown(f"**{md(verdict_sentence(found))}**")
            if found.ready:
                st.markdown(md(clarity_sentence(found)))
                st.markdown(md(settle_sentence(found)))
            else:
                st.markdown(md(look_first(found, draft.visit, book).minutes))


if __name__ == "__main__":
    page()
