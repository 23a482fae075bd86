"""What the workshop does: how far it opens a piano, what cures which fault, what forbids it, what it takes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.engine.rows import words
from valuation.engine.rows.words import AXES, SEVERITIES
from valuation.facts.columns import column


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """So much of one material."""

    material: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow:
    """One thing the workshop does, and what it takes beside the pieces it treats.

    A `small` remedy treats faults piece by piece; a `large` one renews a part, or much of it, and forms a rung of
    its part's ladder (1 the least). `access` steps and work that `follow`s are charged once a job, through the
    opening or the remedy that brings them; `service` is done on its own.
    """

    id: str = column("operation")
    kinds: str = words.kinds()
    only_with: tuple[str, ...] = words.only_with()
    not_with: tuple[str, ...] = words.not_with()
    part: str = column("part it treats; empty for access, follow and service", refers_to="parts", default="")
    level: str = column("what sort of operation", choices=("small", "large", "access", "follow", "service"))
    rung: int = column("for a large remedy: how far it goes, 1 the least", low=0, high=9, default=0)
    strings: str = column(
        "how far the strings must be off for it: a step of that axis, or of the board", default="closed"
    )
    action: str = column("how far the action must be out for it: a step of that axis", default="action_in")
    name: str = column("name in the workshop's words")
    plain: str = column("what is done, in the client's words")
    hours_low: float = column("set-up: 1 in 10 jobs takes less", unit="h", low=0)
    hours_likely: float = column("as often more as less", unit="h", low=0)
    hours_high: float = column("1 in 10 jobs takes more", unit="h", low=0)
    where: str = column("which rate applies", refers_to="rates")
    materials: tuple[Quantity, ...] = column(
        "what is bought for it: material:amount, separated by ';'", refers_to="materials", default=()
    )
    lasts_years: float | None = column("median years of service it buys", unit="years", above=0, default=None)
    loss_of_value: float = column("share of the finished value that goes with it", low=0, high=0.9, default=0.0)
    told: str = column("what a buyer must be told of it", default="")
    obtainable: float = column("chance that what it takes can be had at all", above=0, high=1, default=1.0)
    renews: str = column("system it renews", refers_to="systems", default="")
    followed_by: tuple[str, ...] = column("operations that must come after", refers_to="operations", default=())
    covers: tuple[str, ...] = column("operations that it makes needless", refers_to="operations", default=())
    rests_days: float = column(
        "how long the piano rests after it, for glue, varnish or new strings", unit="days", low=0, high=365, default=0.0
    )
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class CureRow:
    """What a remedy makes of one fault, and how long it takes a piece."""

    operation: str = column("remedy", refers_to="operations")
    fault: str = column("fault that it treats", refers_to="faults")
    slight: str = column("what it leaves of a slight fault; empty: not treated", choices=SEVERITIES, default="")
    marked: str = column("the same of a marked one", choices=SEVERITIES, default="")
    severe: str = column("the same of a severe one", choices=SEVERITIES, default="")
    piece_low: float = column("hours a piece: 1 in 10 jobs takes less", unit="h", low=0, default=0.0)
    piece_likely: float = column("as often more as less", unit="h", low=0, default=0.0)
    piece_high: float = column("1 in 10 takes more", unit="h", low=0, default=0.0)
    piece_materials: tuple[Quantity, ...] = column("material:amount a piece", refers_to="materials", default=())
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ForbiddenRow:
    """What forbids a remedy: a fault of its own part found at or past a severity, another part's, or a feature."""

    operation: str = column("remedy", refers_to="operations")
    fault: str = column("fault that forbids it", refers_to="faults", default="")
    since: str = column("from this severity on", choices=SEVERITIES[1:], default="")
    feature: str = column("or a feature that does", refers_to="features", default="")
    why: str = column("why, in one sentence")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningRow:
    """One step of how far a plan opens the piano, on one of its axes; a step includes those before it.

    A plan's opening is one step on each axis. `forces` names, as 'part:operation|operation', what must then be
    done to a part: one of the operations named.
    """

    id: str = column("step")
    kinds: str = words.kinds()
    axis: str = column("what is opened", choices=AXES)
    step: int = column("how far, 0 not at all", low=0, high=9)
    name: str = column("name shown to people")
    operations: tuple[str, ...] = column("operations that it takes, those of the steps before apart", default=())
    forces: tuple[str, ...] = column("'part:operation|operation' that must then be done", default=())
    needs: tuple[str, ...] = column("steps of other axes that it needs at least", refers_to="openings", default=())
    renews: tuple[str, ...] = column("systems that are renewed by it", refers_to="systems", default=())
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemRow:
    """One of the large systems of a piano; who renews two of them rebuilds it."""

    id: str = column("system")
    name: str = column("name shown to people")
    parts: tuple[str, ...] = column("its parts", refers_to="parts")
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ScopeRow:
    """How far to go: what a scope must hold, and which verdict it stands for. Rows stand from the least on."""

    id: str = column("scope")
    verdict: str = column("verdict it stands for", choices=("keep", "partial_repair", "rebuild"))
    name: str = column("name shown to people")
    plain: str = column("what it means, in the client's words")
    holds: str = column("what it must cure", choices=("stops", "broken", "worn"))
    systems_least: int = column("systems it renews at least", low=0, high=9, default=0)
    systems_most: int = column("systems it renews at most", low=0, high=9, default=9)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """What is bought for work, a material or work of others, and what it costs the client, from when to when."""

    id: str = column("material, or work that is bought in")
    name: str = column("name")
    unit: str = column("what one of it is")
    taxed_as: str = column("as what it is told and taxed", choices=("material", "outside"), default="material")
    price_low: float = column("1 in 10 purchases costs less", unit="money", above=0)
    price_likely: float = column("as often more as less", unit="money", above=0)
    price_high: float = column("1 in 10 costs more", unit="money", above=0)
    waste: float = column("share added for waste and spares", low=0, high=1)
    markup: float = column("share added for stock and handling", low=0, high=3)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRow:
    """What an hour costs, and from when to when."""

    id: str = column("rate")
    name: str = column("what sort of work")
    per_hour: float = column("price of one hour before tax", unit="money/h", low=0)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureHoursRow:
    """By how much a feature of the piano multiplies the hours of an operation, or of all operations of a part."""

    feature: str = column("feature of the piano", refers_to="features")
    applies_to: str = column("operation, or 'part:' and a part: all operations that treat it")
    factor: float = column("its hours are multiplied by this", above=0, high=10)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionRow:
    """A caution, or a stop: what must be said, and when.

    It applies always, or from a severity of a fault, or when an operation is planned, or with a feature:
    exactly one of the four.
    """

    id: str = column("caution")
    rank: str = column("how serious", choices=("stop", "warn", "note"))
    always: bool = column("applies to every piano", default=False)
    fault: str = column("applies by this fault", refers_to="faults", default="")
    since: str = column("from this severity on; of one fault the gravest speaks", choices=SEVERITIES[1:], default="")
    operation: str = column("applies when this operation is planned", refers_to="operations", default="")
    feature: str = column("applies to pianos with this feature", refers_to="features", default="")
    text: str = column("what is said, in one or two sentences")
    plain: str = column("the same to the client, where it touches them", default="")
    source: str = words.source()
    note: str = words.note()
