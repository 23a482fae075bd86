"""Who works at the bench, as the shop has said: a setting of the store."""

from __future__ import annotations

import json
from collections.abc import Sequence

from valuation.errors import Problem, VisitError
from valuation.facts import setting_fault
from valuation.jobs.people import Person, people_value, read_people
from valuation.service import DEMO
from valuation.service.outcomes import only_invented
from valuation.service.visits import Shop

_DEMO_CREW = DEMO.parent / "jobs" / "crew.json"
"""Who works at the bench of the invented workshop."""

PEOPLE = "shop.people"
"""Setting of the store: who works at the bench; see `valuation.jobs.people`."""


def own_people(shop: Shop) -> tuple[Person, ...]:
    """Return who works at the bench, as the shop has said; nobody where it hasn't."""
    return read_people(shop.setting(PEOPLE))


def people_of(shop: Shop) -> tuple[Person, ...]:
    """Return who works at the bench: the shop's own people; the demo's where all that goes on is the demo's."""
    own = own_people(shop)
    return own if own or not only_invented(shop) else read_people(json.loads(_DEMO_CREW.read_text(encoding="utf-8")))


def keep_people(shop: Shop, people: Sequence[Person]) -> None:
    """Keep who works at the bench.

    Raises
    ------
    VisitError
        If a name stands twice, a leave ends before it begins, or a figure can't be; nothing is kept then.
    """
    value = people_value(people)
    faults = [setting_fault(PEOPLE, value)] if setting_fault(PEOPLE, value) else []
    names = [one.name for one in people]
    faults += [
        f"{name} stands twice; write each name once" for name in sorted({n for n in names if names.count(n) > 1})
    ]
    faults += [
        f"{one.name}: a leave ends on {last}, before it begins on {first}"
        for one in people
        for first, last in one.leave
        if last < first
    ]
    if faults:
        raise VisitError([Problem("people", 0, "", fault) for fault in faults])
    shop.set_setting(PEOPLE, value)
