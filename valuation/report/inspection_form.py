"""What stands on the printed inspection form: the facts of the visit, then the checks in the order of the walk. Pure.

The order and the numbers are those of `form_order`: whoever types a form in goes by the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import ACCESSES, SECTIONS, SEVERITIES, CheckRow, Tables
from valuation.language import language, say
from valuation.report.format import measure, unit_words
from valuation.report.labels import PLACE_NAMES, in_sentence, listed, severity_words

PINS_A_SECTION, NOTES_A_SECTION = 12, 5
"""Cells for readings in each section: of something there is one of for every string, and of notes."""

AT_VISIT = ("access", "service")
"""Levels of operations that can come up at a visit, such as tilting or a tuning; their cautions are printed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """A fact to be written at the head of the form.

    Attributes
    ----------
    boxes : tuple of str
        Words to tick; where there are none, a line is left to write on.
    wide : bool
        Takes the whole width.
    lines : int
        Lines to write on [-].
    """

    label: str
    boxes: tuple[str, ...] = ()
    wide: bool = False
    lines: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class FormCheck:
    """One check as printed.

    Attributes
    ----------
    number : int
        Running number on the form, from 1.
    boxes : tuple of (word, what it looks like)
        For a check answered in words.
    unit : str
        Unit of the number or readings.
    measured : bool
        A number or readings are asked.
    rows : tuple of (section, cells)
        Rows of cells for readings, and how many cells in each.
    remark : str
        What is worked out from it, or where it is left out.
    """

    number: int
    check: str
    name: str
    how: str
    boxes: tuple[tuple[str, str], ...]
    unit: str
    measured: bool
    rows: tuple[tuple[str, int], ...]
    remark: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FormSection:
    """A station of the walk, with its checks; `minutes` is the time a practised person takes for them."""

    title: str
    minutes: float
    elsewhere: str
    checks: tuple[FormCheck, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectionForm:
    """The whole form: `cautions` are what calls for them and what is said, `words` the fixed words of its layout."""

    language: str
    title: str
    how_to_fill: tuple[str, ...]
    facts: tuple[Fact, ...]
    cautions: tuple[tuple[str, str], ...]
    sections: tuple[FormSection, ...]
    foot: str
    words: dict[str, str]


def form_order(tables: Tables, kind: str) -> tuple[CheckRow, ...]:
    """Return the checks in the order of the form: the quick look first, then the rest of the walk.

    A check that is worked out from the readings of another one is left out: nothing is written down for it.
    The first one is number 1 on the form.

    Parameters
    ----------
    kind : str
        ``upright`` or ``grand``.
    """
    asked = [row for row in tables.checks if row.kinds in (kind, "both") and not row.readings_of]
    asked.sort(key=lambda row: ACCESSES.index(row.access))
    return tuple([row for row in asked if row.quick] + [row for row in asked if not row.quick])


def inspection_form(tables: Tables, kind: str, system: str = "metric") -> InspectionForm:
    """Return what is printed on the form for one kind of piano.

    Parameters
    ----------
    tables : Tables
        The shop's tables.
    kind : str
        ``upright`` or ``grand``.
    system : str
        Units of the fields: ``metric`` or ``imperial``.
    """
    order = form_order(tables, kind)
    checks = [(row, _check(i, row, tables, system)) for i, row in enumerate(order, start=1)]
    quick = [(row, check) for row, check in checks if row.quick]
    sections = [_section(say("The quick look"), say("It settles most cases; do it first."), quick)]
    for access in ACCESSES:
        here = [(row, check) for row, check in checks if row.access == access]
        done = ", ".join(str(check.number) for row, check in here if row.quick)
        elsewhere = say("Also here, from the quick look: {numbers}", numbers=done) if done else ""
        rest = [(row, check) for row, check in here if not row.quick]
        sections.append(_section(say(PLACE_NAMES[access]), elsewhere, rest))
    title = say("Inspection of an upright piano") if kind == "upright" else say("Inspection of a grand piano")
    return InspectionForm(
        language=language(),
        title=title,
        how_to_fill=(
            say("Tick one box, or write the number. A row left empty is 'not looked at', and never counts as good."),
            say("'Can't be seen' is for what you looked for, but could not see or reach."),
            say("Whatever isn't known stays empty: nothing on this page has to be filled in."),
        ),
        facts=_facts(tables, kind, system),
        cautions=_cautions(tables, kind, order, system),
        sections=tuple(section for section in sections if section.checks),
        foot=say("{form} · tables {hash}", form=title, hash=tables.hash[:8]),
        words={
            "cannot_see": say("can't be seen"),
            "piano": say("Piano"),
            "day": say("Date"),
            "page": say("Page {page} of {pages}", page="{page}", pages="{pages}"),
            "cautions": say("Before you touch it"),
            "minutes": say("about {minutes} min", minutes="{minutes}"),
            "notes": say("Notes, by the number of the check"),
            "photos": say("Photos: the serial number first, then the whole piano, then each fault with its number"),
            "number": say("Number"),
            "note": say("What was seen"),
            "told": say("To be said to the client before leaving"),
        },
    )


def _section(title: str, elsewhere: str, checks: list[tuple[CheckRow, FormCheck]]) -> FormSection:
    return FormSection(
        title=title,
        minutes=sum(row.minutes for row, _ in checks),
        elsewhere=elsewhere,
        checks=tuple(check for _, check in checks),
    )


def _check(number: int, row: CheckRow, tables: Tables, system: str) -> FormCheck:
    worked_out = [other for other in tables.checks if other.readings_of == row.id]
    cells = PINS_A_SECTION if any(other.of_all for other in worked_out) else NOTES_A_SECTION
    remarks = _remarks(row, tables)
    return FormCheck(
        number=number,
        check=row.id,
        name=say(row.name),
        how=say(row.how),
        boxes=tuple(_word_and_look(say(getattr(row, grade))) for grade in row.choices),
        unit=say(unit_words(row.unit, system)) if row.unit else "",
        measured=row.answer != "choice",
        rows=tuple((say(section), cells) for section in SECTIONS) if row.answer == "readings" else (),
        remark="; ".join(remarks),
    )


def _remarks(row: CheckRow, tables: Tables) -> list[str]:
    """Return when a check is asked at all: with which build, and after which finding."""
    fault = next((fault for fault in tables.faults if fault.id == row.reads), None)
    part = next((part for part in tables.parts if fault is not None and part.id == fault.part), None)
    needed = row.only_with or (fault.only_with if fault else ()) or (part.only_with if part else ())
    names = {feature.id: say(feature.name) for feature in tables.features}
    remarks = []
    if needed:
        remarks.append(say("only with: {feature}", feature=listed(names[feature] for feature in needed)))
    after = next((check for check in tables.checks if check.id == row.asked_after), None)
    if after is not None:
        remarks.append(
            say(
                "only where '{check}' was {severity} or worse",
                check=in_sentence(say(after.name)), severity=severity_words(row.asked_from),
            )
        )  # fmt: skip
    return remarks


def _word_and_look(text: str) -> tuple[str, str]:
    word, _, looks = text.partition(":")
    return word.strip(), looks.strip()


def _facts(tables: Tables, kind: str, system: str) -> tuple[Fact, ...]:
    unit = {"metric": "cm", "imperial": "in"}[system]
    size = say("Height ({unit})", unit=unit) if kind == "upright" else say("Length ({unit})", unit=unit)
    features = tuple(say(row.name) for row in tables.features if row.kinds in (kind, "both"))
    parts = ", ".join(say(row.name) for row in tables.parts if not row.only_with)
    money = tables.settings.currency
    return (
        Fact(label=say("Client")),
        Fact(label=say("Technician")),
        Fact(label=say("Place, floor, stairs")),
        Fact(label=say("From, to (time)")),
        Fact(label=say("Maker, as written on it")),
        Fact(label=say("Serial number")),
        Fact(label=size),
        Fact(label=say("Year built"), boxes=(say("known"), say("about"))),
        Fact(label=say("Finish")),
        Fact(label=say("Humidity (%), temperature (°C)")),
        Fact(label=say("Reputation of the maker"), boxes=tuple(say(row.name) for row in tables.tiers), wide=True),
        Fact(label=say("Build"), boxes=features, wide=True),
        Fact(label=say("Renewed, and in which year ({parts})", parts=parts), wide=True, lines=2),
        Fact(label=say("How it has lived: where, heating, damp, moves, last tuned by whom"), wide=True, lines=3),
        Fact(label=say("Why they ask, and what they wish"), wide=True, lines=2),
        Fact(label=say("A piano to play is wanted"), boxes=(say("yes"), say("no"))),
        Fact(label=say("Most they can spend ({currency})", currency=money)),
        Fact(label=say("What to have this very piano is worth to them ({currency})", currency=money)),
        Fact(label=say("What to hear it played is worth to them ({currency})", currency=money)),
        Fact(label=say("Years to look ahead")),
    )


def _cautions(tables: Tables, kind: str, order: tuple[CheckRow, ...], system: str) -> tuple[tuple[str, str], ...]:
    """Return what can hurt at a visit: what calls for a caution, if a check does, and the caution.

    Beside those of faults that a check reads they are the cautions of work that can come up at a visit.
    """
    at_visit = {row.id for row in tables.of_kind("operations", kind).values() if row.level in AT_VISIT}
    numbers = {row.id: number for number, row in enumerate(order, start=1)}
    # what is worked out from the readings of another check is looked up there; of several checks the first is named
    asked = [(numbers[row.readings_of or row.id], row) for row in tables.of_kind("checks", kind).values()]
    reading = {row.reads: (number, row) for number, row in sorted(asked, key=lambda pair: -pair[0])}
    found: dict[str, str] = {}
    for row in tables.cautions:
        if row.rank == "note":
            continue
        if row.fault in reading:
            number, check = reading[row.fault]
            found.setdefault(row.text, say("{number}, {found}", number=number, found=_from(check, row.since, system)))
        elif row.operation in at_visit:
            found.setdefault(row.text, "")
    return tuple((when, say(text)) for text, when in found.items())


def _from(check: CheckRow, severity: str, system: str) -> str:
    """Return from which answer on a check reads so severe."""
    if check.answer == "choice":
        worded = [s for s in check.choices if SEVERITIES.index(s) >= SEVERITIES.index(severity)]
        if not worded:
            return severity_words(severity)
        word = _word_and_look(say(getattr(check, worded[0])))[0]
        return say("'{word}'", word=word) if worded[1:] == [] else say("from '{word}' on", word=word)
    cut = {"slight": check.cut_slight, "marked": check.cut_marked, "severe": check.cut_severe}[severity]
    if cut is None:
        return severity_words(severity)
    shown = measure(cut, check.unit, system)
    return say("below {cut}", cut=shown) if check.better == "high" else say("from {cut} on", cut=shown)
