"""Whatever somebody wrote is made fit to be printed."""

from __future__ import annotations

import pytest

from valuation.paper.plain_text import MISSING, latin_only, printable, throughout, without


def test_plain_words_stay_as_they_are() -> None:
    text = "The board still sings, but it will not stay in tune: a row of pins turns freely.\nSo it is, *really* #1."
    assert printable(text) == text


@pytest.mark.parametrize(
    ("wrote", "printed"),
    [
        ("a\x00b\x07c\x1b[31m", "abc[31m"),
        ("one\r\ntwo\rthree\u2028four\x0bfive", "one\ntwo\nthree\nfour\nfive"),
        ("tab\there", "tab here"),
        ("abc\u202egnp.exe", "abcgnp.exe"),
        ("\ufeffstart", "start"),
        ("\ud800 \ue000 \U0010ffff", f"{MISSING} {MISSING} {MISSING}"),
        ("שלום", "שלום"),
        ("漢字 👍", "漢字 👍"),
    ],
)
def test_what_no_paper_can_hold_goes_and_the_rest_stays(wrote: str, printed: str) -> None:
    assert printable(wrote) == printed


def test_a_long_word_gets_places_to_break_at_and_keeps_its_letters() -> None:
    made = printable("x" * 2000)
    assert made.replace("\u200b", "") == "x" * 2000
    assert max(map(len, made.split("\u200b"))) <= 11


def test_a_usual_long_word_is_left_whole() -> None:
    assert printable("Klaviertransportversicherung") == "Klaviertransportversicherung"


def test_a_letter_keeps_its_accents_but_not_a_tower_of_them() -> None:
    assert printable("e\u0301") == "e\u0301"
    assert printable("z" + "\u0301" * 50) == "z" + "\u0301" * 4


def test_places_to_break_never_part_a_joined_sign() -> None:
    family = "👨\u200d👩\u200d👧"
    assert all("\u200b\u200d" not in piece and "\u200d\u200b" not in piece for piece in [printable(family * 40)])


def test_texts_are_changed_throughout_and_keys_are_not() -> None:
    data = {"a": ["x", ("x", 1)], "x": {"b": "x"}}
    assert throughout(data, str.upper) == {"a": ["X", ["X", 1]], "x": {"b": "X"}}


def test_signs_that_no_font_has_become_a_box() -> None:
    assert without({"ab", "a"})("abacad") == f"{MISSING}{MISSING}c{MISSING}d"
    assert latin_only("Ö ж") == f"Ö {MISSING}"
