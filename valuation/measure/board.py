"""The soundboard, read from its crown and the bearing of the strings together."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.measure.bearing import STEEPEST_DEG
from valuation.measure.crown import HIGHEST_CROWN_MM
from valuation.measure.limits import require_between

MEANINGS = {
    ("risen", "pressing"): "carries",
    ("risen", "none"): "not loaded",
    ("risen", "lifting"): "not loaded",
    ("flat", "pressing"): "pressed flat",
    ("flat", "none"): "given way",
    ("flat", "lifting"): "given way",
    ("reversed", "pressing"): "pressed through",
    ("reversed", "none"): "sunk",
    ("reversed", "lifting"): "sunk",
}
"""Shape of the board and bearing, taken together: a risen board without bearing points to bridge, plate or rests rather
than to the board; a board without crown that still bears load has yielded under it; without either it has given way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardReading:
    """What crown and bearing say together. A board that sounds well overrules them.

    Attributes
    ----------
    shape : str
        ``risen``, ``flat`` or ``reversed``.
    bearing : str
        ``pressing``, ``none`` or ``lifting``.
    """

    shape: str
    bearing: str

    @property
    def meaning(self) -> str:
        """The two taken together, one of the words in `MEANINGS`."""
        return MEANINGS[self.shape, self.bearing]


def read_board(crown_mm: float, net_deg: float, *, crown_within_mm: float, angle_within_deg: float) -> BoardReading:
    """Return a reading of the board from its crown and the bearing at the same place.

    Parameters
    ----------
    crown_mm : float
        Gap between a thread stretched along a rib and the middle of the board; negative where the board touches in
        the middle and stands off at the ends [mm].
    net_deg : float
        Net bend of the strings there [deg].
    crown_within_mm : float
        Crown smaller than this, either way, can't be told from flat [mm].
    angle_within_deg : float
        Bend smaller than this, either way, can't be told from none [deg].

    Returns
    -------
    BoardReading
        Shape, bearing, and what they mean together.

    Examples
    --------
    >>> read_board(3.0, 0.8, crown_within_mm=0.5, angle_within_deg=0.1).meaning
    'carries'
    >>> read_board(-2.0, 0.0, crown_within_mm=0.5, angle_within_deg=0.1)
    BoardReading(shape='reversed', bearing='none')
    """
    crown = require_between(crown_mm, -HIGHEST_CROWN_MM, HIGHEST_CROWN_MM, what="crown", unit="mm")
    bend = require_between(net_deg, -STEEPEST_DEG, STEEPEST_DEG, what="bend of the string", unit="deg")
    require_between(crown_within_mm, 0, 10, what="least crown that can be told", unit="mm")
    require_between(angle_within_deg, 0, 5, what="least bend that can be told", unit="deg")
    shape = "risen" if crown > crown_within_mm else "reversed" if crown < -crown_within_mm else "flat"
    bearing = "pressing" if bend > angle_within_deg else "lifting" if bend < -angle_within_deg else "none"
    return BoardReading(shape=shape, bearing=bearing)
