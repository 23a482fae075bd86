"""Which pins to try: dealt by the tool, so that they speak for all; those tried because they felt soft stand apart."""

from __future__ import annotations

import streamlit as st

from valuation.facts.keys import key_name
from valuation.facts.visit import Finding, Reading
from valuation.files.reading_place import SOFT, place_text
from valuation.language import say
from valuation.measure.pin_deal import deal_pins, pins_of, start_of
from valuation.measure.pin_runs import Place
from valuation.readings.pins import TORQUE
from valuation.screens.pins.entry import spans
from valuation.screens.pins.piano import ends_of
from valuation.screens.pins.widgets import choose
from valuation.screens.safe import md
from valuation.screens.state import Draft

COUNTS = (24, 36, 48, 72)


def deal(draft: Draft, how: str) -> None:
    """Draw how and which pins to try, by section, those that have a reading ticked off; tell readings from elsewhere.

    Parameters
    ----------
    how : str
        How a pin is tried.
    """
    finding = draft.finding(TORQUE)
    ends = ends_of(draft, finding)
    with st.expander(say("Which pins to try"), expanded=finding is None, key=draft.key("pins_deal")):
        st.markdown(md(how))
        st.markdown(
            md(
                say(
                    "These were dealt over the whole field, by chance; whoever chooses makes a block look worse or "
                    "better than it is. Where a key has no such string, take the next pin of its row. Did another "
                    "pin feel soft? Try it too and put {mark} before its reading, such as 49.2:{mark}31: it is booked "
                    "apart.",
                    mark=SOFT,
                )
            )
        )
        words = {str(count): str(count) for count in COUNTS}
        count = int(choose(draft, "pins_dealt", say("How many"), words, usual=str(COUNTS[0])))
        dealt = deal_pins(pins_of(ends[0]), count, start_of(draft.visit_id))
        tried = {(r.key, r.string) for r in finding.readings} if finding else set()
        for section, keys in spans(ends).items():
            own = sorted(place for place in dealt if place[0] in keys)
            st.markdown(f"**{md(say(section))}**: {md(', '.join(_pin(place, place in tried) for place in own))}")
        if finding and (other := not_dealt(finding, dealt)):
            st.markdown(
                md(
                    say(
                        "Not among them, and not marked as soft: {pins}. If one was tried because it felt soft, put "
                        "{mark} before its reading.",
                        pins=", ".join(place_text(reading) for reading in other),
                        mark=SOFT,
                    )
                )
            )


def not_dealt(finding: Finding, dealt: tuple[Place, ...]) -> list[Reading]:
    """Return the readings at places that were not dealt and that nobody marked as soft."""
    return [r for r in finding.readings if r.key and r.string and not r.soft and (r.key, r.string) not in dealt]


def _pin(place: Place, tried: bool) -> str:
    key, string = place
    name = f"{key}.{string} ({key_name(key)})"
    return say("{pin} tried", pin=name) if tried else name
