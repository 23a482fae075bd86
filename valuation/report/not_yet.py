"""What is said of a piano before there is a verdict: what to look at first, and nothing else. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import ACCESSES, Tables
from valuation.facts.visit import Visit
from valuation.language import later, say, say_many
from valuation.report.document import Block, Document, Heading, Points, Section, Words
from valuation.report.evaluation_piano import found_words, pictures
from valuation.report.fault_words import stop_sentences
from valuation.report.heads import head_facts, heading
from valuation.report.labels import in_sentence, listed, with_capital
from valuation.report.occasion import Occasion


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """What to look at behind one access: its name, and the checks in the order of the walk."""

    name: str
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFirst:
    """What to look at before any verdict.

    Attributes
    ----------
    why : str
        What nobody has looked at.
    minutes : str
        How long it takes.
    locked : str
        What has to be opened first; empty where nothing has.
    """

    why: str
    minutes: str
    stations: tuple[Station, ...]
    locked: str


def look_first(appraisal: Appraisal, visit: Visit, tables: Tables) -> LookFirst:
    """Return what to look at before any verdict, by what has to be open for it."""
    checks = tables.of_kind("checks", visit.piano.kind)
    accesses = {row.id: say(row.name) for row in tables.accesses}
    stations = []
    for access in ACCESSES:
        here = tuple(say(checks[check].name) for check in appraisal.musts if checks[check].access == access)
        if here:
            stations.append(Station(name=accesses[access], checks=here))
    return LookFirst(
        why=say(
            "Nobody has looked at what must hold before money is talked of: {parts}.",
            parts=_names(appraisal, appraisal.open_gates),
        ),
        minutes=say_many(
            "Look at this first; it takes about {count} minute.",
            "Look at this first; it takes about {count} minutes.",
            max(1, round(appraisal.must_minutes)),
        ),
        stations=tuple(stations),
        locked=say("Something has to be opened first to see: {parts}.", parts=_names(appraisal, appraisal.locked))
        if appraisal.locked
        else "",
    )


def _names(appraisal: Appraisal, parts: tuple[str, ...]) -> str:
    names = {part.part: say(part.name) for part in appraisal.parts}
    return listed(in_sentence(names[part]) for part in parts)


_NOTHING_YET = later(
    "We have not seen enough yet to say how your piano is, what could be done, or what that would cost. Here is what "
    "we saw, and what has to be looked at before we can."
)


def _seen(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return what each check showed, and photos: without what follows from it."""
    findings = [finding for part in appraisal.parts for finding in part.findings]
    items = tuple(found_words(finding, visit, tables, occasion.system) for finding in findings)
    photos = list(occasion.photos)
    return [*([Points(items=items)] if items else []), *([pictures(photos)] if photos else [])]


def not_yet(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the paper for a piano that is not evaluated yet: what must not be done, what was seen, what is to be seen.

    Arguments as for `valuation.report.evaluation.evaluation`. There is nothing in it to sign, and no price.
    """
    first = look_first(appraisal, visit, tables)
    stations: list[Block] = []
    for station in first.stations:
        stations += [Heading(text=with_capital(station.name)), Points(items=station.checks)]
    told = [text for text in (first.why, first.locked) if text]
    sections = (
        Section(title="", blocks=tuple(Words(text=text, style="stop") for text in stop_sentences(appraisal))),
        Section(title="", blocks=(Words(text=say(_NOTHING_YET)),)),
        Section(title=say("What was seen"), blocks=tuple(_seen(visit, appraisal, tables, occasion))),
        Section(title=say("What to look at first"), blocks=(Points(items=(*told, first.minutes)), *stations)),
    )
    return Document(
        **heading(say("Not evaluated yet"), visit, appraisal, occasion),
        facts=head_facts(visit, appraisal, occasion, as_of=""),
        sections=tuple(section for section in sections if section.blocks),
    )
