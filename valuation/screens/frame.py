"""What stands on every page: the way about, which piano it is, that demo data is invented, and what the tool isn't."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn, cast

import streamlit as st

from valuation.access.accounts import Role
from valuation.engine.appraised_advice import CautionResult
from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import KINDS, Tables
from valuation.facts.prices import PricesByState
from valuation.language import say, say_many
from valuation.report.labels import day_words
from valuation.screens import page_list, piano_head, shop, way_about
from valuation.screens.safe import md
from valuation.screens.sign_in import role
from valuation.screens.state import (
    Draft,
    close_current,
    current,
    device,
    enter_as,
    enter_on,
    fill,
    make_current,
    session_catching,
    who,
)
from valuation.service import Appraisal, NotInForce, Study, UserError
from valuation.service.visits import Shop, StoreError

_STYLES = tuple(Path(__file__).parent / f"{name}.css" for name in ("page", "print"))
_VISIT, _BY, _DEVICE = "visit", "by", "device"


def begin(here: str, step: str = "") -> tuple[Draft, Tables]:
    """Draw the head of a page; without a visit go to the list.

    Parameters
    ----------
    here : str
        File of this page, a key of `page_list.PAGES`.
    step : str
        Where on the page one stands, if it has steps; see `head`.
    """
    draft, book = before_drawing(here)
    head(here, draft, step)
    return draft, book


def before_drawing(here: str) -> tuple[Draft, Tables]:
    """Take over what was entered, and read the visit and the tables: all that comes before the first thing drawn.

    A browser draws what has come so far anew each time that something comes; so what takes time comes first.
    """
    _catch_up()
    shop.speak_as_chosen()  # anew: another language may have been chosen just now
    book = shop_tables()
    if not who():
        enter_as(st.query_params.get(_BY, ""))
    enter_on(st.query_params.get(_DEVICE, ""))
    draft = _on_the_table(open_store(), book)
    if here not in page_list.WITHOUT_A_VISIT:
        if draft is None:
            go(page_list.FIRST)
        if not draft.recorded.can_be_drawn and here != page_list.HISTORY:
            _cant_be_drawn(here, draft)
    return cast(Draft, draft), book  # pages that need no visit don't ask for it


def pages() -> dict[str, str]:
    """Return file and name of each page that the person may open; the others aren't there for them at all."""
    return {page: title for page, title in page_list.PAGES.items() if may_open(page)}


def may_open(page: str) -> bool:
    """Tell whether a page is for the person."""
    return page not in page_list.OWNERS_ONLY or role() == Role.OWNER


def _dress() -> None:
    for style in _STYLES:
        st.html(style)


def head(here: str, draft: Draft | None, step: str = "") -> None:
    """Draw the way about, and which piano it is.

    Parameters
    ----------
    step : str
        Where on the page one stands, if it has steps: at a new one the page begins anew at its heading.
    """
    _dress()
    way_about.mark_place(here, step)
    far = {
        page: title
        for page, title in pages().items()
        if page not in page_list.NEAR and (draft or page in page_list.WITHOUT_A_VISIT)
    }
    near = (
        page_list.NEAR
        if draft
        else {page: far.pop(page) for page in (page_list.FIRST, page_list.TODAY, page_list.JOBS) if page in far}
    )
    of_the_shop = {page: far.pop(page) for page in list(far) if page in page_list.WITHOUT_A_VISIT}
    way_about.draw(here, near, {say("The shop"): of_the_shop, say("This piano"): far}, go)
    _tables_set_aside(here)
    if draft is not None and here not in page_list.WITHOUT_A_VISIT:
        st.query_params.update(_address(draft))
        with st.container():  # always one box: what comes and goes above a widget would take a tap on it back
            piano_head.which_piano(draft)
            piano_head.not_stored(draft)


def _tables_set_aside(here: str) -> None:
    """Say that the tables last put in force can't be read, and which are used: every figure rests on them."""
    held = shop.tables_in_force()
    if not held.set_aside:
        return
    with st.container(border=True, key="fault_tables"):
        day = day_words(held.set_aside[0].change.at.astimezone().date())
        told = say("The tables that were put in force on {day} can't be read. Those before them are used.", day=day)
        st.markdown(f"**{told}**")
        if here != page_list.TABLES and may_open(page_list.TABLES):
            st.markdown(say("Why, and what to do, stands on the page 'Our tables'."))


def head_at_the_table(here: str, draft: Draft, step: str) -> None:
    """Draw the head of a page that a family looks at: which piano it is and one quiet way back; no way about.

    Parameters
    ----------
    step : str
        Where in the talk one stands; see `head`.
    """
    _dress()
    way_about.mark_place(here, step, say("The steps of the talk"))
    st.query_params.update(_address(draft))
    with st.container(horizontal=True, key="table_head", vertical_alignment="center"):
        with st.container(key="table_piano", gap=None):
            st.text(draft.visit.title)
            if draft.demo:
                st.text(say("Invented demo data"))
        if st.button(say("End the talk"), key="leave_table", type="tertiary"):
            go(page_list.VERDICT)
    with st.container():  # always one box, as in `head`
        piano_head.not_stored(draft)


def _cant_be_drawn(here: str, draft: Draft) -> NoReturn:
    """Say why no page of this visit can be drawn, let that be mended, and stop."""
    head(here, draft)
    with st.container(border=True, key="fault_kind"):
        st.markdown(f"**{why_not_drawn()}**")
        st.markdown(say("Say which, and all its pages are there; nothing of it is lost."))
        with st.container(horizontal=True):
            for kind in KINDS:
                st.button(
                    say(kind).capitalize(), key=draft.key(f"is_{kind}"), on_click=draft.press,
                    args=(draft.keep, "piano.kind", kind),
                )  # fmt: skip
            if st.button(say("History"), key="to_history"):
                go(page_list.HISTORY)
    st.stop()


