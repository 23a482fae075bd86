"""Copies of the shop's data on the page: loud where there is no good one of late, and the acts on them."""

from __future__ import annotations

import streamlit as st

from valuation.language import later, say, say_many
from valuation.report.labels import day_words
from valuation.screens import frame, shop
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, held
from valuation.service import backups
from valuation.service.backups import BackupState
from valuation.service.visits import Shop, UserError
from valuation.store.copies import Copy
from valuation.store.restore import Proof

_SAID = "copy_said"
_COUNTED = {
    "visit": later("visits"),
    "entry": later("entries"),
    "job": later("jobs"),
    "paper": later("papers"),
}


def tell_if_late(store: Shop) -> None:
    """Say on the first page that there is no good copy of late; nothing where there is one."""
    _came_back()
    found = backups.state(store, shop.today())
    if not found.late:
        return
    with st.container(border=True, key="fault_backup"):
        st.markdown(f"**{say('There is no good copy of your data of late.')}** {md(_how_late(found))}")
        if found.fault:
            st.text(found.fault)
        st.button(say("Make a copy now"), key="copy_now_first", on_click=_make, args=(store,))
        _told()


def section(store: Shop) -> None:
    """Draw the copies and what can be done with them."""
    found = backups.state(store, shop.today())
    st.markdown(md(_how_late(found)))
    if found.fault:
        st.text(found.fault)
    st.markdown(
        say(
            "A copy holds the database, the photos and your own tables, and counts only after it was checked. The "
            "newest of 7 days, 5 weeks and 6 months stay. They lie beside the data: copy that folder to another disk."
        )
    )
    _came_back()
    with st.container(horizontal=True):
        st.button(say("Make a copy now"), key="copy_now", on_click=_make, args=(store,))
        look = st.button(say("Check all copies"), key="check_copies")
    _told()
    folder = store.store.folder
    if look:
        proofs = backups.verify(folder)
        lines = [md(_proven(proof)) for proof in proofs]
        lines += [md(say("Copy {number}: not sound.", number=number)) for number in backups.unreadable(folder)]
        st.markdown(bullets(lines) if lines else say("There is no copy yet."))
    elif there := backups.list_copies(folder):
        with st.expander(say_many("{count} copy", "{count} copies", len(there)), key="copies"):
            st.markdown(bullets(md(_line(copy)) for copy in there))
    _bring_back(store)


def _bring_back(store: Shop) -> None:
    """Offer to bring a copy back at the next start; where several may use the database, only by the command."""
    folder = store.store.folder
    there = {copy.number: copy for copy in backups.list_copies(folder)}
    if not there:
        return
    if store.store.database is None:
        command = "`python -m valuation restore`"
        st.markdown(say("To bring one back, stop the program and run: {command}", command=command))
        return
    if (asked := backups.asked_for(folder)) is not None:
        with st.container(border=True, key="comes_back"):
            st.markdown(
                say(
                    "Copy {number} comes back when the program is next started. Stop it and start it again. "
                    "All entered since that copy then lies in the folder 'replaced'.",
                    number=asked,
                )
            )
            st.button(say("Leave everything as it is"), key="leave_as_is", on_click=backups.withdraw, args=(folder,))
        return
    with st.expander(say("Bring a copy back"), key="bring_back"):
        st.selectbox(say("Which one"), list(there), format_func=lambda n: _line(there[n]), key="copy_back")
        st.button(say("Bring it back at the next start"), key="ask_back", on_click=_ask, args=(store,))


def _ask(store: Shop) -> None:
    try:
        backups.ask_for(store.store.folder, held("copy_back"))
    except UserError as error:
        fill(_SAID, error)


def _came_back() -> None:
    """Tell what came of the copy that was to be brought back at this start."""
    came = shop.brought_back()
    if isinstance(came, UserError):
        frame.tell(came)
    elif came is not None:
        with st.container(border=True, key="came_back"):
            st.markdown(md(say("Copy {number} is back: {holds}.", number=came.report.copy.number,
                               holds=_holds(came.report.copy))))  # fmt: skip
            if came.report.photos_lost:
                lost = len(came.report.photos_lost)
                st.markdown(say_many("{count} photo is lost.", "{count} photos are lost.", lost))
            if came.report.set_aside:
                place = f"{came.report.set_aside.parent.name}/{came.report.set_aside.name}"
                st.markdown(md(say("What was there before lies in the folder {place}.", place=place)))


def _how_late(found: BackupState) -> str:
    if found.newest is None or found.newest.day is None:
        return say("There is no copy yet.")
    said = say("The newest copy is of {day}.", day=day_words(found.newest.day))
    if found.days is None:
        return f"{said} {say('That day is yet to come: see that the clock of this machine is right.')}"
    return said


def _make(store: Shop) -> None:
    try:
        made = store.back_up_now(shop.today())
    except UserError as error:
        fill(_SAID, error)
    else:
        fill(_SAID, say("Copy {number} was made and checked.", number=made.number))


def _told() -> None:
    told = held(_SAID)
    fill(_SAID, None)
    if isinstance(told, UserError):
        frame.tell(told)
    elif told:
        st.markdown(told)


def _line(copy: Copy) -> str:
    day = day_words(copy.day) if copy.day else say("before the tables were changed")
    return say("Copy {number}, {day}: {holds}", number=copy.number, day=day, holds=_holds(copy))


def _holds(copy: Copy) -> str:
    counts = [f"{copy.rows[name]} {say(words)}" for name, words in _COUNTED.items() if name in copy.rows]
    return ", ".join([*counts, f"{copy.photos} {say('photos')}"])


def _proven(proof: Proof) -> str:
    if proof.faults:
        return say("Copy {number}: not sound.", number=proof.copy.number)
    if proof.photos_lost:
        lost = say_many("{count} photo is lost.", "{count} photos are lost.", len(proof.photos_lost))
        return f"{_line(proof.copy)}. {lost}"
    return say("{copy}. Sound.", copy=_line(proof.copy))
