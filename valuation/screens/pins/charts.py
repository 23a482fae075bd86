"""The pins by torque against the working range, and the map of the pin field. Both are read by shape and size alone.

They are drawn here, not by a chart library in the browser: its drawing holds up the keys, and readings typed fast into
the grid beside it were lost.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from valuation.engine.rows import CheckRow
from valuation.facts.keys import key_name
from valuation.facts.units import FACTORS
from valuation.facts.visit import Reading
from valuation.files.reading_place import STRINGS
from valuation.language import numeral, say
from valuation.measure.pin_runs import LooseRun
from valuation.report.format import low_to_high, plain_measure, shown_unit, unit_words
from valuation.report.labels import with_capital

LOOSE, SOFT, FIRM = "loose", "soft", "firm"
SIGNS = {LOOSE: "◆", SOFT: "▼", FIRM: "○"}
"""Mark of each kind of pin: the looser, the larger and fuller."""

_BINS = 14
_BARS_HIGH, _ROW = 160.0, 26.0
"""Height of the highest bar, and of one string of the map [px]."""

_NO_PLACE, _MIDDLE = 0, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Pins of about one torque, in the unit shown."""

    low: float
    high: float
    loose: int
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One pin on the map: the key it stands at, its string (0: place not told), and its kind."""

    x: float
    y: int
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """The pins of one section."""

    section: str
    keys: range
    marks: tuple[Mark, ...]

    @property
    def first(self) -> int:
        """Where it begins: its first key, or 1 where it has none."""
        return self.keys[0] if self.keys else 1

    @property
    def last(self) -> int:
        """Where it ends: its last key, or as many as it has pins."""
        return self.keys[-1] if self.keys else max(len(self.marks), 2)

    def across(self, key: float) -> float:
        """Return where a key stands between both ends, as a share."""
        return (key - self.first) / (self.last - self.first)


def kind_of(value: float, check: CheckRow, limit: float | None) -> str:
    """Return whether a pin of this torque [N.m] is loose, soft (it reads marked) or firm, by the rows of the tables."""
    if limit is not None and value < limit:
        return LOOSE
    return SOFT if check.cut_marked is not None and value < check.cut_marked else FIRM


def bars(readings: Sequence[Reading], limit: float | None, unit: str, system: str) -> list[Bar]:
    """Return the pins counted by torque, in even steps of the unit shown; steps without any pin between are kept."""
    one = FACTORS[unit][shown_unit(unit, system)]
    step = _round_step(max(reading.value for reading in readings) / one / _BINS)
    counts: dict[int, list[int]] = {}
    for reading in readings:
        pair = counts.setdefault(math.floor(reading.value / one / step + 1e-9), [0, 0])
        pair[0 if limit is not None and reading.value < limit else 1] += 1
    return [
        Bar(low=i * step, high=(i + 1) * step, loose=loose, others=others)
        for i in range(min(counts), max(counts) + 1)
        for loose, others in [counts.get(i, (0, 0))]
    ]


def _round_step(least: float) -> float:
    power = 10 ** math.floor(math.log10(max(least, 1e-3)))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= least)


def histogram(counted: Sequence[Bar], check: CheckRow, system: str) -> str:
    """Return the drawing of pins by torque against the cut points, with its words for those who don't see it."""
    one = FACTORS[check.unit][shown_unit(check.unit, system)]
    by_name = {"severe": check.cut_severe, "marked": check.cut_marked, "slight": check.cut_slight}
    known = {name: cut / one for name, cut in by_name.items() if cut is not None}
    cuts = list(known.values())
    end = max(counted[-1].high, *(cut * 1.3 for cut in cuts))
    high = _BARS_HIGH / max(bar.loose + bar.others for bar in counted)
    drawn = []
    for bar in counted:
        foot = 0.0
        for count, kind in ((bar.loose, "bar loose"), (bar.others, "bar")):
            if count:
                size = f"width: {_percent((bar.high - bar.low) / end)}; height: {high * count:.0f}px"
                drawn.append(_piece(kind, f"left: {_percent(bar.low / end)}; bottom: {foot:.0f}px; {size}"))
                foot += high * count
        if foot:
            middle = _percent((bar.low + bar.high) / 2 / end)
            drawn.append(_piece("count", f"left: {middle}; bottom: {foot:.0f}px", f"{bar.loose + bar.others}"))
    drawn += [_piece("cut", f"left: {_percent(cut / end)}") for cut in cuts]
    for low, top, name in zip([0, *cuts], [*cuts, end], [*known, "none"], strict=True):
        drawn.append(_piece("grade", f"left: {_percent((low + top) / 2 / end)}", say(name)))
    step = _round_step(end / 6)
    places = [i * step for i in range(int(end / step) + 1)]
    drawn += [_piece("tick", f"left: {_percent(place / end)}", numeral(f"{place:g}")) for place in places]
    return _drawing("pinbars", _bars_in_words(counted, check, system), drawn, _BARS_HIGH + 80)


