"""The steps of the talk: which there are for a piano, in their order, and what each is called."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.language import say

HOW, MATTERS, WAYS, TURNS_UP, UNKNOWN, STAND, COMES_NEXT = (
    "how", "matters", "ways", "turns_up", "unknown", "stand", "comes_next",
)  # fmt: skip

SIX = (HOW, MATTERS, WAYS, TURNS_UP, UNKNOWN, STAND)
"""The steps for a piano that has been evaluated."""

NOT_YET = (HOW, COMES_NEXT)
"""The steps for one that hasn't: what was seen, and what comes next; no ways and no prices."""


def steps_for(found: Appraisal) -> tuple[str, ...]:
    """Return the steps of the talk about a piano, in their order."""
    return SIX if found.ready else NOT_YET


def step_name(step: str) -> str:
    """Return what a step is called: its heading, and its place in the row of steps."""
    return {
        HOW: say("How it is"),
        MATTERS: say("What matters to you"),
        WAYS: say("The ways you have"),
        TURNS_UP: say("What may turn up"),
        UNKNOWN: say("What we don't know"),
        STAND: say("Where you stand"),
        COMES_NEXT: say("What comes next"),
    }[step]
