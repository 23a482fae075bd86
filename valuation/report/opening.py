"""What was not opened or seen, and what may be found: each line priced beforehand, decided when it is seen."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import ACCESSES, HISTORY
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import listed, of_100
from valuation.report.fault_words import seen_words
from valuation.report.format import money
from valuation.report.labels import in_sentence
from valuation.report.ways import WORK

_MOST_SURPRISES = 6
"""So many are told at the table, the dearest to expect first; a quotation has them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprise:
    """One thing that may be found.

    Attributes
    ----------
    part, name : str
        Part, and its name for the client.
    seen : str
        What would be seen.
    done : str
        What is then done, in plain words.
    words : dict of str to str
        By way with work in it: in how many of 100 cases, and what it then adds.
    """

    part: str
    name: str
    seen: str
    done: str
    words: dict[str, str]


def not_seen(case: Case) -> tuple[str, ...]:
    """Return what was not opened, not looked at and could not be seen, in sentences."""
    said = list(not_opened(case))
    unseen = [part.part for part in case.found.parts if not part.looked_at and part.part != HISTORY]
    if unseen:
        said.append(say("Nobody has looked at: {parts}.", parts=listed(case.part_names(unseen))))
    checks = case.book.of_kind("checks", case.visit.piano.kind)
    names = {id_: in_sentence(say(row.name)) for id_, row in checks.items()}
    if case.found.cannot_see:
        hidden = listed([names[check] for check in case.found.cannot_see])
        said.append(say("We looked, but could not see: {things}.", things=hidden))
    if said:
        said.append(say("What we did not see may be good or bad. We do not count it as good."))
    else:
        made = {finding.check for finding in case.visit.findings if not finding.cannot_see}
        said.append(
            say(
                "We made {count} checks, at least one on each part. That is not all that can be looked at: some things "
                "show only with the strings off.",
                count=len(made),
            )
        )
    return tuple(said)


def not_opened(case: Case) -> tuple[str, ...]:
    """Return what was not opened, in sentences."""
    said = {
        "outside": say("We did not play it."),
        "lid": say("We did not open the lid."),
        "bottom": say("We did not look below or behind it."),
        "action": say("We did not take the action out."),
        "keys": say("We did not take the keys off."),
    }
    return tuple(words for place, words in said.items() if place in _places_left_out(case))


def _places_left_out(case: Case) -> set[str]:
    checks = case.book.of_kind("checks", case.visit.piano.kind)
    been = {checks[f.check].access for f in case.visit.findings if f.check in checks and not f.cannot_see}
    return set(ACCESSES) - been


def surprises(case: Case) -> tuple[Surprise, ...]:
    """Return what may be found, the dearest to expect first, for each way with work in it."""
    ways = [way for way in WORK if way in case.prospects]
    lines = [a for way in ways for a in case.planned(way).allowances]
    lines.sort(key=lambda a: -a.expected)
    found: dict[tuple[str, tuple[str, ...]], Surprise] = {}
    for a in lines:
        surprise = found.get((a.operation, a.faults))
        if surprise is None:
            if len(found) == _MOST_SURPRISES:
                continue
            surprise = Surprise(
                part=a.part,
                name=case.part_name(a.part),
                seen=seen_words(a, case.book, case.visit.piano.kind),
                done=say(a.plain),
                words=dict.fromkeys(ways, say("nothing more")),
            )
            found[a.operation, a.faults] = surprise
        amount = money(a.if_needed, case.currency)
        surprise.words[a.option] = say(
            "in {count} of 100 cases, then about {amount} more", count=of_100(a.chance), amount=amount
        )
    return tuple(found.values())
