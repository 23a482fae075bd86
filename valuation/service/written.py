"""Papers about visits in the store: made, kept under a number, and made again.

The screens call this and nothing below it. Never reads the clock: days and times come in. What a client got is never
changed: the file is kept, and beside it all that it was made from.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from hashlib import sha256

from valuation.engine.rows import Tables
from valuation.errors import Problem, StoreError, UserError
from valuation.language import say
from valuation.record import Paper, one_line, plain_value, why_not_paper
from valuation.report.mail import Mail
from valuation.report.moved import figures_of
from valuation.rules.kept_tables import files_of, tables_of
from valuation.service.paper_parts import (
    NO_BOOKS,
    SHOP_FACTS,
    BySales,
    FromTheBooks,
    Wanted,
    as_it_stands,
    begun,
    hash_of,
    laid_out,
    mailed,
    option_quoted,
    shop_facts,
    worked_out,
)
from valuation.service.papers import PAPERS, WRITTEN
from valuation.service.visits import Shop as Store
from valuation.store import papers
from valuation.store.papers import QUOTATION

__all__ = [
    "PAPERS",
    "SHOP_FACTS",
    "WRITTEN",
    "Again",
    "BySales",
    "FromTheBooks",
    "Mail",
    "Paper",
    "Wanted",
    "as_it_stands",
    "fetch_paper",
    "list_papers",
    "make_paper",
    "option_quoted",
    "paper_again",
    "paper_mail",
    "shop_facts",
]

MOST_BYTES = 30_000_000
"""A larger paper could not be taken out and in with an export [bytes]."""

_TRIES = 5
"""So often a paper is made anew because somebody else took its number meanwhile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """A paper made again.

    Attributes
    ----------
    same : bool
        Byte for byte what was kept.
    same_figures : bool
        The appraisal is the same, whatever the file is.
    made_with : str
        Version of the tool that made the one that was kept.
    lost_photos : tuple of str
        Photos that were in it and are missing or damaged now.
    """

    pdf: bytes
    same: bool
    same_figures: bool
    made_with: str
    lost_photos: tuple[str, ...]


def list_papers(store: Store, visit: str) -> list[Paper]:
    """Return the papers of a visit, the first one first."""
    with store.store.reading() as connection:
        return papers.of_visit(connection, visit)


def fetch_paper(store: Store, paper: str) -> bytes:
    """Return the file of a paper as the client got it; raises `StoreError` where there is none or it is damaged."""
    with store.store.reading() as connection:
        made, pdf = papers.with_id(connection, paper), papers.pdf_of(connection, paper)
    if made is None or pdf is None:
        raise no_paper()
    if sha256(pdf).hexdigest() != made.pdf_hash:
        told = f"paper {made.printed_number} is damaged: it isn't what was kept. Take it from a backup or an export"
        raise StoreError([Problem("papers", 0, "", told)])
    return pdf


