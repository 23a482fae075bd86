"""The client's files, read once, and their version, by which a device knows that there are newer ones."""

from __future__ import annotations

import base64
import json
import re
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path

from valuation.walk.words import client_words

_STATIC = Path(__file__).with_name("static")

_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".mjs": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
}

_WORKER = "sw.js"
_NOTE = re.compile(rb"^ *//.*$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class File:
    """One file as it is given."""

    content: bytes
    media_type: str


@cache
def files() -> dict[str, File]:
    """Return every file of the client by its path below ``/walk/``."""
    found = {
        path.relative_to(_STATIC).as_posix(): File(_without_notes(path), _TYPES[path.suffix])
        for path in sorted(_STATIC.rglob("*"))
        if path.suffix in _TYPES
    }
    for language, words in client_words().items():
        told = json.dumps(words, ensure_ascii=False, separators=(",", ":"))
        found[f"words.{language}.json"] = File(told.encode(), _TYPES[".json"])
    worker = found.pop(_WORKER).content.decode()
    kept = {name: _integrity(file.content) for name, file in found.items()}
    told = json.dumps({"version": _version(kept), "files": kept})
    found[_WORKER] = File(f"const CLIENT = {told};\n{worker}".encode(), _TYPES[".js"])
    return found


def _without_notes(path: Path) -> bytes:
    """Return a file less the lines that only its readers need, which stay empty so that a fault names its line."""
    content = path.read_bytes()
    return _NOTE.sub(b"", content) if path.suffix == ".js" else content


@cache
def version() -> str:
    """Return the version of the client: it changes with any of its files."""
    return _version({name: _integrity(file.content) for name, file in files().items() if name != _WORKER})


def _version(kept: dict[str, str]) -> str:
    return sha256(json.dumps(kept, sort_keys=True).encode()).hexdigest()[:16]


def _integrity(content: bytes) -> str:
    return f"sha256-{base64.b64encode(sha256(content).digest()).decode()}"
