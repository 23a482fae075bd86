"""The tuning pins: how tight those tried were, how many of all may be loose, and whether one section is worse."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import median

import numpy as np

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.sampling import Sample, by_lot, sampled
from valuation.facts.units import convert
from valuation.facts.visit import Reading as PinReading
from valuation.files.reading_place import SOFT
from valuation.language import later, numeral, say
from valuation.measure.pin_sections import SectionDifference, loose_by_section, torque_by_section
from valuation.measure.pins import chance_to_settle, loose_in_all, more_pins_to_settle
from valuation.readings.grade import ANYWHERE, find, find_taken, row_of
from valuation.readings.result import Figure, Found, Listing, Reading, Series, give_or_take, told_of
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
    soft: Sequence[float] = (),
    taken: Sequence[PinReading] | None = None,
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
    soft : sequence of float
        Torque of pins that were tried because they felt soft: no part of the sample [unit].
    taken : sequence of Reading, optional
        The same as a visit holds it, in N.m and each with its place; `readings` and `soft` are then left aside.
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
        if taken is None:
            pins = [
                PinReading(value=_torque(value, unit), section=s) for s, values in readings.items() for value in values
            ]
            pins += [PinReading(value=_torque(value, unit), section=ANYWHERE, soft=True) for value in soft]
        else:
            pins = [replace(pin, section=pin.section or ANYWHERE) for pin in taken]
        torque: dict[str, list[float]] = {}
        for pin in by_lot(pins):
            torque.setdefault(pin.section, []).append(pin.value)
        all_torque = [value for values in torque.values() for value in values]
        if not all_torque:
            raise ValueError("give the torque of at least one pin")
        figures = [_middle(all_torque, unit, row)]
        says = [_middle_words(figures[0], row)]
        listings: tuple[Listing, ...] = ()
        if limit is not None:
            whole = in_all or PINS
            share = SETTLE_PERCENT if settle_percent is None else settle_percent
            sample = sampled(pins, [pin.value < limit for pin in pins], whole)
            told = _Told(sample, whole, share, confidence)
            figures += _shares(told)
            says += _says(told, limit, unit)
        sections = {section: values for section, values in torque.items() if section not in (ANYWHERE, "")}
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
        title=say("Tuning pins: {count} tried", count=len(pins)),
        figures=tuple(figures),
        says=tuple(says),
        does_not_say=(
            say("It holds for pins that were dealt or tried as they came; those that felt soft stand apart."),
            say("It doesn't say why pins are loose: mark them on the field, for a line inside it is a split."),
            say("Torque is not hold: how long a pin keeps its pitch says more."),
        ),
        found=_found(readings, soft, taken, unit, tables, kind),
        listings=listings,
        series=(
            Series(
                title=say("Pins by torque"), across=say("Torque, {unit}", unit=_unit_words(unit)), up=say("Pins"),
                x=tuple(pin.value / one for pin in pins), limits=limits, counted=True,
            ),
        ),
    )  # fmt: skip


def _unit_words(unit: str) -> str:
    return unit_words("N.m") if convert(1, unit, "N.m") == 1 else unit


def _middle(torque: Sequence[float], unit: str, row: CheckRow | None) -> Figure:
    one = convert(1, unit, "N.m")
    value = median(torque) / one
    name = say("Torque, middle pin")
    if row is None or row.repeats_within is None:
        return Figure(name=name, value=value, unit=_unit_words(unit))
    within = say("as two readings of a pin differ")
    return give_or_take(name, value, _unit_words(unit), row.repeats_within / one, within)


def _middle_words(figure: Figure, row: CheckRow | None) -> str:
    system = "imperial" if figure.unit == IMPERIAL["N.m"] else "metric"
    said = say("Half of the pins tried turn at {torque} or more.", torque=figure.text.partition(" (")[0])
    return f"{said} {cut_words(row, system)}" if row else said


def loose_below(row: CheckRow) -> float | None:
    """Return under which torque a pin counts as loose, where the check reads severe [N.m]; None where it never does."""
    return None if row.cut_severe is None else _JUST_UNDER * row.cut_severe


def _loose(torque: Mapping[str, Sequence[float]], limit: float) -> dict[str, int]:
    return {section: sum(value < limit for value in values) for section, values in torque.items()}


class _Told:
    """What a sample says of all pins: the range, and how many more would settle the question with which chance."""

    def __init__(self, sample: Sample, in_all: int, share: float, confidence: float) -> None:
        self.sample, self.in_all, self.share, self.confidence = sample, in_all, share, confidence
        self.low, self.high = sample.least, in_all - sample.firm
        self.more, self.chance = 0, 1.0
        counts_as = int(sample.counts_as)
        if counts_as:
            # neighbours count for fewer: the range is that of so many pins, rounded to the side of caution
            part = sample.bad * counts_as / sample.tried
            least = loose_in_all(math.floor(part), counts_as, in_all, confidence)
            most = loose_in_all(math.ceil(part), counts_as, in_all, confidence)
            self.low = max(self.low, least.low)
            self.high = max(self.low, min(self.high, most.high))
        self.open = self.low < share / 100 * in_all <= self.high
        if self.open and counts_as == sample.tried > 0:
            self.more = more_pins_to_settle(sample.bad, sample.tried, in_all, share / 100, confidence)
            self.chance = chance_to_settle(sample.bad, sample.tried, in_all, self.more, share / 100, confidence)

    @property
    def beside(self) -> int:
        """As many pins as those by lot count for, where neighbours make them fewer; 0 where they don't."""
        return int(self.sample.counts_as) if self.sample.counts_as < self.sample.tried else 0


