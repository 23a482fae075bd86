"""The commands below `measure`: figures typed in or files read, what they say, and the lines for a visit file."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from random import SystemRandom

import click

from valuation.cli.options import a_path, examples, language_option, tables_option
from valuation.disk import read_at_most
from valuation.engine.rows import KINDS, SECTIONS
from valuation.errors import Problem, UserError
from valuation.facts.keys import key_number
from valuation.facts.units import parse_quantity
from valuation.language import say
from valuation.measure.keys import STANDARD_A4_HZ
from valuation.measure.pin_deal import deal_pins, pins_of
from valuation.readings.bearing import Gauge, read_bearing
from valuation.readings.climate import Wood, Year, read_climate
from valuation.readings.grade import ANYWHERE
from valuation.readings.pins import read_pins
from valuation.readings.read_scale import MOST_BYTES, read_scale
from valuation.readings.result import Reading, told_of
from valuation.readings.show import to_json, to_text
from valuation.readings.strings import Asked, read_strings
from valuation.service import load_shop

FOUND_FAULTS = 1

json_option = click.option("--json", "as_json", is_flag=True, is_eager=True, help="Print everything as JSON.")
kind_option = click.option(
    "--kind", type=click.Choice(KINDS), default="upright", show_default=True, help="Which checks grade it."
)


class Quantity(click.ParamType):
    """A number, perhaps with its unit: ``0.5``, ``1/8 in``; bare, it is in the unit of the option."""

    def __init__(self, stored: str) -> None:
        self.name = self.stored = stored

    def convert(self, value: str | float, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ARG002
        """Return the number in the stored unit."""
        if isinstance(value, float | int):
            return float(value)
        with told_of(param.opts[0] if param else self.stored):
            return parse_quantity(value, self.stored)


class Numbers(click.ParamType):
    """Several numbers in one argument, parted by spaces or commas."""

    name = "readings"

    def convert(self, value: str | tuple, param: click.Parameter | None, ctx: click.Context | None) -> tuple:  # noqa: ARG002
        """Return the numbers."""
        if isinstance(value, tuple):
            return value
        with told_of(param.opts[0] if param else self.name):
            return tuple(parse_quantity(piece, "count") for piece in re.split(r"[\s,;]+", value.strip()) if piece)


class KeyName(click.ParamType):
    """A key, by its number or its name."""

    name = "key"

    def convert(self, value: str | int, param: click.Parameter | None, ctx: click.Context | None) -> int:  # noqa: ARG002
        """Return its number."""
        if isinstance(value, int):
            return value
        with told_of(param.opts[0] if param else self.name):
            return key_number(int(value) if value.isdecimal() else value)


MM, DEG_C, PERCENT, CENTS = Quantity("mm"), click.FLOAT, Quantity("%"), Quantity("cents")


def section_options(command: Callable) -> Callable:
    """Add an option for the readings of each section."""
    for section in reversed(SECTIONS):
        command = click.option(
            f"--{section}", type=Numbers(), default=(), metavar="READINGS", help=f"Readings of the {section}."
        )(command)
    return command


def _by_section(readings: tuple[float, ...], **sections: tuple[float, ...]) -> dict[str, tuple[float, ...]]:
    return {name: values for name, values in {**sections, ANYWHERE: readings}.items() if values}


def _print(reading: Reading, *, as_json: bool) -> None:
    click.echo((to_json if as_json else to_text)(reading), nl=False)


@click.group(
    epilog=examples("measure pins 60 55 70 --unit in-lb", "measure climate --winter 25 --summer 70 --temperature 20")
)
def measure() -> None:
    """Read what was measured: figures, what they say, and the line for a visit file.

    What a figure is worth is graded by the cut points of the shop's tables, like any other check.
    """


@measure.command(
    short_help="Lengths and wire of the strings.",
    epilog=examples("measure strings scale.csv", "measure strings scale.csv --gauges european --break 27 --flat 100"),
)
@click.argument("scale", type=a_path, metavar="SCALE.csv")
@click.option("--gauges", type=click.Choice(["american", "european"]), default=None, help="What wire numbers mean.")
@click.option("--a4", type=float, default=STANDARD_A4_HZ, show_default=True, help="Pitch to reckon for [Hz].")
@click.option("--length-within", type=MM, default=1.0, show_default=True, help="Error of the lengths [mm].")
@click.option("--wire-within", type=MM, default=0.01, show_default=True, help="Error of the wire [mm].")
@click.option("--break", "breaks", type=KeyName(), multiple=True, metavar="KEY", help="First key above a break.")
@click.option("--strings-in-all", type=int, help="Strings of the whole piano.")
@click.option("--flat", type=CENTS, help="How far below pitch they are now [cents].")
@click.option("--overpull", type=CENTS, default=0.0, show_default=True, help="How far above, for a while [cents].")
@click.option("--strength-kept", type=PERCENT, default=100.0, show_default=True, help="Of its strength when new [%].")
@click.option("--highest-share", type=PERCENT, help="Not to be passed [%]; where the tables read poor, if left out.")
@click.option("--lowest-share", type=PERCENT, help="Under it a string is slack [%]; asks for the limits of the scale.")
@kind_option
@tables_option
@json_option
@language_option
def strings(
    scale: Path, gauges: str | None, a4: float, breaks: tuple[int, ...], kind: str, folder: Path | None,
    as_json: bool, length_within: float, wire_within: float, flat: float | None, overpull: float,
    strength_kept: float, highest_share: float | None, lowest_share: float | None, strings_in_all: int | None,
) -> None:  # fmt: skip
    """Tell how hard strings are strained, from a CSV file with one row a key.

    Columns: key (number or name), length_mm, wire (0.975 mm, or a number of --gauges), outside_mm (over the winding,
    empty where plain), strings (1 to 3), and perhaps flat_cents.
    """
    asked = Asked(
        a4_hz=a4, length_within_mm=length_within, wire_within_mm=wire_within, breaks=breaks,
        strings_in_all=strings_in_all, flat_cents=flat, overpull_cents=overpull, strength_kept=strength_kept,
        highest_share=highest_share, lowest_share=lowest_share,
    )  # fmt: skip
    tables = load_shop(folder)
    read = read_scale(read_at_most(scale, MOST_BYTES), scale.name, gauges or "")
    _print(read_strings(read, asked, tables, kind), as_json=as_json)


@measure.command(
    short_help="Bend of the strings at the bridge.",
    epilog=examples(
        'measure bearing --bass "1.1 0.9" --treble "0.4 0.3 0.5"',
        "measure bearing --treble 0.15 --half-span 25.4 --bridge-width 15",
        "measure bearing --treble 0.58 --front 50 --rear 25 --crown 3",
    ),
)
@section_options
@click.option("--half-span", type=MM, help="Readings are gaps under a gauge [mm]: from its middle to a foot [mm].")
@click.option("--bridge-width", type=MM, help="Width of the bridge under the gauge [mm].")
@click.option("--front", type=MM, help="Readings are heights above a thread [mm]: its length in front [mm].")
@click.option("--rear", type=MM, help="Length of the thread behind the bridge [mm].")
@click.option("--tension", type=float, help="Mean pull of a string [N], for the force on the board.")
@click.option(
    "--strings", "counts", multiple=True, metavar="SECTION=NUMBER", help="Strings of a section, for the force."
)
@click.option("--crown", type=MM, help="Crown of the board there [mm].")
@kind_option
@tables_option
@json_option
@language_option
def bearing(
    bass: tuple[float, ...], tenor: tuple[float, ...], treble: tuple[float, ...], half_span: float | None,
    bridge_width: float | None, front: float | None, rear: float | None, tension: float | None,
    counts: tuple[str, ...], crown: float | None, kind: str, folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Tell how the strings bear on the bridge; readings are net angles in degrees if nothing else is said."""
    gauge = Gauge(half_span_mm=half_span, bridge_width_mm=bridge_width, front_mm=front, rear_mm=rear)
    reading = read_bearing(
        _by_section((), bass=bass, tenor=tenor, treble=treble), gauge, load_shop(folder), kind,
        tension_n=tension, strings=_counts(counts), crown_mm=crown,
    )  # fmt: skip
    _print(reading, as_json=as_json)


