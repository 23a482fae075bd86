"""What is said at the table about the invented pianos, and the sentences that stand fixed in the code."""

from __future__ import annotations

import ast
from datetime import date
from functools import cache
from pathlib import Path

from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.facts.words import WAYS
from valuation.report.conversation import Conversation, advice, conversation
from valuation.report.talk.as_wanted import AsWanted, as_wanted
from valuation.report.talk.how_it_is import how_it_is
from valuation.report.talk.not_known import not_known
from valuation.report.talk.side_by_side import side_by_side
from valuation.report.talk.turns_up import turns_up
from valuation.report.talk.where_you_stand import to_ask, version_of
from valuation.report.wishes import Wishes, visit_with
from valuation.service import Appraisal, demo_visits, load_shop, read_visit_file, report

ROOT = Path(__file__).resolve().parents[1]
TODAY = date(2026, 12, 31)
DEMOS = tuple(path for _, path in demo_visits())
NAMES = tuple(path.stem for path in DEMOS)

CLIENT_MODULES = (
    *(f"valuation/report/{name}.py" for name in ("case", "chances", "client_words", "conversation", "opening")),
    *(f"valuation/report/{name}.py" for name in ("own_choices", "sides", "version_words", "ways")),
    *(f"valuation/report/talk/{name}.py" for name in ("steps", "how_it_is", "side_by_side", "turns_up", "not_known")),
    *(f"valuation/report/talk/{name}.py" for name in ("where_you_stand", "comes_next")),
    "valuation/screens/pages/client.py",
    *(f"valuation/screens/client/{name}.py" for name in ("place", "drawn", "how_it_is", "matters", "ways", "turns_up")),
    *(f"valuation/screens/client/{name}.py" for name in ("unknown", "stand", "comes_next")),
)
"""Modules whose every sentence is for a client."""


@cache
def studied(
    name: str, to_have: float | None = None, to_hear: float | None = None, pins: tuple[tuple[str, str], ...] = ()
) -> tuple[Study, Answer, Appraisal]:
    """Return the study, answer and appraisal of an invented piano."""
    book = load_shop()
    path = next(path for path in DEMOS if path.stem == name)
    visit = visit_with(read_visit_file(path, book, TODAY), Wishes(to_have=to_have, to_hear=to_hear))
    study = study_of(visit, book, on=visit.on, draws=1024, set_levels=dict(pins))
    answer = decide_at(study)
    return study, answer, report(study, answer)


def talk(name: str, wishes: Wishes = Wishes(), pins: tuple[tuple[str, str], ...] = ()) -> Conversation:  # noqa: B008
    """Return what is said about an invented piano."""
    study, answer, found = studied(name, wishes.to_have, wishes.to_hear, pins)
    return conversation(study, answer, found, wishes)


def figures(name: str) -> tuple[Study, Answer, Appraisal]:
    """Return what an invented piano's conversation is told from."""
    return studied(name)


def said(told: Conversation) -> list[str]:
    """Return every sentence of a conversation."""
    sentences = [*told.first, *told.found, *told.notes.values(), *told.heart, *told.unseen]
    for way in told.ways:
        sentences += [text for row in way.rows.values() for text in row]
        sentences += [side.text for side in (*way.good, *way.bad)]
    for chance in (*told.chances, told.best):
        sentences += [chance.question, *(count.words for count in chance.counts)]
    for surprise in told.surprises:
        sentences += [surprise.seen, surprise.done, *surprise.words.values()]
    for question in told.questions:
        sentences += [f"{answer.plain}" for answer in question.answers]
    of_versions = [text for texts in told.of_versions.values() for text in texts]
    return [*sentences, *of_versions, *told.advice, told.holds, *told.who, *told.ask_others]


def wanted_of(name: str, wishes: Wishes = Wishes()) -> AsWanted:  # noqa: B008
    """Return what all six steps about an invented piano are told from."""
    study, answer, found = studied(name, wishes.to_have, wishes.to_hear)
    return as_wanted(study, answer, found, wishes)


def said_in_steps(name: str, wishes: Wishes = Wishes()) -> list[str]:  # noqa: B008
    """Return every sentence of the six steps about an invented piano that has been evaluated."""
    wanted = wanted_of(name, wishes)
    how, unknown = how_it_is(wanted.case), not_known(wanted.case)
    said = [how.decision, *how.first, *how.rest, how.unseen]
    said += [text for seen in how.seen for text in (seen.text, *seen.more)]
    compared = side_by_side(WAYS, wanted)
    said += [text for row in compared.rows for cell in row.cells for text in cell] + [compared.note]
    for turns in turns_up(WAYS, wanted.case):
        said += [turns.years, turns.opened, turns.more, *(share.words for share in turns.shares)]
        said += [find.seen for find in turns.finds]
    said += [*unknown.unseen, unknown.look, *unknown.sure, *unknown.from_where, *unknown.who]
    for way in WAYS:
        version = version_of(way, wanted)
        said += [version.tax, version.most, *version.jobs, *version.said, *(line.seen for line in version.finds)]
    return [text for text in (*said, *to_ask(), *advice(wanted.case)) if text]


def fixed_sentences(modules: tuple[str, ...]) -> list[str]:
    """Return every text that modules give to `say`, `say_many` or `later`, each once."""
    found: dict[str, None] = {}
    for module in modules:
        for node in ast.walk(ast.parse((ROOT / module).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("say", "say_many", "later"):
                for argument in node.args[: 2 if node.func.id == "say_many" else 1]:
                    if isinstance(argument, ast.Constant):
                        found[argument.value] = None
    return list(found)
