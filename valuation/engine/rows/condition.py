"""What a piano is made of, what can be wrong with each part, and what brings it about."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import words
from valuation.engine.rows.words import CAUSES, SEVERITIES, STATES, TILTS
from valuation.facts.columns import column


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part of the piano: as bad as its worst fault."""

    id: str = column("name of the part in the tables")
    component: str = column("component it belongs to", refers_to="components")
    name: str = column("name shown to people")
    only_with: tuple[str, ...] = words.only_with()
    gate: bool = column("it must hold before money is talked of, and must have been looked at before a verdict")
    ends_service: bool = column("the piano gives out with it; the other parts only lower how well it plays")
    score_weight: float = column("weight in the score of its component", low=0)
    value_weight: float = column("share of the piano's worth that hangs on it", low=0, high=1)
    value_failed: float = column("the same once it has failed: at least as much; 1 sells it as failed", low=0, high=2)
    play_sound: float = column("how well the piano plays with this part sound", low=0, high=1)
    play_serviceable: float = column("the same, serviceable", low=0, high=1)
    play_worn: float = column("the same, worn", low=0, high=1)
    play_failed: float = column("the same, failed", low=0, high=1)
    years_sound: float = column("median further years of service of a sound old part", unit="years", above=0)
    years_serviceable: float = column("the same, serviceable", unit="years", above=0)
    years_worn: float = column("the same, worn", unit="years", above=0)
    called: str = column("its name for the client, short enough for a list", default="")
    what: str = column("what it is, in the client's words", default="")
    felt: str = column("what one hears, sees or feels once it is worn, in the client's words", default="")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class StateRow:
    """One of the four states of a part, and its stretch of the score."""

    id: str = column("state", choices=STATES)
    name: str = column("word shown to people")
    score_low: float = column("lower end of this state's stretch of the score", low=0, high=100)
    score_high: float = column("upper end of this state's stretch of the score", low=0, high=100)
    whole_at_most: float = column(
        "the whole piano's score is held to this where a gate is in this state", low=0, high=100
    )
    meaning: str = column("what the state means, in one sentence")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class HiddenRow:
    """One level of a hidden cause: the air the piano has lived in, or how much it was played."""

    cause: str = column("hidden cause", choices=CAUSES)
    id: str = column("level of the cause, from the mildest to the hardest")
    name: str = column("word shown to people")
    odds: float = column("share of old pianos that lived like this, nothing else known", low=0.005, high=1)
    meaning: str = column("what it means, in one sentence")
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltRow:
    """How far a hidden cause makes each further step of severity likelier, as a logarithm of odds."""

    cause: str = column("hidden cause", choices=CAUSES)
    id: str = column("how strongly", choices=TILTS)
    mild: float = column("added to the log odds a severity step, mildest level", low=-3, high=3)
    usual: float = column("the same, middle level", low=-3, high=3)
    hard: float = column("the same, hardest level", low=-3, high=3)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultRow:
    """One thing that can be wrong with a part."""

    id: str = column("fault")
    part: str = column("part it is a fault of", refers_to="parts")
    kinds: str = words.kinds()
    only_with: tuple[str, ...] = words.only_with()
    not_with: tuple[str, ...] = words.not_with()
    name: str = column("name in the workshop's words")
    plain: str = column("one sentence for the client, true from 'marked' on")
    slight: str = column("what 'slight' looks like")
    marked: str = column("what 'marked' looks like")
    severe: str = column("what 'severe' looks like")
    makes_slight: str = column("state it makes of its part when slight", choices=STATES)
    makes_marked: str = column("the same, marked", choices=STATES)
    makes_severe: str = column("the same, severe", choices=STATES)
    cause: str = column("hidden cause that brings it about; the stronger of the two", choices=CAUSES, default="")
    tilt: str = column("how strongly it does", choices=TILTS, default="")
    put_right_from: str = column("severity from which it counts as broken", choices=SEVERITIES[1:], default="severe")
    stop_tune: str = column("must not be tuned from this severity on", choices=SEVERITIES[1:], default="")
    stop_raise: str = column("must not be pulled up from this severity on", choices=SEVERITIES[1:], default="")
    stop_play: str = column("must not be played from this severity on", choices=SEVERITIES[1:], default="")
    stop_move: str = column("must not be moved from this severity on", choices=SEVERITIES[1:], default="")
    seen_at: str = column("'visit', or the step of an opening that first shows it", default="visit")
    piece: str = column("what is counted: one of it, as 'pin'", default="")
    extent_slight: float = column("usual number of pieces when slight, where nobody counted", low=0, default=1.0)
    extent_marked: float = column("the same, marked", low=0, default=1.0)
    extent_severe: float = column("the same, severe", low=0, default=1.0)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class OddsRow:
    """Of 100 pianos of an age, nobody having renewed the part, how many have the fault how badly.

    The narrowest build that fits a piano holds: a feature, then 'tier:' and a tier, then a kind, then all.
    Between two ages the logarithms of the odds run straight; beyond the first and last age the nearest holds.
    """

    fault: str = column("fault", refers_to="faults")
    build: str = column("feature, 'tier:' and a tier, or kind; empty: all", default="")
    age: float = column("years since it was made or renewed", unit="years", low=0, high=300)
    none: float = column("of 100, how many have nothing of it", low=0.0001, high=100)
    slight: float = column("slight", low=0.0001, high=100)
    marked: float = column("marked", low=0.0001, high=100)
    severe: float = column("severe", low=0.0001, high=100)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class ConflictRow:
    """Two faults that can hardly be seen together: told as a doubt, never used as proof."""

    fault: str = column("fault", refers_to="faults")
    at_least: str = column("found at this severity or worse", choices=SEVERITIES)
    with_fault: str = column("the other fault", refers_to="faults")
    at_most: str = column("found at this severity or better", choices=SEVERITIES)
    chance: float = column("chance of the second, given the first", above=0, high=1)
    says: str = column("what may lie behind it, in one sentence")
    source: str = words.source()
    note: str = words.note()
