"""Everything in one file: taken along, and brought in from another device with word of what came."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.screens import frame, kit, shop
from valuation.screens.our_tables.words import evaluations_table
from valuation.service.tables_effect import Effect, in_sentences, of_brought
from valuation.service.visits import SHORTEST_PASSPHRASE, ImportReport, Shop, UserError


def everything(store: Shop, book: Tables) -> None:
    """Draw how all data leave and come in, in one file."""
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
            with TemporaryDirectory() as folder, kit.working() as heard:
                path = Path(folder) / "import.zip"
                path.write_bytes(file.getvalue())
                came_in = store.import_zip(path, now=shop.now(), passphrase=key, heard=heard)
        except UserError as error:
            frame.tell(error)
        else:
            _came_in(came_in, of_brought(store, shop.today()) if came_in.tables_brought else (), book)


def _came_in(report: ImportReport, effects: tuple[Effect, ...], book: Tables) -> None:
    with st.container(border=True, key="came_in"):
        for line in _came_in_words(report, effects):
            st.markdown(line)
        names = {row.id: row.name for row in book.operations}
        if table := evaluations_table(effects, book.settings.currency, names, say("By the others")):
            st.html(table)


def _came_in_words(report: ImportReport, effects: tuple[Effect, ...]) -> list[str]:
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
    return lines


def _zipped(store: Shop, lock: str) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / ("export.locked" if lock else "export.zip")
        store.export_zip(path, now=shop.now(), passphrase=lock)
        return path.read_bytes()
