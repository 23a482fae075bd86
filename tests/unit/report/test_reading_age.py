"""How hard the client's sentences are to read, by a published formula.

Flesch-Kincaid grade: Kincaid, Fishburne, Rogers and Chissom, Derivation of new readability formulas for Navy enlisted
personnel, Research Branch Report 8-75, 1975; computed by the package `readability`. A child of twelve is in the sixth
or seventh grade of a school in the United States, for which the formula was made.
"""

from __future__ import annotations

import re

import pytest
from readability import getmeasures
from table_talk import CLIENT_MODULES, NAMES, figures, fixed_sentences, said, said_in_steps, talk

from valuation.language import say, speaking

SEVENTH_GRADE = 7.0
HARDEST = 9.0

PAPER_MODULES = tuple(
    f"valuation/report/{name}.py"
    for name in (
        *("client_chose", "drawn", "evaluation", "evaluation_limits", "evaluation_piano", "evaluation_standards"),
        *("evaluation_ways", "evaluation_work", "fault_words", "heads", "leaf", "mail", "not_yet", "quotation"),
        *("retire_letter", "sheet", "tax_words", "words"),
    )
)
"""Modules whose sentences stand on papers."""

GERMAN_GRADE, GERMAN_HARDEST = 5.0, 12.0
"""Of all German sentences together, and of one message: the formula is made for longer texts."""


def grade(texts: list[str]) -> float:
    """Return the Flesch-Kincaid grade of sentences; a figure counts as the word it is read out as."""
    lines = []
    for text in texts:
        plain = re.sub(r"\{\w+\}|[\d,.]*\d", "ten", text)
        lines += [" ".join(re.findall(r"[\w']+", sentence)) for sentence in re.split(r"[.?!]", plain)]
    return getmeasures([line for line in lines if line], lang="en")["readability grades"]["Kincaid"]


def test_the_measure_tells_plain_words_from_learned_ones():
    plain = ["The cat sat on the mat. It was a fine day and the cat was glad."]
    learned = ["Instrumental rehabilitation necessitates comprehensive consideration of irreversible deterioration."]
    assert grade(plain) < 3 < 15 < grade(learned)


def test_the_fixed_sentences_for_a_client_can_be_read_at_twelve():
    sentences = [text for text in fixed_sentences(CLIENT_MODULES) if " " in text]
    assert len(sentences) > 150
    assert grade(sentences) <= SEVENTH_GRADE


@pytest.mark.parametrize("name", NAMES)
def test_what_is_said_of_each_piano_can_be_read_at_twelve(name):
    assert grade(said(talk(name))) <= SEVENTH_GRADE


@pytest.mark.parametrize("name", [name for name in NAMES if figures(name)[2].ready])
def test_what_the_six_steps_say_of_each_piano_can_be_read_at_twelve(name):
    assert grade(said_in_steps(name)) <= SEVENTH_GRADE


def sentences() -> list[str]:
    """Return every sentence that clients are told, at the table and on paper, without names and single words."""
    texts = fixed_sentences((*CLIENT_MODULES, *PAPER_MODULES))
    return [one for text in texts for one in re.split(r"(?<=[.?!])\s+", text) if len(one.split()) >= 8]


def test_no_single_sentence_is_above_the_ninth_grade():
    assert len(sentences()) > 200
    hard = {one: grade([one]) for one in sentences()}
    assert {one: g for one, g in hard.items() if g > HARDEST} == {}


def german_grade(texts: list[str]) -> float:
    """Return the grade of German sentences by the fourth Wiener Sachtextformel.

    Bamberger and Vanecek, Lesen, Verstehen, Lernen, Schreiben, 1984: 0.2656 of the words in a sentence and 0.2744 of
    the words in a hundred with three syllables or more, less 1.693. For grades 4 to 15.
    """
    lines = [re.sub(r"\{\w+\}|[\d,.]*\d", "zehn", one) for text in texts for one in re.split(r"[.?!]", text)]
    words = [re.findall(r"[^\W\d_]+", line) for line in lines]
    told = [line for line in words if line]
    count = sum(map(len, told))
    long = sum(syllables(word) >= 3 for line in told for word in line)
    return 0.2656 * count / len(told) + 0.2744 * 100 * long / count - 1.693


def syllables(word: str) -> int:
    """Return how many syllables a German word has: as many as it has vowels or pairs that sound as one."""
    return len(re.findall(r"ei|ai|au|äu|eu|ie|aa|ee|oo|[aeiouyäöü]", word.lower()))


def test_the_german_measure_tells_plain_words_from_learned_ones():
    assert [syllables(word) for word in ("Ton", "Saiten", "Resonanzboden", "Klaviatur")] == [1, 2, 5, 4]
    plain = ["Die Katze lag auf dem Tisch. Es war ein guter Tag und die Katze war froh."]
    learned = ["Instrumentenrestaurierung erfordert umfassende Berücksichtigung unumkehrbarer Verschlechterungen."]
    assert german_grade(plain) < 5 < 15 < german_grade(learned)


def test_the_german_of_the_same_sentences_can_be_read_in_the_fifth_grade():
    with speaking("de"):
        told = [say(text) for text in fixed_sentences((*CLIENT_MODULES, *PAPER_MODULES))]
    told = [text for text in told if len(text.split()) >= 6]
    assert len(told) > 200
    assert german_grade(told) <= GERMAN_GRADE
    hard = {one: german_grade([one]) for one in told}
    assert {one: g for one, g in hard.items() if g > GERMAN_HARDEST} == {}
