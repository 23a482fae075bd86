"""Tables of odds that 'rise in ratio', and the nearest such table to what was counted.

Rows run from a good truth to a bad one, columns from a good reading to a bad one. A table rises when a worse truth
never makes a worse reading rarer in ratio: all adjacent two-by-two minors are at least 0. With that a worse finding
can never raise a score, so no learned table may be without it.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from scipy.optimize import minimize
from scipy.special import log_softmax

MARGIN = 0.002
"""Learned tables rise by at least so much of a log odds ratio, so that rounding what is written can't undo it."""


def rise(table: np.ndarray) -> np.ndarray:
    """Return the log odds ratio of each adjacent two by two, shape (rows - 1, columns - 1); at least 0 where it rises.

    Examples
    --------
    >>> rise(np.array([[0.6, 0.4], [0.2, 0.8]])).round(2).tolist()
    [[1.79]]
    """
    logs = np.log(table)
    return np.diff(np.diff(logs, axis=1), axis=0)


def nearest_rising(counts: np.ndarray, *, margin: float = MARGIN) -> np.ndarray:
    """Return the rising table that makes what was counted likeliest.

    Parameters
    ----------
    counts : ndarray, shape (rows, columns)
        How often each was counted, above 0; need not be whole.
    margin : float
        Least log odds ratio.

    Returns
    -------
    ndarray, shape (rows, columns)
        Rows add up to 1.

    Notes
    -----
    Where the plain shares rise by themselves they are the answer. Else the logarithms of the shares are written as
    the first row's and what each further row adds to them from column to column: of these additions the table is to
    have no less than the margin, the likelihood is concave in them, and so there is one best table [1]_.

    References
    ----------
    .. [1] Dykstra, Kochar and Robertson, "Inference for likelihood ratio ordering in the two-sample problem", Journal
       of the American Statistical Association 90 (1995) 1034; here for more rows, by bounded optimisation.
    """
    counts = np.asarray(counts, dtype=float)
    total = counts.sum(axis=1, keepdims=True)
    plain = counts / total
    if (rise(plain) >= margin).all():
        return plain
    rows, columns = counts.shape
    logs = np.log(np.maximum(plain, 1e-12))
    start = np.concatenate(
        [logs[0, 1:] - logs[0, 0], np.maximum(np.diff(np.diff(logs, axis=1), axis=0), margin).ravel()]
    )
    steps = _steps(rows, columns)
    # Numbers that the counts hold firmly are to move in smaller steps: each is measured by its own curvature.
    by_row = steps.reshape(rows, columns, -1)
    middle = np.einsum("rc,rcx->rx", plain, by_row)
    curve = (total[:, :, None] * plain[:, :, None] * (by_row - middle[:, None]) ** 2).sum(axis=(0, 1))
    unit = np.sqrt(np.maximum(curve, 1e-3))
    steps = steps / unit

    def log_shares(x: np.ndarray) -> np.ndarray:
        return log_softmax((steps @ x).reshape(rows, columns), axis=1)

    def loss(x: np.ndarray) -> tuple[float, np.ndarray]:
        logs = log_shares(x)
        return -(counts * logs).sum(), (total * np.exp(logs) - counts).ravel() @ steps

    bounds = [(None, None)] * (columns - 1) + [(margin * u, None) for u in unit[columns - 1 :]]
    options = {"maxiter": 500, "ftol": 1e-8}
    found = minimize(loss, start * unit, jac=True, method="SLSQP", bounds=bounds, options=options)
    return np.exp(log_shares(found.x))


@cache
def _steps(rows: int, columns: int) -> np.ndarray:
    """Return what the numbers of the first row, then the additions, do to the logarithm of each cell."""
    steps = np.zeros((rows, columns, rows * (columns - 1)))
    for row in range(rows):
        for column in range(1, columns):
            steps[row, column, column - 1] = 1
            for earlier in range(row):
                first = (earlier + 1) * (columns - 1)
                steps[row, column, first : first + column] = 1
    return steps.reshape(rows * columns, -1)


def written(table: np.ndarray, *, digits: int = 4) -> tuple[tuple[str, ...], ...]:
    """Return the table as it is to stand in a file: short decimals that add up to 1 and still rise.

    Parameters
    ----------
    table : ndarray, shape (rows, columns)
        Rising, rows adding up to 1.
    digits : int
        Decimals to begin with; more are taken where fewer would break the table.

    Raises
    ------
    ValueError
        If twelve decimals don't do: the table itself does not rise.
    """
    for places in range(digits, 13):
        whole = np.array([_rounded(row, places) for row in table])
        shares = whole / 10**places
        minors = shares[:-1, :-1] * shares[1:, 1:] - shares[:-1, 1:] * shares[1:, :-1]
        if (whole > 0).all() and (minors >= 0).all():
            return tuple(tuple(_decimal(int(share), places) for share in row) for row in whole)
    raise ValueError("the table does not rise in ratio, or a share is too small; it can't be written")


def percent_written(table: np.ndarray, *, digits: int = 4) -> tuple[tuple[str, ...], ...]:
    """Return shares of 100 as they are to stand in a file: short decimals that add up to 100, each above 0.

    Parameters
    ----------
    table : ndarray, shape (rows, columns)
        Rows adding up to 1.
    digits : int
        Decimals of the shares to begin with; more are taken where a share would be 0.

    Examples
    --------
    >>> percent_written(np.array([[0.9, 0.08, 0.0195, 0.0005]]))
    (('90', '8', '1.95', '0.05'),)
    """
    places = digits
    while not (whole := np.array([_rounded(row, places) for row in table])).all():
        places += 1
    return tuple(tuple(_decimal(int(share), places - 2) for share in row) for row in whole)


def _rounded(row: np.ndarray, places: int) -> np.ndarray:
    """Round a row to so many decimals, in units of the last, so that it adds up exactly."""
    exact = row * 10**places
    down = np.floor(exact).astype(np.int64)
    for i in np.argsort(down - exact, kind="stable")[: 10**places - down.sum()]:
        down[i] += 1
    return down


def _decimal(share: int, places: int) -> str:
    text = f"{share // 10**places}.{share % 10**places:0{places}d}".rstrip("0")
    return text.rstrip(".") or "0"
