"""Pitch and sound of single notes, from short recordings: what can be measured, how well, and what can't.

`analyse_note` reads one recording of one key, `analyse_set` puts about a dozen together. Both give figures with
their uncertainty and leave judging to the tables; what a figure may and may not say stands at its class.

May import NumPy, SciPy, soundfile and `valuation.errors`; the rest of the tool never needs this package.
Must never turn sustain into a verdict, name a cause, or give a figure that the recording can't carry.
"""

from valuation.measure.sound.figures import Inharmonicity, KeyHeard, NoteReading, Sustain, UnisonSpread
from valuation.measure.sound.note import analyse_note
from valuation.measure.sound.refused import Refused
from valuation.measure.sound.stiffness_line import OddString, StiffnessLine
from valuation.measure.sound.tuning import RegisterFigure, SetReading, analyse_set

__all__ = [
    "Inharmonicity",
    "KeyHeard",
    "NoteReading",
    "OddString",
    "Refused",
    "RegisterFigure",
    "SetReading",
    "StiffnessLine",
    "Sustain",
    "UnisonSpread",
    "analyse_note",
    "analyse_set",
]
