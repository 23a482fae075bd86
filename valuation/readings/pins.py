"""The tuning pins: how tight those tried were, how many of all may be loose, and whether one section is worse."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from statistics import median

import numpy as np

from valuation.core.rows import CheckRow, Tables
from valuation.core.units import convert
from valuation.measure.pin_sections import SectionDifference, loose_by_section, torque_by_section
from valuation.measure.pins import LooseInAll, loose_in_all, more_pins_to_settle
from valuation.readings.grade import ANYWHERE, find, row_of
from valuation.readings.result import Figure, Listing, Reading, Series, give_or_take, told_of
from valuation.report.format import IMPERIAL, of_100, unit_words
from valuation.report.labels import cut_words

TORQUE, LOOSE = "pin_torque", "loose_pins"
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
        Pins of the piano; the number in the tables if left out [-].
    settle_percent : float, optional
        Share of loose pins that should be settled; where the tables read failed if left out [%].
    confidence : float
        How often such ranges hold the truth [-].

    Returns
    -------
    Reading
        With a finding for `pin_torque`, from whose readings the tables also take `loose_pins`.

    Raises
    ------
    UserError
        If a number is not possible.
    """
    row, loose_row = (row_of(tables, kind, check) for check in (TORQUE, LOOSE))
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
        if loose_row:
            whole = in_all or loose_row.of_all
            bad = _loose(torque, loose_row)
            share = loose_row.cut_failed if settle_percent is None else settle_percent
            found = loose_in_all(sum(bad.values()), len(all_torque), whole, confidence)
            more = more_pins_to_settle(sum(bad.values()), len(all_torque), whole, share / 100, confidence)
            figures += _shares(found, sum(bad.values()), len(all_torque), confidence, more, share)
            says += _says(found, sum(bad.values()), len(all_torque), loose_row, unit, more, share)
        sections = {section: values for section, values in torque.items() if section != ANYWHERE}
        if len(sections) > 1 and sum(map(len, sections.values())) > len(sections):
            by_torque = torque_by_section(sections, rng=np.random.default_rng(_SEED))
            by_loose = (
                loose_by_section(_loose(sections, loose_row), {s: len(v) for s, v in sections.items()})
                if loose_row else ()
            )  # fmt: skip
            says += _sections(by_torque, by_loose, confidence)
            listings = (_listing(by_torque, by_loose, unit),)
    one = convert(1, unit, "N.m")
    limits = (("loose below", loose_row.limit / one),) if loose_row else ()
    return Reading(
        title=f"Tuning pins: {len(all_torque)} tried",
        figures=tuple(figures),
        says=tuple(says),
        does_not_say=(
            "It holds for pins tried as they came. Pins tried because they felt soft make the block look worse.",
            "It doesn't say why pins are loose: mark them on the field, for a line inside it is a split.",
            "Torque is not hold: how long a pin keeps its pitch says more.",
        ),
        found=find(tables, kind, TORQUE, readings, unit),
        listings=listings,
        series=(
            Series(
                title="Pins by torque", across=f"Torque, {_unit_words(unit)}", up="Pins",
                x=tuple(value / one for value in all_torque), limits=limits, counted=True,
            ),
        ),
    )  # fmt: skip


def _unit_words(unit: str) -> str:
    return unit_words("N.m") if convert(1, unit, "N.m") == 1 else unit


def _middle(torque: Sequence[float], unit: str, row: CheckRow | None) -> Figure:
    one = convert(1, unit, "N.m")
    value = median(torque) / one
    if row is None:
        return Figure(name="Torque, middle pin", value=value, unit=_unit_words(unit))
    within = "as two readings of a pin differ"
    return give_or_take("Torque, middle pin", value, _unit_words(unit), row.repeats_within / one, within)


def _middle_words(figure: Figure, row: CheckRow | None) -> str:
    system = "imperial" if figure.unit == IMPERIAL["N.m"] else "metric"
    cuts = f" {cut_words(row, system)}" if row else ""
    return f"Half of the pins tried turn at {figure.text.partition(' (')[0]} or more.{cuts}"


def _loose(torque: Mapping[str, Sequence[float]], row: CheckRow) -> dict[str, int]:
    return {section: sum(value < row.limit for value in values) for section, values in torque.items()}


def _shares(found: LooseInAll, bad: int, tried: int, confidence: float, more: int, share: float) -> Iterator[Figure]:
    yield Figure(name="Loose among those tried", value=bad, unit=f"of {tried}")
    name, unit = f"Loose in all {found.in_all}", "pins"
    within = f"{100 * confidence:g} in 100 such ranges hold the truth"
    yield Figure(name=name, value=found.in_all * bad / tried, unit=unit, low=found.low, high=found.high, within=within)
    yield Figure(name=f"More pins to try, to settle whether {share:g} % are loose", value=more, unit="pins")


def _says(found: LooseInAll, bad: int, tried: int, row: CheckRow, unit: str, more: int, share: float) -> Iterator[str]:
    limit = row.limit / convert(1, unit, "N.m")
    yield (
        f"{bad} of {tried} tried were loose (under {limit:.3g} {_unit_words(unit)}); of all {found.in_all} between "
        f"{found.low} and {found.high} may be."
    )
    if more == 0:
        side = "fewer" if found.high < share / 100 * found.in_all else "more"
        yield f"That settles it: {side} than {share:g} % are loose."
    else:
        yield f"Try {more} more, if it matters whether {share:g} % are loose: so far that is open."


def _sections(
    by_torque: Sequence[SectionDifference], by_loose: Sequence[SectionDifference], confidence: float
) -> Iterator[str]:
    apart = [found for found in by_torque if found.chance <= 1 - confidence]
    for found in apart:
        word = "looser" if found.here < found.elsewhere else "tighter"
        yield f"The pins of the {found.section} are {word} than the others by more than chance: {_odds(found.chance)}."
    if not apart:
        yield "No section differs in torque from the others by more than chance."
    for found in by_loose:
        if found.chance <= 1 - confidence and found.here > found.elsewhere:
            yield f"Loose pins gather in the {found.section} by more than chance: {_odds(found.chance)}."


def _odds(chance: float) -> str:
    return f"luck alone would do that in {of_100(chance)}"


def _listing(by_torque: Sequence[SectionDifference], by_loose: Sequence[SectionDifference], unit: str) -> Listing:
    one = convert(1, unit, "N.m")
    shares = {found.section: found for found in by_loose}
    rows = tuple(
        (
            found.section,
            f"{found.here / one:.3g}",
            f"{found.elsewhere / one:.3g}",
            f"{found.chance:.2g}",
            f"{100 * shares[found.section].here:.0f} %" if shares else "not told",
            f"{shares[found.section].chance:.2g}" if shares else "not told",
        )
        for found in by_torque
    )
    headers = ("Section", f"Mean torque, {_unit_words(unit)}", "Elsewhere", "Chance", "Loose", "Chance of that")
    return Listing(
        caption="Section by section; chance: how often luck alone parts them so far", headers=headers, rows=rows
    )
