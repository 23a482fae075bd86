"""The stiff string: pitch and inharmonicity from the partials of one note.

Partial n of a stiff string lies at n F0 sqrt(1 + B n^2) (Fletcher 1964). B here is always defined against F0,
the frequency the string would have without stiffness, in the square-root form: linearised forms, or B against
the first partial, differ by a per cent or more on the same data.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.measure.keys import Numbers

DEFINITION = "f_n = n F0 sqrt(1 + B n^2)"
"""Which inharmonicity is meant, to stand beside every figure of it."""

OWN_SCATTER_CENTS = 0.1
"""How far partials of a real string lie from the formula [cents], one standard deviation, noise apart.
Measured partials of two strings scattered by 0.07 and 0.15 cents about their best fit."""

_CENTS = 1200 / np.log(2)


@dataclass(frozen=True, slots=True)
class StringFit:
    """The formula fitted to partials.

    Attributes
    ----------
    f0_hz : float
        Frequency without stiffness [Hz].
    inharmonicity, inharmonicity_se : float
        B and its standard error [-]; see `DEFINITION`.
    f1_hz, f1_cents_se : float
        Partial 1 by the formula [Hz], and its standard error [cents].
    residual_cents : float
        Root mean square of what the formula leaves [cents]; 0 with two partials.
    partials : tuple of int
        Partials that took part.
    """

    f0_hz: float
    inharmonicity: float
    inharmonicity_se: float
    f1_hz: float
    f1_cents_se: float
    residual_cents: float
    partials: tuple[int, ...]

    def partial_hz(self, n: Numbers) -> Numbers:
        """Return the frequency of partial `n` by the formula [Hz]."""
        return n * self.f0_hz * np.sqrt(1 + self.inharmonicity * np.square(n))


def fit_string(n: np.ndarray, hz: np.ndarray, hz_se: np.ndarray) -> StringFit:
    """Return the weighted least squares fit of (f_n/n)^2 = F0^2 + F0^2 B n^2.

    Parameters
    ----------
    n : numpy.ndarray of int, shape (k,)
        Numbers of the partials, at least two different ones.
    hz, hz_se : numpy.ndarray, shape (k,)
        Their frequencies and standard errors [Hz].

    Returns
    -------
    StringFit
        Standard errors are widened where the partials scatter more than they should.

    References
    ----------
    Fletcher, H., "Normal vibration frequencies of a stiff piano string", J. Acoust. Soc. Am. 36 (1964) 203.

    Examples
    --------
    >>> n = np.array([1, 2, 3, 4])
    >>> fit = fit_string(n, n * 220 * np.sqrt(1 + 2e-4 * n**2), np.full(4, 0.01))
    >>> round(fit.f0_hz, 6), round(fit.inharmonicity, 9)
    (220.0, 0.0002)
    """
    squares = np.square(hz / n)
    spread = np.hypot(hz_se, hz * OWN_SCATTER_CENTS / _CENTS)
    target = hz / (2 * spread)  # each row divided by the standard error of its square
    design = np.column_stack([np.ones(len(n)), np.square(n)]) * (target / squares)[:, None]
    scale = np.linalg.norm(design, axis=0)
    # Columns of very different size: scaled, or the normal equations lose digits.
    inverse = np.linalg.inv((design / scale).T @ (design / scale)) / np.outer(scale, scale)
    intercept, slope = inverse @ design.T @ target
    miss = target - design @ (intercept, slope)
    freedom = len(n) - 2
    widen = max(1.0, float(miss @ miss) / freedom) if freedom else 1.0
    covariance = inverse * widen
    b = slope / intercept
    gradient = np.array([-slope / intercept**2, 1 / intercept])
    first = intercept + slope
    left = _CENTS / 2 * np.log(squares / (intercept + slope * np.square(n)))
    return StringFit(
        f0_hz=float(np.sqrt(intercept)),
        inharmonicity=float(b),
        inharmonicity_se=float(np.sqrt(gradient @ covariance @ gradient)),
        f1_hz=float(np.sqrt(first)),
        f1_cents_se=float(_CENTS / 2 * np.sqrt(covariance.sum()) / first),
        residual_cents=float(np.sqrt(np.mean(left**2))) if freedom else 0.0,
        partials=tuple(int(k) for k in n),
    )
