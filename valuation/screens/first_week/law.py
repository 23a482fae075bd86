"""What the country's law says, row by row, with where it stands and who has read it; and both sides of a border."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import ORIENTATION, cited, over_a_border, pack_of
from valuation.engine.rows import Tables
from valuation.engine.rows.country import TOPICS
from valuation.language import say
from valuation.report.labels import day_words
from valuation.screens.safe import bullets, md

_MATERIALS = ("ivory_tops", "rosewood_veneer")


def section(book: Tables) -> None:
    """Draw the pack of the shop's country."""
    pack = pack_of(book)
    with st.expander(say("What holds there: {country}", country=say(pack.country.name)), key="first_law"):
        st.markdown(f"**{md(say(ORIENTATION))}**")
        st.markdown(
            md(
                say(
                    "Last checked {day}. {count} of its rows nobody qualified has read; whoever does puts a name under "
                    "'checked_by' in the table 'laws'.",
                    day=day_words(pack.checked_on), count=pack.unread,
                )
            )
        )  # fmt: skip
        market = pack.kinds["market"]
        st.markdown(
            md(
                say(
                    "'Value' means {kind}: {definition} ({source}). Who certifies one: {appraiser}.",
                    kind=say(market.name), definition=say(market.definition), source=market.source,
                    appraiser=say(pack.country.appraiser),
                )
            )
        )  # fmt: skip
        for topic, name in TOPICS.items():
            if rows := pack.about(topic):
                st.markdown(f"**{md(say(name))}**")
                st.markdown(bullets(md(cited(row)) for row in rows))
        _border(book)


def _border(book: Tables) -> None:
    others = {row.id: row.name for row in book.countries if row.id != book.settings.country}
    other = st.pills(
        say("A piano with ivory or rosewood goes to"), list(others), format_func=lambda c: say(others[c]),
        key="first_border",
    )  # fmt: skip
    if other:
        told = over_a_border(book, other, _MATERIALS)
        st.markdown(
            bullets(
                md(say("{country}: {rule}", country=say(country.name), rule=cited(row)))
                for country, row in told
                if row.feature
            )
        )
