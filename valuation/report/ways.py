"""The ways a client has, each told by the same rows: done, stays, to live with, price and years, time, worth, risk."""

from __future__ import annotations

from collections.abc import Callable

from valuation.engine.money import tax_of
from valuation.engine.prospects import ANOTHER, LET_GO, LOOKS_AHEAD
from valuation.language import later, say, say_many
from valuation.report.case import PLAYS_POORLY, PLAYS_WELL, PLAYS_WITH_FAULTS, Case
from valuation.report.client_words import listed, of_100, pay_words, worth_words, years_words
from valuation.report.format import exact, honest, money, money_range
from valuation.report.labels import day_words
from valuation.report.tax_words import tax_in_prices

WORK = ("partial_repair", "rebuild")
ROWS = ("done", "stays", "living", "price", "time", "after", "wrong")
"""The rows that every way has, in the order in which they are told."""


def row_name(row: str) -> str:
    """Return what a row tells, as a heading."""
    return {
        "done": say("What is done"),
        "stays": say("What stays as it is"),
        "living": say("To play, and to live with"),
        "price": say("What it costs, and the good years you get"),
        "time": say("How long it takes"),
        "after": say("What it is worth then"),
        "wrong": say("What could go wrong"),
        "good": say("Good sides"),
        "bad": say("Bad sides"),
    }[row]


def row_note(row: str, case: Case) -> str:
    """Return what is to be known of a row for all ways alike; empty where there is nothing."""
    if row == "price":
        told = say(
            "In 8 of 10 such cases the years end within these figures. Good years end when a part gives out that you "
            "need to play."
        )
        return f"{taxed} {told}" if (taxed := tax_in_prices(tax_of(case.book, case.found.on))) else told
    if row == "time":
        return say("When we could begin depends on our waiting list. Ask us.")
    if row == "after":
        return say("This is our own estimate of {day}. It is no certified value.", day=day_words(case.found.on))
    return ""


def rows_of(way: str, case: Case) -> dict[str, tuple[str, ...]]:
    """Return the sentences of one way, by row; each row has at least one."""
    if way not in case.prospects:
        return {row: (why_not_open(way, case) if row == "done" else "–",) for row in ROWS}
    told = {row: tuple(text for text in _TOLD[row](way, case) if text) for row in ROWS}
    assert all(told.values()), "every way has something to say in every row"
    return told


def why_not_open(way: str, case: Case) -> str:
    """Return why there is no such way for this piano."""
    refused = [scope.why_not for scope in case.found.scopes if scope.verdict == way and not scope.offered]
    if not refused:
        return say("With what was set by hand there is no such plan.")
    return refusal_words(refused[-1])


def refusal_words(why_not: str) -> str:
    """Return in a sentence the rule by which a scope is not offered."""
    return say(_WHY_NOT[why_not])


_WHY_NOT = {
    "leaves_broken": later("It would leave broken what is broken, so we do not offer it."),
    "gate_fails": later("Even then it could not be trusted to hold, so we do not offer it."),
    "as_safe": later("There is nothing to repair beyond making it safe."),
    "as_below": later("There is nothing more to repair."),
    "nothing_worn": later("None of its systems is worn, so there is nothing to rebuild."),
    "near_rebuild": later("It would cost nearly as much as to rebuild it, so we do not offer it."),
}


def jobs_of(way: str, case: Case) -> tuple[str, ...]:
    """Return each job of a way in plain words; for a way on which the piano goes, what the law and care ask for."""
    option = case.option(way)
    if option is not None and way not in (ANOTHER, LET_GO):
        return tuple(say(line.plain) for line in option.lines)
    return (
        say("Before it goes we take a photo of you at the piano, if you like."),
        say("A key or the name may stay with you."),
        say("Carriers take it away. Nobody should lift it alone."),
        *case.of_law(),
    )


def plays_words(plays: float) -> str:
    """Return how well a piano plays, in one sentence."""
    if plays >= PLAYS_WELL:
        return say("It plays well.")
    if plays >= PLAYS_WITH_FAULTS:
        return say("You can play it, but it has faults.")
    if plays >= PLAYS_POORLY:
        return say("It plays poorly.")
    return say("You can hardly play it.")


