"""Good and bad sides of each way, as many of one as of the other.

A side is told where it is true of this piano. The list of a way is in order of weight; the last ones hold always, so
that every way has as many sides as every other.
"""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.prospects import ANOTHER, LET_GO
from valuation.language import say, say_many
from valuation.report.case import PLAYS_WELL, PLAYS_WITH_FAULTS, Case
from valuation.report.format import honest, money
from valuation.report.ways import keeps_words

SIDES = 3
"""So many good sides and so many bad ones are told of every way."""

_WORTH_SAYING = 0.02
"""A smaller chance is no bad side [-]."""

_WORTH_SELLING = 1000.0
"""A piano below this is not told to have gained by the work [money]."""


@dataclass(frozen=True, slots=True)
class Side:
    """One good or bad side in a sentence, and what it touches: one of `valuation.report.wishes.THEMES`, or nothing."""

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
    return tuple(sorted(true, key=lambda side: -case.wishes.matters(side.theme) if side.theme else 0))


def _keep_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect = case.prospects["keep"]
    least = min(case.price_of(way) for way in case.prospects if way not in (ANOTHER, LET_GO))
    return [
        (prospect.plays >= PLAYS_WELL, "playing", say("It plays well now.")),
        (True, "family", say("It stays with you, just as you know it.")),
        (case.price_of("keep") <= least, "cost", say("No other way to keep it costs less.")),
        (case.price_of("keep") > least, "cost", say("It costs little now.")),
        (True, "", say("Nothing is thrown away.")),
    ]


def _keep_bad(case: Case) -> list[tuple[bool, str, str]]:
    return [
        (case.prospects["keep"].plays < PLAYS_WITH_FAULTS, "playing", keeps_words(case)),
        (True, "cost", say("Wear goes on. A later repair may cost more.")),
        (True, "cost", say("It gains no value.")),
        (True, "room", say("Marks and worn places stay.")),
    ]


def _partial_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect, before = case.prospects["partial_repair"], case.prospects["keep"]
    less = case.price_of("rebuild") - case.price_of("partial_repair") if "rebuild" in case.prospects else 0.0
    levels = case.levels("partial_repair")
    treated, kept = len(levels["replace"]) + len(levels["repair"]), len(levels["keep"])
    return [
        (prospect.plays > before.plays + 0.05, "playing", say("The worst faults are put right.")),
        (
            honest(less) > 0,
            "cost",
            say("It costs about {less} less than to rebuild it.", less=money(less, case.currency)),
        ),
        (kept >= treated, "family", say("Most of it stays as you know it.")),
        (True, "hearing", say("You hear this very piano again.")),
        (True, "", say("The old piano stays in use.")),
        (True, "room", say("It still looks like itself.")),
    ]


def _partial_bad(case: Case) -> list[tuple[bool, str, str]]:
    way = "partial_repair"
    prospect = case.prospects[way]
    return [
        (prospect.plays < PLAYS_WITH_FAULTS, "playing", say("Even then it is not good to play.")),
        (True, "playing", say("Old parts stay in it. One of them may fail next.")),
        (honest(_lost(way, case)) > 0, "cost", _lost_words(way, case)),
        (prospect.surprise >= _WORTH_SAYING, "cost", say("It may cost more once it is open.")),
        (case.finish_level(way) == "keep", "room", say("Marks on the case stay.")),
        (True, "cost", say("A bigger repair may still come later.")),
    ]


def _rebuild_good(case: Case) -> list[tuple[bool, str, str]]:
    prospect, before = case.prospects["rebuild"], case.prospects["keep"]
    better = prospect.plays > before.plays + 0.05
    dearer = prospect.expected_value - before.expected_value
    return [
        (prospect.plays >= PLAYS_WELL and better, "playing", say("It plays like a good piano again.")),
        (prospect.plays < PLAYS_WELL and better, "playing", say("It plays better than now.")),
        (True, "family", say("Your piano goes on, for you or for those after you.")),
        (
            honest(dearer) > 0 and prospect.expected_value >= _WORTH_SELLING,
            "cost",
            say("It is worth more than it is now."),
        ),
        (True, "hearing", say("You hear this very piano again.")),
        (True, "", say("The frame, the case and much else stay in use.")),
    ]


def _rebuild_bad(case: Case) -> list[tuple[bool, str, str]]:
    way = "rebuild"
    prospect, weeks = case.prospects[way], case.weeks_away(way)
    dearest = all(case.price_of(way) >= case.price_of(other) for other in case.prospects)
    return [
        (prospect.plays < PLAYS_WITH_FAULTS, "playing", say("Even then it is not good to play.")),
        (dearest, "cost", say("No other way costs more.")),
        (not dearest, "cost", say("It costs a lot.")),
        (honest(_lost(way, case)) > 0, "cost", _lost_words(way, case)),
        (True, "hearing", say("Many parts are new. It will not sound quite as you know it.")),
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
    plays = case.prospects[ANOTHER].plays
    return [
        (plays >= PLAYS_WELL, "playing", say("It plays well from the first day.")),
        (plays < PLAYS_WELL, "playing", say("You can play it from the first day.")),
        (True, "cost", say("You know the price before you buy.")),
        (True, "cost", say("It can be sold again later.")),
    ]


def _another_bad(case: Case) -> list[tuple[bool, str, str]]:
    return [
        (True, "family", say("It is not your piano. Yours leaves the house.")),
        (True, "cost", say("You pay it all at once.")),
        _parted_with(case),
    ]


def _let_go_good(case: Case) -> list[tuple[bool, str, str]]:
    proceeds = case.proceeds
    gets, costs = honest(proceeds.low) >= 0, honest(proceeds.high) <= 0
    amount = money(abs(proceeds.likely), case.currency)
    most = money(-proceeds.low, case.currency)
    return [
        (gets, "cost", say("It brings in about {amount}.", amount=amount)),
        (costs and not gets, "cost", say("It costs about {amount}, once.", amount=amount)),
        (not gets and not costs, "cost", say("At worst it costs about {amount}, once.", amount=most)),
        (True, "cost", say("No more tuning and repairs to pay.")),
        (True, "room", say("The room is free.")),
    ]


def _let_go_bad(case: Case) -> list[tuple[bool, str, str]]:
    return [
        (True, "family", say("It leaves your house.")),
        (True, "playing", say("There is no piano to play.")),
        _parted_with(case),
    ]


def _parted_with(case: Case) -> tuple[bool, str, str]:
    if case.found.worth_selling:
        return True, "family", say("What becomes of the old one is out of your hands.")
    return True, "", say("Most of the old piano is thrown away.")


def _lost(way: str, case: Case) -> float:
    """Return how much of the price of the work doesn't come back if the piano is sold then."""
    prospect, before = case.prospects[way], case.prospects["keep"]
    return case.price_of(way) - (prospect.expected_value - before.expected_value)


def _lost_words(way: str, case: Case) -> str:
    lost = money(_lost(way, case), case.currency)
    return say("Sold then, about {lost} of the price is lost.", lost=lost)


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
