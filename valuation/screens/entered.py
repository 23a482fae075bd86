"""What was entered at one station of the walk, and what two entered differently."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import CheckRow, Tables
from valuation.language import say
from valuation.report.checks import by_check, checks_of, is_called_for, part_names
from valuation.report.paper_words import UNIT_NAMES
from valuation.screens import kit
from valuation.screens.state import QUICK_LOOK, STANDS, Draft, held
from valuation.screens.what_stands import STATIONS, what_stands


def entered(draft: Draft, found: Sequence[FindingResult], book: Tables) -> None:
    """Draw what two entered differently, and all that was entered at one station where that is open."""
    reads = {finding.check: finding for finding in found}
    every = {check.id: check for check in checks_of(draft.visit, book)}
    checks = [check for check in every.values() if is_called_for(check, every, draft.visit, reads)]
    done = {finding.check for finding in draft.visit.findings}
    parts, results = part_names(book), by_check(found, book, draft.visit)
    differing = [check for check in every.values() if f"finding.{check.id}" in draft.recorded.clashes]
    for check in differing:
        what_stands(draft, check, parts[check.id], results.get(check.id, []), book)
    st.markdown(say("{done} of {all} checks entered in all.", done=len(done), all=len(checks)))
    box = kit.folded(draft.key(STANDS), say("What was entered, station by station"))
    if box is None:
        return
    with box:
        _where(draft, checks, done)
        here = _at(draft.place, checks)
        seen = sum(check.id in done for check in here)
        st.header(say(STATIONS[draft.place]), anchor=False)
        st.markdown(say("{seen} of {here} checks entered here.", seen=seen, here=len(here)))
        for check in here:
            if check not in differing:
                what_stands(draft, check, parts[check.id], results.get(check.id, []), book)
        _onward(draft)
        _units(draft)


def _at(station: str, checks: list[CheckRow]) -> list[CheckRow]:
    return [check for check in checks if (check.quick if station == QUICK_LOOK else check.access == station)]


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
    st.pills(
        say("Show measures in"), list(UNIT_NAMES), format_func=lambda unit: say(UNIT_NAMES[unit]), key=key,
        required=True,
    )  # fmt: skip


def _turn_units(draft: Draft, key: str) -> None:
    draft.turn_units(held(key) or draft.system)


def _onward(draft: Draft) -> None:
    stations = list(STATIONS)
    after = stations[(stations.index(draft.place) + 1) % len(stations)]
    st.button(say("On to: {station}", station=say(STATIONS[after])), key="onward", type="primary",
              on_click=draft.press, args=(draft.stand_at, after))  # fmt: skip
