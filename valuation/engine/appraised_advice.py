"""What an appraisal advises: reasons, turns, what to look at next, what to beware of.

A field's name here is its key in the public JSON.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """One access and the open checks behind it.

    Attributes
    ----------
    minutes : float
        Opening it and all its open checks that are worth their time [min].
    gain, gain_per_minute : float
        Sum of what its checks are worth, in money.
    checks : tuple of str
        Worth most first.
    """

    access: str
    name: str
    minutes: float
    gain: float
    gain_per_minute: float
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason, as data; worded in `valuation.report.words`.

    Attributes
    ----------
    code : str
        What sort of reason: 'price', 'value_kept', 'playing', 'afterwards', 'heart', 'proceeds', 'replacement',
        'part' or 'stop_rule'.
    speaks_for, over : str
        Option that it favours, and over which.
    weight : float
        By how much, in money. For a part: against the same part sound.
    subject : str
        Part concerned; for a stop rule the fault.
    """

    code: str
    speaks_for: str
    over: str
    weight: float
    subject: str
    figures: dict[str, float]
    findings: tuple[str, ...]
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flip:
    """Where the verdict turns along one driver, or that it doesn't.

    Attributes
    ----------
    driver : str
        'finished_value', 'hours', 'hourly_rate', 'to_hear', 'horizon', 'budget' or 'fault:' and its id.
    today : float or None
        Today's figure; None for a budget that isn't set, and for faults.
    below, above : float or None
        Nearest turning points; None where the verdict doesn't turn within reach.
    then_below, then_above : str
        Options that are best beyond them.
    name : str
        For a fault: its name.
    state : str
        For a fault: severity that it would have to have.
    chance : float
        For a fault: chance of that severity [-].
    """

    driver: str
    today: float | None
    below: float | None = None
    above: float | None = None
    then_below: str = ""
    then_above: str = ""
    name: str = ""
    state: str = ""
    chance: float = 0.0
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCheck:
    """One check worth making now.

    Attributes
    ----------
    gain, gain_per_minute : float
        Expected gain from deciding after it, in money.
    chance_to_turn : float
        That it turns the verdict [-].
    swing : float
        By how much it is expected to move the verdict's lead, either way, in money.
    """

    check: str
    name: str
    part: str
    fault: str
    access: str
    quick: bool
    must: bool
    minutes: float
    gain: float
    gain_per_minute: float
    chance_to_turn: float
    swing: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionResult:
    """A caution or stop rule that applies."""

    caution: str
    rank: str
    text: str
    check: str
    operation: str
    fault: str
    source: str
