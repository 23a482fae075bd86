"""What every request goes through before Streamlit sees it."""

from __future__ import annotations

import streamlit as st
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from valuation.access.hosts import Names, own_names

_POLICY_VIOLATION = 1008
"""Closing code of a WebSocket (RFC 6455, section 7.4.1)."""

WRONG_NAME = (
    "This page does not answer to the name by which it was asked for.\n"
    "If the name is your own, start the tool with --server.allowedHosts=NAME; the README says how.\n"
)
WRONG_PAGE = "Another web page asked for this. Only the tool's own pages may.\n"


class Access:
    """ASGI middleware: refuses what comes by a foreign name or from a foreign page.

    Parameters
    ----------
    app : ASGI application
        What is behind.
    names : Names, optional
        The names that are one's own; those of the server's settings if left out.
    """

    def __init__(self, app: ASGIApp, *, names: Names | None = None) -> None:
        self.app = app
        self.names = names or own_names(st.get_option("server.allowedHosts"))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through or refuse it."""
        if scope["type"] not in ("http", "websocket") or (refusal := self._refusal(Headers(scope=scope))) is None:
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": _POLICY_VIOLATION})
        else:
            await refusal(scope, receive, send)

    def _refusal(self, headers: Headers) -> PlainTextResponse | None:
        """Return what to answer instead; None where the name and the asking page are one's own."""
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self.names.answers_to(hosts[0]):
            return PlainTextResponse(WRONG_NAME, 421)
        if any(not self.names.lets_speak(origin, hosts[0]) for origin in headers.getlist("origin")):
            return PlainTextResponse(WRONG_PAGE, 403)
        return None
