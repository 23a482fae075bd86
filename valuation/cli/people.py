"""The command `people`: find a person, hand out, correct, restrict, forget; what is due, and what is kept by law.

What opens the store is imported where a command needs it: an appraisal of a visit file starts without.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valuation.cli.options import a_path, examples, language_option, opened_shop
from valuation.disk import require_place
from valuation.errors import Problem, UserError

if TYPE_CHECKING:
    from valuation.service.people import Holding
    from valuation.service.visits import Shop

_visits = click.argument("visits", nargs=-1, required=True, metavar="VISIT...")
_yes = click.option("--yes", is_flag=True, help="Don't ask again.")


@click.group(
    "people",
    short_help="What is kept about a person: find, hand out, correct, restrict, forget.",
    epilog=examples("people find Meier", "people erase 7c1e04aa00000000000000000000beef", "people due"),
)
def people() -> None:
    """Find what is kept about a person, and hand it out, correct it, restrict it, or forget it.

    VISIT is the id of a visit, as 'people find' lists it. The shop is the one that the app shows: see VALUATION_DATA
    and DATABASE_URL.
    """


@people.command("find", epilog=examples("people find Meier 'Lindenweg 3'"))
@click.argument("words", nargs=-1, required=True)
def find(words: Sequence[str]) -> None:
    """List the visits in which all WORDS stand, in any field and however long ago."""
    from valuation.service import people

    with opened_shop() as (shop, _):
        found = people.find(shop, " ".join(words))
        for one in found:
            click.echo(_line(one.holding))
            click.echo(f"    in {', '.join(one.fields)}")
        by_law = [kept for kept in people.kept_by_law(shop) if all(w.casefold() in kept.name.casefold() for w in words)]
        for kept in by_law:
            click.echo(f"{kept.id}  kept until {kept.until} by law ({kept.law}): {kept.name}")
    if not found and not by_law:
        click.echo("Nothing is kept in which all these words stand.")


@people.command("hand-out", epilog=examples("people hand-out 7c1e04aa00000000000000000000beef --out yours.zip"))
@_visits
@click.option("--out", type=a_path, required=True, metavar="FILE.zip", help="Where it goes.")
@language_option
def hand_out(visits: Sequence[str], out: Path) -> None:
    """Write all that is kept of some visits to one file: every entry, photo and paper, and what is kept by law.

    VISIT may also be the id of what is kept by law.

    An existing file is replaced.
    """
    from valuation.service import people
    from valuation.service.handed_out import hand_out

    with opened_shop() as (shop, now):
        require_place(out, (".zip",), "it is", inputs=[shop.store.database] if shop.store.database else [])
        by_law = {kept.id for kept in people.kept_by_law(shop)}.intersection(visits)
        _there(shop, [name for name in visits if name not in by_law])
        told = hand_out(shop, visits, out, now=now, by_law=by_law)
    click.echo(
        f"{told.visits} visits with {told.entries:,} entries, {told.photos} photos and {told.papers} papers, and "
        f"{told.by_law} kept by law, written: {out}",
        err=True,
    )


@people.command("correct", epilog=examples("people correct 7c1e04aa00000000000000000000beef client.name 'Anna Meier'"))
@click.argument("visit")
@click.argument("field")
@click.argument("value")
@click.option("--forget-earlier", is_flag=True, help="What stood there before goes for good.")
@click.option("--by", "who", default="", metavar="NAME", help="Who corrects it.")
def correct(visit: str, field: str, value: str, forget_earlier: bool, who: str) -> None:
    """Put another VALUE into a FIELD of a visit, such as client.name or place; '' for nothing."""
    from valuation.service import people

    with opened_shop() as (shop, now):
        count = people.correct(shop, visit, field, value, forget_earlier=forget_earlier, who=who, now=now)
        _traces(shop)
    click.echo(f"Corrected; {count} earlier entries forgotten.")


@people.command("restrict")
@_visits
def restrict(visits: Sequence[str]) -> None:
    """Keep visits and use them for nothing: no list, calendar or learning has them."""
    from valuation.service import people

    with opened_shop() as (shop, _):
        people.restrict(shop, visits)
    click.echo(f"{len(visits)} restricted.")


@people.command("lift")
@_visits
def lift(visits: Sequence[str]) -> None:
    """Use restricted visits again."""
    from valuation.service import people

    with opened_shop() as (shop, _):
        people.lift(shop, visits)
    click.echo(f"{len(visits)} in use again.")


@people.command("erase", epilog=examples("people erase 7c1e04aa00000000000000000000beef", "people erase --due"))
@click.argument("visits", nargs=-1, metavar="VISIT...")
@click.option("--due", "due_ones", is_flag=True, help="All whose time is up, as 'people due' lists them.")
@click.option("--old-copies", is_flag=True, help="Make a fresh copy of the store, then remove all older ones.")
@_yes
def erase(visits: Sequence[str], due_ones: bool, old_copies: bool, yes: bool) -> None:
    """Forget the people of some visits, everywhere. What taught the tables stays without a name.

    What tax law demands of an agreed job is set apart until its day. Copies and exports made before still hold the
    person; brought back, they are made to forget again.
    """
    from valuation.service import people

    with opened_shop() as (shop, now):
        day = now.date()
        book = shop.tables(day)
        names = [*visits, *([one.visit for one in people.due(shop, book, day)] if due_ones else [])]
        for holding in _there(shop, names):
            click.echo(_line(holding))
        if names and not yes:
            click.confirm(f"Forget {len(names)} for good?", abort=True)
        kept = people.erase(shop, names, book, day)
        click.echo(f"{len(names)} forgotten; of {kept} tax law keeps something.")
        _traces(shop)
        if old_copies:
            made, gone = people.let_old_copies_go(shop, day)
            click.echo(f"Copy {made} made and checked; {gone} older ones removed.")


@people.command("throw-away")
@click.argument("visit")
@_yes
def throw_away(visit: str, yes: bool) -> None:
    """Throw a VISIT away that was made by mistake; nothing of it stays."""
    from valuation.service import people

    with opened_shop() as (shop, now):
        for holding in _there(shop, [visit]):
            click.echo(_line(holding))
        if not yes:
            click.confirm("Throw it away for good?", abort=True)
        people.throw_away(shop, visit, shop.tables(now.date()), now.date())
        click.echo("Thrown away.")
        _traces(shop)


@people.command("due")
def due() -> None:
    """List what is kept for longer than it may be, and what tax law keeps, with its day."""
    from valuation.service import people

    with opened_shop() as (shop, now):
        book = shop.tables(now.date())
        rows = people.law_of(shop, book)
        for row in rows:
            why = ("law" if row.demanded else "suggestion") if row.source else "your own"
            click.echo(f"{row.what}: {row.years} years from the end of the year ({why}; {row.source or 'no law'})")
        if not rows:
            click.echo("Nobody has said in which country the shop works, so nothing is ever due: see 'The first week'")
        names = [one.visit for one in people.due(shop, book, now.date())]
        for holding in people.holdings(shop, names):
            click.echo(f"due: {_line(holding)}")
        for kept in people.kept_by_law(shop):
            over = "over, " if kept.until < now.date().isoformat() else ""
            click.echo(f"{kept.id}  {over}kept until {kept.until} by law ({kept.law}): {kept.name}")


@people.command("clean")
def clean() -> None:
    """Let go what tax law keeps no longer, and files that nobody speaks of. May be run by a scheduler."""
    from valuation.service import people

    with opened_shop() as (shop, now):
        over, files = people.clean(shop, now)
        click.echo(f"{over} that tax law keeps no longer, and {files} files nobody speaks of: removed.")
        _traces(shop)


def _there(shop: Shop, names: Sequence[str]) -> list[Holding]:
    """Return what is kept of visits; refuses an id that is none."""
    from valuation.service import people

    found = people.holdings(shop, names)
    missing = sorted(set(names) - {holding.visit for holding in found})
    if missing:
        raise UserError(
            [Problem("people", 0, name[:40], "there is no such visit; 'people find' lists ids") for name in missing]
        )
    return found


def _traces(shop: Shop) -> None:
    if shop.traces:
        click.echo(shop.traces, err=True)


def _line(holding: Holding) -> str:
    said = [holding.title, holding.client, holding.place, str(holding.day or ""), holding.stage, holding.kept_as]
    held = f"{holding.entries} entries, {holding.photos} photos, {holding.papers} papers"
    return f"{holding.visit}  {' · '.join(filter(None, said))} ({held})"
