"""Puts a piano's parts, their names, states and numbers together as one SVG that stands alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

from valuation.drawing import grand, upright
from valuation.drawing.look import INKS, Look, look_of, pattern_id, patterns
from valuation.drawing.plates import name_plate, number_disc
from valuation.drawing.shapes import WIDTH, Part
from valuation.language import later, say, say_many

NOT_LOOKED_AT = ""
"""State of a part that nobody has looked at."""

UNSEEN = "unseen"
"""State of a part of which nothing could be seen."""

STATE_WORDS = {
    "sound": later("sound"),
    "serviceable": later("serviceable"),
    "worn": later("worn"),
    "failed": later("failed"),
    UNSEEN: later("can't be seen"),
    NOT_LOOKED_AT: later("not looked at"),
}
"""States as the trade says them."""

_PLAIN_WORDS = {
    "sound": later("in good order"),
    "serviceable": later("good enough"),
    "worn": later("poor"),
    "failed": later("not working"),
}
"""States as anybody says them."""

PART_STATES = tuple(STATE_WORDS)
"""States that a part can be drawn in."""

OPTIONAL = ("tenor_bridge", "player")
"""Parts that few pianos have: drawn only where their state is given."""

_PIANOS = {"upright": upright, "grand": grand}


def drawn_parts(kind: str) -> tuple[str, ...]:
    """Return the ids of all parts that the drawing of a kind of piano has, in the order of drawing."""
    return tuple(part.id for part in _PIANOS[kind].parts())


def draw(
    kind: str,
    states: Mapping[str, str],
    *,
    numbers: Mapping[str, Sequence[int]] | None = None,
    names: Mapping[str, str] | None = None,
    words: Mapping[str, str] | None = None,
    plain: bool = False,
    dark: bool = False,
    legend: bool = True,
) -> str:
    """Draw a piano: every part as a shape whose id is the part's, hatched by its state, with name and state on it.

    Parameters
    ----------
    kind : str
        ``upright``, opened from the front with its back beside it, or ``grand``, from above with a key from the side.
    states : mapping of str to str
        Of each part, by its id, one of `PART_STATES`; what is not named here was not looked at. An optional part is
        drawn only if it is named.
    numbers : mapping of str to sequence of int, optional
        Numbers of findings or photos put on a part; what each tells stands beside the drawing, in the caller's hands.
    names : mapping of str to str, optional
        What each part is called, in the language spoken; a part without a name shows none.
    words : mapping of str to str, optional
        What stands beside a part's name in place of its state, such as how many of its checks were made;
        its shape then holds no sentence on its state.
    plain : bool
        States in the words of whoever is not of the trade.
    dark : bool
        Light lines on dark ground.
    legend : bool
        Put what each hatching means below the drawing, of the states that are in it.

    Returns
    -------
    str
        An SVG that needs nothing else: no style sheet, font, script or other file. Its ``aria-label`` is the sentence
        told instead of the picture; each part holds a ``title`` of its own.

    Raises
    ------
    KeyError
        If there is no such kind, part or state.

    Examples
    --------
    >>> picture = draw("grand", {"plate": "sound"}, names={"plate": "iron frame"})
    >>> picture.startswith("<svg "), 'id="plate"' in picture, "iron frame: sound" in picture
    (True, True, True)
    """
    piano, look, names, numbers, words = _PIANOS[kind], look_of(dark=dark), names or {}, numbers or {}, words or {}
    parts = [part for part in piano.parts() if part.id not in OPTIONAL or part.id in states]
    for name in {*states, *numbers, *names} - set(drawn_parts(kind)):
        raise KeyError(f"no part {name!r} is drawn of a {kind} piano")
    drawn = {part.id: states.get(part.id, NOT_LOOKED_AT) for part in parts}
    said = state_words(plain=plain)
    bodies = "".join(
        _part(part, drawn[part.id], "" if part.id in words else names.get(part.id, ""), said, look) for part in parts
    )
    told = {part: words.get(part, said[state] if state else "") for part, state in drawn.items()}
    plates = "".join(
        _plates(part, told[part.id], names.get(part.id, ""), numbers.get(part.id, ()), look) for part in parts
    )
    below, height = _legend(drawn, said, piano.HEIGHT, look) if legend else ("", piano.HEIGHT)
    sentence = escape(in_words(kind, drawn, names, plain=plain))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" class="piano {kind}" '
        f'font-family="system-ui, Libertinus Serif, sans-serif" aria-label="{sentence}">'
        f"<defs>{patterns(look, drawn.values())}</defs>{bodies}{plates}{below}</svg>"
    )


def state_words(*, plain: bool) -> dict[str, str]:
    """Return what each state is called, as the trade or as anybody says it."""
    return {state: say(word) for state, word in (STATE_WORDS | (_PLAIN_WORDS if plain else {})).items()}


def in_words(kind: str, states: Mapping[str, str], names: Mapping[str, str], *, plain: bool = False) -> str:
    """Return the sentence that is told instead of the picture."""
    said = state_words(plain=plain)
    piano = say("An upright piano, opened, and its back") if kind == "upright" else say("A grand piano from above")
    told = [
        say("{part} {state}", part=names[part], state=said[state])
        for part, state in states.items() if state and part in names
    ]  # fmt: skip
    open_still = sum(not state for state in states.values())
    rest = say_many("{count} part not looked at", "{count} parts not looked at", open_still) if open_still else ""
    return say("{piano}: {parts}.", piano=piano, parts=", ".join(filter(None, [*told, rest])))


def _part(part: Part, state: str, name: str, said: Mapping[str, str], look: Look) -> str:
    dash = {NOT_LOOKED_AT: ' stroke-dasharray="6 4"', UNSEEN: ' stroke-dasharray="2 3"'}.get(state, "")
    fill = f"url(#{pattern_id(state, look)})" if state else look.paper
    places = "".join(f'<path class="place" d="{d}" fill-rule="evenodd"/>' for d in part.places)
    title = f"<title>{escape(name)}: {escape(said[state])}</title>" if name else ""
    details = "".join(_inked(detail, look) for detail in part.details)
    reach = "".join(f'<path class="reach" d="{d}" pointer-events="stroke"/>' for d in part.reach)
    return (
        f'<g id="{part.id}" class="part" data-part="{part.id}" data-state="{state or "open"}">{title}'
        f'<g fill="{fill}" stroke="{look.line}" stroke-width="1.4"{dash}>{places}</g>'
        f'<g pointer-events="none" fill="none" opacity="{0.55 if state == NOT_LOOKED_AT else 0.9}">{details}</g>'
        f'<g fill="none" stroke="{look.paper}" stroke-opacity="0" stroke-width="38">{reach}</g></g>'
    )


def _inked(detail: str, look: Look) -> str:
    """Put colours where a detail names its ink."""
    for ink, (fill, stroke) in INKS.items():
        if f'class="{ink}"' in detail:
            return detail.replace(
                f'class="{ink}"', f'class="{ink}" fill="{getattr(look, fill, "none")}" '
                f'stroke="{getattr(look, stroke, "none")}"',
            )  # fmt: skip
    raise ValueError(f"no ink is named in {detail[:60]}")


def _plates(part: Part, word: str, name: str, numbers: Sequence[int], look: Look) -> str:
    plate, right = name_plate(part.name_at, part.room, name, word, look) if name else ("", part.name_at[0])
    discs = "".join(
        number_disc(min(right + 11 + 20 * i, WIDTH - 10), part.name_at[1], number, look)
        for i, number in enumerate(numbers)
    )
    return f'<g class="words" data-of="{part.id}" pointer-events="none">{plate}{discs}</g>' if plate or discs else ""


def _legend(states: Mapping[str, str], said: Mapping[str, str], top: float, look: Look) -> tuple[str, float]:
    there = [state for state in PART_STATES if state in states.values()]
    rows, column = [], WIDTH / 3
    for i, state in enumerate(there):
        x, y = 4 + column * (i % 3), top + 6 + 24 * (i // 3)
        dash = {NOT_LOOKED_AT: ' stroke-dasharray="6 4"', UNSEEN: ' stroke-dasharray="2 3"'}.get(state, "")
        fill = f"url(#{pattern_id(state, look)})" if state else look.paper
        rows.append(
            f'<rect x="{x:g}" y="{y:g}" width="22" height="16" fill="{fill}" stroke="{look.line}"{dash}/>'
            f'<text x="{x + 27:g}" y="{y + 12:g}" font-size="11" fill="{look.ink}">{escape(said[state])}</text>'
        )
    height = top + 8 + 24 * -(-len(there) // 3)
    return f'<g class="legend">{"".join(rows)}</g>', height
