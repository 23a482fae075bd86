"""The air of dry and wet season: what it does to the wood, and what holding the humidity would change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from valuation.engine.rows import Tables
from valuation.language import later, numeral, say
from valuation.measure.crown import CrownYear, RibbedBoard, crown_over_year
from valuation.measure.limits import require_between
from valuation.measure.seasons import block_over_year, board_over_year, crack_over_year, hold_humidity
from valuation.measure.wood import COEFFICIENTS, Climate
from valuation.readings.grade import find, row_of
from valuation.readings.result import Figure, Reading, give_or_take, told_of
from valuation.report.labels import cut_words

CHECK = "humidity_swing"
MOISTURE_WITHIN = 1.0
"""Single boards stand about this far from the mean that the equation gives [%]; see `moisture`."""

RADIAL, TANGENTIAL = range(2)

_MOISTURE = {"dry": later("Moisture of wood, dry season"), "wet": later("Moisture of wood, wet season")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """The air at the piano, as monthly means.

    Attributes
    ----------
    dry, wet, now : float
        Relative humidity of the driest and the wettest month, and of the last weeks [%].
    temperature_c : float
        Temperature, the same all year [°C].
    held : tuple of float, or None
        Limits between which a humidity control would keep the air [%].
    """

    dry: float
    wet: float
    now: float | None = None
    temperature_c: float
    held: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wood:
    """What of the piano is asked about; whatever is None is left out.

    Attributes
    ----------
    board, block : str
        Wood of the board (quartersawn) and of the pinblock, as in `COEFFICIENTS`.
    across_mm : float
        Size of the board across its grain [mm].
    crack_mm, panel_mm : float or None
        Width of a crack now, and of the wood whose shrinking it takes up [mm].
    pin_mm, block_mm : float or None
        Diameter of the tuning pins, and size of the block across its grain [mm].
    crown_mm, rib_length_mm, rib_height_mm, thickness_mm : float or None
        Crown now, length and height of its rib, thickness of the board [mm].
    stiffness_ratio : float
        As for `bending_of_ribbed_panel` [-].
    """

    board: str = "sitka spruce"
    block: str = "hard maple"
    across_mm: float = 1000.0
    crack_mm: float | None = None
    panel_mm: float | None = None
    pin_mm: float | None = None
    block_mm: float | None = None
    crown_mm: float | None = None
    rib_length_mm: float | None = None
    rib_height_mm: float | None = None
    thickness_mm: float | None = None
    stiffness_ratio: float = 0.5


def read_climate(year: Year, wood: Wood, tables: Tables, kind: str) -> Reading:
    """Return what the year's dry and wet season do.

    Parameters
    ----------
    year : Year
        The air.
    wood : Wood
        Board, crack, crown and block that are asked about.
    tables : Tables
        The shop's tables, which grade the swing of humidity.
    kind : str
        ``upright`` or ``grand``.

    Returns
    -------
    Reading
        With a finding for `humidity_swing`.

    Raises
    ------
    UserError
        If a number is not possible, or what is asked needs another one.
    """
    row = row_of(tables, kind, CHECK)
    with told_of("climate"):
        dry, wet, now = (
            Climate(humidity=humidity, temperature_c=year.temperature_c)
            for humidity in (year.dry, year.wet, year.dry if year.now is None else year.now)
        )
        require_between(year.wet - year.dry, 0, 95, what="humidity of the wet season less that of the dry", unit="%")
        figures: list[Figure] = []
        says: list[str] = []
        swing = year.wet - year.dry
        figures += _air(swing, dry, wet, row.repeats_within if row else None)
        said = say("Over the year the humidity swings by {swing} points.", swing=numeral(f"{swing:g}"))
        says.append(f"{said} {cut_words(row)}" if row else said)
        _board(wood, dry, wet, figures, says)
        if crack := _asked(year, "crack", crack_mm=wood.crack_mm, panel_mm=wood.panel_mm):
            says += _crack(crack, wood, now, dry, wet, figures)
        sizes = {"crown_mm": wood.crown_mm, "rib_length_mm": wood.rib_length_mm, "rib_height_mm": wood.rib_height_mm}
        if ribs := _asked(year, "crown", **sizes, thickness_mm=wood.thickness_mm):
            says += _crown(ribs, wood, now, dry, wet, figures)
        if block := _asked(year, "pinblock", pin_mm=wood.pin_mm, block_mm=wood.block_mm):
            says += _block(block, wood, now, dry, figures)
        if year.held:
            says += _held(year.held, dry, wet, figures)
    return Reading(
        title=say(
            "Air and wood: {dry} to {wet} % humidity over the year, {temperature} °C",
            dry=numeral(f"{year.dry:g}"),
            wet=numeral(f"{year.wet:g}"),
            temperature=numeral(f"{year.temperature_c:g}"),
        ),
        figures=tuple(figures),
        says=tuple(says),
        does_not_say=(
            say(
                "These are movements of free wood; ribs, rim and strings hold it: "
                "the truth lies between none and these."
            ),
            say(
                "It doesn't say how the piano has lived before: it tells of the air that was given here, "
                "as monthly means."
            ),
        ),
        found=find(tables, kind, CHECK, swing),
    )


def _coefficient(name: str, cut: int) -> float:
    if name not in COEFFICIENTS:
        raise ValueError(f"'{name}' is not a wood known here; write {' or '.join(COEFFICIENTS)}")
    return COEFFICIENTS[name][cut]


def _asked(year: Year, what: str, **sizes: float | None) -> dict[str, float]:
    """Return the sizes that something is asked by, none if it isn't; where only part is told, say what lacks."""
    given = {name: size for name, size in sizes.items() if size is not None}
    missing = [name.replace("_mm", "").replace("_", " ") for name, size in sizes.items() if size is None]
    if given and year.now is None:
        missing.append("humidity of the last weeks, to which it belongs")
    if given and missing:
        raise ValueError(f"the {what} can't be reckoned without: {', '.join(missing)}")
    return given


