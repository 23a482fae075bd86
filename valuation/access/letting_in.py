"""Letting a browser in: a session is begun, and the browser keeps its secret as a cookie."""

from __future__ import annotations

from datetime import UTC, datetime

from starlette.requests import Request
from starlette.responses import Response

from valuation.access import notices
from valuation.access.setup import Setup
from valuation.errors import StoreError


def let_in(setup: Setup, request: Request, answer: Response, *, days: int, email: str = "", name: str = "") -> Response:
    """Return the answer with the cookie of a new session; where none can be begun, a page that says why.

    Parameters
    ----------
    setup : Setup
        How this server lets people in.
    request : Request
        What was asked.
    answer : Response
        What to answer.
    days : int
        How long the session lasts [days].
    email, name : str, optional
        Who signed in.
    """
    now, browser = datetime.now(UTC), request.headers.get("user-agent", "")
    try:
        secret, _ = setup.sessions.begin(now=now, days=days, email=email, name=name, browser=browser)
    except StoreError as error:
        return notices.tell_faults(request, [str(problem) for problem in error.problems])
    answer.set_cookie(setup.cookie, secret, max_age=days * 86_400, path=setup.base or "/", httponly=True,
                      samesite="lax", secure=setup.secure)  # fmt: skip
    answer.headers["Cache-Control"] = "no-store"
    return answer


def caller(request: Request) -> str:
    """Return the network address of who asks."""
    return request.client.host if request.client else "unknown"
