"""The two requests of signing in: off to the provider, and back with what it says of the person."""

from __future__ import annotations

import logging
import time
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.middleware.sessions import SessionMiddleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from valuation.access import notices
from valuation.access.accounts import Accounts
from valuation.access.letting_in import caller, let_in
from valuation.access.openid import OpenId, SignInFailed, verified_email
from valuation.access.setup import SIGN_IN, Provider, Setup
from valuation.access.throttle import Throttle

_SECONDS = 600
"""For how long somebody may be away at the provider [s]."""

_LOG = logging.getLogger(__name__)


def sign_in_flow(setup: Setup, provider: Provider, accounts: Accounts, throttle: Throttle) -> ASGIApp:
    """Return what answers both requests; in between the browser keeps a signed cookie."""
    return SessionMiddleware(
        _Flow(setup, OpenId(provider), accounts, throttle),
        secret_key=provider.cookie_secret,
        session_cookie=f"{setup.cookie}-flow",
        max_age=_SECONDS,
        same_site="lax",
        https_only=setup.secure,
    )


@dataclass(frozen=True, slots=True)
class _Flow:
    setup: Setup
    openid: OpenId
    accounts: Accounts
    throttle: Throttle

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        answer = await self._answer(Request(scope, receive))
        await answer(scope, receive, send)

    async def _answer(self, request: Request) -> Response:
        now = time.monotonic()
        if self.throttle.blocks(caller(request), now):
            return notices.ask_to_wait(request)
        self.throttle.count(caller(request), now)
        try:
            if request.url.path == f"{self.setup.base}{SIGN_IN}":
                return await self.openid.send_off(request, request.query_params.get("to", "/"))
            return self._with_account(request, *await self.openid.take_back(request))
        except SignInFailed:
            return notices.tell_failure(request, f"{self.setup.base}{SIGN_IN}")

    def _with_account(self, request: Request, claims: Mapping[str, object], go_to: str) -> Response:
        email = verified_email(claims)
        if self.accounts.role_of(email) is None:
            _LOG.warning("signing in refused: %s", "not on the list" if email else "no verified e-mail address")
            return notices.refuse_account(request, f"{self.setup.base}{SIGN_IN}", email)
        name = str(claims.get("name") or email)
        answer = RedirectResponse(go_to, 303)
        return let_in(self.setup, request, answer, days=self.accounts.days, email=email, name=name)
