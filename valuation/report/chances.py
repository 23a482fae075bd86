"""Chances as a client is told them: counts out of the same 100, the one side and the other."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.prospects import ANOTHER, LET_GO, LOOKS_AHEAD
from valuation.facts.words import WAYS
from valuation.language import say, say_many
from valuation.report.case import Case
from valuation.report.client_words import of_100, way_name, whole_counts

OUT_OF = 100
"""Every chance is told out of so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """One way's count: of 100, so many do, None where that isn't known or isn't asked; and the same in words."""

    way: str
    name: str
    of_100: int | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """One question of chance, asked of every way alike."""

    question: str
    counts: tuple[Count, ...]


def chances(case: Case) -> tuple[Chance, ...]:
    """Return the questions of chance with a count for every way, in the order of the ways."""
    asked = [
        Chance(
            question=say_many(
                "Can you still play it after {count} year?", "Can you still play it after {count} years?", round(years)
            ),
            counts=tuple(_count(way, case, _still_good(way, case, i)) for way in WAYS),
        )
        for i, years in enumerate(LOOKS_AHEAD)
    ]
    surprises = Chance(
        question=say("Will more work turn up once it is open?"),
        counts=tuple(_count(way, case, _surprise(way, case)) for way in WAYS),
    )
    return (*asked, surprises)


def best_counts(case: Case) -> Chance:
    """Return in how many of 100 cases each way comes out best, all counted; they add up to 100."""
    known = [case.prospects[way].best if way in case.prospects else 0.0 for way in WAYS]
    counts = whole_counts(known, OUT_OF)
    return Chance(
        question=say("Which way comes out best, when all is counted?"),
        counts=tuple(
            Count(way=way, name=way_name(way), of_100=n, words=say("in {count} of 100 cases", count=n))
            for way, n in zip(WAYS, counts, strict=True)
        ),
    )


def _count(way: str, case: Case, told: tuple[int | None, str]) -> Count:
    if way not in case.prospects:
        told = (None, say("There is no such plan."))
    return Count(way=way, name=way_name(way), of_100=told[0], words=told[1])


def _still_good(way: str, case: Case, i: int) -> tuple[int | None, str]:
    if way == LET_GO:
        return None, say("There is no piano to play.")
    if way == ANOTHER:
        return None, say("We can't know. Nobody has chosen the other piano yet.")
    return _yes_and_no(case.prospects[way].still_good[i]) if way in case.prospects else (None, "")


def _surprise(way: str, case: Case) -> tuple[int | None, str]:
    if way in ("keep", LET_GO):
        return None, say("It is not opened.")
    if way == ANOTHER:
        return None, say("We can't know. Have the other piano looked at first.")
    return _yes_and_no(case.prospects[way].surprise) if way in case.prospects else (None, "")


def _yes_and_no(share: float) -> tuple[int, str]:
    """Return a count with both sides of it told, so that neither frightens nor soothes."""
    yes = of_100(share)
    if yes in (0, OUT_OF):
        return yes, say("Yes in 100 of 100.") if yes else say("No in 100 of 100.")
    return yes, say("Yes in {yes} of 100. No in the other {no}.", yes=yes, no=OUT_OF - yes)