def _counts(pairs: tuple[str, ...]) -> dict[str, int]:
    counts = {}
    for pair in pairs:
        section, _, number = pair.partition("=")
        if section not in SECTIONS or not number.isdecimal():
            raise UserError([Problem("--strings", 0, "", f"'{pair[:40]}' must be like treble=100; one for a section")])
        counts[section] = int(number)
    return counts


@measure.command(
    short_help="Dry and wet season.",
    epilog=examples(
        "measure climate --winter 25 --summer 70 --temperature 20 --hold 40 50",
        "measure climate --winter 25 --summer 70 --temperature 20 --now 45 --crack 0.3 --panel 150",
    ),
)
@click.option("--winter", type=PERCENT, required=True, help="Relative humidity of the driest month [%].")
@click.option("--summer", type=PERCENT, required=True, help="Relative humidity of the wettest month [%].")
@click.option("--temperature", type=DEG_C, required=True, help="Temperature at the piano [°C].")
@click.option("--now", type=PERCENT, help="Relative humidity of the last weeks [%].")
@click.option("--hold", type=(PERCENT, PERCENT), help="Humidity that a control would keep, from and to [%].")
@click.option("--wood", default="sitka spruce", show_default=True, help="Wood of the board.")
@click.option("--across", type=MM, default=1000.0, show_default=True, help="Board across its grain [mm].")
@click.option("--crack", type=MM, help="Width of a crack now [mm].")
@click.option("--panel", type=MM, help="Wood that the crack takes up, half way to the next on both sides [mm].")
@click.option("--crown", type=MM, help="Crown now [mm]; with rib and board it is followed over the year.")
@click.option("--rib-length", type=MM, help="Length of that rib [mm].")
@click.option("--rib-height", type=MM, help="Height of that rib [mm].")
@click.option("--board", type=MM, help="Thickness of the board [mm].")
@click.option("--pin", type=MM, help="Diameter of the tuning pins [mm].")
@click.option("--block", type=MM, help="Pinblock across its grain [mm].")
@click.option("--block-wood", default="hard maple", show_default=True, help="Wood of the pinblock.")
@kind_option
@tables_option
@json_option
@language_option
def climate(
    winter: float, summer: float, temperature: float, now: float | None, hold: tuple[float, float] | None, wood: str,
    across: float, crack: float | None, panel: float | None, crown: float | None, rib_length: float | None,
    rib_height: float | None, board: float | None, pin: float | None, block: float | None, block_wood: str,
    kind: str, folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Tell what the year's dry and wet season do to board, crack, crown and pinblock."""
    year = Year(dry=winter, wet=summer, now=now, temperature_c=temperature, held=hold)
    asked = Wood(
        board=wood, block=block_wood, across_mm=across, crack_mm=crack, panel_mm=panel, pin_mm=pin, block_mm=block,
        crown_mm=crown, rib_length_mm=rib_length, rib_height_mm=rib_height, thickness_mm=board,
    )  # fmt: skip
    _print(read_climate(year, asked, load_shop(folder), kind), as_json=as_json)


@measure.command(
    short_help="Torque of the tuning pins.",
    epilog=examples(
        "measure pins 60 55 28 70 --unit in-lb --in-all 225",
        'measure pins --bass "31 26" --tenor "18 15" --treble "44 40" --unit in-lb',
    ),
)
@click.argument("readings", type=Numbers(), nargs=-1)
@section_options
@click.option("--soft", type=Numbers(), default=(), help="Pins tried because they felt soft: booked apart.")
@click.option("--unit", default="N.m", show_default=True, help="Unit of the readings: N.m, in-lb or kgf.cm.")
@click.option("--in-all", type=int, help="Pins of the piano; the number in the tables if left out.")
@click.option("--settle", type=PERCENT, help="Share of loose pins to settle [%]; where the tables read failed.")
@click.option("--confidence", type=float, default=0.95, show_default=True, help="How often ranges hold the truth.")
@kind_option
@tables_option
@json_option
@language_option
def pins(
    readings: tuple[tuple[float, ...], ...], bass: tuple[float, ...], tenor: tuple[float, ...],
    treble: tuple[float, ...], soft: tuple[float, ...], unit: str, in_all: int | None, settle: float | None,
    confidence: float, kind: str, folder: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Tell from the torque of some pins how many of all may be loose."""
    anywhere = tuple(number for numbers in readings for number in numbers)
    reading = read_pins(
        _by_section(anywhere, bass=bass, tenor=tenor, treble=treble), unit, load_shop(folder), kind,
        soft=soft, in_all=in_all, settle_percent=settle, confidence=confidence,
    )  # fmt: skip
    _print(reading, as_json=as_json)


@measure.command(
    short_help="Deal which tuning pins to try.",
    epilog=examples("measure deal", "measure deal --count 48 --bass-end 28 --start 0.3719"),
)
@click.option("--count", type=click.IntRange(1, 200), default=24, show_default=True, help="Pins to try.")
@click.option("--bass-end", type=KeyName(), default="28", show_default=True, help="Last key of the bass.")
@click.option(
    "--start", type=click.FloatRange(0, 1, max_open=True), help="Where the deal begins; by chance if left out."
)
@language_option
def deal(count: int, bass_end: int, start: float | None) -> None:
    """Deal which tuning pins to try, evenly over the field, so that they speak for all.

    Tell the same start again to deal more of them: the first ones stay.
    """
    start = round(SystemRandom().random(), 4) % 1 if start is None else start
    pins = pins_of(bass_end)
    dealt = sorted(deal_pins(pins, count, start))
    click.echo(
        say("{count} of {all} pins, dealt from the start {start}:", count=count, all=len(pins), start=f"{start:g}")
    )
    click.echo(textwrap.fill(" ".join(f"{key}.{string}" for key, string in dealt), 100))


@measure.command(
    short_help="Recordings of single notes.",
    epilog=examples(
        "measure sound A4.wav", "measure sound *.wav", "measure sound take1.wav take2.wav --key A4 --key C5"
    ),
)
@click.argument("files", type=a_path, nargs=-1, required=True, metavar="FILE...")
@click.option(
    "--key", "keys", type=KeyName(), multiple=True, metavar="KEY",
    help="Key that was played, one for each file in their order; else it is taken from the file's name, or as heard.",
)  # fmt: skip
@kind_option
@tables_option
@json_option
@language_option
def sound(files: tuple[Path, ...], keys: tuple[int, ...], kind: str, folder: Path | None, as_json: bool) -> None:
    """Tell pitch, evenness and spread of unisons from recordings, WAV or FLAC, one strike of one key in each.

    About a dozen notes tell of the whole piano: A1 E2 A2 E3 A3 C4 A4 C5 E5 A5 C6 A6. A file called A4.wav is taken
    for a recording of A4. Recordings that can't be read are told, and the command then ends with 1.
    """
    # slow to import, and needed here only
    from valuation.measure.sound.recording import MOST_BYTES as MOST_SOUND_BYTES
    from valuation.readings.sound import read_notes, read_sound

    if keys and len(keys) != len(files):
        raise UserError(
            [Problem("--key", 0, "", f"there are {len(files)} files and {len(keys)} keys; name one for each")]
        )
    tables = load_shop(folder)
    named = keys or (None,) * len(files)
    sounds = [
        (path.name, BytesIO(read_at_most(path, MOST_SOUND_BYTES)), key) for path, key in zip(files, named, strict=True)
    ]
    notes, refused = read_notes(sounds)
    reading = read_sound(notes, refused, tables, kind)
    _print(reading, as_json=as_json)
    for problem in reading.refused:
        click.echo(str(problem), err=True)
    if reading.refused:
        raise SystemExit(FOUND_FAULTS)
