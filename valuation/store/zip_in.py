"""A file of `zip_format`, read with suspicion: everything in it is checked before anything is taken in."""

from __future__ import annotations

import errno
import hashlib
import json
import struct
import zlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile, ZipInfo

from valuation.disk import open_to_read
from valuation.errors import Problem, StoreError, UserError
from valuation.record import Entry, Paper, plain_value, why_not_entry
from valuation.record.entry import one_line
from valuation.record.shop_tables import TablesChange, TablesEdit
from valuation.store import photos, pictures
from valuation.store import zip_format as form
from valuation.store.entries import NAMELESS, OPEN, RESTRICTED
from valuation.store.law import KeptByLaw
from valuation.store.stones import CORRECTED, ERASED, THROWN_AWAY, Forgotten
from valuation.store.zip_papers import moment_of, paper_from_plain, text_of
from valuation.store.zip_tables import changes_from_plain, edits_from_plain

NOT_OURS = "it is no export of this program"
_NO_ZIP = "it is no zip file, or it is cut off; use another copy"
_LOCKED = "it is locked; give its passphrase"
CHANGED = "it was changed or damaged after it was made; nothing was taken in. Use another copy of the file"

_BROKEN = (
    BadZipFile,
    EOFError,
    NotImplementedError,
    OverflowError,
    RuntimeError,
    ValueError,
    struct.error,
    zlib.error,
)
"""What the reader of zips raises on files that are damaged or made up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitIn:
    """A visit as a file holds it."""

    id: str
    demo: bool
    created_at: datetime
    created_by: str
    kept_as: str
    entries: tuple[Entry, ...]


class ZipIn:
    """An export that has been checked from end to end; open as long as `opened` gives it.

    Attributes
    ----------
    visits, photos, papers, tables : list of str
        Ids of the visits, hashes of the photos, ids of the papers, hashes of the shop's tables in it, in order.
    version : int
        Of the format.
    stones : tuple of Forgotten
        What may not come back.
    changes : list of TablesChange
        Which of the shop's tables were in force when.
    edits : list of (TablesEdit, str)
        What was entered into their draft, and what became of it.
    law : list of str
        Ids of what tax law keeps.
    settings : dict
        By name.
    lost_photos : tuple of str
        Photos that were lost before it was made.
    """

    def __init__(self, file: ZipFile, name: str) -> None:
        self._file, self._name = file, name
        self._checksums: dict[str, str] = {}
        self._infos = self._checked_names()
        self.version = 0
        manifest = self._manifest()  # first: a newer version may hold what this one doesn't know
        self._checksums = self._checked_checksums()
        self.visits = [match[1] for path in sorted(self._infos) if (match := form.VISIT.fullmatch(path))]
        self.photos = [match[1] for path in sorted(self._infos) if (match := form.PHOTO.fullmatch(path))]
        self.papers = [match[1] for path in sorted(self._infos) if (match := form.PAPER.fullmatch(path))]
        self.tables = sorted({match[1] for path in self._infos if (match := form.TABLE.fullmatch(path))})
        lost = manifest.get("lost_photos")
        self.lost_photos = tuple(name for name in lost if isinstance(name, str)) if isinstance(lost, list) else ()
        self.settings = self._settings()
        self.stones = self._stones()
        self.changes, self.edits = self._shop_tables()
        self.law = [match[1] for path in sorted(self._infos) if (match := form.LAW.fullmatch(path))]
        for path in (form.MANIFEST, form.README):
            if path in self._infos:
                self._read(path)
        for visit in self.visits:
            self.visit(visit)
        for photo in self.photos:
            self.photo(photo)
        for paper in self.papers:
            self.paper(paper)
        for name in self.tables:
            self.tables_files(name)
        for name in self.law:
            self.kept(name)

    def visit(self, name: str) -> VisitIn:
        """Return a visit."""
        path = f"visits/{name}.json"
        content = self._json(path)
        with self._told(path):
            if content["id"] != name:
                raise ValueError("the id in it is another than its name says")
            kept_as = text_of(content["kept_as"]) if self.version >= form.FIRST_WITH_FORGOTTEN else OPEN
            if kept_as not in (OPEN, RESTRICTED, NAMELESS):
                raise ValueError("'kept_as' is no word for how a visit is kept")
            if not isinstance(content["demo"], bool) or not isinstance(content["entries"], list):
                raise ValueError("'demo' must be true or false, and 'entries' a list")
            rows = enumerate(content["entries"], 1)
            visit = VisitIn(
                id=name,
                demo=content["demo"],
                created_at=moment_of(content["created_at"]),
                created_by=one_line(text_of(content["created_by"])),
                kept_as=kept_as,
                entries=tuple(self._entry(path, name, number, row) for number, row in rows),
            )
            if len({entry.id for entry in visit.entries}) < len(visit.entries):
                raise ValueError("two entries have the same id")
        return visit

    def photo(self, name: str) -> tuple[bytes, int, int]:
        """Return a photo's file, its width and its height [pixels]."""
        path = f"photos/{name}.jpg"
        jpeg = self._read(path)
        if hashlib.sha256(jpeg).hexdigest() != name:
            raise self._fault("its name is not the checksum of what is in it", path)
        try:
            return jpeg, *pictures.size_of_kept(jpeg)
        except pictures.NoPhoto as fault:
            raise self._fault(str(fault), path) from None

    def paper(self, name: str) -> tuple[Paper, bytes]:
        """Return a paper and its file."""
        path, file = f"papers/{name}.json", f"papers/{name}.pdf"
        content = self._json(path)
        with self._told(path):
            if content["id"] != name:
                raise ValueError("the id in it is another than its name says")
            paper = paper_from_plain(content)
        if file not in self._infos:
            raise self._fault(f"it is missing; {CHANGED}", file)
        pdf = self._read(file)
        if hashlib.sha256(pdf).hexdigest() != paper.pdf_hash or not pdf.startswith(b"%PDF-"):
            raise self._fault("it is not the file that was made: its checksum is another", file)
        return paper, pdf

    def kept(self, name: str) -> KeptByLaw:
        """Return what tax law keeps of one job."""
        path, file = f"law/{name}.json", f"law/{name}.zip"
        content = self._json(path)
        with self._told(path):
            if content["id"] != name:
                raise ValueError("the id in it is another than its name says")
            words = {key: one_line(text_of(content[key])) for key in ("mark", "name", "day", "until", "law")}
            _check_days(words["day"], words["until"])
            _check_mark(words["mark"])
        if file not in self._infos:
            raise self._fault(f"it is missing; {CHANGED}", file)
        return KeptByLaw(id=name, **words, content=self._read(file))

    def _stones(self) -> tuple[Forgotten, ...]:
        if form.FORGOTTEN not in self._infos:
            return ()
        content = self._json(form.FORGOTTEN)
        found = []
        with self._told(form.FORGOTTEN):
            for row in content["marks"]:
                words = {name: one_line(text_of(row[name])) for name in ("mark", "how", "day", "until", "law")}
                _check_mark(words["mark"])
                _check_days(words["day"], *([words["until"]] if words["until"] else []))
                if words["how"] not in (ERASED, THROWN_AWAY, CORRECTED):
                    raise ValueError(f"{words['how']!r:.40} is no way of forgetting")
                found.append(Forgotten(**words))
        return tuple(found)

    def _shop_tables(self) -> tuple[list[TablesChange], list[tuple[TablesEdit, str]]]:
        if form.SHOP_TABLES not in self._infos:
            return [], []
        content = self._json(form.SHOP_TABLES)
        with self._told(form.SHOP_TABLES):
            return changes_from_plain(content["changes"]), edits_from_plain(content["draft"])

    def tables_files(self, name: str) -> dict[str, str]:
        """Return the files of the shop's tables as they were, by name."""
        files = {}
        for path in sorted(self._infos):
            if (match := form.TABLE.fullmatch(path)) and match[1] == name:
                with self._told(path):
                    files[match[2]] = self._read(path).decode("utf-8")
        return files

    def _entry(self, path: str, visit: str, number: int, row: Any) -> Entry:
        with self._told(path, f"entry {number}: "):
            entry = Entry(
                id=text_of(row["id"]),
                visit=visit,
                at=moment_of(row["at"]),
                who=text_of(row["who"]),
                device=text_of(row["device"]),
                field=text_of(row["field"]),
                value=plain_value(row["value"]),
                follows=tuple(text_of(name) for name in row["follows"]),
                undoes=text_of(row["undoes"]),
            )
            if fault := why_not_entry(entry):
                raise ValueError(fault)
        return entry

    # --- the file itself

    def _checked_names(self) -> dict[str, ZipInfo]:
        """Return what is in the file by name; refuses what no export holds, before anything is unpacked."""
        infos: dict[str, ZipInfo] = {}
        packed, unpacked = 0, 0
        for info in self._file.infolist():
            if info.filename in infos:
                raise self._fault("it stands in the file twice", info.filename)
            if info.flag_bits & 0x1:
                raise self._fault("it is locked by a password; exports have none", info.filename)
            infos[info.filename] = info
            packed, unpacked = packed + info.compress_size, unpacked + info.file_size
        if form.MANIFEST not in infos:
            raise self._fault(f"{NOT_OURS}: there is no {form.MANIFEST} in it")
        if unpacked > max(form.MOST_UNPACKED, form.MOST_FOLD * packed):
            raise self._fault(f"unpacked it would have {unpacked:,} bytes; no export is packed so tightly")
        for path, info in infos.items():
            if info.file_size > _most(path):
                raise self._fault(f"unpacked it would have {info.file_size:,} bytes, more than any", path)
        return infos

    def _manifest(self) -> dict[str, Any]:
        manifest = self._json(form.MANIFEST)
        if manifest.get("format") != form.FORMAT:
            raise self._fault(NOT_OURS, form.MANIFEST)
        version = manifest.get("version")
        if isinstance(version, bool) or not isinstance(version, int) or version < 1:
            raise self._fault("it doesn't say in which version of the format it is", form.MANIFEST)
        if version > form.VERSION:
            message = f"it is in version {version} of the format, this program knows up to {form.VERSION}; update it"
            raise self._fault(message, form.MANIFEST)
        self.version = version
        known = {form.MANIFEST, form.SETTINGS, form.README, form.CHECKSUMS}
        for path in self._infos:
            if path not in known and not any(sort.fullmatch(path) for sort in form.HOLDS[version]):
                raise self._fault("no export holds a file of this name", path)
            if (pdf := form.PDF.fullmatch(path)) and f"papers/{pdf[1]}.json" not in self._infos:
                raise self._fault("what it was made from is missing", path)
            if (law := form.LAW_ZIP.fullmatch(path)) and f"law/{law[1]}.json" not in self._infos:
                raise self._fault("what it is about is missing", path)
        return manifest

    def _checked_checksums(self) -> dict[str, str]:
        if form.CHECKSUMS not in self._infos:
            raise self._fault(f"there is no {form.CHECKSUMS} in it; {CHANGED}")
        checksums: dict[str, str] = {}
        for line in self._unpacked(form.CHECKSUMS).decode("utf-8", errors="replace").splitlines():
            checksum, _, path = line.partition("  ")
            checksums[path] = checksum
        listed, there = set(checksums), set(self._infos) - {form.CHECKSUMS}
        for path in sorted(listed - there):
            raise self._fault(f"it is missing; {CHANGED}", path)
        for path in sorted(there - listed):
            raise self._fault(f"it has no checksum; {CHANGED}", path)
        return checksums

    def _settings(self) -> dict[str, Any]:
        if form.SETTINGS not in self._infos:
            return {}
        content = self._json(form.SETTINGS)
        with self._told(form.SETTINGS):
            return {one_line(name): plain_value(value) for name, value in content.items()}

    def _json(self, path: str) -> dict[str, Any]:
        with self._told(path):
            text = self._read(path)
            if sum(map(text.count, (b",", b"[", b"{"))) > form.MOST_SIGNS:
                raise ValueError("it holds more values than any visit has")
            content = json.loads(text, parse_constant=_no_number)
            if not isinstance(content, dict):
                raise ValueError("it holds no table")
            return content

    def _read(self, path: str) -> bytes:
        """Return a file in it, the same that was checked."""
        content = self._unpacked(path)
        if self._checksums.get(path, digest := hashlib.sha256(content).hexdigest()) != digest:
            raise self._fault(f"its checksum is wrong: {CHANGED}", path)
        return content

    def _unpacked(self, path: str) -> bytes:
        try:
            with self._file.open(self._infos[path]) as file:
                content = file.read(self._infos[path].file_size + 1)
        except _BROKEN:
            raise self._fault(f"it can't be unpacked: {CHANGED}", path) from None
        except OSError as fault:
            if fault.errno != errno.EINVAL:  # a place in the file that there can't be; all else is the disk's
                raise
            raise self._fault(f"it can't be unpacked: {CHANGED}", path) from None
        if len(content) != self._infos[path].file_size:
            raise self._fault(f"it is not as long as it says: {CHANGED}", path)
        return content

    @contextmanager
    def _told(self, path: str, where: str = "") -> Iterator[None]:
        """Tell what is wrong with the content of a file in it."""
        try:
            yield
        except KeyError as missing:
            raise self._fault(f"{where}{missing} is missing", path) from None
        except (ValueError, TypeError, AttributeError, RecursionError, OverflowError) as fault:
            raise self._fault(f"{where}{fault}", path) from None

    def _fault(self, message: str, path: str = "") -> StoreError:
        return StoreError([Problem(self._name, 0, path[:200], message)])


