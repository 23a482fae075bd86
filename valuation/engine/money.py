"""Money: what each operation and each piece of a small repair comes to on a day, with its spread.

In: the tables, a catalogue, a day. Out: `Prices`, made once and kept, in the shop's currency: each `Price` before tax,
for the lines of a quote; all that choices are weighed by with tax, which may differ by kind of line. Low and high of a
three-point figure are read as 1 in 10 and 9 in 10 of a lognormal about the likely figure, its median:

    expected labour = hours * rate * exp((own spread^2 + job spread^2) / 2)

One factor for the whole job runs through all hours: jobs run over as a whole, not operation by operation.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache
from typing import Protocol, TypeVar

import numpy as np

from valuation.engine.arrays import Floats
from valuation.engine.catalogue import Catalogue
from valuation.engine.rows.country import TaxRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.work import MaterialRow, OperationRow, Quantity
from valuation.facts.errors import NotInForce

Z90 = 1.2815515655446004
"""The standard normal's 90 % point."""


class Dated(Protocol):
    """A row that holds from a day on, and perhaps to another."""

    @property
    def valid_from(self) -> date:
        """First day."""

    @property
    def valid_to(self) -> date | None:
        """Last day; None means still valid."""


Row = TypeVar("Row", bound=Dated)


def in_force(rows: Sequence[Row], on: date, what: str) -> Row:
    """Return the one row in force on a day.

    Raises
    ------
    NotInForce
        If there is none; names the days for which there are rows.
    """
    for row in rows:
        if row.valid_from <= on and (row.valid_to is None or on <= row.valid_to):
            return row
    raise NotInForce(what, on, min((row.valid_from for row in rows), default=None))


def log_spread(low: float, likely: float, high: float) -> float:
    """Return the standard deviation of the logarithm of a three-point figure [-].

    Examples
    --------
    >>> round(log_spread(16, 22, 32), 3)
    0.27
    """
    if likely == 0 or high == likely == low:
        return 0.0
    if low == 0:
        return math.log(high / likely) / Z90
    return math.log(high / low) / (2 * Z90)


@dataclass(frozen=True, slots=True)
class Price:
    """What one thing comes to before tax: expected amounts, and the spread of each as a logarithm.

    Attributes
    ----------
    hours : float
        Expected hours [h].
    rate : float
        Price of an hour.
    labour, material, outside : float
        Expected amounts.
    own_spread : float
        Spread of its hours beside the job's.
    other_spread : float
        Spread of materials and bought-in work together.
    """

    hours: float
    rate: float
    labour: float
    material: float
    outside: float
    own_spread: float
    other_spread: float

    @property
    def amount(self) -> float:
        """Expected amount before tax."""
        return self.labour + self.material + self.outside

    def taxed(self, tax: TaxRow) -> Price:
        """Return the same with tax in each amount."""
        return replace(
            self,
            labour=(1 + tax.labour) * self.labour,
            material=(1 + tax.material) * self.material,
            outside=(1 + tax.outside) * self.outside,
        )


@dataclass(frozen=True, eq=False)
class Prices:
    """What everything in a catalogue costs on a day.

    Attributes
    ----------
    operations : dict of str to Price
        The set-up of small repairs, all of larger work; before tax.
    pieces : tuple of Price
        A piece of each cure, in the catalogue's order; before tax.
    job_spread : float
        Spread that all hours share, standard deviation of the logarithm.
    tax : TaxRow
        What is added to each kind of line.
    follows : tuple of tuple of str
        What the small repair of each cure brings along, in the catalogue's order.
    setup_labour, setup_other, piece_labour, piece_other : ndarray, shape (C + 1,)
        Of each cure as a small repair, with tax; 0 for the last, which stands for none.
    """

    operations: dict[str, Price]
    pieces: tuple[Price, ...]
    job_spread: float
    tax: TaxRow
    follows: tuple[tuple[str, ...], ...]
    setup_labour: Floats
    setup_other: Floats
    piece_labour: Floats
    piece_other: Floats

    @cached_property
    def with_tax(self) -> dict[str, Price]:
        """The operations' prices with tax."""
        return {name: price.taxed(self.tax) for name, price in self.operations.items()}

    def labour(self, names: Iterable[str]) -> float:
        """Return the expected labour of operations with tax; the same to the last bit in any order."""
        return math.fsum(self.with_tax[name].labour for name in names)

    def other(self, names: Iterable[str]) -> float:
        """Return the expected materials and bought-in work of operations with tax."""
        return math.fsum(self.with_tax[name].material + self.with_tax[name].outside for name in names)


