"""Step 1, how it is: what was found on which part, the worst first, one sentence each, and how the rest stands."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.appraised_condition import PartResult
from valuation.engine.rows import HISTORY, SEVERITIES, STATES
from valuation.language import say
from valuation.report.case import WHOLE, Case
from valuation.report.client_words import listed
from valuation.report.fault_words import BAD, fault_sentence, recorded_bad
from valuation.report.labels import with_capital

SHOWN = 6
"""So many parts are numbered and told at once; the others one tap later."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One part on which something was found.

    Attributes
    ----------
    number : int
        Stands on the drawing, and beside the sentence and the photos.
    text : str
        The worst that was found on it, in one sentence.
    more : tuple of str
        What else was found on it.
    checks : tuple of str
        Checks that showed it; their photos stand beside the sentence.
    """

    number: int
    part: str
    name: str
    text: str
    more: tuple[str, ...]
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HowItIs:
    """What is told in step 1.

    Attributes
    ----------
    decision : str
        The question that the family has to answer, or that it can't be asked yet.
    first : tuple of str
        What must not be done, and what is told before all else.
    seen : tuple of Seen
        The worst first.
    rest : tuple of str
        How the other parts stand, in a sentence each.
    unseen : str
        Parts that nobody has looked at; empty where there are none.
    states : dict of str to str
        Of each part its state for the drawing; empty where nobody has looked at it.
    glossary : tuple of (str, str)
        Part, and what it is.
    """

    decision: str
    first: tuple[str, ...]
    seen: tuple[Seen, ...]
    rest: tuple[str, ...]
    unseen: str
    states: dict[str, str]
    names: dict[str, str]
    glossary: tuple[tuple[str, str], ...]


def how_it_is(case: Case) -> HowItIs:
    """Return what is told in step 1; a part with a fault is never told to be in good order."""
    parts = [part for part in case.found.parts if part.part != HISTORY]
    looked = [part for part in parts if part.looked_at]
    seen = _seen(looked, case)
    told = {item.part for item in seen} | {WHOLE}
    rest = [part for part in looked if part.part not in told]
    unseen = case.part_names([part.part for part in parts if not part.looked_at and part.part != WHOLE])
    return HowItIs(
        decision=say("The question is what shall become of this piano. You need not decide today.")
        if case.found.ready
        else say("This piano is not evaluated yet. Today we tell you only what we saw."),
        first=case.first(),
        seen=seen,
        rest=tuple(
            text
            for text in (
                _in_state(("sound",), rest, say("In good order"), case),
                _in_state(("serviceable",), rest, say("Old, but still good enough"), case),
                _in_state(("worn", "failed"), rest, say("Worn, as in most pianos of this age"), case),
            )
            if text
        ),
        unseen=say("Nobody has looked at: {parts}.", parts=listed(unseen)) if unseen else "",
        states={part.part: part.state if part.looked_at else "" for part in parts},
        names={part.part: case.part_name(part.part) for part in parts},
        glossary=tuple((case.part_name(part), say(row.what)) for part, row in case.parts.items() if row.what),
    )


def _seen(looked: list[PartResult], case: Case) -> tuple[Seen, ...]:
    wrong = []
    for part in looked:
        faults = [fault for fault in part.faults if fault.checks and fault.severity in BAD]
        faults.sort(key=lambda fault: (-STATES.index(fault.makes), -SEVERITIES.index(fault.severity)))
        if faults:
            worst = (STATES.index(faults[0].makes), SEVERITIES.index(faults[0].severity))
            sentences = tuple(dict.fromkeys(fault_sentence(fault) for fault in faults))
            checks = tuple(dict.fromkeys(check for fault in faults for check in fault.checks))
            wrong.append((worst, part.part, sentences, checks))
        elif recorded_bad(part):
            bad = tuple(finding.check for finding in part.findings if finding.grade in BAD)
            unclear = say("What we found here does not fit together. It has to be looked at again.")
            wrong.append(((0, 0), part.part, (unclear,), bad))
    wrong.sort(key=lambda item: item[0], reverse=True)
    return tuple(
        Seen(
            number=number,
            part=part,
            name=with_capital(case.part_name(part)),
            text=sentences[0],
            more=sentences[1:],
            checks=checks,
        )
        for number, (_, part, sentences, checks) in enumerate(wrong, 1)
    )


def _in_state(states: tuple[str, ...], rest: list[PartResult], head: str, case: Case) -> str:
    here = case.part_names([part.part for part in rest if part.state in states])
    return say("{state}: {parts}.", state=head, parts=listed(here)) if here else ""