@contextmanager
def opened(path: Path) -> Iterator[ZipIn]:
    """Give an export that has been checked.

    Raises
    ------
    StoreError
        If anything about it is wrong.
    """
    with ExitStack() as stack:
        try:
            file = stack.enter_context(ZipFile(stack.enter_context(open_to_read(path, form.MOST_PACKED))))
        except UserError as error:
            raise StoreError(error.problems) from None
        except _BROKEN:
            fault = _LOCKED if form.is_locked(path) else _NO_ZIP
            raise StoreError([Problem(path.name, 0, "", fault)]) from None
        yield ZipIn(file, path.name)


def _check_mark(mark: str) -> None:
    if not photos.is_hash(mark):
        raise ValueError("a mark is not 64 hexadecimal digits")


def _check_days(*days: str) -> None:
    for day in days:
        if date.fromisoformat(day).isoformat() != day:
            raise ValueError(f"{day!r:.40} is not a day; write it like 2026-05-04")


def _most(path: str) -> int:
    """Return how many bytes a file of an export may have at most, by its name."""
    limits = {form.PHOTO: form.MOST_PHOTO, form.PDF: form.MOST_PDF, form.LAW_ZIP: form.MOST_LAW}
    return next((most for sort, most in limits.items() if sort.fullmatch(path)), form.MOST_JSON)


def _no_number(name: str) -> Callable[[], None]:
    raise ValueError(f"{name} is no number")
