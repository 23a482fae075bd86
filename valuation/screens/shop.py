"""What all sessions share: the tables, each visit made ready once, and the fit of its sales."""

from __future__ import annotations

import gc
import os
from datetime import UTC, date, datetime
from hashlib import sha256
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import streamlit as st

from valuation import service
from valuation.engine.appraised_advice import CautionResult
from valuation.engine.appraised_condition import FindingResult
from valuation.engine.pack import local
from valuation.engine.rows import Tables
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Visit
from valuation.language import ENGLISH, LANGUAGES, language, speak
from valuation.report.talk.as_wanted import AsWanted, as_wanted
from valuation.report.wishes import Wishes
from valuation.service import Appraisal, Study, backups, decide_at, findings_of, report
from valuation.service.backups import Restored
from valuation.service.people_at_work import PEOPLE
from valuation.service.shop_tables import InForce
from valuation.service.visits import Shop, StoreError, open_shop
from valuation.waiting import Heard

if TYPE_CHECKING:
    from valuation.sales import SalesModel
    from valuation.service.bench import HoursAhead, OnTheBench
    from valuation.service.books import Books
    from valuation.service.front import NewPiano
    from valuation.service.lessons import Lessons
    from valuation.service.outcomes import Happened
    from valuation.service.ringing import ToRing
    from valuation.service.sales import SalesBook

TABLES_FOLDER = "VALUATION_TABLES"
"""Environment variable that names a folder of tables, taken over where the shop has none of its own yet."""

SALES_FILE = "VALUATION_SALES"
"""Environment variable that names the shop's own file of sales, to be offered on the page 'Market'."""

LANGUAGE = "VALUATION_LANGUAGE"
"""Environment variable that names the language, such as ``de``, where the shop has chosen none on its page."""

DATABASE, DATA_FOLDER = "DATABASE_URL", "VALUATION_DATA"
"""Environment variables: a PostgreSQL server for a shop of many; the folder of the store and of the photos."""

_KEPT = 24
"""How many visits are kept ready at once; each takes about 5 MB."""


def today() -> date:
    """Return the day at the place where the tool runs."""
    return datetime.now(UTC).astimezone().date()


def now() -> datetime:
    """Return the time, as entries are stamped with it."""
    return datetime.now(UTC)


def store() -> Shop:
    """Return the shop's store, opened once for all sessions; the demo shop is in it at the very first start."""
    return _start(_places())[0]


def brought_back() -> Restored | StoreError | None:
    """Return what came of the copy that was to be brought back at this start; None where none was asked for."""
    return _start(_places())[1]


def _places() -> tuple[tuple[str, str], ...]:
    return tuple((name, os.environ.get(name, "")) for name in (DATABASE, DATA_FOLDER, TABLES_FOLDER))


@st.cache_resource(show_spinner=False)
def keep_loaded_things_for_good() -> None:
    """Leave what is loaded by now, libraries and tables, out of every later search for garbage.

    Streamlit searches after each run, and the last messages of the run wait until it is through: without this, longer
    than the run itself takes. Done once a server, since what is kept in this way may never be given back.
    """
    gc.collect()
    gc.freeze()


@st.cache_resource(max_entries=4, show_spinner=False)
def _start(places: tuple[tuple[str, str], ...]) -> tuple[Shop, Restored | StoreError | None]:
    came = backups.carry_out(dict(places), today())
    return open_shop(dict(places), today()), came


def language_chosen() -> str:
    """Return the language that the shop has chosen on its page, else that of the environment, else English."""
    named = (store().setting("language"), os.environ.get(LANGUAGE))
    return next((chosen for chosen in named if chosen in LANGUAGES), ENGLISH)


def speak_as_chosen() -> None:
    """Speak the shop's language in this run; where the store can't be opened, which is told elsewhere, English."""
    try:
        spoken = language_chosen()
        speak(spoken, local(tables(), spoken))
    except StoreError:
        speak(ENGLISH)


def where_the_data_lies() -> str:
    """Return the folder or the server that holds the visits, without any password."""
    opened = store().store
    return str(opened.database or opened.place)


def own_sales() -> Path | None:
    """Return the shop's own file of sales, None where there is none."""
    named = os.environ.get(SALES_FILE, "")
    return Path(named) if named else None


