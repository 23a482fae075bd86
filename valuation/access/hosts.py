"""The names by which the page answers, and the pages of the web that may speak to it.

A foreign web site can let a name of its own point to this machine, and the browser of whoever works here would then
read the page for it (DNS rebinding). The browser still says which name it asked for (``Host``) and which page asks
(``Origin``), so both are held against the names that are the workshop's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlsplit

LOCAL = ("127.0.0.1", "localhost", "::1")
"""Names of this machine that no other machine can reach it by."""

_HOST = re.compile(r"(?:\[(?P<six>[0-9a-f:.]+)\]|(?P<name>[a-z0-9._-]+))(?::[0-9]{1,5})?", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """The names that are one's own.

    Attributes
    ----------
    hosts : tuple of str
        Names of machines without a port; ``*.name`` for all below a name, ``*`` for any.
    origins : tuple of str
        Addresses such as ``https://pianos.example`` that a browser may give beside the one it asks.
    """

    hosts: tuple[str, ...] = LOCAL
    origins: tuple[str, ...] = ()

    def answers_to(self, host: str) -> bool:
        """Tell whether a ``Host`` header names this page.

        Examples
        --------
        >>> Names().answers_to("localhost:8501"), Names().answers_to("evil.example:8501")
        (True, False)
        """
        name = host_name(host)
        return name is not None and any(_covers(pattern, name) for pattern in self.hosts)

    def lets_speak(self, origin: str, host: str) -> bool:
        """Tell whether a page of this origin may ask what is asked of this host: only the page itself may.

        Examples
        --------
        >>> Names().lets_speak("http://localhost:8501", "localhost:8501")
        True
        >>> Names().lets_speak("http://localhost:9000", "localhost:8501")
        False
        """
        own = {f"{scheme}://{host}".casefold() for scheme in ("http", "https")}
        return origin.casefold() in own | set(self.origins)


def host_name(host: str) -> str | None:
    """Return the name in a ``Host`` header, small and without its port; None where it is none.

    Examples
    --------
    >>> host_name("[::1]:8501"), host_name("Pianos.Example."), host_name("a b")
    ('::1', 'pianos.example', None)
    """
    found = _HOST.fullmatch(host)
    return (found["six"] or found["name"]).casefold().rstrip(".") if found else None


def origin_of(address: str) -> str:
    """Return the origin of an address: scheme, name, and the port where it isn't the usual one."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}".casefold()


def own_names(allowed: Iterable[str], address: str = "") -> Names:
    """Return the names of a server.

    Parameters
    ----------
    allowed : iterable of str
        What ``server.allowedHosts`` names; nothing means this machine only.
    address : str, optional
        The address under which people reach the page, where it is known.
    """
    hosts = tuple(name.strip().strip("[]").casefold().rstrip(".") for name in allowed if name.strip())
    return Names(hosts=hosts or LOCAL, origins=(origin_of(address),) if address else ())


def inner_path(asked: str) -> str:
    r"""Return the path of a page of this server; the first page for whatever could lead elsewhere.

    Examples
    --------
    >>> [inner_path(path) for path in ("/jobs?visit=1", "//evil.example", "/\\evil.example", "https://evil.example")]
    ['/jobs?visit=1', '/', '/', '/']
    """
    plain = asked.isascii() and asked.isprintable() and "\\" not in asked
    return asked if plain and asked.startswith("/") and not asked.startswith("//") else "/"


def _covers(pattern: str, name: str) -> bool:
    return pattern in ("*", name) or (pattern.startswith("*.") and name.endswith(pattern[1:]))