def _torque(value: float, unit: str) -> float:
    return convert(value, unit, "N.m")


def _found(
    readings: Mapping[str, Sequence[float]],
    soft: Sequence[float],
    taken: Sequence[PinReading] | None,
    unit: str,
    tables: Tables,
    kind: str,
) -> tuple[Found, ...]:
    if taken is not None:
        return find_taken(tables, kind, TORQUE, taken)
    written: dict[str, Sequence[float | str]] = dict(readings)
    if soft:
        written[ANYWHERE] = [*readings.get(ANYWHERE, ()), *(f"{SOFT}{value!r}" for value in soft)]
    return find(tables, kind, TORQUE, written, unit)


def _shares(told: _Told) -> Iterator[Figure]:
    sample = told.sample
    if sample.tried:
        yield Figure(name=say("Loose among those tried"), value=sample.bad, unit=say("of {tried}", tried=sample.tried))
    if soft := sample.soft_bad + sample.soft_firm:
        name = say("Loose among those that felt soft")
        yield Figure(name=name, value=sample.soft_bad, unit=say("of {tried}", tried=soft))
    name, unit = say("Loose in all {count}", count=told.in_all), say("pins")
    within = say("{count} in 100 such ranges hold the truth", count=numeral(f"{100 * told.confidence:g}"))
    likely = told.in_all * sample.bad / sample.tried if sample.tried else told.low
    likely = min(max(likely, told.low), told.high)
    yield Figure(name=name, value=likely, unit=unit, low=told.low, high=told.high, within=within)
    if not told.beside and sample.tried:
        name = say("More pins to try, to settle whether {share} % are loose", share=numeral(f"{told.share:g}"))
        yield Figure(name=name, value=told.more, unit=unit)


def _says(told: _Told, below: float, unit: str) -> Iterator[str]:
    sample, asked = told.sample, numeral(f"{told.share:g}")
    limit = numeral(f"{below / convert(1, unit, 'N.m'):.3g}")
    yield say(
        "{bad} of {tried} tried were loose (under {limit} {unit}); of all {all} between {low} and {high} may be.",
        bad=sample.bad, tried=sample.tried, limit=limit, unit=_unit_words(unit), all=told.in_all, low=told.low,
        high=told.high,
    )  # fmt: skip
    if soft := sample.soft_bad + sample.soft_firm:
        yield say(
            "{count} more were tried because they felt soft, {bad} of them loose: so many are loose at the least, and "
            "they are no part of the share.", count=soft, bad=sample.soft_bad,
        )  # fmt: skip
    if told.beside:
        yield say(
            "Many of them stand beside one another, and blocks fail in lines: they count as {count}. "
            "Try pins that are dealt over the whole field.", count=told.beside,
        )  # fmt: skip
    elif not sample.tried:
        yield say("No pin was tried as it came, so nothing is known of the share. Let the tool deal some.")
    elif told.open:
        yield say(
            "Try {more} more, if it matters whether {share} % are loose: so far that is open. "
            "They will settle it in {chance}.", more=told.more, share=asked, chance=of_100(told.chance),
        )  # fmt: skip
    if not told.open:
        settled = later("That settles it: fewer than {share} % are loose.")
        if told.low >= told.share / 100 * told.in_all:
            settled = later("That settles it: more than {share} % are loose.")
        yield say(settled, share=asked)


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
