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

SEVENTH_GRADE = 7.0
HARDEST = 12.0


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


def test_no_single_sentence_is_far_above_the_rest():
    hard = {text: grade([text]) for text in fixed_sentences(CLIENT_MODULES) if len(text.split()) >= 8}
    assert {text: g for text, g in hard.items() if g > HARDEST} == {}