def _air(swing: float, dry: Climate, wet: Climate, error: float | None) -> Iterator[Figure]:
    name = say("Swing of humidity")
    yield (
        give_or_take(name, swing, "%", error, say("as two readings differ"))
        if error else Figure(name=name, value=swing, unit="%")
    )  # fmt: skip
    for season, air in (("dry", dry), ("wet", wet)):
        yield give_or_take(say(_MOISTURE[season]), air.moisture, "%", MOISTURE_WITHIN, say("as boards differ"))


def _board(wood: Wood, dry: Climate, wet: Climate, figures: list[Figure], says: list[str]) -> None:
    moved = board_over_year(wood.across_mm, _coefficient(wood.board, RADIAL), dry=dry, wet=wet)
    across = numeral(f"{wood.across_mm:g}")
    name = say("Movement of {across} mm of {wood} across the grain, at most", across=across, wood=say(wood.board))
    figures.append(Figure(name=name, value=moved.movement_mm, unit="mm"))
    message = later("Free {wood} would grow by {movement} mm on {across} from dry to wet.")
    if not moved.is_published_range:
        message = later(
            "Free {wood} would grow by {movement} mm on {across} from dry to wet. "
            "The air goes beyond what the figures were published for: roughly."
        )
    movement = numeral(f"{moved.movement_mm:.1f}")
    says.append(say(message, wood=say(wood.board), movement=movement, across=across))


