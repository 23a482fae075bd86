"""What every answer tells the browser to forbid."""

from __future__ import annotations

import base64
import re
from functools import cache
from hashlib import sha256
from importlib.resources import files

from starlette.datastructures import MutableHeaders

_ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # an address names the visit that is open
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(self), geolocation=(), payment=(), usb=()",
}
_NO_FRAMES = "DENY"
_A_YEAR = 31_536_000

NOTICE_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""For a page of words alone."""


@cache
def page_policy() -> str:
    """Return the content security policy of Streamlit's page.

    Scripts come from the server alone, but for the one that stands in Streamlit's own page; styles must be allowed
    inline, since it sets them so. No other page may show this one in a frame.
    """
    page = files("streamlit").joinpath("static", "index.html").read_text(encoding="utf-8")
    inline = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    known = "".join(f" 'sha256-{base64.b64encode(sha256(script.encode()).digest()).decode()}'" for script in inline)
    return "; ".join(
        (
            "default-src 'self'",
            f"script-src 'self'{known}",
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            "media-src 'self' data: blob:",
            "worker-src 'self' blob:",
            "object-src 'none'",
            "base-uri 'self'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        )
    )


def put_in(headers: MutableHeaders, *, secure: bool) -> None:
    """Put in what an answer lacks; a route of one's own that has a policy keeps it.

    Parameters
    ----------
    headers : MutableHeaders
        Of the answer.
    secure : bool
        Whether people reach the page by https: then never by http again.
    """
    for name, value in _ALWAYS.items():
        headers.setdefault(name, value)
    if "Content-Security-Policy" not in headers:
        headers["Content-Security-Policy"] = page_policy()
        headers["X-Frame-Options"] = _NO_FRAMES
    if secure:
        headers.setdefault("Strict-Transport-Security", f"max-age={_A_YEAR}")
