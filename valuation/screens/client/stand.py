"""Step 6, where you stand: where the client leans, what they still want to ask, and what we would do if they ask."""

from __future__ import annotations

from valuation.facts.words import WAYS
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import way_name
from valuation.report.wishes import FIELD
from valuation.screens import kit
from valuation.screens.state import Draft
from valuation.screens.wishes import wish, wishes_of


def show(draft: Draft, case: Case) -> None:
    """Draw the step."""
    wishes = wishes_of(draft)
    kit.choice(
        draft.catching, _key(draft, "leaning"), say("Today we lean to"), {way: way_name(way) for way in WAYS},
        wishes.leaning or None, _take, draft, "leaning",
    )  # fmt: skip
    kit.field(
        draft.catching, _key(draft, "questions"), say("What you still want to ask, or to talk over at home"),
        wishes.questions, _take, draft, "questions",
    )  # fmt: skip


def _key(draft: Draft, name: str) -> str:
    return draft.field_key(f"wish_{name}", f"{FIELD}{name}")


def _take(said: object, draft: Draft, name: str) -> None:
    wish(draft, name, said if said is not None else None)
