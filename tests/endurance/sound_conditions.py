"""Sixty notes whose pitch is known, in nine conditions: how close pitch and stiffness come, and what is refused.

    .venv/bin/python -m tests.endurance.sound_conditions

prints a line for each condition; takes about ten minutes. What it printed is kept in `sound_conditions.md`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from tests.reference import made_notes as made
from valuation.measure.sound import Inharmonicity, Refused, analyse_note

RATE = made.RATE
CUT_DB = {"cut by 3 dB": 3, "cut by 6 dB": 6, "cut by 12 dB": 12, "cut, 15 dB": 6}
NOISE_DB = {"20 dB": 20, "10 dB": 10, "5 dB": 5, "0 dB": 0, "cut, 15 dB": 15}
CONDITIONS = ("clean", "20 dB", "10 dB", "5 dB", "0 dB", "cut by 3 dB", "cut by 6 dB", "cut by 12 dB", "cut, 15 dB")


def notes(condition: str, keys: Iterable[int]) -> Iterator[tuple[float, float, object]]:
    """Yield cents and stiffness that a note was made from, and what is read of it or why it is refused."""
    for number, key in enumerate(keys):
        rng = np.random.default_rng([key, number, CONDITIONS.index(condition)])
        usual = made.young_inharmonicity(key) if key >= 20 else 1e-4 * 2 ** ((20 - key) / 8)
        b, cents = usual * rng.uniform(0.5, 1.8), rng.uniform(-150, 30)
        slower = rng.uniform(0.6, 1.6)
        sound = made.struck_note(key, cents, b, rng, snr_db=NOISE_DB.get(condition, 45), slower=slower, seconds=3.0)
        most = np.abs(sound).max() * 10 ** (-CUT_DB.get(condition, 0) / 20)
        try:
            yield cents, b, analyse_note(np.clip(sound, -most, most), RATE, key)
        except Refused as refusal:
            yield cents, b, refusal


def misses(condition: str, keys: Iterable[int]) -> list[float | None]:
    """Return how far the pitch of each note is off [cents]; None where it is refused."""
    return [None if isinstance(read, Refused) else read.cents - cents for cents, _, read in notes(condition, keys)]


def main() -> None:
    """Print the table."""
    keys = np.linspace(1, 88, 60).round().astype(int).tolist()
    print("| condition | given | pitch off, 95th of 100 [cents] | B off, 90th [%] | over its error, most |")
    print("| --- | --- | --- | --- | --- |")
    for condition in CONDITIONS:
        found = [(c, b, read) for c, b, read in notes(condition, keys) if not isinstance(read, Refused)]
        off = np.array([read.cents - cents for cents, _, read in found])
        over = np.abs(off / [read.cents_se for *_, read in found]).max()
        stiff = [abs(r.inharmonicity.b / b - 1) for _, b, r in found if isinstance(r.inharmonicity, Inharmonicity)]
        far, stiffness = np.percentile(np.abs(off), 95), 100 * np.percentile(stiff, 90)
        print(f"| {condition} | {len(found)} of 60 | {far:.2f} | {stiffness:.1f} | {over:.1f} |", flush=True)


if __name__ == "__main__":
    main()
