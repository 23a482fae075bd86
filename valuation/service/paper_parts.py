"""What a paper of the store is made from, and how it is made of that: in the same way the first time and ever after."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from valuation import __version__
from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.pack import local
from valuation.engine.rows import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.errors import Problem, StoreError, UserError
from valuation.facts.kinds import day_of
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Visit
from valuation.files.recorded_visit import RecordedVisit, visit_as_text, visit_of_text
from valuation.files.set_levels import allowed_levels
from valuation.language import ENGLISH, say, speaking
from valuation.record import Paper, plain_value
from valuation.report.contract import to_json
from valuation.report.document import Document
from valuation.report.labels import in_sentence, option_name
from valuation.report.mail import Mail, as_mail
from valuation.report.quotation import option_to_quote
from valuation.report.wishes import from_json, wishes_in
from valuation.report.wishes import to_json as wishes_to_json
from valuation.service.papers import PAPERS, WRITTEN, Picture, Shop, print_paper, read_shop, told_with_photos
from valuation.service.prior import prior_of, prior_words
from valuation.service.visits import Shop as Store

SHOP_FACTS = {
    "shop.name": "name",
    "shop.address": "address",
    "shop.contact": "reach",
    "shop.town": "town",
    "shop.fee": "fee",
    "shop.second_opinion": "second_opinion",
    "shop.terms": "terms",
    "shop.warranty": "warranty",
    "shop.takers": "takers",
    "shop.qualification": "qualification",
}
"""Setting of the store -> what it is on a paper."""

OF_A_VERDICT = ("quotation", "letter")
"""Papers that there are only for a piano that is evaluated; of the others a note is left of what to look at first."""

_LINES = ("name", "town", "fee", "warranty", "qualification")
_DEMO = Path(__file__).resolve().parents[2] / "data_demo"
_DEMO_SHOP = {"de": _DEMO / "shop_de.toml"}
_LEVEL, _REASON = "pin.", "reason."
_WITH_PHOTOS = ("evaluation", "summary")
_OF_THE_JOB = "job_"
_DRAWS = 8192
"""Draws behind the bands of a paper, as on the screens."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What paper is asked for.

    Attributes
    ----------
    what : str
        One of `WRITTEN`.
    option : str
        For a quotation: the option that it is for; the verdict's, or the best that has work in it, if left out.
    language, size, units : str
        A language that there is, one of `PAPERS`, ``metric`` or ``imperial``.
    photos : tuple of str, optional
        Hashes of the photos that go in; all, if left out. Only an evaluation and the sheet hold any.
    advice : bool
        They asked what the workshop would do: it stands on the sheet.
    """

    what: str = WRITTEN[0]
    option: str = ""
    language: str = ENGLISH
    size: str = PAPERS[0]
    units: str = "metric"
    photos: tuple[str, ...] | None = None
    advice: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BySales:
    """Prices from the shop's own sales: the four prices, hash of the sales, and in words what they rest on."""

    sold: PricesByState
    hash: str
    words: str
    comparables: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FromTheBooks:
    """What the shop's own books say on a paper.

    Attributes
    ----------
    held : (int, int), optional
        How many of the prices told so far held, and of how many.
    done_by : date, optional
        Day by which the work quoted is done in 9 of 10, if it is agreed on that day.
    """

    held: tuple[int, int] | None = None
    done_by: date | None = None


NO_BOOKS = FromTheBooks()
"""What is said where nothing is known."""


