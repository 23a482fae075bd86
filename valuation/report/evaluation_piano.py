"""Of the written evaluation: which piano it is, what was looked at and what was not, and in what condition it is."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_condition import ComponentResult, FindingResult, PartResult
from valuation.engine.network import network_of
from valuation.engine.rows import ACCESSES, SECTIONS, STATES, CheckRow, Tables
from valuation.facts.units import INCH_MM
from valuation.facts.visit import Piano, Visit
from valuation.language import say, say_many
from valuation.report.axis import ticks
from valuation.report.case import WHOLE
from valuation.report.document import Bar, Block, Facts, Grid, Pictures, Points, Ranges, Readings, Words
from valuation.report.drawn import drawn, photos_left
from valuation.report.fault_words import why_sentence, worst_part
from valuation.report.format import number, of_100, plain_measure, unit_words
from valuation.report.labels import (
    after,
    cut_words,
    finding_words,
    in_sentence,
    listed,
    place_name,
    severity_words,
    with_capital,
    year_words,
)
from valuation.report.leaf import MOST_WORDS
from valuation.report.occasion import Occasion, Photo
from valuation.report.words import assumed_sentence

_INCHES_A_FOOT = 12


def the_piano(visit: Visit, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return what identifies the piano, how it has lived as told, and photos of the whole."""
    blocks: list[Block] = [Facts(rows=tuple(row for row in _identity(visit, tables, occasion) if row[1]))]
    if visit.story.strip():
        blocks += [Words(text=say("As told and seen at the visit:")), Words(text=visit.story.strip(), style="quote")]
    whole = [photo for photo in occasion.photos if not photo.check]
    if whole:
        blocks.append(pictures(whole))
    return blocks


def _identity(visit: Visit, tables: Tables, occasion: Occasion) -> list[tuple[str, str]]:
    piano = visit.piano
    names = {row.id: say(row.name) for row in tables.features} | {row.id: say(row.name) for row in tables.parts}
    renewed = [f"{names[part]} {year}" for part, year in piano.renewed]
    tier = next((say(row.name) for row in tables.tiers if row.id == piano.tier), say("not known"))
    size = say("Height") if piano.kind == "upright" else say("Length")
    return [
        (say("Kind"), say("upright piano") if piano.kind == "upright" else say("grand piano")),
        (say("Maker, as written on it"), piano.maker or say("not known")),
        (say("Serial number"), piano.serial or say("not known")),
        (say("Built"), year_words(piano)),
        (size, size_said(piano, occasion.system)),
        (say("Finish"), piano.finish),
        (say("Reputation of the maker"), tier),
        (say("Build"), listed(names[feature] for feature in piano.features)),
        (say("Renewed before"), listed(renewed)),
    ]


def size_said(piano: Piano, system: str) -> str:
    """Return the height of an upright or the length of a grand, in centimetres or in feet and inches."""
    if not piano.size_mm:
        return say("not known")
    if system == "metric":
        return say("{size} cm", size=number(round(piano.size_mm / 10)))
    inches = round(piano.size_mm / INCH_MM)
    if piano.kind == "upright":
        return say("{size} in", size=inches)
    feet, rest = divmod(inches, _INCHES_A_FOOT)
    return say("{feet} ft {inches} in", feet=feet, inches=rest)


