"""Photos of a check, wherever its finding is shown. The store of visits keeps them; without one there are none."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import streamlit as st

from valuation.language import say
from valuation.screens.state import Draft


def photos_of(draft: Draft, check: str) -> Sequence[tuple[Path, str]]:
    """Return the photos of one check, each as a file and its caption.

    A draft that knows photos has a method `photos_of` of its own; one that doesn't has none to show.
    """
    known = getattr(draft, "photos_of", None)
    return known(check) if known else ()


def show_photos(draft: Draft, check: str) -> None:
    """Draw the photos of one check."""
    for path, caption in photos_of(draft, check):
        st.image(path, alt=caption or say("Photo of what was found"))
        if caption:
            st.text(caption)
