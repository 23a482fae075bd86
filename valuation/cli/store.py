"""The commands `export` and `import`: the whole shop into one file, and back.

What opens the store is imported where a command needs it: an appraisal of a visit file starts without.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valuation.cli.options import a_path, examples, opened_shop
from valuation.disk import require_place

if TYPE_CHECKING:
    from valuation.service.tables_effect import Effect

PASSPHRASE = "VALUATION_PASSPHRASE"
"""Environment variable with the passphrase of a locked export, where nobody can be asked."""

_ZIP, _LOCKED = ".zip", ".locked"


@click.command(
    "export",
    short_help="Write the whole shop to one file.",
    epilog=examples("export our_shop.zip", "export our_shop.locked --lock"),
)
@click.argument("file", type=a_path, metavar="FILE.zip")
@click.option("--lock", is_flag=True, help=f"Lock it with a passphrase: asked for, or from {PASSPHRASE}.")
def export_shop(file: Path, lock: bool) -> None:
    """Write all visits with their history, photos, papers and settings to one file, in an open format.

    The shop is the one that the app shows: see VALUATION_DATA and DATABASE_URL. An existing file is replaced. A locked
    file ends in .locked; without its passphrase nobody can open it, you neither.
    """
    require_place(file, (_LOCKED if lock else _ZIP,), "the shop is")
    passphrase = _passphrase(twice=True) if lock else ""
    with opened_shop(with_demo=True) as (shop, now):
        report = shop.export_zip(file, now=now, passphrase=passphrase)
    wrote = (
        f"{_count(report.visits, 'visit')} with {_count(report.entries, 'entry')}, {_count(report.papers, 'paper')} "
        f"and {_count(report.photos, 'photo')}"
    )
    click.echo(f"{wrote} written: {file}", err=True)
    for photo in report.lost_photos:
        click.echo(f"photo {photo}: it is missing or damaged, and is not in the file", err=True)


@click.command("import", short_help="Take in such a file.", epilog=examples("import our_shop.zip"))
@click.argument("file", type=a_path, metavar="FILE.zip")
def import_shop(file: Path) -> None:
    """Take in what 'export' wrote. What is here stays; a visit that is here too is merged entry by entry.

    Nothing is taken in if anything about the file is wrong. For a locked one the passphrase is asked for.
    """
    from valuation.service.tables_effect import in_sentences, of_brought
    from valuation.service.visits import is_locked

    passphrase = _passphrase(twice=False) if is_locked(file) else ""
    with opened_shop() as (shop, now):
        report = shop.import_zip(file, now=now, passphrase=passphrase)
        effects = of_brought(shop, now.date()) if report.tables_brought else ()
    click.echo(
        f"Visits: {report.visits_new} new, {report.visits_merged} merged, {report.visits_there} with nothing new.\n"
        f"Entries: {report.entries_new} new, {report.entries_there} here already.\n"
        f"Photos: {report.photos_new} new, {report.photos_there} here already.\n"
        f"Papers: {report.papers_new} new, {report.papers_there} here already.\n"
        f"Settings: {report.settings_new} new, {report.settings_there} left as they are here."
    )
    if report.tables_new:
        click.echo("Tables: those of the file are in force here, since this shop had none of its own.")
    if report.tables_brought:
        click.echo("Tables: the file has others; those of this shop stay in force. With the others:")
        for one in effects:
            if one.turns or one.moved:
                click.echo(_moves(one))
        click.echo(f"{in_sentences(effects)} To put them in force: tables list, then tables back NUMBER.")
    if report.clashes:
        told = f"{_count(report.clashes, 'field')} of merged visits differ from what was here: look at the visits"
        click.echo(f"{told} and settle them.")
    if report.set_aside:
        told = f"{_count(report.set_aside, 'entry')} with a value that can't stand in its field"
        click.echo(f"{told}: kept, and counted nowhere. Each visit says which.")
    if report.visits_forgotten:
        click.echo(f"{_count(report.visits_forgotten, 'visit')} forgotten, here or there: nothing of them came in.")
    if report.papers_alike:
        told = f"{_count(report.papers_alike, 'paper')} came in under a number that another paper of the visit bears"
        click.echo(f"{told}: tell them apart by day and maker.")
    if report.photos_lost:
        click.echo(f"{_count(report.photos_lost, 'photo')} that the visits speak of: neither in the file nor here.")


def _moves(one: Effect) -> str:
    """Return how one evaluation moves with other tables."""
    verdict = f"{one.verdict}, then {one.verdict_then}" if one.turns else one.verdict
    price = "" if one.price is None or one.price_then is None else f"; {one.price:,.0f}, then {one.price_then:,.0f}"
    return f"  {one.title}: {verdict}{price}"


def _passphrase(*, twice: bool) -> str:
    """Return the passphrase from the environment, else what is typed, which nobody sees."""
    given = os.environ.get(PASSPHRASE, "")
    return given or click.prompt("Passphrase", hide_input=True, confirmation_prompt=twice, err=True)


def _count(number: int, what: str) -> str:
    plural = f"{what[:-1]}ies" if what.endswith("y") else f"{what}s"
    return f"{number:,} {what if number == 1 else plural}"
