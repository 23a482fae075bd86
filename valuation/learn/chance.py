"""The chance that an evaluation becomes a job: a logistic line with a prior, averaged over what isn't known of it.

It looks only at what was fixed before anything was learned: no search for what happens to fit. It never enters the
client's verdict.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit, log_expit, logit, roots_hermitenorm
from scipy.stats import norm

from valuation.engine.decision import PARTIAL, REBUILD
from valuation.jobs.records import Evaluation
from valuation.learn.decisions import Waits
from valuation.learn.delays import Delays
from valuation.learn.shares import LEVEL

SLOPE_SPREAD = 0.6
"""Prior of a slope: none, give or take so much for one standard deviation of the
attribute [-]."""

LEVEL_SPREAD = 1.0
"""The same for the level, about the shop's stated share of jobs [log odds]."""

_NODES, _WEIGHTS = roots_hermitenorm(20)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Attribute:
    """Something that may matter, and how it is read off an evaluation; None where it is not known."""

    id: str
    of: Callable[[Evaluation], float | None]


def _price_over_value(evaluation: Evaluation) -> float | None:
    if evaluation.price is None or not evaluation.value_after or evaluation.price.likely <= 0:
        return None
    return math.log(evaluation.price.likely / evaluation.value_after)


def _price(evaluation: Evaluation) -> float | None:
    return math.log(evaluation.price.likely) if evaluation.price and evaluation.price.likely > 0 else None


def _keeps_it_dear(evaluation: Evaluation) -> float | None:
    return None if evaluation.premium is None else float(evaluation.premium > 0)


def _referred(evaluation: Evaluation) -> float | None:
    return None if evaluation.referred is None else float(evaluation.referred)


