"""Single cells changed in the text of a table, everything else left as it is."""

from __future__ import annotations

import csv
import io
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import TableError
from valuation.rules.table_writer import append_row, rewrite_cells, rewrite_setting

ODD = (
    'id,  name ,hours,note\r\n\r\na,"stays, quoted",1.50,"two\r\nlines"\r\nb,plain , 2 ,\r\n"c","with ""marks""",3,last'
)


def key(id_: str):
    return (("id", id_),)


def test_only_the_cell_changes():
    new = rewrite_cells(ODD, "t.csv", {key("b"): {"hours": "2.5"}})
    assert new == ODD.replace(" 2 ", "2.5")


def test_several_cells_of_several_rows_change_at_once_whatever_their_order():
    changes = {key("c"): {"note": "new", "hours": "30"}, key("a"): {"hours": "10"}}
    new = rewrite_cells(ODD, "t.csv", changes)
    assert new == ODD.replace("1.50", "10").replace(",3,last", ",30,new")


def test_words_that_need_quotation_marks_get_them():
    new = rewrite_cells(ODD, "t.csv", {key("b"): {"note": 'so "said", twice'}})
    assert '"so ""said"", twice"' in new
    assert list(csv.reader(io.StringIO(new, newline="")))[3][3] == 'so "said", twice'


def test_an_empty_cell_can_be_filled_and_a_filled_one_emptied():
    new = rewrite_cells(ODD, "t.csv", {key("b"): {"note": "now"}, key("c"): {"note": ""}})
    assert "b,plain , 2 ,now\r\n" in new
    assert new.endswith(",3,")


def test_a_row_is_found_by_all_the_columns_of_its_key():
    text = "part,age,worn\nx,old,1\nx,young,2\n"
    assert rewrite_cells(text, "t.csv", {(("part", "x"), ("age", "young")): {"worn": "9"}}) == text.replace("2", "9")


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({key("d"): {"hours": "1"}}, "t.csv: id: there is no row for d"),
        ({key("a"): {"hour": "1"}}, "t.csv:1: hour: 'hour' is not a column; did you mean 'hours'?"),
        ({(("ID", "a"),): {"hours": "1"}}, "'ID' is not a column"),
        ({(("note", ""),): {"hours": "1"}}, None),
    ],
)
def test_what_is_not_there_is_told_and_nothing_changes(changes, message):
    if message is None:
        assert rewrite_cells(ODD, "t.csv", changes) == ODD.replace(" 2 ", "1")
        return
    with pytest.raises(TableError) as caught:
        rewrite_cells(ODD, "t.csv", changes)
    assert message in str(caught.value)


def test_a_key_that_fits_two_rows_is_told():
    with pytest.raises(TableError, match="2 rows stand for x"):
        rewrite_cells("id,n\nx,1\nx,2\n", "t.csv", {key("x"): {"n": "3"}})


def test_a_row_is_added_at_the_end_in_the_files_own_line_endings():
    assert append_row(ODD, "t.csv", {"note": "n, m", "id": "d"}) == ODD + '\r\nd,,,"n, m"\r\n'
    assert append_row("id,n\nx,1\n", "t.csv", {"id": "y", "n": "2"}) == "id,n\nx,1\ny,2\n"
    with pytest.raises(TableError, match="'m' is not a column of this table"):
        append_row("id,n\n", "t.csv", {"m": "2"})


cells = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=8).map(str.strip)


@given(st.lists(st.lists(cells, min_size=3, max_size=3), min_size=1, max_size=6), st.data())
def test_any_table_reads_back_with_the_one_change(rows, data):
    text = io.StringIO()
    csv.writer(text, lineterminator=data.draw(st.sampled_from(["\n", "\r\n"]))).writerows(
        [["id", "x", "y", "z"], *([f"r{i}", *row] for i, row in enumerate(rows))]
    )
    which, column, new = data.draw(st.integers(0, len(rows) - 1)), data.draw(st.sampled_from("xyz")), data.draw(cells)
    changed = rewrite_cells(text.getvalue(), "t.csv", {key(f"r{which}"): {column: new}})
    expected = [row[:] for row in rows]
    expected[which]["xyz".index(column)] = new
    assert [row[1:] for row in csv.reader(io.StringIO(changed, newline=""))][1:] == expected
    assert (
        rewrite_cells(changed, "t.csv", {key(f"r{which}"): {column: rows[which]["xyz".index(column)]}}).split("r", 1)[0]
        == text.getvalue().split("r", 1)[0]
    )


SETTINGS = """\
# Our own.
[tax]
value = 0.2  # since January
unit = ''
source = "invented"
note = "It says \\"so\\"."

[job_spread]
value = 0.16
source = 'memory'
"""


def test_a_setting_changes_and_its_comment_and_neighbours_stay():
    new = rewrite_setting(SETTINGS, "settings.toml", "tax", {"value": "0.21", "source": '"mine"', "note": '"n"'})
    assert new == SETTINGS.replace("0.2 ", "0.21 ").replace('"invented"', '"mine"').replace(
        '"It says \\"so\\"."', '"n"'
    )
    assert tomllib.loads(new)["tax"] == {"value": 0.21, "unit": "", "source": "mine", "note": "n"}
    assert rewrite_setting(SETTINGS, "settings.toml", "job_spread", {"value": "0.2"}) == SETTINGS.replace("0.16", "0.2")


@pytest.mark.parametrize(
    ("name", "part", "message"),
    [
        ("taxes", "value", r"there is no \[taxes\] on a line of its own"),
        ("job_spread", "note", r"settings.toml:8: job_spread.note: it can't be changed here"),
    ],
)
def test_a_setting_written_otherwise_is_told(name, part, message):
    with pytest.raises(TableError, match=message):
        rewrite_setting(SETTINGS, "settings.toml", name, {part: "1"})
