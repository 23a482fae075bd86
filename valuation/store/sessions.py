"""Who has come in: one small file for each browser that may, in the folder ``sessions`` of the store.

They aren't rows of the database on purpose: a backup that is brought back must not bring back who was shown out since,
no export may carry them elsewhere, and whoever is in must be able to read why the database can't be opened.

The browser keeps a secret, the file is named by the secret's hash: who reads the folder can't come in by it, and what
was made up finds no file.
"""

from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Self

from valuation.store.connect import folder_from_environment
from valuation.store.faults import in_plain_words

_FOLDER = "sessions"
_SECRET = re.compile(r"[A-Za-z0-9_-]{43}")
_MOST_LETTERS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One browser that was let in.

    Attributes
    ----------
    id : str
        Names the session to people; nobody can come in by it.
    email, name : str
        Who signed in; both empty where the address of the start command was opened on this machine.
    browser : str
        What the browser calls itself.
    began, until : datetime
        When it was let in; when that ends by itself.
    """

    id: str
    email: str
    name: str
    browser: str
    began: datetime
    until: datetime


@dataclass(frozen=True, slots=True)
class Sessions:
    """All that were let in to one store."""

    folder: Path

    @classmethod
    def of(cls, environ: Mapping[str, str]) -> Self:
        """Return those of the store that the environment names."""
        return cls(folder_from_environment(environ) / _FOLDER)

    def begin(
        self, *, now: datetime, days: int, email: str = "", name: str = "", browser: str = ""
    ) -> tuple[str, Session]:
        """Let a browser in, and forget those whose time is over.

        Returns
        -------
        tuple of str and Session
            The secret that the browser shall keep, and what is kept here.

        Raises
        ------
        StoreError
            If it can't be written.
        """
        secret = secrets.token_urlsafe(32)
        session = Session(
            id=_hash(secret),
            email=email,
            name=name[:_MOST_LETTERS],
            browser=browser[:_MOST_LETTERS],
            began=now,
            until=now + timedelta(days=days),
        )
        with in_plain_words(_FOLDER):
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            for over in self.folder.glob("*.json"):
                if (kept := _read(over)) is None or kept.until <= now:
                    over.unlink(missing_ok=True)
            _write(self.folder / f"{session.id}.json", session)
        return secret, session

    def find(self, secret: str, now: datetime) -> Session | None:
        """Return the session that a browser's secret opens; None where there is none, or no longer."""
        if not _SECRET.fullmatch(secret):
            return None
        session = _read(self.folder / f"{_hash(secret)}.json")
        return session if session is not None and session.until > now else None

    def all(self, now: datetime) -> list[Session]:
        """Return all that are open, the newest first."""
        found = (_read(path) for path in self.folder.glob("*.json"))
        return sorted((one for one in found if one and one.until > now), key=lambda one: one.began, reverse=True)

    def end(self, session_id: str) -> None:
        """Show a browser out, at once and for good; nothing happens where it is out already."""
        for path in self.folder.glob("*.json"):
            if path.stem == session_id:
                with in_plain_words(_FOLDER):
                    path.unlink(missing_ok=True)


def _hash(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()


def _write(path: Path, session: Session) -> None:
    """Write a session; it is there whole or not at all, and nobody else on the machine may read it."""
    text = json.dumps(asdict(session), default=datetime.isoformat)
    unfinished = path.with_suffix(".unfinished")
    with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
        file.write(text)
    unfinished.replace(path)


def _read(path: Path) -> Session | None:
    """Return the session of a file; None where it isn't there or was damaged: then one comes in anew."""
    try:
        kept = json.loads(path.read_bytes())
        return Session(**kept | {name: datetime.fromisoformat(kept[name]) for name in ("began", "until")})
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None
