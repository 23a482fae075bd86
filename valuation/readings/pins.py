"""The tuning pins: how tight those tried were, how many of all may be loose, and whether one section is worse."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from statistics import median

import numpy as np

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.units import convert
from valuation.language import later, numeral, say
from valuation.measure.pin_sections import SectionDifference, loose_by_section, torque_by_section
from valuation.measure.pins import LooseInAll, loose_in_all, more_pins_to_settle
from valuation.readings.grade import ANYWHERE, find, row_of
from valuation.readings.result import Figure, Listing, Reading, Series, give_or_take, told_of
from valuation.report.format import IMPERIAL, of_100, unit_words
from valuation.report.labels import cut_words

TORQUE = "pin_torque"

PINS = 225
"""Pins of a usual piano (common practice: 215 to 240)."""

SETTLE_PERCENT = 20.0
"""Where so many of a hundred pins are loose the block is at its end, and changing a few helps no more (from memory)."""

_JUST_UNDER = 0.997
"""A pin that reads the cut itself holds, in whichever unit it was read and rounded."""

_SEED = 0
"""The dealing out of readings is chance: one seed, so that the same readings always say the same."""


def read_pins(
    readings: Mapping[str, Sequence[float]],
    unit: str,
    tables: Tables,
    kind: str,
    *,
    in_all: int | None = None,
    settle_percent: float | None = None,
    confidence: float = 0.95,
) -> Reading:
    """Return what the torque of some pins says of all.

    Parameters
    ----------
    readings : mapping of section to readings
        Torque of each pin tried, by section or under ``readings`` [unit].
    unit : str
        Unit of the readings, such as ``in-lb``.
    tables : Tables
        The shop's tables: from where on a pin is loose, and the cut points.
    kind : str
        ``upright`` or ``grand``.
    in_all : int, optional
        Pins of the piano; `PINS` if left out [-].
    settle_percent : float, optional
        Share of loose pins that should be settled; `SETTLE_PERCENT` if left out [%].
    confidence : float
        How often such ranges hold the truth [-].

    Returns
    -------
    Reading
        With a finding for `pin_torque`, from whose readings the tables may take those of other checks.

    Raises
    ------
    UserError
        If a number is not possible.
    """
    row = row_of(tables, kind, TORQUE)
    limit = None if row is None else loose_below(row)
    with told_of("pins"):
        torque = {
            section: [convert(value, unit, "N.m") for value in values] for section, values in readings.items() if values
        }
        all_torque = [value for values in torque.values() for value in values]
        if not all_torque:
            raise ValueError("give the torque of at least one pin")
        figures = [_middle(all_torque, unit, row)]
        says = [_middle_words(figures[0], row)]
        listings: tuple[Listing, ...] = ()
        if limit is not None:
            whole = in_all or PINS
            bad = _loose(torque, limit)
            share = SETTLE_PERCENT if settle_percent is None else settle_percent
            found = loose_in_all(sum(bad.values()), len(all_torque), whole, confidence)
            more = more_pins_to_settle(sum(bad.values()), len(all_torque), whole, share / 100, confidence)
            figures += _shares(found, sum(bad.values()), len(all_torque), confidence, more, share)
            says += _says(found, sum(bad.values()), len(all_torque), limit, unit, more, share)
        sections = {section: values for section, values in torque.items() if section != ANYWHERE}
        if len(sections) > 1 and sum(map(len, sections.values())) > len(sections):
            by_torque = torque_by_section(sections, rng=np.random.default_rng(_SEED))
            by_loose = (
                loose_by_section(_loose(sections, limit), {s: len(v) for s, v in sections.items()})
                if limit is not None else ()
            )  # fmt: skip
            says += _sections(by_torque, by_loose, confidence)
            listings = (_listing(by_torque, by_loose, unit),)
    one = convert(1, unit, "N.m")
    limits = ((say("loose below"), limit / one),) if limit is not None else ()
    return Reading(
        title=say("Tuning pins: {count} tried", count=len(all_torque)),
        figures=tuple(figures),
        says=tuple(says),
        does_not_say=(
            say("It holds for pins tried as they came. Pins tried because they felt soft make the block look worse."),
            say("It doesn't say why pins are loose: mark them on the field, for a line inside it is a split."),
            say("Torque is not hold: how long a pin keeps its pitch says more."),
        ),
        found=find(tables, kind, TORQUE, readings, unit),
        listings=listings,
        series=(
            Series(
                title=say("Pins by torque"), across=say("Torque, {unit}", unit=_unit_words(unit)), up=say("Pins"),
                x=tuple(value / one for value in all_torque), limits=limits, counted=True,
            ),
        ),
    )  # fmt: skip


def _unit_words(unit: str) -> str:
    return unit_words("N.m") if convert(1, unit, "N.m") == 1 else unit


def _middle(torque: Sequence[float], unit: str, row: CheckRow | None) -> Figure:
    one = convert(1, unit, "N.m")
    value = median(torque) / one
    name = say("Torque, middle pin")
    if row is None:
        return Figure(name=name, value=value, unit=_unit_words(unit))
    within = say("as two readings of a pin differ")
    return give_or_take(name, value, _unit_words(unit), row.repeats_within / one, within)


def _middle_words(figure: Figure, row: CheckRow | None) -> str:
    system = "imperial" if figure.unit == IMPERIAL["N.m"] else "metric"
    said = say("Half of the pins tried turn at {torque} or more.", torque=figure.text.partition(" (")[0])
    return f"{said} {cut_words(row, system)}" if row else said


def loose_below(row: CheckRow) -> float:
    """Return under which torque a pin counts as loose: where the check of torque reads severe [N.m]."""
    return _JUST_UNDER * row.cut_severe


def _loose(torque: Mapping[str, Sequence[float]], limit: float) -> dict[str, int]:
    return {section: sum(value < limit for value in values) for section, values in torque.items()}


def _shares(found: LooseInAll, bad: int, tried: int, confidence: float, more: int, share: float) -> Iterator[Figure]:
    yield Figure(name=say("Loose among those tried"), value=bad, unit=say("of {tried}", tried=tried))
    name, unit = say("Loose in all {count}", count=found.in_all), say("pins")
    within = say("{count} in 100 such ranges hold the truth", count=numeral(f"{100 * confidence:g}"))
    yield Figure(name=name, value=found.in_all * bad / tried, unit=unit, low=found.low, high=found.high, within=within)
    name = say("More pins to try, to settle whether {share} % are loose", share=numeral(f"{share:g}"))
    yield Figure(name=name, value=more, unit=unit)


def _says(found: LooseInAll, bad: int, tried: int, below: float, unit: str, more: int, share: float) -> Iterator[str]:
    limit = below / convert(1, unit, "N.m")
    yield say(
        "{bad} of {tried} tried were loose (under {limit} {unit}); of all {all} between {low} and {high} may be.",
        bad=bad, tried=tried, limit=numeral(f"{limit:.3g}"), unit=_unit_words(unit), all=found.in_all, low=found.low,
        high=found.high,
    )  # fmt: skip
    asked = numeral(f"{share:g}")
    if more:
        yield say(
            "Try {more} more, if it matters whether {share} % are loose: so far that is open.", more=more, share=asked
        )
    elif found.high < share / 100 * found.in_all:
        yield say("That settles it: fewer than {share} % are loose.", share=asked)
    else:
        yield say("That settles it: more than {share} % are loose.", share=asked)


def _sections(
    by_torque: Sequence[SectionDifference], by_loose: Sequence[SectionDifference], confidence: float
) -> Iterator[str]:
    apart = [found for found in by_torque if found.chance <= 1 - confidence]
    for found in apart:
        yield _apart(_LOOSER if found.here < found.elsewhere else _TIGHTER, found)
    if not apart:
        yield say("No section differs in torque from the others by more than chance.")
    for found in by_loose:
        if found.chance <= 1 - confidence and found.here > found.elsewhere:
            yield _apart(_GATHER, found)


_LOOSER = later(
    "The pins of the {section} are looser than the others by more than chance: luck alone would do that in {chance}."
)
_TIGHTER = later(
    "The pins of the {section} are tighter than the others by more than chance: luck alone would do that in {chance}."
)
_GATHER = later("Loose pins gather in the {section} by more than chance: luck alone would do that in {chance}.")


def _apart(message: str, found: SectionDifference) -> str:
    return say(message, section=say(found.section), chance=of_100(found.chance))


def _listing(by_torque: Sequence[SectionDifference], by_loose: Sequence[SectionDifference], unit: str) -> Listing:
    one = convert(1, unit, "N.m")
    shares = {found.section: found for found in by_loose}
    rows = tuple(
        (
            say(found.section),
            numeral(f"{found.here / one:.3g}"),
            numeral(f"{found.elsewhere / one:.3g}"),
            numeral(f"{found.chance:.2g}"),
            f"{100 * shares[found.section].here:.0f} %" if shares else say("not told"),
            numeral(f"{shares[found.section].chance:.2g}") if shares else say("not told"),
        )
        for found in by_torque
    )
    headers = (
        say("Section"),
        say("Mean torque, {unit}", unit=_unit_words(unit)),
        say("Elsewhere"),
        say("Chance"),
        say("Loose"),
        say("Chance of that"),
    )
    caption = say("Section by section; chance: how often luck alone parts them so far")
    return Listing(caption=caption, headers=headers, rows=rows)
