"""What a note that a device recorded says, for the one check at which it was recorded; the sound itself isn't kept."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from valuation.facts.keys import key_number
from valuation.language import speaking

NOTES = {
    "unison_spread": ("A2", "E3", "A3", "C4", "E4", "A4", "C5", "E5", "A5", "C6", "E6", "A6"),
    "pitch_level": ("A1", "A2", "A3", "A4", "A5", "A6", "A7"),
}
"""Checks that recordings give readings to, and the notes to record: where a unison can be read, and the As."""


def notes_of(check: str) -> list[tuple[int, str]]:
    """Return the notes to record for a check as key and name; none where it isn't read from sound."""
    return [(key_number(name), name) for name in NOTES.get(check, ())]


def heard(data: bytes, check: str, key: int, language: str) -> dict[str, Any]:
    """Return what a recording of one strike says, as JSON: a value and sentences, or why there is none.

    Parameters
    ----------
    data : bytes
        A WAV file.
    check : str
        One of `NOTES`.
    key : int
        The key that was played.
    language : str
        In which the sentences are.
    """
    from valuation.measure.sound import Refused
    from valuation.readings.sound import read_for  # slow to import, and needed here only

    with speaking(language):
        try:
            value, says = read_for(check, BytesIO(data), key)
        except Refused as refused:
            return {"refused": refused.sentence}
    return {"value": value, "says": says}
