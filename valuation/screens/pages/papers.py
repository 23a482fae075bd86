"""Papers: what the client gets is made here, kept under a number, handed out again, and held against today's tables."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.pack import pack_of
from valuation.engine.rows import Tables
from valuation.language import LANGUAGES, say, say_many, speaking
from valuation.report.labels import option_name
from valuation.report.moved import verdict_word
from valuation.report.paper_words import (
    PAPER_MEANINGS,
    PAPER_NAMES,
    SIZE_NAMES,
    UNIT_NAMES,
    made_words,
    paper_name,
)
from valuation.screens import frame, page_list, papers_compared, shop
from valuation.screens.paper_making import hand_out, make_here, refused
from valuation.screens.safe import md
from valuation.screens.state import Draft, held
from valuation.service import UserError
from valuation.service.papers import print_form
from valuation.service.written import (
    PAPERS,
    WRITTEN,
    Paper,
    Wanted,
    as_it_stands,
    list_papers,
    option_quoted,
    paper_again,
    paper_mail,
    shop_facts,
)

_HERE = page_list.PAPERS
_MOST_PHOTOS = 12
"""So many photos are chosen to begin with: more make a paper that takes long to make and to read."""

_SHOWN = 8
_WITH_WORK = ("rebuild", "partial_repair", "keep", "retire")


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    kept = list_papers(draft.store, draft.visit_id)
    st.title(say("Papers"), anchor=False)
    st.markdown(say("A paper is made from what is stored, gets a number, and is never changed. Older ones are kept."))
    _who_writes(draft)
    wanted = _asked_for(draft, book, found, kept[-1] if kept else None)
    if wanted is not None:
        make_here(draft, book, wanted, say("Make it: {paper}", paper=say(PAPER_NAMES[wanted.what])))
    _list(draft, book)
    _form(draft, book)
    frame.end(book)


def _who_writes(draft: Draft) -> None:
    """Say so where the papers bear no name of a workshop."""
    if shop_facts(draft.store, demo=draft.demo).name:
        return
    with st.container(horizontal=True, vertical_alignment="center", key="no_name"):
        st.markdown(say("The papers bear no name of a workshop yet."))
        if frame.may_open(page_list.SHOP) and st.button(say("Enter it on the page 'The shop'"), key="to_shop"):
            frame.go(page_list.SHOP)


def _asked_for(draft: Draft, book: Tables, found: Appraisal, last: Paper | None) -> Wanted | None:
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


def _list(draft: Draft, book: Tables) -> None:
    """Draw every paper that was made, the newest first."""
    st.header(say("Made so far"), anchor=False)
    kept = list_papers(draft.store, draft.visit_id)[::-1]
    if not kept:
        st.markdown(say("None yet."))
        return
    st.markdown(say_many("{count} paper about this piano.", "{count} papers about this piano.", len(kept)))
    everything = len(kept) > _SHOWN and st.toggle(say("Show the older ones too"), key=draft.key("all_papers"))
    for paper in kept if everything else kept[:_SHOWN]:
        _one(draft, book, paper)


def _one(draft: Draft, book: Tables, paper: Paper) -> None:
    with st.container(border=True, key=f"paper_{paper.id}", gap="small"):
        st.subheader(
            md(say("No. {number}: {paper}", number=paper.printed_number, paper=paper_name(paper))), anchor=False
        )
        st.text(made_words(paper, None))
        st.markdown(md(_state(draft, book, paper)))
        with st.container(horizontal=True):
            hand_out(draft, paper, f"get_{paper.id[:12]}")
            again = st.button(
                say("Make it again from what was kept"), key=draft.key(f"again_{paper.id[:12]}"),
                help=paper.printed_number,
            )  # fmt: skip
        as_text = st.toggle(say("As the text of an e-mail"), key=draft.key(f"mail_{paper.id[:12]}"))
        compare = st.toggle(say("With today's tables"), key=draft.key(f"today_{paper.id[:12]}"))
        if as_text:
            _mail(draft, paper)
        if again:
            _again(draft, paper)
        if compare:
            papers_compared.with_todays_tables(draft, book, paper)


def _state(draft: Draft, book: Tables, paper: Paper) -> str:
    said = say("It said: {verdict}.", verdict=verdict_word(paper.figures)) if "verdict" in paper.figures else ""
    if as_it_stands(paper, draft.recorded, book):
        return f"{said} {say('Nothing that it rests on has changed since.')}"
    return f"{said} {say('The visit or the tables have changed since.')}"


def _mail(draft: Draft, paper: Paper) -> None:
    """Show a paper as text, to be copied into an e-mail."""
    try:
        mail = paper_mail(draft.store, paper.id)
    except UserError as error:
        refused(error)
        return
    st.code(mail.subject, language=None, wrap_lines=True)
    st.code(mail.text, language=None, wrap_lines=True)


def _again(draft: Draft, paper: Paper) -> None:
    """Make a paper again and say whether it is the same."""
    try:
        again = paper_again(draft.store, paper.id)
    except UserError as error:
        refused(error)
        return
    with st.container(border=True, key=f"again_told_{paper.id}"):
        if again.same:
            st.markdown(say("Made again: the same, byte for byte."))
            return
        if again.same_figures:
            st.markdown(say("Made again: every figure is the same, but the file is not."))
        else:
            st.markdown(say("Made again: this version of the tool works out other figures. The kept one stands."))
        if again.lost_photos:
            st.markdown(
                say_many(
                    "{count} photo in it is missing or damaged by now.",
                    "{count} photos in it are missing or damaged by now.",
                    len(again.lost_photos),
                )
            )
        st.text(say("The kept one was made with version {version} of the tool.", version=again.made_with))


def _form(draft: Draft, book: Tables) -> None:
    """Hand out the form to be filled in by pencil."""
    st.header(say("The form to fill in by pencil"), anchor=False)
    st.markdown(
        say("For where a screen can't go: every check for this kind of piano, empty. As chosen above: language, paper.")
    )
    usually = {"language": shop.language_chosen(), "size": pack_of(book).country.paper, "units": draft.system}
    language, size, units = (str(held(draft.key(f"paper_{name}")) or usual) for name, usual in usually.items())
    kind = draft.visit.piano.kind

    def form() -> bytes:
        with speaking(language):
            return print_form(book, kind, paper=size, system=units)

    st.download_button(
        say("Download the form"), form, f"form-{kind}.pdf", "application/pdf", key="get_form", on_click="ignore"
    )


if __name__ == "__main__":
    page()
