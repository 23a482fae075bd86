"""Which paper is wanted, in which language and size, and with which photos."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.pack import pack_of
from valuation.engine.rows import Tables
from valuation.language import LANGUAGES, say
from valuation.report.labels import option_name
from valuation.report.paper_words import (
    PAPER_MEANINGS,
    PAPER_NAMES,
    SIZE_NAMES,
    UNIT_NAMES,
)
from valuation.screens import shop
from valuation.screens.paper_making import refused
from valuation.screens.safe import md
from valuation.screens.state import Draft
from valuation.service import UserError
from valuation.service.written import (
    PAPERS,
    WRITTEN,
    Paper,
    Wanted,
    option_quoted,
)

_MOST_PHOTOS = 12
"""So many photos are chosen to begin with: more make a paper that takes long to make and to read."""
_WITH_WORK = ("rebuild", "partial_repair", "keep", "retire")


def asked_for(draft: Draft, book: Tables, found: Appraisal, last: Paper | None) -> Wanted | None:
    """Ask which paper is wanted; None where there is nothing to make it of, which is said."""
    st.header(say("Make one"), anchor=False)
    what = _pills(draft, "what", say("Which paper"), {w: say(PAPER_NAMES[w]) for w in WRITTEN}, WRITTEN[0])
    st.markdown(md(say(PAPER_MEANINGS[what])))
    option = _way_quoted(draft, found) if what == "quotation" and found.ready else ""
    language = _pills(draft, "language", say("Language"), LANGUAGES, last.language if last else shop.language_chosen())
    sizes = {size: say(SIZE_NAMES[size]) for size in PAPERS}
    size = _pills(draft, "size", say("Size of paper"), sizes, last.size if last else pack_of(book).country.paper)
    units = {system: say(name) for system, name in UNIT_NAMES.items()}
    system = _pills(draft, "units", say("Show measures in"), units, last.units if last else draft.system)
    photos = _photos(draft) if what == "evaluation" else None
    wanted = Wanted(what=what, option=option, language=language, size=size, units=system, photos=photos)
    try:
        option_quoted(wanted, found)
    except UserError as error:
        refused(error)
        return None
    return wanted


def _way_quoted(draft: Draft, found: Appraisal) -> str:
    ways = {name: option_name(name) for name in _WITH_WORK if found.option(name)}
    worked = [option for option in found.options if option.lines]
    first = found.verdict if found.best.lines or not worked else max(worked, key=lambda o: o.expected_net).option
    return _pills(draft, "option", say("For which way"), ways, first)


def _photos(draft: Draft) -> tuple[str, ...]:
    """Ask which photos go in; to begin with the first ones."""
    taken = draft.recorded.photos
    if not taken:
        return ()
    names = {row.id: say(row.name) for row in draft.book.checks}
    words = {}
    for number, photo in enumerate(taken, start=1):
        shown = photo.caption or names.get(photo.check, "") or say("the piano")
        words[photo.hash] = say("{number}: {what}", number=number, what=shown)
    chosen = st.pills(
        say("Photos in it"), list(words), format_func=lambda name: md(words[name]), selection_mode="multi",
        key=draft.key(f"paper_photos_{len(taken)}"), default=list(words)[:_MOST_PHOTOS],
    )  # fmt: skip
    return tuple(name for name in words if name in chosen)


def _pills(draft: Draft, name: str, label: str, words: dict[str, str], first: str) -> str:
    chosen = st.pills(
        label, list(words), format_func=lambda word: md(words[word]), key=draft.key(f"paper_{name}"),
        default=first if first in words else next(iter(words)), required=True,
    )  # fmt: skip
    return chosen or first
