"""The parts of the page that draw nothing: answers into findings, marks, the shown quote, the way to a table row."""

from __future__ import annotations

from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from valuation.engine.money import tax_of
from valuation.engine.rows import SECTIONS
from valuation.report.format import measure, plain_measure
from valuation.report.quote import quote_of
from valuation.report.trace import rows_behind
from valuation.screens import answers, marks
from valuation.screens.safe import md
from valuation.service import appraise, demo_visits, load_shop, read_visit_file

TODAY = date(2026, 12, 31)


@pytest.fixture(scope="module")
def grand():
    """The tables, the first demo grand and its appraisal."""
    book = load_shop()
    visit = read_visit_file(demo_visits()[0][1], book, TODAY)
    return book, visit, appraise(visit, book, on=visit.on)


@pytest.mark.parametrize(
    ("row", "numbers"),
    [
        ("60 55 58", ["60", "55", "58"]),
        ("60, 55; 58", ["60", "55", "58"]),
        ("60 55 in-lb", ["60 in-lb", "55 in-lb"]),
        ("60 in-lb 6.2 N.m", ["60 in-lb", "6.2 N.m"]),
        ("60in-lb 55", ["60in-lb", "55"]),
        ("-12 +3 .5", ["-12", "+3", ".5"]),
    ],
)
def test_a_row_of_readings_is_parted_at_its_spaces(row, numbers):
    assert answers.split_row(row) == (numbers, "")


@pytest.mark.parametrize("row", ["60,5 55", "in-lb 60", "1 7/8 in", "60 55,58"])
def test_a_row_that_could_be_read_two_ways_is_refused(row):
    numbers, fault = answers.split_row(row)
    assert fault
    assert not numbers


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from(answers.ROWS), st.text(max_size=40)))
def test_no_text_in_the_rows_brings_anything_but_a_finding_or_a_fault(rows):
    book = load_shop()
    visit = read_visit_file(demo_visits()[0][1], book, TODAY)
    check = book.of_kind("checks", "grand")["pin_torque"]
    finding, faults = answers.read_rows(check, rows, "", visit, book, "metric")
    assert (finding is None) == bool(faults) or not "".join(rows.values()).strip()


@pytest.mark.parametrize("section", SECTIONS)
def test_what_is_shown_in_a_row_reads_back_as_it_was(grand, section):
    book, visit, _ = grand
    check = book.of_kind("checks", "grand")["pin_torque"]
    finding = next(f for f in visit.findings if f.check == "pin_torque")
    shown = answers.typed_row(finding, check, section, "imperial")
    again, faults = answers.read_rows(check, {section: shown}, "", visit, book, "imperial")
    assert not faults
    expected = [r.value for r in finding.readings if r.section == section]
    assert [r.value for r in again.readings] == pytest.approx(expected, rel=0.005)


def test_measures_are_shown_in_the_units_asked_for():
    # NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm; 1 lbf.in = 0.1129848 N.m
    assert measure(25.4, "mm", "imperial") == "1 in"
    assert plain_measure(0.1129848 * 100, "N.m", "imperial") == "100"
    assert measure(3, "swings") == "3 swings"


@given(st.lists(st.floats(0.001, 1), min_size=4, max_size=4))
def test_odds_are_shown_as_a_hundred_and_as_twenty_marks(weights):
    shares = [w / sum(weights) for w in weights]
    html = marks.odds(shares)
    drawn, _, words = html.partition("</p>")
    assert drawn.count("</span>") == 20
    assert sum(int(word) for word in words.replace(",", " ").replace("<", " ").split()[4:] if word.isdigit()) == 100


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list) -> None:  # noqa: ARG002
        self.tags.add(tag)


@given(st.text(alphabet="<>/abis\"'&!-= ;#", max_size=60))
@example('<b>"</b>')
def test_no_text_becomes_a_tag_in_a_table(text):
    reader = _Tags()
    reader.feed(marks.table(text, ["a", text], [[text, text]]))
    assert reader.tags <= {"table", "caption", "thead", "tbody", "tr", "th", "td", "span"}


@pytest.mark.parametrize("mark", list("\\`*_{}[]<>#|~$&^!"))
def test_every_mark_of_markdown_is_disarmed(mark):
    assert f"\\{mark}" in md(f"a{mark}b")


@pytest.mark.parametrize("start", ["1. x", "12) x", "- x", "+ x", "= x"])
def test_no_line_starts_a_list(start):
    assert md(start)[:3].count("\\") == 1


def test_the_shown_quote_differs_from_the_exact_one_by_rounding_only(grand):
    book, _, found = grand
    option = found.option("rebuild")
    shown = quote_of(option, tax_of(book, found.on))
    rounded, tax = 3 * len(shown.lines), 1 + tax_of(book, found.on).labour
    off = abs(float(shown.total) - option.fixed_price)
    assert abs(float(shown.before_tax) - option.before_tax) <= 0.5 * rounded
    assert off <= 0.5 * rounded * tax + 0.01
    assert shown.total == shown.before_tax + shown.tax
    assert abs(float(shown.most) - option.most_price) <= off + (0.5 * tax + 0.01) * len(shown.if_found)


def test_every_row_that_an_appraisal_names_is_found_in_its_file(grand):
    book, visit, found = grand
    folder = Path(__file__).resolve().parents[2] / "valuation" / "tables"
    references = {
        *(row for part in found.parts for f in part.findings for row in f.rows),
        *(row for part in found.parts for row in part.rows),
        *(row for option in found.options for line in option.lines for row in line.rows),
        *(row for allowance in found.allowances for row in allowance.rows),
        *(row for reason in found.reasons for row in reason.rows),
    }
    for reference in sorted(references):
        table, _, key = reference.partition(":")
        rows = rows_behind((reference,), book, visit.piano.kind, found.on)
        assert rows or not key, reference
        for row in rows:
            text = (folder / row.file).read_text(encoding="utf-8").splitlines()[row.line - 1]
            assert all(piece in text for piece in key.split("/") if table != "settings"), reference


def test_only_the_rate_in_force_on_the_day_is_shown(grand):
    book, visit, _ = grand
    rows = rows_behind(("rates:workshop",), book, visit.piano.kind, visit.on)
    assert [row.cells["valid_from"] for row in rows] == ["2026-01-01"]
