"""What several commands of the command line share: their options, examples for help texts, and the day."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import click

from valuation import service
from valuation.language import ENGLISH, LANGUAGES, speaking


def examples(*lines: str) -> str:
    """Return examples for the end of a help text, each on its line."""
    return "\b\nExamples:\n" + "\n".join(f"  python -m valuation {line}" for line in lines)


def today() -> date:
    """Return the day at the place where the tool runs."""
    return datetime.now().astimezone().date()


def _day(_: click.Context, __: click.Parameter, value: datetime | None) -> date | None:
    return value.date() if value else None


def _speak(context: click.Context, _: click.Parameter, chosen: str) -> None:
    """Speak a language until the command ends; JSON is for machines and stays as it is."""
    context.with_resource(speaking(ENGLISH if context.params.get("as_json") else chosen))


LANGUAGE = "VALUATION_LANGUAGE"
"""Environment variable that names the language of what is printed."""

a_path = click.Path(path_type=Path)
tables_option = click.option(
    "--tables",
    "folder",
    type=a_path,
    metavar="FOLDER",
    help="A folder of tables, instead of the packaged ones; the shop's own come with 'tables export'.",
)
draws_option = click.option(
    "--draws",
    type=click.Choice(service.DRAWS),
    default=8192,
    show_default=True,
    help="Draws behind the bands; the verdict itself needs none.",
)
seed_option = click.option(
    "--seed", type=click.IntRange(0, 2**32 - 1), default=0, show_default=True, help="Shifts the draws."
)
on_option = click.option(
    "--on",
    type=click.DateTime(["%Y-%m-%d"]),
    callback=_day,
    metavar="YYYY-MM-DD",
    help="Day whose rates and prices count; the day of the visit if left out.",
)
language_option = click.option(
    "--language",
    type=click.Choice(tuple(LANGUAGES)),
    default=ENGLISH,
    show_default=True,
    envvar=LANGUAGE,
    show_envvar=True,
    expose_value=False,
    callback=_speak,
    help="Language of what is printed.",
)
keep_good_option = click.option(
    "--keep-good", is_flag=True, help="Go on with the sales without fault where others have one."
)