def _bars_in_words(counted: Sequence[Bar], check: CheckRow, system: str) -> str:
    pins = "; ".join(
        say(
            "{band}: {count}",
            band=low_to_high(numeral(f"{b.low:g}"), numeral(f"{b.high:g}")), count=b.loose + b.others,
        )
        for b in counted
        if b.loose + b.others
    )  # fmt: skip
    slight, marked, severe = (
        "–" if cut is None else plain_measure(cut, check.unit, system)
        for cut in (check.cut_slight, check.cut_marked, check.cut_severe)
    )
    return say(
        "Pins by torque, in {unit}. {pins}. "
        "Below {slight} it reads slight, below {marked} marked, below {severe} severe.",
        unit=unit_words(check.unit, system), pins=pins, slight=slight, marked=marked, severe=severe,
    )  # fmt: skip


def strips(
    readings: Sequence[Reading], spans: dict[str, range], check: CheckRow, limit: float | None
) -> list[Strip]:  # fmt: skip
    """Return the map: each section with its pins; those without a place follow one another in the order read."""
    return [
        Strip(section=section, keys=keys, marks=tuple(_marks(readings, section, keys, check, limit)))
        for section, keys in [*spans.items(), ("", range(0))]
        if section or any(not reading.key and not reading.section for reading in readings)
    ]


def _marks(readings: Sequence[Reading], section: str, keys: range, check: CheckRow, limit: float | None) -> list[Mark]:
    placed = [r for r in readings if r.key in keys]
    others = [r for r in readings if not r.key and r.section == section]
    first, last = (keys[0], keys[-1]) if keys else (1, max(len(others), 2))
    apart = (last - first) / max(len(others), 1)
    return [
        *(Mark(x=r.key, y=r.string or _MIDDLE, kind=kind_of(r.value, check, limit)) for r in placed),
        *(
            Mark(x=first + (i + 0.5) * apart, y=_NO_PLACE, kind=kind_of(r.value, check, limit))
            for i, r in enumerate(others)
        ),
    ]


def field_map(drawn: Sequence[Strip], runs: Sequence[LooseRun]) -> str:
    """Return the map of the pin field, one strip for each section under its name, with its words."""
    return "".join(
        f'<p class="strip">{escape(_title(strip))}</p>{_strip(strip, runs)}' for strip in drawn
    )  # fmt: skip


def _strip(strip: Strip, runs: Sequence[LooseRun]) -> str:
    rows = {string: f"{string}" for string in reversed(STRINGS) if strip.keys}
    if any(mark.y == _NO_PLACE for mark in strip.marks):
        rows[_NO_PLACE] = say("as read")
    down = {row: _ROW * (i + 0.5) for i, row in enumerate(rows)}
    foot = _ROW * len(rows)
    drawn = [_piece("row", f"top: {down[row]:.0f}px", name) for row, name in rows.items()]
    for run in runs:
        keys = [key for key, _ in run.pins if key in strip.keys]
        if keys:
            left, right = (strip.across(key) for key in (keys[0] - 0.45, keys[-1] + 0.45))
            top = down[run.string] - _ROW / 2 if run.string else 0
            high = _ROW if run.string else _ROW * len(STRINGS)
            place = f"left: {_percent(left)}; width: {_percent(right - left)}; top: {top:.0f}px; height: {high:.0f}px"
            drawn.append(_piece("run", place))
    for key in strip.keys:
        if key % 12 == 1:  # each A
            place = f"left: {_percent(strip.across(key))}; height: {foot:.0f}px"
            drawn.append(_piece("key", place, f"{key} {key_name(key)}"))
    for mark in sorted(strip.marks, key=lambda mark: mark.kind == LOOSE):
        place = f"left: {_percent(strip.across(mark.x))}; top: {down[mark.y]:.0f}px"
        drawn.append(_piece(f"pin {mark.kind}", place, SIGNS[mark.kind]))
    return _drawing("pinfield", _title(strip), drawn, foot + (26 if strip.keys else 6))


def _title(strip: Strip) -> str:
    tried, loose = len(strip.marks), sum(mark.kind == LOOSE for mark in strip.marks)
    name = with_capital(say(strip.section)) if strip.section else say("Section not told")
    if not strip.keys:
        return say("{name}: {count} tried, {loose} loose", name=name, count=tried, loose=loose)
    return say(
        "{name}, keys {first} to {last}: {count} tried, {loose} loose",
        name=name, first=strip.keys[0], last=strip.keys[-1], count=tried, loose=loose,
    )  # fmt: skip


def _drawing(name: str, words: str, drawn: Sequence[str], height: float) -> str:
    """Return a drawing as wide as there is room: places across are shares of it, so letters keep their size."""
    return (
        f'<div class="{name}" role="img" aria-label="{escape(words)}" style="height: {height:.0f}px">'
        f'<div class="within">{"".join(drawn)}</div></div>'
    )


def _piece(kind: str, place: str, text: str = "") -> str:
    return f'<span class="{kind}" style="{place}"><span>{escape(text)}</span></span>'


def _percent(share: float) -> str:
    return f"{100 * share:.2f}%"
