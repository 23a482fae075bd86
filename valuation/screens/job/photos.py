"""Photos of one check: taken with the device's camera or from files, stored at once, shown small."""

from __future__ import annotations

import streamlit as st

from valuation.errors import UserError
from valuation.language import say
from valuation.screens import shop
from valuation.screens.safe import md
from valuation.screens.state import Draft, device, held, who
from valuation.service.visits import PHOTO_ENDINGS, PHOTO_MOST_BYTES, Photo


def photo_fields(draft: Draft, check: str, name: str) -> None:
    """Draw the photos of one check and the way to more.

    Parameters
    ----------
    check : str
        Id of the check.
    name : str
        What it is called; stands in the words for those who don't see the photo.
    """
    photos = draft.photos(check)
    key = draft.key(f"photo_{check}_{len(photos)}")  # another one after each photo: the field is empty again
    limit = PHOTO_MOST_BYTES // 1_000_000
    draft.catching.watch_files(key, [], _take_files, draft, check, key)
    st.file_uploader(
        md(say("Photos of {name}, up to {limit} MB each", name=name, limit=limit)), type=list(PHOTO_ENDINGS), key=key,
        accept_multiple_files=True, max_upload_size=limit,
    )  # fmt: skip
    camera = st.toggle(say("With the camera of this device"), key=draft.key(f"camera_on_{check}"))
    if camera:
        shot = draft.key(f"camera_{check}_{len(photos)}")
        draft.catching.watch_files(shot, None, _take_shot, draft, check, shot)
        st.camera_input(md(say("A photo of {name}", name=name)), key=shot)
    for fault in draft.faults.get(f"photo.{check}", ()):
        with st.container(key=draft.key(f"fault_photo_{check}_{abs(hash(fault))}")):
            st.text(fault)
    if photos:
        with st.container(horizontal=True, key=draft.key(f"photos_{check}")):
            for number, photo in enumerate(photos, start=1):
                _one(draft, photo, say("Photo {number} of {name}", number=number, name=name))


def _one(draft: Draft, photo: Photo, words: str) -> None:
    with st.container(width=180):
        path = draft.store.photo_path(photo.hash, thumbnail=True)
        if path is None:
            st.markdown(say("This photo is missing or damaged; the shop's page tells which file."))
        else:
            st.image(str(path), alt=words, width="stretch")
        st.button(
            say("Take it away"), key=draft.key(f"drop_{photo.hash[:16]}_{photo.check}"),
            help=words, on_click=draft.press, args=(draft.keep, photo.entry.field, None),
        )  # fmt: skip


def _take_files(draft: Draft, check: str, key: str) -> None:
    _take(draft, check, [(file.name, file.getvalue()) for file in held(key) or []])


def _take_shot(draft: Draft, check: str, key: str) -> None:
    if shot := held(key):
        _take(draft, check, [(shot.name, shot.getvalue())])


def _take(draft: Draft, check: str, files: list[tuple[str, bytes]]) -> None:
    """Store each photo; what one of them lacks does not keep the others out."""
    said, by, on = [], who(), device()
    for name, data in files:
        try:
            draft.store.add_photo(draft.visit_id, data, name=name, check=check, who=by, device=on, now=shop.now())
        except UserError as error:
            said.append(str(error))
    draft.read(draft.book)
    draft.faults[f"photo.{check}"] = tuple(said)
