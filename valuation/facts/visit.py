"""What is known of one piano: facts, findings and the client's wishes. Anything may be unknown."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

PREMIUM_UNPLAYED = 0.3
"""Share of the one premium of older visits that stood for having the piano, played or not [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A figure with honest uncertainty: 8 in 10 lie between `low` and `high`."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise ValueError(f"a range must rise: {self.low}, {self.likely}, {self.high}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading of a measurement, with its section and its place where they are known.

    Attributes
    ----------
    value : float
        In the check's stored unit.
    section : str
        ``bass``, ``tenor`` or ``treble``; empty where not told.
    key : int
        Number of the key, 1 the lowest A to 88; 0 where not told.
    string : int
        String of that key, 1 to 3 from the left; 0 where not told. Only with a key.
    """

    value: float
    section: str = ""
    key: int = 0
    string: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one check showed: a grade chosen in words, or readings that the tables grade.

    A check that was not looked at has no finding. One that can't be seen has a finding that says so;
    both leave the odds alone.

    Attributes
    ----------
    check : str
        Id of the check.
    grade : str
        Severity that the chosen words read (``none`` to ``severe``); empty for a measurement.
    readings : tuple of Reading
        At least one for a measurement.
    cannot_see : bool
        Looked at, but hidden or out of reach.
    note : str
        In the technician's words.
    count : float or None
        How many pieces it concerns, where that was asked.
    sections : tuple of str
        Sections that it concerns, where that was asked.
    """

    check: str
    grade: str = ""
    readings: tuple[Reading, ...] = ()
    cannot_see: bool = False
    note: str = ""
    count: float | None = None
    sections: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Piano:
    """The instrument, as far as it is known.

    Attributes
    ----------
    kind : str
        ``upright`` or ``grand``.
    size_mm : float or None
        Height of an upright, length of a grand [mm].
    maker, serial, finish : str
        As written on it; for the record only, nothing is looked up.
    year : int or None
        Year built.
    year_is_about : bool
        The year is a guess.
    tier : str
        Tier of reputation, empty if unknown.
    features : tuple of str
        Features of build.
    renewed : tuple of (part, year)
        Parts known to have been renewed, and when.
    """

    kind: str
    size_mm: float | None = None
    maker: str = ""
    serial: str = ""
    finish: str = ""
    year: int | None = None
    year_is_about: bool = False
    tier: str = ""
    features: tuple[str, ...] = ()
    renewed: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Client:
    """Who asks, and what matters to them. Money is in the shop's currency.

    Attributes
    ----------
    name, purpose, wishes : str
        In their own words.
    wants_to_play : bool
        A piano to play is wanted, this one or another: then 'retire' is also weighed with a replacement.
    to_have, to_hear : float
        What it is worth to them, beyond its price, to have this very piano, and to hear it played.
    budget : float or None
        Most they can spend, tax included.
    playing_year : float or None
        What a year of good playing is worth to them; None takes the market's figure.
    horizon_years : float or None
        Over how many years to compare; None takes the setting.
    """

    name: str = ""
    purpose: str = ""
    wishes: str = ""
    wants_to_play: bool = True
    to_have: float = 0.0
    to_hear: float = 0.0
    budget: float | None = None
    playing_year: float | None = None
    horizon_years: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One visit to one piano: the input of an appraisal.

    Attributes
    ----------
    humidity, temperature : float or None
        On the day, at the piano [% relative humidity, °C].
    finished_value : Range or None
        What it would fetch with every part sound, where the shop knows better than its bands.
    taken_over : tuple of (str, str)
        Checks of older tables in the file, and the check that each counts for today; empty where it is passed over.
    """

    title: str
    on: date
    piano: Piano
    technician: str = ""
    place: str = ""
    story: str = ""
    humidity: float | None = None
    temperature: float | None = None
    client: Client = Client()
    finished_value: Range | None = None
    findings: tuple[Finding, ...] = ()
    taken_over: tuple[tuple[str, str], ...] = field(default=(), compare=False)
