"""How the sound of one note falls: a figure, and never a verdict.

No paper was found that ties a time of decay to the state of a soundboard on many pianos. What is known is that the
place of the device, the fine tuning of the unison and the modes of the board near that very pitch move it: the prompt
sound of one note by half as much again from key to key on a sound piano. So the early decay of a note is not
reported at all, and the times below are figures to keep with their range, to compare with the same piano's own later.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import optimize

from valuation.measure.sound.bands import Bands

MOST_PARTIALS = 30
"""How many partials are summed."""

_ABOVE_NOISE_DB = 6.0
_FROM_S = 0.04
_DECIBELS = 10 / np.log(10)
_SMOOTH_S = 0.05
_GONE_S = 0.5
_FIT_POINTS = 160
_WORTH_A_SECOND_SLOPE = 0.7
_DAMPER_DB, _DAMPER_RATIO = 12.0, 2.0


@dataclass(frozen=True, slots=True)
class Fall:
    """Prompt sound and aftersound fitted to the summed power of the partials.

    Attributes
    ----------
    early_db_s, late_db_s : float
        How fast each falls [dB/s]; the early one is kept for the curve, not for a report.
    late_level_db : float
        Level of the aftersound at the strike, re the prompt sound [dB]; minus infinity where one slope is enough.
    seen_db : float
        How far the sound fell before it reached the noise or the end [dB].
    seen_late_db : float
        How far of that the aftersound prevailed [dB].
    let_go_s : float or None
        When the damper came down [s from the strike]; None where it did not.
    """

    early_db_s: float
    late_db_s: float
    late_level_db: float
    seen_db: float
    seen_late_db: float
    let_go_s: float | None

    def level_db(self, seconds: np.ndarray | float) -> np.ndarray | float:
        """Return the level re the strike [dB] at times from the strike [s]."""
        return _level(seconds, self.early_db_s, self.late_db_s, self.late_level_db) - _level(
            0.0, self.early_db_s, self.late_db_s, self.late_level_db
        )

    def time_to_fall(self, decibels: float) -> float:
        """Return how long the sound takes to fall by so many decibels [s], by the fitted curve."""
        longest = (decibels + 10) / min(self.early_db_s, self.late_db_s)
        return float(optimize.brentq(lambda t: self.level_db(t) + decibels, 0, longest))


def fit_fall(bands: Bands) -> Fall | None:
    """Return the fall of the sound of one note, or None where too little of it stands above the noise.

    Parameters
    ----------
    bands : Bands
        One signal a partial, with some quiet before the strike.

    Returns
    -------
    Fall or None
        The power of the quiet before the strike is taken off each partial; the sum is followed down to 6 dB above
        the noise, on times that stand closer together towards the strike.

    References
    ----------
    Weinreich, G., "Coupled piano strings", J. Acoust. Soc. Am. 62 (1977) 1474: prompt sound and aftersound.
    """
    t = bands.seconds
    power = np.abs(bands.signals[:MOST_PARTIALS]) ** 2
    ringing = 2 / bands.rate  # a narrow band answers slowly: neither its rise nor its end belongs to the note
    noise = power[:, (t > t[0] + ringing / 2) & (t < -1.5 * ringing)].mean(axis=1)
    width = max(int(_SMOOTH_S * bands.rate), 1)
    total = np.convolve((power - noise[:, None]).sum(axis=0), np.ones(width) / width, "same")[: len(t) - width]
    floor = noise.sum() * 10 ** (_ABOVE_NOISE_DB / 10)
    start = int(np.argmax(t >= max(_FROM_S, ringing)))
    total = total[: len(total) - int(np.ceil(2 * ringing * bands.rate))]
    stop = _end_of_sound(total > floor, start, int(_GONE_S * bands.rate))
    if stop - start < 8:
        return None
    level = 10 * np.log10(np.maximum(total, floor / 8))
    let_go = _find_let_go(t[start : len(level)], level[start:])
    if let_go is not None:
        stop = max(int(np.argmax(t >= let_go)), start + 2)
    picks = start + np.unique(np.rint(np.geomspace(1, stop - start, _FIT_POINTS)).astype(int)) - 1
    return _fit_slopes(t[picks], level[picks], let_go)


def _level(t: np.ndarray | float, early: float, late: float, late_level: float) -> np.ndarray | float:
    """Return the level of two falling sounds whose powers add [dB]."""
    return np.logaddexp(-early * t / _DECIBELS, (late_level - late * t) / _DECIBELS) * _DECIBELS


def _fit_slopes(t: np.ndarray, level: np.ndarray, let_go: float | None) -> Fall | None:
    """Return one slope, or two where they fit clearly better; robust, since beats dig deep."""

    def miss_one(p):
        return p[0] - p[1] * t - level

    def miss_two(p):
        return p[0] + _level(t, p[1] + p[2], p[1], p[3]) - level

    rough = max((level[0] - level[-1]) / (t[-1] - t[0]), 0.1)
    single = optimize.least_squares(miss_one, [level[0], rough], loss="soft_l1")
    bounds = ([-np.inf, 0.05, 0.0, -60.0], [np.inf, 300.0, 600.0, 0.0])
    starts = ([level[0], rough / steeper, rough * steeper, below] for steeper, below in ((1.5, -10.0), (3.0, -20.0)))
    doubles = (optimize.least_squares(miss_two, p, bounds=bounds, x_scale=[1, 1, 5, 5], loss="soft_l1") for p in starts)
    double = min(doubles, key=lambda found: found.cost)
    if double.cost < _WORTH_A_SECOND_SLOPE * single.cost:
        _, late, more, late_level = map(float, double.x)
        early, crossing = late + more, -late_level / max(more, 1e-6)
    else:
        early = late = float(single.x[1])
        late_level, crossing = -np.inf, np.inf
    if min(early, late) <= 0:
        return None
    seen_late = max(float(t[-1]) - crossing, 0.0) * late
    fall = Fall(early, late, late_level, 0.0, seen_late, let_go)
    return replace(fall, seen_db=-float(fall.level_db(t[-1])))


def _end_of_sound(above: np.ndarray, start: int, gone: int) -> int:
    """Return the first sample from `start` on from where the sound stays under the floor for a while."""
    under = np.concatenate([[0], np.cumsum(~above[start:])])
    still = under[gone:] - under[:-gone] == gone
    return start + int(np.argmax(still)) if still.any() else len(above)


def _find_let_go(t: np.ndarray, level: np.ndarray) -> float | None:
    """Return when the damper came down [s]: a drop far steeper than before it, and no return as after a beat."""
    step = t[1] - t[0]
    after, before = max(round(0.25 / step), 1), max(round(0.5 / step), 1)
    last = len(level) - after
    if last <= before // 2:
        return None
    highest_later = np.maximum.accumulate(level[::-1])[::-1]
    here = np.arange(before // 2, last)
    earlier = np.maximum(here - before, 0)
    drop = level[here] - level[here + after]
    usual = (level[earlier] - level[here]) / (here - earlier) * after
    damped = (drop > _DAMPER_DB + _DAMPER_RATIO * np.maximum(usual, 0)) & (
        highest_later[here + after] < level[here + after] + _DAMPER_DB / 3
    )
    return float(t[here[np.argmax(np.where(damped, drop, 0))]]) if damped.any() else None
