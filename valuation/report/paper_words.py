"""What the papers are called, and a paper that was made in a line of words. Pure."""

from __future__ import annotations

from datetime import tzinfo

from valuation.language import LANGUAGES, later, say
from valuation.record import Paper
from valuation.report.labels import in_sentence, option_name, plain_day

PAPER_NAMES = {
    "evaluation": later("Written evaluation"),
    "summary": later("Sheet of their piano"),
    "quotation": later("Quotation"),
    "letter": later("Letter on parting with it"),
}
"""By the word that the store has for it; `paper_name` says one."""

PAPER_MEANINGS = {
    "evaluation": later("Everything: what was seen, the ways, the prices, the reasons, the limits. Several pages."),
    "summary": later(
        "One leaf to take home: what was found, on a drawing; the ways they have; their version. It orders nothing."
    ),
    "quotation": later("The work of one way line by line, what may turn up, and a line to accept it."),
    "letter": later("For a piano that goes: what can be kept, where it can go, what to take care of."),
}

SIZE_NAMES = {
    "a4": later("A4"),
    "letter": later("Letter, 8½ by 11 in"),
    "a4_large": later("A4, large print"),
    "letter_large": later("Letter, large print"),
}
UNIT_NAMES = {"metric": later("mm and N·m"), "imperial": later("inches and in-lb")}


def paper_name(paper: Paper) -> str:
    """Return what a paper is called; of a quotation, for which way it is."""
    name = say(PAPER_NAMES.get(paper.what, paper.what))
    if not paper.option:
        return name
    return say("{paper}, {option}", paper=name, option=in_sentence(option_name(paper.option)))


def made_words(paper: Paper, zone: tzinfo | None) -> str:
    """Return when a paper was made, by whom, and in which form.

    Parameters
    ----------
    zone : tzinfo or None
        In which the time is told; that of this machine, if left out.
    """
    at = paper.made_at.astimezone(zone)
    told = {"day": plain_day(at.date()), "time": f"{at:%H:%M}"}
    if paper.made_by:
        made = say("Made {day}, {time}, by {who}", **told, who=paper.made_by)
    else:
        made = say("Made {day}, {time}", **told)
    language = LANGUAGES.get(paper.language, paper.language)
    size, units = (say(names.get(word, word)) for names, word in ((SIZE_NAMES, paper.size), (UNIT_NAMES, paper.units)))
    return " · ".join((made, language, size, units))
