"""The command `help`: the manual, chapter by chapter."""

from __future__ import annotations

import click

from valuation import manual
from valuation.cli.options import examples


@click.command("help", short_help="Show the manual.", epilog=examples("help", "help visit"))
@click.argument("chapter", type=click.Choice(tuple(manual.chapters())), required=False)
def show_manual(chapter: str | None) -> None:
    """Show one chapter of the manual; without a name, list them all."""
    if chapter:
        click.echo(manual.chapter(chapter), nl=False)
        return
    titles = manual.chapters()
    width = max(map(len, titles))
    for name, title in titles.items():
        click.echo(f"{name:<{width}}  {title}")
