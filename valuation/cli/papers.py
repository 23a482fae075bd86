"""The commands that print: the inspection form, and the papers about one piano."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from valuation import service
from valuation.cli.options import (
    LANGUAGE,
    a_path,
    draws_option,
    examples,
    keep_good_option,
    level_option,
    on_option,
    seed_option,
    tables_option,
    today,
)
from valuation.cli.sales import index_beside, prices_of
from valuation.disk import read_at_most, require_place, write_whole
from valuation.engine.rows import KINDS, Tables
from valuation.engine.study import study_of
from valuation.errors import Problem, UserError
from valuation.language import LANGUAGES, speaking
from valuation.service.papers import (
    PAPERS,
    PHOTO_MOST_BYTES,
    WRITTEN,
    Picture,
    Shop,
    Wishes,
    can_be_printed,
    print_form,
    read_shop,
    write_paper,
)

if TYPE_CHECKING:
    from valuation.engine.study import Study
    from valuation.sales import SalesModel

PDF = (".pdf",)
replace_option = click.option("--replace", "may_replace", is_flag=True, help="Replace a file that is there already.")
paper_option = click.option(
    "--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Size of paper."
)
units_option = click.option(
    "--units", type=click.Choice(("metric", "imperial")), default="metric", show_default=True, help="Units of measures."
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
@click.option(
    "--kind", type=click.Choice(KINDS), default="upright", show_default=True, help="Kind of piano that it is for."
)
@paper_option
@units_option
@language_option
@tables_option
@replace_option
def form(out: Path, kind: str, paper: str, units: str, spoken: str, folder: Path | None, may_replace: bool) -> None:
    """Print the form to fill in by pencil at a piano, with the checks of the shop's tables in the order of the walk."""
    require_place(out, PDF, "the form is", inputs=[folder or service.PACKAGED], may_replace=may_replace)
    with speaking(spoken):
        write_whole(out, print_form(service.load_shop(folder), kind, paper=paper, system=units))
    click.echo(
        f"{out.name}: the form for an inspection of {'an upright' if kind == 'upright' else 'a grand'}", err=True
    )


@click.command(
    short_help="Write the evaluation of one piano, or another paper about it.",
    epilog=examples(
        "evaluate data_demo/visits/3_school_upright.toml --out evaluation.pdf --shop data_demo/shop.toml",
        "evaluate visit.toml --out quotation.pdf --what quotation --option partial_repair",
        "evaluate visit.toml --out evaluation.pdf --photo front.jpg='The whole piano' --photo "
        "plate_crack:a.jpg='The crack'",
    ),
)
@click.argument("visit_file", type=a_path, metavar="VISIT.toml")
@click.option("--out", type=a_path, required=True, metavar="FILE.pdf", help="Where the paper goes.")
@click.option("--what", type=click.Choice(WRITTEN), default=WRITTEN[0], show_default=True, help="Which paper.")
@click.option(
    "--option",
    type=click.Choice(("rebuild", "partial_repair", "keep")),
    help="What a quotation is for; the verdict's work if left out.",
)
@click.option("--shop", "shop_file", type=a_path, metavar="FILE", help="The workshop as its papers name it (TOML).")
@click.option("--number", default="", help="Number of the paper and its version.")
@click.option(
    "--written-on", type=click.DateTime(["%Y-%m-%d"]), metavar="YYYY-MM-DD", help="Day of the paper; today if left out."
)
@level_option
@click.option(
    "--because", "reasons", multiple=True, metavar="PART=WHY", help="Why the level of a part was set by hand."
)
@click.option(
    "--choice",
    "choices",
    multiple=True,
    metavar="QUESTION=CHOICE",
    help="A choice of the client's, by its id in the tables.",
)
@click.option(
    "--photo", "photos", multiple=True, metavar="[CHECK:]FILE[=CAPTION]", help="A photo, perhaps of what a check found."
)
@click.option(
    "--sales", "sales_file", type=a_path, metavar="FILE", help="The shop's own sales (CSV or XLSX), for the prices."
)
@keep_good_option
@paper_option
@units_option
@language_option
@tables_option
@draws_option
@seed_option
@on_option
@replace_option
def evaluate(
    visit_file: Path,
    out: Path,
    what: str,
    option: str | None,
    shop_file: Path | None,
    number: str,
    written_on,
    levels: tuple[str, ...],
    reasons: tuple[str, ...],
    choices: tuple[str, ...],
    photos: tuple[str, ...],
    sales_file: Path | None,
    keep_good: bool,
    paper: str,
    units: str,
    spoken: str,
    folder: Path | None,
    draws: int,
    seed: int,
    on: date | None,
    may_replace: bool,
) -> None:
    """Write a paper about one piano as PDF, from a visit file.

    The evaluation is what the client takes home; the summary is one leaf with a drawing; a quotation is for one way
    of working on it; the letter is for a piano that goes.
    """
    given = [visit_file, folder or service.PACKAGED, *filter(None, (shop_file, sales_file))]
    beside = [index_beside(sales_file)] if sales_file else []
    pictured = [Path(name) for photo in photos for name in _files_of(photo)]
    require_place(out, PDF, "papers are", inputs=[*given, *beside, *pictured], may_replace=may_replace)
    tables = service.load_shop(folder)
    visit = service.read_visit_file(visit_file, tables, today())
    set_levels = service.read_levels(levels, visit, tables)
    why = _pairs("--because", reasons, "write it like hammers='wanted for the sound'")
    _tell_strangers("--because", why, set_levels)
    wishes = _wishes(_pairs("--choice", choices, "write it like finish=finish_kept"), tables)
    checks = tables.of_kind("checks", visit.piano.kind)
    pictures = [_picture(photo, checks) for photo in photos]
    shop = read_shop(shop_file) if shop_file else Shop()
    day = on or visit.on
    with speaking(spoken):
        try:
            sold, prices_from, model = prices_of(sales_file, visit, tables, day, keep_good=keep_good)
            study = study_of(visit, tables, on=day, draws=draws, seed=seed, set_levels=set_levels, sold=sold)
        except service.NotInForce as error:
            place = ("--on", 0, "") if on else (visit_file.name, 0, "date")
            raise UserError([Problem(*place, str(error))]) from None
        found = service.report(study)
        try:
            pdf = write_paper(
                what,
                study,
                appraisal=found,
                comparables=_compared(model, study, found),
                written_on=written_on.date() if written_on else today(),
                paper=paper,
                option=option or "",
                pictures=pictures,
                shop=shop,
                number=number,
                wishes=wishes,
                by_hand={part: (level, why.get(part, "")) for part, level in set_levels.items()},
                system=units,
                prices_from=prices_from,
            )
        except ValueError as error:
            raise UserError([Problem("--option", 0, "", str(error))]) from None
    write_whole(out, pdf)
    click.echo(f"{out.name}: {what}, {len(pdf) / 1000:,.0f} kB", err=True)


