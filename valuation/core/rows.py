"""The rows of the tables that a shop owns, one class for each file in `valuation/tables`.

Everything the trade knows stands in those files; the code knows only how to use a row. A field's
`column(...)` says what the cell means and what is allowed in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import IntEnum

from valuation.core.columns import column
from valuation.core.units import UNITS

KINDS = ("upright", "grand")
KIND_CHOICES = ("upright", "grand", "both")
STATES = ("sound", "serviceable", "worn", "failed")
GRADES = ("good", "fair", "poor", "failed")
EXPOSURES = ("stable", "seasonal", "harsh")
CONDITIONS_GIVEN = STATES + EXPOSURES
PLACES = ("outside", "playing", "opened", "action_out", "below")
LEVELS = ("access", "repair", "replace", "follow", "service")
TREATMENTS = ("repair", "replace")
HISTORY = "history"
SUMMARIES = ("median", "mean", "least", "greatest", "spread", "share_below", "share_above")
SECTIONS = ("bass", "tenor", "treble")
QUESTIONS = ("finish", "sheen", "lettering", "key_tops", "hardware")
OUTCOMES = ("open", "yes", "no")


class Level(IntEnum):
    """What a plan does with one part."""

    KEEP = 0
    REPAIR = 1
    REPLACE = 2

    @property
    def word(self) -> str:
        """The word used in files and in the JSON contract."""
        return ("keep", *TREATMENTS)[self]


def _source() -> str:
    return column("where the row comes from", refers_to="sources")


def _note() -> str:
    return column("anything the next person should know", default="")


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceRow:
    """Where figures come from: a publication, or an honest 'common practice' or 'from memory'."""

    id: str = column("short name used in every table's source column")
    kind: str = column(
        "what sort of source",
        choices=("published", "common practice", "from memory", "shop's own estimate", "invented"),
    )
    title: str = column("the publication, or what the mark means")


@dataclass(frozen=True, slots=True, kw_only=True)
class StateRow:
    """One of the four states a part can truly be in."""

    id: str = column("state", choices=STATES)
    name: str = column("word shown to people")
    score_low: float = column("lower end of this state's stretch of the score", low=0, high=100)
    score_high: float = column("upper end of this state's stretch of the score", low=0, high=100)
    meaning: str = column("what the state means, in one sentence")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureRow:
    """How the piano has lived: the hidden history that all its parts share."""

    id: str = column("exposure", choices=EXPOSURES)
    name: str = column("word shown to people")
    odds: float = column("share of old pianos that lived like this, nothing else known", low=0.005, high=1)
    meaning: str = column("what the exposure means, in one sentence")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentRow:
    """A component: one or more parts that are talked about together."""

    id: str = column("component")
    name: str = column("name shown to people")
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part of the piano that has a state of its own and can be kept, repaired or replaced."""

    id: str = column("part")
    component: str = column("component it belongs to", refers_to="components")
    name: str = column("name shown to people")
    present: str = column("'always', or the feature that brings this part", default="always")
    score_weight: float = column("weight in the score of its component", above=0)
    value_weight: float = column(
        "share of the piano's worth that hangs on it; shares of all parts add to 1", low=0, high=1
    )
    value_failed: float = column(
        "the same once it has failed: at least as much; 1 sells the piano as failed", low=0, high=2
    )
    play_sound: float = column("how well the piano plays with this part sound", low=0, high=1)
    play_serviceable: float = column("the same, serviceable", low=0, high=1)
    play_worn: float = column("the same, worn", low=0, high=1)
    play_failed: float = column("the same, failed", low=0, high=1)
    years_sound: float = column("median further years of service of a sound old part", unit="years", above=0)
    years_serviceable: float = column("the same, serviceable", unit="years", above=0)
    years_worn: float = column("the same, worn", unit="years", above=0)
    core: str = column("least level that a rebuild must contain, empty if any", choices=TREATMENTS, default="")
    at_teardown: bool = column(
        "only teardown shows what it needs, so more work on it is priced beforehand", default=False
    )
    called: str = column("its name for the client, short enough for a list", default="")
    what: str = column("what it is, in the client's words", default="")
    felt: str = column("what one hears, sees or feels once it is worn, in the client's words", default="")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureRow:
    """A feature of build that matters to the value or brings a part of its own."""

    id: str = column("feature")
    name: str = column("name shown to people")
    kinds: str = column("which pianos can have it", choices=KIND_CHOICES)
    value_factor: float = column("value with the feature over value without", above=0, high=3)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeRow:
    """An age band, counted from the year a part was made or last renewed."""

    id: str = column("age band")
    from_years: float = column("first year of the band, inclusive", unit="years", low=0)
    to_years: float = column("last year of the band, exclusive", unit="years", above=0)
    name: str = column("name shown to people")
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class PriorRow:
    """Odds of a part's state before anything is looked at."""

    part: str = column("part", refers_to="parts")
    age: str = column("age band", refers_to="ages")
    exposure: str = column("how the piano has lived", choices=EXPOSURES)
    sound: float = column("share that is sound", low=0.005, high=1)
    serviceable: float = column("share that is serviceable", low=0.005, high=1)
    worn: float = column("share that is worn", low=0.005, high=1)
    failed: float = column("share that has failed", low=0.005, high=1)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthRow:
    """How often a check reads each grade when the truth is `given`."""

    id: str = column("strength")
    given: str = column("the true state (or exposure, or view)", choices=CONDITIONS_GIVEN)
    good: float = column("share that reads good", above=0, high=1)
    fair: float = column("share that reads fair", above=0, high=1)
    poor: float = column("share that reads poor", above=0, high=1)
    failed: float = column("share that reads failed", above=0, high=1)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyRow:
    """Checks that look at the same thing: together they can't tell more than the thing itself."""

    id: str = column("family")
    part: str = column(f"part it tells about, or '{HISTORY}' for how the piano has lived")
    name: str = column("what the checks of the family look at")
    view: str = column("strength table of the view between part and checks; 'none' for a history family")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """One thing to look at, listen to or measure. Rows stand in the order of the walk.

    A check is answered by a number (then the cut points grade it) or by one of four worded
    choices, one for each grade: 'word: what it looks like'.
    """

    id: str = column("check")
    kinds: str = column("which pianos", choices=KIND_CHOICES)
    family: str = column("family of checks", refers_to="families")
    name: str = column("what is asked, in a few words")
    how: str = column("how to do it")
    why: str = column("why it matters")
    tool: str = column("what it takes", default="")
    place: str = column("where on the walk", choices=PLACES)
    quick: bool = column("part of the quick look that settles most cases")
    minutes: float = column("time it takes a practised person", unit="min", above=0, high=240)
    strength: str = column("strength table", refers_to="strengths")
    answer: str = column("how it is answered", choices=("choice", "number", "readings"))
    unit: str = column("unit of the number, as stored", choices=UNITS, default="")
    better: str = column("which numbers are better", choices=("high", "low", "near"), default="")
    target: float | None = column("best number, where nearer is better", default=None)
    cut_fair: float | None = column("from here on the number reads fair", default=None)
    cut_poor: float | None = column("from here on it reads poor", default=None)
    cut_failed: float | None = column("from here on it reads failed", default=None)
    repeats_within: float | None = column(
        "how far two readings of the same thing differ, one standard deviation", above=0, default=None
    )
    lowest: float | None = column("least number that is physically possible", default=None)
    highest: float | None = column("greatest number that is physically possible", default=None)
    summary: str = column("how several readings become one number", choices=SUMMARIES, default="")
    readings_of: str = column("check whose readings this one uses, where it has none of its own", default="")
    limit: float | None = column("limit for the share below or above", default=None)
    of_all: int | None = column("how many there are in all, where a share is sampled", low=1, high=1000, default=None)
    good: str = column("'word: what it looks like' for good", default="")
    fair: str = column("the same for fair", default="")
    poor: str = column("the same for poor", default="")
    failed: str = column("the same for failed", default="")
    source: str = _source()
    note: str = _note()

    @property
    def choices(self) -> dict[str, str]:
        """The choice words by grade, for the grades that have one."""
        worded = ((grade, getattr(self, grade)) for grade in GRADES)
        return {grade: text.split(":")[0].strip() for grade, text in worded if text}


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """So much of one material."""

    material: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow:
    """One operation of the workshop. Hours exclude the operations it needs and those that follow.

    `repair` and `replace` are choices for a part; `access` steps are charged once however many
    operations need them; `follow` is work that others bring with them; `service` is done without a plan.
    """

    id: str = column("operation")
    kinds: str = column("which pianos", choices=KIND_CHOICES)
    part: str = column("part it treats; empty for access, follow and service", refers_to="parts", default="")
    level: str = column("what sort of operation", choices=LEVELS)
    name: str = column("name in the workshop's words")
    plain: str = column("what is done, in the client's words")
    holds_to: str = column("worst true state it can mend", choices=STATES, default="failed")
    instead: str = column("operation that teardown would demand where the part is worse than that", default="")
    leaves: str = column("state in which it leaves the part", choices=STATES, default="")
    lasts_years: float | None = column("median years of service it buys", unit="years", above=0, default=None)
    hours_low: float = column("1 in 10 jobs takes less", unit="h", low=0)
    hours_likely: float = column("as often more as less", unit="h", low=0)
    hours_high: float = column("1 in 10 jobs takes more", unit="h", low=0)
    where: str = column("which rate applies", refers_to="rates")
    materials: tuple[Quantity, ...] = column("material:amount, separated by ';'", refers_to="materials", default=())
    outside_low: float = column("bought-in work or carriage, 1 in 10 costs less", unit="money", low=0, default=0.0)
    outside_likely: float = column("the same, as often more as less", unit="money", low=0, default=0.0)
    outside_high: float = column("the same, 1 in 10 costs more", unit="money", low=0, default=0.0)
    needs: tuple[str, ...] = column(
        "operations that must come before, separated by ';'", refers_to="operations", default=()
    )
    followed_by: tuple[str, ...] = column("operations that must come after", refers_to="operations", default=())
    covers: tuple[str, ...] = column("operations that this one makes needless", refers_to="operations", default=())
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """A material and what it costs the client."""

    id: str = column("material")
    name: str = column("name")
    unit: str = column("what one of it is")
    price_low: float = column("1 in 10 purchases costs less", unit="money", above=0)
    price_likely: float = column("as often more as less", unit="money", above=0)
    price_high: float = column("1 in 10 costs more", unit="money", above=0)
    waste: float = column("share added for waste and spares", low=0, high=1)
    markup: float = column("share added for stock and handling", low=0, high=3)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRow:
    """What an hour costs, and from when to when."""

    id: str = column("rate")
    name: str = column("what sort of work")
    per_hour: float = column("price of one hour before tax", unit="money/h", low=0)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRow:
    """A size class, from the height of an upright or the length of a grand."""

    id: str = column("size class")
    kind: str = column("upright or grand", choices=KINDS)
    from_mm: float = column("from this height or length, inclusive", unit="mm", low=0)
    to_mm: float = column("to this height or length, exclusive", unit="mm", above=0)
    name: str = column("name shown to people")
    usual: bool = column("assumed, and said so, where the size is not known (one for each kind)")
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class TierRow:
    """A tier of reputation. Makers are never named in the tables."""

    id: str = column("tier")
    name: str = column("name shown to people")
    rank: int = column("1 is the lowest reputation", low=1)
    usual: bool = column("assumed, and said so, where the reputation is not known (one tier)")
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class EraRow:
    """An era of building."""

    id: str = column("era")
    from_year: int = column("first year, inclusive")
    to_year: int = column("last year, inclusive")
    name: str = column("name shown to people")
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class BandRow:
    """What pianos of one sort fetch, by the state in which all their parts are."""

    kind: str = column("upright or grand", choices=KINDS)
    size: str = column("size class", refers_to="sizes")
    tier: str = column("tier of reputation", refers_to="tiers")
    era: str = column("era of building", refers_to="eras")
    failed: float = column("likely price with every part failed", unit="money", above=0)
    worn: float = column("the same, every part worn", unit="money", above=0)
    serviceable: float = column("the same, every part serviceable", unit="money", above=0)
    sound: float = column("the same, every part sound", unit="money", above=0)
    spread: float = column("8 in 10 prices lie between likely/spread and likely*spread", low=1, high=5)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacementRow:
    """The honest alternative: a sound instrument of like use, delivered and tuned."""

    kind: str = column("upright or grand", choices=KINDS)
    tier: str = column("tier of reputation", refers_to="tiers")
    name: str = column("what it would be")
    price_low: float = column("1 in 10 costs less", unit="money", above=0)
    price_likely: float = column("as often more as less", unit="money", above=0)
    price_high: float = column("1 in 10 costs more", unit="money", above=0)
    years: float = column("median years of good service", unit="years", above=0)
    plays: float = column("how well it plays, 1 is as well as a good piano can", above=0, high=1)
    haul_away: float = column("cost of having the old piano taken away and disposed of", unit="money", low=0)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionRow:
    """A caution, or a stop rule: what must be said, and what must come first.

    It applies always, or when a check reads `from_grade` or worse, or when an operation is in the plan, or with
    a feature of the piano: exactly one of the four.
    """

    id: str = column("caution")
    rank: str = column("how serious", choices=("stop", "warn", "note"))
    always: bool = column("applies to every piano", default=False)
    check: str = column("applies by this check", default="")
    from_grade: str = column("from this grade on", choices=GRADES[1:], default="")
    operation: str = column("applies when this operation is planned", default="")
    feature: str = column("applies to pianos with this feature", default="")
    blocks: tuple[str, ...] = column("operations not to be done while it applies", default=())
    requires: tuple[str, ...] = column("operations that must come before any other work", default=())
    treat_first: str = column("part that must be treated if anything is", default="")
    text: str = column("what is said, in one or two sentences")
    plain: str = column("the same to the client, where it touches them", default="")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceRow:
    """One answer to a question that is the client's alone: how the piano is to look, what stays original."""

    id: str = column("choice")
    question: str = column("which question it answers", choices=QUESTIONS)
    name: str = column("the answer, in a few words")
    plain: str = column("what it means, in the client's words")
    operation: str = column("operation that does it; empty if none of the table does", default="")
    feature: str = column("offered to pianos with this feature only", refers_to="features", default="")
    free: bool = column("there is no work in it", default=False)
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRow:
    """A stage of an evaluation on its way to a finished job, or beside that way."""

    id: str = column("stage")
    name: str = column("name shown to people")
    step: int = column("place along the way from asking to delivery, from 1; 0 for a stage beside it", low=0, high=99)
    outcome: str = column("what it says of the client's decision; 'open' also where nobody answers", choices=OUTCOMES)
    in_hand: bool = column("its hours are taken on and still to be done")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonRow:
    """A reason why an evaluation went the way it did."""

    id: str = column("reason")
    name: str = column("name shown to people")
    stages: tuple[str, ...] = column("stages that it is offered for, separated by ';'", refers_to="stages")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUpRow:
    """Something to do so many days after a stage began, unless another stage has begun by then."""

    id: str = column("follow-up")
    stage: str = column("stage that it follows", refers_to="stages")
    after_days: int = column("days after the stage began", unit="days", low=0, high=3650)
    what: str = column("what is to be done, in a few words")
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverRow:
    """The shop's own standard for one thing measured on the finished piano, before it is handed over."""

    id: str = column("standard")
    kinds: str = column("which pianos", choices=KIND_CHOICES)
    name: str = column("what is measured, in a few words")
    how: str = column("how to do it")
    taken: str = column("once for each note, or at each pin", choices=("note", "pin"))
    from_key: int = column("lowest key that it is measured at, 1 is the lowest A", low=1, high=88)
    to_key: int = column("highest key", low=1, high=88)
    unit: str = column("unit, as stored", choices=UNITS)
    low: float | None = column("least that is within the standard", default=None)
    high: float | None = column("greatest that is within the standard", default=None)
    even_within: float | None = column(
        "farthest that a note may lie from the middle of its neighbours", above=0, default=None
    )
    after: tuple[str, ...] = column(
        "holds only where one of these operations was done; empty: always", refers_to="operations", default=()
    )
    source: str = _source()
    note: str = _note()


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Single figures, from settings.toml: each there with value, unit, source and note."""

    currency: str = column("ISO 4217 code of the shop's money")
    horizon_years: float = column("over how many years the options are compared", unit="years", low=1, high=60)
    discount_rate: float = column("real interest a year", unit="share/year", low=0, high=0.2)
    usual_year: int = column("year of building assumed, and said so, where it is not known", low=1700, high=2100)
    playing_worth: float = column(
        "worth of a year of good playing over the replacement's cost of a year", low=0, high=5
    )
    job_spread: float = column("how whole jobs run over or under, standard deviation of the logarithm", low=0.0, high=1)
    market_spread: float = column("how the whole market differs from the tables, the same", low=0.0, high=1)
    wear_shape: float = column("how suddenly parts wear out: 1 at any time, 4 mostly near their years", low=1, high=10)
    value_loss_per_year: float = column("share of value lost a year after the work", unit="share/year", low=0, high=0.2)
    selling_cost: float = column("share of the price lost in selling", low=0, high=0.9)
    premium_unplayed: float = column(
        "share of the client's premium that remains where the piano can't be played", low=0, high=1
    )
    clear_share: float = column(
        "a verdict is clear when it beats the next in at least this share of draws", above=0.5, high=1
    )
    leaning_share: float = column("leaning from this share of draws", low=0.5, high=1)
    tax: float = column("tax added to the quote", low=0, high=0.5)
    round_to: float = column("quoted totals are shown to the nearest", unit="money", above=0)
    visit_rate: str = column("rate that a technician's minutes at a visit cost", refers_to="rates")
    keep_operations: tuple[str, ...] = column("operations of 'keep as it is'", refers_to="operations")
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
    exposures: tuple[ExposureRow, ...]
    components: tuple[ComponentRow, ...]
    parts: tuple[PartRow, ...]
    features: tuple[FeatureRow, ...]
    ages: tuple[AgeRow, ...]
    priors: tuple[PriorRow, ...]
    strengths: tuple[StrengthRow, ...]
    families: tuple[FamilyRow, ...]
    checks: tuple[CheckRow, ...]
    operations: tuple[OperationRow, ...]
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
    settings: Settings
    hash: str
    lines: dict[tuple[str, int], int] = field(default_factory=dict)
    setting_sources: dict[str, str] = field(default_factory=dict)

    def of_kind(self, table: str, kind: str) -> dict:
        """Return the rows of `table` that hold for one kind of piano, by id."""
        return {row.id: row for row in getattr(self, table) if row.kinds in (kind, "both")}
