"""Invented evaluations with a known truth: who says yes and why, and how long it takes. Nothing here is real."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from scipy.special import expit

from valuation.facts.visit import Range
from valuation.jobs.records import Evaluation
from valuation.learn.chance import ATTRIBUTES
from valuation.learn.decisions import Waits

ON = date(2026, 6, 1)
TELLING = (-0.8, -0.5, 0.9, 0.7, 0.3, 0.5)
"""What each attribute truly does, for one standard deviation of it [log odds]."""


def invented(
    rng: np.random.Generator, n: int, *, effects=TELLING, level: float = -0.6, oldest: float = 720
) -> tuple[list[Evaluation], Waits, np.ndarray, np.ndarray]:
    """Return n evaluations, how each stands on `ON`, its true chance, and whether it will be a yes in the end."""
    evaluations = []
    for i in range(n):
        price = float(np.exp(rng.normal(8.3, 0.8)))
        evaluations.append(
            Evaluation(
                visit=f"v{i}",
                on=ON - timedelta(days=int(rng.uniform(0, oldest))),
                kind=str(rng.choice(["grand", "upright"], p=[0.3, 0.7])),
                verdict=str(rng.choice(["rebuild", "keep"])),
                price=Range(low=price / 1.3, likely=price, high=price * 1.3),
                value_after=price * float(np.exp(rng.normal(-0.3, 0.6))),
                referred=bool(rng.random() < 0.4),
                premium=float(rng.choice([0, 1000])),
            )
        )
    raw = np.array([[attribute.of(e) for attribute in ATTRIBUTES] for e in evaluations]).reshape(n, len(ATTRIBUTES))
    # Means and spreads of the draws above, so that a truth doesn't hang on the sample.
    truth = np.array([(0.3, 0.6), (8.3, 0.8), (0.5, 0.5), (0.4, 0.49), (0.3, 0.458), (0.5, 0.5)])
    chance = expit(level + (raw - truth[:, 0]) / truth[:, 1] @ np.array(effects))
    yes = rng.random(n) < chance
    no = ~yes & (rng.random(n) < 0.5)
    delay = np.full(n, np.inf)
    delay[yes] = 40 * np.exp(rng.standard_normal(yes.sum()))
    delay[no] = 60 * np.exp(0.9 * rng.standard_normal(no.sum()))
    age = np.array([(ON - e.on).days for e in evaluations], dtype=float)
    outcome = np.where(delay <= age, np.where(yes, 1, 2), 0)
    waits = Waits(visits=tuple(e.visit for e in evaluations), days=np.floor(np.minimum(delay, age)), outcome=outcome)
    return evaluations, waits, chance, yes