ATTRIBUTES = (
    Attribute("price_over_value", _price_over_value),
    Attribute("price", _price),
    Attribute("keeping_it_matters", _keeps_it_dear),
    Attribute("referred", _referred),
    Attribute("grand", lambda evaluation: float(evaluation.kind == "grand")),
    Attribute("verdict_for_work", lambda evaluation: float(evaluation.verdict in (REBUILD, PARTIAL))),
)
"""Fixed in advance, and few: each must be paid for by evaluations."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """What one attribute does to a chance.

    Attributes
    ----------
    attribute : str
        Id of the attribute, or ``waited`` for the time since the evaluation.
    value, usual : float
        As it is, and on average over the shop's evaluations.
    chance_if_usual : float
        The chance were it as usual, or had no time passed [-].
    """

    attribute: str
    value: float
    usual: float
    chance_if_usual: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """The chance that one evaluation becomes a job [-], with its limits and its reasons, the weightiest first."""

    share: float
    low: float
    high: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, eq=False)
class ChanceModel:
    """What is known of the line after n evaluations. k attributes.

    Attributes
    ----------
    attributes : tuple of Attribute, length k
    usual, scale : ndarray, shape (k,)
        Mean and standard deviation of each attribute where it is known.
    line : ndarray, shape (k + 1,)
        Level and slopes, most likely values [log odds].
    spread : ndarray, shape (k + 1, k + 1)
        Their covariance.
    yes, no, open : int
        Evaluations it was learned from.
    """

    attributes: tuple[Attribute, ...]
    usual: np.ndarray
    scale: np.ndarray
    line: np.ndarray
    spread: np.ndarray
    delays: Delays
    yes: int
    no: int
    open: int

    def columns(self, evaluations: Sequence[Evaluation] | np.ndarray) -> np.ndarray:
        """Return a one and the attributes in standard deviations from the usual, shape (n, k + 1); 0 if not known."""
        raw = read_off(self.attributes, evaluations)
        centred = np.nan_to_num((raw - self.usual) / self.scale)
        return np.column_stack([np.ones(len(evaluations)), centred])

    def chances(self, evaluations: Sequence[Evaluation] | np.ndarray, days: np.ndarray | float = 0.0) -> np.ndarray:
        """Return the chance of each evaluation that is still open after so many days to become a job, shape (n,)."""
        middle, sd = self._odds(self.columns(evaluations))
        return self.averaged(middle + self.shift(days), sd)

    def shift(self, days: np.ndarray | float) -> np.ndarray:
        """Return what having waited does to the log odds."""
        yes, other = self.delays.still_open(np.asarray(days, dtype=float))
        return np.log(np.maximum(yes, 1e-12)) - np.log(other)

    def explain(self, evaluation: Evaluation, days: float = 0.0) -> Chance:
        """Return the chance of one evaluation, its limits and its reasons."""
        columns = self.columns([evaluation])
        middle, sd = self._odds(columns)
        shift = float(self.shift(days))
        share = float(self.averaged(middle + shift, sd)[0])
        reach = norm.ppf((1 + LEVEL) / 2) * sd[0]
        raw = read_off(self.attributes, [evaluation])[0]
        reasons = []
        for j, attribute in enumerate(self.attributes):
            if np.isnan(raw[j]) or not columns[0, j + 1]:
                continue
            usual = columns.copy()
            usual[0, j + 1] = 0
            other, other_sd = self._odds(usual)
            without = float(self.averaged(other + shift, other_sd)[0])
            reasons.append(
                Reason(attribute=attribute.id, value=raw[j], usual=float(self.usual[j]), chance_if_usual=without)
            )
        if days > 0:
            at_once = float(self.averaged(middle + self.shift(0.0), sd)[0])
            reasons.append(Reason(attribute="waited", value=days, usual=0.0, chance_if_usual=at_once))
        return Chance(
            share=share,
            low=float(expit(middle[0] + shift - reach)),
            high=float(expit(middle[0] + shift + reach)),
            reasons=tuple(sorted(reasons, key=lambda r: -abs(share - r.chance_if_usual))),
        )

    def _odds(self, columns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return columns @ self.line, np.sqrt(np.einsum("ij,jk,ik->i", columns, self.spread, columns))

    @staticmethod
    def averaged(middle: np.ndarray, sd: np.ndarray) -> np.ndarray:
        """Return the mean chance where the log odds are normal with these means and standard deviations, shape (n,)."""
        return expit(middle[:, None] + sd[:, None] * _NODES) @ _WEIGHTS


def fit_chance(
    evaluations: Sequence[Evaluation] | np.ndarray,
    waits: Waits,
    delays: Delays,
    *,
    attributes: Sequence[Attribute] = ATTRIBUTES,
    base_share: float = 0.35,
) -> ChanceModel:
    """Fit the line to what became of the evaluations so far.

    Parameters
    ----------
    evaluations : sequence of Evaluation, length n, or ndarray
        Or their attributes, as `read_off` has them.
    waits : Waits
        Of the same evaluations, in the same order.
    delays : Delays
        How long yes and no take: what having waited tells of one that is still open.
    attributes : sequence of Attribute
        None at all gives one chance for all.
    base_share : float
        Share of evaluations that become jobs, as the shop thinks [-].

    Notes
    -----
    Each decided evaluation counts by its chance, each open one by how likely it was to be open still, a yes or not.
    Slopes are held to 0 and the level to the stated share as `SLOPE_SPREAD` and `LEVEL_SPREAD` say; what is left
    unknown is taken as normal about the most likely line (Laplace) [1]_. Against the exact average chances come out up
    to 0.03 nearer to the middle: on the timid side.

    References
    ----------
    .. [1] Bishop, "Pattern Recognition and Machine Learning", 2006, sections 4.5.1 and 4.5.2.
    """
    raw = read_off(attributes, evaluations)
    known = np.sum(~np.isnan(raw), axis=0)
    usual = np.divide(np.nansum(raw, axis=0), known, out=np.zeros(len(attributes)), where=known > 0)
    off = np.nan_to_num(raw - usual)
    scale = np.sqrt(np.divide(np.sum(off**2, axis=0), known, out=np.ones(len(attributes)), where=known > 0))
    scale = np.where(scale > 1e-9, scale, 1.0)
    columns = np.column_stack([np.ones(len(evaluations)), off / scale])
    start = np.concatenate([[logit(base_share)], np.zeros(len(attributes))])
    held = np.diag(1 / np.array([LEVEL_SPREAD, *[SLOPE_SPREAD] * len(attributes)]) ** 2)
    line, spread = _fit_line(columns, waits, delays, start, held)
    return ChanceModel(
        attributes=tuple(attributes),
        usual=usual,
        scale=scale,
        line=line,
        spread=spread,
        delays=delays,
        yes=int(np.sum(waits.outcome == 1)),
        no=int(np.sum(waits.outcome == 2)),
        open=int(np.sum(waits.outcome == 0)),
    )


def log_scores(model: ChanceModel, evaluations: Sequence[Evaluation] | np.ndarray, waits: Waits) -> np.ndarray:
    """Return the logarithm of the chance that each evaluation stood as it did, shape (n,).

    A yes counts by its chance, a no by the chance of no yes, an open one by the chance of being open still.
    """
    chance = model.chances(evaluations)
    yes, other = model.delays.still_open(waits.days)
    still = chance * yes + (1 - chance) * other
    return np.log(np.choose(waits.outcome, [still, chance, 1 - chance]))


def read_off(attributes: Sequence[Attribute], evaluations: Sequence[Evaluation] | np.ndarray) -> np.ndarray:
    """Return the attributes as they are, shape (n, k), or as they were read off; not a number where not known."""
    if isinstance(evaluations, np.ndarray):
        return evaluations
    values = [[attribute.of(evaluation) for attribute in attributes] for evaluation in evaluations]
    return np.array(values, dtype=float).reshape(len(evaluations), len(attributes))


def _fit_line(columns, waits: Waits, delays: Delays, start, held) -> tuple[np.ndarray, np.ndarray]:
    yes, other = delays.still_open(waits.days)
    open_shift = np.log(np.maximum(yes, 1e-12)) - np.log(other)
    decided = [waits.outcome == 1, waits.outcome == 2]

    def is_yes(odds: np.ndarray) -> np.ndarray:
        """How likely each is a yes, given how it stands."""
        return np.select(decided, [1.0, 0.0], expit(odds + open_shift))

    def loss(line: np.ndarray) -> float:
        odds, away = columns @ line, line - start
        still = np.logaddexp(log_expit(odds) + open_shift, log_expit(-odds))
        return -np.select(decided, [log_expit(odds), log_expit(-odds)], still).sum() + away @ held @ away / 2

    def slope(line: np.ndarray) -> np.ndarray:
        odds = columns @ line
        return columns.T @ (expit(odds) - is_yes(odds)) + held @ (line - start)

    def bend(line: np.ndarray) -> np.ndarray:
        odds = columns @ line
        p, w = expit(odds), is_yes(odds)
        return columns.T @ ((p * (1 - p) - w * (1 - w))[:, None] * columns) + held

    line = minimize(loss, start, jac=slope, hess=bend, method="trust-exact", options={"gtol": 1e-8}).x
    return line, np.linalg.inv(bend(line))
