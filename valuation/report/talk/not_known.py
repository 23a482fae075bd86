"""Step 5, what we don't know: what nobody saw, how sure the figures are and where they come from, who says this."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from valuation.engine.rows import HISTORY
from valuation.language import say, say_many
from valuation.report.case import Case
from valuation.report.client_words import listed
from valuation.report.evaluation_piano import checks_of
from valuation.report.labels import day_words
from valuation.report.opening import not_opened

_MOST_LOOKS = 3
"""So many parts are named at which one more look would tell most."""

_JUDGED = ("from memory", "common practice", "shop's own estimate")
"""Kinds of source behind which stands somebody's judgement, not a count."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NotKnown:
    """What is told in step 5, each a few sentences.

    Attributes
    ----------
    unseen : tuple of str
        What was not opened, looked at or seen.
    look : str
        What one more look would tell most about; empty where none is worth it.
    sure : tuple of str
        How sure the figures are, the weakest first.
    from_where : tuple of str
        Where they come from, of which day, until when they hold.
    who : tuple of str
        Who says this, and what they gain by it.
    """

    unseen: tuple[str, ...]
    look: str
    sure: tuple[str, ...]
    from_where: tuple[str, ...]
    who: tuple[str, ...]


def not_known(case: Case) -> NotKnown:
    """Return what is told in step 5."""
    return NotKnown(
        unseen=_unseen(case), look=_look(case), sure=_sure(case), from_where=_from_where(case), who=_who(case)
    )


def _unseen(case: Case) -> tuple[str, ...]:
    checks = checks_of(case.visit, case.book)
    made = {finding.check for finding in case.visit.findings if not finding.cannot_see}
    count = sum(check.id in made for check in checks)
    said = [
        say("We made {count} of the {all} checks that can be made.", count=count, all=len(checks)),
        *not_opened(case),
    ]
    unseen = [part.part for part in case.found.parts if not part.looked_at and part.part != HISTORY]
    if unseen:
        said.append(say("Nobody has looked at: {parts}.", parts=listed(case.part_names(unseen))))
    if hidden := len(case.found.cannot_see):
        said.append(
            say_many(
                "At {count} place we looked, but could not see.", "At {count} places we looked, but could not see.",
                hidden,
            )
        )  # fmt: skip
    said.append(say("What nobody has seen may be good or bad. We never count it as good."))
    if case.found.conflicts:
        said.append(say("Some of what we found does not fit together, and should be looked at again."))
    return tuple(said)


def _look(case: Case) -> str:
    if case.found.stop_looking or not case.found.next_checks:
        return ""
    parts = dict.fromkeys(check.part for check in case.found.next_checks)
    names = case.part_names(parts)[:_MOST_LOOKS]
    return say("Before you decide, one more look would tell most at: {parts}.", parts=listed(names)) if names else ""


def _sure(case: Case) -> tuple[str, ...]:
    kinds = {row.id: row.kind for row in case.book.sources}
    said = []
    if any(kinds[row.source] in _JUDGED for row in case.book.fault_odds):
        said.append(say("The counts of a hundred are our judgement from experience. Nobody has counted such pianos."))
    else:
        said.append(say("The counts of a hundred rest on pianos that were counted."))
    said.append(say("How many good years there are is what we know least. That is why we give a wide range."))
    sources = {row.source for row in case.book.bands} | {row.source for row in case.book.replacements}
    if any(kinds[source] == "invented" for source in sources):
        said.append(say("Some prices here are made up, to show how it works. They are nobody's offer."))
    elif case.found.price_basis == "band table":
        said.append(say("What pianos fetch is our own list. No sale stands behind each figure."))
    else:
        said.append(say("What pianos fetch comes from our own list and from sales we know of."))
    return tuple(said)


def _from_where(case: Case) -> tuple[str, ...]:
    on = day_words(case.visit.on)
    until = day_words(case.visit.on + timedelta(days=case.book.settings.quote_days))
    return (
        say("We looked at it on {day}. Prices are of that day.", day=on),
        say("The figures hold until {day}. Then we look at them again, or sooner if you ask.", day=until),
        say("The written evaluation names the source of every figure."),
    )


def _who(case: Case) -> tuple[str, ...]:
    name = case.visit.technician.strip()
    return (
        say("{name} looked at it.", name=name) if name else say("Nobody has put a name to this yet."),
        say("The workshop made this and pays for it. It also sells the work told of here."),
        say("A worth told here is no certified value. For tax, insurance or court you need a licensed appraiser."),
        say("Moving, spraying and disposal are for people who may do so where you live."),
    )
