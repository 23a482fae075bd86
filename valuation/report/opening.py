"""What was not opened or seen, and what opening may bring: named choices, priced beforehand, decided then."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import ACCESSES, HISTORY, TREATMENTS, Level, OperationRow
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import listed, of_100
from valuation.report.format import money
from valuation.report.labels import in_sentence
from valuation.report.ways import WORK

_WORTH_NAMING = 1.0
"""Allowances that hold less are not named [money]."""


@dataclass(frozen=True, slots=True)
class Named:
    """One thing that may be done instead, should opening show the need: what it means, and what it adds, by way.

    Attributes
    ----------
    operation, plain : str
    adds : dict of str to float
        By way with work in it: what it adds to the price; a way that needn't choose is left out.
    words : dict of str to str
        The same in words, for every way with work in it.
    """

    operation: str
    plain: str
    adds: dict[str, float]
    words: dict[str, str]


@dataclass(frozen=True, slots=True)
class Opening:
    """What opening may show of one part, on each way with work in it, with the choices there are then."""

    part: str
    name: str
    words: dict[str, str]
    choices: tuple[Named, ...]


@dataclass(frozen=True, slots=True)
class Surprise:
    """What opening may add on one part, in words for every way with work in it."""

    name: str
    words: dict[str, str]


def not_seen(case: Case) -> tuple[str, ...]:
    """Return what was not opened, not looked at and could not be seen, in sentences."""
    said = [words for place, words in _not_opened().items() if place in _places_left_out(case)]
    unseen = [part.part for part in case.found.parts if not part.looked_at and part.part != HISTORY]
    if unseen:
        said.append(say("Nobody has looked at: {parts}.", parts=listed(case.part_names(unseen))))
    names = {row.id: in_sentence(say(row.name)) for row in case.book.checks}
    if case.found.cannot_see:
        hidden = listed([names[check] for check in case.found.cannot_see])
        said.append(say("We looked, but could not see: {things}.", things=hidden))
    if said:
        said.append(say("What we did not see may be good or bad. We do not count it as good."))
    else:
        said.append(say("We looked at every part. Some things show only with the strings off."))
    return tuple(said)


def _not_opened() -> dict[str, str]:
    return {
        "playing": say("We did not play it."),
        "opened": say("We did not open the case."),
        "action_out": say("We did not take the action out."),
        "below": say("We did not look below or behind it."),
    }


def _places_left_out(case: Case) -> set[str]:
    checks = case.book.of_kind("checks", case.visit.piano.kind)
    been = {checks[f.check].place for f in case.visit.findings if f.check in checks and not f.cannot_see}
    return set(ACCESSES) - been


def openings(case: Case) -> tuple[Opening, ...]:
    """Return what opening may show of the parts whose state only teardown tells, for each way with work in it."""
    ways = [way for way in WORK if way in case.prospects]
    found = []
    for part in (row.id for row in case.parts.values() if row.at_teardown):
        open_on = [way for way in ways if case.option(way).plan[part] != Level.REPLACE.word]
        if not open_on or _known_to_be_bad(part, case):
            continue
        choices = _named(part, open_on, case)
        if choices:
            words = {way: _what_may_show(way, part, case) if way in open_on else _new_anyway() for way in ways}
            found.append(Opening(part, case.part_name(part), words, choices))
    return tuple(found)


def _known_to_be_bad(part: str, case: Case) -> bool:
    """Tell whether a part was seen to be bad already: then its price is no surprise, and stands with the plan."""
    states = next(row.states for row in case.found.parts if row.part == part)
    return case.looked_at(part) and states[2] + states[3] > 0.5


def _new_anyway() -> str:
    return say("A new one is in the price.")


def _what_may_show(way: str, part: str, case: Case) -> str:
    states = next(row.states for row in case.found.parts if row.part == part)
    if case.option(way).plan[part] == Level.KEEP.word:
        return say("Left as it is. In {count} of 100 cases it needs work.", count=of_100(states[2] + states[3]))
    allowance = next((a for a in case.found.allowances if (a.option, a.part) == (way, part)), None)
    if allowance is None:
        return say("Mended. We expect that to be enough.")
    return say("Mended. In {count} of 100 cases that is not enough.", count=of_100(allowance.chance))


def _named(part: str, ways: list[str], case: Case) -> tuple[Named, ...]:
    found = []
    for row in case.operations.values():
        if row.part != part or row.level not in TREATMENTS:
            continue
        adds = {way: more for way in ways if (more := _more(way, row, case)) > 0}
        if adds:
            words = {
                way: say("about {amount} more", amount=money(adds[way], case.currency))
                if way in adds
                else say("not needed")
                for way in WORK
                if way in case.prospects
            }
            found.append(Named(row.id, say(row.plain), adds, words))
    return tuple(sorted(found, key=lambda named: max(named.adds.values())))


def _more(way: str, row: OperationRow, case: Case) -> float:
    """Return what a treatment beyond the plan's would add; 0 where it is none."""
    option = case.option(way)
    planned = option.plan[row.part]
    if planned in TREATMENTS and TREATMENTS.index(row.level) < TREATMENTS.index(planned):
        return 0.0
    if option.treatments.get(row.part) == row.id:
        return 0.0
    return case.adds(way, row.id) or 0.0


def other_surprises(case: Case) -> tuple[Surprise, ...]:
    """Return what opening may add on the other parts, the heaviest first, for each way with work in it."""
    at_teardown = {row.id for row in case.parts.values() if row.at_teardown}
    held = [a for a in case.found.allowances if a.part not in at_teardown and a.expected >= _WORTH_NAMING]
    parts = dict.fromkeys(a.part for a in sorted(held, key=lambda a: -a.expected))
    ways = [way for way in WORK if way in case.prospects]
    found = []
    for part in parts:
        words = dict.fromkeys(ways, say("nothing more"))
        for a in held:
            if a.part == part:
                amount = money(a.if_needed, case.currency)
                words[a.option] = say(
                    "in {count} of 100 cases, then about {amount} more", count=of_100(a.chance), amount=amount
                )
        found.append(Surprise(case.part_name(part), words))
    return tuple(found)