def keeps_words(case: Case) -> str:
    """Return how well the piano plays as it stands; a guess is told as one."""
    plays = case.prospects["keep"].plays
    if case.mostly_unseen() and plays < PLAYS_WITH_FAULTS:
        return say("It may well not be good to play. We have not seen enough to be sure.")
    return plays_words(plays)


def _done(way: str, case: Case) -> list[str]:
    if way == "keep":
        return [say("Nothing is repaired."), *(say(line.plain) for line in case.planned(way).lines)]
    if way == ANOTHER:
        return [say("You get {piano}.", piano=say(case.replacement.name)), _gone(case)]
    if way == LET_GO:
        return [_gone(case), say("Nothing comes in its place.")]
    parts = case.levels(way)
    said = []
    if parts["replace"]:
        said.append(say("New or made as new: {parts}.", parts=listed(case.part_names(parts["replace"]))))
    if parts["repair"]:
        said.append(say("Repaired: {parts}.", parts=listed(case.part_names(parts["repair"]))))
    return said


def _gone(case: Case) -> str:
    if case.found.worth_selling:
        return say("The old piano is sold as it stands.")
    return say("The old piano is given away, or taken away and broken up.")


def _stays(way: str, case: Case) -> list[str]:
    if way == "keep":
        return [say("All of it: the sound, the touch and the looks.")]
    if way in (ANOTHER, LET_GO):
        return [say("Only what you want to keep: a photo, a key, the name.")]
    levels = case.levels(way)
    renewable = {row.part for row in case.operations.values() if row.level == "large"}  # how it is in tune is not
    kept = case.part_names(part for part in levels["keep"] if part in renewable)
    if not kept:
        return [say("No part stays quite as it was. Repaired parts are still the old ones.")]
    treated = case.part_names([*levels["repair"], *levels["replace"]])
    if len(treated) < len(kept) / 2:
        return [say("All but this stays as it is: {parts}.", parts=listed(treated))]
    return [say("Not touched: {parts}.", parts=listed(kept))]


def _living(way: str, case: Case) -> list[str]:
    if way == LET_GO:
        return [say("You have no piano."), say("The room is free for something else.")]
    prospect = case.prospects[way]
    if way == ANOTHER:
        return [plays_words(prospect.plays), say("It feels and sounds unlike the one you know.")]
    if way == "keep":
        serves = [say("It would be furniture: it does not serve as an instrument.")] if case.found.furniture else []
        return [keeps_words(case), *serves, *case.faults(way), say("It stands where it always stood.")]
    said = [plays_words(prospect.plays), *case.faults(way)]
    if way == "rebuild":
        said.append(say("Touch and sound are new, so it is not quite the piano you know."))
    if way == "partial_repair":
        said.append(say("It still feels like the piano you know."))
    return said


def _price(way: str, case: Case) -> list[str]:
    prospect = case.prospects[way]
    said = [_paid(way, case), years_words(prospect.years)]
    if way == ANOTHER:
        alone = f"{money_range(prospect.value_after)} {case.currency}"
        said[1:1] = [say("The other piano alone costs {price}.", price=alone), _proceeds_words(case)]
    if not prospect.affordable and case.found.budget is not None:
        budget = money(case.found.budget, case.currency)
        said.append(say("That is more than the {budget} you want to spend.", budget=budget))
    return said


def _proceeds_words(case: Case) -> str:
    proceeds = case.proceeds
    if honest(proceeds.low) < 0 < honest(proceeds.high):
        got, pay = money(proceeds.high, case.currency), money(-proceeds.low, case.currency)
        return say("For the old one you get up to {got}, or you pay up to {pay}.", got=got, pay=pay)
    if honest(proceeds.likely) > 0:
        return say("The old one brings in about {amount}.", amount=money(proceeds.likely, case.currency))
    return say("To have the old one taken away costs about {amount}.", amount=money(-proceeds.likely, case.currency))


