"""What a piano is made of, how it has lived, and the odds of a part before anything is looked at."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.core.columns import column
from valuation.core.rows import words
from valuation.core.rows.words import EXPOSURES, KIND_CHOICES, LASTS, STATES, TREATMENTS


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
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureRow:
    """How the piano has lived: the hidden history that all its parts share."""

    id: str = column("exposure", choices=EXPOSURES)
    name: str = column("word shown to people")
    odds: float = column("share of old pianos that lived like this, nothing else known", low=0.005, high=1)
    meaning: str = column("what the exposure means, in one sentence")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentRow:
    """A component: one or more parts that are talked about together."""

    id: str = column("component")
    name: str = column("name shown to people")
    note: str = words.note()


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
    core: str = column(
        "what a rebuild asks of it: to be repaired or replaced at least, and to last; only to last; or, empty, nothing",
        choices=(LASTS, *TREATMENTS), default="",
    )  # fmt: skip
    at_teardown: bool = column(
        "only teardown shows what it needs, so more work on it is priced beforehand", default=False
    )
    called: str = column("its name for the client, short enough for a list", default="")
    what: str = column("what it is, in the client's words", default="")
    felt: str = column("what one hears, sees or feels once it is worn, in the client's words", default="")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FeatureRow:
    """A feature of build that matters to the value or brings a part of its own."""

    id: str = column("feature")
    name: str = column("name shown to people")
    kinds: str = column("which pianos can have it", choices=KIND_CHOICES)
    value_factor: float = column("value with the feature over value without", above=0, high=3)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeRow:
    """An age band, counted from the year a part was made or last renewed."""

    id: str = column("age band")
    from_years: float = column("first year of the band, inclusive", unit="years", low=0)
    to_years: float = column("last year of the band, exclusive", unit="years", above=0)
    name: str = column("name shown to people")
    note: str = words.note()


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
    source: str = words.source()
    note: str = words.note()
