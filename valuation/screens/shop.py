"""What all sessions share: the tables, and each visit made ready once."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime
from hashlib import sha256
from pathlib import Path

import streamlit as st

from valuation.core.rows import Level, Tables
from valuation.core.visit import Visit
from valuation.service import Appraisal, Study, load_shop, report

TABLES_FOLDER = "VALUATION_TABLES"
"""Environment variable that names the shop's own folder of tables; without it the packaged ones are used."""

_KEPT = 16
"""How many visits are kept ready at once; each takes about 5 MB."""


def today() -> date:
    """Return the day at the place where the tool runs."""
    return datetime.now(UTC).astimezone().date()


def own_folder() -> Path | None:
    """Return the shop's own folder of tables, None where there is none."""
    named = os.environ.get(TABLES_FOLDER, "")
    return Path(named) if named else None


def tables() -> Tables:
    """Return the shop's tables; read again as soon as a file changes."""
    return load_shop(own_folder())


def study_of(visit: Visit, pinned: dict[str, Level], book: Tables) -> Study:
    """Return the visit made ready, priced on the day of the visit."""
    return _study(visit, pinned, book, key=_key(visit, pinned, book))


def appraisal_of(visit: Visit, pinned: dict[str, Level], book: Tables) -> Appraisal:
    """Return everything that was worked out for the visit."""
    return _appraisal(visit, pinned, book, key=_key(visit, pinned, book))


def _key(visit: Visit, pinned: dict[str, Level], book: Tables) -> str:
    content = repr((visit, sorted(pinned.items())))
    return f"{sha256(content.encode('utf-8', 'surrogatepass')).hexdigest()} {book.hash}"


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _study(_visit: Visit, _pinned: dict[str, Level], _book: Tables, key: str) -> Study:  # noqa: ARG001  (see _key)
    return Study(_visit, _book, on=_visit.on, pinned=_pinned)


@st.cache_resource(max_entries=_KEPT, show_spinner=False)
def _appraisal(_visit: Visit, _pinned: dict[str, Level], _book: Tables, key: str) -> Appraisal:
    return report(_study(_visit, _pinned, _book, key=key))
