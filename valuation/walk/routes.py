"""The routes of the walk: the client's files for anyone, and the API for whoever holds a token."""

from __future__ import annotations

import json
import re
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from valuation.engine.rows import Tables
from valuation.errors import StoreError, UserError
from valuation.language import ENGLISH, LANGUAGES
from valuation.service.visits import Shop
from valuation.service.walks import since, take_in
from valuation.store.walk_links import WalkLink, WalkLinks
from valuation.walk.content import all_words, content, entry_told
from valuation.walk.files import File, files, version
from valuation.walk.sent import API, AskedWrongly, read_entries
from valuation.walk.sounds import heard, notes_of

MOST_ENTRIES_BYTES = 2_000_000
"""A longer message is no hundred entries [bytes]."""

MOST_PHOTO_BYTES = 8_000_000
"""The device makes photos smaller before it sends them [bytes]."""

MOST_SOUND_BYTES = 4_000_000
"""Ten seconds of one channel, at the highest rate that devices have [bytes]."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)

_HASH = re.compile(r"[0-9a-f]{64}")


class Refused(Exception):
    """What was asked is not given; carries the status, a word for the client and a sentence for a person."""

    def __init__(self, status: int, error: str, words: str) -> None:
        super().__init__(words)
        self.status, self.error, self.words = status, error, words


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """The walk of one server.

    Attributes
    ----------
    store : callable
        Returns the shop's store.
    tables : callable
        Returns the shop's tables of now.
    now : callable
        Returns the time, with its zone.
    """

    store: Callable[[], Shop]
    tables: Callable[[], Tables]
    now: Callable[[], datetime] = lambda: datetime.now(UTC)

    def routes(self, base: str = "") -> list[Route]:
        """Return the routes, below the path at which the pages lie."""
        walk = f"/{base.strip('/')}/walk".replace("//", "/")
        return [
            Route(f"{walk}/api/visit", self._told(self._visit)),
            Route(f"{walk}/api/words", self._told(self._words)),
            Route(f"{walk}/api/entries", self._told(self._entries), methods=["POST"]),
            Route(f"{walk}/api/photo/{{name}}", self._told(self._photo), methods=["PUT"]),
            Route(f"{walk}/api/sound", self._told(self._sound), methods=["POST"]),
            Route(f"{walk}/{{name:path}}", self._file),
        ]

    # --- the client

    async def _file(self, request: Request) -> Response:
        if request.path_params["name"] == "version":
            return _given(File(version().encode(), "text/plain"))
        found = files().get(request.path_params["name"] or "index.html")
        return _given(found) if found else Response("Not Found", 404)

    # --- the API

    def _told(self, answer: Callable[[Request, WalkLink], Awaitable[dict[str, Any]]]) -> Callable[..., Any]:
        """Return an endpoint that lets in by the token, answers in JSON, and says what was wrong."""

        async def endpoint(request: Request) -> Response:
            try:
                link = await run_in_threadpool(self._let_in, request)
                return _json(200, await answer(request, link))
            except Refused as refused:
                return _json(refused.status, {"error": refused.error, "say": refused.words})
            except AskedWrongly as wrong:
                status = 426 if wrong.error == "client_too_old" else 400
                return _json(status, {"error": wrong.error, "say": str(wrong)})
            except StoreError as fault:
                return _json(503, {"error": "store", "say": str(fault)})

        return endpoint

    def _let_in(self, request: Request) -> WalkLink:
        kind, _, token = request.headers.get("authorization", "").partition(" ")
        if kind != "Bearer" or not token:
            raise Refused(401, "missing", "A link to the visit is needed.")
        link = WalkLinks(self.store().store.folder).find(token)
        if link is None:
            raise Refused(401, "unknown", "This link is not known here.")
        if link.revoked:
            raise Refused(401, "revoked", "This link was ended; ask for a new one.")
        if link.until <= self.now():
            raise Refused(401, "expired", "This link is over; ask for a new one.")
        return link

    async def _visit(self, request: Request, link: WalkLink) -> dict[str, Any]:
        return await run_in_threadpool(self._visit_told, link, _language(request))

    async def _words(self, request: Request, link: WalkLink) -> dict[str, Any]:
        return await run_in_threadpool(self._words_told, link, request.query_params.get("there", ""))

    def _words_told(self, link: WalkLink, there: str) -> dict[str, Any]:
        tables = self.tables()
        return {"words": all_words(self.store().open_visit(link.visit, tables).visit, tables, there)}

    def _visit_told(self, link: WalkLink, language: str) -> dict[str, Any]:
        shop, tables = self.store(), self.tables()
        recorded = shop.open_visit(link.visit, tables)
        if not recorded.can_be_drawn:
            raise Refused(409, "no_kind", "Say first, on the page, whether it is an upright or a grand.")
        entries = since(shop, link.visit, 0)
        visit = {"id": link.visit, "title": recorded.visit.title, "demo": shop.is_demo(link.visit), "who": link.who}
        return {
            "api": API, "version": version(), "now": self.now().isoformat(),
            "visit": visit,
            "settings": {"language": shop.setting("language", ""), "units": shop.setting("units", "metric")},
            "until": link.until.isoformat(), "content": content(recorded.visit, tables, language, link.visit),
            "entries": [entry_told(entry) for entry in entries], "seq": max((e.seq for e in entries), default=0),
        }  # fmt: skip

    async def _entries(self, request: Request, link: WalkLink) -> dict[str, Any]:
        body = await _body(request, MOST_ENTRIES_BYTES)
        return await run_in_threadpool(self._taken_in, body, link)

    def _taken_in(self, body: bytes, link: WalkLink) -> dict[str, Any]:
        message, now, shop = read_entries(body), self.now(), self.store()
        done = take_in(
            shop, link.visit, message.entries, self.tables(), who=link.who, device=message.device,
            clock=message.clock, now=now,
        )  # fmt: skip
        fresh = since(shop, link.visit, message.since)
        return {
            "api": API, "version": version(), "now": now.isoformat(),
            "stored": done.stored, "refused": done.refused | message.refused,
            "entries": [entry_told(entry) for entry in fresh],
            "seq": max((entry.seq for entry in fresh), default=message.since),
        }  # fmt: skip

    async def _photo(self, request: Request, link: WalkLink) -> dict[str, Any]:
        name, check = request.path_params["name"], request.query_params.get("check", "")
        if not _HASH.fullmatch(name):
            raise Refused(400, "not_understood", "A photo is named by the SHA-256 of its file.")
        data = await _body(request, MOST_PHOTO_BYTES)
        if not data.startswith(b"\xff\xd8\xff"):
            raise Refused(415, "not_jpeg", "A photo is sent as a JPEG file.")
        if sha256(data).hexdigest() != name:
            raise Refused(422, "hash", "The photo did not arrive whole; it is sent again.")
        return await run_in_threadpool(self._photo_kept, link, name, data, check)

    def _photo_kept(self, link: WalkLink, name: str, data: bytes, check: str) -> dict[str, Any]:
        shop, tables = self.store(), self.tables()
        if check and check not in {row.id for row in tables.checks}:
            raise Refused(422, "no_check", "There is no such check.")
        try:
            entry = shop.add_photo(
                link.visit, data, name=f"{name[:12]}.jpg", check=check, who=link.who, device="", now=self.now()
            )
        except StoreError:
            raise
        except UserError as fault:
            raise Refused(422, "photo", str(fault)) from None
        return {"id": name, "field": entry.field if entry else ""}

    async def _sound(self, request: Request, _link: WalkLink) -> dict[str, Any]:
        """Say what a recording says; nothing is stored, so it may be asked twice: the device enters the reading."""
        check, key = request.query_params.get("check", ""), request.query_params.get("key", "")
        if key not in {str(note) for note, _ in notes_of(check)}:
            raise Refused(422, "no_check", "No recording of this key is read for this check.")
        data = await _body(request, MOST_SOUND_BYTES)
        if not data.startswith(b"RIFF"):
            raise Refused(415, "not_wav", "A recording is sent as a WAV file.")
        return await run_in_threadpool(heard, data, check, int(key), _language(request))


def _language(request: Request) -> str:
    asked = request.query_params.get("language", "")
    return asked if asked in LANGUAGES else ENGLISH


async def _body(request: Request, most: int) -> bytes:
    """Return what was sent; what is too long is not read to its end."""
    if int(request.headers.get("content-length") or 0) > most:
        raise Refused(413, "too_large", "That is too large.")
    found = bytearray()
    async for piece in request.stream():
        found += piece
        if len(found) > most:
            raise Refused(413, "too_large", "That is too large.")
    return bytes(found)


def _json(status: int, told: dict[str, Any]) -> Response:
    body = json.dumps(told, ensure_ascii=False, separators=(",", ":"))
    return Response(body, status, {"Cache-Control": "no-store", "Content-Security-Policy": "default-src 'none'"},
                    "application/json")  # fmt: skip


def _given(file: File) -> Response:
    headers = {"Cache-Control": "no-cache", "Content-Security-Policy": POLICY, "Referrer-Policy": "no-referrer"}
    return Response(file.content, 200, headers, file.media_type)
