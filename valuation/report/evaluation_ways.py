"""Of the written evaluation: the ways forward, side by side, in the words and figures of the conversation."""

from __future__ import annotations

from collections.abc import Callable

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.engine.prospects import ANOTHER, LET_GO, Prospect
from valuation.engine.rows import Tables
from valuation.facts.words import WAYS
from valuation.language import say
from valuation.report.axis import money_ticks
from valuation.report.client_words import paid_or_got, way_name
from valuation.report.document import Bar, Block, Grid, Hundreds, Ranges, Words
from valuation.report.format import exact, years_range
from valuation.report.occasion import Occasion
from valuation.report.quote import Quote, quote_of
from valuation.report.ways import ROWS, row_name


def in_order(appraisal: Appraisal) -> list[OptionResult]:
    """Return the options with work or without it as the ways are told, the one without work first."""
    return [option for way in WAYS if (option := appraisal.option(way)) is not None]


def way_of_verdict(appraisal: Appraisal) -> str:
    """Return the way that the verdict advises."""
    if appraisal.verdict != "retire":
        return appraisal.verdict
    return ANOTHER if appraisal.best.exchange else LET_GO


def way_named(appraisal: Appraisal) -> Callable[[str], str]:
    """Return what names an option as its way is named at the table, so that a paper has one name for each."""
    retired = next((option for option in appraisal.options if option.option == "retire"), None)
    gone = ANOTHER if retired and retired.exchange else LET_GO
    return lambda option: way_name(gone if option == "retire" else option)


def prices_in_short(appraisal: Appraisal, occasion: Occasion) -> Grid:
    """Return each way with its price and the good years it buys beside it, and how often it comes out best."""
    told = occasion.told
    return Grid(
        caption=say("What each way costs, and the good years you get"),
        head=(
            say("Way"),
            say("Price in {currency}, and good years", currency=appraisal.currency),
            say("Comes out best"),
        ),
        rows=tuple((way.name, way.price, count.words) for way, count in zip(told.ways, told.best.counts, strict=True)),
        align="lll",
        widths=(1, 2.2, 0.9),
        strong=tuple(i for i, way in enumerate(told.ways) if way.way == way_of_verdict(appraisal)),
    )


def ways(appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the ways in figures: prices as lines, counts of 100."""
    told = occasion.told
    return [
        Words(text=" ".join(note for row in ROWS if (note := told.notes.get(row)))),
        _prices(appraisal, tables, occasion),
        Hundreds(
            title=told.best.question,
            counts=tuple((count.name, count.of_100 or 0, count.words) for count in told.best.counts),
            alt=" ".join(f"{count.name}: {count.words}." for count in told.best.counts),
        ),
        Words(text=say("What is done, what stays and what it is like to live with each stands on the last pages.")),
    ]


def ways_side_by_side(occasion: Occasion) -> list[Block]:
    """Return the ways side by side: the table with the same rows for each, and what may come of them."""
    told = occasion.told
    rows = [(row_name(row), *(" ".join(way.rows[row]) for way in told.ways)) for row in ROWS]
    rows += [
        (row_name("good"), *(" ".join(side.text for side in way.good) or "–" for way in told.ways)),
        (row_name("bad"), *(" ".join(side.text for side in way.bad) or "–" for way in told.ways)),
    ]
    chances = tuple((chance.question, *(count.words for count in chance.counts)) for chance in told.chances)
    head = (say("Asked"), *(way.name for way in told.ways))
    return [
        _side_by_side(say("The ways forward, side by side"), head, tuple(rows)),
        # a table of its own, so that it stays whole beside the counts where a language needs more room
        _side_by_side(say("What may come of each way"), head, chances),
    ]


def _side_by_side(caption: str, head: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> Grid:
    widths = (0.68, *(1.0 for _ in head[1:]))
    return Grid(caption=caption, head=head, rows=rows, align="l" * len(head), widths=widths, style="side")


def _price_and_years(quote: Quote | None, prospect: Prospect) -> str:
    """Return a price with its good years, short enough to stand beside a line."""
    years = years_range(prospect.years) if round(prospect.years.high) else say("none")
    return say("{price}; good years: {years}", price=_priced(quote, prospect), years=years)


def _priced(quote: Quote | None, prospect: Prospect) -> str:
    """Return what is fixed and the most it can come to; where the piano goes what is paid or got, without a sign."""
    if quote is not None:
        fixed, most = exact(quote.total), exact(quote.most)
        return fixed if fixed == most else say("{fixed}, at most {most}", fixed=fixed, most=most)
    return paid_or_got(prospect.price)


def _bar(way: str, prospect: Prospect, quote: Quote | None, *, advised: bool) -> Bar:
    low = at = prospect.price.low if quote is None else float(quote.total)
    return Bar(
        name=way_name(way),
        low=low,
        at=prospect.expected_price if quote is None else at,
        high=max(prospect.price.high, low),
        said=_price_and_years(quote, prospect),
        chosen=advised,
    )


def _prices(appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Ranges:
    advised = way_of_verdict(appraisal)
    tax = tax_of(tables, appraisal.on)
    quotes = {option.option: quote_of(option, tax) for option in appraisal.options if option.lines}
    bars = tuple(
        _bar(way, prospect, quotes.get(way), advised=way == advised) for way, prospect in occasion.prospects.items()
    )
    start, end = min(0.0, *(bar.low for bar in bars)), max(bar.high for bar in bars)
    return Ranges(
        title=say(
            "Price in {currency}: the mark is what is fixed; in 9 of 10 such cases it ends on the line with what is "
            "found",
            currency=appraisal.currency,
        ),
        bars=bars,
        start=start,
        end=end,
        ticks=money_ticks(start, end),
        zones=(),
        alt=" ".join(f"{bar.name}: {bar.said}." for bar in bars),
    )
