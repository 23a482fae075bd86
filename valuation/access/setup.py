"""How this server is to let people in: its settings and Streamlit's secrets, read once when it starts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from secrets import token_urlsafe
from typing import Any

import streamlit as st
from streamlit.errors import StreamlitSecretNotFoundError

from valuation.access.accounts import FILE, Accounts, read_accounts
from valuation.access.hosts import LOCAL, Names, own_names
from valuation.errors import Problem, UserError
from valuation.store.sessions import Sessions

TOKEN = "VALUATION_TOKEN"
"""Environment variable: the token of the address that lets in on this machine, where it shall stay the same."""

SIGN_IN = "/sign-in"
"""Path that leads to the provider."""

_LEAST_TOKEN, _LEAST_SECRET = 32, 32
_AUTH = ("redirect_uri", "cookie_secret", "client_id", "client_secret", "server_metadata_url")


@dataclass(frozen=True, slots=True, kw_only=True)
class Provider:
    """The workshop's OpenID provider, as the section ``auth`` of Streamlit's secrets names it."""

    redirect_uri: str
    cookie_secret: str = field(repr=False)
    client_id: str
    client_secret: str = field(repr=False)
    server_metadata_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """How people are let in.

    Attributes
    ----------
    names : Names
        The names by which the page answers.
    sessions : Sessions
        Who is in.
    token : str
        Lets in whoever knows it; empty where people sign in, or where nobody is let in.
    provider : Provider or None
        Where people sign in.
    accounts : Accounts or None
        Who of those is let in.
    faults : tuple of Problem
        Why nobody can be let in.
    base : str
        Path below which the page lies, such as ``/pianos``; empty for none.
    address : str
        Where the page is reached.
    """

    names: Names
    sessions: Sessions
    token: str = field(default="", repr=False)
    provider: Provider | None = None
    accounts: Accounts | None = None
    faults: tuple[Problem, ...] = ()
    base: str = ""
    address: str = "http://127.0.0.1:8501"

    @property
    def secure(self) -> bool:
        """Whether people reach the page by https."""
        return self.address.startswith("https:")

    @property
    def cookie(self) -> str:
        """Name of the cookie; a browser tells the ports of one machine apart by nothing else."""
        port = self.address.rpartition(":")[2].partition("/")[0]
        return "__Secure-valuation" if self.secure else f"valuation-{port}"


def setup_of_this_server(environ: Mapping[str, str]) -> Setup:
    """Return how this server lets people in; faults of it are told in the result, since nobody may come in then."""
    allowed, base = st.get_option("server.allowedHosts") or [], (st.get_option("server.baseUrlPath") or "").strip("/")
    given: dict[str, Any] = {"sessions": Sessions.of(environ), "base": f"/{base}" if base else ""}
    try:
        provider, accounts = _sign_in()
        token = "" if provider else _token(environ)
    except UserError as error:
        return Setup(names=own_names(allowed), faults=error.problems, **given)
    if provider is None:
        return Setup(names=own_names(allowed), token=token, address=_own_address(), **given)
    parts = provider.redirect_uri.split("/")
    return Setup(
        names=own_names(allowed, provider.redirect_uri),
        provider=provider,
        accounts=accounts,
        address="/".join(parts[:3]),
        **given,
    )


def has_sign_in() -> bool:
    """Tell whether people sign in at a provider."""
    return _section("auth") is not None


def accounts() -> Accounts | None:
    """Return the list of those who are let in; None where nobody signs in.

    Raises
    ------
    UserError
        With every fault of what is set up; nobody is in then.
    """
    return _sign_in()[1]


def _sign_in() -> tuple[Provider | None, Accounts | None]:
    auth = _section("auth")
    if auth is None:
        return None, None
    problems = [Problem(FILE, 0, f"auth.{name}", "it is missing; 'help access' says what goes there")
                for name in _AUTH if not isinstance(auth.get(name), str) or not auth[name].strip()]  # fmt: skip
    if not problems and len(auth["cookie_secret"]) < _LEAST_SECRET:
        problems.append(Problem(FILE, 0, "auth.cookie_secret", f"write at least {_LEAST_SECRET} letters by chance"))
    if not problems and not auth["redirect_uri"].startswith(("https://", "http://")):
        problems.append(Problem(FILE, 0, "auth.redirect_uri", "write it like https://YOUR.HOST/oauth2callback"))
    try:
        accounts = read_accounts(_section("access") or {})
    except UserError as error:
        problems += error.problems
    if problems:
        raise UserError(problems)
    return Provider(**{name: auth[name].strip() for name in _AUTH}), accounts


def _token(environ: Mapping[str, str]) -> str:
    """Return the token of the start; refuses to make one where others than this machine could use it."""
    if (st.get_option("server.address") or "") not in LOCAL:
        message = (
            "the tool was started for the whole network, but no sign-in is set up; set one up as the manual says, or"
            " start it for this machine only"
        )
        raise UserError([Problem("server.address", 0, "", message)])
    token = environ.get(TOKEN, "").strip()
    if token and len(token) < _LEAST_TOKEN:
        message = f"it is too short; write at least {_LEAST_TOKEN} letters by chance, or leave it out"
        raise UserError([Problem(TOKEN, 0, "", message)])
    return token or token_urlsafe(_LEAST_TOKEN)


def _section(name: str) -> Mapping[str, Any] | None:
    """Return a section of Streamlit's secrets, None where there is none; a file that can't be read is told."""
    try:
        section = st.secrets.get(name)
    except StreamlitSecretNotFoundError as error:
        if error.error_id == "no-secrets-found":
            return None
        raise UserError([Problem(FILE, 0, "", "it can't be read as TOML; mend it")]) from None
    if section is not None and not isinstance(section, Mapping):
        raise UserError([Problem(FILE, 0, name, f"write it as a section: a line [{name}], then its keys")])
    return section


def _own_address() -> str:
    name = st.get_option("server.address")
    scheme = "https" if st.get_option("server.sslCertFile") else "http"
    return f"{scheme}://{f'[{name}]' if ':' in name else name}:{st.get_option('server.port')}"
