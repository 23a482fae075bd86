"""Choices that are the client's alone: finish, lettering, key tops, metal, what stays original; and what each costs."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import QUESTIONS, ChoiceRow
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import listed, question_name, way_name
from valuation.report.format import honest, money
from valuation.report.ways import WORK

PRICED = ("keep", *WORK)
"""Ways on which the piano stays, so that its looks can be chosen."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to a question: its words, and by way what it does to the price, in words."""

    choice: str
    name: str
    plain: str
    costs: dict[str, str]


@dataclass(frozen=True, slots=True)
class Question:
    """One of the client's own questions, its answers, and which was chosen; empty where none was."""

    question: str
    name: str
    answers: tuple[Answer, ...]
    chosen: str

    @property
    def alike(self) -> bool:
        """Whether each answer costs the same on every way, so that one word for it is enough."""
        return all(len(set(answer.costs.values())) == 1 for answer in self.answers)

    @property
    def answer(self) -> Answer | None:
        """The answer that was chosen, None where none was, or it is no longer offered."""
        return next((answer for answer in self.answers if answer.choice == self.chosen), None)


def questions(case: Case) -> tuple[Question, ...]:
    """Return the client's own questions, each with the answers that this piano allows; all are always asked."""
    rows = [row for row in case.book.choices if not row.feature or row.feature in case.visit.piano.features]
    return tuple(
        Question(
            question=question,
            name=question_name(question),
            answers=tuple(_answer(row, rows, case) for row in rows if row.question == question),
            chosen=case.wishes.chosen(question),
        )
        for question in QUESTIONS
    )


def _answer(row: ChoiceRow, rows: list[ChoiceRow], case: Case) -> Answer:
    costs = {way: _cost(way, row, rows, case) for way in PRICED}
    return Answer(row.id, say(row.name), say(row.plain), costs)


def _cost(way: str, row: ChoiceRow, rows: list[ChoiceRow], case: Case) -> str:
    if way not in case.prospects:
        return say("there is no such plan")
    if row.operation:
        more = case.adds(way, row.operation)
        if more is None:
            return say("not in this price, to be quoted")
        if more == 0:
            return say("in this price")
        amount = money(abs(more), case.currency)
        if honest(more) > 0:
            return say("about {amount} more", amount=amount)
        return say("about {amount} less", amount=amount)
    if row.free:
        planned = {line.operation for line in case.option(way).lines}
        others = [other for other in rows if other.question == row.question and other.operation in planned]
        if others:
            return say("this plan has it otherwise: {name}. Tell us, and we plan it anew", name=say(others[0].name))
        return say("nothing more")
    return say("not in this price, to be quoted")


def against_the_plan(case: Case) -> tuple[str, ...]:
    """Return where a plan does not leave as it is what the client wants left so."""
    said = []
    for way in WORK:
        if way not in case.prospects:
            continue
        plan = case.option(way).plan
        touched = [part for part in case.wishes.left_original if plan.get(part, "keep") != "keep"]
        if touched:
            said.append(
                say(
                    "{way}: this plan does not leave {parts} as it is. Tell us, and we plan it anew.",
                    way=way_name(way),
                    parts=listed(case.part_names(touched)),
                )
            )
    return tuple(said)
