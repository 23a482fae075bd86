"""Step 3, the ways: each told by the same rows, in cells short enough to stand beside each other on a phone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from valuation.engine.money import tax_of
from valuation.engine.prospects import ANOTHER, LET_GO
from valuation.facts.words import WAYS
from valuation.language import say, say_many
from valuation.report.case import Case
from valuation.report.client_words import listed, pay_words, way_name, worth_words
from valuation.report.format import exact, money, money_range, years_range
from valuation.report.labels import in_sentence
from valuation.report.sides import bad_sides, good_sides
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.tax_words import tax_in_prices
from valuation.report.ways import keeps_words, plays_words, why_not_open

ROWS = ("done", "stays", "plays", "pay", "worth", "living", "good", "bad")
"""The rows, in the order in which they are told of every way."""

AT_ONCE = 3
"""So many ways stand side by side at most."""

_FIRST = 2
"""So many stand there before anybody has chosen."""

_ACCESS = "access"
"""Level of work that only brings other work along, such as the way to the workshop."""

_NO_THING = {"tuning", "whole"}
"""Parts that nobody can hold in their hands: they don't count as old or new."""

SIDES_HERE = 2
"""So many good and so many bad sides stand in the comparison, what matters most to the client first; others below."""

_TOUCHES = {
    "stays": ("family", "hearing"),
    "plays": ("playing",),
    "pay": ("cost",),
    "worth": ("cost",),
    "living": ("room",),
}
"""Row -> what it tells about of all that may matter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of the comparison.

    Attributes
    ----------
    weight : int
        How much it matters to the client, see `valuation.report.wishes`.
    cells : tuple of tuple of str
        Of each way its sentences.
    """

    row: str
    name: str
    weight: int
    cells: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide:
    """Two or three ways, told by the same rows.

    Attributes
    ----------
    note : str
        What is to be known of the figures.
    """

    ways: tuple[str, ...]
    names: tuple[str, ...]
    rows: tuple[Row, ...]
    note: str


def ways_to_compare(chosen: Sequence[str], case: Case) -> tuple[str, ...]:
    """Return the ways to show beside each other, in the order of all ways.

    Parameters
    ----------
    chosen : sequence of str
        What was chosen, the latest last; of more than `AT_ONCE` the earliest give way. Where nothing was chosen, the
        first open ways in the order in which all are told, whatever the verdict.
    """
    known = [way for way in dict.fromkeys(chosen) if way in WAYS][-AT_ONCE:]
    if not known:
        known = [way for way in WAYS if way in case.prospects][:_FIRST]
    return tuple(way for way in WAYS if way in known)


def side_by_side(ways: Sequence[str], wanted: AsWanted) -> SideBySide:
    """Return ways told by the same rows; one that isn't open says why, and nothing else."""
    case = wanted.case
    told = {way: _cells(way, wanted) for way in ways}
    return SideBySide(
        ways=tuple(ways),
        names=tuple(way_name(way) for way in ways),
        rows=tuple(
            Row(
                row=row,
                name=_row_name(row),
                weight=max((case.wishes.matters(theme) for theme in _TOUCHES.get(row, ())), default=0),
                cells=tuple(told[way][row] for way in ways),
            )
            for row in ROWS
        ),
        note=" ".join(
            (
                tax_in_prices(tax_of(case.book, case.found.on)),
                say("Good years end when a part gives out that you need to play."),
                say("In 8 of 10 such pianos they end within these figures. Worth is our own estimate."),
            )
        ).strip(),
    )


def further_sides(way: str, case: Case) -> tuple[str, ...]:
    """Return the good and bad sides of a way that don't stand in the comparison, each told as one or the other."""
    good, bad = good_sides(way, case)[SIDES_HERE:], bad_sides(way, case)[SIDES_HERE:]
    return (
        *(say("Good: {side}", side=side.text) for side in good),
        *(say("Bad: {side}", side=side.text) for side in bad),
    )


def _row_name(row: str) -> str:
    return {
        "done": say("What is done"),
        "stays": say("What stays yours"),
        "plays": say("How it plays"),
        "pay": say("What you pay"),
        "worth": say("Its worth then"),
        "living": say("To live with"),
        "good": say("Good about it"),
        "bad": say("Bad about it"),
    }[row]


def _cells(way: str, wanted: AsWanted) -> dict[str, tuple[str, ...]]:
    case = wanted.case
    if way not in case.prospects:
        return dict.fromkeys(ROWS, ("–",)) | {"done": wanted.said.get(way, ()) or (why_not_open(way, case),)}
    told = {row: tuple(text for text in tell(way, case) if text) for row, tell in _TOLD.items()}
    told = {row: told.get(row) or pay_cell(way, wanted) for row in ROWS}
    assert all(told.values()), "every way has something to say in every row"
    return told


