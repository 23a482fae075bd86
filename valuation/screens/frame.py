"""What stands on every page: the way about, which piano it is, that demo data is invented, and what the tool isn't."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

import streamlit as st

from valuation.core.prices import PricesByState
from valuation.core.rows import Tables
from valuation.core.visit import Visit
from valuation.report.labels import day_words, size_words, year_words
from valuation.screens import shop
from valuation.screens.safe import md
from valuation.screens.state import Draft, current, put_on_the_table
from valuation.service import Appraisal, NotInForce, Study, UserError, demo_visits, read_visit_file

FOLDER = "valuation/screens/pages"
FIRST = f"{FOLDER}/pianos.py"
VERDICT, FINDINGS = f"{FOLDER}/verdict.py", f"{FOLDER}/findings.py"
PAGES = {
    FIRST: "Pianos",
    VERDICT: "Verdict",
    FINDINGS: "Findings",
    f"{FOLDER}/pins.py": "Tuning pins",
    f"{FOLDER}/measure.py": "Measurements",
    f"{FOLDER}/condition.py": "Condition",
    f"{FOLDER}/work.py": "Work and price",
    f"{FOLDER}/what_if.py": "What if",
    f"{FOLDER}/market.py": "Market",
    f"{FOLDER}/table_rows.py": "Table rows",
}
"""File of each page and its name, in the order of the way about."""

_STYLE = Path(__file__).with_name("page.css")
_IN_URL = "piano"


def begin(here: str) -> tuple[Draft, Tables]:
    """Draw the head of a page; without a piano go to the list.

    Parameters
    ----------
    here : str
        File of this page, a key of `PAGES`.
    """
    st.html(_STYLE)
    book = shop_tables()
    draft = current() or _named_in_url(book)
    if draft is None and here != FIRST:
        st.switch_page(FIRST)
    if draft is not None:
        _way_about(here)
        if here != FIRST:
            _which_piano(draft)
    return draft, book


def shop_tables() -> Tables:
    """Return the shop's tables; where they can't be used, tell every fault and stop."""
    try:
        return shop.tables()
    except UserError as error:
        st.title("The tables can't be used", anchor=False)
        tell(error)
        st.stop()


def appraised(draft: Draft, book: Tables) -> Appraisal:
    """Return the appraisal of the draft; where the tables hold nothing for its day, say so and stop."""
    try:
        return shop.appraisal_of(draft.visit, draft.pinned, book, sold(draft, book))
    except NotInForce as error:
        nothing_in_force(error)


def studied(draft: Draft, book: Tables) -> Study:
    """Return the visit made ready for 'what if'."""
    try:
        return shop.study_of(draft.visit, draft.pinned, book, sold(draft, book))
    except NotInForce as error:
        nothing_in_force(error)


def sold(draft: Draft, book: Tables) -> PricesByState | None:
    """Return the prices by the shop's own sales, None where the verdict doesn't use them."""
    if draft.sales is None or not draft.use_sales:
        return None
    return shop.fit_of(draft.sales, draft.visit, book, curved=draft.curved).model.prices_by_state(draft.visit.piano)


def nothing_in_force(error: NotInForce) -> NoReturn:
    """Say that the tables hold nothing for the day of the visit, and stop."""
    with st.container(border=True, key="fault_day"):
        st.markdown("**No price can be given for the day of this visit.**")
        st.text(str(error))
    st.stop()


def tell(error: UserError) -> None:
    """Tell every problem, one a line."""
    count = len(error.problems)
    with st.container(border=True, key="fault_file"):
        st.markdown(f"**{count} problem{'s' if count > 1 else ''} to mend.** What was on the table stays as it was.")
        for problem in error.problems:
            st.text(str(problem))


def end(book: Tables) -> None:
    """Draw the foot: the cautions that hold for every piano."""
    said = [md(row.text) for row in book.cautions if row.always]
    if shop.own_folder() is None:
        said.append("Prices, bands and hours come from the tables that the tool ships with: they are **invented**.")
    with st.container(key="foot"):
        st.markdown("\n\n".join(said))


def open_demo(path: Path, book: Tables) -> None:
    """Put one of the invented pianos on the table."""
    visit = read_visit_file(path, book, shop.today())
    put_on_the_table(visit, path.stem, demo=True)


def _named_in_url(book: Tables) -> Draft | None:
    """Open the demo piano that the address names: a reload starts a new session, which knows nothing else."""
    wanted = st.query_params.get(_IN_URL)
    for _, path in demo_visits():
        if path.stem == wanted:
            open_demo(path, book)
    return current()


def _way_about(here: str) -> None:
    with st.container(horizontal=True, key="way", gap="small"):
        for path, title in PAGES.items():
            kind = "primary" if path == here else "secondary"
            if st.button(title, key=f"go_{Path(path).stem}", type=kind) and path != here:
                st.switch_page(path)


def _which_piano(draft: Draft) -> None:
    if draft.demo:
        st.query_params[_IN_URL] = draft.name
    elif _IN_URL in st.query_params:
        del st.query_params[_IN_URL]
    with st.container(key="piano", gap=None):
        st.text(draft.visit.title)
        with st.container(key="piano_facts"):
            st.text(facts(draft.visit))
    if draft.demo:
        with st.container(key="mark"):
            st.markdown("**Invented demo data**: the piano, its people and all prices are made up.")
    if draft.sales is not None and draft.use_sales:
        with st.container(key="mark_sales"):
            st.markdown(f"Prices come from the sales of **{md(draft.sales.name)}** too: see the page 'Market'.")
    if draft.changed:
        with st.container(key="mark_changed"):
            st.markdown("Changed here, and not stored yet: **download the visit file** to keep it.")


def facts(visit: Visit) -> str:
    """Return in one line which piano it is."""
    piano = visit.piano
    said = [
        piano.kind,
        year_words(piano),
        size_words(piano),
        piano.maker,
        visit.place,
        f"visited {day_words(visit.on)}",
    ]
    return " · ".join(fact for fact in said if fact)
