"""A visit file (plain TOML) into a checked `Visit`, or every fault in it at once."""

from __future__ import annotations

from datetime import date
from math import nextafter
from pathlib import Path
from typing import Any

from valuation.engine.rows import KINDS, Tables
from valuation.engine.rows.words import kinds_of
from valuation.errors import Problem, VisitError, quoted
from valuation.facts import fact
from valuation.facts.declared import FIRST_VISIT
from valuation.facts.kinds import Flag, Number, Table, Whole, Words
from valuation.facts.visit import PREMIUM_UNPLAYED, Client, Piano, Range, Visit
from valuation.files.faults import one_of
from valuation.files.plain_text import decode_text, read_text
from valuation.files.toml_text import line_of, lines_of_keys, parse_toml
from valuation.files.visit_findings import read_findings
from valuation.files.visit_values import Section, Tell

MOST_BYTES = 1_000_000
"""A larger visit file is not read [bytes]."""


def read_visit(path: Path, tables: Tables, *, today: date) -> Visit:
    """Read and check a visit file.

    Parameters
    ----------
    path : Path
        The file; everything in it is optional but the title, the date and the kind of piano.
    tables : Tables
        The shop's tables, which say what can be found and in what unit.
    today : date
        A visit can't be later than this.

    Returns
    -------
    Visit
        Numbers in stored units; checks not looked at left out.

    Raises
    ------
    VisitError
        If anything is wrong; carries every fault that could be found, with its line and key.
    """
    text, problems = read_text(path, most_bytes=MOST_BYTES)
    if problems:
        raise VisitError(problems)
    return _parse(text, path.name, tables, today)


def parse_visit(text: str, name: str, tables: Tables, *, today: date) -> Visit:
    """Check the text of a visit file called `name`; as `read_visit` in all else.

    Parameters
    ----------
    text : str
        The TOML text.
    name : str
        Name shown in the problems.
    tables : Tables
        The shop's tables.
    today : date
        A visit can't be later than this.

    Returns
    -------
    Visit
        As from `read_visit`.

    Raises
    ------
    VisitError
        As from `read_visit`.
    """
    data = text.encode("utf-8", errors="surrogatepass")
    if len(data) > MOST_BYTES:
        raise VisitError([Problem(name, 0, "", f"the text is larger than {MOST_BYTES:,} bytes; is it the right one?")])
    text, problems = decode_text(data, name)
    if problems:
        raise VisitError(problems)
    return _parse(text, name, tables, today)


def _parse(text: str, name: str, tables: Tables, today: date) -> Visit:
    content, problems = parse_toml(text, name)
    if problems:
        raise VisitError(problems)
    lines = lines_of_keys(text)

    def tell(key: str, message: str) -> None:
        problems.append(Problem(name, line_of(key, lines), key, message))

    visit = _read(Section(content, "", tell), tables, today)
    if problems or visit is None:
        raise VisitError(problems)
    return visit


def read_fields(content: dict[str, Any], tell: Tell, tables: Tables) -> Visit | None:
    """Check what a visit file would hold, given as a table; any day may be its day.

    Parameters
    ----------
    content : dict
        As TOML would give it.
    tell : callable
        Takes the dotted key and the message of every fault.
    tables : Tables
        The shop's tables.

    Returns
    -------
    Visit or None
        As far as it can be read; None only where the day can't.
    """
    return _read(Section(content, "", tell), tables, date.max)


def _read(file: Section, tables: Tables, today: date) -> Visit | None:
    """Return the visit; None, or one with gaps, only where something was told."""
    file.need("title", "write title = 'a name for this visit'")
    file.need("date", "write date = 2026-05-04, the day of the visit")
    title, on = file.words("title"), file.day("date", FIRST_VISIT, today)
    if isinstance(file.content.get("title"), str) and not title.strip():
        file.tell("title", "the title is empty; give the visit a name")
    piano = _read_piano(file.section("piano"), tables, on or today)
    findings, taken_over = read_findings(file.section("findings"), piano, tables)
    visit = Visit(
        title=title,
        on=on or today,
        piano=piano,
        technician=file.words("technician"),
        place=file.words("place"),
        story=file.words("story", fact("story", Words)),
        humidity=file.number("humidity", fact("humidity", Number)),
        temperature=file.number("temperature", fact("temperature", Number)),
        client=_read_client(file.section("client")),
        finished_value=_read_range(file.section("finished_value")) if "finished_value" in file.content else None,
        findings=findings,
        taken_over=taken_over,
    )
    file.tell_unknown_keys()
    return visit if on else None


