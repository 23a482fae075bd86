"""All that the shop keeps about a person in one file, to be handed out: to be read by people, and by programs."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from valuation.disk import new_file
from valuation.language import say
from valuation.record import Entry, printed_number
from valuation.record.photo_fields import photo_hash
from valuation.service import people
from valuation.service.people import Holding
from valuation.service.visits import Shop
from valuation.store import entries, papers, photos
from valuation.store.faults import in_plain_words
from valuation.store.law import KeptByLaw

__all__ = ["HandedOut", "hand_out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOut:
    """How much went into the file."""

    visits: int
    entries: int
    photos: int
    papers: int
    by_law: int


def hand_out(
    shop: Shop, names: Collection[str], path: Path, *, now: datetime, by_law: Collection[str] = ()
) -> HandedOut:
    """Write all that is kept about the person of some visits to a zip, which is there whole or not at all.

    Parameters
    ----------
    names : collection of str
        Ids of the visits.
    path : Path
        One that is there is replaced.
    by_law : collection of str, optional
        Ids of what tax law keeps of that person.
    """
    kept = [one for one in people.kept_by_law(shop) if one.id in set(by_law)]
    found = people.holdings(shop, names)
    with in_plain_words(path.name), new_file(path) as unfinished, ZipFile(unfinished, "w") as file:
        return _Writer(file, now).write(shop, found, kept)


class _Writer:
    def __init__(self, file: ZipFile, now: datetime) -> None:
        self.file, self.now = file, now

    def write(self, shop: Shop, found: list[Holding], kept: list[KeptByLaw]) -> HandedOut:
        count, shown, made = 0, set(), 0
        lines = [say("What this workshop keeps about you, as of {day}.", day=self.now.date().isoformat()), ""]
        for holding in found:
            with shop.store.reading() as connection:
                history = entries.entries_of(connection, holding.visit)
                about = papers.of_visit(connection, holding.visit)
                pdfs = [(paper, papers.pdf_of(connection, paper.id) or b"") for paper in about]
            count += len(history)
            lines += [f"== {holding.title} ({holding.day or ''})", *map(_line, history), ""]
            self._add(f"{holding.visit}.json", json.dumps([_plain(e) for e in history], indent=1).encode())
            for paper, pdf in pdfs:
                self._add(f"papers/{printed_number(paper.visit, paper.number)}-{paper.what}.pdf", pdf, ZIP_STORED)
                given = {"visit": json.loads(paper.visit_text), "given": paper.given, "figures": paper.figures}
                name = f"papers/{printed_number(paper.visit, paper.number)}-{paper.what}.json"
                self._add(name, json.dumps(given, indent=1).encode())
            made += len(pdfs)
            shown |= set(_photos(history)) | {name for paper in about for name in paper.photos}
        whole = sorted(name for name in shown if photos.is_whole(shop.store.folder, name))
        for name in whole:
            self._add(f"photos/{name}.jpg", photos.path_of(shop.store.folder, name).read_bytes(), ZIP_STORED)
        for one in kept:
            lines.append(say("Kept until {day}, as {law} demands: {name}", day=one.until, law=one.law, name=one.name))
            self._add(f"law/{one.id}.zip", one.content, ZIP_STORED)
        lost = sorted(shown - set(whole))
        lines += [say("A photo that is lost: {name}", name=name) for name in lost]
        self._add("read_me.txt", "\n".join(lines).encode("utf-8", "replace"))
        return HandedOut(visits=len(found), entries=count, photos=len(whole), papers=made, by_law=len(kept))

    def _add(self, name: str, content: bytes, packed: int = ZIP_DEFLATED) -> None:
        self.file.writestr(ZipInfo(name, self.now.timetuple()[:6]), content, compress_type=packed)


def _photos(history: list[Entry]) -> Iterator[str]:
    return (name for entry in history if photos.is_hash(name := photo_hash(entry.field)))


def _line(entry: Entry) -> str:
    value = entry.value if isinstance(entry.value, str) else json.dumps(entry.value, ensure_ascii=False)
    return f"{entry.at:%Y-%m-%d %H:%M} UTC  {entry.who or '-'}  {entry.field}: {value}"


def _plain(entry: Entry) -> dict[str, object]:
    return {"at": entries.moment(entry.at), "who": entry.who, "field": entry.field, "value": entry.value}
