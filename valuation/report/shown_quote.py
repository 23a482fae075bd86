"""The quote as it is shown: every line rounded first, and the sums are sums of what is shown. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.appraisal import Allowance, Appraisal, Line, OptionResult


@dataclass(frozen=True)
class Shown:
    """The figures of one option's quote, rounded so that a reader who adds up agrees. Money.

    Attributes
    ----------
    amounts : tuple of (labour, materials, outside, amount)
        For each line; the last is the sum of the three.
    held : tuple of float
        For each allowance, before tax.
    lines, allowances, before_tax, tax, total : float
    """

    lines_of: tuple[Line, ...]
    amounts: tuple[tuple[float, float, float, float], ...]
    held_for: tuple[Allowance, ...]
    held: tuple[float, ...]
    lines: float
    allowances: float
    before_tax: float
    tax: float
    total: float


def shown_quote(option: OptionResult, appraisal: Appraisal, step: float) -> Shown:
    """Return the quote of an option, each figure to the nearest `step`."""

    def rounded(amount: float) -> float:
        return round(amount / step) * step

    amounts = []
    for line in option.lines:
        pieces = rounded(line.labour), rounded(line.materials), rounded(line.outside)
        amounts.append((*pieces, sum(pieces)))
    share = option.tax / option.before_tax if option.before_tax else 0.0
    held_for = tuple(a for a in appraisal.allowances if a.option == option.option)
    held = tuple(rounded(a.expected / (1 + share)) for a in held_for)
    lines, allowances = sum(a[3] for a in amounts), sum(held)
    before_tax = lines + allowances
    tax = rounded(before_tax * share)
    return Shown(
        lines_of=option.lines,
        amounts=tuple(amounts),
        held_for=held_for,
        held=held,
        lines=lines,
        allowances=allowances,
        before_tax=before_tax,
        tax=tax,
        total=before_tax + tax,
    )