def _done(way: str, case: Case) -> list[str]:
    if way == ANOTHER:
        return [say("You get {piano}.", piano=say(case.replacement.name)), _gone(case)]
    if way == LET_GO:
        return [_gone(case), say("Nothing comes in its place.")]
    if way == "keep":
        lines = [line for line in case.planned(way).lines if case.operations[line.operation].level != _ACCESS]
        names = [in_sentence(say(line.name)) for line in lines]
        return [say("Nothing is repaired."), say("Now only: {work}.", work="; ".join(names)) if names else ""]
    parts = case.levels(way)
    new, mended = (listed(case.part_names(parts[level])) for level in ("replace", "repair"))
    return [
        say("New or as new: {parts}.", parts=new) if new else "",
        say("Repaired: {parts}.", parts=mended) if mended else "",
    ]


def _gone(case: Case) -> str:
    if case.found.worth_selling:
        return say("The old one is sold as it stands.")
    return say("The old one is given away, or broken up.")


def _stays(way: str, case: Case) -> list[str]:
    if way == "keep":
        return [say("All of it, as it is.")]
    if way in (ANOTHER, LET_GO):
        return [say("Only a keepsake: a photo, a key, the name.")]
    levels = {level: set(parts) - _NO_THING for level, parts in case.levels(way).items()}
    old = len(levels["keep"]) + len(levels["repair"])
    total = old + len(levels["replace"])
    if old == total:
        return [say("The piano, and all its old parts.")]
    return [say("The piano. {old} of its {total} parts are still the old ones.", old=old, total=total)]


def _plays(way: str, case: Case) -> list[str]:
    prospect = case.prospects[way]
    if way == LET_GO:
        return [say("There is no piano to play.")]
    how = keeps_words(case) if way == "keep" else plays_words(prospect.plays)
    if round(prospect.years.high) < 1:
        return [how, say("Good years: none.")]
    if way == ANOTHER:
        return [how, say("Good years: about {years}.", years=round(prospect.years.likely))]
    return [how, say("Good years: {years}.", years=years_range(prospect.years))]


def pay_cell(way: str, wanted: AsWanted) -> tuple[str, ...]:
    """Return what is paid for a way as the client wants it, and the most that it can come to."""
    case, quote = wanted.case, wanted.quote(way)
    prospect = case.prospects[way]
    if quote is None:
        return (pay_words(prospect.price, case.currency), *(_of_which(case) if way == ANOTHER else ()))
    said = [say("{price}, fixed.", price=f"{exact(quote.total)} {case.currency}")]
    if quote.most > quote.total:
        most = f"{exact(quote.most)} {case.currency}"
        said.append(say("At most {most}, if all turns up that may.", most=most))
    if not prospect.affordable and case.found.budget is not None:
        budget = money(case.found.budget, case.currency)
        said.append(say("That is more than the {budget} you want to spend.", budget=budget))
    return tuple(said)


def _of_which(case: Case) -> tuple[str, ...]:
    alone = f"{money_range(case.prospects[ANOTHER].value_after)} {case.currency}"
    return (say("The other piano alone: {price}.", price=alone),)


def _worth(way: str, case: Case) -> list[str]:
    if way == LET_GO:
        return [say("There is no piano to sell.")]
    return [f"{_capital(worth_words(case.prospects[way].expected_value, case.currency))}."]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _living(way: str, case: Case) -> list[str]:
    if way == LET_GO:
        return [say("The room is free. You may miss it; once it is gone, it does not come back.")]
    if way == ANOTHER:
        return [say("It takes some weeks to find one. It feels and sounds unlike the one you know.")]
    if way == "keep":
        where = say("It stands where it always stood.")
        if case.found.furniture:
            return [where, say("It is a piece of furniture and a memory, not an instrument.")]
        return [where]
    weeks = case.weeks_away(way)
    away = say_many("It is away for about {count} week.", "It is away for about {count} weeks.", weeks) if weeks else ""
    feels = (
        say("Then touch and sound are new to you.") if way == "rebuild" else say("Then it feels much as you know it.")
    )
    return [away or say("The work is done at your home."), feels]


def _good(way: str, case: Case) -> list[str]:
    return [side.text for side in good_sides(way, case)[:SIDES_HERE]]


def _bad(way: str, case: Case) -> list[str]:
    return [side.text for side in bad_sides(way, case)[:SIDES_HERE]]


_TOLD: dict[str, Callable[[str, Case], list[str]]] = {
    "done": _done,
    "stays": _stays,
    "plays": _plays,
    "worth": _worth,
    "living": _living,
    "good": _good,
    "bad": _bad,
}
