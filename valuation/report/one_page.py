"""The one-page answer of the command line: what a technician can read in a minute."""

from __future__ import annotations

import textwrap

from valuation.engine.appraisal import Appraisal, FindingResult, OptionResult
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say, say_many
from valuation.report.format import low_to_high, money, money_range, number, of_100, years_range
from valuation.report.labels import in_sentence, short_day, size_words, year_words
from valuation.report.words import (
    assumed_sentence,
    check_sentence,
    clarity_sentence,
    flip_sentence,
    option_title,
    reason_sentence,
    settle_sentence,
    state_sentence,
    verdict_sentence,
)

WIDTH = 100
_MOST_REASONS, _MOST_CHECKS, _MOST_WARNINGS = 6, 4, 6
_ODDS = 27
"""Room for the odds of a part; more where a language needs it."""


def one_page(
    appraisal: Appraisal, visit: Visit, tables: Tables, prices_from: str = "", by_hand: tuple[str, ...] = ()
) -> str:
    """Return the appraisal as plain text, about a page.

    Parameters
    ----------
    appraisal : Appraisal
    visit : Visit
    tables : Tables
        For the names of the checks.
    prices_from : str
        What its prices rest on, where that isn't the band table alone.
    by_hand : tuple of str
        What a person has set, and why, in sentences.
    """
    blocks = [
        _head(appraisal, visit),
        _verdict(appraisal),
        _block(say("Prices"), [prices_from] if prices_from else []),
        _block(say("Changed by hand"), list(by_hand)),
        _options(appraisal),
        _work(appraisal),
        _condition(appraisal),
        _block(say("Why"), [reason_sentence(r, appraisal) for r in appraisal.reasons[:_MOST_REASONS]]),
        _block(say("What would change it"), _flips(appraisal)),
        _next(appraisal),
        _limits(appraisal, tables),
        _cautions(appraisal),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


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
    lines = [verdict_sentence(appraisal).upper(), clarity_sentence(appraisal), settle_sentence(appraisal)]
    return "\n".join(_wrap(line) for line in lines)


def _options(appraisal: Appraisal) -> str:
    header = (
        say("Options"),
        say("price"),
        say("worth after"),
        say("good years"),
        say("a year costs"),
        say("net"),
        say("best in"),
    )
    rows = [_option_row(option) for option in appraisal.options]
    widths = [max(len(row[i]) for row in (header, *rows)) for i in range(len(header))]
    table = []
    for row in (header, *rows):
        cells = [row[0].ljust(widths[0])] + [cell.rjust(w) for cell, w in zip(row[1:], widths[1:], strict=True)]
        table.append("  ".join(cells).rstrip())
    note = say(
        "Money in {currency}, tax included; low and high: 8 of 10 lie between. Net: over {years} years.",
        currency=appraisal.currency, years=f"{appraisal.horizon:.0f}",
    )  # fmt: skip
    over = [option_title(option) for option in appraisal.options if not option.affordable]
    if over:
        said = say("Beyond the budget of {amount}: {options}.", amount=money(appraisal.budget), options=", ".join(over))
        note = f"{note} {said}"
    return "\n".join([*table, _wrap(note)])


def _option_row(option: OptionResult) -> tuple[str, ...]:
    return (
        option_title(option),
        money_range(option.price),
        money(option.value_after.likely) if option.value_after.high else "-",
        years_range(option.years) if option.years.high else "-",
        money(option.cost_per_year.likely) if option.years.high else "-",
        money(option.expected_net),
        of_100(option.chance_best),
    )


def _work(appraisal: Appraisal) -> str:
    """The work of the verdict's plan, or of the nearest plan of work, with what it adds up to."""
    planned = [o for o in appraisal.options if o.treatments]
    if not planned:
        return ""
    best = appraisal.best
    option = best if best.treatments else max(planned, key=lambda o: o.expected_net)
    names = {line.operation: say(line.name) for line in option.lines}
    title = (
        say("The work") if option is best else say("The work, if it were to be a {option}", option=option_title(option))
    )
    treated = [names[o] for o in option.treatments.values() if o in names]
    held = [a for a in appraisal.allowances if a.option == option.option and a.expected >= 1]
    surprises = [
        say(
            "If teardown shows the {part} worse than it looks ({chance}): {operation}, {amount} more.",
            part=_part_name(appraisal, a.part), chance=of_100(a.chance), operation=say(a.name),
            amount=money(a.if_needed),
        )
        for a in sorted(held, key=lambda a: -a.expected)[:3]
    ]  # fmt: skip
    return _block(title, ["; ".join(treated) + ".", _sums(option, sum(a.expected for a in held)), *surprises])


def _sums(option: OptionResult, held: float) -> str:
    hours, price = f"{sum(line.hours for line in option.lines):.0f}", money(option.expected_price)
    count = len(option.lines)
    if not held:
        return say_many(
            "{count} operation, {hours} h; expected price {price} with tax.",
            "{count} operations, {hours} h; expected price {price} with tax.",
            count, hours=hours, price=price,
        )  # fmt: skip
    return say_many(
        "{count} operation, {hours} h; expected price {price} with tax, "
        "of which {held} is held for what teardown may show.",
        "{count} operations, {hours} h; expected price {price} with tax, "
        "of which {held} is held for what teardown may show.",
        count, hours=hours, price=price, held=money(held),
    )  # fmt: skip


def _part_name(appraisal: Appraisal, part: str) -> str:
    return say(next(row.name for row in appraisal.parts if row.part == part))


def _condition(appraisal: Appraisal) -> str:
    band = low_to_high(f"{appraisal.score_low:.0f}", f"{appraisal.score_high:.0f}")
    rows = []
    for part in appraisal.parts:
        if not part.component:
            continue
        telling = part.findings[0] if part.findings else None
        why = f"{say(telling.name)}: {_shown(telling)}" if telling else say("not looked at")
        scores = f"{part.score:3.0f} ({say('{low} to {high}', low=f'{part.low:2.0f}', high=f'{part.high:3.0f}')})"
        rows.append((say(part.name), scores, state_sentence(part, 2), why))
    name = max(len(say(part.name)) for part in appraisal.parts)
    odds = max(_ODDS, *(len(row[2]) for row in rows))
    lines = [f"  {row[0].ljust(name)}  {row[1]}  {row[2].ljust(odds)} {row[3]}".rstrip() for row in rows]
    head = f"{say('Condition')}   {say('{count} of 100', count=f'{appraisal.score:.0f}')} ({band})"
    return "\n".join([head, *lines])


def _shown(finding: FindingResult) -> str:
    grade = say(finding.grade)
    if finding.number is None:
        return grade
    unit = "" if finding.unit == "count" else f" {say(finding.unit)}"
    return f"{number(finding.number)}{unit} ({grade})"


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


def _limits(appraisal: Appraisal, tables: Tables) -> str:
    lines = []
    unseen = [say(part.name) for part in appraisal.parts if not part.looked_at]
    if unseen:
        lines.append(
            say("Nobody has looked at: {parts}. That counts as not known, never as good.", parts=", ".join(unseen))
        )
    if appraisal.cannot_see:
        names = {row.id: in_sentence(say(row.name)) for row in tables.checks}
        lines.append(say("Could not be seen: {checks}.", checks="; ".join(names[id_] for id_ in appraisal.cannot_see)))
    if appraisal.assumed:
        lines.append(assumed_sentence(appraisal))
    return _block(say("Limits"), lines)


def _cautions(appraisal: Appraisal) -> str:
    warnings = [caution for caution in appraisal.cautions if caution.rank != "note"][:_MOST_WARNINGS]
    notes = [caution for caution in appraisal.cautions if caution.rank == "note"]  # what a value here is: always said
    return _block(say("Cautions"), [say(caution.text) for caution in (*warnings, *notes)])


def _block(title: str, lines: list[str]) -> str:
    return "\n".join([title, *(_wrap(line, "  - ", "    ") for line in lines)]) if lines else ""


def _wrap(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
