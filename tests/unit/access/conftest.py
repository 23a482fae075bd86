"""A page behind the door, as small as can be: it answers with what it was told of who asks."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.testclient import TestClient
from starlette.websockets import WebSocket

from valuation.access.hosts import Names
from valuation.access.middleware import USER_HEADERS, Access
from valuation.access.setup import Setup
from valuation.store.sessions import Sessions

ADDRESS = "http://localhost:8501"
TOKEN = "the token of these tests, long enough"


async def _page(request: Request) -> Response:
    if request.url.path == "/walk/own":
        return JSONResponse({}, headers={"Content-Security-Policy": "default-src 'none'; frame-ancestors 'self'"})
    return JSONResponse({"path": request.url.path, "read": len(await request.body())})


async def _heard(websocket: WebSocket) -> None:
    await websocket.accept()
    async for _ in websocket.iter_text():
        await websocket.send_text(json.dumps([websocket.headers.getlist(name) for name in USER_HEADERS]))


@pytest.fixture
def sessions(tmp_path: Path) -> Sessions:
    return Sessions.of({"VALUATION_DATA": str(tmp_path / "store")})


@pytest.fixture
def served(sessions: Sessions) -> Callable[..., TestClient]:
    """A function that serves the page with a setup, by default that of this machine."""

    def serve(**given: object) -> TestClient:
        inner = Starlette(
            routes=[
                WebSocketRoute("/_stcore/stream", _heard),
                Route("/{rest:path}", _page, methods=["GET", "POST", "PUT", "DELETE"]),
            ]
        )
        given = {"names": Names(), "token": TOKEN, "address": ADDRESS} | given
        app = Access(inner, setup=Setup(sessions=sessions, **given), open_paths=("/walk/",))
        return TestClient(app, base_url=ADDRESS, follow_redirects=False, headers={"Accept": "text/html"})

    return serve


@pytest.fixture
def client(served: Callable[..., TestClient]) -> TestClient:
    """A browser at the machine itself, before it was let in."""
    return served()