def tables_in_force() -> InForce:
    """Return the shop's tables in force today, with all that is known of them."""
    return store().tables_in_force(today())


def tables() -> Tables:
    """Return the shop's tables in force today."""
    return tables_in_force().tables


def study_of(visit: Visit, levels: dict[str, str], book: Tables, sold: PricesByState | None = None) -> Study:
    """Return the visit made ready, priced on the day of the visit: from the bands, or from sales if there are any."""
    return _study(visit, levels, book, sold, key=_key(visit, levels, book, sold))


def appraisal_of(visit: Visit, levels: dict[str, str], book: Tables, sold: PricesByState | None = None) -> Appraisal:
    """Return everything that was worked out for the visit."""
    return _appraisal(visit, levels, book, sold, key=_key(visit, levels, book, sold))


def wanted_of(
    visit: Visit, levels: dict[str, str], book: Tables, sold: PricesByState | None, wishes: Wishes
) -> AsWanted:  # fmt: skip
    """Return what the talk with the client tells from, in the language spoken."""
    key = f"{_key(visit, levels, book, sold)} {wishes!r} {language()}"
    return _wanted(visit, levels, book, sold, wishes, key=key)


def verdict_of(visit: Visit, book: Tables) -> Appraisal:
    """Return a visit's appraisal without where its verdict turns: enough for a list, and far quicker."""
    return _verdict(visit, {}, book, None, key=_key(visit, {}, book, None))


def seen_of(
    visit: Visit, levels: dict[str, str], book: Tables, sold: PricesByState | None = None
) -> tuple[tuple[FindingResult, ...], tuple[CautionResult, ...]]:
    """Return how each finding reads, and the stop rules it calls up: without the verdict, which takes far longer."""
    return _seen(visit, levels, book, sold, key=_key(visit, levels, book, sold))


def fit_of(sales: SalesBook, visit: Visit, book: Tables) -> SalesModel:
    """Return the price model of the visit's kind of piano on its day."""
    return _fit(sales, visit, book, key=f"{sales.hash} {book.hash} {visit.piano.kind} {visit.on}")


def _key(visit: Visit, levels: dict[str, str], book: Tables, sold: PricesByState | None) -> str:
    content = repr((visit, sorted(levels.items()), sold))
    return f"{sha256(content.encode('utf-8', 'surrogatepass')).hexdigest()} {book.hash}"


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _study(
    _visit: Visit,
    _levels: dict[str, str],
    _book: Tables,
    _sold: PricesByState | None,
    key: str,  # noqa: ARG001
) -> Study:  # (see _key)
    return service.study_of(_visit, _book, on=_visit.on, set_levels=_levels, sold=_sold)


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _appraisal(
    _visit: Visit, _levels: dict[str, str], _book: Tables, _sold: PricesByState | None, key: str
) -> Appraisal:
    return report(_study(_visit, _levels, _book, _sold, key=key))


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _wanted(
    _visit: Visit,
    _levels: dict[str, str],
    _book: Tables,
    _sold: PricesByState | None,
    _wishes: Wishes,
    key: str,  # noqa: ARG001
) -> AsWanted:
    study = study_of(_visit, _levels, _book, _sold)
    return as_wanted(study, decide_at(study), appraisal_of(_visit, _levels, _book, _sold), _wishes)


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _verdict(_visit: Visit, _levels: dict[str, str], _book: Tables, _sold: PricesByState | None, key: str) -> Appraisal:
    return report(_study(_visit, _levels, _book, _sold, key=key), turns=False)


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _seen(
    _visit: Visit, _levels: dict[str, str], _book: Tables, _sold: PricesByState | None, key: str
) -> tuple[tuple[FindingResult, ...], tuple[CautionResult, ...]]:
    study = _study(_visit, _levels, _book, _sold, key=key)
    return tuple(chain.from_iterable(findings_of(study).values())), service.stops_of(study)


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _fit(_sales: SalesBook, _visit: Visit, _book: Tables, key: str) -> SalesModel:  # noqa: ARG001
    # here, not above: a page without sales needs none of it
    from valuation.service.sales import fit_kind

    return fit_kind(_sales, _book, _visit.piano.kind, _visit.on)


