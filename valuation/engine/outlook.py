"""Outlook: what a state of a part is worth: share of the value, playing and service at points in time.

In: a catalogue, market, stakes. Out: weights by rung and state. The formulas, with S the survival of the part:

    S(t)  =  0.5 ** ((t / median years) ** shape)
    playing of a part that ends service  =  playing in its state * S;   of another  =  failed + (now - failed) * S

Everything that is averaged multiplies over the parts, so an expectation is a product given the joint cause.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.catalogue import Catalogue
from valuation.engine.remedies import Menu
from valuation.engine.rows.condition import PartRow
from valuation.engine.rows.words import STATES

LN2 = float(np.log(2))


@dataclass(frozen=True)
class Moments:
    """The points in time that playing is looked at, and how suddenly parts wear out; hashable, to be kept by.

    Attributes
    ----------
    times : tuple of float
        The points, then the horizon itself [years].
    shape : float
    """

    times: tuple[float, ...]
    shape: float


def survival(times: Floats, median: Floats | float, shape: float) -> Floats:
    """Return the chance that a part with a median life is still in service [-]; a median of 0 has given out."""
    years = np.maximum(np.asarray(median, dtype=float), 1e-9)
    return np.asarray(np.exp(-LN2 * (times / years) ** shape), dtype=np.float64)


def service(part: PartRow, median: float, state: int, moments: Moments) -> tuple[Floats, Floats]:
    """Return playing and survival of a part in a state, with median years of life, at the moments."""
    plays = [part.play_sound, part.play_serviceable, part.play_worn, part.play_failed]
    times = np.array(moments.times)
    alive = survival(times, median, moments.shape) if state < STATES.index("failed") else np.zeros(len(times))
    if part.ends_service:
        return plays[state] * alive, alive
    return plays[3] + (plays[state] - plays[3]) * alive, np.ones(len(times))


def median_years(part: PartRow, state: int, lasts: float | None) -> float:
    """Return the median years of service of a part: by its state, and no less than a good new part lasts [years]."""
    years = [part.years_sound, part.years_serviceable, part.years_worn, 0.0][state]
    return max(years, lasts or 0.0) if state <= STATES.index("serviceable") else years


@lru_cache(maxsize=4096)
def kinds_of(catalogue: Catalogue, menu: Menu) -> tuple[Ints, tuple[tuple[float | None, float], ...]]:
    """Return the kind of each rung, shape (R,), and of each kind how long its remedy lasts and what it leaves of value.

    Rungs of one kind are alike in all that comes after: years of service, and the share of the finished value.
    """
    rows = [
        catalogue.operations[rung.operation] if rung.operation else None
        for ladder in menu.ladders
        for rung in ladder.rungs
    ]
    each = [(row.lasts_years, 1.0 - row.loss_of_value) if row else (None, 1.0) for row in rows]
    kinds = tuple(dict.fromkeys(each))
    return np.array([kinds.index(kind) for kind in each], dtype=np.intp), kinds


@lru_cache(maxsize=1024)
def service_by_kind(catalogue: Catalogue, menu: Menu, moments: Moments) -> Floats:
    """Return playing, then survival, at the moments, by kind of rung and state left, shape (D, 4, 2 * moments)."""
    part = catalogue.network.parts[menu.part]
    return np.array(
        [
            [np.concatenate(service(part, median_years(part, t, lasts), t, moments)) for t in range(4)]
            for lasts, _ in kinds_of(catalogue, menu)[1]
        ]
    )
