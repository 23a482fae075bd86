"""A whole shop into one file, as `zip_format` says."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from sqlalchemy import Connection

from valuation.disk import new_file, require_place
from valuation.record import Entry
from valuation.store import entries, papers, photos
from valuation.store import zip_format as form
from valuation.store.connect import Store
from valuation.store.law import all_kept
from valuation.store.stones import stones
from valuation.store.zip_papers import paper_to_plain
from valuation.store.zip_tables import shop_tables_to_plain


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportReport:
    """How much was exported, and the names of the photos that could not be."""

    visits: int
    entries: int
    photos: int
    papers: int
    lost_photos: tuple[str, ...]


def export_zip(store: Store, path: Path, *, now: datetime, made_by: str, own: str) -> ExportReport:
    """Write all visits, photos, papers and settings to a file, which is there whole or not at all.

    Parameters
    ----------
    store : Store
        What is exported, as it is at one moment.
    path : Path
        The file; one that is there is replaced.
    now : datetime
        Goes into the manifest.
    made_by : str
        Name and version of this program.
    own : str
        Settings whose names begin so stay here.

    Raises
    ------
    StoreError
        If the store can't be read.
    UserError
        If the file can't or may not be written there.
    """
    require_place(path, (".zip",), "the shop is", inputs=[store.database] if store.database else [])
    with new_file(path) as unfinished, ZipFile(unfinished, "w") as file:
        return _Writer(file, now).write(store, made_by, own)


class _Writer:
    """Writes into a zip and keeps the checksums."""

    def __init__(self, file: ZipFile, now: datetime) -> None:
        self.file, self.now = file, now
        self.checksums: dict[str, str] = {}

    def write(self, store: Store, made_by: str, own: str) -> ExportReport:
        count, lost, kept = 0, [], 0
        with store.reading() as connection:
            rows = entries.visits(connection)
            for row in rows:
                history = entries.entries_of(connection, row.id)
                count += len(history)
                visit = {"id": row.id, "demo": row.demo, "created_at": row.created_at, "created_by": row.created_by}
                visit["kept_as"] = row.kept_as
                self._json(f"visits/{row.id}.json", visit | {"entries": [_entry(entry) for entry in history]})
            all_settings = entries.settings(connection)
            settings = {name: value for name, value in all_settings.items() if not name.startswith(own)}
            wanted = photos.spoken_of(connection)
            papers_kept, tables_kept = self._papers(connection)
            self._forgotten(connection)
            self._json(form.SHOP_TABLES, shop_tables_to_plain(connection))
        for name in wanted:
            if photos.is_whole(store.folder, name):
                self._add(f"photos/{name}.jpg", photos.path_of(store.folder, name).read_bytes(), ZIP_STORED)
                kept += 1
            else:
                lost.append(name)
        self._json(form.SETTINGS, settings)
        self._add(form.README, form.README_TEXT.encode())
        about = {"format": form.FORMAT, "version": form.VERSION, "made_at": entries.moment(self.now)}
        counts = {"visits": len(rows), "entries": count, "photos": kept, "lost_photos": lost}
        more = {"papers": papers_kept, "tables": tables_kept}
        self._json(form.MANIFEST, about | {"made_by": made_by} | counts | more)
        lines = "".join(f"{checksum}  {name}\n" for name, checksum in sorted(self.checksums.items()))
        self._add(form.CHECKSUMS, lines.encode())
        return ExportReport(visits=len(rows), entries=count, photos=kept, papers=papers_kept, lost_photos=tuple(lost))

    def _forgotten(self, connection: Connection) -> None:
        """Write what may not come back, and what tax law keeps of it."""
        self._json(form.FORGOTTEN, {"marks": [asdict(stone) for stone in stones(connection)]})
        for kept in all_kept(connection):
            told = asdict(kept)
            self._add(f"law/{kept.id}.zip", told.pop("content"), ZIP_STORED)
            self._json(f"law/{kept.id}.json", told)

    def _papers(self, connection: Connection) -> tuple[int, int]:
        """Write the papers one by one, and the tables that they were made with; return how many."""
        names = papers.ids(connection)
        for name in names:
            made, pdf = papers.with_id(connection, name), papers.pdf_of(connection, name)
            if made is None or pdf is None:
                raise AssertionError("a paper is never taken away while the store is read")
            self._json(f"papers/{name}.json", paper_to_plain(made))
            self._add(f"papers/{name}.pdf", pdf, ZIP_STORED)
        kept = papers.tables_kept(connection)
        for name in kept:
            for file, text in papers.files_of_tables(connection, name).items():
                self._add(f"tables/{name}/{file}", text.encode("utf-8"))
        return len(names), len(kept)

    def _json(self, name: str, content: dict[str, Any]) -> None:
        try:
            text = json.dumps(content, indent=1, allow_nan=False, ensure_ascii=False).encode()
        except UnicodeEncodeError:  # half a letter, which UTF-8 doesn't have: all but plain letters escaped
            text = json.dumps(content, indent=1, allow_nan=False).encode()
        self._add(name, text)

    def _add(self, name: str, content: bytes, packed: int = ZIP_DEFLATED) -> None:
        info = ZipInfo(name, self.now.timetuple()[:6])
        info.external_attr = 0o644 << 16
        self.file.writestr(info, content, compress_type=packed)
        self.checksums[name] = hashlib.sha256(content).hexdigest()


def _entry(entry: Entry) -> dict[str, Any]:
    return {
        "id": entry.id,
        "at": entries.moment(entry.at),
        "who": entry.who,
        "device": entry.device,
        "field": entry.field,
        "value": entry.value,
        "follows": list(entry.follows),
        "undoes": entry.undoes,
    }
