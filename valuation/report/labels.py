"""Names and short words for screens and paper: the walk, options, what was found, where a check's cuts lie."""

from __future__ import annotations

from calendar import month_name
from datetime import date

from valuation.core.appraisal import FindingResult, OptionResult
from valuation.core.rows import CheckRow
from valuation.core.visit import Piano
from valuation.report.format import measure
from valuation.report.words import pull_word

PLACE_NAMES = {
    "outside": "From outside",
    "playing": "Playing it",
    "opened": "Opened",
    "action_out": "Action out",
    "below": "Below or behind",
}
"""Stations of the walk, in its order."""

STATE_MARKS = {"sound": "●", "serviceable": "◐", "worn": "○", "failed": "×"}
"""A mark for each state; each stands beside its word."""

_NAMES = {"rebuild": "Rebuild", "partial_repair": "Partial repair", "keep": "Keep as it is", "retire": "Retire"}

_MEANING = {
    "rebuild": "Strings, hammers, action and pins or block are overhauled or made new, with all that goes with them.",
    "partial_repair": "Only what pays is put right; the rest stays as it is.",
    "retire": "It is sold, given away or taken away.",
}


def option_name(option: str) -> str:
    """Return the name of an option with a capital, short enough for an axis."""
    return _NAMES[option]


def option_meaning(option: OptionResult) -> str:
    """Return what an option means, in plain words."""
    if option.option == "keep":
        done = ", ".join(in_sentence(line.name) for line in option.lines)
        return f"Nothing is repaired. Done now: {done}." if done else "Nothing is done."
    if option.option == "retire" and option.exchange:
        return f"{_MEANING['retire']} A sound piano comes in its place; its price is counted."
    return _MEANING[option.option]


def finding_words(finding: FindingResult, check: CheckRow, system: str = "metric", tried: int = 0) -> str:
    """Return what was found, in the word or the unit of the check, and how that reads.

    Parameters
    ----------
    finding : FindingResult
    check : CheckRow
        The row of that check.
    system : str
        Units shown: 'metric' or 'imperial'.
    tried : int
        For a share: how many were tried.
    """
    if check.of_all and tried:
        bad = round(finding.number * tried / 100)
        return f"{bad} of {tried} tried (for all {check.of_all} it reads {finding.grade})"
    if finding.number is None:
        word = check.choices.get(finding.grade, finding.grade)
        return word if word == finding.grade else f"{word} (reads {finding.grade})"
    return f"{measure(finding.number, finding.unit, system)} (reads {finding.grade})"


def cut_words(check: CheckRow, system: str = "metric") -> str:
    """Return from where on a measured check reads fair, poor and failed."""
    cuts = (check.cut_fair, check.cut_poor, check.cut_failed)
    fair, poor, failed = (measure(cut, check.unit, system) for cut in cuts)
    if check.better == "near":
        best = measure(check.target, check.unit, system)
        return f"Best is {best}. Off by {fair} it reads fair, by {poor} poor, by {failed} failed."
    side = "Below" if check.better == "high" else "From"
    return f"{side} {fair} it reads fair, {side.lower()} {poor} poor, {side.lower()} {failed} failed."


def pull_sentence(finding: FindingResult) -> str:
    """Return how far one finding moved a score, and where the score would stand without it."""
    return f"{pull_word(finding.pull)}; without it the score would be {finding.score_without:.0f}"


def year_words(piano: Piano) -> str:
    """Return when a piano was built."""
    if not piano.year:
        return "year not known"
    return f"about {piano.year}" if piano.year_is_about else f"{piano.year}"


def size_words(piano: Piano) -> str:
    """Return the height of an upright or the length of a grand."""
    return f"{piano.size_mm / 10:.0f} cm" if piano.size_mm else "size not known"


def day_words(day: date) -> str:
    """Return a day so that no one can take the month for the day; it doesn't break at a line's end.

    Examples
    --------
    >>> day_words(date(2026, 3, 10)).replace("\u00a0", " ")
    '10 March 2026'
    """
    return f"{day.day}\u00a0{month_name[day.month]}\u00a0{day.year}"


def in_sentence(name: str) -> str:
    """Return a name as it stands within a sentence: its first letter small, unless it is an abbreviation.

    Examples
    --------
    >>> in_sentence("How long A5 sings"), in_sentence("A5 rings")
    ('how long A5 sings', 'A5 rings')
    """
    return name if name[1:2].isupper() or name[1:2].isdigit() else name[:1].lower() + name[1:]


def with_capital(name: str) -> str:
    """Return a name with a capital, to stand first."""
    return name[:1].upper() + name[1:]
