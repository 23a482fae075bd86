"""Outlook: what a state of a part is worth: share of the value, playing and service at points in time.

In: a catalogue, market, stakes. Out: weights by rung and state. The formulas, with S the survival of the part:

    S(t)  =  0.5 ** ((t / median years) ** shape)
    playing of a part that ends service  =  playing in its state * S;   of another  =  failed + (now - failed) * S

Everything that is averaged multiplies over the parts, so an expectation is a product given the joint cause.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Floats
from valuation.engine.catalogue import Catalogue
from valuation.engine.ladders import Ladder
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


@lru_cache(maxsize=1024)
def rung_service(catalogue: Catalogue, menu: Menu, moments: Moments) -> Floats:
    """Return playing, then survival, at the moments, by rung and state left, shape (R, 4, 2 * moments)."""
    return service_of(catalogue, menu, menu.ladders, moments)


def service_of(catalogue: Catalogue, menu: Menu, ladders: Iterable[Ladder], moments: Moments) -> Floats:
    """Return the same for the rungs of some ladders alone."""
    part = catalogue.network.parts[menu.part]
    rungs = [rung for ladder in ladders for rung in ladder.rungs]
    lasts = [catalogue.operations[rung.operation].lasts_years if rung.operation else None for rung in rungs]
    kept = {
        years: np.stack([np.concatenate(service(part, median_years(part, t, years), t, moments)) for t in range(4)])
        for years in dict.fromkeys(lasts)
    }
    return np.stack([kept[years] for years in lasts])


@lru_cache(maxsize=1024)
def rung_keeps(catalogue: Catalogue, menu: Menu) -> Floats:
    """Return the share of the finished value that each rung's remedy leaves, shape (R,)."""
    losses = [
        catalogue.operations[rung.operation].loss_of_value if rung.operation else 0.0
        for ladder in menu.ladders
        for rung in ladder.rungs
    ]
    return 1.0 - np.array(losses)
