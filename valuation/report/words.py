"""Every sentence that a verdict says of itself, in one place. Reasons come as data and leave as words.

A sentence is whole, with figures in braces: so it can be told in another language, whose order of words is its own.
"""

from __future__ import annotations

from collections.abc import Callable

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Flip, NextCheck, Reason
from valuation.engine.appraised_work import OptionResult
from valuation.language import later, say, say_many
from valuation.report.fault_words import fault_sentences, stop_sentence
from valuation.report.format import money, number, of_100, percent

OPTION_NAMES = {
    "rebuild": later("rebuild"),
    "partial_repair": later("partial repair"),
    "keep": later("keep as it is"),
    "retire": later("retire"),
}
"""Names of the options within a sentence; `option_word` says one."""

_DO = {
    "rebuild": later("Rebuild it"),
    "partial_repair": later("Repair part of it"),
    "keep": later("Keep it as it is"),
    "furniture": later("Keep it, as furniture"),
    "retire": later("Retire it"),
    "retire, exchange": later("Retire it and find another instrument"),
    "sell": later("Sell it as it stands"),
    "sell, exchange": later("Sell it as it stands and find another instrument"),
}

_OR_DO = {
    "rebuild": later("rebuild it"),
    "partial_repair": later("repair part of it"),
    "keep": later("keep it as it is"),
    "furniture": later("keep it, as furniture"),
    "retire": later("retire it"),
    "retire, exchange": later("retire it and find another instrument"),
    "sell": later("sell it as it stands"),
    "sell, exchange": later("sell it as it stands and find another instrument"),
}

_VERDICTS = {
    "rebuild": later("Rebuild it."),
    "partial_repair": later("Repair part of it."),
    "keep": later("Keep it as it is."),
    "furniture": later("Keep it, as furniture: it does not serve as an instrument."),
    "retire": later("Retire it and let it go."),
    "retire, exchange": later("Retire it and find another instrument."),
    "sell": later("Sell it as it stands and let it go."),
    "sell, exchange": later("Sell it as it stands and find another instrument."),
}

_CLARITY = {
    "clear": later(
        "This is clear: it is better than '{other}' in {chance} cases. "
        "We could be wrong. To decide today rather than look further costs {loss} on average."
    ),
    "leaning": later(
        "We lean this way: it is better than '{other}' in {chance} cases. "
        "We could be wrong. To decide today rather than look further costs {loss} on average."
    ),
    "close": later(
        "This is too close to call: it is better than '{other}' in {chance} cases. "
        "We could be wrong. To decide today rather than look further costs {loss} on average."
    ),
}

_ASSUMED = {
    "size": later("its size (taken as the usual one)"),
    "tier": later("the maker's reputation (taken as ordinary)"),
    "year": later("when it was built (taken as the usual year)"),
}

_WORTH_NAMING = 5.0
"""A check that gains less than this is not put forward in the sentence below the verdict [money]."""


NOT_YET = later("Not evaluated yet.")


def verdict_sentence(appraisal: Appraisal) -> str:
    """Return what to do, in one sentence; before the gates have been looked at, that there is no verdict yet."""
    if not appraisal.ready:
        return say(NOT_YET)
    best, other = appraisal.best, appraisal.option(appraisal.next_option)
    if appraisal.clarity == "close" and other is not None:
        return say(
            "{first} or {second}: on average the first comes out {amount} ahead.",
            first=say(_DO[_doing(best, appraisal)]),
            second=say(_OR_DO[_doing(other, appraisal)]),
            amount=money(appraisal.gap, appraisal.currency),
        )
    return say(_VERDICTS[_doing(best, appraisal)])


def _doing(option: OptionResult, appraisal: Appraisal) -> str:
    """Return what an option asks for; a piano that still brings something is sold, not retired."""
    if option.option == "keep" and appraisal.furniture:
        return "furniture"
    if option.option != "retire":
        return option.option
    gone = "sell" if appraisal.worth_selling else "retire"
    return f"{gone}, exchange" if option.exchange else gone


