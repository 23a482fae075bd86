"""The strings: how hard they are strained, what they pull together, and what tuning up would ask of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from valuation.engine.rows import SEVERITIES, CheckRow, Tables
from valuation.facts.keys import key_name
from valuation.language import later, numeral, say
from valuation.measure.keys import STANDARD_A4_HZ
from valuation.measure.limits import require_between
from valuation.measure.restringing import raise_pitch, scale_limits
from valuation.measure.scale import TONNE_N, ScaleFigures, scale_breaks, scale_figures, total_pull
from valuation.readings.grade import find, row_of
from valuation.readings.read_scale import ScaleRead
from valuation.readings.result import Figure, Listing, Reading, Series, give_or_take, told_of
from valuation.report.labels import cut_words, severity_words

CHECK = "string_strain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked beside the strain of the strings. Shares are in percent here, as people say them.

    Attributes
    ----------
    a4_hz : float
        Pitch of A4 that is reckoned with [Hz].
    length_within_mm, wire_within_mm : float
        How far off lengths and wire may have been measured [mm].
    breaks : tuple of int
        First key above each break of the scale.
    strings_in_all : int or None
        Strings of the whole piano [-].
    flat_cents : float or None
        How far all strings are below pitch; None takes it from the file, if it says [cents].
    overpull_cents : float
        How far above pitch they are taken for a while [cents].
    strength_kept : float
        Share of its strength that old wire still has [%].
    highest_share : float or None
        Share that wire should not be asked to pass; None takes it from the tables, where strain begins to read
        poor [%].
    lowest_share : float or None
        Share under which a plain string is slack; None leaves the limits of the scale out [%].
    """

    a4_hz: float = STANDARD_A4_HZ
    length_within_mm: float = 1.0
    wire_within_mm: float = 0.01
    breaks: tuple[int, ...] = ()
    strings_in_all: int | None = None
    flat_cents: float | None = None
    overpull_cents: float = 0.0
    strength_kept: float = 100.0
    highest_share: float | None = None
    lowest_share: float | None = None


def read_strings(read: ScaleRead, asked: Asked, tables: Tables, kind: str) -> Reading:
    """Return what lengths and wire say.

    Parameters
    ----------
    read : ScaleRead
        The scale, or a few notes of it.
    asked : Asked
        What else is asked, and how well was measured.
    tables : Tables
        The shop's tables, which grade the strain.
    kind : str
        ``upright`` or ``grand``.

    Returns
    -------
    Reading
        With a finding for `string_strain`.

    Raises
    ------
    UserError
        If a number is not possible.
    """
    row = row_of(tables, kind, CHECK)
    with told_of("strings"):
        figures = scale_figures(read.scale, asked.a4_hz)
        most = int(np.argmax(figures.share))
        shown = list(_figures(figures, most, asked))
        says = list(_says(figures, most, asked, row))
        flat = read.flat_cents if asked.flat_cents is None else asked.flat_cents
        highest = asked.highest_share if asked.highest_share is not None else row.cut_marked if row else None
        if flat is not None and highest is not None:
            says += _raise(figures, flat, highest, asked, shown)
        if asked.lowest_share is not None and highest is not None:
            says += _limits(figures, asked.lowest_share, highest)
        jumps = _jumps(figures, asked.breaks)
    return Reading(
        title=say(
            "Strings: {count} notes measured, reckoned for A4 = {pitch} Hz",
            count=len(read.scale.key),
            pitch=numeral(f"{asked.a4_hz:g}"),
        ),
        figures=tuple(shown),
        says=tuple(says),
        does_not_say=(
            say(
                "It doesn't say that a string will break or will hold: it compares with the least that new spring wire "
                "must bear; piano wire bears more, and rust and old bends take away what nobody can reckon."
            ),
            say("It tells how the scale was laid out more than what state the wire is in."),
        ),
        found=find(tables, kind, CHECK, round(100 * float(figures.share[most]), 1)),
        listings=(*jumps, _listing(figures)),
        series=(_series(figures, row),),
    )


def _figures(figures: ScaleFigures, most: int, asked: Asked) -> Iterator[Figure]:
    share = 100 * figures.share
    within = say("length and wire as well as they were measured")
    error = float(share[most] * _share_error(figures, asked)[most])
    yield give_or_take(say("Greatest share of breaking strength"), float(share[most]), "%", error, within)
    yield Figure(name=say("Middle share of breaking strength"), value=float(np.median(share)), unit="%")
    pull = figures.tension_n
    yield Figure(name=say("Pull of one string, middle"), value=float(np.median(pull)), unit="N")
    yield give_or_take(
        say("Greatest pull, {key}", key=_key(figures, int(np.argmax(pull)))), float(pull.max()), "N",
        float(pull.max() * _pull_error(figures, asked)[int(np.argmax(pull))]), within,
    )  # fmt: skip
    total = total_pull(figures, asked.strings_in_all)
    name = say("Pull of all strings") if asked.strings_in_all else say("Pull of the strings entered")
    yield Figure(name=name, value=total / TONNE_N, unit=say("tonnes of 1000 kg"))


def _relative(figures: ScaleFigures, asked: Asked) -> tuple[np.ndarray, np.ndarray]:
    require_between([asked.length_within_mm, asked.wire_within_mm], 0, 20, what="error of measuring", unit="mm")
    return asked.length_within_mm / figures.scale.length_mm, asked.wire_within_mm / figures.scale.core_mm


def _pull_error(figures: ScaleFigures, asked: Asked) -> np.ndarray:
    """Return the relative error of the pull: it grows as the square of length and wire."""
    length, wire = _relative(figures, asked)
    return 2 * np.hypot(length, wire)


