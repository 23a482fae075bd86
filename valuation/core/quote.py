"""The quote behind a plan: its lines, what teardown may add, and what they add up to."""

from __future__ import annotations

import numpy as np

from valuation.core.appraisal import Allowance, Line
from valuation.core.expect import Expectations, Payoff
from valuation.core.rows import STATES, TREATMENTS


def quote_lines(
    expected: Expectations,
    charged: np.ndarray,
    first: np.ndarray,
    plan: np.ndarray | None,
    findings: dict[str, tuple[str, ...]],
) -> tuple[Line, ...]:
    """Return the lines of a quote, in the order of the work, expected amounts before tax.

    Parameters
    ----------
    charged : ndarray of bool, shape (O,)
        Operations of the plan, each once.
    first : ndarray of bool, shape (O,)
        Operations that a stop rule puts before all others.
    plan : ndarray of int, shape (P,), or None
    findings : dict of str to tuple of str
        Findings of each part, worst first.
    """
    shop, prices, stakes = expected.shop, expected.prices, expected.stakes
    chosen = [] if plan is None else [shop.choices[c].operation for c in plan if shop.choices[c].operation >= 0]
    lines = []
    for o in [*np.flatnonzero(charged & first), *np.flatnonzero(charged & ~first)]:
        row = shop.operations[o]
        labour = float(prices.labour[o] * stakes.hours_scale * stakes.rate_scale)
        material, outside = float(prices.material[o]), float(prices.outside[o])
        because = tuple(shop.operations[c].id for c in chosen if c != o and shop.brings[c, o])
        lines.append(
            Line(
                operation=row.id,
                name=row.name,
                plain=row.plain,
                part=row.part,
                hours=labour / float(prices.rate[o] * stakes.rate_scale) if prices.rate[o] else 0.0,
                rate=float(prices.rate[o] * stakes.rate_scale),
                labour=labour,
                materials=material,
                outside=outside,
                amount=labour + material + outside,
                findings=findings.get(row.part, ()),
                because=because,
                rows=(
                    f"operations:{row.id}",
                    f"rates:{row.where}",
                    *(f"materials:{item.material}" for item in row.materials),
                ),
            )
        )
    return tuple(lines)


def allowances(expected: Expectations, option: str, plan: np.ndarray, price: Payoff) -> tuple[Allowance, ...]:
    """Return what each treated part may add at teardown; with the plan's lines they make its expected price.

    The parts are opened one after the other: each allowance is what the expected price rises by when that
    part's true state is no longer taken to be as planned. So the allowances add up, also where two of them
    would need the same operation.
    """
    shop, condition = expected.shop, expected.condition
    as_planned = expected.outcome[plan][:, :, 0]
    factor = np.repeat(as_planned[:, :, None], 3, axis=2)
    before = float(price.of(factor.prod(axis=0) @ condition.exposure))
    found = []
    for p, c in enumerate(plan):
        others = [s for s in range(4) if shop.effective[c, s] != shop.effective[c, 0]]
        chance = float(condition.states[p, others].sum())
        if not others or chance <= 0:
            continue
        factor[p] = expected.factor[c]
        after = float(price.of(factor.prod(axis=0) @ condition.exposure))
        likeliest = max(others, key=lambda s: condition.states[p, s])
        instead = shop.operations[shop.effective[c, likeliest]]
        found.append(
            Allowance(
                option=option,
                part=shop.parts[p].id,
                operation=instead.id,
                name=instead.name,
                chance=chance,
                if_needed=(after - before) / chance,
                expected=after - before,
                rows=(f"operations:{instead.id}", f"operations:{shop.operations[shop.choices[c].operation].id}"),
            )
        )
        before = after
    return tuple(found)


def level_words(expected: Expectations, plan: np.ndarray) -> tuple[dict[str, str], dict[str, str]]:
    """Return the plan as part to level, and part to operation where something is done."""
    shop = expected.shop
    levels = {part.id: level.word for part, level in zip(shop.parts, shop.levels(plan), strict=True)}
    treatments = {
        shop.parts[shop.choices[c].part].id: shop.operations[shop.choices[c].operation].id
        for c in plan
        if shop.choices[c].operation >= 0
    }
    assert set(levels.values()) <= {"keep", *TREATMENTS}
    return levels, treatments


def state_word(odds: np.ndarray) -> str:
    """Return the likeliest state."""
    return STATES[int(np.argmax(odds))]
