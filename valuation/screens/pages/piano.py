"""What is known of the piano, and who asks. Each fact is stored as it is given; any may be unknown."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.engine.rows import KINDS, Tables
from valuation.language import say
from valuation.report.format import number, unit_words
from valuation.report.labels import size_words
from valuation.screens import frame, page_list, walk_door
from valuation.screens.fact_fields import choose, pick_many, tick, typed
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import Draft


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.PIANO)
    st.title(say("The piano"), anchor=False)
    saved_line(draft, book)
    st.markdown(say("Enter what is known. Anything may stay empty: that is 'not known', and never counts as good."))
    if draft.visit.piano.kind:
        walk_door.link(draft)
    _instrument(draft, book)
    with st.expander(say("Who asks, and why"), key=draft.key("who_asks")):
        _client(draft)
    with st.expander(say("The visit"), key=draft.key("the_visit")):
        _visit(draft)
    if st.button(say("On to: {station}", station=say("Inspect")), key="to_inspect", type="primary"):
        frame.go(page_list.INSPECT)
    frame.end(book)


def _instrument(draft: Draft, book: Tables) -> None:
    st.header(say("The instrument"), anchor=False)
    piano = draft.visit.piano
    choose(draft, "piano.kind", {kind: say(kind) for kind in KINDS}, required=True)
    unit = unit_words("mm", draft.system)
    what = say("Height") if piano.kind == "upright" else say("Length")
    typed(
        draft, "piano.size_mm", label=say("{what}, in {unit}", what=what, unit=unit),
        hint=say("such as 132 cm or 4 1/2 ft"),
    )  # fmt: skip
    if piano.size_mm:
        st.markdown(md(_class(draft, book)))
    typed(draft, "piano.maker")
    typed(draft, "piano.serial")
    typed(draft, "piano.year", hint=say("such as 1908"))
    tick(draft, "piano.year_is_about")
    if piano.year:
        age = draft.visit.on.year - piano.year
        about = say("about {age} years old", age=age) if piano.year_is_about else say("{age} years old", age=age)
        st.markdown(about)
    typed(draft, "piano.finish")
    choose(draft, "piano.tier", {row.id: say(row.name) for row in book.tiers})
    features = {row.id: say(row.name) for row in book.features if row.kinds in (piano.kind, "both")}
    with st.expander(_features_label(features, piano.features), key=draft.key("features")):
        pick_many(draft, "piano.features", features)
    with st.expander(say("Parts that were renewed"), key=draft.key("renewed")):
        for row in book.parts:
            if not row.only_with or set(row.only_with) & set(piano.features):
                typed(draft, f"piano.renewed.{row.id}", label=say("{part}: year", part=say(row.name)))


def _features_label(features: dict[str, str], chosen: Sequence[str]) -> str:
    there = [name for feature, name in features.items() if feature in chosen]
    return md(say("Features of build: {features}", features="; ".join(there) or say("none told")))


def _class(draft: Draft, book: Tables) -> str:
    piano = draft.visit.piano
    size = piano.size_mm or 0.0
    row = next((r for r in book.sizes if r.kind == piano.kind and r.from_mm <= size < r.to_mm), None)
    words = size_words(piano)
    return f"{words}: {say(row.name)}" if row else words


def _client(draft: Draft) -> None:
    typed(draft, "client.name")
    typed(draft, "client.phone")
    typed(draft, "client.purpose")
    typed(draft, "client.wishes")
    tick(draft, "client.wants_to_play", usual=True)
    currency = draft.book.settings.currency
    for field in ("client.budget", "client.to_have", "client.to_hear", "client.playing_year"):
        typed(draft, field, unit=currency)
    typed(draft, "client.horizon_years", hint=number(draft.book.settings.horizon_years))


def _visit(draft: Draft) -> None:
    typed(draft, "title")
    typed(draft, "date", hint="2026-05-04")
    typed(draft, "technician")
    typed(draft, "place")
    typed(draft, "humidity")
    typed(draft, "temperature")
    typed(draft, "story", long=True)
    typed(draft, "minutes")


if __name__ == "__main__":
    page()
