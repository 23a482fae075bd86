"""Whether the evaluations so far can carry a chance for each one, or only the same for all; and how many more it takes.

Each tenth is predicted from the other nine tenths, by the line and by the base rate alone. The line is shown only when
it has predicted better than the base rate beyond what chance would do, and not more boldly than it was right.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import logit
from scipy.stats import norm

from valuation.jobs.records import Evaluation
from valuation.learn.chance import ATTRIBUTES, Attribute, fit_chance, log_scores, read_off
from valuation.learn.decisions import Waits
from valuation.learn.delays import learn_delays
from valuation.learn.shares import Share, share_of

LEAST_DECIDED = 20
"""Below so many decided evaluations only the shop's share of jobs is shown, with its interval."""

LEAST_OF_EACH = 5
"""So many of them must have become jobs, and so many not."""

SURE = 0.9
"""The line must be better than the base rate with this certainty, one-sided [-]."""

FAR_OFF = 10
"""More than so many times the evaluations there are is no number to wait for."""

FOLDS = 10
GROUPS = 5

SHOWN, TOO_FEW, NOT_BETTER, TOO_BOLD = "shown", "too_few", "not_better", "too_bold"

_NEAR_ENOUGH = 1e-5
"""Delays from nine tenths of the evaluations, begun at those from all, are known so well [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Evaluations with about the same chance: what was said, and what came.

    Attributes
    ----------
    said : float
        Mean chance that they would have become jobs by today [-].
    """

    said: float
    came: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class Carry:
    """What the evaluations can carry.

    Attributes
    ----------
    word : str
        ``shown``; or why not: ``too_few``, ``not_better`` than the base rate, ``too_bold``.
    more : int or None
        About how many more evaluations it takes; None where nothing so far says that any likely number would do.
    gain : float
        How much better the line predicted than the base rate, logarithm for one evaluation.
    brier, brier_base : float
        Mean squared error of the chance to be a job by today: of the line, and of the base rate [-].
    slope, slope_error : float
        1 where chances are as bold as they should be; less where they are too bold.
    groups : tuple of Group
        By rising chance; none where too few are decided.
    """

    word: str
    evaluations: int
    decided: int
    more: int | None
    gain: float = math.nan
    brier: float = math.nan
    brier_base: float = math.nan
    slope: float = math.nan
    slope_error: float = math.nan
    groups: tuple[Group, ...] = ()


def judge(
    evaluations: Sequence[Evaluation],
    waits: Waits,
    *,
    on: date,
    attributes: Sequence[Attribute] = ATTRIBUTES,
    base_share: float = 0.35,
) -> Carry:
    """Return whether a chance for each evaluation can be shown.

    Parameters
    ----------
    evaluations : sequence of Evaluation, length n
        In any order that has nothing to do with what became of them, such as by day.
    waits : Waits
        Of the same evaluations, in the same order.
    on : date
        The day on which they stood so.
    base_share : float
        As for `fit_chance`.

    Notes
    -----
    'How many more' takes the gain for one evaluation as it is so far: its standard error falls with the square root
    of their number.
    """
    n = len(evaluations)
    yes, no = (int(np.sum(waits.outcome == k)) for k in (1, 2))
    lacking = max(LEAST_DECIDED - yes - no, LEAST_OF_EACH - yes, LEAST_OF_EACH - no)
    if lacking > 0:
        share_decided = max((yes + no) / n, 0.1) if n else 0.5
        return Carry(word=TOO_FEW, evaluations=n, decided=yes + no, more=math.ceil(lacking / share_decided))

    gains, odds, by_today, by_today_base = _predicted(evaluations, waits, on, attributes, base_share)
    gain, error = float(gains.mean()), float(gains.std(ddof=1) / math.sqrt(n))
    came = (waits.outcome == 1).astype(float)
    slope, slope_error = _boldness(odds, waits)
    z = float(norm.ppf(SURE))
    wanted = n * (z * error / gain) ** 2 if gain > 0 else math.inf
    more = max(math.ceil(wanted) - n, 1) if wanted <= FAR_OFF * n else None
    word = NOT_BETTER
    if gain > z * error:
        bold = slope + norm.ppf(0.95) * slope_error < 1
        word, more = (TOO_BOLD, None) if bold else (SHOWN, 0)
    return Carry(
        word=word,
        evaluations=n,
        decided=yes + no,
        more=more,
        gain=gain,
        brier=float(np.mean((by_today - came) ** 2)),
        brier_base=float(np.mean((by_today_base - came) ** 2)),
        slope=slope,
        slope_error=slope_error,
        groups=reliability(by_today, came),
    )


def reliability(said: np.ndarray, came: np.ndarray, *, groups: int = GROUPS) -> tuple[Group, ...]:
    """Return what was said beside what came, in groups of about the same size, by rising chance.

    Parameters
    ----------
    said : ndarray, shape (n,)
        Chances [-].
    came : ndarray, shape (n,)
        1 where it came, else 0.
    """
    parts = np.array_split(np.argsort(said, kind="stable"), groups)
    return tuple(
        Group(said=float(said[part].mean()), came=share_of(int(came[part].sum()), len(part)))
        for part in parts
        if len(part)
    )


def _predicted(evaluations, waits: Waits, on: date, attributes, base_share):
    """Predict each tenth from the others: gain over the base rate, log odds, chance by today of both."""
    n = len(evaluations)
    age = np.array([max((on - evaluation.on).days, 0) for evaluation in evaluations], dtype=float)
    gains, odds, by_today, by_today_base = (np.empty(n) for _ in range(4))
    fold = np.arange(n) % FOLDS
    every, read = learn_delays(waits), read_off(attributes, evaluations)
    for k in range(min(FOLDS, n)):
        rest, these = np.flatnonzero(fold != k), np.flatnonzero(fold == k)
        others, own, nothing = read[rest], read[these], read[these, :0]
        known, mine = waits.some(rest), waits.some(these)
        delays = learn_delays(known, start=every, within=_NEAR_ENOUGH)
        line = fit_chance(others, known, delays, attributes=attributes, base_share=base_share)
        base = fit_chance(others[:, :0], known, delays, attributes=(), base_share=base_share)
        gains[these] = log_scores(line, own, mine) - log_scores(base, nothing, mine)
        chance = line.chances(own)
        odds[these] = logit(chance)
        come = 1 - delays.yes.not_yet(age[these])
        by_today[these] = chance * come
        by_today_base[these] = base.chances(nothing) * come
    return gains, odds, by_today, by_today_base


def _boldness(odds: np.ndarray, waits: Waits) -> tuple[float, float]:
    """Return by how much the predicted log odds would have had to be multiplied, and its standard error.

    Fitted to the decided ones by a few of Newton's steps; at least 20 of them, so it settles.
    """
    decided = waits.outcome > 0
    columns = np.column_stack([np.ones(decided.sum()), odds[decided]])
    came = (waits.outcome[decided] == 1).astype(float)
    line = np.array([0.0, 1.0])
    # Hardly any spread in what was predicted says nothing of boldness; a little penalty keeps the slope near 1 then.
    held = np.diag([1e-6, 0.04])
    for _ in range(25):
        p = 1 / (1 + np.exp(-columns @ line))
        bend = columns.T @ ((p * (1 - p))[:, None] * columns) + held
        line = line + np.linalg.solve(bend, columns.T @ (came - p) - held @ (line - [0.0, 1.0]))
    return float(line[1]), float(np.sqrt(np.linalg.inv(bend)[1, 1]))
