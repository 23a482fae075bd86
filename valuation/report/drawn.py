"""The drawing of their piano on a paper: what was found numbered on it, each sentence with its photo. Pure."""

from __future__ import annotations

from valuation.drawing import draw, drawn_parts
from valuation.drawing.draw import in_words
from valuation.facts.visit import Visit
from valuation.language import say, say_many
from valuation.report.document import Drawing, Words
from valuation.report.occasion import Occasion, Photo
from valuation.report.talk.how_it_is import SHOWN, HowItIs, Seen


def drawn(visit: Visit, how: HowItIs, occasion: Occasion) -> Drawing:
    """Return the drawing of a piano with what was found on it, the worst first, and how the other parts stand."""
    kind = visit.piano.kind
    there = set(drawn_parts(kind))
    states = {part: state for part, state in how.states.items() if part in there}
    names = {part: name for part, name in how.names.items() if part in there}
    numbers = {item.part: (item.number,) for item in how.seen[:SHOWN] if item.part in there}
    more = (say("{part}: {words}", part=item.name, words=item.text) for item in how.seen[SHOWN:])
    return Drawing(
        svg=draw(kind, states, names=names, numbers=numbers, plain=True),
        alt=in_words(kind, states, names, plain=True),
        items=tuple(_numbered(item, occasion) for item in how.seen[:SHOWN]),
        rest=tuple(text for text in (*more, *how.rest, how.unseen) if text),
    )


def _numbered(item: Seen, occasion: Occasion) -> tuple[int, str, str, str]:
    photo = _photo_of(item, occasion)
    shown = say("Photo: {what}", what=item.text)
    name, alt = (photo.name, photo.alt or photo.caption or shown) if photo is not None else ("", "")
    return item.number, f"{item.name}. {item.text}", name, alt


def _photo_of(item: Seen, occasion: Occasion) -> Photo | None:
    """Return the first photo of a check that showed what was found."""
    return next((photo for check in item.checks for photo in occasion.photos if photo.check == check), None)


def photos_left(how: HowItIs, occasion: Occasion) -> list[Photo]:
    """Return the photos that don't stand beside a sentence of the drawing, in their order."""
    beside = [_photo_of(item, occasion) for item in how.seen[:SHOWN]]
    return [photo for photo in occasion.photos if photo not in beside or not photo.name]


def photos_elsewhere(how: HowItIs, occasion: Occasion) -> list[Words]:
    """Return how many photos there are that have no room on one leaf: none is left out in silence."""
    left = len(photos_left(how, occasion))
    if not left:
        return []
    told = say_many(
        "{count} more photo of it is in our files. Ask us for it.",
        "{count} more photos of it are in our files. Ask us for them.",
        left,
    )
    return [Words(text=told, style="small")]
