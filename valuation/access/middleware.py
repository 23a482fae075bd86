"""What every request goes through before Streamlit sees it: name, asking page, who it is; and what goes back."""

from __future__ import annotations

import hmac
import os
import time
from datetime import UTC, datetime
from urllib.parse import parse_qsl, quote, urlencode

from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from valuation.access import notices
from valuation.access.accounts import Accounts, Role
from valuation.access.headers import put_in
from valuation.access.hosts import inner_path
from valuation.access.letting_in import caller, let_in
from valuation.access.setup import SIGN_IN, Provider, Setup, setup_of_this_server
from valuation.access.start import tell_the_start
from valuation.access.throttle import Throttle
from valuation.store.sessions import Session

_SIGN_OUT = "/auth/logout"
"""Path that ends a session; Streamlit's ``st.logout`` leads there."""

_HEALTH, _METRICS = "/_stcore/health", "/_stcore/metrics"
_TOKEN = "token"
_TOKEN_DAYS = 30
"""For how long a browser on this machine is in, once it was let in by the start's address [days]."""

_POLICY_VIOLATION = 1008
"""Closing code of a WebSocket (RFC 6455, section 7.4.1)."""

USER_HEADERS = ("x-valuation-name", "x-valuation-email", "x-valuation-role", "x-valuation-session")
"""Headers by which the pages learn who it is; ``server.trustedUserHeaders`` takes them from here alone."""

WRONG_NAME = (
    "This page does not answer to the name by which it was asked for.\n"
    "If the name is your own, start the tool with --server.allowedHosts=NAME; the manual says how.\n"
)
WRONG_PAGE = "Another web page asked for this. Only the tool's own pages may.\n"


