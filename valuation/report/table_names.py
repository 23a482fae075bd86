"""The shop's tables in people's words."""

from __future__ import annotations

from collections.abc import Mapping

from valuation.language import later, say

TABLE_NAMES = {
    "rates": later("Hourly rates"),
    "materials": later("Materials"),
    "operations": later("What the workshop does"),
    "bands": later("What pianos fetch"),
    "replacements": later("What another piano costs"),
    "settings": later("Single figures"),
    "feature_hours": later("Hours by features"),
    "cures": later("What cures which fault"),
    "forbidden": later("What forbids a remedy"),
    "openings": later("How far a piano is opened"),
    "scopes": later("How far to go"),
    "checks": later("Checks"),
    "accesses": later("What has to be open"),
    "readings": later("How sure a look is"),
    "pieces": later("How pieces read"),
    "taken_over": later("Answers of older tables"),
    "faults": later("Faults"),
    "fault_odds": later("How often faults are met"),
    "hidden": later("Air and use"),
    "tilts": later("What air and use add"),
    "conflicts": later("Faults that hardly go together"),
    "parts": later("Parts"),
    "components": later("Components"),
    "systems": later("Large systems"),
    "states": later("The four states"),
    "features": later("Features of pianos"),
    "sizes": later("Sizes"),
    "tiers": later("Reputations"),
    "eras": later("Eras"),
    "cautions": later("Cautions"),
    "choices": later("The client's choices"),
    "stages": later("Stages of a job"),
    "reasons": later("Reasons of clients"),
    "follow_ups": later("Follow-ups"),
    "handover": later("Standards at delivery"),
    "sources": later("Sources"),
    "figures": later("Figures that are asked for first"),
    "taxes": later("Tax"),
    "countries": later("Countries"),
    "laws": later("What the law asks"),
    "value_kinds": later("Kinds of value"),
    "retentions": later("How long papers are kept"),
    "trade_words": later("Words of the trade by country"),
}


def table_name(table: str) -> str:
    """Return the name of a table; its file's where there is no other."""
    return say(TABLE_NAMES[table]) if table in TABLE_NAMES else table.replace("_", " ")


def row_name(row: tuple[tuple[str, str], ...], cells: Mapping[str, str]) -> str:
    """Return what a row is called: its name with what tells it from the others."""
    key = ", ".join(words for _, words in row if words)
    name = cells.get("name", "")
    return f"{say(name)} ({key})" if name and name != key else key