def what_was_looked_at(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return which checks were made where, which parts nobody looked at, and what could not be seen."""
    asked = checks_of(visit, tables)
    seen = {finding.check for finding in visit.findings if not finding.cannot_see}
    hidden = {finding.check for finding in visit.findings if finding.cannot_see}
    states = [[_look(row.id, seen, hidden) for row in asked if row.access == place] for place in ACCESSES]
    grid = Grid(
        caption=say("Checks by where they are made"),
        head=(say("Checks"), *(place_name(place) for place in ACCESSES), say("In all")),
        rows=tuple(
            (name, *(str(here.count(look)) for here in states), str(sum(here.count(look) for here in states)))
            for look, name in ((1, say("made")), (0, say("looked for, but could not be seen")), (-1, say("not made")))
        ),
        align="lrrrrrrr",
        widths=(2, 1, 1, 1, 1, 1, 1, 0.7),
    )
    said = [
        say_many(
            "{count} check of {all} was made at the visit.",
            "{count} checks of {all} were made at the visit.",
            len(seen & {row.id for row in asked}),
            all=len(asked),
        ),
        _air(visit, occasion),
        say("A check that was not made is counted as not known, never as good."),
    ]
    return [
        Words(text=" ".join(sentence for sentence in said if sentence)),
        grid,
        *_limits_of_the_look(visit, appraisal, tables),
    ]


def _look(check: str, seen: set[str], hidden: set[str]) -> int:
    """Return 1 for a check that was made, 0 for one that could not be seen, -1 for one that was not made."""
    return 1 if check in seen else 0 if check in hidden else -1


def checks_of(visit: Visit, tables: Tables) -> list[CheckRow]:
    """Return the checks that this piano can be asked, in the order of the walk.

    What is worked out from the readings of others is left out, and so is what is asked only after a finding that
    there isn't.
    """
    piano = visit.piano
    tier = piano.tier or next(row.id for row in tables.tiers if row.usual)
    asked = network_of(tables, piano.kind, tuple(sorted(piano.features)), tier).checks.values()
    made = {finding.check for finding in visit.findings}
    return [row for row in asked if not row.readings_of and (not row.asked_after or row.id in made)]


def _air(visit: Visit, occasion: Occasion) -> str:
    """Return the air of the day: readings of pins and keys can only be read beside it."""
    if visit.humidity is None and visit.temperature is None:
        return say("The humidity of the day was not noted; damp air makes pins seem tighter than they are.")
    said = []
    if visit.humidity is not None:
        said.append(say("{humidity} % relative humidity", humidity=number(visit.humidity)))
    if visit.temperature is not None:
        said.append(temperature_said(visit.temperature, occasion.system))
    return say("The air at the piano that day: {air}.", air=listed(said))


def temperature_said(celsius: float, system: str) -> str:
    """Return a temperature in degrees Celsius, or Fahrenheit where inches and pounds are wanted."""
    if system == "metric":
        return say("{degrees} °C", degrees=number(celsius))
    return say("{degrees} °F", degrees=number(round(celsius * 9 / 5 + 32)))


def _limits_of_the_look(visit: Visit, appraisal: Appraisal, tables: Tables) -> list[Block]:
    checks = tables.of_kind("checks", visit.piano.kind)
    names = {id_: in_sentence(say(row.name)) for id_, row in checks.items()}
    unseen = [say(part.name) for part in appraisal.parts if part.component and not part.looked_at]
    said = []
    if unseen:
        said.append(say("Nobody has looked at: {parts}.", parts=listed(unseen)))
    if appraisal.cannot_see:
        said.append(
            say("Looked for, but could not be seen: {checks}.", checks=listed(names[c] for c in appraisal.cannot_see))
        )
    said += [say(conflict.says) for conflict in appraisal.conflicts]
    if appraisal.assumed:
        said.append(assumed_sentence(appraisal))
    return [Points(items=tuple(said))] if said else []


def condition(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the condition: the chart, then each component with its parts and what was found on them."""
    whole = Words(
        text=say(
            "As a whole: {score} of 100; 8 of 10 such pianos lie between {low} and {high}. The line shows how "
            "far the truth "
            "may lie from the mark: it is long where little was seen.",
            score=f"{appraisal.score:.0f}", low=f"{appraisal.score_low:.0f}", high=f"{appraisal.score_high:.0f}",
        )
    )  # fmt: skip
    assert occasion.leaf is not None, "a piano that is evaluated has its leaf"
    shown = [photo for photo in photos_left(occasion.leaf.how, occasion) if photo.check]
    return [
        drawn(visit, occasion.leaf.how, occasion),
        whole,
        _components(appraisal),
        _chart(appraisal, tables),
        _parts(visit, appraisal, tables, occasion),
        *_sampled(visit, tables, occasion),
        *([pictures(shown)] if shown else []),
    ]


def in_other_words(appraisal: Appraisal, tables: Tables) -> list[Block]:
    """Return what the words of the workshop mean, first those for which the client hears another one."""
    here = {part.part for part in appraisal.parts} - {WHOLE}
    words = [(say(row.name), say(row.called), say(row.what)) for row in tables.parts if row.id in here and row.what]
    words.sort(key=lambda word: word[1] in word[0])
    told = []
    for name, called, what in words[:MOST_WORDS]:
        both = name if called in name else say("{name} ({other})", name=name, other=called)
        told.append(say("{part}: {words}", part=with_capital(both), words=what))
    return [Points(items=tuple(told))] if told else []


def _components(appraisal: Appraisal) -> Grid:
    """Return the components, each with its score, its band, its worst part and what that hangs on."""
    rows = []
    for row in appraisal.components:
        part = worst_part(row, appraisal)
        rows.append((with_capital(say(row.name)), _score(row), with_capital(say(part.name)), why_sentence(part)))
    return Grid(
        caption=say("Each component, 0 to 100, its worst part, and what that hangs on"),
        head=(say("Component"), say("Score"), say("Worst part"), say("Why")),
        rows=tuple(rows),
        align="llll",
        widths=(1, 0.8, 1.1, 2.2),
    )


def _score(result: ComponentResult | PartResult) -> str:
    return say(
        "{score} ({low} to {high})", score=f"{result.score:.0f}", low=f"{result.low:.0f}", high=f"{result.high:.0f}"
    )


def _chart(appraisal: Appraisal, tables: Tables) -> Ranges:
    bars = []
    for component in appraisal.components:
        parts = [part for part in appraisal.parts if part.component == component.component]
        bars.append(_bar(with_capital(say(component.name)), component, chosen=True))
        bars += [_bar(say(part.name), part) for part in parts if len(parts) > 1]
    zones = tuple((row.score_low, row.score_high, say(row.name)) for row in reversed(tables.states))
    return Ranges(
        title=say("Condition by component and part, 0 to 100"),
        bars=tuple(bars),
        start=0,
        end=100,
        ticks=(),
        zones=zones,
        alt=" ".join(f"{bar.name}: {bar.said}." for bar in bars),
    )


def _bar(name: str, result: ComponentResult | PartResult, *, chosen: bool = False) -> Bar:
    return Bar(name=name, low=result.low, at=result.score, high=result.high, said=_score(result), chosen=chosen)


def _parts(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Grid:
    parts = sorted(appraisal.parts, key=lambda part: not part.component)  # how it has lived comes last
    return Grid(
        caption=say("Each part, and all that was found on it, the most telling first"),
        head=(say("Part"), say("State, most likely"), say("What was found")),
        rows=tuple(
            (
                with_capital(say(part.name)),
                f"{_state(part)}\n{why_sentence(part)}" if part.component else "",
                _found(visit, part, tables, occasion),
            )
            for part in parts
            if part.component or part.findings
        ),
        align="lll",
        widths=(1.05, 1.35, 2.3),
    )


def _state(part: PartResult) -> str:
    chance = of_100(part.states[STATES.index(part.state)])
    if not part.looked_at:
        return say("not looked at; likeliest {state} ({chance})", state=say(part.state), chance=chance)
    return say("{state} ({chance})", state=say(part.state), chance=chance)


def _found(visit: Visit, part: PartResult, tables: Tables, occasion: Occasion) -> str:
    told = [found_words(finding, visit, tables, occasion.system) for finding in part.findings]
    return "\n".join(told) or say("nothing was looked at")


def found_words(finding: FindingResult, visit: Visit, tables: Tables, system: str) -> str:
    """Return one finding in a line: what was checked, what was found, and the technician's own words."""
    check = tables.of_kind("checks", visit.piano.kind)[finding.check]
    tried = sum(len(f.readings) for f in visit.findings if f.check in (check.id, check.readings_of))
    said = after(say(check.name), finding_words(finding, check, system, tried))
    own_words = finding.note and not check.readings_of  # else they stand beside the readings already
    return say("{finding}; “{note}”", finding=said, note=finding.note) if own_words else said


def _sampled(visit: Visit, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the readings of sampled checks, such as the torque of tuning pins, each with its limits."""
    checks = tables.of_kind("checks", visit.piano.kind)
    return [
        _readings(finding, checks[finding.check], occasion.system)
        for finding in visit.findings
        if len(finding.readings) > 1 and checks[finding.check].cut_slight is not None
    ]


def _readings(finding, check: CheckRow, system: str) -> Readings:
    sections = [s for s in (*SECTIONS, "") if any(r.section == s for r in finding.readings)]
    rows = tuple(
        (say(section) if section else say("all"), tuple(r.value for r in finding.readings if r.section == section))
        for section in sections
    )
    cuts = ((check.cut_slight, "slight"), (check.cut_marked, "marked"), (check.cut_severe, "severe"))
    limits = [(cut, severity_words(severity)) for cut, severity in cuts if cut is not None]
    values = [value for _, of_row in rows for value in of_row]
    start, end = min(*values, *(at for at, _ in limits), 0.0), max(*values, *(at for at, _ in limits), 0.0)
    room = 0.04 * (end - start)
    unit = unit_words(check.unit, system)
    told = "; ".join(
        say("{section}: {values}", section=name, values=listed(plain_measure(v, check.unit, system) for v in of_row))
        for name, of_row in rows
    )
    return Readings(
        title=after(say(check.name), say("the single readings, in {unit}", unit=unit)),
        rows=rows,
        start=start - room,
        end=end + room,
        ticks=ticks(start, end, check.unit, system),
        limits=tuple(limits),
        alt=f"{told}. {cut_words(check, system)}",
    )


def pictures(photos: list[Photo]) -> Pictures:
    """Return photos with their captions."""
    return Pictures(items=tuple(_picture(photo) for photo in photos))


def _picture(photo: Photo) -> tuple[str, str, str]:
    shown = photo.alt or photo.caption or say("photo")
    if photo.name:
        return photo.name, photo.caption, shown
    return "", say("{caption} (the photo can't be read)", caption=photo.caption or say("photo")), shown