def _compared(model: SalesModel | None, study: Study, found: service.Appraisal) -> tuple[tuple[str, ...], ...]:
    if model is None:
        return ()
    from valuation.sales.on_paper import compared_rows

    return compared_rows(model, study, found.value_now.likely)


def _pairs(name: str, given: Sequence[str], hint: str) -> dict[str, str]:
    pairs, problems = {}, []
    for text in given:
        key, equals, value = (piece.strip() for piece in text.partition("="))
        if not (key and equals and value):
            problems.append(Problem(name, 0, "", f"'{text}' has no answer; {hint}"))
        pairs[key] = value
    if problems:
        raise UserError(problems)
    return pairs


def _tell_strangers(name: str, given, known) -> None:
    strangers = [key for key in given if key not in known]
    if strangers:
        told = [
            Problem(name, 0, "", f"'{key}' is not set by --level; set it, or leave the reason out") for key in strangers
        ]
        raise UserError(told)


def _wishes(chosen: dict[str, str], tables: Tables) -> Wishes:
    """Return the choices of a client, each an id of ``choices.csv`` under its question."""
    problems = []
    for question, choice in chosen.items():
        offered = [row.id for row in tables.choices if row.question == question]
        if not offered:
            asked = dict.fromkeys(row.question for row in tables.choices)
            problems.append(Problem("--choice", 0, "", f"'{question}' is not asked; write one of {', '.join(asked)}"))
        elif choice not in offered:
            message = f"'{choice}' is not a choice of {question}; write one of {', '.join(offered)}"
            problems.append(Problem("--choice", 0, "", message))
    if problems:
        raise UserError(problems)
    return Wishes(**chosen)  # type: ignore[arg-type]  # questions of the table are fields of one word


def _files_of(text: str) -> tuple[str, str]:
    """Return the two names of a file that a photo may mean, as its first word may be that of a check or not."""
    place, _, _ = text.partition("=")
    return place, place.partition(":")[2] or place


def _picture(text: str, checks) -> Picture:
    """Return a photo from ``CHECK:FILE=CAPTION``; check and caption may be left out."""
    place, _, caption = text.partition("=")
    check, colon, path = place.partition(":")
    if not colon or check not in checks:
        check, path = "", place
    data = read_at_most(Path(path), PHOTO_MOST_BYTES)
    if not can_be_printed(data):
        told = "this is no photo that can be printed; give a JPEG, PNG or WebP file"
        raise UserError([Problem("--photo", 0, Path(path).name, told)])
    return Picture(data=data, caption=caption, check=check)
