"""The catalogues against the code and the tables: what is said is told in every language, in the same figures."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from catalogues import CODE, SHOWN, UNSAID, messages, read_catalogue, untranslated

from valuation.engine.rows import Tables
from valuation.facts.columns import columns_of
from valuation.language import ENGLISH, LANGUAGES, speaking
from valuation.report.labels import choice_looks, choice_word
from valuation.service import load_shop

OTHERS = [language for language in LANGUAGES if language != ENGLISH]
HOW = "run .venv/bin/python -m tests.catalogues, then write what is missing into the catalogue"
DRAWN = {
    *("title", "header", "subheader", "markdown", "text", "caption", "button", "pills", "text_input", "text_area"),
    *("selectbox", "toggle", "checkbox", "slider", "expander", "download_button", "file_uploader", "number_input"),
    *("form_submit_button", "popover", "radio", "date_input", "camera_input", "multiselect"),
}
"""What Streamlit draws with a text for people as its first argument."""


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_is_told_with_the_same_figures(language):
    missing = "\n".join(f"  {message}" for message in untranslated(language))
    assert not missing, f"not told in {LANGUAGES[language]}; {HOW}:\n{missing}"


def test_a_figure_goes_into_a_message_by_its_name_alone():
    # a format within the braces would show decimals with a point in any language
    shaped = [message for message in messages() if re.search(r"{\w*[:!]", str(message))]
    assert not shaped, f"format the figure by report/format.py or numeral(), then put it in: {shaped}"


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_holds_nothing_that_nobody_says(language):
    said = {message[0] if isinstance(message, tuple) else message for message in messages()}
    told = {entry.id[0] if isinstance(entry.id, tuple) else entry.id for entry in read_catalogue(language) if entry.id}
    idle = "\n".join(f"  {message}" for message in sorted(told - said))
    assert not idle, f"nobody says any more; {HOW}:\n{idle}"


def test_every_column_of_words_is_shown_and_told_or_known_to_hold_none():
    book = load_shop()
    for table in set(Tables.__dataclass_fields__) - {"settings", "hash", "lines", "setting_sources"}:
        for name, (field, column) in columns_of(type(getattr(book, table)[0])).items():
            words = field.type in ("str", str) and not column.choices and not column.refers_to
            assert not words or name in SHOWN.get(table, ()) or name in UNSAID, f"{table}.{name}: a word or a key?"


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_choices_of_a_check_keep_their_words_apart_and_say_what_they_look_like(language):
    with speaking(language):
        for check in load_shop().checks:
            words = [choice_word(check, grade).casefold() for grade in check.choices]
            assert len(set(words)) == len(words), (check.id, words)
            assert all(choice_looks(check, grade) for grade in check.choices), check.id


def test_nothing_is_drawn_that_no_catalogue_knows():
    bare = [
        f"{path.relative_to(CODE.parent)}:{call.lineno}"
        for path in sorted((CODE / "screens").rglob("*.py"))
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Attribute)
        and call.func.attr in DRAWN
        and call.args
        and any(_is_words(text) for text in _texts(call.args[0]))
    ]
    assert not bare, "texts for people that don't go through say():\n" + "\n".join(bare)


def _texts(argument: ast.expr) -> list[str]:
    """Return the literal texts of an argument, those that are said or marked left out."""
    if isinstance(argument, ast.Call):
        if isinstance(argument.func, ast.Name) and argument.func.id in ("say", "say_many", "later"):
            return []
        return [text for inner in argument.args for text in _texts(inner)]
    if isinstance(argument, ast.Constant):
        return [argument.value] if isinstance(argument.value, str) else []
    return [text for child in ast.iter_child_nodes(argument) if isinstance(child, ast.expr) for text in _texts(child)]


def _is_words(text: str) -> bool:
    return any(len(word) > 2 and word.isalpha() and word != "min" for word in text.replace("*", " ").split())


def test_a_text_that_is_drawn_without_being_said_would_be_found():
    drawn = ast.parse("st.markdown(f'**{x}** of all {md(say(y))}')").body[0].value
    assert any(_is_words(text) for text in _texts(drawn.args[0]))
    said = ast.parse("st.markdown(f'**{md(say(y))}** · {x} min' + say('Every word'))").body[0].value
    assert not any(_is_words(text) for text in _texts(said.args[0]))


def test_the_catalogues_are_there():
    for language in OTHERS:
        assert Path(CODE / "locale" / language / "LC_MESSAGES" / "valuation.po").is_file()
