"""The bearing of the strings on the bridge, with the crown beside it: what they say of the board together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from valuation.engine.rows import Tables
from valuation.language import later, numeral, say
from valuation.measure.bearing import BoardLoad, angle_from_gauge, bearing_from_heights, board_load
from valuation.measure.board import BoardReading, read_board
from valuation.measure.scale import TONNE_N
from valuation.readings.grade import find, row_of
from valuation.readings.result import Figure, Found, Listing, Reading, give_or_take, told_of

BEARING, CROWN = "string_bearing", "board_crown"
_MEANING = {
    "carries": later("the board stands against the strings as it was built to"),
    "not loaded": later(
        "the board has its crown but the strings don't press on it: look at bridge, plate height and rests"
    ),
    "pressed flat": later("the board bears load but has yielded under it"),
    "given way": later("the board has neither crown nor load left"),
    "pressed through": later("the board is pressed past flat and still bears load"),
    "sunk": later("the board is below flat and bears no load"),
}
_SHAPES = {"risen": later("risen"), "flat": later("flat"), "reversed": later("reversed")}
_BEARINGS = {"pressing": later("pressing"), "none": later("none"), "lifting": later("lifting")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """What the readings are. All None: net angles in degrees.

    Attributes
    ----------
    half_span_mm, bridge_width_mm : float or None
        For the gap under a three-point gauge: from its middle to a foot, and width of the bridge [mm].
    front_mm, rear_mm : float or None
        For the height of the string on the bridge above a thread: lengths of string from the thread's ends to the
        bridge [mm].
    """

    half_span_mm: float | None = None
    bridge_width_mm: float | None = None
    front_mm: float | None = None
    rear_mm: float | None = None

    def angles(self, readings: Sequence[float]) -> np.ndarray:
        """Return net bends [deg]; raises ValueError where the gauge is half told or a reading is not possible."""
        half, width, front, rear = self.half_span_mm, self.bridge_width_mm, self.front_mm, self.rear_mm
        if (half is None) != (width is None) or (front is None) != (rear is None):
            raise ValueError("a gauge needs its half span and the bridge's width; a thread its front and rear length")
        if half is not None and front is not None:
            raise ValueError("readings are either gaps under a gauge or heights above a thread, not both")
        if half is not None and width is not None:
            return angle_from_gauge(readings, half_span_mm=half, bridge_width_mm=width)
        if front is not None and rear is not None:
            bends = [bearing_from_heights(height, front_mm=front, rear_mm=rear) for height in readings]
            return np.array([bend.net_deg for bend in bends])
        return np.asarray(readings, dtype=float)


def read_bearing(
    readings: Mapping[str, Sequence[float]],
    gauge: Gauge,
    tables: Tables,
    kind: str,
    *,
    tension_n: float | None = None,
    strings: Mapping[str, int] | None = None,
    crown_mm: float | None = None,
) -> Reading:
    """Return what the bend of the strings at the bridge says.

    Parameters
    ----------
    readings : mapping of section to readings
        As `gauge` says [deg or mm].
    gauge : Gauge
        What the readings are.
    tables : Tables
        The shop's tables, which grade bearing and crown.
    kind : str
        ``upright`` or ``grand``.
    tension_n : float, optional
        Mean pull of a string; with `strings` it gives the force on the board [N].
    strings : mapping of section to int, optional
        Strings of each section [-].
    crown_mm : float, optional
        Crown at the same place as the lowest section [mm].

    Returns
    -------
    Reading
        With findings for `string_bearing` and, where a crown is given, `board_crown`.

    Raises
    ------
    UserError
        If a number is not possible.
    """
    row, crown_row = (row_of(tables, kind, check) for check in (BEARING, CROWN))
    error = row.repeats_within if row else None
    with told_of("bearing"):
        if not any(len(values) for values in readings.values()):
            raise ValueError("give at least one reading, in degrees, or of a gauge or a thread")
        angles = {section: gauge.angles(values) for section, values in readings.items() if len(values)}
        means = {section: float(np.mean(values)) for section, values in angles.items()}
        load = _load(angles, tension_n, strings)
        lowest = min(means, key=means.__getitem__)
        reading = None
        crown_error = crown_row.repeats_within if crown_row else None
        if crown_mm is not None and error is not None and crown_error is not None:
            reading = read_board(crown_mm, means[lowest], crown_within_mm=crown_error, angle_within_deg=error)
    figures = [_figure(section, mean, error) for section, mean in means.items()]
    if load:
        weight = load.down_force_n / TONNE_N * 1000
        figures.append(Figure(name=say("Force on the board"), value=weight, unit=say("kg weight")))
    found: tuple[Found, ...] = find(tables, kind, BEARING, round(means[lowest], 2))
    if crown_mm is not None:
        found += find(tables, kind, CROWN, crown_mm)
    return Reading(
        title=say("Bearing of the strings: {count} readings", count=sum(map(len, angles.values()))),
        figures=tuple(figures),
        says=tuple(_says(means, lowest, error, reading)),
        does_not_say=(
            say("It doesn't say that the board is good or dead: a board that sounds well overrules bearing and crown."),
            say("A gauge that only rocks can't tell no bearing from less than none."),
        ),
        found=found,
        listings=_listing(load),
    )


def _figure(section: str, mean: float, error: float | None) -> Figure:
    name, unit = say("Bearing, {section}", section=say(section)), say("degrees")
    if not error:
        return Figure(name=name, value=mean, unit=unit)
    return give_or_take(name, mean, unit, error, say("as two readings differ"))


def _says(means: Mapping[str, float], lowest: str, error: float | None, reading: BoardReading | None) -> Iterator[str]:
    mean = means[lowest]
    if error is not None and abs(mean) <= error:
        message = later("The lowest section is {section}: at {angle} degrees the string can't be told from none.")
    elif mean > 0:
        message = later(
            "The lowest section is {section}: at {angle} degrees the string presses the bridge towards the board."
        )
    else:
        message = later(
            "The lowest section is {section}: at {angle} degrees the string lifts the bridge away from the board."
        )
    yield say(message, section=say(lowest), angle=numeral(f"{mean:.2f}"))
    if reading is not None:
        yield say(
            "With its crown the board is {shape}, its bearing {bearing}: {meaning}.",
            shape=say(_SHAPES[reading.shape]), bearing=say(_BEARINGS[reading.bearing]),
            meaning=say(_MEANING[reading.meaning]),
        )  # fmt: skip


def _load(
    angles: Mapping[str, np.ndarray], tension_n: float | None, strings: Mapping[str, int] | None
) -> BoardLoad | None:
    if not strings and tension_n is None:
        return None
    if not strings or tension_n is None:
        raise ValueError("the force on the board needs both the mean pull of a string and the strings of each section")
    return board_load(angles, tension_n=dict.fromkeys(angles, tension_n), strings=strings)


def _listing(load: BoardLoad | None) -> tuple[Listing, ...]:
    if load is None:
        return ()
    rows = tuple(
        (say(s.section), *map(numeral, (f"{s.mean_deg:.2f}", f"{s.least_deg:.2f}", f"{s.greatest_deg:.2f}",
                                        f"{s.per_string_n:.1f}", f"{s.down_force_n:,.0f}")))
        for s in load.sections
    )  # fmt: skip
    headers = (
        say("Section"),
        say("Mean, degrees"),
        say("Least"),
        say("Greatest"),
        say("N a string"),
        say("N in all"),
    )
    return (Listing(caption=say("Section by section"), headers=headers, rows=rows),)
