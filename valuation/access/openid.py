"""Signing in at the workshop's OpenID provider (OpenID Connect Core 1.0, authorization code flow with PKCE)."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from typing import Any

import httpx2
from authlib.common.errors import AuthlibBaseError
from authlib.integrations.starlette_client import OAuth
from joserfc.errors import JoseError
from starlette.requests import Request
from starlette.responses import Response

from valuation.access.hosts import inner_path
from valuation.access.setup import Provider

_NAME = "workshop"
_GO_TO = "go_to"
_LOG = logging.getLogger(__name__)
_GOES_WRONG = (AuthlibBaseError, JoseError, httpx2.HTTPError, ValueError)
"""What the provider, the network, or whoever made up an answer can bring about; the last for what is no JSON."""


class SignInFailed(Exception):
    """The provider could not be asked, or did not say who it is."""


class OpenId:
    """The way to the provider and back. Between both the browser keeps a signed cookie: `Request.session`."""

    def __init__(self, provider: Provider) -> None:
        self.redirect_uri = provider.redirect_uri
        self._client = OAuth().register(
            _NAME,
            client_id=provider.client_id,
            client_secret=provider.client_secret,
            server_metadata_url=provider.server_metadata_url,
            client_kwargs={
                "scope": "openid email profile",
                "code_challenge_method": "S256",
                "prompt": "select_account",
            },
        )

    async def send_off(self, request: Request, go_to: str) -> Response:
        """Send a browser to the provider.

        Parameters
        ----------
        request : Request
            What the browser asked.
        go_to : str
            Path of the page to which it shall come in the end.

        Raises
        ------
        SignInFailed
            If the provider can't be asked.
        """
        request.session.clear()  # one try at a time
        request.session[_GO_TO] = inner_path(go_to)
        try:
            return await self._client.authorize_redirect(request, self.redirect_uri)
        except _GOES_WRONG as error:
            raise _failed(error) from None

    async def take_back(self, request: Request) -> tuple[Mapping[str, Any], str]:
        """Return what the provider says of the person, and the path of the page to go to.

        Raises
        ------
        SignInFailed
            If it says nothing that holds: a state, code, nonce or signature that doesn't fit, or no answer.
        """
        go_to = inner_path(str(request.session.get(_GO_TO, "/")))
        try:
            token = await self._client.authorize_access_token(request)
            claims = dict(token.get("userinfo") or {})
            if claims and "email" not in claims:
                more = await self._client.userinfo(token=token)
                if more.get("sub") == claims.get("sub"):  # section 5.3.2: else it may be of somebody else
                    claims |= {name: more[name] for name in ("email", "email_verified", "name") if name in more}
        except _GOES_WRONG as error:
            raise _failed(error) from None
        finally:
            request.session.clear()
        if not claims:
            raise SignInFailed
        return claims, go_to


def verified_email(claims: Mapping[str, Any]) -> str:
    """Return the e-mail address that the provider has verified; empty where it doesn't say that it has."""
    email = claims.get("email")
    verified = claims.get("email_verified") in (True, "true")
    return email.strip() if verified and isinstance(email, str) else ""


def _failed(error: Exception) -> SignInFailed:
    _LOG.warning("signing in failed: %s", type(error).__name__)  # its words may name a person
    return SignInFailed()
