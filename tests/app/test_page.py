"""The page as Streamlit's own test runner sees it, always entered through app.py."""

from __future__ import annotations

import gc
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from demo_shop import ROOT, all_visits, demo_id, draft, go, inspected, line_of, open_form, opened, start, told, type_in
from streamlit.testing.v1 import AppTest

from valuation.engine.money import tax_of
from valuation.report.format import money
from valuation.report.tax_words import tax_label
from valuation.report.words import verdict_sentence
from valuation.screens import shop
from valuation.screens.safe import md
from valuation.service import appraise, demo_visits, load_shop, read_visit_file

DEMOS = [path for _, path in demo_visits()]
SECTIONS = (
    "verdict",
    "piano",
    "inspect",
    "check_next",
    "condition",
    "work",
    "what_if",
    "table_rows",
    "history",
    "papers",
)


@pytest.fixture
def page() -> AppTest:
    """The page, drawn once."""
    return start()


NOT_YET = 5
"""Number of the invented piano of which too little was seen for a verdict."""


def stand(page: AppTest, place: str) -> AppTest:
    """Go to one station of the walk."""
    inspected(page).pills(key=draft(page).key("place")).set_value(place).run()
    return page


def more(page: AppTest, what: str) -> AppTest:
    """Ask for one of the things that stand a tap below the verdict."""
    return page.pills(key=draft(page).key("more")).set_value(what).run()