def _time(way: str, case: Case) -> list[str]:
    if way == ANOTHER:
        return [say("Some weeks, until the right one is found. Then a day to bring it.")]
    if way == LET_GO:
        return [say("Some weeks to find a buyer, or a day for the carriers.")]
    home, away = case.bench_hours(way)
    weeks = case.weeks_away(way)
    if not away:
        if home < 0.5:
            return [say("A few minutes at your home.")]
        return [say_many("About {count} hour at your home.", "About {count} hours at your home.", round(home))]
    return [
        say_many("About {count} hour of work.", "About {count} hours of work.", round(home + away)),
        say_many(
            "The piano, or a part of it, is away for about {count} week.",
            "The piano, or a part of it, is away for about {count} weeks.",
            weeks,
        ),
    ]


def _after(way: str, case: Case) -> list[str]:
    prospect = case.prospects[way]
    if way == LET_GO:
        return [say("You have no piano to sell later.")]
    worth = worth_words(prospect.expected_value, case.currency)
    if way == ANOTHER:
        return [say("The other piano is worth {worth}.", worth=worth)]
    if way == "keep":
        return [say("It is worth {worth}, as it is today.", worth=worth)]
    said = [say("It is worth {worth}.", worth=worth)]
    more = prospect.expected_value - case.prospects["keep"].expected_value
    short = case.price_of(way) - more
    if honest(short) > 0:
        said.append(
            say("If you sold it then, {amount} of the price would not come back.", amount=money(short, case.currency))
        )
    else:
        said.append(say("The work adds more to its worth than it costs."))
    return said


def _wrong(way: str, case: Case) -> list[str]:
    prospect = case.prospects[way]
    gives_out = _gives_out(way, case)
    if way == "keep":
        return [gives_out, say("What is worn wears on.")]
    if way == ANOTHER:
        return [gives_out, say("It may have faults that nobody saw. Have it looked at before you buy.")]
    if way == LET_GO:
        return [
            say("You may miss it. Once it is gone, you can't get it back."),
            say("It may take long to find someone who wants it."),
        ]
    surprised = of_100(prospect.surprise)
    more = (
        say("In {count} of 100 cases we find more to do once it is open. Then we ask you first.", count=surprised)
        if surprised
        else say("We do not expect to find more to do once it is open. If we do, we ask you first.")
    )
    return [more, gives_out]


def _gives_out(way: str, case: Case) -> str:
    prospect = case.prospects[way]
    if round(prospect.years.high) < 1:
        return say("Even then it has no good years.") if way in WORK else say("It will not get better by itself.")
    lost, years = 100 - of_100(prospect.still_good[0]), round(LOOKS_AHEAD[0])
    if not lost:
        return ""
    return say_many(
        "{lost} of 100 such pianos can no longer be played after {count} year.",
        "{lost} of 100 such pianos can no longer be played after {count} years.",
        years, lost=lost,
    )  # fmt: skip


_TOLD: dict[str, Callable[[str, Case], list[str]]] = {
    "done": _done,
    "stays": _stays,
    "living": _living,
    "price": _price,
    "time": _time,
    "after": _after,
    "wrong": _wrong,
}


def price_and_years(way: str, case: Case) -> str:
    """Return the price of a way with the years it buys, on one line; no price is told without them."""
    prospect = case.prospects.get(way)
    if prospect is None:
        return say("There is no such plan.")
    return f"{_paid(way, case)} {years_words(prospect.years)}"


def _paid(way: str, case: Case) -> str:
    """Return what is signed for a way and what it can come to; what is paid or got where the piano goes."""
    quote = case.quote(way)
    if quote is None:
        return pay_words(case.prospects[way].price, case.currency)
    said = [say("You pay {price}.", price=f"{exact(quote.total)} {case.currency}")]
    if quote.if_found:
        said.append(say("With all that may be found: {most} at most.", most=f"{exact(quote.most)} {case.currency}"))
    return " ".join(said)


def worth_range(way: str, case: Case) -> str:
    """Return what is owned afterwards is worth, from low to high."""
    prospect = case.prospects.get(way)
    if prospect is None or way == LET_GO:
        return say("nothing")
    return f"{money_range(prospect.value_after)} {case.currency}"