def clarity_sentence(appraisal: Appraisal, named: Callable[[str], str] | None = None) -> str:
    """Return how sure the verdict is, and what being wrong costs; `named` names an option, else `option_word`."""
    if appraisal.next_option == appraisal.verdict:
        return say("There is no other way open, with this budget and these stop rules.")
    return say(
        _CLARITY[appraisal.clarity],
        other=(named or option_word)(appraisal.next_option),
        chance=of_100(appraisal.beats_next),
        loss=money(appraisal.expected_loss, appraisal.currency),
    )


_NOTHING_BROKEN = {"as_safe", "as_below"}


def beside_the_verdict(appraisal: Appraisal) -> tuple[str, ...]:
    """Return what is told with the verdict where it is true: of repairs that make no sense, and of furniture."""
    said = []
    if appraisal.no_repair_short_of_rebuild:
        refused = {scope.why_not for scope in appraisal.scopes if scope.verdict == "partial_repair"}
        if refused <= _NOTHING_BROKEN:
            said.append(say("There is nothing to repair beyond making it safe."))
        else:
            said.append(say("No repair short of a rebuild makes sense."))
    if appraisal.furniture and appraisal.verdict != "keep":
        said.append(say("Left as it is, it would be furniture: it does not serve as an instrument."))
    best = appraisal.best
    if best.treatments and appraisal.next_option != "keep":
        said.append(say("It is better than keeping it as it is in {chance}.", chance=of_100(best.beats_keeping)))
    return tuple(said)


def settle_sentence(appraisal: Appraisal) -> str:
    """Return whether to look further."""
    if appraisal.stop_looking:
        return say("You can stop looking: nothing left to check is worth its minutes.")
    telling = [check for check in appraisal.next_checks if check.gain >= _WORTH_NAMING]
    if telling:
        return say("Check next: {check}", check=say(telling[0].name))
    if appraisal.worth_of_the_unseen >= _WORTH_NAMING:
        return say(
            "No single check can turn the verdict, but several together may: most of the piano has not been seen."
        )
    return say("No check left can turn the verdict; some would still sharpen the figures.")


_WHAT_SPEAKS = {
    "price": later("The price speaks for '{option}' over '{over}', by {amount}."),
    "value_kept": later("What the piano is still worth in the end speaks for '{option}' over '{over}', by {amount}."),
    "playing": later("The years of playing speak for '{option}' over '{over}', by {amount}."),
    "heart": later("What this very piano means to the client speaks for '{option}' over '{over}', by {amount}."),
    "afterwards": later("What comes once it gives out speaks for '{option}' over '{over}', by {amount}."),
    "proceeds": later("What the old piano brings today speaks for '{option}' over '{over}', by {amount}."),
    "disposal": later("Having the old piano taken away speaks for '{option}' over '{over}', by {amount}."),
    "replacement": later(
        "The other instrument, with its price and its years, speaks for '{option}' over '{over}', by {amount}."
    ),
}

_PART_SPEAKS = later(
    "{part}, {state} in {chance}: speaks for '{option}' over '{over}', by {amount} more than if sound."
)
_UNSEEN_PART_SPEAKS = later(
    "{part}, {state} in {chance}; nobody has looked at it: speaks for '{option}' over '{over}', "
    "by {amount} more than if sound."
)


def reason_sentence(reason: Reason, appraisal: Appraisal) -> str:
    """Return one reason as a sentence."""
    if reason.code == "stop_rule":
        return _forbidding(reason.subject, appraisal)
    said = {
        "option": option_word(reason.speaks_for),
        "over": option_word(reason.over),
        "amount": money(reason.weight, appraisal.currency),
    }
    if reason.code != "part":
        return say(_WHAT_SPEAKS[_spoken_of(reason)], **said)
    part = next(row for row in appraisal.parts if row.part == reason.subject)
    state = max(reason.figures, key=reason.figures.__getitem__)
    return say(
        _PART_SPEAKS if part.looked_at else _UNSEEN_PART_SPEAKS,
        part=_capital(say(part.name)), state=say(state), chance=of_100(reason.figures[state]), **said,
    )  # fmt: skip


