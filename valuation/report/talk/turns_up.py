"""Step 4, what may turn up: counts out of the same hundred pianos, for each way alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from valuation.engine.appraised_work import Allowance
from valuation.engine.prospects import ANOTHER, LET_GO, LOOKS_AHEAD
from valuation.language import say, say_many
from valuation.report.case import Case
from valuation.report.chances import OUT_OF
from valuation.report.client_words import of_100, way_name
from valuation.report.fault_words import plain_faults
from valuation.report.format import money
from valuation.report.labels import with_capital
from valuation.report.ways import WORK

LASTS, GIVES_OUT, GONE = "lasts", "gives_out", "gone"
"""What becomes of one of a hundred pianos: plays on after both looks ahead, after the first only, after neither."""

_MOST_FINDS = 3
"""So many are told at once for one way, the dearest to expect first; a quotation has them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """So many of the hundred, what becomes of them, and that in words."""

    fate: str
    count: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Find:
    """One thing that may turn up once the piano is open: in how many of a hundred, and what it then costs."""

    count: int
    seen: str
    price: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """What may turn up on one way.

    Attributes
    ----------
    shares : tuple of Share
        A hundred such pianos by what becomes of them; empty where there is none to play or no such way.
    years : str
        What is told of them instead, or beside it.
    opened : str
        In how many of a hundred more work turns up, or why none can.
    more : str
        That there are more, and where they stand; empty where all are told.
    """

    way: str
    name: str
    shares: tuple[Share, ...]
    years: str
    opened: str
    finds: tuple[Find, ...]
    more: str


def turns_up(ways: Sequence[str], case: Case) -> tuple[Turns, ...]:
    """Return what may turn up on each of some ways."""
    return tuple(_turns(way, case) for way in ways)


def _turns(way: str, case: Case) -> Turns:
    name = way_name(way)
    if way not in case.prospects:
        return Turns(
            way=way, name=name, shares=(), years=say("This way is not open."), opened="", finds=(), more="",
        )  # fmt: skip
    finds = _finds(way, case)
    return Turns(
        way=way,
        name=name,
        shares=() if way in (ANOTHER, LET_GO) else _shares(way, case),
        years=_instead(way, case),
        opened=_opened(way, case),
        finds=finds[:_MOST_FINDS],
        more=say_many(
            "And {count} more, less likely or smaller. A quotation names it.",
            "And {count} more, less likely or smaller. A quotation names them all.",
            len(finds) - _MOST_FINDS,
        )
        if len(finds) > _MOST_FINDS
        else "",
    )


def _instead(way: str, case: Case) -> str:
    """Return what is told where there are no hundred pianos to count."""
    if way == LET_GO:
        return say("There is no piano to play.")
    if way == ANOTHER:
        return say_many(
            "A piano that nobody has chosen yet can't be counted. We reckon with about {count} good year.",
            "A piano that nobody has chosen yet can't be counted. We reckon with about {count} good years.",
            round(case.prospects[way].years.likely),
        )
    return ""


def _shares(way: str, case: Case) -> tuple[Share, ...]:
    first, last = (of_100(share) for share in case.prospects[way].still_good)
    soon, later_on = (round(years) for years in LOOKS_AHEAD)
    told = (
        (
            LASTS,
            last,
            say_many("{count} still plays after {years} years", "{count} still play after {years} years", last,
                     years=later_on),
        ),
        (
            GIVES_OUT,
            first - last,
            say_many("{count} gives out between year {first} and year {last}",
                     "{count} give out between year {first} and year {last}", first - last, first=soon, last=later_on),
        ),
        (GONE, OUT_OF - first, _gone(way, OUT_OF - first, soon)),
    )  # fmt: skip
    return tuple(Share(fate=fate, count=count, words=words) for fate, count, words in told)


def _gone(way: str, count: int, years: int) -> str:
    if way == "keep":
        return say_many(
            "{count} can hardly be played now, or gives out within {years} years",
            "{count} can hardly be played now, or give out within {years} years", count, years=years,
        )  # fmt: skip
    return say_many("{count} gives out within {years} years", "{count} give out within {years} years", count,
                    years=years)  # fmt: skip


def _opened(way: str, case: Case) -> str:
    if way in ("keep", LET_GO):
        return say("Nothing is opened, so nothing turns up.")
    if way == ANOTHER:
        return say("It may have faults of its own. Have it looked at before you buy.")
    count = of_100(case.prospects[way].surprise)
    if not count:
        return say("We expect nothing more once it is open. If there is, we stop and ask you.")
    return say("Once it is open, more work turns up in {count} of 100. Then we stop and ask you.", count=count)


def seen_words_of(line: Allowance, case: Case) -> str:
    """Return what would be seen, by its likeliest fault; that it may be another one too."""
    if not line.faults:  # other work opens the part, and what it then needs is seen only there
        return say("{part}: it shows only once it is open.", part=with_capital(case.part_name(line.part)))
    first = plain_faults(case.book, case.visit.piano.kind)[line.faults[0]]
    return first if len(line.faults) == 1 else say("{fault} Or something like it.", fault=first)


def _finds(way: str, case: Case) -> tuple[Find, ...]:
    if way not in WORK:
        return ()
    lines = sorted(case.planned(way).allowances, key=lambda line: -line.expected)
    return tuple(
        Find(
            count=of_100(line.chance),
            seen=seen_words_of(line, case),
            price=say("about {amount} more", amount=money(line.if_needed, case.currency)),
        )
        for line in lines
    )
