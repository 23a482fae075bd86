"""How often somebody who isn't in may try."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field

_ALL = ""
_MOST_CALLERS = 10_000
"""So many are remembered at most; then the one that tried longest ago is forgotten."""


@dataclass(slots=True)
class Throttle:
    """So many tries in a while for each caller, and so many for all together.

    Attributes
    ----------
    tries, of_all : int
        How many in a while: of one caller, and of all.
    seconds : float
        The while [s].
    """

    tries: int = 20
    of_all: int = 300
    seconds: float = 60.0
    _made: OrderedDict[str, list[float]] = field(default_factory=OrderedDict)

    def blocks(self, caller: str, now: float) -> bool:
        """Tell whether a caller has to wait.

        Parameters
        ----------
        caller : str
            Network address of who tries.
        now : float
            Seconds of a clock that never goes back [s].
        """
        return self._lately(caller, now) >= self.tries or self._lately(_ALL, now) >= self.of_all

    def count(self, caller: str, now: float) -> None:
        """Remember that a caller has tried."""
        for one in (caller, _ALL):
            self._made.setdefault(one, []).append(now)
            self._made.move_to_end(one)
        if len(self._made) > _MOST_CALLERS:
            self._made.popitem(last=False)

    def _lately(self, caller: str, now: float) -> int:
        made = [at for at in self._made.get(caller, ()) if now - at < self.seconds]
        if caller in self._made:
            self._made[caller] = made
        return len(made)
