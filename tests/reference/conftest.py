"""A simulated year, and what the owner's pages make of it: for the scripts that work every figure out anew."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd
import pytest
from simulated_year import HOURS_A_WEEK, LAST, PEOPLE, fill_year

from valuation import service
from valuation.jobs.people import Person
from valuation.service.bench import HoursAhead, hours_ahead
from valuation.service.books import Books, books, period
from valuation.service.front import NewPiano, Quarter, conversion_by_quarter, new_piano
from valuation.service.job_files import file_of
from valuation.service.outcomes import Happened, happened
from valuation.service.people_at_work import keep_people
from valuation.service.ringing import ToRing, whom_to_ring
from valuation.service.visits import open_shop


@dataclass(frozen=True, eq=False)
class Year:
    """What the pages show, and the sheets as the owner's own tools get them."""

    books: Books
    happened: Happened
    quarters: tuple[Quarter, ...]
    ahead: tuple[HoursAhead, ...]
    ringing: tuple[ToRing, ...]
    new_piano: NewPiano | None
    sheets: dict[str, pd.DataFrame]


@pytest.fixture(scope="session")
def year(tmp_path_factory) -> Iterator[Year]:
    """The simulated year of a shop that estimates without fault."""
    place = tmp_path_factory.mktemp("year")
    shop = open_shop({"VALUATION_DATA": str(place), "DATABASE_URL": ""}, LAST, with_demo=False)
    tables = service.load_shop()
    fill_year(shop, tables, seed=7)
    keep_people(shop, [Person(name=name, hours_a_week=HOURS_A_WEEK, cost_an_hour=40.0) for name in PEOPLE])
    first, last = period("year", LAST)
    found = happened(shop, tables, on=LAST)
    yield Year(
        books=books(shop, tables, first=first, last=last),
        happened=found,
        quarters=conversion_by_quarter(found.by["month"]),
        ahead=hours_ahead(shop, tables, on=LAST),
        ringing=whom_to_ring(shop, tables, found, on=LAST),
        new_piano=new_piano(shop, tables, on=LAST),
        sheets=pd.read_excel(io.BytesIO(file_of(shop, ".xlsx")), sheet_name=None),
    )
    shop.close()