@lru_cache(maxsize=32)
def prices_of(tables: Tables, catalogue: Catalogue, on: date) -> Prices:
    """Return what everything costs on a day.

    Raises
    ------
    NotInForce
        If no rate, no price of a material, or no tax is in force on that day.
    """
    materials = _materials(tables, catalogue, on)
    job = tables.settings.job_spread
    rates = {
        name: in_force([row for row in tables.rates if row.id == name], on, f"rate '{name}'").per_hour
        for name in sorted({row.where for row in catalogue.operations.values()})
    }
    pieces = tuple(
        _price(
            (row.piece_low, row.piece_likely, row.piece_high), rates[catalogue.operations[row.operation].where], job,
            row.piece_materials, materials,
            _factor(tables, catalogue, catalogue.operations[row.operation]),
        )
        for row in catalogue.cures
    )  # fmt: skip
    operations = {
        name: _whole(row, rates[row.where], job, materials, _factor(tables, catalogue, row))
        for name, row in catalogue.operations.items()
    }
    for i, cure in enumerate(catalogue.cures):
        if catalogue.operations[cure.operation].level != "small":
            # A larger remedy does all its pieces, whatever set it off.
            count = catalogue.usual_extent[catalogue.network.index[cure.fault], 3]
            operations[cure.operation] = _together(operations[cure.operation], pieces[i], count)
    tax = tax_of(tables, on)
    follows = tuple(_brought(catalogue, cure.operation, tables.settings.keep_operations) for cure in catalogue.cures)
    setups = [
        [operations[name].taxed(tax) for name in (cure.operation, *brought)]
        for cure, brought in zip(catalogue.cures, follows, strict=True)
    ]
    each = [price.taxed(tax) for price in pieces]
    return Prices(
        operations=operations,
        pieces=pieces,
        job_spread=job,
        tax=tax,
        follows=follows,
        setup_labour=np.array([*(sum(price.labour for price in setup) for setup in setups), 0.0]),
        setup_other=np.array([*(sum(price.material + price.outside for price in setup) for setup in setups), 0.0]),
        piece_labour=np.array([*(price.labour for price in each), 0.0]),
        piece_other=np.array([*(price.material + price.outside for price in each), 0.0]),
    )


def _materials(tables: Tables, catalogue: Catalogue, on: date) -> dict[str, MaterialRow]:
    """Return the row in force of everything that is bought for some work of a catalogue."""
    bought = [*(row.materials for row in catalogue.operations.values()), *(c.piece_materials for c in catalogue.cures)]
    by_id: dict[str, list[MaterialRow]] = {}
    for row in tables.materials:
        by_id.setdefault(row.id, []).append(row)
    names = dict.fromkeys(item.material for quantities in bought for item in quantities)
    return {name: in_force(by_id[name], on, f"material '{name}'") for name in names}


def tax_of(tables: Tables, on: date) -> TaxRow:
    """Return how the shop is taxed on a day.

    Raises
    ------
    NotInForce
        If nothing is in force on that day.
    """
    name = tables.settings.tax
    return in_force([row for row in tables.taxes if row.id == name], on, f"tax '{name}'")


def _brought(catalogue: Catalogue, name: str, usual: tuple[str, ...]) -> tuple[str, ...]:
    """Return what must follow a small repair and no opening for it brings."""
    brought = set(usual)
    row = catalogue.operations[name]
    for opening in catalogue.access.openings:
        if catalogue.access.admits(opening, row):
            brought |= opening.operations
            break
    return tuple(other for other in follow_ups(catalogue, name) if other not in brought)


def follow_ups(catalogue: Catalogue, name: str) -> tuple[str, ...]:
    """Return the operations that must come after one, those that are no remedies themselves."""
    return tuple(
        other
        for other in catalogue.operations[name].followed_by
        if other in catalogue.operations and catalogue.operations[other].level in ("follow", "service", "access")
    )


def _factor(tables: Tables, catalogue: Catalogue, row: OperationRow) -> float:
    """Return by how much the piano's features multiply the hours of an operation."""
    return math.prod(
        feature.factor
        for feature in tables.feature_hours
        if feature.feature in catalogue.features and feature.applies_to in (row.id, f"part:{row.part}")
    )


def _whole(row: OperationRow, rate: float, job: float, materials: dict[str, MaterialRow], factor: float) -> Price:
    hours = (row.hours_low, row.hours_likely, row.hours_high)
    return _price(hours, rate, job, row.materials, materials, factor)


def _price(
    hours: tuple[float, float, float],
    rate: float,
    job: float,
    quantities: tuple[Quantity, ...],
    materials: dict[str, MaterialRow],
    factor: float,
) -> Price:
    """Return what so many hours, materials and bought-in work come to."""
    own = math.sqrt(max(log_spread(*hours) ** 2 - job**2, 0.0))
    expected_hours = factor * hours[1] * math.exp((own**2 + job**2) / 2)
    material, outside, weighted = 0.0, 0.0, 0.0
    for item in quantities:
        row = materials[item.material]
        sigma = log_spread(row.price_low, row.price_likely, row.price_high)
        each = row.price_likely * math.exp(sigma**2 / 2) * (1 + row.waste) * (1 + row.markup)
        weighted += item.amount * each * sigma
        if row.taxed_as == "outside":
            outside += item.amount * each
        else:
            material += item.amount * each
    other = material + outside
    return Price(
        hours=expected_hours,
        rate=rate,
        labour=expected_hours * rate,
        material=material,
        outside=outside,
        own_spread=own,
        other_spread=weighted / other if other else 0.0,
    )


def _together(one: Price, piece: Price, count: float) -> Price:
    """Return a price with so many pieces added, its spread weighted by labour."""
    labour = one.labour + count * piece.labour
    one_other, more_other = one.material + one.outside, count * (piece.material + piece.outside)
    other = one_other + more_other
    own = one.labour * one.own_spread + count * piece.labour * piece.own_spread
    spread = one_other * one.other_spread + more_other * piece.other_spread
    return Price(
        hours=one.hours + count * piece.hours,
        rate=one.rate,
        labour=labour,
        material=one.material + count * piece.material,
        outside=one.outside + count * piece.outside,
        own_spread=own / labour if labour else 0.0,
        other_spread=spread / other if other else 0.0,
    )