def shop_facts(store: Store, *, demo: bool = False, spoken: str = ENGLISH) -> Shop:
    """Return the workshop as its papers name it, by the settings of the store.

    Parameters
    ----------
    store : Shop
        The open store.
    demo : bool
        For an invented visit: where no name is set, the invented workshop's facts.
    spoken : str
        Language in which the invented workshop writes.
    """
    told = {name: store.setting(setting) for setting, name in SHOP_FACTS.items()}
    if demo and not told["name"]:
        return read_shop(_DEMO_SHOP.get(spoken, _DEMO / "shop.toml"))
    facts: dict[str, Any] = {}
    for name, value in told.items():
        lines = tuple(line.strip() for line in (value if isinstance(value, str) else "").splitlines() if line.strip())
        facts[name] = " ".join(lines) if name in _LINES else lines
    return Shop(**facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """What comes of what a paper is made from."""

    study: Study
    answer: Answer
    found: Appraisal


def worked_out(paper: Paper, tables: Tables) -> WorkedOut:
    """Work out what a paper is made from, with the tables that it was made with.

    Raises
    ------
    StoreError
        If this version of the program can't read the visit in it.
    NotInForce
        If the tables hold nothing for the day.
    """
    study = study_of_paper(paper, _visit_in(paper, tables), tables)
    answer = decide_at(study)
    return WorkedOut(study=study, answer=answer, found=report(study, answer))


def study_of_paper(paper: Paper, visit: Visit, tables: Tables) -> Study:
    """Return what a paper was made from, made ready with some tables, by the prices of its day.

    Parameters
    ----------
    paper : Paper
        Prices by the shop's own sales, if it has any, stay as they were kept with it.
    visit : Visit
        What it holds, as these tables read it.
    """
    return study_of(
        visit,
        tables,
        on=paper.priced_on,
        draws=paper.draws,
        seed=paper.seed,
        set_levels=allowed_levels(paper.given.get("pins", {}), visit, tables),
        sold=_sold(paper),
    )


def _sold(paper: Paper) -> PricesByState | None:
    kept = paper.given.get("sold")
    # papers from before there was a spread for each state have none
    return kept and PricesByState(**kept | {name: tuple(kept.get(name, ())) for name in ("prices", "rows", "spreads")})


def begun(
    store: Store,
    recorded: RecordedVisit,
    wanted: Wanted,
    tables: Tables,
    by_sales: BySales | None,
    replaces: str,
    books: FromTheBooks,
    **told: Any,
) -> Paper:
    """Return a paper with all that it is made from, and not yet with what comes of it.

    Parameters
    ----------
    store, recorded, wanted, tables, by_sales
        As for `valuation.service.written.make_paper`.
    replaces : str
        For a quotation: number of the one before it.
    books : FromTheBooks
    **told
        Of the paper: id, made_by, made_at, written_on.
    """
    photos = [
        {"hash": photo.hash, "check": photo.check, "caption": photo.caption}
        for photo in recorded.photos
        if wanted.what in _WITH_PHOTOS
        and (photo.hash in wanted.photos if wanted.photos is not None else not photo.check.startswith(_OF_THE_JOB))
    ]
    given = {
        "shop": asdict(shop_facts(store, demo=store.is_demo(recorded.id), spoken=wanted.language)),
        **_said_in(recorded, tables),
        "photos": photos,
        "sold": asdict(by_sales.sold) if by_sales else None,
        "prices_from": by_sales.words if by_sales else "",
        "comparables": by_sales.comparables if by_sales else (),
        **({"replaces": replaces} if replaces else {}),
        **({"held": books.held} if books.held else {}),
        **({"done_by": books.done_by.isoformat()} if books.done_by else {}),
        **({"advice": True} if wanted.advice else {}),
        **({"prior": prior_of(store, recorded, tables)} if wanted.what == WRITTEN[0] else {}),
    }
    return Paper(
        visit=recorded.id,
        number=0,
        what=wanted.what,
        language=wanted.language,
        size=wanted.size,
        units=wanted.units,
        made_with=__version__,
        priced_on=recorded.visit.on,
        seed=0,
        draws=_DRAWS,
        tables_hash=tables.hash,
        sales_hash=by_sales.hash if by_sales else "",
        visit_text=visit_as_text(recorded.visit),
        given=plain_value(given),
        figures={},
        appraisal_hash="",
        photos=tuple(dict.fromkeys(photo["hash"] for photo in photos)),
        pdf_hash="",
        **told,
    )


def _said_in(recorded: RecordedVisit, tables: Tables) -> dict[str, Any]:
    """Return what was said beside the visit itself: levels set by hand, why, and what the client wishes."""
    heads = {name: entry.value for name, entry in recorded.counted.items()}
    levels = allowed_levels(_after(_LEVEL, heads), recorded.visit, tables)
    reasons = {part: why for part, why in _after(_REASON, heads).items() if part in levels and isinstance(why, str)}
    return {
        "pins": dict(levels),
        "reasons": reasons,
        "wishes": wishes_to_json(wishes_in(heads)),
    }


def as_it_stands(paper: Paper, recorded: RecordedVisit, tables: Tables) -> bool:
    """Tell whether a paper was made from the visit as it stands now, with the tables of now."""
    said = plain_value(_said_in(recorded, tables))
    same = all(paper.given.get(name) == value for name, value in said.items())
    return same and paper.tables_hash == tables.hash and paper.visit_text == visit_as_text(recorded.visit)


def _after(prefix: str, heads: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values of the fields that begin so, by the rest of their names."""
    found = {name.removeprefix(prefix): value for name, value in heads.items() if name.startswith(prefix)}
    return {name: value for name, value in found.items() if value is not None}


def _visit_in(paper: Paper, tables: Tables) -> Visit:
    """Return the visit that a paper holds, by the tables that it was made with."""
    visit, faults = visit_of_text(paper.visit_text, tables)
    if faults:
        field, why = next(iter(faults.items()))
        told = f"what paper {paper.printed_number} was made from can't be read by this version of the program: {why}"
        raise StoreError([Problem("papers", 0, field, told)])
    return visit


def option_quoted(wanted: Wanted, found: Appraisal) -> str:
    """Return the option that a quotation is for; other papers are for none.

    Raises
    ------
    UserError
        If there is no work in it; or if a quotation or a letter is asked for, and the piano is not evaluated yet.
    """
    if wanted.what in OF_A_VERDICT and not found.ready:
        told = say("The piano is not evaluated yet. Make the checks that come first; then this paper can be written.")
        raise UserError([Problem(wanted.what, 0, "", told)])
    if wanted.what != "quotation":
        return ""
    quotable = [option.option for option in found.options if option.lines]
    if not quotable:
        told = say("There is no work in any of the ways forward, so there is nothing to quote.")
        raise UserError([Problem(wanted.what, 0, "", told)])
    option = wanted.option or option_to_quote(found)
    if option not in quotable:
        told = say(
            "There is no work in '{option}', so there is nothing to quote. Choose {others}.",
            option=in_sentence(option_name(option)),
            others=_or(in_sentence(option_name(other)) for other in quotable),
        )
        raise UserError([Problem(wanted.what, 0, "", told)])
    return option


def laid_out(store: Store, paper: Paper, worked: WorkedOut) -> bytes:
    """Return a paper as PDF, in its language, on its paper, with its photos as far as they are there."""
    with _spoken(paper, worked):
        content, photos = _told(store, paper, worked)
        return print_paper(paper.what, content, made_on=paper.written_on, paper=paper.size, photos=photos)


def mailed(store: Store, paper: Paper, worked: WorkedOut) -> Mail:
    """Return a paper as the text of an e-mail to the client, in its language."""
    visit = worked.study.visit
    with _spoken(paper, worked):
        return as_mail(_told(store, paper, worked)[0], to=visit.client.name, by=visit.technician)


def _spoken(paper: Paper, worked: WorkedOut) -> AbstractContextManager[None]:
    return speaking(paper.language, local(worked.study.tables, paper.language))


def _told(store: Store, paper: Paper, worked: WorkedOut) -> tuple[Document, dict[str, bytes]]:
    given, study = paper.given, worked.study
    return told_with_photos(
        paper.what,
        study,
        written_on=paper.written_on,
        option=paper.option,
        pictures=_pictures(store, paper, worked),
        answer=worked.answer,
        appraisal=worked.found,
        shop=_shop_of(given["shop"]),
        number=paper.printed_number,
        replaces=given.get("replaces", ""),
        wishes=from_json(given.get("wishes", {})),
        by_hand={part: (level, given["reasons"].get(part, "")) for part, level in given["pins"].items()},
        system=paper.units,
        prices_from=given["prices_from"],
        advice=given.get("advice", False),
        held=given.get("held"),
        done_by=day_of(given.get("done_by")),
        comparables=given.get("comparables", ()),  # papers from before there was a grid have none
        # papers from before the books were searched have none
        prior=prior_words(given["prior"], study.tables, study.visit.piano.kind) if "prior" in given else (),
    )


def _shop_of(kept: Mapping[str, Any]) -> Shop:
    """Return the workshop as it was named on a paper; lists of lines are kept as JSON has them."""
    facts: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in kept.items()}
    return Shop(**facts)


def _pictures(store: Store, paper: Paper, worked: WorkedOut) -> list[Picture]:
    """Return the photos of a paper; one that is missing is said to be so in its place."""
    study = worked.study
    names = {row.id: say(row.name) for row in study.tables.of_kind("checks", study.visit.piano.kind).values()}
    told_of = {finding.check for part in worked.found.parts for finding in part.findings}
    pictures = []
    for photo in paper.given["photos"]:
        path = store.photo_path(photo["hash"])
        caption = [words for words in (names.get(photo["check"], ""), photo["caption"].strip()) if words]
        pictures.append(
            Picture(
                data=path.read_bytes() if path else b"",
                caption=say("{what}: {words}", what=caption[0], words=caption[1]) if caption[1:] else "".join(caption),
                check=photo["check"] if photo["check"] in told_of else "",
            )
        )
    return pictures


def hash_of(found: Appraisal) -> str:
    """Return the SHA-256 of an appraisal's JSON."""
    return sha256(to_json(found).encode("utf-8", "surrogatepass")).hexdigest()


def _or(names: Iterable[str]) -> str:
    *most, last = names
    return say("{first} or {last}", first=", ".join(most), last=last) if most else last
