"""Links by which a device takes one visit along: one small file for each, in the folder ``walks`` of the store.

They aren't rows of the database for the reasons that `sessions` has: a restored backup must not let back in whom
somebody has shut out, and no export may carry them elsewhere. The device keeps a secret token; the file is named by the
token's hash, so whoever reads the folder can't come in by it.
"""

from __future__ import annotations

import json
import os
import re
import secrets
from collections.abc import Collection, Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

from valuation.store.faults import in_plain_words

DAYS = 7
"""For how long a link lets in [days]: a visit, the way home, and a weekend without a network."""

_FOLDER = "walks"
_TOKEN = re.compile(r"[A-Za-z0-9_-]{32}")
_BYTES = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkLink:
    """One link to one visit.

    Attributes
    ----------
    id : str
        Names the link to people; nobody can come in by it.
    visit : str
        The one visit that it opens.
    who : str
        Who enters by it.
    began, until : datetime
        When it was made; when it ends by itself.
    revoked : bool
        Somebody ended it before.
    """

    id: str
    visit: str
    who: str
    began: datetime
    until: datetime
    revoked: bool = False


@dataclass(frozen=True, slots=True)
class WalkLinks:
    """All links of one store."""

    store_folder: Path

    def make(self, visit: str, *, who: str, now: datetime) -> tuple[str, WalkLink]:
        """Make a link to a visit, and forget those that are long over; return its token and the link.

        Raises
        ------
        StoreError
            If it can't be written.
        """
        token = secrets.token_urlsafe(_BYTES)
        link = WalkLink(id=_hash(token), visit=visit, who=who, began=now, until=now + timedelta(days=DAYS))
        with in_plain_words(_FOLDER):
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            for path, old in self._files():
                if old.until + timedelta(days=DAYS) < now:  # for a while it is told that it is over
                    path.unlink(missing_ok=True)
            _write(self._folder / f"{link.id}.json", link)
        return token, link

    def find(self, token: str) -> WalkLink | None:
        """Return the link of a token, whether it is over or not; None where there is none."""
        return _read(self._folder / f"{_hash(token)}.json") if _TOKEN.fullmatch(token) else None

    def open_of(self, visit: str, now: datetime) -> list[WalkLink]:
        """Return the links that let in to a visit now, the newest first."""
        found = (link for _, link in self._files())
        is_open = [link for link in found if link.visit == visit and not link.revoked and link.until > now]
        return sorted(is_open, key=lambda link: link.began, reverse=True)

    def revoke(self, visit: str) -> None:
        """End all links to a visit, at once."""
        with in_plain_words(_FOLDER):
            for path, link in self._files():
                if link.visit == visit:
                    _write(path, replace(link, revoked=True))

    def forget(self, visits: Collection[str]) -> None:
        """Remove all links to visits of people who are forgotten."""
        with in_plain_words(_FOLDER):
            for path, link in self._files():
                if link.visit in visits:
                    path.unlink(missing_ok=True)

    @property
    def _folder(self) -> Path:
        return self.store_folder / _FOLDER

    def _files(self) -> Iterator[tuple[Path, WalkLink]]:
        for path in sorted(self._folder.glob("*.json")):
            if (link := _read(path)) is not None:
                yield path, link


def _hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def _write(path: Path, link: WalkLink) -> None:
    """Write a link; it is there whole or not at all, and nobody else on the machine may read it."""
    unfinished = path.with_suffix(".unfinished")
    with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as file:
        file.write(json.dumps(asdict(link), default=datetime.isoformat))
    unfinished.replace(path)


def _read(path: Path) -> WalkLink | None:
    """Return the link of a file; None where it isn't there or was damaged: then a new one is made."""
    try:
        kept = json.loads(path.read_bytes())
        return WalkLink(**kept | {name: datetime.fromisoformat(kept[name]) for name in ("began", "until")})
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None
