"""What other tables would do to many evaluations, in two sentences."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.language import numeral, say, say_many
from valuation.report.format import percent

SHOWN_FROM = 0.0005
"""A price that moves by less is told as one that stays [-]."""


def effect_sentences(count: int, turned: int, moved: Sequence[float]) -> str:
    """Return how many verdicts turn and how far prices of work move.

    Parameters
    ----------
    count, turned : int
        Evaluations looked at, and those of them whose verdict would be another one.
    moved : sequence of float
        By what share the price of work of each would move [-].
    """
    first = (
        say_many(
            "Of {all} evaluations {count} would have another verdict.",
            "Of {all} evaluations {count} would have another verdict.",
            turned,
            all=count,
        )
        if turned
        else say("None of {count} evaluations would have another verdict.", count=count)
    )
    moved = [share for share in moved if abs(share) >= SHOWN_FROM]
    if not moved:
        return f"{first} {say('No price of work moves.')}"
    low, high = signed_percent(min(moved)), signed_percent(max(moved))
    between = low if low == high else say("{low} to {high}", low=low, high=high)
    return f"{first} {say('Prices of work move by {range}.', range=between)}"


def signed_percent(share: float) -> str:
    """Return a share with its sign, to a tenth of a per cent.

    Examples
    --------
    >>> signed_percent(0.061), signed_percent(-0.124), signed_percent(0.00001)
    ('+6.1%', '−12.4%', '0%')
    """
    if abs(share) < SHOWN_FROM:
        return percent(0)
    text = f"{abs(100 * share):.1f}".removesuffix(".0")
    return say("{number}%", number=f"{'+' if share > 0 else '−'}{numeral(text)}")
