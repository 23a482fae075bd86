"""The demo shop under test: a store of its own for every test, and the way to its visits."""

from __future__ import annotations

from pathlib import Path

from streamlit.testing.v1 import AppTest

from valuation.screens import shop
from valuation.screens.state import STANDS, Draft
from valuation.screens.what_stands import STATIONS
from valuation.service import demo_visits, load_shop, read_visit_file

ROOT = Path(__file__).resolve().parents[1]
PAGES = "valuation/screens/pages"


def start(**query: str) -> AppTest:
    """The app, drawn once; `query` is what stands in its address."""
    page = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    for name, value in query.items():
        page.query_params[name] = value
    return page.run()


def demo_id(number: int) -> str:
    """Id in the store of one of the invented pianos, by the number that its file begins with."""
    path = next(path for _, path in demo_visits() if path.stem.startswith(f"{number}_"))
    title = read_visit_file(path, load_shop(), shop.today()).title
    cards, _ = shop.store().list_visits(limit=1000)
    return next(card.id for card in cards if card.title == title)


def all_visits(page: AppTest) -> AppTest:
    """Have the first page show all visits, not only the latest."""
    if "all_visits" in [button.key for button in page.button]:
        page.button(key="all_visits").click().run()
    return page


def opened(page: AppTest, number: int) -> AppTest:
    """Open one of the invented pianos from the list; it shows its verdict."""
    name = f"open_{demo_id(number)}"
    if name not in [button.key for button in all_visits(page).button]:
        all_visits(go(page, "visits"))
    page.button(key=name).click().run()
    assert not page.exception
    return page


def go(page: AppTest, section: str) -> AppTest:
    page.switch_page(f"{PAGES}/{section}.py").run()
    assert not page.exception
    return page


def draft(page: AppTest) -> Draft:
    return page.session_state["draft"]


def line_of(page: AppTest, check: str, row: str = "") -> str:
    """Key of the field in which a check is typed in now from a form."""
    return draft(page).field_key(f"short_{check}_{row}_{draft(page).system}", f"finding.{check}")


def open_form(page: AppTest) -> AppTest:
    """Go to where a form is typed in, with every section of it open."""
    go(page, "type_in")
    for section in STATIONS:
        page.session_state[draft(page).key(f"form_{section}")] = True
    return page.run()


def inspected(page: AppTest) -> AppTest:
    """Go to what was found, with all that was entered at a station open."""
    go(page, "inspect").session_state[draft(page).key(STANDS)] = True
    return page.run()


def type_in(page: AppTest, check: str, text: str, row: str = "") -> AppTest:
    """Type in one line of a form; stay on that page."""
    if line_of(page, check, row) not in [field.key for field in page.text_input]:
        open_form(page)
    page.text_input(key=line_of(page, check, row)).set_value(text).run()
    assert not page.exception
    return page


def told(page: AppTest) -> str:
    """Everything that is written on the page, figures in tables included."""
    kinds = (page.title, page.header, page.subheader, page.markdown, page.text)
    pieces = [element.value for kind in kinds for element in kind]
    return "\n".join([*pieces, *(html.value for html in page.html)]).replace("\\", "")
