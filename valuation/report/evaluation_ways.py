"""Of the written evaluation: the ways forward, side by side and in equal detail."""

from __future__ import annotations

from collections.abc import Callable

from valuation.core.appraisal import Appraisal, OptionResult
from valuation.core.rows import STATES, Tables
from valuation.language import say, say_many
from valuation.report.axis import money_ticks
from valuation.report.document import Bar, Block, Grid, Hundreds, Ranges, Words
from valuation.report.format import exact, money, money_range, number, of_100, years_range
from valuation.report.labels import listed, option_meaning, option_name, with_capital
from valuation.report.shown_quote import Shown, shown_quote

ORDER = ("keep", "partial_repair", "rebuild", "retire")
"""The way without work stands first, whatever the verdict: nobody is led to spend."""

LINES_TO_A_STEP = 10
"""Lines are rounded finer than the totals that settings speak of, as on the screens."""

_BAD = STATES.index("worn")
_MOST_NAMED = 4


def in_order(appraisal: Appraisal) -> list[OptionResult]:
    """Return the options, the one without work first."""
    return sorted(appraisal.options, key=lambda option: ORDER.index(option.option))


def quote_of(option: OptionResult, appraisal: Appraisal, tables: Tables) -> Shown:
    """Return the quote of an option, rounded so that a reader who adds up agrees."""
    return shown_quote(option, appraisal, tables.settings.round_to / LINES_TO_A_STEP)


def name_of(option: OptionResult) -> str:
    """Return the name of an option as a heading."""
    if option.option == "retire" and option.exchange:
        return say("Retire it, another piano instead")
    return option_name(option.option)


def ways(appraisal: Appraisal, tables: Tables) -> list[Block]:
    """Return the options side by side: chances, the table with the same rows for each, prices as lines."""
    options = in_order(appraisal)
    rows = tuple((label, *(tell(option) for option in options)) for label, tell in _rows(appraisal, tables))
    return [
        Words(
            text=say(
                "Each way is told by the same rows. Money is in {currency}, tax included; 'low to high' means that 8 "
                "of 10 lie between. Compared over {years} years.",
                currency=appraisal.currency,
                years=number(appraisal.horizon),
            )
        ),
        Grid(
            caption=say("The ways forward, side by side"),
            head=("", *(name_of(option) for option in options)),
            rows=rows,
            align="l" * (len(options) + 1),
            widths=(0.72, *(1.0 for _ in options)),
            style="side",
        ),
        _prices(options, appraisal),
        _chances(options),
    ]


def _rows(appraisal: Appraisal, tables: Tables) -> list[tuple[str, Callable[[OptionResult], str]]]:
    return [
        (say("What is done"), lambda o: _done(o)),
        (say("What stays as it is"), lambda o: _stays(o, appraisal)),
        (say("Price"), lambda o: _price(o, appraisal, tables)),
        (say("Years of good service"), years_said),
        (say("A good year costs"), lambda o: money(o.cost_per_year.likely) if o.years.high else say("not played")),
        (
            say("Worth afterwards"),
            lambda o: money_range(o.value_after) if o.value_after.high else say("nothing is left"),
        ),
        (say("Time at the bench"), lambda o: hours_said(o)),
        (say("Good sides"), lambda o: _good(o, appraisal)),
        (say("Bad sides"), lambda o: _bad(o, appraisal)),
        (say("What could go wrong"), lambda o: _wrong(o, appraisal)),
        (say("Best in"), lambda o: of_100(o.chance_best)),
    ]


def years_said(option: OptionResult) -> str:
    """Return the years of good service: they stand wherever a price stands."""
    if not option.years.high:
        return say("none: not good to play") if option.option != "retire" else say("none: no piano in the house")
    return say("{years} years", years=years_range(option.years))


def hours_said(option: OptionResult) -> str:
    """Return the hours of work."""
    hours = sum(line.hours for line in option.lines)
    return (
        say("about {hours} h", hours=number(round(hours) if hours >= 1 else round(hours, 1))) if hours else say("none")
    )


def _done(option: OptionResult) -> str:
    if not option.treatments:
        return option_meaning(option)
    return with_capital(f"{listed(treated(option))}.")


def treated(option: OptionResult) -> list[str]:
    """Return what is done to the parts, in the workshop's words, in the order of the work."""
    names = {line.operation: say(line.name) for line in option.lines}
    wanted = set(option.treatments.values())
    return [name for operation, name in names.items() if operation in wanted]


def _stays(option: OptionResult, appraisal: Appraisal) -> str:
    if option.option == "keep":
        return say("Everything.")
    if option.option == "retire":
        return say("Nothing: the piano goes.")
    kept = [say(part.name) for part in appraisal.parts if part.component and part.part not in option.treatments]
    return with_capital(f"{listed(kept)}.") if kept else say("The case and what hangs together with it.")


