"""Photos of a check, wherever its finding is shown."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from valuation.language import say
from valuation.screens.state import Draft


def photos_of(draft: Draft, check: str) -> list[tuple[Path, str]]:
    """Return the photos of one check that can be shown, each as a file and its caption."""
    found = ((draft.store.photo_path(photo.hash, thumbnail=True), photo.caption) for photo in draft.photos(check))
    return [(path, caption) for path, caption in found if path is not None]


def show_photos(draft: Draft, check: str) -> None:
    """Draw the photos of one check."""
    for path, caption in photos_of(draft, check):
        st.image(str(path), alt=caption or say("Photo of what was found"))
        if caption:
            st.text(caption)