def _share_error(figures: ScaleFigures, asked: Asked) -> np.ndarray:
    """Return the relative error of the share: in plain wire its size cancels, in a wound core it does not."""
    length, wire = _relative(figures, asked)
    return 2 * np.hypot(length, np.where(figures.scale.is_wound, wire, 0.0))


def _key(figures: ScaleFigures, at: int) -> str:
    return key_name(int(figures.scale.key[at]))


def _says(figures: ScaleFigures, most: int, asked: Asked, row: CheckRow | None) -> Iterator[str]:
    said = say(
        "The most strained of the strings measured is {key}, at {share} % of what new wire must bear at the least.",
        key=_key(figures, most), share=f"{100 * figures.share[most]:.0f}",
    )  # fmt: skip
    yield f"{said} {cut_words(row)}" if row else said
    if asked.strings_in_all:
        yield say(
            "The pull of all strings is taken from those measured; it holds if they are spread over the keyboard."
        )


def _raise(
    figures: ScaleFigures, flat: np.ndarray | float, highest: float, asked: Asked, shown: list[Figure]
) -> Iterator[str]:
    lift = raise_pitch(
        figures, flat, overpull_cents=asked.overpull_cents, strength_kept=asked.strength_kept / 100,
        highest_share=highest / 100,
    )  # fmt: skip
    shown.append(Figure(name=say("Added by raising the strings entered"), value=lift.added_in_all_n, unit="N"))
    greatest = 100 * float(lift.greatest_share.max())
    shown.append(Figure(name=say("Greatest share in the raise"), value=greatest, unit="%"))
    share = numeral(f"{highest:g}")
    if lift.keys_over:
        yield say(
            "Raised to pitch, these would pass {share} % of what the wire can still bear: {keys}.",
            share=share, keys=", ".join(key_name(key) for key in lift.keys_over),
        )  # fmt: skip
    else:
        yield say(
            "Raised to pitch, none of the strings measured would pass {share} % of what the wire can still bear; "
            "old wire may break all the same.",
            share=share,
        )


def _limits(figures: ScaleFigures, lowest: float, highest: float) -> Iterator[str]:
    core = figures.scale.core_mm
    limits = scale_limits(
        figures, lowest_share=lowest / 100, highest_share=highest / 100, thinnest_mm=float(core.min()),
        thickest_mm=float(core.max()),
    )  # fmt: skip
    for keys, message in (
        (
            limits.overstrained,
            later("Whatever wire of the sizes here is put on, these strings are too long for their pitch: {keys}."),
        ),
        (
            limits.slack,
            later("Whatever wire of the sizes here is put on, these strings are too short for their pitch: {keys}."),
        ),
    ):
        if keys:
            yield say(message, keys=", ".join(key_name(key) for key in keys))
    if not (limits.overstrained or limits.slack):
        yield say(
            "With wire of the sizes here every string measured can lie between {low} and {high} %.",
            low=numeral(f"{lowest:g}"), high=numeral(f"{highest:g}"),
        )  # fmt: skip


def _jumps(figures: ScaleFigures, breaks: Sequence[int]) -> tuple[Listing, ...]:
    if not breaks:
        return ()
    rows = tuple(
        (
            say("{low} to {high}", low=key_name(found.below), high=key_name(found.above)),
            numeral(f"{found.tension_ratio:.2f}"),
            numeral(f"{found.share_ratio:.2f}"),
            numeral(f"{found.inharmonicity_ratio:.2f}"),
            say("wound") if found.left_by_lengths is None else numeral(f"{found.left_by_lengths:.2f}"),
        )
        for found in scale_breaks(figures, breaks)
    )
    headers = (say("Break"), say("Pull"), say("Share"), say("Inharmonicity"), say("Left with other wire"))
    caption = say("Jumps at the breaks: figure above over figure below, 1 is none")
    return (Listing(caption=caption, headers=headers, rows=rows),)


def _listing(figures: ScaleFigures) -> Listing:
    scale = figures.scale
    rows = tuple(
        (
            f"{key_name(int(scale.key[i]))} ({scale.key[i]:.0f})",
            f"{scale.length_mm[i]:.0f}",
            numeral(f"{scale.core_mm[i]:.3f}"),
            numeral(f"{scale.outside_mm[i]:.2f}") if scale.outside_mm[i] else say("plain wire"),
            f"{figures.tension_n[i]:.0f}",
            numeral(f"{100 * figures.share[i]:.1f}"),
            f"{1e6 * figures.inharmonicity[i]:.0f}",
        )
        for i in range(len(scale.key))
    )
    headers = (
        say("Key"),
        say("Length, mm"),
        say("Wire, mm"),
        say("Over winding, mm"),
        say("Pull, N"),
        say("Share, %"),
        say("Inharmonicity B, millionths"),
    )
    return Listing(caption=say("String by string"), headers=headers, rows=rows)


def _series(figures: ScaleFigures, row: CheckRow | None) -> Series:
    cuts = [(name, getattr(row, f"cut_{name}")) for name in SEVERITIES[1:]] if row else []
    share = 100 * figures.share
    return Series(
        title=say("Share of breaking strength over the keyboard"),
        across=say("Key, 1 to 88"),
        up=say("Share, %"),
        x=tuple(figures.scale.key.tolist()),
        y=tuple(share.tolist()),
        marked=tuple((share == share.max()).tolist()),
        limits=tuple((say("reads {grade}", grade=severity_words(name)), cut) for name, cut in cuts),
    )
