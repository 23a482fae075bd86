"""What was not opened or seen, and what opening may bring: named choices, priced beforehand, decided then."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.core.rows import HISTORY, PLACES, TREATMENTS, Level
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import listed, of_100, way_name
from valuation.report.format import money
from valuation.report.labels import in_sentence
from valuation.report.ways import WORK

_WORTH_NAMING = 1.0
"""Allowances that hold less are not named [money]."""


@dataclass(frozen=True, slots=True)
class Named:
    """One thing that may be done instead, should opening show the need: its name, what it means, what it adds."""

    operation: str
    name: str
    plain: str
    adds: float
    words: str


@dataclass(frozen=True, slots=True)
class Opening:
    """What opening may show of one part on one way, with the choices there are then."""

    way: str
    part: str
    words: str
    choices: tuple[Named, ...]


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
    return set(PLACES) - been


def openings(case: Case) -> tuple[Opening, ...]:
    """Return what opening may show of the parts whose state only teardown tells, for each way with work in it."""
    found = []
    for way in WORK:
        if way not in case.prospects:
            continue
        plan = case.option(way).plan
        treated = case.option(way).treatments
        for part in (row for row in case.parts.values() if row.at_teardown):
            if plan[part.id] == Level.REPLACE.word or _known_to_be_bad(part.id, case):
                continue
            choices = _named(way, part.id, plan[part.id], treated.get(part.id, ""), case)
            if choices:
                found.append(Opening(way, part.id, _what_may_show(way, part.id, plan[part.id], case), choices))
    return tuple(found)


def _known_to_be_bad(part: str, case: Case) -> bool:
    """Tell whether a part was seen to be bad already: then its price is no surprise, and stands with the plan."""
    states = next(row.states for row in case.found.parts if row.part == part)
    return case.looked_at(part) and states[2] + states[3] > 0.5


def _what_may_show(way: str, part: str, level: str, case: Case) -> str:
    states = next(row.states for row in case.found.parts if row.part == part)
    allowance = next((a for a in case.found.allowances if (a.option, a.part) == (way, part)), None)
    names = {"part": case.part_name(part), "way": way_name(way)}
    if level == Level.KEEP.word:
        count = of_100(states[2] + states[3])
        text = say(
            "{way}: the {part} would be left as it is. In {count} of 100 cases it needs work.", count=count, **names
        )
    elif allowance is not None:
        count = of_100(allowance.chance)
        text = say(
            "{way}: the {part} would be mended. In {count} of 100 cases that is not enough.", count=count, **names
        )
    else:
        text = say("{way}: the {part} would be mended. We expect that to be enough.", **names)
    return text


def _named(way: str, part: str, level: str, done: str, case: Case) -> tuple[Named, ...]:
    least = TREATMENTS.index(level) if level in TREATMENTS else 0
    found = []
    for row in case.operations.values():
        if row.part != part or row.level not in TREATMENTS[least:] or row.id == done:
            continue
        more = case.adds(way, row.id)
        if more is not None and more > 0:
            words = say("about {amount} more", amount=money(more, case.currency))
            found.append(Named(row.id, say(row.name), say(row.plain), more, words))
    return tuple(sorted(found, key=lambda named: named.adds))


def other_surprises(case: Case) -> tuple[str, ...]:
    """Return what opening may add on the other parts, the heaviest first, for each way with work in it."""
    at_teardown = {row.id for row in case.parts.values() if row.at_teardown}
    held = [a for a in case.found.allowances if a.part not in at_teardown and a.expected >= _WORTH_NAMING]
    return tuple(
        say(
            "{way}: in {count} of 100 cases there is more to do here: {part}. Then it costs about {amount} more.",
            way=way_name(a.option),
            count=of_100(a.chance),
            part=case.part_name(a.part),
            amount=money(a.if_needed, case.currency),
        )
        for a in sorted(held, key=lambda a: -a.expected)
    )
