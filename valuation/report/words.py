"""Every sentence that a verdict says of itself, in one place. Reasons come as data and leave as words."""

from __future__ import annotations

from valuation.core.appraisal import Appraisal, Flip, NextCheck, OptionResult, PartResult, Reason
from valuation.report.format import money, number, of_100

OPTION_NAMES = {
    "rebuild": "rebuild",
    "partial_repair": "partial repair",
    "keep": "keep as it is",
    "retire": "retire",
}

_DO = {
    "rebuild": "Rebuild it",
    "partial_repair": "Repair it in part",
    "keep": "Keep it as it is",
    "retire": "Retire it",
}

_CLARITY = {
    "clear": "This is clear",
    "leaning": "This leans one way",
    "close": "This is too close to call",
}

_ASSUMED = {
    "size": "its size (taken as the usual one)",
    "tier": "the maker's reputation (taken as ordinary)",
    "year": "when it was built (taken as the usual year)",
}

_WORTH_NAMING = 5.0
"""A check that gains less than this is not put forward in the sentence below the verdict [money]."""

_PULLS = ((10.0, "strongly"), (3.0, "somewhat"), (0.0, "hardly"))


def verdict_sentence(appraisal: Appraisal) -> str:
    """Return what to do, in one sentence."""
    best = appraisal.best
    if appraisal.clarity == "close":
        second = _do(appraisal.next_option, appraisal)
        return (
            f"{_do(best.option, appraisal)} or {second[0].lower()}{second[1:]}: on average the first comes out "
            f"{money(appraisal.gap, appraisal.currency)} ahead."
        )
    if best.option == "retire":
        return f"{_do(best.option, appraisal)} and {'find another instrument' if best.exchange else 'let it go'}."
    return f"{_do(best.option, appraisal)}."


def _do(option: str, appraisal: Appraisal) -> str:
    """Return what an option asks for; a piano that still brings something is sold, not retired."""
    if option == "retire" and appraisal.worth_selling:
        return "Sell it as it stands"
    return _DO[option]


def clarity_sentence(appraisal: Appraisal) -> str:
    """Return how sure the verdict is, and what being wrong costs."""
    if appraisal.next_option == appraisal.verdict:
        return "There is no other way open, with this budget and these stop rules."
    loss = money(appraisal.expected_loss, appraisal.currency)
    return (
        f"{_CLARITY[appraisal.clarity]}: it beats '{OPTION_NAMES[appraisal.next_option]}' in "
        f"{of_100(appraisal.beats_next)}. Deciding now, with what isn't known, costs {loss} on average."
    )


def settle_sentence(appraisal: Appraisal) -> str:
    """Return whether to look further."""
    if appraisal.stop_looking:
        return "You can stop looking: nothing left to check is worth its minutes."
    telling = [check for check in appraisal.next_checks if check.gain >= _WORTH_NAMING]
    if telling:
        return f"Check next: {telling[0].name}."
    if appraisal.worth_of_the_unseen >= _WORTH_NAMING:
        return "No single check can turn the verdict, but several together may: most of the piano has not been seen."
    return "No check left can turn the verdict; some would still sharpen the figures."


def reason_sentence(reason: Reason, appraisal: Appraisal) -> str:
    """Return one reason as a sentence."""
    if reason.code == "stop_rule":
        return next(row.text for row in appraisal.cautions if row.caution == reason.subject)
    amount = money(reason.weight, appraisal.currency)
    between = f"for '{OPTION_NAMES[reason.speaks_for]}' over '{OPTION_NAMES[reason.over]}'"
    if reason.code == "part":
        part = next(row for row in appraisal.parts if row.part == reason.subject)
        state = max(reason.figures, key=reason.figures.get)
        looked = "" if part.looked_at else "; nobody has looked at it"
        return (
            f"{_capital(part.name)}, {state} in {of_100(reason.figures[state])}{looked}: speaks {between}, "
            f"by {amount} more than if sound."
        )
    return f"{_WHAT_SPEAKS[reason.code]} {between}, by {amount}."