def _forbidding(fault: str, appraisal: Appraisal) -> str:
    """Return the first sentence of what must not be done that names a fault."""
    acts = [act for act, faults in appraisal.stops.items() if fault in faults]
    return stop_sentence(acts[0], (fault,), fault_sentences(appraisal))


_WHAT_COUNTS = {
    "price": later("The price"),
    "value_kept": later("What the piano is still worth in the end"),
    "playing": later("The years of playing"),
    "heart": later("What this very piano means to the client"),
    "afterwards": later("What comes once it gives out"),
    "proceeds": later("What the old piano brings today"),
    "disposal": later("Having the old piano taken away"),
    "replacement": later("The other instrument, with its price and its years"),
}


def reason_in_short(reason: Reason, appraisal: Appraisal) -> str:
    """Return what a reason rests on, without what it speaks for; for a table that says that once."""
    if reason.code != "part":
        return say(_WHAT_COUNTS[_spoken_of(reason)])
    part = next(row for row in appraisal.parts if row.part == reason.subject)
    state = max(reason.figures, key=reason.figures.__getitem__)
    return say(
        "{part}, {state} in {chance}" if part.looked_at else "{part}, {state} in {chance}; nobody has looked at it",
        part=_capital(say(part.name)), state=say(state), chance=of_100(reason.figures[state]),
    )  # fmt: skip


def _spoken_of(reason: Reason) -> str:
    """Return what a reason speaks of; a piano that brings nothing speaks by what it costs to be rid of it."""
    return "disposal" if reason.code == "proceeds" and reason.speaks_for != "retire" else reason.code


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


_BELOW = {
    "finished_value": later("If the finished piano would fetch less than {figure}, '{option}' would be best."),
    "hours": later("If the hours came to less than {figure} of what the tables say, '{option}' would be best."),
    "hourly_rate": later("If an hour cost less than {figure}, '{option}' would be best."),
    "to_hear": later("If hearing this very piano were worth less than {figure}, '{option}' would be best."),
    "horizon": later("If one looked ahead less than {figure} years, '{option}' would be best."),
    "budget": later("If no more could be spent than {figure}, '{option}' would be best."),
}

_ABOVE = {
    "finished_value": later("If the finished piano would fetch more than {figure}, '{option}' would be best."),
    "hours": later("If the hours came to more than {figure} of what the tables say, '{option}' would be best."),
    "hourly_rate": later("If an hour cost more than {figure}, '{option}' would be best."),
    "to_hear": later("If hearing this very piano were worth more than {figure}, '{option}' would be best."),
    "horizon": later("If one looked ahead more than {figure} years, '{option}' would be best."),
    "budget": later("If more than {figure} could be spent, '{option}' would be best."),
}

_NEVER = {
    "finished_value": later("Whatever the finished piano would fetch, the verdict stays."),
    "hours": later("Whatever the hours come to, the verdict stays."),
    "hourly_rate": later("Whatever an hour costs, the verdict stays."),
    "to_hear": later("Whatever hearing this very piano is worth, the verdict stays."),
    "horizon": later("Whatever time one looks ahead, the verdict stays."),
    "budget": later("Whatever may be spent, the verdict stays."),
}


_TURNED_OUT = later("If '{fault}' turned out {severity} ({chance}), '{option}' would be best.")
_WITHOUT_IT = later("If there were nothing of '{fault}' ({chance}), '{option}' would be best.")


