"""The commands `tables ...`: the shop's own tables out of its store into a folder, in again, and back."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valuation import disk
from valuation.cli.options import a_path, examples, opened_shop
from valuation.errors import Problem, UserError

if TYPE_CHECKING:
    pass


@click.group(epilog=examples("tables list", "tables export my_tables"))
def tables() -> None:
    """The shop's own tables, which its store keeps as dated versions."""


@tables.command("list")
def list_tables() -> None:
    """List all that was put in force: the number, from which day, by whom and why."""
    from valuation.service import shop_tables

    with opened_shop() as (shop, now):
        held = shop.tables_in_force(now.date())
        for change in shop_tables.history(shop.store):
            holds = "*" if held.change and change.id == held.change.id else " "
            day = "" if change.from_day == date.min else change.from_day.isoformat()
            state = "" if change.state == shop_tables.COUNTS else f" ({change.state.replace('_', ' ')})"
            click.echo(f"{holds}{change.seq:4}  {change.hash[:8]}  {day:10}  {change.who}: {change.why}{state}")
        for aside in held.set_aside:
            click.echo(f"{aside.change.seq} is set aside: {aside.why}", err=True)
        if held.change is None:
            click.echo(f"The packaged tables are in force: {held.tables.hash[:8]}")


@tables.command("export", epilog=examples("tables export my_tables"))
@click.argument("folder", type=a_path)
def export(folder: Path) -> None:
    """Write the tables in force to a FOLDER: CSV files and settings.toml. What is there is replaced."""
    from valuation.service.shop_tables import write_folder

    with opened_shop() as (shop, now):
        files = write_folder(shop.tables_in_force(now.date()).texts)
    disk.write_folder(folder, files, "tables are")
    click.echo(f"{len(files)} files written: {folder}", err=True)


@tables.command("import", epilog=examples("tables import my_tables --why 'new rates' --who Anna"))
@click.argument("folder", type=a_path)
@click.option("--why", required=True, help="Why, in a few words; it is kept.")
@click.option("--who", default="", help="Who decides it; it is kept.")
@click.option(
    "--from-day", type=click.DateTime(["%Y-%m-%d"]), metavar="YYYY-MM-DD", help="In force from; today if left out."
)
def import_folder(folder: Path, why: str, who: str, from_day: datetime | None) -> None:
    """Put a FOLDER of tables in force in the shop's store. Those before them are kept.

    Nothing is taken in if anything in the folder is wrong. What it does to open quotations shows the page 'Our tables',
    which takes files too.
    """
    from valuation.service.shop_tables import put_in_force, read_folder

    texts = read_folder(folder)
    with opened_shop() as (shop, now):
        day = from_day.date() if from_day else now.date()
        change = put_in_force(
            shop.store, texts, seen=shop.tables_in_force(now.date()), from_day=day, today=now.date(), who=who, why=why,
            now=now,
        )  # fmt: skip
    click.echo(f"{change.seq}: {change.hash[:8]} in force from {change.from_day}")


@tables.command("back", epilog=examples("tables back 3 --why 'the rate was too high'"))
@click.argument("number", type=int)
@click.option("--why", required=True, help="Why, in a few words; it is kept.")
@click.option("--who", default="", help="Who decides it; it is kept.")
def back(number: int, why: str, who: str) -> None:
    """Put the tables of a NUMBER in force again; 'tables list' has the numbers."""
    from valuation.service import shop_tables

    with opened_shop() as (shop, now):
        wanted = next((change for change in shop_tables.history(shop.store) if change.seq == number), None)
        if wanted is None:
            raise UserError(
                [Problem("tables", 0, str(number), "there are no tables of this number; see 'tables list'")]
            )
        change = shop_tables.go_back(
            shop.store, wanted, seen=shop.tables_in_force(now.date()), today=now.date(), who=who, why=why, now=now
        )
    click.echo(f"{change.seq}: {change.hash[:8]} in force from {change.from_day}")
