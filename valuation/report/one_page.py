"""The one-page answer of the command line: what a technician can read in a minute."""

from __future__ import annotations

import textwrap

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Reason
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.engine.rows import Tables
from valuation.engine.rows.country import TaxRow
from valuation.facts.visit import Visit
from valuation.language import say, say_many
from valuation.report.evaluation_limits import always_said
from valuation.report.fault_words import line_answers, seen_words, stop_sentences, why_sentence, worst_part
from valuation.report.format import exact, low_to_high, money, money_range, of_100, years_range
from valuation.report.labels import in_sentence, short_day, size_words, with_capital, year_words
from valuation.report.not_yet import look_first
from valuation.report.quote import quote_of
from valuation.report.tax_words import with_tax
from valuation.report.words import (
    assumed_sentence,
    beside_the_verdict,
    check_sentence,
    clarity_sentence,
    flip_sentence,
    option_title,
    reason_sentence,
    settle_sentence,
    verdict_sentence,
)

WIDTH = 100
_PAYS = "pays"
"""Scope without contents of its own: its price stands with its option."""

_MOST_REASONS, _MOST_CHECKS, _MOST_WARNINGS, _MOST_IF_FOUND = 6, 4, 6, 3


def one_page(
    appraisal: Appraisal, visit: Visit, tables: Tables, prices_from: str = "", by_hand: tuple[str, ...] = ()
) -> str:
    """Return the appraisal as plain text, about a page.

    Parameters
    ----------
    tables : Tables
        For the names of the checks.
    prices_from : str
        What its prices rest on, where that isn't the band table alone.
    by_hand : tuple of str
        What a person has set, and why, in sentences.
    """
    if not appraisal.ready:
        return "\n\n".join((_head(appraisal, visit), _not_yet(appraisal, visit, tables))) + "\n"
    blocks = [
        _head(appraisal, visit),
        _verdict(appraisal),
        _block(say("Prices"), [prices_from] if prices_from else []),
        _block(say("Changed by hand"), list(by_hand)),
        _options(appraisal, tax_of(tables, appraisal.on)),
        _work(appraisal, visit, tables),
        _condition(appraisal),
        _block(say("Why"), [reason_sentence(r, appraisal) for r in _weighed(appraisal)[:_MOST_REASONS]]),
        _block(say("What would change it"), _flips(appraisal)),
        _next(appraisal),
        _limits(appraisal, visit, tables),
        _cautions(appraisal),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _not_yet(appraisal: Appraisal, visit: Visit, tables: Tables) -> str:
    """What to look at first, what must not be done meanwhile, and what a value here is not."""
    first = look_first(appraisal, visit, tables)
    head = [verdict_sentence(appraisal).upper(), *stop_sentences(appraisal), first.why, first.locked]
    lines = [_wrap(line) for line in head if line]
    stations = [_block(with_capital(station.name), list(station.checks)) for station in first.stations]
    said = _block(say("Cautions"), always_said(appraisal, tables))
    return "\n\n".join(("\n".join(lines), "\n".join((first.minutes, *stations)), said))


def _weighed(appraisal: Appraisal) -> list[Reason]:
    """The reasons by weight; what must not be done stands above them all."""
    return [reason for reason in appraisal.reasons if reason.code != "stop_rule"]


def _head(appraisal: Appraisal, visit: Visit) -> str:
    piano = visit.piano
    facts = [
        say(piano.kind),
        year_words(piano),
        size_words(piano),
        say("visited {day}", day=short_day(visit.on)),
        say("prices of {day}", day=short_day(appraisal.on)),
        say("tables {hash}", hash=appraisal.tables_hash[:8]),
    ]
    return f"{appraisal.title}\n{' · '.join(facts)}"


def _verdict(appraisal: Appraisal) -> str:
    lines = [
        *stop_sentences(appraisal),
        verdict_sentence(appraisal).upper(),
        *beside_the_verdict(appraisal),
        clarity_sentence(appraisal),
        settle_sentence(appraisal),
    ]
    return "\n".join(_wrap(line) for line in lines)


def _options(appraisal: Appraisal, tax: TaxRow) -> str:
    header = (
        say("Options"),
        say("price"),
        say("at most"),
        say("worth after"),
        say("good years"),
        say("net"),
        say("best in"),
    )
    rows = [_option_row(option, tax) for option in appraisal.options]
    widths = [max(len(row[i]) for row in (header, *rows)) for i in range(len(header))]
    table = []
    for row in (header, *rows):
        cells = [row[0].ljust(widths[0])] + [cell.rjust(w) for cell, w in zip(row[1:], widths[1:], strict=True)]
        table.append("  ".join(cells).rstrip())
    note = say(
        "Money in {currency}. Price: what is fixed; at most: with everything that may be found. Good "
        "years: 8 of 10 lie between. Net: over {years} years.",
        currency=with_tax(appraisal.currency, tax), years=f"{appraisal.horizon:.0f}",
    )  # fmt: skip
    over = [option_title(option) for option in appraisal.options if not option.affordable]
    if over and appraisal.budget is not None:
        said = say("Beyond the budget of {amount}: {options}.", amount=money(appraisal.budget), options=", ".join(over))
        note = f"{note} {said}"
    return "\n".join([*table, _wrap(note), *map(_wrap, _scopes(appraisal, tax))])


def _scopes(appraisal: Appraisal, tax: TaxRow) -> list[str]:
    """How far one may go, each scope with the price of what is fixed in it."""
    offered = [
        f"{say(scope.name)} {exact(quote_of(scope.result, tax).total)}"
        for scope in appraisal.scopes
        if scope.offered and scope.scope != _PAYS
    ]
    return [say("How far to go: {scopes}.", scopes="; ".join(offered))] if offered else []


def _option_row(option: OptionResult, tax: TaxRow) -> tuple[str, ...]:
    gone, quote = option.option == "retire", quote_of(option, tax)
    return (
        option_title(option),
        money_range(option.price) if gone else exact(quote.total),
        "-" if gone else exact(quote.most),
        money(option.value_after.likely) if option.value_after.high else "-",
        years_range(option.years) if option.years.high else "-",
        money(option.expected_net),
        of_100(option.chance_best),
    )


def _work(appraisal: Appraisal, visit: Visit, tables: Tables) -> str:
    """The work of the verdict's plan, or of the nearest plan of work, with what it adds up to."""
    best = appraisal.best
    planned = [best] if best.treatments else [o for o in appraisal.options if o.treatments and o.option != "keep"]
    if not planned:
        return ""
    option = max(planned, key=lambda o: o.expected_net)
    title = say("The work") if option is best else say("The work, for: {option}", option=option_title(option))
    kind = visit.piano.kind
    fixed = [
        f"{say(line.name)}: {line_answers(line, appraisal, tables, kind)}"
        for line in option.lines
        if line.operation in option.treatments.values()
    ]
    found = [
        say(
            "If found ({chance}): {seen} Then {operation}, {amount} more.",
            chance=of_100(a.chance), seen=seen_words(a, tables, kind), operation=say(a.name),
            amount=money(a.if_needed),
        )
        for a in option.allowances[:_MOST_IF_FOUND]
    ]  # fmt: skip
    return _block(title, [*fixed, _sums(option, tax_of(tables, appraisal.on)), *found])


def _sums(option: OptionResult, tax: TaxRow) -> str:
    quote = quote_of(option, tax)
    hours, price = f"{sum(line.hours for line in option.lines):.0f}", with_tax(exact(quote.total), tax)
    fixed = say_many(
        "{count} fixed operation, {hours} h: {price}.",
        "{count} fixed operations, {hours} h: {price}.",
        len(option.lines), hours=hours, price=price,
    )  # fmt: skip
    if not option.allowances:
        return fixed
    more = say_many(
        "{count} more only if it is found, each with its own price; at most {most} in all.",
        "{count} more only if they are found, each with its own price; at most {most} in all.",
        len(option.allowances), most=exact(quote.most),
    )  # fmt: skip
    return f"{fixed} {more}"


def _condition(appraisal: Appraisal) -> str:
    """The components, each with its score, its band, its worst part and what that hangs on."""
    band = low_to_high(f"{appraisal.score_low:.0f}", f"{appraisal.score_high:.0f}")
    head = f"{say('Condition')}   {say('{count} of 100', count=f'{appraisal.score:.0f}')} ({band})"
    lines = []
    width = max(len(say(row.name)) for row in appraisal.components)
    for row in appraisal.components:
        part = worst_part(row, appraisal)
        scores = f"{row.score:3.0f} ({say('{low} to {high}', low=f'{row.low:2.0f}', high=f'{row.high:3.0f}')})"
        start = f"  {say(row.name).ljust(width)}  {scores}  "
        told = f"{in_sentence(say(part.name))}: {why_sentence(part)}"
        lines.append(_wrap(told, start, " " * len(start)))
    return "\n".join([head, *lines])


def _flips(appraisal: Appraisal) -> list[str]:
    turning = [flip for flip in appraisal.flips if flip.below is not None or flip.above is not None or flip.state]
    if not turning:
        return [say("Nothing within reach turns this verdict.")]
    parts = sorted((f for f in turning if f.state), key=lambda f: -f.chance)[:2]
    return [flip_sentence(flip, appraisal) for flip in [*(f for f in turning if not f.state), *parts]]


def _next(appraisal: Appraisal) -> str:
    if appraisal.stop_looking:
        return ""
    checks = [c for c in appraisal.next_checks if c.gain >= 1 or c.swing >= 1][:_MOST_CHECKS]
    return _block(say("Check next"), [check_sentence(check, appraisal) for check in checks])


def _limits(appraisal: Appraisal, visit: Visit, tables: Tables) -> str:
    lines = []
    unseen = [say(part.name) for part in appraisal.parts if not part.looked_at]
    if unseen:
        lines.append(
            say("Nobody has looked at: {parts}. That counts as not known, never as good.", parts=", ".join(unseen))
        )
    if appraisal.cannot_see:
        checks = tables.of_kind("checks", visit.piano.kind)
        names = {id_: in_sentence(say(row.name)) for id_, row in checks.items()}
        lines.append(say("Could not be seen: {checks}.", checks="; ".join(names[id_] for id_ in appraisal.cannot_see)))
    lines += [say(conflict.says) for conflict in appraisal.conflicts]
    if appraisal.assumed:
        lines.append(assumed_sentence(appraisal))
    return _block(say("Limits"), lines)


def _cautions(appraisal: Appraisal) -> str:
    warnings = [caution for caution in appraisal.cautions if caution.rank != "note"][:_MOST_WARNINGS]
    # what a value here is, is always said; what goes with single operations is not for one page
    notes = [caution for caution in appraisal.cautions if caution.rank == "note" and not caution.operation]
    return _block(say("Cautions"), [say(caution.text) for caution in (*warnings, *notes)])


def _block(title: str, lines: list[str]) -> str:
    return "\n".join([title, *(_wrap(line, "  - ", "    ") for line in lines)]) if lines else ""


def _wrap(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
