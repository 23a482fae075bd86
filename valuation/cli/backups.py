"""The commands `backup`, `verify` and `restore`: copies of the shop's store, proven.

What opens the store is imported where a command needs it: an appraisal of a visit file starts without.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from valuation.cli.options import examples, opened_shop, today

if TYPE_CHECKING:
    from valuation.store.copies import Copy
    from valuation.store.restore import Proof

FAULTS = 1

_number = click.argument("number", type=click.IntRange(1), required=False)


@click.command("backup", short_help="Make a copy of the shop's store.", epilog=examples("backup"))
def backup() -> None:
    """Copy the database, the photos and the shop's own tables, and check the copy from end to end.

    A copy that is not sound is not kept, and pushes no other out. SQLite is copied once a day by itself while it is
    used; for PostgreSQL run this once a day, on a machine that has pg_dump and pg_restore.
    """
    with opened_shop() as (shop, now):
        made = shop.back_up_now(now.date())
    click.echo(f"Copy {made.number} made and checked: {_holds(made)}")
    click.echo(f"It lies in: {made.place}")
    _lost(made.lost_photos, "missing or damaged already")


@click.command("verify", short_help="Check copies from end to end.", epilog=examples("verify", "verify 12"))
@_number
def verify(number: int | None) -> None:
    """Read every copy from end to end, or one, the newest first: files, database, rows of each table, photos.

    Ends with 1 if any isn't sound.
    """
    from valuation.service import backups

    folder = backups.folder_of(os.environ)
    proofs = backups.verify(folder, number)
    bad = backups.unreadable(folder) if number is None else []
    for proof in proofs:
        _proven(proof)
    for unread in bad:
        click.echo(f"copy {unread}: NOT SOUND: its file 'copy.json' is missing or damaged")
    if not proofs and not bad:
        click.echo("There is no copy.")
    if bad or any(proof.faults or proof.photos_lost for proof in proofs):
        raise SystemExit(FAULTS)


@click.command("restore", short_help="Bring a copy back.", epilog=examples("restore", "restore 12"))
@_number
def restore(number: int | None) -> None:
    """Bring back the newest sound copy, or that of a NUMBER, and count what came back.

    Stop the program first. What the copy takes the place of is set aside in the folder 'replaced'; a PostgreSQL
    database is replaced. People who were forgotten stay forgotten.
    """
    from valuation.service import backups

    restored = backups.restore(os.environ, number, today())
    report = restored.report
    for proof in report.passed_over:
        _proven(proof)
    click.echo(f"Copy {report.copy.number} is back: {_told(report.copy)}")
    click.echo("Rows, as many as in the copy: " + ", ".join(_rows(report.rows)))
    click.echo(f"Photos: {report.photos_there:,} were here, {report.photos_back:,} came back.")
    _lost(report.photos_lost, "neither here nor among the copies")
    if report.tables_back:
        click.echo("The shop's own tables came back too.")
    if restored.forgotten:
        click.echo(f"Forgotten again, as they had been before: {restored.forgotten:,} visits.")
    if restored.traces:
        click.echo(restored.traces)
    if report.set_aside:
        click.echo(f"What was there before lies in: {report.set_aside}")


def _proven(proof: Proof) -> None:
    if proof.faults:
        for fault in proof.faults:
            click.echo(f"copy {proof.copy.number}: NOT SOUND: {fault}")
    else:
        click.echo(f"copy {proof.copy.number}: sound, {_told(proof.copy)}: {_holds(proof.copy)}")
    _lost(proof.photos_lost, f"missing or damaged in copy {proof.copy.number}")


def _told(copy: Copy) -> str:
    return f"of {copy.day}" if copy.day else f"made {copy.why}"


def _holds(copy: Copy) -> str:
    return ", ".join([*_rows(copy.rows), f"photos {copy.photos:,}"])


def _rows(rows: Mapping[str, int]) -> list[str]:
    return [f"{name} {count:,}" for name, count in rows.items() if name not in ("alembic_version", "photo")]


def _lost(names: tuple[str, ...], what: str) -> None:
    for name in names:
        click.echo(f"photo {name}: {what}")
