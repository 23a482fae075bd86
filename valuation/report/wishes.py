"""What a client says at the table: what matters to them, which choices they make, what it is worth to them.

Nothing of it takes an option away or changes their order. Only what it is worth to have and to hear this very piano
enters the sums; the rest moves what is told first, and is written down.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any

from valuation.engine.rows import QUESTIONS
from valuation.facts import why_unfit
from valuation.facts.kinds import plain_number
from valuation.facts.visit import PREMIUM_UNPLAYED, Visit

THEMES = ("family", "hearing", "playing", "cost", "room")
"""What may matter, in the order in which it is asked."""

NOT_SAID, LITTLE, SOME, A_LOT = 0, 1, 2, 3
"""How much a theme matters."""

WORTHS = ("to_have", "to_hear")
"""What it is worth to them, in money."""

FIELD = "wish."
"""What the fields of a visit begin with that hold a wish."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What a client has said. Every field may be left unsaid.

    Attributes
    ----------
    family, hearing, playing, cost, room : int
        How much it matters to have it, to hear it, to play every day, the money, the room: `NOT_SAID`, `LITTLE`,
        `SOME` or `A_LOT`.
    to_have, to_hear : float or None
        What it is worth to them, beyond its price, to have this very piano, and to hear it played, in money; None as
        the visit has it.
    finish, sheen, lettering, key_tops, hardware : str
        Ids of rows of ``choices.csv``.
    colour : str
        Colour of a new finish, in their words.
    left_original : tuple of str
        Parts that are to stay as they are.
    questions : str
        What they want to ask, or be reminded of, in their words.
    leaning : str
        Way to which they lean today, one of `valuation.facts.words.WAYS`.
    """

    family: int = NOT_SAID
    hearing: int = NOT_SAID
    playing: int = NOT_SAID
    cost: int = NOT_SAID
    room: int = NOT_SAID
    to_have: float | None = None
    to_hear: float | None = None
    finish: str = ""
    sheen: str = ""
    lettering: str = ""
    key_tops: str = ""
    hardware: str = ""
    colour: str = ""
    left_original: tuple[str, ...] = field(default=())
    questions: str = ""
    leaning: str = ""

    def matters(self, theme: str) -> int:
        """Return how much a theme matters."""
        return getattr(self, theme)

    def chosen(self, question: str) -> str:
        """Return the choice made on one of the client's own questions."""
        return getattr(self, question)

    def in_order(self) -> tuple[str, ...]:
        """Return all themes, what matters most first; what is equal stays in the order asked."""
        return tuple(sorted(THEMES, key=lambda theme: -self.matters(theme)))


def to_json(wishes: Wishes) -> dict[str, Any]:
    """Return what was said by field, as plain JSON values; what was not said is left out."""
    unsaid = Wishes()
    return {
        f.name: list(value) if isinstance(value, tuple) else value
        for f in fields(wishes)
        if (value := getattr(wishes, f.name)) != getattr(unsaid, f.name)
    }


def from_json(said: Mapping[str, Any]) -> Wishes:
    """Return the wishes that a mapping of plain JSON values holds.

    Parameters
    ----------
    said : mapping
        By field; fields that are not known here are passed over, for they may belong to a later version.

    Raises
    ------
    ValueError
        If a value is not of its field's kind; names the field.
    """
    wishes = Wishes()
    told = _split(said)
    for f in fields(Wishes):
        if f.name in told and told[f.name] is not None:
            wishes = with_wish(wishes, f.name, told[f.name])
    return wishes


def with_wish(wishes: Wishes, name: str, value: Any) -> Wishes:
    """Return the wishes with one field said anew; None takes it back.

    Raises
    ------
    ValueError
        If there is no such field, or the value is not of its kind.
    """
    names = {f.name for f in fields(Wishes)}
    if name not in names:
        raise ValueError(f"there is no wish {name!r}; there are {', '.join(sorted(names))}")
    if value is None:
        return replace(wishes, **{name: getattr(Wishes(), name)})
    return replace(wishes, **{name: _checked(name, value)})


def wishes_in(said: Mapping[str, Any]) -> Wishes:
    """Return the wishes among the fields of a visit, each ``wish.NAME``; what is not known here is passed over."""
    wishes = Wishes()
    told = {name.removeprefix(FIELD): value for name, value in said.items() if name.startswith(FIELD)}
    for name, value in _split(told).items():
        with suppress(ValueError):
            wishes = with_wish(wishes, name, value)
    return wishes


def _split(said: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was said with the one premium of earlier versions split into the two figures, where it is one."""
    told = {name: value for name, value in said.items() if name != "premium"}
    premium = plain_number(said.get("premium"))
    if premium is not None:
        told = {"to_have": PREMIUM_UNPLAYED * premium, "to_hear": (1 - PREMIUM_UNPLAYED) * premium} | told
    return told


def _checked(name: str, value: Any) -> Any:
    plain = list(value) if isinstance(value, tuple) else value
    if fault := why_unfit(FIELD + name, plain, date.max):
        raise ValueError(f"wish {name!r}: {fault}")
    if isinstance(plain, list):
        return tuple(dict.fromkeys(plain))
    return float(plain) if name in WORTHS else plain


def visit_with(visit: Visit, wishes: Wishes) -> Visit:
    """Return the visit with what the client has said it is worth to have and to hear it; the rest changes no sum."""
    said = {name: value for name in WORTHS if (value := getattr(wishes, name)) is not None}
    if all(getattr(visit.client, name) == value for name, value in said.items()):
        return visit
    return replace(visit, client=replace(visit.client, **said))


assert set(QUESTIONS) <= {f.name for f in fields(Wishes)}, "every question of choices.csv has its field"
