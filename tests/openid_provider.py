"""A small OpenID provider on this machine, for the tests of signing in: discovery, authorize, token, keys.

Whoever comes to it is asked for a name in a form and believed; a real provider would ask for more. It is strict with
the page that sends them: client, address to return to, secret, code used once, PKCE where the page offers it.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import secrets
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlencode, urlsplit

from joserfc import jwt
from joserfc.jwk import RSAKey

CLIENT, SECRET = "workshop", "only for the tests"

_FORM = """<!doctype html><html lang="en"><title>Provider for tests</title>
<form method="post"><label>Name <input name="name" autofocus></label>
<input type="hidden" name="asked" value="{asked}"><button>Come in</button></form></html>"""


class OpenIdProvider:
    """A provider that lets one page sign people in.

    Parameters
    ----------
    return_to : str
        The only address to which it sends them back.

    Attributes
    ----------
    domain : str
        Of the e-mail addresses of all who come.
    verified : bool
        What it says of whether it has verified them.
    faults : list of str
        What it had to refuse.
    """

    def __init__(self, return_to: str) -> None:
        self.return_to = return_to
        self.key = RSAKey.generate_key(2048, {"kid": "tests", "use": "sig", "alg": "RS256"})
        self.codes: dict[str, dict[str, str]] = {}
        self.domain, self.verified = "workshop.invalid", True
        self.faults: list[str] = []
        provider = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                provider.get(self)

            def do_POST(self) -> None:
                provider.post(self)

            def log_message(self, *_: object) -> None:
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"http://127.0.0.1:{self.server.server_port}"
        self._thread = threading.Thread(target=self.server.serve_forever, daemon=True)

    def __enter__(self) -> OpenIdProvider:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.server.shutdown()
        self.server.server_close()

    def get(self, request: BaseHTTPRequestHandler) -> None:
        """Answer what is asked by address."""
        asked = urlsplit(request.path)
        if asked.path == "/.well-known/openid-configuration":
            self._json(request, self._discovery())
        elif asked.path == "/keys":
            self._json(request, {"keys": [self.key.as_dict(private=False)]})
        elif asked.path == "/authorize" and self._may_ask(parse_qs(asked.query)):
            self._send(request, 200, "text/html", _FORM.format(asked=html.escape(asked.query)).encode())
        else:
            self._send(request, 400, "text/plain", b"refused")

    def post(self, request: BaseHTTPRequestHandler) -> None:
        """Take in the form of a person, or hand a page the token for a code."""
        length = int(request.headers.get("Content-Length", 0))
        given = {name: values[0] for name, values in parse_qs(request.rfile.read(length).decode()).items()}
        if urlsplit(request.path).path == "/token":
            token = self._token(given, request.headers.get("Authorization", ""))
            self._json(request, token or {"error": "invalid_grant"}, 200 if token else 400)
            return
        asked = {name: values[0] for name, values in parse_qs(given["asked"]).items()}
        code = secrets.token_urlsafe(16)
        self.codes[code] = asked | {"name": given["name"]}
        request.send_response(303)
        request.send_header("Location", f"{self.return_to}?{urlencode({'code': code, 'state': asked['state']})}")
        request.end_headers()

    def _discovery(self) -> dict[str, object]:
        return {
            "issuer": self.address,
            "authorization_endpoint": f"{self.address}/authorize",
            "token_endpoint": f"{self.address}/token",
            "jwks_uri": f"{self.address}/keys",
            "response_types_supported": ["code"],
            "subject_types_supported": ["public"],
            "id_token_signing_alg_values_supported": ["RS256"],
            "code_challenge_methods_supported": ["S256"],
        }

    def _may_ask(self, asked: dict[str, list[str]]) -> bool:
        wanted = {"client_id": [CLIENT], "redirect_uri": [self.return_to], "response_type": ["code"]}
        return all(asked.get(name) == value for name, value in wanted.items()) and "state" in asked

    def _token(self, given: dict[str, str], authorization: str) -> dict[str, object] | None:
        asked = self.codes.pop(given.get("code", ""), None)  # each is used once
        expected = "Basic " + base64.b64encode(f"{CLIENT}:{SECRET}".encode()).decode()
        known = authorization == expected or (given.get("client_id"), given.get("client_secret")) == (CLIENT, SECRET)
        if asked is None or not known or given.get("redirect_uri") != self.return_to:
            self.faults.append(f"token refused: {sorted(given)}")
            return None
        if challenge := asked.get("code_challenge"):
            digest = hashlib.sha256(given.get("code_verifier", "").encode()).digest()
            if base64.urlsafe_b64encode(digest).rstrip(b"=").decode() != challenge:
                self.faults.append("the code verifier does not fit")
                return None
        now = int(time.time())
        claims = {"iss": self.address, "sub": asked["name"], "aud": CLIENT, "iat": now, "exp": now + 300}
        claims |= {"name": asked["name"], "email": f"{asked['name'].lower()}@{self.domain}"}
        claims["email_verified"] = self.verified
        if "nonce" in asked:
            claims["nonce"] = asked["nonce"]
        signed = jwt.encode({"alg": "RS256", "kid": "tests"}, claims, self.key)
        return {
            "access_token": secrets.token_urlsafe(16),
            "token_type": "Bearer",
            "expires_in": 300,
            "id_token": signed,
        }

    def _json(self, request: BaseHTTPRequestHandler, content: object, status: int = 200) -> None:
        self._send(request, status, "application/json", json.dumps(content).encode())

    def _send(self, request: BaseHTTPRequestHandler, status: int, sort: str, content: bytes) -> None:
        request.send_response(status)
        request.send_header("Content-Type", sort)
        request.send_header("Content-Length", str(len(content)))
        request.end_headers()
        request.wfile.write(content)
