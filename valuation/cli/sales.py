"""The commands below `sales`, and the shop's sales as the prices of an appraisal.

What reads sales is imported where a command needs it: an appraisal from the band table alone starts without.
"""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valuation import service
from valuation.cli.options import (
    a_path,
    examples,
    keep_good_option,
    language_option,
    on_option,
    seed_option,
    tables_option,
    today,
)
from valuation.disk import require_place, write_whole
from valuation.engine.rows import KINDS, STATES, Tables
from valuation.errors import Problem, UserError
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Visit

if TYPE_CHECKING:
    from valuation.sales import SalesModel
    from valuation.service.sales import SalesBook


@click.group(
    short_help="Check, show and convert the shop's own sales.",
    epilog=examples(
        "sales check our_sales.xlsx",
        "sales show our_sales.xlsx --piano visit.toml",
        "sales export our_sales.xlsx our_sales.csv",
    ),
)
def sales() -> None:
    """Check, show and convert the shop's own sales: a CSV or XLSX file with a row for each.

    A file price_index.csv beside it, if there is one, brings the prices to the day.
    """


@sales.command(short_help="Tell every fault of a file of sales.", epilog=examples("sales check our_sales.xlsx"))
@click.argument("file", type=a_path)
@tables_option
def check(file: Path, folder: Path | None) -> None:
    """Tell every fault of a file of sales with its line and column, and likely duplicates."""
    from valuation.report.labels import plain_day
    from valuation.sales.words import duplicate_words
    from valuation.service.sales import open_sales

    book, read = open_sales(file, service.load_shop(folder), today(), keep_good=True)
    if read.problems:
        good = Problem(file.name, 0, "", f"the {len(read.sales)} rows without fault can be used with --keep-good")
        raise UserError([*read.problems, good] if read.sales else read.problems)
    kinds = Counter(sale.kind for sale in book.sales)
    told = ", ".join(f"{count} {kind}{'s' if count > 1 else ''}" for kind, count in sorted(kinds.items()))
    click.echo(f"{file.name}: no faults in {len(book.sales)} sales{f' ({told})' if told else ''}")
    if book.sales:
        days = sorted(sale.sold_on for sale in book.sales)
        click.echo(f"Sold from {plain_day(days[0])} to {plain_day(days[-1])}.")
    click.echo(f"Price index: {len(book.index.rows)} days." if book.index.rows else "Price index: none beside it.")
    for duplicate in read.duplicates:
        click.echo(f"{file.name}: {duplicate_words(duplicate)}")


@sales.command(
    short_help="Show what the sales say of one piano.",
    epilog=examples("sales show data_demo/sales/sales.csv --piano data_demo/visits/2_parlour_upright.toml"),
)
@click.argument("file", type=a_path)
@click.option("--piano", "visit_file", type=a_path, required=True, metavar="VISIT.toml", help="The piano's visit file.")
@click.option("--state", type=click.Choice(STATES), help="Compare it in this state; left out, in the nearest one.")
@keep_good_option
@tables_option
@seed_option
@on_option
@language_option
def show(
    file: Path,
    visit_file: Path,
    state: str | None,
    keep_good: bool,
    folder: Path | None,
    seed: int,
    on: date | None,
) -> None:
    """Show what the sales say of one piano: prices by state, the nearest sales adjusted in money, its values."""
    from valuation.sales.one_page import market_page
    from valuation.service.sales import fit_kind, look_at_market

    tables = service.load_shop(folder)
    visit = service.read_visit_file(visit_file, tables, today())
    book = _open(file, tables, keep_good=keep_good)
    day = on or visit.on
    try:
        model = fit_kind(book, tables, visit.piano.kind, day)
        sold = model.prices_by_state(visit.piano)
        study = service.study_of(visit, tables, on=day, seed=seed, sold=sold)
        market = look_at_market(model, study, state=state or "")
    except service.NotInForce as error:
        place = ("--on", 0, "") if on else (visit_file.name, 0, "date")
        raise UserError([Problem(*place, str(error))]) from None
    click.echo(market_page(visit.title, visit.piano, market), nl=False)


