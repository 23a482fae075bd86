"""Words in the language of whoever reads them."""

from __future__ import annotations

import threading

import pytest

from valuation.language import LANGUAGES, Local, language, say, say_many, speak, speaking


def test_every_language_has_a_catalogue_that_can_be_read() -> None:
    for chosen in LANGUAGES:
        with speaking(chosen):
            assert say("no message of this tool {figure}", figure=3) == "no message of this tool 3"


def test_a_message_is_told_in_the_language_spoken_and_in_no_other_afterwards() -> None:
    with speaking("de"):
        assert say("not looked at") == "nicht angesehen"
    assert say("not looked at") == "not looked at"


def test_nothing_said_is_nothing_in_any_language() -> None:
    with speaking("de"):  # gettext keeps its own headings under the empty message
        assert say("") == ""


def test_one_and_many_are_told_apart() -> None:
    assert say_many("{count} pin of {name}", "{count} pins of {name}", 2, name="bass") == "2 pins of bass"


def test_another_thread_speaks_its_own_language() -> None:
    heard = []
    with speaking("de"):
        thread = threading.Thread(target=lambda: heard.append(language()))
        thread.start()
        thread.join()
    assert heard == ["en"]


def test_a_language_that_there_is_not_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="'xx'; there are en, de"):
        speak("xx")
    assert language() == "en"


def test_a_sentence_is_told_in_the_words_of_the_countrys_trade_and_figures_stay():
    trade = Local((("pinblock", "wrest plank"), ("tuning pin", "wrest pin")))
    with speaking("en", trade):
        assert say("the pinblock of {piano}", piano="a pinblock grand") == "the wrest plank of a pinblock grand"
        assert say("pinblocks are no word of the list") == "pinblocks are no word of the list"
        assert say_many("{count} tuning pin", "{count} tuning pins", 1) == "1 wrest pin"
    assert say("the pinblock") == "the pinblock"
    with speaking("en", Local((("ß", "ss"),))):
        assert say("weiß und groß") == "weiss und gross"