class _Cells(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self._in_label = False

    def handle_starttag(self, tag: str, attributes: list) -> None:
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
        self._in_label = ("class", "label") in attributes

    def handle_data(self, data: str) -> None:
        if self.rows and self.rows[-1] and not self._in_label:
            self.rows[-1][-1] += data


def tables(page: AppTest) -> list[list[list[str]]]:
    """The cells of every table on the page, row by row."""
    found = []
    for html in page.html:
        if "<table" in html.value:
            reader = _Cells()
            reader.feed(html.value)
            found.append(reader.rows)
    return found


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_each_demo_piano_opens_with_the_verdict_that_the_command_line_gives(page, path):
    book = load_shop()
    visit = read_visit_file(path, book, shop.today())
    opened(page, int(path.stem[0]))
    assert page.title[0].value == md(verdict_sentence(appraise(visit, book, on=visit.on)))


@pytest.mark.parametrize("section", SECTIONS)
def test_every_section_says_that_demo_data_is_invented_and_that_nothing_is_certified(page, section):
    go(opened(page, 1), section)
    assert "Invented demo data" in told(page)
    assert "not a certified appraisal" in told(page)
    assert len(page.title) == 1


@pytest.mark.parametrize("section", SECTIONS)
def test_without_a_piano_every_section_leads_to_the_list(page, section):
    go(page, section)
    assert page.button(key="start")


def test_what_is_loaded_is_left_out_of_the_search_for_garbage_once_and_not_after_every_run(page):
    kept = gc.get_freeze_count()
    page.run()
    assert 0 < gc.get_freeze_count() <= kept


def test_a_cracked_plate_turns_a_verdict_to_keep_and_brings_its_stop_rule(page):
    opened(page, 7)
    before = page.title[0].value
    type_in(page, "plate_crack", "4")
    assert "STOP." in told(go(page, "inspect"))
    go(page, "verdict")
    assert page.title[0].value != before
    assert "It must not be tuned. The iron frame has a crack." in told(page)
    more(page, "limits")
    assert "the iron plate shows a crack" in told(page)


def test_the_verdict_is_hidden_on_the_findings_until_it_is_asked_for(page):
    sentence = opened(page, 1).title[0].value
    go(page, "inspect")
    assert sentence not in [element.value.strip("*") for element in page.markdown]
    page.toggle(key=draft(page).key("peek")).set_value(True).run()
    assert f"**{sentence}**" in [element.value for element in page.markdown]


def test_a_number_is_taken_with_its_unit_and_shown_with_how_it_reads(page):
    type_in(opened(page, 1), "hammer_groove", "1/16 in")
    assert draft(page).finding("hammer_groove").readings[0].value == pytest.approx(1.5875)
    assert "1.59 mm (marked)" in told(stand(page, "action"))


@pytest.mark.parametrize(
    ("typed", "fault"),
    [
        ("2,4 mm", "'2,4 mm': put a point before decimals"),
        ("2.4 kg", "'kg' is not a unit for this"),
        ("4000", "'4000' is out of range"),
    ],
)
def test_a_bad_number_is_told_at_its_field_stays_there_and_the_one_before_counts(page, typed, fault):
    opened(page, 1)
    before = draft(page).visit
    type_in(page, "hammer_groove", typed)
    assert f"Not taken down:** {fault}" in told(page)
    assert draft(page).visit == before
    open_form(go(page, "condition"))
    assert page.text_input(key=line_of(page, "hammer_groove")).value == typed
    type_in(page, "hammer_groove", "2.4")
    assert "Not taken down" not in told(page)
    assert draft(page).finding("hammer_groove").readings[0].value == 2.4


def test_readings_are_taken_row_by_row_and_rows_left_alone_keep_their_digits(page):
    opened(page, 1)
    before = {r.section: r.value for r in draft(page).finding("pin_torque").readings}
    type_in(page, "pin_torque", "80 82.5 79 in-lb", row="bass")
    after = draft(page).finding("pin_torque")
    assert [round(r.value, 4) for r in after.readings if r.section == "bass"] == [9.0388, 9.3212, 8.9258]
    assert before["treble"] in [r.value for r in after.readings if r.section == "treble"]


def test_not_looked_at_takes_a_finding_out_and_cannot_be_seen_leaves_the_odds_alone(page):
    type_in(opened(page, 3), "hammer_groove", "x")
    assert draft(page).finding("hammer_groove").cannot_see
    unseen = shop.appraisal_of(draft(page).visit, {}, load_shop())
    type_in(page, "hammer_groove", "")
    assert draft(page).finding("hammer_groove") is None
    without = shop.appraisal_of(draft(page).visit, {}, load_shop())
    assert [p.score for p in unseen.parts] == [p.score for p in without.parts]
    assert "not looked at" in told(stand(page, "lid"))


def test_units_turn_to_inches_and_back_without_moving_a_finding(page):
    stand(opened(page, 1), "lid")
    before = draft(page).visit
    page.pills(key=draft(page).key("system")).set_value("imperial").run()
    assert "31 26 34 22 35 28 ... in-lb" in told(page)
    page.pills(key=draft(page).key("system")).set_value("metric").run()
    assert draft(page).visit == before


def test_a_note_stays_with_its_finding_when_a_form_says_otherwise(page):
    opened(page, 1)
    draft(page).keep("finding.plate_crack", {"grade": "none", "note": "looked with a mirror"})
    type_in(page, "plate_crack", "2")
    assert draft(page).finding("plate_crack").note == "looked with a mirror"
    assert draft(page).finding("plate_crack").grade == "slight"


GOOD = b'title = "Upright from the attic"\ndate = 2026-03-01\n[piano]\nkind = "upright"\n'
BAD = b'title = "Upright"\ndate = 2026-03-01\n[piano]\nkind = "harp"\nyeer = 1910\n'


def upload(page: AppTest, data: bytes, name: str = "attic.toml") -> AppTest:
    page.session_state["open_file"] = True
    go(page, "visits")
    page.file_uploader(key="visit_file").set_value([(name, data, "application/toml")]).run()
    assert not page.exception
    return page


def test_a_visit_file_is_opened_and_is_not_called_invented(page):
    upload(page, GOOD)
    page.button(key="open_upload").click().run()
    assert draft(page).visit.title == "Upright from the attic"
    assert "Invented demo data" not in told(page)
    assert "they are **invented**" in told(page)


def test_a_bad_visit_file_tells_every_fault_on_its_line_and_what_was_there_stays(page):
    opened(page, 3)
    before = draft(page).visit
    upload(page, BAD)
    lines = [text.value for text in page.text]
    assert any(line.startswith("attic.toml:4: piano.kind:") for line in lines)
    assert any(line.startswith("attic.toml:5: piano.yeer:") for line in lines)
    assert draft(page).visit == before


@pytest.mark.parametrize(
    "data", [b"\xff\xfe\x00x", b"\x00" * 10, b"= =", b""], ids=["utf16", "nul", "no toml", "empty"]
)
def test_rubbish_is_told_and_not_opened(page, data):
    upload(page, data)
    assert "to mend" in told(page)
    assert "draft" not in page.session_state


def test_what_a_person_wrote_is_never_read_as_markdown(page):
    nasty = "![x](http://tracker.example/x.png) <b>bold</b> $5 and $6 :red[x] www.example.org"
    upload(page, GOOD.replace(b"Upright from the attic", nasty.encode()))
    page.button(key="open_upload").click().run()
    for section in SECTIONS:
        go(page, section)
        assert nasty in [text.value for text in page.text]
        for element in [*page.title, *page.header, *page.subheader, *page.markdown]:
            assert "tracker" not in element.value
        assert not any("tracker" in html.value for html in page.html)


def test_a_visit_before_the_tables_prices_is_told_and_not_fatal(page):
    upload(page, GOOD.replace(b"2026-03-01", b"2001-03-01"))
    page.button(key="open_upload").click().run()
    assert "No price can be given for the day of this visit" in told(page)


def test_faulty_tables_are_told_with_file_and_line_and_those_before_them_are_used(tmp_path, monkeypatch):
    folder = tmp_path / "shop"
    folder.mkdir()
    for file in (ROOT / "valuation" / "tables").iterdir():
        (folder / file.name).write_bytes(file.read_bytes())
    rates = folder / "rates.csv"
    rates.write_text(rates.read_text(encoding="utf-8").replace(",66,", ",sixty,"), encoding="utf-8")
    monkeypatch.setenv(shop.TABLES_FOLDER, str(folder))
    page = start()
    assert not page.exception
    assert "can't be read. Those before them are used." in told(page)
    assert {row.per_hour for row in shop.tables().rates} == {row.per_hour for row in load_shop().rates}
    assert "rates.csv:2: per_hour: 'sixty' is not a number" in told(go(page, "tables")).replace("\u2060", "")


def test_hearing_it_worth_less_turns_the_heirloom_to_keep_and_the_visit_stays(page):
    go(opened(page, 6), "what_if")
    before = draft(page).visit
    assert "**Now: Repair part of it.**" in told(page)
    page.slider(key=draft(page).key("what_if_to_hear") + "_slider").set_value(0).run()
    assert "**Now: Keep it as it is.**" in told(page) or "**Now: Retire it" in told(page)
    assert draft(page).visit == before
    page.button(key="what_if_back").click().run()
    assert "**Now: Repair part of it.**" in told(page)


@pytest.mark.parametrize(("slider", "better"), [("finished", "Rebuild"), ("rate", "Retire"), ("to_hear", "Rebuild")])
def test_a_slider_moves_the_lead_step_by_step_in_one_direction(page, slider, better):
    go(opened(page, 1), "what_if")
    page.session_state[draft(page).key("what_if_moved")] = True
    page.run()
    key = draft(page).key(f"what_if_{slider}") + "_slider"
    field = page.slider(key=key)
    reach = range(int(field.min), int(field.max), max(1, int(field.max - field.min) // 6))
    leads = []
    for value in reach:
        page.slider(key=key).set_value(value).run()
        net = {row[0].split(",")[0].split(" (")[0]: float(row[2].replace(",", "")) for row in tables(page)[0][1:]}
        leads.append(net["Rebuild"] - net["Retire"] if better == "Rebuild" else net["Retire"] - net["Rebuild"])
    shown_to = 1500  # two nets of up to 100,000, each shown to the nearest 500
    assert all(after >= before - shown_to for before, after in pairwise(leads))
    assert leads[-1] > leads[0] + shown_to


def test_a_pinned_part_takes_its_option_away_and_gives_it_back(page):
    go(opened(page, 1), "work")
    pin = draft(page).key("pin_strings")
    page.pills(key=pin).set_value("keep").run()
    assert "With what is set by hand there is no plan that is a **rebuild**" in told(page)
    go(page, "verdict")
    assert "changed by hand" in told(page)
    assert page.title[0].value != "Rebuild it."
    go(page, "work")
    page.button(key="clear_levels").click().run()
    assert not draft(page).set_levels
    assert page.pills(key=pin).value == "free"


def test_a_pin_shows_price_and_net_before_and_after(page):
    go(opened(page, 3), "work")
    page.pills(key=draft(page).key("pin_cabinet")).set_value("replace").run()
    effect = tables(page)[0]
    assert effect[0] == ["", "Left to the tool", "With what is set by hand"]
    before, after = (float(cell.replace(",", "")) for cell in effect[2][1:])
    assert after > before


@pytest.mark.parametrize("number", [1, 3, 6])
def test_the_shown_quote_adds_up_to_the_last_digit(page, number):
    go(opened(page, number), "work")
    page.pills(key=draft(page).key("work_part")).set_value("lines").run()
    found = tables(page)
    lines, sums = found[0], {name: figure(cell) for name, cell in found[-1][1:]}
    first, last = lines[0].index("Labour"), lines[0].index("Amount")
    cells = [[figure(cell) for cell in row[first : last + 1]] for row in lines[1:]]
    assert all(sum(row[:-1]) == row[-1] for row in cells)
    assert [sum(column) for column in zip(*cells[:-1], strict=True)] == cells[-1]
    assert cells[-1][-1] == sums["Fixed lines, before tax"]
    tax = sums[tax_label(tax_of(load_shop(), draft(page).visit.on))]
    assert tax > 0
    assert sums["Fixed lines, before tax"] + tax == pytest.approx(sums["Fixed price"])
    assert sums["Fixed price"] <= sums["The most, with all that may be found"]


def figure(cell: str) -> float:
    return float(cell.replace(",", ""))


def test_a_finding_leads_to_the_line_of_its_check_in_the_file(page):
    go(opened(page, 1), "table_rows")
    name = next(row.name for row in load_shop().checks if row.id == "hammer_groove")
    page.selectbox(key=draft(page).key("trace_A finding")).set_value(f"{name}: 2.2 mm (marked)").run()
    heading = next(box.label for box in page.expander if "checks.csv" in box.label.replace("\\", ""))
    line = int(re.search(r"line (\d+)", heading.replace("\\", ""))[1])
    text = (ROOT / "valuation" / "tables" / "checks.csv").read_text(encoding="utf-8").splitlines()[line - 1]
    assert text.startswith("hammer_groove,")


def test_a_reload_finds_the_demo_piano_by_its_address():
    shown = opened(start(), 6)
    page = go(start(visit=draft(shown).visit_id), "condition")
    assert page.title[0].value == "Condition"
    assert draft(page).visit == draft(shown).visit


def test_the_chart_says_in_words_what_it_shows(page):
    more(opened(page, 3), "ways")
    chart = page.get("plotly_chart")[0]
    assert "Partial repair: " in chart.proto.alt
    assert "expected" in chart.proto.alt


def test_the_same_piano_opened_twice_has_fields_of_its_own(page):
    first = draft(opened(page, 1)).id
    go(page, "visits")
    assert draft(opened(page, 1)).id != first


def test_the_way_about_leads_to_every_section(page):
    opened(page, 1)
    page.button(key="go_condition").click().run()
    assert page.title[0].value == "Condition"


@pytest.mark.parametrize("section", ["verdict", "work", "what_if", "client", "table_rows", "papers", "inspect"])
def test_what_is_not_evaluated_yet_has_no_verdict_no_price_and_no_chart_on_any_page(page, section):
    found = shop.appraisal_of(draft(opened(page, NOT_YET)).visit, {}, load_shop())
    assert not found.ready
    go(page, section)
    if section == "inspect":
        page.toggle(key=draft(page).key("peek")).set_value(True).run()
    elif section == "papers":
        page.pills(key=draft(page).key("paper_what")).set_value("quotation").run()
    text = told(page)
    assert section == "table_rows" or "ot evaluated yet" in text
    assert not page.get("plotly_chart")
    for option in found.options:
        assert verdict_sentence(replace(found, ready=True, clarity="clear", verdict=option.option)) not in text
        for price in (option.fixed_price, option.most_price, option.expected_price, option.expected_net):
            assert price < 1 or money(price) not in text


def test_the_list_says_of_what_is_not_evaluated_yet_only_that(page):
    name = f"open_{demo_id(NOT_YET)}"
    words = [element.value for element in all_visits(page).markdown]
    assert words.count("**Not evaluated yet.**") == 1
    assert name in [button.key for button in page.button]