def _crack(
    sizes: Mapping[str, float], wood: Wood, now: Climate, dry: Climate, wet: Climate, figures: list[Figure]
) -> Iterator[str]:
    across = _coefficient(wood.board, RADIAL)
    found = crack_over_year(sizes["crack_mm"], sizes["panel_mm"], across, now=now, dry=dry, wet=wet)
    figures.append(Figure(name=say("Crack in the dry season, at most"), value=found.dry_at_most_mm, unit="mm"))
    figures.append(Figure(name=say("Crack in the wet season, at least"), value=found.wet_at_least_mm, unit="mm"))
    message = later("The crack of {now} mm may open to {dry} mm in the dry season and stays open in the wet one.")
    if found.wet_at_least_mm == 0:
        message = later("The crack of {now} mm may open to {dry} mm in the dry season and may close in the wet one.")
    yield say(message, now=numeral(f"{sizes['crack_mm']:g}"), dry=numeral(f"{found.dry_at_most_mm:.1f}"))


def _crown(
    sizes: Mapping[str, float], wood: Wood, now: Climate, dry: Climate, wet: Climate, figures: list[Figure]
) -> Iterator[str]:
    board = RibbedBoard(
        crown_mm=sizes["crown_mm"],
        rib_length_mm=sizes["rib_length_mm"],
        rib_height_mm=sizes["rib_height_mm"],
        panel_mm=sizes["thickness_mm"],
        coefficient=_coefficient(wood.board, RADIAL),
        stiffness_ratio=wood.stiffness_ratio,
    )
    found = crown_over_year(board, now=now, dry=dry, wet=wet)
    figures.append(Figure(name=say("Crown in the dry season, at the least"), value=found.dry_at_least_mm, unit="mm"))
    figures.append(Figure(name=say("Crown in the wet season, at most"), value=found.wet_at_most_mm, unit="mm"))
    yield _crown_words(found)


def _crown_words(found: CrownYear) -> str:
    if found.dry_at_least_mm > 0:
        return say(
            "Even a board held by its ribs alone would keep some crown in the dry season: the air can't take it all."
        )
    if found.flat_at_humidity is None:
        return say(
            "The dry season alone could take the crown away; measure again in the wet one before blaming the board."
        )
    return say(
        "The dry season alone could take the crown away, from {humidity} % humidity down; "
        "measure again in the wet one before blaming the board.",
        humidity=f"{found.flat_at_humidity:.0f}",
    )


def _block(sizes: Mapping[str, float], wood: Wood, now: Climate, dry: Climate, figures: list[Figure]) -> Iterator[str]:
    across = _coefficient(wood.block, TANGENTIAL)
    found = block_over_year(sizes["pin_mm"], sizes["block_mm"], across, now=now, dry=dry)
    figures.append(Figure(name=say("Grip of the pins in the dry season, at most"), value=found.fit_dry_mm, unit="mm"))
    figures.append(Figure(name=say("Size of the block in the dry season, at most"), value=found.size_dry_mm, unit="mm"))
    if found.fit_dry_mm < 0:
        yield say(
            "Torque read now flatters the block: in the dry season a hole may loosen by {hole} mm, "
            "and the block shrink by {block} mm away from plate or back.",
            hole=numeral(f"{-found.fit_dry_mm:.2f}"), block=numeral(f"{-found.size_dry_mm:.1f}"),
        )  # fmt: skip
    else:
        yield say("Torque read now is about the least of the year: the block will be no drier.")


def _held(held: tuple[float, float], dry: Climate, wet: Climate, figures: list[Figure]) -> Iterator[str]:
    low, high = held
    found = hold_humidity(dry, wet, held_low=low, held_high=high)
    figures.append(Figure(name=say("Movement left with the humidity held"), value=100 * found.share_left, unit="%"))
    yield say(
        "Held between {low} and {high} %, the wood would go through {held} points of moisture instead of {free}: "
        "{share} % of all movement would be left.",
        low=numeral(f"{low:g}"), high=numeral(f"{high:g}"), held=numeral(f"{found.swing_held:.1f}"),
        free=numeral(f"{found.swing:.1f}"), share=f"{100 * found.share_left:.0f}",
    )  # fmt: skip