def make_paper(
    store: Store,
    visit: str,
    wanted: Wanted,
    tables: Tables,
    *,
    request: str,
    who: str,
    now: datetime,
    today: date,
    by_sales: BySales | None = None,
    books: FromTheBooks = NO_BOOKS,
) -> Paper:
    """Make a paper about a visit as it stands in the store, and keep it under the visit's next number.

    Parameters
    ----------
    store : Shop
        The open store.
    visit : str
        Id of the visit.
    wanted : Wanted
        What is asked for.
    tables : Tables
        The shop's tables.
    request : str
        32 hexadecimal digits: a paper asked for twice under one id is made once.
    who : str
        Person.
    now, today : datetime, date
        The time with its zone; the day of the paper.
    by_sales : BySales, optional
        Prices from the shop's own sales instead of the band table's.
    books : FromTheBooks, optional

    Returns
    -------
    Paper
        As it is kept; the one that is there where the request was made before.

    Raises
    ------
    UserError
        If there is nothing to quote, the piano is not evaluated yet for what is asked, a quotation is dated before
        its visit, or the store or tables can't be used.
    NotInForce
        If the tables hold nothing for the day of the visit.
    """
    with store.store.reading() as connection:
        if there := papers.with_id(connection, request):
            return there
    recorded = store.open_visit(visit, tables)
    told = {"id": request, "made_by": one_line(who), "made_at": now, "written_on": today}
    if wanted.what == QUOTATION and today < recorded.visit.on:
        too_early = say(
            "The visit is of {day}: a quotation can't be dated before it.", day=recorded.visit.on.isoformat()
        )
        raise UserError([Problem(wanted.what, 0, "", too_early)])
    before = [paper for paper in list_papers(store, visit) if paper.what == wanted.what == QUOTATION]
    replaces = before[-1].printed_number if before else ""
    draft = begun(store, recorded, wanted, tables, by_sales, replaces, books, **told)
    worked = worked_out(draft, tables)
    draft = replace(
        draft,
        option=option_quoted(wanted, worked.found),
        figures=plain_value(figures_of(worked.found)),
        appraisal_hash=hash_of(worked.found),
    )
    _keep_tables(store, tables, now)
    for _ in range(_TRIES):
        with store.store.reading() as connection:
            draft = replace(draft, number=papers.next_number(connection, visit))
        pdf = laid_out(store, draft, worked)
        if len(pdf) > MOST_BYTES:
            large = say("The paper has more than {limit} MB. Choose fewer photos.", limit=MOST_BYTES // 1_000_000)
            raise UserError([Problem("papers", 0, "", large)])
        made = replace(draft, pdf_hash=sha256(pdf).hexdigest())
        if fault := why_not_paper(made):
            raise StoreError([Problem("papers", 0, "", fault)])
        with store.store.writing() as connection:
            kept = papers.keep(connection, made, pdf)
        if kept is not None:
            return kept
    message = "others are making papers about this visit too; nothing was made. Wait a little, then try again"
    raise StoreError([Problem("papers", 0, "", message)])


def paper_again(store: Store, paper: str) -> Again:
    """Make a paper again from what was kept with it: the same bytes, or what they differ by is told.

    Raises
    ------
    UserError
        If there is no such paper, or this version of the tool can't read the tables of then.
    """
    made, tables = _with_tables(store, paper)
    worked = worked_out(made, tables)
    pdf = laid_out(store, made, worked)
    return Again(
        pdf=pdf,
        same=sha256(pdf).hexdigest() == made.pdf_hash,
        same_figures=hash_of(worked.found) == made.appraisal_hash,
        made_with=made.made_with,
        lost_photos=tuple(name for name in made.photos if store.photo_path(name) is None),
    )


def paper_mail(store: Store, paper: str) -> Mail:
    """Return a paper as the text of an e-mail, from what was kept with it; raises as `paper_again` does."""
    made, tables = _with_tables(store, paper)
    return mailed(store, made, worked_out(made, tables))


def _keep_tables(store: Store, tables: Tables, now: datetime) -> None:
    """Keep the packaged tables, where these are not kept yet; the shop's own are, since they were put in force."""
    with store.store.reading() as connection:
        if papers.has_tables(connection, tables.hash):
            return
    files = files_of(None, tables)
    with store.store.writing() as connection:
        papers.keep_tables(connection, tables.hash, files, now)


def _with_tables(store: Store, paper: str) -> tuple[Paper, Tables]:
    with store.store.reading() as connection:
        made = papers.with_id(connection, paper)
        if made is None:
            raise no_paper()
        return made, tables_of(papers.files_of_tables(connection, made.tables_hash), made.tables_hash)


def no_paper() -> StoreError:
    """Return the fault of asking for a paper that isn't there."""
    told = "there is no such paper; its visit may have been a demo visit that was removed"
    return StoreError([Problem("papers", 0, "", told)])
