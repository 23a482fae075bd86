"""Good and bad sides of each way, as many of one as of the other; and each way held against each thing that may matter.

A side is told where it is true of this piano. The list of a way is in order of weight; the last ones hold always, so
that every way has as many sides as every other.
"""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.prospects import ANOTHER, LET_GO
from valuation.language import say, say_many
from valuation.report.case import PLAYS_WELL, PLAYS_WITH_FAULTS, Case
from valuation.report.client_words import of_100, worth_words, years_words
from valuation.report.format import honest, money
from valuation.report.ways import keeps_words, plays_words, price_and_years

SIDES = 3
"""So many good sides and so many bad ones are told of every way."""

_FEW_PARTS = 3
_WORTH_SAYING = 0.02
"""A smaller chance is no bad side [-]."""


@dataclass(frozen=True, slots=True)
class Side:
    """One good or bad side: what it touches, one of `valuation.report.wishes.THEMES`, and the sentence."""

    theme: str
    text: str


def good_sides(way: str, case: Case) -> tuple[Side, ...]:
    """Return the good sides of a way, what matters to the client first; none where the way isn't open."""
    return _told(_GOOD[way](case), case) if way in case.prospects else ()


def bad_sides(way: str, case: Case) -> tuple[Side, ...]:
    """Return the bad sides of a way, what matters to the client first; none where the way isn't open."""
    return _told(_BAD[way](case), case) if way in case.prospects else ()


def _told(sides: list[tuple[bool, str, str]], case: Case) -> tuple[Side, ...]:
    true = [Side(theme, text) for holds, theme, text in sides if holds][:SIDES]
    assert len(true) == SIDES, "every way has its sides"
    return tuple(sorted(true, key=lambda side: -case.wishes.matters(side.theme)))


def _keep_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect = case.prospects["keep"]
    least = min(case.price_of(way) for way in case.prospects if way not in (ANOTHER, LET_GO))
    return [
        (prospect.plays >= PLAYS_WELL, "playing", say("It plays well now.")),
        (True, "family", say("It stays with you, just as you know it.")),
        (case.price_of("keep") <= least, "cost", say("It costs the least of all ways to keep it.")),
        (case.price_of("keep") > least, "cost", say("It costs little now.")),
        (True, "waste", say("Nothing is thrown away.")),
    ]


def _keep_bad(case: Case) -> list[tuple[bool, str, str]]:
    prospect = case.prospects["keep"]
    worth = worth_words(prospect.expected_value, case.currency)
    return [
        (prospect.plays < PLAYS_WITH_FAULTS, "playing", keeps_words(case)),
        (True, "cost", say("What is worn wears on. A repair may cost more later.")),
        (True, "resale", say("It gains no value. It is worth {worth}.", worth=worth)),
        (True, "looks", say("Marks and worn places stay.")),
    ]


def _partial_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect, before = case.prospects["partial_repair"], case.prospects["keep"]
    less = case.price_of("rebuild") - case.price_of("partial_repair") if "rebuild" in case.prospects else 0.0
    levels = case.levels("partial_repair")
    treated, kept = len(levels["replace"]) + len(levels["repair"]), len(levels["keep"])
    return [
        (prospect.plays > before.plays + 0.05, "playing", say("The worst faults are put right.")),
        (honest(less) > 0, "cost", say("It costs about {less} less than a rebuild.", less=money(less, case.currency))),
        (kept >= treated, "family", say("Most of it stays as you know it.")),
        (len(levels["replace"]) <= _FEW_PARTS, "waste", say("Little of it is thrown away.")),
        (True, "family", say("The piano stays with you.")),
        (True, "waste", say("The old piano stays in use.")),
        (True, "looks", say("It still looks like itself.")),
    ]


def _partial_bad(case: Case) -> list[tuple[bool, str, str]]:
    way = "partial_repair"
    prospect, surprised = case.prospects[way], of_100(case.prospects[way].surprise)
    return [
        (
            prospect.plays < PLAYS_WITH_FAULTS,
            "playing",
            say("Even then it is not good to play. {how}", how=plays_words(prospect.plays)),
        ),
        (True, "playing", say("Old parts stay in it. They may be the next to fail.")),
        (honest(_lost(way, case)) > 0, "resale", _lost_words(way, case)),
        (
            prospect.surprise >= _WORTH_SAYING,
            "cost",
            say("It may cost more once it is open: in {count} of 100 cases.", count=surprised),
        ),
        (case.finish_level(way) == "keep", "looks", say("Marks on the case stay.")),
        (True, "cost", say("A bigger repair may still come later.")),
    ]


def _rebuild_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect, before = case.prospects["rebuild"], case.prospects["keep"]
    worth = worth_words(prospect.expected_value, case.currency)
    better = prospect.plays > before.plays + 0.05
    return [
        (prospect.plays >= PLAYS_WELL and better, "playing", say("It plays like a good piano again.")),
        (prospect.plays < PLAYS_WELL and better, "playing", say("It plays better than now.")),
        (True, "family", say("Your piano goes on, for you or for those after you.")),
        (
            honest(prospect.expected_value - before.expected_value) > 0 and prospect.expected_value >= 1000,
            "resale",
            say("It is worth more than now: {worth}.", worth=worth),
        ),
        (True, "waste", say("The frame, the case and much else stay in use.")),
        (True, "looks", say("What is done can be seen and heard.")),
    ]


