"""The page 'Market' as Streamlit's own test runner sees it, always entered through app.py."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from demo_shop import draft, go, start
from demo_shop import opened as opened_demo
from streamlit.testing.v1 import AppTest

from data_demo.sales.make_sales import draw_market
from tests.price_worlds import World, draw_world
from valuation.report.format import money
from valuation.report.words import verdict_sentence
from valuation.sales import PriceIndex, compare, read_sales, to_bytes
from valuation.screens import shop
from valuation.screens.market.chart import AXES
from valuation.screens.safe import md
from valuation.service import appraise, demo_visits, load_shop, read_visit_file
from valuation.service.sales import DEMO, fit_kind, make_book, open_sales

UPRIGHT = 3
TEXT = DEMO.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tables():
    return load_shop()


@pytest.fixture
def page() -> AppTest:
    """The page 'Market' with an invented upright on the table, and no sales."""
    return opened(start(), UPRIGHT)


@pytest.fixture
def with_sales(page) -> AppTest:
    """The same with the invented sales."""
    press(page.pills(key=draft(page).key("sales_from")).set_value("The invented sales").run(), "take_sales")
    return page


def opened(page: AppTest, number: int) -> AppTest:
    return go(opened_demo(page, number), "market")


def press(page: AppTest, key: str) -> AppTest:
    page.button(key=key).click().run()
    assert not page.exception
    return page


def told(page: AppTest) -> str:
    """Everything that is written on the page, figures in tables included."""
    kinds = (page.title, page.header, page.subheader, page.markdown, page.text)
    pieces = [*(element.value for kind in kinds for element in kind), *(box.label for box in page.expander)]
    return "\n".join([*pieces, *(html.value for html in page.html)]).replace("\\", "")


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


def table(page: AppTest, first: str, second: str) -> list[list[str]]:
    """The rows of the table whose first two headings are these."""
    for html in page.html:
        if "<table" in html.value:
            reader = _Cells()
            reader.feed(html.value)
            if reader.rows[0][:2] == [first, second]:
                return reader.rows
    raise AssertionError(f"there is no table '{first}', '{second}'")


def upload(page: AppTest, data: bytes, name: str) -> AppTest:
    page.pills(key=draft(page).key("sales_from")).set_value("A file of yours").run()
    page.file_uploader(key=draft(page).key("sales_file")).set_value([(name, data, "text/csv")]).run()
    assert not page.exception
    return page


def buttons(page: AppTest) -> list[str]:
    return [button.label for button in page.button]


def sale_field(page: AppTest, name: str, chosen: str):
    held = draft(page)
    return page.text_input(key=held.key(f"sale_{name}_{chosen}_{held.sales.hash}"))


def choose_sale(page: AppTest, name: str) -> None:
    held = draft(page)
    page.selectbox(key=held.key(f"sale_chosen_{held.sales.hash}")).set_value(name).run()


def save(page: AppTest) -> None:
    next(button for button in page.button if button.label == "Save this sale").click().run()
    assert not page.exception


def test_without_sales_the_table_of_bands_speaks_alone_and_the_values_are_there(page):
    assert "You have 0 sales of uprights: your table of price bands speaks alone." in told(page)
    assert "There is no sale to compare with." in told(page)
    assert [row[0] for row in table(page, "Value", "Kind of value")[1:]][:2] == ["as it stands", "after: rebuild"]
    assert "Use these sales for the verdict" not in [toggle.label for toggle in page.toggle]


def test_the_invented_sales_are_said_to_be_invented(with_sales):
    assert len(draft(with_sales).sales.sales) == 180
    assert "Invented sales" in told(with_sales)
    assert "not a certified appraisal" in told(with_sales)


def test_sales_on_the_table_change_no_verdict_until_the_switch_is_turned(with_sales, tables):
    path = demo_visits()[UPRIGHT - 1][1]
    visit = read_visit_file(path, tables, shop.today())
    model = fit_kind(open_sales(DEMO, tables, shop.today())[0], tables, "upright", visit.on)
    found = appraise(visit, tables, on=visit.on, sold=model.prices_by_state(visit.piano))
    alone = appraise(visit, tables, on=visit.on)

    def shown(page: AppTest) -> str:
        more = draft(go(page, "verdict")).key("more")
        figures = page if page.pills(key=more).value == "ways" else page.pills(key=more).set_value("ways").run()
        return next(row for row in table(figures, "Option", "Price") if row[0].startswith("Partial repair"))[5]

    by_table, by_sales = (one.option("partial_repair").expected_net for one in (alone, found))
    assert money(by_table) != money(by_sales)
    assert shown(with_sales) == money(by_table)
    page = go(with_sales, "market")
    page.toggle(key=draft(page).key("use_sales")).set_value(True).run()
    assert shown(page) == money(by_sales)
    assert page.title[0].value == md(verdict_sentence(found))
    assert "prices start from your table of price bands" in told(page)


def test_every_page_says_that_its_prices_come_from_sales(with_sales):
    with_sales.toggle(key=draft(with_sales).key("use_sales")).set_value(True).run()
    for section in ("verdict", "inspect", "condition", "work", "what_if", "table_rows"):
        assert "Prices come from the sales of **sales.csv** too" in told(go(with_sales, section)), section


def test_the_rows_behind_a_reason_count_the_sales_and_show_the_band(with_sales):
    with_sales.toggle(key=draft(with_sales).key("use_sales")).set_value(True).run()
    page = go(with_sales, "table_rows")
    page.pills(key=draft(page).key("trace_kind")).set_value("A reason").run()
    reasons = page.selectbox(key=draft(page).key("trace_A reason"))
    worth = next(one for one in reasons.options if one.startswith("What the piano is still worth"))
    reasons.set_value(worth).run()
    assert not page.exception
    assert "bands.csv, line " in told(page)
    assert "of the shop's own sales: see the page 'Market'" in told(page)


def test_the_sales_stay_when_another_piano_is_opened(with_sales):
    with_sales.toggle(key=draft(with_sales).key("use_sales")).set_value(True).run()
    page = opened(with_sales, 1)
    assert len(draft(page).sales.sales) == 180
    assert "sales of grands" in told(page)
    assert "Prices come from the sales of" in told(page)


def test_sales_taken_off_the_table_leave_the_verdict_to_the_bands(with_sales):
    with_sales.toggle(key=draft(with_sales).key("use_sales")).set_value(True).run()
    page = press(with_sales, "sales_off")
    assert (draft(page).sales, draft(page).use_sales) == (None, False)
    assert "Prices come from the sales of" not in told(page)


def test_every_fault_of_an_upload_is_told_and_good_rows_are_kept_only_on_request(page):
    lines = TEXT.splitlines()
    lines[2] = lines[2].replace(",private,", ",garage,")
    lines[4] = lines[4].replace(",EUR,", ",GBP,")
    upload(page, "\n".join(lines).encode(), "ours.csv")
    said = [text.value for text in page.text]
    assert any(line.startswith("ours.csv:3: sale_kind: 'garage' is not a choice") for line in said)
    assert any(line.startswith("ours.csv:5: currency: 'GBP' is not the shop's money") for line in said)
    assert draft(page).sales is None
    assert "Keep the 178 good rows" in buttons(page)
    press(page, "take_sales")
    assert len(draft(page).sales.sales) == 178


def test_a_workbook_and_a_price_index_of_ones_own_are_taken(page, tables, tmp_path):
    sales = draw_market(5, 30, "upright")
    path = tmp_path / "ours.xlsx"
    path.write_bytes(to_bytes(sales, ".xlsx"))
    upload(page, path.read_bytes(), "ours.xlsx")
    index = b"on,upright,grand,source,note\n2018-01-01,1,1,invented,\n2026-01-01,2,2,invented,\n"
    page.file_uploader(key=draft(page).key("index_file")).set_value([("index.csv", index, "text/csv")]).run()
    press(page, "take_sales")
    held = draft(page).sales
    assert held.sales == read_sales(path, tables, today=shop.today()).sales
    assert [row.upright for row in held.index.rows] == [1, 2]
    page.session_state[draft(page).key("origins")] = True
    page.run()
    assert "index.csv:" in told(page)  # the grid names the rows that it used


@pytest.mark.parametrize(
    ("data", "name", "fault"),
    [
        (b"\xff\xfe\x00x", "x.csv", "x.csv:1: the file is UTF-16"),
        (b"PK not a workbook", "x.xlsx", "x.xlsx: the workbook can't be read"),
        (b"id;price\n1;2\n", "x.csv", "x.csv:1: the columns are separated by semicolons"),
        (b"", "x.csv", "x.csv: the file is empty"),
    ],
    ids=["utf16", "no workbook", "semicolons", "empty"],
)
def test_rubbish_is_told_and_not_used(page, data, name, fault):
    upload(page, data, name)
    assert any(text.value.startswith(fault) for text in page.text)
    assert draft(page).sales is None
    assert "take_sales" not in [button.key for button in page.button]


def test_likely_duplicates_are_told_and_both_are_kept(page):
    line = TEXT.splitlines()[5]
    name = line.partition(",")[0]
    upload(page, (TEXT + line.replace(name, "again") + "\n").encode(), "ours.csv")
    assert f"line 182: 'again' looks like the same piano as '{name}' told twice" in told(page)
    press(page, "take_sales")
    assert {name, "again"} <= {sale.id for sale in draft(page).sales.sales}


def test_the_shops_own_file_is_offered_where_it_is_named(monkeypatch, tmp_path):
    path = tmp_path / "ours.csv"
    path.write_bytes(to_bytes(draft_sales := draw_market(7, 14, "upright"), ".csv"))
    monkeypatch.setenv(shop.SALES_FILE, str(path))
    page = opened(start(), UPRIGHT)
    page.pills(key=draft(page).key("sales_from")).set_value("The shop's own file").run()
    press(page, "take_sales")
    assert draft(page).sales.sales == tuple(draft_sales)


def test_a_changed_sale_counts_at_once_and_the_others_stay(with_sales):
    page = with_sales
    before = draft(page).sales
    choose_sale(page, "demo_033")
    sale_field(page, "price", "demo_033").set_value("9999")
    save(page)
    after = draft(page).sales
    changed = [(b, a) for b, a in zip(before.sales, after.sales, strict=True) if b != a]
    assert [(b.id, a.id, a.price) for b, a in changed] == [("demo_033", "demo_033", 9999)]
    assert "Saved: demo_033." in told(page)
    assert table(page, "Condition", "Likely") != []


def test_a_faulty_sale_is_told_is_not_saved_and_what_was_typed_stays(with_sales):
    page = with_sales
    before = draft(page).sales
    choose_sale(page, "demo_033")
    sale_field(page, "price", "demo_033").set_value("9,999")
    sale_field(page, "sold_on", "demo_033").set_value("yesterday")
    save(page)
    assert "Not saved: 2 to mend." in told(page)
    assert "price: '9,999' has a comma" in told(page)
    assert "sold_on: 'yesterday' is not a day" in told(page)
    assert sale_field(page, "price", "demo_033").value == "9,999"
    assert draft(page).sales == before


def test_a_first_sale_can_be_entered_by_hand_and_taken_out_again(page):
    held = draft(page)
    empty = make_book("", (), PriceIndex()).hash  # the same for every book without sales
    for name, text in {"sold_on": "2026-01-20", "price": "1250", "size_mm": "1250", "source": "ledger"}.items():
        page.text_input(key=held.key(f"sale_{name}_A new sale_{empty}")).set_value(text)
    save(page)
    assert [(sale.id, sale.price) for sale in held.sales.sales] == [("sale_1", 1250)]
    assert "You have 1 sale of an upright: prices start from your table" in told(page)
    choose_sale(page, "sale_1")
    press(page, held.key("sale_out"))
    assert held.sales.sales == ()


def test_each_sale_of_the_grid_adds_up_to_the_last_digit(with_sales):
    _, *rows = table(with_sales, "Sale", "Price")
    assert 5 <= len(rows) <= 7
    for row in rows:
        *summands, adjusted = (float(cell.replace(",", "") or 0) for cell in row[1:])
        assert sum(summands) == adjusted


def test_the_grid_shows_the_sales_that_the_model_finds_nearest(with_sales, tables):
    held = draft(with_sales)
    model = fit_kind(held.sales, tables, "upright", held.visit.on)
    states = {row[0] for row in table(with_sales, "Condition", "Likely")[1:]}
    state = next(one for one in states if one.endswith(" (compared as)")).removesuffix(" (compared as)")
    nearest = [one.sale.id for one in compare(model, held.visit.piano, state).comparables]
    assert [row[0].removesuffix(" (weak)") for row in table(with_sales, "Sale", "Price")[1:]] == nearest


def test_a_value_for_insurance_tax_or_court_names_the_appraiser(page):
    for purpose in ("decision", "sale", "insurance", "tax", "court"):
        page.pills(key=draft(page).key("purpose")).set_value(purpose).run()
        needs = f"A value for {purpose} can't come from us. Ask for it: a publicly appointed and sworn expert" in told(
            page
        )
        assert needs == (purpose not in ("decision", "sale")), purpose


def test_each_value_has_its_definition_with_its_source_market_and_day(page):
    assert "(BewG § 9; ErbStG § 12). Market: ordinary dealings" in told(page)
    assert "Day: 21 April 2026." in told(page)


@pytest.mark.parametrize("axis", AXES)
def test_the_map_says_in_words_what_it_shows(with_sales, axis):
    with_sales.session_state[draft(with_sales).key("map")] = True
    with_sales.run().pills(key=draft(with_sales).key("map_axis")).set_value(axis).run()
    said = with_sales.get("plotly_chart")[0].proto.alt
    assert said.startswith(f"Price in EUR against {axis}, ")
    assert "sales of uprights" in said
    assert "8 in 10 between" in said


def test_a_file_name_is_never_read_as_markdown(page):
    upload(page, TEXT.encode(), "![x](http://tracker.example/x.png).csv")
    press(page, "take_sales")
    page.toggle(key=draft(page).key("use_sales")).set_value(True).run()
    for element in [*page.title, *page.header, *page.markdown]:
        assert "](http" not in element.value


def test_a_visit_before_the_tables_prices_is_told_and_not_fatal(page):
    page.session_state["open_file"] = True
    go(page, "visits")
    old = b'title = "Old"\ndate = 2001-03-01\n[piano]\nkind = "upright"\n'
    page.file_uploader(key="visit_file").set_value([("old.toml", old, "application/toml")]).run()
    press(page, "open_upload")
    assert "No price can be given for the day of this visit" in told(go(page, "market"))


def test_a_table_off_the_sales_is_said_and_can_be_moved(tables):
    page = opened(start(), UPRIGHT)
    sales = [replace(sale, source="ledger") for sale in draw_world(World(level=2.0), tables, "upright", 25, 3).sales]
    early = [replace(sale, sold_on=sale.sold_on - timedelta(days=60)) for sale in sales]
    press(upload(page, to_bytes(early, ".csv"), "ours.csv"), "take_sales")
    assert "times too low (" in told(page)
    press(page, "bands_in")
    assert "The table was moved; the one before is kept" in told(page)
    assert "the table as a whole may be right" in told(page)
    assert shop.tables().bands[0].sound > 1.5 * tables.bands[0].sound


def test_invented_sales_move_no_table(with_sales):
    assert "These sales are invented: the table is not moved by them." in told(with_sales)
    assert "bands_in" not in [button.key for button in with_sales.button]
