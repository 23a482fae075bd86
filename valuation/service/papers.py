"""What can be printed, for the command line and the screens: beside `valuation.service`, and loaded only for paper.

A paper is made in three steps: `occasion_of` gathers what belongs to it, `paper_content` says it, `print_paper` lays it
out. `write_paper` does all three.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from pathlib import Path

from valuation import __version__
from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.pack import not_for, pack_of
from valuation.engine.prospects import ANOTHER, prospects
from valuation.engine.rows import Tables
from valuation.engine.study import Answer, Study, decide_at
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Range
from valuation.files.shop_file import read_shop_facts
from valuation.language import say
from valuation.paper.document import document_pdf
from valuation.paper.form import form_pdf
from valuation.paper.photos import MOST_BYTES as PHOTO_MOST_BYTES
from valuation.paper.photos import ready_to_print
from valuation.paper.typeset import PAPERS
from valuation.report.client_chose import client_chose
from valuation.report.conversation import conversation
from valuation.report.document import Document, as_text
from valuation.report.evaluation import evaluation
from valuation.report.evaluation_ways import in_order
from valuation.report.inspection_form import form_order, inspection_form
from valuation.report.leaf import leaf_of
from valuation.report.occasion import Occasion, Photo, Shop, ValueSaid
from valuation.report.own_words import kept_apart
from valuation.report.quotation import quotation
from valuation.report.retire_letter import retire_letter
from valuation.report.sheet import sheet
from valuation.report.talk.as_wanted import as_wanted
from valuation.report.wishes import Wishes

__all__ = [
    "PAPERS",
    "PHOTO_MOST_BYTES",
    "WRITTEN",
    "Occasion",
    "Picture",
    "Shop",
    "Wishes",
    "as_text",
    "can_be_printed",
    "form_order",
    "occasion_of",
    "paper_content",
    "print_form",
    "print_paper",
    "read_shop",
    "write_paper",
]

WRITTEN = ("evaluation", "summary", "quotation", "letter")
"""The papers that are written about a visit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A photo for a paper.

    Attributes
    ----------
    data : bytes
        The file as the camera wrote it.
    caption, alt : str
        Printed below it; what is to be seen, for those who don't see it.
    check : str
        Check whose finding it shows; empty for a view of the whole piano.
    """

    data: bytes
    caption: str = ""
    alt: str = ""
    check: str = ""


def read_shop(path: Path) -> Shop:
    """Return the workshop as its papers name it, or raise `UserError` with every fault of the file."""
    return Shop(**read_shop_facts(path))


def can_be_printed(data: bytes) -> bool:
    """Tell whether a file is a photo that papers can hold."""
    return ready_to_print(data) is not None


def print_form(tables: Tables, kind: str, *, paper: str = "a4", system: str = "metric") -> bytes:
    """Return the inspection form for one kind of piano as PDF, in the language spoken.

    Parameters
    ----------
    tables : Tables
        The shop's tables: their checks stand on the form, in the order of `form_order`.
    kind : str
        ``upright`` or ``grand``.
    paper : str
        One of `PAPERS`.
    system : str
        Units of the fields: ``metric`` or ``imperial``.
    """
    return form_pdf(inspection_form(tables, kind, system), paper=paper)


def occasion_of(
    study: Study,
    *,
    written_on: date,
    answer: Answer | None = None,
    appraisal: Appraisal | None = None,
    shop: Shop | None = None,
    number: str = "",
    replaces: str = "",
    intended_use: str = "decision",
    wishes: Wishes | None = None,
    by_hand: Mapping[str, tuple[str, str]] | None = None,
    photos: Sequence[Photo] = (),
    system: str = "metric",
    prices_from: str = "",
    comparables: Sequence[Sequence[str]] = (),
    prior: Sequence[str] = (),
    advice: bool = False,
    held: Sequence[int] | None = None,
    done_by: date | None = None,
) -> Occasion:
    """Return what belongs to a paper beside the visit and its appraisal.

    Parameters
    ----------
    study : Study
        The visit made ready, with the levels set by hand and its prices.
    written_on : date
        Day of the paper: until when its figures hold counts from it.
    answer, appraisal : optional
        Those of the study, where they are at hand.
    number : str
        Number of the paper and its version, as the shop counts them.
    replaces : str
        For a quotation: number of the one that it replaces.
    intended_use : str
        One of `valuation.engine.pack.PURPOSES`.
    wishes : Wishes, optional
        What the client has said and chosen.
    by_hand : mapping of part to (level, reason), optional
        The parts that the study has set_levels, with the reasons given.
    photos : sequence of Photo
        As `print_paper` will get their pictures.
    system : str
        ``metric`` or ``imperial``.
    prices_from : str
        What the prices rest on, where that isn't the band table alone.
    comparables : sequence of rows
        The nearest of the shop's own sales, as `valuation.sales.on_paper` writes them.
    prior : sequence of str
        What this workshop did on the piano before, a sentence each; none where nobody looked that up.
    advice : bool
        They asked what the workshop would do.
    held : (int, int), optional
        How many of the prices told so far held, and of how many.
    done_by : date, optional
        Day by which the work quoted is done in 9 of 10.
    """
    answer = answer or decide_at(study)
    appraisal = appraisal or report(study, answer)
    wishes = wishes or Wishes()
    ways = prospects(study, answer)
    return Occasion(
        written_on=written_on,
        told=conversation(study, answer, appraisal, wishes, by_hand),
        prospects=ways,
        chose=client_chose(wishes, study.tables),
        shop=shop or Shop(),
        number=number,
        replaces=replaces,
        not_for=not_for(intended_use, study.tables),
        values=_values(study, appraisal, ways[ANOTHER].value_after),
        photos=tuple(photos),
        prior=tuple(prior),
        system=system,
        leaf=leaf_of(as_wanted(study, answer, appraisal, wishes)) if appraisal.ready else None,
        advice=advice,
        held=(held[0], held[1]) if held else None,
        done_by=done_by,
        prices_from=prices_from,
        comparables=tuple(tuple(row) for row in comparables),
        version=__version__,
    )


def _values(study: Study, appraisal: Appraisal, another: Range) -> tuple[ValueSaid, ...]:
    # here, not above: the readers of sales come with it
    from valuation.sales.values import state_values

    market = study.market
    said = state_values(
        appraisal.value_now,
        {option.option: option.value_after for option in in_order(appraisal) if option.treatments},
        another,
        market.replacement.haul_away,
        on=study.on,
        prices=PricesByState(
            prices=market.by_state,
            spread=math.exp(market.own_spread),
            basis=market.basis,
            sales_used=market.sales_used,
            table_weight=1.0 if market.basis == "band table" else 0.0,
            rows=market.rows,
        ),
        kinds=pack_of(study.tables).kinds,
    )
    return tuple(
        ValueSaid(
            of=value.of,
            kind=say(value.kind.name),
            definition=say(value.kind.definition),
            source=say(value.kind.source),
            market=say(value.kind.market),
            quoted=value.kind.quoted,
            amount=value.amount,
            basis=value.basis,
        )
        for value in said
    )


def paper_content(what: str, study: Study, appraisal: Appraisal, occasion: Occasion, *, option: str = "") -> Document:
    """Return what a paper says, as data, in the language spoken.

    Parameters
    ----------
    what : str
        One of `WRITTEN`.
    study : Study
        Whose visit and tables it is about.
    appraisal : Appraisal
        The report of the study.
    occasion : Occasion
        As `occasion_of` gives it.
    option : str
        For a quotation: the option that is quoted.

    Raises
    ------
    ValueError
        If there is no such paper, nothing to quote for the option, or no quotation and no letter to write since the
        piano is not evaluated yet.
    """
    told = (kept_apart(study.visit), kept_apart(appraisal), study.tables, kept_apart(occasion))
    match what:
        case "evaluation":
            return evaluation(*told)
        case "summary":
            return sheet(*told)
        case "quotation":
            return quotation(*told, option)
        case "letter":
            return retire_letter(*told)
    raise ValueError(f"there is no paper {what!r}; write one of {', '.join(WRITTEN)}")


def print_paper(
    what: str, content: Document, *, made_on: date, paper: str = "a4", photos: Mapping[str, bytes] | None = None
) -> bytes:
    """Return a paper as PDF; the same bytes for the same content, photos and day.

    Parameters
    ----------
    what : str
        One of `WRITTEN`.
    content : Document
        As `paper_content` gives it.
    made_on : date
        Day of the paper.
    paper : str
        One of `PAPERS`.
    photos : mapping of str to bytes, optional
        Pictures by the names that the content has for them.
    """
    template = {"letter": "letter", "summary": "sheet"}.get(what, "evaluation")
    return document_pdf(content, template, paper=paper, made_on=made_on, photos=photos)


def write_paper(what: str, study: Study, *, written_on: date, paper: str = "a4", **told) -> bytes:
    """Return a paper about a visit as PDF, from beginning to end; arguments as for `told_with_photos`."""
    content, printed = told_with_photos(what, study, written_on=written_on, **told)
    return print_paper(what, content, made_on=written_on, paper=paper, photos=printed)


def told_with_photos(
    what: str,
    study: Study,
    *,
    written_on: date,
    option: str = "",
    pictures: Sequence[Picture] = (),
    answer: Answer | None = None,
    appraisal: Appraisal | None = None,
    **particulars,
) -> tuple[Document, dict[str, bytes]]:
    """Return what a paper about a visit says, and its photos as they are printed, by name.

    Parameters
    ----------
    what : str
        One of `WRITTEN`.
    study : Study
        The visit made ready, with the levels set by hand and its prices.
    written_on : date
        Day of the paper.
    option : str
        For a quotation: the option that is quoted.
    pictures : sequence of Picture
        Photos as the camera wrote them; one that can't be read is said to be so.
    answer, appraisal : optional
        Those of the study, where they are at hand.
    **particulars
        As for `occasion_of`: shop, number, replaces, intended_use, wishes, by_hand, system, prices_from,
        comparables, prior.
    """
    answer = answer or decide_at(study)
    appraisal = appraisal or report(study, answer)
    photos, printed = _ready(pictures)
    occasion = occasion_of(study, written_on=written_on, answer=answer, appraisal=appraisal, **particulars)
    return paper_content(what, study, appraisal, replace(occasion, photos=photos), option=option), printed


def _ready(pictures: Sequence[Picture]) -> tuple[tuple[Photo, ...], dict[str, bytes]]:
    with ThreadPoolExecutor() as pool:  # several at once: reading pictures leaves Python free
        made = list(pool.map(ready_to_print, (picture.data for picture in pictures)))
    photos, printed = [], {}
    for picture, ready in zip(pictures, made, strict=True):
        name = f"{sha256(picture.data).hexdigest()[:16]}.jpg" if ready else ""
        if ready:
            printed[name] = ready
        photos.append(Photo(name=name, caption=picture.caption, alt=picture.alt, check=picture.check))
    return tuple(photos), printed
