"""The file in which a whole shop is exported: a zip of JSON files and photos with their checksums.

::

    manifest.json       {"format": ..., "version": 4, "made_at": ..., "made_by": ..., "visits": n, "entries": n,
                         "photos": n, "lost_photos": [HASH, ...], "papers": n, "tables": n}
    settings.json       {NAME: VALUE, ...}
    visits/ID.json      {"id": ID, "demo": true or false, "created_at": TIME, "created_by": NAME,
                         "kept_as": "", "restricted" or "nameless", "entries": [
                          {"id": ID, "at": TIME, "who": NAME, "device": NAME, "field": FIELD, "value": VALUE,
                           "follows": [ID, ...], "undoes": ID or ""}, ...]}
    photos/HASH.jpg     JPEG, named by the SHA-256 of the file
    papers/ID.json      {"id": ID, "visit": ID, "number": n, "what": WORD, "option": WORD or "", "language": WORD,
                         "size": WORD, "units": WORD, "made_at": TIME, "made_by": NAME, "made_with": VERSION,
                         "written_on": DAY, "priced_on": DAY, "seed": n, "draws": n, "tables_hash": HASH,
                         "sales_hash": HASH or "", "appraisal_hash": HASH, "photos": [HASH, ...], "pdf_hash": HASH,
                         "visit_text": {FIELD: VALUE, ...}, "given": {...}, "figures": {...}}
    papers/ID.pdf       the paper as the client got it
    tables/HASH/NAME    the shop's tables as they were in force, or when a paper was made: CSV files and settings.toml
    tables.json         {"changes": [{"id": ID, "hash": HASH, "instead_of": HASH, "from_day": DAY, "at": TIME,
                          "who": NAME, "why": TEXT, "state": WORD}, ...],
                         "draft": [{"id": ID, "table": NAME, "row": [[COLUMN, TEXT], ...],
                          "before": {COLUMN: TEXT, ...} or null, "after": the same, "at": TIME, "who": NAME,
                          "done": ID or WORD or ""}, ...]}
    forgotten.json      {"marks": [{"mark": HASH, "how": WORD, "day": DAY, "until": DAY or "", "law": TEXT}, ...]}
    law/ID.json         {"id": ID, "mark": HASH, "name": NAME, "day": DAY, "until": DAY, "law": TEXT}
    law/ID.zip          what tax law keeps of an agreed job of somebody who was forgotten
    README.txt          this, for people
    checksums.sha256    SHA-256 of every other file, as the command sha256sum writes them

Times are UTC, ``2026-05-04T09:00:00.000000Z``; ids 32 hexadecimal digits. Version 1 had no papers and no tables,
version 2 nothing forgotten, restricted or kept by law, version 3 no word of which tables were in force.
"""

from __future__ import annotations

import re
from pathlib import Path

from valuation.disk import open_to_read

FORMAT = "piano visits of a workshop"
VERSION, FIRST_WITH_FORGOTTEN = 4, 3

MANIFEST, SETTINGS, README, CHECKSUMS = "manifest.json", "settings.json", "README.txt", "checksums.sha256"
FORGOTTEN = "forgotten.json"
SHOP_TABLES = "tables.json"
VISIT = re.compile(r"visits/([0-9a-f]{32})\.json")
PHOTO = re.compile(r"photos/([0-9a-f]{64})\.jpg")
PAPER = re.compile(r"papers/([0-9a-f]{32})\.json")
PDF = re.compile(r"papers/([0-9a-f]{32})\.pdf")
TABLE = re.compile(r"tables/([0-9a-f]{64})/([a-z][a-z0-9_]{0,60}\.(?:csv|toml))")

LAW = re.compile(r"law/([0-9a-f]{32})\.json")
LAW_ZIP = re.compile(r"law/([0-9a-f]{32})\.zip")

_FORGOTTEN, _SHOP_TABLES = (re.compile(re.escape(name)) for name in (FORGOTTEN, SHOP_TABLES))

HOLDS = {
    1: (VISIT, PHOTO),
    2: (VISIT, PHOTO, PAPER, PDF, TABLE),
    3: (VISIT, PHOTO, PAPER, PDF, TABLE, LAW, LAW_ZIP, _FORGOTTEN),
    4: (VISIT, PHOTO, PAPER, PDF, TABLE, LAW, LAW_ZIP, _FORGOTTEN, _SHOP_TABLES),
}
"""By version: what it may hold beside the four files that every export has."""

MOST_JSON = 30_000_000
"""A visit with more is a mistake [bytes]."""

MOST_PHOTO = MOST_PDF = MOST_LAW = 30_000_000
"""[bytes]"""

MOST_SIGNS = 2_000_000
"""Commas and brackets of one JSON file: unfolded, each takes far more room than it does on the disk."""

MOST_PACKED = 100_000_000_000
"""[bytes]"""

MOST_UNPACKED, MOST_FOLD = 500_000_000, 50
"""Unpacked, a file may have so many bytes, or so many times what it has packed."""

MAGIC = b"valuati1"
"""How an export begins that is locked with a passphrase; the whole of it is told in `locked`."""

SHORTEST_PASSPHRASE = 12
"""A shorter one is guessed too soon [characters]."""


def is_locked(path: Path) -> bool:
    """Tell whether a file begins as a locked export."""
    with open_to_read(path, MOST_PACKED) as file:
        return file.read(len(MAGIC)) == MAGIC


README_TEXT = """\
Visits of a piano workshop, exported.

visits/      one JSON file a visit: its whole history, entry by entry, who entered what and when.
             A field holds the value of its entry that no other follows; null is not known.
             Measures are in the units of the tables of checks (mm, N.m, cents, %), money in the shop's currency.
photos/      the photos of the visits: an entry whose field is photo.HASH or photo.HASH.CHECK speaks of photos/HASH.jpg
papers/      what clients got: the PDF, and beside it a JSON file with all that it was made from.
tables/      the tables of the shop, a folder for each version of them; tables.json says which was in force when.
forgotten.json   marks of visits that were forgotten and may not come back; nobody can be read from them.
law/         what tax law keeps of the jobs of people who were forgotten, with the day on which it goes.
settings.json, manifest.json
checksums.sha256   to check that nothing has changed: sha256sum -c checksums.sha256

Text is UTF-8, times are UTC. To take it in again: python -m valuation import FILE.zip
"""
