"""Names and short words for screens and paper: the walk, options, what was found, where a check's cuts lie.

Rooms that work things out keep the words of the tables as they stand there; here, at the edge, they are said in the
language spoken.
"""

from __future__ import annotations

import re
from calendar import month_name
from collections.abc import Iterable
from datetime import date

from valuation.engine.appraised_condition import FindingResult
from valuation.engine.appraised_work import OptionResult
from valuation.engine.rows import CheckRow
from valuation.facts.visit import Piano
from valuation.language import ENGLISH, language, later, number_signs, place, say, writes
from valuation.report.format import measure, number
from valuation.report.words import pull_word

PLACE_NAMES = {
    "outside": later("From outside"),
    "lid": later("Lid up"),
    "bottom": later("Below or behind"),
    "action": later("Action out"),
    "keys": later("Keys off"),
    "strings": later("Strings off"),
}
"""What has to be open, in the order of the walk; `place_name` says one."""

STATE_MARKS = {"sound": "●", "serviceable": "◐", "worn": "○", "failed": "×"}
"""A mark for each state; each stands beside its word."""

_SEVERITY_WORDS = {
    "none": later("nothing wrong"),
    "slight": later("slight"),
    "marked": later("marked"),
    "severe": later("severe"),
}

_NAMES = {
    "rebuild": later("Rebuild"),
    "partial_repair": later("Partial repair"),
    "keep": later("Keep as it is"),
    "retire": later("Retire"),
}


def place_name(place: str) -> str:
    """Return the name of a station of the walk."""
    return say(PLACE_NAMES[place])


def option_name(option: str) -> str:
    """Return the name of an option with a capital, short enough for an axis."""
    return say(_NAMES[option])


def option_meaning(option: OptionResult) -> str:
    """Return what an option means, in plain words."""
    if option.option == "keep":
        done = listed(in_sentence(say(line.name)) for line in option.lines)
        return say("Nothing is repaired. Done now: {work}.", work=done) if done else say("Nothing is done.")
    if option.option == "retire":
        if option.exchange:
            return say("It is sold, given away or taken away. A sound piano comes in its place; its price is counted.")
        return say("It is sold, given away or taken away.")
    if option.option == "rebuild":
        return say("Two or more of its great systems are made new, such as block and strings, board, action or keys.")
    return say("What is broken, or pays, is put right; the rest stays as it is.")


def choice_word(check: CheckRow, grade: str) -> str:
    """Return the short word of a choice."""
    return say(getattr(check, grade)).partition(":")[0].strip()


def choice_looks(check: CheckRow, grade: str) -> str:
    """Return what a choice looks like."""
    return say(getattr(check, grade)).partition(":")[2].strip()


def finding_words(finding: FindingResult, check: CheckRow, system: str = "metric", tried: int = 0) -> str:
    """Return what was found, in the word or the unit of the check, and how severe that is.

    Parameters
    ----------
    check : CheckRow
        The row of that check.
    system : str
        Units shown: 'metric' or 'imperial'.
    tried : int
        For a share: how many were tried.
    """
    if check.of_all and tried and finding.number is not None:
        found = say("{bad} of {tried} tried", bad=round(finding.number * tried / 100), tried=tried)
    elif finding.number is not None:
        found = measure(finding.number, finding.unit, system)
    elif finding.grade in check.choices and check.choices[finding.grade] != finding.grade:
        found = choice_word(check, finding.grade)
    else:
        return severity_words(finding.grade)
    return say("{found} ({severity})", found=found, severity=severity_words(finding.grade))


def after(question: str, answer: str) -> str:
    """Return an answer behind its question, parted by a colon where the question has no sign of its own."""
    return f"{question} {answer}" if question.endswith("?") else f"{question}: {answer}"


def severity_words(severity: str) -> str:
    """Return how severe a fault reads, as it stands alone or in brackets."""
    return say(_SEVERITY_WORDS[severity])


def cut_words(check: CheckRow, system: str = "metric") -> str:
    """Return from where on a measured check reads slight, marked and severe."""
    cuts = (check.cut_slight, check.cut_marked, check.cut_severe)
    slight, marked, severe = ("" if cut is None else measure(cut, check.unit, system) for cut in cuts)
    if check.better == "high":
        return say(
            "Below {slight} it reads slight, below {marked} marked, below {severe} severe.",
            slight=slight, marked=marked, severe=severe,
        )  # fmt: skip
    return say(
        "From {slight} it reads slight, from {marked} marked, from {severe} severe.",
        slight=slight, marked=marked, severe=severe,
    )  # fmt: skip


def pull_sentence(finding: FindingResult) -> str:
    """Return how far one finding moved a score, and where the score would stand without it."""
    return say(
        "{pull}; without it the score would be {score}",
        pull=pull_word(finding.pull), score=f"{finding.score_without:.0f}",
    )  # fmt: skip


def year_words(piano: Piano) -> str:
    """Return when a piano was built."""
    if not piano.year:
        return say("year not known")
    return say("about {year}", year=piano.year) if piano.year_is_about else f"{piano.year}"


def size_words(piano: Piano) -> str:
    """Return the height of an upright or the length of a grand."""
    return size_in_cm(round(piano.size_mm / 10)) if piano.size_mm else say("size not known")


def size_in_cm(size: float) -> str:
    """Return a height or length as people say it [cm]."""
    return f"{number(size)} cm"


def day_words(day: date) -> str:
    """Return a day so that no one can take the month for the day; it doesn't break at a line's end.

    Examples
    --------
    >>> day_words(date(2026, 3, 10)).replace("\u00a0", " ")
    '10 March 2026'
    """
    return plain_day(day).replace(" ", "\u00a0")


def plain_day(day: date) -> str:
    """Return a day in words, with plain blanks."""
    if language() == ENGLISH and writes() != "US":
        return f"{day.day} {month_name[day.month]} {day.year}"
    # here, not above: the English of most places needs none of it
    from babel.dates import format_date

    return format_date(day, "long", locale=place())


def short_day(day: date) -> str:
    """Return a day in figures: the year first in English, elsewhere as the language writes it."""
    if language() == ENGLISH:
        return day.isoformat()
    from babel.dates import format_date

    return format_date(day, "medium", locale=place())


def listed(words: Iterable[str]) -> str:
    """Return words one after another, parted by commas; numbers whose decimals a comma parts, by semicolons."""
    told = list(words)
    return ("; " if any(re.search(r"\d,\d", word) for word in told) and number_signs()[0] == "," else ", ").join(told)


def in_sentence(name: str) -> str:
    """Return a name as it stands within a sentence.

    In English its first letter is small there, unless it is an abbreviation. Other languages keep it: their nouns may
    have capitals, so their catalogues word a name such that it can stand in a sentence as it is.

    Examples
    --------
    >>> in_sentence("How long A5 sings"), in_sentence("A5 rings")
    ('how long A5 sings', 'A5 rings')
    """
    if language() != ENGLISH or name[1:2].isupper() or name[1:2].isdigit():
        return name
    return name[:1].lower() + name[1:]


def with_capital(name: str) -> str:
    """Return a name with a capital, to stand first."""
    return name[:1].upper() + name[1:]
