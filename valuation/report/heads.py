"""What stands at the head and foot of every paper: who, which piano, where and when. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.facts.visit import Visit
from valuation.language import language, say
from valuation.report.evaluation_piano import size_said
from valuation.report.labels import day_words, listed, year_words
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line

_MOST_IN_A_LINE = 60


def heading(title: str, visit: Visit, appraisal: Appraisal, occasion: Occasion) -> dict:
    """Return what stands at the head and foot of any paper, as arguments of `Document`."""
    shop = occasion.shop
    number = say("No. {number}", number=occasion.number) if occasion.number else ""
    return {
        "language": language(),
        "shop": tuple(line for line in (shop.name, *shop.address, *shop.reach) if line),
        "title": title,
        "subtitle": visit.title,
        "running": _one_line(title, visit.title, number),
        "foot": _one_line(
            shop.name, number, day_words(occasion.written_on), say("tables {hash}", hash=appraisal.tables_hash[:8])
        ),
        "page": say("Page {page} of {pages}", page="{page}", pages="{pages}"),
    }


def _one_line(*parts: str) -> str:
    """Return what fits at the head or foot of a page; in full it stands on the paper itself."""
    return " · ".join(in_one_line(part, _MOST_IN_A_LINE) for part in parts if part)


def head_facts(visit: Visit, appraisal: Appraisal, occasion: Occasion, *, as_of: str) -> tuple[tuple[str, str], ...]:
    """Return who, which piano, where and when; `as_of` names what is of the day of the tables, if anything is."""
    piano = visit.piano
    what = [
        say("upright piano") if piano.kind == "upright" else say("grand piano"),
        piano.maker,
        say("serial number {serial}", serial=piano.serial) if piano.serial else "",
        year_words(piano),
        size_said(piano, occasion.system) if piano.size_mm else "",
    ]
    rows = [
        (say("For"), visit.client.name),
        (say("Piano"), listed(part for part in what if part)),
        (say("Where it stands"), visit.place),
        (say("Seen on"), day_words(visit.on)),
        (as_of, day_words(appraisal.on)),
        (say("Written on"), day_words(occasion.written_on)),
        (say("Evaluated by") if appraisal.ready else say("Looked at by"), visit.technician or occasion.shop.name),
        (say("Number"), occasion.number),
    ]
    return tuple(row for row in rows if all(row))
