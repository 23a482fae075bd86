"""The figures that a new shop is asked for: what each is called, and the question in the shop's own words. Pure."""

from __future__ import annotations

from datetime import date
from typing import Any

from valuation.engine.figures import asked_row, unsaid
from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.report.labels import in_sentence, with_capital

MOST_NAMED = 5
"""So many figures that nobody has set are named on a paper; of the others the number is told."""

_SETTINGS = {
    "discount_rate": later("interest over inflation"),
    "value_loss_per_year": later("value lost in a year"),
    "selling_cost": later("what is lost in selling"),
    "playing_worth": later("what a year of good playing is worth"),
}
_SETTING_QUESTIONS = {
    "discount_rate": later("Of 100 {currency} that your client leaves in the bank for a year, how many does it add, "
                           "over what prices rise?"),
    "value_loss_per_year": later("Of 100 {currency} that a piano is worth after work, how many are lost in a year?"),
    "selling_cost": later("Of 100 {currency} that a piano sells for, how many does selling it take: advertising, time, "
                          "haggling?"),
    "playing_worth": later("Another sound piano costs its owner 100 {currency} a year, all told. What would somebody "
                           "pay a year to hire one like it?"),
}  # fmt: skip
_KINDS = {"upright": later("uprights"), "grand": later("grands"), "both": later("pianos")}
_ONE = {"upright": later("an upright"), "grand": later("a grand")}


def figure_name(tables: Tables, kind: str, of: str, on: date) -> str:
    """Return what a figure is called in a list."""
    if kind == "settings":
        return say(_SETTINGS[of])
    row = asked_row(tables, kind, of, on)
    match kind:
        case "rates":
            return say("an hour: {what}", what=say(row.name))
        case "hours":
            return say("hours for: {what}", what=say(row.name))
        case "materials":
            return say("price: {what}", what=say(row.name))
        case "bands":
            return say("what {piano} fetches", piano=say(_ONE[of]))
        case "replacements":
            return say("price of another: {what}", what=say(row.name))
        case "haul_away":
            return say("taking {piano} away", piano=say(_ONE[of]))
        case "odds":
            return say("how often: {what}", what=say(_fault(tables, of).name))
        case _:
            return say("how long it lasts: {what}", what=say(row.called))


def question(tables: Tables, kind: str, of: str, on: date) -> str:
    """Return the question for a figure, with all that it depends on; odds are asked as a count of 100."""
    currency = tables.settings.currency
    if kind == "settings":
        return say(_SETTING_QUESTIONS[of], currency=currency)
    row = asked_row(tables, kind, of, on)
    match kind:
        case "rates":
            return say("What does an hour cost your client, before tax, in {currency}: {what}?",
                       currency=currency, what=say(row.name))  # fmt: skip
        case "hours":
            return say("How many hours does it usually take you: {what}?", what=in_sentence(say(row.plain)).rstrip("."))
        case "materials":
            return say("What do you pay, before tax, in {currency}: {what} ({unit})?",
                       currency=currency, what=say(row.name), unit=say(row.unit))  # fmt: skip
        case "bands":
            return _band_question(tables, row, currency)
        case "replacements":
            return say("What does it cost around you, in {currency}, tax included: {what}?",
                       currency=currency, what=say(row.name))  # fmt: skip
        case "haul_away":
            return say("What does it cost to have {piano} taken away for good, in {currency}?",
                       currency=currency, piano=say(_ONE[of]))  # fmt: skip
        case "odds":
            return _odds_question(tables, row, on)
        case _:
            return say("For how many years does it usually last when it is sound: {what}?", what=say(row.called))


def _band_question(tables: Tables, row: Any, currency: str) -> str:
    size = next(one.name for one in tables.sizes if one.id == row.size and one.kind == row.kind)
    tier = next(one.name for one in tables.tiers if one.id == row.tier)
    era = next(one.name for one in tables.eras if one.id == row.era)
    return say(
        "What does this fetch in a private sale around you, in {currency}: {size}, {tier}, {era}, and it plays and "
        "holds its tuning, though worn? All other prices of such pianos move with it.",
        currency=currency, size=say(size), tier=say(tier), era=say(era),
    )  # fmt: skip


def _odds_question(tables: Tables, row: Any, on: date) -> str:
    fault = _fault(tables, row.fault)
    return say(
        "Of 100 {pianos} of about {year} in which nobody has renewed it, in how many do you find this, clearly or "
        "badly: {fault}? Clearly means: {marked}.",
        pianos=say(_KINDS[fault.kinds]), year=on.year - round(row.age), fault=say(fault.name), marked=say(fault.marked),
    )  # fmt: skip


def _fault(tables: Tables, name: str) -> Any:
    return next(row for row in tables.faults if row.id == name)


def unit_of(tables: Tables, kind: str) -> str:
    """Return what an answer counts."""
    match kind:
        case "odds":
            return say("of 100")
        case "hours":
            return say("hours")
        case "years":
            return say("years")
        case "settings":
            return say("for each 100 {currency}", currency=tables.settings.currency)
        case _:
            return tables.settings.currency


def unsaid_words(tables: Tables, on: date) -> str:
    """Return which of the figures that matter most nobody in the shop has set; empty where all are."""
    left = unsaid(tables, on)
    if not left:
        return ""
    named = [figure_name(tables, row.kind, row.of, on) for row in left[:MOST_NAMED]]
    told = say("Nobody in this workshop has set yet: {names}.", names="; ".join(named))
    more = len(left) - len(named)
    if not more:
        return with_capital(told)
    return told + " " + say_many("And {count} figure more.", "And {count} figures more.", more)