def _rebuild_bad(case: Case) -> list[tuple[bool, str, str]]:
    way = "rebuild"
    prospect, weeks = case.prospects[way], case.weeks_away(way)
    dearest = all(case.price_of(way) >= case.price_of(other) for other in case.prospects)
    price = money(case.price_of(way), case.currency)
    return [
        (
            prospect.plays < PLAYS_WITH_FAULTS,
            "playing",
            say("Even then it is not good to play. {how}", how=plays_words(prospect.plays)),
        ),
        (dearest, "cost", say("It costs the most of all ways: about {price}.", price=price)),
        (not dearest, "cost", say("It costs a lot: about {price}.", price=price)),
        (honest(_lost(way, case)) > 0, "resale", _lost_words(way, case)),
        (True, "family", say("Many parts are new. It will not sound quite as you know it.")),
        (
            weeks > 0,
            "playing",
            say_many(
                "You are without it for about {count} week.", "You are without it for about {count} weeks.", weeks
            ),
        ),
        (True, "cost", say("It takes a long time before you can play it again.")),
    ]


def _another_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect = case.prospects[ANOTHER]
    worth = worth_words(prospect.expected_value, case.currency)
    return [
        (prospect.plays >= PLAYS_WELL, "playing", say("It plays well from the first day.")),
        (prospect.plays < PLAYS_WELL, "playing", say("You can play it from the first day.")),
        (True, "cost", say("You know the price before you buy.")),
        (True, "resale", say("It can be sold again. It is worth {worth}.", worth=worth)),
    ]


def _another_bad(case: Case) -> list[tuple[bool, str, str]]:
    price = money(case.price_of(ANOTHER), case.currency)
    return [
        (True, "family", say("It is not your piano. Yours leaves the house.")),
        (True, "cost", say("You pay it all at once: about {price}.", price=price)),
        (not case.found.worth_selling, "waste", say("Most of the old piano is thrown away.")),
        (case.found.worth_selling, "waste", say("What becomes of the old one is out of your hands.")),
    ]


def _let_go_good(case: Case) -> list[tuple[bool, str, str]]:
    proceeds = case.prospects[LET_GO].proceeds.likely
    gets = honest(proceeds) > 0
    amount = money(abs(proceeds), case.currency)
    return [
        (gets, "resale", say("It brings in about {amount}.", amount=amount)),
        (not gets, "cost", say("It costs about {amount}, once.", amount=amount)),
        (True, "cost", say("No more tuning and repairs to pay.")),
        (True, "looks", say("The room is free.")),
    ]


def _let_go_bad(case: Case) -> list[tuple[bool, str, str]]:
    return [
        (True, "family", say("It leaves your house.")),
        (True, "playing", say("There is no piano to play.")),
        (not case.found.worth_selling, "waste", say("Most of it is thrown away.")),
        (case.found.worth_selling, "waste", say("What becomes of it is out of your hands.")),
    ]


def _lost(way: str, case: Case) -> float:
    """Return how much of the price of the work doesn't come back if the piano is sold then."""
    prospect, before = case.prospects[way], case.prospects["keep"]
    return case.price_of(way) - (prospect.expected_value - before.expected_value)


def _lost_words(way: str, case: Case) -> str:
    lost = money(_lost(way, case), case.currency)
    return say("If you sell it, about {lost} of the price is lost.", lost=lost)


_GOOD = {
    "keep": _keep_good,
    "partial_repair": _partial_good,
    "rebuild": _rebuild_good,
    ANOTHER: _another_good,
    LET_GO: _let_go_good,
}
_BAD = {
    "keep": _keep_bad,
    "partial_repair": _partial_bad,
    "rebuild": _rebuild_bad,
    ANOTHER: _another_bad,
    LET_GO: _let_go_bad,
}


def on_theme(theme: str, way: str, case: Case) -> str:
    """Return how one way does on one thing that may matter, in a sentence or two."""
    if way not in case.prospects:
        return say("There is no such plan.")
    prospect = case.prospects[way]
    if theme == "cost":
        return price_and_years(way, case)
    if theme == "resale":
        if way == LET_GO:
            return say("You have no piano to sell later.")
        return say("Worth {worth}.", worth=worth_words(prospect.expected_value, case.currency))
    if theme == "playing":
        if way == LET_GO:
            return say("No piano to play.")
        how = keeps_words(case) if way == "keep" else plays_words(prospect.plays)
        return f"{how} {years_words(prospect.years)}"
    gone = way in (ANOTHER, LET_GO)
    if theme == "family":
        return say("It leaves. A small part of it may stay.") if gone else _family(way, case)
    if theme == "looks":
        return _looks(way, case)
    return _waste(way, case)


def _family(way: str, case: Case) -> str:
    if way == "keep":
        return say("It stays, just as it is.")
    levels = case.levels(way)
    kept = len(levels["keep"]) + len(levels["repair"])
    total = kept + len(levels["replace"])
    if kept == total:
        return say("It stays. All its parts are still the old ones.")
    return say("It stays. {kept} of its {total} parts are still the old ones.", kept=kept, total=total)


def _looks(way: str, case: Case) -> str:
    if way == ANOTHER:
        return say("You choose how the other one looks.")
    if way == LET_GO:
        return say("The room is free.")
    return {
        "keep": say("It looks as it does now."),
        "repair": say("The worst marks are touched up."),
        "replace": say("The case gets a new finish."),
    }[case.finish_level(way)]


def _waste(way: str, case: Case) -> str:
    if way == "keep":
        return say("Nothing is thrown away.")
    if way in (ANOTHER, LET_GO):
        if case.found.worth_selling:
            return say("The old piano goes to someone else.")
        return say("Most of the old piano is thrown away.")
    new = len(case.levels(way)["replace"])
    if not new:
        return say("Hardly anything is thrown away.")
    return say_many("{count} old part is thrown away.", "{count} old parts are thrown away.", new)