def what_happened(opened: Shop, book: Tables) -> Happened:
    """Return what happened to all evaluations up to today; worked out anew after any entry."""
    # here, not above: other pages need none of it
    from valuation.service.outcomes import marked

    return _happened(opened, book, key=f"{where_the_data_lies()} {marked(opened)} {book.hash} {today()}")


@st.cache_resource(max_entries=4, show_spinner=False)
def _happened(_opened: Shop, _book: Tables, key: str) -> Happened:  # noqa: ARG001
    from valuation.service.outcomes import happened

    return happened(_opened, _book, on=today())


def books_of(opened: Shop, book: Tables, span: str) -> Books:
    """Return the shop's books for the last quarter, year or all time; worked out anew after any entry."""
    from valuation.service.outcomes import marked

    key = f"{where_the_data_lies()} {marked(opened)} {book.hash} {today()} {opened.setting(PEOPLE)}"
    return _books(opened, book, span, key=key)


@st.cache_resource(max_entries=6, show_spinner=False)
def _books(_opened: Shop, _book: Tables, span: str, key: str) -> Books:  # noqa: ARG001
    from valuation.service.books import books, period

    first, last = period(span, today())
    return books(_opened, _book, first=first, last=last)


def bench_of(opened: Shop, book: Tables) -> tuple[tuple[OnTheBench, ...], tuple[HoursAhead, ...]]:
    """Return when the jobs in hand may be done, and the hours promised and there; worked out anew after any entry."""
    from valuation.service.outcomes import marked

    key = f"{where_the_data_lies()} {marked(opened)} {book.hash} {today()} {opened.setting(PEOPLE)}"
    return _bench(opened, book, key=key)


@st.cache_resource(max_entries=4, show_spinner=False)
def _bench(
    _opened: Shop,
    _book: Tables,
    key: str,  # noqa: ARG001
) -> tuple[tuple[OnTheBench, ...], tuple[HoursAhead, ...]]:
    from valuation.service.bench import bench_plan, hours_ahead

    return bench_plan(_opened, _book, on=today()), hours_ahead(_opened, _book, on=today())


def ringing_of(opened: Shop, book: Tables) -> tuple[ToRing, ...]:
    """Return whom to ring today, the one with the most at stake first."""
    from valuation.service.ringing import whom_to_ring

    return whom_to_ring(opened, book, what_happened(opened, book), on=today())


def new_piano_of(opened: Shop, book: Tables) -> NewPiano | None:
    """Return when a piano agreed on today may be done; worked out anew after any entry."""
    from valuation.service.outcomes import marked

    key = f"{where_the_data_lies()} {marked(opened)} {book.hash} {today()} {opened.setting(PEOPLE)}"
    return _new_piano(opened, book, key=key)


@st.cache_resource(max_entries=4, show_spinner=False)
def _new_piano(_opened: Shop, _book: Tables, key: str) -> NewPiano | None:  # noqa: ARG001
    from valuation.service.front import new_piano

    return new_piano(_opened, _book, on=today())


def forget_what_is_ready() -> None:
    """Let go of everything that was made ready from visits: somebody may just have been forgotten."""
    from valuation.service.known import let_go

    let_go()
    for ready in (_study, _appraisal, _wanted, _seen, _happened, _lessons, _books, _bench, _new_piano):
        ready.clear()


def lessons_of(opened: Shop, book: Tables, heard: Heard) -> tuple[Lessons, bool]:
    """Return what there is to learn, worked out anew after any entry; and whether it is from invented evaluations."""
    from valuation.service.lessons import lessons
    from valuation.service.outcomes import marked, only_invented

    invented = only_invented(opened)
    key = f"{where_the_data_lies()} {marked(opened)} {tables_in_force().mark} {book.hash} {today()} {invented}"
    kept = _lessons()
    if key not in kept:
        found = lessons(opened, book, on=today(), demo=invented, heard=heard)
        kept.clear()
        kept[key] = found
    return kept[key], invented


@st.cache_resource(show_spinner=False)
def _lessons() -> dict[str, Lessons]:
    """Return the latest lessons by what they rest on; a cached function could not tell how far it is."""
    return {}
