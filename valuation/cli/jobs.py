"""The command `jobs`: all evaluations and what became of them into one file; what is to be done into a calendar."""

from __future__ import annotations

from pathlib import Path

import click

from valuation.cli.options import a_path, examples, language_option, opened_shop
from valuation.disk import require_place, write_whole


@click.group(
    "jobs",
    short_help="What became of evaluations, as files for other tools.",
    epilog=examples("jobs export evaluations.csv", "jobs calendar jobs.ics"),
)
def jobs() -> None:
    """Write what became of evaluations to files: for a spreadsheet, for other tools, for a calendar.

    The shop is the one that the app shows: see VALUATION_DATA and DATABASE_URL.
    """


@jobs.command("export", epilog=examples("jobs export evaluations.csv", "jobs export evaluations.parquet"))
@click.argument("file", type=a_path, metavar="FILE")
def export_jobs(file: Path) -> None:
    """Write every evaluation and what became of it, one a row.

    FILE ends in .csv, .xlsx or .parquet; an existing file is replaced. No cell is a formula. The columns are those of
    the view 'evaluations' in the database; the manual describes them.
    """
    from valuation.service.job_files import write_file

    with opened_shop(with_demo=True) as (shop, _):
        count = write_file(shop, file)
    click.echo(f"{count:,} evaluations written: {file}", err=True)


@jobs.command("calendar", epilog=examples("jobs calendar jobs.ics"))
@click.argument("file", type=a_path, metavar="FILE.ics")
@language_option
def write_calendar(file: Path) -> None:
    """Write all that is to be done, with its day, as a calendar file (RFC 5545).

    Read in again later it replaces what was there; nothing stands twice. An existing file is replaced.
    """
    from valuation.language import say
    from valuation.service.due import calendar

    require_place(file, (".ics",), "a calendar is")
    with opened_shop(with_demo=True) as (shop, now):
        require_place(file, (".ics",), "a calendar is", inputs=[shop.store.database] if shop.store.database else [])
        book = shop.tables(now.date())
        words = {row.what: say(row.what) for row in book.follow_ups}
        content = calendar(shop, book, now=now, name=say("Jobs"), words=words)
    write_whole(file, content)
    click.echo(f"Written: {file}", err=True)
