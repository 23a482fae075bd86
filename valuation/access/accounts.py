"""Whom the workshop lets in, and as what: read from the section ``access`` of Streamlit's secrets."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from valuation.errors import Problem, UserError

FILE = "secrets.toml"
DAYS = 14
"""For how long somebody who signed in is in, unless the shop says otherwise [days]."""
MOST_DAYS = 90

_ADDRESS = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s]+")
_DOMAIN = re.compile(r"@[^@\s]+\.[^@\s]+")
_KEYS = ("owners", "people", "days")


class Role(StrEnum):
    """As what somebody is in: an owner may do everything, a technician all that evaluations need."""

    OWNER = "owner"
    TECHNICIAN = "technician"


@dataclass(frozen=True, slots=True, kw_only=True)
class Accounts:
    """The list of those who are let in.

    Attributes
    ----------
    owners : frozenset of str
        E-mail addresses, in small letters.
    people : frozenset of str
        Addresses, or ``@domain`` for everybody of a domain.
    days : int
        For how long a sign-in holds [days].
    """

    owners: frozenset[str]
    people: frozenset[str] = frozenset()
    days: int = DAYS

    def role_of(self, email: str) -> Role | None:
        """Return as what the owner of an e-mail address is let in; None for a stranger.

        Examples
        --------
        >>> accounts = Accounts(owners=frozenset({"anna@shop.example"}), people=frozenset({"@shop.example"}))
        >>> [accounts.role_of(a) for a in ("Anna@shop.example", "ben@shop.example", "ben@shop.example.evil.example")]
        [<Role.OWNER: 'owner'>, <Role.TECHNICIAN: 'technician'>, None]
        """
        address = email.strip().casefold()
        if not _ADDRESS.fullmatch(address):
            return None
        if address in self.owners:
            return Role.OWNER
        return Role.TECHNICIAN if {address, f"@{address.rpartition('@')[2]}"} & self.people else None


def read_accounts(section: Mapping[str, Any]) -> Accounts:
    """Return the list that the section gives.

    Raises
    ------
    UserError
        With every fault of the section.
    """
    problems = [_problem(name, f"there is no such key; there are {', '.join(_KEYS)}") for name in section
                if name not in _KEYS]  # fmt: skip
    owners = _listed(section, "owners", (_ADDRESS,), problems)
    people = _listed(section, "people", (_ADDRESS, _DOMAIN), problems)
    if not owners and not problems:
        problems.append(_problem("owners", 'name at least one address, such as owners = ["anna@shop.example"]'))
    days = section.get("days", DAYS)
    if isinstance(days, bool) or not isinstance(days, int) or not 1 <= days <= MOST_DAYS:
        problems.append(_problem("days", f"write a whole number of days from 1 to {MOST_DAYS}"))
    if problems:
        raise UserError(problems)
    return Accounts(owners=owners, people=people, days=days)


def _listed(section: Mapping[str, Any], name: str, forms: tuple[re.Pattern[str], ...], problems: list) -> frozenset:
    given = section.get(name, [])
    if not isinstance(given, list | tuple) or not all(isinstance(one, str) for one in given):
        problems.append(_problem(name, 'write a list of addresses, such as ["anna@shop.example"]'))
        return frozenset()
    listed = [one.strip().casefold() for one in given]
    for one in listed:
        if not any(form.fullmatch(one) for form in forms):
            more = " or @domain" if _DOMAIN in forms else ""
            problems.append(_problem(name, f"{one!r} is no e-mail address{more}"))
    return frozenset(listed)


def _problem(name: str, message: str) -> Problem:
    return Problem(FILE, 0, f"access.{name}", message)