def _read_piano(section: Section, tables: Tables, on: date) -> Piano:
    section.need("kind", "write kind = 'upright' or kind = 'grand'")
    kind = section.choice("kind", KINDS, "kind of piano")
    kinds = (kind,) if kind else KINDS
    sizes = [row for row in tables.sizes if row.kind in kinds]
    size = fact("piano.size_mm", Number)  # no piano is lower than this or longer, whatever the size classes say
    shortest = max(size.low, min(row.from_mm for row in sizes))
    longest = min(size.high, max(row.to_mm for row in sizes))  # exclusive, as the classes are
    year = section.whole("year", fact("piano.year", Whole), high=on.year)
    about = section.flag("year_is_about", fact("piano.year_is_about", Flag))
    features = section.names("features", [row.id for row in tables.features], "feature")
    for name in features:
        row = next(row for row in tables.features if row.id == name)
        if not set(kinds_of(row.kinds)) & set(kinds):
            section.tell("features", f"{quoted(name)} is not a feature of {kind}s; take it out")
    piano = Piano(
        kind=kind,
        size_mm=section.length_mm("size", shortest, nextafter(longest, 0)),
        maker=section.words("maker"),
        serial=section.words("serial"),
        finish=section.words("finish"),
        year=year,
        year_is_about=about,
        tier=section.choice("tier", [row.id for row in tables.tiers], "tier"),
        features=features,
        renewed=_read_renewed(section.section("renewed"), tables, features, None if about else year, on),
    )
    section.tell_unknown_keys()
    return piano


def _read_renewed(
    section: Section, tables: Tables, features: tuple[str, ...], built: int | None, on: date
) -> tuple[tuple[str, int], ...]:
    needed = {part.id: part.only_with for part in tables.parts}
    renewed = []
    for name in section.content:
        if name not in needed:
            continue  # told below
        if needed[name] and not set(needed[name]) & set(features):
            section.tell(name, f"only a piano with {one_of(needed[name])} has it; add that to piano.features")
        year = section.whole(name, fact("piano.renewed.", Whole), low=built, high=on.year)
        if year is not None:
            renewed.append((name, year))
    section.tell_unknown_keys(needed)
    return tuple(renewed)


def _read_client(section: Section) -> Client:
    # One figure in older files: three tenths of it for having the piano, the rest as far as it is heard.
    premium = section.number("premium", fact("client.premium", Number)) or 0.0
    client = Client(
        name=section.words("name"),
        purpose=section.words("purpose", fact("client.purpose", Words)),
        wishes=section.words("wishes", fact("client.wishes", Words)),
        wants_to_play=section.flag("wants_to_play", fact("client.wants_to_play", Flag)),
        to_have=section.number("to_have", fact("client.to_have", Number)) or PREMIUM_UNPLAYED * premium,
        to_hear=section.number("to_hear", fact("client.to_hear", Number)) or (1 - PREMIUM_UNPLAYED) * premium,
        budget=section.number("budget", fact("client.budget", Number)),
        playing_year=section.number("playing_year", fact("client.playing_year", Number)),
        horizon_years=section.number("horizon_years", fact("client.horizon_years", Number)),
    )
    section.tell_unknown_keys()
    return client


def _read_range(section: Section) -> Range | None:
    ends = fact("finished_value", Table).keys
    there = [section.need(end, "give low, likely and high together, or none") for end in ends]
    low, likely, high = (section.number(end, fact(end, Number, ends)) for end in ("low", "likely", "high"))
    section.tell_unknown_keys()
    if not all(there) or low is None or likely is None or high is None:
        return None
    if not low <= likely <= high:
        section.tell("likely", f"low, likely and high must rise: {low:g}, {likely:g}, {high:g}")
        return None
    return Range(low=low, likely=likely, high=high)