class Access:
    """ASGI middleware: lets through whoever may come in, and nobody else.

    Parameters
    ----------
    app : ASGI application
        What is behind.
    setup : Setup, optional
        How people are let in; as this server's settings say if left out.
    open_paths : tuple of str
        Beginnings of paths whose own routes ask who it is, such as ``/walk/``.
    """

    def __init__(self, app: ASGIApp, *, setup: Setup | None = None, open_paths: tuple[str, ...] = ()) -> None:
        self.app, self.open_paths, self.throttle = app, open_paths, Throttle()
        self._setup = setup
        self._flow: ASGIApp | None = None

    @property
    def setup(self) -> Setup:
        """How people are let in; read when the server's port is known."""
        if self._setup is None:
            self._setup = setup_of_this_server(os.environ)
        return self._setup

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, self._telling_the_start(send))
        elif scope["type"] == "websocket":
            await self._websocket(scope, receive, send)
        else:
            await self._http(scope, receive, self._with_headers(send))

    def _telling_the_start(self, send: Send) -> Send:
        async def tell(message: Message) -> None:
            await send(message)
            if message["type"] == "lifespan.startup.complete":
                tell_the_start(self.setup)

        return tell

    def _with_headers(self, send: Send) -> Send:
        async def headed(message: Message) -> None:
            if message["type"] == "http.response.start":
                put_in(MutableHeaders(scope=message), secure=self.setup.secure)
            await send(message)

        return headed

    # --- what may come through

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        request, path = Request(scope, receive), self._path(scope)
        answer: Response | ASGIApp | None = self._foreign(request)
        if answer is None and path == _METRICS:
            answer = PlainTextResponse("Not Found", 404)
        if answer is None and path != _HEALTH and not path.startswith(self.open_paths):
            answer = self._unless_let_in(request, path)
        await (answer or self.app)(scope, receive, send)

    async def _websocket(self, scope: Scope, receive: Receive, send: Send) -> None:
        asked = HTTPConnection(scope)
        who = self._who(asked)
        if self._foreign(asked) is not None or who is None:
            await send({"type": "websocket.close", "code": _POLICY_VIOLATION})
            return
        closed = False

        async def receive_while_in() -> Message:
            nonlocal closed
            message = await receive()
            if message["type"] == "websocket.receive" and self._who(asked) != who:
                closed = True
                await send({"type": "websocket.close", "code": _POLICY_VIOLATION})
                return {"type": "websocket.disconnect", "code": _POLICY_VIOLATION}
            return message

        async def send_while_in(message: Message) -> None:
            if not closed:
                await send(message)

        await self.app(_as(scope, *who), receive_while_in, send_while_in)

    def _foreign(self, asked: HTTPConnection) -> Response | None:
        """Return what to answer to a foreign name or page; None where both are one's own."""
        hosts = asked.headers.getlist("host")
        if len(hosts) != 1 or not self.setup.names.answers_to(hosts[0]):
            return PlainTextResponse(WRONG_NAME, 421)
        if any(not self.setup.names.lets_speak(origin, hosts[0]) for origin in asked.headers.getlist("origin")):
            return PlainTextResponse(WRONG_PAGE, 403)
        return None

    def _who(self, asked: HTTPConnection) -> tuple[Session, Role] | None:
        """Return whose request it is, and as what they are in: who is no longer on the list is out."""
        session = self.setup.sessions.find(asked.cookies.get(self.setup.cookie, ""), datetime.now(UTC))
        if session is None or self.setup.faults:
            return None
        if self.setup.accounts is None:
            return (session, Role.OWNER) if not session.email else None
        role = self.setup.accounts.role_of(session.email)
        return (session, role) if role else None

    # --- what is answered here

    def _unless_let_in(self, request: Request, path: str) -> Response | ASGIApp | None:
        """Return what answers instead of the page; None for who is in."""
        if self.setup.faults:
            return notices.let_nobody_in(request)
        who = self._who(request)
        if path == _SIGN_OUT:
            return self._sign_out(request, who[0] if who else None)
        provider, accounts = self.setup.provider, self.setup.accounts
        if provider is not None and accounts is not None:
            if path == SIGN_IN or request.url.path == _path_of(provider.redirect_uri):
                return self._sign_in_flow(provider, accounts)
        elif _TOKEN in request.query_params:
            return self._by_token(request, who is not None)
        if who is not None:
            return None
        if not notices.wants_a_page(request):
            return PlainTextResponse("Sign in first.\n", 401)
        if self.setup.provider is None:
            return notices.ask_for_token(request, wrong=False)
        return notices.offer_sign_in(request, self._sign_in_from(request))

    def _by_token(self, request: Request, is_in: bool) -> Response:
        if self.throttle.blocks(caller(request), time.monotonic()):
            return notices.ask_to_wait(request)
        given = request.query_params[_TOKEN].strip()
        if "://" in given:  # the whole address was pasted
            given = dict(parse_qsl(given.partition("?")[2])).get(_TOKEN, "")
        if not hmac.compare_digest(given.encode(), self.setup.token.encode()):
            self.throttle.count(caller(request), time.monotonic())
            return notices.ask_for_token(request, wrong=True)
        rest = urlencode([pair for pair in parse_qsl(request.url.query) if pair[0] != _TOKEN])
        answer = RedirectResponse(inner_path(f"{request.url.path}?{rest}" if rest else request.url.path), 303)
        return answer if is_in else let_in(self.setup, request, answer, days=_TOKEN_DAYS)

    def _sign_in_flow(self, provider: Provider, accounts: Accounts) -> ASGIApp:
        if self._flow is None:
            # here, not above: at a machine of one's own nobody signs in
            from valuation.access.sign_in_flow import sign_in_flow

            self._flow = sign_in_flow(self.setup, provider, accounts, self.throttle)
        return self._flow

    def _sign_out(self, request: Request, session: Session | None) -> Response:
        """End the session; a link of a foreign page ends none."""
        answer = RedirectResponse(f"{self.setup.base}/", 303)
        if session is not None and request.headers.get("sec-fetch-site", "same-origin") == "same-origin":
            self.setup.sessions.end(session.id)
            answer.delete_cookie(self.setup.cookie, path=self.setup.base or "/")
        return answer

    def _sign_in_from(self, request: Request) -> str:
        asked = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return f"{self.setup.base}{SIGN_IN}?{urlencode({'to': asked})}"

    def _path(self, scope: Scope) -> str:
        return scope["path"].removeprefix(self.setup.base)


def _as(scope: Scope, session: Session, role: Role) -> Scope:
    """Return the request with who it is; what the browser itself says of that is taken out."""
    own = dict(zip(USER_HEADERS, (session.name, session.email, role, session.id), strict=True))
    kept = [(name, value) for name, value in scope["headers"] if name.decode("latin-1").lower() not in own]
    return {**scope, "headers": [*kept, *((name.encode(), quote(value).encode()) for name, value in own.items())]}


def _path_of(address: str) -> str:
    return "/" + "/".join(address.split("?")[0].split("/")[3:])
