"""The grid of comparables: the sales most like the piano, each brought to it step by step in money.

The price of each sale is adjusted for one difference after another, first for how and when it was sold, then for what
was sold. An adjustment is what the model says the difference is worth, so each can be traced to the rows of the band
table and to what the sales say beyond them; that for time also to the rows of the price index.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from valuation.facts.visit import Piano, Range
from valuation.sales.model import SalesModel
from valuation.sales.sale import Sale
from valuation.sales.traits import ATTRIBUTES, FROM_THE_TABLE, Traits

_TRAIT_OF = {"time": "years_before", "size": "size_mm", "age": "year"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjustment:
    """What one difference between a sale and the piano is worth.

    Attributes
    ----------
    attribute : str
        One of `valuation.sales.traits.ATTRIBUTES`.
    sale_has, piano_has : str or float
        The difference itself.
    money : float
        Added to the price of the sale, in whole units [money].
    sources : tuple of str
        ``file:line`` of the rows of the band table, names of the coefficients, ``file:line`` of the rows of the price
        index.
    """

    attribute: str
    sale_has: str | float
    piano_has: str | float
    money: float
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparable:
    """One sale, brought to the piano.

    Attributes
    ----------
    distance : float
        How far the sale is from the piano, as the size of its adjustments in logarithms [-].
    adjustments : tuple of Adjustment
        In the order in which they were made; their sum and the price make `adjusted`.
    adjusted : float
        What the sale says of the piano [money].
    gross_share : float
        Sum of the sizes of the adjustments, over the price [-].
    weak : bool
        So much had to be adjusted that it says little.
    assumed : tuple of str
        What isn't known of the sale and was taken as usual.
    """

    sale: Sale
    distance: float
    adjustments: tuple[Adjustment, ...]
    adjusted: float
    gross_share: float
    weak: bool
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The nearest sales and what they suggest.

    Attributes
    ----------
    comparables : tuple of Comparable
        The nearest first.
    suggests : Range or None
        Least, middle and greatest adjusted price of those counted; None where there is no sale [money].
    counted : tuple of str
        Sales that the range counts: those that aren't weak, or all where fewer than three aren't.
    """

    comparables: tuple[Comparable, ...]
    suggests: Range | None
    counted: tuple[str, ...]


def compare(model: SalesModel, piano: Piano, state: str, *, restored: str = "no", count: int | None = None) -> Grid:
    """Lay out the sales nearest to a piano.

    Parameters
    ----------
    model : SalesModel
        Of the piano's kind.
    piano : Piano
        What isn't known of it is taken as usual.
    state : str
        State in which it is compared.
    restored : str
        Whether it counts as restored.
    count : int, optional
        Number of sales; the setting if left out [-].

    Returns
    -------
    Grid
        Features of build are not adjusted for: the sales don't tell them.
    """
    subject = model.traits_of_piano(piano, state, restored)
    compared = [_adjust(model, sale, subject) for sale in model.sales]
    nearest = sorted(compared, key=lambda one: (one.distance, one.sale.id))[: count or model.settings.comparables]
    strong = [one for one in nearest if not one.weak]
    counted = strong if len(strong) >= 3 else nearest
    prices = [one.adjusted for one in counted]
    return Grid(
        comparables=tuple(nearest),
        suggests=Range(low=min(prices), likely=median(prices), high=max(prices)) if prices else None,
        counted=tuple(one.sale.id for one in counted),
    )


def _adjust(model: SalesModel, sale: Sale, subject: Traits) -> Comparable:
    stages = [model.traits_of_sale(sale)]
    for attribute in ATTRIBUTES:
        name = _TRAIT_OF.get(attribute, attribute)
        stages.append(replace(stages[-1], **{name: getattr(subject, name)}))
    seen = model.layout.see(stages, np.ones(len(stages)))
    moves = np.diff(model.log_prices(stages))
    drift = math.log(model.index.factor(sale.kind, sale.sold_on, model.on))
    moves[ATTRIBUTES.index("time")] += drift
    changed = np.diff(np.column_stack([seen.known, seen.shape]), axis=0) != 0
    adjustments, running = [], sale.price
    for index, (attribute, move) in enumerate(zip(ATTRIBUTES, moves, strict=True)):
        before, after = stages[index : index + 2]
        name = _TRAIT_OF.get(attribute, attribute)
        if getattr(before, name) == getattr(after, name):
            continue
        money = float(round(running * math.expm1(move)))
        running += money
        sources = _rows_between(model, before, after) if attribute in FROM_THE_TABLE else []
        if model.fit or attribute not in FROM_THE_TABLE:
            columns = (*model.layout.known, *model.layout.shape)
            sources += [one for (_, one, _), used in zip(columns, changed[index], strict=True) if used]
        if attribute == "time" and drift:
            sources += model.index.places_of(sale.sold_on, model.on)
        adjustments.append(
            Adjustment(
                attribute=attribute,
                sale_has=getattr(before, name),
                piano_has=getattr(after, name),
                money=money,
                sources=tuple(sources),
            )
        )
    net = math.fsum(one.money for one in adjustments)
    gross = math.fsum(abs(one.money) for one in adjustments)
    return Comparable(
        sale=sale,
        distance=float(np.sqrt((moves**2).sum())),
        adjustments=tuple(adjustments),
        adjusted=sale.price + net,
        gross_share=gross / sale.price,
        weak=gross / sale.price > model.settings.weak_share,
        assumed=model.assumed_of(sale),
    )


def _rows_between(model: SalesModel, before: Traits, after: Traits) -> list[str]:
    """Return the band rows from which one difference is read: none where both stand in the same one, in one state."""
    bands = [model.band_of(one) for one in (before, after)]
    if bands[0] is bands[1] and before.state == after.state:
        return []
    return list(dict.fromkeys(map(model.place_of, bands)))
