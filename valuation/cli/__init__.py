"""The command line: reads arguments, calls `valuation.service`, prints. Nothing is worked out here.

Ends with 0 when all is well, 2 when something that was given can't be used (every fault on a line of its own on
standard error, nothing on standard output), 1 when some pianos of a batch had faults, 130 after Ctrl-C.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import chain
from pathlib import Path
from typing import Any

import click

from valuation import __version__, service
from valuation.cli.backups import backup, restore, verify
from valuation.cli.jobs import jobs
from valuation.cli.manual import show_manual
from valuation.cli.measure import measure
from valuation.cli.options import (
    a_path,
    draws_option,
    examples,
    keep_good_option,
    language_option,
    level_option,
    on_option,
    seed_option,
    tables_option,
    today,
)
from valuation.cli.papers import evaluate, form
from valuation.cli.people import people
from valuation.cli.sales import prices_of, sales
from valuation.cli.store import export_shop, import_shop
from valuation.cli.tables import tables as shop_tables
from valuation.errors import Problem, UserError

FOUND_FAULTS, BAD_INPUT, STOPPED = 1, 2, 130


class Commands(click.Group):
    """Commands that tell what a person can mend in one line each, without a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; turn what it raises into messages and an exit code."""
        try:
            return super().invoke(ctx)
        except UserError as error:
            for problem in error.problems:
                click.echo(str(problem), err=True)
            ctx.exit(BAD_INPUT)
        except BrokenPipeError:
            raise  # the reader of our output has left; click ends quietly
        except OSError as error:
            click.echo(f"{error.filename}: it can't be used ({error.strerror})", err=True)
            ctx.exit(BAD_INPUT)
        except KeyboardInterrupt:
            click.echo("Stopped; nothing was written.", err=True)
            ctx.exit(STOPPED)


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog=examples(
        "appraise data_demo/visits/3_school_upright.toml", "batch data_demo/visits --out results.csv", "batch --help"
    ),
)
@click.version_option(__version__, prog_name="valuation")
def main() -> None:
    """Tell whether an old piano is worth it: rebuild, repair in part, keep, or retire."""


main.add_command(measure)
main.add_command(sales)
main.add_command(form)
main.add_command(export_shop)
main.add_command(import_shop)
main.add_command(backup)
main.add_command(verify)
main.add_command(restore)
main.add_command(evaluate)
main.add_command(jobs)
main.add_command(people)
main.add_command(shop_tables)
main.add_command(show_manual)


@main.command(
    short_help="Appraise one piano from a visit file.",
    epilog=examples(
        "appraise data_demo/visits/3_school_upright.toml",
        "appraise visit.toml --level hammers=repair --json",
        "appraise visit.toml --sales our_sales.xlsx",
    ),
)
@click.argument("visit_file", type=a_path, metavar="VISIT.toml")
@click.option(
    "--json", "as_json", is_flag=True, is_eager=True, help="Print the whole appraisal as JSON instead of one page."
)
@level_option
@click.option(
    "--sales", "sales_file", type=a_path, metavar="FILE", help="The shop's own sales (CSV or XLSX), for the prices."
)
@keep_good_option
@tables_option
@draws_option
@seed_option
@on_option
@language_option
def appraise(
    visit_file: Path,
    as_json: bool,
    levels: tuple[str, ...],
    sales_file: Path | None,
    keep_good: bool,
    folder: Path | None,
    draws: int,
    seed: int,
    on: date | None,
) -> None:
    """Appraise one piano from a visit file, and print the answer on one page.

    VISIT.toml is the file of a visit; - reads it from standard input. Anything it doesn't say counts as not known.
    """
    tables = service.load_shop(folder)
    if str(visit_file) == "-":
        name = "stdin"
        data = sys.stdin.buffer.read(service.MOST_BYTES + 1)
        visit = service.read_visit_bytes(data, name, tables, today())
    else:
        name = visit_file.name
        visit = service.read_visit_file(visit_file, tables, today())
    set_levels = service.read_levels(levels, visit, tables)
    day = on or visit.on
    try:
        sold, prices_from, _ = prices_of(sales_file, visit, tables, day, keep_good=keep_good)
        appraisal = service.appraise(visit, tables, on=day, draws=draws, seed=seed, set_levels=set_levels, sold=sold)
    except service.NotInForce as error:
        place = ("--on", 0, "") if on else (name, 0, "date")
        raise UserError([Problem(*place, str(error))]) from None
    text = service.to_json(appraisal) if as_json else service.one_page(appraisal, visit, tables, prices_from)
    click.echo(text, nl=False)


@main.command(
    "check-tables",
    short_help="Check a folder of tables.",
    epilog=examples("check-tables", "check-tables my_tables"),
)
@click.argument("folder", type=a_path, required=False)
def check_tables(folder: Path | None) -> None:
    """Check a folder of tables, and tell every fault with its file, line and column.

    FOLDER is the shop's own copy; the packaged tables are checked if it is left out.
    """
    tables = service.load_shop(folder)
    count = len(tables.lines)
    click.echo(f"{(folder or service.PACKAGED).name}: no faults in {count:,} rows and settings; hash {tables.hash[:8]}")


@main.command(
    short_help="Appraise many pianos into a table of results.",
    epilog=examples(
        "batch data_demo/visits --out results.csv", "batch school.csv --out results.parquet --tables my_tables"
    ),
)
@click.argument("sources", type=a_path, nargs=-1, required=True, metavar="FOLDER_OR_CSV...")
@click.option("--out", type=a_path, required=True, metavar="FILE", help="Results, to a .csv or .parquet file.")
@click.option(
    "--jobs", type=click.IntRange(1, 256), default=os.cpu_count() or 1, help="Processes; one a core if left out."
)
@tables_option
@draws_option
@seed_option
@on_option
def batch(
    sources: tuple[Path, ...], out: Path, jobs: int, folder: Path | None, draws: int, seed: int, on: date | None
) -> None:
    """Appraise many pianos, and write one row of results for each.

    Each source is a folder of visit files (*.toml), a single visit file, or a .csv. A CSV has one piano a row: either a
    column 'visit' that names its visit file, or columns that are keys of a visit file (title, date, kind, size, year,
    tier ..., and one for each check: pin_hold, or pin_torque.bass for the readings of a section, several in a cell
    separated by ';'). An empty cell is not known, or not looked at.

    A piano with faults doesn't stop the others: its faults are told and stand in the column 'problems', and the
    command ends with 1. An existing file of results is replaced.
    """
    # here, not above: one appraisal needs none of it
    from valuation.batch.pianos import find_pianos
    from valuation.batch.results import results_file
    from valuation.batch.run import Terms, appraise_all
    from valuation.batch.stopping import end_in_good_order

    end_in_good_order()
    tables = service.load_shop(folder)
    pianos = find_pianos(sources, tables)
    named = (piano.path for piano in chain.from_iterable(pianos) if piano.path)
    count, at_fault = sum(map(len, pianos)), 0
    terms = Terms(today=today(), on=on, draws=draws, seed=seed)
    with results_file(out, chain(sources, [folder or service.PACKAGED], named)) as writer:
        for result in _with_progress(appraise_all(chain.from_iterable(pianos), tables, terms, jobs), count):
            writer.write(result.row)
            at_fault += bool(result.problems)
            for problem in result.problems:
                click.echo(f"{_CLEAR_LINE if sys.stderr.isatty() else ''}{problem}", err=True)
    click.echo(f"{count - at_fault:,} of {count:,} pianos appraised, {at_fault:,} with faults: {out}", err=True)
    if at_fault:
        raise SystemExit(FOUND_FAULTS)


_CLEAR_LINE = "\r\x1b[K"
"""Takes away the progress bar, so that a message has the line to itself."""


def _with_progress(results: Iterable[Any], count: int) -> Iterator[Any]:
    """Yield the results, with a bar on standard error where a person is watching."""
    watched = sys.stderr.isatty()
    bar = click.progressbar(results, length=count, label="Pianos", show_pos=True, file=sys.stderr, hidden=not watched)
    with bar as shown:
        yield from shown
