"""What several commands of the command line share: their options, examples for help texts, and the day."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valuation import service
from valuation.language import ENGLISH, LANGUAGES, speaking

if TYPE_CHECKING:
    from valuation.service.visits import Shop


def examples(*lines: str) -> str:
    """Return examples for the end of a help text, each on its line."""
    return "\b\nExamples:\n" + "\n".join(f"  python -m valuation {line}" for line in lines)


def today() -> date:
    """Return the day at the place where the tool runs."""
    return datetime.now().astimezone().date()


@contextmanager
def opened_shop(*, with_demo: bool = False) -> Iterator[tuple[Shop, datetime]]:
    """Give the shop's store, and the time; imported here, since an appraisal of a visit file starts without."""
    from valuation.service.visits import open_shop

    now = datetime.now().astimezone()
    shop = open_shop(os.environ, now.date(), with_demo=with_demo)
    try:
        yield shop, now
    finally:
        shop.close()


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
level_option = click.option(
    "--level", "levels", multiple=True, metavar="PART=LEVEL", help="Set a part's level: keep, repair or replace."
)
keep_good_option = click.option(
    "--keep-good", is_flag=True, help="Go on with the sales without fault where others have one."
)
