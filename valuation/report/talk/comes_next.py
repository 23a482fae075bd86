"""What comes next, for a piano that is not evaluated yet: what has to be looked at first; no way and no price."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.language import say, say_many
from valuation.report.case import Case
from valuation.report.client_words import listed
from valuation.report.labels import with_capital


@dataclass(frozen=True, slots=True, kw_only=True)
class ComesNext:
    """What is told: why there is nothing to choose yet, what has to be looked at, and what comes then."""

    why: tuple[str, ...]
    looks: tuple[str, ...]
    after: tuple[str, ...]


def comes_next(case: Case) -> ComesNext:
    """Return what comes next."""
    found, what = case.found, dict(_meanings(case))
    looks = tuple(
        f"{with_capital(case.part_name(part))}: {what[part]}." if what.get(part) else case.part_name(part)
        for part in found.open_gates
        if part in case.parts
    )
    after = [say("Then we sit down with you again, with the ways you have and their prices.")]
    if found.locked:
        locked = listed(case.part_names(found.locked))
        after.insert(0, say("For this we first have to open something: {parts}.", parts=locked))
    return ComesNext(
        why=(
            say("We have not seen enough yet to tell you what can be done, or what it would cost."),
            say("A guess would do you no good. If one of these parts has failed, all else changes."),
        ),
        looks=looks,
        after=(
            say_many(
                "It takes about {count} minute.", "It takes about {count} minutes.", max(1, round(found.must_minutes))
            ),
            *after,
        ),
    )


def _meanings(case: Case) -> list[tuple[str, str]]:
    return [(part, say(row.what)) for part, row in case.parts.items()]
