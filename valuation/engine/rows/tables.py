"""All the tables of a shop in one, with its settings."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from valuation.engine.rows.condition import (
    ConflictRow,
    FaultRow,
    HiddenRow,
    OddsRow,
    PartRow,
    StateRow,
    TiltRow,
)
from valuation.engine.rows.country import CountryRow, LawRow, RetentionRow, TaxRow, TradeWordRow, ValueKindRow
from valuation.engine.rows.evidence import AccessRow, CheckRow, PieceRow, ReadingRow, TakenOverRow
from valuation.engine.rows.figures import FigureRow
from valuation.engine.rows.jobs import FollowUpRow, HandoverRow, ReasonRow, StageRow
from valuation.engine.rows.market import BandRow, EraRow, ReplacementRow, SizeRow, TierRow
from valuation.engine.rows.piano import ChoiceRow, ComponentRow, FeatureRow, SourceRow
from valuation.engine.rows.work import (
    CautionRow,
    CureRow,
    FeatureHoursRow,
    ForbiddenRow,
    MaterialRow,
    OpeningRow,
    OperationRow,
    RateRow,
    ScopeRow,
    SystemRow,
)
from valuation.facts.columns import column
from valuation.facts.declared import HORIZON_YEARS


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Single figures, from settings.toml: each there with value, unit, source and note."""

    country: str = column("country whose pack holds: money, tax, law and words", refers_to="countries")
    currency: str = column("ISO 4217 code of the shop's money")
    horizon_years: float = column(
        "over how many years the ways are compared", unit="years", low=HORIZON_YEARS.low, high=HORIZON_YEARS.high
    )
    discount_rate: float = column("real interest a year", unit="share/year", low=0, high=0.2)
    usual_year: int = column("year of building assumed, and said so, where it is not known", low=1700, high=2100)
    about_years: float = column(
        "how far a year that is 'about' may be off, one standard deviation", unit="years", above=0, high=50
    )
    usual_humidity: float = column("humidity that the tables' readings are meant for", unit="%", low=20, high=80)
    playing_worth: float = column(
        "worth of a year of good playing over the replacement's cost of a year", low=0, high=5
    )
    job_spread: float = column("how whole jobs run over or under, standard deviation of the logarithm", low=0.0, high=1)
    market_spread: float = column("how the whole market differs from the tables, the same", low=0.0, high=1)
    wear_shape: float = column("how suddenly parts wear out: 1 at any time, 4 mostly near their years", low=1, high=10)
    value_loss_per_year: float = column("share of value lost a year after the work", unit="share/year", low=0, high=0.2)
    selling_cost: float = column("share of the price lost in selling", low=0, high=0.9)
    clear_share: float = column(
        "a verdict is clear when it beats the next in at least this share of draws", above=0.5, high=1
    )
    leaning_share: float = column("leaning from this share of draws", low=0.5, high=1)
    fixed_from: float = column(
        "a larger remedy is fixed in a plan only if its need is at least so likely", low=0, high=1
    )
    forbidden_from: float = column("a remedy is forbidden where what forbids it is at least so likely", low=0, high=1)
    likely_from: float = column("a small repair is in a plan only if its need is at least so likely", low=0, high=1)
    asked_from: float = column(
        "an if-found line is asked for by itself in a quotation if it is expected to come to at least this share of "
        "the fixed price",
        low=0,
        high=1,
    )
    serves_least: float = column("below this chance to serve at all, keeping is keeping furniture", low=0, high=1)
    near_keep: float = column("a scope within this share of the price of the safe one is not offered", low=0, high=1)
    near_scope: float = column("a scope that costs so little more than the one below is not offered", low=0, high=1)
    near_rebuild: float = column("a repair at this share of the rebuild's price is not offered", low=0, high=1)
    conflict_from: float = column("a conflict of findings is told from this measure on", low=0, high=20)
    tax: str = column("way in which the shop is taxed", refers_to="taxes")
    round_to: float = column("quoted totals are shown to the nearest", unit="money", above=0)
    visit_rate: str = column("rate that a technician's minutes at a visit cost", refers_to="rates")
    keep_operations: tuple[str, ...] = column("operations of 'make it safe and in tune'", refers_to="operations")
    raise_operation: str = column("operation instead of a tuning where it stands far too low", refers_to="operations")
    raise_fault: str = column("fault that calls for it from 'marked' on", refers_to="faults")
    quote_days: int = column("for how many days a quote holds", unit="days", low=1, high=730)
    bench_hours_week: float = column("hours of work that one piano gets in a week in the workshop", unit="h", above=0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tables:
    """Everything the shop knows, read and checked. Compared and cached by identity.

    Attributes
    ----------
    hash : str
        SHA-256 of the files in canonical form, in hexadecimal.
    lines : mapping of (table, row index) to line number
        Where each row stands in its file, so that a figure can be traced to it. The settings stand under
        ``("settings", i)``, i counting the fields of `Settings`.
    setting_sources : mapping of setting to source
        Where each setting comes from.
    """

    sources: tuple[SourceRow, ...]
    states: tuple[StateRow, ...]
    hidden: tuple[HiddenRow, ...]
    tilts: tuple[TiltRow, ...]
    components: tuple[ComponentRow, ...]
    systems: tuple[SystemRow, ...]
    parts: tuple[PartRow, ...]
    features: tuple[FeatureRow, ...]
    faults: tuple[FaultRow, ...]
    fault_odds: tuple[OddsRow, ...]
    conflicts: tuple[ConflictRow, ...]
    accesses: tuple[AccessRow, ...]
    readings: tuple[ReadingRow, ...]
    checks: tuple[CheckRow, ...]
    pieces: tuple[PieceRow, ...]
    taken_over: tuple[TakenOverRow, ...]
    operations: tuple[OperationRow, ...]
    cures: tuple[CureRow, ...]
    forbidden: tuple[ForbiddenRow, ...]
    feature_hours: tuple[FeatureHoursRow, ...]
    openings: tuple[OpeningRow, ...]
    scopes: tuple[ScopeRow, ...]
    materials: tuple[MaterialRow, ...]
    rates: tuple[RateRow, ...]
    sizes: tuple[SizeRow, ...]
    tiers: tuple[TierRow, ...]
    eras: tuple[EraRow, ...]
    bands: tuple[BandRow, ...]
    replacements: tuple[ReplacementRow, ...]
    cautions: tuple[CautionRow, ...]
    choices: tuple[ChoiceRow, ...]
    stages: tuple[StageRow, ...]
    reasons: tuple[ReasonRow, ...]
    follow_ups: tuple[FollowUpRow, ...]
    handover: tuple[HandoverRow, ...]
    countries: tuple[CountryRow, ...]
    taxes: tuple[TaxRow, ...]
    laws: tuple[LawRow, ...]
    value_kinds: tuple[ValueKindRow, ...]
    retentions: tuple[RetentionRow, ...]
    trade_words: tuple[TradeWordRow, ...]
    figures: tuple[FigureRow, ...]
    settings: Settings
    hash: str
    lines: dict[tuple[str, int], int] = field(default_factory=dict)
    setting_sources: dict[str, str] = field(default_factory=dict)

    def of_kind(self, table: str, kind: str) -> dict[str, Any]:
        """Return the rows of `table` that hold for one kind of piano, by id."""
        return {row.id: row for row in getattr(self, table) if row.kinds in (kind, "both")}