def _price(option: OptionResult, appraisal: Appraisal, tables: Tables) -> str:
    said = money_range(option.price)
    if option.option == "retire":
        return said
    return say("{range}; quoted at {total}", range=said, total=exact(quote_of(option, appraisal, tables).total))


def _good(option: OptionResult, appraisal: Appraisal) -> str:
    if option.option == "keep":
        return say("It costs least now, nothing is changed, and every other way stays open.")
    if option.option == "retire":
        if option.exchange:
            return say("A sound instrument from the first day, and no more is put into this one.")
        return say("No more is put into it, and there is room again.")
    worst = [say(p.name) for p in _worn(appraisal) if p.part in option.treatments][:_MOST_NAMED]
    put_right = say("It puts right what troubles it: {parts}.", parts=listed(worst)) if worst else ""
    if option.option == "rebuild":
        return _joined(put_right, say("What wears is new together, and lasts longest."))
    return _joined(put_right, say("Most of the old piano stays."))


def _bad(option: OptionResult, appraisal: Appraisal) -> str:
    worn = [say(part.name) for part in _worn(appraisal) if part.part not in option.treatments][:_MOST_NAMED]
    left = say("Stays worn or worse: {parts}.", parts=listed(worn)) if worn else ""
    if option.option == "keep":
        return left or say("It goes on ageing.")
    if option.option == "retire":
        return say("This piano leaves the house, and with it what it means to you.")
    if option.option == "rebuild":
        lost = option.expected_price - (option.expected_value - appraisal.value_now.likely)
        said = say("It costs most, and the piano is away for long.")
        if lost > 0:
            said = _joined(said, say("About {amount} of its price is not found again in a sale.", amount=money(lost)))
        return _joined(said, left)
    return _joined(left, say("What was left alone goes on ageing."))


def _wrong(option: OptionResult, appraisal: Appraisal) -> str:
    held = sorted((a for a in appraisal.allowances if a.option == option.option), key=lambda a: -a.expected)
    names = {part.part: say(part.name) for part in appraisal.parts}
    said = [
        say(
            "{chance}: the {part} worse than it looks; {work}, {amount} more.",
            chance=with_capital(of_100(a.chance)), part=names[a.part], work=say(a.name), amount=money(a.if_needed),
        )
        for a in held
        if a.chance >= 0.005
    ][:2]  # fmt: skip
    left = [p for p in appraisal.parts if p.component and not p.looked_at and p.part not in option.treatments]
    if left and option.option != "retire":
        said.append(
            say_many(
                "{count} part that is left alone was not looked at: it may give out sooner than it seems.",
                "{count} parts that are left alone were not looked at: any may give out sooner than it seems.",
                len(left),
            )
        )
    if option.treatments:
        return " ".join(said) or say("Little: nothing that is planned is likely to turn out worse.")
    if option.option == "keep":
        return " ".join(said) or say("A part may give out sooner than it seems.")
    if option.exchange:
        return say("A used piano has hidden sides too: let somebody look at it who does not sell it.")
    return say("It may bring less than hoped, or cost something to be taken away.")


def _joined(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)


def _worn(appraisal: Appraisal) -> list:
    """Return the parts that are most likely worn or worse, the worst first."""
    bad = [part for part in appraisal.parts if part.component and STATES.index(part.state) >= _BAD]
    return sorted(bad, key=lambda part: part.score)


def _prices(options: list[OptionResult], appraisal: Appraisal) -> Ranges:
    bars = tuple(
        Bar(
            name=name_of(o),
            low=o.price.low,
            at=o.expected_price,
            high=o.price.high,
            said=say("{price} · {years}", price=money_range(o.price), years=years_said(o)),
            chosen=o.option == appraisal.verdict,
        )
        for o in options
    )
    start, end = min(0.0, *(bar.low for bar in bars)), max(bar.high for bar in bars)
    return Ranges(
        title=say("Price in {currency}, and years of good service for it", currency=appraisal.currency),
        bars=bars,
        start=start,
        end=end,
        ticks=money_ticks(start, end),
        zones=(),
        alt=" ".join(f"{bar.name}: {bar.said}." for bar in bars),
    )


def _chances(options: list[OptionResult]) -> Hundreds:
    whole = shares_of_100([o.chance_best for o in options])
    counts = tuple((name_of(o), count, of_100(o.chance_best)) for o, count in zip(options, whole, strict=True))
    return Hundreds(
        title=say("In how many of 100 possible outcomes each way comes out best for you"),
        counts=counts,
        alt=" ".join(f"{name}: {said}." for name, _, said in counts),
    )


def shares_of_100(shares: list[float]) -> list[int]:
    """Return shares as whole counts that add up to 100, by largest remainder.

    Examples
    --------
    >>> shares_of_100([0.335, 0.335, 0.33])
    [34, 33, 33]
    """
    counts = [int(100 * share) for share in shares]
    by_remainder = sorted(range(len(shares)), key=lambda i: counts[i] - 100 * shares[i])
    for i in by_remainder[: max(0, 100 - sum(counts))]:
        counts[i] += 1
    return counts
