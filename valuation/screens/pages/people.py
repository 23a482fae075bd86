"""People's data: find a person, hand out, correct, restrict, forget; what is due, kept by law, or left over."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.report.labels import day_words
from valuation.screens import frame, page_list, shop
from valuation.screens.people_told import what_is_kept
from valuation.screens.recorded import FACT_NAMES
from valuation.screens.safe import md
from valuation.screens.state import close_current, current, fill, held, who
from valuation.service import people
from valuation.service.handed_out import hand_out
from valuation.service.people import Holding
from valuation.service.visits import Shop, UserError

_SAID, _TURN = "people_said", "people_turn"
_FIELD, _VALUE, _GONE, _COPIES = "correct_field", "correct_value", "correct_gone", "forget_copies"
_MOST_SHOWN = 50


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.PEOPLE)
    store = frame.open_store()
    st.title(say("People's data"), anchor=False)
    _told(store)
    _find(store, book)
    _due(store, book)
    _by_law(store)
    _restricted(store)
    _left_over(store)
    what_is_kept(store, book)
    frame.end(book)


def _told(store: Shop) -> None:
    """Say what came of the last act, once."""
    said = held(_SAID)
    fill(_SAID, None)
    if isinstance(said, UserError):
        frame.tell(said)
    elif said:
        with st.container(border=True, key="people_said_box"):
            st.text(str(said))
    if store.traces:
        st.text(store.traces)


def _act(act: Callable[[], str], found: tuple[str, ...] = (), chosen: tuple[str, ...] = ()) -> None:
    """Do what was asked, and say what came of it; the list of what was chosen begins anew.

    Parameters
    ----------
    act : callable
        Returns what to say.
    found, chosen : tuple of str
        Visits that were listed, and those of them that were ticked, when the button was drawn: what is ticked at the
        tap must be the same.
    """
    if tuple(name for name in found if held(_tick(name))) != chosen:
        fill(_SAID, say("What is chosen has just changed: look at it, and tap again."))
        return
    try:
        fill(_SAID, act())
    except UserError as error:
        fill(_SAID, error)
    fill(_TURN, _turn() + 1)
    shop.forget_what_is_ready()


def _turn() -> int:
    turn = held(_TURN)
    return turn if isinstance(turn, int) else 0


def _tick(visit: str) -> str:
    return f"person_{visit}_{_turn()}"


def _find(store: Shop, book: Tables) -> None:
    st.header(say("Find a person"), anchor=False)
    words = st.text_input(
        say("Name, place, or any words"), key="people_words", live="0.5s", type="search",
        help=say("Looked for in everything that was ever entered, also where it was corrected since."),
    )  # fmt: skip
    found = people.find(store, str(words or ""))
    if not found:
        if words:
            st.markdown(say("Nothing is kept in which all these words stand."))
        return
    st.markdown(say_many("{count} visit; choose those of this person.", "{count} visits; choose those of this person.",
                         len(found)))  # fmt: skip
    chosen = []
    for one in found[:_MOST_SHOWN]:
        holding = one.holding
        if st.checkbox(md(_line(holding)), key=_tick(holding.visit)):
            chosen.append(holding)
    if len(found) > _MOST_SHOWN:
        st.markdown(say("More are found than shown: add a word."))
    if chosen:
        _acts(store, book, chosen, tuple(one.holding.visit for one in found[:_MOST_SHOWN]))


def _line(holding: Holding) -> str:
    said = [
        holding.title,
        holding.client,
        holding.place,
        day_words(holding.day) if holding.day else "",
        say_many("{count} entry", "{count} entries", holding.entries),
        say_many("{count} photo", "{count} photos", holding.photos),
        say_many("{count} paper", "{count} papers", holding.papers),
        say("restricted") if holding.kept_as else "",
    ]
    return " · ".join(filter(None, said))


def _acts(store: Shop, book: Tables, chosen: list[Holding], found: tuple[str, ...]) -> None:
    names = tuple(holding.visit for holding in chosen)

    def button(words: str, key: str, act: Callable[..., str], **how: Any) -> None:
        st.button(words, key=key, on_click=_act, args=(act, found, names), **how)

    with st.container(border=True, key="people_acts"):
        st.download_button(
            say("Hand out all that is kept"), lambda: _handed_out(store, names), f"data-{shop.today()}.zip",
            "application/zip", key="hand_out", on_click="ignore",
        )  # fmt: skip
        if all(not holding.kept_as for holding in chosen):
            button(say("Restrict: keep it, use it for nothing"), "restrict", lambda: _restrict(store, names))
            if len(names) == 1:
                _correct(store, names[0], button)
        _forget(store, book, names, button)


def _handed_out(store: Shop, names: tuple[str, ...]) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "data.zip"
        hand_out(store, names, path, now=shop.now())
        return path.read_bytes()


def _restrict(store: Shop, names: tuple[str, ...]) -> str:
    people.restrict(store, names)
    _off_the_table(names)
    return say_many("{count} visit is restricted.", "{count} visits are restricted.", len(names))


def _correct(store: Shop, visit: str, button: Callable[..., None]) -> None:
    with st.expander(say("Correct"), key="people_correct"):
        st.selectbox(say("What"), people.CORRECTABLE, format_func=lambda name: say(FACT_NAMES[name]), key=_FIELD)
        st.text_area(say("As it should read"), key=f"{_VALUE}_{_turn()}")
        st.checkbox(say("What stood there before was wrong, and goes for good"), key=f"{_GONE}_{_turn()}")
        button(say("Correct it"), "correct", lambda: _corrected(store, visit))


def _corrected(store: Shop, visit: str) -> str:
    """Correct a field as its widgets stand at the tap: the run that drew the button may know less."""
    field, value, gone = held(_FIELD), held(f"{_VALUE}_{_turn()}"), held(f"{_GONE}_{_turn()}")
    people.correct(store, visit, str(field), str(value or ""), forget_earlier=bool(gone), who=who(), now=shop.now())
    return say("It is corrected.")


def _forget(store: Shop, book: Tables, names: tuple[str, ...], button: Callable[..., None]) -> None:
    st.markdown(
        say(
            "Forgetting takes out names, places, contacts, stories, notes, wishes, photos and papers, everywhere and "
            "for good. What taught the tables stays without a name; what tax law demands of an agreed job is set apart."
        )
    )
    sure = st.checkbox(say("I mean it: it can't be undone"), key=f"forget_sure_{_turn()}")
    st.checkbox(
        say("Remove older copies of the data, too, once a fresh one is made and checked"), key=f"{_COPIES}_{_turn()}"
    )
    with st.container(horizontal=True):
        button(
            say("Forget this person"), "forget", lambda: _forgotten(store, book, names), type="primary",
            disabled=not sure,
        )  # fmt: skip
        if len(names) == 1:
            button(
                say("The visit was a mistake: throw it away"), "throw_away",
                lambda: _thrown_away(store, book, names[0]), disabled=not sure,
            )  # fmt: skip


def _forgotten(store: Shop, book: Tables, names: tuple[str, ...]) -> str:
    kept = people.erase(store, names, book, shop.today())
    _off_the_table(names)
    said = [say_many("{count} visit was forgotten.", "{count} visits were forgotten.", len(names))]
    if kept:
        said.append(say_many("Of {count} tax law keeps something.", "Of {count} tax law keeps something.", kept))
    if held(f"{_COPIES}_{_turn()}"):
        _, gone = people.let_old_copies_go(store, shop.today())
        said.append(say_many("{count} older copy was removed.", "{count} older copies were removed.", gone))
    return " ".join(said)


def _thrown_away(store: Shop, book: Tables, name: str) -> str:
    people.throw_away(store, name, book, shop.today())
    _off_the_table((name,))
    return say("The visit is thrown away.")


def _off_the_table(names: tuple[str, ...]) -> None:
    draft = current()
    if draft is not None and draft.visit_id in names:
        close_current()
        st.query_params.clear()


def _due(store: Shop, book: Tables) -> None:
    st.header(say("Kept for longer than needed"), anchor=False)
    names = tuple(one.visit for one in people.due(store, book, shop.today()))
    if not names:
        st.markdown(say("Nothing."))
        return
    st.markdown(say_many("{count} visit", "{count} visits", len(names)))
    with st.expander(say("Which ones"), key="due_ones"):
        for holding in people.holdings(store, names[:_MOST_SHOWN]):
            st.text(_line(holding))
    sure = st.checkbox(say("I mean it: it can't be undone"), key=f"due_sure_{_turn()}")
    st.button(
        say("Forget them all"), key="forget_due", disabled=not sure, on_click=_act,
        args=(lambda: _forgotten(store, book, names),),
    )  # fmt: skip


def _by_law(store: Shop) -> None:
    kept = people.kept_by_law(store)
    if not kept:
        return
    st.header(say("Kept because tax law demands it"), anchor=False)
    for one in kept:
        with st.container(horizontal=True):
            st.text(say("{name}: until {day} ({law})", name=one.name, day=one.until, law=one.law))
            st.download_button(
                say("Hand out"), one.content, f"kept-{one.id[:8]}.zip", "application/zip", key=f"law_{one.id}",
                on_click="ignore",
            )  # fmt: skip


def _restricted(store: Shop) -> None:
    found = people.restricted(store)
    if not found:
        return
    st.header(say("Restricted"), anchor=False)
    for holding in found:
        with st.container(horizontal=True):
            st.text(_line(holding))
            st.button(
                say("Use it again"), key=f"lift_{holding.visit}", on_click=_act,
                args=(lambda name=holding.visit: _lifted(store, name),),
            )  # fmt: skip


def _lifted(store: Shop, name: str) -> str:
    people.lift(store, [name])
    return say("The visit is in use again.")


def _left_over(store: Shop) -> None:
    st.header(say("Left over"), anchor=False)
    if over := sum(one.until < shop.today().isoformat() for one in people.kept_by_law(store)):
        st.markdown(say_many("{count} job that tax law keeps no longer.", "{count} jobs that tax law keeps no longer.",
                             over))  # fmt: skip
    looked = st.button(say("Look for files that nothing speaks of any more"), key="look_left_over")
    files = people.unspoken_files(store, shop.now()).count if looked else 0
    if looked:
        st.markdown(say_many("{count} file that nothing speaks of any more.",
                             "{count} files that nothing speaks of any more.", files))  # fmt: skip
    if over or files:
        st.button(say("Clean up"), key="clean_up", on_click=_act, args=(lambda: _cleaned(store),))


def _cleaned(store: Shop) -> str:
    people.clean(store, shop.now())
    return say("It is cleaned up.")


if __name__ == "__main__":
    page()