@sales.command(
    short_help="Write the table of price bands moved to where the sales lie.",
    epilog=examples("sales bands our_sales.csv bands.csv --kind upright"),
)
@click.argument("file", type=a_path)
@click.argument("out", type=a_path, metavar="OUT.csv")
@click.option("--kind", type=click.Choice(KINDS), required=True, help="Kind of piano whose bands are moved.")
@keep_good_option
@tables_option
@on_option
def bands(file: Path, out: Path, kind: str, keep_good: bool, folder: Path | None, on: date | None) -> None:
    """Write the table of price bands with one kind's prices moved to the level of its sales: a proposal to look at.

    What a state, a reputation or a size is worth beside another stays as it is. An existing file is replaced.
    """
    from valuation.sales.words import weight_words
    from valuation.service.bands import level_of, rescaled_bands
    from valuation.service.sales import fit_kind
    from valuation.service.shop_tables import read_folder

    require_place(out, (".csv",), "the table is", inputs=[file, index_beside(file), folder or service.PACKAGED])
    tables, day = service.load_shop(folder), on or today()
    try:
        model = fit_kind(_open(file, tables, keep_good=keep_good), tables, kind, day)
    except service.NotInForce as error:
        raise UserError([Problem("--on", 0, "", str(error))]) from None
    write_whole(out, rescaled_bands(read_folder(folder or service.PACKAGED), model).encode())
    click.echo(weight_words(model))
    click.echo(f"Bands of {kind}s times {level_of(model).factor:.2f} written: {out}", err=True)


@sales.command(
    short_help="Write the sales as CSV or XLSX.", epilog=examples("sales export our_sales.xlsx our_sales.csv")
)
@click.argument("file", type=a_path)
@click.argument("out", type=a_path, metavar="OUT.xlsx|OUT.csv")
@keep_good_option
@tables_option
def export(file: Path, out: Path, keep_good: bool, folder: Path | None) -> None:
    """Write the sales of a file as CSV or XLSX; no cell of it is a formula. An existing file is replaced."""
    from valuation.service.sales import write_sales

    inputs = [file, index_beside(file), folder or service.PACKAGED]
    require_place(out, (".csv", ".xlsx"), "sales are", inputs=inputs)
    book = _open(file, service.load_shop(folder), keep_good=keep_good)
    write_sales(book.sales, out)
    click.echo(f"{len(book.sales)} sales written: {out}", err=True)


def index_beside(file: Path) -> Path:
    """Return where the price index lies that goes with a file of sales, if there is one."""
    from valuation.service.sales import INDEX_NAME

    return file.with_name(INDEX_NAME)


def prices_of(
    file: Path | None, visit: Visit, tables: Tables, on: date, *, keep_good: bool
) -> tuple[PricesByState | None, str, SalesModel | None]:
    """Return the prices of a piano by the shop's sales, what they rest on, and the model; without a file, none.

    Raises
    ------
    UserError
        With every fault of the file, and if `keep_good` stands without it.
    NotInForce
        If a band row is not in force on that day.
    """
    if file is None:
        if keep_good:
            raise UserError([Problem("--keep-good", 0, "", "it goes with --sales FILE")])
        return None, "", None
    from valuation.sales.words import weight_words
    from valuation.service.sales import fit_kind

    model = fit_kind(_open(file, tables, keep_good=keep_good), tables, visit.piano.kind, on)
    return model.prices_by_state(visit.piano), weight_words(model), model


def _open(file: Path, tables: Tables, *, keep_good: bool) -> SalesBook:
    """Return the sales of a file; tell what is passed over because the person said so."""
    from valuation.service.sales import open_sales

    book, read = open_sales(file, tables, today(), keep_good=keep_good)
    for problem in read.problems:
        click.echo(str(problem), err=True)
    if read.problems:
        click.echo(f"{file.name}: {len(read.sales)} sales without fault are used", err=True)
    return book
