"""Short words for a client: money paid or received, years, lists, counts of 100. Plain enough to be read aloud."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.engine.prospects import ANOTHER, LET_GO
from valuation.facts.visit import Range
from valuation.language import say
from valuation.report.format import honest, money, money_range, years_range

NEXT_TO_NOTHING = 50.0
"""A piano that brings less is told to be worth next to nothing [money]."""


def way_name(way: str) -> str:
    """Return what a way is called at the table."""
    return {
        "keep": say("Keep it as it is"),
        "partial_repair": say("Repair part of it"),
        "rebuild": say("Rebuild it"),
        ANOTHER: say("Another piano instead"),
        LET_GO: say("Let it go"),
    }[way]


def way_to_do(way: str) -> str:
    """Return a way as one says what one would do."""
    return {
        "keep": say("keep it as it is"),
        "partial_repair": say("repair part of it"),
        "rebuild": say("rebuild it"),
        ANOTHER: say("let it go and find another piano"),
        LET_GO: say("let it go"),
    }[way]


def theme_name(theme: str) -> str:
    """Return what may matter, as it is asked."""
    return {
        "family": say("To have it"),
        "hearing": say("To hear it"),
        "playing": say("To play every day"),
        "cost": say("The money"),
        "room": say("The room"),
    }[theme]


def theme_meaning(theme: str) -> str:
    """Return what is meant by it, so that nobody has to ask."""
    return {
        "family": say("That this very piano stays with you, even if nobody plays it."),
        "hearing": say("That this very piano is heard again."),
        "playing": say("That there is a piano at home that is good to play, this one or another."),
        "cost": say("That it costs little, now and later."),
        "room": say("How much space there is, and how it looks there."),
    }[theme]


def question_name(question: str) -> str:
    """Return one of the client's own questions, as it is asked."""
    return {
        "finish": say("The finish of the case"),
        "sheen": say("A new finish would be"),
        "lettering": say("The name on it"),
        "key_tops": say("The key tops"),
        "hardware": say("Brass and other metal"),
    }[question]


def listed(names: Sequence[str]) -> str:
    """Return names as one says them: with commas, and an 'and' before the last.

    Examples
    --------
    >>> listed(["plate"]), listed(["plate", "strings", "keys"])
    ('plate', 'plate, strings and keys')
    """
    if len(names) < 2:
        return "".join(names)
    return say("{first} and {last}", first=", ".join(names[:-1]), last=names[-1])


def pay_words(price: Range, currency: str) -> str:
    """Return what is paid, or received, from low to high.

    Examples
    --------
    >>> pay_words(Range(low=200, likely=230, high=260), "EUR")
    'You pay 200 to 260 EUR.'
    >>> pay_words(Range(low=-7300, likely=-4500, high=-2600), "EUR")
    'You get 2,600 to 7,300 EUR.'
    >>> pay_words(Range(low=-420, likely=-80, high=96), "EUR")
    'Anything from 420 EUR for you to 96 EUR you pay.'
    """
    if not honest(price.low) and not honest(price.high):
        return say("You pay nothing and get nothing.")
    if honest(price.high) <= 0:
        got = Range(low=-price.high, likely=-price.likely, high=-price.low)
        return say("You get {amount} {currency}.", amount=money_range(got), currency=currency)
    if honest(price.low) < 0:
        least, most = money(-price.low, currency), money(price.high, currency)
        return say("Anything from {got} for you to {pay} you pay.", got=least, pay=most)
    return say("You pay {amount} {currency}.", amount=money_range(price), currency=currency)


def paid_or_got(price: Range) -> str:
    """Return what is paid, or received, under a head that says what is paid and in which money.

    Examples
    --------
    >>> paid_or_got(Range(low=200, likely=230, high=260)), paid_or_got(Range(low=-7300, likely=-4500, high=-2600))
    ('200 to 260', '2,600 to 7,300 for you')
    >>> paid_or_got(Range(low=-420, likely=-80, high=96))
    'from 420 for you to 96 you pay'
    """
    if honest(price.high) <= 0 and honest(price.low) < 0:
        got = Range(low=-price.high, likely=-price.likely, high=-price.low)
        return say("{amount} for you", amount=money_range(got))
    if honest(price.low) < 0:
        return say("from {got} for you to {pay} you pay", got=money(-price.low), pay=money(price.high))
    return money_range(price)


def good_years(years: Range) -> str:
    """Return the good years as they stand under a head that names them."""
    return say("none") if round(years.high) < 1 else years_range(years)


def years_words(years: Range) -> str:
    """Return the good years that a price buys.

    Examples
    --------
    >>> years_words(Range(low=8.2, likely=12, high=17)), years_words(Range(low=0, likely=0, high=0.2))
    ('Good years: 8 to 17.', 'Good years: none.')
    """
    if round(years.high) < 1:
        return say("Good years: none.")
    return say("Good years: {years}.", years=years_range(years))


def worth_words(amount: float, currency: str) -> str:
    """Return what something is worth, or that it is next to nothing."""
    if amount < NEXT_TO_NOTHING:
        return say("next to nothing")
    return say("about {amount}", amount=money(amount, currency))


def of_100(share: float) -> int:
    """Return a chance as a whole count of 100, never none or all unless it is."""
    if 0 < share < 1:
        return min(99, max(1, round(100 * share)))
    return round(100 * share)


def whole_counts(shares: Sequence[float], total: int = 100) -> tuple[int, ...]:
    """Return shares that add to 1 as whole counts that add to `total`: the largest remainders are rounded up.

    Examples
    --------
    >>> whole_counts([0.334, 0.333, 0.333])
    (34, 33, 33)
    """
    exact = [share * total for share in shares]
    counts = [int(x) for x in exact]
    for i in sorted(range(len(exact)), key=lambda i: counts[i] - exact[i])[: total - sum(counts)]:
        counts[i] += 1
    return tuple(counts)
