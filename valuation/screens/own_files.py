"""What the page fetches beside Streamlit's own files: one script, from this server, as its policy demands."""

from __future__ import annotations

from pathlib import Path

import streamlit as st
from starlette.requests import Request
from starlette.responses import FileResponse
from starlette.routing import Route

LANDMARKS = "landmarks.js"
_FOLDER = Path(__file__).parent


def routes() -> list[Route]:
    """Return the routes of the page's own files, under the path that the server is told to stand at."""
    base = (st.get_option("server.baseUrlPath") or "").strip("/")
    return [Route(f"/{base}/{LANDMARKS}" if base else f"/{LANDMARKS}", _landmarks)]


def _landmarks(_: Request) -> FileResponse:
    return FileResponse(_FOLDER / LANDMARKS, media_type="text/javascript", headers={"Cache-Control": "no-cache"})
