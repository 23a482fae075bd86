"""The shop: who enters, units and language, the demo, one file with everything in it, photos, and the network."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import streamlit as st

from valuation.engine.pack import barred, pack_of
from valuation.engine.rows import Tables
from valuation.language import LANGUAGES, later, say, say_many
from valuation.report.figure_words import unsaid_words
from valuation.report.labels import listed
from valuation.screens import backups, frame, kit, page_list, shop
from valuation.screens.our_tables.words import evaluations_table
from valuation.screens.safe import md
from valuation.screens.sign_in import is_signed_in
from valuation.screens.state import enter_as, held, session_catching, who
from valuation.service.tables_effect import Effect, in_sentences, of_brought
from valuation.service.visits import SHORTEST_PASSPHRASE, ImportReport, Shop, UserError

_UNITS = {"metric": later("mm and N·m"), "imperial": later("inches and in-lb")}
_SHOP_FACTS = {
    "shop.name": later("Name of the workshop"),
    "shop.address": later("Address"),
    "shop.contact": later("Telephone or e-mail"),
    "shop.town": later("Town from which a letter is dated"),
    "shop.fee": later("What a visit costs, and whether it counts towards work"),
    "shop.second_opinion": later("Who else a client may ask"),
    "shop.terms": later("In which steps a job is paid"),
    "shop.warranty": later("Warranty on the work"),
    "shop.takers": later("Who takes old pianos near you"),
    "shop.qualification": later("What whoever evaluates has learned"),
}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.SHOP)
    store = frame.open_store()
    st.title(say("The shop"), anchor=False)
    _person()
    _not_set_yet(book)
    _settings(store, book)
    _demo(store)
    backups.section(store)
    _everything(store, book)
    _photos(store)
    _network()
    frame.end(book)


def _person() -> None:
    if is_signed_in():
        return
    session_catching().watch("who_enters", who(), lambda: enter_as(held("who_enters")))
    st.text_input(say("Who enters on this device"), key="who_enters", live="0.5s")


def _not_set_yet(book: Tables) -> None:
    """Name the figures that matter most and that are still those that the tool ships with."""
    with st.container(key="not_set_yet"):
        if told := unsaid_words(book, shop.today()):
            st.markdown(md(told))
            if st.button(say("Set the shop's country and its own figures"), key="begin_first_week"):
                frame.go(page_list.FIRST_WEEK)


def _settings(store: Shop, book: Tables) -> None:
    st.header(say("Words and units"), anchor=False)

    def kept(name: str, content: str) -> str:
        key = f"set_{name.replace('.', '_')}"
        session_catching().watch(key, content, lambda: store.set_setting(name, held(key)))
        return key

    language, units = kept("language", shop.language_chosen()), kept("units", store.setting("units") or "metric")
    st.pills(
        say("Language"), list(LANGUAGES), format_func=lambda one: LANGUAGES.get(one, one), key=language, required=True
    )
    st.pills(
        say("Show measures in"), list(_UNITS), format_func=lambda unit: say(_UNITS[unit]), key=units, required=True
    )
    st.header(say("As it stands on what the client gets"), anchor=False)
    for name, label in _SHOP_FACTS.items():
        typed = st.text_input(say(label), key=kept(name, store.setting(name) or ""), max_chars=300)
        if words := barred(typed, book):
            st.markdown(
                say("No paper of a workshop may bear this in {country}: {words}.",
                    country=say(pack_of(book).country.name), words=md(listed(words)))
            )  # fmt: skip


def _demo(store: Shop) -> None:
    st.header(say("The demo shop"), anchor=False)
    if store.has_demo():
        st.markdown(say("The visits of an invented workshop are here, each marked as invented."))
        kit.ask(
            session_catching(), "remove_demo", say("Take the demo away"),
            say("Take all invented visits away, with what was entered in them? Your own visits stay."),
            say("Yes, take them away"), store.remove_demo,
        )  # fmt: skip
    else:
        st.markdown(say("The demo is not here."))
        kit.action(session_catching(), "load_demo", say("Bring the demo in"), store.load_demo)


def _everything(store: Shop, book: Tables) -> None:
    st.header(say("Everything in one file"), anchor=False)
    st.markdown(
        say("All visits, who entered what and when, all photos and papers, in a format that the manual describes.")
    )
    lock = st.text_input(
        say("Passphrase, to lock it"), key="export_lock", type="password", live="0.5s",
        placeholder=say("may stay empty"),
        help=say("A locked file can be read by nobody who hasn't the passphrase, you neither: keep it safe."),
    )  # fmt: skip
    short = 0 < len(lock) < SHORTEST_PASSPHRASE
    if short:
        st.markdown(say("Too short: {count} letters or more.", count=SHORTEST_PASSPHRASE))
    ending, kind = ("locked", "application/octet-stream") if lock else ("zip", "application/zip")
    st.download_button(
        say("Download everything"), lambda: _zipped(store, lock), f"visits-{shop.today()}.{ending}", kind,
        key="export", on_click="ignore", disabled=short,
    )  # fmt: skip
    file = st.file_uploader(
        say("A file with everything from another device"), type=["zip", "locked"], key="import_file",
        max_upload_size=500,
    )  # fmt: skip
    if file is None:
        return
    key = ""
    if file.name.lower().endswith(".locked"):
        key = st.text_input(say("Its passphrase"), key="import_lock", type="password", live="0.5s")
    if st.button(say("Bring it in"), key="import", type="primary"):
        try:
            with TemporaryDirectory() as folder:
                path = Path(folder) / "import.zip"
                path.write_bytes(file.getvalue())
                came_in = store.import_zip(path, now=shop.now(), passphrase=key)
        except UserError as error:
            frame.tell(error)
        else:
            _came_in(came_in, of_brought(store, shop.today()) if came_in.tables_brought else (), book)


def _came_in(report: ImportReport, effects: tuple[Effect, ...], book: Tables) -> None:
    lines = [
        say("Visits: {new} new, {merged} merged, {there} with nothing new.",
            new=report.visits_new, merged=report.visits_merged, there=report.visits_there),
        say("Entries: {new} new, {there} here already.", new=report.entries_new, there=report.entries_there),
        say("Photos: {new} new, {there} here already.", new=report.photos_new, there=report.photos_there),
        say("Papers: {new} new, {there} here already.", new=report.papers_new, there=report.papers_there),
    ]  # fmt: skip
    if report.tables_new:
        lines.append(say("The tables of the file are in force here, since this shop had none of its own."))
    if report.tables_brought:
        lines.append(say("The file has other tables. Those of this shop stay in force."))
        if effects:
            lines.append(say("With the others: {effect}", effect=in_sentences(effects)))
        lines.append(say("They can be put in force on the page 'Our tables', under 'Versions'."))
    if report.clashes:
        lines.append(
            say_many(
                "{count} field of a merged visit differs from what was here: look there and settle it.",
                "{count} fields of merged visits differ from what was here: look there and settle them.",
                report.clashes,
            )
        )
    if report.set_aside:
        lines.append(
            say_many(
                "{count} entry holds a value that can't stand in its field: kept, and counted nowhere.",
                "{count} entries hold values that can't stand in their fields: kept, and counted nowhere.",
                report.set_aside,
            )
        )
    if report.visits_forgotten:
        lines.append(
            say_many(
                "{count} visit is forgotten, here or there: nothing of it came in.",
                "{count} visits are forgotten, here or there: nothing of them came in.",
                report.visits_forgotten,
            )
        )
    if report.papers_alike:
        lines.append(
            say_many(
                "{count} paper came in under a number that another paper bears: tell them apart by day and maker.",
                "{count} papers came in under numbers that others bear: tell them apart by day and maker.",
                report.papers_alike,
            )
        )
    if report.photos_lost:
        lines.append(
            say_many(
                "{count} photo is neither in the file nor here.",
                "{count} photos are neither in the file nor here.",
                report.photos_lost,
            )
        )
    with st.container(border=True, key="came_in"):
        for line in lines:
            st.markdown(line)
        names = {row.id: row.name for row in book.operations}
        if table := evaluations_table(effects, book.settings.currency, names, say("By the others")):
            st.html(table)


def _zipped(store: Shop, lock: str) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / ("export.locked" if lock else "export.zip")
        store.export_zip(path, now=shop.now(), passphrase=lock)
        return path.read_bytes()


def _photos(store: Shop) -> None:
    st.header(say("Photos"), anchor=False)
    if not st.button(say("Look whether all photos are there and whole"), key="look_at_photos"):
        return
    report = store.photo_report()
    st.markdown(say("{count} photos looked at.", count=report.checked))
    if not report.lost:
        st.markdown(say("All photos are there and whole."))
    for photo in report.lost:
        titles = ", ".join(title for _, title in photo.visits)
        what = say("damaged") if photo.damaged else say("missing")
        st.text(say("{what}: {file} of {visits}", what=what, file=f"{photo.hash[:16]}.jpg", visits=titles))


def _network() -> None:
    st.header(say("On the workshop's network"), anchor=False)
    st.markdown(
        say(
            "This tool listens on this machine only. Before others may reach it, set up a sign-in and an encrypted "
            "connection: the manual says how, step by step."
        )
    )
    st.markdown(md(say("The data lies in: {place}", place=shop.where_the_data_lies())))


if __name__ == "__main__":
    page()
