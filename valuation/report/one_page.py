"""The one-page answer of the command line: what a technician can read in a minute."""

from __future__ import annotations

import textwrap

from valuation.core.appraisal import Appraisal, FindingResult, OptionResult
from valuation.core.visit import Visit
from valuation.report.format import money, money_range, number, of_100, years_range
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
_MOST_REASONS, _MOST_CHECKS, _MOST_CAUTIONS = 6, 4, 6


def one_page(appraisal: Appraisal, visit: Visit, prices_from: str = "", by_hand: tuple[str, ...] = ()) -> str:
    """Return the appraisal as plain text, about a page.

    Parameters
    ----------
    appraisal : Appraisal
    visit : Visit
    prices_from : str
        What its prices rest on, where that isn't the band table alone.
    by_hand : tuple of str
        What a person has set, and why, in sentences.
    """
    blocks = [
        _head(appraisal, visit),
        _verdict(appraisal),
        _block("Prices", [prices_from] if prices_from else []),
        _block("Changed by hand", list(by_hand)),
        _options(appraisal),
        _work(appraisal),
        _condition(appraisal),
        _block("Why", [reason_sentence(r, appraisal) for r in appraisal.reasons[:_MOST_REASONS]]),
        _block("What would change it", _flips(appraisal)),
        _next(appraisal),
        _limits(appraisal),
        _cautions(appraisal),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _head(appraisal: Appraisal, visit: Visit) -> str:
    piano = visit.piano
    about = "about " if piano.year_is_about else ""
    facts = [
        piano.kind,
        f"{about}{piano.year}" if piano.year else "year not known",
        f"{piano.size_mm / 10:.0f} cm" if piano.size_mm else "size not known",
        f"visited {visit.on}",
        f"prices of {appraisal.on}",
        f"tables {appraisal.tables_hash[:8]}",
    ]
    return f"{appraisal.title}\n{' · '.join(facts)}"


def _verdict(appraisal: Appraisal) -> str:
    lines = [verdict_sentence(appraisal).upper(), clarity_sentence(appraisal), settle_sentence(appraisal)]
    return "\n".join(_wrap(line) for line in lines)


def _options(appraisal: Appraisal) -> str:
    header = ("Options", "price", "worth after", "good years", "a year costs", "net", "best in")
    rows = [_option_row(option) for option in appraisal.options]
    widths = [max(len(row[i]) for row in (header, *rows)) for i in range(len(header))]
    table = []
    for row in (header, *rows):
        cells = [row[0].ljust(widths[0])] + [cell.rjust(w) for cell, w in zip(row[1:], widths[1:], strict=True)]
        table.append("  ".join(cells).rstrip())
    note = (
        f"Money in {appraisal.currency}, tax included; low and high: 8 of 10 lie between. "
        f"Net: over {appraisal.horizon:.0f} years."
    )
    over = [option_title(option) for option in appraisal.options if not option.affordable]
    if over:
        note += f" Beyond the budget of {money(appraisal.budget)}: {', '.join(over)}."
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
    names = {line.operation: line.name for line in option.lines}
    title = "The work" if option is best else f"The work, if it were to be a {option_title(option)}"
    treated = [f"{names[o]}" for o in option.treatments.values() if o in names]
    hours = sum(line.hours for line in option.lines)
    held = [a for a in appraisal.allowances if a.option == option.option and a.expected >= 1]
    sums = (
        f"{len(option.lines)} operations, {hours:.0f} h; expected price {money(option.expected_price)} with tax"
        + (f", of which {money(sum(a.expected for a in held))} is held for what teardown may show" if held else "")
        + "."
    )
    surprises = [
        f"If teardown shows the {_part_name(appraisal, a.part)} worse than it looks ({of_100(a.chance)}): "
        f"{a.name}, {money(a.if_needed)} more."
        for a in sorted(held, key=lambda a: -a.expected)[:3]
    ]
    return _block(title, ["; ".join(treated) + ".", sums, *surprises])


def _part_name(appraisal: Appraisal, part: str) -> str:
    return next(row.name for row in appraisal.parts if row.part == part)


def _condition(appraisal: Appraisal) -> str:
    lines = [f"Condition   {appraisal.score:.0f} of 100 ({appraisal.score_low:.0f} to {appraisal.score_high:.0f})"]
    width = max(len(part.name) for part in appraisal.parts)
    for part in appraisal.parts:
        if not part.component:
            continue
        telling = part.findings[0] if part.findings else None
        why = f"{telling.name}: {_shown(telling)}" if telling else "not looked at"
        odds = state_sentence(part).split(", ")
        lines.append(
            f"  {part.name.ljust(width)}  {part.score:3.0f} ({part.low:2.0f} to {part.high:3.0f})  "
            f"{', '.join(odds[:2]):27} {why}".rstrip()
        )
    return "\n".join(lines)


def _shown(finding: FindingResult) -> str:
    if finding.number is None:
        return finding.grade
    unit = "" if finding.unit == "count" else f" {finding.unit}"
    return f"{number(finding.number)}{unit} ({finding.grade})"


def _flips(appraisal: Appraisal) -> list[str]:
    turning = [flip for flip in appraisal.flips if flip.below is not None or flip.above is not None or flip.state]
    if not turning:
        return ["Nothing within reach turns this verdict."]
    parts = sorted((f for f in turning if f.state), key=lambda f: -f.chance)[:2]
    return [flip_sentence(flip, appraisal) for flip in [*(f for f in turning if not f.state), *parts]]


def _next(appraisal: Appraisal) -> str:
    if appraisal.stop_looking:
        return ""
    checks = [c for c in appraisal.next_checks if c.gain >= 1 or c.swing >= 1][:_MOST_CHECKS]
    return _block("Check next", [check_sentence(check, appraisal) for check in checks])


def _limits(appraisal: Appraisal) -> str:
    lines = []
    unseen = [part.name for part in appraisal.parts if not part.looked_at]
    if unseen:
        lines.append("Nobody has looked at: " + ", ".join(unseen) + ". That counts as not known, never as good.")
    if appraisal.cannot_see:
        lines.append("Could not be seen: " + ", ".join(appraisal.cannot_see) + ".")
    if appraisal.assumed:
        lines.append(assumed_sentence(appraisal))
    return _block("Limits", lines)


def _cautions(appraisal: Appraisal) -> str:
    order = [c for c in appraisal.cautions if c.rank != "note"] + [c for c in appraisal.cautions if c.rank == "note"]
    return _block("Cautions", [caution.text for caution in order[:_MOST_CAUTIONS]])


def _block(title: str, lines: list[str]) -> str:
    return "\n".join([title, *(_wrap(line, "  - ", "    ") for line in lines)]) if lines else ""


def _wrap(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
