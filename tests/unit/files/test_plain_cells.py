"""No text of an export is a formula, however a spreadsheet parts the cells; and what was guarded comes back."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.files.plain_cells import guarded, is_formula, unguarded

SIGNS = "=+-@＝＋－＠"
FORMULAS = [
    "=1+1", "+1", "-1", "@SUM(1)", "＝1+1", "\t=1", "\r=1", "\n=1", " =1", "'=1", "''+1", "\u00a0=1", "\ufeff=1",
    'oak;=HYPERLINK("http://tracker.example")', "oak\t=1+1", "oak\n=1+1", "oak\r\n+1", 'oak";=1',
]  # fmt: skip
texts = st.text(st.sampled_from([*SIGNS, *"'\"; ,\t\r\na1\u00a0"]), max_size=8) | st.text(max_size=20)


def cells_of(text: str, separator: str, quoting: int) -> list[str]:
    """The cells that a spreadsheet sees in a file with this text in the middle of a row, if it parts them so."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerow(["visit", guarded(text), "end"])
    lines = out.getvalue().split("\n") if quoting == csv.QUOTE_NONE else io.StringIO(out.getvalue(), newline="")
    return [cell for row in csv.reader(lines, delimiter=separator, quoting=quoting) for cell in row]


@pytest.mark.parametrize("text", FORMULAS)
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_NONE])
def test_no_cell_begins_a_formula_however_the_cells_are_parted(text, separator, quoting):
    if separator == "," and quoting == csv.QUOTE_NONE:
        return  # whoever parts at commas knows the quotation marks
    assert not [cell for cell in cells_of(text, separator, quoting) if cell.startswith(tuple(SIGNS))]


@given(texts)
def test_what_was_guarded_comes_back_but_for_the_ends_of_lines(text):
    assert unguarded(guarded(text)) == text.replace("\r\n", "\n").replace("\r", "\n")


@given(texts)
def test_no_guarded_text_is_a_formula_by_its_first_sign(text):
    assert not guarded(text).startswith((*SIGNS, "\t", "\r", "\n"))
    assert is_formula(guarded(text)) == is_formula(text)


@pytest.mark.parametrize("text", ["oak", "a-b", "1-2", "it's", "", "a = b", "rust; -5 kg less", "p@example.org"])
def test_other_texts_stay_as_they_are(text):
    assert guarded(text) == text
    assert not is_formula(text)
