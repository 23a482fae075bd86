"""What the client has said and chosen, as questions with their answers, for a paper. Pure."""

from __future__ import annotations

from valuation.engine.rows import QUESTIONS, Tables
from valuation.language import say
from valuation.report.client_words import question_name, theme_name, way_name
from valuation.report.labels import in_sentence, listed
from valuation.report.wishes import A_LOT, SOME, Wishes


def client_chose(wishes: Wishes, tables: Tables) -> tuple[tuple[str, str], ...]:
    """Return each question that the client has answered, with the answer; what was left open is left out.

    Parameters
    ----------
    wishes : Wishes
        What they said at the table.
    tables : Tables
        The shop's tables: a choice or a part that they don't know is left out.
    """
    answers = {row.id: row for row in tables.choices}
    parts = {row.id: say(row.name) for row in tables.parts}
    said = []
    for weight, words in ((A_LOT, say("matters a lot")), (SOME, say("matters"))):
        said += [(theme_name(theme), words) for theme in wishes.in_order() if wishes.matters(theme) == weight]
    for question in QUESTIONS:
        answer = answers.get(wishes.chosen(question))
        if answer is not None and answer.question == question:
            said.append((question_name(question), say(answer.name)))
    original = [in_sentence(parts[part]) for part in wishes.left_original if part in parts]
    said += [
        (say("Colour of a new finish"), wishes.colour.strip()),
        (say("To be left as it is"), listed(original)),
        (say("Leaning today"), _way(wishes.leaning)),
        (say("Still to be asked, or talked over at home"), wishes.questions.strip()),
    ]
    return tuple((question, answer) for question, answer in said if answer)


def _way(way: str) -> str:
    try:
        return way_name(way)
    except KeyError:
        return ""
