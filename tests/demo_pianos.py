"""The eight invented pianos, each made ready once for the tests that print."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.study import Answer, Study, decide_at
from valuation.engine.study import study_of as made_ready
from valuation.language import ENGLISH, language
from valuation.report.document import Document, Grid
from valuation.report.occasion import Occasion, Shop
from valuation.service import demo_visits, load_shop, read_visit_file
from valuation.service.papers import occasion_of, paper_content, read_shop

ROOT = Path(__file__).parents[1]
NAMES = tuple(path.stem for _, path in demo_visits())
WRITTEN_ON = date(2026, 6, 10)
NOT_YET = "5_hardly_looked_at"
"""The one that is not evaluated yet: there is no verdict to write of."""
EVALUATED = tuple(name for name in NAMES if name != NOT_YET)


@cache
def study_of(name: str) -> Study:
    """Return the study of one demo piano, as of the day of its visit."""
    path = next(path for _, path in demo_visits() if path.stem == name)
    tables = load_shop()
    visit = read_visit_file(path, tables, date(2026, 12, 31))
    return made_ready(visit, tables, on=visit.on)


@cache
def answer_of(name: str) -> Answer:
    """Return what was decided for it."""
    return decide_at(study_of(name))


@cache
def appraisal_of(name: str) -> Appraisal:
    """Return what was worked out for it."""
    return report(study_of(name), answer_of(name))


@cache
def demo_shop(spoken: str = ENGLISH) -> Shop:
    """Return the invented workshop as its papers name it."""
    return read_shop(ROOT / "data_demo" / ("shop.toml" if spoken == ENGLISH else f"shop_{spoken}.toml"))


def occasion_for(name: str, **terms) -> Occasion:
    """Return what belongs to a paper about it; `terms` go before those of the demo."""
    given = {"written_on": WRITTEN_ON, "shop": demo_shop(language()), "number": "2026-014"} | terms
    return occasion_of(study_of(name), answer=answer_of(name), appraisal=appraisal_of(name), **given)


def content_of(name: str, what: str = "evaluation", option: str = "", **terms) -> Document:
    """Return a paper about it as data; `terms` as for `occasion_for`."""
    return _content(name, what, option, language()) if not terms else _content_with(name, what, option, terms)


@cache
def _content(name: str, what: str, option: str, spoken: str) -> Document:  # kept apart by the language spoken
    return _content_with(name, what, option, {})


def _content_with(name: str, what: str, option: str, terms: dict) -> Document:
    return paper_content(what, study_of(name), appraisal_of(name), occasion_for(name, **terms), option=option)


def grids(document: Document) -> dict[str, Grid]:
    """Return the tables of a paper by their captions."""
    return {b.caption: b for section in document.sections for b in section.blocks if isinstance(b, Grid)}
