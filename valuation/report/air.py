"""The air at the piano on the day of the visit, in words."""

from __future__ import annotations

from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.format import number


def air_words(visit: Visit) -> str:
    """Return the day's air at the piano; where it isn't told, that."""
    not_told = say("not told")
    humidity = not_told if visit.humidity is None else say("{humidity} %", humidity=number(visit.humidity))
    warmth = not_told if visit.temperature is None else say("{degrees} °C", degrees=number(visit.temperature))
    return say(
        "Air at the piano that day: humidity {humidity}, temperature {warmth}.", humidity=humidity, warmth=warmth
    )