def why_not_drawn() -> str:
    """Return what is said of a visit whose pages can't be drawn."""
    return say("This visit can't be shown: nobody has said whether it is an upright or a grand.")


def go(page: str) -> NoReturn:
    """Go to another page with the visit that is on the table: its address says which, so that a reload finds it."""
    draft = current()
    st.switch_page(page, query_params=_address(draft) if draft else None)


def go_to_part(page: str, key: str, part: str) -> NoReturn:
    """Go to one part of another page, by the choice that shows it."""
    fill(key, part)
    go(page)


def _address(draft: Draft) -> dict[str, str]:
    return {_VISIT: draft.visit_id, _DEVICE: device()} | ({_BY: who()} if who() else {})


def _catch_up() -> None:
    """Take over what was entered or pressed since the last run got here, before anything else is read or drawn."""
    session_catching().catch_up()
    if draft := current():
        draft.catching.catch_up()


def open_store() -> Shop:
    """Return the store; where it can't be opened, say why and what to do, and stop."""
    try:
        return shop.store()
    except StoreError as error:
        _dress()
        st.title(say("The store of visits can't be opened"), anchor=False)
        with st.container(border=True, key="fault_store"):
            for problem in error.problems:
                st.text(str(problem))
        st.stop()


def shop_tables() -> Tables:
    """Return the shop's tables in force; there is always a last good version."""
    open_store()
    return shop.tables()


def appraised(draft: Draft, book: Tables) -> Appraisal:
    """Return the appraisal of the draft; where the tables hold nothing for its day, say so and stop."""
    try:
        return shop.appraisal_of(draft.visit, draft.set_levels, book, sold(draft, book))
    except NotInForce as error:
        nothing_in_force(error)


def appraisal_or_none(draft: Draft, book: Tables) -> Appraisal | None:
    """Return the appraisal; None where nobody looked yet, or the tables hold nothing for its day."""
    if not draft.recorded.can_be_drawn or not draft.visit.findings:
        return None
    try:
        return shop.appraisal_of(draft.visit, draft.set_levels, book, sold(draft, book))
    except NotInForce:
        return None


def seen_so_far(draft: Draft, book: Tables) -> tuple[tuple[FindingResult, ...], tuple[CautionResult, ...]]:
    """Return how each finding reads, and the stop rules it calls up."""
    try:
        return shop.seen_of(draft.visit, draft.set_levels, book, sold(draft, book))
    except NotInForce as error:
        nothing_in_force(error)


def studied(draft: Draft, book: Tables) -> Study:
    """Return the visit made ready for 'what if'."""
    try:
        return shop.study_of(draft.visit, draft.set_levels, book, sold(draft, book))
    except NotInForce as error:
        nothing_in_force(error)


def sold(draft: Draft, book: Tables) -> PricesByState | None:
    """Return the prices by the shop's own sales, None where the verdict doesn't use them."""
    if draft.sales is None or not draft.use_sales:
        return None
    return shop.fit_of(draft.sales, draft.visit, book).prices_by_state(draft.visit.piano)


def prices_from(draft: Draft, book: Tables) -> str:
    """Return what the prices rest on; empty where it is the band table alone because no sales are used."""
    if draft.sales is None or not draft.use_sales:
        return ""
    # here, not above: most verdicts come without sales
    from valuation.sales.words import weight_words

    return weight_words(shop.fit_of(draft.sales, draft.visit, book))


def nothing_in_force(error: NotInForce) -> NoReturn:
    """Say that the tables hold nothing for the day of the visit, and stop."""
    with st.container(border=True, key="fault_day"):
        st.markdown(f"**{say('No price can be given for the day of this visit.')}**")
        st.text(str(error))
    st.stop()


def tell(error: UserError) -> None:
    """Tell every problem, one a line."""
    count = len(error.problems)
    with st.container(border=True, key="fault_file"):
        counted = say_many("{count} problem to mend.", "{count} problems to mend.", count)
        st.markdown(f"**{counted}** {say('What was on the table stays as it was.')}")
        for problem in error.problems:
            st.text(str(problem))


def end(book: Tables) -> None:
    """Draw the foot: the cautions that hold for every piano."""
    said = [md(say(row.text)) for row in book.cautions if row.always]
    if shop.tables_in_force().change is None:
        said.append(
            say("Prices, bands and hours come from the tables that the tool ships with: they are **invented**.")
        )
    elif any_invented(book):
        said.append(say("Some prices in the shop's tables are still the **invented** ones that the tool ships with."))
    with st.container(key="foot"), st.expander(say("No certified appraisal: what to bear in mind")):
        st.markdown("\n\n".join(said))
    with st.container(key="foot_printed"):  # a sheet can't be unfolded
        st.markdown("\n\n".join(said))


def any_invented(book: Tables) -> bool:
    """Tell whether a price band or a rate of the tables is still invented."""
    invented = {row.id for row in book.sources if row.kind == "invented"}
    priced: tuple[Sequence[Any], ...] = (book.bands, book.rates, book.replacements)
    return any(row.source in invented for rows in priced for row in rows)


def _on_the_table(store: Shop, book: Tables) -> Draft | None:
    """Return the visit that the address names, else the one that was open; read anew from the store."""
    draft, wanted = current(), st.query_params.get(_VISIT, "")
    try:
        if wanted and (draft is None or draft.visit_id != wanted):
            return make_current(wanted, store, book)
        if draft is not None:
            draft.store = store
            draft.read(book)
        return draft
    except StoreError as error:
        close_current()
        st.query_params.clear()
        with st.container(border=True, key="fault_visit"):
            st.text(str(error))
        return None