def flip_sentence(flip: Flip, appraisal: Appraisal, named: Callable[[str], str] | None = None) -> str:
    """Return one turning point as a sentence, or that there is none; `named` as in `clarity_sentence`."""
    named = named or option_word
    if flip.driver.startswith("fault:"):
        return say(
            _WITHOUT_IT if flip.state == "none" else _TURNED_OUT,
            fault=say(flip.name), severity=say(flip.state), chance=of_100(flip.chance), option=named(flip.then_above),
        )  # fmt: skip
    said = []
    for limit, messages, then in ((flip.below, _BELOW, flip.then_below), (flip.above, _ABOVE, flip.then_above)):
        if limit is not None:
            figure = _turning_at(flip.driver, limit, appraisal.currency)
            said.append(say(messages[flip.driver], figure=figure, option=named(then)))
    return " ".join(said) or say(_NEVER[flip.driver])


def _turning_at(driver: str, limit: float, currency: str) -> str:
    if driver == "hours":
        return percent(limit)
    return f"{limit:.0f}" if driver == "horizon" else money(limit, currency)


def check_sentence(check: NextCheck, appraisal: Appraisal) -> str:
    """Return one check worth making."""
    name, minutes = say(check.name), number(check.minutes)
    if check.gain < 1:
        return say(
            "{check} ({minutes} min; moves the lead by about {amount} either way)",
            check=name, minutes=minutes, amount=money(check.swing, appraisal.currency),
        )  # fmt: skip
    gain = money(check.gain, appraisal.currency)
    if check.chance_to_turn < 0.005:
        return say("{check} ({minutes} min; worth {amount})", check=name, minutes=minutes, amount=gain)
    return say(
        "{check} ({minutes} min; worth {amount}, turns the verdict in {chance})",
        check=name, minutes=minutes, amount=gain, chance=of_100(check.chance_to_turn),
    )  # fmt: skip


def pull_word(pull: float) -> str:
    """Return how far a finding moved its part's score, and which way.

    Examples
    --------
    >>> pull_word(-17.0), pull_word(4.0), pull_word(0.4)
    ('pulls it down strongly', 'pulls it up somewhat', 'hardly moves it')
    """
    if abs(pull) >= 10:
        return say("pulls it down strongly") if pull < 0 else say("pulls it up strongly")
    if abs(pull) >= 3:
        return say("pulls it down somewhat") if pull < 0 else say("pulls it up somewhat")
    return say("hardly moves it")


def assumed_sentence(appraisal: Appraisal) -> str:
    """Return what had to be assumed."""
    return say(
        "Assumed because it is not known: {what}.", what=", ".join(say(_ASSUMED[key]) for key in appraisal.assumed)
    )


def option_word(option: str) -> str:
    """Return the name of an option within a sentence."""
    return say(OPTION_NAMES[option])


def option_title(option: OptionResult) -> str:
    """Return the name of an option as a heading."""
    if option.option == "retire" and option.exchange:
        return say("retire, another piano instead")
    return option_word(option.option)


def weight_sentence(kind: str, sales: int) -> str:
    """Return what prices rest on: the band table, or that moved by the shop's own sales.

    Parameters
    ----------
    kind : str
        Kind of piano.
    sales : int
        Sales of that kind that can be used [-].

    Examples
    --------
    >>> weight_sentence("grand", 0)
    'You have 0 sales of grands: your table of price bands speaks alone.'
    """
    have = sales_of_kind(kind, sales)
    if not sales:
        return say("You have {sales}: your table of price bands speaks alone.", sales=have)
    return say(
        "You have {sales}: prices start from your table of price bands and are moved as far as the sales say.",
        sales=have,
    )


def sales_of_kind(kind: str, count: int) -> str:
    """Return so many sales of one kind of piano."""
    if kind == "upright":
        return say_many("{count} sale of an upright", "{count} sales of uprights", count)
    return say_many("{count} sale of a grand", "{count} sales of grands", count)
