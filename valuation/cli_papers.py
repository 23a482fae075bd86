"""The commands that print: the inspection form."""

from __future__ import annotations

from pathlib import Path

import click

from valuation import service
from valuation.cli_options import LANGUAGE, a_path, examples, tables_option
from valuation.language import LANGUAGES, speaking
from valuation.service_papers import PAPERS, print_form

paper_option = click.option(
    "--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Size of paper."
)
language_option = click.option(
    "--language",
    "spoken",
    type=click.Choice(tuple(LANGUAGES)),
    default="en",
    show_default=True,
    envvar=LANGUAGE,
    show_envvar=True,
    help="Its language.",
)


@click.command(
    short_help="Print the inspection form.",
    epilog=examples("form form.pdf", "form --kind grand --paper letter --units imperial form.pdf"),
)
@click.argument("out", type=a_path, metavar="OUT.pdf")
@click.option("--kind", type=click.Choice(("upright", "grand")), default="upright", show_default=True)
@paper_option
@click.option("--units", type=click.Choice(("metric", "imperial")), default="metric", show_default=True)
@language_option
@tables_option
def form(out: Path, kind: str, paper: str, units: str, spoken: str, folder: Path | None) -> None:
    """Print the form to fill in by pencil at a piano, with the checks of the shop's tables in the order of the walk."""
    with speaking(spoken):
        out.write_bytes(print_form(service.load_shop(folder), kind, paper=paper, system=units))
    click.echo(
        f"{out.name}: the form for an inspection of {'an upright' if kind == 'upright' else 'a grand'}", err=True
    )
