"""Choices that are the client's alone: finish, lettering, key tops, metal, what stays original; and what each costs."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import QUESTIONS, ChoiceRow
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import question_name
from valuation.report.format import honest, money
from valuation.report.labels import in_sentence
from valuation.report.their_version import STAYS


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
            answers=tuple(_answer(row, case) for row in rows if row.question == question),
            chosen=case.wishes.chosen(question),
        )
        for question in QUESTIONS
    )


def _answer(row: ChoiceRow, case: Case) -> Answer:
    costs = {way: _cost(way, row, case) for way in STAYS}
    return Answer(row.id, say(row.name), say(row.plain), costs)


def _cost(way: str, row: ChoiceRow, case: Case) -> str:
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
        planned = [line for line in case.planned(way).lines if line.operation in row.declines]
        if planned:
            return say("not done then: {work}. We plan it anew", work=in_sentence(say(planned[0].name)))
        return say("at no extra cost")
    return say("not in this price, to be quoted")