_WHAT_SPEAKS = {
    "price": "The price speaks",
    "value_kept": "What the piano is still worth in the end speaks",
    "playing": "The years of playing speak",
    "heart": "What this very piano means to the client speaks",
    "proceeds": "What the old piano brings today speaks",
    "replacement": "The other instrument, with its price and its years, speaks",
}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def flip_sentence(flip: Flip, appraisal: Appraisal) -> str:
    """Return one turning point as a sentence, or that there is none."""
    currency = appraisal.currency
    if flip.driver.startswith("part:"):
        part = next(row.name for row in appraisal.parts if row.part == flip.driver.removeprefix("part:"))
        return (
            f"If the {part} turned out {flip.state} ({of_100(flip.chance)}), "
            f"'{OPTION_NAMES[flip.then_above]}' would be best."
        )
    text, shown = {
        "finished_value": ("the finished piano would fetch", lambda x: money(x, currency)),
        "hours": ("the hours came to", lambda x: f"{x:.0%} of what the tables say"),
        "hourly_rate": ("an hour cost", lambda x: money(x, currency)),
        "premium": ("keeping this piano were worth", lambda x: money(x, currency)),
        "horizon": ("one looked ahead", lambda x: f"{x:.0f} years"),
        "budget": ("no more could be spent than", lambda x: money(x, currency)),
    }[flip.driver]
    said = []
    if flip.below is not None:
        less = "" if flip.driver == "budget" else "less than "
        said.append(f"If {text} {less}{shown(flip.below)}, '{OPTION_NAMES[flip.then_below]}' would be best.")
    if flip.above is not None:
        said.append(f"If {text} more than {shown(flip.above)}, '{OPTION_NAMES[flip.then_above]}' would be best.")
    return " ".join(said) or f"Whatever {_DRIVERS[flip.driver]}, the verdict stays."


_DRIVERS = {
    "finished_value": "the finished piano would fetch",
    "hours": "the hours come to",
    "hourly_rate": "an hour costs",
    "premium": "keeping it is worth",
    "horizon": "time one looks ahead",
    "budget": "may be spent",
}


def check_sentence(check: NextCheck, appraisal: Appraisal) -> str:
    """Return one check worth making."""
    minutes = f"{number(check.minutes)} min"
    if check.gain >= 1:
        gain = money(check.gain, appraisal.currency)
        turn = f", turns the verdict in {of_100(check.chance_to_turn)}" if check.chance_to_turn >= 0.005 else ""
        return f"{check.name} ({minutes}; worth {gain}{turn})"
    swing = money(check.swing, appraisal.currency)
    return f"{check.name} ({minutes}; moves the lead by about {swing} either way)"


def pull_word(pull: float) -> str:
    """Return how far a finding moved its part's score, and which way.

    Examples
    --------
    >>> pull_word(-17.0), pull_word(4.0), pull_word(0.4)
    ('pulls it down strongly', 'pulls it up somewhat', 'hardly moves it')
    """
    word = next(word for limit, word in _PULLS if abs(pull) >= limit)
    if word == "hardly":
        return "hardly moves it"
    return f"pulls it {'down' if pull < 0 else 'up'} {word}"


def state_sentence(part: PartResult) -> str:
    """Return a part's odds as counts of 100."""
    names = ("sound", "serviceable", "worn", "failed")
    counts = [(round(100 * share), name) for share, name in zip(part.states, names, strict=False)]
    return ", ".join(f"{name} {count}" for count, name in sorted(counts, key=lambda c: -c[0]) if count >= 5)


def assumed_sentence(appraisal: Appraisal) -> str:
    """Return what had to be assumed."""
    return "Assumed because it is not known: " + ", ".join(_ASSUMED[key] for key in appraisal.assumed) + "."


def option_title(option: OptionResult) -> str:
    """Return the name of an option as a heading."""
    if option.option == "retire":
        return "retire, another piano instead" if option.exchange else "retire"
    return OPTION_NAMES[option.option]


def weight_sentence(kind: str, *, sales: int, sales_wanted: int, table_counts_as: float, basis: str) -> str:
    """Return what prices rest on: the band table, the shop's own sales, or both, and how loudly each speaks.

    Parameters
    ----------
    kind : str
        Kind of piano.
    sales : int
        Sales of that kind that can be used [-].
    sales_wanted : int
        From so many on they speak [-].
    table_counts_as : float
        Sales that the table counts for [-].
    basis : str
        ``band table``, ``blend`` or ``sales``.

    Examples
    --------
    >>> weight_sentence("grand", sales=1, sales_wanted=10, table_counts_as=6, basis="band table")
    'You have 1 sale of a grand; from 10 on they speak too. Until then your table of price bands speaks alone.'
    """
    have = f"1 sale of {'an' if kind[0] in 'aeiou' else 'a'} {kind}" if sales == 1 else f"{sales} sales of {kind}s"
    if basis == "band table":
        alone = "Until then your table of price bands speaks alone."
        return f"You have {have}; from {sales_wanted} on they speak too. {alone}"
    share = table_counts_as / (table_counts_as + sales)
    said = f"Your table counts as {number(table_counts_as)} sales, you have {have}"
    if basis == "sales":
        return f"{said}: what they tell counts, the table hardly any more ({of_100(share)})."
    return f"{said}: {of_100(share)} of the weight is the table's."
